"""The chord signs of a tune, and what the melody has while each sounds.

A repeat plays the same sign again. What is heard with a sign is what is heard with it in all its passes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection
from dataclasses import dataclass, replace
from fractions import Fraction

from tunelib.harmony.chords import Chord
from tunelib.harmony.comping_layouts import Ceiling
from tunelib.harmony.meant import meant_chord, meant_melody
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.pitch import Note, Tuning, is_whole, shortened

_EVEN_BARS = 2  # beats from one strong beat to the next, in bars of an even number of beats


@dataclass(frozen=True)
class Sign:
    """A chord sign of a tune, with what the melody has while it sounds.

    Parameters
    ----------
    number : int
        As `signs` has it.
    timed : TimedChord
        The first time that it is played.
    meant : Chord
        In one spelling with the melody.
    follows : int
        The number of the sign that is played before it then; -1 for the first of all.
    degrees : frozenset of int
        The notes of the melody as steps within the octave.
    notes : tuple of Note
        The notes of the melody, each once.
    ceiling : Ceiling
        What the melody leaves for the voices under it.
    held_over : bool
        Whether a note of the melody is held into it from the chord before.
    """

    number: int
    timed: TimedChord
    meant: Chord
    follows: int
    degrees: frozenset[int]
    notes: tuple[Note, ...]
    ceiling: Ceiling
    held_over: bool


def signs(sheet: LeadSheet) -> list[int]:
    """The number of the sign of each chord of a tune; a chord that came from no page is one of its own.

    >>> from tunelib.harmony.lead_sheet import parse_lead_sheet
    >>> signs(parse_lead_sheet("|: Dm7 G7 :| Cmaj7 |"))
    [0, 1, 0, 1, 2]
    """
    if all(timed.sign >= 0 for timed in sheet.chords):
        return [timed.sign for timed in sheet.chords]
    return list(range(len(sheet.chords)))


def place_of_sign(sheet: LeadSheet, sign: int) -> int:
    """The place at which the chord of a sign is first played.

    Raises ValueError, with the signs that there are, for another.

    >>> from tunelib.harmony.lead_sheet import parse_lead_sheet
    >>> place_of_sign(parse_lead_sheet("| Dm7 G7 | Cmaj7 |"), 2)
    2
    """
    numbers = signs(sheet)
    return numbers.index(known_sign(sign, numbers))


def known_sign(sign: int, numbers: Collection[int]) -> int:
    """The number of a sign that a tune has. Raises ValueError, with those that there are, for another."""
    if not is_whole(sign) or sign not in numbers:
        there = f"they go from 0 to {max(numbers)}" if numbers else "it has none"
        raise ValueError(f"the tune has no chord sign {shortened(sign)}: {there}")
    return sign


def heard_signs(sheet: LeadSheet, tuning: Tuning) -> tuple[list[Sign], tuple[TimedNote, ...]]:
    """The signs of a tune in the order in which they are first played, and the melody as the tuning has it."""
    numbers = signs(sheet)
    begin, end = [note.onset for note in sheet.melody], [note.end for note in sheet.melody]
    spans = [slice(bisect_right(end, timed.onset), bisect_left(begin, timed.end)) for timed in sheet.chords]
    weights: dict[int, dict[Note, Fraction]] = {}
    for number, timed, span in zip(numbers, sheet.chords, spans, strict=True):
        weight = weights.setdefault(number, {})
        for note in sheet.melody[span]:
            sounding = min(note.end, timed.end) - max(note.onset, timed.onset)
            weight[note.note] = weight.get(note.note, Fraction(0)) + sounding
    meant: dict[int, Chord] = {}
    for number, timed in zip(numbers, sheet.chords, strict=True):
        if number not in meant:
            weight = weights[number]
            meant[number] = meant_chord(timed.chord, sorted(weight, key=lambda note: -weight[note]), tuning)
    melody = meant_melody(sheet, [meant[number] for number in numbers], tuning)
    found: dict[int, Sign] = {}
    heard: dict[int, list[TimedNote]] = {}
    before = -1
    for number, timed, span in zip(numbers, sheet.chords, spans, strict=True):
        sounding_now = melody[span]
        heard.setdefault(number, []).extend(sounding_now)
        held = bool(sounding_now) and sounding_now[0].onset < timed.onset
        if number not in found:
            found[number] = Sign(number, timed, meant[number], before, frozenset(), (), Ceiling(), held)
        elif held and not found[number].held_over:
            found[number] = replace(found[number], held_over=True)
        before = number
    return [_hearing(sign, heard[sign.number], sheet.beats_per_bar, tuning) for sign in found.values()], melody


def _hearing(sign: Sign, notes: list[TimedNote], beats_per_bar: int, tuning: Tuning) -> Sign:
    steps = [note.note.step(tuning) for note in notes]
    weighty = (step for step, note in zip(steps, notes, strict=True) if _is_weighty(note, beats_per_bar))
    ceiling = Ceiling(min(steps, default=None), frozenset(weighty))
    different = tuple(dict.fromkeys(note.note for note in notes))
    return replace(sign, degrees=frozenset(step % len(tuning) for step in steps), notes=different, ceiling=ceiling)


def _is_weighty(note: TimedNote, beats_per_bar: int) -> bool:
    """Whether a note lasts a beat, or begins on a strong one."""
    strong = beats_per_bar if beats_per_bar % 2 else _EVEN_BARS
    return note.duration >= 1 or note.onset % beats_per_bar % strong == 0
