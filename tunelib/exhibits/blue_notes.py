"""Blue notes: what was measured kept apart from what has been proposed, beside the steps of thirty-one and twelve."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.inches import begin, field_of, headline_width, in_inches
from tunelib.exhibits.look import Look, Tint
from tunelib.pitch import (
    BLUE_NOTES,
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    BlueNote,
    FloatArray,
    Note,
    Tuning,
    equal,
    interval_names,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import MOVEMENTS_A_SECOND, TIMBRES

_TWELVE = equal(12)
_C4 = Note.parse("C4")
_HOME = _C4.hz(THIRTY_ONE)
_IN_31 = ("31, low", "31, middle", "31, high")
_MEASURED, _PROPOSED, _12 = "measured", "proposed", "12"
_PITCHES = (_MEASURED, *_IN_31, _PROPOSED, _12)
_UNDER: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "third": ("C7", ("C3", "E3", "Bb3")),
    "fifth": ("C7", ("C3", "E3", "Bb3")),
    "seventh": ("C", ("C3", "E3", "G3")),
}
"""What is held under each blue note: a symbol and its notes. Under the seventh a triad, since it is the chord's own."""
_TEMPO = 72
_UP, _DOWN = ((0.0, 1.5, 3.0, 4.0), (0.0, 0.25, 1.0, 2.0))  # beats: when a note begins, moves, has moved and ends
_LAST = 8  # beats in all
_SOLO = 3  # the place of its first note in the score, after the chord's
_ROWS = tuple(BLUE_NOTES)
_BEFORE, _WINDOW = 1.0, 7.4  # steps: what a row shows below its zone, and in all


@dataclass(frozen=True)
class _Heard:
    """A blue note as it is heard: its cents above C, its goal's, the tuning around it, and how it is said."""

    cents: float
    goal: float
    tuning: Tuning
    words: str


@lru_cache(maxsize=32)
def _heard(note: str, pitch: str) -> _Heard:
    blue = BLUE_NOTES[note]
    tuning = _TWELVE if pitch == _12 else THIRTY_ONE
    goal = float(tuning.cents_of(blue.goal.step(tuning)))
    if pitch == _MEASURED:
        mean = blue.measured
        return _Heard(mean.cents, goal, tuning, f"as measured (a mean of {plain(mean.cents)} cents, Cutting 2018)")
    if pitch == _PROPOSED:
        first = blue.proposed[0]
        return _Heard(first.cents, goal, tuning, f"as proposed ({first.called}, {plain(first.cents)} cents)")
    step = blue.written.step(_TWELVE) if pitch == _12 else blue.steps(THIRTY_ONE)[_IN_31.index(pitch)]
    size = float(tuning.cents_of(step))
    called = "on a piano (" if pitch == _12 else f"as step {step} of 31 ({interval_names(step, THIRTY_ONE)[0].name}, "
    return _Heard(size, goal, tuning, f"{called}{plain(size)} cents)")


class BlueNotes(Exhibit):
    """The three blue notes: the means that were measured, the ratios proposed, and where thirty-one has them."""

    name: ClassVar[str] = "blue_notes"
    title: ClassVar[str] = "Blue notes, measured and proposed"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("note", "Blue note", _ROWS, "third"),
        Choice("pitch", "Sung as", _PITCHES, _MEASURED),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {pitch: {"pitch": pitch} for pitch in _PITCHES}
    parts: ClassVar[Mapping[str, str]] = {
        "steps": "the steps of thirty-one",
        "zone": "the steps that players move through",
        "twelve": "the key of a piano",
        "measured": "the mean of what was sung",
        "proposed": "what has been proposed",
        "gap": "how far the two are apart",
        "slide": "the way up to a note of the chord",
        "number": "how far they are apart, in cents",
        "others": "the other two blue notes",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("steps", "twelve"), ("proposed",), ("measured",), ("gap", "number"), ("zone", "slide", "others"),
    )  # fmt: skip
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, look.fit(self.title, "Blue notes"))
        picture = _Picture(in_inches(figure, look), look)
        now: dict[str, str] = {}

        def update(note: str, pitch: str) -> None:
            now.update(note=note, pitch=pitch)
            picture.show(note, pitch)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                picture.sound(_at(playing.seconds * _TEMPO / 60, playing.notes, **now))

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, note: str, pitch: str) -> str:
        blue, heard = BLUE_NOTES[note], _heard(note, pitch)
        goal = "the C above" if heard.goal == CENTS_PER_OCTAVE else _C4.transpose(blue.goal).name
        number, words = _apart(blue, pitch)
        near = f"nearest to step {blue.nearest(THIRTY_ONE)} of 31 and " if pitch == _MEASURED else ""
        return (
            f"The blue {note}, {heard.words}, is {near}{number} {words}; over {_UNDER[note][0]} it is bent up to "
            f"{goal}, and let down again."
        )

    def numbers(self, note: str, pitch: str) -> Mapping[str, str]:
        blue, heard = BLUE_NOTES[note], _heard(note, pitch)
        return {
            "cents": plain(heard.cents),
            "apart": _apart(blue, pitch)[0],
            "measured": plain(blue.measured.cents),
            "step": str(blue.nearest(THIRTY_ONE)),
            "slide": plain(heard.goal - heard.cents),
            "ratio": blue.proposed[0].called,
        }

    def score(self, note: str, pitch: str) -> Score:
        heard = _heard(note, pitch)
        chord = [
            ScoreNote(0, _LAST, _HOME * ratio_from_cents(_above_home(name, heard.tuning)), voice="chord", level=0.2)
            for name in _UNDER[note][1]
        ]
        low, high = (_HOME * ratio_from_cents(size) for size in (heard.cents, heard.goal))
        end = _HOME * (2 if heard.goal == CENTS_PER_OCTAVE else 1)
        beats = ((0.0, _UP[-1], low), (_UP[-1], _DOWN[-1], high), (_UP[-1] + _DOWN[-1], 2.0, end))
        solo = (ScoreNote(onset, lasts, hertz, voice="solo", level=0.5) for onset, lasts, hertz in beats)
        return Score((*chord, *solo), tempo=_TEMPO)

    def bends(self, note: str, pitch: str) -> Sequence[FloatArray]:
        heard = _heard(note, pitch)
        way, still = heard.goal - heard.cents, np.empty(0)
        return (*[still] * _SOLO, _slide(_UP, way), _slide(_DOWN, -way), still)

    def timbre(self, **values: Any) -> Voicing:
        return {"chord": TIMBRES["organ"], "solo": TIMBRES["reed"]}


def _above_home(name: str, tuning: Tuning) -> float:
    """Cents from C4 to a note of a tuning."""
    return float(tuning.cents_of(Note.parse(name).step(tuning)))


def _slide(beats: tuple[float, ...], way: float) -> FloatArray:
    """The bend of a note that moves by some cents, eased at both ends."""
    count = math.ceil((beats[-1] * 60 / _TEMPO + 0.1) * MOVEMENTS_A_SECOND)
    return np.asarray(ratio_from_cents(way * _moved(np.arange(count) / MOVEMENTS_A_SECOND * _TEMPO / 60, beats)))


def _moved(beat: Any, beats: tuple[float, ...]) -> Any:
    """What share of its way a note has gone after some beats."""
    share = np.clip((np.asarray(beat) - beats[1]) / (beats[2] - beats[1]), 0, 1)
    return (1 - np.cos(np.pi * share)) / 2


def _at(beat: float, notes: tuple[int, ...], note: str, pitch: str) -> float | None:
    """Where the solo is on its way from the blue note, 0, to its goal, 1; None where it is on neither."""
    if _SOLO in notes:
        return float(_moved(beat, _UP))
    if _SOLO + 1 in notes:
        return 1 - float(_moved(beat - _UP[-1], _DOWN))
    return 1.0 if _SOLO + 2 in notes and _heard(note, pitch).goal == CENTS_PER_OCTAVE else None


def _apart(blue: BlueNote, pitch: str) -> tuple[str, str]:
    """How far the mean is from what is heard, or from the first that was proposed, as a number and words."""
    if pitch == _MEASURED:
        first = blue.proposed[0]
        return plain(blue.above(first), 0), f"cents above {first.called}"
    away = _heard(blue.name, pitch).cents - blue.measured.cents
    return plain(abs(away), 0), f"cents {'above' if away > 0 else 'below'} the mean"


def _lane(pitch: str) -> str:
    """The lane that a pitch is on."""
    return {_MEASURED: "measured", _PROPOSED: "proposed", _12: "twelve"}.get(pitch, "steps")


class _Picture:
    """Three rows in inches, one open: lanes for twelve, thirty-one, what was measured and what is proposed."""

    def __init__(self, axes: Axes, look: Look) -> None:
        theme, self._look = look.theme, look
        free = field_of(look)
        self._top, self._closed = free.top, look.fit(0.42, 1.05, 0.38)
        self._bottom, self._left, self._right = free.bottom, free.left, free.right
        self._names = look.fit(1.15, 0.0)  # room for the names of the rows
        self._step = (free.width - self._names) / _WINDOW
        self._lanes: dict[str, float] = dict(
            zip(
                ("steps", "twelve", "measured", "proposed"),
                look.fit((0.74, 1.14, 1.66, 2.2), (1.2, 2.0, 3.0, 4.0), (0.5, 0.86, 1.36, 1.88)),
                strict=True,
            )
        )  # inches below the top of the open row
        self._title = look.fit(0.0, 0.42, 0.26)  # of the open row, above its lanes
        label, grey = look.size("label") / 72, theme.grey
        middle: dict[str, Any] = {"ha": "center", "va": "center"}
        self._row_names = [look.text(axes, free.left, 0, row, "name", va="center") for row in _ROWS]
        (self._zone,) = axes.fill([0] * 4, [0] * 4, color=theme.ground, lw=0)
        (self._gap,) = axes.fill([0] * 4, [0] * 4, lw=1.2)
        (self._strings,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._far_dots,) = axes.plot([], [], "o", ms=9, color=theme.thirty_one.dim, **look.ring(1.2))
        (self._far_means,) = axes.plot([], [], "^", ms=10, color=theme.line, **look.ring(1.2))
        (self._far_posts,) = axes.plot([], [], "D", ms=7, color=theme.pure.dim, **look.ring(1.2))
        (self._slide,) = axes.plot([], [], lw=2.5, solid_capstyle="round", solid_joinstyle="round")
        (self._dots,) = axes.plot([], [], "o", ms=13, color=theme.thirty_one.dim, **look.ring())
        (self._keys,) = axes.plot([], [], "s", ms=12, color=theme.twelve.dim, **look.ring())
        (self._posts,) = axes.plot([], [], "D", ms=12, color=theme.pure.full, **look.ring())
        (self._neutral,) = axes.plot([], [], "D", ms=12, mfc=theme.behind_text, mec=theme.ink, mew=2)
        (self._mean,) = axes.plot([], [], "^", ms=18, color=theme.ink, **look.ring())
        (self._here,) = axes.plot([], [], ms=20, mec=theme.ink, mew=2.5, ls="none")
        (self._runner,) = axes.plot([], [], "o", label="runner", ms=22, color=theme.ink, **look.ring(2.5))
        self._numbers = [look.text(axes, 0, 0, **middle) for _ in range(4)]
        self._spelled = [look.text(axes, 0, 0, color=theme.thirty_one.text, **middle) for _ in range(4)]
        self._of_31 = look.text(axes, 0, 0, "31", color=theme.thirty_one.text, va="center", weight="bold")
        self._of_12 = look.text(axes, 0, 0, "12", color=theme.twelve.text, va="center", weight="bold")
        self._mean_words = look.text(axes, 0, 0, weight="bold", **middle)
        self._ratio = look.text(axes, 0, 0, color=theme.pure.text, weight="bold", **middle)
        self._neutral_words = look.text(axes, 0, 0, **middle)
        side: dict[str, Any] = {"va": "center", "ha": look.fit("left", "right"), "color": grey}
        self._say_measured = look.text(axes, look.fit(free.left, free.right), 0, "measured", **side)
        self._say_proposed = look.text(axes, look.fit(free.left, free.right), 0, "proposed", **side)
        self._over = look.text(axes, free.right, 0, va="center", ha="right", color=grey)
        self._head = look.headline(axes, 0, 0)
        self._under_mark = 0.16 + 0.55 * label
        self.moving = (
            self._zone, self._gap, self._strings, self._far_dots, self._far_means, self._far_posts, self._slide,
            self._dots, self._keys, self._posts, self._neutral, self._mean, self._here, self._runner, *self._row_names,
            *self._numbers, *self._spelled, self._of_31, self._of_12, self._mean_words, self._ratio,
            self._neutral_words, self._say_measured, self._say_proposed, self._over, *self._head.artists,
        )  # fmt: skip
        self.parts = {
            "steps": (self._dots, *self._numbers, *self._spelled, self._of_31),
            "zone": (self._zone,),
            "twelve": (self._keys, self._of_12),
            "measured": (self._mean, self._mean_words, self._say_measured),
            "proposed": (self._posts, self._ratio, self._neutral, self._neutral_words, self._say_proposed),
            "gap": (self._gap,),
            "slide": (self._slide, self._here, self._over),
            "number": self._head.artists,
            "others": (self._far_dots, self._far_means, self._far_posts, self._strings),
        }

    def show(self, note: str, pitch: str) -> None:
        """Open a row, with one pitch chosen; nothing sounds."""
        theme, blue, heard = self._look.theme, BLUE_NOTES[note], _heard(note, pitch)
        row, tint = _ROWS.index(note), self._tint(pitch)
        tops = [self._top - self._closed * k - (self._opened if k > row else 0.0) for k in range(len(_ROWS))]
        for k, text in enumerate(self._row_names):
            text.set_position((self._left, tops[k] - (0.12 if k == row else self._look.fit(0.21, 0.3, 0.21))))
            text.set_color(theme.ink if k == row else theme.grey)
        self._show_far([k for k in range(len(_ROWS)) if k != row], tops)
        at = {lane: tops[row] - self._title - down for lane, down in self._lanes.items()}
        self._show_lanes(blue, pitch, at)
        x, y, goal = (float(one) for one in (self._x(blue, heard.cents), at[_lane(pitch)], self._x(blue, heard.goal)))
        self._way = (x, goal, y)
        self._slide.set_data([x, goal], [y, y])
        self._slide.set_color(tint.full)
        self._here.set_data([x], [y])
        self._here.set(marker="^" if pitch == _MEASURED else tint.marker, markerfacecolor=tint.full)
        self._here.set_visible(pitch != _MEASURED)
        self._runner.set_data([x], [y])
        self._runner.set_visible(False)
        self._show_gap(blue, pitch, at, x, y)
        self._over.set_text(f"over {_UNDER[note][0]}")
        self._over.set_position((self._right, self._look.fit(at["proposed"] - 0.7, tops[row] - 0.12)))
        self._over.set_color(theme.grey)

    def sound(self, share: float | None) -> None:
        """Show where the solo is on its way, and that the chord sounds."""
        self._over.set_color(self._look.theme.ink)
        if share is not None:
            x, goal, y = self._way
            self._runner.set_data([x + share * (goal - x)], [y])
            self._runner.set_visible(True)

    @property
    def _opened(self) -> float:
        """How much higher the open row is than the others."""
        return self._top - self._bottom - len(_ROWS) * self._closed

    def _x(self, blue: BlueNote, size: Any) -> Any:
        """Where some cents above the tonic are across, on the row of a blue note."""
        first = blue.steps(THIRTY_ONE)[0] - _BEFORE
        steps = np.asarray(size) * len(THIRTY_ONE) / CENTS_PER_OCTAVE
        return self._left + self._names + (steps - first) * self._step

    def _far_x(self, blue: BlueNote, size: Any) -> Any:
        """The same on a closed row, which has less room in a square, where its name is before it."""
        within = (self._x(blue, size) - self._left) * self._look.fit(1.0, 1.0, 0.85)
        return self._left + self._look.fit(0.0, 0.0, 0.6) + within

    def _tint(self, pitch: str) -> Tint:
        theme = self._look.theme
        of = {_MEASURED: theme.of(0), _PROPOSED: theme.pure, _12: theme.twelve}
        return of.get(pitch, theme.thirty_one)

    def _steps_of(self, blue: BlueNote) -> tuple[int, ...]:
        """The steps that are drawn: the zone and the goal."""
        return (*blue.steps(THIRTY_ONE), blue.goal.step(THIRTY_ONE))

    def _show_far(self, rows: Sequence[int], tops: Sequence[float]) -> None:
        """The rows that are closed: one line each, the means above it and what is proposed below."""
        dots, means, posts, ends = [], [], [], []
        aside = self._look.fit(0.15, 0.24, 0.13)
        for k in rows:
            blue, y = BLUE_NOTES[_ROWS[k]], tops[k] - self._look.fit(0.21, 0.75, 0.21)
            dots += [(self._far_x(blue, THIRTY_ONE.cents_of(step)), y) for step in self._steps_of(blue)]
            means.append((self._far_x(blue, blue.measured.cents), y + aside))
            posts.append((self._far_x(blue, blue.proposed[0].cents), y - aside))
            ends += [(dots[-4][0], y), (dots[-1][0], y), (np.nan, np.nan)]
        for line, places in (
            (self._far_dots, dots), (self._far_means, means), (self._far_posts, posts), (self._strings, ends),
        ):  # fmt: skip
            line.set_data(*np.array(places).T)

    def _show_lanes(self, blue: BlueNote, pitch: str, at: Mapping[str, float]) -> None:
        """The open row: its steps by number and name, the key of twelve, the mean, and what is proposed."""
        look, theme = self._look, self._look.theme
        label, steps = look.size("label") / 72, self._steps_of(blue)
        x = [float(self._x(blue, THIRTY_ONE.cents_of(step))) for step in steps]
        self._dots.set_data(x, [at["steps"]] * len(x))
        low, high = x[0] - 0.42 * self._step, x[-2] + 0.42 * self._step
        up, down = at["steps"] + 0.2, at["steps"] - 0.2
        self._zone.set_xy([(low, down), (high, down), (high, up), (low, up)])
        for place, step, number, name in zip(x, steps, self._numbers, self._spelled, strict=True):
            written = _C4.transpose(interval_names(step, THIRTY_ONE)[0]).name
            name.set_text(look.fit(written, written, ""))
            name.set_position((place, at["steps"] + 0.22 + 0.6 * label))
            number.set_text(str(step))
            number.set_color(theme.ink)
            number.set_position((place, at["steps"] + 0.22 + look.fit(1.75, 1.85, 0.55) * label))
        keys = [float(_TWELVE.cents_of(one.step(_TWELVE))) for one in (blue.written, blue.goal)]
        self._keys.set_data([float(self._x(blue, size)) for size in keys], [at["twelve"]] * 2)
        self._of_31.set_position((self._left, at["steps"]))
        self._of_12.set_position((self._left, at["twelve"]))
        mean, first = float(self._x(blue, blue.measured.cents)), float(self._x(blue, blue.proposed[0].cents))
        self._mean.set_data([mean], [at["measured"]])
        self._mean_words.set_text(plain(blue.measured.cents))
        aside = self._under_mark if _lane(pitch) in ("measured", "proposed") else -self._under_mark  # from the gap
        self._mean_words.set_position((mean, at["measured"] + aside))
        over = look.fit(0.0, 0.24)
        self._say_measured.set_y(at["measured"] + over)
        self._posts.set_data([first], [at["proposed"]])
        self._ratio.set_text(blue.proposed[0].called)
        self._ratio.set_position((first, at["proposed"] - self._under_mark))
        others = blue.proposed[1:]
        for artist in (self._neutral, self._neutral_words):
            artist.set_visible(bool(others))
        for other in others:
            second = float(self._x(blue, other.cents))
            self._neutral.set_data([second], [at["proposed"]])
            self._neutral_words.set_text(f"{other.called} {plain(other.cents)}")
            self._neutral_words.set_position((second, at["proposed"] - self._under_mark))
        self._say_proposed.set_y(at["proposed"] + over)

    def _show_gap(self, blue: BlueNote, pitch: str, at: Mapping[str, float], x: float, y: float) -> None:
        """The gap between the mean and what is chosen, or proposed, with its number under it."""
        theme, mean, level = self._look.theme, float(self._x(blue, blue.measured.cents)), at["measured"]
        if pitch == _MEASURED:
            x, y = float(self._x(blue, blue.proposed[0].cents)), at["proposed"]
        tint = theme.pure if pitch == _MEASURED else self._tint(pitch)
        self._gap.set_xy([(mean, level), (x, level), (x, y), (mean, y)])
        self._gap.set(facecolor=tint.fill, edgecolor=tint.full)
        self._head.say(*_apart(blue, pitch))
        left = min(min(mean, x) - 0.1, self._right - headline_width(self._head))
        foot = at["proposed"] - self._under_mark - 0.6 * self._look.size("label") / 72
        begin(self._head, max(left, self._left), foot - 0.08 - 0.72 * self._look.size("number") / 72)
