"""One way between two chords: its chords, its voices, what it costs, and why it is where it is among others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tunelib.harmony.chords import Chord
from tunelib.harmony.leading import Leading
from tunelib.harmony.way_in_twelve import InTwelve
from tunelib.pitch import IntArray, Tuning, times

_TELLING = 0.05  # points: a smaller difference is none
_DEARER = {
    "moves": "its moves are larger",
    "turns": "a voice turns back",
    "ratios": "its chords are farther from simple ratios",
    "roughness": "it sounds rougher",
    "known": "a piano has more of its chords",
    "roots": "its roots go farther",
    "length": "it is longer",
}
_CHEAPER = {
    "moves": "its moves are smaller",
    "turns": "fewer voices turn back",
    "ratios": "its chords are nearer to simple ratios",
    "roughness": "it sounds smoother",
    "known": "a piano has fewer of its chords",
    "roots": "its roots stay nearer",
    "length": "it is shorter",
}


class WayCost(NamedTuple):
    """What a way costs, in points.

    For its moves, for voices that turn back, on the mean of its passing chords for their ratios, their roughness and
    for being chords of twelve, for its roots, and for its length.
    """

    moves: float
    turns: float
    ratios: float
    roughness: float
    known: float
    roots: float
    length: float

    @property
    def total(self) -> float:
        """All together."""
        return float(sum(self))


@dataclass(frozen=True)
class Way:
    """A progression from one chord to another.

    Parameters
    ----------
    chords : tuple of Chord
        The two that are joined and between them those that are passed through.
    voices : tuple of tuples of int
        For each chord the step of each voice, rising, C4 being 0.
    tuning : Tuning
    cost : WayCost
    in_twelve : InTwelve
        What twelve would make of it.
    reason : str
        Why it is where it is among the ways it was found with.
    """

    chords: tuple[Chord, ...]
    voices: tuple[tuple[int, ...], ...]
    tuning: Tuning
    cost: WayCost
    in_twelve: InTwelve
    reason: str = ""

    @property
    def passing(self) -> tuple[Chord, ...]:
        """The chords that are passed through."""
        return self.chords[1:-1]

    @property
    def leading(self) -> Leading:
        """Its voices, which know their notes and say what each of them does."""
        return Leading(self.voices, self.tuning)

    @property
    def moves(self) -> IntArray:
        """Steps by which each voice moves into each chord after the first; shape (chords - 1, voices)."""
        return self.leading.motion

    @property
    def symbols(self) -> tuple[str, ...]:
        """The symbols of the chords."""
        return tuple(chord.symbol for chord in self.chords)

    def __str__(self) -> str:
        return " – ".join(self.symbols)


def reason(place: int, ways: Sequence[Way]) -> str:
    """Why a way is at its place among some, the best first: what its voices do, and what sets it behind the best."""
    way, best = ways[place], ways[0]
    held = int(np.count_nonzero(way.moves == 0))
    said = (
        f"{times(way.leading.total, 'step')} in all, {way.leading.largest} at most at a time, "
        f"{times(held, 'note')} held"
    )
    if place == 0:
        return f"The best: {said}."
    by_part = {name: mine - other for name, mine, other in zip(WayCost._fields, way.cost, best.cost, strict=True)}
    dearest, cheapest = max(by_part, key=by_part.__getitem__), min(by_part, key=by_part.__getitem__)
    if by_part[dearest] < _TELLING:
        return f"As good as the best: {said}."
    though = f", though {_CHEAPER[cheapest]}" if by_part[cheapest] < -_TELLING else ""
    return f"{said}; it comes after the best since {_DEARER[dearest]}{though}."
