"""Pages to print and take along: setup sheet, handwork, coupon."""
