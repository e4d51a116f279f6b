"""What was measured on the wood, what it means, and the job as it is then."""
