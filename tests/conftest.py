"""For every test: no limit of time and no chance in Hypothesis, and outside checks that say when they did not run.

pytest --hypothesis-profile explore      draws other examples each time
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from tests.support.made import VARIABLE
from tests.support.needs import Need, summary

# Asserts are rewritten and modules compiled once and kept: else each worker, and each command that a test starts, does
# so anew, which takes longer than most suites.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# A shell that starts a run in the background has it ignore Ctrl-C, and so would every command that a test starts: those
# that are stopped so would wait for ever.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# A deadline and `too_slow` would fail on a busy machine; a data base would make one run depend on the one before.
_STILL = settings(deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("default run", _STILL, derandomize=True)
settings.register_profile("explore", _STILL, derandomize=False)
settings.load_profile("default run")

MUST_RUN = frozenset(os.environ.get("NECKPATH_MUST_RUN", "").split())
"""Names of needs whose checks may not be skipped; `.ci/run` sets it."""
_MISSING = "missing"


def pytest_configure(config: pytest.Config) -> None:
    """A folder in which the workers of this run share what they have made; workers are told it by their parent."""
    if not hasattr(config, "workerinput"):
        os.environ[VARIABLE] = tempfile.mkdtemp(prefix="neckpath-made-")


def pytest_unconfigure(config: pytest.Config) -> None:
    """The folder goes with the run."""
    if not hasattr(config, "workerinput") and (folder := os.environ.pop(VARIABLE, "")):
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(autouse=True, scope="session")
def _no_broken_sentences() -> Iterator[None]:
    """Lines so wide that no sentence that a test looks for is broken; tests of the width itself set their own."""
    before = os.environ.get("COLUMNS")
    os.environ["COLUMNS"] = "1000"
    yield
    if before is None:
        del os.environ["COLUMNS"]
    else:
        os.environ["COLUMNS"] = before


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skips a check whose tool is not here, before any fixture asks for it; fails it where it must run."""
    for mark in item.iter_markers("needs"):
        need: Need = mark.args[0]
        if need.found():
            continue
        item.user_properties.append((_MISSING, (need.name, need.install)))
        if need.name in MUST_RUN:
            pytest.fail(f"this check must run, and the {need.name} is missing: {need.install}", pytrace=False)
        pytest.skip(f"the {need.name} is missing: {need.install}")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """One line on the outside checks that did not run."""
    missing: Counter[tuple[str, str]] = Counter()
    for report in terminalreporter.stats.get("skipped", []):
        missing.update(tuple(value) for key, value in report.user_properties if key == _MISSING)
    if missing:
        terminalreporter.write_line(summary(missing), yellow=True, bold=True)
