"""Outlines of straight edges and arcs: moved, fitted, their middle."""
