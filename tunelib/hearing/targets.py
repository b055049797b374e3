"""Pitches to aim at: the harmonics of a note, an equal division, a list of ratios, or any tuning."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from tunelib.pitch import (
    A4_HZ,
    CENTS_PER_OCTAVE,
    MEANTONES,
    WELL_TEMPERAMENTS,
    Chain,
    Note,
    Tuning,
    cents,
    equal,
    folded,
    in_hertz,
    listed,
    meantone_chain,
    nearest_note,
    octave_reduce,
    parse_ratio,
    positive_hertz,
    ratio_from_cents,
    shortened,
    spell,
    spell_near,
    temperament,
)

HIGHEST_HARMONIC = 64
FINEST_DIVISION = 400

_LOWEST_TARGET, _HIGHEST_TARGET = 16.0, 16_000.0  # hertz
_LOWEST_A, _HIGHEST_A = 300.0, 600.0
_LONGEST_TEXT = 400
_TWELVE, _QUARTERTONES = equal(12), equal(24)
_A4 = Note.parse("A4")
_TEMPERAMENTS = {folded(name): temperament(name) for name in (*MEANTONES, *WELL_TEMPERAMENTS)}
_FORMS = (
    'give a number of equal steps such as "31" or "31 on C4 = 263.1 Hz", "harmonics of B♭1", ratios on a note such as '
    '"1/1 5/4 3/2 on C4", or a temperament such as "quarter-comma on D"; for another A, end with ", A = 442"'
)
_NUMBER = r"\d{1,6}(?:\.\d{1,6})?"
_HERTZ = re.compile(rf"({_NUMBER})\s*hz", re.IGNORECASE)
_AT = re.compile(rf"(.+?)\s*=\s*({_NUMBER})\s*(?:hz)?", re.IGNORECASE)
_WITH_A = re.compile(rf"(.*[^\s,;])(?<!\bon)(?<!\bof)[\s,;]+A4?\s*=\s*({_NUMBER})\s*(?:hz)?", re.IGNORECASE)
_HARMONICS = re.compile(r"(?:the )?harmonics of (.+)", re.IGNORECASE)
_ON = re.compile(r"(.+?)(?:\s+on\s+(.+))?", re.IGNORECASE)
_DIVISION = re.compile(r"(\d{1,9})(?:\s+(?:equal\s+)?steps)?", re.IGNORECASE | re.ASCII)
_NAME = re.compile(r"[A-Ga-g][^\d=]{0,8}")
_COMMA = re.compile(r"(\d{1,5}/\d{1,5})[ -]comma", re.ASCII)


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
    steps : int, optional
        Of an equal division, into how many it divides the octave.
    kind : str
        ``"harmonics"``, ``"ratios"``, ``"tuning"``, or ``"notes"`` for those that were to be played.

    Raises ValueError unless there is at least one, they ascend, and each has a label and a note.
    """

    name: str
    hertz: tuple[float, ...]
    labels: tuple[str, ...]
    notes: tuple[Note, ...]
    reference: float = A4_HZ
    steps: int | None = None
    kind: str = "tuning"

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
        return cls(
            name, hertz, tuple(str(number) for number in range(1, count + 1)), notes, reference, kind="harmonics"
        )

    @classmethod
    def tuning(
        cls, tuning: Tuning, reference: float = A4_HZ, *, name: str | None = None, origin: float | None = None
    ) -> Targets:
        """Every note of a tuning from 16 to 16 000 Hz.

        A4 is at `reference` hertz; where the tuning's notes have no letters, its step 0 may be put at `origin` hertz.
        `name` is the tuning's own unless given.
        """
        lettered = tuning.fifth is not None
        start = float(tuning.hz(0, reference)) if lettered or origin is None else origin
        first, last = tuning.nearest(cents(np.array([_LOWEST_TARGET, _HIGHEST_TARGET]) / start))[0].tolist()
        steps = range(first, last + 1)
        hertz = tuple((start * ratio_from_cents(tuning.cents_of(np.array(steps)))).tolist())
        labels = tuple(str(spell_near(step, tuning)) if lettered else f"step {step}" for step in steps)
        notes = tuple(
            _spelled(step, tuning) or nearest_note(pitch, reference=reference)[0]
            for step, pitch in zip(steps, hertz, strict=True)
        )
        equally = len(tuning) if tuning == equal(len(tuning)) else None
        return cls(name or tuning.name, hertz, labels, notes, reference, steps=equally)

    @classmethod
    def chain(cls, chain: Chain, reference: float = A4_HZ, *, name: str | None = None) -> Targets:
        """Every note of a chain of fifths from 16 to 16 000 Hz, by its own names; the key that plays A is at
        `reference` hertz. `name` is the chain's own unless given.
        """
        within = chain.cents - chain.cents[chain.place_of(_A4)]
        rungs = []
        for note, above in zip(chain.notes, within, strict=True):
            for octave in range(-1, 12):
                named = Note(note.letter, note.half_sharps, octave)
                about = 50.0 * (named.quartertones - _A4.quartertones)
                away = above + CENTS_PER_OCTAVE * round((about - above) / CENTS_PER_OCTAVE)
                rungs.append((reference * float(ratio_from_cents(away)), named))
        rungs = sorted(
            (rung for rung in rungs if _LOWEST_TARGET <= rung[0] <= _HIGHEST_TARGET), key=lambda rung: rung[0]
        )
        hertz, notes = tuple(pitch for pitch, _ in rungs), tuple(note for _, note in rungs)
        return cls(name or chain.name, hertz, tuple(map(str, notes)), notes, reference)

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
        notes = tuple(nearest_note(pitch, reference=reference)[0] for pitch in hertz)
        return cls(name, hertz, labels, notes, reference, kind="ratios")

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
        One of these, with ``", A = 442"`` after it for another A4 than `reference`:

        a number of equal steps to the octave, such as ``"31"``;
        ``"harmonics of B♭1"``;
        ratios, such as ``"1/1 9/8 5/4 3/2 on C4"``;
        a temperament of the past, such as ``"quarter-comma"`` or ``"Vallotti"``.

        A division or a temperament is tuned from A4; ``"31 on C4 = 263.1 Hz"`` tunes it from another note, as
        ``"on 263.1 Hz"`` does from the note nearest to that. A temperament on D has there what it otherwise has on C.
        Harmonics and ratios are those of a note where twelve equal steps have it, of a note at a frequency, or of a
        frequency.
    reference : float
        The frequency of A4 in hertz, 300 to 600.

    Raises ValueError that says what cannot be read, and what can.

    >>> parse_targets("harmonics of A2").labels[6], parse_targets("31").labels[100]
    ('7', 'D½♯3')
    >>> parse_targets("31 on C4").name
    '31 equal steps on C4 = 263.09 Hz'
    """
    if not isinstance(text, str) or not 0 < len(text.strip()) <= _LONGEST_TEXT:
        raise ValueError(f"targets are named in 1 to {_LONGEST_TEXT} characters: {_FORMS}")
    a4 = _checked_a4(reference)
    words, stated = text.strip(), False
    if match := _WITH_A.fullmatch(words):
        words, a4, stated = match[1], _checked_a4(float(match[2])), True
    if match := _HARMONICS.fullmatch(words):
        place = _Place.parse(match[1])
        hertz, a4 = place.tuned(_TWELVE, a4, stated)
        home = place.note.fifths if place.note else 0.0
        return Targets.harmonics(hertz, f"the harmonics of {place}", a4, home)
    match = _ON.fullmatch(words)
    if match is None:
        raise ValueError(f"{shortened(text)} names no targets: {_FORMS}")
    what, where = match.groups()
    if division := _DIVISION.fullmatch(what):
        return _division(int(division[1]), where, a4, stated)
    if what[0].isdigit() and where and not _COMMA.fullmatch(what):
        place = _Place.parse(where)
        hertz, a4 = place.tuned(_TWELVE, a4, stated)
        ratios = [parse_ratio(ratio) for ratio in re.split(r"[\s,;]+", what.strip(" ,;"))]
        return Targets.ratios(ratios, hertz, f"{', '.join(map(str, ratios))} on {place}", a4)
    return _temperament(what, where, a4, stated)


def _division(steps: int, where: str | None, a4: float, stated: bool) -> Targets:
    if not 1 <= steps <= FINEST_DIVISION:
        raise ValueError(f"a division to play in has 1 to {FINEST_DIVISION} equal steps, not {steps}")
    tuning = equal(steps)
    if where is None:
        return Targets.tuning(tuning, a4)
    place = _Place.parse(where)
    if tuning.fifth is None:
        hertz, a4 = place.tuned(_TWELVE, a4, stated)
        return Targets.tuning(tuning, a4, name=f"{tuning.name} on {place.at(hertz)}", origin=hertz)
    place = place.named(a4)
    hertz, a4 = place.tuned(tuning, a4, stated)
    return Targets.tuning(tuning, a4, name=f"{tuning.name} on {place.at(hertz)}")


def _temperament(what: str, where: str | None, a4: float, stated: bool) -> Targets:
    name = folded(what).removesuffix(" meantone")
    if match := _COMMA.fullmatch(name):
        chain = meantone_chain(match[1])
        title = f"{match[1]}-comma meantone"
    elif kind := _TEMPERAMENTS.get(name):
        chain, title = kind.chain, kind.name
    else:
        names = listed([kind.name for kind in _TEMPERAMENTS.values()])
        raise ValueError(f"{shortened(what)} names no targets: {_FORMS}. The temperaments are {names}")
    if where is None:
        return Targets.chain(chain, a4, name=title)
    place = (_Place(Note.named(where)) if _NAME.fullmatch(where.strip()) else _Place.parse(where)).named(a4)
    assert place.note is not None  # since it was named
    if place.note.half_sharps % 2:
        raise ValueError(f"a temperament begins on a natural, a sharp or a flat, not on {place.note.name}")
    moved = Chain(title, chain.first + int(place.note.fifths), chain.fifths)
    found = Targets.chain(moved, a4, name=f"{title} on {place.note.name}")
    if place.hertz is None:
        return found
    away = cents(place.hertz / found.hertz[found.notes.index(place.note)])
    return Targets.chain(moved, place.standing(a4 * ratio_from_cents(away), stated), name=f"{title} on {place}")


class _Place(NamedTuple):
    """Where a tuning is put: a note, a frequency in hertz, or a note at a frequency."""

    note: Note | None
    hertz: float | None = None

    @classmethod
    def parse(cls, text: str) -> _Place:
        if match := _HERTZ.fullmatch(text.strip()):
            return cls(None, float(match[1]))
        if match := _AT.fullmatch(text.strip()):
            return cls(Note.parse(match[1]), float(match[2]))
        return cls(Note.parse(text))

    def __str__(self) -> str:
        if self.note is None:
            return in_hertz(self.hertz or 0.0, 6)
        return str(self.note) if self.hertz is None else self.at(self.hertz)

    def at(self, hertz: float) -> str:
        """As it is put in a sentence, with the frequency that it has."""
        return in_hertz(hertz, 2) if self.note is None else f"{self.note} = {in_hertz(hertz, 2)}"

    def named(self, a4: float) -> _Place:
        """The same with a note: of a mere frequency, the nearest of twelve."""
        if self.note is not None or self.hertz is None:
            return self
        return _Place(nearest_note(_audible(str(self), self.hertz), reference=a4)[0], self.hertz)

    def tuned(self, tuning: Tuning, a4: float, stated: bool) -> tuple[float, float]:
        """Its frequency in a tuning, and that of A4 then, both in hertz; `stated` says that A4 was given by name."""
        if self.note is None:
            return _audible(str(self), self.hertz or 0.0), a4
        hertz = _audible(str(self.note), self.note.hz(tuning, a4))
        if self.hertz is None:
            return hertz, a4
        return _audible(str(self), self.hertz), self.standing(a4 * self.hertz / hertz, stated)

    def standing(self, a4: float, stated: bool) -> float:
        """A4 in hertz as it follows from this place, unless it was given besides or is too far away."""
        if stated:
            raise ValueError(f"{self} already says where A4 is: leave one of the two out")
        if not _LOWEST_A <= a4 <= _HIGHEST_A:
            raise ValueError(
                f"{self} puts A4 at {a4:.5g} Hz, and it must be between {_LOWEST_A:g} and {_HIGHEST_A:g} Hz: check the "
                "octave and the frequency"
            )
        return a4


def _checked_a4(hertz: float) -> float:
    if not _LOWEST_A <= hertz <= _HIGHEST_A:
        raise ValueError(
            f"the reference for A4 must be between {_LOWEST_A:g} and {_HIGHEST_A:g} Hz, not {hertz:g} (ISO 16 says 440)"
        )
    return hertz


def _audible(name: str, hertz: float) -> float:
    if not _LOWEST_TARGET <= hertz <= _HIGHEST_TARGET:
        raise ValueError(f"{name} is at {hertz:.5g} Hz; take one from {_LOWEST_TARGET:g} to {_HIGHEST_TARGET:g} Hz")
    return hertz
