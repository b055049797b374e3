"""Tempering: one comma shared out among all fifths, what it does to the thirds, and the gap that it leaves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_hex, to_rgb
from matplotlib.patches import Polygon, Rectangle

from tunelib.exhibits.circle import clockwise
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import in_inches
from tunelib.exhibits.look import Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    Chain,
    FloatArray,
    Note,
    aligned,
    cents,
    equal,
    meantone_chain,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_FIFTH, _COMMA = cents("3/2"), cents("81/80")
_EVEN_FIFTH = float(equal(12).cents_of(equal(12).fifth))
_SMOOTH = 40  # points of a bow
_RIM = 0.15  # inches that the filled gap is wide on either side of the ring
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
    parts: ClassVar[Mapping[str, str]] = {
        "ring": "the circle of fifths",
        "thirds": "the eight good major thirds",
        "gap": "what the last fifth has too much, or too little",
        "word": "how far the last fifth is off",
        "lever": "the fifths that make a third",
        "fifth": "what each fifth gives",
        "third": "what the third has still to come in",
        "part": "the part of the comma",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("ring",),
        ("lever", "fifth", "part"),
        ("thirds", "third"),
        ("gap", "word"),
    )
    _magnified = 20.0  # how much larger than it is the tempering is drawn
    _rows = (
        ("11 fifths", 1, False, "3/2"),
        ("the last fifth", 1, True, "3/2"),
        ("8 major thirds", 4, False, "5/4"),
        ("the 4 others", 4, True, "5/4"),
        ("9 minor thirds", -3, False, "6/5"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        star = _Star(axes, look, *look.fit((2.5, 2.46, 1.65), (2.7, 6.45, 1.85), (1.72, 3.07, 0.95)))
        lever = _Lever(
            axes,
            look,
            *look.fit((5.05, 3.6, 0.73, 0.072), (0.65, 3.9, 0.83, 0.071), (0.6, 1.33, 0.85, 0.021)),
        )
        centre = star.x, star.y - 0.15 * star.radius
        headline = (
            look.headline(axes, 3.22, 3.1, below=True)
            if look.square
            else look.headline(axes, *centre, below=True, ha="center")
        )
        part_of = look.text(axes, *look.fit((5.05, 1.15), (0.5, 1.2), (3.22, 1.9)), "", "name")
        said = (
            f"off every fifth; on the ring, {plain(self._magnified)} times larger",
            "each line across it is a major third",
        )
        x, y = look.fit((5.05, 0.5), (0.5, 0.5))
        about = [
            look.text(axes, x, y + 0.32 * (1 - line), words, color=theme.grey)
            for line, words in enumerate(said) if not look.square
        ]  # fmt: skip
        last = look.text(
            axes, *look.fit((star.x, star.y + 0.25), (star.x, star.y + 0.29), (3.22, 2.36)), "the last fifth",
            ha=look.fit("center", "center", "left"), color=theme.grey,
        )  # fmt: skip
        notes = self._notes()

        def update(fraction: float) -> None:
            chain = _meantone(exact_fraction(fraction))
            wolf, third = self._errors(chain)[1:3]
            star.show(self._turns(chain.fifths[0].cents), self._turn(_FIFTH), 1 - abs(third) / _COMMA)
            star.pure_thirds(abs(third) < 0.05)
            lever.show(float(exact_fraction(fraction)))
            headline.say(f"{abs(wolf):.1f}", f"cents too {'wide' if wolf > 0 else 'narrow'}")
            part_of.set_text(f"{said_fraction(fraction)} of a comma" if fraction else "nothing")

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                star.sound([notes[note] for note in playing.notes])

        parts: dict[str, Sequence[Any]] = {
            "ring": star.ring,
            "thirds": [star.thirds],
            "gap": star.gap,
            "word": [*headline.artists, last],
            "lever": lever.beam,
            "fifth": lever.fifth,
            "third": lever.third,
            "part": [part_of, *about],
        }
        return Scene((*star.moving, *lever.moving, part_of, *headline.artists), update, light, parts)

    def _turn(self, fifth: float) -> float:
        """How far round a fifth goes, in turns, as it is drawn."""
        return (1 + self._magnified * (fifth - _EVEN_FIFTH) / _EVEN_FIFTH) / 12

    def _turns(self, fifth: float) -> FloatArray:
        """Where the twelve notes are on the circle, in turns from the top, the middle of the chain."""
        return np.asarray((np.arange(12) - 11 / 2) * self._turn(fifth))

    @staticmethod
    def _notes() -> list[int]:
        """Where in the chain each note of what is heard has its place: C major, A minor, C major."""
        chain = _meantone(Fraction(1, 4))
        return [chain.place_of(Note.named(name)) for name in ("C", "E", "G", "A", "C", "E", "C", "E", "G")]

    def _errors(self, chain: Chain) -> list[float]:
        """Cents by which each row's interval is wider than pure."""
        found = []
        for _, places, crossing, ratio in self._rows:
            sizes = chain.spans(places)[chain.crosses(places) == crossing]
            found.append(float(sizes[0]) - cents(ratio))
        return found

    def sentence(self, fraction: float) -> str:
        fifths, wolf, thirds, _, minor = self._errors(_meantone(exact_fraction(fraction)))
        narrowed = (
            f"With each of eleven fifths narrow by {said_fraction(fraction)} of a comma ({plain(abs(fifths))} cents)"
            if fraction
            else "With eleven fifths pure, nothing taken off them"
        )
        return (
            f"{narrowed}, eight major thirds are {_width(thirds)}, nine minor thirds {_width(minor)}, and the last "
            f"fifth, G♯ to E♭, {_width(wolf)} (the circle is drawn so that the tempering is {plain(self._magnified)} "
            "times larger than it is)."
        )

    def numbers(self, fraction: float) -> Mapping[str, str]:
        names = ("fifth", "wolf", "third", "other_third", "minor_third")
        errors = self._errors(_meantone(exact_fraction(fraction)))
        return {name: plain(abs(error), 1) for name, error in zip(names, errors, strict=True)}

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


def _width(off: float) -> str:
    """How far an interval is from pure, in words, by the cents by which it is wider."""
    return "pure" if abs(off) < 0.05 else f"{plain(abs(off))} cents too {'wide' if off > 0 else 'narrow'}"


class _Star:
    """Twelve notes on a circle, a line from each to its major third, and the gap between the last and the first."""

    def __init__(self, axes: Axes, look: Look, x: float, y: float, radius: float) -> None:
        theme = self._theme = look.theme
        self.x, self.y, self.radius = x, y, radius
        (self.thirds,) = axes.plot([], [], solid_capstyle="round")
        (self._pure,) = axes.plot([], [], color=theme.pure.full, lw=5, solid_capstyle="butt")
        self._fill = Polygon(np.zeros((2 * _SMOOTH, 2)), fc=theme.ground, ec=theme.ink, lw=1.5)
        axes.add_patch(self._fill)
        (self._arc,) = axes.plot([], [], color=theme.grey, lw=4, solid_capstyle="round")
        (self._dots,) = axes.plot([], [], "o", ms=10, color=theme.ink, **look.ring())
        (self._lit,) = axes.plot([], [], "o", ms=20, color=theme.ink, label="sounding", **look.ring())
        self._names = [
            look.text(axes, 0, 0, str(note.name), ha="center", va="center", weight="bold")
            for note in _meantone(Fraction(1, 4)).notes
        ]
        self._names[0].set_horizontalalignment("right")  # the two come close where fifths are wide
        self._names[-1].set_horizontalalignment("left")
        self._outside = radius + look.fit(0.26, 0.28)
        self._turns: FloatArray = np.zeros(12)
        self.ring = [self._arc, self._dots, *self._names]
        self.gap = [self._fill, self._pure]

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [self.thirds, self._fill, self._pure, self._arc, self._dots, self._lit, *self._names]

    def _at(self, turns: Any, radius: float) -> tuple[Any, Any]:
        across, up = clockwise(turns)
        return self.x + radius * across, self.y + radius * up

    def show(self, turns: FloatArray, pure_turn: float, nearness: float) -> None:
        """Put the notes at their places; `pure_turn` is how far a pure fifth goes, `nearness` 1 for pure thirds."""
        self._turns = turns
        x, y = self._at(turns, self.radius)
        self._dots.set_data(x, y)
        self._arc.set_data(*self._at(np.linspace(turns[0], turns[-1], 100), self.radius))
        for name, across, up in zip(self._names, *self._at(turns, self._outside), strict=True):
            name.set_position((float(across), float(up)))
        nothing = np.full(x.size - 4, np.nan)
        self.thirds.set_data(np.ravel([x[:-4], x[4:], nothing], "F"), np.ravel([y[:-4], y[4:], nothing], "F"))
        near = max(nearness, 0.0) ** 2
        self.thirds.set_color(_mixed(self._theme.line, self._theme.pure.full, near))
        self.thirds.set_linewidth(1.4 + 2 * near)
        pure_end, first = turns[-1] + pure_turn, 1 + turns[0]
        self._pure.set_data(*self._at(np.linspace(turns[-1], pure_end, _SMOOTH), self.radius))
        between = np.linspace(pure_end, first, _SMOOTH)
        rim = np.column_stack(self._at(between, self.radius + _RIM))
        inside = np.column_stack(self._at(between[::-1], self.radius - _RIM))
        self._fill.set_xy(np.vstack([rim, inside]))
        self._lit.set_data([], [])

    def pure_thirds(self, pure: bool) -> None:
        """Have the thirds in full strength where they are pure."""
        if pure:
            self.thirds.set(color=self._theme.pure.full, lw=4.5)

    def sound(self, places: Sequence[int]) -> None:
        """Light up the notes at places of the chain."""
        self._lit.set_data(*self._at(self._turns[list(places)], self.radius))


class _Lever:
    """Four fifths as a beam on a pivot: what the first comes down by, the third at its end comes down four times."""

    def __init__(self, axes: Axes, look: Look, x: float, y: float, step: float, per_cent: float) -> None:
        theme = look.theme
        self._x, self._y, self._step, self._per_cent = x, y, step, per_cent
        places = x + step * np.arange(5)
        end = self._end = float(places[-1])
        self._pure_third = y - per_cent * _COMMA
        letters = [
            look.text(axes, place, y + 0.17, name, weight="bold" if name in "GE" else "normal", ha="center")
            for place, name in zip(places.tolist(), "CGDAE", strict=True)
        ]
        self._given = Polygon([(x, y)] * 3, fc=theme.ground, ec="none", lw=0)
        axes.add_patch(self._given)
        level = axes.plot([x, end], [y, y], color=theme.pure.dim, lw=1.5)
        pure = [
            axes.plot([at - 0.2, at + 0.2], [height] * 2, color=theme.pure.full, lw=6, solid_capstyle="butt")[0]
            for at, height in ((float(places[1]), y), (end, self._pure_third))
        ]
        self._gaps = [
            Rectangle((at - 0.12, y), 0.24, 0, fc=theme.ground, ec=theme.ink, lw=1.2) for at in places[[1, 4]]
        ]
        for patch in self._gaps:
            axes.add_patch(patch)
        (self._beam,) = axes.plot([], [], color=theme.ink, lw=3.5, solid_capstyle="round")
        (self._dots,) = axes.plot([], [], "o", ms=9, color=theme.ink, **look.ring())
        (self._ends,) = axes.plot([], [], "o", ms=14, color=theme.ink, **look.ring())
        self._fifth = look.text(axes, float(places[1]), 0, ha="right", va="top", weight="bold")
        self._third = look.text(axes, end + 0.22, 0, weight="bold")
        pure_word = look.text(
            axes,
            end + 0.3,
            self._pure_third,
            look.fit("pure third", "pure", "pure"),
            va="center",
            color=theme.pure.text,
        )
        self.beam = [self._given, self._beam, self._dots, self._ends, *letters, *level]
        self.fifth = [self._gaps[0], pure[0], self._fifth]
        self.third = [self._gaps[1], pure[1], self._third, pure_word]

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [self._given, *self._gaps, self._beam, self._dots, self._ends, self._fifth, self._third]

    def show(self, fraction: float) -> None:
        """Tilt the beam as each fifth gives a part of the comma."""
        down = self._per_cent * _COMMA * fraction * np.arange(5)
        x, y = self._x + self._step * np.arange(5), self._y - down
        self._given.set_xy([(x[0], y[0]), (x[-1], y[0]), (x[-1], y[-1])])
        self._beam.set_data(x[[0, -1]], y[[0, -1]])
        self._dots.set_data(x[[0, 2, 3]], y[[0, 2, 3]])
        self._ends.set_data(x[[1, 4]], y[[1, 4]])
        self._gaps[0].set(y=self._y, height=float(y[1]) - self._y)
        self._gaps[1].set(y=self._pure_third, height=float(y[4]) - self._pure_third)
        fifth, third = -_COMMA * fraction, _COMMA * (1 - 4 * fraction)
        self._fifth.set(
            text=f"fifth {aligned(fifth, 1) if fraction else 'pure'}", position=(float(x[1]) + 0.08, float(y[1]) - 0.17)
        )
        above = third >= -0.05
        self._third.set(
            text="" if abs(third) < 0.05 else f"third {aligned(third, 1)}",
            position=(self._end + 0.22, float(y[4]) + (0.16 if above else -0.16)),
            verticalalignment="bottom" if above else "top",
        )


def _mixed(one: str, other: str, share: float) -> str:
    """A colour between two."""
    red, green, blue = (1 - share) * np.array(to_rgb(one)) + share * np.array(to_rgb(other))
    return to_hex((float(red), float(green), float(blue)))
