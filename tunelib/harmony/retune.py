"""Retuning a whole tune: for every chord one of its realisations in a tuning, over the path that is best overall.

A written chord can be realised in many ways: its third and seventh may go to a neighbouring family (a minor seventh to
the harmonic one), if the tuning tells the two apart; its root may move by a small step, and its notes can be laid out
in many orders. That small step is the comma 81/80 where the tuning has one, as 41 and 53 steps do; in a meantone, where
that vanishes, it is the diesis by which three major thirds miss the octave, one step of thirty-one. Twelve has neither.

Each realisation has a cost by itself (how impure, how complex and how rough it is, how far it departs from what is
written, whether it is to the player's taste), and each pair of neighbours a cost between them: how far the voices move.
The path with the least total is found exactly, by dynamic programming (R. Bellman, *Dynamic Programming*, 1957; A. J.
Viterbi, IEEE Trans. Inf. Theory 13, 1967): no other choice of realisations has a lower one.

What the costs are worth beside each other is set here, once, in points: a point is 310 cents of motion, which are eight
steps of thirty-one, or six cents of error. They are a musician's judgement, not a law.

Roots and the melody are where they are spelled, along the fifths. A note of the melody that has the name of a note of
the chord under it, as that is written, sounds with it: in 41 steps an E over C is the chord's 5/4, and not the E of
four fifths, which would beat with it. In a meantone the two are the same.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np
import numpy.typing as npt

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import comma, degree_step, diesis, interval_of, same_step
from tunelib.harmony.pair_roughness import chord_roughness
from tunelib.harmony.ratios import mean_complexity
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.harmony.voicings import BASS, telling_tones
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, Note, SpelledInterval, Tuning, shortened

UPPER_VOICES = 4
_LOWEST, _HIGHEST = Note.parse("E3"), Note.parse("F5")  # of the upper voices: two hands on a keyboard, or four horns
_SPAN = 1750.0  # cents from the lowest upper voice to the highest: about an octave and a half
_RUBBING = 60.0  # cents: two notes nearer than this that are not the same rub, as a diesis or a comma does
_LARGEST_SHIFT = 65.0  # cents: a comma or diesis of a division that is larger moves no root
_NEARBY, _WANDERING = (-1, 0, 1), (-2, -1, 0, 1, 2)  # small steps by which a root may be off its place
_LAYOUTS = 10  # of a chord's layouts, the least rough are weighed
_CHORDS_BETWEEN_TELLING = 100
_SHARE_OF_SEARCH = 0.8  # of the time that retuning takes
_MOST_ALTERED = 2  # intervals of one chord that may leave their families

# Where an interval may go: its number, and the offsets in half-sharps that stand in for one another.
_NEIGHBOURS: dict[tuple[int, int], tuple[int, ...]] = {
    (3, 0): (1, -1), (3, -2): (-3, -1), (3, 1): (0,), (3, -3): (-2,), (3, -1): (-2, 0),
    (5, -2): (-3,), (7, -2): (-3, -1), (7, 0): (1, -1), (7, -3): (-2,), (7, -1): (-2, 0), (7, 1): (0,),
    (11, 2): (1,), (11, 1): (2,), (13, 0): (-1,), (13, -2): (-1,), (13, -1): (0,),
}  # fmt: skip

# What is worth how much, in points.
_PER_CENT_OFF = 1 / 6  # for the root mean square of all pairs' errors
_PER_BIT = 0.5  # for pairs that are more complex, on the mean, than those of the chord as written
_ROUGHNESS = 2.0  # for as much again as the smoothest layout of the chord as it is written
_PER_STEP_MOVED = 1 / 8  # for each step of thirty-one
_PER_ALTERATION = 1.5  # for an interval that leaves its family, if taste is plain
_REWARD = 0.9  # the same, for an adventurous taste
_PER_SHIFT = 1.25  # for a root that moves from its place by a small step
_DRIFTING = 2  # as how many times its way in steps a drift counts; farther than one small step from the last, and
_FARTHER = 2000  # under a held note of the melody that would not go along, as a number of steps of thirty-one
_COLOUR = 0.5  # for each step of thirty-one darker or brighter
_CLASH = 1000.0  # for a melody note that rubs against a note of the chord


@dataclass(frozen=True)
class Taste:
    """What a player likes.

    Parameters
    ----------
    adventure : float
        From 0, as written where possible, to 1, other families wherever they fit.
    colour : float
        From -1, darker (lower thirds and sevenths), to 1, brighter.
    drift : bool
        Whether roots may drift, a diesis at a time and up to two in all, without coming back. Otherwise a root is at
        most one diesis from its place, and the last is in it. The melody goes along with a drift, and stays where it is
        without one. Where the tuning has the comma 81/80, it takes the place of the diesis.
    clashes : bool
        Whether a melody note may sound a diesis beside a note of the chord, or anything else nearer than 60 cents.

    Raises ValueError for a number out of bounds, or a choice that is neither True nor False.
    """

    adventure: float = 0.3
    colour: float = 0.0
    drift: bool = False
    clashes: bool = False

    def __post_init__(self) -> None:
        for what, value, low in (("adventure", self.adventure, 0.0), ("colour", self.colour, -1.0)):
            is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
            if not (is_number and low <= value <= 1):
                raise ValueError(f"{what} must be from {low:g} to 1, not {value!r}")
        for what, choice in (("drift", self.drift), ("clashes", self.clashes)):
            if not isinstance(choice, bool):
                raise ValueError(f"{what} is True or False, not {choice!r}")


@dataclass(frozen=True)
class RetunedChord:
    """One chord of a retuned tune.

    Parameters
    ----------
    written : TimedChord
    chord : Chord
        As it sounds, on the root that it sounds on.
    shift : int
        Steps by which the root is above its written place.
    notes : tuple of Note
        The bass and then the upper voices, rising.
    purity : float
        Root mean square of all pairs' errors against the ratios that the chord stands for, in cents.
    roughness : float
        Of the whole layout on the root as written, as `tunelib.hearing.roughness` works it out.
    motion : int
        Steps that the upper voices moved, all together, from the chord before; 0 for the first.
    held : int
        How many upper voices did not move at all.
    clashes : int
        Melody notes that rub against a note of the chord.
    why : str
        What was chosen and what was given up, in one sentence with numbers.
    """

    written: TimedChord
    chord: Chord
    shift: int
    notes: tuple[Note, ...]
    purity: float
    roughness: float
    motion: int
    held: int
    clashes: int
    why: str


@dataclass(frozen=True)
class RetunedTune:
    """A retuned tune: the tuning it is in, its chords in order, its melody as it sounds, and its cost in points."""

    sheet: LeadSheet
    tuning: Tuning
    taste: Taste
    chords: tuple[RetunedChord, ...]
    melody: tuple[TimedNote, ...]
    cost: float


def retune(
    sheet: LeadSheet,
    tuning: Tuning,
    taste: Taste | None = None,
    progress: Callable[[float], None] | None = None,
) -> RetunedTune:
    """Retune a tune: the realisations whose costs, alone and between neighbours, are least in total.

    Parameters
    ----------
    sheet : LeadSheet
    tuning : Tuning
        An equal division of the octave from 12 to 72 steps whose notes have letters.
    taste : Taste, optional
    progress : function, optional
        Called now and then with the share of the work done, from 0 to 1.

    Time and memory grow in proportion to the number of chords. Raises ValueError, naming the bar, for a chord with too
    few notes to be laid out in four upper voices; for another tuning; or for anything but a LeadSheet and a Taste.

    >>> from tunelib.harmony import parse_lead_sheet
    >>> from tunelib.pitch import equal
    >>> sheet = parse_lead_sheet("| Dm7 | G7 | Cmaj7 | Cmaj7 |")
    >>> [[chord.chord.symbol for chord in retune(sheet, equal(steps)).chords] for steps in (12, 31)]
    [['Dm7', 'G7', 'Cmaj7', 'Cmaj7'], ['Dm7', 'Gharm7', 'Cmaj7', 'Cmaj7']]
    """
    taste = Taste() if taste is None else taste
    if not isinstance(sheet, LeadSheet) or not isinstance(taste, Taste):
        raise ValueError(f"retune takes a LeadSheet and a Taste, not {shortened(sheet)} and {shortened(taste)}")
    playable_division(tuning)
    for timed in sheet.chords:
        if not _variants(timed.chord, tuning):
            raise ValueError(f"bar {timed.bar}: {timed.symbol} cannot be laid out in the range of the upper voices")
    melody = _as_sung(sheet, tuning)
    columns = _columns(sheet, melody, tuning, taste)
    tell = progress or (lambda share: None)
    path, cost = best_path(
        [(column.voices, column.costs) for column in columns],
        _PER_STEP_MOVED * _of_thirty_one(tuning),
        _drifts(sheet, tuning, taste),
        lambda share: tell(_SHARE_OF_SEARCH * share),
    )
    chords = []
    for i, (timed, column, place) in enumerate(zip(sheet.chords, columns, path, strict=True)):
        if i % _CHORDS_BETWEEN_TELLING == 0:
            tell(_SHARE_OF_SEARCH + (1 - _SHARE_OF_SEARCH) * i / len(path))
        before = columns[i - 1].voices[path[i - 1]] if i else None
        chords.append(column.chosen(timed, place, before))
    sung = tuple(_with_chords(melody, chords, tuning)) if taste.drift else melody
    return RetunedTune(sheet, tuning, taste, tuple(chords), sung, cost)


FEWEST_STEPS, MOST_STEPS = 12, 72


def playable_division(tuning: Tuning) -> Tuning:
    """A tuning that tunes can be played in.

    Raises ValueError unless it is an equal division of the octave, from 12 to 72 steps, whose notes have letters.

    >>> from tunelib.pitch import equal
    >>> playable_division(equal(13))
    Traceback (most recent call last):
    ...
    ValueError: the notes of 13 equal steps have no letters: no fifth of it is between 4/7 and 3/5 of the octave
    """
    if not isinstance(tuning, Tuning):
        raise ValueError(f"a tune is played in a tuning, such as equal(31), not in {shortened(tuning)}")
    size = len(tuning)
    even = np.arange(size) * CENTS_PER_OCTAVE / size
    if not (FEWEST_STEPS <= size <= MOST_STEPS and tuning.period_cents == CENTS_PER_OCTAVE):
        raise ValueError(f"a tune is played in {FEWEST_STEPS} to {MOST_STEPS} equal steps, not in {tuning.name}")
    if not np.allclose(tuning.cents, even):
        raise ValueError(f"a tune is played in equal steps of the octave, and {tuning.name} has others")
    if tuning.fifth is None:
        raise ValueError(
            f"the notes of {tuning.name} have no letters: no fifth of it is between 4/7 and 3/5 of the octave"
        )
    return tuning


def _of_thirty_one(tuning: Tuning) -> float:
    """How many steps of thirty-one a step is."""
    return 31 / len(tuning)


def small_step(tuning: Tuning) -> int:
    """Steps by which a root may move: the comma 81/80 or, where it vanishes, the diesis; 0 if neither is small enough.

    >>> from tunelib.pitch import equal
    >>> [small_step(equal(steps)) for steps in (12, 19, 31, 41, 50, 53)]
    [0, 1, 1, 1, 2, 1]
    """
    steps = comma(tuning) or diesis(tuning)
    return steps if steps * CENTS_PER_OCTAVE / len(tuning) <= _LARGEST_SHIFT else 0


def best_path(
    columns: Sequence[tuple[npt.NDArray[np.int16], FloatArray]],
    per_step: float,
    last_counts: Sequence[Sequence[int]] = (),
    progress: Callable[[float], None] | None = None,
) -> tuple[list[int], float]:
    """The cheapest way through columns of realisations, exactly: one place in each column, and the total cost.

    Parameters
    ----------
    columns : sequence of (voices, costs)
        `voices` has shape (realisations, voices), in steps; `costs`, of shape (realisations,), is what each costs
        alone. Between neighbours it costs `per_step` for each step that a voice moves.
    per_step : float
        Points.
    last_counts : sequence of sequences of int, optional
        On the way into each column after the first, as how many steps it counts if the last voice moves by 0, 1, 2 ...
        As many unless given.
    progress : callable, optional
        Called now and then with the share of the way searched, from 0 to 1.

    No columns give an empty way that costs nothing.
    """
    if not columns:
        return [], 0.0
    voices, total = columns[0]
    came_from: list[npt.NDArray[np.int32]] = []
    for place, (after, costs) in enumerate(columns[1:]):
        if progress is not None and place % _CHORDS_BETWEEN_TELLING == 0:
            progress(place / len(columns))
        moved = np.abs(after[:, -1, np.newaxis] - voices[np.newaxis, :, -1])
        if last_counts:
            moved = np.array(last_counts[place], dtype=np.int16)[moved]
        for voice in range(after.shape[1] - 1):
            moved += np.abs(after[:, voice, np.newaxis] - voices[np.newaxis, :, voice])
        reached = per_step * moved
        reached += total
        best = np.argmin(reached, axis=1)
        came_from.append(best.astype(np.int32))
        total = reached[np.arange(len(after)), best] + costs
        voices = after
    path = [int(np.argmin(total))]
    cost = float(total[path[0]])
    for best in reversed(came_from):
        path.append(int(best[path[-1]]))
    return path[::-1], cost


@dataclass(frozen=True)
class _Variant:
    """A chord with some of its intervals in other families, laid out in several ways."""

    chord: Chord
    altered: int  # intervals that left their families
    tuning: Tuning
    colour: int  # steps by which they went up, all together
    purity: float
    complexity: float  # of its pairs, on the mean, in bits
    layouts: npt.NDArray[np.int16]  # (layouts, UPPER_VOICES), steps
    tones: tuple[tuple[int, Note], ...]  # the step and the note of each of its upper tones, the octave from C4
    bass: Note
    roughness: FloatArray  # (layouts,)

    def notes(self, layout: int, shift: int) -> tuple[Note, ...]:
        """The bass and the upper voices of a layout, its root moved by a number of steps."""
        size = len(self.tuning)
        by_degree = {step % size: note for step, note in self.tones}
        upper = [by_degree[place % size].at_step(place, self.tuning) for place in self.layouts[layout].tolist()]
        return tuple(_shifted(note, shift, self.tuning) for note in (self.bass, *upper))


def _shifted(note: Note, shift: int, tuning: Tuning) -> Note:
    """A note a number of steps higher, on its own letter."""
    return note.sounding(note.step(tuning) + shift, tuning) if shift else note


@lru_cache(maxsize=2048)
def _variants(chord: Chord, tuning: Tuning) -> tuple[_Variant, ...]:
    """A written chord as it is, and with its intervals in neighbouring families; the first is the one written.

    A bass that is a note of the chord goes along with it. None, if the chord as written cannot be laid out.
    """
    slots = [(interval.letters + 1, interval.offset) for interval in chord.intervals]
    options = [(0, *(other - offset for other in _neighbours(number, offset, tuning))) for number, offset in slots]
    found = []
    for moves in product(*options):
        if sum(map(bool, moves)) <= _MOST_ALTERED:
            intervals = tuple(
                SpelledInterval(interval.letters, interval.quartertones + move)
                for interval, move in zip(chord.intervals, moves, strict=True)
            )
            if len(set(intervals)) < len(intervals):  # one note has moved onto another
                continue
            changed = Chord(chord.root, intervals, _gone_along(chord, moves))
            if not any(moves) or len(set(changed.steps(tuning))) == len(intervals):
                found.append(_laid_out(changed, chord, sum(map(bool, moves)), tuning))
    if not found or not len(found[0].layouts):
        return ()
    return tuple(sorted((variant for variant in found if len(variant.layouts)), key=lambda variant: variant.altered))


def _neighbours(number: int, offset: int, tuning: Tuning) -> tuple[int, ...]:
    """The families to which a degree may go: those that the tuning tells apart, from it and from the plainer ones."""
    here = degree_step((number, offset), tuning)
    return tuple(
        other
        for other in _NEIGHBOURS.get((number, offset), ())
        if same_step((number, other), tuning) is None and degree_step((number, other), tuning) != here
    )


def _gone_along(chord: Chord, moves: Sequence[int]) -> Note | None:
    """The bass of a chord whose intervals are moved by half-sharps."""
    for note, move in zip(chord.notes, moves, strict=True):
        if chord.bass and (note.letter, note.half_sharps) == (chord.bass.letter, chord.bass.half_sharps):
            return chord.bass.transpose(SpelledInterval(0, move))
    return chord.bass


def _laid_out(chord: Chord, written: Chord, altered: int, tuning: Tuning) -> _Variant:
    bass = chord.bass_in(tuning).above(BASS, tuning)
    sounding = dict(zip(chord.intervals, chord.notes_in(tuning), strict=True))
    tones = tuple((sounding[tone].step(tuning), sounding[tone]) for tone in _upper_tones(chord))
    layouts = _layouts([step for step, _ in tones], tuning)
    rough = chord_roughness(np.column_stack([np.full(len(layouts), bass.step(tuning)), layouts]), tuning)
    best = np.argsort(rough, kind="stable")[:_LAYOUTS]
    bits, purity = mean_complexity(chord.ratios(tuning)), chord.purity(tuning)
    colour = sum(chord.steps(tuning)) - sum(written.steps(tuning))
    return _Variant(chord, altered, tuning, colour, purity, bits, layouts[best], tones, bass, rough[best])


def _upper_tones(chord: Chord) -> tuple[SpelledInterval, ...]:
    """The four tones over the bass: what gives the chord its name first, then fifth and root, doubled if need be."""
    tones = list(telling_tones(chord, UPPER_VOICES))
    doubled = [interval for number in (1, 5) for interval in chord.intervals if interval.letters + 1 == number]
    if len(doubled) == 1:
        doubled = list(chord.intervals)
    while len(tones) < UPPER_VOICES:
        tones.append(doubled[len(tones) % len(doubled)])
    return tuple(tones)


def _layouts(steps: Sequence[int], tuning: Tuning) -> npt.NDArray[np.int16]:
    """Every way to put four tones into the range of the upper voices, as rising steps; (layouts, 4).

    Close or open within the span that voices keep to; of a chord of so few notes that it has none, the narrowest.
    """
    size, low, high = len(tuning), _LOWEST.step(tuning), _HIGHEST.step(tuning)
    places = [np.arange(low + (step - low) % size, high + 1, size) for step in steps]
    grid = np.sort(np.stack(np.meshgrid(*places, indexing="ij"), axis=-1).reshape(-1, len(steps)), axis=1)
    gaps = np.diff(grid, axis=1)
    apart = gaps * CENTS_PER_OCTAVE / size >= _RUBBING
    grid = np.unique(grid[np.all(apart & (gaps <= size), axis=1)], axis=0).astype(np.int16)
    spans = grid[:, -1] - grid[:, 0]
    widest = max(int(_SPAN * size / CENTS_PER_OCTAVE), int(spans.min(initial=high - low)))
    return np.asarray(grid[spans <= widest])


@dataclass(frozen=True)
class _Column:
    """All realisations of one chord of a tune."""

    variants: tuple[_Variant, ...]
    keys: npt.NDArray[np.int16]  # (realisations, 4): variant, layout, shift, clashes
    voices: npt.NDArray[np.int16]  # (realisations, UPPER_VOICES + 1): the upper voices, and the drift in small steps
    costs: FloatArray  # (realisations,)
    melody: frozenset[int]  # degrees that are heard with it
    taste: Taste

    def chosen(self, timed: TimedChord, place: int, before: npt.NDArray[np.int16] | None) -> RetunedChord:
        """One realisation, with what it is worth and why it was chosen."""
        number, layout, shift, clashes = self.keys[place].tolist()
        variant = self.variants[number]
        moves = np.abs(self.voices[place] - before)[:UPPER_VOICES] if before is not None else np.array([0])
        chord = variant.chord.on(_shifted(variant.chord.root, shift, variant.tuning)) if shift else variant.chord
        rough = float(variant.roughness[layout])
        motion, held = int(moves.sum()), int(np.sum(moves == 0)) if before is not None else 0
        why = self._why(variant, rough, shift, motion, held, clashes, first=before is None)
        return RetunedChord(
            timed, chord, shift, variant.notes(layout, shift), variant.purity, rough, motion, held, clashes, why
        )

    def _why(
        self, variant: _Variant, rough: float, shift: int, motion: int, held: int, clashes: int, *, first: bool
    ) -> str:
        written = self.variants[0]
        smoothest = float(written.roughness[0])
        said = [_choice(variant, written, shift), *_untold(written)]
        if variant is written:
            said.append(f"its pairs are {variant.purity:.1f} cents off on the whole")
        else:
            said.append(f"its pairs are {variant.purity:.1f} cents off on the whole, as written {written.purity:.1f}")
        said.append(f"roughness {100 * rough / smoothest:.0f}, against 100 for the smoothest layout as written")
        if not first:
            said.append(
                f"the upper voices move {motion} step{'' if motion == 1 else 's'} and {held} of {UPPER_VOICES} stay"
            )
        purest = min(self.variants, key=lambda other: other.purity)
        if purest.purity < variant.purity - 0.05:
            heard_at = 0 if self.taste.drift else shift
            rubs = not self.taste.clashes and _clashes(purest, heard_at, self.melody) > clashes
            spelling = purest.altered > variant.altered
            said.append(
                f"given up: {purest.chord.symbol}, purer by {variant.purity - purest.purity:.1f} cents, for "
                f"{'the melody' if rubs else 'the spelling' if spelling else 'the motion, roughness or taste'}"
            )
        if clashes:
            by = f"a {_small_step_word(variant.tuning)}"
            if _widest_rub(variant.tuning) != small_step(variant.tuning):
                by = f"less than {_RUBBING:g} cents"
            said.append(f"{clashes} melody note{'s clash' if clashes > 1 else ' clashes'} with it by {by}")
        return f"{'; '.join(said)}."


def _choice(variant: _Variant, written: _Variant, shift: int) -> str:
    """The chord as chosen, and what of it was moved."""

    def by_number(chord: Chord) -> list[SpelledInterval]:
        return sorted(chord.intervals, key=lambda interval: (interval.letters, interval.quartertones))

    moved = []
    tuning = variant.tuning
    for before, after in zip(by_number(written.chord), by_number(variant.chord), strict=True):
        steps = _interval_step(after, tuning) - _interval_step(before, tuning)
        if steps:
            count = "a step" if abs(steps) == 1 else f"{abs(steps)} steps"
            moved.append(f"its {after.number} {count} {'higher' if steps > 0 else 'lower'}")
    if shift:
        times, word = abs(shift) // small_step(tuning), _small_step_word(tuning)
        count = f"a {word}" if times == 1 else f"{times} {'dieses' if word == 'diesis' else 'commas'}"
        moved.append(f"its root {count} {'up' if shift > 0 else 'down'}")
    return f"{variant.chord.symbol}, {' and '.join(moved)}" if moved else f"{variant.chord.symbol} as written"


def _interval_step(interval: SpelledInterval, tuning: Tuning) -> int:
    return degree_step((interval.letters + 1, interval.offset), tuning)


def _small_step_word(tuning: Tuning) -> str:
    return "comma" if comma(tuning) else "diesis"


def _untold(variant: _Variant) -> list[str]:
    """What the chord asks for and the tuning does not tell from something plainer."""
    said = []
    for interval in variant.chord.intervals:
        plainer = same_step((interval.letters + 1, interval.offset), variant.tuning)
        if plainer:
            said.append(f"{interval.name} and {interval_of(plainer).name} are one step of {len(variant.tuning)}")
    return said


def _as_sung(sheet: LeadSheet, tuning: Tuning) -> tuple[TimedNote, ...]:
    """The melody as the tuning has it: with the note of its name in the chord under its beginning, or as spelled."""
    begin = [timed.onset for timed in sheet.chords]
    sung = []
    for note in sheet.melody:
        under = bisect_right(begin, note.onset) - 1
        name = note.note
        found = name.within(tuning)
        if under >= 0 and sheet.chords[under].end > note.onset:
            found = _with_its_namesake(name, found, sheet.chords[under].chord, tuning)
        sung.append(note if found == name else replace(note, note=found))
    return tuple(sung)


def _with_its_namesake(name: Note, found: Note, chord: Chord, tuning: Tuning) -> Note:
    """A note as the note of a chord sounds that has its name, in its own octave; as it was found if there is none."""
    for written, sounding in zip(chord.notes, chord.notes_in(tuning), strict=True):
        if (written.letter, written.half_sharps, written.steps) == (name.letter, name.half_sharps, name.steps):
            return replace(sounding, octave=name.octave + sounding.octave - written.octave)
    return found


def _columns(sheet: LeadSheet, melody: Sequence[TimedNote], tuning: Tuning, taste: Taste) -> list[_Column]:
    """The realisations of every chord of a tune; chords that are alike in all that counts share theirs."""
    last = len(sheet.chords) - 1
    return [
        _weighed(timed.chord, heard, tuning, taste, i == (0 if taste.drift else last))
        for i, (timed, heard) in enumerate(zip(sheet.chords, _heard(sheet, melody, tuning), strict=True))
    ]


def _heard(sheet: LeadSheet, melody: Sequence[TimedNote], tuning: Tuning) -> list[frozenset[int]]:
    """For each chord of a tune the degrees of the melody's notes that sound while it does."""
    begin, end = [note.onset for note in melody], [note.end for note in melody]
    degrees = [note.note.step(tuning) % len(tuning) for note in melody]
    return [
        frozenset(degrees[bisect_right(end, timed.onset) : bisect_left(begin, timed.end)]) for timed in sheet.chords
    ]


def _drifts(sheet: LeadSheet, tuning: Tuning, taste: Taste) -> list[tuple[int, ...]]:
    """For each chord after the first, as how many steps it counts if its root drifts by 0, 1, 2 ... from the last.

    A drift is counted in small steps, as `_Column.voices` has it. Empty where roots may not drift.
    """
    if not taste.drift:
        return []
    farther = round(_FARTHER / _of_thirty_one(tuning))
    free = (0, _DRIFTING * small_step(tuning), *[farther] * 3)
    bound = (0, *[farther] * 4)
    begin = [note.onset for note in sheet.melody]
    counts: list[tuple[int, ...]] = []
    for timed in sheet.chords[1:]:
        before = bisect_left(begin, timed.onset) - 1
        held = before >= 0 and sheet.melody[before].end > timed.onset
        counts.append(bound if held and not taste.clashes else free)
    return counts


@lru_cache(maxsize=1024)
def _weighed(chord: Chord, melody: frozenset[int], tuning: Tuning, taste: Taste, in_place: bool) -> _Column:
    """All realisations of a chord, its root in place or not, with what each costs alone."""
    variants, unit = _variants(chord, tuning), small_step(tuning)
    smoothest = float(variants[0].roughness[0])
    places = (0,) if in_place or not unit else _WANDERING if taste.drift else _NEARBY
    keys, voices, costs = [], [], []
    for number, variant in enumerate(variants):
        by_taste = (
            (_PER_ALTERATION * (1 - taste.adventure) - _REWARD * taste.adventure) * variant.altered
            - _COLOUR * taste.colour * (variant.colour * _of_thirty_one(tuning))
            + _PER_CENT_OFF * variant.purity
            + _PER_BIT * (variant.complexity - variants[0].complexity)
        )
        alone = by_taste + _ROUGHNESS * (variant.roughness / smoothest - 1)
        count = len(variant.layouts)
        for place in places:
            shift = place * unit
            clashes = _clashes(variant, 0 if taste.drift else shift, melody)
            away = 0.0 if taste.drift else _PER_SHIFT * abs(place)
            costs.append(alone + away + (0.0 if taste.clashes else _CLASH * clashes))
            drifted = np.full((count, 1), place if taste.drift else 0, dtype=np.int16)
            voices.append(np.hstack([variant.layouts + np.int16(shift), drifted]))
            rows = np.column_stack(
                [np.full(count, number), np.arange(count), np.full(count, shift), np.full(count, clashes)]
            )
            keys.append(rows.astype(np.int16))
    return _Column(variants, np.concatenate(keys), np.concatenate(voices), np.concatenate(costs), melody, taste)


def _widest_rub(tuning: Tuning) -> int:
    """The most steps by which two notes rub against one another: 1 in thirty-one, 0 in twelve."""
    return -int(-_RUBBING * len(tuning) // CENTS_PER_OCTAVE) - 1


def _clashes(variant: _Variant, shift: int, melody: Iterable[int]) -> int:
    """How many degrees of a melody rub against a note of a chord or its bass, and are none themselves."""
    size, chord, tuning = len(variant.tuning), variant.chord, variant.tuning
    root = chord.root.within(tuning).step(tuning)
    degrees = {(root + step + shift) % size for step in chord.steps(tuning)}
    if chord.bass:
        degrees.add((variant.bass.step(tuning) + shift) % size)
    widest = _widest_rub(tuning)
    beside = {(degree + away) % size for degree in degrees for away in range(-widest, widest + 1)} - degrees
    return sum(degree in beside for degree in melody)


def _with_chords(melody: Sequence[TimedNote], chords: Sequence[RetunedChord], tuning: Tuning) -> Iterable[TimedNote]:
    """The melody gone along with the drift: each note moved as the root of the chord under its beginning is."""
    begin = [chord.written.onset for chord in chords]
    for note in melody:
        under = bisect_right(begin, note.onset) - 1
        yield replace(note, note=_shifted(note.note, chords[under].shift if under >= 0 else 0, tuning))
