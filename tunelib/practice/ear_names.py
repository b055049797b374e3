"""Sounds to be named: the third, the seventh, the chord, the division of the octave, the harmonic that sticks out.

Each is asked with the names that are offered, the right one among them, in their usual order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from tunelib.harmony import Chord, families
from tunelib.pitch import FloatArray, Tuning, cents, equal, in_hertz, listed, plain, ratio_from_cents, signed, times
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_settings import EarSettings, root_in
from tunelib.practice.ear_sounds import EarSound, broken, one_by_one, together
from tunelib.sound import TIMBRES, Timbre

EAR_CHORDS = (
    "Csub", "Cm", "Cneu", "C", "Csup", "Cdim", "Caug", "Cmaj7", "C7", "Charm7", "Cm7", "Cm7b5", "Cneumid7", "Csubharm7",
)  # fmt: skip
"""Triads and sevenths, as chords on C."""

EAR_DIVISIONS = (12, 19, 31, 53)
EAR_HARMONICS = range(2, 11)

_CADENCE = ("C", "F", "G7", "C")
_OCTAVES = ((-12, 0, 4, 7), (-7, 0, 5, 9), (-5, -1, 2, 5), (-12, 0, 4, 7))  # keys of twelve near which its notes are
_RAISED_DB = 14.0  # of the harmonic that sticks out, above the fall of the others
_PARTIALS = 16
_FAMILY_WORDS = {"sub": "subminor", "minor": "minor", "neutral": "neutral", "major": "major", "super": "supermajor"}
_SEVENTH_WORDS = {"harmonic": "Charm7", "minor": "C7", "neutral": "Cmid7"}


def thirds_of(tuning: Tuning) -> dict[str, int]:
    """The families of thirds that a tuning tells apart, with their steps.

    >>> from tunelib.pitch import equal
    >>> thirds_of(equal(31)), thirds_of(equal(12))
    ({'subminor': 7, 'minor': 8, 'neutral': 9, 'major': 10, 'supermajor': 11}, {'minor': 3, 'major': 4})
    """
    return _told_apart({_FAMILY_WORDS[word]: step for word, step in families(3, tuning).items()}, ("minor", "major"))


def sevenths_of(tuning: Tuning) -> dict[str, int]:
    """The sevenths over a major triad that a tuning tells apart, with their steps: in thirty-one 25, 26 and 27.

    >>> from tunelib.pitch import equal
    >>> sevenths_of(equal(31)), sevenths_of(equal(12))
    ({'harmonic': 25, 'minor': 26, 'neutral': 27}, {'minor': 10})
    """
    steps = {word: Chord.parse(symbol).steps(tuning)[3] for word, symbol in _SEVENTH_WORDS.items()}
    return _told_apart(steps, ("minor",))


def _told_apart(steps: Mapping[str, int], first: Sequence[str]) -> dict[str, int]:
    """Each step once; where two names are one step, the one that comes `first` is kept."""
    taken: dict[int, str] = {}
    for word in (*first, *steps):
        taken.setdefault(steps[word], word)
    return {word: step for word, step in steps.items() if taken[step] == word}


def which_third(
    item: Item, dice: np.random.Generator, settings: EarSettings, offered: tuple[str, ...]
) -> QuestionAsked:
    """A third by its family."""
    tuning, steps = settings.tuning, thirds_of(settings.tuning)
    register, timbre = settings.register(dice), settings.timbre(dice)
    low = root_in(register, dice)
    right = offered.index(item.what)
    sounds = tuple(
        EarSound(f"{word}, {_sized(steps[word], tuning)}", broken(_above(low, (0, steps[word]), tuning)), timbre)
        for word in offered
    )
    return QuestionAsked(
        item,
        register,
        "Which third is this?",
        (sounds[right],),
        offered,
        right,
        f"The {item.what} third has {_sized(steps[item.what], tuning)}.{_beside(offered, right, steps, tuning)}",
        sounds,
    )


def which_seventh(
    item: Item, dice: np.random.Generator, settings: EarSettings, offered: tuple[str, ...]
) -> QuestionAsked:
    """The seventh over a major triad, by its name and its steps."""
    tuning, steps = settings.tuning, sevenths_of(settings.tuning)
    register, timbre = settings.register(dice), settings.timbre(dice)
    low = root_in(register, dice)
    right = offered.index(item.what)
    triad = Chord.parse("C").steps(tuning)
    sounds = tuple(
        EarSound(f"{word}, {_sized(steps[word], tuning)}", broken(_above(low, (*triad, steps[word]), tuning)), timbre)
        for word in offered
    )
    seventh = cents("7/4")
    off = float(tuning.cents_of(steps[item.what])) - seventh
    return QuestionAsked(
        item,
        register,
        "A major triad, and a seventh on top. Which seventh is it?",
        (sounds[right],),
        tuple(f"{word}, {times(steps[word], 'step')}" for word in offered),
        right,
        f"The {item.what} seventh has {_sized(steps[item.what], tuning)}, {plain(abs(off))} "
        f"{'wider' if off > 0 else 'narrower'} than harmonic 7, which is at {plain(seventh)}."
        f"{_beside(offered, right, steps, tuning)}",
        sounds,
    )


def which_chord(
    item: Item, dice: np.random.Generator, settings: EarSettings, offered: tuple[str, ...]
) -> QuestionAsked:
    """A triad or a seventh chord by its symbol; those offered have as many notes."""
    tuning, chord = settings.tuning, Chord.parse(item.what)
    register, timbre = settings.register(dice), settings.timbre(dice)
    low = root_in(register, dice)
    right = offered.index(item.what)
    sounds = tuple(
        EarSound(symbol, broken(_above(low, Chord.parse(symbol).steps(tuning), tuning)), timbre) for symbol in offered
    )
    sizes = listed(plain(float(tuning.cents_of(step))) for step in chord.steps(tuning)[1:])
    return QuestionAsked(
        item,
        register,
        "Which chord is this? It is named as if it stood on C.",
        (sounds[right],),
        offered,
        right,
        f"{item.what} has {listed(chord.steps(tuning)[1:])} steps above its root, {sizes} cents.",
        sounds,
    )


def which_division(
    item: Item, dice: np.random.Generator, settings: EarSettings, offered: tuple[str, ...]
) -> QuestionAsked:
    """The same cadence in one division of the octave: in which."""
    register, timbre = settings.register(dice), settings.timbre(dice)
    tonic = 2 * root_in(register, dice)
    right = offered.index(item.what)
    sounds = tuple(EarSound(f"{word} steps", one_by_one(cadence(equal(int(word)), tonic)), timbre) for word in offered)
    third, fifth = (Chord.parse("C").steps(equal(int(item.what)))[place] for place in (1, 2))
    off = [
        signed(float(equal(int(item.what)).cents_of(step)) - cents(ratio), 1)
        for step, ratio in ((third, "5/4"), (fifth, "3/2"))
    ]
    return QuestionAsked(
        item,
        register,
        "A cadence: into how many equal steps is its octave divided?",
        (sounds[right],),
        offered,
        right,
        f"It is {item.what}, whose major third is {off[0]} cents from the pure 5/4, and whose fifth is {off[1]} from "
        "the pure 3/2.",
        sounds,
    )


def cadence(tuning: Tuning, tonic: float) -> list[tuple[float, ...]]:
    """The chords of the cadence C F G7 C in hertz, on a tonic: each note the one of its chord nearest to its key."""
    chords = []
    for symbol, keys in zip(_CADENCE, _OCTAVES, strict=True):
        chord = Chord.parse(symbol)
        root = chord.root.within(tuning).step(tuning)
        tones = [float(tuning.cents_of(root + step)) for step in chord.steps(tuning)]
        chords.append(tuple(tonic * ratio_from_cents(_nearest(100.0 * key, tones)) for key in keys))
    return chords


def _nearest(place: float, tones: Sequence[float]) -> float:
    """The tone nearest to a place, in whichever octave; all in cents."""
    octaves = [tone + 1200 * round((place - tone) / 1200) for tone in tones]
    return min(octaves, key=lambda tone: abs(tone - place))


def which_harmonic(
    item: Item, dice: np.random.Generator, settings: EarSettings, offered: tuple[str, ...]
) -> QuestionAsked:
    """A tone with one harmonic stronger than the fall of the others: which."""
    number, register = int(item.what), settings.register(dice)
    low = root_in(register, dice) / (2 if register == "high" else 1)  # so that harmonic 10 is below 3 kHz
    right = offered.index(item.what)
    raised = EarSound(f"harmonic {number} raised", together((low,)), raised_harmonic(number))
    return QuestionAsked(
        item,
        register,
        "One harmonic of this tone sticks out. Which? Compare it with single harmonics.",
        (raised,),
        tuple(f"harmonic {word}" for word in offered),
        right,
        f"It is harmonic {number}, at {in_hertz(number * low, 0)}, {plain(_RAISED_DB)} dB stronger than "
        f"in an even tone. It is {plain(cents(number))} cents above the tone.",
        (EarSound("no harmonic raised", together((low,)), raised_harmonic(0)), raised),
        tuple(EarSound(f"harmonic {word}", together((int(word) * low,), 1.2), TIMBRES["sine"]) for word in offered),
    )


def raised_harmonic(number: int) -> Timbre:
    """A timbre whose amplitudes fall as 1/n, but for one harmonic, which is stronger; 0 for none."""

    def recipe(numbers: FloatArray, hertz: FloatArray) -> FloatArray:
        raised = np.where(numbers == number, 10 ** (_RAISED_DB / 20), 1.0)
        return np.where(numbers <= _PARTIALS, raised / numbers, 0.0)

    return Timbre(f"harmonic {number} raised" if number else "even", recipe, TIMBRES["organ"].phase)


def chords_of(tuning: Tuning, notes: int) -> tuple[str, ...]:
    """Those of `EAR_CHORDS` with so many notes that a tuning tells apart.

    >>> from tunelib.pitch import equal
    >>> chords_of(equal(31), 3), chords_of(equal(12), 3)
    (('Csub', 'Cm', 'Cneu', 'C', 'Csup', 'Cdim', 'Caug'), ('Cm', 'C', 'Cdim', 'Caug'))
    """
    plainest = sorted(EAR_CHORDS, key=lambda symbol: any(word in symbol for word in ("sub", "neu", "sup", "harm")))
    taken: dict[tuple[int, ...], str] = {}
    for symbol in plainest:
        taken.setdefault(Chord.parse(symbol).steps(tuning), symbol)
    return tuple(
        symbol
        for symbol in EAR_CHORDS
        if taken[steps := Chord.parse(symbol).steps(tuning)] == symbol and len(steps) == notes
    )


def _above(low: float, steps: Sequence[int], tuning: Tuning) -> tuple[float, ...]:
    """Steps above a pitch, in hertz."""
    return tuple(low * ratio_from_cents(float(tuning.cents_of(step))) for step in steps)


def _sized(step: int, tuning: Tuning) -> str:
    return f"{times(step, 'step')}, {plain(float(tuning.cents_of(step)))} cents"


def _beside(offered: Sequence[str], right: int, steps: Mapping[str, int], tuning: Tuning) -> str:
    """How far the others that were offered are from the right one."""
    here = float(tuning.cents_of(steps[offered[right]]))
    away = [
        f"the {word} one is {plain(abs(float(tuning.cents_of(steps[word])) - here))} cents "
        f"{'wider' if steps[word] > steps[offered[right]] else 'narrower'}"
        for place, word in enumerate(offered)
        if abs(place - right) == 1
    ]
    return f" {away[0][0].upper()}{'; '.join(away)[1:]}."
