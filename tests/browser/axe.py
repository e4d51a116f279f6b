"""The accessibility checker axe-core: fetched once, checked against its checksum, run inside a page of the browser.

python tests/browser/axe.py [FOLDER]      fetches it with npm into FOLDER, or into out/tools; the tests find it there,
                                          or in the folder that NECKPATH_AXE names

It is never part of the package nor of the repository.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Protocol

VERSION = "4.14.1"
INTEGRITY = "sha512-FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
"""Of the packed archive, as the npm registry gives it (dist.integrity)."""
SCRIPT = "axe.min.js"
SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
"""Of the script in it."""
FOLDER = Path(os.environ.get("NECKPATH_AXE", "") or Path(__file__).parents[2] / "out" / "tools")
GRAVE = ("serious", "critical")


class Page(Protocol):
    """A page that runs an expression: `tests/browser/chrome.py` has one."""

    def run(self, expression: str) -> Any: ...


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that a page breaks, how grave that is, and the selectors of what breaks it."""

    rule: str
    impact: str
    help: str
    places: tuple[str, ...]


def fetched(folder: Path = FOLDER) -> bool:
    """Whether the script of this very version lies in a folder."""
    file = folder / SCRIPT
    return file.is_file() and hashlib.sha256(file.read_bytes()).hexdigest() == SHA256


def fetch(folder: Path) -> None:
    """Puts the script into a folder. Raises SystemExit where npm is missing, fails, or sends something else."""
    npm = shutil.which("npm")
    if npm is None:
        raise SystemExit("axe.py: npm is missing: install it (Debian: apt-get install npm)")
    with tempfile.TemporaryDirectory() as where:
        done = subprocess.run([npm, "pack", f"axe-core@{VERSION}", "--silent"], cwd=where, capture_output=True)
        if done.returncode:
            raise SystemExit(f"axe.py: npm could not fetch axe-core {VERSION}:\n{done.stderr.decode()}")
        (archive,) = Path(where).glob("axe-core-*.tgz")
        got = "sha512-" + base64.b64encode(hashlib.sha512(archive.read_bytes()).digest()).decode()
        if got != INTEGRITY:
            raise SystemExit(f"axe.py: the archive of axe-core {VERSION} is not the one expected: {got}")
        with tarfile.open(archive) as packed:
            script = packed.extractfile(f"package/{SCRIPT}")
            assert script is not None
            folder.mkdir(parents=True, exist_ok=True)
            (folder / SCRIPT).write_bytes(script.read())


@cache
def _script() -> str:
    return (FOLDER / SCRIPT).read_text(encoding="utf-8")


def violations(page: Page, only: tuple[str, ...] = ()) -> list[Violation]:
    """What axe finds on the page that is open now, the gravest first. `only`: the rules to try, all where empty."""
    if not page.run("typeof globalThis.axe === 'object'"):
        page.run(f"(() => {{ {_script()} }})(); true")
    options: dict[str, Any] = {"resultTypes": ["violations"]}
    if only:
        options["runOnly"] = {"type": "rule", "values": list(only)}
    found = page.run(f"axe.run(document, {json.dumps(options)}).then(r => JSON.stringify(r.violations))")
    out = [
        Violation(v["id"], v["impact"] or "", v["help"], tuple(" ".join(map(str, n["target"])) for n in v["nodes"]))
        for v in json.loads(found)
    ]
    return sorted(out, key=lambda v: (v.impact not in GRAVE, v.rule))


if __name__ == "__main__":
    place = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    fetch(place)
    print(place / SCRIPT)
