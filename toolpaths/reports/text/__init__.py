"""Numbers, words and tables as people read them, the same on terminal and page."""
