"""One file written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def put(path: Path, content: bytes) -> None:
    """The file whole or not at all. Raises OSError, in words; nothing is written through a link or to a device."""
    free(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with open(beside, "xb") as out:
            out.write(content)
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def free(path: Path) -> None:
    """Raises OSError, in words, where no file may be put: at a link, a folder, a device or a pipe."""
    if path.is_symlink():
        raise OSError(f"{path} is a link; nothing is written through links: remove it first")
    if path.is_dir():
        raise OSError(f"{path} is a folder; name a file")
    if path.exists() and not path.is_file():
        raise OSError(f"{path} is a device or a pipe; name a file")
