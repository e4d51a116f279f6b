"""Read files that may come from strangers: regular files only, up to a given size, never waiting.

A name in a job may lead to a device that never ends, or to a pipe that nobody writes to.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

Stamp = tuple[int, int] | None
"""What tells a file that was changed: when, in ns, and its size in bytes."""


def plain_bytes(path: Path, most: int) -> bytes:
    """The first `most` bytes of a plain file; links are followed to one.

    Raises FileNotFoundError, IsADirectoryError, PermissionError, and OSError, in words, for a device or a pipe;
    ValueError for a name that no file can have.
    """
    mode = os.stat(path).st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, "this is a folder, not a file", str(path))
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, "a device or a pipe, not a file", str(path))
    with open(path, "rb", opener=_without_waiting) as stream:
        return stream.read(most) or b""


def stamp_of(path: Path) -> Stamp:
    """Tells whether the file at a path is still the same; None where it cannot be looked at."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size


# Private


def _without_waiting(path: str, flags: int) -> int:
    """So that a file which became a pipe meanwhile is not waited for either."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
