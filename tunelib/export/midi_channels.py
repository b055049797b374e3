"""Channels for notes that are bent: which note goes on which, so that no bend moves what still rings.

A bend moves all that sounds on its channel, a note that was let go and is dying away included. So a channel is taken
again for another bend only when its last note has rung out (`tunelib.export.midi_messages.TAIL`), and for the same bend
at once, since then nothing is moved: in a division of the octave, that is the same note in any octave.

Each voice has channels of its own: as few as hold what sounds at once, then one more for the voice whose tails are
moved farthest, until none is moved or there are no more. Where that is not enough, a note takes the channel whose
ringing note it moves least. A score of more voices than there are channels shares them all.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf


@dataclass(frozen=True)
class Bent:
    """A note as a channel has it: ticks, the key, the bend in units, and the voice and program that it belongs to."""

    start: int
    end: int
    key: int
    bend: int
    voice: str
    program: int


class TooManyAtOnceError(ValueError):
    """More notes sound at once than there are channels; `start` is the tick."""

    def __init__(self, start: int) -> None:
        super().__init__(f"more notes sound at tick {start} than there are channels")
        self.start = start


@dataclass
class _Channel:
    """What a channel has been used for: its last note, when all that it had ends, and when each of its keys does."""

    last: Bent | None = None
    end: int = -1
    keys: dict[int, int] = field(default_factory=dict)

    def takes(self, note: Bent, shared: bool) -> bool:
        """Whether a note may begin on it: it is silent, or has the note's own voice and bend, and its key is free."""
        if self.last is None or self.end < note.start:
            return True
        alike = (self.last.voice, self.last.bend) == (note.voice, note.bend)
        return shared and alike and self.keys.get(note.key, -1) < note.start

    def moved(self, note: Bent, tail: int) -> tuple[bool, float]:
        """What a note does to one that rings: whether it changes its program, and how far it bends what is left of it.

        What is left of a tail is nothing at its end, a quarter in the middle, and all of it at the beginning.
        """
        left = 0 if self.last is None else self.end + tail - note.start
        if self.last is None or left <= 0:
            return False, 0.0
        return self.last.program != note.program, abs(self.last.bend - note.bend) * min(1.0, left / tail) ** 2

    def take(self, note: Bent) -> None:
        """Put a note on it."""
        self.last, self.end = note, max(self.end, note.end)
        self.keys[note.key] = note.end


def allotted(notes: Sequence[Bent], channels: Sequence[int], tail: int, shared: bool = True) -> list[int]:
    """The channel of each note.

    Parameters
    ----------
    notes : sequence of Bent
        In order of start.
    channels : sequence of int
        Those that there are.
    tail : int
        Ticks for which a note rings after its end.
    shared : bool
        Whether notes of one voice and one bend may sound on one channel at once.

    Raises TooManyAtOnceError where there are not enough for what sounds at once.
    """
    places: defaultdict[str, list[int]] = defaultdict(list)
    for place, note in enumerate(notes):
        places[note.voice].append(place)
    groups = list(places.values())
    try:
        found = _divided([[notes[place] for place in group] for group in groups], len(channels), tail, shared)
    except TooManyAtOnceError:
        groups = [list(range(len(notes)))]
        found = _divided([notes], len(channels), tail, shared)
    channel_of: dict[int, int] = {}
    first = 0
    for group, placed in zip(groups, found, strict=True):
        channel_of |= {place: channels[first + number] for place, number in zip(group, placed.numbers, strict=True)}
        first += placed.channels
    return [channel_of[place] for place in range(len(notes))]


@dataclass(frozen=True)
class _Placed:
    """Notes on so many channels: the number of each note's, from 0, and the most that one moves another."""

    numbers: list[int]
    channels: int
    moved: tuple[bool, float]


def _divided(groups: Sequence[Sequence[Bent]], channels: int, tail: int, shared: bool) -> list[_Placed]:
    """The notes of each group on channels of its own."""
    found: list[_Placed] = []
    left = channels
    for group in groups:
        found.append(_on_fewest(group, left, tail, shared))
        left -= found[-1].channels
    while left:
        worst = max(range(len(groups)), key=lambda place: found[place].moved, default=None)
        if worst is None or not any(found[worst].moved):
            break
        found[worst] = _placed(groups[worst], found[worst].channels + 1, tail, shared)
        left -= 1
    return found


def _on_fewest(notes: Sequence[Bent], channels: int, tail: int, shared: bool) -> _Placed:
    for count in range(1, channels):
        try:
            return _placed(notes, count, tail, shared)
        except TooManyAtOnceError:
            continue
    return _placed(notes, channels, tail, shared)


def _placed(notes: Sequence[Bent], count: int, tail: int, shared: bool) -> _Placed:
    """Notes on some channels, each on the one where it moves least.

    Of several where it moves nothing, one with its bend comes first, then the one whose bend is wanted again last.
    """
    starts: defaultdict[int, list[int]] = defaultdict(list)
    for note in notes:
        starts[note.bend].append(note.start)
    channels = [_Channel() for _ in range(count)]
    numbers = []
    most = (False, 0.0)
    for note in notes:

        def cost(number: int, note: Bent = note) -> tuple[tuple[bool, float], bool, float, int, int]:
            channel = channels[number]
            if channel.last is None:
                return (False, 0.0), True, -inf, -1, number
            again = starts[channel.last.bend]
            at = bisect_right(again, note.start)
            wanted = again[at] if at < len(again) else inf
            other = (channel.last.bend, channel.last.program) != (note.bend, note.program)
            return channel.moved(note, tail), other, -wanted, channel.end, number

        free = [number for number, channel in enumerate(channels) if channel.takes(note, shared)]
        if not free:
            raise TooManyAtOnceError(note.start)
        number = min(free, key=cost)
        most = max(most, channels[number].moved(note, tail))
        channels[number].take(note)
        numbers.append(number)
    return _Placed(numbers, count, most)
