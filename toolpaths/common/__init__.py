"""What knows nothing of wood: units, input models, errors, plain files, background work."""
