"""How a bit is moved: one file an operation, dispatched by type in `pipeline/move.py`."""
