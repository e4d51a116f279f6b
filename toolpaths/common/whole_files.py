"""Write files completely or not at all."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path


def put(path: Path, content: bytes) -> None:
    """Write a file completely or not at all. Raises OSError with a plain text, also for a link or a device."""
    put_all({path: content})


def put_all(files: Mapping[Path, bytes]) -> None:
    """Write files that belong together; none where one of them cannot be written. Raises OSError with a plain text."""
    for path in files:
        free(path)
    beside = {path: path.with_name(f".{path.name}.{os.getpid()}") for path in files}
    try:
        for path, content in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            # A killed run may have left one, and numbers of processes come back.
            beside[path].unlink(missing_ok=True)
            with open(beside[path], "xb") as out:
                out.write(content)
        for path, whole in beside.items():
            os.replace(whole, path)
    finally:
        for whole in beside.values():
            whole.unlink(missing_ok=True)


def free(path: Path) -> None:
    """Raises OSError, in words, where no file may be put: at a link, a folder, a device or a pipe."""
    if path.is_symlink():
        raise OSError(f"{path} is a link, and nothing is written through links; remove it first")
    if path.is_dir():
        raise OSError(f"{path} is a folder; name a file")
    if path.exists() and not path.is_file():
        raise OSError(f"{path} is a device or a pipe; name a file")
