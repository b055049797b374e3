"""How well a player is in tune: the notes of a take, each measured against its target.

Nothing here judges a player: the figures say what was played, not whether it was meant.

Conventions: deviations are in cents, heard minus target, so a positive one is sharp. Times are in seconds from the
beginning of the take.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.targets import Targets
from tunelib.pitch import Instrument, Note, aligned, cents, signed

WITHIN = (5.0, 10.0, 20.0)  # cents: the shares that a summary gives

_CLOSE_TARGETS = 60.0  # cents apart: from there on down, a report says what nearness is worth


@dataclass(frozen=True)
class TakenNote:
    """One note of a take against its target.

    `target` is the index among the targets; `off` how far the note was above it; `spread`, `drift` (from start to end)
    and `vibrato` (width from crest to trough, 0 if there is none) are in cents, `vibrato_rate` in hertz.
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


@dataclass(frozen=True)
class Summary:
    """A take as a whole, in cents: mean, root of the mean square, the note furthest off, and how many were near.

    `worst` is the index of a note; `steady` is the root mean square about the mean, which is what is left if the
    whole take is tuned up or down; `within` gives the share of notes within each of `WITHIN`.
    """

    mean: float
    rms: float
    steady: float
    worst: int
    within: tuple[float, ...]


@dataclass(frozen=True)
class Report:
    """What `listen` heard: the notes against their targets, warnings about the take, and its pitch over time."""

    targets: Targets
    player: Instrument | None
    seconds: float
    notes: tuple[TakenNote, ...]
    warnings: tuple[str, ...]
    track: PitchTrack

    @cached_property
    def summary(self) -> Summary:
        """The take as a whole."""
        off = np.array([note.off for note in self.notes])
        return Summary(
            mean=float(off.mean()),
            rms=float(np.sqrt(np.mean(off**2))),
            steady=float(off.std()),
            worst=int(np.argmax(np.abs(off))),
            within=tuple(float(np.mean(np.abs(off) <= near)) for near in WITHIN),
        )

    def written(self, note: TakenNote) -> str:
        """The note as this player reads it, with the target's distance from it in twelve equal steps."""
        away = self.targets.from_twelve(note.target)
        read = self._read(note.target)
        return f"{read} {signed(away)}" if round(away) else str(read)

    def _read(self, target: int) -> Note:
        sounding = self.targets.notes[target]
        return self.player.written(sounding) if self.player else sounding

    def table(self) -> str:
        """The notes as a table for reading, with the take as a whole and the warnings below."""
        reads = f"{self.player.name} reads" if self.player else "nearest note"
        head = ("note", "from s", "to s", "target", reads, "target Hz", "heard Hz", "off", "spread", "drift", "vibrato")
        rows = [head] + [
            (
                str(number),
                f"{note.onset:.2f}",
                f"{note.offset:.2f}",
                self.targets.labels[note.target],
                self.written(note),
                f"{self.targets.hertz[note.target]:.2f}",
                f"{note.hertz:.2f}",
                aligned(note.off),
                f"{note.spread:.1f}",
                aligned(note.drift),
                f"{note.vibrato:.0f} at {note.vibrato_rate:.1f} Hz" if note.vibrato else "none",
            )
            for number, note in enumerate(self.notes, 1)
        ]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ["  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows]
        return "\n".join([self._heading(), "", *lines, "", *self._as_a_whole(), *self._remarks()]) + "\n"

    def _heading(self) -> str:
        who = f", {self.player.name}" if self.player else ""
        return (
            f"Against {self.targets.name}{who} (A4 = {self.targets.reference:g} Hz). "
            "Cents: off is heard minus target, + sharp, − flat; after a note, how far its target is from twelve."
        )

    def _as_a_whole(self) -> list[str]:
        whole = self.summary
        worst = self.notes[whole.worst]
        near = ", ".join(f"{share:.0%} within {size:g}" for share, size in zip(whole.within, WITHIN, strict=True))
        notes = "1 note" if len(self.notes) == 1 else f"{len(self.notes)} notes"
        return [
            f"{notes} in {self.seconds:.1f} s: mean {aligned(whole.mean)} cents, "
            f"root mean square {whole.rms:.1f} ({whole.steady:.1f} about the mean).",
            f"Furthest off: note {whole.worst + 1} ({self.targets.labels[worst.target]}), {aligned(worst.off)} cents.",
            f"Of the notes: {near} cents.",
        ]

    def _remarks(self) -> list[str]:
        indices = sorted({note.target for note in self.notes})
        gaps = cents(np.array(self.targets.hertz[1:]) / np.array(self.targets.hertz[:-1]))
        around = [gaps[i] for target in indices for i in (target - 1, target) if 0 <= i < len(gaps)]
        lines = []
        if around and min(around) < _CLOSE_TARGETS:
            lines.append(
                f"Targets are as close as {min(around):.0f} cents to each other here, "
                f"so a note may be no more than {min(around) / 2:.0f} off one of them whatever is played."
            )
        return lines + [f"Take care: {warning}." for warning in self.warnings]

    def csv(self) -> str:
        """The notes as comma-separated values, one to a line under a line of headings, in plain numbers."""
        out = io.StringIO()
        sheet = csv.writer(out, lineterminator="\n")
        sheet.writerow(
            "note onset_s offset_s target sounding written target_hz heard_hz off_cents spread_cents drift_cents "
            "vibrato_cents vibrato_hz confidence".split()
        )
        for number, note in enumerate(self.notes, 1):
            target = note.target
            names = (self.targets.labels[target], str(self.targets.notes[target]), str(self._read(target)))
            figures = (self.targets.hertz[target], note.hertz, note.off, note.spread, note.drift, note.vibrato)
            cells = (note.onset, note.offset), (*figures, note.vibrato_rate, note.confidence)
            sheet.writerow([number, *map(_plain, cells[0]), *names, *map(_plain, cells[1])])
        return out.getvalue()


def _plain(value: float) -> str:
    return f"{value:.3f}"
