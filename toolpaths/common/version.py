"""The version of this package, as it stands in the header of every program."""

__version__ = "0.1.0"
