"""Stacked fourths, fifths and suspended chords: a tower of notes on a pure line, which leans as their misses add up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import C3, root_of
from tunelib.exhibits.inches import begin, in_inches
from tunelib.exhibits.look import MARGIN, Look
from tunelib.harmony import complexity
from tunelib.pitch import THIRTY_ONE, Note, cents, equal, plain, ratio_from_cents, root_mean_square, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_TWELVE = equal(12)
_TUNED = ("pure", "31", "12")
_COMMA = Fraction(81, 80)
_MOST_NOTES = 5
_ROLL = 0.35  # seconds from note to note


@dataclass(frozen=True)
class _Stack:
    """A voicing on C: its notes by their letters, and the whole numbers that it would be if it were pure."""

    notes: tuple[str, ...]
    numbers: tuple[int, ...]

    @property
    def ratios(self) -> tuple[Fraction, ...]:
        """The pure notes over the lowest one."""
        return tuple(Fraction(number, self.numbers[0]) for number in self.numbers)


STACKS = {
    "three fourths": _Stack(("C4", "F4", "Bb4", "Eb5"), (27, 36, 48, 64)),
    "fourths and a third": _Stack(("C4", "F4", "Bb4", "Eb5", "G5"), (27, 36, 48, 64, 80)),
    "four fifths": _Stack(("C4", "G4", "D5", "A5", "E6"), (16, 24, 36, 54, 81)),
    "sus4": _Stack(("C4", "F4", "G4"), (6, 8, 9)),
    "soft sus4": _Stack(("C4", "Fhb4", "G4"), (16, 21, 24)),
    "7sus4": _Stack(("C4", "F4", "G4", "Bb4"), (18, 24, 27, 32)),
    "soft harm7sus4": _Stack(("C4", "Fhb4", "G4", "Bbhb4"), (16, 21, 24, 28)),
    "9": _Stack(("C4", "E4", "G4", "Bb4", "D5"), (20, 25, 30, 36, 45)),
    "harm9": _Stack(("C4", "E4", "G4", "Bbhb4", "D5"), (4, 5, 6, 7, 9)),
    "6/9": _Stack(("C4", "E4", "G4", "A4", "D5"), (12, 15, 18, 20, 27)),
}
"""Voicings in fourths and fifths, and what they are compared with, by name; common practice, the soft ones ours."""


@lru_cache(maxsize=128)
def sizes(voicing: str, tuned: str) -> tuple[float, ...]:
    """The notes of a voicing in cents above the lowest: pure, by letters in 31, by the nearest keys in 12."""
    stack = STACKS[voicing]
    if tuned == "31":
        return tuple(float(THIRTY_ONE.cents_of(Note.parse(name).step(THIRTY_ONE))) for name in stack.notes)
    pure = tuple(cents(ratio) for ratio in stack.ratios)
    return pure if tuned == "pure" else tuple(float(_TWELVE.cents_of(_TWELVE.nearest(size)[0])) for size in pure)


@lru_cache(maxsize=128)
def misses(voicing: str, tuned: str) -> tuple[float, ...]:
    """Cents by which each note is above its pure place over the lowest."""
    return tuple(size - pure for size, pure in zip(sizes(voicing, tuned), sizes(voicing, "pure"), strict=True))


@lru_cache(maxsize=128)
def worst(voicing: str, tuned: str) -> tuple[int, int, float]:
    """The pair of notes that is farthest from pure, by their places, and by how much it is too wide, in cents."""
    off = misses(voicing, tuned)
    pairs = [(low, high, off[high] - off[low]) for low, high in combinations(range(len(off)), 2)]
    return max(pairs, key=lambda pair: abs(pair[2]))


def simpler(ratio: Fraction) -> Fraction | None:
    """The simpler ratio a comma above or below one, if there is any.

    >>> str(simpler(Fraction(81, 16))), str(simpler(Fraction(64, 27))), simpler(Fraction(3, 2))
    ('5', '12/5', None)
    """
    near = min((ratio * _COMMA, ratio / _COMMA), key=complexity)
    return near if complexity(near) < complexity(ratio) else None


def _rms(voicing: str, tuned: str) -> float:
    """The root mean square of the misses of all pairs, in cents."""
    return root_mean_square(high - low for low, high in combinations(misses(voicing, tuned), 2))


@lru_cache(maxsize=1024)
def _notes(voicing: str, root: float) -> tuple[Note, ...]:
    """The notes of a voicing on a root, as they are spelled."""
    up = Note.parse("C4").interval_to(root_of(root))
    return tuple(Note.parse(name).transpose(up) for name in STACKS[voicing].notes)


class StackedFourths(Exhibit):
    """A stack of notes beside its pure line: misses add up, until they come near another ratio."""

    name: ClassVar[str] = "stacked_fourths"
    title: ClassVar[str] = "Fourths upon fourths"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("voicing", "Voicing", tuple(STACKS), "three fourths"),
        Slider("root", "Root", C3 / 2, 2 * C3, 12, C3, "Hz", logarithmic=True),
        Choice("tuned", "Tuned in", _TUNED, "31", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {tuned: {"tuned": tuned} for tuned in _TUNED}
    parts: ClassVar[Mapping[str, str]] = {
        "pure": "the pure line: where each note would be",
        "notes": "the notes of the voicing",
        "tower": "the voicing, from note to note",
        "misses": "how far each note is from its pure place",
        "simpler": "a simpler ratio a comma away",
        "worst": "the two notes that are farthest from pure",
        "number": "how far they are from pure, in cents",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("pure", "notes"),
        ("tower",),
        ("misses",),
        ("worst", "number"),
        ("simpler",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        foot, top = look.fit((0.85, 4.1), (0.95, 6.45), (0.65, 3.2))
        middle, scale = look.fit((4.35, 0.085), (2.62, 0.043))  # inches: the pure line, and a cent
        column = look.fit(1.75, 4.85)
        thick = look.fit(0.34, 0.4, 0.28)
        least = look.fit(0.44, 0.52)  # inches between two notes, for the ratio between them
        (pure,) = axes.plot(
            [middle, middle], [foot - 0.25, top + 0.25], color=theme.pure.full, lw=5, solid_capstyle="round"
        )
        bars = [axes.fill([0] * 4, [0] * 4, lw=1.2)[0] for _ in range(_MOST_NOTES)]
        (tower,) = axes.plot([], [], lw=3, solid_joinstyle="round", solid_capstyle="round")
        (far,) = axes.plot([], [], ls="none", ms=22, mfc="none", mec=theme.ink, mew=2.5)
        (near,) = axes.plot([], [], "D", ls="none", ms=10, color=theme.pure.full, **look.ring())
        (dots,) = axes.plot([], [], ls="none", ms=15, **look.ring())
        (lit,) = axes.plot([], [], ls="none", ms=17, color=theme.ink, **look.ring())
        names = [look.text(axes, MARGIN, 0, size="name", va="center") for _ in range(_MOST_NOTES)]
        ratios = [look.text(axes, MARGIN, 0, va="center", color=theme.pure.text) for _ in range(_MOST_NOTES - 1)]
        off = [look.text(axes, column, 0, ha="right", va="center") for _ in range(_MOST_NOTES)]
        others = [look.text(axes, 0, 0, va="center", color=theme.pure.text) for _ in range(_MOST_NOTES)]
        said_at = look.fit((7.3, 3.2), (MARGIN, 7.95), (MARGIN, 3.95))
        headline = look.headline(axes, *said_at, below=not look.square)
        between = look.text(axes, said_at[0], said_at[1] - look.fit(0.75, 0.85), color=theme.grey)
        between.set_visible(not look.square)
        now: dict[str, Any] = {}

        def update(voicing: str, root: float, tuned: str) -> None:
            tint = theme.pure if tuned == "pure" else theme.of(int(tuned))
            stack, away = STACKS[voicing], np.array(misses(voicing, tuned))
            high = np.array(sizes(voicing, "pure"))
            y = foot + (top - foot) * high / high[-1]
            x = middle + scale * away
            low, up, miss = worst(voicing, tuned)
            called = _notes(voicing, root)
            count, clear = len(y), abs(miss) >= 0.05
            for i in range(_MOST_NOTES):
                for artist in (bars[i], names[i], off[i]):
                    artist.set_visible(i < count)
                other = simpler(stack.ratios[i]) if i < count else None
                others[i].set_visible(other is not None)
                if i < count:
                    half = thick / 2
                    bars[i].set_xy(
                        [(middle, y[i] - half), (x[i], y[i] - half), (x[i], y[i] + half), (middle, y[i] + half)]
                    )
                    bars[i].set(facecolor=tint.fill, edgecolor=tint.full)
                    names[i].set(text=str(called[i]), y=y[i])
                    off[i].set(text=signed(float(away[i]), 1) if abs(away[i]) >= 0.05 else "0", y=y[i])
                    off[i].set_color(theme.ink if i in (low, up) and clear else theme.grey)
                if other is not None:
                    there = middle + scale * cents(other / stack.ratios[i])
                    aside = 0.17 if there > middle else -0.17
                    others[i].set(text=str(other), position=(there + aside, y[i]), ha="left" if aside > 0 else "right")
                if i < _MOST_NOTES - 1:
                    ratios[i].set_visible(i < count - 1 and y[i + 1] - y[i] >= least)
                    if i < count - 1:
                        ratios[i].set(text=str(stack.ratios[i + 1] / stack.ratios[i]), y=(y[i] + y[i + 1]) / 2)
            seen = [i for i in range(count) if simpler(stack.ratios[i]) is not None]
            at = [middle + scale * cents(simpler(stack.ratios[i]) / stack.ratios[i]) for i in seen]  # type: ignore[operator]
            near.set_data(at, [y[i] for i in seen])
            tower.set_data(x, y)
            tower.set_color(tint.full)
            dots.set_data(x, y)
            dots.set(marker=tint.marker, color=tint.full, mec=theme.behind_text)
            far.set_data([x[low], x[up]], [y[low], y[up]])
            far.set(marker=tint.marker, visible=clear)
            headline.say(plain(abs(miss)) if clear else "0", self._in_words(miss))
            if look.square:
                begin(headline, *said_at)
            between.set_text(f"{called[low].name} to {called[up].name}" if clear else "every pair is pure")
            now.update(x=x, y=y, marker=tint.marker)
            light(SILENT)

        def light(playing: Playing) -> None:
            places = list(playing.notes)
            lit.set_data(now["x"][places], now["y"][places])
            lit.set_marker(now["marker"])

        moving = (
            *bars, tower, far, dots, near, lit, *names, *ratios, *off, *others, *headline.artists, between,
        )  # fmt: skip
        parts = {
            "pure": (pure, *ratios),
            "notes": tuple(names),
            "tower": (tower, dots),
            "misses": (*bars, *off),
            "simpler": (near, *others),
            "worst": (far, between),
            "number": headline.artists,
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _in_words(miss: float) -> str:
        if abs(miss) < 0.05:
            return "cents: it is pure"
        return f"cents too {'wide' if miss > 0 else 'narrow'}"

    def sentence(self, voicing: str, root: float, tuned: str) -> str:
        names, off = [note.name for note in _notes(voicing, root)], misses(voicing, tuned)
        numbers = ":".join(map(str, STACKS[voicing].numbers))
        on = f"On {root_of(root)} ({plain(root)} Hz) {voicing}, {' '.join(names)}, {_how(tuned)}"
        low, high, miss = worst(voicing, tuned)
        if abs(miss) < 0.05:
            return f"{on} is {numbers} exactly."
        away = ", ".join(signed(one, 1) for one in off[1:])
        side = "wide" if miss > 0 else "narrow"
        return (
            f"{on} is away from {numbers} by {away} cents over its lowest note; the pair that is farthest off, "
            f"{names[low]} to {names[high]}, is {plain(abs(miss))} cents too {side}."
        )

    def numbers(self, voicing: str, root: float, tuned: str) -> Mapping[str, str]:
        low, high, miss = worst(voicing, tuned)
        notes = _notes(voicing, root)
        return {
            "cents": plain(abs(miss)),
            "low": notes[low].name,
            "high": notes[high].name,
            "top": plain(abs(misses(voicing, tuned)[-1])),
            "rms": plain(_rms(voicing, tuned)),
            "numbers": ":".join(map(str, STACKS[voicing].numbers)),
        }

    def score(self, voicing: str, root: float, tuned: str) -> Score:
        above = sizes(voicing, tuned)
        last = _ROLL * (len(above) - 1) + 4.0
        return Score(
            tuple(
                ScoreNote(
                    onset=_ROLL * i,
                    duration=last - _ROLL * i,
                    hertz=float(root * ratio_from_cents(size)),
                    level=min(0.4, 1.4 / len(above)),
                )
                for i, size in enumerate(above)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _how(tuned: str) -> str:
    return "tuned pure" if tuned == "pure" else f"in {tuned} equal steps"
