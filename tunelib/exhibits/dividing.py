"""Dividing the octave: what finer steps cost to play, every division at once, and the trade between the two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, SHORT_SIDE, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.pitch import (
    SCALE_LENGTH,
    FloatArray,
    Note,
    division_report,
    errors,
    fret_gaps,
    fret_places,
    frontier,
    largest_error,
    odd_limit_intervals,
    plain,
    ratio_from_cents,
    signed,
    trade,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

PIANO_OCTAVE = 165.0  # millimetres for the twelve keys of an octave (common practice)
RULE_OF_THUMB = 5.0  # cents, often quoted as the smallest difference that is heard; a convention
_C4 = Note.parse("C4").hz()


class FinerSteps(Exhibit):
    """An octave in ever more steps: on a ruler of cents, on a fretboard, and under a hand."""

    name: ClassVar[str] = "finer_steps"
    title: ClassVar[str] = "Finer and finer"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("division", "Steps to the octave", 5, 300, 1, 31),)
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"division": 12}, "31": {"division": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "division": (*range(5, 54), 55, 60, 65, 72, 84, 96, 100, 120, 144, 171, 200, 300),
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.05, 0.06, 0.9, 0.78), (0.06, 0.08, 0.88, 0.76))
        axes.set(xlim=(0, 1), ylim=(0, 9))
        rows = (6.7, 3.7, 0.7)
        depth = 1.1
        for y in rows:
            axes.fill([0, 1, 1, 0], [y, y, y + depth, y + depth], color="none", ec=grey, lw=1.5)
        axes.plot([0, RULE_OF_THUMB / 1200], [rows[0] - 0.28] * 2, color=PURE_COLOUR, lw=5, solid_capstyle="butt")
        marks = [axes.plot([], [], color=ink, lw=1.0)[0] for _ in rows]
        words = [look.text(axes, 0, y + depth + 0.45, ha="left", va="center") for y in rows]

        def update(division: int) -> None:
            even = np.arange(1, division) / division
            for line, places, y in zip(
                marks, (even, 2 * fret_places(division) / SCALE_LENGTH, even), rows, strict=True
            ):
                line.set_data(np.repeat(places, 3), np.tile([y, y + depth, np.nan], places.size))
            first, last = self._gaps(division)
            words[0].set_text(
                f"{division} steps of {plain(1200 / division, 1)} cents; the short bar is {plain(RULE_OF_THUMB)}"
            )
            words[1].set_text(f"frets from {plain(first)} mm apart at the nut to {plain(last)} mm at the octave")
            words[2].set_text(f"keys as wide as a piano's: an octave of {plain(self._hand(division) / 10)} cm")

        return Scene((*marks, *words), update)

    @staticmethod
    def _gaps(division: int) -> tuple[float, float]:
        """Distance from the nut to the first fret, and between the last two frets of the octave, in millimetres."""
        first, *_, last = fret_gaps(division).tolist()
        return first, last

    @staticmethod
    def _hand(division: int) -> float:
        """Width of an octave in millimetres if every step had a key as wide as a piano's twelve have on average."""
        return PIANO_OCTAVE / 12 * division

    def sentence(self, division: int) -> str:
        first, last = self._gaps(division)
        return (
            f"An octave in {division} steps: {plain(1200 / division, 1)} cents each; on a string of "
            f"{plain(SCALE_LENGTH)} mm the frets are {plain(first)} mm apart at the nut and {plain(last)} mm at the "
            f"octave, and an octave of keys as wide as a piano's would measure {plain(self._hand(division) / 10)} cm."
        )

    def score(self, division: int) -> Score:
        pair = (_C4, _C4 * ratio_from_cents(1200 / division), _C4)
        return Score(
            tuple(ScoreNote(onset=0.8 * i, duration=0.7, hertz=hertz, level=0.6) for i, hertz in enumerate(pair)),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


_LIMITS = ("5", "7", "9", "11", "13", "15")
_DIVISIONS = np.arange(5, 101)
_WELL_KNOWN = (12, 19, 31, 53)  # labelled first where there is no room for all


@lru_cache(maxsize=len(_LIMITS))
def _largest(limit: str) -> FloatArray:
    """The largest error of each division in an odd limit, in cents."""
    return np.asarray(largest_error(_DIVISIONS, odd_limit_intervals(int(limit))))


@lru_cache(maxsize=len(_LIMITS))
def _best(limit: str) -> frozenset[int]:
    """The divisions that no smaller one beats."""
    return frozenset(frontier(_DIVISIONS, _largest(limit)).tolist())


@lru_cache(maxsize=1024)
def _worst(division: int, limit: str) -> tuple[str, float]:
    """The interval of an odd limit that a division misses most, and by how much: step minus interval, in cents."""
    report = division_report(division, odd_limit_intervals(int(limit)))
    return str(report.worst), report.errors[report.targets.index(report.worst)]


class AllDivisions(Exhibit):
    """Every division from 5 to 100 by its largest error, and those that no smaller one beats."""

    name: ClassVar[str] = "all_divisions"
    title: ClassVar[str] = "Every division at once"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("limit", "Odd numbers up to", _LIMITS, "7", ordered=True),
        Slider("division", "Division", 5, 100, 1, 31),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"division": 12}, "31": {"division": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = {"division": (*range(5, 61), 65, 68, 72, 84, 94, 99, 100)}

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.12, 0.14, 0.85, 0.67), (0.18, 0.1, 0.77, 0.72), x="steps to the octave")
        points = _Scatter(axes, look)
        said = look.text(figure, 0.97, look.fit(0.865, 0.885), ha="right", va="center", weight="bold")

        def update(limit: str, division: int) -> None:
            points.show(limit, division)
            interval, missed = _worst(division, limit)
            said.set_text(f"{division} steps: {signed(missed, 1)} cents at worst, in {interval}")

        return Scene((*points.artists, said), update)

    def sentence(self, limit: str, division: int) -> str:
        interval, missed = _worst(division, limit)
        size = float(_largest(limit)[division - _DIVISIONS[0]])
        smaller = range(int(_DIVISIONS[0]), division)
        better = [n for n in smaller if _largest(limit)[n - _DIVISIONS[0]] <= size]
        rank = f"{better[-1]} does as well with fewer" if better else "of those from 5 up no smaller one comes as close"
        return (
            f"With odd numbers up to {limit}, {division} steps to the octave miss no interval by more than "
            f"{plain(size, 2)} cents ({interval}, {signed(missed, 1)}); {rank}."
        )

    def score(self, limit: str, division: int) -> Score:
        return _chord(division)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _chord(division: int) -> Score:
    """The chord 4:5:6:7 by the nearest steps of a division, and then pure."""
    targets = ("1/1", "5/4", "3/2", "7/4")
    missed = np.asarray(errors(division, targets))
    notes = []
    for onset, off in ((0.0, missed), (2.6, 0 * missed)):
        for number, away in zip((4, 5, 6, 7), off.tolist(), strict=True):
            hertz = _C4 * number / 4 * ratio_from_cents(away)
            notes.append(ScoreNote(onset=onset, duration=2.4, hertz=hertz, level=0.35))
    return Score(tuple(notes), tempo=60)


class _Scatter:
    """Divisions by their largest error, with the frontier marked and one division picked out."""

    def __init__(self, axes: Any, look: Look) -> None:
        ink, grey = look.theme.ink, look.theme.grey
        axes.set(xlim=(0, look.fit(101.5, 103.5)), ylim=(-8, 62), xticks=range(0, 101, 20))
        axes.set_yticks([0, 20, 40, 60])
        axes.set_yticklabels(["0", "20", "40", "60 cents"])
        (self._rest,) = axes.plot([], [], "o", ms=5, color=grey)
        (self._frontier,) = axes.plot([], [], "D", ms=9, mfc=PURE_COLOUR, mec=ink, mew=1)
        (self._ring,) = axes.plot([], [], "o", ms=17, mfc="none", mec=ink, mew=2.5)
        self._labels = [look.text(axes, 0, 0, ha="center", va="center", weight="bold") for _ in range(8)]
        self._room = look.fit(5.2, 10.0)  # steps that a label takes up across
        height = 70 / (axes.get_position().height * SHORT_SIDE)  # cents to an inch of a square
        self._below = look.fit(5.0, 5.0, 0.235 * height)  # cents from a mark to its label

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [self._rest, self._frontier, self._ring, *self._labels]

    def show(self, limit: str, division: int) -> None:
        """Show one odd limit, with one division picked out."""
        heights, best = _largest(limit), sorted(_best(limit))
        at = dict(zip(_DIVISIONS.tolist(), heights.tolist(), strict=True))
        rest = [n for n in at if n not in best]
        self._rest.set_data(rest, [at[n] for n in rest])
        self._frontier.set_data(best, [at[n] for n in best])
        self._ring.set_data([division], [at[division]])
        for label in self._labels:
            label.set_visible(False)
        labelled: list[int] = []
        for n in sorted(best, key=lambda n: (n not in _WELL_KNOWN, -n)):
            if n >= 10 and all(abs(other - n) >= self._room for other in labelled):
                labelled.append(n)
        for n, label in zip(labelled, self._labels, strict=False):
            label.set(text=str(n), position=(n, at[n] - self._below), visible=True)


class TheTrade(Exhibit):
    """Accuracy against size: what each further note must earn, and which division then is best."""

    name: ClassVar[str] = "the_trade"
    title: ClassVar[str] = "What is a note worth?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("price", "A note must earn", 0.0, 2.0, 0.05, 0.4, "cents"),
        Choice("limit", "Odd numbers up to", _LIMITS, "7", ordered=True),
    )
    _shown = (12, 31)
    _intervals = ("3/2", "5/4", "7/4", "11/8", "13/8")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink = look.theme.ink
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.12, 0.14, 0.52, 0.67), (0.18, 0.43, 0.77, 0.42), x="steps to the octave")
        points = _Scatter(axes, look)
        (balance,) = axes.plot([], [], color=ink, lw=2, ls=(0, (5, 2)))
        table = look.bare(figure, (0.67, 0.14, 0.3, 0.67), (0.18, 0.06, 0.77, 0.28))
        table.set(xlim=(0, 4), ylim=(0, len(self._intervals) + 2))
        top = len(self._intervals) + 0.5
        for x, words in ((0.5, "cents off"), (1.75, str(self._shown[0])), (2.65, str(self._shown[1]))):
            look.text(table, x, top, words, ha="center", va="center", weight="bold")
        for column, (division, colour) in enumerate(zip(self._shown, (TWELVE_COLOUR, THIRTY_ONE_COLOUR), strict=True)):
            missed = np.asarray(errors(division, self._intervals))
            x = 1.75 + 0.9 * column
            table.plot([x - 0.3, x + 0.3], [top - 0.45] * 2, color=colour, lw=4)
            for row, away in enumerate(missed.tolist()):
                look.text(table, x, top - 1 - row, signed(away, 1), ha="center", va="center")
        for row, interval in enumerate(self._intervals):
            look.text(table, 0.5, top - 1 - row, interval, ha="center", va="center")
        winner = look.text(table, 3.6, top, ha="center", va="center", weight="bold")
        wins = [look.text(table, 3.6, top - 1 - row, ha="center", va="center") for row in range(len(self._intervals))]
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(price: float, limit: str) -> None:
            division = self._winner(price, limit)
            points.show(limit, division)
            cost = float(_largest(limit)[division - _DIVISIONS[0]]) + price * division
            ends = np.array([0.0, 101.5])
            balance.set_data(ends, cost - price * ends)
            winner.set_text(str(division))
            for text, away in zip(wins, np.asarray(errors(division, self._intervals)).tolist(), strict=True):
                text.set_text(signed(away, 1))
            said.set_text(f"at {plain(price, 2)} cents a note: {division}")

        return Scene((*points.artists, balance, winner, *wins, said), update)

    @staticmethod
    def _winner(price: float, limit: str) -> int:
        return int(trade(_DIVISIONS, _largest(limit), price))

    def sentence(self, price: float, limit: str) -> str:
        division = self._winner(price, limit)
        costs = _largest(limit) + price * _DIVISIONS
        worst = float(_largest(limit)[division - _DIVISIONS[0]])
        place = int(np.sum(costs < costs[31 - _DIVISIONS[0]])) + 1
        return (
            f"If every extra note must make the worst interval {plain(price, 2)} cents better, with odd numbers up "
            f"to {limit}, {division} steps to the octave are the best of 5 to 100, off by {plain(worst, 1)} cents at "
            f"worst; 31 is in place {place}."
        )

    def score(self, price: float, limit: str) -> Score:
        return _chord(self._winner(price, limit))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
