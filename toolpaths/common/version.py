"""The version of this package: in the header of every program."""

__version__ = "0.1.0"
