"""Patterns laid along a tune: which hits of a feel's bars fall between two beats, and where repeats come back to."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from tunelib.arrange.feels import Bars, Hit
from tunelib.harmony import LeadSheet


def laid(bars: Bars, beats: int, sheet: LeadSheet, start: Fraction, end: Fraction) -> Iterator[tuple[Fraction, Hit]]:
    """The hits of bars that go round from the first full bar of a tune on, from one beat to before another.

    `beats` are those of a bar of the pattern. A bar of the tune takes one, cut short, or several; where a bar of the
    pattern is a whole number of the tune's, it goes over them.
    """
    if not bars:
        return
    of_tune = sheet.beats_per_bar
    span, taken = (beats, 1) if beats % of_tune == 0 else (of_tune, math.ceil(of_tune / beats))
    origin = first_full_bar(sheet) * of_tune
    for group in range(math.floor((start - origin) / span), math.ceil((end - origin) / span)):
        for place in range(taken):
            begin = Fraction(origin + group * span + place * beats)
            until = min(end, Fraction(origin + (group + 1) * span))
            for hit in bars[(group * taken + place) % len(bars)]:
                if start <= begin + hit.onset < until:
                    yield begin + hit.onset, hit


def first_full_bar(sheet: LeadSheet) -> int:
    """The place, from 0, of the first bar that is not a pickup."""
    return 1 if 0 < opening(sheet) < sheet.beats_per_bar else 0


def opening(sheet: LeadSheet) -> Fraction:
    """The beat at which the first chord or note begins."""
    return min([sheet.chords[0].onset, *(note.onset for note in sheet.melody[:1])])


def homes(sheet: LeadSheet) -> list[Fraction]:
    """For each chord the beat at which its sign is played for the first time: its own unless it is in a repeat."""
    first: dict[int, Fraction] = {}
    return [chord.onset if chord.sign < 0 else first.setdefault(chord.sign, chord.onset) for chord in sheet.chords]
