"""Spelled notes and intervals: letters and accidentals, in twelve, in thirty-one, and in between.

A note is a letter, an alteration counted in *half-sharps* (a sharp is two, a half-flat is minus one) and an
octave number in scientific pitch notation, where C4 is middle C and A4 the tuning note. Letters are placed in a
tuning by its fifths, as the trade has always done: each letter is a number of fifths from C, and a sharp raises
by seven fifths less four octaves. So one spelling sounds right in 12, 19, 31 or 53, and C♯ and D♭ are one key in
12 but two notes in 31.

Typed accidentals: ``#`` ``b`` ``x`` ``bb`` and, for the halves, ``h#`` and ``hb``. Printed: ♯ ♭ 𝄪 𝄫 ½♯ ½♭.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from tunelib.pitch.intervals import cents, finite, positive_hertz
from tunelib.pitch.tunings import A4_HZ, Tuning, equal

LETTERS = "CDEFGAB"
_FIFTHS = (0, 2, 4, -1, 1, 3, 5)  # of each letter from C, along the chain F C G D A E B
_QUARTERTONES = (0, 4, 8, 10, 14, 18, 22)  # of each letter above C on a keyboard with quarter-tones
_A4_MIDI = 69
_FARTHEST_MIDI = 10_000
_TOKENS = {
    "½♯": 1, "h#": 1, "½♭": -1, "hb": -1, "♯": 2, "#": 2, "♭": -2, "b": -2, "𝄪": 4, "x": 4, "𝄫": -4,
}  # fmt: skip
_TOKEN = re.compile("|".join(map(re.escape, _TOKENS)))
_NOTE = re.compile(rf"([A-Ga-g])(♮|(?:{_TOKEN.pattern})*)(-?\d{{1,4}})")
_NOTE_HELP = "write a letter, an accidental (# b x bb, h# or hb for the halves) and an octave, such as B♭3 or Ehb4"


def midi_from_hz(hz: Any) -> Any:
    """MIDI note number of a frequency, fractions kept: ``69 + 12 log2(hz / 440)`` (MIDI 1.0; ISO 16 for A4).

    `hz` is a number or an array of any shape, in hertz. Raises ValueError for a frequency of zero or less.

    >>> midi_from_hz(440)
    69.0
    """
    result = _A4_MIDI + 12 * np.log2(positive_hertz(hz) / A4_HZ)
    return result if result.ndim else float(result)


def hz_from_midi(number: Any) -> Any:
    """Frequency in hertz of a MIDI note number, fractions allowed; the inverse of `midi_from_hz`.

    Numbers outside 0 to 127 go on in the same way. Raises ValueError unless all are finite and within 10,000 of 0.
    """
    numbers = finite(number, "MIDI note numbers")
    if np.any(np.abs(numbers) > _FARTHEST_MIDI):
        raise ValueError(f"MIDI note numbers run from 0 to 127, and {np.abs(numbers).max():g} is beyond all hearing")
    result = A4_HZ * np.exp2((numbers - _A4_MIDI) / 12)
    return result if result.ndim else float(result)


def _signs(half_sharps: int, double: str, single: str, half: str) -> str:
    count = abs(half_sharps)
    return double * (count // 4) + single * (count % 4 // 2) + half * (count % 2)


@dataclass(frozen=True)
class Note:
    """A spelled note: a letter, an alteration in half-sharps, an octave number (C4 is middle C).

    Raises ValueError for a letter outside A to G, or an alteration or octave that is not a whole number.

    >>> Note.parse("B♭3"), str(Note.parse("Ehb4"))
    (Note('Bb3'), 'E½♭4')
    """

    letter: str
    half_sharps: int
    octave: int

    def __post_init__(self) -> None:
        if self.letter not in tuple(LETTERS):
            raise ValueError(f"{self.letter!r} is not a note letter: use one of A B C D E F G")
        for what, value in (("alteration in half-sharps", self.half_sharps), ("octave", self.octave)):
            if isinstance(value, bool) or not isinstance(value, (int, np.integer)):
                raise ValueError(f"the {what} of a note is a whole number, not {value!r}")

    @classmethod
    def parse(cls, text: str) -> Note:
        """Read a note such as ``"B♭3"``, ``"Bb3"``, ``"F#4"``, ``"Cx5"``, ``"Ehb4"`` or ``"C½♯4"``.

        Raises ValueError, with the text and what would be right, if it is not a note.
        """
        match = _NOTE.fullmatch(text.strip()) if isinstance(text, str) else None
        if match is None:
            raise ValueError(f"{text!r} is not a note: {_NOTE_HELP}")
        letter, accidental, octave = match.groups()
        tokens = [] if accidental == "♮" else _TOKEN.findall(accidental)
        changes = [_TOKENS[token] for token in tokens]
        if changes and min(changes) < 0 < max(changes):
            raise ValueError(f"{text!r} mixes sharps and flats: {_NOTE_HELP}")
        return cls(letter.upper(), sum(changes), int(octave))

    def __str__(self) -> str:
        return f"{self.letter}{self.accidental}{self.octave}"

    def __repr__(self) -> str:
        return f"Note('{self.typed}')"

    @property
    def accidental(self) -> str:
        """The printed accidental, such as ``"♯"`` or ``"½♭"``; empty for a natural."""
        if self.half_sharps >= 0:
            return _signs(self.half_sharps, "𝄪", "♯", "½♯")
        return _signs(self.half_sharps, "𝄫", "♭", "½♭")

    @property
    def typed(self) -> str:
        """The note in plain typed characters, such as ``"Bb3"`` or ``"Ch#4"``; `parse` reads it back."""
        if self.half_sharps >= 0:
            return f"{self.letter}{_signs(self.half_sharps, 'x', '#', 'h#')}{self.octave}"
        return f"{self.letter}{_signs(self.half_sharps, 'bb', 'b', 'hb')}{self.octave}"

    @property
    def diatonic(self) -> int:
        """Letters above C0, accidentals set aside: C4 is 28, D4 is 29. The line or space on a staff."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def quartertones(self) -> int:
        """Quarter-tones above C0 on a keyboard in 24 equal steps; a sharp is 2, a half-sharp 1."""
        octave, letter = divmod(self.diatonic, 7)
        return 24 * octave + _QUARTERTONES[letter] + self.half_sharps

    @property
    def fifths(self) -> float:
        """Place on the chain of fifths, C = 0, G = 1, F = -1; a sharp adds 7, a half-sharp 3.5."""
        return _FIFTHS[LETTERS.index(self.letter)] + 3.5 * self.half_sharps

    def step(self, tuning: Tuning) -> int:
        """The step of a tuning that the note names; C4 is step 0.

        Raises ValueError if the tuning has no place for letters, or the note falls between its steps (a
        half-sharp in twelve).

        >>> Note.parse("B3").step(equal(31)), Note.parse("Dbb4").step(equal(31))
        (-3, 1)
        """
        if tuning.fifth is None:
            raise ValueError(f"the notes of {tuning.name} have no letters; ask for a step by number")
        letter = LETTERS.index(self.letter)
        natural = _FIFTHS[letter] * tuning.fifth - (_FIFTHS[letter] * 7 // 12) * len(tuning)
        doubled = (7 * tuning.fifth - 4 * len(tuning)) * self.half_sharps
        if doubled % 2:
            raise ValueError(f"{self} falls between the steps of {tuning.name}, which has no half-sharps")
        return natural + doubled // 2 + (self.octave - 4) * len(tuning)

    def hz(self, tuning: Tuning | None = None, reference: float = A4_HZ) -> float:
        """Frequency in hertz in a tuning (twelve equal steps unless given), A4 at `reference` hertz.

        >>> Note.parse("A3").hz()
        220.0
        """
        tuning = _TWELVE if tuning is None else tuning
        return float(tuning.hz(self.step(tuning), reference))

    def transpose(self, interval: str) -> Note:
        """The note a named interval away, spelled rightly: up, or down with a minus sign.

        Intervals are written as the trade writes them: a quality (P perfect, M major, m minor, A augmented,
        d diminished) and a number counted from 1, such as ``"M2"``, ``"-m3"``, ``"P8"`` or ``"M9"``.

        >>> Note.parse("C4").transpose("M2")  # what a B♭ trumpet reads for a sounding C
        Note('D4')
        """
        letters, quartertones = _interval_size(interval)
        octave, letter = divmod(self.diatonic + letters, 7)
        natural = 24 * octave + _QUARTERTONES[letter]
        return Note(LETTERS[letter], self.quartertones + quartertones - natural, octave)


_TWELVE = equal(12)
_INTERVAL = re.compile(r"(-?)(P|M|m|A{1,2}|d{1,2})([1-9]\d{0,2})")


@lru_cache(maxsize=256)
def _interval_size(text: str) -> tuple[int, int]:
    """A named interval as (letters, quarter-tones), both negative if it goes down."""
    match = _INTERVAL.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        raise ValueError(f"{text!r} is not an interval: write quality and number, such as M2, m3, P5, -M6 or A4")
    sign, quality, number = match.groups()
    letters = int(number) - 1
    perfect = letters % 7 in (0, 3, 4)
    if (quality in ("M", "m") and perfect) or (quality == "P" and not perfect):
        right = "P, A or d" if perfect else "M, m, A or d"
        raise ValueError(f"{text!r} is not an interval: a {number} takes {right}, such as {'P5' if perfect else 'M3'}")
    size = 24 * (letters // 7) + _QUARTERTONES[letters % 7]
    if quality == "m":
        size -= 2
    elif quality[0] == "A":
        size += 2 * len(quality)
    elif quality[0] == "d":
        size -= 2 * len(quality) + (0 if perfect else 2)
    return (-letters, -size) if sign else (letters, size)


@lru_cache(maxsize=4096, typed=True)
def spell(step: int, tuning: Tuning, home: float = 0.0) -> Note:
    """The plainest spelling of a step: the smallest alteration, then the nearest to home along the fifths.

    Parameters
    ----------
    step : int
        Step of the tuning; C4 is 0.
    tuning : Tuning
        One whose notes have letters.
    home : float
        Where home lies on the chain of fifths (C is 0, B♭ is -2): a key note or a fundamental. Around C,
        twelve reads C C♯ D E♭ E F F♯ G A♭ A B♭ B, as is common practice.

    Raises ValueError if the step is not a whole number, home not finite, or no spelling of at most two sharps or flats
    names it.

    >>> [str(spell(step, equal(31))) for step in range(6)]
    ['C4', 'C½♯4', 'C♯4', 'D♭4', 'D½♭4', 'D4']
    """
    if isinstance(step, bool) or not isinstance(step, (int, np.integer)):
        raise ValueError(f"a step is a whole number, not {step!r}; for a pitch between steps use nearest_note")
    if not math.isfinite(home):
        raise ValueError(f"home is a place on the chain of fifths, such as 0 for C, not {home}")
    table = _spellings(tuning, home)
    octave, degree = divmod(int(step), len(tuning))
    if degree not in table:
        raise ValueError(f"step {step} of {tuning.name} has no plain spelling")
    note = table[degree]
    return Note(note.letter, note.half_sharps, note.octave + octave)


@lru_cache(maxsize=256)
def _spellings(tuning: Tuning, home: float) -> dict[int, Note]:
    found: dict[int, tuple[tuple[float, ...], Note]] = {}
    centre = home + 2  # the middle of the common names lies two fifths above home: D where home is C
    for half_sharps in range(-4, 5):
        for letter in LETTERS:
            note = Note(letter, half_sharps, 4)
            try:
                octave, degree = divmod(note.step(tuning), len(tuning))
            except ValueError:
                if tuning.fifth is None:
                    raise
                continue
            rank = (abs(half_sharps), abs(note.fifths - centre), half_sharps)
            if degree not in found or rank < found[degree][0]:
                found[degree] = (rank, Note(letter, half_sharps, 4 - octave))
    return {degree: note for degree, (_, note) in found.items()}


def nearest_note(
    hz: float, tuning: Tuning | None = None, reference: float = A4_HZ, home: float = 0.0
) -> tuple[Note, float]:
    """The spelled note nearest to a frequency, and the cents left over.

    Parameters
    ----------
    hz : float
        Frequency in hertz.
    tuning, reference
        Twelve equal steps and A4 = 440 Hz unless given.
    home : float
        Where home lies on the chain of fifths; see `spell`.

    Returns
    -------
    (Note, float)
        The cents are frequency minus note: negative where the frequency lies flat of it.

    Raises ValueError unless `hz` is one frequency above 0.

    >>> note, left_over = nearest_note(446.4)
    >>> note, round(left_over, 2)
    (Note('A4'), 25.0)
    """
    tuning = _TWELVE if tuning is None else tuning
    frequency = positive_hertz(hz)
    if frequency.ndim:
        raise ValueError(f"nearest_note names one frequency at a time, not {hz!r}")
    above = cents(float(frequency) / float(tuning.hz(0, reference)))
    step, error = tuning.nearest(above)
    return spell(step, tuning, home), -error
