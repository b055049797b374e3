"""The trade between accuracy and size: what each further note must earn, and which division then is best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches, level_strokes
from tunelib.exhibits.look import Look
from tunelib.exhibits.scored import DIVISIONS, LIMITS, Field, chord, largest
from tunelib.pitch import FloatArray, errors, plain, signed, times, trade
from tunelib.score import Score
from tunelib.sound import TIMBRES

_INTERVALS = {"fifth": "3/2", "third": "5/4", "seventh": "7/4", "eleventh": "11/8", "thirteenth": "13/8"}
_COMPARED = (12, 31)
_WIDEST = 50.0  # cents: half a step of twelve, which none of the two misses by more


class TheTrade(Exhibit):
    """Accuracy against size: what each further note must earn, and which division then is best."""

    name: ClassVar[str] = "the_trade"
    title: ClassVar[str] = "What is a note worth?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("price", "A note must earn", 0.0, 2.0, 0.05, 0.4, "cents"),
        Choice("limit", "Odd numbers up to", LIMITS, "7", ordered=True),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "zero": "the line of no miss at all",
        "all": "every division from 5 to 100",
        "line": "the line of equally good bargains: all below it would be better",
        "winner": "the first division that the line touches",
        "bars": "how far two divisions miss five intervals",
        "numbers": "what the winner misses",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("zero", "all"),
        ("line",),
        ("winner",),
        ("bars", "numbers"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        left, right, low, top = field_of(look).sides
        foot = look.size("name") / 72 + 0.1
        sides = look.fit((left, 5.5, low + foot, top), (left, right, 4.45, top), (left, right, 2.4, top))
        (price_line,) = axes.plot([], [], color=theme.ink, lw=2.5, solid_capstyle="round")
        ground = axes.fill([0, 0, 0, 0], [0, 0, 0, 0], color=theme.ground, lw=0)[0]
        field = Field(axes, look, sides, sides[3] - sides[2] - look.fit(0.05, 0.6, 0.05), even=True)
        headline = look.headline(axes, 0, 0, below=True)
        bars = _Bars(
            axes, look, look.fit((5.85, right, low, top), (left, right, low, 3.75), (left, right, low - 0.1, 1.9))
        )
        words_width = look.fit(2.5, 2.9)

        def update(price: float, limit: str) -> None:
            division = self._winner(price, limit)
            field.show(limit, division)
            x, y = self._balance(field, price, limit, division)
            price_line.set_data(x, y)
            ground.set_xy(np.column_stack([[x[0], *x, x[-1]], [field.bottom, *y, field.bottom]]))
            headline.say(str(division), f"best at {times(price, 'cent', 2)} a note")
            field.flag(headline, limit, division, words_width, self._above(field, x, y, division, words_width))
            bars.show(division)

        parts = {
            "zero": field.parts["zero"],
            "all": [artist for name in ("all", "holders", "twelve", "thirty-one") for artist in field.parts[name]],
            "line": [price_line, ground],
            "winner": [*field.parts["chosen"], *headline.artists],
            "bars": bars.bars,
            "numbers": bars.numbers,
        }
        at = field.artists.index(field.parts["chosen"][0])  # the line goes under the winner and over all else
        moving = (ground, *field.artists[:at], price_line, *field.artists[at:], *headline.artists, *bars.artists)
        return Scene(moving, update, field.sound, parts)

    @staticmethod
    def _balance(field: Field, price: float, limit: str, division: int) -> tuple[FloatArray, FloatArray]:
        """The line of bargains as good as the winner's, in inches: from the left to the right of the field."""
        worst = float(largest(limit)[division - DIVISIONS[0]])
        end = min(field.division(field.right), division + worst / price) if price else field.division(field.right)
        places = np.linspace(field.division(field.left), end, 60)
        return field.x(places), field.y(np.maximum(worst + price * (division - places), 0))

    @staticmethod
    def _above(field: Field, x: FloatArray, y: FloatArray, division: int, width: float) -> float:
        """How high words about the winner must be to be clear of the line."""
        start = min(float(field.x(division)) - 0.12, field.right - width)
        return float(y[x >= start - 0.1].max(initial=field.bottom)) + 0.1

    @staticmethod
    def _winner(price: float, limit: str) -> int:
        return int(trade(DIVISIONS, largest(limit), price))

    def sentence(self, price: float, limit: str) -> str:
        division = self._winner(price, limit)
        costs = largest(limit) + price * DIVISIONS
        worst = float(largest(limit)[division - DIVISIONS[0]])
        place = int(np.sum(costs < costs[31 - DIVISIONS[0]])) + 1
        return (
            f"If every extra note must make the worst interval {times(price, 'cent', 2)} better, with odd numbers up "
            f"to {limit}, {division} steps to the octave are the best of 5 to 100, off by {plain(worst, 1)} cents at "
            f"worst; 31 is in place {place}."
        )

    def numbers(self, price: float, limit: str) -> Mapping[str, str]:
        division = self._winner(price, limit)
        missed = np.asarray(errors(division, _INTERVALS.values())).tolist()
        return {
            "division": str(division),
            "cents": plain(float(largest(limit)[division - DIVISIONS[0]]), 1),
            **{name: signed(away, 1) for name, away in zip(_INTERVALS, missed, strict=True)},
        }

    def score(self, price: float, limit: str) -> Score:
        return chord(self._winner(price, limit))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


class _Bars:
    """How far twelve and thirty-one miss five intervals, about a line of none; and the winner, where it is neither."""

    def __init__(self, axes: Axes, look: Look, sides: tuple[float, float, float, float]) -> None:
        theme = self._theme = look.theme
        left, right, bottom, top = sides
        label = look.size("label") / 72
        names = 7.4 * label
        numbers = 2.9 * label
        self._centre, self._half = (left + names + right - numbers) / 2, (right - numbers - left - names) / 2 - 0.05
        self._height = (top - bottom - 2 * label) / len(_INTERVALS)
        rows = bottom + self._height * (len(_INTERVALS) - 0.5 - np.arange(len(_INTERVALS)))
        self._rows = rows
        tracks = [
            Rectangle(
                (self._centre - self._half, y - 0.36 * self._height), 2 * self._half, 0.72 * self._height,
                fc=theme.ground, ec="none", lw=0,
            )
            for y in rows.tolist()
        ]  # fmt: skip
        for track in tracks:
            axes.add_patch(track)
        post = axes.plot([self._centre] * 2, [bottom, top - 1.7 * label], color=theme.pure.full, lw=3)
        head = look.text(axes, left, top - label, "cents off", color=theme.grey)
        labels = [
            look.text(axes, left, y, f"{name} {ratio}", va="center")
            for (name, ratio), y in zip(_INTERVALS.items(), self._rows, strict=True)
        ]
        self._lines = {n: axes.plot([], [], solid_capstyle="butt")[0] for n in _COMPARED}
        (self._third,) = axes.plot([], [], solid_capstyle="butt", color=theme.ink)
        places = np.linspace(self._centre - 0.6 * self._half, self._centre + 0.6 * self._half, len(_COMPARED))
        self._heads = {
            n: look.text(axes, x, top - label, str(n), "name", ha="center", color=theme.of(n).text)
            for n, x in zip(_COMPARED, places.tolist(), strict=True)
        }
        self._winner = look.text(axes, right, top - label, "", "name", ha="right")
        self.numbers = [look.text(axes, right, y, "", ha="right", va="center") for y in self._rows]
        self.bars = [*tracks, *post, head, *labels, *self._lines.values(), self._third, *self._heads.values()]
        self.bars.append(self._winner)

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [*self._lines.values(), self._third, *self._heads.values(), self._winner, *self.numbers]

    def show(self, winner: int) -> None:
        """Show what each misses, with the winner bright."""
        others = winner not in _COMPARED
        slots = 3 if others else 2
        thick = 0.62 * self._height / slots
        for place, (n, line) in enumerate(self._lines.items()):
            tint = self._theme.of(n)
            self._lay(line, n, place, slots, thick)
            line.set_color(tint.full if n == winner else tint.dim)
        self._third.set_visible(others)
        self._lay(self._third, winner, slots - 1, slots, thick)
        tint = self._theme.of(winner)
        self._winner.set(text=str(winner) if others else "", color=tint.text)
        for text, away in zip(self.numbers, _missed(winner), strict=True):
            text.set(text=signed(away, 1), color=tint.text)

    def _lay(self, line: Any, division: int, place: int, slots: int, thick: float) -> None:
        ends = self._centre + self._half * np.clip(_missed(division), -_WIDEST, _WIDEST) / _WIDEST
        y = self._rows + ((slots - 1) / 2 - place) * 1.15 * thick
        line.set_data(*level_strokes(y, self._centre, ends))
        line.set_linewidth(72 * thick)


def _missed(division: int) -> Sequence[float]:
    missed: list[float] = np.asarray(errors(division, tuple(_INTERVALS.values()))).tolist()
    return missed
