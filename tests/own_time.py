"""An event loop with a clock of its own, so that what moves in time is tested alike on a quick and on a busy machine.

The clock stands still while anything is done, and where the loop would wait for a timer it leaps there.
"""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Coroutine
from typing import Any, TypeVar

T = TypeVar("T")


class _Leaping(selectors.DefaultSelector):  # type: ignore[valid-type, misc]
    """Waits for nothing but news; the seconds that a timer has still to run have passed at once."""

    seconds = 0.0

    def select(self, timeout: float | None = None) -> Any:
        if timeout is None:
            return super().select()
        self.seconds += max(0.0, timeout)
        return super().select(0)


class _Loop(asyncio.SelectorEventLoop):
    def __init__(self) -> None:
        self._leaping = _Leaping()
        super().__init__(self._leaping)

    def time(self) -> float:
        return self._leaping.seconds


def run(work: Coroutine[Any, Any, T]) -> T:
    """As `asyncio.run`, with a clock of its own."""
    loop = _Loop()
    try:
        return loop.run_until_complete(work)
    finally:
        loop.close()
