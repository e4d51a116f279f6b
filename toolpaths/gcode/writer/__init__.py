"""Toolpath to text: one conservative, commented program."""
