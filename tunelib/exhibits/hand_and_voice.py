"""A note beside the familiar ones, as those who make it see it: fingers on strings, and the height of a voice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tunelib.exhibits.inches import field_of, level_strokes, strokes
from tunelib.exhibits.look import Look
from tunelib.pitch import THIRTY_ONE, Note, cents, equal, spell

if TYPE_CHECKING:
    from tunelib.exhibits.familiar import Place

_REACH = 0.345  # of a string's length, from the nut: no finger goes farther
_STRINGS = 4
_TWELVE = equal(12)
_FIRST_STEP = cents(THIRTY_ONE.hz(0) / _TWELVE.hz(0))
_STRIP = 0.95  # inches that the octave takes at the bottom of the picture


class OctaveStrip:
    """The octave at the foot of the picture: its twelve familiar notes, and the thirty-one, one of them picked out."""

    def __init__(self, axes: Axes, look: Look) -> None:
        theme, field = look.theme, field_of(look)
        named = look.fit(0.32, 0.36, 0.36)
        self._left, self._inch = field.left + 0.12 + named, (field.width - 0.24 - named) / 1200
        low = field.bottom + look.fit(0.26, 0.3, 0.28)
        self._low = low
        known = axes.plot(*self._strokes(100.0 * np.arange(13), 0.25, 0.42), color=theme.twelve.full, lw=4)
        self._pitches = THIRTY_ONE.cents + _FIRST_STEP
        new = axes.plot(*self._strokes(self._pitches, 0.0, 0.17), color=theme.thirty_one.dim, lw=4)
        letters = [pitch for pitch in range(13) if len(spell(pitch, _TWELVE).name) == 1]
        names = [
            look.text(axes, self.across(100 * pitch), low - look.fit(0.22, 0.26, 0.25),
                      spell(pitch, _TWELVE).name, ha="center", color=theme.grey)
            for pitch in letters
        ]  # fmt: skip
        counts = [
            look.text(axes, field.left, low + height, str(count), va="center", color=colour)
            for count, height, colour in (
                (len(_TWELVE), 0.335, theme.twelve.text), (len(THIRTY_ONE), 0.085, theme.thirty_one.text),
            )
        ]  # fmt: skip
        (self._here,) = axes.plot([], [], color=theme.ink, lw=5, solid_capstyle="round")
        self.moving = (self._here,)
        self.artists = (*known, *new, *names, *counts, self._here)

    def across(self, pitches: Any) -> Any:
        """Where so many cents above the C of twelve are, in inches from the left."""
        return self._left + np.asarray(pitches) * self._inch

    def _strokes(self, pitches: Any, low: float, high: float) -> tuple[Any, Any]:
        return strokes(self.across(pitches), self._low + low, self._low + high)

    def show(self, step: int) -> None:
        """Pick out a note, by its number of steps above C."""
        self._here.set_data(*self._strokes(self._pitches[step], -0.02, 0.44))


class NoteStage:
    """What all ways of making a note have: artists of each part, shown or not, and where the reading is."""

    def __init__(self, axes: Axes, look: Look) -> None:
        theme = look.theme
        self._look, self._field = look, field_of(look)
        self.upright = look.tall and not look.square
        self._gap = Rectangle((0, 0), 0, 0, fc=theme.thirty_one.fill, ec=theme.thirty_one.full, lw=1.5, zorder=1.2)
        axes.add_patch(self._gap)
        self._known = axes.plot([], [], color=theme.twelve.full, solid_capstyle="round", zorder=1.6)[0]
        self._known_names = [look.text(axes, 0, 0) for _ in range(2)]
        self._name = look.text(axes, 0, 0, size="name")
        self._bottom = self._field.bottom + _STRIP
        self._ground: tuple[Any, ...] = ()

    def see(self, shown: bool) -> None:
        """Show it all, or nothing of it."""
        for artist in self.moving:
            artist.set_visible(shown)

    @property
    def moving(self) -> tuple[Any, ...]:
        """All that moves, what is on top last."""
        ground, gap = self._ground, self._gap
        others = [artist for artists in self.parts.values() for artist in artists if artist not in (*ground, gap)]
        return (*ground, gap, *others)

    @property
    def parts(self) -> dict[str, tuple[Any, ...]]:
        """Its artists, by the names of the exhibit's parts."""
        raise NotImplementedError

    def show(self, place: Place) -> None:
        """Put the new note between the familiar ones."""
        raise NotImplementedError

    def light(self, place: Place, heard: set[str]) -> None:
        """Light up what sounds: the familiar note, the new one, or both."""
        raise NotImplementedError

    def reading(self, place: Place) -> tuple[tuple[float, float], list[tuple[float, float]]]:
        """Where the headline is, and the lines that follow it."""
        raise NotImplementedError


class Hand(NoteStage):
    """The strings from the nut on, with tapes where the familiar notes are, and a finger on the new one."""

    def __init__(self, axes: Axes, look: Look) -> None:
        super().__init__(axes, look)
        theme, tint, field = look.theme, look.theme.thirty_one, self._field
        if self.upright:
            self._low, self._width = field.left + 0.55, 2.1
            self._start = field.top - 0.42
            self._length = self._start - self._bottom - 0.25
        else:
            self._width = look.fit(1.5, 0.0, 1.02)
            self._low = field.top - look.fit(0.34, 0.0, 0.36) - self._width
            self._start = field.left + 0.32
            self._length = field.right - self._start
        self._board = Rectangle((0, 0), 0, 0, fc=theme.ground, ec="none", zorder=0.5)
        axes.add_patch(self._board)
        self._ground = (self._board,)
        self._stretch(self._board, (0, 1), (0, 1))
        self._nut = axes.plot(
            *self._strokes(0, -0.03, 1.03), color=theme.ink, lw=7, solid_capstyle="round", zorder=1.3
        )[0]
        heights = (np.arange(_STRINGS) + 0.5) / _STRINGS
        self._heights = heights.tolist()
        self._strings = axes.plot(*self._point(*level_strokes(heights, 0, 1)), color=theme.grey, lw=1.2, zorder=1.7)[0]
        self._string_names = [look.text(axes, 0, 0, ha=look.fit("right", "center", "right"), va="center")
                              for _ in range(_STRINGS)]  # fmt: skip
        self._played = axes.plot([], [], color=theme.ink, lw=3.5, solid_capstyle="round", zorder=1.8)[0]
        self._finger = axes.plot([], [], "o", ms=24, mfc=tint.full, mec=theme.ink, mew=3, zorder=3)[0]
        self._familiar = axes.plot([], [], "o", ms=13, color=theme.twelve.full, zorder=2.5, **look.ring())[0]
        self._known.set_linewidth(6)
        for text in self._known_names:
            text.set(ha=look.fit("center", "right", "center"), va="center")
        self._name.set(ha=look.fit("center", "left", "center"), va="center")
        self._row = 0.0

    @property
    def parts(self) -> dict[str, tuple[Any, ...]]:
        """Its artists, by the names of the exhibit's parts."""
        return {
            "stage": (self._board, self._nut, self._strings, *self._string_names),
            "known": (self._known, self._familiar, *self._known_names),
            "note": (self._played, self._finger, self._name),
            "gap": (self._gap,),
        }

    def set_up(self, strings: list[str], played: str) -> None:
        """Name the strings, the lowest first, and pick out the one that is played."""
        ink, grey = self._look.theme.ink, self._look.theme.grey
        for text, name, height in zip(self._string_names, strings, self._heights, strict=True):
            text.set_text(name)
            text.set_position(self._point(-0.16 / self._length, height))
            text.set_color(ink if name == played else grey)
            text.set_fontweight("bold" if name == played else "normal")
        self._row = self._heights[strings.index(played)]

    def show(self, place: Place) -> None:
        """Put the finger and the tapes in their places."""
        self._known.set_data(*self._strokes([self._along(place, mm) for mm in _tapes(place)], 0.0, 1.0))
        for text, tape, note in zip(self._known_names, _tapes(place), (place.lower, place.upper), strict=True):
            text.set_text(short_name(note, self._look))
            text.set_position(self._point(self._along(place, tape), -0.1 if self.upright else 1.12))
        at, familiar = self._along(place, place.finger), self._along(place, place.familiar_finger)
        self._stretch(self._gap, (familiar, at), (0, 1))
        self._finger.set_data(*self._point([at], [self._row]))
        self._finger.set_markersize(24)
        self._familiar.set_data(*self._point([np.nan], [self._row]))
        self._played.set_data(*self._point([at, 1], [self._row] * 2))
        self._name.set_text(short_name(place.note, self._look))
        x, y = self._point(at, 0)
        beside = self._low + self._width + 0.16, self._level(y)
        self._name.set_position(beside if self.upright else (x, self._low - 0.22))

    def light(self, place: Place, heard: set[str]) -> None:
        """Light up what sounds: the familiar note, the new one, or both."""
        if "note" in heard:
            self._finger.set_markersize(33)
        if "familiar" in heard:
            at = self._along(place, place.familiar_finger)
            self._familiar.set_data(*self._point([at], [self._row]))
            self._familiar.set_markersize(20)

    def reading(self, place: Place) -> tuple[tuple[float, float], list[tuple[float, float]]]:
        """Where the headline is, and the lines that follow it."""
        x, y = (float(part) for part in self._point(self._along(place, place.finger), 0))
        field = self._field
        if self.upright:
            left, top = self._low + self._width + 0.16, self._level(y)
            return (left, top - 0.78), [(left, top - 1.5), (left, top - 1.77)]
        before, after = self._look.fit((1.1, 2.3), (0.0, 0.0), (1.45, 2.1))
        left = float(np.clip(x + 0.3, field.left + before, field.right - after))
        level = self._low - self._look.fit(0.86, 0.0, 0.98)
        line = max(field.left, left + self._look.fit(0.1, 0.0, -1.2)), level - self._look.fit(0.3, 0.0, 0.36)
        return (left, level), [line, line]

    def _level(self, finger: float) -> float:
        """The height of the words beside a finger, where all of them have room."""
        return float(np.clip(finger, self._bottom + 2.1, self._field.top - 0.3))

    def _along(self, place: Place, millimetres: float) -> float:
        return millimetres / place.length / _REACH

    def _point(self, along: Any, across: Any) -> tuple[Any, Any]:
        along, across = np.asarray(along) * self._length, self._low + np.asarray(across) * self._width
        return (across, self._start - along) if self.upright else (self._start + along, across)

    def _strokes(self, along: Any, low: float, high: float) -> tuple[Any, Any]:
        return self._point(*strokes(along, low, high))

    def _stretch(self, patch: Rectangle, along: tuple[float, float], across: tuple[float, float]) -> None:
        (x0, x1), (y0, y1) = self._point(np.array(along), np.array(across))
        patch.set_bounds(x0, y0, x1 - x0, y1 - y0)


class Height(NoteStage):
    """Two familiar notes a semitone apart as levels, and the new note between them."""

    def __init__(self, axes: Axes, look: Look) -> None:
        super().__init__(axes, look)
        theme, field = look.theme, self._field
        name = look.fit(0.6, 0.7)
        self._left, self._right = field.left + name, field.right - name
        self._ends = self._bottom + look.fit(0.42, 0.5, 0.36), field.top - look.fit(0.22, 0.35, 0.3)
        self._note = axes.plot([], [], color=theme.thirty_one.full, solid_capstyle="round", zorder=2)[0]
        self._familiar = axes.plot([], [], color=theme.twelve.full, lw=12, solid_capstyle="round", zorder=1.7)[0]
        self._known.set_linewidth(5)
        for text in self._known_names:
            text.set(ha="left", va="center")
        self._name.set(ha="left", va="center")

    @property
    def parts(self) -> dict[str, tuple[Any, ...]]:
        """Its artists, by the names of the exhibit's parts."""
        return {
            "stage": (),
            "known": (self._known, self._familiar, *self._known_names),
            "note": (self._note, self._name),
            "gap": (self._gap,),
        }

    def show(self, place: Place) -> None:
        """Put the new note between the two familiar ones."""
        low, high = self._ends
        self._known.set_data([self._left, self._right, np.nan] * 2, [low, low, np.nan, high, high, np.nan])
        for text, note, height in zip(self._known_names, (place.lower, place.upper), (low, high), strict=True):
            text.set_text(str(note))
            text.set_position((self._field.left, height))
        at, familiar = self._at(place.above), low if place.familiar == place.lower else high
        self._gap.set_bounds(self._left, familiar, self._right - self._left, at - familiar)
        self._note.set_data([self._left, self._right], [at, at])
        self._note.set_linewidth(6)
        self._familiar.set_data([np.nan, np.nan], [familiar, familiar])
        self._name.set_text(short_name(place.note, self._look))
        self._name.set_position((self._right + 0.12, at))

    def light(self, place: Place, heard: set[str]) -> None:
        """Light up what sounds: the familiar note, the new one, or both."""
        if "note" in heard:
            self._note.set_linewidth(13)
        if "familiar" in heard:
            familiar = self._ends[0 if place.familiar == place.lower else 1]
            self._familiar.set_data([self._left, self._right], [familiar] * 2)

    def reading(self, place: Place) -> tuple[tuple[float, float], list[tuple[float, float]]]:
        """Where the headline is, and the lines that follow it: on the side of the note that is not filled."""
        at = self._at(place.above)
        fit = self._look.fit
        left = self._left + fit(2.2, 0.15, 1.35)
        level = at + fit(0.5, 0.95, 0.55) if place.familiar == place.lower else at - fit(0.62, 0.75, 0.7)
        line = left + fit(0.1, 0.0, 0.12), level - fit(0.3, 0.75, 0.33)
        return (left, level), [line, line]

    def _at(self, above: float) -> float:
        low, high = self._ends
        return low + (high - low) * above / 100


def _tapes(place: Place) -> tuple[float, float]:
    return place.lower_finger, place.upper_finger


def short_name(note: Note, look: Look) -> str:
    """A note's name, without its octave where there is little room."""
    return note.name if look.tall else str(note)
