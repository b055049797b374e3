"""Processes that work side by side, each at the end of a line of its own.

They share no queue and no lock: where one is ended from outside, at whatever moment, as a system does that is short of
memory, its line breaks and its job is lost, and nobody waits for anything that it held. (A pool of the standard library
may wait for ever where a process ends while others are being begun.)
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnContext
from multiprocessing.process import BaseProcess
from types import FrameType, TracebackType
from typing import Generic, TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")

_STOP_SECONDS = 1.5  # for a process to tidy up


class Workers(Generic[Job, Result]):
    """Processes to which jobs are handed; used in a ``with``, at whose end none is left.

    Parameters
    ----------
    work : callable
        What makes a result of a job; it, the jobs and the results can be pickled, and it raises nothing.
    count : int
        How many processes, 1 or more.
    context : SpawnContext
        How they are begun; what they share is made by the same.
    """

    def __init__(self, work: Callable[[Job], Result], count: int, context: SpawnContext) -> None:
        self._processes: dict[Connection, BaseProcess] = {}
        with _no_interrupt():  # what is begun here is not to hear of Ctrl-C
            for _ in range(count):
                ours, theirs = context.Pipe()
                process = context.Process(target=_serve, args=(theirs, work))
                process.start()
                theirs.close()
                self._processes[ours] = process

    def do(self, jobs: Sequence[Job], seconds: float) -> Iterator[list[tuple[Job, Result | None]]]:
        """Do jobs, which are begun in their order; yields what is finished, and nothing where so many seconds pass.

        A job whose process ended before its result was there comes with None. So do, at the end, those that nobody was
        left to do. A process that has ended is not replaced.
        """
        waiting, busy = list(reversed(jobs)), dict[Connection, Job]()
        for line in self._processes:
            self._hand(line, waiting, busy)
        while busy:
            finished: list[tuple[Job, Result | None]] = []
            heard = wait(list(busy), seconds)
            for line in [line for line in busy if line in heard]:
                job = busy.pop(line)
                try:
                    finished.append((job, line.recv()))
                except (EOFError, OSError):
                    finished.append((job, None))
                else:
                    self._hand(line, waiting, busy)
            yield finished
        if waiting:
            yield [(job, None) for job in reversed(waiting)]

    def _hand(self, line: Connection, waiting: list[Job], busy: dict[Connection, Job]) -> None:
        """Give the next job to a process; where that has ended, its broken line says so at the next look."""
        if waiting:
            busy[line] = waiting.pop()
            with contextlib.suppress(OSError):
                line.send(busy[line])

    def __enter__(self) -> Workers[Job, Result]:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Let the processes go, which have nothing to do any more; after an error, stop them, with time to tidy up."""
        for line, process in self._processes.items():
            line.close()
            if kind is not None:
                process.terminate()
        until = time.monotonic() + _STOP_SECONDS
        for process in self._processes.values():
            process.join(max(0.0, until - time.monotonic()))
            if process.is_alive():
                process.kill()
                process.join()


@contextlib.contextmanager
def _no_interrupt() -> Iterator[None]:
    """Leave Ctrl-C unheard for a moment."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


# In the processes that do the work:


def _serve(line: Connection, work: Callable[[Job], Result]) -> None:
    """Do what comes along the line until it is closed: stopped by the parent alone, and not to outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _leave)
    threading.Thread(target=_follow_parent, daemon=True).start()
    with contextlib.suppress(EOFError, OSError):
        while True:
            line.send(work(line.recv()))


def _leave(number: int, frame: FrameType | None) -> None:
    raise SystemExit(1)


def _follow_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os.kill(os.getpid(), signal.SIGTERM)  # which lets the work tidy up
        time.sleep(_STOP_SECONDS)
        os._exit(1)
