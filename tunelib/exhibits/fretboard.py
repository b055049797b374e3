"""Frets under the fingers: an octave of thirty-one, beside the twelve of a common guitar."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Ellipse

from tunelib.exhibits.along import Along
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Printed, Scene, Slider, Voicing
from tunelib.exhibits.look import THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
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


class Fretboard(Exhibit):
    """An octave of 31 frets beside the 12 of a common guitar, and a fingertip drawn to scale."""

    name: ClassVar[str] = "fretboard"
    title: ClassVar[str] = "A fretboard with 31 frets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("strings", "Strings of a", tuple(STRING_SETS), "guitar"),
        Slider("scale", "Scale length", 300, 900, 1, int(SCALE_LENGTH), "mm"),
        Slider("string", "String, from the highest", 1, _MOST_STRINGS, 1, 5),
        Slider("fret", "Fret", 0, _STEPS, 1, 10),
        Slider("finger", "A fingertip needs", 5, 20, 1, 12, "mm"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        board = Along(
            look.bare(figure, (0.095, 0.12, 0.87, 0.71), (0.03, 0.1, 0.94, 0.71), (0.03, 0.095, 0.94, 0.685)),
            look,
            (0, 1),
            look.fit((-0.42, 1.36), (-0.62, 1.42)),
        )
        frets, common = (2 * fret_places(n, 1.0) for n in (_STEPS, 12))
        frame = board.box((0, 1), (0, 1), fc="none", ec=grey, lw=1.5)
        close = board.box((0, 0), (0, 1), fc=grey, ec="none", alpha=0.3)
        blue = board.lines(frets, 0, 1, color=THIRTY_ONE_COLOUR, lw=3.2, solid_capstyle="butt", clip_on=False)
        board.lines(-0.004, -0.02, 1.02, color=ink, lw=7, solid_capstyle="butt", clip_on=False)
        board.lines(common, 1.06, 1.24, color=TWELVE_COLOUR, lw=5, solid_capstyle="butt", clip_on=False)
        for number, place in enumerate(common.tolist(), 1):
            board.text(place, 1.3, str(number))
        for number in (*range(5, _STEPS - 1, 5), _STEPS):
            board.text(frets[number - 1], -0.11, str(number), weight="bold")
        beside_nut = look.fit({"ha": "right"}, {"va": "bottom"})
        for words, across in (("12 frets", 1.15), ("31 frets", -0.11)):
            board.text(look.fit(-0.018, -0.035), across, words, **beside_nut)
        wires = board.axes.plot([], [], color=ink, lw=1.2)[0]
        ruler = board.axes.plot([], [], color=grey, lw=1.2)[0]
        names = [board.text(0, 0, weight="bold", **beside_nut) for _ in range(_MOST_STRINGS)]
        marks = [board.text(0, 0) for _ in range(11)]
        tip = Ellipse((0, 0), 0, 0, fc=grey, ec=ink, lw=2, alpha=0.85, zorder=3)
        board.axes.add_patch(tip)
        tip.set_clip_path(frame)
        dot = board.axes.plot([], [], "o", ms=9, color=ink, clip_on=False, zorder=4)[0]
        right = {"ha": look.fit("right", "left"), "va": "top"}
        side = look.fit(0.97, 0.03)
        said = look.text(figure, side, look.fit(0.955, 0.92, 0.917), weight="bold", **right)
        beside = look.text(figure, side, look.fit(0.9, 0.893, 0.883), **right)
        zone = look.text(figure, look.fit(0.965, 0.03), look.fit(0.06, 0.06, 0.03), ha=look.fit("right", "left"))

        def update(strings: str, scale: int, string: int, fret: int, finger: int) -> None:
            notes = STRING_SETS[strings]
            heights = (np.arange(len(notes)) + 0.5) / len(notes)
            wires.set_data(*board.point(np.tile([0, 1, np.nan], len(notes)), np.repeat(heights, 3)))
            for text, note, height in zip(names, notes, heights.tolist(), strict=False):
                text.set(text=str(note), position=board.point(-0.018, height))
            for text in names[len(notes) :]:
                text.set_text("")
            every = 25 if scale < 420 else 50
            ticks = np.arange(0, scale / 2 + 0.01, every)
            ruler.set_data(*board.strokes(2 * ticks / scale, -0.22, look.fit(-0.17, -0.19)))
            for i, text in enumerate(marks):
                text.set_visible(i < ticks.size)
                if i < ticks.size:
                    text.set(
                        text=f"{ticks[i]:g}" if i else "mm",
                        position=board.point(2 * ticks[i] / scale, look.fit(-0.3, -0.36)),
                    )
            first = _first_too_close(scale, finger)
            start = 1.0 if first is None else 2 * _place(scale, first - 1) / scale
            board.stretch(close, (start, 1), (0, 1))
            zone.set_text(f"shaded: {_zone(scale, finger)}" if start < 1 else _zone(scale, finger))
            at, height = 2 * _place(scale, fret) / scale, float(heights[_row(notes, string)])
            tip.set_visible(fret > 0)
            breadth, depth = board.point(2 * finger / scale, 0.9 / _MOST_STRINGS)
            tip.set(center=board.point(at - finger / scale, height), width=breadth, height=depth)
            dot.set_data(*board.point([at], [height]))
            said.set_text(self._said(notes, scale, string, fret))
            beside.set_text(_beside_common(scale, fret))

        return Scene((close, blue, wires, ruler, tip, dot, *names, *marks, said, beside, zone), update)

    @staticmethod
    def _said(notes: tuple[Note, ...], scale: int, string: int, fret: int) -> str:
        open_note = notes[_row(notes, string)]
        where = f"fret {fret}" if fret else "open"
        distance = f", {_place(scale, fret):.2f} mm from the nut" if fret else ""
        return f"{open_note} string, {where}: {note_at(open_note, fret, _STEPS)}{distance}"

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
