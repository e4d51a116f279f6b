"""The text of a program; the code that writes it and the code that reads it share nothing."""
