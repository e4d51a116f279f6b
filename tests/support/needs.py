"""What some checks need from outside: `needs(BROWSER)` marks a check; `tests/conftest.py` skips or fails it without."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import pytest

from tests.browser import axe


@dataclass(frozen=True)
class Need:
    """Something from outside: its name, how to tell that it is here, and what to install where it is not."""

    name: str
    found: Callable[[], bool]
    install: str


CHROME = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
RS274 = os.environ.get("NECKPATH_INTERPRETER", "")

BROWSER = Need(
    "browser", lambda: CHROME is not None and os.name == "posix", "install Chromium (Debian: apt-get install chromium)"
)
INTERPRETER = Need(
    "interpreter",
    lambda: bool(RS274),
    "unpack an RS-274/NGC interpreter and name its folder in NECKPATH_INTERPRETER (.ci/run shows how)",
)
AXE = Need("axe", axe.fetched, "python tests/browser/axe.py fetches it (npm is needed)")


has_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")


def needs(need: Need) -> pytest.MarkDecorator:
    return pytest.mark.needs(need)


def summary(missing: Mapping[tuple[str, str], int]) -> str:
    """One line: how many outside checks did not run, and what to install. `missing`: (name, install) to count."""
    each = "; ".join(f"{n} for want of the {name}: {install}" for (name, install), n in sorted(missing.items()))
    total = sum(missing.values())
    return f"{total} outside {'check' if total == 1 else 'checks'} did not run: {each}"


@cache
def pythons() -> dict[str, str]:
    """Python interpreters from 3.11 to 3.13 by version: the running one, those of NECKPATH_PYTHONS, those on PATH."""
    named = [p for p in os.environ.get("NECKPATH_PYTHONS", "").split(os.pathsep) if p]
    found = [sys.executable, *named, *(shutil.which(f"python3.{minor}") or "" for minor in (11, 12, 13))]
    out: dict[str, str] = {}
    for path in filter(None, found):
        asked = subprocess.run([path, "-c", "import sys; print('3.%d' % sys.version_info[1])"], capture_output=True)
        version = asked.stdout.decode().strip()
        if asked.returncode == 0 and version in ("3.11", "3.12", "3.13"):
            out.setdefault(version, path)
    return out


def python(version: str) -> Need:
    return Need(
        f"Python {version}", lambda: version in pythons(), f"install Python {version}, or name it in NECKPATH_PYTHONS"
    )
