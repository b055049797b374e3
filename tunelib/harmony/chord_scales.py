"""Which notes of a tuning can be laid over a chord, for a solo: scales, each note with its part in the chord.

A note of a scale is a *chord tone*, a *tension* that colours the chord, or a note *to mind*. To be minded is a note a
semitone or less above a chord tone, which it covers (common practice: the "avoid notes" of Nettles and Graf 1997); on a
dominant chord the minor ninth and the minor thirteenth are tensions nevertheless. To be minded is also a note a diesis
or a comma beside a note of the chord that the scale does not have: in twelve the two are one key, and elsewhere a
player chooses. So the third of the altered scale in thirty-one, a diminished fourth, is a step above the chord's own.

Which scale is usual over which chord is in `tunelib.harmony.scale_kinds`, with its sources.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step, interval_of, ratio_of
from tunelib.harmony.playable import playable_division, widest_rub
from tunelib.harmony.scale_kinds import OURS, SCALE_KINDS, ScaleKind
from tunelib.harmony.symbol_words import PRINTED_SIGNS, WORDS, Degree
from tunelib.pitch import Note, Tuning, cents, listed, look_up, readable, shortened, times

CHORD_TONE, TENSION, TO_MIND = "chord tone", "tension", "to mind"
"""The parts that a note of a scale can have in a chord."""

_SEMITONE: Degree = (2, -2)
_HIGHEST_TONE = 7  # numbers above it are tensions, in a chord's symbol too
_DOMINANT_TENSIONS = ((2, -2), (6, -2))


@dataclass(frozen=True)
class ScaleDegree:
    """One note of a scale over a chord.

    Attributes
    ----------
    degree : (int, int)
        Its number, and its half-sharps from the major or perfect interval of that number.
    note : Note
        As the tuning has it, in the octave from the root up.
    step : int
        How many steps above the root.
    ratio : Fraction
        The ratio that it is heard as.
    error : float
        How far the step is from that, in cents: tuning less ratio.
    part : str
        ``"chord tone"``, ``"tension"`` or ``"to mind"``.
    why : str
        What it is beside, for a note to mind; otherwise mostly empty.
    """

    degree: Degree
    note: Note
    step: int
    ratio: Fraction
    error: float
    part: str
    why: str = ""

    @property
    def word(self) -> str:
        """Its number with its sign, such as ``"♭3"``."""
        number, half_sharps = self.degree
        return "".join(PRINTED_SIGNS.get(letter, letter) for letter in WORDS.sign[half_sharps]) + str(number)


@dataclass(frozen=True)
class ChordScale:
    """A scale over a chord in a tuning. Made by `scales_over`.

    Attributes
    ----------
    name : str
    chord : Chord
    tuning : Tuning
    degrees : tuple of ScaleDegree
        From the root up, within an octave.
    source : str
        Whether it is common practice, measured, or our own.
    usual : bool
        Whether it is usually laid over this very chord; otherwise it was chosen because it fits.
    also : tuple of str
        Other scales over the chord that the tuning plays on the same steps.
    """

    name: str
    chord: Chord
    tuning: Tuning
    degrees: tuple[ScaleDegree, ...]
    source: str
    usual: bool
    also: tuple[str, ...] = ()

    @property
    def notes(self) -> tuple[Note, ...]:
        """Its notes, the root in the octave from C4."""
        return tuple(degree.note for degree in self.degrees)

    @property
    def steps(self) -> tuple[int, ...]:
        """Steps of its notes above the root."""
        return tuple(degree.step for degree in self.degrees)

    @property
    def gaps(self) -> tuple[int, ...]:
        """Steps from each note to the next, the last one to the octave of the root."""
        return tuple(high - low for low, high in pairwise((*self.steps, len(self.tuning))))

    @property
    def chord_tones(self) -> tuple[ScaleDegree, ...]:
        """The notes of the chord, without its ninths, elevenths and thirteenths."""
        return self._of(CHORD_TONE)

    @property
    def tensions(self) -> tuple[ScaleDegree, ...]:
        """The notes that colour it."""
        return self._of(TENSION)

    @property
    def to_mind(self) -> tuple[ScaleDegree, ...]:
        """The notes that rub against a note of the chord, each with its reason."""
        return self._of(TO_MIND)

    def _of(self, part: str) -> tuple[ScaleDegree, ...]:
        return tuple(degree for degree in self.degrees if degree.part == part)

    @cached_property
    def missing(self) -> tuple[Note, ...]:
        """The notes of the chord that the scale does not have."""
        size = len(self.tuning)
        chord = zip(self.chord.notes_in(self.tuning), self.chord.steps(self.tuning), strict=True)
        return tuple(note for note, step in chord if step % size not in self.steps)

    @property
    def words(self) -> str:
        """The scale in a sentence."""
        over = f"{self.name} over {self.chord.symbol} in {self.tuning.name}"
        notes = f"{over}: {' '.join(note.name for note in self.notes)}, gaps {' '.join(map(str, self.gaps))}"
        mind = f"; mind {listed(f'{one.note.name} ({one.why})' for one in self.to_mind)}" if self.to_mind else ""
        same = f"; here the same as {listed(self.also)}" if self.also else ""
        return f"{notes}{mind}{same}."

    def __str__(self) -> str:
        return self.words


def scales_over(chord: Chord, tuning: Tuning) -> tuple[ChordScale, ...]:
    """The scales that can be laid over a chord, the usual ones first.

    After the scales that are usually paired with it come all others that have every note of it, those in common use
    before our own, and those with least to mind first. Where there is neither, scales are taken that have its tensions
    a diesis or a comma beside the chord's. The bass of a slash chord is left out. Scales that the tuning plays on the
    same steps are one, which says its other names in `also`: in twelve the harmonic versions are the usual scales.

    Parameters
    ----------
    chord : Chord
    tuning : Tuning
        An equal division of the octave from 12 to 72 steps whose notes have letters.

    Raises ValueError for another tuning, or for a chord over which no scale can be laid.

    >>> from tunelib.pitch import equal
    >>> over = scales_over(Chord.parse("Charm7"), equal(31))
    >>> over[0].name, over[0].steps, [str(one.note) for one in over[0].to_mind]
    ('mixolydian harmonic 7', (0, 5, 10, 13, 18, 23, 25), ['F4'])
    >>> scales_over(Chord.parse("Charm7"), equal(12))[0].also[:1]
    ('mixolydian harmonic 7',)
    """
    if not isinstance(chord, Chord):
        raise ValueError(f"a scale is laid over a chord, such as Chord.parse('Cm7'), not over {shortened(chord)}")
    return _over(chord, playable_division(tuning))


@lru_cache(maxsize=512)
def _over(chord: Chord, tuning: Tuning) -> tuple[ChordScale, ...]:
    tones = frozenset(step % len(tuning) for step in chord.steps(tuning))
    usual = [_laid(kind, chord, tuning) for kind in SCALE_KINDS if tones in _usual_steps(kind.over, tuning)]
    others = [kind for kind in SCALE_KINDS if tones not in _usual_steps(kind.over, tuning)]
    fitting = [_laid(kind, chord, tuning) for kind in others if tones <= set(_steps_of(kind.degrees, tuning))]
    fitting.sort(key=lambda scale: (scale.source == OURS, len(scale.to_mind)))
    if not usual and not fitting:
        near = [kind for kind in others if _has_all_but_tensions(_steps_of(kind.degrees, tuning), chord, tuning)]
        fitting = [_laid(kind, chord, tuning) for kind in near]
        fitting.sort(key=lambda scale: (len(scale.missing), scale.source == OURS, len(scale.to_mind)))
    if not usual and not fitting:
        nearest = min(others, key=lambda kind: len(tones - set(_steps_of(kind.degrees, tuning))))
        lacks = listed(note.name for note in _laid(nearest, chord, tuning).missing)
        raise ValueError(
            f"no scale has all notes of {chord.symbol}; the nearest, {nearest.name}, lacks {lacks}: "
            "leave a note out of the chord, or take scales in turn"
        )
    return tuple(_merged([*usual, *fitting]))


def scale_over(chord: Chord, name: str, tuning: Tuning) -> ChordScale:
    """One of the scales over a chord, by its name, or by a name that the tuning gives the same notes.

    Raises ValueError with the nearest names if it is not one of them, and as `scales_over`.

    >>> from tunelib.pitch import equal
    >>> scale_over(Chord.parse("C7alt"), "altered", equal(31)).to_mind[1].why
    "1 step above the chord's E: choose one of the two"
    """
    known = {name: scale for scale in scales_over(chord, tuning) for name in (scale.name, *scale.also)}
    return look_up(name, known, f"scale over {chord.symbol}")


def _laid(kind: ScaleKind, chord: Chord, tuning: Tuning) -> ChordScale:
    """A kind of scale over a chord, whether it fits or not."""
    root = chord.root.within(tuning).step(tuning)
    found = []
    for degree in kind.parsed:
        step = degree_step(degree, tuning)
        note = readable(chord.root.transpose(interval_of(degree)).sounding(root + step, tuning), tuning)
        ratio = kind.ratios.get(degree, ratio_of(degree))
        error = float(tuning.cents_of(step)) - cents(ratio)
        found.append(ScaleDegree(degree, note, step, ratio, error, TENSION))
    within = {one.step for one in found}
    degrees = tuple(_with_part(one, within, chord, tuning) for one in found)
    tones = frozenset(step % len(tuning) for step in chord.steps(tuning))
    return ChordScale(kind.name, chord, tuning, degrees, kind.source, tones in _usual_steps(kind.over, tuning))


@lru_cache(maxsize=4096)
def _steps_of(degrees: str, tuning: Tuning) -> tuple[int, ...]:
    """The steps of a scale that is written in degrees."""
    return tuple(degree_step(degree, tuning) for degree in ScaleKind("", degrees).parsed)


@lru_cache(maxsize=4096)
def _usual_steps(bodies: tuple[str, ...], tuning: Tuning) -> tuple[frozenset[int], ...]:
    """The steps, octaves set aside, of the chords that some symbols say."""
    chords = (Chord.parse(f"C{body}") for body in bodies)
    return tuple(frozenset(step % len(tuning) for step in chord.steps(tuning)) for chord in chords)


def _with_part(one: ScaleDegree, within: set[int], chord: Chord, tuning: Tuning) -> ScaleDegree:
    """A note of a scale with its part in a chord; `within` has all steps of the scale."""
    size = len(tuning)
    tones = _numbered(chord, tuning)
    for number, step in tones:
        if step % size == one.step:
            return replace(one, part=CHORD_TONE if number <= _HIGHEST_TONE else TENSION)
    names = [note.name for note in chord.notes_in(tuning)]
    for name, (_, step) in zip(names, tones, strict=True):
        away = _signed(one.step - step, size)
        if step % size not in within and abs(away) <= widest_rub(tuning):
            side = "above" if away > 0 else "below"
            return replace(
                one, part=TO_MIND, why=f"{times(abs(away), 'step')} {side} the chord's {name}: choose one of the two"
            )
    semitone = degree_step(_SEMITONE, tuning)
    for name, (number, step) in zip(names, tones, strict=True):
        away = _signed(one.step - step, size)
        if number <= _HIGHEST_TONE and 0 < away <= semitone:
            above = f"{'a semitone' if away == semitone else times(away, 'step')} above {name}"
            if one.degree in _DOMINANT_TENSIONS and _is_dominant(chord):
                return replace(one, why=f"{above}, as is usual on a dominant")
            return replace(one, part=TO_MIND, why=f"{above}: pass through it")
    return one


def _numbered(chord: Chord, tuning: Tuning) -> list[tuple[int, int]]:
    """Of each note of a chord the number of its degree, and its steps above the root."""
    return list(zip((interval.letters + 1 for interval in chord.intervals), chord.steps(tuning), strict=True))


def _signed(steps: int, size: int) -> int:
    """Steps up or down by the shorter way, octaves set aside."""
    return (steps + size // 2) % size - size // 2


def _is_dominant(chord: Chord) -> bool:
    """Whether a chord has a major third, or a fourth in its place, and a minor or harmonic seventh."""
    degrees = chord.degrees
    return bool({(3, 0), (4, 0)} & degrees) and bool({(7, -2), (7, -3)} & degrees)


def _has_all_but_tensions(steps: tuple[int, ...], chord: Chord, tuning: Tuning) -> bool:
    """Whether a scale has the chord tones, and each tension of the chord, or a note a diesis or a comma beside it."""
    size, rub = len(tuning), widest_rub(tuning)
    return all(
        tone % size in steps
        or (number > _HIGHEST_TONE and any(abs(_signed(tone - step, size)) <= rub for step in steps))
        for number, tone in _numbered(chord, tuning)
    )


def _merged(scales: list[ChordScale]) -> Iterator[ChordScale]:
    """Scales of the same steps as one, the first of them in the table, which says the names of the others."""
    by_steps: dict[tuple[int, ...], list[ChordScale]] = {}
    for scale in scales:
        by_steps.setdefault(scale.steps, []).append(scale)
    place = {kind.name: place for place, kind in enumerate(SCALE_KINDS)}
    for same in by_steps.values():
        first, *others = sorted(same, key=lambda scale: place[scale.name])
        also = tuple(other.name for other in others)
        yield replace(first, usual=any(scale.usual for scale in same), also=also)
