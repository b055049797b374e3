"""Meantone: four fifths and a third, and one comma shared out among all fifths."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.circle import circle_axes, clockwise
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    Chain,
    Note,
    aligned,
    cents,
    meantone_chain,
    plain,
    ratio_from_cents,
    signed,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_FIFTH, _THIRD = cents("3/2"), cents("5/4")
_C3 = Note.parse("C3").hz()


class FourFifths(Exhibit):
    """Four pure fifths on a ruler, beside two octaves and a pure third: the comma between their ends."""

    name: ClassVar[str] = "four_fifths"
    title: ClassVar[str] = "Four fifths and a third"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("stacked", "Fifths stacked", 1, 4, 1, 4),
        Slider("lowest", "Lowest note", _C3 / 2, 2 * _C3, 12, _C3, "Hz", logarithmic=True),
        Switch("pure_last", "End on the pure third", False),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "four fifths": {"stacked": 4, "pure_last": False},
        "pure third": {"stacked": 4, "pure_last": True},
    }
    _letters = ("C", "G", "D", "A", "E")
    _window = (2740.0, 2830.0)  # cents: what the lens shows

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        ruler = look.bare(figure, (0.05, 0.45, 0.9, 0.38), (0.07, 0.5, 0.86, 0.3))
        ruler.set(xlim=(-40, 2860), ylim=(0, 6))
        third = 2 * CENTS_PER_OCTAVE + _THIRD
        above, below, high = 3.6, 1.1, 0.9
        self._bars(ruler, ((0, 1200), (1200, 2400)), below, high, grey)
        self._bars(ruler, ((2400, third),), below, high, PURE_COLOUR)
        for x, interval in (
            (600, "octave"),
            (1800, "octave"),
            ((2400 + third) / 2, look.fit("pure third", "third")),
        ):
            look.text(ruler, x, below - 0.45, interval, ha="center", va="center")
        fifths = self._bars(ruler, [(k * _FIFTH, (k + 1) * _FIFTH) for k in range(4)], above, high, ink)
        names = [
            look.text(ruler, k * _FIFTH, above + high + 0.6, name, ha="center", va="center", weight="bold")
            for k, name in enumerate(self._letters)
        ]
        lens = look.bare(figure, (0.05, 0.05, 0.9, 0.36), (0.07, 0.14, 0.86, 0.28))
        lens.set(xlim=self._window, ylim=(0, 4))
        low, top = self._window
        lens.plot([low, top, top, low, low], [0.05, 0.05, 3.95, 3.95, 0.05], color=grey, lw=1.5, clip_on=False)
        lens.fill([low, third, third, low], [0.5, 0.5, 1.3, 1.3], color=PURE_COLOUR, ec=ink)
        octaves = look.fit("two octaves and a pure third", "2 octaves, a pure third")
        look.text(lens, low + 1, 1.75, octaves, ha="left", va="center")
        look.text(lens, third + 0.6, 0.9, plain(third), ha="left", va="center", weight="bold")
        (end,) = lens.fill([0, 0, 0], [0, 0, 0], color=ink)
        (gap,) = lens.plot([], [], color=ink, lw=2.5, marker="|", ms=12, mew=2.5)
        (heard,) = lens.plot([], [], "<", ms=11, mfc=look.theme.behind_text, mec=ink, mew=2)
        words = look.text(lens, low + 1, 3.5, ha="left", va="center")
        size = look.text(lens, third + 0.6, 2.05, ha="left", va="center", weight="bold")
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(stacked: int, lowest: float, pure_last: bool) -> None:
            reached = stacked * _FIFTH
            for k, bar in enumerate(fifths):
                bar.set_visible(k < stacked)
            for k, name in enumerate(names):
                name.set_visible(k <= stacked)
            seen = min(max(reached, low), top)
            end.set_xy([(low, 2.4), (seen, 2.4), (seen, 3.1), (low, 3.1)])
            all_four = stacked == 4
            gap.set_data([third, reached] if all_four else [], [1.65, 1.65] if all_four else [])
            heard.set_data(*([third - 1.6], [0.9]) if pure_last else ([reached - 1.6], [2.75]))
            heard.set_visible(all_four or pure_last)
            end.set_visible(all_four)
            words.set_text(f"{times(stacked, 'fifth')}: {plain(reached)} cents")
            size.set_text(f"the comma: {plain(reached - third)} cents" if all_four else "")
            said.set_text(f"{plain(lowest)} Hz, then {plain(lowest * 1.5**stacked)} Hz")

        return Scene((*fifths, *names, end, gap, heard, words, size, said), update)

    @staticmethod
    def _bars(axes: Axes, spans: Sequence[tuple[float, float]], y: float, high: float, colour: str) -> list[Any]:
        gap = 6.0  # cents, so that neighbours can be told apart
        return [
            axes.fill([a + gap, b - gap, b - gap, a + gap], [y, y, y + high, y + high], color=colour)[0]
            for a, b in spans
        ]

    def sentence(self, stacked: int, lowest: float, pure_last: bool) -> str:
        reached = stacked * _FIFTH
        top = f"{plain(lowest)} Hz to {plain(lowest * 1.5**stacked)} Hz"
        if stacked < 4:
            return (
                f"From C, {times(stacked, 'pure fifth')} up, from {top}, lead to {self._letters[stacked]} at "
                f"{plain(reached)} cents; four would come to an E{', and the pure E follows' if pure_last else ''}."
            )
        over = reached - 2 * CENTS_PER_OCTAVE - _THIRD
        last = "the pure third" if pure_last else "the E of the fifths"
        return (
            f"From C, 4 pure fifths up, from {top}, lead to an E at {plain(reached)} cents, {plain(over)} cents, or "
            "one "
            f"syntonic comma, above two octaves and a pure third; the chord at the end has {last}."
        )

    def score(self, stacked: int, lowest: float, pure_last: bool) -> Score:
        stack = [lowest * 1.5**k for k in range(stacked + 1)]
        notes = [ScoreNote(onset=0.6 * k, duration=0.55, hertz=hertz, level=0.5) for k, hertz in enumerate(stack)]
        onset = 0.6 * len(stack) + 0.3
        if stacked < 4:
            pure = [ScoreNote(onset=onset, duration=1.2, hertz=5 * lowest, level=0.5)] if pure_last else []
            return Score((*notes, *pure), tempo=60)
        last = 5 * lowest if pure_last else stack[-1]
        for hertz in (lowest, 2 * lowest, 3 * lowest, last):
            notes.append(ScoreNote(onset=onset, duration=2.8, hertz=hertz, level=0.35))
        return Score(tuple(notes), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


_MOST_NARROWED = 0.4
_SIMPLEST = 7  # the largest denominator of a fraction that a slider's decimals are taken to mean


def exact_fraction(value: float) -> Fraction:
    """The fraction of a comma that a decimal means: 0.333 is 1/3, 0.25 is 1/4, 0.241 is itself."""
    simple = Fraction(value).limit_denominator(_SIMPLEST)
    return simple if abs(float(simple) - value) <= 0.0005 else Fraction(round(1000 * value), 1000)


def said_fraction(value: float) -> str:
    """The fraction of a comma as it is said: ``"1/4"``, or the decimal where no simple fraction is meant."""
    exact = exact_fraction(value)
    return str(exact) if exact.denominator <= _SIMPLEST else plain(value, 3)


FRACTION = Slider("fraction", "Part of the comma", 0.0, _MOST_NARROWED, 0.001, 0.25)
FRACTION_STOPS = {"fraction": (*(n / 100 for n in range(int(100 * _MOST_NARROWED) + 1)), 0.143, 0.167, 0.286, 0.333)}


@lru_cache(maxsize=512)
def _meantone(fraction: Fraction) -> Chain:
    return meantone_chain(fraction)


class Tempering(Exhibit):
    """The circle of twelve as every fifth is narrowed alike: its fifths, its thirds, and the gap."""

    name: ClassVar[str] = "tempering"
    title: ClassVar[str] = "One comma, shared out"
    knobs: ClassVar[tuple[Knob, ...]] = (FRACTION,)
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure fifths": {"fraction": 0.0},
        "12": {"fraction": 0.091},
        "pure thirds": {"fraction": 0.25},
    }
    stops: ClassVar[Mapping[str, Sequence[float]]] = FRACTION_STOPS
    _magnified = 20.0  # how much larger than it is the tempering is drawn
    _rows = (
        ("11 fifths", 1, False, "3/2"),
        ("the last fifth", 1, True, "3/2"),
        ("8 major thirds", 4, False, "5/4"),
        ("the 4 others", 4, True, "5/4"),
        ("9 minor thirds", -3, False, "6/5"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        circle = circle_axes(figure, look)
        (ring,) = circle.plot([], [], color=grey, lw=5)
        (gap,) = circle.plot([], [], color=ink, lw=3, ls=(0, (1, 1)))
        (thirds,) = circle.plot([], [], color=grey, lw=1.8)
        (dots,) = circle.plot([], [], "o", ms=7, color=ink)
        notes = _meantone(Fraction(1, 4)).notes
        names = [look.text(circle, 0, 0, note.name, ha="center", va="center", weight="bold") for note in notes]
        gauge = look.axes(
            figure, (0.72, 0.14, 0.25, 0.66), (0.45, 0.08, 0.5, 0.32), (0.45, 0.1, 0.5, 0.28), x="cents wider than pure"
        )
        rows = len(self._rows)
        gauge.set(xlim=(-30, 80), ylim=(-0.6, rows - 0.4), yticks=[])
        gauge.plot([0, 0], [-0.6, rows - 0.4], color=PURE_COLOUR, lw=4)
        (bars,) = gauge.plot([], [], color=ink, lw=8, solid_capstyle="butt")
        heights = [rows - 1 - row for row in range(rows)]
        labels = [look.beside(gauge, y) for y in heights]
        said = look.text(figure, 0.97, look.fit(0.875, 0.9, 0.893), ha="right", va="center", weight="bold")
        centre = (len(notes) - 1) / 2

        def update(fraction: float) -> None:
            chain = _meantone(exact_fraction(fraction))
            fifth = chain.fifths[0].cents
            turn = (1 + self._magnified * (fifth - 700) / 700) / 12
            x, y = clockwise((np.arange(len(notes)) - centre) * turn)
            smooth = np.linspace(-centre, centre, 12 * len(notes)) * turn
            ring.set_data(*clockwise(smooth))
            gap.set_data(*clockwise(np.linspace(centre * turn, 1 - centre * turn, 40)))
            dots.set_data(x, y)
            for name, across, up in zip(names, x.tolist(), y.tolist(), strict=True):
                name.set_position((1.17 * across, 1.17 * up))
            nothing = np.full(len(notes) - 4, np.nan)
            thirds.set_data(np.ravel([x[:-4], x[4:], nothing], "F"), np.ravel([y[:-4], y[4:], nothing], "F"))
            errors = self._errors(chain)
            pure = abs(errors[2]) < 0.05
            thirds.set(color=PURE_COLOUR if pure else grey, lw=4 if pure else 1.8)
            bars.set_data(np.ravel([(0, e, np.nan) for e in errors]), np.repeat(heights, 3))
            for label, (words, *_), error in zip(labels, self._rows, errors, strict=True):
                label.set_text(f"{words}: {'pure' if abs(error) < 0.05 else aligned(error, 1)}")
            narrow = f"narrow by {said_fraction(fraction)} of a comma" if fraction else "pure"
            said.set_text(f"each fifth {narrow}")

        return Scene((ring, gap, thirds, dots, bars, *names, *labels, said), update)

    def _errors(self, chain: Chain) -> list[float]:
        """Cents by which each row's interval is wider than pure."""
        found = []
        for _, places, crossing, ratio in self._rows:
            sizes = chain.spans(places)[chain.crosses(places) == crossing]
            found.append(float(sizes[0]) - cents(ratio))
        return found

    def sentence(self, fraction: float) -> str:
        fifths, wolf, thirds, others, minor = self._errors(_meantone(exact_fraction(fraction)))
        narrowed = (
            f"With each of eleven fifths narrow by {said_fraction(fraction)} of a comma ({aligned(fifths, 2)} cents)"
            if fraction
            else "With part 0 of the comma taken away, so that eleven fifths are pure"
        )
        third = "pure" if abs(thirds) < 0.05 else f"off by {signed(thirds, 1)} cents"
        return (
            f"{narrowed}, eight major thirds are {third} and the other four off by {signed(others, 1)}, nine minor "
            f"thirds by {signed(minor, 1)}, and the last fifth, G♯ to E♭, by {signed(wolf, 1)} (the circle is drawn so "
            f"that the tempering is {plain(self._magnified)} times larger than it is)."
        )

    def score(self, fraction: float) -> Score:
        chain = _meantone(exact_fraction(fraction))
        major, minor = chain.triad(Note.named("C")), chain.triad(Note.named("A"), "minor")
        origin = 2 * _C3
        lower = origin * ratio_from_cents(float(chain.cents[chain.place_of(minor.root)]) - CENTS_PER_OCTAVE)
        notes = [
            ScoreNote(onset=onset, duration=2.2, hertz=root * ratio_from_cents(above), level=0.4)
            for onset, root, triad in ((0.0, origin, major), (2.3, lower, minor), (4.6, origin, major))
            for above in (0.0, triad.third_cents, triad.fifth_cents)
        ]
        return Score(tuple(notes), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
