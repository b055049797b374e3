"""The way from one picture to another: what changes moves from where it was to where it will be.

It knows nothing of exhibits. It takes down how each artist is in the one picture and in the other, and sets it part of
the way: points glide, and so do colours, widths and sizes; what is seen in one of the two alone fades. Where a row has
more points in one picture than in the other, some of the fewer part or meet on the way. Words are those of the one
picture or of the other: where they differ they fade out at the beginning and in at the end, so that no number is ever
read that belongs to neither.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.collections import Collection, LineCollection, PathCollection, PolyCollection
from matplotlib.colors import to_rgba, to_rgba_array
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, PathPatch, Polygon, Rectangle, Wedge
from matplotlib.path import Path
from matplotlib.text import Text

from tunelib.pitch import FloatArray

FADED_OUT, FADES_IN = 0.3, 0.7  # of the way: until when old words fade, and from when on new ones appear

_State = dict[str, Any]


@dataclass(frozen=True)
class _Trait:
    """Something of an artist that changes: how it is read and set, and what it is part of the way."""

    read: Callable[[Any], Any]
    set: Callable[[Any, Any], None]
    between: Callable[[Any, Any, float], Any]


class Tween:
    """The way between two pictures of the same artists.

    Parameters
    ----------
    artists : sequence of Artist
    show_here, show_there : function
        Each sets the artists as they are in one of the two pictures. Both are called at once, the second last.
    """

    def __init__(
        self, artists: Sequence[Artist], show_here: Callable[[], None], show_there: Callable[[], None]
    ) -> None:
        self._artists = artists
        show_here()
        self._here = self._read()
        show_there()
        self._there = self._read()
        self._changing = [
            {name: trait for name, trait in _traits(artist).items() if not _same(here[name], there[name])}
            for artist, here, there in zip(artists, self._here, self._there, strict=True)
        ]

    def set(self, way: float, fading: bool = True) -> None:
        """Set the artists part of the way, from 0 to 1. Unless `fading`, words that differ change halfway."""
        for artist, traits, here, there in zip(self._artists, self._changing, self._here, self._there, strict=True):
            for name, trait in traits.items():
                trait.set(artist, trait.between(here[name], there[name], way))
            seen = _presence(artist, here, there, way, fading)
            if seen is not None:
                _show(artist, *seen)

    def leave(self) -> None:
        """Set the artists as they are in the second picture, with nothing left of the way there."""
        for artist, traits, there in zip(self._artists, self._changing, self._there, strict=True):
            for name, trait in traits.items():
                trait.set(artist, there[name])
            artist.set_alpha(there["_alpha"])
            artist.set_visible(there["_visible"])

    def _read(self) -> list[_State]:
        found = []
        for artist in self._artists:
            state: _State = {name: trait.read(artist) for name, trait in _traits(artist).items()}
            state["_alpha"], state["_visible"] = artist.get_alpha(), artist.get_visible()
            found.append(state)
        return found


def _presence(artist: Artist, here: _State, there: _State, way: float, fading: bool) -> tuple[float, float] | None:
    """How much of an artist is seen, and the opacity it has in full; None if it is there all the way as it is."""
    was, will_be = _there(artist, here), _there(artist, there)
    other_words = isinstance(artist, Text) and here["words"] != there["words"]
    if was and will_be and not (other_words and fading):
        return None if here["_alpha"] == there["_alpha"] else (1.0, _mixed(_opacity(here), _opacity(there), way))
    out, back = max(0.0, 1 - way / FADED_OUT), max(0.0, (way - FADES_IN) / (1 - FADES_IN))
    if not fading:
        out, back = 1 - way, way
    if was and will_be:
        return (out, _opacity(here)) if way < 0.5 else (back, _opacity(there))
    if was:
        return out, _opacity(here)
    return (back, _opacity(there)) if will_be else (0.0, 1.0)


def _there(artist: Artist, state: _State) -> bool:
    """Whether there is anything to be seen of an artist."""
    if isinstance(artist, Text):
        return bool(state["_visible"] and state["words"].strip())
    return bool(state["_visible"] and not ("points" in state and np.size(state["points"]) == 0))


def _opacity(state: _State) -> float:
    return 1.0 if state["_alpha"] is None else float(state["_alpha"])


def _show(artist: Artist, part: float, opacity: float) -> None:
    artist.set_visible(part > 0)
    artist.set_alpha(part * opacity)


def _traits(artist: Artist) -> dict[str, _Trait]:
    """What changes of an artist."""
    if isinstance(artist, Line2D):
        return _LINE
    if isinstance(artist, Text):
        return _TEXT
    if isinstance(artist, Patch):
        return _PATCH | next((traits for kind, traits in _SHAPES.items() if isinstance(artist, kind)), {})
    if isinstance(artist, Collection):
        return _COLLECTION | next((traits for kind, traits in _COLLECTIONS.items() if isinstance(artist, kind)), {})
    return {}


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray):
        return one.shape == other.shape and bool(np.array_equal(one, other, equal_nan=one.dtype.kind == "f"))
    if isinstance(one, list) and one and isinstance(one[0], np.ndarray):
        return len(one) == len(other) and all(_same(a, b) for a, b in zip(one, other, strict=True))
    return bool(one == other)


def _mixed(one: Any, other: Any, way: float) -> Any:
    return one + (other - one) * way


def _halfway(one: Any, other: Any, way: float) -> Any:
    return one if way < 0.5 else other


def _blended(one: Any, other: Any, way: float) -> Any:
    """Part of the way between two colours; a colour that is none takes the other's hue."""
    a, b = np.array(to_rgba(one)), np.array(to_rgba(other))
    a[:3], b[:3] = (b[:3] if a[3] == 0 else a[:3]), (a[:3] if b[3] == 0 else b[:3])
    return tuple(_mixed(a, b, way).tolist())


def _blended_marks(one: Any, other: Any, way: float) -> Any:
    """Part of the way between two colours of a line's marks, either of which may be whatever the line has."""
    return _halfway(one, other, way) if "auto" in (one, other) else _blended(one, other, way)


def _blended_rows(one: Any, other: Any, way: float) -> Any:
    a, b = (to_rgba_array(colours) for colours in (one, other))
    if not len(a) or not len(b):
        return _halfway(one, other, way)
    a, b = _paired(a, b)
    return _mixed(a, b, way)


def _paired(one: npt.NDArray[Any], other: npt.NDArray[Any]) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
    """Two rows made as long as the longer, each keeping its order and its ends."""
    most = max(len(one), len(other))
    return tuple(row[np.linspace(0, len(row) - 1, most).round().astype(int)] for row in (one, other))


def _glided(one: FloatArray, other: FloatArray, way: float) -> FloatArray:
    """Part of the way between two rows of points, whose strokes end at points that are not numbers."""
    if not len(one) or not len(other):
        return other if len(other) else one
    if one.shape == other.shape and np.array_equal(np.isnan(one), np.isnan(other)):
        return np.asarray(_mixed(one, other, way))
    strokes, others = _strokes(one), _strokes(other)
    if not strokes or not others:
        return other if others else one
    most = max(len(strokes), len(others))
    pairs = zip(
        *(
            [row[place] for place in np.linspace(0, len(row) - 1, most).round().astype(int)]
            for row in (strokes, others)
        ),
        strict=True,
    )
    gap = np.full((1, one.shape[1]), np.nan)
    parts = [part for a, b in pairs for part in (_mixed(*_paired(a, b), way), gap)]
    return np.concatenate(parts[:-1])


def _strokes(points: FloatArray) -> list[FloatArray]:
    """A row of points cut where it is not a number."""
    lost = np.isnan(points).any(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[True], lost, [True]]).astype(int)))
    return [points[start:end] for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _glided_rows(one: list[FloatArray], other: list[FloatArray], way: float) -> list[FloatArray]:
    if not one or not other:
        return other or one
    most = max(len(one), len(other))
    rows = ([row[place] for place in np.linspace(0, len(row) - 1, most).round().astype(int)] for row in (one, other))
    return [_glided(a, b, way) for a, b in zip(*rows, strict=True)]


def _trait(name: str, between: Callable[[Any, Any, float], Any]) -> _Trait:
    """A trait with matplotlib's own getter and setter."""
    return _Trait(
        lambda artist: getattr(artist, f"get_{name}")(),
        lambda artist, value: getattr(artist, f"set_{name}")(value),
        between,
    )


_LINE = {
    "points": _Trait(
        lambda line: np.column_stack([np.asarray(data, float) for data in line.get_data()]),
        lambda line, points: line.set_data(points[:, 0], points[:, 1]),
        _glided,
    ),
    "color": _trait("color", _blended),
    "width": _trait("linewidth", _mixed),
    "size": _trait("markersize", _mixed),
    "face": _Trait(lambda line: line._markerfacecolor, Line2D.set_markerfacecolor, _blended_marks),
    "edge": _Trait(lambda line: line._markeredgecolor, Line2D.set_markeredgecolor, _blended_marks),
    "edge width": _trait("markeredgewidth", _mixed),
    "marker": _trait("marker", _halfway),
}
_TEXT = {
    "words": _trait("text", _halfway),
    "place": _Trait(
        lambda text: np.array(text.get_unitless_position(), float), lambda text, place: text.set_position(place), _mixed
    ),
    "color": _trait("color", _blended),
    "type": _trait("fontsize", _halfway),
    "weight": _trait("fontweight", _halfway),
    "side": _trait("horizontalalignment", _halfway),
    "level": _trait("verticalalignment", _halfway),
}
_PATCH = {
    "face": _trait("facecolor", _blended),
    "edge": _trait("edgecolor", _blended),
    "width": _trait("linewidth", _mixed),
}
_SHAPES: dict[type[Patch], dict[str, _Trait]] = {
    Polygon: {
        "points": _Trait(
            lambda shape: np.array(shape.get_xy(), float), lambda shape, points: shape.set_xy(points), _glided
        )
    },
    Rectangle: {
        "bounds": _Trait(
            lambda shape: np.array([*shape.get_xy(), shape.get_width(), shape.get_height()], float),
            lambda shape, bounds: shape.set_bounds(*bounds),
            _mixed,
        )
    },
    Circle: {
        "centre": _Trait(
            lambda shape: np.array(shape.get_center(), float), lambda shape, at: shape.set_center(tuple(at)), _mixed
        ),
        "radius": _trait("radius", _mixed),
    },
    Wedge: {
        "angles": _Trait(
            lambda shape: np.array([shape.theta1, shape.theta2], float),
            lambda shape, angles: (shape.set_theta1(angles[0]), shape.set_theta2(angles[1])),  # type: ignore[arg-type]
            _mixed,
        ),
        "radius": _Trait(lambda shape: shape.r, lambda shape, radius: shape.set_radius(radius), _mixed),
    },
    PathPatch: {
        "path": _Trait(
            lambda shape: shape.get_path(),
            lambda shape, path: shape.set_path(path),
            lambda one, other, way: (
                Path(_mixed(one.vertices, other.vertices, way), one.codes)
                if one.vertices.shape == other.vertices.shape and np.array_equal(one.codes, other.codes)
                else _halfway(one, other, way)
            ),
        )
    },
}
_COLLECTION = {
    "face": _trait("facecolor", _blended_rows),
    "edge": _trait("edgecolor", _blended_rows),
    "widths": _Trait(
        lambda marks: np.atleast_1d(np.asarray(marks.get_linewidth(), float)),
        lambda marks, widths: marks.set_linewidth(widths),
        lambda one, other, way: _mixed(*_paired(one, other), way),
    ),
}
_COLLECTIONS: dict[type[Collection], dict[str, _Trait]] = {
    PathCollection: {
        "points": _Trait(
            lambda marks: np.array(marks.get_offsets(), float).reshape(-1, 2),
            lambda marks, points: marks.set_offsets(points),
            _glided,
        ),
        "sizes": _Trait(
            lambda marks: np.asarray(marks.get_sizes(), float),
            lambda marks, sizes: marks.set_sizes(sizes),
            lambda one, other, way: _mixed(*_paired(one, other), way),
        ),
    },
    LineCollection: {
        "strokes": _Trait(
            lambda lines: [np.array(path.vertices, float) for path in lines.get_paths()],
            lambda lines, strokes: lines.set_segments(strokes),
            _glided_rows,
        )
    },
    PolyCollection: {
        "strokes": _Trait(
            lambda shapes: [np.array(path.vertices, float) for path in shapes.get_paths()],
            lambda shapes, strokes: shapes.set_verts(strokes, closed=False),
            _glided_rows,
        )
    },
}
