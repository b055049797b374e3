"""Note values: how the notes and rests of a bar are written as wholes, halves, quarters … and tuplets.

A time in a bar is a fraction of beats (quarter notes) from where a full bar would begin. What a beat is divided into is
seen from all that begins or ends in it, so that a quintuplet stays one even where two of its notes are tied:

* A beat that is cut into n parts, n odd, has a tuplet of n in the time of the power of two below: 3 in 2, 5 and 7 in
  4, 9 in 8. Six even parts are 6 in 4. Where the half of a beat begins something and only the other half is uneven, the
  tuplet is in that half alone.
* Where a note goes over the middle of two beats, or of four, that are cut evenly, the tuplet is over them all: quarter
  and half triplets are written as such, not as tied eighths.
* A note that starts or ends between the beats shows the middle of a bar of four, and one that starts or ends between
  the halves of beats shows the next beat (common practice). Rests have no dots, and lie where their own value divides
  the bar.

The shortest value is the 256th, a 64th of a beat.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import floor, lcm

NOTE_TYPES: Mapping[Fraction, str] = {
    Fraction(4) / 2**k: name
    for k, name in enumerate(("whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th"))
}
"""MusicXML's names of the note values, by beats, the longest first (note-type-value in the MusicXML 4.0 schema)."""

_SHORTEST = min(NOTE_TYPES)
_DOTTED = Fraction(3, 2)
_VALUES = sorted(
    [*NOTE_TYPES, *(length * _DOTTED for length in NOTE_TYPES if length > _SHORTEST)], reverse=True
)  # beats that one sign can last
_HALF = Fraction(1, 2)
_MIDDLE = Fraction(2)  # of a bar of four
_FLAGLESS = list(NOTE_TYPES.values()).index("quarter")
_Times = tuple[Fraction, Fraction]


@dataclass(frozen=True)
class Tuplet:
    """A group of notes in the time of others: `actual` of them in the time of `normal`, each a `unit`."""

    start: Fraction
    length: Fraction
    actual: int
    normal: int

    @property
    def end(self) -> Fraction:
        """The beat at which it ends."""
        return self.start + self.length

    @property
    def unit(self) -> str:
        """The name of the value that is counted."""
        return NOTE_TYPES[self.length / self.normal]


@dataclass(frozen=True)
class Value:
    """One sign in a bar.

    Parameters
    ----------
    start, length : Fraction
        Beats, as they are played.
    name : str
        Of the note value; empty for a rest that lasts the whole bar, which has none of its own.
    dots : int
    place : int
        Which of the notes that were given it belongs to, counted from 0; -1 for a rest.
    tuplet : Tuplet or None
    opens, closes : bool
        Whether its tuplet begins, and ends, with it.
    """

    start: Fraction
    length: Fraction
    name: str
    dots: int = 0
    place: int = -1
    tuplet: Tuplet | None = None
    opens: bool = False
    closes: bool = False

    @property
    def flags(self) -> int:
        """How many flags or beams it has; a rest has none."""
        return max(0, list(NOTE_TYPES.values()).index(self.name) - _FLAGLESS) if self.place >= 0 else 0

    @property
    def beat(self) -> int:
        """The beat, counted from 0, whose notes it is beamed with."""
        return floor(self.tuplet.start if self.tuplet else self.start)


@lru_cache(maxsize=4096)
def bar_values(notes: tuple[_Times, ...], bar: _Times, beats: int) -> tuple[Value, ...]:
    """The signs that write a bar of one line: its notes, tied where one sign does not do, and rests between them.

    Parameters
    ----------
    notes : tuple of (Fraction, Fraction)
        Where each begins and ends, in order; none overlaps another.
    bar : (Fraction, Fraction)
        Where the bar begins and ends: a pickup of one beat in a metre of four from 3 to 4.
    beats : int
        Of the metre.

    Raises ValueError, beginning with the beat, counted from 1, for what has no note value.

    >>> [(value.name, value.tuplet.actual) for value in bar_values(((Fraction(0), Fraction(4, 3)),), (0, 2), 2)]
    [('half', 3), ('quarter', 3)]
    """
    if not notes and bar[1] - bar[0] == beats:
        return (Value(bar[0], bar[1] - bar[0], ""),)
    stretches = list(_filled(notes, bar))
    tuplets = _tuplets(stretches, bar, beats)
    values: list[Value] = []
    for start, end, place in stretches:
        for part in _parts(start, end, tuplets):
            values += _signs(*part, place, beats)
    return tuple(values)


def beams(values: Sequence[Value]) -> list[list[str]]:
    """For each value of a bar, what its beams do, outermost first; nothing for those that have none."""
    found: list[list[str]] = []
    for i, value in enumerate(values):
        before, after = (
            values[j].flags if 0 <= j < len(values) and values[j].beat == value.beat else 0 for j in (i - 1, i + 1)
        )
        found.append([_beam(level, before, after) for level in range(value.flags)] if before or after else [])
    return found


def _beam(level: int, before: int, after: int) -> str:
    if before > level:
        return "continue" if after > level else "end"
    if after > level:
        return "begin"
    return "backward hook" if before else "forward hook"


def _filled(notes: Sequence[_Times], bar: _Times) -> Iterator[tuple[Fraction, Fraction, int]]:
    """Notes and the rests between them, each with the place of its note, or -1."""
    now = bar[0]
    for place, (start, end) in enumerate(notes):
        if start > now:
            yield now, start, -1
        yield start, end, place
        now = end
    if now < bar[1]:
        yield now, bar[1], -1


def _tuplets(stretches: Sequence[tuple[Fraction, Fraction, int]], bar: _Times, beats: int) -> list[Tuplet]:
    """The tuplets of a bar, in order."""
    edges = [start for start, _, _ in stretches] + [bar[1]]
    held = [(start, end) for start, end, place in stretches if place >= 0]
    found: list[Tuplet] = []
    now = Fraction(floor(bar[0]))
    while now < bar[1]:
        over = next((t for length in (4, 2) if (t := _over_beats(now, length, edges, held, bar, beats))), None)
        if over:
            found.append(over)
        else:
            found += _in_beat(now, Fraction(1), edges)
        now += over.length if over else 1
    return found


def _over_beats(
    start: Fraction, length: int, edges: Sequence[Fraction], held: Sequence[_Times], bar: _Times, beats: int
) -> Tuplet | None:
    """A tuplet over several beats, whose middle a note goes over, if what is in them fits one."""
    end, middle = start + length, start + Fraction(length, 2)
    aligned = start % length == 0 or (length == 2 and beats % 2 == 1)
    crossed = [any(first < time < last for first, last in held) for time in (start, middle, end)]
    if not aligned or start < bar[0] or end > bar[1] or crossed != [False, True, False]:
        return None
    odd, even = _division(start, Fraction(length), edges)
    if odd == 1 or even > 4 // length or Fraction(length, _power_below(odd) * even) < _SHORTEST:
        return None
    return _tuplet(start, Fraction(length), odd)


def _in_beat(start: Fraction, length: Fraction, edges: Sequence[Fraction]) -> list[Tuplet]:
    """The tuplets in a beat or a part of one: none, one, or some in each half."""
    odd, even = _division(start, length, edges)
    finest = Fraction(length, _power_below(odd) * even)
    if finest < _SHORTEST:
        raise ValueError(
            f"beat {floor(start) + 1}: its notes and rests cut it into {odd * even / length} equal parts, which have "
            "no note value: the shortest is a 64th of a beat, or in a tuplet somewhat less"
        )
    if odd == 1:
        return []
    middle = start + length / 2
    if middle not in edges:
        return [_tuplet(start, length, odd)]
    halves = [_in_beat(half, length / 2, edges) for half in (start, middle)]
    if (odd, even) == (3, 2) and all(halves):
        return [Tuplet(start, length, 6, 4)]
    return [*halves[0], *halves[1]]


def _division(start: Fraction, length: Fraction, edges: Sequence[Fraction]) -> tuple[int, int]:
    """Into how many equal parts a time is cut by what begins or ends in it: an odd number times a power of two."""
    parts = lcm(*(((edge - start) / length).denominator for edge in edges if start < edge < start + length))
    even = parts & -parts
    return parts // even, even


def _tuplet(start: Fraction, length: Fraction, actual: int) -> Tuplet:
    return Tuplet(start, length, actual, _power_below(actual))


def _power_below(number: int) -> int:
    return 1 << (number.bit_length() - 1)


def _parts(
    start: Fraction, end: Fraction, tuplets: Sequence[Tuplet]
) -> Iterator[tuple[Fraction, Fraction, Tuplet | None]]:
    """A note or rest cut where tuplets begin and end."""
    starts = [tuplet.start for tuplet in tuplets]
    now = start
    while now < end:
        after = bisect_right(starts, now)
        inside = tuplets[after - 1] if after and now < tuplets[after - 1].end else None
        stop = inside.end if inside else starts[after] if after < len(starts) else end
        yield now, min(end, stop), inside
        now = min(end, stop)


def _signs(start: Fraction, end: Fraction, tuplet: Tuplet | None, place: int, beats: int) -> Iterator[Value]:
    """The signs of a note or a rest that is within one tuplet, or in none."""
    first = tuplet.start if tuplet else Fraction(0)
    stretch = Fraction(tuplet.actual, tuplet.normal) if tuplet else Fraction(1)
    now, stop = (start - first) * stretch, (end - first) * stretch  # as the note values have it
    while now < stop:
        if place < 0:
            length = _rest(now, stop, beats)
        else:
            length = next(value for value in _VALUES if value <= _note(now, stop, 0 if tuplet else beats))
        dots = int(length not in NOTE_TYPES)
        played = first + now / stretch
        yield Value(
            played,
            length / stretch,
            NOTE_TYPES[length / _DOTTED if dots else length],
            dots,
            place,
            tuplet,
            opens=tuplet is not None and played == tuplet.start,
            closes=tuplet is not None and played + length / stretch == tuplet.end,
        )
        now += length


def _note(start: Fraction, end: Fraction, beats: int) -> Fraction:
    """How long the first sign of a note may be at most; `beats` is 0 in a tuplet, where anything goes."""
    if not beats:
        return end - start
    next_beat = Fraction(floor(start) + 1)
    if end <= next_beat:
        return end - start
    if start % _HALF or (start % 1 and end % _HALF):
        return next_beat - start
    if beats == 4 and start < _MIDDLE < end and (start % 1 or end % 1):
        return _MIDDLE - start
    return min(end - start, _DOTTED) if start % 1 else end - start  # which ends on a beat


def _rest(start: Fraction, end: Fraction, beats: int) -> Fraction:
    """How long the first sign of a rest is: no dots, and where its own value divides the bar."""
    lengths = (length for length in NOTE_TYPES if length <= 1 or beats % length == 0)
    return next(length for length in lengths if length <= end - start and start % length == 0)
