"""Voicings: a chord put into octaves in the ways that players know, within reach, the smoothest first.

The kinds are common practice of jazz harmony:

    close     all notes within an octave
    open      every second voice of a close one, from the second up, an octave higher
    drop 2    the second voice from the top of a close one an octave lower
    drop 3    the third voice from the top an octave lower
    shell     root, third and seventh (of a sixth chord the sixth, of a triad the fifth); the third also as a tenth
    spread    wide below and closer above, like the overtones: the two lowest voices at least half an octave apart,
              and no step from voice to voice wider than the one below it
    rootless  third, fifth, seventh and ninth, close; a thirteenth or eleventh takes the place of the fifth

Each kind has its inversions, one for each note that can be lowest. Dropped voicings have four voices at most: of a
larger chord they take the four tones that say most about it. What is not in the chord is never added, so a rootless C7
has three notes, and a C9 four.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Any, TypeAlias

import numpy as np

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step
from tunelib.harmony.pair_roughness import PLAIN_AMPLITUDES, PLAIN_PARTIALS, chord_roughness
from tunelib.pitch import (
    A4_HZ,
    Instrument,
    Note,
    SpelledInterval,
    Tuning,
    instrument,
    known_note,
    look_up,
    whole_number,
)

LOWEST, HIGHEST = Note.parse("C2"), Note.parse("C6")  # where two hands play chords
HAND = SpelledInterval.parse("M10")  # an octave and a third
BASS = Note.parse("E1")  # a bass is in the octave from here, the lowest string of a double bass
_FINGERS = 5


@dataclass(frozen=True)
class Voicing:
    """A chord put into octaves.

    Parameters
    ----------
    chord : Chord
    kind : str
        One of `VOICING_KINDS`.
    notes : tuple of Note
        As they sound, rising.
    with_bass : bool
        Whether the first of them is a bass below the voicing itself.

    Raises ValueError if there are no notes, or anything else among them.
    """

    chord: Chord
    kind: str
    notes: tuple[Note, ...]
    with_bass: bool = False

    def __post_init__(self) -> None:
        if len(self.notes) <= self.with_bass:
            raise ValueError("a voicing has at least one note, not counting the bass")
        for note in self.notes:
            known_note(note, "each note of a voicing")

    @property
    def upper(self) -> tuple[Note, ...]:
        """The notes without the bass."""
        return self.notes[self.with_bass :]

    @property
    def inversion(self) -> int:
        """Which note of the chord is lowest, the bass set aside: 0 for the root, 1 for the next, mostly the third."""
        lowest = self.upper[0]
        notes = self.chord.notes
        alike = [place for place, note in enumerate(notes) if note.letter == lowest.letter]
        return min(alike, key=lambda place: abs(notes[place].half_sharps - lowest.half_sharps))

    def steps(self, tuning: Tuning) -> tuple[int, ...]:
        """Steps of the notes in the tuning for which they were found, C4 being 0."""
        return tuple(note.step(tuning) for note in self.notes)

    def __str__(self) -> str:
        return f"{self.chord} {self.kind}: {' '.join(map(str, self.notes))}"


def voicings(
    chord: Chord,
    tuning: Tuning,
    kinds: str | Iterable[str] | None = None,
    lowest: Note = LOWEST,
    highest: Note = HIGHEST,
    bass: bool = False,
    hand: SpelledInterval | None = HAND,
) -> tuple[Voicing, ...]:
    """All voicings of a chord that fit, each once: by kind, and within a kind from the lowest up.

    Parameters
    ----------
    chord : Chord
        Its own bass, if it has one, sounds only if a bass is asked for.
    tuning : Tuning
        One whose notes have letters.
    kinds : one or several of `VOICING_KINDS`, optional
        All unless given. Where two kinds make the same notes, they are given under the first.
    lowest, highest : Note
        Between which the voicing is; C2 to C6 unless given.
    bass : bool
        Whether the chord's bass or else its root sounds below all others, in the octave from E1 up.
    hand : SpelledInterval or None
        How far a hand reaches: a major tenth unless given. Two hands share the voicing, a lower part and an upper one,
        five notes each at most; a bass is somebody else's. None for no such limit, as for horns.

    A chord of which nothing fits gives an empty tuple. Raises ValueError for another kind, with the nearest, if
    `lowest` is not below `highest`, or if one of these, or the hand, falls between the steps of the tuning.

    >>> from tunelib.pitch import Note, equal
    >>> dropped = voicings(Chord.parse("Cmaj7"), equal(31), "drop 2", Note.parse("G2"), Note.parse("B♭4"))
    >>> [" ".join(map(str, voicing.notes)) for voicing in dropped]
    ['G2 C3 E3 B3', 'B2 E3 G3 C4', 'C3 G3 B3 E4', 'E3 B3 C4 G4']
    """
    if not isinstance(chord, Chord):
        raise ValueError(f"voicings are of a Chord, such as Chord.parse('Cmaj7'), not of {chord!r}")
    if hand is not None and not isinstance(hand, SpelledInterval):
        raise ValueError(
            f"the reach of a hand is a SpelledInterval, such as SpelledInterval.parse('M10'), not {hand!r}"
        )
    names = _known_kinds(VOICING_KINDS if kinds is None else kinds)
    low, high = known_note(lowest, "the lowest note").step(tuning), known_note(highest, "the highest note").step(tuning)
    if not low < high:
        raise ValueError(f"the range of a voicing goes up: {lowest} is not below {highest}")
    size, reach = len(tuning), None if hand is None else hand.step(tuning)
    by_class = {note.step(tuning) % size: note for note in reversed(chord.notes_in(tuning))}
    below = [chord.bass_in(tuning).above(BASS, tuning)] if bass else []
    floor = below[0].step(tuning) + 1 if bass else low
    found: dict[tuple[int, ...], Voicing] = {}
    for kind in names:
        placed = []
        for shape in _shapes(chord, kind, tuning):
            if reach is None or _in_two_hands(shape, reach):
                first, last = -((shape[0] - max(low, floor)) // size), (high - shape[-1]) // size
                placed += [tuple(step + size * octave for step in shape) for octave in range(first, last + 1)]
        for steps in sorted(placed):
            if steps not in found:
                upper = (by_class[step % size].at_step(step, tuning) for step in steps)
                found[steps] = Voicing(chord, kind, (*below, *upper), bass)
    return tuple(found.values())


def ranked(
    voicings: Iterable[Voicing],
    tuning: Tuning,
    partials: Any = PLAIN_PARTIALS,
    amplitudes: Any = PLAIN_AMPLITUDES,
    reference: float = A4_HZ,
) -> list[tuple[Voicing, float]]:
    """Voicings with their roughness where they sound, the smoothest first; equals stay in order.

    Parameters
    ----------
    voicings : iterable of Voicing
    tuning, partials, amplitudes, reference
        As `chord_roughness` takes them: eight fading harmonics, A4 at 440 Hz, unless given.

    More notes make more roughness: compare voicings with the same number of notes. Raises ValueError as
    `chord_roughness` does.
    """
    listed = list(voicings)
    if not all(isinstance(voicing, Voicing) for voicing in listed):
        raise ValueError("ranked takes Voicings, such as `voicings` gives")
    by_count: dict[int, list[int]] = defaultdict(list)
    steps = [voicing.steps(tuning) for voicing in listed]
    for i, row in enumerate(steps):
        by_count[len(row)].append(i)
    rough = np.zeros(len(listed))
    for places in by_count.values():
        rough[places] = chord_roughness([steps[i] for i in places], tuning, partials, amplitudes, reference)
    return [(listed[i], float(rough[i])) for i in np.argsort(rough, kind="stable")]


def playable(voicings: Iterable[Voicing], players: Sequence[str | Instrument], tuning: Tuning) -> tuple[Voicing, ...]:
    """The voicings that some players can share, a note each, all within their comfortable ranges.

    Parameters
    ----------
    voicings : iterable of Voicing
    players : sequence of str or Instrument
        In the order of their notes, the lowest first, the bass among them if there is one.
    tuning : Tuning

    Voicings with more notes or fewer are left out. Raises ValueError for an unknown instrument, with the nearest.

    >>> from tunelib.pitch import equal
    >>> dropped = voicings(Chord.parse("Dm7"), equal(31), "drop 2", hand=None)
    >>> shared = playable(dropped, ["baritone voice", "tenor voice", "alto voice", "soprano voice"], equal(31))
    >>> [" ".join(map(str, voicing.notes)) for voicing in shared][:3]
    ['A2 D3 F3 C4', 'C3 F3 A3 D4', 'D3 A3 C4 F4']
    """
    ranges = []
    for player in players:
        known = player if isinstance(player, Instrument) else instrument(player)
        low, high = (known.sounding(note).step(tuning) for note in (known.lowest, known.highest))
        ranges.append((low, high))
    return tuple(
        voicing
        for voicing in voicings
        if len(voicing.notes) == len(ranges)
        and all(low <= step <= high for (low, high), step in zip(ranges, voicing.steps(tuning), strict=True))
    )


_SAYS_MOST = {3: 0, 4: 0, 2: 0, 7: 1, 6: 2, 13: 3, 9: 4, 11: 5, 5: 7, 1: 8}


def telling_tones(chord: Chord, voices: int) -> tuple[SpelledInterval, ...]:
    """The tones of a chord that say most about it, as many as there are voices, the most telling first.

    The third, or what is suspended for it, comes before the seventh or sixth, then altered fifths and additions, plain
    additions, the plain fifth, and last the root, which a bass has; over another bass the root goes before the fifth.

    Raises ValueError unless the number of voices is whole, 1 or more.

    >>> [interval.name for interval in telling_tones(Chord.parse("C13"), 4)]
    ['major third', 'minor seventh', 'major thirteenth', 'major ninth']
    """
    count = whole_number(voices, "the number of voices", 1, 1000)

    def order(interval: SpelledInterval) -> tuple[float, int]:
        number = interval.letters + 1
        if number == 1 and chord.bass:
            return (6, number)
        altered = number in (5, 9, 11, 13) and interval.offset  # what is altered says more than what is not
        return (2.5 if altered else _SAYS_MOST.get(number, 9), number)

    return tuple(sorted(chord.intervals, key=order)[:count])


_Shape: TypeAlias = tuple[int, ...]  # rising steps, the lowest within the octave from C4
_Chooser: TypeAlias = Callable[[Chord], Sequence[Sequence[SpelledInterval]]]  # the notes to take; one way or several
_Layer: TypeAlias = Callable[[list[int], int, int], Iterator[list[int]]]  # of places in the octave, its size, the root


@lru_cache(maxsize=4096)
def _shapes(chord: Chord, kind: str, tuning: Tuning) -> tuple[_Shape, ...]:
    """Every way of a kind to lay a chord out, octaves set aside."""
    root, size = chord.root.within(tuning).step(tuning), len(tuning)
    chosen, laid_out = _KINDS[kind]
    found = []
    for intervals in chosen(chord):
        degrees = [(interval.letters + 1, interval.offset) for interval in intervals]
        classes = sorted({(root + degree_step(degree, tuning)) % size for degree in degrees})
        found += [_lowered(shape, size) for shape in laid_out(classes, size, root % size)]
    return tuple(dict.fromkeys(found))


def _lowered(shape: Sequence[int], size: int) -> _Shape:
    octaves = min(shape) // size
    return tuple(sorted(step - size * octaves for step in shape))


def _close(classes: list[int], size: int, root: int) -> Iterator[list[int]]:
    for k in range(len(classes)):
        yield classes[k:] + [step + size for step in classes[:k]]


def _open(classes: list[int], size: int, root: int) -> Iterator[list[int]]:
    for shape in _close(classes, size, root):
        yield [step + size * (voice % 2) for voice, step in enumerate(shape)]


def _dropped(voice: int) -> _Layer:
    def lay_out(classes: list[int], size: int, root: int) -> Iterator[list[int]]:
        if len(classes) > voice:
            for shape in _close(classes, size, root):
                yield [*shape[:-voice], shape[-voice] - size, *shape[len(shape) - voice + 1 :]]

    return lay_out


def _shell(classes: list[int], size: int, root: int) -> Iterator[list[int]]:
    yield from _close(classes, size, root)
    yield from (shape for shape in _open(classes, size, root) if shape[0] == root)


def _spread(classes: list[int], size: int, root: int) -> Iterator[list[int]]:
    if len(classes) < 3:
        return

    def onward(shape: list[int], left: frozenset[int], widest: int) -> Iterator[list[int]]:
        if not left:
            yield shape
        for step in sorted(left):
            for gap in range((step - shape[-1]) % size, widest + 1, size):
                if len(shape) > 1 or 2 * gap >= size:
                    yield from onward([*shape, shape[-1] + gap], left - {step}, gap)

    for lowest in classes:
        yield from onward([lowest], frozenset(classes) - {lowest}, 3 * size // 2)


def _all(chord: Chord) -> Sequence[Sequence[SpelledInterval]]:
    return [chord.intervals]


def _four(chord: Chord) -> Sequence[Sequence[SpelledInterval]]:
    return [telling_tones(chord, 4)]


def _shell_tones(chord: Chord) -> Sequence[Sequence[SpelledInterval]]:
    slots = [_first(chord, (1,)), _first(chord, (3,), (4,), (2,)), _first(chord, (7,), (6,), (5,))]
    return list(product(*filter(None, slots)))


def _rootless_tones(chord: Chord) -> Sequence[Sequence[SpelledInterval]]:
    sevenths = _first(chord, (7,), (6,))
    slots = [_first(chord, (3,), (4,), (2,)), _first(chord, (13,), (11,), (5,)), sevenths, _first(chord, (9,))]
    filled = list(filter(None, slots))
    return list(product(*filled)) if sevenths and len(filled) > 2 else []


def _first(chord: Chord, *choices: tuple[int, ...]) -> list[SpelledInterval]:
    """The intervals of the first of some numbers that a chord has any of."""
    for numbers in choices:
        found = [interval for interval in chord.intervals if interval.letters + 1 in numbers]
        if found:
            return found
    return []


_KINDS: dict[str, tuple[_Chooser, _Layer]] = {
    "close": (_all, _close),
    "open": (_all, _open),
    "drop 2": (_four, _dropped(2)),
    "drop 3": (_four, _dropped(3)),
    "shell": (_shell_tones, _shell),
    "spread": (_all, _spread),
    "rootless": (_rootless_tones, _close),
}
VOICING_KINDS = tuple(_KINDS)
"""The kinds of voicings, as the head of this module tells them."""


def _known_kinds(kinds: str | Iterable[str]) -> tuple[str, ...]:
    if not isinstance(kinds, Iterable):
        raise ValueError(f"kinds of voicing are names, such as 'close' or 'drop 2', not {kinds!r}")
    listed = (kinds,) if isinstance(kinds, str) else tuple(kinds)
    return tuple(look_up(kind, {kind: kind for kind in VOICING_KINDS}, "kind of voicing") for kind in listed)


def _in_two_hands(shape: _Shape, reach: int) -> bool:
    """Whether a lower hand and an upper one take all notes, none reaching too far."""
    for below in range(len(shape)):  # notes that the lower hand takes
        hands = [hand for hand in (shape[:below], shape[below:]) if hand]
        if all(len(hand) <= _FINGERS and hand[-1] - hand[0] <= reach for hand in hands):
            return True
    return False
