"""The steps from a job file to verified programs; `run.py` shows them all on one screen."""
