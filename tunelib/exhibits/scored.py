"""Every division of the octave by how far it misses the worst of some intervals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches, strokes
from tunelib.exhibits.look import Headline, Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    FloatArray,
    Note,
    division_report,
    errors,
    frontier,
    largest_error,
    odd_limit_intervals,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

LIMITS = ("5", "7", "9", "11", "13", "15")
DIVISIONS = np.arange(5, 101)
_WELL_KNOWN = (12, 19, 31, 53)  # always labelled, unless the chosen one is beside them
_TALLEST = 62.0  # cents: what misses more, the coarsest few, runs out of the field
_C4 = Note.parse("C4").hz()


@lru_cache(maxsize=len(LIMITS))
def largest(limit: str) -> FloatArray:
    """The largest error of each division in an odd limit, in cents."""
    return np.asarray(largest_error(DIVISIONS, odd_limit_intervals(int(limit))))


@lru_cache(maxsize=len(LIMITS))
def _best(limit: str) -> frozenset[int]:
    """The divisions that no smaller one beats."""
    return frozenset(frontier(DIVISIONS, largest(limit)).tolist())


@lru_cache(maxsize=1024)
def _worst(division: int, limit: str) -> tuple[str, float]:
    """The interval of an odd limit that a division misses most, and by how much: step minus interval, in cents."""
    report = division_report(division, odd_limit_intervals(int(limit)))
    return str(report.worst), report.errors[report.targets.index(report.worst)]


@lru_cache(maxsize=len(LIMITS))
def _how_many(limit: str) -> int:
    """How many intervals an odd limit has within the octave."""
    return len(odd_limit_intervals(int(limit)))


def half_a_step(division: Any) -> Any:
    """Half a step of a division, in cents: no interval can be farther from its nearest step."""
    return CENTS_PER_OCTAVE / 2 / division


def chord(division: int) -> Score:
    """The chord 4:5:6:7 by the nearest steps of a division, and then pure."""
    targets = ("1/1", "5/4", "3/2", "7/4")
    missed = np.asarray(errors(division, targets))
    notes = []
    for onset, off in ((0.0, missed), (2.6, 0 * missed)):
        for number, away in zip((4, 5, 6, 7), off.tolist(), strict=True):
            hertz = _C4 * number / 4 * ratio_from_cents(away)
            notes.append(ScoreNote(onset=onset, duration=2.4, hertz=hertz, level=0.35))
    return Score(tuple(notes), tempo=60)


OF_THE_DIVISION = range(4)  # which of the chord's notes are by its steps; the others are pure


class Field:
    """All divisions as stems from a line of no miss, each as high as its largest error, and one picked out.

    `left`, `right`, `bottom` and `top` are the sides of the field in inches. Divisions are apart by their ratio, or
    evenly if `even`.
    """

    def __init__(
        self, axes: Axes, look: Look, sides: tuple[float, float, float, float], tallest: float, *, even: bool = False
    ) -> None:
        self._look, self._axes, self._even = look, axes, even
        self.left, self.right, self.bottom, self.top = sides
        self.tallest = tallest  # how high the largest miss of all may rise, in inches
        theme = look.theme
        label = look.size("label") / 72
        self._foot = self.bottom - 0.07
        (self.zero,) = axes.plot(
            [self.left, self.right], [self.bottom] * 2, color=theme.pure.full, lw=3, solid_capstyle="round"
        )
        (self._stems,) = axes.plot([], [], color=theme.line, lw=look.fit(1.2, 1.0))
        (self._rest,) = axes.plot([], [], "o", ms=look.fit(5, 4), color=theme.line)
        (self._holders,) = axes.plot([], [], color=theme.ink, lw=1.5)
        self._beyond = axes.scatter([], [], marker="^", color=theme.ink, edgecolors=theme.behind_text)
        self._arrow = 25.0 if even else 64.0  # points squared
        self._best = axes.scatter([], [], color=theme.ink, edgecolors=theme.behind_text)
        self._two = {}
        for n in (12, 31):
            tint = theme.of(n)
            (stem,) = axes.plot([], [], color=tint.full, lw=3)
            (mark,) = axes.plot([], [], tint.marker, ms=11, color=tint.full, **look.ring())
            self._two[n] = stem, mark
        (self._pole,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._stem,) = axes.plot([], [], lw=7, solid_capstyle="butt")
        (self._mark,) = axes.plot([], [], "o", **look.ring(2.5))
        self._labels = {
            n: look.text(axes, self.x(n), self._foot, str(n), ha="center", va="top", color=theme.grey)
            for n in sorted(set(_WELL_KNOWN).union(*map(_best, LIMITS), (int(DIVISIONS[0]), int(DIVISIONS[-1]))))
        }
        self._places = dict(zip(DIVISIONS.tolist(), self.x(DIVISIONS).tolist(), strict=True))
        self._chosen = look.text(axes, 0, self._foot + 0.03, "", "name", ha="center", va="top")
        self._room = 2.1 * label  # inches between two labels

    def x(self, division: Any) -> Any:
        """Where a division is across, in inches."""
        low, high = float(DIVISIONS[0]), float(DIVISIONS[-1])
        share = (division - low) / (high - low) if self._even else np.log(division / low) / np.log(high / low)
        inset = 0.12
        return self.left + inset + (self.right - self.left - 2 * inset) * share

    def division(self, x: float) -> float:
        """Which division would be at a place across, on an even field."""
        low, high, inset = float(DIVISIONS[0]), float(DIVISIONS[-1]), 0.12
        return low + (high - low) * (x - self.left - inset) / (self.right - self.left - 2 * inset)

    def y(self, cents: Any) -> Any:
        """How high an error is, in inches; the top of the field for all that are beyond it."""
        return self.bottom + self.tallest * np.minimum(cents, _TALLEST) / _TALLEST

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        marks = [artist for pair in self._two.values() for artist in pair]
        first = [
            self.zero,
            self._stems,
            self._rest,
            self._holders,
            self._beyond,
            self._best,
            *marks,
            self._pole,
            self._stem,
        ]
        return [*first, self._mark, *self._labels.values(), self._chosen]

    @property
    def parts(self) -> dict[str, list[Any]]:
        """The artists of each part of the field."""
        return {
            "zero": [self.zero],
            "all": [self._stems, self._rest],
            "holders": [self._holders, self._best, self._beyond, *self._labels.values()],
            "twelve": list(self._two[12]),
            "thirty-one": list(self._two[31]),
            "chosen": [self._stem, self._mark, self._chosen, self._pole],
        }

    def show(self, limit: str, division: int) -> None:
        """Show one odd limit, with one division picked out."""
        heights = self.y(largest(limit))
        at = dict(zip(DIVISIONS.tolist(), heights.tolist(), strict=True))
        x = self.x(DIVISIONS)
        best = np.isin(DIVISIONS, list(_best(limit)))
        held = np.where(best, heights, self.bottom)
        self._stems.set_data(*self._strokes(x, heights))
        beyond = largest(limit) > _TALLEST
        self._rest.set_data(x, heights)
        self._holders.set_data(*self._strokes(x, held))
        for marks, shown, size in ((self._best, best & ~beyond, 64.0), (self._beyond, beyond, self._arrow)):
            marks.set_offsets(np.column_stack([x, heights]))
            marks.set_sizes(size * shown)
            marks.set_linewidth((1.5 * shown).tolist())
        for n, (stem, mark) in self._two.items():
            stem.set_data([self.x(n)] * 2, [self.bottom, at[n]])
            mark.set_data([self.x(n)], [at[n]])
        tint = self._look.theme.of(division)
        self._stem.set_data([self.x(division)] * 2, [self.bottom, at[division]])
        self._stem.set_color(tint.full)
        self._mark.set_data([self.x(division)], [at[division]])
        marker = "^" if beyond[division - DIVISIONS[0]] else tint.marker
        self._mark.set(mfc=tint.full, mec=self._look.theme.behind_text, marker=marker, ms=20)
        self._chosen.set_text(str(division))
        self._chosen.set_position((self.x(division), self._foot + 0.03))
        self._label(limit, division)
        self.zero.set_linewidth(3)

    def _strokes(self, x: FloatArray, heights: FloatArray) -> tuple[FloatArray, FloatArray]:
        return strokes(x, np.where(np.isnan(heights), np.nan, self.bottom), heights)

    def _label(self, limit: str, division: int) -> None:
        """Show the numbers of the divisions that one looks for first, as far as there is room."""
        taken = [self._places[division]]
        wanted = [*_WELL_KNOWN, *(n for n in sorted(_best(limit)) if n not in _WELL_KNOWN), *self._labels]
        for label in self._labels.values():
            label.set_visible(False)
        for n in wanted:
            if all(abs(self._places[n] - other) >= self._room for other in taken):
                taken.append(self._places[n])
                self._labels[n].set_visible(True)

    def flag(
        self, headline: Headline, limit: str, division: int, width: float, floor: float, above: float = 0.0
    ) -> None:
        """Put a headline, as wide as told, above the chosen division and all that is under it, on a thin pole.

        It is no lower than `floor`, and leaves free what is `above` it in the field, in inches.
        """
        highest, number = self.top - self._block - above, self._look.size("number") / 72 * 0.72
        here = self.x(division)
        for left in np.arange(min(here - 0.12, self.right - width), self.right - width + 0.1, 0.1):
            under = (self.x(DIVISIONS) > left - 0.25) & (self.x(DIVISIONS) < left + width + 0.1)
            foot = float(self.y(largest(limit))[under].max()) + 0.2
            if foot <= highest:
                break
        foot = min(max(foot, floor), highest)
        headline.move(float(left), foot + self._block - number)
        top = float(self.y(largest(limit)[division - DIVISIONS[0]]))
        up, turn = max(foot - 0.05, top), here
        if left > here:  # the pole turns a corner
            turn = float(left) + (0.12 if foot > top + 0.1 else -0.06)
        if largest(limit)[division - DIVISIONS[0]] > _TALLEST:  # the stem itself runs out of the field
            up, turn = top, here
        self._pole.set_data([here, turn, turn], [top, top, up])

    @property
    def _block(self) -> float:
        """How high a headline with its words below it is, in inches."""
        return self._look.size("number") / 72 * 0.72 + 0.4 + self._look.size("name") / 72 * 0.3

    def sound(self, playing: Playing) -> None:
        """Light up the chosen division while its chord sounds, and the line of no miss while the pure one does."""
        if playing.seconds is not None and playing.notes:
            if set(playing.notes) & set(OF_THE_DIVISION):
                self._mark.set_markersize(26)
            else:
                self.zero.set_linewidth(7)


class AllDivisions(Exhibit):
    """Every division from 5 to 100 by its largest error, and those that no smaller one beats."""

    name: ClassVar[str] = "all_divisions"
    title: ClassVar[str] = "Every division at once"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("limit", "Odd numbers up to", LIMITS, "7", ordered=True),
        Slider("division", "Division", 5, 100, 1, 31),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"division": 12}, "31": {"division": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = {"division": (*range(5, 61), 65, 68, 72, 84, 94, 99, 100)}
    parts: ClassVar[Mapping[str, str]] = {
        "zero": "the line of no miss at all",
        "ceiling": "half a step: no miss can be larger",
        "all": "every division from 5 to 100",
        "holders": "the divisions that no smaller one beats",
        "twelve": "twelve steps",
        "thirty-one": "thirty-one steps",
        "chosen": "the chosen division",
        "word": "its largest miss",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("zero",),
        ("all", "ceiling"),
        ("holders", "twelve", "thirty-one"),
        ("chosen",),
        ("word",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        left, right, low, top = field_of(look).sides
        line = look.size("label") / 72
        bottom = low + look.size("name") / 72 + 0.1 + 1.1 * line
        tallest = top - bottom - 0.1
        under = np.geomspace(DIVISIONS[0], DIVISIONS[-1], 200)
        ceiling = axes.fill([0], [0], color=theme.ground, lw=0)[0]
        (edge,) = axes.plot([], [], color=theme.line, lw=1.2)
        field = Field(axes, look, (left, right, bottom, top), tallest)
        curve = field.y(half_a_step(under))
        ceiling.set_xy(
            np.column_stack([[*field.x(under), field.x(under[-1]), field.x(under[0])], [*curve, bottom, bottom]])
        )
        seen = half_a_step(under) < _TALLEST
        edge.set_data(field.x(under)[seen], curve[seen])
        width = look.fit(0.85, 1.0)
        there = field.x(under) > right - width
        label_foot = float(curve[there].max()) + 0.1
        half = look.text(axes, right, label_foot, "half a step", ha="right", va="bottom", color=theme.grey)
        headline = look.headline(axes, 0, 0, below=True)
        words_width = look.fit(2.45, 2.9)
        above = line + 0.1 + look.fit(1.5 * line, 0)
        why = look.text(axes, right, top - 1.5 * line, "", ha="right", va="top", color=theme.grey)
        why.set_text(look.fit("large dots: closer than any with fewer steps", ""))
        below = look.text(axes, right, low - 0.02, "steps to the octave", ha="right", color=theme.grey)
        counted = look.text(axes, right, top, ha="right", va="top", color=theme.grey)

        def update(limit: str, division: int) -> None:
            field.show(limit, division)
            interval, _ = _worst(division, limit)
            missed = float(largest(limit)[division - DIVISIONS[0]])
            headline.say(f"{missed:.1f}", f"cents at worst, {interval}")
            floor = float(field.y(half_a_step(division))) + 0.12
            if field.x(division) - 0.12 + words_width > right - width:
                floor = max(floor, label_foot + line + 0.12)
            field.flag(headline, limit, division, words_width, floor, above)
            counted.set_text(f"{_how_many(limit)} intervals, odd numbers up to {limit}")
            half.set_visible(bool(field.x(division) < right - width - 0.1))

        parts = field.parts | {"ceiling": [ceiling, edge, half], "word": list(headline.artists)}
        parts["all"] += [counted, below]
        parts["holders"] += [why]
        return Scene((*field.artists, half, counted, *headline.artists), update, field.sound, parts)

    def sentence(self, limit: str, division: int) -> str:
        interval, missed = _worst(division, limit)
        size = float(largest(limit)[division - DIVISIONS[0]])
        smaller = range(int(DIVISIONS[0]), division)
        better = [n for n in smaller if largest(limit)[n - DIVISIONS[0]] <= size]
        rank = f"{better[-1]} does as well with fewer" if better else "of those from 5 up no smaller one comes as close"
        return (
            f"With odd numbers up to {limit}, {division} steps to the octave miss no interval by more than "
            f"{plain(size, 2)} cents ({interval}, {signed(missed, 1)}); {rank}."
        )

    def numbers(self, limit: str, division: int) -> Mapping[str, str]:
        interval, missed = _worst(division, limit)
        return {
            "cents": plain(abs(missed), 1),
            "interval": interval,
            "half": plain(half_a_step(division), 1),
            "twelve": plain(float(largest(limit)[12 - DIVISIONS[0]]), 1),
        }

    def score(self, limit: str, division: int) -> Score:
        return chord(division)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
