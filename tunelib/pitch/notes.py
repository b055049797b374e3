"""Spelled notes and intervals: letters and accidentals, in twelve, in thirty-one, and in between.

A note is a letter, an alteration counted in *half-sharps* (a sharp is two, a half-flat is minus one) and an
octave number in scientific pitch notation, where C4 is middle C and A4 the tuning note. Letters are placed in a
tuning by its fifths, as the trade has always done: each letter is a number of fifths from C, and a sharp raises
by seven fifths less four octaves. So one spelling sounds right in 12, 19, 31 or 53, and C♯ and D♭ are one key in
12 but two notes in 31.

Typed accidentals: ``#`` ``b`` ``x`` ``bb`` and, for the halves, ``h#`` and ``hb``. Printed: ♯ ♭ 𝄪 𝄫 ½♯ ½♭.

Not every step of every tuning has a plain name. In 41 or 53 the pure third above C is a step below the E that four
fifths make: it is E−1, the E one step lower. The steps come last, behind an octave too, where the first sign is the
octave's own: E4−1 is a step below E4, E-1 the E of octave −1, and E-1-1 a step below that.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from numbers import Real
from typing import Any

import numpy as np

from tunelib.pitch.counts import is_whole
from tunelib.pitch.intervals import cents, finite, positive_hertz, shortened
from tunelib.pitch.spelled import NATURAL_QUARTERTONES, SpelledInterval
from tunelib.pitch.tunings import A4_HZ, THIRTY_ONE, Tuning, equal
from tunelib.pitch.words import MINUS

LETTERS = "CDEFGAB"
_FIFTHS = (0, 2, 4, -1, 1, 3, 5)  # of each letter from C, along the chain F C G D A E B
_A4_MIDI = 69
_FARTHEST_MIDI = 10_000
_FARTHEST_HOME = 1e6  # fifths
_TOKENS = {
    "½♯": 1, "h#": 1, "½♭": -1, "hb": -1, "♯": 2, "#": 2, "♭": -2, "b": -2, "𝄪": 4, "x": 4, "𝄫": -4,
}  # fmt: skip
_TOKEN = re.compile("|".join(map(re.escape, _TOKENS)))
_STEPS = rf"[+{MINUS}-][1-9]\d{{0,3}}"
_NOTE = re.compile(rf"([A-Ga-g])(♮|(?:{_TOKEN.pattern})*)(-?\d{{1,4}})({_STEPS})?")
_NAME = re.compile(rf"([A-Ga-g](?:♮|(?:{_TOKEN.pattern})*))({_STEPS})?")
_OTHER_SIGN = 0.75  # steps beside a note's own sign that are as odd to read as a sign half a sharp from it
_FARTHEST_SIGN = 6  # half-sharps from a note's own sign, within which a nearer one is looked for
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
        raise ValueError(f"MIDI note numbers run from 0 to 127, and {np.abs(numbers).max():g} is far beyond hearing")
    result = A4_HZ * np.exp2((numbers - _A4_MIDI) / 12)
    return result if result.ndim else float(result)


def _signs(half_sharps: int, double: str, single: str, half: str) -> str:
    count = abs(half_sharps)
    return double * (count // 4) + single * (count % 4 // 2) + half * (count % 2)


@dataclass(frozen=True)
class Note:
    """A spelled note: a letter, an alteration in half-sharps, an octave number (C4 is middle C), and a few steps more.

    Parameters
    ----------
    letter : str
    half_sharps : int
    octave : int
    steps : int, optional
        By how many steps of its tuning the note is higher than its letter and accidental say; 0 in most tunings.

    Raises ValueError for a letter outside A to G, or an alteration, octave or number of steps that is not whole.

    >>> Note.parse("B♭3"), str(Note.parse("Ehb4")), str(Note.parse("E4-1"))
    (Note('Bb3'), 'E½♭4', 'E4−1')
    """

    letter: str
    half_sharps: int
    octave: int
    steps: int = 0

    def __post_init__(self) -> None:
        if self.letter not in tuple(LETTERS):
            raise ValueError(f"{shortened(self.letter)} is not a note letter: use one of A B C D E F G")
        if type(self.half_sharps) is type(self.octave) is type(self.steps) is int:
            return  # as nearly all are: voicings make notes by the thousand
        for what, value in (
            ("alteration in half-sharps", self.half_sharps), ("octave", self.octave), ("number of steps", self.steps),
        ):  # fmt: skip
            if not is_whole(value):
                raise ValueError(f"the {what} of a note is a whole number, not {shortened(value)}")

    @classmethod
    def parse(cls, text: str) -> Note:
        """Read a note such as ``"B♭3"``, ``"Bb3"``, ``"F#4"``, ``"Cx5"``, ``"Ehb4"``, ``"C½♯4"`` or ``"E4-1"``.

        Raises ValueError, with the text and what would be right, if it is not a note.
        """
        match = _NOTE.fullmatch(text.strip()) if isinstance(text, str) else None
        if match is None:
            raise ValueError(f"{shortened(text)} is not a note: {_NOTE_HELP}")
        letter, accidental, octave, steps = match.groups()
        tokens = [] if accidental == "♮" else _TOKEN.findall(accidental)
        changes = [_TOKENS[token] for token in tokens]
        if changes and min(changes) < 0 < max(changes):
            raise ValueError(f"{shortened(text)} mixes sharps and flats: {_NOTE_HELP}")
        return cls(letter.upper(), sum(changes), int(octave), _whole_steps(steps))

    @classmethod
    def named(cls, name: str, octave: int = 4) -> Note:
        """Read a note without its octave, such as ``"E♭"`` or ``"F#"``, and put it in one.

        Raises ValueError, with the text and what would be right, if it is not a note's name.

        >>> Note.named("Eb").fifths, str(Note.named("E−1"))
        (-3.0, 'E4−1')
        """
        match = _NAME.fullmatch(name.strip()) if isinstance(name, str) else None
        if match is None:
            raise ValueError(
                f"{shortened(name)} is not a note's name: write a letter and an accidental, such as C, E♭ or F#"
            )
        return replace(cls.parse(f"{match[1]}{octave}"), steps=_whole_steps(match[2]))

    @classmethod
    def on_chain(cls, place: int, octave: int = 4) -> Note:
        """The note at a place on the chain of fifths, C = 0, G = 1, F = -1: naturals, sharps and flats.

        Raises ValueError unless the place is a whole number.

        >>> [Note.on_chain(place).name for place in (-3, 8, 13)]
        ['E♭', 'G♯', 'F𝄪']
        """
        if not is_whole(place):
            raise ValueError(f"a place on the chain of fifths is a whole number, not {shortened(place)}")
        sharps, along = divmod(int(place) + 1, 7)
        return cls(LETTERS[_FIFTHS.index(along - 1)], 2 * sharps, octave)

    def __str__(self) -> str:
        return f"{self.letter}{self.accidental}{self.octave}{self._more(MINUS)}"

    def __repr__(self) -> str:
        return f"Note('{self.typed}')"

    def _more(self, minus: str) -> str:
        return f"{self.steps:+d}".replace("-", minus) if self.steps else ""

    @property
    def name(self) -> str:
        """The note without its octave, such as ``"E½♭"`` or ``"E−1"``."""
        return f"{self.letter}{self.accidental}{self._more(MINUS)}"

    @property
    def accidental(self) -> str:
        """The printed accidental, such as ``"♯"`` or ``"½♭"``; empty for a natural."""
        if self.half_sharps >= 0:
            return _signs(self.half_sharps, "𝄪", "♯", "½♯")
        return _signs(self.half_sharps, "𝄫", "♭", "½♭")

    @property
    def typed(self) -> str:
        """The note in plain typed characters, such as ``"Bb3"``, ``"Ch#4"`` or ``"E4-1"``; `parse` reads it back."""
        return f"{self._typed_sign}{self.octave}{self._more('-')}"

    @property
    def typed_name(self) -> str:
        """The note without its octave, in plain typed characters, such as ``"Ehb"``; `named` reads it back."""
        return f"{self._typed_sign}{self._more('-')}"

    @property
    def _typed_sign(self) -> str:
        signs = ("x", "#", "h#") if self.half_sharps >= 0 else ("bb", "b", "hb")
        return f"{self.letter}{_signs(self.half_sharps, *signs)}"

    @property
    def diatonic(self) -> int:
        """Letters above C0, accidentals set aside: C4 is 28, D4 is 29. The line or space on a staff."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def quartertones(self) -> int:
        """Quarter-tones above C0 on a keyboard in 24 equal steps; a sharp is 2, a half-sharp 1."""
        octave, letter = divmod(self.diatonic, 7)
        return 24 * octave + NATURAL_QUARTERTONES[letter] + self.half_sharps

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
        return natural + doubled // 2 + (self.octave - 4) * len(tuning) + self.steps

    def sounding(self, step: int, tuning: Tuning) -> Note:
        """The note on the same letter that sounds a step: with its own accidental, or with one nearer to that step.

        What the accidental does not reach is left as steps: few of them, beside an accidental near its own and, where
        there are any, without a half.

        >>> E = Note.parse("E4")
        >>> E.sounding(13, equal(41)), E.sounding(11, equal(41)), E.sounding(9, equal(31))
        (Note('E4-1'), Note('Eb4+1'), Note('Ehb4'))
        """
        plain = Note(self.letter, self.half_sharps, self.octave) if self.steps else self
        if (self.half_sharps % 2 == 0 or tuning.half_sharp is not None) and plain.step(tuning) == step:
            return plain
        best: tuple[tuple[float, int], Note] | None = None
        for half_sharps in range(self.half_sharps - _FARTHEST_SIGN, self.half_sharps + _FARTHEST_SIGN + 1):
            if half_sharps % 2 and tuning.half_sharp is None:
                continue
            note = Note(self.letter, half_sharps, self.octave)
            left = step - note.step(tuning)
            odd = abs(left) + (half_sharps % 2 if left else 0)
            rank = odd + _OTHER_SIGN * abs(half_sharps - self.half_sharps), half_sharps
            if best is None or rank < best[0]:
                best = rank, Note(self.letter, half_sharps, self.octave, left)
        assert best is not None  # there is a sharp at least
        return best[1]

    def within(self, tuning: Tuning) -> Note:
        """The note as a tuning has it: itself or, where half a sharp falls between two steps, the nearer of them.

        Nearer is what is nearer in pitch to the note in thirty-one, where half a sharp is a step.

        >>> Note.parse("Ehb4").within(equal(31)), Note.parse("Ehb4").within(equal(12))
        (Note('Ehb4'), Note('E4'))
        """
        if self.half_sharps % 2 == 0 or tuning.half_sharp is not None:
            return self
        plain = replace(self, steps=0)
        flat, sharp = (replace(plain, half_sharps=self.half_sharps + side).step(tuning) for side in (-1, 1))
        below = (flat + sharp) // 2
        hertz = plain.hz(THIRTY_ONE)
        is_below = hertz / tuning.hz(below) < tuning.hz(below + 1) / hertz
        return self.sounding((below if is_below else below + 1) + self.steps, tuning)

    def at_step(self, step: int, tuning: Tuning) -> Note:
        """The note of the same name whose octave puts it on a step of a tuning; from the step, the nearest below it.

        >>> Note.parse("E4").at_step(41, equal(31)), Note.parse("E4").at_step(43, equal(31))
        (Note('E5'), Note('E5'))
        """
        octave = self.octave + (step - self.step(tuning)) // len(tuning)
        return Note(self.letter, self.half_sharps, octave, self.steps)

    def above(self, lowest: Note, tuning: Tuning) -> Note:
        """The note of the same name in the octave of a tuning from another note up.

        >>> Note.parse("C4").above(Note.parse("E1"), equal(31))
        Note('C2')
        """
        return self.at_step(lowest.step(tuning) + len(tuning) - 1, tuning)

    def hz(self, tuning: Tuning | None = None, reference: float = A4_HZ) -> float:
        """Frequency in hertz in a tuning (twelve equal steps unless given), A4 at `reference` hertz.

        >>> Note.parse("A3").hz()
        220.0
        """
        tuning = _TWELVE if tuning is None else tuning
        return float(tuning.hz(self.step(tuning), reference))

    def transpose(self, interval: str | SpelledInterval) -> Note:
        """The note an interval away, spelled rightly: up, or down.

        Intervals are written as the trade writes them, such as ``"M2"``, ``"-m3"``, ``"P8"`` or ``"neutral third"``:
        see `SpelledInterval.parse`. Raises ValueError for what is not an interval.

        >>> Note.parse("C4").transpose("M2")  # what a B♭ trumpet reads for a sounding C
        Note('D4')
        """
        away = interval if isinstance(interval, SpelledInterval) else SpelledInterval.parse(interval)
        octave, letter = divmod(self.diatonic + away.letters, 7)
        natural = 24 * octave + NATURAL_QUARTERTONES[letter]
        return Note(LETTERS[letter], self.quartertones + away.quartertones - natural, octave, self.steps)

    def interval_to(self, other: Note) -> SpelledInterval:
        """The spelled interval from this note to another, up or down. Raises ValueError unless the other is a Note.

        >>> Note.parse("B3").interval_to(Note.parse("E♭4")).name
        'diminished fourth'
        """
        end = known_note(other, "what an interval leads to")
        return SpelledInterval(end.diatonic - self.diatonic, end.quartertones - self.quartertones)


def _whole_steps(text: str | None) -> int:
    return int(text.replace(MINUS, "-")) if text else 0


def known_note(value: object, what: str) -> Note:
    """`value`, which is a Note. Raises ValueError, naming `what` it should be, if it is not.

    >>> known_note(Note.parse("E♭4"), "the root of a chord")
    Note('Eb4')
    """
    if not isinstance(value, Note):
        raise ValueError(f"{what} is a note, such as Note.parse('E♭4'), not {shortened(value)}")
    return value


_TWELVE = equal(12)


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
        Where home is on the chain of fifths (C is 0, B♭ is -2): a key note or a fundamental. Around C,
        twelve reads C C♯ D E♭ E F F♯ G A♭ A B♭ B, as is common practice.

    Raises ValueError if the step is not a whole number, home not finite, or no spelling of at most two sharps or flats
    names it.

    >>> [str(spell(step, equal(31))) for step in range(6)]
    ['C4', 'C½♯4', 'C♯4', 'D♭4', 'D½♭4', 'D4']
    """
    names = spellings(step, tuning, home)
    if not names:
        raise ValueError(f"step {step} of {tuning.name} has no plain spelling")
    return names[0]


_CENTRE = 2  # the middle of the common names is two fifths above home: D where home is C


def _whole_step(step: int) -> int:
    if not is_whole(step):
        raise ValueError(f"a step is a whole number, not {shortened(step)}; for a pitch between steps use nearest_note")
    return int(step)


@lru_cache(maxsize=256)
def _all_spellings(tuning: Tuning, home: float) -> tuple[tuple[Note, ...], ...]:
    """The names of every step of one octave from C4 up, each ranked."""
    if not isinstance(home, Real) or not abs(home) < _FARTHEST_HOME:
        raise ValueError(f"home is a place on the chain of fifths, such as 0 for C, not {shortened(home)}")
    found: list[list[Note]] = [[] for _ in range(len(tuning))]
    for half_sharps in range(-4, 5):
        for letter in LETTERS:
            try:
                octave, degree = divmod(Note(letter, half_sharps, 4).step(tuning), len(tuning))
            except ValueError:
                if tuning.fifth is None:
                    raise
                continue
            found[degree].append(Note(letter, half_sharps, 4 - octave))

    def rank(note: Note) -> tuple[float, ...]:
        return (abs(note.half_sharps), abs(note.fifths - home - _CENTRE), note.half_sharps)

    return tuple(tuple(sorted(notes, key=rank)) for notes in found)


def spellings(step: int, tuning: Tuning, home: float = 0.0) -> tuple[Note, ...]:
    """Every name of a step with at most a double sharp or flat, the plainest first, as `spell` ranks them.

    Parameters and errors are those of `spell`; a step without such a name gives an empty tuple.

    >>> [note.name for note in spellings(12, equal(31))]
    ['F½♭', 'E♯']
    """
    octave, degree = divmod(_whole_step(step), len(tuning))
    return tuple(
        Note(note.letter, note.half_sharps, note.octave + octave) for note in _all_spellings(tuning, home)[degree]
    )


DOUBLE_SIGN = 4
"""The half-sharps of a double sharp: a name with more has no accidental."""


def readable(note: Note, tuning: Tuning, most: int = DOUBLE_SIGN) -> Note:
    """A note under a name that players read: as it is, or the plainest of its sounds if its sign has more half-sharps.

    >>> readable(Note.parse("Fbhb4"), equal(31)), readable(Note.parse("Fbhb4"), equal(31), most=2)
    (Note('Fbhb4'), Note('E4'))
    """
    return note if abs(note.half_sharps) <= most else spell_near(note.step(tuning), tuning)


@lru_cache(maxsize=4096, typed=True)
def spell_near(step: int, tuning: Tuning, home: float = 0.0) -> Note:
    """The plainest spelling of a step or, of one that has none, that of a step near it, and the steps left over.

    Parameters and errors are those of `spell`, but for a step without a plain spelling.

    >>> spell_near(4, equal(31)), spell_near(15, equal(53))
    (Note('Dhb4'), Note('D#4+1'))
    """
    names = spellings(step, tuning, home)
    if names:
        return names[0]
    reach = len(tuning) // 7 + 1  # no step is farther from a letter without a sign
    near = [
        Note(note.letter, note.half_sharps, note.octave, -away)
        for away in range(-reach, reach + 1)
        for note in spellings(step + away, tuning, home)
    ]
    return min(
        near,
        key=lambda note: (
            abs(note.steps) + _OTHER_SIGN * abs(note.half_sharps),
            abs(note.fifths - home - _CENTRE),
            note.steps,
        ),
    )


def spell_on_chain(step: int, tuning: Tuning, home: float = 0.0) -> Note:
    """The spelling of a step along the chain of fifths: no halves, and as near home as possible.

    Around C, the thirty-one notes go from G𝄫 to A𝄪. Parameters and errors are those of `spell`.

    >>> [spell_on_chain(step, equal(31)).name for step in range(6)]
    ['C', 'D𝄫', 'C♯', 'D♭', 'C𝄪', 'D']
    """
    whole = [note for note in spellings(step, tuning, home) if not note.half_sharps % 2]
    if not whole:
        raise ValueError(f"step {step} of {tuning.name} has no plain spelling along the fifths")
    return min(whole, key=lambda note: (abs(note.fifths - home - _CENTRE), abs(note.half_sharps)))


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
        Where home is on the chain of fifths; see `spell`.

    Returns
    -------
    (Note, float)
        The cents are frequency minus note: negative where the frequency is flat of it.

    Raises ValueError unless `hz` is one frequency above 0.

    >>> note, left_over = nearest_note(446.4)
    >>> note, round(left_over, 2)
    (Note('A4'), 25.0)
    """
    tuning = _TWELVE if tuning is None else tuning
    frequency = positive_hertz(hz)
    if frequency.ndim:
        raise ValueError(f"nearest_note names one frequency at a time, not {shortened(hz)}")
    above = cents(float(frequency) / float(tuning.hz(0, reference)))
    step, error = tuning.nearest(above)
    return spell(step, tuning, home), -error
