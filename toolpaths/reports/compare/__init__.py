"""Runs of one job with different bits, side by side."""
