"""Chords in thirty-one: the five thirds, the dominant seventh beside the harmonic one, and a chord that grows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import combinations
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.harmony import Chord
from tunelib.hearing import beat_rate
from tunelib.pitch import THIRTY_ONE, FloatArray, Note, cents, equal, plain, ratio_from_cents, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C = Note.named("C")
_C3 = Note.parse("C3").hz(THIRTY_ONE)


def _held(hertz: Sequence[float], onset: float, duration: float) -> tuple[ScoreNote, ...]:
    """A chord held, as softly as its number of notes asks."""
    level = min(0.4, 1.4 / len(hertz))
    return tuple(ScoreNote(onset=onset, duration=duration, hertz=f, level=level) for f in hertz)


_SEVENTH_NUMBERS = (4, 5, 6, 7)
_SEVENTHS: dict[str, tuple[float, ...]] = {
    "pure 4:5:6:7": tuple(cents(Fraction(n, 4)) for n in _SEVENTH_NUMBERS),
    "Charm7 in 31": tuple(float(THIRTY_ONE.cents_of(step)) for step in Chord.parse("Charm7").steps(THIRTY_ONE)),
    "C7 in 31": tuple(float(THIRTY_ONE.cents_of(step)) for step in Chord.parse("C7").steps(THIRTY_ONE)),
    "C7 in 12": (0.0, 400.0, 700.0, 1000.0),
}


class TwoSevenths(Exhibit):
    """The dominant seventh and the harmonic one: every pair of notes against 4:5:6:7, and how fast it beats."""

    name: ClassVar[str] = "two_sevenths"
    title: ClassVar[str] = "The dominant seventh and the harmonic one"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", tuple(_SEVENTHS), "C7 in 31", ordered=True),
        Slider("root", "Root", _C3 / 2, 4 * _C3, 12, _C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {chord: {"chord": chord} for chord in _SEVENTHS}
    _pairs = tuple(combinations(range(4), 2))
    _letters = ("C", "E", "G", "B♭")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink = look.theme.ink
        look.heading(figure, look.fit(self.title, "The two sevenths"))
        axes = look.axes(figure, (0.26, 0.14, 0.45, 0.62), (0.36, 0.1, 0.38, 0.7), x="cents from 4:5:6:7")
        rows = len(self._pairs)
        axes.set(xlim=(-20, 48), ylim=(-0.6, rows - 0.4), yticks=[])
        axes.plot([0, 0], [-0.6, rows - 0.4], color=PURE_COLOUR, lw=4)
        heights = np.arange(rows - 1, -1, -1, dtype=float)
        for (low, high), y in zip(self._pairs, heights.tolist(), strict=True):
            ratio = f"{_SEVENTH_NUMBERS[low]}:{_SEVENTH_NUMBERS[high]}"
            look.beside(axes, y, f"{self._letters[low]} to {self._letters[high]}   {ratio}")
        (bars,) = axes.plot([], [], color=ink, lw=11, solid_capstyle="butt")
        beats = [
            look.text(axes, 1.04, y, transform=axes.get_yaxis_transform(), ha="left", va="center") for y in heights
        ]
        beside = look.fit((0.71, 0.8), (0.74, 0.825))
        look.text(figure, *beside, "beats a second", ha="left", va="center", weight="bold")
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(chord: str, root: float) -> None:
            errors = self._errors(chord)
            bars.set_data(np.ravel([(0, error, np.nan) for error in errors]), np.repeat(heights, 3))
            bars.set_color(
                TWELVE_COLOUR if chord.endswith("12") else THIRTY_ONE_COLOUR if chord.endswith("31") else PURE_COLOUR
            )
            for text, rate in zip(beats, self._beats(chord, root), strict=True):
                text.set_text(plain(rate))
            said.set_text(chord)

        return Scene((bars, *beats, said), update)

    def _errors(self, chord: str) -> list[float]:
        sizes = _SEVENTHS[chord]
        return [
            sizes[high] - sizes[low] - cents(Fraction(_SEVENTH_NUMBERS[high], _SEVENTH_NUMBERS[low]))
            for low, high in self._pairs
        ]

    def _beats(self, chord: str, root: float) -> list[float]:
        """How often a second each pair's first two harmonics that should meet beat."""
        hertz = [root * ratio_from_cents(size) for size in _SEVENTHS[chord]]
        return [
            float(beat_rate(hertz[low], hertz[high], Fraction(_SEVENTH_NUMBERS[high], _SEVENTH_NUMBERS[low])))
            for low, high in self._pairs
        ]

    def sentence(self, chord: str, root: float) -> str:
        errors, beats = self._errors(chord), self._beats(chord, root)
        worst = max(range(len(errors)), key=lambda i: abs(errors[i]))
        low, high = (self._letters[i] for i in self._pairs[worst])
        if abs(errors[worst]) < 0.005:
            return f"On {plain(root)} Hz the chord {chord} is exact: none of its six pairs of notes beats."
        return (
            f"On {plain(root)} Hz, of the six pairs of notes of {chord} the one farthest from 4:5:6:7 is {low} to "
            f"{high}, by {signed(errors[worst], 1)} cents, {plain(beats[worst])} beats a second, and the mean of all "
            f"six is {plain(float(np.mean(beats)))} beats."
        )

    def score(self, chord: str, root: float) -> Score:
        return Score(_held([root * ratio_from_cents(size) for size in _SEVENTHS[chord]], 0.0, 5.0), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


_GROWING = (4, 5, 6, 7, 9, 11, 13)
_TUNED = ("pure", "31 steps", "12 steps")


class GrowingChord(Exhibit):
    """A chord that grows harmonic by harmonic, 4:5:6:7:9:11:13, pure and by the nearest steps."""

    name: ClassVar[str] = "growing_chord"
    title: ClassVar[str] = "A chord that grows"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("notes", "Notes", 2, len(_GROWING), 1, 6),
        Choice("tuned", "Tuned in", _TUNED, "31 steps", ordered=True),
        Slider("root", "Root", _C3 / 2, 2 * _C3, 12, _C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure": {"tuned": "pure"},
        "12": {"tuned": "12 steps"},
        "31": {"tuned": "31 steps"},
    }
    together: ClassVar[tuple[str, ...]] = ("notes", "tuned")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.06, 0.06, 0.88, 0.74), (0.07, 0.06, 0.86, 0.76))
        axes.set(xlim=(-120, look.fit(2120, 2400)), ylim=(0, 9))
        pure = np.array([cents(Fraction(n, 4)) for n in _GROWING])
        heights = np.arange(1.0, len(_GROWING) + 1)
        for octave in range(2):
            axes.plot([1200 * octave] * 2, [0.3, 8.4], color=look.theme.faint, lw=1.5)
        leftmost = np.min([self._sizes(tuned) for tuned in _TUNED], axis=0)
        clear = look.fit(60, 100)  # cents from a mark to the words beside it
        for number, x, left, y in zip(_GROWING, pure.tolist(), leftmost.tolist(), heights.tolist(), strict=True):
            axes.plot([x, x], [y - 0.34, y + 0.34], color=PURE_COLOUR, lw=6, solid_capstyle="butt")
            look.text(axes, left - clear, y, str(number), ha="right", va="center", weight="bold")
        for x, words in ((0, "root"), (1200, "octave")):
            look.text(axes, x, 8.7, words, ha="center", va="center")
        (rise,) = axes.plot([], [], color=grey, lw=2)
        (dots,) = axes.plot([], [], "o", ms=13, color=THIRTY_ONE_COLOUR, mec=ink, mew=1)
        away = [look.text(axes, 0, y, ha="left", va="center") for y in heights]
        symbol = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", fontsize=15, weight="bold")
        said = look.text(figure, 0.97, look.fit(0.87, 0.865), ha="right", va="top")

        def update(notes: int, tuned: str, root: float) -> None:
            sizes = self._sizes(tuned)[:notes]
            rise.set_data(sizes, heights[:notes])
            dots.set_data(sizes, heights[:notes])
            dots.set_color({"pure": PURE_COLOUR, "31 steps": THIRTY_ONE_COLOUR}.get(tuned, TWELVE_COLOUR))
            dots.set_markeredgecolor(ink)
            for i, text in enumerate(away):
                text.set_visible(i < notes)
                if i < notes:
                    text.set(text=signed(sizes[i] - pure[i], 1), x=max(sizes[i], pure[i]) + clear)
            symbol.set_text(self._chord(notes).symbol)
            said.set_text(f"{':'.join(map(str, _GROWING[:notes]))} on {plain(root)} Hz")

        return Scene((rise, dots, *away, symbol, said), update)

    @staticmethod
    def _chord(notes: int) -> Chord:
        return Chord.from_ratios([Fraction(n, 4) for n in _GROWING[:notes]], _C, THIRTY_ONE)

    @staticmethod
    def _sizes(tuned: str) -> FloatArray:
        pure = np.array([cents(Fraction(n, 4)) for n in _GROWING])
        if tuned == "pure":
            return pure
        tuning = THIRTY_ONE if tuned == "31 steps" else equal(12)
        return np.asarray(tuning.cents_of(tuning.nearest(pure)[0]))

    def sentence(self, notes: int, tuned: str, root: float) -> str:
        sizes = self._sizes(tuned)[:notes]
        errors = [size - cents(Fraction(n, 4)) for size, n in zip(sizes.tolist(), _GROWING, strict=False)]
        worst = max(range(notes), key=lambda i: abs(errors[i]))
        most = f"off by {signed(errors[worst], 1)} cents at most, in harmonic {_GROWING[worst]}"
        off = "exact" if tuned == "pure" else most
        return (
            f"On {plain(root)} Hz, {notes} notes of the harmonics {':'.join(map(str, _GROWING[:notes]))} make the "
            f"chord {self._chord(notes).symbol}; tuned in {tuned}, they are {off}."
        )

    def score(self, notes: int, tuned: str, root: float) -> Score:
        hertz = [root * ratio_from_cents(size) for size in self._sizes(tuned)[:notes].tolist()]
        level = min(0.4, 1.4 / notes)
        growing = [
            ScoreNote(onset=0.7 * i, duration=0.7 * (notes - i) + 2.5, hertz=f, level=level)
            for i, f in enumerate(hertz)
        ]
        return Score(tuple(growing), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
