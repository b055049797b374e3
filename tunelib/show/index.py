"""An index of everything that can be shown: for each exhibit a small picture, what to type, and its knobs.

It is made from the exhibits themselves, in the order of the course, so it has every one of them as it is now. A
notebook shows it as it is returned; `write_index` makes a page of it that needs no other file.
"""

from __future__ import annotations

import base64
import html
import io
import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tunelib.exhibits import EXHIBITS, Choice, Exhibit, Knob, Slider, Theme, find_theme
from tunelib.files import check_targets, write_whole
from tunelib.pitch import plain
from tunelib.show.page import has_page
from tunelib.show.still import picture

_WIDTH, _HEIGHT = 480, 270  # pixels of a small picture: half a panel
_COLOURS = 64
_FEW = 6  # options: a longer list is folded up
_DECIMALS = 4
_SLACK = 1e-6  # of a tenth: an end that is a round number but for a rounding
_GRID = "display:grid;grid-template-columns:repeat(auto-fill,minmax(min(300px,100%),1fr));gap:24px"
_FIT = "max-width:100%;height:auto"


@dataclass(frozen=True)
class Place:
    """Where an exhibit stands in the course: the number of the step, the notebook, and the name of its first cell.

    A link goes to the cell. Its heading is not found by JupyterLab in a notebook that has to be opened for the link.
    """

    step: int
    notebook: str
    cell: str


@dataclass(frozen=True)
class Entry:
    """One exhibit in the index: its picture at the defaults, as the bytes of a PNG file, and where it stands."""

    exhibit: Exhibit
    picture: bytes
    places: tuple[Place, ...]

    @property
    def sentence(self) -> str:
        """What the picture shows, in words."""
        return self.exhibit.sentence(**self.exhibit.settle({}))

    @property
    def gives(self) -> str:
        """What the exhibit gives beside its picture."""
        name, makes = self.exhibit.name, self.exhibit.makes
        printed = f'; on paper with page("{name}", "{name}.pdf")' if has_page(self.exhibit) else ""
        return f"It can be heard{printed}" + (f"; its button “{makes}” writes files." if makes else ".")


@dataclass(frozen=True)
class Index:
    """The index; a notebook shows it with pictures, and ``print`` without. Made by `index`."""

    theme: Theme
    entries: tuple[Entry, ...]

    def __str__(self) -> str:
        """The index in plain words."""
        return "\n\n".join("\n".join(_lines(entry)) for entry in self.entries)

    __repr__ = __str__

    def _repr_html_(self) -> str:
        """The index as a part of a page, with links to the lessons beside it."""
        return self._cards(linked=True)

    def page(self) -> str:
        """The index as a whole HTML page, which needs no other file."""
        ink, paper, line = self.theme.ink, self.theme.paper, self.theme.grey
        return (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>Exhibits of tunelib</title>\n'
            f"<style>\nbody {{ margin: 16px; background: {paper}; color: {ink}; font: 16px/1.5 sans-serif; }}\n"
            "h1, h2 { line-height: 1.2; overflow-wrap: anywhere; }\ncode { overflow-wrap: anywhere; }\n"
            "ul { padding-left: 20px; }\nsummary { cursor: pointer; }\n"
            f"section {{ border-top: 1px solid {line}; }}\n"
            "</style>\n</head>\n<body>\n<main>\n<h1>Exhibits of tunelib</h1>\n"
            f"<p>{len(self.entries)} exhibits, in the order of the course. What stands in typewriter letters is typed "
            "in a notebook, after <code>from tunelib.show import panel, page</code>.</p>\n"
            f"{self._cards(linked=False)}\n</main>\n</body>\n</html>\n"
        )

    def _cards(self, linked: bool) -> str:
        return f'<div style="{_GRID}">\n' + "\n".join(_card(entry, linked) for entry in self.entries) + "\n</div>"


def index(theme: str = "light", *, lessons: str | Path = ".") -> Index:
    """All exhibits, for a notebook to show: picture, title, what to type, knobs, and what else each can do.

    Parameters
    ----------
    theme : str
        ``"light"`` or ``"dark"``.
    lessons : str or Path
        A folder with the notebooks of the course, in which to look for the steps where an exhibit stands; the working
        folder unless given. Where there are none, no steps are named.

    Raises ValueError for a theme that does not exist or has no paper, and for a notebook that is damaged.
    """
    chosen = find_theme(theme)
    if chosen.paper is None:
        raise ValueError(f"the theme of an index is 'light' or 'dark', not {theme!r}; a still can be transparent")
    places = list(_places(Path(lessons)))
    return Index(
        chosen,
        tuple(
            Entry(exhibit, _small(name, theme), tuple(place for shown, place in places if shown == name))
            for name, exhibit in EXHIBITS.items()
        ),
    )


def write_index(path: str | Path, *, theme: str = "light", lessons: str | Path = ".", overwrite: bool = False) -> Path:
    """Write the index as an HTML page that needs no other file; `theme` and `lessons` as for `index`.

    Returns the path. Raises ValueError for a theme that does not exist or a path that does not end in .html,
    FileExistsError if the file is there and `overwrite` is false.
    """
    path = Path(path)
    if path.suffix.lower() not in (".html", ".htm"):
        raise ValueError(f"an index is a .html file, not {path.name!r}")
    check_targets([path], overwrite)
    return write_whole(path, index(theme, lessons=lessons).page().encode(), overwrite=overwrite)


def knob_range(knob: Knob) -> str:
    """What a knob can be set to, in words; ends of a slider whose steps are ratios are rounded inwards to a tenth.

    >>> knob_range(Slider("hertz", "Frequency", 110, 440, 12, 220, "Hz", logarithmic=True))
    '110 to 440 Hz, 12 steps to the octave'
    >>> knob_range(Slider("fifths", "Fifths", 1, 53, 1, 12))
    '1 to 53, whole numbers'
    """
    if isinstance(knob, Choice):
        return ", ".join(knob.options)
    if not isinstance(knob, Slider):
        return "on (True) or off (False)"
    unit = f" {knob.unit}" if knob.unit else ""
    if knob.logarithmic:
        low, high = math.ceil(knob.low * 10 - _SLACK) / 10, math.floor(knob.high * 10 + _SLACK) / 10
        return f"{plain(low)} to {plain(high)}{unit}, {plain(knob.step)} steps to the octave"
    bounds = f"{_setting(knob, knob.low)} to {_setting(knob, knob.high)}{unit}"
    if knob.whole and knob.step == 1:
        return f"{bounds}, whole numbers"
    return f"{bounds}, in steps of {_setting(knob, knob.step)}"


def _setting(knob: Knob, value: float | str) -> str:
    """A value of a knob as it is read: on a slider whose steps are ratios, to a tenth."""
    if isinstance(value, str) or not isinstance(knob, Slider):
        return str(value)
    return plain(value, 1 if knob.logarithmic else _DECIMALS)


def _lines(entry: Entry) -> Iterator[str]:
    steps = ", ".join(str(place.step) for place in entry.places)
    yield f"{entry.exhibit.title}" + (f" (step {steps})" if steps else "")
    yield f'    panel("{entry.exhibit.name}")'
    yield f"    {entry.sentence}"
    for knob in entry.exhibit.knobs:
        yield f"    {knob.name}: {knob.label}, {knob_range(knob)}; at first {_setting(knob, knob.default)}"
    yield f"    {entry.gives}"


def _card(entry: Entry, linked: bool) -> str:
    exhibit, where = entry.exhibit, "; ".join(_place(place, linked) for place in entry.places)
    data = base64.b64encode(entry.picture).decode()
    return "\n".join(
        (
            f'<section aria-labelledby="exhibit-{exhibit.name}">',
            f'<h2 id="exhibit-{exhibit.name}">{html.escape(exhibit.title)}</h2>',
            f'<p><img src="data:image/png;base64,{data}" alt="{html.escape(entry.sentence)}" '
            f'width="{_WIDTH}" height="{_HEIGHT}" style="{_FIT}"></p>',
            f'<p><code>panel("{exhibit.name}")</code>' + (f" · {where}" if where else "") + "</p>",
            "<ul>",
            *(_item(knob) for knob in exhibit.knobs),
            "</ul>",
            f"<p>{html.escape(entry.gives)}</p>",
            "</section>",
        )
    )


def _place(place: Place, linked: bool) -> str:
    words = f"step {place.step}"
    if not linked:
        return f"{words} ({html.escape(place.notebook.removesuffix('.ipynb'))})"
    where = f"{place.notebook}#cell-id={place.cell}" if place.cell else place.notebook
    return f'<a href="{html.escape(where)}">{words}</a>'


def _item(knob: Knob) -> str:
    words = html.escape(knob_range(knob))
    if isinstance(knob, Choice) and len(knob.options) > _FEW:
        words = f"<details><summary>one of {len(knob.options)}</summary>{words}</details>"
    first = html.escape(_setting(knob, knob.default))
    return f"<li>{html.escape(knob.label)}, <code>{knob.name}</code>; at first {first}<br>{words}</li>"


def _small(name: str, theme: str) -> bytes:
    """The picture of an exhibit at its defaults, small and in few colours."""
    packed = io.BytesIO()
    with Image.open(io.BytesIO(picture(name, size="panel", theme=theme))) as image:
        small = image.convert("RGB").resize((_WIDTH, _HEIGHT), Image.Resampling.LANCZOS)
        few = small.quantize(_COLOURS, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        few.save(packed, "PNG", optimize=True)
    return packed.getvalue()


def _cells(notebook: Path) -> list[tuple[str, str, str]]:
    """The cells of a notebook: kind, source, and name, which is empty in notebooks of old formats."""
    try:
        stored = json.loads(notebook.read_text(encoding="utf-8"))
        return [(cell["cell_type"], "".join(cell["source"]), str(cell.get("id", ""))) for cell in stored["cells"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise ValueError(
            f"{notebook} is not a notebook, or is damaged; move it elsewhere, or give another folder of lessons"
        ) from None


def _places(folder: Path) -> Iterator[tuple[str, Place]]:
    """Each exhibit that a step of a notebook in a folder shows, and where, in the order of the notebooks."""
    for path in sorted(folder.glob("*.ipynb")):
        heading, first = "", ""
        for kind, source, cell in _cells(path):
            if kind == "markdown":
                for title in re.findall(r"^## +(.+?) *$", source, flags=re.MULTILINE):
                    heading, first = title, cell
                continue
            step = re.match(r"Step (\d+)\b", heading)
            if step:
                for name in re.findall(r"\bpanel\(\s*[\"'](\w+)[\"']", source):
                    yield name, Place(int(step[1]), path.name, first)
