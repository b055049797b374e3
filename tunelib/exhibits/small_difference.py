"""How small a difference of pitch can be heard: published thresholds, and one of the reader's to compare."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist
from matplotlib.collections import LineCollection

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.inches import begin, field_of, headline_width, in_inches, width_of, with_note
from tunelib.exhibits.look import Look
from tunelib.hearing import PUBLISHED_THRESHOLDS
from tunelib.pitch import plain, ratio_from_cents, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_LEAST, _MOST = 0.625, 80.0  # cents
_TICKS = (1, 2, 5, 10, 20, 50)
_DOT = 0.005  # inches on either side of a single value, whose bar is a dot


def _reaches(one: float, other: float) -> bool:
    """Whether a number of cents is at least another, leaving aside what is only a rounding of a slider."""
    return one >= other * (1 - 1e-9)


class SmallDifference(Exhibit):
    """A small difference of pitch beside published thresholds and one that is set, which may be the learner's own."""

    name: ClassVar[str] = "small_difference"
    title: ClassVar[str] = "How small a difference?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("difference", "Difference to hear", _LEAST, _MOST, 8, 10, "cents", logarithmic=True),
        Slider("hertz", "Lower tone", 110, 1760, 4, 440, "Hz", logarithmic=True),
        Slider("own", "Threshold to compare", _LEAST, _MOST, 8, 20, "cents", logarithmic=True),
        Switch("tested", "It is mine, from the test", False),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "cents": "the scale of cents, from small differences to large ones",
        "published": "the smallest differences that others have been found to hear",
        "rule": "the rule of thumb of 5 cents",
        "pair": "the two tones that you hear",
        "own": "a threshold to compare, such as your own",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("cents",), ("published", "rule"), ("pair",), ("own",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        line, top, foot = look.fit((4.1, 3.98, 1.18), (8.2, 8.05, 1.85), (3.98, 3.85, 1.3))
        ticks, pair_words = foot - look.fit(0.3, 0.36), look.fit(0.5, 0.85, 0.55)
        left = field.left + look.fit(3.55, 1.85)
        octave = (field.right - 0.1 - left) / math.log2(_MOST / _LEAST)

        def at(cents: Any) -> Any:
            return left + octave * np.log2(np.asarray(cents) / _LEAST)

        scale: list[Artist] = [*axes.plot([left, field.right], [foot, foot], color=theme.line, lw=1.2)]
        for tick in _TICKS:
            scale += axes.plot([at(tick)] * 2, [foot, foot - 0.08], color=theme.line, lw=1.2)
            scale.append(look.text(axes, float(at(tick)), ticks, str(tick), ha="center", color=theme.grey))
        scale.append(look.text(axes, left - 0.15, ticks, "cents", ha="right", color=theme.grey))

        bars = LineCollection([np.zeros((2, 2))] * len(PUBLISHED_THRESHOLDS), linewidths=10, capstyle="round", zorder=2)
        axes.add_collection(bars, autolim=False)
        names = [
            look.text(axes, left - 0.15, 0, one.brief if look.tall else one.what, ha="right", va="center")
            for one in PUBLISHED_THRESHOLDS
        ]
        (x, y), way = look.fit(((field.left, line), "left"), ((field.right, 0.5), "right"))
        meaning = look.text(axes, x, y, "grey: cannot hear this pair", ha=way, color=theme.grey)
        meaning.set_visible(not look.square)  # which has no room for it
        (rule,) = axes.plot([], [], "D", ms=10, zorder=2)
        (pole,) = axes.plot([], [], color=theme.ink, lw=3, solid_capstyle="round", zorder=1)
        own_words = look.headline(axes, 0, line)
        (drop,) = axes.plot([], [], color=theme.line, lw=1.2, ls=(0, (3, 3)), zorder=0)
        lower_dot, upper_dot = (axes.plot([], [], "o", color=theme.ink, zorder=4, **look.ring())[0] for _ in range(2))
        pair = look.text(axes, 0, pair_words)

        def update(difference: float, hertz: float, own: float, tested: bool) -> None:
            spans = {n: span for n, one in enumerate(PUBLISHED_THRESHOLDS) if (span := one.cents(hertz))}
            order = sorted(spans, key=lambda n: math.prod(spans[n]))
            apart = (top - foot - 0.3) / len(order)
            segments, colours = [], []
            rule.set_visible(False)
            for n, (one, name) in enumerate(zip(PUBLISHED_THRESHOLDS, names, strict=True)):
                name.set_visible(n in spans)
                if n not in spans:
                    segments.append(np.full((2, 2), np.nan))
                    colours.append("none")
                    continue
                height = top - (order.index(n) + 0.5) * apart
                low, high = spans[n]
                heard = _reaches(difference, low)
                name.set_y(height)
                name.set_color(theme.ink if heard else theme.grey)
                segments.append(np.array([[at(low) - _DOT, height], [at(high) + _DOT, height]]))
                colours.append("none" if not one.measured else theme.ink if heard else theme.line)
                if not one.measured:
                    rule.set_data([at(low)], [height])
                    rule.set_color(theme.ink if heard else theme.line)
                    rule.set_visible(True)
            bars.set_segments(segments)
            bars.set_colors(colours)
            pole.set_data([at(own)] * 2, [foot, top])
            own_words.say(plain(own), f"{'cent' if plain(own) == '1' else 'cents'}: {'you' if tested else 'as set'}")
            across = headline_width(own_words)
            begin(own_words, min(max(float(at(own)) - across / 2, field.left), field.right - across), line)
            here = float(at(difference))
            drop.set_data([here, here], [foot + 0.12, top])
            for dot, aside in ((lower_dot, -0.09), (upper_dot, 0.09)):
                dot.set_data([here + aside], [foot])
                dot.set_markersize(11)
            upper = hertz * ratio_from_cents(difference)
            pair.set_text(
                f"this pair: {times(difference, 'cent')}"
                + look.fit(f", {with_note(hertz)} and {plain(upper)} Hz", f" from {self._short(hertz)}")
            )
            half = width_of(pair) / 2
            pair.set_x(min(max(here - half, field.left), field.right - 2 * half))

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                for note, dot in enumerate((lower_dot, upper_dot)):
                    dot.set_markersize(20 if note in playing.notes else 11)

        moving = (drop, pole, bars, rule, *names, *own_words.artists, lower_dot, upper_dot, pair)
        parts = {
            "cents": scale,
            "published": (bars, *names, *([] if look.square else [meaning])),
            "rule": (rule,),
            "pair": (lower_dot, upper_dot, drop, pair),
            "own": (pole, *own_words.artists),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _short(hertz: float) -> str:
        """A note's name, or its hertz where it has none."""
        named = with_note(hertz)
        return named if named[0].isalpha() else named.partition(",")[0]

    def numbers(self, difference: float, hertz: float, own: float, tested: bool) -> Mapping[str, str]:
        return {"apart": plain(hertz * ratio_from_cents(difference) - hertz, 2)}

    def sentence(self, difference: float, hertz: float, own: float, tested: bool) -> str:
        upper = hertz * ratio_from_cents(difference)
        spans = [span for published in PUBLISHED_THRESHOLDS if published.measured and (span := published.cents(hertz))]
        heard = sum(_reaches(difference, low) for low, _ in spans)
        side = "at or above" if _reaches(difference, own) else "below"
        whose = "your own threshold of" if tested else "the threshold that is set here,"
        step = f"A step of {plain(difference, 2)} cents up from {plain(hertz)} Hz is {plain(upper - hertz, 2)} Hz"
        return (
            f"{step}: {side} {whose} {plain(own, 2)} cents, and at or above {heard} of the {len(spans)} published ones "
            "that hold at this pitch."
        )

    def score(self, difference: float, hertz: float, own: float, tested: bool) -> Score:
        pair = (hertz, hertz * ratio_from_cents(difference))
        return Score(
            tuple(ScoreNote(onset=0.8 * i, duration=0.6, hertz=f, level=0.5) for i, f in enumerate(pair)), tempo=60
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]
