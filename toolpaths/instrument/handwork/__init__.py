"""What is left to do by hand, in the order of work."""
