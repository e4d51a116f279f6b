"""Small programs for scraps of wood, by which bits and machine are measured: the coupon and the gauge."""
