"""What divisions of the octave give and take, side by side: how near they come, what they close, and what they cost."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from tunelib.exhibits import find_exhibit
from tunelib.harmony import PROGRESSIONS, playable_division
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    consistency,
    equal,
    errors,
    largest_error,
    odd_limit_intervals,
    plain,
    rms_error,
    shortened,
    signed,
    vanishes,
)

FIFTHS_OF_A_KEYBOARD = 11  # that twelve keys have; what is left of the circle is the twelfth
_OCTAVE_PLAYED = "octave"  # the number of the exhibit that has a keyboard's width, in centimetres


def wolf(division: int) -> int:
    """By how many steps the last fifth of twelve notes differs from the others, if a keyboard has only twelve of them.

    The twelve are in a row of fifths, as from E♭ to G♯; wider is more than 0.

    >>> [wolf(n) for n in (12, 19, 22, 31, 53)]
    [0, 1, -2, 1, -1]
    """
    fifth = playable_division(equal(division)).fifth
    assert fifth is not None
    octaves = 7  # that twelve fifths go up
    return octaves * division - (FIFTHS_OF_A_KEYBOARD + 1) * fifth


def _miss(ratio: str) -> Callable[[int], str]:
    return lambda division: signed(float(np.asarray(errors(division, [ratio]))[0]), 1)


def _closes(comma: str) -> Callable[[int], str]:
    return lambda division: "yes" if vanishes(comma, division) else "no"


def _wolf_in_cents(division: int) -> str:
    return signed(wolf(division) * CENTS_PER_OCTAVE / division, 0)


def _drift(division: int) -> str:
    return signed(PROGRESSIONS["I vi ii V"].drift(division), 1)


def _cost(number: str) -> Callable[[int], str]:
    return lambda division: find_exhibit("finer_steps").numbers(division=division)[number]


ROWS: Mapping[str, Mapping[str, Callable[[int], str]]] = {
    "What it gives, in cents": {
        "fifth, 3/2": _miss("3/2"),
        "major third, 5/4": _miss("5/4"),
        "harmonic 7, 7/4": _miss("7/4"),
        "harmonic 11, 11/8": _miss("11/8"),
        "worst, odd numbers up to 7": lambda division: plain(largest_error(division, odd_limit_intervals(7))),
        "typical, odd numbers up to 7": lambda division: plain(rms_error(division, odd_limit_intervals(7))),
        "worst, odd numbers up to 11": lambda division: plain(largest_error(division, odd_limit_intervals(11))),
        "typical, odd numbers up to 11": lambda division: plain(rms_error(division, odd_limit_intervals(11))),
    },
    "What it closes": {
        "nearest steps add up, odd numbers up to": lambda division: str(consistency(division)),
        "I vi ii V comes home (81/80 vanishes)": _closes("81/80"),
        "each round of it, cents": _drift,
        "two fourths up are harmonic 7 (64/63 vanishes)": _closes("64/63"),
        "three major thirds make an octave (128/125 vanishes)": _closes("128/125"),
        "four minor thirds make an octave (648/625 vanishes)": _closes("648/625"),
    },
    "What it takes": {
        "keys to an octave": str,
        "one step, cents": _cost("cents"),
        "wolf of a keyboard with twelve of them, cents": _wolf_in_cents,
        f"first fret from the nut, mm of {SCALE_LENGTH:g}": _cost("first_fret"),
        "frets at the octave, mm apart": _cost("last_fret"),
        "an octave of keys as wide as a piano's, cm": _cost(_OCTAVE_PLAYED),
        "what a hand that spans an octave reaches there, cents": _cost("reach"),
    },
}
"""The rows of the table under their headings: what each is called, and how it is worked out for a division."""


def division_table(divisions: Sequence[int]) -> DivisionTable:
    """What some divisions give and take, for a notebook.

    Raises ValueError for none at all, and for one in which harmony does not work.

    >>> print(division_table([12, 31]).cells["What it gives, in cents"]["major third, 5/4"])
    ('+13.7', '+0.8')
    """
    if not divisions or not isinstance(divisions, Sequence):
        raise ValueError(f"give one division or more, such as 12 and 31, not {shortened(divisions)}")
    return DivisionTable(tuple(len(playable_division(equal(division))) for division in divisions))


class DivisionTable:
    """The table; a notebook shows it under three headings. Made by `division_table`.

    ``cells`` has for each heading and row what is printed, in the order of ``divisions``.
    """

    def __init__(self, divisions: tuple[int, ...]) -> None:
        self.divisions = divisions
        self.cells = {
            heading: {name: tuple(work_out(division) for division in divisions) for name, work_out in rows.items()}
            for heading, rows in ROWS.items()
        }

    def __str__(self) -> str:
        """The table in columns of letters of one width."""
        lines = []
        for heading, rows in self.cells.items():
            table = [(heading, *map(str, self.divisions)), *((name, *cells) for name, cells in rows.items())]
            first = max(len(row[0]) for row in table)
            width = 2 + max(len(cell) for row in table for cell in row[1:])
            lines += [row[0].ljust(first) + "".join(cell.rjust(width) for cell in row[1:]) for row in table] + [""]
        return "\n".join(lines)

    __repr__ = __str__

    def _repr_markdown_(self) -> str:
        parts = []
        for heading, rows in self.cells.items():
            parts += [f"| {heading} | {' | '.join(map(str, self.divisions))} |", "|---|" + "--:|" * len(self.divisions)]
            parts += [f"| {html.escape(name)} | {' | '.join(cells)} |" for name, cells in rows.items()] + [""]
        return "\n".join(parts)
