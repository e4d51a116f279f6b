"""What was cut against what was asked: what a check is given, what it finds, the results of a run."""
