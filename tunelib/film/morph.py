"""A morph: parts that two pictures share go from one place to the other, while the rest fades out, and in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.colors import to_rgba
from PIL import Image

from tunelib.film.blending import Pixels, blended, image
from tunelib.film.performance import Performance, State

_FADED_OUT, _FADES_IN = 0.4, 0.6  # of the way: until when the rest of the one goes, and from when on the other's comes
_EDGE = 2  # pixels round a part, for its soft edge


@dataclass(frozen=True)
class _Sprite:
    """A part alone: its picture cut close, and where its upper left corner is."""

    left: int
    top: int
    pixels: Pixels


class Morph:
    """The way from one exhibit's picture to another's.

    Parameters
    ----------
    here, there : (Performance, State)
        Who is seen, and in which state, at either end.

    Raises ValueError where they share no part that is seen in both.
    """

    def __init__(self, here: tuple[Performance, State], there: tuple[Performance, State]) -> None:
        shared = shared_parts(here[0], there[0])
        (self._here, ours), (self._there, theirs) = (one.apart(state, shared) for one, state in (here, there))
        both = [(_cut(ours[part]), _cut(theirs[part])) for part in shared]
        self._sprites = [(one, other) for one, other in both if one is not None and other is not None]
        for part, (one, other) in zip(shared, both, strict=True):  # what is seen in one alone fades with the rest
            if (one is None) != (other is None):
                self._here = self._here if one is None else _over(self._here, image(ours[part]), 0, 0)
                self._there = self._there if other is None else _over(self._there, image(theirs[part]), 0, 0)
        paper = here[0].stage.look.theme.paper
        self._paper = np.empty_like(self._here)
        self._paper[...] = [round(255 * part) for part in to_rgba(paper or "none")]
        if not self._sprites:
            raise ValueError(
                f"of the parts that {here[0].entry.exhibit.name} and {there[0].entry.exhibit.name} share, none is seen "
                "in both pictures; a cross-fade suits them"
            )

    def pixels(self, way: float) -> Pixels:
        """The picture part of the way, 0 to 1."""
        if way < 0.5:
            out = blended(self._here, self._paper, min(way / _FADED_OUT, 1.0))
        else:
            out = blended(self._paper, self._there, max((way - _FADES_IN) / (1 - _FADES_IN), 0.0))
        for one, other in self._sprites:
            left, top, width, height = (a + way * (b - a) for a, b in zip(_place(one), _place(other), strict=True))
            corner = int(np.floor(left)), int(np.floor(top))
            size = int(np.ceil(left + width)) - corner[0] + 1, int(np.ceil(top + height)) - corner[1] + 1
            inside = left - corner[0], top - corner[1], width, height
            mixed = blended(_stretched(one, size, inside), _stretched(other, size, inside), way)
            out = _over(out, image(mixed), *corner)
        return out


def shared_parts(one: Performance, other: Performance) -> Sequence[str]:
    """The names of parts that two exhibits share; ValueError, naming what each has, if there are none."""
    exhibits = one.entry.exhibit, other.entry.exhibit
    shared = [name for name in exhibits[0].parts if name in exhibits[1].parts]
    if shared:
        return shared
    have = " and ".join(f"{exhibit.name} has {', '.join(exhibit.parts) or 'none'}" for exhibit in exhibits)
    raise ValueError(f"a morph needs parts that both exhibits have; {have}: a cross-fade suits them")


def _place(sprite: _Sprite) -> tuple[float, float, float, float]:
    height, width, _ = sprite.pixels.shape
    return sprite.left, sprite.top, width, height


def _cut(alone: Pixels) -> _Sprite | None:
    """A part cut out of the clear picture that it is alone in; None if nothing of it is seen."""
    seen = alone[..., 3] > 0
    rows, columns = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    if not rows.size:
        return None
    top, left = max(int(rows[0]) - _EDGE, 0), max(int(columns[0]) - _EDGE, 0)
    return _Sprite(left, top, alone[top : int(rows[-1]) + _EDGE + 1, left : int(columns[-1]) + _EDGE + 1].copy())


def _stretched(sprite: _Sprite, size: tuple[int, int], inside: tuple[float, float, float, float]) -> Pixels:
    """A sprite stretched to a place within a clear picture; left, top, width and height need not be whole pixels."""
    left, top, width, height = inside
    across, down = sprite.pixels.shape[1] / width, sprite.pixels.shape[0] / height
    way_back = (across, 0.0, -left * across, 0.0, down, -top * down)
    made = image(sprite.pixels).transform(size, Image.Transform.AFFINE, way_back, Image.Resampling.BILINEAR)
    return np.asarray(made)


def _over(below: Pixels, above: Image.Image, left: int, top: int) -> Pixels:
    """A picture with a smaller one laid on it."""
    out = image(below).copy()
    x, y = max(left, 0), max(top, 0)
    out.alpha_composite(above, (x, y), (x - left, y - top))
    return np.asarray(out)
