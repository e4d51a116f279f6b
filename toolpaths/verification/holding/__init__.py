"""Is the part still held, and by how much: the weakest wood between part and holders, and what a group bears."""
