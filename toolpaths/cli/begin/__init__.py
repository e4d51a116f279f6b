"""Begin: a first job written from a few answers."""
