"""How long a test waits for what must come. No test asks how fast the machine is: this only ends what would hang."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

LONGEST = 1800.0
"""Seconds by the clock, far beyond what anything here takes on a busy machine."""
CPU_LONGEST = 120.0
"""Seconds of processor time for one input, some fifty times what the slowest takes."""


class TooLong(BaseException):
    """Something took more than its processor time. Nothing may catch it but the one who set the limit."""


@contextmanager
def bounded() -> Iterator[None]:
    """Raises TooLong in what never ends, by this process's own processor time: others at work do not count."""
    if not hasattr(signal, "SIGPROF"):  # a system without it waits
        yield
        return

    def late(signum: int, frame: Any) -> None:
        raise TooLong(f"more than {CPU_LONGEST:g} s of processor time")

    signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, CPU_LONGEST)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def until(holds: Callable[[], object], what: Callable[[], str] | str = "it did not come", pause: float = 0.05) -> None:
    """Returns once `holds` does; fails with `what` where it never does."""
    end = time.monotonic() + LONGEST
    while not holds():
        assert time.monotonic() < end, what() if callable(what) else what
        time.sleep(pause)
