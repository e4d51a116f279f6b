"""Read files of jobs, bits and machines, and report every fault with its place."""
