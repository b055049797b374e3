"""Pads: the chords of a tune as long notes, for players of a single line each.

Each player has a tone of the chord. Those that say most about it are taken first, and twice where there are more
players than tones. They are shared out so that all move as little as they can, none crosses another, and all are
between D3 and C5 and below the melody, where horns play behind it (common practice). A player who has nothing there
plays in the range that they have.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise, permutations, product

from tunelib.harmony import Chord, telling_tones
from tunelib.pitch import A4_HZ, Instrument, Note, Tuning, cents

_LOWEST, _HIGHEST = (cents(Note.parse(name).hz() / A4_HZ) for name in ("D3", "C5"))
_LEEWAY = 50.0  # cents beyond an end of a range
_TOGETHER = 4  # players who share out the tones of a chord; those beyond them double these
_CROSSED, _ABOVE_THE_MELODY = 1000.0, 400.0  # each, beside cents of motion: musical judgement


def pad_voices(
    chords: Sequence[Chord], tuning: Tuning, players: Sequence[Instrument], ceilings: Sequence[float]
) -> list[tuple[Note, ...]]:
    """For each chord a note for every player, in the order of the players.

    Parameters
    ----------
    chords : sequence of Chord
        As they are tuned, in order.
    tuning : Tuning
    players : sequence of Instrument
    ceilings : sequence of float
        For each chord the hertz above which the pads would be in the melody's way.

    >>> from tunelib.pitch import equal, instrument
    >>> chords, horns = [Chord.parse("G7"), Chord.parse("C6")], [instrument("trumpet"), instrument("trombone")]
    >>> [" ".join(map(str, notes)) for notes in pad_voices(chords, equal(31), horns, [880.0, 880.0])]
    ['F4 B3', 'E4 A3']
    """
    ranges = [_pad_range(player) for player in players]
    from_the_top = sorted(range(len(players)), key=lambda place: -sum(ranges[place]))
    notes: list[list[Note]] = [[] for _ in players]
    for first in range(0, len(players), _TOGETHER):
        group = from_the_top[first : first + _TOGETHER]
        limits = [ranges[place] for place in group]
        before = [
            low + (high - low) * (len(group) - turn) / (len(group) + 1) for turn, (low, high) in enumerate(limits)
        ]
        for chord, ceiling in zip(chords, ceilings, strict=True):
            highest = cents(ceiling / A4_HZ)
            ways = list(_ways(_tones(chord, tuning, len(group)), limits, tuning))
            before, chosen = min(ways, key=lambda way: _cost(way[0], before, highest))
            for place, note in zip(group, chosen, strict=True):
                notes[place].append(note)
    return list(zip(*notes, strict=True))


def _pad_range(player: Instrument) -> tuple[float, float]:
    """Where a player plays pads, in cents from A4: what they reach of the range of pads, or all that they reach."""
    low, high = (cents(hertz / A4_HZ) for hertz in player.range_hz)
    within = max(low, _LOWEST), min(high, _HIGHEST)
    return within if within[1] - within[0] >= 1200 else (low, high)


def _tones(chord: Chord, tuning: Tuning, count: int) -> list[Note]:
    """As many tones of a chord as are needed, the most telling first, from the beginning again if there are too few.

    Of two for a player alone they take the nearer: third or seventh.
    """
    notes = dict(zip(chord.intervals, chord.notes_in(tuning), strict=True))
    telling = [notes[interval] for interval in telling_tones(chord, max(count, 2))]
    return telling + [telling[place % len(telling)] for place in range(len(telling), count)]


def _ways(
    tones: Sequence[Note], limits: Sequence[tuple[float, float]], tuning: Tuning
) -> Iterator[tuple[list[float], tuple[Note, ...]]]:
    """The ways of sharing out some tones: how high each player is then, in cents from A4, and what they play."""
    for shared in dict.fromkeys(permutations(tones, len(limits))):
        octaves = [_octaves(tone, limit, tuning) for tone, limit in zip(shared, limits, strict=True)]
        for way in product(*octaves):
            yield [height for height, _ in way], tuple(note for _, note in way)


@lru_cache(maxsize=4096)
def _octaves(tone: Note, limits: tuple[float, float], tuning: Tuning) -> list[tuple[float, Note]]:
    """A tone in each octave that is within limits, with its cents from A4."""
    notes = [Note(tone.letter, tone.half_sharps, octave, tone.steps) for octave in range(9)]
    heights = [(cents(note.hz(tuning) / A4_HZ), note) for note in notes]
    return [one for one in heights if limits[0] - _LEEWAY <= one[0] <= limits[1] + _LEEWAY]


def _cost(heights: Sequence[float], before: Sequence[float], highest: float) -> float:
    moved = sum(abs(now - then) for now, then in zip(heights, before, strict=True))
    crossed = sum(upper <= lower for upper, lower in pairwise(heights))
    return moved + _CROSSED * crossed + _ABOVE_THE_MELODY * sum(height > highest for height in heights)
