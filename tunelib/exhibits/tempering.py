"""Meantone: four fifths and a third, and one comma shared out among all fifths."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.circle import circle_axes, clockwise
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
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
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_FIFTH, _THIRD = cents("3/2"), cents("5/4")
_C3 = Note.parse("C3").hz()


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
