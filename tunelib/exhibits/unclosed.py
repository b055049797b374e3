"""Chords of equal parts that close a circle in twelve and not in thirty-one, and the one key that each leads to there.

Four minor thirds, three major thirds, six whole tones or four pairs of a tone and a semitone fill the octave of twelve.
In thirty-one they are a step too large or too small together, so one gap of such a chord differs, and tells the key:
above the narrow gap is the leading note, and above the wide one of an augmented triad or a whole-tone scale is the root
of a dominant. Which chord leads where is common practice; the steps follow from its letters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Polygon

from tunelib.exhibits.circle import Around
from tunelib.exhibits.equal_parts import (
    FORMS,
    MOST_NOTES,
    MOST_VOICES,
    TUNINGS,
    have_moved,
    keys_with,
    step_in_31,
    turned_chord,
)
from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches
from tunelib.exhibits.look import MARGIN, Look
from tunelib.pitch import FloatArray, Note, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_UNITS = {"12": "semitone", "31": "step"}


@lru_cache(maxsize=256)
def _heard(form: str, moved: int, tuned: str) -> tuple[tuple[float, float, Note], ...]:
    """What is heard, with onset and duration in seconds: a scale, the dominant, and the tonic over its bass."""
    shown = turned_chord(form, moved, tuned)
    found, onset = [], 0.0
    if len(shown.dominant) < len(shown.notes):
        for note in sorted(shown.notes, key=step_in_31):
            found.append((onset, 0.35, note))
            onset += 0.35
        onset += 0.25
    found += [(onset, 2.0, note) for note in shown.dominant]
    bass = replace(shown.tonic, octave=3)
    home = sorted({str(note): note for note in (bass, *shown.resolved)}.values(), key=step_in_31)
    return (*found, *((onset + 2.0, 2.6, note) for note in home))


class UnclosedChords(Exhibit):
    """Diminished sevenths, augmented triads and their scales on the ring: closed in twelve, a step apart in 31."""

    name: ClassVar[str] = "unclosed_chords"
    title: ClassVar[str] = "The circle that does not close"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", tuple(FORMS), "diminished seventh"),
        Slider("moved", "Gap moved", 0, 4, 1, 0),
        Choice("tuned", "Tuned in", tuple(TUNINGS), "31", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {tuned: {"tuned": tuned} for tuned in TUNINGS}
    parts: ClassVar[Mapping[str, str]] = {
        "ring": "the notes of an octave",
        "notes": "the notes of the chord",
        "gaps": "how far it is from each note to the next",
        "odd": "the gap that differs",
        "miss": "how far equal parts end from where they began",
        "number": "that distance in steps",
        "leading": "the leading note and the tonic to which it rises",
        "moves": "where each note goes",
        "keys": "the keys to which the same notes may lead",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("ring",),
        ("notes", "gaps"),
        ("odd", "miss", "number"),
        ("leading", "keys"),
        ("moves",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Circle(figure, look)
        now: dict[str, Any] = {}

        def update(chord: str, moved: int, tuned: str) -> None:
            now.update(form=chord, moved=moved, tuned=tuned)
            picture.show(chord, moved, tuned)
            light(SILENT)

        def light(playing: Playing) -> None:
            heard = _heard(**now)
            picture.sound([heard[place][2] for place in playing.notes], now["tuned"])

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, chord: str, moved: int, tuned: str) -> str:
        shown, unit, keys = turned_chord(chord, moved, tuned), _UNITS[tuned], keys_with(chord, moved, tuned)
        gaps = ", ".join(map(str, shown.gaps[:-1]))
        places = times(len(keys), "key")
        return (
            f"The {chord} {' '.join(note.name for note in shown.notes)} in {tuned}, its gap moved "
            f"{times(moved, 'time')}, has gaps of {gaps} and {shown.gaps[-1]} {unit}s; equal parts end "
            f"{_ends(shown.past, tuned)}, so it leads to {places}, {', '.join(keys)}: {shown.leading.name} rises "
            f"{times(shown.tonic.step(shown.tuning) - shown.leading.step(shown.tuning), unit)} to {shown.tonic.name}, "
            f"and {tuned} has {shown.kinds} such chords."
        )

    def numbers(self, chord: str, moved: int, tuned: str) -> Mapping[str, str]:
        shown = turned_chord(chord, moved, tuned)
        return {
            "gap": str(shown.gaps[-1]),
            "others": str(shown.gaps[0]),
            "past": str(abs(shown.past)),
            "kinds": str(shown.kinds),
            "keys": str(len(keys_with(chord, moved, tuned))),
            "leading": shown.leading.name,
            "tonic": shown.tonic.name,
            "rises": str(shown.tonic.step(shown.tuning) - shown.leading.step(shown.tuning)),
        }

    def score(self, chord: str, moved: int, tuned: str) -> Score:
        return Score(
            tuple(
                ScoreNote(onset=onset, duration=lasting, hertz=note.hz(TUNINGS[tuned]), level=0.35)
                for onset, lasting, note in _heard(chord, moved, tuned)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _ends(past: int, tuned: str) -> str:
    """Where equal parts end, in words."""
    if not past:
        return "where they began"
    return f"{times(abs(past), _UNITS[tuned])} {'past' if past > 0 else 'short of'} where they began"


class _Circle:
    """The ring of an octave with a chord on it, and in words beside it where the chord leads."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme, free = look.theme, field_of(look)
        self._look = look
        axes = in_inches(figure, look)
        width, height = look.inches
        self._radius = radius = look.fit(1.8, 1.62, 1.36)
        self._names = radius + look.fit(0.36, 0.38, 0.35)
        edge = self._names + 0.16
        centre = look.fit(
            (free.right - edge - 0.15, height / 2), (width / 2, free.top - edge - 0.1), (width / 2, free.top - edge)
        )
        around: dict[str, Any] = {"transform": Around(centre) + axes.transData}
        style: dict[str, Any] = {"solid_capstyle": "round", "solid_joinstyle": "round"} | around
        whole = np.linspace(0, 1, 241)
        (circle,) = axes.plot(whole, np.full(whole.shape, radius), color=theme.line, lw=1.2, **around)
        (self._all,) = axes.plot([], [], ls="none", ms=6, color=theme.line, **around)
        self._arcs = [axes.plot([], [], lw=5, **style)[0] for _ in range(MOST_NOTES)]
        self._miss = Polygon(np.zeros((2, 2)), closed=True, lw=1.6, joinstyle="round", **around)
        axes.add_patch(self._miss)
        (self._home,) = axes.plot([], [], color=theme.ink, lw=2.5, **style)
        self._others = [axes.plot([], [], color=theme.line, lw=2, **style)[0] for _ in range(MOST_NOTES)]
        (self._arrow,) = axes.plot([], [], color=theme.ink, lw=3.5, **style)
        (self._tonic,) = axes.plot([], [], "o", ms=15, mfc=theme.behind_text, mec=theme.ink, mew=2.5, **around)
        (self._dots,) = axes.plot([], [], ls="none", ms=15, **look.ring(), **around)
        (self._lit,) = axes.plot([], [], ls="none", ms=17, color=theme.ink, **look.ring(), **around)
        middle: dict[str, Any] = {"ha": "center", "va": "center"} | around
        self._labels = [look.text(axes, 0, 0, **middle) for _ in range(MOST_NOTES)]
        self._called = [look.text(axes, 0, 0, **middle) for _ in range(MOST_NOTES)]
        self._to = look.text(axes, 0, 0, size="name", **middle)
        x, y = centre
        self._number = look.headline(axes, x, y + look.fit(0.06, 0.02, 0.0), below=True, ha="center")
        left, line = MARGIN, 1.75 * look.size("label") / 72
        self._said = look.text(axes, left, look.fit(4.05, 4.06), size="name", visible=not look.square)
        rows = look.fit(3.48, 3.5) - look.fit(0.4, 0.48) * np.arange(0 if look.square else MOST_VOICES)
        self._rows = [
            look.text(axes, left + look.fit(0.6, 0.7), y, size="name", weight="normal") for y in rows.tolist()
        ]
        self._sizes = [look.text(axes, left + look.fit(0.42, 0.48), y, size="name", ha="right") for y in rows.tolist()]
        foot = look.fit(free.bottom + line, free.bottom + line, 0.56)
        self._moved = look.text(axes, left, foot + 0.85 * line, color=theme.grey, visible=not look.square)
        self._leads = look.text(axes, left, foot)
        self._kinds = look.text(axes, left, foot - look.fit(0.85, 0.85, 0.6) * line, color=theme.grey)
        self.moving = (
            self._all, *self._arcs, self._miss, self._home, *self._others, self._arrow, self._tonic, self._dots,
            self._lit, *self._labels, *self._called, self._to, *self._number.artists, self._said, *self._rows,
            *self._sizes, self._moved, self._leads, self._kinds,
        )  # fmt: skip
        self.parts = {
            "ring": (circle, self._all),
            "notes": (self._dots, *self._called),
            "gaps": (*self._arcs[:-1], *self._labels[:-1]),
            "odd": (self._arcs[-1], self._labels[-1]),
            "miss": (self._miss, self._home),
            "number": self._number.artists,
            "leading": (self._arrow, self._tonic, self._to),
            "moves": (*self._rows, *self._sizes, self._moved) if self._rows else (self._tonic,),
            "keys": (*self._others, self._said, self._leads, self._kinds),
        }

    def show(self, form: str, moved: int, tuned: str) -> None:
        """Show a chord in a tuning; nothing sounds."""
        shown, keys = turned_chord(form, moved, tuned), keys_with(form, moved, tuned)
        theme, size, unit = self._look.theme, len(TUNINGS[tuned]), _UNITS[tuned]
        tint = theme.of(size)
        self._all.set_data(np.arange(size) / size, np.full(size, self._radius))
        self._all.set_marker(tint.marker)
        turns = np.array(shown.steps) / size
        count = len(turns)
        self._dots.set_data(turns, np.full(count, self._radius))
        self._dots.set(marker=tint.marker, color=tint.full, mec=theme.behind_text)
        for i in range(MOST_NOTES):
            last = i == MOST_NOTES - 1  # the last artist is always the gap that differs
            at = count - 1 if last else i
            for artist in (self._arcs[i], self._labels[i]):
                artist.set_visible(last or i < count - 1)
            self._called[i].set_visible(i < count)
            if i < count:
                self._called[i].set(text=shown.notes[i].name, position=(turns[i], self._names))
                self._called[i].set_color(theme.ink)
            if last or i < count - 1:
                along = turns[at] + np.linspace(0, shown.gaps[at] / size, 40)
                self._arcs[i].set_data(along, np.full(along.shape, self._radius))
                odd = last and shown.past
                self._arcs[i].set(color=tint.full if odd else tint.dim, lw=8 if odd else 4)
                self._labels[i].set(text=str(shown.gaps[at]), position=(along[20], self._radius - 0.28))
                self._labels[i].set(color=theme.ink if odd else theme.grey, weight="bold" if odd else "normal")
        home, past = turns[0], shown.past / size
        self._miss.set_xy(_sector(home, home + past, self._radius - 0.46, self._radius))
        self._miss.set(facecolor=tint.fill, edgecolor=tint.full, visible=bool(shown.past))
        self._home.set_data([home, home], [self._radius - 0.46, self._radius])
        rises = shown.tonic.step(shown.tuning) - shown.leading.step(shown.tuning)
        start = shown.leading.step(shown.tuning) / size
        self._arrow.set_data(*self._arrow_from(start, rises / size))
        self._tonic.set_data([start + rises / size], [self._radius])
        self._to.set(text=shown.tonic.name, position=(start + rises / size, self._names + 0.03))
        leading = {turned_chord(form, moved + k, tuned).leading.step(shown.tuning) % size for k in range(len(keys))}
        for i, line in enumerate(self._others):
            seen = i < count and shown.notes[i] != shown.leading and shown.steps[i] % size in leading
            line.set_visible(seen)
            if seen:
                line.set_data(*self._arrow_from(turns[i], rises / size))
        self._number.say(str(abs(shown.past)), self._short(shown.past, unit))
        self._say(form, moved, tuned)

    @staticmethod
    def _short(past: int, unit: str) -> str:
        if not past:
            return "it closes"
        return f"{unit} {'past' if past > 0 else 'short'}"

    def _say(self, form: str, moved: int, tuned: str) -> None:
        """Where the chord leads, in words, as far as there is room for them."""
        shown, keys = turned_chord(form, moved, tuned), keys_with(form, moved, tuned)
        self._said.set_text(f"{form[0].upper()}{form[1:]}, to {shown.tonic.name}")
        square = self._look.square
        places = times(len(keys), "key")
        self._leads.set_text(f"to {places}" if square else f"leads to {places}: {', '.join(keys)}")
        self._moved.set_text(have_moved(form, moved, tuned))
        self._kinds.set_text(f"{shown.kinds} kinds" if square else f"{tuned} has {shown.kinds} of them")
        rows = tuple(zip(shown.dominant, shown.resolved, shown.moves, strict=True))
        for i, (text, size) in enumerate(zip(self._rows, self._sizes, strict=True)):
            for artist in (text, size):
                artist.set_visible(i < len(rows))
            if i < len(rows):
                here, there, move = rows[i]
                size.set_text(signed(move) if move else "0")
                text.set_text(f"{here.name} to {there.name}" if move else f"{here.name} stays")
                for artist in (text, size):
                    artist.set_color(self._look.theme.ink if here == shown.leading else self._look.theme.grey)

    def sound(self, notes: list[Note], tuned: str) -> None:
        """Light up the notes that sound, wherever they are on the ring."""
        size = len(TUNINGS[tuned])
        turns = np.array([note.step(TUNINGS[tuned]) / size for note in notes])
        self._lit.set_data(turns, np.full(turns.shape, self._radius))
        self._lit.set_marker(self._look.theme.of(size).marker)

    def _arrow_from(self, start: float, way: float) -> tuple[FloatArray, FloatArray]:
        """An arrow outside the ring, from beside a note to before another a part of a turn farther on."""
        far, inch = self._radius + 0.2, 1 / (2 * np.pi * self._radius)
        tip, tail = start + way - 0.1 * inch, start + 0.1 * inch
        along = np.linspace(tail, tip, 30)
        wing = 0.12
        return (
            np.concatenate([along, [tip - wing * inch, tip, tip - wing * inch]]),
            np.concatenate([np.full(30, far), [far + wing, far, far - wing]]),
        )


def _sector(start: float, end: float, inner: float, outer: float) -> FloatArray:
    """The outline of a part of a ring, in turns and inches."""
    turns = np.linspace(start, end, 20)
    return np.column_stack(
        [np.concatenate([turns, turns[::-1]]), np.concatenate([np.full(20, outer), np.full(20, inner)])]
    )
