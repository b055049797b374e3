"""What exhibits of one held chord share: the root that a frequency is, chords named on it, and their sound."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from tunelib.harmony import Chord, symbol_body
from tunelib.pitch import THIRTY_ONE, Note, cents, spellings
from tunelib.score import ScoreNote

C3 = Note.parse("C3").hz(THIRTY_ONE)
_ADDED = re.compile(r"(?:(?:♭½♭|♯½♯|½♭|½♯|♭|♯)\d+|no\d)+$")
_ONE_ADDED = re.compile(r"\D+\d+")
_A_WORD = ("harm", "sub", "sup", "neu")  # families written as words, which run into the letter of a root
_THIN = "\N{THIN SPACE}"


def held(hertz: Sequence[float], onset: float, duration: float) -> tuple[ScoreNote, ...]:
    """A chord held, as softly as its number of notes asks."""
    level = min(0.4, 1.4 / len(hertz))
    return tuple(ScoreNote(onset=onset, duration=duration, hertz=f, level=level) for f in hertz)


@lru_cache(maxsize=1024)
def root_of(hertz: float) -> Note:
    """The note of thirty-one nearest to a frequency, spelled so that its major triad has the fewest signs."""
    step = int(THIRTY_ONE.nearest(cents(hertz / float(THIRTY_ONE.hz(0))))[0])
    return min(spellings(step, THIRTY_ONE), key=lambda note: sum(abs(n.half_sharps) for n in on_root("C", note).notes))


@lru_cache(maxsize=1024)
def on_root(symbol: str, root: Note) -> Chord:
    """A chord, given by its symbol on C, on another root."""
    return Chord.parse(symbol).on(root)


def as_played(chord: Chord) -> str:
    """A chord's symbol as it is set on a lead sheet: real signs, and what is added or left out in brackets.

    >>> as_played(Chord.parse("Charm9h#11")), as_played(Chord.parse("F#maj7"))
    ('Charm9(½♯11)', 'F♯maj7')
    """
    body = symbol_body(chord.degrees, printed=True)
    added = _ADDED.search(body)
    if added and "(" not in body:
        body = f"{body[: added.start()]}({', '.join(_ONE_ADDED.findall(added.group()))})"
    return f"{chord.root.name}{body}"


def set_apart(chord: Chord) -> str:
    """A chord's symbol for a picture: a thin space before a family written as a word, so that no "charm" is read.

    >>> set_apart(Chord.parse("Charm7")) == "C\N{THIN SPACE}harm7", set_apart(Chord.parse("Cmaj7"))
    (True, 'Cmaj7')
    """
    played, root = as_played(chord), chord.root.name
    body = played.removeprefix(root)
    return f"{root}{_THIN if body.startswith(_A_WORD) else ''}{body}"
