"""Closing the circle: the spiral of tempered fifths, and the divisions in which each part of the comma is at home."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tunelib.exhibits.circle import clockwise
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import in_inches
from tunelib.exhibits.look import Look
from tunelib.exhibits.tempering import FRACTION, FRACTION_STOPS, exact_fraction, said_fraction
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    FloatArray,
    Note,
    aligned,
    equal,
    home_fraction,
    miss_after,
    plain,
    ratio_from_cents,
    tempered_fifth,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C3 = Note.parse("C3").hz()


def _fifth_of(division: int) -> int:
    """How many of a division's steps its fifth has."""
    fifth = equal(division).fifth
    assert fifth is not None, "only divisions whose notes have letters are looked at here"
    return fifth


_DIVISIONS = {n: _fifth_of(n) for n in (12, 19, 31, 43, 50, 55)}  # steps to the octave, and to the fifth
_MOST_FIFTHS = 55
_ALONG = np.linspace(0, _MOST_FIFTHS, 30 * _MOST_FIFTHS + 1)  # fifths, a point of the spiral each
_WINDOW = 60.0  # cents to either side of home that are enlarged
_HALF_WINDOW = 1.25  # inches


class ClosingTheCircle(Exhibit):
    """The spiral of tempered fifths: after how many it comes home, and for which part of the comma."""

    name: ClassVar[str] = "closing_the_circle"
    title: ClassVar[str] = "How many fifths close the circle?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("fifths", "Fifths", 2, 55, 1, 31),
        FRACTION,
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12 fifths": {"fifths": 12}, "31 fifths": {"fifths": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = FRACTION_STOPS
    parts: ClassVar[Mapping[str, str]] = {
        "spiral": "fifth upon fifth, once round for every octave",
        "home": "home: whole octaves",
        "last": "the last fifth",
        "flags": "where some numbers of fifths come home",
        "word": "how far from home the last fifth ends",
        "nearest": "the division in which this part of the comma is most at home",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("home",),
        ("spiral", "last"),
        ("flags",),
        ("word",),
        ("nearest",),
    )
    _centre = 0.16  # radius at which the spiral begins, of that of the rim

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        x, y, radius = look.fit((2.45, 2.46, 1.95), (2.7, 6.5, 2.1), (1.6, 3.4, 1.02))
        (path,) = axes.plot([], [], color=theme.line)
        home = axes.plot([x, x], [y, y + radius + 0.12], color=theme.pure.full, lw=4, solid_capstyle="round")
        (dots,) = axes.plot([], [], "o", ms=look.fit(7, 7, 5), color=theme.ink, **look.ring(1))
        landed = [
            axes.plot([], [], theme.of(n).marker, ms=look.fit(11, 11, 8), color=theme.of(n).full, **look.ring(1.5))[0]
            for n in _DIVISIONS
        ]
        (lit,) = axes.plot([], [], "o", ms=24, color=theme.ink, label="sounding", **look.ring())
        (last,) = axes.plot([], [], "o", ms=look.fit(20, 20, 16), mec=theme.ink, mew=3)
        flags = _Flags(axes, look, *look.fit((7.08, 0.95, 3.35), (2.7, 0.95, 3.25), (2.7, 0.66, 2.24)))
        headline = look.headline(axes, *look.fit((6.1, 3.86), (1.75, 3.74), (2.98, 3.6)), below=look.square)
        after = look.text(axes, 2.98, 2.85, "", color=theme.grey, visible=look.square)
        at_home = look.text(axes, flags.x, look.fit(0.45, 0.45, 0.3), ha="center", color=theme.grey)
        now: dict[str, Any] = {}

        def place(along: FloatArray, fifths: int, fifth: float) -> tuple[Any, Any]:
            across, up = self._points(along, fifths, fifth)
            return x + radius * across, y + radius * up

        def update(fifths: int, fraction: float) -> None:
            fifth = tempered_fifth(exact_fraction(fraction)).cents
            path.set_data(*place(np.minimum(_ALONG, fifths), fifths, fifth))
            dots.set_data(*place(np.minimum(np.arange(_MOST_FIFTHS + 1.0), fifths), fifths, fifth))
            for mark, n in zip(landed, _DIVISIONS, strict=True):
                mark.set_data(*place(np.array([float(min(n, fifths))]), fifths, fifth))
                mark.set_visible(n < fifths)
            end = place(np.array([float(fifths)]), fifths, fifth)
            last.set_data(*end)
            last.set(mfc=theme.of(fifths).full, marker=theme.of(fifths).marker)
            best, _ = self._home(fraction)
            flags.show(fifths, fifth)
            away = _miss(fifths, fifth)
            how = "short" if away < 0 else "too far"
            many = times(fifths, "fifth")
            headline.say(f"{abs(away):.1f}", f"cents {how}" if look.square else f"cents {how} after {many}")
            after.set_text(f"after {many}")
            part = f"{said_fraction(fraction)} of a comma comes" if fraction else "pure fifths come"
            at_home.set_text(f"{part} nearest to {best} equal steps")
            groove = radius * (1 - self._centre) / (fifths * fifth / CENTS_PER_OCTAVE)
            path.set_linewidth(min(1.2, 0.2 * 72 * groove))
            lit.set_data([], [])
            now.update(start=place(np.zeros(1), fifths, fifth), end=end)

        def light(playing: Playing) -> None:
            if playing.seconds is None or not playing.notes:
                return
            # The notes are the first one, the last one, and then both.
            sounding = [now["start" if note % 2 == 0 else "end"] for note in playing.notes]
            lit.set_data(*np.concatenate(sounding, axis=1))
            first, again = (any(note % 2 == which for note in playing.notes) for which in (0, 1))
            flags.sound(first, again)

        parts: dict[str, Sequence[Any]] = {
            "spiral": [path, dots, *landed],
            "home": [*home, *flags.home],
            "last": [last],
            "flags": flags.flags,
            "word": [*headline.artists, after],
            "nearest": [at_home],
        }
        moving = (path, dots, *landed, lit, last, *flags.moving, *headline.artists, after, at_home)
        return Scene(moving, update, light, parts)

    def _points(self, along: FloatArray, fifths: int, fifth: float) -> tuple[Any, Any]:
        """Points of the spiral after a number of its fifths: once round is an octave, and the last is at the rim."""
        x, y = clockwise(along * fifth / CENTS_PER_OCTAVE)
        radius = self._centre + (1 - self._centre) * along / fifths
        return x * radius, y * radius

    @staticmethod
    def _home(fraction: float) -> tuple[int, float]:
        """The division whose own fraction of the comma is nearest, and how far away that is."""
        away = {n: abs(home_fraction(n, fifth) - float(exact_fraction(fraction))) for n, fifth in _DIVISIONS.items()}
        best = min(away, key=lambda n: away[n])
        return best, away[best]

    def sentence(self, fifths: int, fraction: float) -> str:
        closing = miss_after(tempered_fifth(exact_fraction(fraction)), fifths)
        best, _ = self._home(fraction)
        side = "above" if closing.miss.cents > 0 else "below"
        made = f"With fifths narrow by {said_fraction(fraction)} of a comma" if fraction else "With pure fifths"
        share = "this part of the comma is" if fraction else "they are"
        return (
            f"{made}, {times(fifths, 'fifth')} end {plain(abs(closing.miss.cents))} cents "
            f"{side} {times(closing.octaves, 'octave')}; of the divisions shown {share} most at home in {best}."
        )

    def numbers(self, fifths: int, fraction: float) -> Mapping[str, str]:
        fifth = tempered_fifth(exact_fraction(fraction)).cents
        landing = {f"after_{n}": plain(abs(_miss(n, fifth)), 1) for n in _DIVISIONS}
        best, away = self._home(fraction)
        return {"cents": plain(abs(_miss(fifths, fifth)), 1), "home": str(best), "away": plain(away, 3), **landing}

    def score(self, fifths: int, fraction: float) -> Score:
        away = miss_after(tempered_fifth(exact_fraction(fraction)), fifths).miss.cents
        start, end = 2 * _C3, 2 * _C3 * ratio_from_cents(away)
        return Score(
            (
                ScoreNote(onset=0, duration=1.2, hertz=start, voice="start", level=0.4),
                ScoreNote(onset=1.3, duration=1.2, hertz=end, voice="end", level=0.4),
                ScoreNote(onset=2.6, duration=2.6, hertz=start, voice="start", level=0.4),
                ScoreNote(onset=2.6, duration=2.6, hertz=end, voice="end", level=0.4),
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _miss(fifths: int, fifth: float) -> float:
    """Cents by which a number of fifths miss the nearest number of octaves: `miss_after`, quickly."""
    return math.remainder(fifths * fifth, CENTS_PER_OCTAVE)


class _Flags:
    """Home and what is near it, enlarged: a flag where each of some numbers of fifths ends, the finer the higher."""

    def __init__(self, axes: Axes, look: Look, x: float, bottom: float, top: float) -> None:
        theme = self._theme = look.theme
        self.x, self._bottom, self.top = x, bottom, top
        self._per_cent = _HALF_WINDOW / _WINDOW
        ground = axes.plot([x - _HALF_WINDOW - 0.3, x + _HALF_WINDOW + 0.3], [bottom] * 2, color=theme.line, lw=1.2)
        (self._post,) = axes.plot([x, x], [bottom, top + 0.1], color=theme.pure.full, lw=5, solid_capstyle="round")
        self.home: list[Any] = [self._post, *ground]
        self.home.append(look.text(axes, x, top + look.fit(0.2, 0.2, 0.16), "home", ha="center", color=theme.pure.text))
        rows = np.linspace(bottom, top, len(_DIVISIONS) + 1)[1:] - 0.06
        self._rows = dict(zip(_DIVISIONS, rows.tolist(), strict=True))
        self._deep = look.fit(0.2, 0.22, 0.14)
        self._gap = Rectangle((x, bottom - self._deep), 0, self._deep, fc=theme.ground, ec=theme.ink, lw=1.2)
        axes.add_patch(self._gap)
        self._poles, self._marks, self._words = {}, {}, {}
        for n in _DIVISIONS:
            tint = theme.of(n)
            (self._poles[n],) = axes.plot([], [], color=tint.full, lw=2, solid_capstyle="butt")
            (self._marks[n],) = axes.plot([], [], color=tint.full, ls="none", **look.ring(1.5))
            self._words[n] = look.text(axes, 0, 0, va="center", color=tint.text)
        (self._pole,) = axes.plot([], [], lw=5, solid_capstyle="butt")
        (self._mark,) = axes.plot([], [], ls="none", ms=20, **look.ring())
        self._small = look.fit(11, 11, 9)

    @property
    def flags(self) -> list[Any]:
        """All flags."""
        return [self._gap, *self._poles.values(), *self._marks.values(), self._pole, self._mark, *self._words.values()]

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [self._post, *self.flags]

    def show(self, fifths: int, fifth: float) -> None:
        """Plant the flags of as many fifths as there are, and of the last one."""
        for n in _DIVISIONS:
            x, marker, near = self._at(_miss(n, fifth), n)
            planted = n <= fifths
            self._poles[n].set_visible(planted and near)
            self._marks[n].set_visible(planted)
            self._words[n].set_visible(planted)
            self._poles[n].set_data([x, x], [self._bottom, self._rows[n]])
            self._marks[n].set(xdata=[x], ydata=[self._rows[n]], marker=marker, ms=self._small)
            side = 1 if x >= self.x else -1
            far = 0.14 + 0.1 * (n == fifths)
            self._words[n].set(
                text=f"{n}: {aligned(_miss(n, fifth), 0)}", position=(x + side * far, self._rows[n]),
                horizontalalignment="left" if side > 0 else "right", weight="bold" if n == fifths else "normal",
            )  # fmt: skip
        x, marker, near = self._at(_miss(fifths, fifth), fifths)
        row = self._rows.get(fifths, self._between(fifths)) if near else self._bottom - self._deep / 2
        self._pole.set_visible(near)
        tint = self._theme.of(fifths)
        self._pole.set_data([x, x], [self._bottom, row])
        self._pole.set_color(tint.full)
        self._mark.set(xdata=[x], ydata=[row], marker=marker, ms=20, mfc=tint.full, mec=self._theme.behind_text)
        self._gap.set(x=self.x, width=x - self.x, facecolor=tint.fill, edgecolor=tint.full)
        self._post.set_linewidth(5)

    def _between(self, fifths: int) -> float:
        """How high a flag is that is none of those with a place of their own."""
        return float(np.interp(fifths, list(self._rows), list(self._rows.values())))

    def _at(self, miss: float, fifths: int) -> tuple[float, str, bool]:
        """Where a miss is across, its marker, and whether it is within the window; an arrow points to what is not."""
        inside = min(max(miss, -_WINDOW), _WINDOW)
        marker = self._theme.of(fifths).marker if inside == miss else "<" if miss < 0 else ">"
        return self.x + self._per_cent * inside, marker, inside == miss

    def sound(self, first: bool, last: bool) -> None:
        """Light up home while the first note sounds, and the last flag while the last one does."""
        self._post.set_linewidth(9 if first else 5)
        self._mark.set_markersize(28 if last else 20)
