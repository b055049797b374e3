"""An engraved staff as outlines, for a figure in which a slider moves it.

A general renderer of SVG spends most of its time on packing the picture as PNG, which is then unpacked again. Here the
few shapes that Verovio draws (glyphs, straight lines, beams, ties, dots and words) become outlines, which matplotlib
fills at once, in the colour of the figure: a quarter of the time or less, for the same picture, as is tested beside
such a renderer.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import numpy as np
import numpy.typing as npt

from tunelib.export.engrave import TEXT_FONT

if TYPE_CHECKING:
    from matplotlib.path import Path as Outline


def _font_folder() -> Path:
    """Where the typefaces are that come with matplotlib, which takes long to load and is not loaded to look."""
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        raise ImportError("letters on a staff need matplotlib, which is missing here: pip install matplotlib")
    return Path(found.origin).with_name("mpl-data") / "fonts" / "ttf"


FONT_FOLDER = _font_folder()
_SVG = "{http://www.w3.org/2000/svg}"
_LINK = "{http://www.w3.org/1999/xlink}href"
_NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_STEP = re.compile(r"([MmLlHhVvCcSsZz])([^MmLlHhVvCcSsZz]*)")
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Z": 0}
_BOLD = ("tempo", "ending", "fing", "reh")
_SLANTED = ("dir", "dynam", "mNum")
_FACES = {(False, False): "", (True, False): "Bol", (False, True): "Italic", (True, True): "BolIta"}
_LETTER_SIZE = 100.0  # the size at which letters are kept as outlines

_BEFORE_ANCHOR = {"start": 0.0, "middle": 0.5, "end": 1.0}
_LETTERING = {"font-size", "font-weight", "font-style", "text-anchor"}
_HIDDEN = "placeholder"  # marks of structure, which the drawing's style does not show

_Shape = tuple[npt.NDArray[np.float64], npt.NDArray[np.uint8]]
_MOVE, _LINE, _CURVE, _CLOSE = 1, 2, 4, 79  # matplotlib's codes for what leads to a point of an outline


@dataclass(frozen=True)
class StaffDrawing:
    """An engraved page taken apart. Lengths are in the drawing's own unit, y downwards as in SVG.

    Parameters
    ----------
    outlines : tuple of matplotlib paths
        All ink, to be filled: the music font's glyphs, lines and shapes, and words, kept apart so that none cuts a hole
        into another.
    width, height : float
        Of the page.
    noteheads : tuple of (x, y)
        Left end and height of every notehead, in order.
    staff_lines : tuple of float
        Height of every staff line, from the top, five to a staff.
    notes : tuple of matplotlib paths
        Each note's own signs, its head and what belongs to it, such as an accidental, in the order of the noteheads.
    others : tuple of matplotlib paths
        All other ink, as in `outlines`.
    ledgers : tuple of tuples of four floats
        For each ledger line its left end, its right end, its height and its thickness.
    clefs : tuple of matplotlib paths
        The clef of every staff.

    The last four are in `outlines` already; they are there for a figure that colours or moves them, and empty unless
    asked for.
    """

    outlines: tuple[Outline, ...]
    width: float
    height: float
    noteheads: tuple[tuple[float, float], ...]
    staff_lines: tuple[float, ...]
    notes: tuple[Outline, ...] = ()
    others: tuple[Outline, ...] = ()
    ledgers: tuple[tuple[float, float, float, float], ...] = ()
    clefs: tuple[Outline, ...] = ()


def staff_drawing(svg: str) -> StaffDrawing:
    """Take apart an engraved page, as `engrave_svg` makes it. Raises ValueError if the text is not such a drawing."""
    page, glyphs = _page(svg)
    return _taken_apart(page, page, (0.0, 0.0), glyphs)


def line_drawings(svg: str, notes: bool = False) -> tuple[StaffDrawing, ...]:
    """Take apart an engraved page line by line of its music, each placed as on the page; errors as `staff_drawing`.

    With `notes`, each line has its notes, ledger lines and clefs apart as well.
    """
    page, glyphs = _page(svg)
    [inside] = (node for node in page if node.get("class") == "page-margin")
    x, y = _numbers(inside.attrib["transform"])
    return tuple(_taken_apart(page, line, (x, y), glyphs, notes) for line in inside if line.get("class") == "system")


def _page(svg: str) -> tuple[ElementTree.Element, dict[str, str]]:
    """The page of a drawing, and its glyphs by the name that the page uses them under."""
    try:
        root = ElementTree.fromstring(svg)
        page = next(node for node in root.iter(f"{_SVG}svg") if node.get("class") == "definition-scale")
    except (ElementTree.ParseError, StopIteration):
        raise ValueError("the text is not a drawing by engrave_svg") from None
    kept = (glyph for node in root.iter(f"{_SVG}defs") for glyph in node)
    return page, {f"#{glyph.get('id')}": glyph[0].attrib["d"] for glyph in kept}


def _taken_apart(
    page: ElementTree.Element,
    node: ElementTree.Element,
    origin: tuple[float, float],
    glyphs: dict[str, str],
    notes: bool = False,
) -> StaffDrawing:
    """What a node of a page holds, with its origin at a place on the page."""
    _, _, across, down = map(float, page.attrib["viewBox"].split())
    drawing = _Drawing(glyphs)
    drawing.walk(node, *origin, _Lettering())
    outlines = tuple(_joined(kind) for kind in (drawing.signs, drawing.shapes, drawing.words) if kind)
    whole = StaffDrawing(outlines, across, down, tuple(drawing.noteheads), tuple(drawing.staff_lines))
    if not notes:
        return whole
    of_notes = {place for part in drawing.of_notes for place in part}
    others = [sign for place, sign in enumerate(drawing.signs) if place not in of_notes]
    return replace(
        whole,
        notes=tuple(_joined([drawing.signs[place] for place in part]) for part in drawing.of_notes),
        others=tuple(_joined(kind) for kind in (others, drawing.shapes, drawing.words) if kind),
        ledgers=tuple(drawing.ledgers),
        clefs=tuple(_joined([drawing.signs[place] for place in part]) for part in drawing.of_clefs),
    )


@dataclass(frozen=True)
class _Lettering:
    """How words are set: what a text and the groups around it say together."""

    size: float = 0.0
    bold: bool = False
    slanted: bool = False
    anchor: str = "start"

    def within(self, node: ElementTree.Element) -> _Lettering:
        """The lettering inside a node, which may change some of it by attribute or by its class's style."""
        kind = node.get("class")
        if kind not in _BOLD and kind not in _SLANTED and node.attrib.keys().isdisjoint(_LETTERING):
            return self
        size = node.get("font-size")
        weight = node.get("font-weight", "bold" if kind in _BOLD else None)
        style = node.get("font-style", "italic" if kind in _SLANTED else None)
        return _Lettering(
            float(size.removesuffix("px")) if size else self.size,
            self.bold if weight is None else weight == "bold",
            self.slanted if style is None else style == "italic",
            node.get("text-anchor", self.anchor),
        )


class _Drawing:
    """The outlines of a drawing, gathered node by node: vertices in their place, and what leads to each."""

    def __init__(self, glyphs: dict[str, str]) -> None:
        self.glyphs = glyphs
        self.signs: list[_Shape] = []
        self.shapes: list[_Shape] = []
        self.words: list[_Shape] = []
        self.noteheads: list[tuple[float, float]] = []
        self.staff_lines: list[float] = []
        self.of_notes: list[range] = []  # which of the signs
        self.of_clefs: list[range] = []
        self.ledgers: list[tuple[float, float, float, float]] = []

    def walk(self, node: ElementTree.Element, x: float, y: float, lettering: _Lettering) -> None:
        """Gather what a node holds; its origin is at x, y."""
        kind = node.get("class")
        for child in node:
            tag = child.tag
            if tag == f"{_SVG}g":
                if _HIDDEN in child.get("class", ""):
                    continue
                move = child.get("transform")
                dx, dy = _numbers(move) if move else (0.0, 0.0)
                begun, kept = len(self.signs), child.get("class")
                self.walk(child, x + dx, y + dy, lettering.within(child))
                if kept == "note":
                    self.of_notes.append(range(begun, len(self.signs)))
                elif kept == "clef":
                    self.of_clefs.append(range(begun, len(self.signs)))
            elif tag == f"{_SVG}use":
                dx, dy, *scale = _numbers(child.attrib["transform"])
                vertices, codes = _outline(self.glyphs[child.attrib[_LINK]])
                self.signs.append((vertices * (scale[0], -scale[-1]) + (x + dx, y + dy), codes))  # a font's y goes up
                if kind == "notehead":
                    self.noteheads.append((x + dx, y + dy))
            elif tag == f"{_SVG}text":
                self._write(child, x, y, lettering)
            elif tag in _SHAPES:
                for vertices, codes in _SHAPES[tag](child):
                    self.shapes.append((np.add(vertices, (x, y)), codes))
                if kind and kind.startswith("ledgerLines"):
                    (left, height), (right, _) = _points(child.attrib["d"])
                    self.ledgers.append((x + left, x + right, y + height, float(child.get("stroke-width", "1"))))
                if kind == "staff":
                    self.staff_lines.append(y + _points(child.attrib["d"])[0][1])

    def _write(self, node: ElementTree.Element, x: float, y: float, lettering: _Lettering) -> None:
        """Set the words of a text node; a part of it that has a place of its own starts afresh there."""
        for left, line, anchor, words in _lines(node, lettering):
            letters = [(_letters(text, style.bold, style.slanted), style.size / _LETTER_SIZE) for text, style in words]
            pen = x + left - _BEFORE_ANCHOR[anchor] * sum(advance * size for (_, advance), size in letters)
            for ((vertices, codes), advance), size in letters:
                self.words.append((vertices * (size, -size) + (pen, y + line), codes))
                pen += advance * size


def _lines(
    node: ElementTree.Element, lettering: _Lettering
) -> list[tuple[float, float, str, list[tuple[str, _Lettering]]]]:
    """The lines of a text node: where each begins, how it is anchored, and its words with their lettering."""
    lines: list[tuple[float, float, str, list[tuple[str, _Lettering]]]] = []

    def gather(part: ElementTree.Element, style: _Lettering) -> None:
        style = style.within(part)
        if not part.attrib.keys().isdisjoint(("x", "y")):
            lines.append((float(part.get("x", "0")), float(part.get("y", "0")), style.anchor, []))
        if style.size and part.text and part.text.strip():
            lines[-1][3].append((part.text, style))
        for child in part:
            gather(child, style)

    gather(node, lettering)
    return lines


def _joined(shapes: Sequence[_Shape]) -> Outline:
    from matplotlib.path import Path as Outline

    vertices = np.concatenate([vertices for vertices, _ in shapes])
    return Outline(vertices, np.concatenate([codes for _, codes in shapes]))


def _numbers(text: str) -> list[float]:
    return [float(number) for number in _NUMBER.findall(text)]


def _points(text: str) -> list[tuple[float, float]]:
    numbers = _numbers(text)
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _polygons(corners: Sequence[Sequence[tuple[float, float]]]) -> _Shape:
    """Polygons of equally many corners, always turning the same way, so that where two overlap the ink adds up."""
    vertices = np.array(corners)
    x, y = vertices[..., 0], vertices[..., 1]
    area = (x[:, :-1] * y[:, 1:] - x[:, 1:] * y[:, :-1]).sum(axis=1) + x[:, -1] * y[:, 0] - x[:, 0] * y[:, -1]
    vertices[area < 0] = vertices[area < 0, ::-1]
    return _closed(vertices)


def _closed(corners: npt.NDArray[np.float64]) -> _Shape:
    """The outline of polygons that turn as they should."""
    vertices = np.concatenate([corners, corners[:, :1]], axis=1)
    codes = [_MOVE, *[_LINE] * (vertices.shape[1] - 2), _CLOSE]
    return vertices.reshape(-1, 2), np.tile(np.array(codes, dtype=np.uint8), len(vertices))


def _strokes(
    corners: Sequence[tuple[float, float]], thickness: float, dashes: Sequence[float] = (), overhang: float = 0.0
) -> _Shape:
    """Straight lines from corner to corner as the rectangles that they cover, or dashed, as several each.

    The overhang is how far each goes on beyond its two ends.
    """
    covered: list[list[tuple[float, float]]] = []
    for (x0, y0), (x1, y1) in pairwise(corners):
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        wx, wy = -uy * thickness / 2, ux * thickness / 2
        on, off = dashes if dashes else (length, 0.0)
        for i in range(math.ceil(length / (on + off))):
            near, far = i * (on + off) - overhang, min(i * (on + off) + on, length) + overhang
            ax, ay, bx, by = x0 + ux * near, y0 + uy * near, x0 + ux * far, y0 + uy * far
            covered.append([(ax - wx, ay - wy), (bx - wx, by - wy), (bx + wx, by + wy), (ax + wx, ay + wy)])
    return _closed(np.array(covered))  # to the left of the way and back on its right: all turn alike


def _path(node: ElementTree.Element) -> list[_Shape]:
    """A straight line, or the filled curve of a tie or slur."""
    data = node.attrib["d"]
    if "C" in data:
        return [_outline(data)]
    thickness = float(node.get("stroke-width", "1"))
    overhang = thickness / 2 if node.get("stroke-linecap") == "square" else 0.0
    return [_strokes(_points(data), thickness, _numbers(node.get("stroke-dasharray", "")), overhang)]


def _polyline(node: ElementTree.Element) -> list[_Shape]:
    return [_strokes(_points(node.attrib["points"]), float(node.get("stroke-width", "1")))]


def _polygon(node: ElementTree.Element) -> list[_Shape]:
    return [_polygons([_points(node.attrib["points"])])]


def _rectangle(node: ElementTree.Element) -> list[_Shape]:
    x, y, across, down = (float(node.attrib[name]) for name in ("x", "y", "width", "height"))
    return [_polygons([[(x, y), (x + across, y), (x + across, y + down), (x, y + down)]])]


def _ellipse(node: ElementTree.Element) -> list[_Shape]:
    x, y, across, down = (float(node.attrib[name]) for name in ("cx", "cy", "rx", "ry"))
    vertices, codes = _round()
    return [(vertices * (across, down) + (x, y), codes)]


@lru_cache(maxsize=1)
def _round() -> _Shape:
    from matplotlib.path import Path as Outline

    circle = Outline.unit_circle()
    return np.asarray(circle.vertices), np.asarray(circle.codes, dtype=np.uint8)


_SHAPES: dict[str, Callable[[ElementTree.Element], list[_Shape]]] = {
    f"{_SVG}path": _path,
    f"{_SVG}polygon": _polygon,
    f"{_SVG}polyline": _polyline,
    f"{_SVG}ellipse": _ellipse,
    f"{_SVG}rect": _rectangle,
}


@lru_cache(maxsize=512)
def _letters(text: str, bold: bool, slanted: bool) -> tuple[_Shape, float]:
    """Words as an outline with y upwards, and how far they reach."""
    from matplotlib.font_manager import FontProperties, get_font
    from matplotlib.textpath import text_to_path

    file = FONT_FOLDER / f"{TEXT_FONT}{_FACES[bold, slanted]}.ttf"
    face = FontProperties(fname=str(file), size=_LETTER_SIZE)
    if any(not get_font(str(file)).get_char_index(ord(letter)) for letter in text):
        face = FontProperties(fname=str(FONT_FOLDER / f"{TEXT_FONT}.ttf"), size=_LETTER_SIZE)
    vertices, codes = text_to_path.get_text_path(face, text)
    length, _, _ = text_to_path.get_text_width_height_descent(text, face, ismath=False)
    size = _LETTER_SIZE / text_to_path.FONT_SCALE
    return (np.reshape(vertices, (-1, 2)) * size, np.array(codes, dtype=np.uint8)), length


@lru_cache(maxsize=512)
def _outline(data: str) -> _Shape:
    """The outline that a path's data describes (SVG 1.1, chapter 8: lines and cubic curves)."""
    vertices: list[tuple[float, float]] = []
    codes: list[Any] = []
    x = y = 0.0
    first = (0.0, 0.0)

    def reach(code: Any, *points: tuple[float, float]) -> None:
        vertices.extend(points)
        codes.extend([code] * len(points))

    for letter, rest in _STEP.findall(data):
        kind, relative = letter.upper(), letter.islower()
        numbers = _numbers(rest)
        if kind == "Z":
            reach(_CLOSE, first)
            x, y = first
        for i in range(0, len(numbers), _ARITY[kind] or 1):
            given = numbers[i : i + _ARITY[kind]]
            if kind in "HV":
                flat = (given[0], 0.0 if relative else y) if kind == "H" else (0.0 if relative else x, given[0])
                given = list(flat)
            points = [(a + x * relative, b + y * relative) for a, b in zip(given[::2], given[1::2], strict=True)]
            if kind == "S":  # the first control point mirrors the last one of the curve before
                smooth = codes and codes[-1] == _CURVE
                mirrored = (2 * x - vertices[-2][0], 2 * y - vertices[-2][1]) if smooth else (x, y)
                points.insert(0, mirrored)
            begins = kind == "M" and i == 0
            if begins:
                first = points[0]
            reach(_MOVE if begins else _CURVE if kind in "CS" else _LINE, *points)
            x, y = points[-1]
    return np.array(vertices), np.array(codes, dtype=np.uint8)
