"""Waves: one that can be seen, and two that drift apart."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Rectangle

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, level_strokes, near_note, width_of
from tunelib.exhibits.look import Look
from tunelib.hearing import beat_rate
from tunelib.pitch import FloatArray, nearest_note, plain, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

SPEED_OF_SOUND = 343.0  # metres a second, dry air at 20 °C (common handbook value)

_USUAL_STRENGTH = 60  # percent: the strength of a tone that is as loud as other sounds


def together(*notes: tuple[float, float], seconds: float, voices: tuple[str, ...] = ()) -> Score:
    """A score of tones that begin and end together: each (hertz, level)."""
    names = voices or tuple(f"tone {i + 1}" for i in range(len(notes)))
    return Score(
        tuple(
            ScoreNote(onset=0, duration=seconds, hertz=hertz, voice=voice, level=level)
            for voice, (hertz, level) in zip(names, notes, strict=True)
        ),
        tempo=60,
    )


class Wave(Exhibit):
    """The air that a pure tone goes through, and under it its pressure, crest under crowd."""

    name: ClassVar[str] = "wave"
    title: ClassVar[str] = "A wave you can see"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("hertz", "Frequency", 55, 1760, 12, 220, "Hz", logarithmic=True),
        Slider("level", "Strength", 5, 100, 5, _USUAL_STRENGTH, "%"),
        Slider("moment", "Moment", 0.0, 1.0, 0.02, 0.64, "of a wave"),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "air": "the specks of air, crowded and thin by turns",
        "specks": "three specks, which sway and stay where they are",
        "pressure": "the air's pressure, highest where it is crowded",
        "wave": "one wave, from crest to crest",
        "rate": "how many waves go by in a second",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("air",), ("specks",), ("pressure",), ("wave",), ("rate",))
    flows: ClassVar[bool] = True
    _watched = 0.5  # waves a second go by while it sounds: as fast as an eye can follow
    _marked = ((0.17, 0.75), (0.5, 0.45), (0.83, 0.2))  # specks: along the air and up it

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        roof, floor = field.top - 0.3, look.fit(2.64, 4.05, 2.5)
        row, middle, most = look.fit((2.44, 1.52, 0.52), (3.8, 2.3, 0.98), (2.32, 1.5, 0.4))
        inside = Rectangle((field.left - 0.02, 0), field.width + 0.04, look.inches[1], transform=axes.transData)
        reach = look.fit(3.0, 2.0)
        metre = field.width / reach

        home, up = self._spread(look.fit(5200, 6400, 4200), 1.0, reach + 2.0)
        heights = floor + 0.03 + up * (roof - floor - 0.06)
        # On a light ground crowds that rush by, when the frequency is swept, would flash if the specks were larger.
        large = look.fit(2.2, 2.7) if theme.name == "light" else look.fit(3.0, 3.4)
        (dots,) = axes.plot(home, heights, ".", color=theme.grey, ms=large, mew=0, zorder=1)
        own_home = np.array([along for along, _ in self._marked]) * reach
        own_heights = floor + np.array([up for _, up in self._marked]) * (roof - floor)
        (rails,) = axes.plot([], [], color=theme.ink, lw=1.2, zorder=3, solid_capstyle="round")
        (specks,) = axes.plot([], [], "o", ms=13, color=theme.ink, zorder=4, **look.ring())
        look.text(axes, field.left, field.top - 0.14, "air: each speck sways, and stays")
        slow = look.text(axes, field.right, field.top - 0.14, ha="right", color=theme.grey)

        across = np.linspace(0, reach, 721)
        (rest,) = axes.plot([field.left, field.right], [middle, middle], color=theme.line, lw=1.2, zorder=1)
        (curve,) = axes.plot(
            field.left + across * metre, across, color=theme.ink, lw=3, zorder=3, solid_capstyle="round"
        )
        (bracket,) = axes.plot([], [], color=theme.ink, lw=2.5, solid_capstyle="butt", zorder=3)
        length = look.text(axes, 0, row - look.fit(0.3, 0.36), size="name", ha="center")
        pressure = look.text(
            axes,
            field.right,
            middle - most - look.fit(0.24, 0.32, 0.26),
            look.fit("air pressure", "pressure"),
            ha="right",
        )
        rate = look.headline(axes, field.left, field.bottom + 0.05)
        for going_out in (dots, rails, specks, bracket):
            going_out.set_clip_path(inside)
        now: dict[str, float] = {}

        def show(moment: float) -> None:
            wavelength = SPEED_OF_SOUND / now["hertz"]

            def turns(metres: FloatArray) -> FloatArray:
                """How far the wave has come at a place; from the middle, where another frequency spreads from."""
                return moment - (metres - reach / 2) / wavelength

            # Each speck sways by a seventh of a wavelength at most, far more than air does; where the specks are
            # closest, the pressure is highest.
            sway = 0.15 * now["height"] * wavelength
            dots.set_xdata(field.left + metre * (home - sway * np.cos(2 * np.pi * turns(home))))
            swayed = own_home - sway * np.cos(2 * np.pi * turns(own_home))
            specks.set_data(field.left + metre * swayed, own_heights)
            curve.set_ydata(middle + most * now["height"] * np.sin(2 * np.pi * turns(across)))
            first, last = self._followed(wavelength, moment, reach)
            ends = np.array([first, first, first, last, last, last])
            bracket.set_data(field.left + metre * ends, row + np.array([-0.1, 0.1, 0, 0, 0.1, -0.1]))
            seen = (max(first, 0.0) + min(last, reach)) / 2
            half = width_of(length) / 2
            length.set_x(min(max(field.left + metre * seen, field.left + half), field.right - half))

        def update(hertz: float, level: float, moment: float) -> None:
            now.update(hertz=hertz, height=level / 100, moment=moment)
            wavelength = SPEED_OF_SOUND / hertz
            sway = 0.15 * level / 100 * wavelength
            left, right = (field.left + metre * (own_home + side * sway) for side in (-1, 1))
            rails.set_data(*level_strokes(own_heights, left, right))
            length.set_text(f"one wave: {plain(wavelength, 2)} m")
            note, over = nearest_note(hertz)
            named = f": {note}" if abs(over) < 0.5 else ""
            rate.say(plain(hertz, 0 if hertz >= 1000 else 1), f"waves a second{named}")
            begin(rate, field.left, field.bottom + 0.05)
            slow.set_text("")
            show(moment)

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            slow.set_text(f"{plain(now['hertz'] / self._watched, 0)} times slower")
            show(now["moment"] + playing.seconds * self._watched)

        moving = (dots, rails, specks, curve, bracket, length, *rate.artists, slow)
        parts = {
            "air": (dots,),
            "specks": (specks, rails),
            "pressure": (curve, rest, pressure),
            "wave": (bracket, length),
            "rate": rate.artists,
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _spread(count: int, before: float, length: float) -> tuple[FloatArray, FloatArray]:
        """Specks evenly spread over a length in metres, and over the height from 0 to 1, in no pattern.

        Each is somewhere in a cell of its own along the way (stratified sampling), the heights go round by the golden
        ratio: what then looks crowded is crowded by the wave.
        """
        scattered = np.random.default_rng(31)
        along = (np.arange(count) + scattered.uniform(0, 1, count)) / count * length - before
        return along, np.asarray((np.arange(count) * (math.sqrt(5) - 1) / 2) % 1)

    @staticmethod
    def _followed(wavelength: float, moment: float, reach: float) -> tuple[float, float]:
        """From crest to crest, the wave that is followed on its way through the picture, in metres."""
        within = moment if moment <= 1 else moment - math.ceil(moment) + 1  # then the next one is followed
        last = reach / 2 + wavelength * (within - 0.25)
        return last - wavelength, last

    def numbers(self, hertz: float, level: float, moment: float) -> Mapping[str, str]:
        return {"milliseconds": plain(1000 / hertz, 2), "metres": plain(SPEED_OF_SOUND / hertz, 2)}

    def sentence(self, hertz: float, level: float, moment: float) -> str:
        return (
            f"A tone of {plain(hertz)} Hz: the pressure rises and falls {plain(hertz)} times a second, each wave lasts "
            f"{plain(1000 / hertz, 2)} milliseconds and is {plain(SPEED_OF_SOUND / hertz, 2)} metres long in the air "
            f"(strength {plain(level)} %, moment {plain(moment, 2)} of a wave)."
        )

    def score(self, hertz: float, level: float, moment: float) -> Score:
        return together((hertz, level / 100), seconds=2.5)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]

    def gain(self, hertz: float, level: float, moment: float) -> float:
        return super().gain(hertz=hertz, level=_USUAL_STRENGTH, moment=moment)


class Beats(Exhibit):
    """Two tones almost alike: one wave held still, the other slipping past it, and what the two make together."""

    name: ClassVar[str] = "beats"
    title: ClassVar[str] = "Two waves drift apart"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("lower", "Lower tone", 110, 880, 12, 440, "Hz", logarithmic=True),
        Slider("difference", "Difference", 0.0, 20.0, 0.1, 3.0, "Hz"),
        Slider("moment", "Moment", 0.0, 2.0, 0.01, 0.44, "s"),
    )
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "moment": tuple(n / 10 for n in range(21)),
        "difference": (*(round(0.1 * k, 1) for k in range(31)), 3.5, 4, 4.5, 5, 5.5, *range(6, 21)),
    }
    parts: ClassVar[Mapping[str, str]] = {
        "held": "the lower tone's wave, held still",
        "slipping": "the other wave, which slips past it",
        "gap": "the gap between the two waves",
        "lead": "how far the slipping wave is ahead",
        "sum": "how strong the two are together",
        "playhead": "the moment at which the waves are shown",
        "beats": "the beats, where the two are in step",
        "rate": "how many beats there are in a second",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("held",), ("slipping",), ("gap", "lead"), ("sum", "playhead"), ("beats", "rate"),
    )  # fmt: skip
    flows: ClassVar[bool] = True
    _seconds = 2.0  # of the two together
    _most_watched = 3.0  # waves a second that slip past: what is faster is shown slower, to be seen and not to flash

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        above, middle, most, names = look.fit((4.3, 3.5, 0.62, 2.58), (8.06, 6.62, 1.2, 5.03), (4.05, 3.37, 0.49, 2.6))
        line, centre, swell = look.fit((2.0, 1.22, 0.46), (3.85, 2.1, 1.15), (1.94, 1.2, 0.42))
        waves, second = look.fit(6.0, 4.0), field.width / self._seconds

        turns = np.linspace(-waves / 2, waves / 2, 361)  # waves of the lower tone, from the moment that is shown
        along = np.linspace(field.left, field.right, turns.size)
        at_once = (field.left + field.right) / 2
        still = middle + most * np.cos(2 * np.pi * turns)
        (gap,) = axes.fill(np.concatenate([along, along[::-1]]), np.zeros(2 * along.size), color=theme.ground, lw=0)
        (low,) = axes.plot(along, still, color=theme.grey, lw=2.5, solid_capstyle="round")
        (high,) = axes.plot(along, along, color=theme.ink, lw=3, solid_capstyle="round")
        held = look.text(axes, field.right, names, ha="right", color=theme.grey)
        slips = look.text(axes, field.left, above + look.fit(-0.05, 0.3, 0.22))
        (arrow,) = axes.plot([], [], color=theme.ink, lw=2.5, marker="<", ms=9, markevery=[1])
        lead = look.text(axes, at_once + 0.14, above, va="center")

        long = np.linspace(0, self._seconds, 1201)
        there = field.left + second * long
        around = np.concatenate([there, there[::-1]])
        (whole,) = axes.fill(around, np.zeros(around.size), fc=theme.ground, ec=theme.line, lw=1.2)
        (heard,) = axes.fill(around, np.zeros(around.size), color=theme.ink, lw=0)
        passed, coming = (axes.plot([], [], "v", color=color)[0] for color in (theme.ink, theme.line))
        (now,) = axes.plot([], [], color=theme.ink, lw=3, solid_capstyle="round")
        foot = centre - swell - 0.06
        ends = field.left + second * np.array([0, 0, 0, 1, 1, 1])
        span = axes.plot(ends, foot - np.array([0, 0.1, 0.05, 0.05, 0, 0.1]), color=theme.line, lw=1.2)
        one = look.text(
            axes, field.left + second / 2, foot - look.fit(0.26, 0.29), "one second", ha="center", color=theme.grey
        )
        slow = look.text(axes, field.right, foot - look.fit(0.26, 0.29), ha="right", color=theme.grey)
        both = look.text(
            axes, field.right, line, look.fit("the two together", "together"), ha="right", color=theme.grey
        )
        rate = look.headline(axes, field.left, line)
        shown: dict[str, float] = {}

        def show(moment: float) -> float:
            """Show both waves and the playhead at a moment; returns how much of a wave the second is ahead."""
            lower, difference = shown["lower"], shown["difference"]
            slipped = difference * moment
            ahead = slipped % 1
            if min(ahead, 1 - ahead) < 1e-6:
                ahead = 0.0
            other = middle + most * np.cos(2 * np.pi * (turns * (1 + difference / lower) + slipped))
            high.set_ydata(other)
            gap.set_xy(np.column_stack([np.concatenate([along, along[::-1]]), np.concatenate([still, other[::-1]])]))
            crest = at_once - ahead / (1 + difference / lower) * field.width / waves
            arrow.set_data([at_once, crest], [above, above])
            arrow.set_visible(ahead > 0)
            begun = self._seconds * math.floor(moment / self._seconds + 1e-9) if moment > self._seconds else 0.0
            strength = swell * np.abs(np.cos(np.pi * difference * (begun + long)))
            whole.set_xy(np.column_stack([around, centre + np.concatenate([strength, -strength[::-1]])]))
            head = field.left + second * (moment - begun)
            until = np.minimum(there, head)
            reached = np.interp(until, there, strength)
            heard.set_xy(
                np.column_stack(
                    [np.concatenate([until, until[::-1]]), centre + np.concatenate([reached, -reached[::-1]])]
                )
            )
            now.set_data([head, head], [centre - swell - 0.02, centre + swell + 0.02])
            beats = self._beats(difference, begun)
            places = field.left + second * (beats - begun)
            for marks, which in ((passed, beats <= moment + 1e-9), (coming, beats > moment + 1e-9)):
                marks.set_data(places[which], np.full(int(which.sum()), centre + swell + 0.14))
            return ahead

        def update(lower: float, difference: float, moment: float) -> None:
            shown.update(lower=lower, difference=difference)
            ahead = show(moment)
            held.set_text(f"{near_note(lower)}: held still")
            slips.set_text(f"{near_note(lower + difference)}: {'slips past' if difference else 'the same'}")
            lead.set_text(f"{plain(ahead, 2)} of a wave ahead" if round(ahead, 2) % 1 else "in step")
            slow.set_text("")
            for marks in (passed, coming):
                marks.set_markersize(min(10.0, 0.8 * 72 * second / max(difference, 1)))
            beats_heard = beat_rate(lower, lower + difference)
            rate.say(plain(beats_heard), "beat a second" if plain(beats_heard) == "1" else "beats a second")
            begin(rate, field.left, line)

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            times_slower = max(1, math.ceil(shown["difference"] / self._most_watched - 1e-9))
            show(playing.seconds / times_slower)
            lead.set_text("")
            slow.set_text("" if times_slower == 1 else f"{times_slower} times slower")

        moving = (gap, low, high, held, slips, arrow, lead, whole, heard, passed, coming, now, *rate.artists, slow)
        parts = {
            "held": (low, held),
            "slipping": (high, slips),
            "gap": (gap,),
            "lead": (arrow, lead),
            "sum": (whole, heard, both, *span, one),
            "playhead": (now,),
            "beats": (passed, coming),
            "rate": rate.artists,
        }
        return Scene(moving, update, light, parts)

    def _beats(self, difference: float, begun: float) -> FloatArray:
        """When the two are in step, in seconds, from `begun` on for as long as is shown."""
        if not difference:
            return np.array([])
        first = math.ceil(begun * difference - 1e-9)
        last = math.floor((begun + self._seconds) * difference + 1e-9)
        return np.arange(first, last + 1) / difference

    def numbers(self, lower: float, difference: float, moment: float) -> Mapping[str, str]:
        return {"beats": plain(beat_rate(lower, lower + difference)), "upper": plain(lower + difference)}

    def sentence(self, lower: float, difference: float, moment: float) -> str:
        pair = f"Tones of {plain(lower)} Hz and {plain(lower + difference)} Hz together"
        if difference == 0:
            return f"{pair}: the two waves stay in step, and nothing beats, {times(moment, 'second', 2)} in or ever."
        rate = beat_rate(lower, lower + difference)
        return (
            f"{pair}: {times(rate, 'beat', 2)} a second, {times(1 / rate, 'second', 2)} from one to the next; "
            f"{times(moment, 'second', 2)} in, the waves are {self._standing(difference * moment % 1)}."
        )

    @staticmethod
    def _standing(turn: float) -> str:
        if min(turn, 1 - turn) < 0.125:
            return "in step, and the sum is large"
        return "opposed, and the sum is small" if abs(turn - 0.5) < 0.125 else "on the way from one to the other"

    def score(self, lower: float, difference: float, moment: float) -> Score:
        return together((lower, 0.5), (lower + difference, 0.5), seconds=4)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]
