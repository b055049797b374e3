"""Vowels and overtone singing: what the mouth does to the harmonics of a sung drone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.pitch import FloatArray, Note, plain
from tunelib.score import Score, ScoreNote
from tunelib.sound import SPEAKERS, VOWEL_WORDS, OvertoneSinger, overtone_singer

_LOWEST = Note.parse("E2").hz()  # with the default eight semitones above it, C3
_FIRST = 4  # the harmonic from which the walk sets out
_PACE = 0.55  # seconds on each harmonic of the walk


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
    _highest = 4500.0  # hertz shown
    _floor = -66.0  # decibels shown

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.12, 0.15, 0.85, 0.66), (0.19, 0.1, 0.77, 0.75), x="hertz")
        axes.set(xlim=(0, self._highest), ylim=(self._floor, 16), yticks=[-60, -40, -20, 0])
        axes.set_xticks(range(0, 4001, 1000))
        axes.set_yticklabels(["−60 dB", "−40 dB", "−20 dB", "0 dB"])
        hertz = np.linspace(40, self._highest, 900)
        (envelope,) = axes.plot(hertz, hertz, color=grey, lw=1.8, ls=(0, (5, 2)))
        (stems,) = axes.plot([], [], color=ink, lw=2.5, solid_capstyle="butt")
        (lifted,) = axes.plot([], [], color=PURE_COLOUR, lw=7, solid_capstyle="butt")
        (walked,) = axes.plot([], [], "o", ms=6, mfc="none", mec=PURE_COLOUR, mew=2)
        (formants,) = axes.plot([], [], "v", ms=8, color=grey)
        names = [look.text(axes, 0, 0, f"F{i}", ha="left", va="center") for i in (1, 2, 3)]
        heights, aside = (12.5, 8.5, 4.5), look.fit(60, 120)
        note = look.text(figure, 0.97, look.fit(0.865, 0.89), ha="right", va="center", weight="bold")

        def update(drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> None:
            timbre = self._singer(drone, vowel, singer, lift, focus)
            numbers, levels = self._levels(timbre, drone)
            curve = timbre.envelope_db(hertz) - 20 * np.log10(hertz / drone)
            envelope.set_ydata(curve - self._reference(timbre, drone))
            feet = np.column_stack([np.full(numbers.size, self._floor), levels, np.full(numbers.size, np.nan)])
            stems.set_data(np.repeat(numbers * drone, 3), feet.ravel())
            lifted.set_data([lift * drone] * 2, [self._floor, levels[lift - 1]])
            path = np.arange(_FIRST, lift + 1) if walk else np.array([lift])
            walked.set_data(path * drone, levels[path - 1])
            centres = timbre.tract.formants_hz[:3]
            formants.set_data(centres, heights)
            for name, centre, height in zip(names, centres, heights, strict=True):
                name.set_position((centre + aside, height))
            note.set_text(f"harmonic {lift}: {plain(lift * drone)} Hz, {'walked up to' if walk else 'held'}")

        return Scene((envelope, stems, lifted, walked, formants, *names, note), update)

    @staticmethod
    def _singer(drone: float, vowel: str, singer: str, lift: int, focus: float) -> OvertoneSinger:
        return overtone_singer(vowel, [(0.0, lift)], drone, focus / 100, singer)

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
        prominence = self._prominence(drone, vowel, singer, lift, focus)
        opening = (
            f"A drone of {plain(drone)} Hz on the vowel of “{vowel}” with formants of {singer}, focus {plain(focus)} %"
        )
        if prominence >= 0:
            level = f"is {plain(prominence)} dB above the stronger of its neighbours"
        else:
            level = f"is {plain(-prominence)} dB below the stronger of its neighbours"
        way = f"walked up to from harmonic {_FIRST}" if walk and lift > _FIRST else "held from the start"
        if focus == 0:
            way += ", without being lifted at all"
        return f"{opening}: harmonic {lift}, {plain(lift * drone)} Hz, {level}; it is {way}."

    def _melody(self, lift: int, walk: bool) -> list[tuple[float, float]]:
        path = range(_FIRST, lift + 1) if walk else [lift]
        return [(_PACE * i, float(harmonic)) for i, harmonic in enumerate(path)]

    def score(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> Score:
        seconds = self._melody(lift, walk)[-1][0] + 2.5
        return Score((ScoreNote(onset=0, duration=seconds, hertz=drone, voice="singer", level=0.8),), tempo=60)

    def timbre(self, drone: float, vowel: str, singer: str, lift: int, focus: float, walk: bool) -> Voicing:
        return overtone_singer(vowel, self._melody(lift, walk), drone, focus / 100, singer)
