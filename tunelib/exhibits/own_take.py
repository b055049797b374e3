"""A learner's own take against its targets: how far off each note was, and the take as a whole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import ClassVar

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.inches import width_in_inches
from tunelib.exhibits.look import THEMES, Look
from tunelib.exhibits.take_rows import Passage, TakeRows, most_in_a_row, now_line, passages, reach, tint_of
from tunelib.hearing import Report
from tunelib.pitch import clock, flat_or_sharp, plain, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_ROWS, _TALL_ROWS, _SQUARE_ROWS = 3, 6, 2
_ROWS_BELOW, _TALL_ROWS_BELOW, _SQUARE_ROWS_BELOW = 2, 5, 1  # an overview


class OwnTake(Exhibit):
    """A learner's own take: the passages with the notes furthest off, below all notes if there are more; or a page.

    Parameters
    ----------
    report : Report
    page : int
        0 for the take as a whole; from 1, the passages in order, as many as a page has room for.
    chosen : int, optional
        The index of the note that is brought out, which is among those that are shown; of the take as a whole. The one
        furthest off unless given.
    demo : str
        The name of the demo take that it is of, if it is nobody's own.
    """

    name: ClassVar[str] = "own_take"
    title: ClassVar[str] = "Your take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, report: Report, page: int = 0, demo: str = "", chosen: int | None = None) -> None:
        self.report, self.page, self.demo, self.chosen = report, page, demo, chosen
        if demo:
            vars(self)["title"] = f"Demo take “{demo}” against its targets"  # of this picture alone

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        report, every = self.report, passages(self.report.notes, most_in_a_row(look))
        room = look.fit(_ROWS, _TALL_ROWS, _SQUARE_ROWS)
        is_long = len(every) > room
        if self.page:
            shown = every[room * (self.page - 1) : room * self.page]
        elif is_long:
            below = look.fit(_ROWS_BELOW, _TALL_ROWS_BELOW, _SQUARE_ROWS_BELOW)
            shown = tuple(sorted(sorted(every, key=self._worth_showing, reverse=True)[:below]))
        else:
            shown = every
        notes = [i for passage in shown for i in range(*passage)]
        worst = max(notes, key=self._off)
        words = self._page_words(shown) if self.page else self._words(worst, len(shown) > 1)
        top = _head(figure, look, self.title, words)
        if is_long and not self.page:
            top, overview = _overview(figure, look, report, shown, top)
        else:
            overview = None
        seconds = max(report.notes[end - 1].offset - report.notes[first].onset for first, end in shown)
        rows = TakeRows(
            figure, look, look.frame[1] - 0.1 / look.inches[1], top, len(shown), reach(report, notes), 1.04 * seconds
        )
        rows.show(report, shown, worst if self.chosen is None else self.chosen)

        def light(playing: Playing) -> None:
            """A line goes along the take."""
            rows.light(playing.seconds)
            if overview is not None:
                overview.set_visible(playing.seconds is not None)
                overview.set_xdata([playing.seconds or 0.0] * 2)

        moving = [*rows.moving, *([overview] if overview is not None else [])]
        return Scene(moving, lambda: None, light)

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

    def _worth_showing(self, passage: Passage) -> float:
        """How much a passage is to be seen: the one with the chosen note first, then by the note furthest off."""
        chosen = self.chosen is not None and self.chosen in range(*passage)
        return math.inf if chosen else max(self._off(index) for index in range(*passage))

    def sentence(self) -> str:
        whose = f"Demo take “{self.demo}”" if self.demo else "Your take"
        return f"{whose}: {in_words(self.report, self.report.summary.worst)}"

    def pages(self) -> tuple[OwnTake, ...]:
        """The take as a whole and, where that leaves any out, all its passages, for paper."""
        count = len(passages(self.report.notes, most_in_a_row(Look(THEMES["light"]))))
        more = math.ceil(count / _ROWS) if count > _ROWS else 0
        return tuple(OwnTake(self.report, page, self.demo) for page in range(more + 1))

    def score(self) -> Score:
        notes = (
            ScoreNote(note.onset, note.offset - note.onset, note.hertz, self.report.targets.notes[note.target])
            for note in self.report.notes
        )
        return Score(tuple(notes), tempo=60)

    def timbre(self) -> Voicing:
        return TIMBRES["reed"]


def in_words(report: Report, index: int) -> str:
    """A take, and one note of it, as the end of a sentence."""
    note, off = report.notes[index], float(report.away[index])
    shaky = f", with a vibrato {plain(note.vibrato, 0)} cents wide" if note.vibrato else ""
    tuned = f"the whole take is {signed(report.offset.cents)} cents off; beside that, " if report.offset else ""
    near = f"{sum(abs(report.away) <= 5)} of {len(report.notes)} notes are within 5 cents"
    drift = f" and {'rises' if note.drift > 0 else 'sinks'} by {plain(abs(note.drift))} from start to end"
    return (
        f"against {report.targets.name}, {tuned}{near}; note {index + 1}, {report.called(note.target)}, is "
        f"{flat_or_sharp(off)}{drift if round(note.drift, 1) else ''}{shaky}."
    )


def _of_a_note(report: Report, index: int) -> tuple[str, str]:
    """One note, and its figures."""
    note, off = report.notes[index], float(report.away[index])
    swing = f"vibrato {plain(note.vibrato, 0)} cents" if note.vibrato else "no vibrato"
    return (
        f"Note {index + 1}, {report.called(note.target)}: {flat_or_sharp(off)}",
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


def _head(figure: Canvas, look: Look, title: str, words: Sequence[str]) -> float:
    """The title with words under it, the first of them in bold; and where there is room below."""
    look.heading(figure, title)
    wide, high = look.inches
    left, bottom, across, up = look.frame
    top, pitch = bottom + up, look.size("label") * 1.32 / 72 / high
    row = 0.0
    for index, said in enumerate(words):
        weight = "normal" if index else "bold"
        for line in _wrapped(look.text(figure, 0, 0, weight=weight), said, across * wide):
            look.text(figure, left, top - pitch * (row + 0.6), line, va="center", weight=weight)
            row += 1
    return top - pitch * row - 0.06 / high


def _wrapped(text: Text, words: str, room: float) -> list[str]:
    """Words in lines that are no wider than there is room, in inches."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if width_in_inches(text, longer) <= room or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _overview(figure: Canvas, look: Look, report: Report, shown: Sequence[Passage], top: float) -> tuple[float, Line2D]:
    """Every note of a long take as a dot, with the passages that are shown below on a ground.

    Returns what room is left, and a line that can stand at a moment.
    """
    (wide, high), (frame_left, _, frame_wide, _) = look.inches, look.frame
    height, bottom = look.fit(0.62, 0.8) / high, top - look.fit(0.72, 0.92) / high
    beside = look.fit(0.82, 0.92) / wide
    axes = look.bare(figure, (frame_left + beside, bottom, frame_wide - beside, height))
    size = reach(report, report.counted)
    axes.set(xlim=(0, report.seconds), ylim=(-size, size))
    left = frame_left + beside - 0.1 / wide
    look.text(figure, left, bottom, f"{size} flat", ha="right", va="bottom", color=look.theme.grey)
    look.text(figure, left, bottom + height, f"{size} sharp", ha="right", va="top", color=look.theme.grey)
    most = look.fit(6, 4)
    step = next(step for step in (10, 30, 60, 120, 300, 600, 1800) if report.seconds / step <= most or step == 1800)
    for tick in range(step, int(report.seconds - 0.1 * step), step):
        look.text(axes, tick, -size * 1.12, clock(tick), ha="center", va="top", color=look.theme.grey)
    for first, end in shown:
        axes.axvspan(report.notes[first].onset, report.notes[end - 1].offset, color=look.theme.ground, lw=0)
    axes.axhline(0, color=tint_of(report.targets, look.theme).full, lw=3)
    onsets = np.array([report.notes[i].onset for i in report.counted])
    off = np.clip(report.away[list(report.counted)], -size, size)
    axes.plot(onsets, off, "o", color=look.theme.ink, ms=3.5, mew=0)
    (now,) = axes.plot([0, 0], [-size, size], **now_line(look))
    return bottom - 0.36 / high, now
