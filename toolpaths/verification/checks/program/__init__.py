"""Does the text say what it must?"""
