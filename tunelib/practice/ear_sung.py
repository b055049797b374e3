"""What is sung, or played into the microphone: a note over a drone, a slide from twelve, harmonics, a line of a tune.

The needle shows the way while it is done, and hands over the pitch as it went; here it is graded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np

from tunelib.harmony import parse_lead_sheet
from tunelib.hearing import grade_hold, grade_slide
from tunelib.pitch import (
    THIRTY_ONE,
    FloatArray,
    Note,
    cents,
    drawn,
    equal,
    interval_names,
    listed,
    octave_reduce,
    plain,
    ratio_from_cents,
    signed,
    spell_near,
    times,
)
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_pairs import name_of_step
from tunelib.practice.ear_settings import EAR_REGISTERS, EarSettings
from tunelib.practice.ear_sounds import EarSound, in_turn, together
from tunelib.practice.tune_panel import FIRST_TUNE
from tunelib.score import Score
from tunelib.sound import TIMBRES

OVERTONES = ("3", "5", "7", "9", "11", "13")
HALF_A_STEP = 600 / len(THIRTY_ONE)
"""Cents: half a step of thirty-one, beyond which another note is nearer."""

LONG_ENOUGH = 1.0
"""Seconds for which a note is held."""

_TWELVE = equal(12)
_PLACES = ("C3", "D3", "E3", "F3", "G3")  # of a drone, where nobody has said who sings
_LONG, _SHORT = 3.0, 0.9  # seconds of one note, and of each of several


class Sung(Protocol):
    """The pitch of one attempt: seconds since it began, and hertz, NaN where there was none."""

    @property
    def seconds(self) -> FloatArray:
        """Moments since it began."""
        ...

    @property
    def hertz(self) -> FloatArray:
        """The pitch at each, NaN where there was none."""
        ...


@dataclass(frozen=True)
class SungGrade:
    """What came of it: whether it is right, in words, and how far off it was in cents (None if nothing was held)."""

    right: bool
    message: str
    cents: float | None


@dataclass(frozen=True)
class SungQuestion:
    """One thing to sing or play.

    Parameters
    ----------
    item, register, words, sounds, compared
        As for `QuestionAsked`; what is heard beforehand shows how it should sound.
    drone : float
        In hertz.
    targets : tuple of float
        In hertz, to be held one after another, in any octave.
    names : tuple of str
        What they are called, by those who read them.
    start : float or None
        Where the first target is slid to from, in hertz.
    within : float
        Within how many cents a note counts as right.
    """

    item: Item
    register: str
    words: str
    sounds: tuple[EarSound, ...]
    drone: float
    targets: tuple[float, ...]
    names: tuple[str, ...]
    compared: tuple[EarSound, ...]
    start: float | None = None
    within: float = HALF_A_STEP

    @property
    def why(self) -> str:
        """What it is, in cents."""
        above = (
            f"{name} is {plain(cents(target / self.drone))} cents"
            for name, target in zip(self.names, self.targets, strict=True)
        )
        return f"{'; '.join(above)} above the drone."

    def grade(self, attempts: Sequence[Sung]) -> SungGrade:
        """Grade attempts at all targets, in their order. Raises ValueError unless there is one for each."""
        if len(attempts) != len(self.targets):
            raise ValueError(
                f"there are {len(self.targets)} notes to be held, and so many attempts, not {len(attempts)}"
            )
        if self.start is not None:
            return _graded_slide(attempts[0], self.start, self.targets[0], self.names[0], self.within)
        grades = [
            _graded(attempt, target, name, self.within)
            for attempt, target, name in zip(attempts, self.targets, self.names, strict=True)
        ]
        offs = [grade.cents for grade in grades if grade.cents is not None]
        return SungGrade(
            all(grade.right for grade in grades),
            " ".join(grade.message for grade in grades),
            float(np.mean(offs)) if offs else None,
        )


def _graded(attempt: Sung, target: float, name: str, within: float) -> SungGrade:
    """One note that was to be held, in whichever octave."""
    try:
        held = grade_hold(attempt.seconds, attempt.hertz, _same_octave(target, attempt.hertz), near=within)
    except ValueError:  # too short
        return SungGrade(False, f"{name} was not held long enough to be measured.", None)
    there = f"there after {times(held.soon, 'second')}, " if math.isfinite(held.soon) else ""
    said = (
        f"{name}: {_off(held.off)}, {there}steady to {times(held.spread, 'cent')}, and within "
        f"{times(within, 'cent', 0)} for {times(held.steady_seconds, 'second')}."
    )
    close, long = abs(held.off) <= within, held.steady_seconds >= LONG_ENOUGH
    if close and not long:
        said += " Hold it for a second at least."
    return SungGrade(close and long, said, held.off)


def _graded_slide(attempt: Sung, start: float, target: float, name: str, within: float) -> SungGrade:
    """A slide from one pitch to another, in whichever octave."""
    octave = _same_octave(target, attempt.hertz) / target
    try:
        slid = grade_slide(attempt.seconds, attempt.hertz, start * octave, target * octave)
    except ValueError:
        return SungGrade(False, f"{name} was not held long enough to be measured.", None)
    said = f"You began {_off(slid.from_off)} of twelve and ended {_off(slid.to_off)} of {name}"
    said += f", sliding for {times(slid.seconds, 'second')}." if math.isfinite(slid.seconds) else "."
    moved = cents(target / start) + slid.to_off - slid.from_off
    goes = moved * cents(target / start) > 0
    if not goes:
        said += f" The way is {signed(cents(target / start), 1)} cents."
    return SungGrade(goes and abs(slid.to_off) <= within, said, slid.to_off)


def _off(away: float) -> str:
    """How far off, and to which side."""
    return f"{times(abs(away), 'cent')} {'sharp' if away > 0 else 'flat'}"


def sung_over(
    item: Item,
    settings: EarSettings,
    drone: float,
    targets: tuple[float, ...],
    names: tuple[str, ...],
    words: str,
    start: float | None = None,
) -> SungQuestion:
    """A question with how it should sound: its notes in their order, over the drone.

    Parameters
    ----------
    item, drone, targets, names, words, start
        As for `SungQuestion`.
    settings : EarSettings
    """
    timbre = TIMBRES[settings.timbres[0]]
    shown = [EarSound("how it should sound", _over_drone(drone, targets), timbre)]
    if start is not None:
        shown.insert(0, EarSound("in twelve", _over_drone(drone, (start,)), timbre))
    return SungQuestion(item, _register(targets[0]), words, tuple(shown), drone, targets, names, tuple(shown), start)


def sing_step(item: Item, dice: np.random.Generator, settings: EarSettings) -> SungQuestion:
    """A step of the tuning over a drone, to be held."""
    root, upper = _notes(int(item.what), dice, settings)
    name = _read(upper, settings)
    return sung_over(
        item,
        settings,
        root.hz(settings.tuning),
        (upper.hz(settings.tuning),),
        (name,),
        f"Sing or play {name} over the drone {_read(root, settings)}, a "
        f"{name_of_step(int(item.what), settings.tuning)}, and hold it.",
    )


def sing_slide(item: Item, dice: np.random.Generator, settings: EarSettings) -> SungQuestion:
    """From the nearest step of twelve to a step of the tuning, over a drone."""
    root, upper = _notes(int(item.what), dice, settings)
    drone, target = root.hz(settings.tuning), upper.hz(settings.tuning)
    away = float(_TWELVE.cents_of(_TWELVE.nearest(cents(target / drone))[0]))
    name = _read(upper, settings)
    return sung_over(
        item,
        settings,
        drone,
        (target,),
        (name,),
        f"Begin {plain(away)} cents above the drone {_read(root, settings)}, where twelve has its note; hold it, then "
        f"slide slowly to {plain(cents(target / drone))}, the {name} of {settings.tuning.name}, and hold that.",
        start=drone * ratio_from_cents(away),
    )


def sing_overtone(item: Item, dice: np.random.Generator, settings: EarSettings) -> SungQuestion:
    """A harmonic of the drone, brought within an octave of it."""
    number, drone = int(item.what), _drone(dice, settings)
    ratio = octave_reduce(number)
    low = drone.hz(settings.tuning)
    step, off = settings.tuning.nearest(cents(ratio))
    return sung_over(
        item,
        settings,
        low,
        (low * float(ratio),),
        (f"harmonic {number}",),
        f"Sing or play harmonic {number} of the drone {_read(drone, settings)}, brought within an octave: "
        f"{plain(cents(ratio))} cents above it. The nearest step of {settings.tuning.name} is {step}, "
        f"{times(abs(off), 'cent')} {'higher' if off > 0 else 'lower'}. Hold it.",
    )


def lines_of(settings: EarSettings) -> tuple[str, ...]:
    """The bars of the tune that have a line to sing."""
    return tuple(_bars())


def sing_line(item: Item, dice: np.random.Generator, settings: EarSettings) -> SungQuestion:
    """A bar of the tune of step 31, note by note, over the root of its chord."""
    root, melody = _bars()[item.what]
    tuning = settings.tuning
    shift = _octaves(melody, settings)
    notes = [Note(note.letter, note.half_sharps, note.octave + shift) for note in melody]
    low = _below(min(notes, key=lambda note: note.hz(tuning)), root, settings)
    names = tuple(_read(note, settings) for note in notes)
    return sung_over(
        item,
        settings,
        low.hz(tuning),
        tuple(note.hz(tuning) for note in notes),
        names,
        f"{item.what.capitalize()} of the tune of step 31: {listed(names)}, over {_read(low, settings)}. Hold each "
        "note, and leave a short silence before the next.",
    )


def _over_drone(drone: float, hertz: Sequence[float]) -> Score:
    """Notes one after another over a drone."""
    seconds = _LONG if len(hertz) == 1 else _SHORT
    turns = in_turn(hertz, seconds)
    whole = together((drone,), len(hertz) * seconds)
    return Score((*turns.notes, *whole.notes), tempo=60)


def _notes(step: int, dice: np.random.Generator, settings: EarSettings) -> tuple[Note, Note]:
    """A drone, and the note a number of steps above it."""
    tuning, root = settings.tuning, _drone(dice, settings)
    names, place = interval_names(step, tuning), root.step(tuning) + step
    return root, root.transpose(names[0]).sounding(place, tuning) if names else spell_near(place, tuning)


def _drone(dice: np.random.Generator, settings: EarSettings) -> Note:
    """A note to sing up to an octave over: low in the range of the player, or for any voice an octave or none below."""
    places = [Note.parse(place) for place in _PLACES]
    if settings.player is not None:
        low, high = settings.player.range_hz
        naturals = [Note(letter, 0, octave) for octave in range(9) for letter in "CDEFGAB"]
        reached = [note for note in naturals if low <= note.hz() and 2 * note.hz() <= high]
        places = reached[: len(places)] or naturals[:1]
    return places[int(dice.integers(len(places)))]


def _below(note: Note, root: Note, settings: EarSettings) -> Note:
    """A root in the octave that ends with a note."""
    tuning = settings.tuning
    return root.at_step(note.step(tuning), tuning)


def _read(note: Note, settings: EarSettings) -> str:
    """A note as whoever sings or plays reads it."""
    return drawn(str(settings.player.written(note) if settings.player else note))


def _register(hertz: float) -> str:
    """The register that a pitch is in, or is nearest to."""
    return min(EAR_REGISTERS, key=lambda name: abs(cents(hertz / EAR_REGISTERS[name][0]) - 600))


@lru_cache(maxsize=1)
def _bars() -> dict[str, tuple[Note, tuple[Note, ...]]]:
    """The bars of the tune that have two notes or more: the root of the first chord in each, and its melody."""
    tune = parse_lead_sheet(FIRST_TUNE)
    found = {}
    for bar in sorted({note.bar for note in tune.melody}):
        melody = tuple(note.note for note in tune.melody if note.bar == bar)
        root = next(chord.chord.root for chord in tune.chords if chord.bar == bar)
        if len(melody) > 1:
            found[f"bar {bar}"] = root, melody
    return found


def _octaves(melody: Sequence[Note], settings: EarSettings) -> int:
    """By how many octaves a line is moved for its player: an octave down for anybody, whose voice may be either."""
    if settings.player is None:
        return -1
    low, high = settings.player.range_hz
    middle = float(np.mean([cents(note.hz() / (low * high) ** 0.5) for note in melody]))
    return round(-middle / 1200)


def _same_octave(target: float, hertz: FloatArray) -> float:
    """A target in the octave that was sung."""
    sung = hertz[np.isfinite(hertz)]
    return target * 2.0 ** round(cents(float(np.median(sung)) / target) / 1200) if sung.size else target
