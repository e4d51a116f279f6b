"""The text of a program; who writes it and who reads it share no code."""
