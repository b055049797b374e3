"""The dominant seventh and the harmonic one: four notes on pure rungs, and threads between them that beat or rest."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import combinations
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import C3, held, on_root, root_of, set_apart
from tunelib.exhibits.inches import in_inches
from tunelib.exhibits.look import MARGIN, Look, Tint
from tunelib.harmony import Chord
from tunelib.hearing import beat_rate
from tunelib.pitch import THIRTY_ONE, cents, equal, plain, ratio_from_cents, signed, times
from tunelib.score import Score
from tunelib.sound import TIMBRES

_NUMBERS = (4, 5, 6, 7)
_RUNGS = tuple(cents(Fraction(n, _NUMBERS[0])) for n in _NUMBERS)
_PURE, _HARMONIC, _DOMINANT = "pure 4:5:6:7", "Charm7", "C7"
_SEVENTHS: dict[str, tuple[float, ...]] = {
    _PURE: _RUNGS,
    "Charm7 in 31": tuple(float(THIRTY_ONE.cents_of(step)) for step in Chord.parse(_HARMONIC).steps(THIRTY_ONE)),
    "C7 in 31": tuple(float(THIRTY_ONE.cents_of(step)) for step in Chord.parse(_DOMINANT).steps(THIRTY_ONE)),
    "C7 in 12": tuple(float(equal(12).cents_of(step)) for step in Chord.parse(_DOMINANT).steps(equal(12))),
}
_PAIRS = tuple(combinations(range(len(_NUMBERS)), 2))
_SHOWN = 0.25  # seconds of beats from one end of a thread to the other
_EASY = 1.5  # waves a second that an eye can follow
_AT_REST = 1e-6  # beats a second, below which a rate is none
_POINTS = 400  # of a thread


class TwoSevenths(Exhibit):
    """The dominant seventh and the harmonic one: every pair of notes against 4:5:6:7, and how fast it beats."""

    name: ClassVar[str] = "two_sevenths"
    title: ClassVar[str] = "The dominant seventh and the harmonic one"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", tuple(_SEVENTHS), "C7 in 31", ordered=True),
        Slider("root", "Root", C3 / 2, 4 * C3, 12, C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {chord: {"chord": chord} for chord in _SEVENTHS}
    parts: ClassVar[Mapping[str, str]] = {
        "rungs": "the pure chord, 4:5:6:7",
        "notes": "the four notes of the chord",
        "threads": "a thread between every two notes, which swings once for each beat",
        "worst": "the pair that beats fastest",
        "still": "that pair with the harmonic seventh, pure and at rest",
        "gap": "how far the seventh is from the seventh harmonic",
        "beats": "how often a second that pair beats",
        "chord": "the chord and its root",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("rungs",),
        ("notes", "chord"),
        ("threads",),
        ("gap",),
        ("worst", "beats", "still"),
    )
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, look.fit(self.title, "The two sevenths"))
        width, height = look.inches
        axes = in_inches(figure, look)
        foot, top = look.fit((0.95, 4.12), (1.25, 7.8), (0.78, 3.75))  # inches: C, and the minor seventh of 31
        left, right = look.fit((0.8, width - 1.1), (0.65, width - 0.95))

        def up(sizes: Any) -> Any:
            return foot + np.asarray(sizes) * (top - foot) / _SEVENTHS["C7 in 31"][-1]

        columns = np.linspace(*look.fit((1.5, right - 0.75), (left + 0.25, right - 0.42)), len(_PAIRS))
        swing = look.fit(0.2, 0.13)
        rungs = [axes.plot([left, right], [y, y], color=theme.pure.dim, lw=2.5)[0] for y in up(_RUNGS)]
        numbers = [
            look.text(axes, left - 0.15, y, str(n), "name", ha="right", va="center", color=theme.pure.text)
            for y, n in zip(up(_RUNGS), _NUMBERS, strict=True)
        ]
        gaps = [axes.fill([0] * 4, [0] * 4, lw=0)[0] for _ in _NUMBERS]
        lines = [axes.plot([], [], lw=2.5, solid_capstyle="round")[0] for _ in _NUMBERS]
        (leader,) = axes.plot([], [], color=theme.line, lw=1.2)
        (still,) = axes.plot([], [], color=theme.pure.full, lw=1.6)
        pure_words = look.text(axes, 0, 0, "pure: 0", color=theme.pure.text)
        threads = [axes.plot([], [], solid_capstyle="round", solid_joinstyle="round")[0] for _ in _PAIRS]
        (ends,) = axes.plot([], [], "o", ms=look.fit(10, 11), **look.ring())
        names = [look.text(axes, right + 0.15, 0, size=size, va="center") for size in ("name", "name", "name", "title")]
        rates = [look.text(axes, x + swing + 0.05, 0, color=theme.grey) for x in columns]
        most_y = float(up(look.fit(170, 180, 190)))
        most = look.headline(axes, 0, most_y, below=True, ha="center")
        missed = look.text(axes, left, 0)
        line = height - MARGIN - look.size("title") / 72 + 0.06
        chord_at = look.fit((width - MARGIN, line), (MARGIN, line - 0.42))
        said = look.text(axes, *chord_at, size="name", ha=look.fit("right", "left"))
        slowly = look.text(axes, left, look.fit(0.45, 0.6, 0.34), color=theme.grey)
        along = np.linspace(0, 1, _POINTS)
        tied = np.sin(np.pi * along) ** 0.6  # at both ends
        rate_of, slow = [0.0] * len(_PAIRS), [1]

        def swung(seconds: float) -> None:
            for thread, x, rate in zip(threads, columns, rate_of, strict=True):
                turns = rate * (_SHOWN * along - seconds / slow[0])
                wide = swing * min(1.0, 2 * rate * _SHOWN)  # less, where not half a wave is to be seen
                thread.set_xdata(x + wide * tied * np.sin(2 * np.pi * turns))

        def update(chord: str, root: float) -> None:
            sizes = np.array(_SEVENTHS[chord])
            y, pure = up(sizes), up(_RUNGS)
            tint = _tint(look, chord)
            note = root_of(root)
            for line, gap, level, rung in zip(lines, gaps, y.tolist(), pure.tolist(), strict=True):
                line.set(data=([left, right], [level, level]), color=tint.full)
                gap.set(xy=[(left, rung), (right, rung), (right, level), (left, level)], color=tint.fill)
            for name, tone, level in zip(names, self._chord(chord, root).notes, y.tolist(), strict=True):
                name.set(text=tone.name, y=level)
            rate_of[:] = self._beats(chord, root)
            slow[0] = self._slowed(root)
            worst = int(np.argmax(rate_of))
            beating = rate_of[worst] > _AT_REST
            for i, ((low, high), thread, rate) in enumerate(zip(_PAIRS, threads, rates, strict=True)):
                is_worst = i == worst and beating
                thread.set_ydata(y[low] + (y[high] - y[low]) * along)
                a_wave = 72 * (y[high] - y[low]) / max(1.0, rate_of[i] * _SHOWN)  # points
                thread.set(color=theme.ink if is_worst else theme.grey, lw=min(2.5 if is_worst else 1.6, 0.45 * a_wave))
                rate.set(text=plain(rate_of[i]), y=y[low] + 0.12, visible=not is_worst)
            swung(0)
            ends.set_data(np.repeat(columns, 2), y[np.ravel(_PAIRS)])
            ends.set(color=tint.full, marker=tint.marker, markeredgecolor=theme.behind_text)
            ends.set_markersize({"o": 10, "s": 9, "D": 8}[tint.marker] + look.fit(0, 1))
            near = float(np.clip(columns[worst], columns[2] + 1.45, right - 0.75))
            at = look.fit(near, right - 0.85, right - 0.79)
            most.say(plain(rate_of[worst]), "beats a second")
            most.move(at, most_y)
            to = float(np.clip(columns[worst], at - 0.6, at + 0.6))
            leader.set_data([columns[worst], to], [y[_PAIRS[worst][0]] - 0.1, most_y + look.size("number") / 90])
            leader.set_visible(beating)
            beside = columns[worst] + swing + 0.08
            still.set_data([beside, beside], [pure[n] for n in _PAIRS[worst]])
            pure_words.set_position((beside - 0.06, y[_PAIRS[worst][0]] - look.fit(0.28, 0.37)))
            for artist in (still, pure_words):
                artist.set_visible(beating and _PAIRS[worst][1] == len(_NUMBERS) - 1)
            missed.set_y(max(y[3], pure[3]) + 0.12)
            missed.set_text(_missed(float(sizes[3] - _RUNGS[3])))
            tuned = "" if chord == _PURE else f" in {chord.split()[-1]}"
            said.set_text(f"{'4:5:6:7' if chord == _PURE else set_apart(self._chord(chord, root))}{tuned} on {note}")
            light(SILENT)

        def light(playing: Playing) -> None:
            swung(playing.seconds or 0)
            waves = "each wave a beat"
            at_rest = f"a quarter of a second, {waves}"
            slowly.set_text(at_rest if playing.seconds is None else f"{waves}, {slow[0]} times slower")

        moving = (
            *gaps, *lines, leader, still, *threads, ends, *names, *rates, *most.artists, missed, said, slowly,
            pure_words,
        )  # fmt: skip
        parts = {
            "rungs": (*rungs, *numbers),
            "notes": (*gaps[:3], *lines, ends, *names),
            "threads": (*threads, *rates, slowly),
            "worst": (leader,),
            "still": (still, pure_words),
            "gap": (gaps[3], missed),
            "beats": most.artists,
            "chord": (said,),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _chord(chord: str, root: float) -> Chord:
        """The chord with its notes as they are spelled; the pure one as the harmonic seventh of thirty-one."""
        return on_root(_DOMINANT if chord.startswith(f"{_DOMINANT} ") else _HARMONIC, root_of(root))

    @staticmethod
    def _errors(chord: str) -> list[float]:
        sizes = _SEVENTHS[chord]
        return [sizes[high] - sizes[low] - cents(Fraction(_NUMBERS[high], _NUMBERS[low])) for low, high in _PAIRS]

    @staticmethod
    def _beats(chord: str, root: float) -> list[float]:
        """How often a second each pair's first two harmonics that should meet beat."""
        hertz = [root * ratio_from_cents(size) for size in _SEVENTHS[chord]]
        return [
            abs(float(beat_rate(hertz[low], hertz[high], Fraction(_NUMBERS[high], _NUMBERS[low]))))
            for low, high in _PAIRS
        ]

    def _slowed(self, root: float) -> int:
        """How many times slower threads swing than they beat, so that an eye can follow the fastest of any chord."""
        return max(1, round(max(max(self._beats(chord, root)) for chord in _SEVENTHS) / _EASY))

    def numbers(self, chord: str, root: float) -> Mapping[str, str]:
        beats = self._beats(chord, root)
        return {
            "cents": plain(_SEVENTHS[chord][3]),
            "off": plain(abs(_SEVENTHS[chord][3] - _RUNGS[3])),
            "beats": plain(max(beats)),
            "mean": plain(float(np.mean(beats))),
            "slower": str(self._slowed(root)),
        }

    def sentence(self, chord: str, root: float) -> str:
        errors, beats = self._errors(chord), self._beats(chord, root)
        notes = self._chord(chord, root).notes
        on = f"On {root_of(root)} ({plain(root)} Hz)"
        worst = max(range(len(errors)), key=lambda i: abs(errors[i]))
        low, high = (notes[i].name for i in _PAIRS[worst])
        if abs(errors[worst]) < 0.005:
            return f"{on} the chord {chord} is exact: none of its six pairs of notes beats."
        return (
            f"{on}, of the six pairs of notes of {chord} the one farthest from 4:5:6:7 is {low} to {high}, "
            f"by {signed(errors[worst], 1)} cents, {plain(beats[worst])} beats a second, and the mean of all six is "
            f"{plain(float(np.mean(beats)))} beats."
        )

    def score(self, chord: str, root: float) -> Score:
        return Score(held([root * ratio_from_cents(size) for size in _SEVENTHS[chord]], 0.0, 5.0), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _tint(look: Look, chord: str) -> Tint:
    return look.theme.pure if chord == _PURE else look.theme.of(int(chord.split()[-1]))


def _missed(off: float) -> str:
    """How far a seventh is from the harmonic one, in words."""
    if round(off) == 0:
        return "exactly harmonic 7"
    return f"{times(abs(off), 'cent', 0)} {'above' if off > 0 else 'below'} harmonic 7"
