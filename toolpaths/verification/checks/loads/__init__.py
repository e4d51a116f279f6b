"""Checks of the loads on bit and spindle."""
