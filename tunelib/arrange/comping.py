"""How a rhythm section plays chords from a lead sheet: when the chords are struck, and what the bass does.

In bars of an even number of beats the chords are struck as they begin, and off the beat between: after the second beat
in one bar, after the third in the next. In waltzes and other uneven bars the bass has the first beat to itself and the
chords have the others. The bass plays the bass note as a chord begins, and then on every other beat the fifth and the
bass note in turn; in uneven bars, on the first beats. All this is common practice in its plainest form.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

_GROUP = 4  # beats
_LONGEST = Fraction(3, 4)  # of a struck chord, in beats
_SHORTEST = Fraction(1, 4)  # what is left of a chord for it to be struck once more


def struck(onset: Fraction, end: Fraction, beats_per_bar: int) -> list[tuple[Fraction, Fraction]]:
    """When a chord that holds between two beats is struck, and for how long, in beats.

    >>> [(str(when), str(length)) for when, length in struck(Fraction(0), Fraction(4), 4)]
    [('0', '3/4'), ('3/2', '3/4')]
    """
    times = [onset, *(time for time in _pattern(onset, end, beats_per_bar) if onset < time <= end - _SHORTEST)]
    if beats_per_bar % 2 and onset % beats_per_bar == 0 and len(times) > 1:
        del times[0]  # the bass has it
    return [(time, min(_LONGEST, after - time)) for time, after in zip(times, [*times[1:], end], strict=True)]


def _pattern(onset: Fraction, end: Fraction, beats_per_bar: int) -> Iterator[Fraction]:
    """The times of the pattern from the bar in which a chord begins to its end."""
    for bar in range(int(onset // beats_per_bar), -int(-end // beats_per_bar)):
        start = Fraction(bar * beats_per_bar)
        if beats_per_bar % 2:
            yield from (start + beat for beat in range(1, beats_per_bar))
        else:
            off_beat = Fraction(5, 2) if bar % 2 else Fraction(3, 2)
            for group in range(0, beats_per_bar, _GROUP):
                yield start + group + (off_beat if beats_per_bar - group >= _GROUP else Fraction(3, 2))
