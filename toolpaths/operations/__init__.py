"""What is to be done with one bit and how it is driven: feeds and speeds, chips, forces, motion."""
