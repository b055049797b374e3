"""How notes are best written: key signatures, and the spelling to prefer in a key or over a root.

Where a tuning has more notes than a keyboard, one sound has several names. In a key the notes of its scale come first,
and then whatever is nearest to them along the chain of fifths; over a root a chord is written in thirds. Both are
common practice; that a half-sharp counts for as much as two fifths, and a double accidental for four, is set here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from tunelib.pitch.intervals import shortened
from tunelib.pitch.lookup import look_up
from tunelib.pitch.notes import LETTERS, Note, known_note, spellings
from tunelib.pitch.spelled import SpelledInterval, interval_names
from tunelib.pitch.tunings import Tuning
from tunelib.pitch.words import sign_name, times

_MODES = {  # the place of the mode's home among the seven fifths of its scale, counted from the lowest
    "lydian": 0, "major": 1, "mixolydian": 2, "dorian": 3, "minor": 4, "phrygian": 5, "locrian": 6,
}  # fmt: skip
MODES = tuple(_MODES)
_SHARPS_ORDER = "FCGDAEB"
_HALF_COSTS, _DOUBLE_COSTS = 2.0, 4.0  # fifths


@dataclass(frozen=True)
class Key:
    """A key: its tonic (in any octave) and its mode, one of `MODES`.

    Raises ValueError for a tonic that is not a `Note`, or for another mode, with the nearest.
    """

    tonic: Note
    mode: str = "major"

    def __post_init__(self) -> None:
        known_note(self.tonic, "the tonic of a key")
        object.__setattr__(self, "mode", look_up(self.mode, {mode: mode for mode in MODES}, "mode"))

    @property
    def lowest_fifth(self) -> float:
        """Place of its seven notes' first on the chain of fifths: -1 (F) for C major."""
        return self.tonic.fifths - _MODES[self.mode]

    @property
    def scale(self) -> tuple[Note, ...]:
        """Its seven notes, rising from the tonic.

        >>> [note.name for note in Key(Note.named("E"), "minor").scale]
        ['E', 'F♯', 'G', 'A', 'B', 'C', 'D']
        """
        altered = self.alterations
        first = LETTERS.index(self.tonic.letter)
        return tuple(
            Note(letter, altered[letter], self.tonic.octave + (first + degree) // 7)
            for degree in range(7)
            for letter in [LETTERS[(first + degree) % 7]]
        )

    @property
    def alterations(self) -> dict[str, int]:
        """Half-sharps on each letter: what its signature does, and nothing for a natural."""
        places = [self.lowest_fifth + i for i in range(7)]
        # A letter's natural place plus 3.5 for each half-sharp; of the seven, one place belongs to each letter.
        found = {}
        for letter, natural in zip(_SHARPS_ORDER, range(-1, 6), strict=True):
            [alteration] = [(place - natural) / 3.5 for place in places if (place - natural) % 3.5 == 0]
            found[letter] = round(alteration)
        return found

    @property
    def signature(self) -> tuple[Note, ...]:
        """The altered letters in the order in which a signature has them: sharps F C G D A E B, flats the other way.

        >>> [note.name for note in Key(Note.named("E♭")).signature]
        ['B♭', 'E♭', 'A♭']
        """
        altered = self.alterations
        order = _SHARPS_ORDER if self.lowest_fifth >= -1 else _SHARPS_ORDER[::-1]
        return tuple(Note(letter, altered[letter], 4) for letter in order if altered[letter])

    @property
    def signature_words(self) -> str:
        """The signature in words: ``"3 flats"``, ``"7 half-sharps"``, ``"no sharps or flats"``."""
        counts = Counter(note.half_sharps for note in self.signature)
        largest_first = sorted(counts.items(), key=lambda pair: -abs(pair[0]))
        said = [times(count, sign_name(half_sharps)) for half_sharps, count in largest_first]
        return " and ".join(said) or "no sharps or flats"


def spell_in_key(step: int, tuning: Tuning, key: Key) -> Note:
    """The name of a step that a player would rather read in a key.

    Parameters
    ----------
    step : int
        Step of the tuning; C4 is 0.
    tuning : Tuning
        One whose notes have letters.
    key : Key

    Raises ValueError as `spell` does, and for a key that is not a `Key`.

    >>> from tunelib.pitch import equal
    >>> spell_in_key(12, equal(31), Key(Note.named("F#"))), spell_in_key(12, equal(31), Key(Note.named("C")))
    (Note('E#4'), Note('Fhb4'))
    """
    names = _spellings(step, tuning)
    if not isinstance(key, Key):
        raise ValueError(f"a key is given as one, such as Key(Note.named('E♭'), 'minor'), not {shortened(key)}")
    altered, centre = key.alterations, key.lowest_fifth + 3

    def cost(note: Note) -> tuple[bool, float]:
        away = abs(note.fifths - centre)
        half, double = note.half_sharps % 2, abs(note.half_sharps) > 2
        return note.half_sharps != altered[note.letter], away + _HALF_COSTS * half + _DOUBLE_COSTS * double

    return min(names, key=cost)


def spell_chord(root: Note, steps: Sequence[int], tuning: Tuning) -> tuple[Note, ...]:
    """The notes of a chord over a root, written in thirds.

    Parameters
    ----------
    root : Note
    steps : sequence of int
        Steps above the root, 0 or more.
    tuning : Tuning
        One whose notes have letters.

    Each interval has its plainest name, except that a chord without any other fifth writes its widest as an augmented
    one. Raises ValueError as `interval_names` does, for a step that has no plain name, or a root that is not a `Note`.

    >>> from tunelib.pitch import equal
    >>> [note.name for note in spell_chord(Note.named("D"), [0, 10, 20, 25], equal(31))]
    ['D', 'F♯', 'A♯', 'C½♭']
    """
    lowest = known_note(root, "the root of a chord")
    names = []
    for step in steps:
        plainest = interval_names(step, tuning)
        if not plainest:
            raise ValueError(f"an interval of {step} steps of {tuning.name} has no plain name")
        names.append(plainest[0])
    if not any(name.letters % 7 == 4 for name in names):
        names = [_as_fifth(name, step, tuning) for name, step in zip(names, steps, strict=True)]
    return tuple(lowest.transpose(name) for name in names)


def _as_fifth(plainest: SpelledInterval, step: int, tuning: Tuning) -> SpelledInterval:
    """The augmented fifth of a number of steps, if they make one, instead of the plainest name."""
    fifths = (name for name in interval_names(step, tuning) if name.letters % 7 == 4)
    return next(fifths, plainest)


def simplest_tonic(step: int, tuning: Tuning, mode: str = "major") -> Note:
    """The tonic on a step whose key has the lightest signature: the fewest half-sharps or half-flats in all.

    Raises ValueError as `spell` does, and for a mode that is not one of `MODES`.

    >>> from tunelib.pitch import equal
    >>> simplest_tonic(3, equal(31)), simplest_tonic(2, equal(12))
    (Note('Db4'), Note('D4'))
    """
    names = _spellings(step, tuning)

    def weight(note: Note) -> int:
        return sum(abs(half_sharps) for half_sharps in Key(note, mode).alterations.values())

    return min(names, key=weight)


def _spellings(step: int, tuning: Tuning) -> tuple[Note, ...]:
    names = spellings(step, tuning)
    if not names:
        raise ValueError(f"step {step} of {tuning.name} has no plain spelling")
    return names
