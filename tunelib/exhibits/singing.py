"""Vowels and overtone singing: what the mouth does to the harmonics of a sung drone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.inches import strokes, width_of
from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray, Note, listed, nearest_note, plain
from tunelib.score import Score, ScoreNote
from tunelib.sound import SPEAKERS, VOWEL_WORDS, OvertoneSinger, overtone_singer

DEEPEST = -60.0
"""At the foot of the picture, in decibels beside the strongest harmonic."""

_LOWEST = Note.parse("E2").hz()  # with the default eight semitones above it, C3
_FIRST = 4  # the harmonic from which the walk sets out
_PACE = 0.55  # seconds on each harmonic of the walk
_LEFT, _RIGHT = 75.0, 3400.0  # hertz in the picture
_NUMBERED = 9  # harmonics that bear their number, where there is room
_NEAR = 10.0  # cents from a key, within which no deviation is told


class SungOvertones(Exhibit):
    """The harmonics of a sung drone, shaped by a vowel, and one of them lifted out."""

    name: ClassVar[str] = "sung_overtones"
    title: ClassVar[str] = "One voice, two notes"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("drone", "Sung note", _LOWEST, 2 * _LOWEST, 12, _LOWEST * 2 ** (8 / 12), "Hz", logarithmic=True),
        Choice("vowel", "Vowel as in", VOWEL_WORDS, "who'd"),
        Choice("singer", "Formants of", SPEAKERS, "men"),
        Slider("lift", "Harmonic to lift", _FIRST, 14, 1, 8),
        Slider("focus", "Focus", 0, 100, 5, 100, "%"),
        Switch("walk", "Walk up to it", True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"the vowel": {"focus": 0}, "focused": {"focus": 100}}
    together: ClassVar[tuple[str, ...]] = ("lift", "focus", "walk")
    stops: ClassVar[Mapping[str, Sequence[float]]] = {"focus": (0, 25, 50, 75, 100)}
    flows = True
    parts: ClassVar[Mapping[str, str]] = {
        "harmonics": "the harmonics of the sung note, which stay where they are",
        "mouth": "what throat and mouth let through",
        "formants": "the resonances of throat and mouth",
        "plain": "what the plain vowel would let through",
        "lifted": "the harmonic that is lifted out",
        "walk": "the harmonics on the way up to it, empty where none is lifted",
        "named": "the number of the lifted harmonic, and its note",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("harmonics",), ("plain",), ("mouth", "formants"), ("lifted", "walk"), ("named",),
    )  # fmt: skip
    _highest = 4500.0  # hertz looked at

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        return _Hill(figure, look, self).scene()

    @staticmethod
    def _singer(drone: float, vowel: str, singer: str, lift: int, focus: float) -> OvertoneSinger:
        return overtone_singer(vowel, [(0.0, lift)], drone, focus / 100, singer)

    def numbers(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> Mapping[str, str]:
        return {
            "hertz": plain(lift * drone),
            "note": str(nearest_note(lift * drone)[0]),
            "decibels": plain(self._prominence(drone, vowel, singer, lift, focus)),
        }

    def _levels(self, timbre: OvertoneSinger, drone: float) -> tuple[Any, FloatArray]:
        """Numbers of the harmonics shown, and their levels in dB below the strongest."""
        numbers = np.arange(1, int(self._highest / drone) + 1)
        return numbers, self._heard(timbre, drone, numbers) - self._reference(timbre, drone)

    def _reference(self, timbre: OvertoneSinger, drone: float) -> float:
        return float(self._heard(timbre, drone, np.arange(1, int(self._highest / drone) + 1)).max())

    @staticmethod
    def _heard(timbre: OvertoneSinger, drone: float, numbers: Any) -> FloatArray:
        """Level of harmonics in dB: what the source gives, falling as 1/n, and what the vocal tract makes of it."""
        return np.asarray(timbre.envelope_db(numbers * drone) - 20 * np.log10(numbers))

    def _prominence(self, drone: float, vowel: str, singer: str, lift: int, focus: float) -> float:
        """How far the lifted harmonic is above the stronger of its neighbours, in dB."""
        timbre = self._singer(drone, vowel, singer, lift, focus)
        below, at, above = self._heard(timbre, drone, np.array([lift - 1, lift, lift + 1]))
        return float(at - max(below, above))

    def sentence(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> str:
        opening = f"A drone of {plain(drone)} Hz on the vowel of “{vowel}” with formants of {singer}"
        if focus == 0:
            formants = self._singer(drone, vowel, singer, lift, focus).tract.formants_hz[:3]
            peaks = listed(plain(hertz, 0) for hertz in formants)
            return (
                f"{opening}, focus 0 %: throat and mouth let most through near {peaks} Hz, and neither harmonic {lift} "
                "nor any other is lifted."
            )
        prominence = self._prominence(drone, vowel, singer, lift, focus)
        if prominence >= 0:
            level = f"is {plain(prominence)} dB above the stronger of its neighbours"
        else:
            level = f"is {plain(-prominence)} dB below the stronger of its neighbours"
        way = f"walked up to from harmonic {_FIRST}" if walk and lift > _FIRST else "held from the start"
        return f"{opening}, focus {plain(focus)} %: harmonic {lift}, {plain(lift * drone)} Hz, {level}; it is {way}."

    def _melody(self, lift: int, walk: bool) -> list[tuple[float, float]]:
        path = range(_FIRST, lift + 1) if walk else [lift]
        return [(_PACE * i, float(harmonic)) for i, harmonic in enumerate(path)]

    def score(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> Score:
        seconds = self._melody(lift, walk)[-1][0] + 2.5
        return Score((ScoreNote(onset=0, duration=seconds, hertz=drone, voice="singer", level=0.8),), tempo=60)

    def timbre(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> Voicing:
        return overtone_singer(vowel, self._melody(lift, walk), drone, focus / 100, singer)


class _Hill:
    """Harmonics as posts, from low to high as an ear has it, under the hill that the mouth makes; places in inches."""

    def __init__(self, figure: Canvas, look: Look, exhibit: SungOvertones) -> None:
        self._look, self._exhibit, theme = look, exhibit, look.theme
        axes = look.bare(figure)
        self._wide, high = look.frame[2] * look.inches[0], look.frame[3] * look.inches[1]
        axes.set(xlim=(0, self._wide), ylim=(0, high))
        self._foot, self._high = look.fit(0.36, 0.42), high - look.fit(0.8, 1.2, 0.95)
        self._hertz = np.geomspace(_LEFT, _RIGHT, 500)
        self._across = self._x(self._hertz)
        (self._plain,) = axes.plot([], [], color=theme.line, lw=1.8, ls=(0, (5, 3)))
        (self._fill,) = axes.fill([0, 0, 0], [0, 0, 0], fc=theme.ground, lw=0)
        (self._edge,) = axes.plot([], [], color=theme.grey, lw=2.5, solid_joinstyle="round")
        (self._posts,) = axes.plot([], [], color=theme.pure.dim, lw=look.fit(3.5, 2.5), solid_capstyle="round")
        (self._walked,) = axes.plot([], [], "o", ms=9, color=theme.pure.dim, **look.ring())
        (self._lifted,) = axes.plot([], [], color=theme.pure.full, lw=11, solid_capstyle="round")
        (self._sounds,) = axes.plot([], [], "o", ms=15, color=theme.ink, **look.ring())
        (self._base,) = axes.plot([0, self._wide], [self._foot] * 2, color=theme.line, lw=1.2)
        first = look.fit("formant F1", "F1")
        self._names = [look.text(axes, 0, 0.06, name, ha="center", color=theme.grey) for name in (first, "F2", "F3")]
        (self._feet,) = axes.plot([], [], color=theme.grey, lw=2.5, solid_capstyle="round")
        self._vowel = look.text(axes, 0, 0, "plain vowel", color=theme.grey)
        self._says = look.headline(axes, 0, 0)
        self._numbers = [look.text(axes, 0, self._foot + 0.09, str(n)) for n in range(1, _NUMBERED + 1)]

    def _x(self, hertz: Any) -> Any:
        return np.log2(np.asarray(hertz) / _LEFT) / np.log2(_RIGHT / _LEFT) * self._wide

    def _y(self, decibels: Any) -> Any:
        return self._foot + self._high_above * np.clip(1 - np.asarray(decibels) / DEEPEST, 0, 1.07)

    @property
    def _high_above(self) -> float:
        return self._high - self._foot

    def scene(self) -> Scene:
        moving = (
            self._plain, self._fill, self._edge, self._posts, self._walked, self._lifted, self._sounds, self._feet,
            *self._names, *self._numbers, self._vowel, *self._says.artists,
        )  # fmt: skip
        parts = {
            "harmonics": (self._posts, self._base, *self._numbers),
            "mouth": (self._fill, self._edge),
            "formants": (self._feet, *self._names),
            "plain": (self._plain, self._vowel),
            "lifted": (self._lifted,),
            "walk": (self._walked, self._sounds),
            "named": self._says.artists,
        }
        return Scene(moving, self.update, self.light, parts)

    def update(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> None:
        self._at = drone, vowel, singer, lift, focus, walk
        self._sounds.set_visible(False)
        for artist in (self._lifted, *self._says.artists):
            artist.set_visible(self._lifts)
        self._walked.set_markerfacecolor(self._look.theme.pure.dim if self._lifts else self._look.theme.ground)
        self._walked.set_markeredgecolor(self._look.theme.behind_text if self._lifts else self._look.theme.pure.dim)
        self._show(lift)
        self._name(lift)

    def _name(self, lift: int) -> None:
        """The number of a harmonic and its note, over its post, clear of the hill."""
        hertz = lift * self._at[0]
        note, off = nearest_note(hertz)
        away = f", {plain(abs(off), 0)} cents {'sharp' if off > 0 else 'flat'}" if abs(off) >= _NEAR else ""
        self._says.say(str(lift), f"{note}{away}")
        x = float(self._x(hertz))
        before, after = (width_of(text) for text in self._says.artists)
        at = min(x + before / 2, self._wide - after - 0.1)
        under = (self._across > at - before - 0.2) & (self._across < at + after + 0.3)
        land = max(float(np.asarray(line.get_ydata())[under].max()) for line in (self._edge, self._plain))
        self._says.move(at, max(land, float(np.asarray(self._lifted.get_ydata())[1]) + 0.08) + 0.14)

    @property
    def _lifts(self) -> bool:
        """Whether any harmonic is lifted: in a plain vowel none is."""
        return self._at[4] > 0

    def _levels_of(self, lift: int) -> tuple[OvertoneSinger, FloatArray]:
        drone, vowel, singer, _, focus, _ = self._at
        timbre = self._exhibit._singer(drone, vowel, singer, lift, focus)
        return timbre, self._exhibit._levels(timbre, drone)[1]

    def _show(self, lift: int) -> None:
        """The hill as it is while a harmonic is lifted."""
        drone, vowel, singer, *_ = self._at
        timbre, levels = self._levels_of(lift)
        up = self._curve(timbre)
        self._fill.set_xy(np.column_stack([[0, *self._across, self._wide], [self._foot, *up, self._foot]]))
        self._edge.set_data(self._across, up)
        self._plain.set_data(self._across, self._curve(self._exhibit._singer(drone, vowel, singer, lift, 0.0)))
        over = self._across < width_of(self._vowel) + 0.1
        self._vowel.set_y(
            max(float(np.asarray(line.get_ydata())[over].max()) for line in (self._edge, self._plain)) + 0.12
        )
        numbers = np.arange(1, levels.size + 1)
        x, tops = self._x(numbers * drone), self._y(levels)
        seen = (tops > self._foot + 0.02) & (x < self._wide)
        x, tops = x[seen], tops[seen]
        self._posts.set_data(*strokes(x, self._foot, tops))
        self._lifted.set_data([self._x(lift * drone)] * 2, [self._foot, self._y(levels[lift - 1])])
        path = np.arange(_FIRST if self._at[-1] else lift, lift if self._lifts else lift + 1)  # or where it would go
        self._walked.set_data(self._x(path * drone), self._y(levels[path - 1]))
        for number, text in enumerate(self._numbers, 1):
            room = self._x((number + 1) * drone) - self._x(number * drone)
            text.set_x(self._x(number * drone) + 0.07)
            text.set_text(f"1, {nearest_note(drone)[0]}" if number == 1 else str(number))
            clear = number < lift - 1 or not self._lifts  # of the name of the one that is lifted
            text.set_visible(bool(clear and room > width_of(text) + 0.12))
        self._put_formants(np.array(timbre.tract.formants_hz[:3]))

    def _curve(self, timbre: OvertoneSinger) -> FloatArray:
        drone = self._at[0]
        curve = timbre.envelope_db(self._hertz) - 20 * np.log10(self._hertz / drone)
        return np.asarray(self._y(curve - self._exhibit._reference(timbre, drone)))

    def _put_formants(self, centres: FloatArray) -> None:
        """Marks under the hill where it has its peaks, with their names moved apart where they are close."""
        x = np.minimum(self._x(centres), self._wide)
        down = 0.1  # below the round end of the post that is lifted
        self._feet.set_data(*strokes(x, self._foot - down - 0.06, self._foot - down))
        places, apart = x.copy(), self._look.fit(0.32, 0.36)
        first = max(apart, (width_of(self._names[0]) + apart) / 2)  # from the middle of the first name to the second's
        for low, high in ((0, 1), (1, 2), (0, 1)):
            short = (first if low == 0 else apart) - (places[high] - places[low])
            if short > 0:
                places[low] -= short / 2
                places[high] += short / 2
        places = np.minimum(places, self._wide - apart / 2)
        for name, place in zip(self._names, places.tolist(), strict=True):
            name.set_x(place)

    def light(self, playing: Playing) -> None:
        """The singer walks up to the harmonic, and the hill goes with her; in a plain vowel the sung note lights."""
        if playing.seconds is None:
            return
        drone, *_, lift, _, walk = self._at
        now = min(_FIRST + int(playing.seconds / _PACE), lift) if walk else lift
        if now != lift and self._lifts:
            self._show(now)
            self._name(now)
        _, levels = self._levels_of(now)
        now = now if self._lifts else 1
        turn = 0.5 + 0.5 * np.cos(2 * np.pi * playing.seconds / _PACE)
        self._sounds.set_data([self._x(now * drone)], [self._y(levels[now - 1])])
        self._sounds.set_markersize(13 + 4 * turn)
        self._sounds.set_visible(True)
