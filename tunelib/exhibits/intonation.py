"""A take measured against its targets: the pitch of every note over time, and one of them from close by."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist
from matplotlib.collections import LineCollection

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import LONG_SIDE, PURE_COLOUR, SHORT_SIDE, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.hearing import Report, Take, Targets, hear
from tunelib.pitch import A4_HZ, CENTS_PER_OCTAVE, FloatArray, cents, drawn, equal, instrument, plain, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import (
    DEMO_FUNDAMENTAL,
    DEMO_GAP_SECONDS,
    DEMO_HARMONICS,
    DEMO_NOTE_SECONDS,
    DEMO_TAKES,
    SAMPLE_RATE,
    TIMBRES,
)

_PLAYER = instrument("alto saxophone")
_SPREAD = 90.0  # cents past the highest and lowest note that the picture shows
_CLOSE = 50.0  # cents either way that the close view shows at least
_MOST_LINES = 90  # targets in view; where there were more, only those that were aimed at are drawn
_LONGEST_CLOSE = 4.0  # seconds
_LABEL_INCHES = 0.5  # the widest label and a little
_TICKS = (20, 30, 40, 50, 60, 80, 100, 150, 200, 250, 300, 400, 500, 600, 800, 1000, 1500, 2000, 3000, 4000, 6000)
_TAKE_SECONDS = DEMO_GAP_SECONDS + len(DEMO_HARMONICS) * (DEMO_NOTE_SECONDS + DEMO_GAP_SECONDS)


class Intonation(Exhibit):
    """Demo takes, rendered with known errors, against the overtones, twelve or thirty-one."""

    name: ClassVar[str] = "intonation"
    title: ClassVar[str] = "A take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("take", "Demo take", tuple(DEMO_TAKES), "a mixed day"),
        Choice("against", "Against", ("harmonics", "twelve", "thirty-one"), "harmonics"),
        Slider("note", "Note from close by", 1, len(DEMO_HARMONICS), 1, 3),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "overtones": {"take": "true to the overtones"},
        "12": {"take": "keyboard habit"},
        "31": {"take": "in thirty-one"},
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        lowest, highest = (number * DEMO_FUNDAMENTAL.hz() for number in (DEMO_HARMONICS[0], DEMO_HARMONICS[-1]))
        chart = Chart(figure, look, self.title, Frame(_TAKE_SECONDS, lowest, highest, DEMO_NOTE_SECONDS, 80.0))

        def update(take: str, against: str, note: int) -> None:
            chart.show(demo_report(take, against), note - 1)

        return Scene(chart.moving, update)

    def sentence(self, take: str, against: str, note: int) -> str:
        heard = in_words(demo_report(take, against), note - 1)
        return f"Demo take “{take}”, whose player {DEMO_TAKES[take].habit}: {heard}"

    def score(self, take: str, against: str, note: int) -> Score:
        return DEMO_TAKES[take].score

    def timbre(self, take: str, against: str, note: int) -> Voicing:
        return DEMO_TAKES[take].timbre

    def bends(self, take: str, against: str, note: int) -> Sequence[FloatArray]:
        return DEMO_TAKES[take].bends

    def sound(self, **values: Any) -> FloatArray:
        return DEMO_TAKES[self.settle(values)["take"]].samples()


class OwnTake(Exhibit):
    """A learner's own take, drawn as the demo takes are; its note furthest off is in the close view."""

    name: ClassVar[str] = "own_take"
    title: ClassVar[str] = "Your take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, report: Report) -> None:
        self.report = report

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        report, worst = self.report, self.report.summary.worst
        pitches, note = [note.hertz for note in report.notes], report.notes[worst]
        close = min(note.offset - note.onset, _LONGEST_CLOSE)
        reach = abs(note.off) + note.vibrato / 2 + abs(note.drift) / 2
        chart = Chart(figure, look, self.title, Frame(report.seconds, min(pitches), max(pitches), close, reach))
        return Scene(chart.moving, lambda: chart.show(report, worst))

    def sentence(self) -> str:
        return f"Your take: {in_words(self.report, self.report.summary.worst)}"

    def score(self) -> Score:
        notes = (
            ScoreNote(note.onset, note.offset - note.onset, note.hertz, self.report.targets.notes[note.target])
            for note in self.report.notes
        )
        return Score(tuple(notes), tempo=60)

    def timbre(self) -> Voicing:
        return TIMBRES["reed"]


@lru_cache(maxsize=8)
def demo_targets(against: str) -> Targets:
    """The overtones of the demo takes' fundamental, or a division of the octave laid on that note."""
    if against == "harmonics":
        return Targets.harmonics(
            DEMO_FUNDAMENTAL.hz(), f"the harmonics of {DEMO_FUNDAMENTAL}", home=DEMO_FUNDAMENTAL.fifths
        )
    division = equal(12 if against == "twelve" else 31)
    return Targets.tuning(division, A4_HZ * DEMO_FUNDAMENTAL.hz() / DEMO_FUNDAMENTAL.hz(division))


@lru_cache(maxsize=len(DEMO_TAKES))
def _heard(take: str) -> Take:
    return hear(DEMO_TAKES[take].samples(), SAMPLE_RATE, _PLAYER)


@lru_cache(maxsize=4 * len(DEMO_TAKES))
def demo_report(take: str, against: str) -> Report:
    """A demo take as it is heard, against ``"harmonics"``, ``"twelve"`` or ``"thirty-one"``."""
    return _heard(take).against(demo_targets(against))


def in_words(report: Report, index: int) -> str:
    """A take, and one note of it, as the end of a sentence."""
    note, whole = report.notes[index], report.summary
    shaky = f", with a vibrato {plain(note.vibrato, 0)} cents wide" if note.vibrato else ""
    tuned = f"the whole take is {signed(report.offset.cents)} cents off; beside that, " if report.offset else ""
    near = f"{sum(abs(report.away) <= 5)} of {len(report.notes)} notes within 5 cents"
    return (
        f"against {report.targets.name} {tuned}the mean is {signed(whole.mean, 1)} cents and the root mean square "
        f"{plain(whole.rms)}; {near}; note {index + 1}, {report.called(note.target)}, is "
        f"{signed(report.away[index], 1)} cents off and drifts by {signed(note.drift, 1)} from start to end{shaky}."
    )


@dataclass(frozen=True)
class Frame:
    """What a chart must have room for: seconds, pitches in hertz, and in the close view seconds and cents."""

    seconds: float
    lowest: float
    highest: float
    close_seconds: float
    close_cents: float


class Chart:
    """The drawing of a take: above its pitch over time with the targets, below one note from close by.

    `moving` are the artists that `show` sets.
    """

    def __init__(self, figure: Canvas, look: Look, title: str, frame: Frame) -> None:
        self._look, self._frame = look, frame
        ink, faint = look.theme.ink, look.theme.faint
        look.heading(figure, title)
        key = look.fit((0.97, 0.945, "right"), (0.03, 0.928, "left"), (0.03, 0.898, "left"))
        look.text(figure, key[0], key[1], "thick: target    thin: what was heard", ha=key[2], va="center")
        self._over = look.axes(
            figure, (0.12, 0.5, 0.85, 0.31), (0.19, 0.5, 0.78, 0.35), (0.19, 0.54, 0.78, 0.265), x="seconds", y="hertz"
        )
        self._low, self._high = cents(frame.lowest) - _SPREAD, cents(frame.highest) + _SPREAD
        self._over.set(xlim=(0, frame.seconds), ylim=(self._low, self._high))
        ticks = self._ticks()
        self._over.set_yticks([cents(tick) for tick in ticks], [f"{tick:g}" for tick in ticks])
        rows = look.fit((0.872, 0.83), (0.9, 0.872), (0.86, 0.827))
        margin = look.fit(0.11, 0.17)
        for y, words in zip(rows, ("target", "cents off"), strict=True):
            look.text(figure, margin, y, words, ha="right", va="center")
        across = self._over.get_position()
        self._left, self._width = across.x0, across.width
        inches = self._width * look.fit(LONG_SIDE, SHORT_SIDE)
        self._apart = _LABEL_INCHES / inches  # least distance of two labels, as a share of the width
        count = int(1 / self._apart) + 2
        self._names, self._offs = (
            [look.text(figure, 0, y, ha="center", va="center", weight=weight) for _ in range(count)]
            for y, weight in zip(rows, ("normal", "bold"), strict=True)
        )
        self._close = look.axes(
            figure, (0.12, 0.12, 0.5, 0.23), (0.19, 0.08, 0.78, 0.2), (0.19, 0.1, 0.78, 0.17), x="seconds", y="cents"
        )
        reach = 25.0 * math.ceil(max(1.1 * frame.close_cents, _CLOSE) / 25)
        self._close.set(xlim=(0, frame.close_seconds), ylim=(-reach, reach), yticks=[-reach, 0, reach])
        self._close.set_yticklabels([signed(-reach), "0", signed(reach)])
        top = look.fit((0.66, 0.33, 0.055), (0.19, 0.425, 0.03), (0.19, 0.43, 0.033))
        self._lines = [
            look.text(figure, top[0], top[1] - i * top[2], va="center", weight="normal" if i else "bold")
            for i in range(5)
        ]
        (self._chosen,) = self._over.fill([0] * 4, [0] * 4, color=faint, lw=0)
        self._ladder = LineCollection([], colors=faint, linewidths=1)
        self._over.add_collection(self._ladder)
        (self._aims,) = self._over.plot([], [], lw=6, solid_capstyle="butt")
        (self._pitch,) = self._over.plot([], [], color=ink, lw=1.8, solid_capstyle="butt")
        (self._aim,) = self._close.plot([0, frame.close_seconds], [0, 0], lw=6)
        (self._mean,) = self._close.plot([], [], color=ink, lw=1.5, ls=(0, (5, 3)))
        (self._bend,) = self._close.plot([], [], color=ink, lw=2)
        self.moving: Sequence[Artist] = (
            self._chosen, self._ladder, self._aims, self._pitch, self._aim, self._mean, self._bend,
            *self._names, *self._offs, *self._lines,
        )  # fmt: skip

    def show(self, report: Report, index: int) -> None:
        """Draw a report, with one of its notes from close by."""
        colour = _colour(report.targets, self._look.theme.grey)
        chosen = report.notes[index]
        self._draw_ladder(report)
        onsets, offsets = np.array([(note.onset, note.offset) for note in report.notes]).T
        aims = np.array([cents(report.targets.hertz[note.target]) for note in report.notes])
        gap = np.full(onsets.size, np.nan)
        self._aims.set_data(np.column_stack([onsets, offsets, gap]).ravel(), np.column_stack([aims, aims, gap]).ravel())
        self._aims.set_color(colour)
        heights = CENTS_PER_OCTAVE * np.log2(report.track.hertz)
        self._pitch.set_data(report.track.times, heights)
        edges = [self._low, self._high, self._high, self._low]
        self._chosen.set_xy(np.column_stack([np.repeat([chosen.onset, chosen.offset], 2), edges]))
        self._label(report)
        inside = (report.track.times >= chosen.onset) & (report.track.times <= chosen.offset)
        self._bend.set_data(
            report.track.times[inside] - chosen.onset, heights[inside] - cents(report.targets.hertz[chosen.target])
        )
        self._mean.set_data([0, chosen.offset - chosen.onset], [chosen.off, chosen.off])
        self._aim.set_color(colour)
        width, rate = plain(chosen.vibrato, 0), plain(chosen.vibrato_rate)
        words = (
            drawn(f"note {index + 1}: {report.called(chosen.target)}"),
            f"target {plain(report.targets.hertz[chosen.target], 2)} Hz, heard {plain(chosen.hertz, 2)} Hz",
            f"{signed(chosen.off, 1)} cents off (dashed: mean)",
            f"spread {plain(chosen.spread)}, drift {signed(chosen.drift, 1)} cents",
            f"vibrato {width} cents wide, {rate} Hz" if chosen.vibrato else "no vibrato",
        )
        for line, text in zip(self._lines, words, strict=True):
            line.set_text(text)

    def _draw_ladder(self, report: Report) -> None:
        heights = np.array([cents(hertz) for hertz in report.targets.hertz])
        seen = heights[(heights > self._low) & (heights < self._high)]
        self._ladder.set_segments([[(0, y), (self._frame.seconds, y)] for y in seen if seen.size <= _MOST_LINES])

    def _label(self, report: Report) -> None:
        """Name and deviation above each note; where there is no room for all, above those furthest off."""
        for text in (*self._names, *self._offs):
            text.set_visible(False)
        placed: list[float] = []
        for note in sorted(report.notes, key=lambda note: -abs(note.off)):
            at = (note.onset + note.offset) / 2 / self._frame.seconds
            at = min(max(at, self._apart / 2), 1 - self._apart / 2)
            if any(abs(at - other) < self._apart for other in placed):
                continue
            for text, words in (
                (self._names[len(placed)], drawn(report.targets.labels[note.target])),
                (self._offs[len(placed)], signed(note.off, 1)),
            ):
                text.set(x=self._left + at * self._width, text=words, visible=True)
            placed.append(at)

    def _ticks(self) -> list[float]:
        """Round frequencies in view that are far enough apart to be printed."""
        apart = (self._high - self._low) * 0.13
        ticks: list[float] = []
        for rungs in (_TICKS, *(range(step, 6000, step) for step in (50, 20, 10, 5, 2, 1))):
            ticks = []
            for tick in rungs:
                height = cents(tick)
                if self._low <= height <= self._high and (not ticks or height - cents(ticks[-1]) >= apart):
                    ticks.append(tick)
            if len(ticks) >= 3:
                break
        return ticks


def _colour(targets: Targets, grey: str) -> str:
    """Overtones and ratios are pure, twelve and thirty-one have their colours, and any other tuning is grey."""
    if targets.kind != "tuning":
        return PURE_COLOUR
    return {12: TWELVE_COLOUR, 31: THIRTY_ONE_COLOUR}.get(targets.steps or 0, grey)
