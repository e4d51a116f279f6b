"""The way of one job, one function a step. No stage imports another; `pipeline.py` strings them together."""
