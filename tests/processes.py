"""Processes on this machine."""

from __future__ import annotations

import psutil


def still_running(words: str) -> bool:
    """Whether there is a process whose command line has some words in it."""
    lines = (" ".join(process.info["cmdline"] or []) for process in psutil.process_iter(["cmdline"]))
    return any(words in line for line in lines)
