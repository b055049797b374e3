"""A blues of twelve bars, tuned in ways that a band can keep to: which notes it uses, bar by bar, round the octave."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.circle import clockwise
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import set_apart
from tunelib.exhibits.inches import begin, field_of, in_inches
from tunelib.exhibits.look import Look
from tunelib.harmony import BARS, TUNED_BLUES, Chord, TunedBlues
from tunelib.pitch import THIRTY_ONE, Note, Tuning, equal, listed, plain, ratio_from_cents, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_TWELVE = equal(12)
_IN_12 = "12"
_WAYS = (*TUNED_BLUES, _IN_12)
_MOST_NOTES = max(len(way.notes(THIRTY_ONE)) for way in TUNED_BLUES.values())
_VOICES = 4
_HOME = float(Note.parse("C4").hz(THIRTY_ONE))
_TEMPO, _BEATS = 126, 4
_HITS = ((0.0, 1.4), (1 + 2 / 3, 0.9))  # the Charleston, swung (common practice): when, and how long, in beats
_LOW = ((0.0, 1.9, 0), (2.0, 1.9, 2))  # the bass: when, how long, and which note of the chord: root, then fifth
_ACROSS, _DOWN = 4, 3  # bars to a line, and lines
_ROUND = 60  # points of an arc


@lru_cache(maxsize=8)
def _way(way: str) -> tuple[TunedBlues, Tuning]:
    """A way and the tuning that it is heard in; twelve plays what is written."""
    return (TUNED_BLUES["minor sevenths"], _TWELVE) if way == _IN_12 else (TUNED_BLUES[way], THIRTY_ONE)


def _chord(way: str, bar: int) -> Chord:
    return _way(way)[0].chords[bar - 1]


class TunedBluesChorus(Exhibit):
    """Twelve bars of blues in several tunings, each kept to: the notes of the whole chorus, and those of each bar."""

    name: ClassVar[str] = "tuned_blues"
    title: ClassVar[str] = "A blues: pick one set of notes and keep it"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("way", "Tuned with", _WAYS, "harmonic sevenths"),
        Slider("bar", "Bar", 1, BARS, 1, 9),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "minor": {"way": "minor sevenths"},
        "harmonic": {"way": "harmonic sevenths"},
        "rest, announce": {"way": "rest and announce"},
        "eight notes": {"way": "eight notes"},
        "12": {"way": _IN_12},
    }
    parts: ClassVar[Mapping[str, str]] = {
        "bars": "the twelve bars",
        "price": "how far each chord is off",
        "octave": "the octave, all its steps",
        "notes": "the notes that the chorus uses",
        "chord": "the chord of the bar",
        "two": "one name in two tunings",
        "number": "how many notes the chorus uses",
        "moves": "how the voices move into the bar",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("bars", "octave"), ("notes", "number"), ("two",), ("chord", "moves"), ("price",),
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, look.fit(self.title, "Pick one set, keep it"))
        picture = _Picture(figure, look)
        now: dict[str, str] = {}

        def update(way: str, bar: int) -> None:
            now["way"] = way
            picture.show(way, bar)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                onset = self.score(now["way"], 1).notes[playing.notes[-1]].onset
                picture.show(now["way"], int(onset // _BEATS) + 1, sounding=True)

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, way: str, bar: int) -> str:
        blues, tuning = _way(way)
        names = listed([note.name for note in blues.notes(tuning).values()])
        tuned = "In 12" if way == _IN_12 else f"Tuned “{way}”"
        return (
            f"{tuned}, the chorus has {len(blues.notes(tuning))} notes of {len(tuning)} "
            f"({names}), {_in_two(way)}, and {_drifting(way)}; bar {bar} is {set_apart(_chord(way, bar))}, "
            f"{plain(_chord(way, bar).purity(tuning))} cents off, and its voices come to it by {_moves(way, bar)}."
        )

    def numbers(self, way: str, bar: int) -> Mapping[str, str]:
        blues, tuning = _way(way)
        return {
            "notes": str(len(blues.notes(tuning))),
            "cents": plain(_chord(way, bar).purity(tuning)),
            "chorus": plain(blues.purity(tuning)),
            "moves": _moves(way, bar),
            "drift": signed(blues.round.drift(), 1),
            "chord": set_apart(_chord(way, bar)),
        }

    def score(self, way: str, bar: int) -> Score:
        return _score(way)

    def timbre(self, **values: Any) -> Voicing:
        return {"bass": TIMBRES["plucked"], **{f"voice {k}": TIMBRES["organ"] for k in range(_VOICES)}}


def _in_two(way: str) -> str:
    """Which names have two tunings, in a few words."""
    two = _way(way)[0].in_two_tunings(_way(way)[1])
    return f"{listed(list(two))} in two tunings" if two else "one tuning for each"


def _drifting(way: str) -> str:
    """What becomes of the tonic if notes are held from chord to chord, in the tuning that is heard."""
    blues, tuning = _way(way)
    steps = int(blues.round.drift_steps(len(tuning)))
    if not steps:
        return "held notes keep the tonic"
    two = listed(list(blues.in_two_tunings(tuning)))
    return f"holding {two} takes the tonic {times(abs(steps), 'step')} {'up' if steps > 0 else 'down'}"


def _moves(way: str, bar: int) -> str:
    """The moves of the four voices into a bar, from the lowest."""
    blues, tuning = _way(way)
    return " ".join(signed(move) if move else "0" for move in blues.moves(bar, tuning))


@lru_cache(maxsize=8)
def _score(way: str) -> Score:
    """Two hits to a bar, a bass in two, and a last bar that is held."""
    blues, tuning = _way(way)

    def hertz(step: int) -> float:
        return _HOME * float(ratio_from_cents(tuning.cents_of(step)))

    notes = []
    for bar, (chord, voices) in enumerate(zip(blues.chords, blues.voices(tuning), strict=True)):
        start, last = bar * _BEATS, bar == BARS - 1
        low = _bass(chord, tuning)
        for begins, lasts, which in ((0.0, float(_BEATS), 0),) if last else _LOW:
            notes.append(ScoreNote(start + begins, lasts, hertz(low[which]), voice="bass", level=0.5))
        for begins, lasts in ((0.0, float(_BEATS)),) if last else _HITS:
            notes += [
                ScoreNote(start + begins, lasts, hertz(step), voice=f"voice {k}", level=0.3)
                for k, step in enumerate(voices)
            ]
    return Score(tuple(notes), tempo=_TEMPO)


def _bass(chord: Chord, tuning: Tuning) -> tuple[int, ...]:
    """The chord's notes from the root up, the root in the octave from C2."""
    root = chord.root.step(tuning) - 2 * len(tuning)
    return tuple(root + step for step in chord.steps(tuning))


class _Picture:
    """The bars in lines of four, and beside or under them the octave as a ring, in inches."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        self._look, theme = look, look.theme
        free, axes = field_of(look), in_inches(figure, look)
        self._left, self._top = free.left, free.top
        self._cell = look.fit(4.6, free.width) / _ACROSS, look.fit(0.62, 0.64, 0.44)
        self._radius = look.fit(1.42, 1.4, 0.86)
        room = self._radius + look.fit(0.45, 0.5, 0.44)
        self._centre = free.right - room, free.bottom + room - look.fit(0.0, 0.05, 0.1)
        under = free.top - _DOWN * self._cell[1]
        self._number_at = free.left, under - look.fit(0.85, 0.85, 0.8)
        first, pace = self._number_at[1], look.fit(0.34, 0.36, 0.31)
        self._lit = axes.fill([0] * 4, [0] * 4, lw=2)[0]
        self._grid = axes.plot([], [], color=theme.line, lw=1.2)[0]
        self._prices = axes.plot([], [], lw=4, solid_capstyle="butt")[0]
        middle: dict[str, Any] = {"ha": "center", "va": "center"}
        self._symbols = [look.text(axes, *self._in_cell(bar), **middle) for bar in range(1, BARS + 1)]
        self._octave = axes.plot([], [], ls="none", ms=look.fit(5, 5, 4), color=theme.line)[0]
        self._shape = axes.fill([0] * _VOICES, [0] * _VOICES, lw=2.5, joinstyle="round")[0]
        self._two = axes.fill([0] * 2 * _ROUND, [0] * 2 * _ROUND, lw=1.6)[0]
        self._used = axes.plot([], [], ls="none", ms=look.fit(13, 14, 11), **look.ring())[0]
        self._now = axes.plot([], [], ls="none", ms=look.fit(19, 21, 15), **look.ring())[0]
        self._names = [look.text(axes, *self._centre, **middle) for _ in range(_MOST_NOTES)]
        self._head = look.headline(axes, 0, 0)
        self._tunings = look.text(axes, free.left, first - pace - 0.04, size=look.fit("name", "name", "label"))
        self._moves = look.text(axes, free.left, first - 2 * pace - 0.06)
        self._off = look.text(axes, free.left, first - 3 * pace - 0.06)
        self._drift = look.text(axes, free.left, first - 4 * pace - 0.06, color=theme.grey)
        self._draw_grid()
        self.moving = (
            self._lit, self._grid, self._prices, *self._symbols, self._octave, self._shape, self._two, self._used,
            self._now, *self._names, *self._head.artists, self._tunings, self._moves, self._off, self._drift,
        )  # fmt: skip
        self.parts = {
            "bars": (self._grid, self._lit, *self._symbols),
            "price": (self._prices, self._off),
            "octave": (self._octave,),
            "notes": (self._used, *self._names),
            "chord": (self._shape, self._now),
            "two": (self._two, self._tunings, self._drift),
            "number": self._head.artists,
            "moves": (self._moves,),
        }

    def show(self, way: str, bar: int, sounding: bool = False) -> None:
        """Show a way with one of its bars; as it is while that bar sounds, if it does."""
        blues, tuning = _way(way)
        theme, tint = self._look.theme, self._look.theme.of(len(tuning))
        wide, high = self._cell
        x, y = self._in_cell(bar)
        self._lit.set_xy([(x + a * wide / 2, y + b * high / 2) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
        self._lit.set(facecolor=tint.fill, edgecolor=theme.ink if sounding else tint.full)
        offs = [chord.purity(tuning) for chord in blues.chords]
        ends = []
        for place, (text, chord, off) in enumerate(zip(self._symbols, blues.chords, offs, strict=True), start=1):
            text.set_text(set_apart(chord))
            text.set_color(theme.ink if place == bar else theme.grey)
            text.set_fontweight("bold" if place == bar else "normal")
            left, foot = self._in_cell(place)[0] - 0.42 * wide, self._in_cell(place)[1] - 0.36 * high
            ends += [(left, foot), (left + 0.07 * wide * off, foot), (np.nan, np.nan)]
        self._prices.set_data(*np.array(ends).T)
        self._prices.set_color(tint.dim)
        self._show_ring(blues, tuning, bar, sounding)
        self._head.say(
            str(len(blues.notes(tuning))), self._look.fit(f"notes of {len(tuning)}", f"notes of {len(tuning)}", "notes")
        )
        begin(self._head, *self._number_at)
        self._tunings.set_text(_in_two(way))
        self._moves.set_text(f"{self._look.fit(f'into bar {bar}: ', f'into bar {bar}: ', '')}{_moves(way, bar)}")
        self._off.set_text(f"{plain(offs[bar - 1])} cents off")
        self._drift.set_text(self._look.fit(_drifting(way), _drifting(way), ""))

    def _draw_grid(self) -> None:
        """Bar lines and lines of the grid."""
        wide, high = self._cell
        right, foot = self._left + _ACROSS * wide, self._top - _DOWN * high
        ups = [(self._left + k * wide, level) for k in range(_ACROSS + 1) for level in (foot, self._top, np.nan)]
        levels = [(x, self._top - k * high) for k in range(_DOWN + 1) for x in (self._left, right, np.nan)]
        self._grid.set_data(*np.array([*ups, *levels]).T)

    def _in_cell(self, bar: int) -> tuple[float, float]:
        """The middle of a bar."""
        line, place = divmod(bar - 1, _ACROSS)
        return self._left + (place + 0.5) * self._cell[0], self._top - (line + 0.5) * self._cell[1]

    def _on_ring(self, step: Any, tuning: Tuning, far: Any = 0.0) -> tuple[Any, Any]:
        """Where steps are on the ring, or so many inches outside it."""
        x, y = clockwise(np.asarray(step) / len(tuning))
        return self._centre[0] + (self._radius + far) * x, self._centre[1] + (self._radius + far) * y

    def _show_ring(self, blues: TunedBlues, tuning: Tuning, bar: int, sounding: bool) -> None:
        """The notes of the chorus and of one bar, with the gap where one name has two tunings."""
        theme, tint = self._look.theme, self._look.theme.of(len(tuning))
        notes, chord = blues.notes(tuning), blues.voices(tuning)[bar - 1]
        self._octave.set_data(*self._on_ring(np.arange(len(tuning)), tuning))
        self._octave.set_marker(tint.marker)
        self._used.set_data(*self._on_ring(list(notes), tuning))
        self._used.set(marker=tint.marker, markerfacecolor=tint.dim)
        corners = sorted(step % len(tuning) for step in chord)
        self._shape.set_xy(np.column_stack(self._on_ring(corners, tuning)))
        self._shape.set(facecolor=tint.fill, edgecolor=tint.full)
        self._now.set_data(*self._on_ring(corners, tuning))
        self._now.set(marker=tint.marker, markerfacecolor=theme.ink if sounding else tint.full)
        two = [steps for steps in blues.in_two_tunings(tuning).values()]
        low, high = (two[0][0], two[0][-1]) if two else (0, 0)
        arc = np.linspace(low, high, _ROUND)
        inner, outer = self._on_ring(arc, tuning, -0.32), self._on_ring(arc[::-1], tuning)
        self._two.set_xy(np.column_stack([np.concatenate(pair) for pair in zip(inner, outer, strict=True)]))
        self._two.set(facecolor=tint.fill, edgecolor=theme.ink, visible=bool(two))
        lower = {steps[0] for steps in two} if self._look.square else set()
        for k, text in enumerate(self._names):
            text.set_visible(k < len(notes))
            step, note = list(notes.items())[min(k, len(notes) - 1)]
            text.set_text(note.name)
            far = self._look.fit(0.29, 0.33, 0.26) + (0.22 if step in lower else 0.0)
            x, y = self._on_ring(step, tuning, far)
            text.set_position((float(x), float(y)))
            text.set_color(theme.ink if step in corners else theme.grey)
            text.set_fontweight("bold" if step in corners else "normal")
