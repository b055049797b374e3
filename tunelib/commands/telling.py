"""What the commands say while they work, and when they stop."""

from __future__ import annotations

from typing import TextIO, TypeVar

_Told = TypeVar("_Told", bound="Telling")


class Telling:
    """Tells how a longer piece of work goes: on a terminal in one line that changes, else line by line."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._changing = stream.isatty()

    def _tell(self, words: str) -> None:
        self._stream.write(f"\r\x1b[K{words}" if self._changing else f"{words}\n")
        self._stream.flush()

    def __enter__(self: _Told) -> _Told:
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the changing line."""
        if self._changing:
            self._tell("")


class Steps(Telling):
    """Tells the steps of the work."""

    def __call__(self, step: str) -> None:
        """Say which step begins."""
        self._tell(f"{step} ...")


def one_line(error: Exception) -> str:
    """What went wrong, in one line, for somebody at the command line."""
    return " ".join(str(error).replace("pass overwrite=True", "give --force").split())
