"""Models of the input files, all values checked: job, setups, machine, wood and bits."""
