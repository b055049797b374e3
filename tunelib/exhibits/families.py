"""The families of intervals that thirty-one makes: sub-, minor, neutral, major, super-."""

from __future__ import annotations

from typing import Any, ClassVar

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, Look
from tunelib.exhibits.thirty_one import _C4
from tunelib.exhibits.thirty_one import pair as _pair
from tunelib.pitch import (
    THIRTY_ONE,
    cents,
    interval_names,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

STANDS_FOR = (
    "1/1", "128/125", "21/20", "16/15", "12/11", "9/8", "8/7", "7/6", "6/5", "11/9", "5/4", "9/7", "21/16", "4/3",
    "11/8", "7/5", "10/7", "16/11", "3/2", "32/21", "14/9", "8/5", "18/11", "5/3", "12/7", "7/4", "9/5", "11/6",
    "15/8", "40/21", "125/64", "2/1",
)  # fmt: skip
"""A ratio near each step, by number of steps: Ellis's septimal ones and those of 11 where there is one, and for the "
"smallest
the diesis of quarter-comma. Steps 5 and 26 each stand for two ratios a comma apart, and one of them is given."""

_FAMILIES = ("sub-", "minor", "neutral,\nperfect", "major", "super-")
_ROWS = (
    ("unison", (None, None, 0, None, 1)),
    ("seconds", (2, 3, 4, 5, 6)),
    ("thirds", (7, 8, 9, 10, 11)),
    ("fourths", (12, None, 13, None, 14)),
    ("tritones", (None, 15, None, 16, None)),
    ("fifths", (17, None, 18, None, 19)),
    ("sixths", (20, 21, 22, 23, 24)),
    ("sevenths", (25, 26, 27, 28, 29)),
    ("octave", (30, None, 31, None, None)),
)


class IntervalFamilies(Exhibit):
    """The intervals of thirty-one by number and family, each beside the ratio that it stands for."""

    name: ClassVar[str] = "interval_families"
    title: ClassVar[str] = "Families of intervals"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("step", "Steps", 0, 31, 1, 9),)
    _scale = 0.026  # of a cell's width for each cent that an interval is off
    _places: ClassVar[dict[int, tuple[int, int]]] = {
        step: (column, row)
        for row, (_, steps) in enumerate(_ROWS)
        for column, step in enumerate(steps)
        if step is not None
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink = look.theme.ink
        look.heading(figure, self.title)
        grid = look.bare(figure, (0.13, 0.03, 0.85, 0.84), (0.2, 0.05, 0.78, 0.8))
        rows = len(_ROWS)
        grid.set(xlim=(-0.5, 4.5), ylim=(rows - 0.45, -1.0))
        for column, family in enumerate(_FAMILIES):
            look.text(grid, column, -0.8, family, ha="center", va="center", weight="bold")
        for row, (words, _) in enumerate(_ROWS):
            look.beside(grid, row, words)
        for step, (column, row) in self._places.items():
            off = self._scale * self._error(step)
            grid.plot([column, column], [row + 0.02, row + 0.42], color=PURE_COLOUR, lw=5, solid_capstyle="butt")
            grid.plot([column + off], [row + 0.22], "o", ms=9, color=THIRTY_ONE_COLOUR, mec=ink, mew=0.8)
            look.text(grid, column, row - 0.22, STANDS_FOR[step], ha="center", va="center")
        (box,) = grid.plot([], [], color=ink, lw=2.5)
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(step: int) -> None:
            column, row = self._places[step]
            left, right, top, bottom = column - 0.45, column + 0.45, row - 0.47, row + 0.49
            box.set_data([left, right, right, left, left], [top, top, bottom, bottom, top])
            said.set_text(
                f"{interval_names(step, THIRTY_ONE)[0].name}: {STANDS_FOR[step]} {signed(self._error(step), 2)} cents"
            )

        return Scene((box, said), update)

    @staticmethod
    def _error(step: int) -> float:
        """Cents by which a number of steps are wider than the ratio that they stand for."""
        return float(THIRTY_ONE.cents_of(step)) - cents(STANDS_FOR[step])

    def sentence(self, step: int) -> str:
        size, error = float(THIRTY_ONE.cents_of(step)), self._error(step)
        also = [name.name for name in interval_names(step, THIRTY_ONE)[1:]]
        other = f" (also the {also[0]})" if also else ""
        near = (
            "exactly"
            if abs(error) < 0.005
            else f"{plain(abs(error), 2)} cents {'wider' if error > 0 else 'narrower'} than"
        )
        return (
            f"The {interval_names(step, THIRTY_ONE)[0].name}{other}, {step} steps of 31, has {plain(size)} cents: "
            f"{near} "
            f"{STANDS_FOR[step]}, for which it stands."
        )

    def score(self, step: int) -> Score:
        upper = _C4 * ratio_from_cents(float(THIRTY_ONE.cents_of(step)))
        pure = _C4 * ratio_from_cents(cents(STANDS_FOR[step]))
        together = (
            ScoreNote(onset=4.4, duration=2.0, hertz=hertz, voice=voice, level=0.4)
            for hertz, voice in ((_C4, "lower"), (pure, "pure"))
        )
        return Score((*_pair(_C4, upper, 0.0), *together), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
