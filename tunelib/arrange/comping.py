"""How the chords of a tune are struck in a feel.

A hit on the off-beat just before a chord begins is the new chord's. A chord that gets no hit from the pattern is struck
as it begins, and the last one of the tune is held. What is repeated is struck as it was before.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from tunelib.arrange.feels import PLAIN, Feel
from tunelib.arrange.laying import homes, laid
from tunelib.harmony import LeadSheet

_ANTICIPATES = Fraction(1, 2)  # of a beat before a chord, at most


@dataclass(frozen=True)
class Struck:
    """A chord that is struck: when and for how long, in beats, its accent, and its place among those of the tune."""

    onset: Fraction
    length: Fraction
    accent: int
    chord: int


def comping(sheet: LeadSheet, feel: Feel) -> list[Struck]:
    """When the chords of a tune are struck, in order, in even eighths."""
    bars = feel.comping_at(sheet.tempo)
    if not any(bars):
        return []
    longest = max(hit.length for bar in bars for hit in bar)
    found: list[Struck] = []
    stated: set[int] = set()
    for place, (chord, home) in enumerate(zip(sheet.chords, homes(sheet), strict=True)):
        last = place == len(sheet.chords) - 1
        hits = [] if last else laid(bars, feel.beats, sheet, home, home + chord.duration)
        own = []
        for when, hit in hits:
            onset = when - home + chord.onset
            own.append(Struck(onset, hit.length, hit.accent, place + anticipates(sheet, place, onset)))
        stated.update(struck.chord for struck in own)
        if place not in stated or last:
            own.insert(0, Struck(chord.onset, chord.duration if last else longest, PLAIN, place))
        found += own
    ends = [after.onset for _, after in pairwise(found)]
    return [
        Struck(
            one.onset, min(one.length, end - one.onset, sheet.chords[one.chord].end - one.onset), one.accent, one.chord
        )
        for one, end in zip(found, [*ends, sheet.chords[-1].end], strict=True)
    ]


def anticipates(sheet: LeadSheet, place: int, onset: Fraction) -> bool:
    """Whether a hit within a chord is so near to the next one that it is the next one's: on the off-beat before it."""
    chord, following = sheet.chords[place], sheet.chords[place + 1 : place + 2]
    near = chord.onset < onset and onset % 1 and chord.end - onset <= _ANTICIPATES
    return bool(near and following and following[0].onset == chord.end)
