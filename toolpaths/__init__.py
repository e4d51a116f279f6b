"""neckpath: programs for guitar necks and fretboards, proven before wood is cut."""

__version__ = "0.1.0"
