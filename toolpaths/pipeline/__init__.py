"""The whole way of one job, step by step; `run.py` holds it on one screen."""
