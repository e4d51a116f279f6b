"""Parse the text of a program into a trace: every move, from the text alone."""
