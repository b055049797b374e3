"""What the single words of a lead sheet say: metre, tempo and key, the length of a bar, and a note with its length.

Each function raises ValueError, with what would be right, for a word that it cannot read.
"""

from __future__ import annotations

import re
from fractions import Fraction

from tunelib.harmony.tune import bar_length, known_tempo, writable
from tunelib.pitch import Key, Note, shortened

METRE = re.compile(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})")
_NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,15})?")
_KEY = re.compile(r"(?P<tonic>[A-G](?:½♯|½♭|h#|hb|[#bx♯♭𝄪𝄫])*)(?P<minor>m(?![a-z]))?(?P<mode>.*)")
_LENGTH = re.compile(r"[0-9]{1,12}(?:/0{0,11}[1-9][0-9]{0,11}|\.[0-9]{1,6})?")


def short_bar(text: str, beats: int) -> Fraction:
    """The length in beats of a bar that has a metre of its own; `beats` is that of the others, the most it may be."""
    match = METRE.fullmatch(text)
    assert match is not None
    length = Fraction(4 * int(match[1]), int(match[2]) or 1)
    if int(match[2]) not in (1, 2, 4, 8, 16, 32) or not length:
        raise ValueError(f"{text} is not the length of a bar: write one such as 2/4 or 3/8")
    if length > beats:
        raise ValueError(f"a bar of {text} is longer than the metre, {beats}/4, and can only be shorter")
    return length


def metre(text: str) -> int:
    """How many beats, quarter notes, a bar has.

    >>> metre("6/8")
    3
    """
    match = METRE.fullmatch(text)
    if match is None:
        raise ValueError(f"{shortened(text)} is not a metre: write one such as 4/4, 3/4 or 6/8")
    return bar_length(int(match[1]), int(match[2]))


def tempo(text: str) -> float:
    """Beats, which are quarter notes, a minute."""
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{shortened(text)} is not a tempo: write quarter notes a minute, such as 120")
    return known_tempo(float(text))


def key(text: str) -> Key:
    """A key by its tonic and mode.

    >>> key("Bbm"), key("D dorian").signature_words
    (Key(tonic=Note('Bb4'), mode='minor'), 'no sharps or flats')
    """
    match = _KEY.fullmatch(text)
    if match is None:
        raise ValueError(f"{shortened(text)} is not a key: write one such as F major, Bb minor or D dorian")
    minor, mode = match["minor"], match["mode"].strip()
    if minor and mode:
        raise ValueError(f"{shortened(text)} has two modes: write one, such as {match['tonic']} minor")
    return Key(writable(Note.named(match["tonic"])), "minor" if minor else mode or "major")


def note_and_length(sign: str) -> tuple[str, Fraction]:
    """The name in the sign for a note, and its length in beats."""
    name, colon, length = sign.partition(":")
    if colon and not _LENGTH.fullmatch(length):
        raise ValueError(f"{shortened(sign)}: after the colon comes the length in beats, such as 2, 1/2 or 0.5")
    duration = Fraction(length) if colon else Fraction(1)
    if not duration:
        raise ValueError(f"{shortened(sign)} lasts no time: take it away, or give it a length above 0")
    if name in ("~-", "~.", "~"):
        raise ValueError(f"{shortened(sign)}: ~ ties a note to the one before, such as ~A4:2; a dot holds any")
    if name == "":
        raise ValueError(f"{shortened(sign)} has no note: write one such as A4:2, a rest -:2, or a dot that holds .:2")
    return name, duration
