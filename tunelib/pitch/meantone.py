"""Chains of fifths: what they make of thirds and triads, where the wolf falls, and how many close the circle.

A keyboard of the old kind is tuned by fifths, one after another, from its flattest note to its sharpest: E♭ B♭ F C G D
A E B F♯ C♯ G♯. Four fifths make a major third. Make each fifth a quarter of a comma narrow and the thirds are pure;
what the eleven fifths then leave between the ends, G♯ and E♭, is no longer a fifth but a *wolf*. In meantone all fifths
of the chain are alike. In a well temperament they are not, and the circle closes without a wolf.

Everything is exact: a fifth narrowed by a fraction of a comma is an `Interval`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import is_whole, whole_number
from tunelib.pitch.intervals import CENTS_PER_OCTAVE, FloatArray, Interval, RatioLike, cents, shortened
from tunelib.pitch.notes import Note, known_note
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import Tuning

SYNTONIC_COMMA = Interval.of("81/80")
PURE_FIFTH = Interval.of("3/2")
_OCTAVE = Interval.of(2)
_PURE_FIFTH_CENTS = cents("3/2")
_PURE_THIRDS = {"major": cents("5/4"), "minor": cents("6/5")}
_THIRD_PLACES = {"major": 4, "minor": -3}  # along the chain of fifths
_HOWLS = 10.0  # cents: a closing fifth farther than this from pure is called a wolf here
_MOST = 2000  # notes of a chain, or fifths to close a circle


@dataclass(frozen=True)
class Triad:
    """A triad as a chain of fifths gives it.

    Parameters
    ----------
    root, third, fifth : Note
        The notes that are there: where a chain has no D♯, its E♭ stands in.
    kind : str
        ``"major"`` or ``"minor"``: what the triad is meant to be.
    third_cents, fifth_cents : float
        Sizes above the root.
    """

    root: Note
    third: Note
    fifth: Note
    kind: str
    third_cents: float
    fifth_cents: float

    @property
    def third_error(self) -> float:
        """How many cents wider the third is than a pure one, 5/4 or 6/5."""
        return self.third_cents - _PURE_THIRDS[self.kind]

    @property
    def fifth_error(self) -> float:
        """How many cents wider the fifth is than a pure one, 3/2."""
        return self.fifth_cents - _PURE_FIFTH_CENTS

    @property
    def third_is_whole(self) -> bool:
        """Whether the third is spelled as one, so that it does not cross the gap between the chain's ends."""
        return self.third_spelled == _SPELLED_THIRDS[self.kind]

    @property
    def fifth_is_whole(self) -> bool:
        """Whether the fifth is spelled as one, so that it does not cross the gap."""
        return self.fifth_spelled == _SPELLED_FIFTH

    @property
    def is_whole(self) -> bool:
        """Whether neither third nor fifth crosses the gap."""
        return self.third_is_whole and self.fifth_is_whole

    @property
    def third_spelled(self) -> SpelledInterval:
        """What the third really is, such as a diminished fourth."""
        return _within_octave(self.root, self.third)

    @property
    def fifth_spelled(self) -> SpelledInterval:
        """What the fifth really is, such as a diminished sixth."""
        return _within_octave(self.root, self.fifth)


_SPELLED_THIRDS = {kind: SpelledInterval.parse(f"{kind} third") for kind in _PURE_THIRDS}
_SPELLED_FIFTH = SpelledInterval.parse("P5")
_SPELLED_OCTAVE = SpelledInterval.parse("P8")


def _within_octave(lower: Note, upper: Note) -> SpelledInterval:
    interval = lower.interval_to(upper)
    while interval.letters < 0:
        interval += _SPELLED_OCTAVE
    return interval


@dataclass(frozen=True)
class Chain:
    """Notes tuned by fifths, one after another.

    Parameters
    ----------
    name : str
    first : int
        Place of the first note on the chain of fifths, C = 0: -3 for E♭.
    fifths : tuple of Interval
        From each note to the next: one fewer than there are notes.

    Raises ValueError if there are fewer than four fifths, if one is not an Interval between a fourth and an octave, if
    two notes would sound alike, or if `first` is not a whole number.

    >>> [note.name for note in meantone_chain("1/4").notes]
    ['E♭', 'B♭', 'F', 'C', 'G', 'D', 'A', 'E', 'B', 'F♯', 'C♯', 'G♯']
    """

    name: str
    first: int
    fifths: tuple[Interval, ...]

    def __post_init__(self) -> None:
        if not 4 <= len(self.fifths) < _MOST:
            raise ValueError(f"a chain has 4 to {_MOST - 1} fifths, so that it has thirds, not {len(self.fifths)}")
        if not is_whole(self.first) or abs(self.first) > _MOST:
            raise ValueError(
                f"a chain begins a whole number of fifths from C, such as -3 for E♭, {_MOST} at most, "
                f"not {shortened(self.first)}"
            )
        for fifth in self.fifths:
            if not isinstance(fifth, Interval):
                raise ValueError(
                    f"the fifths of a chain are intervals, such as tempered_fifth('1/4'), not {shortened(fifth)}"
                )
            if not Interval.of("4/3") < fifth < _OCTAVE:
                raise ValueError(
                    f"{fifth} is not a fifth: at {fifth.cents:.1f} cents it is not between a fourth and an octave"
                )
        if len(set(self.intervals)) < len(self.intervals):
            alike = next(i for i, interval in enumerate(self.intervals) if interval in self.intervals[:i])
            raise ValueError(f"the circle closes after {alike} of these fifths: take {alike} notes at most")

    def __len__(self) -> int:
        return len(self.fifths) + 1

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """The notes in order of fifths, each named in the octave from C4."""
        return tuple(Note.on_chain(self.first + i) for i in range(len(self)))

    @cached_property
    def intervals(self) -> tuple[Interval, ...]:
        """The notes in order of fifths, as exact intervals within the octave above the origin of `tuning`."""
        origin = -self.first if self._has_c else 0
        found = [Interval()] * len(self)
        for i in range(origin + 1, len(self)):
            found[i] = _reduced(found[i - 1] * self.fifths[i - 1])
        for i in range(origin - 1, -1, -1):
            found[i] = _reduced(found[i + 1] / self.fifths[i])
        return tuple(found)

    @property
    def _has_c(self) -> bool:
        return -len(self) < self.first <= 0

    @cached_property
    def tuning(self) -> Tuning:
        """The notes by pitch. Step 0 is C, or the first note where the chain has no C.

        Notes can be spelled in it where a fifth spans as many steps everywhere, as in 12, 19 or 31 notes of meantone.
        """
        fifth = self._keys_in_a_fifth(len(self)) if self._has_c else None
        return Tuning(self.name, tuple(sorted(self.intervals)), fifth=fifth)

    @cached_property
    def _places_by_pitch(self) -> npt.NDArray[np.intp]:
        return np.array(sorted(range(len(self)), key=self.intervals.__getitem__))

    def _keys_in_a_fifth(self, notes: int) -> int | None:
        """How many keys a fifth spans on a keyboard of the first of the notes, if it spans the same everywhere."""
        keys = np.argsort(self._places_by_pitch[self._places_by_pitch < notes])
        spans = np.unique(np.diff(keys) % notes)
        return int(spans[0]) if len(spans) == 1 else None

    @cached_property
    def _circle(self) -> int:
        """How many fifths a hand takes for a circle: all, or as many of the first as make a keyboard of even fifths.

        12 on the usual keyboard, and still 12 where a few split keys are added to it.
        """
        return next((n for n in range(len(self), 4, -1) if self._keys_in_a_fifth(n) is not None), len(self))

    def _key_at(self, places: Any) -> Any:
        """The place, counted from the first note, that stands in for one past either end, whole circles away."""
        below = np.maximum(-(places // self._circle), 0)
        above = np.maximum(-((len(self) - 1 - places) // self._circle), 0)
        return places + self._circle * (below - above)

    @cached_property
    def closing_fifth(self) -> Interval:
        """What serves as a fifth above the last note: a fifth, or a wolf."""
        return _reduced(self.intervals[self._key_at(len(self))] / self.intervals[-1])

    @property
    def wolf(self) -> tuple[Note, Note] | None:
        """The notes of the wolf, lower first: those of the closing fifth, if it is over 10 cents from pure.

        In twelve notes they are the ends of the chain; where split keys are added, the last note and the one that
        stands in for its fifth.
        """
        howls = abs(self.closing_fifth.cents - _PURE_FIFTH_CENTS) > _HOWLS
        return (self.notes[-1], self.notes[self._key_at(len(self))]) if howls else None

    @cached_property
    def cents(self) -> FloatArray:
        """The notes in order of fifths, in cents within the octave above the origin; shape (notes,)."""
        return np.array([interval.cents for interval in self.intervals])

    def spans(self, places: int) -> FloatArray:
        """The interval from every note to the one a number of fifths on, in cents; shape (notes,).

        Past the end of the chain it goes on at the beginning, as a player's hand does: ``spans(1)`` are the fifths, the
        last of them the closing one; ``spans(4)`` the major thirds, ``spans(-3)`` the minor ones.
        Raises ValueError unless `places` is a whole number from -2000 to 2000.
        """
        return np.asarray(np.mod(self.cents[self._key_at(self._ends(places))] - self.cents, CENTS_PER_OCTAVE))

    def crosses(self, places: int) -> npt.NDArray[np.bool_]:
        """Whether the interval from every note to the one a number of fifths on crosses the gap; shape (notes,), bool.

        Raises ValueError unless `places` is a whole number from -2000 to 2000.
        """
        ends = self._ends(places)
        return (ends < 0) | (ends >= len(self))

    def _ends(self, places: int) -> npt.NDArray[np.int_]:
        return np.arange(len(self)) + whole_number(places, "a number of fifths", -_MOST, _MOST)

    def place_of(self, note: Note) -> int:
        """Where in the chain the key is that plays a note: its own, or the one that stands in for it.

        Raises ValueError for a half-sharp or half-flat, or for what is not a `Note`.
        """
        if known_note(note, "what a key plays").half_sharps % 2:
            raise ValueError(f"{note.name} is half a sharp from any note that is tuned by fifths")
        return int(self._key_at(int(note.fifths) - self.first))

    def triad(self, root: Note, kind: str = "major") -> Triad:
        """The triad on a root, as it can be played on these notes.

        Raises ValueError for a kind other than ``"major"`` and ``"minor"``, or a root with a half-sharp.

        >>> triad = meantone_chain("1/4").triad(Note.named("B"))
        >>> triad.third.name, triad.third_spelled.name, round(triad.third_error, 2)
        ('E♭', 'diminished fourth', 41.06)
        """
        if kind not in _THIRD_PLACES:
            raise ValueError(f"a triad here is 'major' or 'minor', not {shortened(kind)}")
        place = self.place_of(root)
        third, fifth = self._key_at(place + _THIRD_PLACES[kind]), self._key_at(place + 1)
        above = np.mod(self.cents[[third, fifth]] - self.cents[place], CENTS_PER_OCTAVE)
        return Triad(self.notes[place], self.notes[third], self.notes[fifth], kind, *(float(size) for size in above))

    def triads_in(self, key: Key) -> tuple[Triad, ...]:
        """The six major and minor triads of a key, rising from its first degree; the diminished one is left out.

        >>> [f"{triad.root.name} {triad.kind}" for triad in meantone_chain("1/4").triads_in(Key(Note.named("C")))]
        ['C major', 'D minor', 'E minor', 'F major', 'G major', 'A minor']
        """
        lowest = key.lowest_fifth
        found = []
        for note in key.scale:
            along = note.fifths - lowest  # of the seven, the first three carry major triads, the next three minor ones
            if along < 6:
                found.append(self.triad(note, "major" if along < 3 else "minor"))
        return tuple(found)


def _reduced(interval: Interval) -> Interval:
    """An interval moved by octaves to within one, exactly."""
    within = interval * _OCTAVE ** -int(interval.cents // CENTS_PER_OCTAVE)
    if within < Interval():
        return within * _OCTAVE
    return within if within < _OCTAVE else within / _OCTAVE


_FINEST_FRACTION = 100_000  # of a comma
_LONG_EXPONENT = re.compile(r"[eE][-+]?[0-9_]{5,}")


def tempered_fifth(comma_fraction: int | Fraction | str, comma: RatioLike = SYNTONIC_COMMA) -> Interval:
    """A pure fifth made narrower by a fraction of a comma; the syntonic one, 81/80, unless another is given.

    `comma_fraction` is exact: a Fraction, a whole number, or text such as ``"1/4"``. A negative one makes it wider.
    Raises ValueError for a float, or for a fraction beyond a whole comma.

    >>> tempered_fifth("1/4")
    Interval('5^(1/4)')
    """
    return PURE_FIFTH / Interval.of(comma) ** _exact(comma_fraction)


def _exact(fraction: int | Fraction | str) -> Fraction:
    if isinstance(fraction, bool) or not isinstance(fraction, (int, Fraction, str, np.integer)):
        raise ValueError(f"a fraction of a comma is exact, such as '1/4' or Fraction(1, 4), not {shortened(fraction)}")
    if isinstance(fraction, str) and _LONG_EXPONENT.search(fraction):  # which Python would write out in full
        raise ValueError(f"{shortened(fraction)} is not a fraction of a comma: write it as '1/4' or '2/7'")
    try:
        exact = Fraction(int(fraction)) if isinstance(fraction, np.integer) else Fraction(fraction)
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{shortened(fraction)} is not a fraction of a comma: write it as '1/4' or '2/7'") from None
    if abs(exact) > 1:
        raise ValueError(f"{shortened(fraction)} is more than a whole comma, which no fifth bears: '1/4' is usual")
    if exact.denominator > _FINEST_FRACTION:
        raise ValueError(
            f"{shortened(fraction)} is too fine: a comma is divided into {_FINEST_FRACTION:,} parts at most"
        )
    return exact


def meantone_chain(comma_fraction: int | Fraction | str, first: str = "E♭", notes: int = 12) -> Chain:
    """A chain of equal fifths, each narrowed by a fraction of the syntonic comma.

    Parameters
    ----------
    comma_fraction : Fraction, int or text such as ``"1/4"``
        0 gives Pythagorean tuning.
    first : str
        Name of the flattest note, such as ``"E♭"``.
    notes : int
        5 or more.

    Raises ValueError for a fraction that is not exact or beyond a comma, for a name that is not a note's or has a
    half-sharp, and for a number of notes that is not whole, too small, or more than the circle holds.
    """
    exact = _exact(comma_fraction)
    start = Note.named(first)
    if start.half_sharps % 2:
        raise ValueError(f"a chain of fifths begins on a natural, a sharp or a flat, not on {start.name}")
    many = whole_number(notes, "the number of notes in a chain", 5, _MOST)
    name = "Pythagorean" if exact == 0 else f"meantone by {exact} of the comma"
    ends = f"{start.name} to {Note.on_chain(int(start.fifths) + many - 1).name}"
    return Chain(f"{name}, {ends}", int(start.fifths), (tempered_fifth(exact),) * (many - 1))


def meantone(comma_fraction: int | Fraction | str, first: str = "E♭", notes: int = 12) -> Tuning:
    """Meantone tuning: a chain of fifths, each narrowed by a fraction of the syntonic comma.

    Parameters and errors are those of `meantone_chain`.

    >>> meantone("1/4").cents.round(1).tolist()
    [0.0, 76.0, 193.2, 310.3, 386.3, 503.4, 579.5, 696.6, 772.6, 889.7, 1006.8, 1082.9]
    """
    return meantone_chain(comma_fraction, first, notes).tuning


@dataclass(frozen=True)
class Closing:
    """A number of fifths that comes near to a number of octaves.

    `miss` is what the fifths are above the octaves, exact; its ``.cents`` are negative where they fall short.
    """

    fifths: int
    octaves: int
    miss: Interval


def miss_after(fifth: RatioLike, fifths: int) -> Closing:
    """How far a number of fifths is from the nearest number of octaves.

    Raises ValueError unless `fifths` is a whole number from 1 to 2000.

    >>> [round(miss_after(tempered_fifth("1/4"), n).miss.cents, 2) for n in (12, 19, 31)]
    [-41.06, 34.99, -6.07]
    """
    count = whole_number(fifths, "a number of fifths", 1, _MOST)
    stacked = Interval.of(fifth) ** count
    octaves = round(stacked.cents / CENTS_PER_OCTAVE)
    return Closing(count, octaves, stacked / _OCTAVE**octaves)


def closings(fifth: RatioLike, most: int = 400) -> tuple[Closing, ...]:
    """The numbers of fifths, up to `most`, that come nearer to whole octaves than any smaller number does.

    By the continued fraction of fifth to octave: each step divides what is left of one into the other, exactly. It ends
    where nothing is left, as after 31 fifths of thirty-one equal steps. (Such best approximations are the convergents:
    Hardy and Wright, *An Introduction to the Theory of Numbers*, chapter X.)

    Raises ValueError unless the fifth is within the octave and `most` is a whole number from 1 to 2000.

    >>> [(closing.fifths, round(closing.miss.cents, 2)) for closing in closings(tempered_fifth("1/4"), 200)][2:]
    [(5, -117.11), (7, 76.05), (12, -41.06), (19, 34.99), (31, -6.07), (174, 4.65)]
    """
    exact = Interval.of(fifth)
    if not Interval() < exact < _OCTAVE:
        raise ValueError(f"a fifth is within the octave; {exact} is {exact.cents:.1f} cents")
    bound = whole_number(most, "the most fifths to count", 1, _MOST)
    # Two closings that miss on opposite sides; adding whole numbers of the nearer to the farther narrows the gap.
    farther, nearer = Closing(0, 1, _OCTAVE**-1), Closing(1, 0, exact)
    found: list[Closing] = []
    while nearer.fifths <= bound:
        if 2 * abs(nearer.miss.cents) < CENTS_PER_OCTAVE:
            found.append(nearer)
        if nearer.miss == Interval():
            break
        farther, nearer = nearer, _narrowed(farther, nearer, most)
    return tuple(found)


def _narrowed(farther: Closing, nearer: Closing, most: int) -> Closing:
    """The next convergent: as many of the nearer closing as go into the farther one without passing over.

    Or only enough for the fifths to be past `most`, since a small miss goes into a large one a hundred thousand times.
    """
    size, unit = _size(farther.miss), _size(nearer.miss)
    enough = most // nearer.fifths + 1
    times = min(max(int(size.cents / unit.cents) - 1, 0), enough)
    while times < enough and not size < unit ** (times + 1):
        times += 1
    return Closing(
        farther.fifths + times * nearer.fifths,
        farther.octaves + times * nearer.octaves,
        farther.miss * nearer.miss**times,
    )


def _size(miss: Interval) -> Interval:
    return miss if Interval() < miss else miss**-1


def home_fraction(steps: int, fifth_steps: int) -> float:
    """The fraction of the syntonic comma by which the fifth of an equal division is narrow.

    A meantone of that fraction is at home in the division: its circle closes after `steps` fifths.

    Raises ValueError unless both are whole numbers and the fifth is less than the octave.

    >>> round(home_fraction(31, 18), 4)
    0.2409
    """
    octave = whole_number(steps, "the number of steps in an octave", 2, _MOST)
    fifth = whole_number(fifth_steps, f"a fifth in {octave} steps", 1, octave - 1)
    return (_PURE_FIFTH_CENTS - CENTS_PER_OCTAVE * fifth / octave) / SYNTONIC_COMMA.cents
