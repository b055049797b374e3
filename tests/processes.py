"""Processes on this machine."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager

import psutil


@contextmanager
def heeding_signals() -> Iterator[None]:
    """What is started in here heeds Ctrl-C and a closed terminal, even if we have been started to ignore them.

    A shell has its background jobs ignore Ctrl-C, and nohup a closed terminal; whatever they start ignores it too.
    """
    numbers = [getattr(signal, name) for name in ("SIGINT", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.signal(number, signal.default_int_handler) for number in numbers}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def still_running(words: str) -> bool:
    """Whether there is a process whose command line has some words in it."""
    lines = (" ".join(process.info["cmdline"] or []) for process in psutil.process_iter(["cmdline"]))
    return any(words in line for line in lines)
