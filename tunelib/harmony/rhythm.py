"""What can be written down in note values: a beat in halves of halves down to a 64th, or in a tuplet of such."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import floor, lcm

from tunelib.harmony.tune import Timed

SHORTEST_VALUE = Fraction(1, 64)
"""Beats that the shortest note value lasts: a 256th."""


def check_rhythm(voice: Iterable[Timed]) -> None:
    """Refuse what has no note value, before any work is done on it.

    A beat that is cut into n parts, n odd, is a tuplet of n in the time of the power of two below, and its notes are
    written as that many: 7 as 4, so that a seventh of a beat is a sixteenth (common practice).

    Raises ValueError, with line, column, bar and beat, for a beat whose notes would be shorter than a 64th of it.
    """
    parts: dict[int, int] = {}
    for timed in voice:
        for time in (timed.onset, timed.end):
            beat = floor(time)
            parts[beat] = lcm(parts.get(beat, 1), time.denominator)
            even = parts[beat] & -parts[beat]
            odd = parts[beat] // even
            if Fraction(1, even << (odd.bit_length() - 1)) < SHORTEST_VALUE:
                where = f"line {timed.line}, column {timed.column}: " * bool(timed.line)
                raise ValueError(
                    f"{where}in bar {timed.bar} something begins or ends {time - beat} into a beat, which leaves no "
                    f"note value for what is in that beat: the shortest is {SHORTEST_VALUE} of a beat, or a "
                    "tuplet of such"
                )
