"""Files of jobs, bits and machines read safely, every fault with its place."""
