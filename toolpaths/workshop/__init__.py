"""The plan of a whole instrument: what is done in the shop, at the machine and by hand, over all its jobs."""
