"""Checks of what holds the blank and the part."""
