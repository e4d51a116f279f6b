"""A whole set put into its folder at once, or served to a browser."""
