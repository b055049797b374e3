"""Keys in rows: a keyboard in two dimensions, on which a chord has one shape in every key.

One key to the right raises the pitch by one fixed interval, one key up by another, all over the keyboard. So an
interval is a direction and a distance, wherever it begins, and what a hand has learnt in one key it can play in all.
R. H. M. Bosanquet described such keyboards, which he called generalised, and had one built with 53 notes to the octave
(*An Elementary Treatise on Musical Intervals and Temperament*, 1876; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import whole_number
from tunelib.pitch.divisions import FINEST_DIVISION
from tunelib.pitch.intervals import finite, shortened

IntArray = npt.NDArray[np.int64]


FINGERS = 5  # of one hand


@dataclass(frozen=True)
class KeyGrid:
    """A keyboard of straight rows for an equal division of the octave.

    Parameters
    ----------
    division : int
        Steps to the octave, 1 or more.
    across, up : int
        Steps by which the key to the right, and the key above, is higher; negative where it is lower.

    Keys are told by column and row, counted from the key that sounds step 0. Raises ValueError for a number that is not
    whole or is beyond a million, a division of less than 1, and for `across` and `up` both 0.

    >>> grid = KeyGrid(31, across=5, up=13)  # a whole tone, a fourth
    >>> grid.shape([0, 10, 18]).tolist()  # a major triad: two to the right, one to the right and up
    [[0, 0], [2, 0], [1, 1]]
    """

    division: int
    across: int
    up: int

    def __post_init__(self) -> None:
        whole_number(self.division, "a division", 1, FINEST_DIVISION)
        for what, value in (("across", self.across), ("up", self.up)):
            whole_number(value, what, -FINEST_DIVISION, FINEST_DIVISION)
        if not (self.across or self.up):
            raise ValueError("all keys would sound the same: across and up cannot both be 0")

    def step(self, column: Any, row: Any) -> Any:
        """The step that a key sounds; columns and rows are whole numbers or arrays of them that fit each other."""
        steps = self.across * _whole(column, "columns") + self.up * _whole(row, "rows")
        return steps if steps.ndim else int(steps)

    @property
    def spacing(self) -> int:
        """How many steps apart the keys are: the greatest common divisor of `across` and `up`."""
        return math.gcd(self.across, self.up)

    def reaches(self, steps: Any) -> Any:
        """Whether a step, or each of an array of steps, has a key in its octave."""
        found = _whole(steps, "steps") % self.spacing == 0
        return found if found.ndim else bool(found)

    def keys(self, step: int, columns: range, rows: range, any_octave: bool = False) -> IntArray:
        """The keys of a board that sound a step.

        Parameters
        ----------
        step : int
        columns, rows : range
            Those of the board.
        any_octave : bool
            Whether keys that sound it octaves higher or lower count.

        Returns
        -------
        array of int, shape (keys, 2)
            Column and row of each, from the bottom row up and in each from the left; none if there is no such key.
        """
        away = self.step(np.array(columns), np.array(rows)[:, np.newaxis]) - int(_whole(step, "steps"))
        across, up = np.nonzero((away % self.division if any_octave else away).T == 0)
        order = np.lexsort((across, up))
        return np.stack([np.array(columns)[across[order]], np.array(rows)[up[order]]], axis=1).reshape(-1, 2)

    def nearest_key(self, step: int, column: float, row: float) -> tuple[int, int]:
        """The key nearest to a place of all that sound a step; of two equally near, the lower one.

        Raises ValueError if no key sounds the step, or if column and row are not finite numbers.
        """
        place = finite([column, row], "the column and row of a place")
        candidates = self._family(int(_whole(step, "steps")), place, 0.0)
        return int(candidates[0, 0]), int(candidates[0, 1])

    def shape(self, steps: Sequence[int]) -> IntArray:
        """Where the keys of a chord are, as seen from the key of its first note: the same in every key.

        Of all the ways to finger the chord this is the most compact: the one whose farthest two keys are nearest to
        each other, and of those equally good, the one with the smallest distances overall.

        Parameters
        ----------
        steps : sequence of int
            The notes of the chord, in steps from anywhere.

        Returns
        -------
        array of int, shape (notes, 2)
            Columns to the right and rows up, in the order of the notes; the first is (0, 0).

        Raises ValueError for no notes, more than a hand has fingers, or one that cannot be reached from the first.
        """
        notes = np.atleast_1d(_whole(steps, "steps"))
        if not 1 <= notes.size <= FINGERS:
            raise ValueError(f"a shape is for one hand: 1 to {FINGERS} notes, not {notes.size}")
        intervals = notes - notes[0]
        here = np.zeros(2)
        nearest = np.array([self._family(int(interval), here, 0.0)[0] for interval in intervals])
        widest = int(_squares(nearest[np.newaxis]).max())  # no better shape leaves this circle
        shapes = np.zeros((1, 1, 2), dtype=np.int64)
        for interval in intervals[1:]:
            places = self._family(int(interval), here, math.sqrt(widest))
            longer = np.concatenate(
                [np.repeat(shapes, len(places), axis=0), np.tile(places, (len(shapes), 1))[:, np.newaxis]], axis=1
            )
            shapes = longer[_squares(longer).max(axis=(1, 2)) <= widest]
        distances = _squares(shapes)
        order = np.lexsort((distances.sum(axis=(1, 2)), distances.max(axis=(1, 2))))
        return np.asarray(shapes[order[0]])

    def _family(self, step: int, place: npt.NDArray[np.float64], radius: float) -> IntArray:
        """Keys that sound a step and are within a radius of a place, the nearest first, and in any case the nearest."""
        if step % self.spacing:
            raise ValueError(
                f"no key sounds step {step}: with {self.across} steps across and {self.up} up there is a key at every "
                f"{self.spacing} steps only"
            )
        a, b = self.across // self.spacing, self.up // self.spacing
        first = np.array(_meeting(a, b)) * (step // self.spacing)
        along = np.array([b, -a])  # from one key of a step to the next
        middle = float((place - first) @ along) / float(along @ along)
        reach = math.ceil(radius / math.hypot(a, b)) + 1
        found = first + np.arange(math.floor(middle) - reach, math.floor(middle) + reach + 2)[:, np.newaxis] * along
        squares = ((found - place) ** 2).sum(axis=1)
        order = np.lexsort((found[:, 0], found[:, 1], squares))
        within = squares[order] <= radius**2 + 1e-9
        within[0] = True
        return np.asarray(found[order][within])


def _whole(values: Any, what: str) -> IntArray:
    array = np.asarray(values)
    if array.size and array.dtype.kind not in "iu":
        raise ValueError(f"{what} are whole numbers, not {shortened(values)}")
    return array.astype(np.int64)


def _squares(shapes: IntArray) -> IntArray:
    """Squared distances between all keys of each shape: (shapes, notes, 2) to (shapes, notes, notes)."""
    apart = shapes[:, :, np.newaxis] - shapes[:, np.newaxis]
    return np.asarray((apart**2).sum(axis=-1))


def _meeting(a: int, b: int) -> tuple[int, int]:
    """Whole numbers x and y with ``a x + b y = 1``, for `a` and `b` without a common divisor (Euclid)."""
    x, y, next_x, next_y, rest, next_rest = 1, 0, 0, 1, a, b
    while next_rest:
        times = rest // next_rest
        rest, next_rest = next_rest, rest - times * next_rest
        x, next_x = next_x, x - times * next_x
        y, next_y = next_y, y - times * next_y
    return (x, y) if rest == 1 else (-x, -y)
