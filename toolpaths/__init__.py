"""neckpath: programs for guitar necks and fretboards, proven before wood is cut.

For use from Python: `load_job`, `plan`, `write`, `read`, `simulate`, `judge` (see `toolpaths/api.py`).
"""

from typing import Any

from toolpaths.common.version import __version__ as __version__

__all__ = ["Changes", "JobError", "judge", "load_job", "plan", "read", "simulate", "write"]


def __getattr__(name: str) -> Any:
    # Only once asked for: the command starts without what it does not need. Types stand in `__init__.pyi`.
    if name in __all__:
        from importlib import import_module

        return getattr(import_module("toolpaths.api"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
