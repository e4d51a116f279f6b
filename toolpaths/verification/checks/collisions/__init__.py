"""Checks for collisions: with wood, clamps, the bed and the ends of travel."""
