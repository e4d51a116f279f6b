"""Will the finished instrument be sound? Asked of the instrument's blank alone."""
