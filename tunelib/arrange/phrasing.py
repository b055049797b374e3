"""How a melody is phrased: how loud each note is and how much of it sounds.

A phrase ends with a rest, or with a note of half a bar or more. Off-beats and the highest note of a phrase are louder,
and an eighth is shorter before a rest (common practice); by how much is in the feel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from tunelib.arrange.feels import Feel
from tunelib.harmony import TimedNote

EIGHTH = Fraction(1, 2)
_REST = Fraction(1, 2)  # of a beat at least
_FEWEST = 3  # notes of a phrase with a top


def phrases(melody: Sequence[TimedNote], beats_per_bar: int) -> Iterator[range]:
    """The places of the notes of each phrase."""
    first = 0
    for place, note in enumerate(melody):
        if place + 1 == len(melody) or rests_after(melody, place) or 2 * note.duration >= beats_per_bar:
            yield range(first, place + 1)
            first = place + 1


def velocities(melody: Sequence[TimedNote], beats_per_bar: int, feel: Feel) -> list[int]:
    """How loud each note is, as in MIDI."""
    found = [feel.melody_velocity + (feel.off_beat if note.onset % 1 else 0) for note in melody]
    for phrase in phrases(melody, beats_per_bar):
        if len(phrase) >= _FEWEST:
            found[max(phrase, key=lambda place: melody[place].note.quartertones)] += feel.top
    return found


def unsounded(melody: Sequence[TimedNote], place: int, feel: Feel) -> float:
    """What of an eighth is left silent at the end of a note, as a share: of one before a rest more, if it is one."""
    short = melody[place].duration <= EIGHTH and rests_after(melody, place)
    return 1 - (feel.clipped if short else feel.eighth)


def rests_after(melody: Sequence[TimedNote], place: int) -> bool:
    """Whether a rest is written after a note, or nothing more."""
    return place + 1 == len(melody) or melody[place + 1].onset - melody[place].end >= _REST
