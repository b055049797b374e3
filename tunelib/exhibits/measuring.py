"""The ruler of cents: on it, equal intervals have equal lengths, on whatever note they are built."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist
from matplotlib.patches import Rectangle

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.inches import begin, field_of, headline_width, in_inches, strokes, width_of, with_note
from tunelib.exhibits.look import Look
from tunelib.pitch import CENTS_PER_OCTAVE, cents, name_of, plain, ratio_from_cents, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_LANDMARKS = ("1/1", "9/8", "6/5", "5/4", "4/3", "3/2", "5/3", "7/4", "15/8", "2/1")
_HERTZ_APART = 20  # from one mark of hertz to the next


class CentsRuler(Exhibit):
    """One interval as a length on the ruler of cents, the simple ratios as flags above, and the hertz below."""

    name: ClassVar[str] = "cents_ruler"
    title: ClassVar[str] = "A ruler for the ear"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("interval", "Interval", 0, 1200, 1, 400, "cents"),
        Slider("lower", "Lower note", 110, 440, 12, 220, "Hz", logarithmic=True),
        Switch("together", "Both together", False),
    )
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "interval": (
            *range(0, 1201, 50),
            *(112, 182, 204, 231, 267, 316, 386, 408, 435, 498, 551, 583, 617, 702, 814, 884, 933, 969, 996, 1088),
        ),
    }  # fmt: skip
    parts: ClassVar[Mapping[str, str]] = {
        "ruler": "the ruler: an octave in cents",
        "flags": "simple ratios, where they are on the ruler",
        "interval": "the interval, as long as it is to the ear",
        "number": "how many cents it is",
        "gap": "the gap to the nearest simple ratio",
        "miss": "how many cents are missing, or too many",
        "hertz": "the same octave in hertz, whose marks crowd towards the top",
        "notes": "the two notes",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("ruler",), ("flags",), ("hertz", "notes"), ("interval", "number"), ("gap", "miss"),
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, pure = look.theme, look.theme.pure
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        flag, roof, floor, foot = look.fit((4.3, 3.52, 2.45, 2.07), (8.3, 7.0, 4.75, 4.15), (4.25, 3.34, 2.52, 2.16))
        words, hertz_line, hertz_words = look.fit((1.47, 0.93, 0.5), (3.25, 1.85, 1.2), (1.55, 1.05, 0.72))
        left = field.left + look.fit(0.2, 0.22)
        inch = (field.right - look.fit(0.25, 0.3) - left) / CENTS_PER_OCTAVE

        def at(place: Any) -> Any:
            return left + inch * np.asarray(place)

        axes.add_patch(Rectangle((left, foot), inch * 1200, floor - foot, fc=theme.ground, ec=theme.line, lw=1.2))
        marks = [(float(at(mark)), 0.18 if mark % 100 else 0.36) for mark in range(0, 1201, 20)]
        ruler: list[Artist] = [*axes.plot(
            np.ravel([(x, x, np.nan) for x, _ in marks]),
            np.ravel([(floor, floor - (floor - foot) * deep, np.nan) for _, deep in marks]),
            color=theme.line, lw=1.2,
        )]  # fmt: skip
        for mark in range(0, 1201, look.fit(100, 300)):
            ruler.append(
                look.text(axes, float(at(mark)), foot - look.fit(0.25, 0.3), str(mark), ha="center", color=theme.grey)
            )
        places = {ratio: float(at(cents(ratio))) for ratio in _LANDMARKS}
        flags: list[Artist] = []
        for order, (ratio, x) in enumerate(places.items()):
            high = flag - (look.fit(0, 0.3) if order % 2 else 0)
            flags += axes.plot([x, x], [roof + 0.12, high - 0.07], color=pure.full, lw=3.5, solid_capstyle="round")
            flags.append(look.text(axes, x, high, ratio, ha="center", color=pure.text, weight="bold"))

        span = Rectangle((left, floor), 0, roof - floor, fc=theme.ground, ec="none", zorder=1)
        gap = Rectangle((left, floor), 0, roof - floor, fc=pure.fill, ec="none", zorder=1.5)
        for patch in (span, gap):
            axes.add_patch(patch)
        (sides,) = axes.plot([], [], color=theme.ink, lw=3, zorder=3, solid_capstyle="round")
        (pole,) = axes.plot([], [], color=pure.full, lw=3.5, zorder=2, solid_capstyle="round")
        number = look.headline(axes, 0, 0, zorder=4)
        miss = look.text(axes, 0, words, size="name", ha="center")
        of_what = look.text(axes, 0, words - 0.3, ha="center")

        (octave,) = axes.plot([left, at(1200)], [hertz_line] * 2, color=theme.line, lw=1.2)
        (hertz,) = axes.plot([], [], color=theme.line, lw=1.2)
        apart = look.text(
            axes,
            field.right,
            hertz_line + 0.27,
            f"{look.fit('the same octave in hertz', 'in hertz')}: a mark every {_HERTZ_APART} Hz",
            ha="right",
            color=theme.grey,
        )
        lower_dot, upper_dot = (
            axes.plot([], [], "o", ms=11, color=theme.ink, zorder=4, clip_on=False, **look.ring())[0] for _ in range(2)
        )
        lower_word = look.text(axes, field.left, hertz_words)
        upper_word = look.text(axes, field.right, hertz_words - look.fit(0, 0.28))

        def update(interval: float, lower: float, together: bool) -> None:
            end, near = float(at(interval)), places[self._nearest(interval)]
            span.set_width(end - left)
            gap.set_x(min(end, near))
            gap.set_width(abs(end - near))
            sides.set_data([left, left, np.nan, end, end], [floor, roof, np.nan, floor, roof])
            pole.set_data([near, near], [floor, roof + 0.12])
            self._put_number(number, plain(interval), (left, end, max(end, near)), (floor + roof) / 2, look)
            said, what = self._miss(interval)
            if look.tall and said:
                miss.set_text(said if not look.square else f"{said} {self._nearest(interval)}")
                of_what.set_text("" if look.square else what)
            else:
                miss.set_text(f"{said} {what}".strip())
                of_what.set_text("")
            half = max(width_of(text) for text in (miss, of_what) if text.get_text()) / 2
            for text in (miss, of_what):
                text.set_x(min(max((end + near) / 2, field.left + half), field.right - half))
            at_hertz = np.arange(math.ceil(lower / _HERTZ_APART - 1e-9), 2 * lower / _HERTZ_APART + 1e-9) * _HERTZ_APART
            xs = np.asarray(at(1200 * np.log2(at_hertz / lower)))
            hertz.set_data(*strokes(xs, hertz_line, hertz_line + 0.15))
            upper = lower * ratio_from_cents(interval)
            lower_dot.set_data([left], [hertz_line])
            upper_dot.set_data([end], [hertz_line])
            for dot in (lower_dot, upper_dot):
                dot.set_markersize(11)
            lower_word.set_text(with_note(lower))
            upper_word.set_text(f"{'with' if together else 'then'} {with_note(upper)}")
            least = field.left + (0.2 + width_of(lower_word) if not look.tall else 0.0)
            upper_word.set_x(min(max(end - width_of(upper_word) / 2, least), field.right - width_of(upper_word)))

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                for note, dot in enumerate((lower_dot, upper_dot)):
                    dot.set_markersize(20 if note in playing.notes else 11)

        moving = (
            span, gap, sides, pole, *number.artists, miss, of_what, hertz, lower_dot, upper_dot, lower_word, upper_word,
        )  # fmt: skip
        parts = {
            "ruler": ruler,
            "flags": flags,
            "interval": (span, sides),
            "number": number.artists,
            "gap": (gap, pole),
            "miss": (miss, of_what),
            "hertz": (hertz, octave, apart),
            "notes": (lower_dot, upper_dot, lower_word, upper_word),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _put_number(number: Any, said: str, ends: tuple[float, float, float], middle: float, look: Look) -> None:
        """Put the number of cents into the interval, or after it and its gap where it is too short."""
        begins, end, clear = ends
        number.say(said, "cent" if said == "1" else "cents")
        across = headline_width(number)
        inside = end - begins > across + 0.3
        left = begins + (end - begins - across) / 2 if inside else clear + 0.2
        begin(number, left, middle - look.fit(0.19, 0.23))

    @staticmethod
    def _nearest(interval: float) -> str:
        """The nearest of the simple ratios that have a flag."""
        return min(_LANDMARKS, key=lambda ratio: abs(cents(ratio) - interval))

    @classmethod
    def _miss(cls, interval: float) -> tuple[str, str]:
        """How far an interval is from the nearest simple ratio, empty where it is there, and which that is."""
        ratio = cls._nearest(interval)
        over = interval - cents(ratio)
        name = f"{ratio}, the {name_of(ratio)}"
        if round(abs(over), 1) == 0:
            return "", name
        return f"{times(abs(over), 'cent')} {'wider' if over > 0 else 'narrower'} than", name

    def numbers(self, interval: float, lower: float, together: bool) -> Mapping[str, str]:
        return {
            "off": plain(abs(interval - cents(self._nearest(interval)))),
            "upper": plain(lower * ratio_from_cents(interval)),
        }

    def sentence(self, interval: float, lower: float, together: bool) -> str:
        ratio = self._nearest(interval)
        over = interval - cents(ratio)
        near = "exactly" if abs(over) < 0.05 else f"{plain(abs(over))} cents {'wider' if over > 0 else 'narrower'} than"
        how = "sounding together" if together else "one after the other"
        return (
            f"From {plain(lower)} Hz up to {plain(lower * ratio_from_cents(interval))} Hz, {how}, is {plain(interval)} "
            f"cents: {near} the {name_of(ratio)}, {ratio}."
        )

    def score(self, interval: float, lower: float, together: bool) -> Score:
        upper = lower * ratio_from_cents(interval)
        onsets = (0, 0) if together else (0, 1.2)
        return Score(
            tuple(
                ScoreNote(onset=onset, duration=2.5 if together else 1.1, hertz=hertz, voice=voice, level=0.5)
                for onset, hertz, voice in zip(onsets, (lower, upper), ("lower", "upper"), strict=True)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
