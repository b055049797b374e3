"""Retuning a whole tune: for every chord one of its realisations in a tuning, over the path that is best overall.

What is written is meant (`tunelib.harmony.meant`). A chord can be realised in many ways all the same: the taste for
adventure lets its degrees go to neighbouring families, a minor seventh to the harmonic one (`tunelib.harmony.variants`
says which, and in which order), if the tuning tells the two apart; and its notes can be laid out in many ways
(`tunelib.harmony.comping_layouts`). Without any adventure it has the notes that its symbol spells.

Each realisation has a cost by itself (how impure, how complex and how rough it is, how far it departs from what is
written, whether it is to the player's taste, how well it is laid out), and each pair of neighbours a cost between them:
how far the voices move, and whether a seventh goes where it wants to (`tunelib.harmony.candidates`). The choice with
the least total is found exactly (`tunelib.harmony.best_path`), under two conditions that every player would make: a
repeat is played alike, and one symbol is tuned alike throughout the tune, unless a note of the melody would rub against
it. Where the tune jumps back, the join is weighed as well: the chord to which it leads stays as it is found, and the
way to it is laid out anew.

Roots stay where they are written. If they may *drift*, one may move by a small step where this saves more than it
costs. That step is the comma 81/80 where the tuning has one, as 41 and 53 steps do; in a meantone, where that vanishes,
it is the diesis by which three major thirds miss the octave, one step of thirty-one. Twelve has neither.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tunelib.harmony.best_path import Indices, Search, cheapest, one_tuning_a_symbol
from tunelib.harmony.candidates import Candidates, candidates, moving, named, shifted, voices_moved
from tunelib.harmony.choices import NO_CHOICES, Choice, Choices
from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import Sign, heard_signs, signs
from tunelib.harmony.pair_roughness import chord_roughness
from tunelib.harmony.plain_names import notes_before, plainest_name
from tunelib.harmony.playable import playable_division
from tunelib.harmony.reasons import why
from tunelib.harmony.taste import Taste
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.harmony.variants import Variant
from tunelib.pitch import Note, Tuning, readable, shortened

_CHORDS_BETWEEN_TELLING = 100
_SHARE_OF_SEARCH = 0.8  # of the time that retuning takes


@dataclass(frozen=True)
class RetunedChord:
    """One chord of a retuned tune.

    Parameters
    ----------
    written : TimedChord
    meant : Chord
        As it is written, in one spelling with the melody.
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
    by_hand : bool
        Whether a player chose it.
    why : str
        What was chosen and what was given up, in one sentence with numbers.
    """

    written: TimedChord
    meant: Chord
    chord: Chord
    shift: int
    notes: tuple[Note, ...]
    purity: float
    roughness: float
    motion: int
    held: int
    clashes: int
    by_hand: bool
    why: str

    @property
    def changed(self) -> bool:
        """Whether it sounds other notes than are meant."""
        return self.chord != self.meant


@dataclass(frozen=True)
class Solved:
    """What the search was given and what came of it, sign by sign in the order in which they are first played."""

    signs: tuple[Sign, ...]
    candidates: tuple[Candidates, ...]
    search: Search
    path: tuple[int, ...]
    allowed: tuple[Indices, ...]

    @cached_property
    def tunings(self) -> dict[int, int]:
        """The tuning that each symbol has in most of its places."""
        found: dict[int, Counter[int]] = {}
        for symbol, one, chosen in zip(self.search.symbols, self.candidates, self.path, strict=True):
            found.setdefault(symbol, Counter())[int(one.column.tunings[chosen])] += 1
        return {symbol: counter.most_common(1)[0][0] for symbol, counter in found.items()}

    @cached_property
    def place_of(self) -> dict[int, int]:
        """Where the sign of each number is."""
        return {sign.number: place for place, sign in enumerate(self.signs)}


@dataclass(frozen=True)
class RetunedTune:
    """A retuned tune: its chords in order, its melody as it sounds, and its cost in points.

    `choices` are the player's; `solved` is what the search knew, which `tunelib.harmony.alternatives` asks again.
    """

    sheet: LeadSheet
    tuning: Tuning
    taste: Taste
    choices: Choices
    chords: tuple[RetunedChord, ...]
    melody: tuple[TimedNote, ...]
    cost: float
    solved: Solved = field(repr=False, compare=False)


def retune(
    sheet: LeadSheet,
    tuning: Tuning,
    taste: Taste | None = None,
    choices: Choices = NO_CHOICES,
    progress: Callable[[float], None] | None = None,
) -> RetunedTune:
    """Retune a tune: the realisations whose costs, alone and between neighbours, are least in total.

    Parameters
    ----------
    sheet : LeadSheet
    tuning : Tuning
        An equal division of the octave from 12 to 72 steps whose notes have letters.
    taste : Taste, optional
    choices : Choices, optional
        What the player has decided by hand: the rest is worked out around it.
    progress : function, optional
        Called now and then with the share of the work done, from 0 to 1.

    Time and memory grow in proportion to the number of chords; time also with that of the symbols whose places ask for
    different tunings. Raises ValueError for another tuning; for anything but a LeadSheet, a Taste and Choices; and for
    a choice that names no chord of the tune, or notes that its chord does not have.

    >>> from tunelib.harmony import parse_lead_sheet
    >>> from tunelib.pitch import equal
    >>> sheet = parse_lead_sheet("| Dm7 | G7 | Cmaj7 | Cmaj7 |")
    >>> [[chord.chord.symbol for chord in retune(sheet, equal(steps)).chords] for steps in (12, 31)]
    [['Dm7', 'G7', 'Cmaj7', 'Cmaj7'], ['Dm7', 'Gharm7', 'Cmaj7', 'Cmaj7']]
    """
    taste = Taste() if taste is None else taste
    if not isinstance(sheet, LeadSheet) or not isinstance(taste, Taste) or not isinstance(choices, Choices):
        raise ValueError(
            f"retune takes a LeadSheet, a Taste and Choices, not {shortened(sheet)}, {shortened(taste)} and "
            f"{shortened(choices)}"
        )
    playable_division(tuning)
    tell = progress or (lambda share: None)
    heard, melody = heard_signs(sheet, tuning)
    _refuse_unknown(choices, heard)
    decided = [choice_for(sign, choices) for sign in heard]
    found = []
    for i, (sign, choice) in enumerate(zip(heard, decided, strict=True)):
        if i % _CHORDS_BETWEEN_TELLING == 0:
            tell(_SHARE_OF_SEARCH / 2 * i / len(heard))
        found.append(candidates(sign, choice, tuning, taste, first=sign.follows < 0))
    search = _search(heard, found, choices, moving(tuning, taste.drift))
    path, cost, allowed = one_tuning_a_symbol(search, lambda share: tell(_SHARE_OF_SEARCH * (1 + share) / 2))
    search, path, joins, allowed = _joined(search, path, allowed, _jumps(sheet, heard))
    cost = cost if joins is None else joins
    solved = Solved(tuple(heard), tuple(found), search, tuple(path), tuple(allowed))
    chords = _chords(
        sheet, solved, decided, taste, lambda share: tell(_SHARE_OF_SEARCH + (1 - _SHARE_OF_SEARCH) * share)
    )
    chords = _resolving(chords, signs(sheet), tuning)
    if taste.drift:
        melody = tuple(_with_chords(melody, chords, tuning))
    return RetunedTune(sheet, tuning, taste, choices, tuple(chords), melody, cost, solved)


def choice_for(sign: Sign, choices: Choices) -> Choice | None:
    """What a player has decided for a sign: for it alone, or for its symbol."""
    if sign.number in choices.chords:
        return choices.chords[sign.number]
    chord = choices.symbols.get(sign.timed.chord.symbol) if choices.symbols else None
    return None if chord is None else Choice(chord)


def _refuse_unknown(choices: Choices, heard: Sequence[Sign]) -> None:
    numbers, symbols = {sign.number for sign in heard}, {sign.timed.chord.symbol for sign in heard if choices.symbols}
    for number in choices.chords:
        if number not in numbers:
            raise ValueError(
                f"a choice is for chord sign {number}, and the tune has signs {min(numbers)} to {max(numbers)}"
            )
    for symbol in choices.symbols:
        if symbol not in symbols:
            raise ValueError(f"a choice is for {shortened(symbol)}, which the tune does not have")


def _search(
    heard: Sequence[Sign], found: Sequence[Candidates], choices: Choices, move: Callable[..., npt.NDArray[np.float64]]
) -> Search:
    """The tune for the search: what is written and meant alike is one symbol; what was chosen for a sign is its own."""
    place_of = {sign.number: place for place, sign in enumerate(heard)}
    numbered: dict[object, int] = {}
    symbols = []
    for sign in heard:
        key = sign.number if sign.number in choices.chords else (sign.timed.chord, sign.meant)
        symbols.append(numbered.setdefault(key, len(numbered)))
    before = [place_of[sign.follows] if sign.follows >= 0 else -1 for sign in heard]
    return Search([one.column for one in found], before, symbols, move)


def _jumps(sheet: LeadSheet, heard: Sequence[Sign]) -> list[tuple[int, int]]:
    """Where the tune goes from one chord to another that was played before: the places of both, each pair once."""
    place_of = {sign.number: place for place, sign in enumerate(heard)}
    follows = {sign.number: sign.follows for sign in heard}
    pairs = pairwise(signs(sheet))
    return [(place_of[before], place_of[after]) for before, after in dict.fromkeys(pairs) if follows[after] != before]


def _joined(
    search: Search, path: list[int], allowed: list[Indices], jumps: Sequence[tuple[int, int]]
) -> tuple[Search, list[int], float | None, list[Indices]]:
    """The search and its result with what the jumps cost; no new cost where there are none.

    Each chord that is jumped to keeps its realisation. What it costs to get there is then a cost of the last chord
    before the jump alone, and the cheapest choice of all others is found with it.
    """
    if not jumps:
        return search, path, None, allowed
    columns, fixed = list(search.columns), list(allowed)
    for before, after in jumps:
        fixed[after] = np.array([path[after]])
        join = search.moving(search.columns[before], search.columns[after])[path[after]]
        columns[before] = replace(columns[before], costs=columns[before].costs + join)
    joined = replace(search, columns=columns)
    found, cost = cheapest(joined, fixed)
    return joined, found, cost, fixed


def _chords(
    sheet: LeadSheet,
    solved: Solved,
    decided: Sequence[Choice | None],
    taste: Taste,
    tell: Callable[[float], None],
) -> list[RetunedChord]:
    place_of = solved.place_of
    first: dict[int, tuple[tuple[Note, ...], float]] = {}
    chords: list[RetunedChord] = []
    before: list[int] | None = None
    for i, (timed, number) in enumerate(zip(sheet.chords, signs(sheet), strict=True)):
        if i % _CHORDS_BETWEEN_TELLING == 0:
            tell(i / len(sheet.chords))
        place = place_of[number]
        one, chosen = solved.candidates[place], solved.path[place]
        voices = one.column.voices[chosen][: one.column.counts[chosen]].tolist()
        variant, _, shift = one.which[chosen].tolist()
        if place not in first:
            steps = np.array([note.step(one.tuning) - shift for note in one.notes(chosen)])
            first[place] = one.notes(chosen), float(chord_roughness(steps, one.tuning))
        notes, rough = first[place]
        moves = voices_moved(before, voices) if before is not None else None
        chord = one.variants[variant].chord
        if shift:
            chord = plainest_name(chord.on(shifted(chord.root, shift, one.tuning)), one.tuning, sheet.key)
            notes = (
                readable(notes[0], one.tuning),
                *named(chord, (note.step(one.tuning) for note in notes[1:]), one.tuning),
            )
        chords.append(
            RetunedChord(
                timed,
                solved.signs[place].meant,
                chord,
                shift,
                notes,
                one.variants[variant].purity,
                rough,
                0 if moves is None else sum(moves),
                0 if moves is None else moves.count(0),
                one.clashes[variant],
                decided[place] is not None,
                why(solved.signs[place], one, chosen, moves, decided[place], taste, _elsewhere(solved, place)),
            )
        )
        before = voices
    return chords


def _elsewhere(solved: Solved, place: int) -> Variant | None:
    """How the symbol of a sign is tuned in most of its places, if the melody keeps it from being so here."""
    one, own = solved.candidates[place], int(solved.candidates[place].column.tunings[solved.path[place]])
    most = solved.tunings[solved.search.symbols[place]]
    return None if own == most or most in one.column.clean else one.variants[most]


def _resolving(chords: list[RetunedChord], numbers: Sequence[int], tuning: Tuning) -> list[RetunedChord]:
    """The chords with their sevenths spelled as they resolve; a sign that is played again, as it is the first time."""
    spelled: dict[int, dict[int, Note]] = {}
    for number, chord, after in zip(numbers, chords, [*(other.chord for other in chords[1:]), None], strict=True):
        if number not in spelled:
            own = set(chord.chord.notes_in(tuning))
            names = (note for note in notes_before(chord.chord, after, tuning) if note not in own)
            spelled[number] = {note.step(tuning) % len(tuning): note for note in names}
    pairs = zip(chords, numbers, strict=True)
    return [replace(chord, notes=_named(chord.notes, spelled[number], tuning)) for chord, number in pairs]


def _named(notes: tuple[Note, ...], names: Mapping[int, Note], tuning: Tuning) -> tuple[Note, ...]:
    """Notes by other names, given by their steps within the octave."""
    pairs = [(note.step(tuning), note) for note in notes]
    return tuple(names.get(step % len(tuning), note).at_step(step, tuning) for step, note in pairs)


def _with_chords(melody: Sequence[TimedNote], chords: Sequence[RetunedChord], tuning: Tuning) -> Iterable[TimedNote]:
    """The melody gone along with the drift: each note moved as the root of the chord under its beginning is."""
    begin = [chord.written.onset for chord in chords]
    for note in melody:
        under = bisect_right(begin, note.onset) - 1
        moved = shifted(note.note, chords[under].shift if under >= 0 else 0, tuning)
        yield replace(note, note=readable(moved, tuning))
