"""The tests themselves: none asks how fast a machine is, none wants a POSIX system to be read, no skip goes unseen."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.support.needs import BROWSER, INTERPRETER, summary

ROOT = Path(__file__).parents[2]
FILES = sorted(p for p in (ROOT / "tests").rglob("*.py") if "bench" not in p.parts)
CLOCKS = {"monotonic", "perf_counter", "process_time", "time", "thread_time"}
MAY_READ_A_CLOCK = {
    "tests/support/patience.py",  # the one place that ends what hangs
    "tests/property/fuzzing.py",  # a run for a time on request; it asserts nothing
    "tests/unit/cli/test_durability.py",  # chooses the moments of a kill
    "tests/unit/cli/test_found_killed.py",  # so does this
}


def calls(path: Path) -> list[ast.Call]:
    return [n for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.Call)]


def test_hypothesis_has_no_limit_of_time_and_leaves_nothing_to_chance() -> None:
    now = settings()
    assert now.deadline is None
    assert now.derandomize
    assert now.database is None
    assert HealthCheck.too_slow in now.suppress_health_check


def limits(path: Path) -> list[str]:
    """Where a file reads a clock, waits by a number of its own, or lets Hypothesis judge the machine's speed."""
    own, found = str(path.relative_to(ROOT)), []
    for call in calls(path):
        name, words = ast.unparse(call.func), {k.arg: k.value for k in call.keywords}
        module, _, function = name.rpartition(".")
        if module == "time" and function in CLOCKS and own not in MAY_READ_A_CLOCK:
            found.append(f"{own}:{call.lineno}: {name}")
        if isinstance(words.get("timeout"), ast.Constant):
            found.append(f"{own}:{call.lineno}: timeout={ast.unparse(words['timeout'])}")
        health = ast.unparse(words["suppress_health_check"]) if "suppress_health_check" in words else "too_slow"
        if name == "settings" and "too_slow" not in health and "list(HealthCheck)" not in health:
            found.append(f"{own}:{call.lineno}: Hypothesis says that it is too slow")
    return found


def test_no_test_reads_a_clock_or_sets_a_limit_of_its_own() -> None:
    assert len(FILES) > 200
    assert [] == [fault for path in FILES for fault in limits(path)]


OTHER_SYSTEM = """\
import importlib, pkgutil, os, sys
from pathlib import Path
import pytest, hypothesis, typer, numpy, shapely, matplotlib.pyplot, reportlab.pdfgen.canvas, ezdxf, rich.live, pydantic
import subprocess, multiprocessing, concurrent.futures.process, http.server, tempfile, pdfplumber, trimesh, PIL.Image
import typer.testing, urllib.request, svgelements, svgpathtools, networkx, scipy.optimize, pint, pytuning.scales
for name in ("fcntl", "grp", "pty", "pwd", "resource", "termios", "tty"):
    sys.modules[name] = None
for name in ("fork", "forkpty", "getegid", "geteuid", "getpgid", "getuid", "killpg", "mkfifo", "setsid", "waitpid"):
    delattr(os, name) if hasattr(os, name) else None
import signal
for name in ("SIGKILL", "SIGALRM", "SIGPROF", "SIGXFSZ", "setitimer", "ITIMER_REAL", "ITIMER_PROF"):
    delattr(signal, name)
names = [Path("tests/conftest.py"), *Path("toolpaths").rglob("*.py"), *Path("tests").rglob("*.py")]
failed = []
for path in names:
    name = ".".join(path.with_suffix("").parts).removesuffix(".__init__")
    if "__main__" in name:
        continue
    try:
        importlib.import_module(name)
    except pytest.skip.Exception:
        pass
    except Exception as error:
        failed.append(f"{name}: {error!r}")
print("\\n".join(failed))
"""
"""Everything imported as on a system that has none of the modules and calls of POSIX."""


@pytest.mark.slow
def test_every_module_can_be_imported_where_posix_is_not() -> None:
    done = subprocess.run([sys.executable, "-c", OTHER_SYSTEM], cwd=ROOT, capture_output=True, text=True)
    assert ("", 0) == (done.stdout.strip(), done.returncode), done.stderr[-3000:]


TWO = """\
from tests.conftest import *
import pytest
from tests.support.needs import Need, needs

GONE = Need("lathe", lambda: False, "buy one")

@pytest.fixture
def asked():
    raise AssertionError("nothing is made for a check that cannot run")

@needs(GONE)
@pytest.mark.parametrize("n", range(3))
def test_on_a_lathe(n, asked):
    raise AssertionError

def test_here():
    pass
"""


@pytest.mark.slow
@pytest.mark.parametrize("workers", ["0", "2"])
def test_checks_that_did_not_run_are_counted_and_fail_where_they_must(tmp_path: Path, workers: str) -> None:
    (tmp_path / "test_two.py").write_text(TWO)
    (tmp_path / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text())
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = needs\n")
    code = (
        "import os, sys, pytest; sys.path.insert(0, sys.argv.pop(1)); os.environ['NECKPATH_MUST_RUN'] = sys.argv.pop(1)"
        "; sys.exit(pytest.main(sys.argv[1:]))"
    )
    said, codes = {}, {}
    for must in ("browser", "browser lathe"):
        command = [sys.executable, "-c", code, str(ROOT), must, "-q", "-n", workers, "-p", "no:cacheprovider", "."]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True)
        said[must], codes[must] = done.stdout, done.returncode
    assert "3 outside checks did not run: 3 for want of the lathe: buy one" in said["browser"]
    assert "1 passed, 3 skipped" in said["browser"]
    assert 0 == codes["browser"]
    assert "this check must run, and the lathe is missing: buy one" in said["browser lathe"]
    assert "1 passed, 3 errors" in said["browser lathe"]
    assert 1 == codes["browser lathe"]


def test_the_line_says_what_to_install() -> None:
    missing = {(need.name, need.install): n for n, need in ((1, BROWSER), (70, INTERPRETER))}
    line = summary(missing)
    assert line.startswith("71 outside checks did not run: 1 for want of the browser: install Chromium")
    assert "70 for want of the interpreter" in line
    assert "NECKPATH_INTERPRETER" in line
    assert "\n" not in line
