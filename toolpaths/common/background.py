"""Run a function in a forked child process and collect its result.

A child sees everything as it stood when it began, so nothing can change under it. Where a system cannot fork, or one
core alone may be used, the work is done at once instead; the result is the same. So it is in a child: those who began
it have filled the cores. And so it is beside other threads: a lock that one of them holds would never open in a child.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import pickle
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Generic, TypeVar, cast

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")


class BackgroundTask(Generic[T]):
    """One piece of work and, once asked for, its result."""

    def __init__(self, work: Callable[[], T], *, aside: bool = True) -> None:
        """Begin. `aside` false: do it here and now."""
        self._answer: tuple[bool, Any] | None = None
        if not (aside and can_fork()):
            self._answer = True, work()
            return
        fork = multiprocessing.get_context("fork")
        self._pipe, sender = fork.Pipe(duplex=False)
        self._process = fork.Process(target=_work, args=(work, sender), daemon=True)
        self._process.start()
        sender.close()

    def result(self) -> T:
        """The value that the work returned. Raises what it raised; RuntimeError where the child was lost."""
        if self._answer is None:
            try:
                self._answer = self._pipe.recv()
            except (EOFError, pickle.UnpicklingError):
                lost = RuntimeError("a helper process was lost; is there memory enough? Try a coarser pitch")
                self._answer = False, lost
            self._process.join()
            self._pipe.close()
        good, found = self._answer
        if not good:
            raise found
        return cast(T, found)

    def drop(self) -> None:
        """Ends work whose result nobody wants any more; nothing where it was asked for already."""
        if self._answer is None:
            self._answer = False, RuntimeError("this work was dropped")
            self._process.kill()
            self._process.join()
            self._pipe.close()


def _work(work: Callable[[], T], sender: Connection) -> None:
    """What the child does."""
    # It lives too short to be worth clearing up after, and looking for garbage copies shared pages.
    gc.disable()
    with contextlib.suppress(OSError):
        try:
            sender.send((True, work()))
        except BaseException as error:
            sender.send((False, _sendable(error)))


def can_fork() -> bool:
    """Whether work can be done aside here and now: a system that forks, more than one core, and no other thread."""
    able = hasattr(os, "fork") and sys.platform != "darwin" and cores() > 1
    return able and multiprocessing.parent_process() is None and threading.active_count() == 1


def cores() -> int:
    """How many pieces of work may be done at the same time: those cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _sendable(error: BaseException) -> BaseException:
    """The error, or one that says the same where it does not survive the way."""
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error
