"""The projector: the picture of a whole clip at any moment, made of its exhibits' pictures."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.colors import to_rgba

from tunelib.exhibits import SHORT_SIDE
from tunelib.film.acts import Entry, Programme
from tunelib.film.blending import Pixels, blended
from tunelib.film.morph import Morph, shared_parts
from tunelib.film.performance import Performance, State
from tunelib.film.timeline import EASES
from tunelib.show import Size, find_size


class Projector:
    """Draws the pictures of a clip.

    Parameters
    ----------
    programme : Programme
    size : str
        One of the sizes of a clip.
    theme : str
    sound : str
        As for the soundtrack, so that what sounds lights up.

    Raises ValueError for a title that has no room, for two exhibits beside each other where there is room for one, for
    a zoom there, and for a morph of exhibits that share no parts.
    """

    def __init__(self, programme: Programme, size: str, theme: str, sound: str) -> None:
        whole = find_size(size)
        self.pixels = whole.pixels
        self._beside = programme.beside
        half = _half(whole, size) if programme.beside else whole
        self.performances = [
            Performance(programme, number, half if programme.beside and number < 2 else whole, theme, sound)
            for number in range(len(programme.entries))
        ]
        self.theme = self.performances[0].stage.look.theme
        self._later = 2 if programme.beside else 1
        for number, name in enumerate(programme.names):
            try:
                self._check(number)
            except ValueError as error:
                raise ValueError(f"{name}{error}") from None
        self._left: tuple[int, Pixels] | None = None  # what is left behind on the way to an act
        self._morph: tuple[int, Morph] | None = None

    def _check(self, number: int) -> None:
        """Whether an act can be drawn as it is asked for."""
        one = self.performances[number]
        for which, point in enumerate(one.entry.points, start=1):
            if "zoom" in point.how and len(self._group(number)) == 2:
                raise ValueError(f"point {which}: there is no room to zoom where two exhibits are beside each other")
            if not one.shows(point):
                raise ValueError(f"point {which}: at {point.at:g} s {point.part} is not in the picture")
        if one.entry.transition == "morph":
            if len(self._before(number)) == 2:
                raise ValueError("of two exhibits beside each other, neither can morph; a cross-fade suits them")
            shared_parts(self.performances[number - 1], one)

    def state(self, seconds: float) -> Any:
        """What the picture at a moment depends on; what is equal looks the same."""
        now, way = self._now(seconds)
        states = [self.performances[number].state(seconds) for number in self._group(now)]
        return now, way, states

    def picture(self, state: Any) -> Pixels:
        """The picture in a state."""
        now, way, states = state
        if way >= 1:
            self._left = None
            return self._drawn(now, states)
        entry = self.performances[now].entry
        eased = EASES["in and out"](way)
        if entry.transition == "morph":
            return self._morphed(now).pixels(eased)
        if self._left is None or self._left[0] != now:
            before = self._before(now)
            leaving = [self.performances[number].state(entry.begins) for number in before]
            self._left = now, self._drawn(before[0], leaving).copy()
        return blended(self._left[1], self._drawn(now, states), eased)

    def _morphed(self, now: int) -> Morph:
        """The way to an act by a morph: from the one before as it leaves to this as it will be there."""
        if self._morph is None or self._morph[0] != now:
            here, there = self.performances[now - 1], self.performances[now]
            begins, arrives = there.entry.begins, there.entry.arrives
            self._morph = now, Morph((here, here.state(begins)), (there, there.state(arrives)))
        return self._morph[1]

    def _now(self, seconds: float) -> tuple[int, float]:
        """The number of the act that is on or coming, and how far it has come."""
        now = 0
        for number in range(self._later, len(self.performances)):
            if self.performances[number].entry.begins <= seconds:
                now = number
        entry = self.performances[now].entry
        return now, 1.0 if seconds >= entry.arrives else (seconds - entry.begins) / _lasts(entry)

    def _group(self, number: int) -> list[int]:
        """The numbers of all acts that are on with one."""
        return [0, 1] if self._beside and number < 2 else [number]

    def _before(self, number: int) -> list[int]:
        return self._group(0 if number == self._later else number - 1)

    def _drawn(self, number: int, states: list[State]) -> Pixels:
        pictures = [self.performances[n].picture(s) for n, s in zip(self._group(number), states, strict=True)]
        return pictures[0] if len(pictures) == 1 else self._put_together(pictures)

    def _put_together(self, pictures: list[Pixels]) -> Pixels:
        """Two pictures side by side, or one above the other where the whole is upright."""
        width, height = self.pixels
        side = pictures[0].shape[0]
        paper = [round(255 * part) for part in to_rgba(self.theme.paper or "none")]
        out = np.empty((height, width, 4), np.uint8)
        out[...] = paper
        for number, picture in enumerate(pictures):
            along = number * max(width, height) // 2
            left, top = (along, (height - side) // 2) if width > height else ((width - side) // 2, along)
            out[top : top + side, left : left + side] = picture
        return out


def _half(whole: Size, name: str) -> Size:
    """The size of each of two exhibits: a square as long as half of the longer side."""
    width, height = whole.pixels
    if width == height:
        raise ValueError(f"two exhibits do not fit beside each other in the size {name!r}")
    side = max(width, height) // 2
    return Size(SHORT_SIDE, SHORT_SIDE, side / SHORT_SIDE * (1 + 1e-9))


def _lasts(entry: Entry) -> float:
    return entry.arrives - entry.begins
