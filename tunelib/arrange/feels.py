"""How a band plays a tune: the feels, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tunelib.pitch import look_up


@dataclass(frozen=True)
class Feel:
    """A way of playing a tune."""

    name: str


FEELS: Mapping[str, Feel] = {
    name: Feel(name) for name in ("swing", "straight", "ballad", "bossa", "waltz", "long chords")
}
"""The feels by their names."""

_BALLAD_BELOW = 96  # beats a minute


def suitable_feel(beats_per_bar: int, tempo: float) -> Feel:
    """The feel that a tune is played in unless another is asked for.

    In bars of 3 beats, or of several 3s, a waltz; else a ballad below 96 beats a minute, and swing from there on.

    >>> suitable_feel(3, 140).name, suitable_feel(4, 72).name, suitable_feel(4, 160).name
    ('waltz', 'ballad', 'swing')
    """
    if beats_per_bar % 3 == 0:
        return FEELS["waltz"]
    return FEELS["ballad" if tempo < _BALLAD_BELOW else "swing"]


def find_feel(name: str) -> Feel:
    """A feel by its name. Raises ValueError for another, with the nearest."""
    return look_up(name, FEELS, "feel")
