"""What else a chord of a retuned tune could be, and what that would cost: for a player who chooses by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tunelib.harmony.best_path import through
from tunelib.harmony.candidates import Candidates, candidates
from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import known_sign
from tunelib.harmony.reasons import degrees_moved
from tunelib.harmony.retune import RetunedChord, RetunedTune
from tunelib.pitch import Note, Tuning, listed, plain, times

MOST = 12
_TELLING = 0.05  # cents
_OTHER_LAYOUTS = 3  # of the chord as it is tuned now


@dataclass(frozen=True)
class Alternative:
    """One thing that a chord could be.

    Parameters
    ----------
    chord : Chord
    notes : tuple of Note
        The bass and the upper voices, rising, in the best layout that it has there.
    cost : float
        What the tune would cost more, in points, with the rest worked out around it.
    price : str
        In a musician's words what it is, beside what the chord is now.
    """

    chord: Chord
    notes: tuple[Note, ...]
    cost: float
    price: str


def alternatives(tune: RetunedTune, sign: int) -> tuple[Alternative, ...]:
    """What else a chord sign of a tune could be, what costs least first; the first is what it is now.

    Parameters
    ----------
    tune : RetunedTune
    sign : int
        As `TimedChord.sign` has it; in a tune that came from no page, the place of the chord.

    The other chords keep their tunings and are laid out anew. Also what the taste for adventure would not have tried is
    there, and other layouts of the chord as it is. Raises ValueError for a sign that the tune does not have.
    """
    solved = tune.solved
    place = solved.place_of[known_sign(sign, solved.place_of)]
    now = next(chord for chord in tune.chords if chord.written == solved.signs[place].timed)
    taste = tune.taste
    found = candidates(solved.signs[place], None, tune.tuning, taste, first=True, open_to_all=True)
    columns = [*solved.search.columns[:place], found.column, *solved.search.columns[place + 1 :]]
    search = replace(solved.search, columns=columns)
    allowed = [*solved.allowed[:place], np.arange(len(found.column.costs)), *solved.allowed[place + 1 :]]
    totals = through(search, allowed, place)
    offered = _best_of_each(found, totals, now)
    return tuple(_alternative(found, realisation, totals, tune, now) for realisation in offered)


def _best_of_each(found: Candidates, totals: np.ndarray, now: RetunedChord) -> list[int]:
    """The cheapest realisation of each variant, and other layouts of the chord as it is now, the cheapest first."""
    seen: dict[Chord, list[tuple[Note, ...]]] = {}
    offered = []
    for realisation in np.argsort(totals, kind="stable").tolist():
        chord = found.variants[int(found.which[realisation, 0])].chord
        layouts = seen.setdefault(chord, [])
        notes = found.notes(realisation)
        if notes not in layouts and len(layouts) < (_OTHER_LAYOUTS if chord == now.chord else 1):
            layouts.append(notes)
            offered.append(realisation)
    current = next((place for place in offered if _is_now(found, place, now)), None)
    if current is not None:
        offered.remove(current)
        offered.insert(0, current)
    return offered[:MOST]


def _is_now(found: Candidates, realisation: int, now: RetunedChord) -> bool:
    """Whether a realisation sounds as the chord does now, whose notes may be spelled otherwise, as they resolve."""
    here, there = found.variants[int(found.which[realisation, 0])].chord, now.chord
    notes, tuning = found.notes(realisation), found.tuning
    return (
        [note.step(tuning) for note in notes] == [note.step(tuning) for note in now.notes]
        and {note.step(tuning) % len(tuning) for note in here.notes_in(tuning)}
        == {note.step(tuning) % len(tuning) for note in there.notes_in(tuning)}
    )  # fmt: skip


def _alternative(
    found: Candidates, realisation: int, totals: np.ndarray, tune: RetunedTune, now: RetunedChord
) -> Alternative:
    number = int(found.which[realisation, 0])
    variant, notes = found.variants[number], found.notes(realisation)
    said = []
    if _is_now(found, realisation, now):
        notes = now.notes
        said.append("as it is now")
    else:
        if abs(variant.purity - now.purity) >= _TELLING:
            purer = "purer" if variant.purity < now.purity else "less pure"
            said.append(f"{purer} by {plain(abs(variant.purity - now.purity))} cents")
        said += [words.removeprefix("its ") for words in degrees_moved(now.chord, variant.chord, tune.tuning)]
        said += _voices(notes, now.notes, tune.tuning)
    if found.clashes[number]:
        said.append("rubs against the melody")
    return Alternative(variant.chord, notes, float(totals[realisation] - totals.min()), "; ".join(said))


def _voices(notes: Sequence[Note], before: Sequence[Note], tuning: Tuning) -> list[str]:
    """How the layout differs from what it is now."""
    if notes[1:] == before[1:] and notes[0] != before[0]:
        return [f"the bass is elsewhere: {notes[0]}"]
    here, there = ({note.step(tuning) for note in one[1:]} for one in (notes, before))
    moved = len(here - there)
    if not moved:
        return []
    return [f"{times(moved, 'voice')} {'is' if moved == 1 else 'are'} elsewhere: {listed(map(str, notes[1:]))}"]
