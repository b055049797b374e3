"""A scale over a chord on a picture: its notes on a staff, each tied to its place in a row of steps.

Notes of the chord have large marks and bold names, those that colour it small ones; those to mind have hollow marks and
their names in brackets.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.inches import begin, field_of, headline_width, in_inches, strokes
from tunelib.exhibits.look import Look
from tunelib.exhibits.staff import Staff, engraved_lines, ink
from tunelib.harmony import CHORD_TONE, TO_MIND, ChordScale
from tunelib.pitch import FloatArray, Note, drawn, signed

MOST_NOTES = 9
"""Of a scale with its octave."""

_MOST_LINES = 2
_STEPS = 31
_LARGE = (0.11, 0.047)  # wide, and otherwise: points to the unit of engraved drawings
_NAMES = 2  # rows of names under the staff, in turn


class ScalePicture:
    """The picture, in inches: staff, row of steps, and what there is to mind; a table of the notes where it is tall."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look = look
        width, height = look.inches
        self._axes = axes = in_inches(figure, look)
        field = field_of(look)
        self._staff_foot = look.fit(2.02, 6.3, 2.52)
        staff_top = look.fit(field.top - 0.3, field.top - 0.75, field.top - 0.72)
        place = (field.left / width, self._staff_foot / height, field.width / width,
                 (staff_top - self._staff_foot) / height)  # fmt: skip
        rows = look.fit([("name", "normal"), ("label", "normal")], [("label", "normal")] * _NAMES)
        self._staff = Staff(figure, look, place, MOST_NOTES, (), rows)
        self._row = look.fit(1.62, 5.75, 2.08)
        self._start, self._end = look.fit((0.7, width - 0.7), (0.65, width - 0.65))
        (self._line,) = axes.plot([self._start, self._end], [self._row] * 2, color=theme.line, lw=1.2)
        (self._ticks,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._posts,) = axes.plot([], [], color=theme.pure.dim, lw=3, solid_capstyle="butt")
        self._ties = [axes.plot([], [], color=theme.line, lw=1.2)[0] for _ in range(MOST_NOTES)]
        self._marks = [axes.plot([], [], "o")[0] for _ in range(MOST_NOTES)]
        self._gaps = [
            look.text(axes, 0, self._row - look.fit(0.3, 0.33, 0.3), ha="center", va="center", color=theme.grey)
            for _ in range(MOST_NOTES - 1)
        ]
        line = look.fit(field.top - 0.14, field.top - 0.2, field.top - 0.18)
        self._symbol = look.text(axes, field.left, line, size="name", va="center")
        second = look.fit((field.right, line, "right"), (field.left, line - 0.34, "left"))
        self._which = look.text(axes, second[0], second[1], ha=second[2], va="center", color=theme.grey)
        self._head_at = field.left, look.fit(0.5, 1.45, 1.12)
        self._head = look.headline(axes, *self._head_at)
        self._lines = [look.text(axes, 0, 0, va="center") for _ in range(_MOST_LINES)]
        self._table = [
            [look.text(axes, x, 0, va="center") for x in (0.5, 1.75, 2.55, 3.6)]
            for _ in range(MOST_NOTES - 1 if look.tall and not look.square else 0)
        ]
        self.moving: tuple[Artist, ...] = (
            self._ticks, self._posts, *self._ties, *self._marks, *self._gaps, *self._staff.artists, self._symbol,
            self._which, *self._head.artists, *self._lines, *(text for row in self._table for text in row),
        )  # fmt: skip
        self.parts: dict[str, Sequence[Artist]] = {
            "steps": (self._line, self._ticks, self._posts),
            "chord": (self._symbol, self._which),
            "notes": (*self._staff.artists, *(text for row in self._table for text in row)),
            "marks": (*self._ties, *self._marks),
            "gaps": self._gaps,
            "mind": (*self._head.artists, *self._lines),
        }

    def show(
        self,
        scale: ChordScale,
        written: Sequence[Note],
        clef: str,
        sizes: FloatArray,
        pure: FloatArray,
        tuned: str,
        chord_alone: bool,
    ) -> None:
        """Show a scale as it is read, its octave last, with its sizes in cents, tuned and pure; nothing sounds.

        With `chord_alone`, marks of other notes than the chord's recede: they are for the player.
        """
        theme, look = self._look.theme, self._look
        self._parts = [*(one.part for one in scale.degrees), CHORD_TONE]
        self._tint = {"pure": theme.pure, "31 steps": theme.thirty_one, "12 steps": theme.twelve}[tuned]
        self._chord_alone = chord_alone
        self._show_staff(scale, written, clef)
        self.places = self._across(sizes)
        division = {"31 steps": _STEPS, "12 steps": 12}.get(tuned, 0)
        steps = np.where(np.arange(_STEPS + 1) <= division, np.arange(_STEPS + 1), np.nan)
        ticks = self._across(steps * 1200.0 / max(1, division))
        self._ticks.set_data(*self._uprights(ticks, 0.09))
        self._ticks.set_visible(division > 0)
        posts = np.full(MOST_NOTES, np.nan)
        posts[: len(pure)] = self._across(pure)
        self._posts.set_data(*self._uprights(posts, 0.22))
        for i, (tie, mark) in enumerate(zip(self._ties, self._marks, strict=True)):
            shown = i < len(self.places)
            for artist in (tie, mark):
                artist.set_visible(shown)
            if shown:
                head = (look.frame[0] * look.inches[0]) + self._staff.heads[i][0] / 72
                tie.set_data([head, self.places[i]], [self._staff_foot, self._row + 0.16])
                mark.set_data([self.places[i]], [self._row])
        for i, text in enumerate(self._gaps):
            shown = i + 1 < len(self.places)
            text.set_visible(shown and tuned != "pure")
            if shown:
                text.set_x((self.places[i] + self.places[i + 1]) / 2)
                text.set_text(str(scale.gaps[i]))
        self._show_table(scale, tuned == "pure")
        self.sound(())

    def say(self, head: str, which: str, minded: Sequence[str]) -> None:
        """Say the chord and its scale, which of how many it is, and what is to be minded, in lines."""
        count = sum(part == TO_MIND for part in self._parts)
        self._symbol.set_text(head)
        self._which.set_text(which)
        self._head.say(str(count), "note to mind" if count == 1 else "notes to mind")
        begin(self._head, *self._head_at)
        beside = self._head_at[0] + headline_width(self._head) + 0.4
        pace = 1.35 * self._look.size("label") / 72
        for i, text in enumerate(self._lines):
            text.set_text(drawn(minded[i]) if i < len(minded) else "")
            if self._look.tall:
                text.set_position((self._head_at[0], self._head_at[1] - 0.27 - pace * i))
            else:
                text.set_position((beside, self._head_at[1] + 0.08 + pace * (len(minded) - 1 - i)))

    def sound(self, places: Sequence[int]) -> None:
        """Light up notes of the scale that sound; the others recede."""
        theme = self._look.theme
        for i, (part, mark) in enumerate(zip(self._parts, self._marks, strict=False)):
            lit = i in places
            hollow = part == TO_MIND
            full = self._tint.dim if self._chord_alone and part != CHORD_TONE else self._tint.full
            size = {CHORD_TONE: 20, TO_MIND: 14}.get(part, 12) + (8 if lit else 0)
            mark.set(
                marker=self._tint.marker, markersize=size * {"D": 0.8, "s": 0.9}.get(self._tint.marker, 1.0),
                markerfacecolor=theme.behind_text if hollow else full,
                markeredgecolor=theme.ink if lit else full if hollow else theme.behind_text,
                markeredgewidth=3 if lit or hollow else 2,
            )  # fmt: skip
            dim = bool(places) and not lit
            soft = part != CHORD_TONE and not lit
            self._staff.notes[i].set_facecolor(theme.line if dim else theme.grey if soft else theme.ink)

    def _show_staff(self, scale: ChordScale, written: Sequence[Note], clef: str) -> None:
        names = [_name(note, part) for note, part in zip(written, self._parts, strict=True)]
        words = [*(one.word for one in scale.degrees), "1"]
        staff, scale_of = self._staff, _LARGE[self._look.tall]
        for _ in range(2):  # a staff that must be smaller is broader in its own unit
            [line] = engraved_lines(tuple(written), clef, MOST_NOTES, MOST_NOTES, round(staff.width / scale_of))
            high, low = ink(line)
            scale_of = min(scale_of, staff.room / (low - high))
        if self._look.tall:
            rows = [("", name) if i % _NAMES else (name, "") for i, name in enumerate(names)]
        else:
            rows = list(zip(names, words, strict=True))
        staff.show(line, scale_of, rows)
        theme = self._look.theme
        for row in staff.words:
            for text, part in zip(row, self._parts, strict=False):
                of_chord = part == CHORD_TONE
                text.set_color(theme.ink if of_chord else theme.grey)
                text.set_fontweight("bold" if of_chord else "normal")

    def _show_table(self, scale: ChordScale, exact: bool) -> None:
        top = self._row - 0.8
        for i, row in enumerate(self._table):
            shown = i < len(scale.degrees)
            for text in row:
                text.set_visible(shown)
            if shown:
                one = scale.degrees[i]
                off = "pure" if exact or not one.step else f"{signed(one.error, 0)} cents"
                words = (_name(one.note, one.part), one.word, str(one.ratio), off)
                for text, word in zip(row, words, strict=True):
                    text.set_text(word)
                    text.set_y(top - 0.36 * i)
                    text.set_color(self._look.theme.ink if one.part == CHORD_TONE else self._look.theme.grey)

    def _across(self, sizes: Any) -> Any:
        return self._start + np.asarray(sizes) * (self._end - self._start) / 1200

    def _uprights(self, x: FloatArray, half: float) -> tuple[FloatArray, FloatArray]:
        return strokes(x, self._row - half, self._row + half)


def _name(note: Note, part: str) -> str:
    return f"({drawn(note.name)})" if part == TO_MIND else drawn(note.name)
