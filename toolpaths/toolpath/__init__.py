"""Moves, before they are text, and how long they take."""
