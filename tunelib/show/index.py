"""An index of everything that can be shown: for each exhibit a small picture, what to type, and its knobs.

It is made from the exhibits themselves, in the order of the course, so it has every one of them as it is now. A
notebook shows it as it is returned; `write_index` makes a page of it that needs no other file.
"""

from __future__ import annotations

import base64
import html
import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tunelib import course
from tunelib.course import Lesson, Step
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
class Entry:
    """One exhibit in the index: its picture at the defaults, as the bytes of a PNG file, and the steps that show it.

    Where there is no picture, `missing` says what it would need that is not installed.
    """

    exhibit: Exhibit
    picture: bytes
    places: tuple[tuple[Lesson, Step], ...]
    missing: str = ""

    @property
    def sentence(self) -> str:
        """What the picture shows, in words."""
        return self.exhibit.sentence(**self.exhibit.settle({}))

    @property
    def gives(self) -> str:
        """What the exhibit gives besides its picture."""
        name, makes = self.exhibit.name, self.exhibit.makes
        printed = f'; on paper with page("{name}", "{name}.pdf")' if has_page(self.exhibit) else ""
        return f"It can be heard{printed}" + (f"; its button “{makes}” writes files." if makes else ".")

    @property
    def filmed(self) -> tuple[tuple[str, str], ...]:
        """What a shot list can do with the exhibit: of parts, their order on stage and numbers, a name and what it is.

        All names are as a shot list takes them.
        """
        parts = "; ".join(f"{part} ({words})" for part, words in self.exhibit.parts.items())
        stages = " – ".join(", ".join(group) for group in self.exhibit.builds)
        knobs = {knob.name for knob in self.exhibit.knobs}
        numbers = sorted(knobs | set(self.exhibit.numbers(**self.exhibit.settle({}))))
        return ("parts", parts), ("on stage in this order", stages), ("to quote", ", ".join(numbers))


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
            f"<p>{len(self.entries)} exhibits, in the order of the course. What is in typewriter letters is typed "
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
        The folder with the notebooks of the course, to which links lead; the working folder unless given. Steps are
        named whose lessons are there.

    Raises ValueError for a theme that does not exist or has no paper.
    """
    chosen = find_theme(theme)
    if chosen.paper is None:
        raise ValueError(f"the theme of an index is 'light' or 'dark', not {theme!r}; a still can be transparent")
    there = {lesson.name for lesson in course.LESSONS if Path(lessons, lesson.notebook).is_file()}
    return Index(
        chosen,
        tuple(
            _entry(
                exhibit,
                theme,
                tuple((lesson, step) for lesson, step in course.places_of(name) if lesson.name in there),
            )
            for name, exhibit in EXHIBITS.items()
        ),
    )


def _entry(exhibit: Exhibit, theme: str, places: tuple[tuple[Lesson, Step], ...]) -> Entry:
    try:
        return Entry(exhibit, _small(exhibit, theme), places)
    except ImportError as missing:
        return Entry(exhibit, b"", places, str(missing))


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
    steps = ", ".join(str(step.number) for _, step in entry.places)
    where = f"step {steps}" if steps else _nowhere(entry)
    yield entry.exhibit.title + (f" ({where})" if where else "")
    yield f'    panel("{entry.exhibit.name}")'
    yield f"    {entry.sentence}"
    for knob in entry.exhibit.knobs:
        yield f"    {knob.name}: {knob.label}, {knob_range(knob)}; at first {_setting(knob, knob.default)}"
    for what, names in entry.filmed:
        yield f"    {what}: {names}"
    yield f"    {entry.gives}"


def _card(entry: Entry, linked: bool) -> str:
    exhibit = entry.exhibit
    where = "; ".join(_place(lesson, step, linked) for lesson, step in entry.places) or _nowhere(entry)
    data = base64.b64encode(entry.picture).decode()
    shown = (
        f'<img src="data:image/png;base64,{data}" alt="{html.escape(entry.sentence)}" '
        f'width="{_WIDTH}" height="{_HEIGHT}" style="{_FIT}">'
        if entry.picture
        else html.escape(f"{entry.sentence} There is no picture: {entry.missing}.")
    )
    return "\n".join(
        (
            f'<section aria-labelledby="exhibit-{exhibit.name}">',
            f'<h2 id="exhibit-{exhibit.name}">{html.escape(exhibit.title)}</h2>',
            f"<p>{shown}</p>",
            f'<p><code>panel("{exhibit.name}")</code>' + (f" · {where}" if where else "") + "</p>",
            "<ul>",
            *(_item(knob) for knob in exhibit.knobs),
            "</ul>",
            "<details><summary>in a shot list</summary><ul>",
            *(f"<li>{what}: {html.escape(names)}</li>" for what, names in entry.filmed),
            "</ul></details>",
            f"<p>{html.escape(entry.gives)}</p>",
            "</section>",
        )
    )


def _place(lesson: Lesson, step: Step, linked: bool) -> str:
    words = f"step {step.number}"
    if not linked:
        return f"{words} ({html.escape(lesson.name)})"
    return f'<a href="{html.escape(f"{lesson.notebook}#cell-id={step.cell}")}">{words}</a>'


def _nowhere(entry: Entry) -> str:
    """What to say of an exhibit that the course does not show."""
    return "" if course.places_of(entry.exhibit.name) else "in no lesson yet"


def _item(knob: Knob) -> str:
    words = html.escape(knob_range(knob))
    if isinstance(knob, Choice) and len(knob.options) > _FEW:
        words = f"<details><summary>one of {len(knob.options)}</summary>{words}</details>"
    first = html.escape(_setting(knob, knob.default))
    return f"<li>{html.escape(knob.label)}, <code>{knob.name}</code>; at first {first}<br>{words}</li>"


def _small(exhibit: Exhibit, theme: str) -> bytes:
    """The picture of an exhibit at its defaults, small and in few colours, of which those far apart are kept."""
    packed = io.BytesIO()
    with Image.open(io.BytesIO(picture(exhibit, size="panel", theme=theme))) as image:
        small = image.convert("RGB").resize((_WIDTH, _HEIGHT), Image.Resampling.LANCZOS)
        few = small.quantize(_COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
        few.save(packed, "PNG", optimize=True)
    return packed.getvalue()
