"""A note between two keys of a piano: how far it is from the nearer one, with the octave of the keyboard below it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tunelib.exhibits.hand_and_voice import NoteStage, OctaveStrip, short_name
from tunelib.exhibits.inches import strokes
from tunelib.exhibits.key_row import KeyRow
from tunelib.exhibits.look import Look
from tunelib.pitch import equal

if TYPE_CHECKING:
    from tunelib.exhibits.familiar import Place

_TWELVE = equal(12)
_OCTAVE = (0, 12)  # keys, in semitones above C
_BEFORE, _AFTER = 1.1, 2.35  # inches that a headline takes on either side of where its words begin
_CLEAR = 0.5  # inches between the middle of the note's name and the headline


class BetweenKeys(NoteStage):
    """An octave of a piano, each key above its stroke in the octave at the foot, and the new note among them."""

    def __init__(self, axes: Axes, look: Look, octave: OctaveStrip) -> None:
        super().__init__(axes, look)
        theme, tint = look.theme, look.theme.thirty_one
        self._across = octave.across
        self._near = self._bottom + look.fit(0.4, 0.6, 0.42)
        self._far = self._near + look.fit(1.25, 3.6, 0.85)
        self._row = KeyRow(axes, look, self._across, _OCTAVE, self._near, self._far)
        self._row.begin(0)
        self._ground = self._row.artists
        left, right, low, high = self._field.sides
        for artist in self._ground:  # the keyboard goes on beyond the margin
            artist.set_clip_path(Rectangle((left, low), right - left, high - low, transform=axes.transData))
        self._note = axes.plot([], [], color=tint.full, solid_capstyle="round", zorder=2.2)[0]
        self._familiar = axes.plot([], [], "o", ms=20, color=theme.twelve.full, zorder=2.5, **look.ring())[0]
        self._known.set_linewidth(5)
        for text in self._known_names:
            text.set(ha="center", va="center", y=self._near - look.fit(0.2, 0.26, 0.22))
        self._name.set(ha="center", va="center", y=self._far + look.fit(0.34, 0.42, 0.36))

    @property
    def parts(self) -> dict[str, tuple[Any, ...]]:
        """Its artists, by the names of the exhibit's parts."""
        return {
            "stage": self._ground,
            "known": (self._known, self._familiar, *self._known_names),
            "note": (self._note, self._name),
            "gap": (self._gap,),
        }

    def show(self, place: Place) -> None:
        """Put the new note between the two keys."""
        lower = _semitones(place)
        sides = [float(self._across(100 * (lower + i))) for i in (0, 1)]
        at = float(self._across(100 * lower + place.above))
        self._known.set_data(*strokes(sides, self._near, self._far))
        for text, side, note in zip(self._known_names, sides, (place.lower, place.upper), strict=True):
            text.set_text(short_name(note, self._look))
            text.set_x(side)
        familiar = sides[place.familiar == place.upper]
        self._gap.set_bounds(min(at, familiar), self._near, abs(at - familiar), self._far - self._near)
        self._note.set_data([at, at], [self._near, self._far + 0.12])
        self._note.set_linewidth(6)
        self._familiar.set_data([np.nan], [np.nan])
        self._name.set_text(short_name(place.note, self._look))
        self._name.set_x(at)

    def light(self, place: Place, heard: set[str]) -> None:
        """Light up what sounds: the familiar key, the new note, or both."""
        if "note" in heard:
            self._note.set_linewidth(13)
        if "familiar" in heard:
            semitones = _semitones(place) + (place.familiar == place.upper)
            self._familiar.set_data([self._across(100 * semitones)], [self._near + 0.2])

    def reading(self, place: Place) -> tuple[tuple[float, float], list[tuple[float, float]]]:
        """Where the headline is, and the lines that follow it: on the side of the note's name where there is room."""
        field, fit = self._field, self._look.fit
        at = float(self._across(100 * _semitones(place) + place.above))
        if self._look.tall:
            left, level = field.left + fit(0.0, 0.15, 1.35), self._far + fit(0.0, 1.75, 0.95)
            below = level - fit(0.0, 0.75, 0.33)
            return (left, level), [(left + fit(0.0, 0.0, -1.2), below)] * 2
        left = at + _CLEAR + _BEFORE
        if left + _AFTER > field.right:
            left = at - _CLEAR - _AFTER
        level = self._far + 0.55
        return (left, level), [(left + 0.1, level - 0.3)] * 2


def _semitones(place: Place) -> int:
    """Of the lower of the two keys, above the C of its octave."""
    return place.lower.step(_TWELVE) % len(_TWELVE)
