"""Pieces cut in scraps of wood, by which bits and machine are measured: coupon and gauge."""
