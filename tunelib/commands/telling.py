"""What the commands say while they work, and when they stop."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable
from typing import TextIO, TypeVar

_HIDDEN = re.compile(r"\.tunelib-[^/\\]+[/\\](made[/\\])?")  # where files are while they are made
_LONGEST = 1000  # letters of a line; what somebody gave may be longer
_Told = TypeVar("_Told", bound="Telling")


class Telling:
    """Says how a longer piece of work is going: on a terminal in one line that changes, otherwise line by line."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._changing = stream.isatty()

    def _tell(self, words: str) -> None:
        with contextlib.suppress(OSError):  # a stream that is full or gone does not stop the work
            self._stream.write(f"\r\x1b[K{words}" if self._changing else f"{words}\n")
            self._stream.flush()

    def __enter__(self: _Told) -> _Told:
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the changing line."""
        if self._changing:
            self._tell("")


class Steps(Telling):
    """Says which step the work is at."""

    def __call__(self, step: str) -> None:
        """Say which step begins."""
        self._tell(f"{step} ...")

    def share(self, step: str) -> Callable[[float], None]:
        """A function to call with the share of a step that is done, 0 to 1; it shows it where a line can change."""
        last = ""

        def tell(share: float) -> None:
            nonlocal last
            words = f"{step}: {share:.0%}"
            if self._changing and words != last:
                self._tell(words)
                last = words

        return tell


def one_line(error: Exception) -> str:
    """What went wrong, in one line, for somebody at the command line."""
    said = str(error)
    if isinstance(error, OSError) and error.strerror and error.errno is not None:
        reason = f"{error.strerror[:1].lower()}{error.strerror[1:]}"
        said = f"{error.filename}: {reason}" if error.filename else f"what was printed did not all arrive: {reason}"
    said = _HIDDEN.sub("", said).replace("pass overwrite=True", "give --force")
    said = " ".join(said.split())
    return said if len(said) <= _LONGEST else f"{said[: _LONGEST // 2]} … {said[-_LONGEST // 2 :]}"
