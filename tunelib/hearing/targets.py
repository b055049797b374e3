"""Pitches to aim at: the harmonics of a note, an equal division, a list of ratios, or any tuning."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tunelib.pitch import (
    A4_HZ,
    Note,
    Tuning,
    cents,
    equal,
    nearest_note,
    octave_reduce,
    parse_ratio,
    positive_hertz,
    spell,
    spell_near,
)

HIGHEST_HARMONIC = 64
FINEST_DIVISION = 400

_LOWEST_TARGET, _HIGHEST_TARGET = 16.0, 16_000.0  # hertz
_LONGEST_TEXT = 400
_TWELVE, _QUARTERTONES = equal(12), equal(24)
_FORMS = (
    'give "harmonics of B♭1", a number of equal steps such as 12 or 31, or ratios on a note such as "1/1 5/4 3/2 on C4"'
)
_PLACE = re.compile(r"(?P<hertz>\d+(?:\.\d+)?)\s*hz", re.IGNORECASE)


@dataclass(frozen=True)
class Targets:
    """Pitches to aim at, ascending.

    Parameters
    ----------
    name : str
        As it is put in a sentence, such as ``"the harmonics of B♭1"``.
    hertz : tuple of float
    labels : tuple of str
        A short name for each, such as ``"7"`` for a harmonic, ``"A♭4"`` or ``"5/4"``.
    notes : tuple of Note
        The spelled note of each: its own in a division that has letters, else the nearest of twelve.
    reference : float
        The frequency of A4 in hertz, which the notes are named by.

    Raises ValueError unless there is at least one, they ascend, and each has a label and a note.
    """

    name: str
    hertz: tuple[float, ...]
    labels: tuple[str, ...]
    notes: tuple[Note, ...]
    reference: float = A4_HZ

    def __post_init__(self) -> None:
        if not self.hertz:
            raise ValueError(f"{self.name}: there is no target between {_LOWEST_TARGET:g} and {_HIGHEST_TARGET:g} Hz")
        if not len(self.hertz) == len(self.labels) == len(self.notes):
            raise ValueError(
                f"{len(self.hertz)} targets need as many labels and notes, not {len(self.labels)} and {len(self.notes)}"
            )
        if np.any(np.diff(positive_hertz(self.hertz)) <= 0):
            raise ValueError(f"{self.name}: targets ascend, and none is given twice")

    @classmethod
    def harmonics(cls, fundamental: float, name: str, reference: float = A4_HZ, home: float = 0.0) -> Targets:
        """Harmonics 1 to 64 of a fundamental in hertz, as far as 16 000 Hz; `home` as for `spell`."""
        count = int(min(HIGHEST_HARMONIC, _HIGHEST_TARGET // fundamental))
        hertz = tuple(fundamental * number for number in range(1, count + 1))
        notes = tuple(nearest_note(pitch, reference=reference, home=home)[0] for pitch in hertz)
        return cls(name, hertz, tuple(str(number) for number in range(1, count + 1)), notes, reference)

    @classmethod
    def tuning(cls, tuning: Tuning, reference: float = A4_HZ) -> Targets:
        """Every note of a tuning from 16 to 16 000 Hz, with A4 at `reference` hertz."""
        place = cents(np.array([_LOWEST_TARGET, _HIGHEST_TARGET]) / float(tuning.hz(0, reference)))
        first, last = tuning.nearest(place)[0].tolist()
        steps = [step for step in range(first, last + 1)]
        hertz = tuple(tuning.hz(np.array(steps), reference).tolist())
        spelled = tuple(_spelled(step, tuning) for step in steps)
        lettered = tuning.fifth is not None
        labels = tuple(str(spell_near(step, tuning)) if lettered else f"step {step}" for step in steps)
        notes = tuple(
            note or nearest_note(pitch, reference=reference)[0] for note, pitch in zip(spelled, hertz, strict=True)
        )
        return cls(tuning.name, hertz, labels, notes, reference)

    @classmethod
    def ratios(cls, ratios: Iterable[Fraction], root: float, name: str, reference: float = A4_HZ) -> Targets:
        """Ratios on a root in hertz, and the same in every octave from 16 to 16 000 Hz."""
        within = sorted({octave_reduce(ratio) for ratio in ratios})
        rungs = [
            (pitch, str(ratio))
            for octave in range(-12, 13)
            for ratio in within
            if _LOWEST_TARGET <= (pitch := root * 2.0**octave * float(ratio)) <= _HIGHEST_TARGET
        ]
        hertz, labels = tuple(pitch for pitch, _ in rungs), tuple(label for _, label in rungs)
        return cls(name, hertz, labels, tuple(nearest_note(h, reference=reference)[0] for h in hertz), reference)

    def nearest(self, hertz: float) -> tuple[int, float]:
        """Which target is nearest to a pitch, and how many cents the pitch is above it."""
        away = cents(hertz / np.array(self.hertz))
        index = int(np.argmin(np.abs(away)))
        return index, float(away[index])

    def from_twelve(self, index: int) -> float:
        """How far a target is from its spelled note in twelve equal steps, in cents; a half-sharp is 50 there."""
        return cents(self.hertz[index] / self.notes[index].hz(_QUARTERTONES, self.reference))


def _spelled(step: int, tuning: Tuning) -> Note | None:
    try:
        return spell(step, tuning)
    except ValueError:
        return None


def parse_targets(text: str, reference: float = A4_HZ) -> Targets:
    """Read what a player aims at.

    Parameters
    ----------
    text : str
        ``"harmonics of B♭1"`` (a note, or a frequency such as ``"58.27 Hz"``); a number of equal steps to the octave,
        such as ``"31"``; or ratios on a note or frequency, such as ``"1/1 9/8 5/4 3/2 on C4"``.
    reference : float
        The frequency of A4 in hertz, 300 to 600.

    Raises ValueError that says what cannot be read, and what can.

    >>> parse_targets("harmonics of A2").labels[6], parse_targets("31").labels[100]
    ('7', 'D½♯3')
    """
    if not isinstance(text, str) or not 0 < len(text.strip()) <= _LONGEST_TEXT:
        raise ValueError(f"targets are named in 1 to {_LONGEST_TEXT} characters: {_FORMS}")
    if not 300 <= reference <= 600:
        raise ValueError(f"the reference for A4 must be between 300 and 600 Hz, not {reference:g} (ISO 16 says 440)")
    words = text.strip()
    folded = words.casefold()
    if re.fullmatch(r"\d{1,9}", folded, re.ASCII):
        steps = int(folded)
        if not 1 <= steps <= FINEST_DIVISION:
            raise ValueError(f"a division to play in has 1 to {FINEST_DIVISION} equal steps, not {steps}")
        return Targets.tuning(equal(steps), reference)
    if match := re.fullmatch(r"(?:the )?harmonics of (.+)", words, re.IGNORECASE):
        hertz, name, home = _place(match[1], reference)
        return Targets.harmonics(hertz, f"the harmonics of {name}", reference, home)
    if match := re.fullmatch(r"(.+?)\s+on\s+(.+)", words, re.IGNORECASE):
        hertz, name, _ = _place(match[2], reference)
        ratios = [parse_ratio(ratio) for ratio in re.split(r"[\s,;]+", match[1].strip(" ,;"))]
        return Targets.ratios(ratios, hertz, f"{', '.join(map(str, ratios))} on {name}", reference)
    raise ValueError(f"{text!r} names no targets: {_FORMS}")


def _place(text: str, reference: float) -> tuple[float, str, float]:
    """A note or a frequency as hertz, its name, and its place on the chain of fifths."""
    if match := _PLACE.fullmatch(text.strip()):
        hertz, name, home = float(match["hertz"]), f"{match['hertz']} Hz", 0.0
    else:
        note = Note.parse(text)
        hertz, name, home = note.hz(_TWELVE, reference), str(note), note.fifths
    if not _LOWEST_TARGET <= hertz <= _HIGHEST_TARGET:
        raise ValueError(f"{name} is at {hertz:.5g} Hz; take one from {_LOWEST_TARGET:g} to {_HIGHEST_TARGET:g} Hz")
    return hertz, name, home
