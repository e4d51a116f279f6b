"""The page on which a cut is pointed at, sawn open and played again."""
