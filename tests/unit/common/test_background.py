"""Work done on another core comes to the same as work done here."""

import os
import signal
import time

import pytest

from tests.support.patience import LONGEST
from toolpaths.common.background import BackgroundTask, can_fork
from toolpaths.common.errors import ReadError


@pytest.mark.parametrize("aside", [True, False])
def test_the_result_is_the_same_aside_or_here(aside: bool) -> None:
    seen = [1, 2]
    work = BackgroundTask(lambda: sum(seen), aside=aside)
    assert 3 == work.result()
    assert 3 == work.result(), "asked for twice"


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
def test_what_changes_here_after_it_began_changes_nothing_there() -> None:
    seen = [1, 2]
    work = BackgroundTask(lambda: sum(seen))
    seen.append(100)
    assert 3 == work.result()


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
def test_an_error_there_is_raised_here() -> None:
    def fail() -> int:
        raise MemoryError("0.2")

    work = BackgroundTask(fail)
    with pytest.raises(MemoryError, match=r"0\.2"):
        work.result()


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
def test_an_error_that_cannot_be_sent_is_told_in_words() -> None:
    def fail() -> int:
        raise ReadError(3, "two arguments, which a plain pickle cannot bring back")

    work = BackgroundTask(fail)
    with pytest.raises(RuntimeError, match="ReadError: line 3: two arguments"):
        work.result()


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
def test_a_lost_child_is_told_in_words() -> None:
    work = BackgroundTask(lambda: os.kill(os.getpid(), signal.SIGKILL))
    with pytest.raises(RuntimeError, match="a helper process was lost"):
        work.result()


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
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


@pytest.mark.skipif(not can_fork(), reason="this system does nothing aside")
def test_a_child_does_its_own_work_itself() -> None:
    assert not BackgroundTask(can_fork).result()
    mine, inner = BackgroundTask(lambda: (os.getpid(), BackgroundTask(os.getpid).result())).result()
    assert mine == inner != os.getpid()
