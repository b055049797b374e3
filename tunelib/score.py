"""The score: timed notes at exact pitch, from which every output is read.

Audio, MIDI, MusicXML, the engraved staff and the labels of figures all take a `Score` and add nothing to it, so
they cannot disagree. Times are in beats (quarter notes), pitch in hertz, level from 0 to 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from numbers import Real

import numpy as np

from tunelib.pitch import Note, cents, equal

_QUARTERTONES = equal(24)


@dataclass(frozen=True)
class ScoreNote:
    """One note of a score.

    Parameters
    ----------
    onset, duration : Fraction, int or float
        In beats from the beginning; the duration is above 0.
    hertz : float
        The exact pitch that sounds.
    name : Note or None
        The spelled name at sounding pitch, nearest to `hertz`; None for a sound that is not written, such as a tick.
    voice : str
        Which line it belongs to, such as ``"guide"`` or ``"drone"``.
    label : str
        Words below the note, such as ``"7 · 7/4"``.
    level : float
        Loudness from 0 to 1 of full level. A note at level 0 is written for someone to play, and does not sound.

    Raises ValueError if a value is out of these bounds.
    """

    onset: Fraction | float
    duration: Fraction | float
    hertz: float
    name: Note | None = None
    voice: str = "melody"
    label: str = ""
    level: float = 1.0

    def __post_init__(self) -> None:
        for what, value in (
            ("onset", self.onset), ("duration", self.duration), ("pitch", self.hertz), ("level", self.level),
        ):  # fmt: skip
            if isinstance(value, bool) or not isinstance(value, (float, int, Fraction, Real, np.number)):
                raise ValueError(f"the {what} of a note is a number, not {value!r}")
        if not (self.onset >= 0 and self.onset < math.inf):
            raise ValueError(f"a note begins at beat 0 or later, not at {self.onset}")
        if not 0 < self.duration < math.inf:
            raise ValueError(f"a note lasts longer than 0 beats, not {self.duration}")
        if not 0 < self.hertz < math.inf:
            raise ValueError(f"a note's pitch is above 0 Hz, not {self.hertz}")
        if not 0 <= self.level <= 1:
            raise ValueError(f"a note's level must be between 0 and 1, not {self.level}")

    @cached_property
    def end(self) -> Fraction | float:
        """Beat at which the note ends."""
        return self.onset + self.duration

    @property
    def cents_from_name(self) -> float:
        """How far the exact pitch is from what its letter and accidental nominally mean, in cents.

        That is the key of twelve equal steps at A4 = 440 Hz; for a half-sharp or half-flat, halfway between two keys.

        Raises ValueError if the note is not written.
        """
        return cents(self.hertz / self.sign.hz(_QUARTERTONES))

    @property
    def sign(self) -> Note:
        """The name as a place and a sign on a staff: without its steps, which are written below the note.

        Raises ValueError if the note is not written.

        >>> str(ScoreNote(0, 1, 325.6, Note.parse("E4-1")).sign)
        'E4'
        """
        if self.name is None:
            raise ValueError(f"the note at beat {self.onset} has no written name to measure from")
        return replace(self.name, steps=0) if self.name.steps else self.name


@dataclass(frozen=True)
class Score:
    """Timed notes with what is needed to write them down.

    Parameters
    ----------
    notes : tuple of ScoreNote
        Kept in order of onset; an iterable is accepted.
    tempo : float
        Beats a minute.
    beats_per_bar : int
        The upper figure of a metre in quarter notes.
    title : str

    Raises ValueError for a tempo of zero or less, or a bar that is not a whole number of beats.
    """

    notes: tuple[ScoreNote, ...]
    tempo: float = 60.0
    beats_per_bar: int = 4
    title: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.tempo < math.inf:
            raise ValueError(f"a tempo is above 0 beats a minute, not {self.tempo}")
        if isinstance(self.beats_per_bar, bool) or not isinstance(self.beats_per_bar, int) or self.beats_per_bar < 1:
            raise ValueError(f"a bar has a whole number of beats, 1 or more, not {self.beats_per_bar}")
        if not isinstance(self.notes, Iterable) or not all(isinstance(note, ScoreNote) for note in self.notes):
            raise ValueError("the notes of a score are ScoreNotes, in a tuple or a list")
        object.__setattr__(self, "notes", tuple(sorted(self.notes, key=lambda note: note.onset)))

    @cached_property
    def beats(self) -> Fraction | float:
        """Length in beats, to the end of the last note; 0 for an empty score."""
        return max((note.end for note in self.notes), default=0)

    def seconds(self, beats: Fraction | float) -> float:
        """A time in beats as seconds."""
        return float(beats) * 60.0 / self.tempo

    @property
    def voices(self) -> tuple[str, ...]:
        """The voices, in order of first appearance."""
        return tuple(dict.fromkeys(note.voice for note in self.notes))

    def only(self, *voices: str) -> Score:
        """The same score with these voices alone, nothing moved. Raises ValueError for a voice it does not have."""
        for voice in voices:
            if voice not in self.voices:
                raise ValueError(f"the score has no voice {voice!r}; it has {', '.join(self.voices) or 'none'}")
        return replace(self, notes=tuple(note for note in self.notes if note.voice in voices))


def sequence(
    notes: Iterable[tuple[float, Note | None]], beats: float = 1, voice: str = "melody", **score: object
) -> Score:
    """A score of notes one after another, each `(hertz, name)` lasting `beats`; `score` takes tempo, title, ..."""
    timed = (
        ScoreNote(onset=i * beats, duration=beats, hertz=hz, name=name, voice=voice)
        for i, (hz, name) in enumerate(notes)
    )
    return Score(tuple(timed), **score)  # type: ignore[arg-type]
