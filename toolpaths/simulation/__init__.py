"""What a program that was read does to the wood, and how long it takes."""
