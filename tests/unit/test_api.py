"""The functions for use from Python: their examples run as they stand, in docstrings and on their page."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import toolpaths
from toolpaths import api as interface

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def _at_the_top(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def test_the_examples_of_the_functions_run() -> None:
    found = doctest.testmod(interface)
    assert found.attempted > 15
    assert 0 == found.failed


def test_the_examples_of_the_page_run() -> None:
    found = doctest.testfile(str(ROOT / "docs" / "python.md"), module_relative=False)
    assert found.attempted > 12
    assert 0 == found.failed


def test_every_name_is_there_and_nothing_else() -> None:
    assert set(toolpaths.__all__) == set(interface.__all__)
    assert all(getattr(toolpaths, name) is getattr(interface, name) for name in toolpaths.__all__)
    with pytest.raises(AttributeError, match="has no attribute 'cut'"):
        _ = toolpaths.cut  # type: ignore[attr-defined]


def test_importing_the_package_alone_brings_in_nothing_heavy() -> None:
    code = "import sys, toolpaths; print([m for m in ('numpy', 'shapely', 'pydantic') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "[]" == done.stdout.strip()


def test_types_are_shipped() -> None:
    assert (ROOT / "toolpaths" / "py.typed").is_file()
    assert (ROOT / "toolpaths" / "__init__.pyi").is_file()
