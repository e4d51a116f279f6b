"""Read untrusted files: regular files only, up to a given size, without blocking.

A name in a job may lead to a device that never ends, or to a pipe that nobody writes to.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

Stamp = tuple[int, int] | None
"""Time of the last change in ns, and size in bytes."""


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
    """Time of the last change and size of a file, by which a change is seen; None where it cannot be read."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size


# Private


def _without_waiting(path: str, flags: int) -> int:
    """Open without blocking, in case the file was replaced by a pipe after it was checked."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
