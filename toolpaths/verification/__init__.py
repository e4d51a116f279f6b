"""Compare what was cut with what was asked for: inputs of checks, findings, the results of a run."""
