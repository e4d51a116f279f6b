"""Checks of the finished instrument: made for the instrument's own blank only."""
