"""Swing: where an off-beat is played, and when a melody lays back.

Of a beat in two eighths the second begins later. A beat with triplets or sixteenths is played as it is written. A
melody swings less than the chords and the bass do; for its off-beats to meet theirs all the same, the whole of it is
late by the difference, as soloists are heard to lay back on the beat.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

_TICKS = 960  # of a beat, as MIDI files here have them: times that swing moves are whole ones
_HALF = Fraction(1, 2)


@dataclass(frozen=True)
class Swing:
    """Where the off-beats of one line are played.

    Parameters
    ----------
    off_beat : Fraction
        Where in its beat, which is 1/2 for even eighths.
    late : Fraction
        By how many beats all of it is late.
    straight : frozenset of int
        Beats, counted from 0, that are played as they are written.
    """

    off_beat: Fraction
    late: Fraction = Fraction(0)
    straight: frozenset[int] = frozenset()

    def played(self, time: Fraction) -> Fraction:
        """When what is written at a beat is played.

        >>> swing = Swing(off_beat(2.0))
        >>> [str(swing.played(Fraction(time))) for time in ("1", "3/2", "5/3")]
        ['1', '5/3', '5/3']
        """
        beat = math.floor(time)
        swung = time - beat == _HALF and beat not in self.straight
        return (beat + self.off_beat if swung else time) + self.late


def off_beat(ratio: float) -> Fraction:
    """Where in its beat an off-beat is played that makes the first eighth so many times as long as the second."""
    return on_tick(Fraction(ratio) / (1 + Fraction(ratio)))


def on_tick(time: Fraction) -> Fraction:
    """A time in beats as the nearest whole number of ticks."""
    return Fraction(round(_TICKS * time), _TICKS)


def melody_swing(times: Iterable[Fraction], of_band: float, of_melody: float) -> Swing:
    """The swing of a melody whose notes begin and end at some beats, over a band of another ratio."""
    uneven = frozenset(math.floor(time) for time in times if time % _HALF)
    band, own = off_beat(of_band), off_beat(of_melody)
    return Swing(own, max(Fraction(0), band - own), uneven)
