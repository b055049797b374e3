"""Frets under the fingers: an octave of thirty-one, beside the twelve of a common guitar."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Rectangle

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Printed, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches, level_strokes, strokes
from tunelib.exhibits.look import Look
from tunelib.export import BREAKS, POSTURE
from tunelib.pitch import (
    SCALE_LENGTH,
    STRING_SETS,
    THIRTY_ONE,
    FloatArray,
    Note,
    aligned,
    fret_gaps,
    fret_places,
    frets_too_close,
    nearest_common_fret,
    note_at,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_STEPS = len(THIRTY_ONE)
_MOST_STRINGS = max(map(len, STRING_SETS.values()))
_MARKED = (3, 5, 7, 9, 12)  # the frets that have dots on a common guitar


class Fretboard(Exhibit):
    """An octave of 31 frets beside the 12 of a common guitar, and a fingertip drawn to scale."""

    name: ClassVar[str] = "fretboard"
    title: ClassVar[str] = "A fretboard with 31 frets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("strings", "Strings of a", tuple(STRING_SETS), "guitar"),
        Slider("scale", "Scale length", 300, 900, 1, int(SCALE_LENGTH), "mm"),
        Slider("string", "String, from the highest", 1, _MOST_STRINGS, 1, 5),
        Slider("fret", "Fret", 0, _STEPS, 1, 9),
        Slider("finger", "A fingertip needs", 5, 20, 1, 12, "mm"),
    )

    parts: ClassVar[Mapping[str, str]] = {
        "board": "the fingerboard and its strings",
        "frets": "thirty-one frets to the octave",
        "common": "the twelve frets of a common guitar",
        "string": "the part of the string that sounds",
        "finger": "a fingertip, to scale",
        "gap": "the room for a finger at this fret",
        "words": "how much room there is",
        "tight": "where a fingertip has too little room",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("board",), ("common",), ("frets",), ("finger", "string", "gap", "words"), ("tight",)
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, tint = look.theme, look.theme.thirty_one
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        board = _Board(axes, look)
        frets, common = (2 * fret_places(n, 1.0) for n in (_STEPS, 12))
        wood = board.box((0, 1), (0, 1), fc=theme.ground, ec="none", zorder=0.5)
        roomy = board.box((0, 0), (0, 1), fc=tint.fill, ec="none", zorder=0.6)
        gap = board.box((0, 0), (0, 1), fc=tint.dim, ec="none", zorder=0.7)
        narrow = board.lines(frets, 0.0, 1.0, color=tint.dim, lw=2, solid_capstyle="butt", zorder=1)
        (wide,) = axes.plot([], [], color=tint.full, lw=2.5, solid_capstyle="butt", zorder=1.1)
        nut = board.lines(-0.004, -0.02, 1.02, color=theme.ink, lw=7, solid_capstyle="round", zorder=1.2)
        ends = board.common
        ticks = board.lines(common, *ends, color=theme.twelve.full, lw=5, solid_capstyle="round")
        marks = [
            look.text(axes, *board.point(float(common[number - 1]), board.numbers), str(number), **board.number_style)
            for number in _MARKED
        ]
        of_twelve = look.text(axes, *board.twelve, "12 frets", **board.twelve_style)
        (wires,) = axes.plot([], [], color=theme.grey, lw=1.2, zorder=1.5)
        (sounding,) = axes.plot([], [], color=theme.ink, lw=3, solid_capstyle="round", zorder=1.6)
        names = [look.text(axes, 0, 0, **board.name_style) for _ in range(_MOST_STRINGS)]
        (fret_line,) = axes.plot([], [], color=tint.full, lw=4, solid_capstyle="butt", zorder=1.7)
        tip = Circle((0, 0), 0, fc=tint.full, ec=theme.ink, lw=2.5, zorder=3)
        axes.add_patch(tip)
        (pointer,) = axes.plot([], [], color=theme.ink, lw=1.2)
        (bracket,) = axes.plot([], [], color=theme.grey, lw=2.5, solid_capstyle="round")
        tight = look.text(axes, 0, 0, va="center", ha=board.tight_side)
        head = look.headline(axes, 0, 0, below=board.upright, ha="left")
        note_words = look.text(axes, 0, 0, size="name")
        said: dict[str, Any] = {}

        def update(strings: str, scale: int, string: int, fret: int, finger: int) -> None:
            notes = STRING_SETS[strings]
            row = _row(notes, string)
            heights = (np.arange(len(notes)) + 0.5) / len(notes)
            wires.set_data(*board.point(*level_strokes(heights, 0, 1)))
            for number, (text, note) in enumerate(zip(names, notes, strict=False)):
                text.set_text(str(note))
                text.set_position(board.point(board.beside_nut, float(heights[number])))
                text.set_color(theme.ink if number == row else theme.grey)
                text.set_fontweight("bold" if number == row else "normal")
            for text in names[len(notes) :]:
                text.set_text("")
            first = _first_too_close(scale, finger)
            start = 1.0 if first is None else 2 * _place(scale, first - 1) / scale
            board.stretch(roomy, (0, start), (0, 1))
            easy = np.where(np.arange(_STEPS) < (_STEPS if first is None else first - 1), frets, np.nan)
            wide.set_data(*board.strokes(easy, 0, 1))
            at, before = (2 * _place(scale, n) / scale for n in (fret, max(fret - 1, 0)))
            board.stretch(gap, (before, at), (0, 1))
            height = float(heights[row])
            fret_line.set_data(*board.strokes(at if fret else np.nan, 0, 1))
            radius = board.length * finger / scale
            tip.set_visible(fret > 0)
            tip.set(center=tuple(map(float, board.point(at - finger / scale, height))), radius=radius)
            sounding.set_linewidth(3)
            sounding.set_data(*board.point([at, 1], [height, height]))
            bracket.set_data(*board.point([start, start, 1, 1], board.bracket))
            bracket.set_visible(first is not None)
            middle = (at + before) / 2
            tight.set_text(f"all have {finger} mm" if first is None else f"under {finger} mm from here")
            if board.upright:
                tight.set_text(f"all {finger} mm" if first is None else f"under {finger} mm")
            tight.set_position(board.tight_place(start, middle))
            millimetres, words, below = board.reading(scale, fret, str(note_at(notes[row], fret, _STEPS)))
            head.say(millimetres, words)
            note_words.set_text(below)
            places = board.words(middle)
            head.move(*places.head)
            note_words.set_position(places.note)
            pointer.set_data(*places.pointer)
            for text in marks:
                clear = 0.05 + 0.05 * len(text.get_text())
                text.set_visible(board.upright or abs(text.get_position()[0] - places.pointer[0][0]) > clear)
            said.update(at=at, height=height)

        def light(playing: Playing) -> None:
            if playing.notes:
                along = [0.0 if 0 in playing.notes else said["at"], 1.0]
                sounding.set_data(*board.point(along, [said["height"]] * 2))
                sounding.set_linewidth(6)

        moving = (
            roomy, gap, wide, wires, fret_line, sounding, tip, pointer, bracket, *names, *marks, tight,
            *head.artists, note_words,
        )  # fmt: skip
        parts = {
            "board": (wood, nut, wires, *names),
            "frets": (narrow, wide, fret_line),
            "common": (ticks, *marks, of_twelve),
            "string": (sounding,),
            "finger": (tip,),
            "gap": (gap,),
            "words": (*head.artists, note_words, pointer),
            "tight": (bracket, tight, roomy),
        }
        return Scene(moving, update, light, parts)

    def numbers(self, strings: str, scale: int, string: int, fret: int, finger: int) -> Mapping[str, str]:
        notes = STRING_SETS[strings]
        first = _first_too_close(scale, finger)
        found = {
            "note": str(note_at(notes[_row(notes, string)], fret, _STEPS)),
            "from_nut": f"{_place(scale, fret):.2f}",
        }
        if fret:
            found["room"] = f"{_gap(scale, fret):.2f}"
        if first is not None:
            found["first_tight"] = str(first)
        return found

    def sentence(self, strings: str, scale: int, string: int, fret: int, finger: int) -> str:
        notes = STRING_SETS[strings]
        open_note = notes[_row(notes, string)]
        which = f"string {string}"
        if string > len(notes):
            which = f"its lowest string, since there is no string {string}"
        place = f", {_place(scale, fret):.2f} mm from the nut: {_beside_common(scale, fret)}" if fret else ""
        return (
            f"On a {strings} with a scale of {scale} mm, fret {fret} of {_STEPS} on {which}, {open_note}, sounds "
            f"{note_at(open_note, fret, _STEPS)}{place}; {_zone(scale, finger)}."
        )

    def score(self, strings: str, scale: int, string: int, fret: int, finger: int) -> Score:
        notes = STRING_SETS[strings]
        open_note = notes[_row(notes, string)]
        pair = (open_note, note_at(open_note, fret, _STEPS))
        return Score(
            tuple(
                ScoreNote(onset=1.5 * i, duration=1.4, hertz=note.hz(THIRTY_ONE), name=note, level=0.6)
                for i, note in enumerate(pair)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["plucked"]

    def printed(self, strings: str, scale: int, string: int, fret: int, finger: int) -> Printed:
        notes = STRING_SETS[strings]
        common, away = nearest_common_fret(_STEPS, scale)
        gaps, places = fret_gaps(_STEPS, scale), fret_places(_STEPS, scale)
        rows = [("0", *map(str, notes), "0.00", "–", "0", "0.00")]
        for n in range(1, _STEPS + 1):
            rows.append(
                (
                    str(n),
                    *(str(note_at(note, n, _STEPS)) for note in notes),
                    f"{places[n - 1]:.2f}",
                    f"{gaps[n - 1]:.2f}",
                    str(common[n - 1]),
                    aligned(float(away[n - 1]), 2),
                )
            )
        return Printed(
            introduction=(
                f"A {strings} whose string is {scale} mm long from nut to bridge, with {_STEPS} equal steps to the "
                f"octave. Each fret leaves the same fraction of what sounded before it, so the gaps shrink from "
                f"{gaps[0]:.2f} mm to {gaps[-1]:.2f} mm; beyond the octave everything repeats at half the size. "
                f"{_zone(scale, finger)[0].upper()}{_zone(scale, finger)[1:]}. The open strings are tuned in "
                f"{_STEPS} too, with A4 at 440 Hz. Distances to the hundredth of a millimetre, from the front edge of "
                "the nut; the last column is negative where a fret is nearer to the nut than the common one."
            ),
            table_title=f"{_STEPS} frets on a scale of {scale} mm",
            head=("fret", *(str(note) for note in notes), "mm from nut", "gap, mm", "nearest of 12", "mm from it"),
            rows=tuple(rows),
            cautions=(
                "These places are those of an ideal string. Pressing a string stretches it and its stiffness raises "
                "it, both by a few cents, so makers move the saddle back by a few millimetres: set yours by ear at "
                "the octave fret.",
                "Stretches between distant frets strain the hand. Warm up, keep the wrist straight, and use a finger "
                f"that reaches. {BREAKS}",
                POSTURE,
                "Have frets cut by someone with the tools for it; fret slots cannot be uncut, and wire ends are sharp.",
            ),
        )


def _row(notes: tuple[Note, ...], string: int) -> int:
    """Which of the open strings, lowest first, a string's number means; the lowest where there are fewer."""
    return max(len(notes) - string, 0)


def _gap(scale: int, fret: int) -> float:
    """Millimetres between a fret and the one before it, or the nut."""
    return _place(scale, fret) - _place(scale, fret - 1)


def _place(scale: int, fret: int) -> float:
    """Distance of a fret from the nut in millimetres; 0 for the nut itself."""
    return float(_places(scale)[fret - 1]) if fret else 0.0


@lru_cache(maxsize=64)
def _places(scale: int) -> FloatArray:
    return fret_places(_STEPS, scale)


def _first_too_close(scale: int, finger: int) -> int | None:
    """The first fret with less room than a fingertip needs; all after it have still less."""
    close = np.flatnonzero(frets_too_close(_STEPS, finger, scale))
    return int(close[0]) + 1 if close.size else None


def _zone(scale: int, finger: int) -> str:
    first = _first_too_close(scale, finger)
    if first is None:
        return f"all {_STEPS} frets leave room for a fingertip of {finger} mm"
    if first == _STEPS:
        return f"fret {first} leaves less than {finger} mm for a fingertip"
    return f"frets {first} to {_STEPS} leave less than {finger} mm for a fingertip"


def _beside_common(scale: int, fret: int) -> str:
    """Where a fret is among those of a common guitar, in words."""
    if not fret:
        return "the nut is the same for both"
    common, away = nearest_common_fret(_STEPS, scale)
    if not common[fret - 1]:
        return "nearer to the nut than to fret 1 of 12"
    return _common_words(int(common[fret - 1]), float(away[fret - 1]))


def _common_words(common: int, away: float) -> str:
    what = f"fret {common} of 12" if common else "the nut"
    if abs(away) < 0.005:
        return f"where {what} is"
    return f"{abs(away):.2f} mm {'beyond' if away > 0 else 'short of'} {what}"


class _Words(NamedTuple):
    """Where the headline, the note's name and the line that points to them are."""

    head: tuple[float, float]
    note: tuple[float, float]
    pointer: tuple[list[float], list[float]]


class _Board:
    """Where things are, in inches: the board is level, or upright in an upright picture, with the nut at its top.

    Along it 0 is the nut and 1 the octave; across it 0 is the edge beside the lowest string and 1 the other edge.
    """

    def __init__(self, axes: Axes, look: Look) -> None:
        free = field_of(look)
        self._axes, self._free, self._square = axes, free, look.square
        self.upright = look.tall and not look.square
        if self.upright:
            self._low, self._width = 2.0, 2.05
            self._start, self.length = free.top - 0.42, free.top - 0.42 - free.bottom - 0.06
            self.common, self.numbers, self.beside_nut = (1.03, 1.12), 1.25, -0.022
            self.number_style: dict[str, Any] = {"ha": "center", "va": "center"}
            self.name_style, self.twelve_style = self.number_style, dict[str, Any](ha="right", va="center")
            self.twelve = free.right, free.top - 0.24
            self.bracket, self.tight_side = [-0.02, -0.07, -0.07, -0.02], "left"
        else:
            self._low, self._width = free.bottom + look.fit(1.24, 1.36), look.fit(2.36, 2.14)
            self._start = free.left + look.fit(0.5, 0.52)
            self.length = free.right - self._start - 0.03
            self.common, self.numbers, self.beside_nut = (-0.13, -0.04), look.fit(-0.22, -0.25), -0.12 / self.length
            self.number_style = {"ha": "center", "va": "center"}
            self.name_style = {"ha": "right", "va": "center"}
            self.twelve, self.twelve_style = (free.left, self._low + self.numbers * self._width), {"va": "center"}
            self.bracket, self.tight_side = [1.02, 1.06, 1.06, 1.02], "left"

    def reading(self, scale: int, fret: int, note: str) -> tuple[str, str, str]:
        """The millimetres that a fret leaves, the words after them, and what comes in a line below them, if any."""
        if not fret:
            return "", "" if self.upright else f"the open string, {note}", f"open, {note}" if self.upright else ""
        room_there = f"{_gap(scale, fret):.1f}"
        if self.upright:
            return room_there, f"mm, fret {fret}", note
        return room_there, f"mm for fret {fret}: {note}", ""

    def point(self, along: Any, across: Any) -> tuple[Any, Any]:
        """A place on the board, or arrays of places, in inches."""
        along, across = np.asarray(along) * self.length, self._low + np.asarray(across) * self._width
        return (across, self._start - along) if self.upright else (self._start + along, across)

    def strokes(self, along: Any, low: float, high: float) -> tuple[Any, Any]:
        """Places of strokes across the board, for one line."""
        return self.point(*strokes(along, low, high))

    def lines(self, along: Any, low: float, high: float, **style: Any) -> Any:
        """Strokes across the board."""
        return self._axes.plot(*self.strokes(along, low, high), **style)[0]

    def box(self, along: tuple[float, float], across: tuple[float, float], **style: Any) -> Rectangle:
        """A rectangle between places."""
        patch = Rectangle((0, 0), 0, 0, **style)
        self._axes.add_patch(patch)
        self.stretch(patch, along, across)
        return patch

    def stretch(self, patch: Rectangle, along: tuple[float, float], across: tuple[float, float]) -> None:
        """Lay a rectangle between other places."""
        (x0, x1), (y0, y1) = self.point(np.array(along), np.array(across))
        patch.set_bounds(x0, y0, x1 - x0, y1 - y0)

    def tight_place(self, start: float, finger: float) -> tuple[float, float]:
        """Where it is said from which fret on there is too little room, clear of the headline."""
        free = self._free
        if not self.upright:
            reach = 2.3 if self._square else 1.95
            return min(float(self.point(start, 0)[0]), free.right - reach), free.top - 0.14
        ends = float(self.point(1, 0)[1]) + 0.1, float(self.point(start, 0)[1]) - 0.12, free.top - 1.0
        mine = float(self.point(finger, 0)[1])
        return free.left, next(y for y in ends if abs(y - mine) > 0.95)

    def words(self, finger: float) -> _Words:
        """Where the reading is: below the board at the finger, or to the left of it."""
        x, y = (float(place) for place in self.point(finger, 0.0))
        free = self._free
        if self.upright:
            clear = float(np.clip(y, free.bottom + 0.75, free.top - 0.6))
            return _Words((free.left, clear), (free.left, clear - 0.75), ([self._low - 0.19, self._low], [y, y]))
        before, after = (1.4, 2.6) if self._square else (1.05, 2.3)
        left = float(np.clip(x + 0.3, free.left + before, free.right - after))
        edge = self._low + self.numbers * self._width - 0.17
        level = free.bottom + 0.04
        above = float(self.point(0, self.common[0])[1])
        gap = above, np.nan if x < free.left + 0.85 else above, edge  # at the words to the left of the numbers
        pointer = [x] * 5, [self._low, *gap, edge - 0.16]
        return _Words((left, level), (left, level), pointer)
