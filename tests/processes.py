"""Processes on this machine."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager

import psutil


@contextmanager
def heeding_ctrl_c() -> Iterator[None]:
    """What is started in here heeds Ctrl-C, as it would in a terminal, even if we have been started to ignore it.

    A shell has its background jobs ignore the signal, and whatever they start ignores it too.
    """
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def still_running(words: str) -> bool:
    """Whether there is a process whose command line has some words in it."""
    lines = (" ".join(process.info["cmdline"] or []) for process in psutil.process_iter(["cmdline"]))
    return any(words in line for line in lines)
