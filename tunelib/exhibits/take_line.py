"""A short take along the line on which all its notes would be in tune: what was heard, and one gap filled and said."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Playing, Scene
from tunelib.exhibits.inches import level_strokes, width_of
from tunelib.exhibits.look import Look
from tunelib.exhibits.take_rows import Passage, curve, tint_of
from tunelib.hearing import Report
from tunelib.pitch import FloatArray, plain

_MOST = 8  # notes
_LAST = 2  # values at the end of what was heard of a note that are not drawn: the next one is in them, and a break
_REACHES = (32.0, 52.0, 80.0)  # cents that are shown either way, as far as a take needs
_MARK = 20  # cents off, where there is a line to compare with
_AIMS = {"harmonics": "pure", "twelve": "twelve", "thirty-one": "thirty-one"}
_CALLED = {"harmonics": "harmonic"}  # what the names under the line are, where they are no notes


class _Place(NamedTuple):
    """Where one note is: the left end of its row and the second that it begins at, and the height of its line."""

    left: float
    start: float
    middle: float


class TakeLine:
    """Eight notes or fewer in one row, or two in an upright picture; places are in inches."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        self._look, theme = look, look.theme
        axes = look.bare(figure)
        self._wide, self._high = look.frame[2] * look.inches[0], look.frame[3] * look.inches[1]
        axes.set(xlim=(0, self._wide), ylim=(0, self._high))
        self._rows = look.fit(1, 2, 1)
        self._left, row, foot = look.fit(0.95, 1.0), self._high / self._rows, look.fit(0.4, 0.5)
        self._half = (row - foot) / 2
        self._under = self._half + look.fit(0.33, 0.38)  # from the line down to the names
        self._middles = [self._high - row * index - self._half for index in range(self._rows)]
        self._gaps = [axes.fill([0, 0, 0], [0, 0, 0], lw=1.5, joinstyle="round")[0] for _ in range(_MOST)]
        (self._marks,) = axes.plot([], [], color=theme.line, lw=1.2, ls=(0, (4, 4)))
        (self._aim,) = axes.plot([], [], lw=5, solid_capstyle="round")
        (self._pitch,) = axes.plot([], [], color=theme.grey, lw=2.5, solid_capstyle="round")
        (self._chosen,) = axes.plot([], [], color=theme.ink, lw=look.fit(4, 4, 3), solid_capstyle="round")
        (self._now,) = axes.plot([], [], "o", ms=16, color=theme.ink, **look.ring())
        self._names = [look.text(axes, 0, 0, ha="center") for _ in range(_MOST)]
        self._called = look.text(axes, 0, 0, size="name", ha="center")
        self._aims, self._offs = [], []
        for middle in self._middles:
            self._aims.append(look.text(axes, 0, middle, va="center", weight="bold"))
            for words in ("sharp", "flat"):
                self._offs.append(look.text(axes, 0, middle, f"{_MARK} {words}", va="center", color=theme.grey))
        self._kinds = [look.text(axes, 0, middle - self._under, color=theme.grey) for middle in self._middles]
        self._says = look.headline(axes, 0, 0, below=look.square, ha="center" if look.square else "left")

    def scene(self, report: Callable[[str, str], Report]) -> Scene:
        """The scene, given where a take against some targets comes from."""

        def update(take: str, against: str, note: int) -> None:
            self._update(report(take, against), _AIMS[against], note - 1)
            for text in self._kinds:
                text.set_text(_CALLED.get(against, "note"))

        moving = (
            self._marks, *self._gaps, self._aim, self._pitch, self._chosen, self._now, *self._names, self._called,
            *self._aims, *self._offs, *self._kinds, *self._says.artists,
        )  # fmt: skip
        parts = {
            "target": (self._aim, *self._aims, self._marks, *self._offs),
            "take": (self._pitch,),
            "note": (self._chosen, self._called),
            "gap": self._gaps,
            "off": self._says.artists,
            "names": (*self._names, *self._kinds),
        }
        return Scene(moving, update, self._light, parts)

    def _place(self, report: Report, index: int) -> _Place:
        first = index // self._each * self._each
        return _Place(self._left + 0.1, report.notes[first].onset, self._middles[index // self._each])

    def _x(self, report: Report, index: int, seconds: FloatArray | float) -> FloatArray:
        place = self._place(report, index)
        last = report.notes[min((index // self._each + 1) * self._each, len(report.notes)) - 1].offset
        return np.asarray(place.left + (seconds - place.start) / (last - place.start) * (self._wide - place.left))

    def _update(self, report: Report, aim: str, chosen: int) -> None:
        theme = self._look.theme
        tint = tint_of(report.targets, theme)
        self._now.set_visible(False)
        count = len(report.notes)
        self._each = math.ceil(count / self._rows)  # notes in a row
        heard = [[part[:-_LAST] for part in curve(report, Passage(index, index + 1), 0.0)] for index in range(count)]
        most = max(float(np.abs(off).max()) for _, off in heard)
        for reach in (reach for reach in _REACHES if reach >= most or reach == _REACHES[-1]):
            self._scale(reach)
            self._lay(report, heard)
            if self._say(report, chosen):
                break
        others = [part for _, x, y in self._curves for part in (np.array([x, y]), np.full((2, 1), np.nan))]
        self._pitch.set_data(*np.concatenate(others, axis=1))
        self._chosen.set_data(*self._curves[chosen][1:])
        for artist in (*self._gaps[count:], *self._names[count:]):
            artist.set_visible(False)
        for index, (gap, (_, x, y)) in enumerate(zip(self._gaps, self._curves, strict=False)):
            middle = self._place(report, index).middle
            gap.set_xy(np.column_stack([[x[0], *x, x[-1]], [middle, *y, middle]]))
            gap.set(
                fc=tint.fill if index == chosen else theme.ground,
                ec=tint.dim if index == chosen else "none",
                visible=True,
            )
        self._aim.set_data(*level_strokes(self._middles, self._left, self._wide))
        self._aim.set_color(tint.full)
        for words in self._aims:
            words.set(text=aim, color=tint.text)
        for index, text in enumerate(self._names[:count]):
            self._name(report, index, text)
            text.set(visible=index != chosen, color=theme.grey)
        self._name(report, chosen, self._called)

    def _lay(self, report: Report, heard: list[list[FloatArray]]) -> None:
        """Lay what was heard along the line: of each note its seconds, and where it is drawn."""
        self._curves = []
        for index, (seconds, off) in enumerate(heard):
            x = self._x(report, index, seconds)
            y = self._place(report, index).middle + self._inch * np.clip(off, -_REACHES[-1], _REACHES[-1])
            self._curves.append((seconds, x, y))

    def _scale(self, reach: float) -> None:
        """Show so many cents either way, with a line at some cents off to compare with."""
        self._inch = (self._half - 0.02) / reach  # inches to a cent
        ups = np.array([middle + side * _MARK * self._inch for middle in self._middles for side in (1, -1)])
        for text, up in zip(self._offs, ups.tolist(), strict=True):
            text.set_y(up)
        self._ups = ups

    def _name(self, report: Report, index: int, text: object) -> None:
        note, place = report.notes[index], self._place(report, index)
        middle = float(self._x(report, index, (note.onset + note.offset) / 2))
        text.set(x=middle, y=place.middle - self._under, text=report.name(note.target))  # type: ignore[attr-defined]

    def _say(self, report: Report, chosen: int) -> bool:
        """How far off the chosen note is, on the side of the line where the take leaves more room; whether it does."""
        off, look = float(report.away[chosen]), self._look
        number = plain(abs(off), 0 if abs(off) >= 9.95 else 1)
        words = f"{'cent' if number == '1' else 'cents'} {'sharp' if off > 0 else 'flat'}"
        self._says.say(number, "cents: in tune" if number == "0" else words)
        before, after = (width_of(text) for text in self._says.artists)
        wide = max(before, after) if look.square else before + 0.1 + after
        _, x, _ = self._curves[chosen]
        left = float(np.clip((x[0] + x[-1]) / 2 - wide / 2, self._left + 0.1, self._wide - wide))
        row = chosen // self._each
        near = [
            y[(x > left - 0.12) & (x < left + wide + 0.12)] - self._middles[row]
            for _, x, y in self._curves[row * self._each : (row + 1) * self._each]
        ]
        ups = np.concatenate([*near, [0.06, -0.06]])
        up, down = float(ups.max()), float(-ups.min())
        digits, below = 0.0094 * look.size("number"), 0.4 + 0.06 if look.square else 0.0
        if up < down:
            y = min(up + 0.2 + below, self._half - digits - 0.02)
        else:
            y = -min(down + 0.2 + digits, self._half - below - 0.02)
        self._says.move(left + (wide / 2 if look.square else before), self._middles[row] + y)
        low = self._middles[row] + y - (below + 0.14 if below else 0.08)
        self._draw_marks(left - 0.1, left + wide + 0.1, low, self._middles[row] + y + digits + 0.06)
        return min(up, down) + 0.2 + digits + below <= self._half

    def _draw_marks(self, left: float, right: float, low: float, high: float) -> None:
        """The lines to compare with, broken where words are in their way."""
        across = []
        for up in self._ups.tolist():
            cut = (left, right) if low < up < high else (self._wide, self._wide)
            across += [self._left, max(cut[0], self._left), np.nan, cut[1], self._wide, np.nan]
        self._marks.set_data(across, np.repeat(self._ups, 6))

    def _light(self, playing: Playing) -> None:
        """A dot travels along the take."""
        for index in playing.notes[-1:]:
            seconds, x, y = self._curves[index]
            at = float(np.clip(playing.seconds or 0.0, seconds[0], seconds[-1]))
            self._now.set_data([np.interp(at, seconds, x)], [np.interp(at, seconds, y)])
            self._now.set_visible(True)
