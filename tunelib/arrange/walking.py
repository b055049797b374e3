"""A walking line: of all ways from one bass note to the next the one that costs least.

What a line is held to is common practice: steps rather than leaps, no leap beyond an octave, back in the other
direction after a leap of more than a fifth, no note more than twice running, and a direction kept for a few notes. Nor
does it move by a diesis or a comma.
"""

from __future__ import annotations

from functools import lru_cache

from tunelib.pitch import CENTS_PER_OCTAVE

STEP, FIFTH = 250.0, 730.0
"""Cents: no step of a scale is larger than the one, and no fifth that letters are spelled by larger than the other."""

_MOVES = ((0.0, 1.5), (52.0, 4.0), (STEP, 0.0), (450.0, 0.4), (560.0, 0.6), (FIFTH, 0.7), (1150.0, 2.5), (1200.0, 1.8))
"""What a move costs, by its size up to a number of cents."""

_NEVER = 100.0  # a leap beyond an octave, a third time the same note, no turn after a leap beyond a fifth
_TURN = 0.25  # another direction than before
_BACK = 0.8  # to the note before last
_KEPT = 40  # ways that are followed at a time

Slot = tuple[tuple[int, float], ...]
"""What may be played on a beat: steps of the tuning, and what each costs there by itself."""


_Way = tuple[float, tuple[int, ...], tuple[int, ...]]  # what it has cost, its places so far, its last two notes


@lru_cache(maxsize=4096)
def cheapest_line(before: tuple[int, ...], slots: tuple[Slot, ...], target: int | None, size: int) -> tuple[int, ...]:
    """The places, in their slots, of the notes of a line.

    Parameters
    ----------
    before : tuple of int
        The one or two notes that come before, as steps of the tuning; empty at a beginning.
    slots : tuple of Slot
    target : int or None
        The note that the line leads to.
    size : int
        Steps of the octave.

    The same every time: of two lines that cost as much it is the one whose notes come first in their slots. Forty ways
    are followed at a time, the cheapest up to each beat.
    """
    ways: list[_Way] = [(0.0, (), before)]
    for slot in slots if target is None else (*slots, ((target, 0.0),)):
        best: dict[tuple[int, ...], _Way] = {}
        for cost, places, notes in ways:
            for place, (step, alone) in enumerate(slot):
                after = (*notes[-1:], step)
                total = cost + alone + _moved(notes, step, size)
                if after not in best or total < best[after][0]:
                    best[after] = total, (*places, place), after
        ways = sorted(best.values())[:_KEPT]
    return ways[0][1][: len(slots)]


def _moved(notes: tuple[int, ...], step: int, size: int) -> float:
    """What it costs to go on to a step from the two notes before."""
    if not notes:
        return 0.0
    move = step - notes[-1]
    cost = _cost(abs(move), size)
    if len(notes) > 1:
        last = notes[-1] - notes[-2]
        if move == last == 0 or (abs(last) * CENTS_PER_OCTAVE > FIFTH * size and move * last >= 0):
            cost += _NEVER
        if move * last < 0:
            cost += _TURN + (_BACK if step == notes[-2] else 0.0)
    return cost


@lru_cache(maxsize=4096)
def _cost(steps: int, size: int) -> float:
    return next((cost for most, cost in _MOVES if steps * CENTS_PER_OCTAVE <= most * size), _NEVER)
