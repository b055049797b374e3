"""The notes under the keys: what each step is called, on the key and aloud, and how high it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunelib.harmony import root_word
from tunelib.pitch import (
    A4_HZ,
    Chain,
    Interval,
    Note,
    Tuning,
    drawn,
    equal,
    is_whole,
    known_note,
    nearest_note,
    plain,
    positive_hertz,
    shortened,
    sign_name,
    spell_near,
    temperament,
    whole_number,
)

MOST_HARMONICS = 32
_ALIKE = 1e-6  # cents


@dataclass(frozen=True)
class KeyNotes:
    """The steps of a tuning at their pitch, with their names.

    Parameters
    ----------
    tuning : Tuning
    hertz : float
        The frequency of step 0.
    names : tuple of Note, or tuple of str
        What the steps of one period from step 0 are called; words where they have no letters.
    are_harmonics : bool
        Whether those words are the numbers of harmonics.
    """

    tuning: Tuning
    hertz: float
    names: tuple[Note, ...] | tuple[str, ...]
    are_harmonics: bool = False

    @property
    def spelled(self) -> bool:
        """Whether the notes have letters."""
        return isinstance(self.names[0], Note)

    @property
    def is_even(self) -> bool:
        """Whether all steps are alike."""
        tuning = self.tuning
        even = np.arange(len(tuning)) * tuning.period_cents / len(tuning)
        return bool(np.allclose(tuning.cents, even, atol=_ALIKE))

    def hz(self, step: int) -> float:
        """The frequency of a step."""
        return float(self.hertz * 2 ** (self.tuning.cents_of(step) / 1200))

    def nearest(self, hertz: float) -> int:
        """The step nearest to a frequency."""
        cents = 1200 * np.log2(hertz / self.hertz)
        first = int(cents // self.tuning.period_cents) * len(self.tuning)
        steps = range(first, first + len(self.tuning) + 1)
        return min(steps, key=lambda step: abs(self.tuning.cents_of(step) - cents))

    def note(self, step: int) -> Note:
        """The note that a step is called or, where it has no letter, the nearest of twelve."""
        periods, degree = divmod(step, len(self.tuning))
        name = self.names[degree]
        if isinstance(name, Note):
            return Note(name.letter, name.half_sharps, name.octave + periods, name.steps)
        return nearest_note(self.hz(step))[0]

    def step(self, of: Any) -> int:
        """The step of a note, given as a Note, as text such as ``"E½♭4"``, or already as a step.

        Raises ValueError for anything else, and for a note where notes have no letters.
        """
        if is_whole(of):
            return int(of)
        if not self.spelled:
            raise ValueError(f"the keys of {self.tuning.name} have numbers, from 0: {shortened(of)} is not one of them")
        note = Note.parse(of) if isinstance(of, str) else known_note(of, "what is on a key")
        for degree, name in enumerate(self.names):
            if isinstance(name, Note) and name.name == note.name:
                return degree + (note.octave - name.octave) * len(self.tuning)
        return note.step(self.tuning)

    def table(self) -> dict[str, Any]:
        """All of this as the page has it: one period, and what it takes to go on from there."""
        notes = [name for name in self.names if isinstance(name, Note)]
        return {
            "names": [drawn(name.name) if isinstance(name, Note) else name for name in self.names],
            "roots": [root_word(drawn(note.name)) for note in notes],
            "said": [_aloud(name) if isinstance(name, Note) else f"number {name}" for name in self.names],
            "octaves": [note.octave for note in notes],
            "cents": self.tuning.cents.tolist(),
            "period": self.tuning.period_cents,
            "hertz": self.hertz,
            "harmonics": self.are_harmonics,
            "even": self.is_even,
        }


def key_notes(tuning: Any, reference: float = A4_HZ) -> KeyNotes:
    """The notes of a tuning, with A4 at `reference` hertz.

    `tuning` is a Tuning, a Chain, a number of equal steps to the octave, or the name of a temperament of the past, such
    as ``"quarter-comma"``. Raises ValueError for anything else.

    >>> [str(key_notes(31).note(step)) for step in (0, 9, 40)]
    ['C4', 'E½♭4', 'E½♭5']
    """
    if isinstance(tuning, str):
        tuning = int(tuning) if tuning.isdecimal() else temperament(tuning).chain
    if isinstance(tuning, Chain):
        by_pitch = sorted(zip(tuning.intervals, tuning.notes, strict=True), key=lambda pair: pair[0])
        return KeyNotes(tuning.tuning, float(tuning.tuning.hz(0, reference)), tuple(note for _, note in by_pitch))
    if is_whole(tuning):
        tuning = equal(tuning)
    if not isinstance(tuning, Tuning):
        raise ValueError(
            f"keys are for a tuning, such as equal(31), a chain of fifths, a number of equal steps, or a temperament "
            f"such as 'quarter-comma', not {shortened(tuning)}"
        )
    hertz = float(tuning.hz(0, reference))
    if tuning.fifth is None:
        return KeyNotes(tuning, hertz, tuple(str(step) for step in range(len(tuning))))
    return KeyNotes(tuning, hertz, tuple(spell_near(step, tuning) for step in range(len(tuning))))


def harmonic_notes(fundamental: float | str | Note, count: int) -> KeyNotes:
    """The first harmonics of a fundamental in hertz, or of a note in twelve; step 0 is the fundamental itself.

    Raises ValueError for a fundamental not above 0, or a count that is not from 2 to 32.

    >>> harmonics = harmonic_notes(110, 16)
    >>> harmonics.names[2], round(harmonics.hz(2), 6), str(harmonics.note(2))
    ('3', 330.0, 'E4')
    """
    numbers = range(1, whole_number(count, "the number of harmonics", 2, MOST_HARMONICS) + 1)
    note = Note.parse(fundamental) if isinstance(fundamental, str) else fundamental
    hertz = note.hz() if isinstance(note, Note) else positive_hertz(note, "a fundamental").item()
    name = f"Harmonics of {plain(hertz, 2)} Hz"
    tuning = Tuning(name, tuple(Interval.of(n) for n in numbers), Interval.of(count + 1))
    return KeyNotes(tuning, hertz, tuple(map(str, numbers)), are_harmonics=True)


def _aloud(note: Note) -> str:
    """A note as one says it, without its octave.

    >>> _aloud(Note.parse("Ehb4")), _aloud(Note.parse("E4-1"))
    ('E half-flat', 'E less 1 step')
    """
    words = note.letter + (f" {sign_name(note.half_sharps)}" if note.half_sharps else "")
    if note.steps:
        words += f" {'plus' if note.steps > 0 else 'less'} {abs(note.steps)} step{'s' if abs(note.steps) > 1 else ''}"
    return words
