"""Run a function in a forked child process and collect its result.

A child sees everything as it stood when it began, so nothing can change under it. Where a system cannot fork, or one
core alone may be used, the work is done at once instead; the result is the same. So it is in a child: those who began
it have filled the cores. And so it is beside other threads: a lock that one of them holds would never open in a child.
"""

from __future__ import annotations

import contextlib
import gc
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")

_IS_CHILD = False


class BackgroundTask(Generic[T]):
    """One piece of work and, once asked for, its result."""

    __slots__ = ("_done", "_error", "_pid", "_pipe", "_value")

    def __init__(self, work: Callable[[], T], *, aside: bool = True) -> None:
        """Begin. `aside` false: do it here and now."""
        self._value: T | None = None
        self._error: BaseException | None = None
        self._done = False
        self._pid = self._pipe = -1
        if aside and can_fork():
            self._fork(work)
        else:
            self._value, self._done = work(), True

    def result(self) -> T:
        """What the work came to. Raises what it raised; RuntimeError where the child was lost."""
        if not self._done:
            with os.fdopen(self._pipe, "rb") as pipe:
                data = pipe.read()
            os.waitpid(self._pid, 0)
            self._done = True
            try:
                good, found = pickle.loads(data)
            except (EOFError, pickle.UnpicklingError):
                raise RuntimeError("a helper process was lost; is there memory enough? Try a coarser pitch") from None
            if good:
                self._value = found
            else:
                self._error = found
        if self._error is not None:
            raise self._error
        return self._value  # type: ignore[return-value]

    def drop(self) -> None:
        """Ends work whose result nobody wants any more; nothing where it was asked for already."""
        if not self._done:
            self._done = True
            os.close(self._pipe)
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._pid, signal.SIGKILL)
            os.waitpid(self._pid, 0)

    def _fork(self, work: Callable[[], T]) -> None:
        reader, writer = os.pipe()
        sys.stdout.flush()
        sys.stderr.flush()
        self._pid = os.fork()
        if self._pid == 0:
            globals()["_IS_CHILD"] = True
            # It lives too short to be worth clearing up after, and looking for garbage copies shared pages.
            gc.disable()
            os.close(reader)
            try:
                try:
                    answer = pickle.dumps((True, work()))
                except BaseException as error:
                    answer = pickle.dumps((False, _sendable(error)))
                with os.fdopen(writer, "wb") as pipe:
                    pipe.write(answer)
            finally:
                os._exit(0)
        os.close(writer)
        self._pipe = reader


def can_fork() -> bool:
    """Whether work can be done aside here and now: a system that forks, more than one core, and no other thread."""
    able = hasattr(os, "fork") and sys.platform != "darwin" and cores() > 1
    return able and not _IS_CHILD and threading.active_count() == 1


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
