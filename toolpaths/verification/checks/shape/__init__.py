"""Is cut what was asked for, and no more?"""
