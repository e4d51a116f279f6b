"""What a stranger may send, and what of the world around it is looked at before and after."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

from typer.testing import CliRunner

from tests.support.patience import LONGEST
from toolpaths.cli import app

BOARD = """\
title: {title}
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: 300
  frets: 3
  strings: 4
  board: {{width: {{nut: 36, 3: 38}}, overhang: 6, thickness: 5}}
stock: {{length: 110, width: 60, thickness: 6}}
setups:
  - name: face
    zero: {{x: nut, y: centreline, z: bed}}
    nut_at: 18
    hold: tape
    features:
      - plane: {{bit: planer, leave: 5}}
      - marker_pockets: {{bit: eighth, diameter: 5, depth: 1.5, frets: [3]}}
"""
SCRIPT = "<script>broken()</script>"
IMAGE = "'\\\"><img src=x onerror=broken()>"
TURNED = "\u202egnp.exe\u2066"
"""Marks that turn the direction of writing."""
COARSE = ("--pitch", "0.5")

Held = tuple[int, int, str | bytes]


def board(title: str = "A board") -> str:
    """A small job, quick to cut; `title` as it stands in the file."""
    return BOARD.format(title=title)


def snapshot(folder: Path, without: Path | None = None) -> dict[str, Held]:
    """Everything below a folder: kind and rights, time of the last change, content or where a link leads."""
    held: dict[str, Held] = {}
    for place, folders, files in os.walk(folder):
        folders[:] = [name for name in folders if Path(place, name) != without]
        for name in (*folders, *files):
            path = Path(place, name)
            found = path.lstat()
            content: str | bytes = ""
            if stat.S_ISLNK(found.st_mode):
                content = os.readlink(path)
            elif stat.S_ISREG(found.st_mode):
                content = path.read_bytes()
            # A folder's time is that of its entries: these are compared themselves.
            held[str(path.relative_to(folder))] = (
                found.st_mode,
                0 if stat.S_ISDIR(found.st_mode) else found.st_mtime_ns,
                content,
            )
    return held


def run(*arguments: str | Path, code: int | None = None) -> str:
    """What a command says; it may end with words, never with an error of its own."""
    result = CliRunner().invoke(app, [str(a) for a in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    assert code is None or code == result.exit_code, result.output
    return result.output


def apart(*arguments: str | Path) -> subprocess.CompletedProcess[bytes]:
    """The same in a process of its own, which must end by itself."""
    command = [sys.executable, "-c", "from toolpaths.cli import main; main()", *map(str, arguments)]
    own = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    reader, writer = os.pipe()
    try:
        # Its input stays open, and nobody ever writes into it.
        return subprocess.run(command, stdin=reader, capture_output=True, timeout=LONGEST, env=own)
    finally:
        os.close(reader)
        os.close(writer)


def commands_to(text: str) -> str:
    """The characters of a text that command a terminal, or turn the direction of writing."""
    return "".join(c for c in text if c not in "\n" and not c.isprintable())
