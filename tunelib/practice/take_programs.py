"""What is heard of a take: as it was played, its notes as they should have been, and one note before its target.

All of it is equally loud, and the first two go at the same pace, so that a listener may flip between them anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

import numpy as np

from tunelib.hearing import LeftOut, Report
from tunelib.live import Tape, Taped, program
from tunelib.pitch import ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound import Timbre, play_along_timbres, reference_gain

LONGEST_HEARD = 60.0
"""Seconds of a take that are heard at once."""
AS_PLAYED, IN_TUNE, ONE_NOTE = "as played", "in tune", "one note"

_LONGEST_NOTE, _SHORTEST_TARGET = 4.0, 0.6  # seconds
_BESIDE = 0.03  # seconds of the take that are heard before a note and after it
_PAUSE = 0.3  # seconds between a note and its target
_SHORTEST = 0.05  # seconds of a target
_VOICE = "target"


class HeardNote(NamedTuple):
    """One note of a take, followed by its target: what the player plays, and the take's moments at which either begins.

    The target begins with the second `again` of what is played.
    """

    program: bytes
    begins: float
    onset: float
    again: float

    def moment(self, seconds: float) -> float:
        """Where in the take it is, after so many seconds."""
        return self.begins + seconds if seconds < self.again else self.onset + seconds - self.again


def as_played(tape: Tape) -> bytes:
    """A tape from its beginning to its end."""
    return program(Score(()), {}, taped=[Taped(tape, 0.0, tape.begins, tape.seconds)])


def in_tune(report: Report, tape: Tape) -> bytes:
    """The notes of a tape as they should have been, at the moments at which they were played.

    What the whole take is off is left as it is. What was left out is there as well, and what was added is not; nothing,
    if there is no note to be heard.
    """
    score = target_score(report, tape.begins, tape.begins + tape.seconds if tape.goes_on else math.inf)
    if not score.notes:
        return b""
    timbre = target_timbre(report)
    return program(score, timbre, reference_gain(score, timbre))


def one_note(report: Report, index: int, tape: Tape) -> HeardNote:
    """One note of a take, which the tape has, and where it should be."""
    note = report.notes[index]
    begins = max(tape.begins, note.onset - _BESIDE)
    ends = min(note.offset + _BESIDE, note.onset + _LONGEST_NOTE, tape.begins + tape.seconds)
    again = ends - begins + _PAUSE
    lasts = max(_SHORTEST_TARGET, min(note.offset - note.onset, _LONGEST_NOTE))
    score = Score((ScoreNote(again, lasts, target_hertz(report, note.target), voice=_VOICE),), tempo=60)
    timbre = target_timbre(report)
    taped = [Taped(tape, 0.0, begins, ends - begins)]
    return HeardNote(program(score, timbre, reference_gain(score, timbre), taped=taped), begins, note.onset, again)


def target_timbre(report: Report) -> Timbre:
    """What the targets are played with: something like the player's instrument that holds a note."""
    return play_along_timbres(report.player)["guide"]


def target_hertz(report: Report, target: int) -> float:
    """Where a note should be, the take being tuned as it is."""
    off = report.offset.cents if report.offset else 0.0
    return report.targets.hertz[target] * float(ratio_from_cents(off))


def target_score(report: Report, begin: float, end: float) -> Score:
    """The notes as they should have been, from one moment of a take to another, one beat to the second."""
    notes = [
        ScoreNote(
            max(0.0, onset - begin), min(offset, end) - max(onset, begin), target_hertz(report, target), voice=_VOICE
        )
        for onset, offset, target in sorted(_placed(report))
        if min(offset, end) - max(onset, begin) >= _SHORTEST
    ]
    return Score(tuple(notes), tempo=60)


def _placed(report: Report) -> Iterator[tuple[float, float, int]]:
    """Onset, offset and target of every note that was to be played; a note that was left out has its share of the time
    from the one before to the one after."""
    ends = [note.offset for note in report.notes]
    usual = float(np.median([note.offset - note.onset for note in report.notes]))
    for before, group in groupby(report.left_out, key=lambda one: one.before):
        missing: list[LeftOut] = list(group)
        if before == len(report.notes):
            first, step = ends[-1], usual
        elif before == 0:
            step = min(usual, report.notes[0].onset / len(missing))
            first = report.notes[0].onset - step * len(missing)
        else:
            after, last = report.notes[before].onset, report.notes[before - 1]
            step = max((after - last.onset) / (len(missing) + 1), (after - last.offset) / len(missing))
            first = after - step * len(missing)
            ends[before - 1] = min(ends[before - 1], first)
        for number, one in enumerate(missing):
            yield first + step * number, first + step * (number + 1), one.target
    for note, offset in zip(report.notes, ends, strict=True):
        if note.outcome != "added":
            yield note.onset, offset, note.target
