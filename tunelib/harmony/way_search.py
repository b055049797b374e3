"""The search for ways through many places: every path up to a cost is found, and what cannot be one is left early.

A path goes from a start through a number of places to an end. It costs what its places cost, what each move costs, and
one price more for each voice that turns back. A bound on the rest, from each place to the end, is worked out from the
end backwards without the turns (dynamic programming), and a beginning that costs too much with it is not followed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray, IntArray

Path: TypeAlias = "tuple[float, tuple[int, ...]]"
"""What a path costs, and the places that it goes through."""


@dataclass(frozen=True, eq=False)
class Field:
    """Places and what it costs to go from one to another.

    Parameters
    ----------
    steps : array of int, shape (places + 2, voices)
        Of each place the voices; the last two are the start and the end.
    costs : array, shape (places,)
        Of each place; of those that a path goes through the mean counts.
    moves : array, shape (places + 2, places + 2)
        From a row to a column; infinite where that is no move.
    passing : float
        What each place costs as such.
    turn : float
        What it costs that a voice turns back. It may do so once.
    aside : int
        By how much it may move where it turns.
    """

    steps: IntArray
    costs: FloatArray
    moves: npt.NDArray[np.float32]
    passing: float
    turn: float
    aside: int
    _rests: dict[int, list[npt.NDArray[np.float32]]] = field(default_factory=dict, init=False)

    def rest(self, length: int) -> list[npt.NDArray[np.float32]]:
        """What the rest of a path through `length` places costs at the least from each, by how many are to come."""
        if length not in self._rests:
            inner = self.moves[:-2, :-2] + self._alone(length)
            left = [self.moves[:-2, -1]]
            for _ in range(length - 1):
                left.append((inner + left[-1]).min(axis=1, initial=np.inf))
            self._rests[length] = left
        return self._rests[length]

    def _alone(self, length: int) -> npt.NDArray[np.float32]:
        """What each place adds to a path of that length."""
        return np.asarray(self.costs / length + self.passing, dtype=np.float32)

    def least(self, length: int) -> float:
        """What a path through a number of places costs at the least if nothing turns."""
        first = self.moves[-2, :-2] + self._alone(length) + self.rest(length)[-1]
        return float(first.min(initial=np.inf))

    def paths(self, length: int, bound: float) -> list[Path]:
        """All paths through a number of places that cost no more than a bound, in no order."""
        left, alone = self.rest(length), self._alone(length)
        here = np.array([[len(self.steps) - 2]])  # beginnings, a row each: the places so far
        spent = np.zeros(1)
        heading = np.zeros((1, self.steps.shape[1]), dtype=np.int64)  # of each voice: its last move up or down
        turned = np.zeros(heading.shape, dtype=bool)
        for still in range(length - 1, -2, -1):
            at = here[:, -1]
            if still >= 0:
                onward = spent[:, np.newaxis] + self.moves[at, :-2] + alone
                row, place = np.nonzero(onward + left[still] <= bound)
                cost = onward[row, place]
            else:
                onward = spent + self.moves[at, -1]
                row = np.flatnonzero(onward <= bound)
                place = np.full(len(row), len(self.steps) - 1)
                cost = onward[row]
            moved = self.steps[place] - self.steps[at[row]]
            turns = moved * heading[row] < 0
            too_often = (turns & (turned[row] | (np.abs(moved) > self.aside))).any(axis=1)
            again = (here[row] == place[:, np.newaxis]).any(axis=1)
            cost = cost + self.turn * turns.sum(axis=1)
            rest = left[still][place] if still >= 0 else 0.0
            kept = ~too_often & ~again & (cost + rest <= bound)
            row, place, moved = row[kept], place[kept], moved[kept]
            here, spent = np.column_stack([here[row], place]), cost[kept]
            turned = turned[row] | turns[kept]
            heading = np.where(moved != 0, np.sign(moved), heading[row])
        return list(zip(spent.tolist(), map(tuple, here[:, 1:-1].tolist()), strict=True))
