"""A take held beside what was to be played: which note is which, and how each of them was.

`best_story` tells them apart. How far the whole take is from its notes is found with it: a few offsets that would bring
the pitches of the take onto those intended, in this octave or another, are tried at the beginning of the take, the one
with the cheapest story is taken, and then the median of what is left over, until it stays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tunelib.hearing.attacks import Attacks
from tunelib.hearing.best_story import SPREAD, Step, WeighedStretch, best_story
from tunelib.hearing.heard_notes import HeardNote, heard_note
from tunelib.hearing.intended import Intended
from tunelib.hearing.level_pieces import LevelPieces
from tunelib.hearing.piece_ends import BRIDGED_GAP, SHORTEST_PIECE, held
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.swings import slides
from tunelib.pitch import FloatArray

WRONG_FROM = 35.0
"""Cents off, after the common offset, from which a note is called wrong: all but a step of thirty-one."""

_FARTHEST, _OFFSET_SPREAD, _OCTAVES, _OCTAVE_PRICE = 70.0, 40.0, 2, 4.0  # cents, cents, either way, nats
_BIN, _TRIED, _HEAD = 5.0, 4, 30.0  # cents, offsets, seconds of the take that they are tried on
_SETTLED, _ROUNDS, _COUNTED = 3.0, 3, 0.5  # cents, times, seconds of a note that count
_JOINED = 0.060  # seconds
_RINGING, _STRUCK = 8.0, 7.0  # decibels below the note before it; nats
_DIED_AWAY = 12.0  # decibels below the loudest moment of a note
_SHORT, _INSIDE = 0.2, (0.3, 0.9)  # seconds: so short a note has the pitch of this part of it, and a slide leads to one
_FEW_SWINGS, _SWINGS = 0.7, 10.0  # seconds, cents: a longer one that moves has that in the middle of its swings
_SCOOP_SECONDS, _LEAST_SCOOP = 0.05, 15.0  # cents


@dataclass(frozen=True)
class Playing:
    """A note as it was played.

    Parameters
    ----------
    intended : int or None
        Which of the intended notes, from 0; None for one that was added.
    heard : HeardNote
        As it was heard; its pitch is the middle of its vibrato.
    off : float
        Cents above the intended note; 0 for an added one.
    wrong : bool
        Whether it is another note, by `WRONG_FROM`.
    scoop : float
        Cents from its pitch at which it began, below it if negative; 0 for none, or if it was slurred to.
    """

    intended: int | None
    heard: HeardNote
    off: float
    wrong: bool
    scoop: float


@dataclass(frozen=True)
class Alignment:
    """What became of every intended note.

    Parameters
    ----------
    intended : Intended
    offset : float
        How far all of the take is above what was intended, in cents: a common offset, such as that of an instrument
        tuned sharp, or of one that sounds an octave lower.
    playings : tuple of Playing
        In the order of time.
    cost : float
        Of the story, in nats; less is likelier.
    """

    intended: Intended
    offset: float
    playings: tuple[Playing, ...]
    cost: float

    @cached_property
    def of(self) -> tuple[tuple[Playing, ...], ...]:
        """The playings of each intended note: one as a rule, none if it was left out, several if it came again."""
        found: list[list[Playing]] = [[] for _ in self.intended.notes]
        for playing in self.playings:
            if playing.intended is not None:
                found[playing.intended].append(playing)
        return tuple(map(tuple, found))

    @property
    def outcomes(self) -> tuple[str, ...]:
        """Of each intended note ``"played"``, ``"wrong"`` (if it never came right) or ``"left out"``."""
        return tuple(
            "left out" if not playings else "wrong" if all(one.wrong for one in playings) else "played"
            for playings in self.of
        )

    @property
    def added(self) -> tuple[Playing, ...]:
        """What was played beside."""
        return tuple(playing for playing in self.playings if playing.intended is None)


def align(track: PitchTrack, attacks: Attacks | None, intended: Intended) -> Alignment:
    """Tell which of the notes that were to be played is where in a take, and how it was played.

    Parameters
    ----------
    track : PitchTrack
        With evenly spaced times.
    attacks : Attacks, optional
        What speaks for a note being struck, frame by frame; without it a note that comes again is told only after a
        silence.
    intended : Intended

    Returns an Alignment; of a track without pitch, one in which everything was left out.
    """
    hop = float(np.median(np.diff(track.times))) if track.times.size > 1 else 0.010
    attacks = attacks or Attacks(*np.zeros((2, track.times.size)))
    cents = np.full(track.hertz.size, np.nan, dtype=np.float64)
    voiced = np.flatnonzero(np.isfinite(track.hertz))
    cents[voiced] = 1200 * np.log2(track.hertz[voiced])
    stretches = []
    for run in np.split(voiced, np.flatnonzero(np.diff(voiced) * hop > BRIDGED_GAP + hop / 2) + 1):
        if run.size * hop >= SHORTEST_PIECE:
            every = np.arange(run[0], run[-1] + 1)
            cents[every] = np.interp(every, run, cents[run])
            stretches.append(WeighedStretch(int(run[0]), cents[every], attacks.worth[every], hop))
    targets = np.array(intended.cents)
    head = _head(stretches, round(_HEAD / hop))
    offset = _likeliest_offset(head, cents[voiced], targets)
    _, _, offset = _settled(head, targets, offset, hop)
    cost, steps, offset = _settled(stretches, targets, offset, hop)
    playings = tuple(_playings(steps, track, cents, attacks, targets, offset, hop))
    return Alignment(intended, offset, playings, cost)


def _head(stretches: list[WeighedStretch], frames: int) -> list[WeighedStretch]:
    """The beginning of a take, so many frames that have a pitch."""
    head = []
    for stretch in stretches:
        if frames > 0:
            head.append(stretch.head(frames))
            frames -= int(stretch.at[-1])
    return head


def _settled(
    stretches: list[WeighedStretch], targets: FloatArray, offset: float, hop: float
) -> tuple[float, list[Step], float]:
    """The cheapest story and the offset that follows from it, found in turns until they agree."""
    for _ in range(_ROUNDS):
        cost, steps = best_story(stretches, targets + offset)
        away = [(step.level - targets[step.note], step.end - step.first) for step in steps if step.kind == "played"]
        before, offset = offset, _weighted_median(np.array(away), _COUNTED / hop) if away else offset
        if abs(before - offset) < _SETTLED:
            break
    return cost, steps, offset


def _weighted_median(away: FloatArray, most: float) -> float:
    """Median of the first column, weighed by the second up to a bound."""
    order = np.argsort(away[:, 0])
    weight = np.cumsum(np.minimum(away[order, 1], most))
    return float(away[order[np.searchsorted(weight, weight[-1] / 2)], 0])


def _likeliest_offset(stretches: list[WeighedStretch], heard: FloatArray, targets: FloatArray) -> float:
    """The offset whose story is cheapest, of those that bring the pitches that were heard onto what was intended."""
    if not heard.size:
        return 0.0
    fine = np.arange(-_FARTHEST, _FARTHEST + _BIN / 2, _BIN)
    octaves = np.arange(-_OCTAVES, _OCTAVES + 1)
    tried = (1200.0 * octaves[:, np.newaxis] + fine).ravel()
    price = (_OCTAVE_PRICE * np.abs(octaves)[:, np.newaxis] + 0.5 * (fine / _OFFSET_SPREAD) ** 2).ravel()
    values, counts = np.unique(np.rint(heard / _BIN), return_counts=True)
    known = np.unique(targets)
    fits = np.empty(tried.size)
    for i, offset in enumerate(tried.tolist()):
        place = values * _BIN - offset
        after = np.clip(np.searchsorted(known, place), 1, known.size - 1) if known.size > 1 else np.zeros(1, int)
        away = np.minimum(np.abs(place - known[after]), np.abs(place - known[after - 1]))
        fits[i] = counts @ np.exp(-0.5 * (away / SPREAD) ** 2)
    chosen: list[int] = []
    for i in np.argsort(price - 20 * fits / heard.size, kind="stable").tolist():
        if len(chosen) < _TRIED and all(abs(tried[i] - tried[j]) > SPREAD for j in chosen):
            chosen.append(i)
    stories = [best_story(stretches, targets + tried[i])[0] + price[i] for i in chosen]
    return float(tried[chosen[int(np.argmin(stories))]])


def _playings(
    steps: list[Step],
    track: PitchTrack,
    cents: FloatArray,
    attacks: Attacks,
    targets: FloatArray,
    offset: float,
    hop: float,
) -> list[Playing]:
    """The notes of a story, each measured."""
    found: list[Playing] = []
    last = slice(0, 0)
    for lead, rows in _notes(steps, cents, hop):
        comes_again = bool(found) and found[-1].intended == rows[0].note
        if (rows[0].kind == "added" or comes_again) and _rings_on(rows[0], last, attacks, hop):
            continue
        heard = _measured(np.arange(rows[0].first, rows[-1].end), track, cents, attacks.level_db, hop)
        level = 1200 * math.log2(heard.hertz)
        note = None if rows[0].kind == "added" else rows[0].note
        off = 0.0 if note is None else level - float(targets[note])
        wrong = note is not None and (rows[0].kind == "wrong" or abs(off - offset) >= WRONG_FROM)
        began = float(np.median(cents[lead : lead + max(1, round(_SCOOP_SECONDS / hop))])) - level
        scooped = (lead - last.stop) * hop > _JOINED and abs(began) >= _LEAST_SCOOP
        found.append(Playing(note, heard, off, wrong, began if scooped else 0.0))
        last = slice(rows[0].first, rows[-1].end)
    return found


def _rings_on(step: Step, last: slice, attacks: Attacks, hop: float) -> bool:
    """Whether a piece is what rings on after the note before it, whose frames are `last`."""
    near = (step.first - last.stop) * hop <= _JOINED
    struck = attacks.worth[step.first : step.end].max(initial=0.0) >= _STRUCK
    levels = attacks.level_db
    faint = near and np.median(levels[step.first : step.end]) < np.median(levels[last]) - _RINGING
    return bool(faint and not struck)


def _measured(
    frames: npt.NDArray[np.intp], track: PitchTrack, cents: FloatArray, level_db: FloatArray, hop: float
) -> HeardNote:
    """A note of some frames, measured on those in which it is held and has not died away."""
    first, end = frames[0], frames[-1]
    kept = frames[(level_db[frames] > level_db[frames].max() - _DIED_AWAY) & held(cents[frames], hop)]
    kept = kept if kept.size * hop >= SHORTEST_PIECE / 2 else frames
    heard = heard_note(track.times[kept], cents[kept], track.confidence[kept], hop)
    if (frames.size - 1) * hop < _SHORT:
        inside = kept[int(_INSIDE[0] * kept.size) : math.ceil(_INSIDE[1] * kept.size)]
        settled = float(np.median(cents[inside]))
        heard = replace(heard, hertz=float(2 ** (settled / 1200)))
    elif kept.size * hop < _FEW_SWINGS and heard.cents_spread > _SWINGS:
        every = np.arange(kept[0], kept[-1] + 1)
        pieces = LevelPieces(cents[every], hop, np.isin(every, kept).astype(float))
        level = pieces.costs(every.size, np.zeros(1, dtype=np.intp))[1]
        heard = replace(heard, hertz=float(2 ** (level[0] / 1200)))
    return replace(heard, onset=max(0.0, float(track.times[first]) - hop / 2), offset=float(track.times[end]) + hop / 2)


def _notes(steps: list[Step], cents: FloatArray, hop: float) -> list[tuple[int, list[Step]]]:
    """The pieces of each note in a story, with the frame where the passage that leads into it begins."""
    found: list[tuple[int, list[Step]]] = []
    lead: int | None = None
    for step in steps:
        frames = np.arange(step.first, step.end)
        sliding = step.kind == "added" and frames.size * hop < _SHORT and slides(cents[frames])
        if step.kind == "passage" or sliding:
            lead = step.first if lead is None else lead
            continue
        if step.kind == "goes on" and found and (step.first - found[-1][1][-1].end) * hop <= _JOINED:
            last = found[-1][1]
            if last[-1].kind == "wrong" and last[-1].note == step.note:  # put right: what came before it was added
                last[-1] = last[-1]._replace(kind="added")
            elif last[-1].kind in ("played", "goes on") and last[-1].note == step.note:
                last.append(step)
                lead = None
                continue
        found.append((step.first if lead is None else lead, [step]))
        lead = None
    return found
