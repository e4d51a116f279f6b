"""The text of a program; the writer and the reader share no code."""
