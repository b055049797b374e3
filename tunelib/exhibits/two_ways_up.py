"""Four fifths and a third: two ways up to an E, and the comma between their ends."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.patches import Circle, Polygon, Rectangle

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.inches import field_of, in_inches
from tunelib.exhibits.look import Look
from tunelib.pitch import CENTS_PER_OCTAVE, Note, cents, nearest_note, plain, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_FIFTH, _THIRD = cents("3/2"), cents("5/4")
_LOWEST = ("C2", "C3", "C4")
_WHITE_KEYS = 17  # two octaves from C, and on to E
_BLACK_AFTER = (0, 1, 3, 4, 5)  # which white keys of an octave have a black one after them
_TO_A_FIFTH, _TO_AN_OCTAVE = 4, 7  # white keys
_SHARE = 0.6  # of the lens across that the comma takes up


class FourFifths(Exhibit):
    """Four pure fifths up a keyboard, and two octaves and a pure third: the comma between their ends."""

    name: ClassVar[str] = "four_fifths"
    title: ClassVar[str] = "Four fifths and a third"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("stacked", "Fifths stacked", 1, 4, 1, 4),
        Choice("lowest", "Lowest note", _LOWEST, "C3", ordered=True),
        Switch("pure_last", "End on the pure third", False),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "four fifths": {"stacked": 4, "pure_last": False},
        "pure third": {"stacked": 4, "pure_last": True},
    }
    _letters = ("C", "G", "D", "A", "E")

    parts: ClassVar[Mapping[str, str]] = {
        "keys": "two octaves and a third of a keyboard",
        "fifths": "four pure fifths up",
        "octaves": "two octaves and a pure third up",
        "lens": "the last key, enlarged",
        "gap": "the comma between the two ends",
        "word": "how wide it is",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("keys",), ("octaves",), ("fifths",), ("lens", "gap"), ("word",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        left, right, low, _ = field_of(look).sides
        # The keyboard: its left, right, bottom and top; how high the arcs are; the lens.
        end, foot, head, high = look.fit((5.75, 1.97, 3.08, 0.93), (right, 5.95, 7.15, 1.0), (right, 3.05, 3.6, 0.5))
        lens = _Lens(axes, look, *look.fit((7.53, 2.42, 1.6), (right - 1.9, 2.6, 1.9), (3.7, 1.42, 0.8)))
        key = (end - left) / _WHITE_KEYS
        keys = self._keys(axes, look, left, key, foot, head)

        def at(white: float) -> float:
            return left + (white + 0.5) * key

        corner = at(_WHITE_KEYS - 1) + key / 2
        rays = axes.plot(*lens.rays(corner, foot, head, look.tall), color=theme.line, lw=1.2, zorder=0.5)
        bow: dict[str, Any] = {"color": theme.pure.full, "lw": 3.5, "solid_capstyle": "round"}
        below = [
            axes.plot(*_bow(at(start), at(stop), foot, -high * share), **bow)[0]
            for start, stop, share in ((0, 7, 1), (7, 14, 1), (14, 16, 0.75))
        ]
        names = [
            look.text(axes, at(middle), foot - high * share - 0.1, words, ha=ha, va="top", color=theme.grey)
            for middle, share, words, ha in (
                (3.5, 1, "octave", "center"), (10.5, 1, "octave", "center"),
                (look.fit(15.0, 16.2, 15.4), 0.75, look.fit("pure third", "third"), look.fit("center", "right")),
            )
        ]  # fmt: skip
        above = [
            axes.plot(*_bow(at(_TO_A_FIFTH * k), at(_TO_A_FIFTH * (k + 1)), head, high), **bow)[0] for k in range(4)
        ]
        over = [
            look.text(axes, at(_TO_A_FIFTH * (k + 0.5)), head + high + 0.1, "fifth", ha="center", color=theme.grey)
            for k in range(4)
        ]
        letters = [
            look.text(axes, at(_TO_A_FIFTH * k), foot + 0.09, letter, "name", ha="center")
            for k, letter in enumerate(self._letters)
        ]
        (lit,) = axes.plot([], [], "D", ms=13, color=theme.ink, label="sounding", **look.ring())
        hertz = look.text(axes, left, look.fit(low, low, low - 0.1), color=theme.grey)
        if look.square:
            headline = look.headline(axes, left, 1.15, below=True)
        else:
            headline = look.headline(axes, lens.x, lens.y - 0.02, below=True, ha="center")
        over_by = 4 * _FIFTH - 2 * CENTS_PER_OCTAVE - _THIRD
        now: dict[str, Any] = {}

        def update(stacked: int, lowest: str, pure_last: bool) -> None:
            for k, (arc, words) in enumerate(zip(above, over, strict=True)):
                arc.set_visible(k < stacked)
                words.set_visible(k < stacked)
            for k, letter in enumerate(letters):
                letter.set_visible(k <= stacked or k == len(letters) - 1)
                letter.set_color(theme.ink if k <= stacked else theme.grey)
            lens.show(stacked == 4, pure_last)
            left_over = 4 - stacked
            to_go = f"{'fifth' if left_over == 1 else 'fifths'} to go"
            headline.say(str(left_over) if left_over else plain(over_by, 1), to_go if left_over else "cents, a comma")
            start, end = self._named(lowest, 0), self._named(lowest, stacked)
            short = f"{plain(_hertz(lowest))} Hz up to {plain(_hertz(lowest, stacked))} Hz"
            hertz.set_text(short if look.square else f"{start}, up to {end}")
            lit.set(xdata=[], ydata=[])
            now.update(stacked=stacked, pure_last=pure_last)

        def light(playing: Playing) -> None:
            if playing.seconds is None or not playing.notes:
                return
            stacked = now["stacked"]
            held = (0, _TO_AN_OCTAVE, _TO_AN_OCTAVE + _TO_A_FIFTH, _WHITE_KEYS - 1) if stacked == 4 else (16,)
            places = [_TO_A_FIFTH * note if note <= stacked else held[note - stacked - 1] for note in playing.notes]
            lit.set(xdata=[at(place) for place in places], ydata=[(foot + head) / 2] * len(places))
            if _WHITE_KEYS - 1 in places and (stacked == 4 or now["pure_last"]):
                last = max(playing.notes)
                lens.sound(pure=now["pure_last"] and last > stacked)

        moving = (*above, *over, *letters, *lens.moving, hertz, lit, *headline.artists)
        parts = {
            "keys": [*keys, *letters, hertz, lit],
            "fifths": [*above, *over],
            "octaves": [*below, *names],
            "lens": [*rays, *lens.glass],
            "gap": lens.gap,
            "word": list(headline.artists),
        }
        return Scene(moving, update, light, parts)

    @classmethod
    def _named(cls, lowest: str, stacked: int) -> str:
        """The note that some fifths above the lowest lead to and its frequency, as "G3, 196.2 Hz"."""
        hertz = _hertz(lowest, stacked)
        return f"{cls._letters[stacked]}{nearest_note(hertz)[0].octave}, {plain(hertz)} Hz"

    @staticmethod
    def _keys(axes: Axes, look: Look, left: float, key: float, foot: float, head: float) -> list[Any]:
        """White and black keys as patches, from C."""
        theme, black = look.theme, look.fit(0.58, 0.6, 0.45)
        dark = min(theme.line, theme.behind_text, key=lambda colour: sum(to_rgb(colour)))
        white = [
            axes.add_patch(Rectangle((left + k * key, foot), key, head - foot, fc=theme.ground, ec=theme.line, lw=1.2))
            for k in range(_WHITE_KEYS)
        ]
        blacks = [
            axes.add_patch(
                Rectangle(
                    (left + (k + 0.7) * key, head - black * (head - foot)), 0.6 * key, black * (head - foot),
                    fc=dark, ec=theme.line, lw=1.2,
                )
            )
            for k in range(_WHITE_KEYS - 1) if k % _TO_AN_OCTAVE in _BLACK_AFTER
        ]  # fmt: skip
        return [*white, *blacks]

    def sentence(self, stacked: int, lowest: str, pure_last: bool) -> str:
        reached = stacked * _FIFTH
        start, end = self._named(lowest, 0), self._named(lowest, stacked)
        if stacked < 4:
            return (
                f"From {start}, {times(stacked, 'pure fifth')} up {'leads' if stacked == 1 else 'lead'} to {end}, at "
                f"{plain(reached)} cents; four would come to an E{', and the pure E follows' if pure_last else ''}."
            )
        over = reached - 2 * CENTS_PER_OCTAVE - _THIRD
        last = "the pure third" if pure_last else "the E of the fifths"
        return (
            f"From {start}, 4 pure fifths up lead to {end}. They come to {plain(reached)} cents, {plain(over)} "
            f"cents, or one syntonic comma, above two octaves and a pure third; the chord at the end has {last}."
        )

    def numbers(self, stacked: int, lowest: str, pure_last: bool) -> Mapping[str, str]:
        return {
            "cents": plain(4 * _FIFTH - 2 * CENTS_PER_OCTAVE - _THIRD),
            "reached": plain(stacked * _FIFTH),
            "top": plain(_hertz(lowest, stacked)),
        }

    def score(self, stacked: int, lowest: str, pure_last: bool) -> Score:
        start = _hertz(lowest)
        stack = [_hertz(lowest, k) for k in range(stacked + 1)]
        notes = [ScoreNote(onset=0.6 * k, duration=0.55, hertz=hertz, level=0.5) for k, hertz in enumerate(stack)]
        onset = 0.6 * len(stack) + 0.3
        if stacked < 4:
            pure = [ScoreNote(onset=onset, duration=1.2, hertz=5 * start, level=0.5)] if pure_last else []
            return Score((*notes, *pure), tempo=60)
        last = 5 * start if pure_last else stack[-1]
        for hertz in (start, 2 * start, 3 * start, last):
            notes.append(ScoreNote(onset=onset, duration=2.8, hertz=hertz, level=0.35))
        return Score(tuple(notes), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _hertz(lowest: str, stacked: int = 0) -> float:
    """The frequency some pure fifths above a note."""
    return Note.parse(lowest).hz() * 1.5**stacked


class _Lens:
    """A round glass that enlarges the last key: the ends of both ways, and what is between them."""

    def __init__(self, axes: Axes, look: Look, x: float, y: float, radius: float) -> None:
        theme = self._theme = look.theme
        self.x, self.y, self.radius = x, y, radius
        circle = Circle((x, y), radius, fc=theme.behind_text, ec=theme.ink, lw=2.5)
        axes.add_patch(circle)
        self._half = _SHARE * radius
        self._fill = Polygon(self._between(0.0), fc=theme.pure.fill, ec="none", lw=0)
        axes.add_patch(self._fill)
        reach = np.sqrt(radius**2 - self._half**2)
        ends = [y - reach, y + reach]
        style: dict[str, Any] = {"color": theme.pure.full, "solid_capstyle": "butt"}
        (self._third,) = axes.plot([x - self._half] * 2, ends, **style)
        (self._fifths,) = axes.plot([x + self._half] * 2, ends, **style)
        (self._mark,) = axes.plot([], [], "D", **look.ring())
        self._from = 0.55 * reach
        foot = y - reach - 0.1
        self._words = [
            look.text(axes, x + side * (self._half + 0.06), foot, words, ha=ha, va="top", color=theme.grey)
            for side, words, ha in ((-1, "third", "right"), (1, "fifths", "left"))
        ]
        self.glass = [circle, self._third, self._words[0]]
        self.gap = [self._fill, self._fifths, self._mark, self._words[1]]

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [self._fill, self._third, self._fifths, self._mark, self._words[1]]

    def rays(self, corner: float, foot: float, head: float, below: bool) -> tuple[list[float], list[float]]:
        """Lines from the last key, whose right side is at `corner`, to the sides of the glass, beside or below it."""
        x, y, radius = self.x, self.y, self.radius
        if below:
            ends = [(corner, foot, x + radius, y)]
        else:
            ends = [
                (corner, head, x - radius * 0.34, y + radius * 0.94),
                (corner, foot, x - radius * 0.5, y - radius * 0.866),
            ]
        xs: list[float] = []
        ys: list[float] = []
        for x0, y0, x1, y1 in ends:
            xs += [x0, x1, np.nan]
            ys += [y0, y1, np.nan]
        return xs, ys

    def _between(self, share: float) -> Any:
        """What is between the ends, opened from the left by a share of its width."""
        across = np.linspace(-self._half, -self._half + 2 * self._half * share, 30)
        up = np.sqrt(self.radius**2 - across**2) - 0.02
        return np.column_stack(
            [self.x + np.concatenate([across, across[::-1]]), self.y + np.concatenate([up, -up[::-1]])]
        )

    def show(self, both: bool, pure: bool) -> None:
        """Show the end of the fifths too, or that of octaves and third alone; mark the one that is heard last."""
        self._fill.set_xy(self._between(1.0 if both else 0.0))
        self._fifths.set_xdata([self.x + (self._half if both else -self._half)] * 2)
        self._words[1].set_visible(both)
        for line, chosen in ((self._third, pure), (self._fifths, not pure)):
            line.set_linewidth(8 if chosen else 4)
        self._mark.set_data(*self._place(pure or not both))
        self._mark.set(ms=16, color=self._theme.pure.full, visible=both or pure, mec=self._theme.behind_text)

    def _place(self, pure: bool) -> tuple[list[float], list[float]]:
        side = -1 if pure else 1
        return [self.x + side * self._half], [self.y + side * self._from]

    def sound(self, pure: bool) -> None:
        """Light up the end that sounds."""
        self._mark.set_data(*self._place(pure))
        self._mark.set(color=self._theme.ink, ms=20, mec=self._theme.behind_text)


def _bow(start: float, stop: float, y: float, high: float) -> tuple[Any, Any]:
    """Half an ellipse from one place to another at the height `y`, `high` above it or below."""
    turn = np.linspace(np.pi, 0, 40)
    return (start + stop) / 2 + (stop - start) / 2 * np.cos(turn), y + high * np.sin(turn)
