"""How well a player is in tune: the notes of a take, each measured against its target, and what they have in common.

Nothing here judges a player: the figures say what was played, not whether it was meant.

Conventions: deviations are in cents, heard minus target, so a positive one is sharp. Times are in seconds from the
beginning of the take. Names are those that the player reads.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tunelib.hearing.common_offset import Offset
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.targets import Targets
from tunelib.hearing.tendencies import Tendency, tendencies
from tunelib.pitch import FloatArray, Instrument, Note, aligned, cents, flat_or_sharp, listed, plain, signed, times

WITHIN = (5.0, 10.0, 20.0)  # cents: the shares that a summary gives
LONG_TAKE = 30  # notes: of a longer take, a table has only those furthest off
FURTHEST = 5  # so many of them
FEWEST_FOR_A_MEAN = 3  # notes
OUTCOMES = ("played", "again", "wrong", "added")

_MANY = 20  # notes: the shares of fewer are said in figures
_CLOSE_TARGETS = 60.0  # cents apart: from there on down, a report says what nearness is worth


@dataclass(frozen=True)
class TakenNote:
    """One note of a take against its target.

    `target` is the index among the targets; `off` how far the note was above it; `spread`, `drift` (from start to end)
    and `vibrato` (width from crest to trough, 0 if there is none) are in cents, `vibrato_rate` in hertz.
    `outcome` is ``"played"``; where it is known what was to be played, also ``"again"`` for a note that is repeated,
    ``"wrong"`` for another than `target`, and ``"added"`` for one that was not to be played.
    """

    onset: float
    offset: float
    hertz: float
    target: int
    off: float
    spread: float
    drift: float
    vibrato: float
    vibrato_rate: float
    confidence: float
    outcome: str = "played"


class LeftOut(NamedTuple):
    """A note that was to be played and was not: its target, and the index of the note that was played next."""

    target: int
    before: int


@dataclass(frozen=True)
class Summary:
    """A take as a whole, in cents, beside its common offset; notes that are wrong or added are left aside.

    `mean` and root of the mean square `rms` of how far the notes are off; `steady` is the root mean square about the
    mean; `worst` is the index of the note furthest off; `within` gives the share of notes within each of `WITHIN`;
    `hold` is the spread within a note that half of the notes do not exceed.
    """

    mean: float
    rms: float
    steady: float
    worst: int
    within: tuple[float, ...]
    hold: float


@dataclass(frozen=True)
class Report:
    """What was heard in a take: the notes against their targets, warnings, and its pitch over time.

    `offset` is what the take is off as a whole; each note's `off` has it in, and `away` has not. `left_out` are notes
    that were to be played and were not. Raises ValueError unless there is a note, and every outcome is known.
    """

    targets: Targets
    player: Instrument | None
    seconds: float
    notes: tuple[TakenNote, ...]
    warnings: tuple[str, ...]
    track: PitchTrack
    offset: Offset | None = None
    left_out: tuple[LeftOut, ...] = ()

    def __post_init__(self) -> None:
        if not self.notes:
            raise ValueError("a report is of one note at least")
        for note in self.notes:
            if note.outcome not in OUTCOMES:
                raise ValueError(f"the outcome of a note is one of {', '.join(OUTCOMES)}, not {note.outcome!r}")

    @cached_property
    def away(self) -> FloatArray:
        """How far each note is off beside the common offset, in cents; shape (notes,)."""
        return np.array([note.off for note in self.notes]) - (self.offset.cents if self.offset else 0.0)

    @cached_property
    def counted(self) -> tuple[int, ...]:
        """The indices of the notes that were meant as their targets; of all, where none was."""
        meant = tuple(i for i, note in enumerate(self.notes) if note.outcome in ("played", "again"))
        return meant or tuple(range(len(self.notes)))

    @cached_property
    def furthest(self) -> tuple[int, ...]:
        """The indices of the notes that count, the one furthest off first."""
        return tuple(sorted(self.counted, key=lambda i: -abs(self.away[i])))

    @cached_property
    def summary(self) -> Summary:
        """The take as a whole."""
        off = self.away[list(self.counted)]
        return Summary(
            mean=float(off.mean()),
            rms=float(np.sqrt(np.mean(off**2))),
            steady=float(off.std()),
            worst=self.furthest[0],
            within=tuple(float(np.mean(np.abs(off) <= near)) for near in WITHIN),
            hold=float(np.median([self.notes[i].spread for i in self.counted])),
        )

    @cached_property
    def tendencies(self) -> tuple[Tendency, ...]:
        """What the player does again and again."""
        notes = [self.notes[i] for i in self.counted]
        return tendencies(notes, self.away[list(self.counted)], [self.degree(note.target) for note in notes])

    def name(self, target: int) -> str:
        """A target as this player reads it, such as ``"A½♭4"``; a harmonic's number or a ratio is for all alike."""
        label = self.targets.labels[target]
        note = _as_note(label)
        return label if note is None or self.player is None else str(self.player.written(note))

    def degree(self, target: int) -> str:
        """A target's name without its octave."""
        note = _as_note(self.name(target))
        return self.name(target) if note is None else note.name

    def called(self, target: int) -> str:
        """A target in words: its name, or ``"harmonic 7 (A♭4)"`` with the nearest note that the player reads."""
        name = self.name(target)
        if _as_note(name):
            return name
        return f"{'harmonic ' if self.targets.kind == 'harmonics' else ''}{name} ({self._read(target)})"

    def written(self, target: int) -> str:
        """The note nearest to a target as this player reads it, with how far the target is from that in twelve."""
        away = self.targets.from_twelve(target)
        return f"{self._read(target)} {signed(away)}" if round(away) else str(self._read(target))

    def _read(self, target: int) -> Note:
        sounding = self.targets.notes[target]
        return self.player.written(sounding) if self.player else sounding

    def words(self) -> tuple[str, ...]:
        """The take in sentences: against what, tuned how, how near and how steady, with which habits and cautions."""
        return (
            self._heading(),
            *self._tuned(),
            *([f"Of what was to be played: {outcomes}."] if (outcomes := self.outcomes()) else []),
            *self._as_a_whole(),
            *self.habits(),
            *self._remarks(),
        )

    def habits(self) -> tuple[str, ...]:
        """What the player does again and again, the strongest habit first, in sentences."""
        return tuple(map(self._habit, self.tendencies))

    def _heading(self) -> str:
        who = f" Names are those that the {self.player.name} reads." if self.player else ""
        return (
            f"{times(len(self.notes), 'note')} in {_lasting(self.seconds)}, against {self.targets.name} "
            f"(A4 = {plain(self.targets.reference, 2)} Hz). In cents, + is sharp and − is flat.{who}"
        )

    def _tuned(self) -> list[str]:
        if self.offset is None:
            return []
        whole, other = self.offset.cents, self.offset.other
        lines = [
            f"The whole take is {flat_or_sharp(whole, 0)} ({aligned(whole)}, give or take {self.offset.sure:.1f}): "
            f"tune {'down' if whole > 0 else 'up'} by {abs(whole):.0f} cents. What follows is beside that."
        ]
        if other is not None:
            lines.append(
                f"The intervals fit as well with the take {flat_or_sharp(other, 0)} and other names for its notes: "
                "play the A by itself to be sure."
            )
        return lines

    def outcomes(self) -> str:
        """How many of the notes that were to be played became what; empty where that is not known, or all were."""
        if not self._told:
            return ""
        counts = {outcome: sum(note.outcome == outcome for note in self.notes) for outcome in OUTCOMES}
        told = {
            "played": counts["played"], "wrong": counts["wrong"], "left out": len(self.left_out),
            "repeated": counts["again"], "added": counts["added"],
        }  # fmt: skip
        return ", ".join(f"{count} {what}" for what, count in told.items() if count)

    def _as_a_whole(self) -> list[str]:
        whole = self.summary
        lines = []
        if len(self.counted) >= FEWEST_FOR_A_MEAN:
            lines.append(
                f"How near: {listed(map(self.within, range(len(WITHIN))))} cents; mean {aligned(whole.mean)} cents, "
                f"root mean square {whole.rms:.1f} ({whole.steady:.1f} about the mean)."
            )
        shaking = [note for i in self.counted if (note := self.notes[i]).vibrato]
        swing = "no vibrato"
        if shaking:
            width, rate = np.median([(note.vibrato, note.vibrato_rate) for note in shaking], axis=0)
            swing = f"vibrato in {len(shaking)}, {width:.0f} cents wide at {rate:.1f} Hz"
        return [
            *lines,
            f"How steady: the pitch of a note spreads by {whole.hold:.1f} cents; {swing}.",
            f"Furthest off: {self._cited(whole.worst)}.",
        ]

    def within(self, which: int) -> str:
        """How many notes are within one of `WITHIN`, in words: a share of many, and of few their number."""
        share, count = self.summary.within[which], len(self.counted)
        return (
            f"{share:.0%} within {WITHIN[which]:g}"
            if count >= _MANY
            else f"{share * count:.0f} within {WITHIN[which]:g}"
        )

    def _cited(self, index: int) -> str:
        note = self.notes[index]
        return (
            f"note {index + 1} at {_clock(note.onset)}, {self.called(note.target)}, {aligned(self.away[index])} cents"
        )

    def _habit(self, habit: Tendency) -> str:
        much = f"by {abs(habit.cents):.0f} cents"
        side, many = "sharp" if habit.cents > 0 else "flat", f"({habit.notes} notes)"
        if habit.kind == "degree":
            return f"Tendency: {habit.of} is {side} {much} {many}."
        if habit.kind == "course":
            return f"Tendency: the pitch {'rises' if habit.cents > 0 else 'sinks'} {much} over the take."
        if habit.kind == "drift":
            return f"Tendency: notes {'rise' if habit.cents > 0 else 'sink'} {much} from start to end."
        if habit.kind in ("high", "low"):
            way = "up" if habit.kind == "high" else "down"
            return f"Tendency: notes from {self._heard_as(float(habit.of))} {way} are {side} {much} {many}."
        return f"Tendency: {habit.kind.replace('leap', 'leaps')} land {side} {much} {many}."

    def _heard_as(self, hertz: float) -> str:
        target, _ = self.targets.nearest(hertz)
        return self.name(target)

    def _remarks(self) -> list[str]:
        indices = sorted({note.target for note in self.notes})
        gaps = cents(np.array(self.targets.hertz[1:]) / np.array(self.targets.hertz[:-1]))
        around = [gaps[i] for target in indices for i in (target - 1, target) if 0 <= i < len(gaps)]
        lines = []
        if around and min(around) < _CLOSE_TARGETS and self.targets.kind != "notes":
            lines.append(
                f"Targets are as close as {min(around):.0f} cents to each other here, "
                f"so a note may be no more than {min(around) / 2:.0f} off one of them whatever is played."
            )
        return lines + [f"Take care: {warning}." for warning in self.warnings]

    @property
    def head(self) -> tuple[str, ...]:
        """The headings of `rows`."""
        reads = f"{self.player.name} reads" if self.player else "nearest note"
        named = ("target",) if self._lettered else ("target", reads)
        told = ("",) if self._told else ()
        return (
            "note", "from s", "to s", *named, "target Hz", "heard Hz", "off", "spread", "drift", "vibrato", *told,
        )  # fmt: skip

    @cached_property
    def _lettered(self) -> bool:
        return all(_as_note(self.targets.labels[note.target]) for note in self.notes)

    @cached_property
    def _told(self) -> bool:
        return bool(self.left_out) or any(note.outcome != "played" for note in self.notes)

    def rows(self, indices: Sequence[int] | None = None) -> list[tuple[str, ...]]:
        """Notes in words and figures, those of `indices` or all; among all are those that were left out."""
        if indices is not None:
            return [self._row(index) for index in indices]
        rows = []
        for index in range(len(self.notes) + 1):
            rows += [self._missing(one.target) for one in self.left_out if one.before == index]
            rows += [self._row(index)] if index < len(self.notes) else []
        return rows

    def _row(self, index: int) -> tuple[str, ...]:
        note = self.notes[index]
        return (
            str(index + 1),
            f"{note.onset:.2f}",
            f"{note.offset:.2f}",
            *self._named(note.target),
            f"{note.hertz:.2f}",
            aligned(self.away[index]),
            f"{note.spread:.1f}",
            aligned(note.drift),
            f"{note.vibrato:.0f} at {note.vibrato_rate:.1f} Hz" if note.vibrato else "none",
            *((note.outcome,) if self._told else ()),
        )

    def _missing(self, target: int) -> tuple[str, ...]:
        return ("", "", "", *self._named(target), "", "", "", "", "", "left out")

    def _named(self, target: int) -> tuple[str, ...]:
        names = (self.name(target),) if self._lettered else (self.name(target), self.written(target))
        return *names, f"{self.targets.hertz[target]:.2f}"

    def table(self, everything: bool = False) -> str:
        """The take for reading: in sentences, then its notes; of more than thirty the five furthest off, or all."""
        short = len(self.notes) > LONG_TAKE and not everything
        rows = [self.head, *self.rows(self.furthest[:FURTHEST] if short else None)]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ["  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows]
        return "\n".join([*self.words(), "", *lines]) + "\n"

    def csv(self) -> str:
        """The notes as comma-separated values, one to a line under a line of headings, in plain numbers.

        `off_cents` is heard minus target; `away_cents` is what is left of that beside the common offset.
        """
        out = io.StringIO()
        sheet = csv.writer(out, lineterminator="\n")
        sheet.writerow(
            "note onset_s offset_s target sounding written target_hz heard_hz off_cents away_cents spread_cents "
            "drift_cents vibrato_cents vibrato_hz confidence outcome".split()
        )
        for index in range(len(self.notes) + 1):
            for one in self.left_out:
                if one.before == index:
                    sheet.writerow(["", "", "", *self._plainly(one.target), *[""] * 8, "left out"])
            if index < len(self.notes):
                note = self.notes[index]
                figures = (
                    note.hertz, note.off, float(self.away[index]), note.spread, note.drift, note.vibrato,
                    note.vibrato_rate, note.confidence,
                )  # fmt: skip
                when = (_plain(note.onset), _plain(note.offset))
                sheet.writerow([index + 1, *when, *self._plainly(note.target), *map(_plain, figures), note.outcome])
        return out.getvalue()

    def _plainly(self, target: int) -> tuple[str, ...]:
        sounding = self.targets.notes[target]
        return self.targets.labels[target], str(sounding), str(self._read(target)), _plain(self.targets.hertz[target])


def _plain(value: float) -> str:
    return f"{value:.3f}"


def _as_note(label: str) -> Note | None:
    try:
        return Note.parse(label)
    except ValueError:
        return None


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{seconds % 60:04.1f}"


def _lasting(seconds: float) -> str:
    minutes, left = divmod(round(seconds), 60)
    return f"{minutes} min {left} s" if minutes else f"{seconds:.1f} s"
