"""Work done on another core comes to the same as work done here."""

import os
import signal
import sys
import threading
import time

import pytest

from tests.support.patience import LONGEST
from toolpaths.common.background import BackgroundTask, can_fork, cores
from toolpaths.common.errors import ReadError

FORKS = pytest.mark.skipif(
    not hasattr(os, "fork") or sys.platform == "darwin" or cores() == 1, reason="this system does nothing aside"
)


@pytest.fixture(autouse=True)
def alone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a process of its own: the runner of the tests may have threads, which hold no lock that matters here."""
    if "beside_another_thread" not in request.node.name:
        monkeypatch.setattr(threading, "active_count", lambda: 1)


@pytest.mark.parametrize("aside", [True, False])
def test_the_result_is_the_same_aside_or_here(aside: bool) -> None:
    seen = [1, 2]
    work = BackgroundTask(lambda: sum(seen), aside=aside)
    assert 3 == work.result()
    assert 3 == work.result(), "asked for twice"


@FORKS
def test_what_changes_here_after_it_began_changes_nothing_there() -> None:
    seen = [1, 2]
    work = BackgroundTask(lambda: sum(seen))
    seen.append(100)
    assert 3 == work.result()


@FORKS
def test_an_error_there_is_raised_here() -> None:
    def fail() -> int:
        raise MemoryError("0.2")

    work = BackgroundTask(fail)
    with pytest.raises(MemoryError, match=r"0\.2"):
        work.result()


@FORKS
def test_an_error_that_cannot_be_sent_is_told_in_words() -> None:
    def fail() -> int:
        raise ReadError(3, "two arguments, which a plain pickle cannot bring back")

    work = BackgroundTask(fail)
    with pytest.raises(RuntimeError, match="ReadError: line 3: two arguments"):
        work.result()


@FORKS
def test_a_lost_child_is_told_in_words() -> None:
    work = BackgroundTask(lambda: os.kill(os.getpid(), signal.SIGKILL))
    with pytest.raises(RuntimeError, match="a helper process ended early"):
        work.result()


@FORKS
def test_work_that_nobody_wants_any_more_is_ended() -> None:
    work = BackgroundTask(lambda: time.sleep(2 * LONGEST))
    work.drop()
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)  # no child is left behind


@pytest.mark.parametrize("aside", [True, False])
def test_dropping_what_is_done_changes_nothing(aside: bool) -> None:
    work = BackgroundTask(lambda: 3, aside=aside)
    assert 3 == work.result()
    work.drop()
    assert 3 == work.result()


@FORKS
def test_a_child_does_its_own_work_itself() -> None:
    assert not BackgroundTask(can_fork).result()
    mine, inner = BackgroundTask(lambda: (os.getpid(), BackgroundTask(os.getpid).result())).result()
    assert mine == inner != os.getpid()


def test_beside_another_thread_the_work_is_done_here() -> None:
    over = threading.Event()
    other = threading.Thread(target=over.wait)
    other.start()
    try:
        assert not can_fork()
        assert os.getpid() == BackgroundTask(os.getpid).result()
    finally:
        over.set()
        other.join()


@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="this system binds no process to cores")
def test_cores_that_this_process_may_not_use_do_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 64)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {3})
    assert 1 == cores()
    assert not can_fork()
