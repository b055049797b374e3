"""Sounds for the ear to judge: notes together, one after another, broken and then held, all at the one loudness."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from tunelib.live import program
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, Timbre, reference_gain

_HELD_SECONDS = 2.4
_BROKEN_SECONDS = 0.45
_GAP_SECONDS = 0.12


@dataclass(frozen=True)
class EarSound:
    """One sound of a question.

    Parameters
    ----------
    name : str
        What it is. Before the answer it is not shown where it would tell.
    score : Score
    timbre : Timbre, or mapping from a voice's name to its Timbre
    """

    name: str
    score: Score
    timbre: Timbre | Mapping[str, Timbre]

    @cached_property
    def gain(self) -> float:
        """The gain at which it is as loud as every other sound."""
        return reference_gain(self.score, self.timbre)

    @cached_property
    def program(self) -> bytes:
        """What the player in the page plays."""
        return program(self.score, self.timbre, self.gain)

    @property
    def hertz(self) -> tuple[float, ...]:
        """The pitches of its notes, each once, in the order in which they are first heard."""
        return tuple(dict.fromkeys(note.hertz for note in self.score.notes))


def heard(timbre: str, scores: Mapping[str, Score]) -> tuple[EarSound, ...]:
    """Sounds for a question or an exercise: scores by the names under which they are offered, all in one timbre.

    >>> [sound.name for sound in heard("flute", {"First": together([440.0]), "Second": together([443.0])})]
    ['First', 'Second']
    """
    return tuple(EarSound(name, score, TIMBRES[timbre]) for name, score in scores.items())


def together(hertz: Sequence[float], seconds: float = _HELD_SECONDS) -> Score:
    """Notes held together."""
    return Score(_held(hertz, 0.0, seconds), tempo=60)


def in_turn(hertz: Sequence[float], seconds: float = 0.7) -> Score:
    """Notes one after another."""
    return Score(_turns(hertz, seconds), tempo=60)


def broken(hertz: Sequence[float], seconds: float = _HELD_SECONDS) -> Score:
    """Notes one after another, quickly, and then held together."""
    turns = _turns(hertz, _BROKEN_SECONDS)
    return Score((*turns, *_held(hertz, len(hertz) * _BROKEN_SECONDS + _GAP_SECONDS, seconds)), tempo=60)


def one_by_one(chords: Sequence[Sequence[float]], seconds: float = 1.1) -> Score:
    """Chords one after another, the last held twice as long."""
    notes: list[ScoreNote] = []
    for place, chord in enumerate(chords):
        lasts = 2 * seconds if place == len(chords) - 1 else seconds - 0.04
        notes += _held(chord, place * seconds, lasts)
    return Score(tuple(notes), tempo=60)


def _held(hertz: Sequence[float], onset: float, seconds: float) -> tuple[ScoreNote, ...]:
    return tuple(ScoreNote(onset, seconds, pitch, level=min(0.5, 1.4 / len(hertz))) for pitch in hertz)


def _turns(hertz: Sequence[float], seconds: float) -> tuple[ScoreNote, ...]:
    return tuple(ScoreNote(place * seconds, 0.9 * seconds, pitch, level=0.5) for place, pitch in enumerate(hertz))
