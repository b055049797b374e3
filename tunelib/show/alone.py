"""One sound at a time: whatever begins to play silences what played before."""

from __future__ import annotations

import weakref
from typing import Protocol


class Player(Protocol):
    """Something on a page that can play, and stop."""

    def fall_silent(self) -> None:
        """Stop playing."""
        ...


_last: list[weakref.ref[Player]] = []  # the one that was last asked to sound, if it is still there


def sound_alone(player: Player) -> None:
    """Make a player the only one that sounds: the one before it stops."""
    before = _last.pop()() if _last else None
    if before is not None and before is not player:
        before.fall_silent()
    _last.append(weakref.ref(player))
