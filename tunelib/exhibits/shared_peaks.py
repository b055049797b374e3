"""Two waves in a simple ratio, and the peaks that fall together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, ClassVar

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.patches import Rectangle

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, near_note
from tunelib.exhibits.look import Look
from tunelib.exhibits.waves import together
from tunelib.hearing import beat_rate
from tunelib.pitch import FloatArray, every, plain
from tunelib.score import Score
from tunelib.sound import TIMBRES

_MEETINGS = {
    "octave 2:1": Fraction(2),
    "twelfth 3:1": Fraction(3),
    "fifteenth 4:1": Fraction(4),
    "fifth 3:2": Fraction(3, 2),
    "fourth 4:3": Fraction(4, 3),
    "major sixth 5:3": Fraction(5, 3),
    "major third 5:4": Fraction(5, 4),
    "minor third 6:5": Fraction(6, 5),
}
_MOST_COUNTED = max(ratio.numerator for ratio in _MEETINGS.values())


class SharedPeaks(Exhibit):
    """Two waves in a simple ratio, the lower held still: where their peaks meet, and how they slip apart."""

    name: ClassVar[str] = "shared_peaks"
    title: ClassVar[str] = "Peaks that meet"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("interval", "Interval", tuple(_MEETINGS), "fifth 3:2"),
        Slider("lower", "Lower tone", 55, 440, 12, 110, "Hz", logarithmic=True),
        Slider("off", "Upper tone off by", -3.0, 3.0, 0.1, 0.0, "Hz"),
        Slider("moment", "Moment", 0.0, 2.0, 0.01, 0.0, "s"),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"in tune": {"off": 0.0}, "1 Hz off": {"off": 1.0}}
    together: ClassVar[tuple[str, ...]] = ("interval", "off")
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "off": (-3, -2, -1, -0.5, 0, 0.5, 1, 2, 3),
        "moment": tuple(n / 10 for n in range(21)),
    }
    parts: ClassVar[Mapping[str, str]] = {
        "lower": "the wave of the lower tone",
        "upper": "the wave of the upper tone",
        "pattern": "the pattern of the two, once through",
        "posts": "where a peak of the one meets a peak of the other",
        "gaps": "how far peaks that should meet miss each other",
        "counts": "the swings counted, from one meeting to the next",
        "ratio": "how many swings meet how many",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("lower",), ("upper",), ("posts", "gaps"), ("pattern", "counts"), ("ratio",),
    )  # fmt: skip
    flows: ClassVar[bool] = True
    _touch = 0.04  # of the upper wave: peaks this near are one meeting
    _begin, _end = -0.15, 6.15  # what is shown, in waves of the lower tone
    _watched = 1.5  # waves of the lower tone a second are gone through while it sounds
    _most_meetings = 2.0  # a second, where they slip: what is faster is shown slower

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, pure = look.theme, look.theme.pure
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        over, above, most = look.fit((4.37, 3.28, 0.63), (8.4, 6.55, 1.2), (4.28, 3.31, 0.48))
        under, below, line = look.fit((0.74, 1.86, 0.52), (1.9, 3.6, 0.75), (1.15, 2.15, 0.5))
        wave = field.width / (self._end - self._begin)
        roof, ceiling = above + most, below + most

        def at(waves: Any) -> Any:
            return field.left + wave * (np.asarray(waves) - self._begin)

        across = np.linspace(self._begin, self._end, 1401)
        band = PolyCollection([np.zeros((4, 2))], facecolors=pure.fill, edgecolors="none", zorder=0)
        gaps = PolyCollection([np.zeros((3, 2))] * self._posts, facecolors=pure.fill, edgecolors="none", zorder=0.5)
        posts = LineCollection([np.zeros((2, 2))] * self._posts, linewidths=3.5, capstyle="round", zorder=1)
        for collection in (band, gaps, posts):
            axes.add_collection(collection, autolim=False)
        axes.plot(at(across), below + most * np.cos(2 * np.pi * across), color=theme.grey, lw=2, zorder=2)
        # A place in these rows is always the same moment of a swing, so that another interval stretches the wave.
        swung = np.linspace(-1.5, 27, 1483)
        once = np.linspace(0, _MOST_COUNTED + 0.2, 373)
        (top,) = axes.plot(swung, above + most * np.cos(2 * np.pi * swung), color=theme.grey, lw=2, zorder=2)
        upper_once, lower_once = (axes.plot(once, once, color=theme.ink, lw=3.2, zorder=3)[0] for _ in range(2))
        rings = [axes.plot([], [], pure.marker, color=pure.full, ms=10, zorder=4, **look.ring())[0] for _ in range(2)]
        (lit,) = axes.plot([], [], pure.marker, color=theme.ink, ms=15, zorder=5, **look.ring())
        (head,) = axes.plot([], [], color=theme.ink, lw=3, solid_capstyle="round", zorder=3.5)
        for artists, aside in (((top, upper_once, lower_once), 0.0), ((gaps, posts, *rings), 0.15)):
            window = Rectangle(
                (field.left - aside, 0), field.width + 2 * aside, look.inches[1], transform=axes.transData
            )
            for artist in artists:
                artist.set_clip_path(window)
        upper_counts, lower_counts = (
            [look.text(axes, 0, y, ha="center", va=va, weight="bold", zorder=6) for _ in range(_MOST_COUNTED)]
            for y, va in ((roof + 0.18, "baseline"), (below - most - 0.06, "top"))
        )
        here, there = look.fit((field.right, field.left), (field.left, field.right))
        this_way, that_way = look.fit(("right", "left"), ("left", "right"))
        upper_name = look.text(axes, here, over, ha=this_way)
        when = look.text(axes, there, over, ha=that_way, color=theme.grey)
        lower_name = look.text(axes, here, under, ha=this_way)
        ratio_words = look.headline(axes, field.left, line)
        shown: dict[str, Any] = {}

        def show(moment: float) -> None:
            ratio, lower, upper = shown["ratio"], shown["lower"], shown["upper"]
            off = upper - lower * float(ratio)
            each = upper / lower
            lead = self._lead(off * moment)
            top.set_xdata(at((swung - lead) / each))
            over_once, under_once = (np.minimum(once, ratio.denominator * swings) for swings in (each, 1))
            upper_once.set_data(at(over_once / each), above + most * np.cos(2 * np.pi * (over_once + lead)))
            lower_once.set_data(at(under_once), below + most * np.cos(2 * np.pi * under_once))

            peaks = np.arange(self._posts) * ratio.denominator  # of the lower tone, that peaks of the upper meet
            leads = self._lead(off * (moment + peaks / lower))
            feet, tips = at(peaks), at(peaks - leads / each)
            met = np.abs(leads) < self._touch
            posts.set_segments([[(x, roof), (foot, ceiling)] for x, foot in zip(tips, feet, strict=True)])
            posts.set_colors([pure.full if here and k < 2 else pure.dim for k, here in enumerate(met)])
            gaps.set_verts([
                [(x, roof), (foot, roof), (foot, ceiling)] for x, foot in zip(tips, feet, strict=True)
            ])  # fmt: skip
            for ring, places, height in ((rings[0], tips, roof), (rings[1], feet, ceiling)):
                ring.set_data(places, np.full(self._posts, height))
            left, right = feet[0], feet[1]
            band.set_verts([[(left, below - most), (left, roof), (right, roof), (right, below - most)]])
            band.set_visible(bool(met[0]))
            for texts, places, count in (
                (upper_counts, (np.arange(1, _MOST_COUNTED + 1) - lead) / each, ratio.numerator),
                (lower_counts, np.arange(1.0, _MOST_COUNTED + 1), ratio.denominator),
            ):
                for number, (text, place) in enumerate(zip(texts, places, strict=True), start=1):
                    text.set_x(float(at(place)))
                    text.set_text(str(number))
                    text.set_visible(number <= count and place <= self._end)

        def update(interval: str, lower: float, off: float, moment: float) -> None:
            ratio = _MEETINGS[interval]
            upper = lower * float(ratio) + off
            shown.update(ratio=ratio, lower=lower, upper=upper, off=off)
            show(moment)
            upper_name.set_text(near_note(upper))
            lower_name.set_text(near_note(lower))
            when.set_text(f"after {plain(moment, 2)} s" if moment else "")
            lit.set_data([], [])
            head.set_data([], [])
            if off:
                rate = plain(beat_rate(lower, upper, ratio))
                beats = "beat a second" if rate == "1" else "beats a second"
                ratio_words.say(rate, beats + look.fit(": the peaks slip apart", ""))
            else:
                ratio_words.say(
                    f"{ratio.numerator}:{ratio.denominator}", f"{ratio.numerator} swings meet {ratio.denominator}"
                )
            begin(ratio_words, field.left, line)

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            ratio, lower = shown["ratio"], shown["lower"]
            if shown["off"]:
                rate = beat_rate(lower, shown["upper"], ratio)
                slower = max(1, math.ceil(rate / self._most_meetings - 1e-9))
                when.set_text("" if slower == 1 else f"{slower} times slower")
                show(playing.seconds / slower)
                return
            when.set_text(f"{plain(lower / self._watched, 0)} times slower")
            place = self._begin + playing.seconds * self._watched % (self._end - self._begin)
            head.set_data([at(place)] * 2, [below - most, roof])
            last = ratio.denominator * math.floor(place / ratio.denominator)
            if last >= 0 and place - last < 0.45:
                lit.set_data([at(last)] * 2, [roof, ceiling])

        moving = (
            band, gaps, posts, top, lower_once, upper_once, head, *rings, lit, *upper_counts, *lower_counts,
            upper_name, lower_name, when, *ratio_words.artists,
        )  # fmt: skip
        parts = {
            "lower": (lower_once, lower_name),
            "upper": (top, upper_once, upper_name),
            "pattern": (band,),
            "posts": (posts, *rings),
            "gaps": (gaps,),
            "counts": (*upper_counts, *lower_counts),
            "ratio": ratio_words.artists,
        }
        return Scene(moving, update, light, parts)

    _posts = 7  # from the first to the last that may be seen

    @staticmethod
    def _lead(turns: Any) -> FloatArray:
        """By how much of its wave the upper tone is ahead of a meeting, from minus a half to a half."""
        return np.asarray(turns - np.round(turns))

    def numbers(self, interval: str, lower: float, off: float, moment: float) -> Mapping[str, str]:
        ratio = _MEETINGS[interval]
        upper = lower * float(ratio) + off
        return {"upper": plain(upper), "beats": plain(beat_rate(lower, upper, ratio), 2)}

    def sentence(self, interval: str, lower: float, off: float, moment: float) -> str:
        ratio = _MEETINGS[interval]
        opening = f"The {interval}, {plain(lower * float(ratio) + off)} Hz over {plain(lower)} Hz: "
        when = f"{plain(moment, 2)} seconds in"
        if off == 0:
            upper, below = every(ratio.numerator), every(ratio.denominator)
            return f"{opening}{upper} peak of the upper wave meets {below} peak of the lower, {when} as at any time."
        rate = beat_rate(lower, lower * float(ratio) + off, ratio)
        way, often = "high" if off > 0 else "low", "once" if rate == 1 else f"{plain(rate, 2)} times"
        return (
            f"{opening}the upper tone is {plain(abs(off), 2)} Hz too {way}, so the peaks slip "
            f"apart, and meet again {often} a second; this is {when}."
        )

    def score(self, interval: str, lower: float, off: float, moment: float) -> Score:
        return together((lower, 0.5), (lower * float(_MEETINGS[interval]) + off, 0.5), seconds=3.5)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["bowed"]
