"""The stage: an exhibit drawn once on a canvas, then only updated.

All that stays is drawn once and kept as pixels; a move restores those pixels and draws the moving artists over
them, which takes a tenth of the time of a full draw.
"""

from __future__ import annotations

import io
import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection, PathCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from PIL import Image

from tunelib.exhibits import (
    HEADING,
    LONG_SIDE,
    MARGIN,
    SHORT_SIDE,
    SILENT,
    Choice,
    Exhibit,
    Knob,
    Look,
    Playing,
    Switch,
    Words,
    families,
    find_theme,
)
from tunelib.pitch import look_up
from tunelib.show.lettering import Lettering
from tunelib.show.tween import Tween

_COMPACT_QUALITY = 85  # of JPEG, while a slider moves
_LETTERS = 11.5  # of a caption to the inch
_CLEAR = 0.1  # inches between a title and what is beside it


@dataclass(frozen=True)
class Size:
    """A size of picture: inches, and pixels to the inch."""

    width: float
    height: float
    dpi: float

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return round(self.width * self.dpi), round(self.height * self.dpi)


SIZES = {
    "panel": Size(LONG_SIDE, SHORT_SIDE, 100),
    "panel at double density": Size(LONG_SIDE, SHORT_SIDE, 200),
    "1080p": Size(LONG_SIDE, SHORT_SIDE, 200),
    "2160p": Size(LONG_SIDE, SHORT_SIDE, 400),
    "vertical": Size(SHORT_SIDE, LONG_SIDE, 200),
    "square": Size(SHORT_SIDE, SHORT_SIDE, 200),
    "square panel": Size(SHORT_SIDE, SHORT_SIDE, 100),
    "print": Size(LONG_SIDE, SHORT_SIDE, 300),
}


def find_size(name: str | Size) -> Size:
    """The size of a name, or what is one already; ValueError with the nearest name for one that does not exist."""
    return name if isinstance(name, Size) else look_up(name, SIZES, "size")


class Stage:
    """One exhibit on one canvas.

    Parameters
    ----------
    exhibit : Exhibit
    size : str or Size
        One of `SIZES`, or another.
    theme : str
        ``"light"``, ``"dark"`` or ``"transparent"``.
    caption : str
        Words to set under the picture, which grows by their height; none if empty.
    title : str, optional
        Stands in the picture in place of the exhibit's own title; an empty one leaves it out.

    Raises ValueError for a size or theme that does not exist, and for a title that is not one line of plain
    text or has no room: it may not reach the edge of the picture, nor any words beside it, wherever the knobs are.
    """

    def __init__(
        self,
        exhibit: Exhibit,
        size: str | Size = "panel",
        theme: str = "light",
        caption: str = "",
        title: str | None = None,
    ) -> None:
        self.exhibit = exhibit
        frame = find_size(size)
        self.look = Look(
            find_theme(theme),
            tall=frame.height >= frame.width,
            square=frame.height == frame.width,
            title=title,
        )
        self.figure, picture = _figure(frame, self.look, caption)
        self.canvas = FigureCanvasAgg(self.figure)
        self._scene = exhibit.lay_out(picture, self.look)
        self.look.finish(picture)
        if title:
            self._make_sure_of_room(title, picture)
        for artist in self._scene.moving:
            artist.set_animated(True)
        self._lettering = Lettering(frame.dpi)
        self._still: Any = None
        self._way: tuple[tuple[Any, ...], Tween] | None = None  # that is being gone
        self._absent: dict[Artist, bool] = {}  # what stays and has not come on stage yet, and whether it would be seen
        self._hidden: set[Artist] = set()  # what moves and has not come on stage yet

    def move(self, values: dict[str, Any], playing: Playing = SILENT) -> None:
        """Update the picture to settled knob values, on the canvas, with what sounds at the moment lit up."""
        if self._way is not None:
            self._way[1].leave()
            self._way = None
        self._set(values, playing)
        self._draw()

    def between(
        self,
        here: dict[str, Any],
        there: dict[str, Any],
        way: float,
        *,
        fading: bool = True,
        playing: tuple[Playing, Playing] = (SILENT, SILENT),
    ) -> None:
        """Draw the picture part of the way from one setting to another, both settled; the way is from 0 to 1.

        Words that differ fade out and in; unless `fading`, they change halfway. At its ends it is the picture there.
        `playing` is what sounds in each.
        """
        if not 0 < way < 1:
            self.move(*((here, playing[0]) if way <= 0 else (there, playing[1])))
            return
        ends = here, there, *playing
        if self._way is None or self._way[0] != ends:
            if self._way is not None:
                self._way[1].leave()
            tween = Tween(self._scene.moving, lambda: self._set(here, playing[0]), lambda: self._set(there, playing[1]))
            self._way = ends, tween
        self._way[1].set(way, fading)
        self._draw()

    def _set(self, values: dict[str, Any], playing: Playing = SILENT) -> None:
        self._scene.update(**values)
        self._scene.light(playing)

    def on_stage(self, count: int | None = None) -> None:
        """Have only the first groups of the exhibit's builds on stage, and what is in none; all of them if None.

        It is seen with the next picture. Raises ValueError for a number of groups that there is not.
        """
        builds = self.exhibit.builds
        if count is not None and not 0 <= count <= len(builds):
            raise ValueError(f"{self.exhibit.name!r} comes on stage in {len(builds)} groups, so not {count} of them")
        for artist, seen in self._absent.items():
            artist.set_visible(seen)
        late = builds[len(builds) if count is None else count :]
        away = [artist for group in late for part in group for artist in self._scene.parts[part]]
        self._absent = {artist: artist.get_visible() for artist in away if artist not in self._scene.moving}
        self._hidden = {artist for artist in away if artist in self._scene.moving}
        for artist in self._absent:
            artist.set_visible(False)
        self._still = None

    def _draw(self) -> None:
        """Draw the moving artists, as they are set, over what stays."""
        if self._still is None:
            self.canvas.draw()
            self._still = self.canvas.copy_from_bbox(self.figure.bbox)
        else:
            self.canvas.restore_region(self._still)
        renderer = self.canvas.get_renderer()
        for artist in self._scene.moving:
            if not artist.get_visible() or artist in self._hidden:
                continue
            self._draw_one(artist, renderer)

    def _draw_one(self, artist: Artist, renderer: Any) -> None:
        if isinstance(artist, Text) and self._lettering.suits(artist):
            self._lettering.set(artist, renderer)
        else:
            artist.draw(renderer)

    def box(self, part: str) -> Bbox:
        """Where a part of the exhibit is in the picture as it is now, in pixels from its lower left corner.

        Raises ValueError for a part that the exhibit does not have, with the nearest.
        """
        artists = look_up(part, dict(self._scene.parts), "part")
        found = [self._extent(artist) for artist in artists if artist.get_visible()]
        boxes = [box for box in found if box is not None]
        return Bbox.union(boxes) if boxes else Bbox.null()

    def _extent(self, artist: Artist) -> Bbox | None:
        """What an artist takes of the picture; None if it has no place in it."""
        if isinstance(artist, Collection):
            ends = artist.get_transform()
            strokes = [ends.transform(path.vertices) for path in artist.get_paths() if np.size(path.vertices)]
            if isinstance(artist, PathCollection):
                strokes = [artist.get_offset_transform().transform(artist.get_offsets())]
            points = np.concatenate([*strokes, np.empty((0, 2))])
            points = points[np.isfinite(points).all(axis=1)]
            box = Bbox([points.min(axis=0), points.max(axis=0)]) if len(points) else Bbox.null()
        else:
            box = artist.get_window_extent(self.canvas.get_renderer())
        return Bbox.intersection(box, self.figure.bbox) if np.all(np.isfinite(box.extents)) else None

    def apart(self, parts: Sequence[str]) -> tuple[npt.NDArray[np.uint8], dict[str, npt.NDArray[np.uint8]]]:
        """The picture as it is now without some of the exhibit's parts, and each of these alone on a clear ground.

        What is of two parts goes with the first. All are as `pixels` has them.
        """
        shown = {name: look_up(name, dict(self._scene.parts), "part") for name in parts}
        owner = {artist: name for name in reversed(shown) for artist in shown[name]}
        renderer = self.canvas.get_renderer()
        alone = {}
        for name in shown:
            renderer.clear()
            for artist in sorted(owner, key=lambda artist: artist.get_zorder()):
                if owner[artist] == name and artist.get_visible() and artist not in self._hidden:
                    self._draw_one(artist, renderer)
            alone[name] = self.pixels().copy()
        seen = {artist: artist.get_visible() for artist in owner}
        for artist in owner:
            artist.set_visible(False)
        self._still = None
        self._draw()
        rest = self.pixels().copy()
        for artist, visible in seen.items():
            artist.set_visible(visible)
        self._still = None
        return rest, alone

    def whole(self, values: dict[str, Any]) -> Figure:
        """The figure at settled knob values with nothing left to be added, for formats that draw it themselves."""
        self._set(values)
        for artist in self._scene.moving:
            artist.set_animated(False)
        return self.figure

    def pixels(self) -> npt.NDArray[np.uint8]:
        """The picture as it is now: shape (height, width, 4), red, green, blue and opacity."""
        return np.asarray(self.canvas.buffer_rgba())

    def compact(self) -> bytes:
        """The picture as JPEG: quick to make, for a slider that is moving."""
        pixels = self.pixels()
        height, width, _ = pixels.shape
        return compacted(Image.frombuffer("RGBA", (width, height), pixels, "raw", "RGBA", 0, 1))

    def crisp(self) -> bytes:
        """The picture as PNG: exact, for a slider at rest and for files."""
        packed = io.BytesIO()
        image = Image.fromarray(self.pixels())
        if self.look.theme.paper is not None:
            image = image.convert("RGB")
        image.save(packed, "PNG", dpi=(self.figure.dpi, self.figure.dpi))
        return packed.getvalue()

    def captioned(self, caption: str) -> Image.Image:
        """The picture as it is now with words under it, as a stage that has this caption shows it."""
        width = float(self.figure.get_figwidth())
        lines, height = _set_out(caption, width)
        strip = Figure(figsize=(width, height), dpi=self.figure.dpi, facecolor=self.look.theme.paper or "none")
        _write_caption(strip, self.look, lines, width)
        canvas = FigureCanvasAgg(strip)
        canvas.draw()
        return Image.fromarray(np.concatenate([self.pixels(), np.asarray(canvas.buffer_rgba())]))

    def texts(self) -> list[Text]:
        """Every visible text on the picture that says something."""
        found = self.figure.findobj(Text)
        return [text for text in found if text.get_visible() and text.get_text().strip()]

    def _make_sure_of_room(self, title: str, picture: Any) -> None:
        """Refuse a title that cannot be shown or does not fit in its line, saying how much of it does."""
        if not title.isprintable():
            raise ValueError(f"a title is one line of plain text, not {title!r}")
        written = picture.findobj(Words)
        [heading] = [text for text in written if text.get_label() == HEADING]
        fonts = [get_font(findfont(FontProperties(family=family, weight="bold"))) for family in families()]
        unknown = [sign for sign in heading.get_text() if not any(font.get_char_index(ord(sign)) for font in fonts)]
        if unknown:
            raise ValueError(f"the title {title!r} has a sign that pictures cannot show: {unknown[0]!r}")
        others = [text for text in written if text is not heading]
        right = min(picture.bbox.width - MARGIN * self.figure.dpi, self._least_room(heading, others))
        if heading.get_window_extent().x1 <= right:
            return
        words = heading.get_text()
        while words and heading.get_window_extent().x1 > right:
            words = words[:-1]
            heading.set_text(words)
        fits = f"only {words.strip()!r} fits" if words.strip() else "nothing fits"
        raise ValueError(f"the title {title!r} is too long for a picture of {self.exhibit.name!r} in this size: {fits}")

    def _least_room(self, heading: Text, others: list[Text]) -> float:
        """How far to the right a title may reach, in pixels, before it meets another text at some setting.

        The knobs are turned one after another, and each is left where it leaves the least room: long words come from
        long parts.
        """
        values, least = self.exhibit.settle({}), math.inf
        for knob in self.exhibit.knobs:
            room = {}
            for value in _over_its_range(knob):
                self._scene.update(**values | {knob.name: value})
                room[value] = _room_beside(heading, others)
            values[knob.name] = min(room, key=lambda value: room[value])
            least = min(least, room[values[knob.name]])
        return least - _CLEAR * self.figure.dpi


def _room_beside(heading: Text, others: list[Text]) -> float:
    """Where the first of the other texts in a title's line begins, in pixels."""
    line = heading.get_window_extent()
    shown = [text.get_window_extent() for text in others if text.get_visible() and text.get_text().strip()]
    beside = (box.x0 for box in shown if box.y1 > line.y0 and box.y0 < line.y1 and box.x1 > line.x0)
    return float(min(beside, default=math.inf))


def _over_its_range(knob: Knob) -> list[Any]:
    """Values of a knob: all that it can take if they are few, else some from end to end."""
    if isinstance(knob, Choice):
        return list(knob.options)
    if isinstance(knob, Switch):
        return [False, True]
    places = np.linspace(0, 1, 8).tolist()
    if knob.logarithmic:
        return [knob.low * (knob.high / knob.low) ** place for place in places]
    values = [knob.low + (knob.high - knob.low) * place for place in places]
    return sorted({round(value) for value in values}) if knob.whole else values


def compacted(image: Image.Image) -> bytes:
    """An opaque picture as JPEG: quick to make, a sixth of the time of a PNG."""
    packed = io.BytesIO()
    image.convert("RGB").save(packed, "JPEG", quality=_COMPACT_QUALITY, subsampling=2)
    return packed.getvalue()


def lightened(picture: Image.Image) -> bytes:
    """An opaque picture as PNG in 256 colours at most: hard to tell from it, and less than half of the bytes."""
    packed = io.BytesIO()
    few = picture.convert("RGB").quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(packed, "PNG", optimize=True)
    return packed.getvalue()


def _figure(size: Size, look: Look, caption: str) -> tuple[Figure, Any]:
    """A figure with room for the caption, and the part of it that is the picture."""
    figure = Figure(dpi=size.dpi, facecolor=look.theme.paper or "none")
    if not caption:
        figure.set_size_inches(size.width, size.height)
        return figure, figure
    lines, strip = _set_out(caption, size.width)
    figure.set_size_inches(size.width, size.height + strip)
    halves: Any = figure.subfigures(2, 1, height_ratios=[size.height, strip])
    picture, below = halves
    picture.set_facecolor("none")
    below.set_facecolor("none")
    _write_caption(below, look, lines, size.width)
    return figure, picture


def _set_out(caption: str, width: float) -> tuple[list[str], float]:
    """The lines of a caption under a picture of a width in inches, and how high they are."""
    lines = textwrap.wrap(caption, width=int((width - 2 * MARGIN) * _LETTERS))
    return lines, 0.22 * len(lines) + 0.2


def _write_caption(strip: Any, look: Look, lines: list[str], width: float) -> None:
    look.text(strip, MARGIN / width, 0.95, "\n".join(lines), va="top", linespacing=1.2)
