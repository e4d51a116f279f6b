"""Wheel and source package, installed into empty environments and used from another folder.

Run on every Python from 3.11 to 3.13 that is found (on PATH, or named in NECKPATH_PYTHONS, divided by colons), with the
newest dependencies, and on the running one with the lowest that `pyproject.toml` allows. With the newest, programs come
out the same to the last byte.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
from pathlib import Path

import pytest

from tests.support.needs import needs, python, pythons

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
DEMOS = ("tenor_board", "parlour_board_inch")


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with wheel and source package."""
    out = tmp_path_factory.mktemp("built")
    subprocess.run([sys.executable, "-m", "build", "--outdir", str(out), str(ROOT)], check=True, capture_output=True)
    return out


def installed(python: str, what: Path, place: Path, *more: str) -> Path:
    """The folder of commands of a fresh environment that holds a package."""
    subprocess.run([python, "-m", "venv", str(place)], check=True)
    commands = place / ("Scripts" if os.name == "nt" else "bin")
    pip = [str(commands / "python"), "-m", "pip", "install", "--quiet", "--no-compile", "--disable-pip-version-check"]
    done = subprocess.run([*pip, str(what), *more], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return commands


def written(commands: Path, place: Path) -> dict[str, str]:
    """SHA-256 of every program of some demos, written by a command from a folder of its own."""
    shutil.copytree(ROOT / "demo_jobs", place / "jobs")
    jobs = [f"jobs/{demo}.yaml" for demo in DEMOS]
    # No setting of the test run may show the package where its environment does not hold it.
    around = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    run = [str(commands / "neckpath"), "write", *jobs, "-o", "out", "--pitch", "0.5"]
    done = subprocess.run(run, cwd=place, env=around, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    files = sorted((place / "out").glob("*/*.n*c"))
    return {f"{p.parent.name}/{p.name}": hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What this tree writes."""
    return written(Path(sys.executable).parent, tmp_path_factory.mktemp("here"))


@pytest.mark.parametrize("version", [pytest.param(v, marks=needs(python(v))) for v in ("3.11", "3.12", "3.13")])
def test_the_wheel_works_alone_on_every_python(version: str, built: Path, here: dict[str, str], tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    commands = installed(pythons()[version], wheel, tmp_path / "venv")
    (tmp_path / "work").mkdir()
    assert here == written(commands, tmp_path / "work")
    code = "import toolpaths; print(len(toolpaths.write(toolpaths.plan(toolpaths.load_job('jobs/tenor_board.yaml')))))"
    run = [str(commands / "python"), "-c", code]
    assert "5" == subprocess.run(run, cwd=tmp_path / "work", capture_output=True, text=True, check=True).stdout.strip()


def test_the_source_package_holds_all_that_is_wanted(built: Path) -> None:
    """The wheel above was built from the source package, so what is installed is in it; the rest is looked up."""
    (source,) = built.glob("*.tar.gz")
    with tarfile.open(source) as archive:
        held = {name.split("/", 1)[1] for name in archive.getnames() if "/" in name}
    folders = ("toolpaths", "machines", "demo_jobs", "docs", "tests")
    here = (p.relative_to(ROOT) for folder in folders for p in (ROOT / folder).rglob("*") if p.is_file())
    wanted = [str(p) for p in here if not any(part.startswith((".", "__pycache__")) for part in p.parts)]
    assert len(wanted) > 800
    assert set() == {*wanted, "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"} - held


def test_the_lowest_versions_allowed_write_a_set_that_passes(built: Path, here: dict[str, str], tmp_path: Path) -> None:
    """Older geometry libraries round otherwise, in the last digit of a pocket's path: the bytes may differ there."""
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    lowest = [re.sub(r">=", "==", line) for line in wanted]
    assert all("==" in line for line in lowest)
    (wheel,) = built.glob("*.whl")
    commands = installed(pythons().get("3.11", sys.executable), wheel, tmp_path / "venv", *lowest)
    (tmp_path / "work").mkdir()
    found = written(commands, tmp_path / "work")
    assert set(here) == set(found)
    assert all(here[name] == found[name] for name in here if "planer" in name or "scorer" in name or "quarter" in name)


def test_the_command_says_its_version(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    said = subprocess.run([str(Path(sys.executable).parent / "neckpath"), "--version"], capture_output=True, text=True)
    assert wheel.name.split("-")[1] == said.stdout.split()[-1]
