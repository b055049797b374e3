"""Chords: built from a symbol, from steps, from ratios or from stacked thirds, and the symbol that says them.

How symbols are written is said at the head of `tunelib.harmony.symbols`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TypeVar

from tunelib.harmony.degrees import plainest
from tunelib.harmony.meanings import degree_step, interval_of, ratio_of
from tunelib.harmony.ratios import pair_errors, ratio_chord
from tunelib.harmony.symbols import Degree, read_symbol, root_word, symbol_body
from tunelib.pitch import (
    Note,
    RatioLike,
    SpelledInterval,
    Tuning,
    cents,
    exact_ratio,
    known_note,
    root_mean_square,
    shortened,
)

_T = TypeVar("_T")


@dataclass(frozen=True)
class Chord:
    """A chord: a root, the intervals above it, and a bass if that is another note than the root.

    Parameters
    ----------
    root : Note
        Its octave is set aside: a chord is made of letters, and `tunelib.harmony.voicings` puts it into octaves.
    intervals : tuple of SpelledInterval
        Above the root, from the unison up, each once.
    bass : Note, optional

    Raises ValueError if root or bass is not a note, or if the intervals do not begin with the unison, or are not all
    different and upwards.

    >>> from tunelib.pitch import equal
    >>> chord = Chord.parse("Ebmaj7")
    >>> [note.name for note in chord.notes], chord.steps(equal(31)), chord.steps(equal(41))
    (['E♭', 'G', 'B♭', 'D'], (0, 10, 18, 28), (0, 13, 24, 37))
    """

    root: Note
    intervals: tuple[SpelledInterval, ...]
    bass: Note | None = None

    def __post_init__(self) -> None:
        if not all(isinstance(interval, SpelledInterval) for interval in self.intervals):
            raise ValueError(f"the intervals of a chord are SpelledIntervals, not {shortened(self.intervals)}")
        ordered = tuple(sorted(set(self.intervals), key=_height))
        if len(ordered) < len(self.intervals) or not ordered or ordered[0] != SpelledInterval(0, 0):
            raise ValueError("the intervals of a chord begin with the unison, and each is given once")
        if any(interval.letters <= 0 for interval in ordered[1:]):
            raise ValueError("the intervals of a chord go up from its root")
        object.__setattr__(self, "intervals", ordered)
        root = _without_octave(known_note(self.root, "the root of a chord"))
        object.__setattr__(self, "root", root)
        if self.bass is not None:
            bass = _without_octave(known_note(self.bass, "the bass of a chord"))
            object.__setattr__(self, "bass", None if bass == root else bass)

    @classmethod
    def parse(cls, symbol: str) -> Chord:
        """Read a chord symbol; the grammar is at the head of `tunelib.harmony.symbols`.

        Raises ValueError that points at the character from which it cannot be read, with the nearest symbol.

        >>> Chord.parse("Chb7h#11").symbol
        'Chb7h#11'
        """
        if not isinstance(symbol, str):
            raise ValueError(f"a chord symbol is text, such as Cm7 or F#harm7, not {shortened(symbol)}")
        return _parsed(symbol)

    @classmethod
    def from_steps(cls, root: Note, steps: Iterable[int], tuning: Tuning) -> Chord:
        """The plainest chord of some steps above a root; octaves are set aside, so a second over a third is a ninth.

        Raises ValueError if no symbol says such a chord, or for steps that are not whole numbers of 0 or more.

        >>> from tunelib.pitch import equal
        >>> Chord.from_steps(Note.named("C"), [0, 10, 18, 25], equal(31)).symbol
        'Charm7'
        """
        listed = _listed(steps, "a chord of steps", "[0, 10, 18]")
        return cls(root, tuple(interval_of(degree) for degree in plainest(listed, tuning)))

    @classmethod
    def from_ratios(cls, ratios: str | Sequence[RatioLike], root: Note, tuning: Tuning) -> Chord:
        """The chord nearest to ratios: ``"4:5:6:7"``, or a list of ratios to the root. The lowest is the root.

        Raises ValueError for what is not a chord of ratios.

        >>> from tunelib.pitch import equal
        >>> Chord.from_ratios("4:5:6:7:9:11", Note.named("D"), equal(31)).symbol
        'Dharm9h#11'
        """
        parts = ratios.split(":") if isinstance(ratios, str) else _listed(ratios, "a chord of ratios", "4:5:6:7")
        exact = [exact_ratio(part) for part in parts]
        if len(exact) < 2 or any(after <= before for before, after in pairwise(exact)):
            raise ValueError(f"{shortened(ratios)} is not a chord of ratios: give rising numbers such as 4:5:6:7")
        steps = [tuning.nearest(cents(ratio / exact[0]))[0] for ratio in exact]
        return cls.from_steps(root, steps, tuning)

    @classmethod
    def stacked(cls, root: Note, thirds: Iterable[str]) -> Chord:
        """The chord of thirds stacked on a root, each by its quality: ``["major", "minor"]``, ``["subminor", ...]``.

        Raises ValueError for a quality that no third has.

        >>> Chord.stacked(Note.named("G"), ["major", "minor", "subminor"]).symbol
        'Gharm7'
        """
        intervals = [SpelledInterval(0, 0)]
        for third in _listed(thirds, "a stack of thirds", "['major', 'minor']"):
            intervals.append(intervals[-1] + SpelledInterval.parse(f"{third} third"))
        return cls(root, tuple(intervals))

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """Its notes from the root up, the root in the octave from C4; the bass is not among them."""
        return tuple(self.root.transpose(interval) for interval in self.intervals)

    @cached_property
    def _degrees_in_order(self) -> tuple[Degree, ...]:
        return tuple((interval.letters + 1, interval.offset) for interval in self.intervals)

    def steps(self, tuning: Tuning) -> tuple[int, ...]:
        """Steps of its notes above the root, in their order: each the step that its degree is heard as.

        `tunelib.harmony.meanings` says which that is. Raises ValueError for a tuning whose notes have no letters.
        """
        return tuple(degree_step(degree, tuning) for degree in self._degrees_in_order)

    def notes_in(self, tuning: Tuning) -> tuple[Note, ...]:
        """Its notes as a tuning has them: the root where it is spelled, the others as many `steps` above it.

        Where that is not what their letters and accidentals spell, they say how many steps beside it.

        >>> from tunelib.pitch import equal
        >>> [note.name for note in Chord.parse("C7").notes_in(equal(53))]
        ['C', 'E−1', 'G', 'B♭+1']
        """
        root = self.root.within(tuning).step(tuning)
        return tuple(
            note.sounding(root + step, tuning) for note, step in zip(self.notes, self.steps(tuning), strict=True)
        )

    def bass_in(self, tuning: Tuning) -> Note:
        """Its bass or else its root as a tuning has it, in the octave from C4: a note of the chord sounds with that."""
        bass = self.bass or self.root
        of_chord = zip(self.notes, self.notes_in(tuning), strict=True)
        found = next((sounding for note, sounding in of_chord if _same_name(note, bass)), bass.within(tuning))
        return _without_octave(found)

    def ratios(self, tuning: Tuning) -> tuple[Fraction, ...]:
        """The ratios that its notes are heard as, each to the root; in the order of pitch in the tuning.

        Where nothing simple is near one of them, they are those that its degrees stand for.
        """
        steps = self.steps(tuning)
        try:
            return ratio_chord(tuple(sorted(set(steps))), tuning)
        except ValueError:
            meant = dict(zip(steps, map(ratio_of, self._degrees_in_order), strict=True))
            return tuple(meant[step] for step in sorted(meant))

    def errors(self, tuning: Tuning) -> dict[tuple[int, int], float]:
        """The error of every pair of its notes, in cents, tuning less ratio, by their places from the lowest up."""
        steps = tuple(sorted(set(self.steps(tuning))))
        return pair_errors(steps, self.ratios(tuning), tuning)

    def purity(self, tuning: Tuning) -> float:
        """Root mean square of the errors of all its pairs of notes, in cents; 0 for one note alone.

        >>> from tunelib.pitch import equal
        >>> round(Chord.parse("Charm7").purity(equal(31)), 2), round(Chord.parse("C").purity(equal(12)), 2)
        (3.75, 12.05)
        """
        return root_mean_square(self.errors(tuning).values())

    @cached_property
    def degrees(self) -> frozenset[Degree]:
        """Its intervals as numbers counted from 1, each with its half-sharps: (3, -2) is a minor third."""
        return frozenset(self._degrees_in_order)

    @cached_property
    def symbol(self) -> str:
        """Its symbol, which `parse` reads back.

        Raises ValueError for a chord that the grammar has no symbol for, such as one with two thirds.
        """
        bass = f"/{root_word(self.bass.typed_name)}" if self.bass else ""
        return f"{root_word(self.root.typed_name)}{symbol_body(self.degrees)}{bass}"

    def over(self, bass: Note | None) -> Chord:
        """The same chord over another bass."""
        return Chord(self.root, self.intervals, bass)

    def on(self, root: Note) -> Chord:
        """The same chord on another root, its bass moved along."""
        bass = root.transpose(self.root.interval_to(self.bass)) if self.bass else None
        return Chord(root, self.intervals, bass)

    def __str__(self) -> str:
        return self.symbol


def _height(interval: SpelledInterval) -> tuple[int, int]:
    return interval.quartertones + interval.letters, interval.letters


def _listed(given: Iterable[_T], what: str, such_as: str) -> list[_T]:
    if not isinstance(given, Iterable) or isinstance(given, str):
        raise ValueError(f"{what} is a list such as {such_as}, not {shortened(given)}")
    return list(given)


def _without_octave(note: Note) -> Note:
    return replace(note, octave=4)


def _same_name(one: Note, other: Note) -> bool:
    return (one.letter, one.half_sharps, one.steps) == (other.letter, other.half_sharps, other.steps)


@lru_cache(maxsize=4096)
def _parsed(symbol: str) -> Chord:
    root, degrees, bass = read_symbol(symbol)
    return Chord(root, tuple(interval_of(degree) for degree in degrees), bass)
