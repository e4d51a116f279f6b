"""Text to trace: every move that a program says, from the text alone."""
