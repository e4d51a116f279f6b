"""How a bit is moved: one file for each kind of operation, chosen by type in `pipeline/move.py`."""
