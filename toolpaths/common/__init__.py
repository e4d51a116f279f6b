"""Modules without any knowledge of the trade: units, input models, errors, files, child processes."""
