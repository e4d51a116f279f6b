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
import signal
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Generic, TypeVar, cast

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")


class BackgroundTask(Generic[T]):
    """A call that runs in a child process, and its result."""

    def __init__(self, work: Callable[[], T], *, aside: bool = True) -> None:
        """Start the call. `aside` false: make it in this process."""
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
                lost = RuntimeError("a helper process ended early, perhaps for lack of memory; try a coarser `--pitch`")
                self._answer = False, lost
            self._process.join()
            self._pipe.close()
        good, found = self._answer
        if not good:
            raise found
        return cast(T, found)

    def drop(self) -> None:
        """End a call whose result is no longer wanted; nothing happens where the result was asked for already."""
        if self._answer is None:
            self._answer = False, RuntimeError("this work was dropped")
            self._process.kill()
            self._process.join()
            self._pipe.close()


def _work(work: Callable[[], T], sender: Connection) -> None:
    """Run in the child: make the call and send its value or its error to the parent."""
    # It lives too short to be worth clearing up after, and looking for garbage copies shared pages.
    gc.disable()
    # Ctrl-C reaches the whole group: the parent answers it, and ends its children.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError):
        try:
            sender.send((True, work()))
        except BaseException as error:
            sender.send((False, _sendable(error)))


def can_fork() -> bool:
    """Whether a child process can be forked: the system forks, there is more than one core and no other thread."""
    able = hasattr(os, "fork") and sys.platform != "darwin" and cores() > 1
    return able and multiprocessing.parent_process() is None and threading.active_count() == 1


def cores() -> int:
    """Number of cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _sendable(error: BaseException) -> BaseException:
    """The error, or a RuntimeError with the same text where it cannot be pickled."""
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error
