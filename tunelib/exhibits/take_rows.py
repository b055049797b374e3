"""A take drawn as music is written: row under row, each a passage, with time from left to right.

The thick line through a row is where every note has its target; the thin one is what was heard, so that a curve above
it is sharp and one below it flat, and the gap between them is filled. Names and figures stand at their notes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.inches import width_in_inches
from tunelib.exhibits.look import MARGIN, Look, Theme, Tint
from tunelib.hearing import Report, TakenNote, Targets
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, cents, clock, signed

_REST, _LONGEST_ROW = 0.35, 20.0  # seconds: a rest parts phrases; a row is as long as that at most, or one note
_BETWEEN = 0.06  # inches that are left free beside a label
_LEAST_LABEL = 0.3
_NAMES, _OFFS = 0.19, 0.14  # inches: from a row to the middle of the names below it, and of the figures above
_ABOVE, _APART = 0.28, 0.7  # inches for the figures, and for both with the space between two rows
_TALL_ENOUGH = 0.72  # inches: a row with room for a word between its ends
_REACHES = (25, 50, 75, 100)  # cents that a row shows either way
_MARGIN = 0.2  # seconds that a row has before its first note at most
_LEFT_OUT = 2  # the rank of the label of a note that was left out, among those of notes as `_rank` has them
_EDGE = 0.015  # seconds of a note, at either end, in which its pitch is not yet or no longer its own


class Passage(NamedTuple):
    """Some notes of a take, one after another: the first, and the one after the last."""

    first: int
    end: int


def passages(notes: Sequence[TakenNote], most: int) -> tuple[Passage, ...]:
    """A take cut at its rests: phrases, joined where a row has room for several and cut where it has none for one."""
    found: list[Passage] = []
    for phrase in _phrases(notes):
        rows = math.ceil((phrase.end - phrase.first) / most)
        cuts = np.linspace(phrase.first, phrase.end, rows + 1).round().astype(int).tolist()
        for first, end in pairwise(cuts):
            if found and rows == 1 and end - found[-1].first <= most and _lasts(notes, found[-1].first, end):
                found[-1] = Passage(found[-1].first, end)
            else:
                found.append(Passage(first, end))
    return tuple(found)


def _phrases(notes: Sequence[TakenNote]) -> Iterable[Passage]:
    first = 0
    for index in range(1, len(notes) + 1):
        if (
            index == len(notes)
            or notes[index].onset - notes[index - 1].offset > _REST
            or notes[index].offset - notes[first].onset > _LONGEST_ROW
        ):
            yield Passage(first, index)
            first = index


def _lasts(notes: Sequence[TakenNote], first: int, end: int) -> bool:
    return notes[end - 1].offset - notes[first].onset <= _LONGEST_ROW


def most_in_a_row(look: Look) -> int:
    """How many notes a row has room to name."""
    return look.fit(16, 8)


def reach(report: Report, indices: Iterable[int]) -> int:
    """Cents either way that some notes need."""
    some = [abs(float(report.away[i])) + report.notes[i].vibrato / 2 for i in indices]
    return next((size for size in _REACHES if size >= 1.05 * max(some)), _REACHES[-1])


def tint_of(targets: Targets, theme: Theme) -> Tint:
    """Overtones and ratios are pure, twelve and thirty-one have their tints, and any other tuning is grey."""
    return theme.pure if targets.kind != "tuning" else theme.of(targets.steps or 0)


def now_line(look: Look) -> dict[str, Any]:
    """How the line looks that stands where a take sounds, as matplotlib takes it; it is not to be seen at first."""
    return {"color": look.theme.ink, "lw": 2.5, "ls": (0, (2, 1)), "visible": False}


class TakeRows:
    """Rows in a part of a picture, to be filled with passages.

    Parameters
    ----------
    figure, look
        Where and how they are drawn.
    bottom, top : float
        Of the part, as fractions of the picture.
    rows : int
    reach : int
        Cents either way.
    seconds : float
        How long each row is.

    `moving` are the artists that `light` sets.
    """

    def __init__(
        self, figure: Canvas, look: Look, bottom: float, top: float, rows: int, reach: int, seconds: float
    ) -> None:
        sizes = look.inches
        pitch = (top - bottom) / rows
        height = pitch - _APART / sizes[1]
        self._rows = [
            _Row(figure, look, top - pitch * row - _ABOVE / sizes[1] - height, height, reach, seconds, sizes)
            for row in range(rows)
        ]
        self.moving: list[Artist] = [artist for row in self._rows for artist in row.moving]

    def show(self, report: Report, shown: Sequence[Passage], chosen: int) -> None:
        """Draw passages, one a row, with one note brought out."""
        for row, passage in zip(self._rows, shown, strict=True):
            row.show(report, passage, chosen)

    def light(self, seconds: float | None) -> None:
        """Have a line stand where a moment of the take is, in the row that has it; in none if it is None."""
        for row in self._rows:
            row.light(seconds)


class _Row:
    """One row: its axes, its curves, and the labels above and below."""

    def __init__(
        self, figure: Canvas, look: Look, bottom: float, height: float, reach: int, seconds: float,
        sizes: tuple[float, float],
    ) -> None:  # fmt: skip
        self._look, self._reach, self._seconds = look, reach, seconds
        left = (MARGIN + look.fit(0.82, 0.92)) / sizes[0]  # beside the words at the ends of a row
        width = 1 - MARGIN / sizes[0] - left
        self._left, self._across, self._inches = left, width, width * sizes[0]
        self._axes: Axes = look.axes(figure, (left, bottom, width, height))
        self._axes.set(xlim=(0, seconds), ylim=(-reach, reach), xticks=[])
        self._axes.set_axis_off()
        theme = look.theme
        self._axes.hlines([-reach, reach], 0, seconds, color=theme.line, lw=1.2, ls=(0, (4, 4)))
        beside = left - 0.1 / sizes[0]
        ends = [(bottom, "bottom", f"{reach} flat"), (bottom + height, "top", f"{reach} sharp")]
        if height * sizes[1] >= _TALL_ENOUGH:
            ends.append((bottom + height / 2, "center", "in tune"))
        self._ends = [look.text(figure, beside, y, words, ha="right", va=va, color=theme.grey) for y, va, words in ends]
        (self._aims,) = self._axes.plot([], [], lw=4, solid_capstyle="butt")
        self._gaps = PolyCollection([], facecolors=theme.ground, lw=0)
        self._chosen = PolyCollection([], lw=1.5)
        for gaps in (self._gaps, self._chosen):
            self._axes.add_collection(gaps, autolim=False)
        (self._pitch,) = self._axes.plot([], [], color=theme.ink, lw=2, solid_capstyle="butt")
        below, above = bottom - _NAMES / sizes[1], bottom + height + _OFFS / sizes[1]
        self._when = look.text(figure, beside, below, ha="right", va="center", color=theme.grey)
        count = int(self._inches / (_LEAST_LABEL + _BETWEEN)) + 1
        self._names, self._offs = (
            [look.text(figure, 0, y, ha="center", va="center") for _ in range(count)] for y in (below, above)
        )
        self._bold = look.text(figure, 0, 0, weight="bold")  # to measure with
        (self._now,) = self._axes.plot([], [], **now_line(look))
        self._spans = (0.0, 0.0)  # seconds of the take: from where to where it is drawn
        self.moving: tuple[Artist, ...] = (self._now,)

    def light(self, seconds: float | None) -> None:
        first, last = self._spans
        within = seconds is not None and first <= seconds <= last
        self._now.set_visible(within)
        if seconds is not None and within:
            self._now.set_data([seconds - first] * 2, [-self._reach, self._reach])

    def show(self, report: Report, passage: Passage, chosen: int) -> None:
        for text in (*self._names, *self._offs):
            text.set_visible(False)
        notes = report.notes[passage.first : passage.end]
        start = max(0.0, notes[0].onset - min(_MARGIN, (self._seconds - (notes[-1].offset - notes[0].onset)) / 2))
        self._when.set_text(clock(start))
        self._spans = start, notes[-1].offset
        tint = tint_of(report.targets, self._look.theme)
        self._aims.set_color(tint.full)
        self._chosen.set(facecolor=tint.fill, edgecolor=tint.dim)
        self._aims.set_data(
            np.array([(note.onset - start, note.offset - start, np.nan) for note in notes]).ravel(),
            np.zeros(3 * len(notes)),
        )
        filled = {
            index: self._gap(report, index, start)
            for index in range(passage.first, passage.end)
            if report.notes[index].outcome != "added"
        }
        self._chosen.set_verts([gap for index, gap in filled.items() if index == chosen])
        self._gaps.set_verts([gap for index, gap in filled.items() if index != chosen])
        self._pitch.set_data(*curve(report, passage, start))
        self._label(report, passage, start, chosen)

    def _gap(self, report: Report, index: int, start: float) -> list[tuple[float, float]]:
        note, off = report.notes[index], float(np.clip(report.away[index], -self._reach, self._reach))
        left, right = note.onset - start, note.offset - start
        return [(left, 0), (left, off), (right, off), (right, 0)]

    def _label(self, report: Report, passage: Passage, start: float, chosen: int) -> None:
        """Name and deviation at each note; where there is no room for all, at those furthest off.

        Notes that are wrong or added come before those that were left out, whose place is where two notes meet.
        """
        wanted = [
            (
                _rank(note, index == chosen),
                -abs(report.away[index]),
                (note.onset + note.offset) / 2 - start,
                report.name(note.target),
                note.outcome if note.outcome in ("wrong", "added") else signed(report.away[index]),
                index == chosen,
            )
            for index, note in enumerate(report.notes[passage.first : passage.end], passage.first)
        ]
        for one in report.left_out:
            if passage.first < one.before < passage.end or one.before == passage.first == 0:
                after = report.notes[one.before].onset
                meet = (report.notes[one.before - 1].offset + after) / 2 if one.before else after - 0.1
                wanted.append((_LEFT_OUT, 0.0, meet - start, report.name(one.target), "out", False))
        placed: list[tuple[float, float]] = []
        for *_, at, name, off, bold in sorted(wanted):
            font = self._bold if bold else self._names[0]
            wide = max(_LEAST_LABEL, width_in_inches(font, name), width_in_inches(font, off)) + _BETWEEN
            x = at / self._seconds * self._inches
            x = min(max(x, wide / 2), self._inches - wide / 2)
            if len(placed) == len(self._names) or any(abs(x - y) < (wide + other) / 2 for y, other in placed):
                continue
            for text, words in ((self._names[len(placed)], name), (self._offs[len(placed)], off)):
                self._set(text, x, words, bold)
            placed.append((x, wide))

    def _set(self, text: Text, inches: float, words: str, bold: bool) -> None:
        text.set(
            x=self._left + inches / self._inches * self._across, text=words, visible=True,
            weight="bold" if bold else "normal",
        )  # fmt: skip


def _rank(note: TakenNote, chosen: bool) -> int:
    """Which labels go before others."""
    return 0 if chosen else 1 if note.outcome in ("wrong", "added") else _LEFT_OUT + 1


def curve(report: Report, passage: Passage, start: float) -> tuple[FloatArray, FloatArray]:
    """What was heard in a passage: seconds, and cents from each note's target beside the common offset."""
    whole = report.offset.cents if report.offset else 0.0
    times: list[FloatArray] = []
    heights: list[FloatArray] = []
    gap = np.array([np.nan])
    for note in report.notes[passage.first : passage.end]:
        inside = slice(*np.searchsorted(report.track.times, (note.onset + _EDGE, note.offset - _EDGE)))
        times += [report.track.times[inside] - start, gap]
        heard = CENTS_PER_OCTAVE * np.log2(report.track.hertz[inside])
        heights += [heard - cents(report.targets.hertz[note.target]) - whole, gap]
    return np.concatenate(times), np.concatenate(heights)
