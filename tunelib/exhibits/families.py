"""The families of intervals that thirty-one makes: sub-, minor, neutral, major, super-."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path as Outline
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches, strokes
from tunelib.exhibits.look import Look
from tunelib.exhibits.thirty_one import pair
from tunelib.pitch import THIRTY_ONE, FloatArray, Note, cents, interval_names, plain, ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C4 = Note.parse("C4").hz(THIRTY_ONE)

STANDS_FOR = (
    "1/1", "128/125", "21/20", "16/15", "12/11", "9/8", "8/7", "7/6", "6/5", "11/9", "5/4", "9/7", "21/16", "4/3",
    "11/8", "7/5", "10/7", "16/11", "3/2", "32/21", "14/9", "8/5", "18/11", "5/3", "12/7", "7/4", "9/5", "11/6",
    "15/8", "40/21", "125/64", "2/1",
)  # fmt: skip
"""A ratio near each step, by number of steps: Ellis's septimal ones and those of 11 where there is one, and for the
smallest the diesis of quarter-comma. Steps 5 and 26 each stand for two ratios a comma apart, and one of them is given.
"""

_COLUMNS = 5
_FAMILIES = ("sub-", "minor", "neutral", "major", "super-")
_PERFECT = ("sub-", "", "perfect", "", "super-")
_TRITONES = ("", "augmented", "", "diminished", "")
_ROWS: tuple[tuple[str, tuple[int | None, ...], tuple[str, ...]], ...] = (
    ("unison", (None, None, 0, None, 1), _PERFECT),
    ("seconds", (2, 3, 4, 5, 6), _FAMILIES),
    ("thirds", (7, 8, 9, 10, 11), _FAMILIES),
    ("fourths", (12, None, 13, None, 14), _PERFECT),
    ("tritones", (None, 15, None, 16, None), _TRITONES),
    ("fifths", (17, None, 18, None, 19), _PERFECT),
    ("sixths", (20, 21, 22, 23, 24), _FAMILIES),
    ("sevenths", (25, 26, 27, 28, 29), _FAMILIES),
    ("octave", (30, None, 31, None, None), _PERFECT),
)
_FOLDED = (0, len(_ROWS) - 1)  # rows that are shown only when they are chosen
_OPEN = tuple(row for row in range(len(_ROWS)) if row not in _FOLDED)


class IntervalFamilies(Exhibit):
    """The intervals of thirty-one by number and family, each beside the ratio that it stands for."""

    name: ClassVar[str] = "interval_families"
    title: ClassVar[str] = "Families of intervals"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("step", "Steps", 0, 31, 1, 9),)
    parts: ClassVar[Mapping[str, str]] = {
        "others": "the other intervals",
        "families": "the families",
        "pure": "the pure ratios",
        "dots": "where thirty-one puts them",
        "chosen": "the chosen interval",
        "miss": "the gap to the pure ratio",
        "words": "how far it is from its ratio",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("families", "pure"), ("dots", "chosen"), ("miss", "words"), ("others",)
    )  # fmt: skip
    _places: ClassVar[dict[int, tuple[int, int]]] = {
        step: (column, row)
        for row, (_, steps, _) in enumerate(_ROWS)
        for column, step in enumerate(steps)
        if step is not None
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, pure, blue = look.theme, look.theme.pure, look.theme.thirty_one
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        table = _Table(look)
        names = [look.text(axes, table.left, 0, words, va="center") for words, _, _ in _ROWS]
        heads = [look.text(axes, x, 0, ha="center", va="center") for x in table.columns]
        ratios = [look.text(axes, x, 0, ha="center", va="center") for x in table.columns]
        far_misses = PathPatch(Outline(np.zeros((1, 2))), fc=blue.fill, ec=blue.dim, lw=1.2, joinstyle="miter")
        axes.add_patch(far_misses)
        (far_posts,) = axes.plot([], [], color=pure.dim, lw=3, solid_capstyle="round")
        (far_dots,) = axes.plot([], [], "o", ms=8, color=blue.dim, **look.ring(1.2))
        misses = [Rectangle((0, 0), 0, 0, fc=blue.fill, ec=blue.full, lw=1.2) for _ in range(_COLUMNS)]
        for patch in misses:
            axes.add_patch(patch)
        (posts,) = axes.plot([], [], color=pure.full, lw=5, solid_capstyle="round", zorder=3)
        (post,) = axes.plot([], [], color=pure.full, lw=7, solid_capstyle="round", zorder=3)
        (dots,) = axes.plot([], [], "o", ms=12, color=blue.full, zorder=4, **look.ring())
        (here,) = axes.plot([], [], "o", ms=22, color=blue.full, mec=theme.ink, mew=3, zorder=5)
        bar, bar_words = _draw_bar(axes, look, table)
        head = look.headline(axes, 0, 0, below=look.tall and not look.square, ha="center")

        def update(step: int) -> None:
            column, row = self._places[step]
            tops, bottoms = table.rows(row)
            middles = (tops + bottoms) / 2
            low, high, foot = table.post(tops[row])
            middles[row] = (low + high) / 2
            for number, text in enumerate(names):
                shown = number == row or number not in _FOLDED
                text.set_visible(shown)
                text.set_color(theme.ink if number == row else theme.grey)
                text.set_fontweight("bold" if number == row else "normal")
                text.set_position((table.left, middles[number]))
            steps = [other for other in self._places if self._places[other][1] in {*_OPEN, row}]
            x, y = self._dots(table, steps, middles)
            far_dots.set_data(x, y)
            ends = x
            x = np.array([table.columns[self._places[other][0]] for other in steps])
            half = 0.3 * table.strip
            far_misses.set_path(_boxes(x, ends, y, half))
            far_posts.set_data(*strokes(x, y - half, y + half))
            _, of_row, families = _ROWS[row]
            whose = [_nearest(of_row, k) for k in range(_COLUMNS)]
            at = np.array([table.columns[k] for k in whose])
            posts.set_data(*strokes(at, low, high))
            post.set_data([at[column]] * 2, [low, high])
            post.set_linewidth(7)
            off = [table.scale * self._error(of_row[k] or 0) for k in whose]
            level = (low + high) / 2
            dots.set_data(at + np.array(off), np.full(_COLUMNS, level))
            here.set_data([at[column] + off[column]], [level])
            here.set_markersize(22)
            tall = min(0.5, 0.6 * (high - low))
            for k, (patch, away) in enumerate(zip(misses, off, strict=True)):
                patch.set_bounds(at[k], level - tall / 2, away, tall)
            for k, (text, ratio) in enumerate(zip(heads, ratios, strict=True)):
                other = of_row[k]
                text.set_text("" if other is None else families[k] if look.tall else _interval(other))
                ratio.set_text("" if other is None else STANDS_FOR[other])
                text.set_position((table.columns[k], high + table.head))
                ratio.set_position((table.columns[k], foot))
                for words in (text, ratio):
                    words.set_color(theme.ink if k == column else theme.grey)
                    words.set_fontweight("bold" if k == column else "normal")
            head.say(*self._headline(step))
            head.move(table.clear(column), foot - table.number)

        def light(playing: Playing) -> None:
            if {1, 3} & set(playing.notes):
                here.set_markersize(30)
            if 5 in playing.notes:
                post.set_linewidth(13)

        moving = (
            far_misses, far_posts, far_dots, *misses, posts, post, dots, here, *names, *heads, *ratios, *head.artists,
        )  # fmt: skip
        parts = {
            "others": (far_misses, far_posts, far_dots),
            "families": tuple(heads),
            "pure": (posts, post, *ratios),
            "dots": (dots,),
            "chosen": (here,),
            "miss": (*misses, bar, bar_words),
            "words": head.artists,
        }
        return Scene(moving, update, light, parts)

    def _dots(self, table: _Table, steps: list[int], middles: FloatArray) -> tuple[FloatArray, FloatArray]:
        places = [self._places[step] for step in steps]
        x = [
            table.columns[column] + table.scale * self._error(step)
            for step, (column, _) in zip(steps, places, strict=True)
        ]
        return np.array(x), middles[[row for _, row in places]]

    @staticmethod
    def _error(step: int) -> float:
        """Cents by which a number of steps are wider than the ratio that they stand for."""
        return float(THIRTY_ONE.cents_of(step)) - cents(STANDS_FOR[step])

    def _headline(self, step: int) -> tuple[str, str]:
        error = self._error(step)
        if abs(error) < 0.005:
            return "0", f"cents from {STANDS_FOR[step]}"
        return plain(abs(error), 2), f"cents {'wider' if error > 0 else 'narrower'} than {STANDS_FOR[step]}"

    def sentence(self, step: int) -> str:
        size, error = float(THIRTY_ONE.cents_of(step)), self._error(step)
        also = [name.name for name in interval_names(step, THIRTY_ONE)[1:]]
        other = f" (also the {also[0]})" if also else ""
        near = "exactly" if abs(error) < 0.005 else " ".join(self._headline(step)).removesuffix(f" {STANDS_FOR[step]}")
        return (
            f"The {_interval(step)}{other}, {step} steps of 31, has {plain(size)} cents: "
            f"{near} {STANDS_FOR[step]}, for which it stands."
        )

    def numbers(self, step: int) -> Mapping[str, str]:
        return {
            "cents": plain(float(THIRTY_ONE.cents_of(step))),
            "ratio": STANDS_FOR[step],
            "pure": plain(cents(STANDS_FOR[step])),
            "miss": plain(abs(self._error(step)), 2),
            "interval": _interval(step),
        }

    def score(self, step: int) -> Score:
        upper = _C4 * ratio_from_cents(float(THIRTY_ONE.cents_of(step)))
        pure = _C4 * ratio_from_cents(cents(STANDS_FOR[step]))
        together = (
            ScoreNote(onset=4.4, duration=2.0, hertz=hertz, voice=voice, level=0.4)
            for hertz, voice in ((_C4, "lower"), (pure, "pure"))
        )
        return Score((*pair(_C4, upper, 0.0), *together), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _draw_bar(axes: Axes, look: Look, table: _Table) -> tuple[Line2D, Text]:
    """How long ten cents are, in the corner beside the title."""
    right, level = field_of(look).right, look.inches[1] - 0.6
    start = right - 10 * table.scale
    (bar,) = axes.plot([start, right], [level] * 2, color=look.theme.grey, lw=2.5, solid_capstyle="butt")
    words = look.text(axes, start - 0.1, level, "10 cents", ha="right", va="center", color=look.theme.grey)
    return bar, words


def _boxes(starts: FloatArray, ends: FloatArray, middles: FloatArray, half: float) -> Outline:
    """Rectangles from places to others on a level, as one outline."""
    x = np.stack([starts, ends, ends, starts, starts], axis=1)
    y = middles[:, None] + half * np.array([-1, -1, 1, 1, -1])
    codes = [Outline.MOVETO, *[Outline.LINETO] * 3, Outline.CLOSEPOLY]
    return Outline(np.stack([x, y], axis=2).reshape(-1, 2), np.tile(codes, len(starts)))


class _Table:
    """Where rows and columns are, in inches: the chosen row is high, and the others are strips."""

    def __init__(self, look: Look) -> None:
        free = field_of(look)
        self.left, self._right, self._top, self._height = free.left, free.right, free.top, free.height
        start = free.left + look.fit(1.0, 0.95)
        width = (free.right - start) / _COLUMNS
        self.columns = (start + width * (np.arange(_COLUMNS) + 0.5)).tolist()
        self.scale = look.fit(0.056, 0.0255)  # inches to a cent
        self.strip = look.fit(0.27, 0.56, 0.27)
        self.head = look.fit(0.22, 0.28, 0.2)  # above a post
        self.number = look.fit(0.66, 0.8, 0.68)  # below a ratio, to the baseline of the headline
        self._head_room = look.fit(0.38, 0.5, 0.36)
        self._foot = look.fit(0.24, 0.32, 0.24)  # below a post, to the middle of its ratio
        self._below = self._foot + self.number + look.fit(0.22, 0.75, 0.2)  # a post, to the end of its row
        words = look.fit((1.15, 2.3), (1.4, 1.4), (1.5, 2.85))  # of the headline, to the left and right of its place
        self._clear = free.left + words[0], free.right - words[1]

    def rows(self, chosen: int) -> tuple[FloatArray, FloatArray]:
        """Tops and bottoms of the rows, the first one first."""
        heights = np.full(len(_ROWS), self.strip)
        heights[list(_FOLDED)] = 0
        heights[chosen] = 0
        heights[chosen] = self._height - heights.sum()
        self._tall = float(heights[chosen])
        ends = self._top - np.cumsum(heights)
        return ends + heights, ends

    def post(self, top: float) -> tuple[float, float, float]:
        """Foot and head of the posts of the chosen row that begins at a height, and the middle of their ratios."""
        high = top - self._head_room
        low = top - self._tall + self._below
        return low, high, low - self._foot

    def clear(self, column: int) -> float:
        """Where the headline is, below a column if there is room."""
        return float(np.clip(self.columns[column], *self._clear))


def _nearest(steps: tuple[int | None, ...], column: int) -> int:
    """The nearest column that has an interval: a family that a row lacks is drawn as its neighbour, from which it parts
    where both are there."""
    return min((k for k, step in enumerate(steps) if step is not None), key=lambda k: (abs(k - column), abs(k - 2)))


def _interval(step: int) -> str:
    return interval_names(step, THIRTY_ONE)[0].name
