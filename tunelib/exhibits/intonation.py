"""A take measured against its targets, as the player reads it: how far off each note was, and the take as a whole."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise, starmap
from typing import Any, ClassVar

import numpy as np
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import NORMAL, SMALL, THEMES, Look
from tunelib.exhibits.take_rows import Passage, TakeRows, clock, colour, most_in_a_row, passages, reach
from tunelib.hearing import Report, Take, Targets, hear
from tunelib.pitch import A4_HZ, FloatArray, drawn, equal, instrument, plain, signed
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
_REACH = 75  # cents that the demo takes need
_ROWS, _TALL_ROWS, _SQUARE_ROWS = 3, 6, 2
_ROWS_BELOW, _TALL_ROWS_BELOW, _SQUARE_ROWS_BELOW = 2, 5, 1  # an overview
_FOOT = 0.03  # of the height, below the rows
_TAKE_SECONDS = DEMO_GAP_SECONDS + len(DEMO_HARMONICS) * (DEMO_NOTE_SECONDS + DEMO_GAP_SECONDS)


class Intonation(Exhibit):
    """Demo takes, rendered with known errors, against the overtones, twelve or thirty-one."""

    name: ClassVar[str] = "intonation"
    title: ClassVar[str] = "A take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("take", "Demo take", tuple(DEMO_TAKES), "a mixed day"),
        Choice("against", "Against", ("harmonics", "twelve", "thirty-one"), "harmonics"),
        Slider("note", "Note", 1, len(DEMO_HARMONICS), 1, 3),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "overtones": {"take": "true to the overtones"},
        "12": {"take": "keyboard habit"},
        "31": {"take": "in thirty-one"},
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        lines, top = _head(figure, look, self.title, 3)
        count = look.fit(1, 2, 1)
        rows = TakeRows(figure, look, _FOOT, top, count, _REACH, _TAKE_SECONDS / count)

        def update(take: str, against: str, note: int) -> None:
            report = demo_report(take, against)
            _say(lines, (*_of_a_note(report, note - 1), _of_the_whole(report)[-1]))
            cuts = np.linspace(0, len(report.notes), count + 1).round().astype(int).tolist()
            rows.show(report, tuple(starmap(Passage, pairwise(cuts))), note - 1)

        return Scene([*lines, *rows.moving], update)

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
    """A learner's own take: the passages with the notes furthest off, below all notes if there are more; or a page.

    Parameters
    ----------
    report : Report
    page : int
        0 for the take as a whole; from 1, the passages in order, as many as a page has room for.
    """

    name: ClassVar[str] = "own_take"
    title: ClassVar[str] = "Your take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, report: Report, page: int = 0) -> None:
        self.report, self.page = report, page

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        report, every = self.report, passages(self.report.notes, most_in_a_row(look))
        room = look.fit(_ROWS, _TALL_ROWS, _SQUARE_ROWS)
        is_long = len(every) > room
        if self.page:
            shown = every[room * (self.page - 1) : room * self.page]
        elif is_long:
            below = look.fit(_ROWS_BELOW, _TALL_ROWS_BELOW, _SQUARE_ROWS_BELOW)
            shown = tuple(sorted(sorted(every, key=self._furthest, reverse=True)[:below]))
        else:
            shown = every
        notes = [i for passage in shown for i in range(*passage)]
        worst = max(notes, key=self._off)
        words = self._page_words(shown) if self.page else self._words(worst, len(shown) > 1)
        lines, top = _head(figure, look, self.title, len(words))
        _say(lines, words)
        if is_long and not self.page:
            top = _overview(figure, look, report, shown, top)
        seconds = max(report.notes[end - 1].offset - report.notes[first].onset for first, end in shown)
        rows = TakeRows(figure, look, _FOOT, top, len(shown), reach(report, notes), 1.04 * seconds)
        return Scene(rows.moving, lambda: rows.show(report, shown, worst))

    def _words(self, worst: int, brief: bool) -> tuple[str, ...]:
        """What stands above the rows: the whole, the note furthest off, and a habit or that note's figures."""
        note, figures = _of_a_note(self.report, worst)
        habits = self.report.habits()
        more = (habits[0].removesuffix("."),) if habits else () if brief else (figures,)
        outcomes = (told,) if (told := self.report.outcomes()) else ()
        return (*_of_the_whole(self.report), *outcomes, f"Furthest off: {note[0].lower()}{note[1:]}", *more)

    def _page_words(self, shown: Sequence[Passage]) -> tuple[str, ...]:
        first, last = (self.report.notes[i] for i in (shown[0].first, shown[-1].end - 1))
        return (f"Page {self.page}: from {clock(first.onset)} to {clock(last.offset)}",)

    def _off(self, index: int) -> float:
        """How far off a note is, as far as it was meant."""
        return abs(float(self.report.away[index])) if index in self.report.counted else -1.0

    def _furthest(self, passage: Passage) -> float:
        return max(self._off(index) for index in range(*passage))

    def sentence(self) -> str:
        return f"Your take: {in_words(self.report, self.report.summary.worst)}"

    def pages(self) -> tuple[OwnTake, ...]:
        """The take as a whole and, where that leaves any out, all its passages, for paper."""
        count = len(passages(self.report.notes, most_in_a_row(Look(THEMES["light"]))))
        more = math.ceil(count / _ROWS) if count > _ROWS else 0
        return tuple(OwnTake(self.report, page) for page in range(more + 1))

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


def _of_a_note(report: Report, index: int) -> tuple[str, str]:
    """One note, and its figures."""
    note, off = report.notes[index], float(report.away[index])
    much = f"{plain(abs(off))} cents {'sharp' if off > 0 else 'flat'}" if round(off, 1) else "in tune"
    swing = f"vibrato {plain(note.vibrato, 0)} cents" if note.vibrato else "no vibrato"
    return (
        f"Note {index + 1}, {report.called(note.target)}: {much}",
        f"heard at {plain(note.hertz, 2)} Hz, spread {plain(note.spread)}, drift {signed(note.drift, 1)}, {swing}",
    )


def _of_the_whole(report: Report) -> tuple[str, ...]:
    """How the take is tuned, if that can be told, and how near its notes are beside that."""
    whole = report.summary
    near = f"{len(report.notes)} notes: mean {signed(whole.mean, 1)} cents, {report.within(1)} cents"
    if report.offset is None:
        return (near,)
    side, way = ("sharp", "down") if report.offset.cents > 0 else ("flat", "up")
    much = f"The whole take is {abs(report.offset.cents):.0f} cents {side}: tune {way}"
    return much, f"Beside that, {near}"


def _head(figure: Canvas, look: Look, title: str, count: int) -> tuple[list[Text], float]:
    """The title with lines under it, the first of them in bold; and where there is room below."""
    look.heading(figure, title)
    first, step = look.fit((0.875, 0.046), (0.925, 0.026), (0.87, 0.048))
    lines = [
        look.text(
            figure, 0.03, first - step * row, va="center",
            fontsize=SMALL if row else NORMAL, weight="normal" if row else "bold",
        )
        for row in range(count)
    ]  # fmt: skip
    return lines, first - step * (count - 0.4)


def _say(lines: Sequence[Text], words: Sequence[str]) -> None:
    for line, text in zip(lines, words, strict=True):
        line.set_text(drawn(text))


def _overview(figure: Canvas, look: Look, report: Report, shown: Sequence[Passage], top: float) -> float:
    """Every note of a long take as a dot, with the passages that are shown below on a ground; and what room is left."""
    bottom, height = look.fit((top - 0.16, 0.12), (top - 0.1, 0.075), (top - 0.17, 0.12))
    axes = look.axes(figure, look.fit((0.105, bottom, 0.875, height), (0.165, bottom, 0.805, height)))
    size = reach(report, report.counted)
    axes.set(xlim=(0, report.seconds), ylim=(-size, size))
    axes.set_yticks([-size, size], [f"{size} flat", f"{size} sharp"])
    step = next(step for step in (10, 30, 60, 120, 300, 600, 1800) if report.seconds / step <= 6 or step == 1800)
    ticks = range(step, int(report.seconds), step)
    axes.set_xticks(list(ticks), [clock(tick) for tick in ticks])
    for first, end in shown:
        axes.axvspan(report.notes[first].onset, report.notes[end - 1].offset, color=look.theme.faint, lw=0)
    axes.axhline(0, color=colour(report.targets, look.theme.grey), lw=3)
    onsets = np.array([report.notes[i].onset for i in report.counted])
    off = np.clip(report.away[list(report.counted)], -size, size)
    axes.plot(onsets, off, "o", color=look.theme.ink, ms=2.4, mew=0)
    return bottom - look.fit(0.075, 0.04, 0.075)
