"""Checks of the words in the program's text."""
