"""Lessons as web pages that need nothing but themselves: one file each, with sliders, sound and exercises that work.

The notebook is the one source. It is read, not run (`notebook.py`): prose, stored outputs, and of the code the calls
whose arguments are plain values. What cannot work without Python is there as it was stored, and says so.
"""

from __future__ import annotations

import ast
import base64
import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from tunelib import course
from tunelib.exhibits import find_exhibit
from tunelib.export import safe_html, web_prose
from tunelib.files import FileSet, Tell
from tunelib.pitch import printable
from tunelib.practice.notebook import FOLDED, Call, Cell, calls, cells_of, python_of
from tunelib.practice.page_parts import (
    PagePart,
    card_part,
    keys_part,
    needle_part,
    progress_line_part,
    progress_part,
    whole_page,
)
from tunelib.show import ahead, panel_data, panel_html

INDEX = "index.html"

# What is followed, and what its arguments are called. The second kind works in a notebook alone.
_MOVES = {
    "panel": ("exhibit",),
    "question": ("step",),
    "exercise": ("step", "numbers"),
    "progress": (),
    "progress_line": ("lesson",),
    "keys": ("tuning", "layout", "timbre"),
    "harmonic_keys": ("fundamental", "count", "timbre"),
    "needle": ("tuning",),
}
_STAYS = ("take_panel", "ear_test", "reading_drill", "tune_panel", "blind_tune", "practice", "practice_card")
_NOT_KNOBS = ("theme", "density")  # of a panel
_NOTEBOOK_ONLY = "notebook-only"  # the tag of a cell that speaks of the notebook and is left out here
_STILL = "This part works in the notebook, where there is Python to work it out. Here it stands as it was stored."
_CELL_LINK = "#cell-id="
_ANSI = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")
_PICTURES = {"image/png": "png", "image/jpeg": "jpeg", "image/gif": "gif", "image/webp": "webp"}
_KINDS_OF_FILE = {".png": "png", ".jpg": "jpeg", ".jpeg": "jpeg", ".gif": "gif", ".webp": "webp"}
_LARGEST_PICTURE = 2_000_000  # bytes of a file that is taken into the page
_LARGEST_PAGE = 15_000_000


@dataclass(frozen=True)
class _Notebook:
    """A notebook that becomes a page."""

    path: Path
    title: str
    cells: tuple[Cell, ...]
    ours: frozenset[str]  # of the functions that are followed, those that the notebook has from this package

    @property
    def page(self) -> str:
        return f"{self.path.stem}.html"

    @property
    def address(self) -> str:
        """Where a link from another page leads to; a ``#`` or a ``:`` in the file's name would mean something else."""
        return quote(self.page)

    @property
    def places(self) -> frozenset[str]:
        """The names of its cells."""
        return frozenset(cell.name for cell in self.cells if cell.name)


def lesson_pages(notebooks: Sequence[str | Path]) -> FileSet:
    """The pages of some notebooks, and an index of them, to be written by `tunelib.files.write_set`.

    Parameters
    ----------
    notebooks : sequence of str or Path
        In the order in which they are read; links between them become links between the pages.

    Raises FileNotFoundError if one is missing, and ValueError for none at all, two with one name, what is no notebook
    or is damaged; and, while pages are made, for an exhibit, a knob or a step that does not exist. Each message names
    the notebook and the cell. Making pages raises ImportError, with what to install, where a package is missing.
    """
    read = [_read(Path(notebook)) for notebook in notebooks]
    names = [one.page for one in read]
    if not names:
        raise ValueError("there is no notebook to make a page of")
    alike = [name.casefold() for name in (*names, INDEX)]  # on many systems a.html and A.html are one file
    if twice := next((name for name in (*names, INDEX) if alike.count(name.casefold()) > 1), None):
        raise ValueError(f"two of these pages would both be {twice}; make them in separate folders, or rename one")

    def make(folder: Path, tell: Tell) -> None:
        for one in read:
            tell(f"making {one.page}")
            text = _Page(one, read, tell).text().encode()
            if len(text) > _LARGEST_PAGE:
                raise ValueError(
                    f"{one.path}: its page would have {len(text) / 1e6:.0f} MB, more than "
                    f"{_LARGEST_PAGE // 1_000_000}; divide it, or take out some of its pictures"
                )
            (folder / one.page).write_bytes(text)
        tell(f"making {INDEX}")
        (folder / INDEX).write_bytes(_index(read).encode())

    return FileSet((*names, INDEX), make)


def _read(path: Path) -> _Notebook:
    cells = tuple(cell for cell in cells_of(path, "a page") if _NOTEBOOK_ONLY not in cell.tags)
    title = next(
        (found[0] for cell in cells if cell.kind == "markdown"
         for found in [re.search(r"(?m)^#[ \t]+\S.*", cell.source)] if found),
        "",
    )  # fmt: skip
    plain = " ".join(re.sub(r"<[^>]*>", "", html.unescape(web_prose(printable(title), lambda address: ""))).split())
    return _Notebook(path, plain or printable(path.stem) or "Lesson", cells, _ours(cells))


def _ours(cells: Sequence[Cell]) -> frozenset[str]:
    """Of the functions that are followed, those whose names the notebook gives to nothing of its own."""
    known, taken = {*_MOVES, *_STAYS}, set()
    for cell in cells:
        for node in ast.walk(_tree(cell)):
            if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
                taken.add(node.name)
            elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                taken.add(node.id)
            elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] != "tunelib":
                taken.update(alias.asname or alias.name for alias in node.names)
    return frozenset(known - taken)


def _tree(cell: Cell) -> ast.Module:
    """A cell as Python; an empty one if it is none, since what it shows is stored."""
    if cell.kind == "code":
        try:
            return python_of(cell.source, cell.where)
        except ValueError:
            pass
    return ast.Module([], [])


class _Page:
    """One page in the making."""

    def __init__(self, notebook: _Notebook, all_of_them: Sequence[_Notebook], tell: Tell) -> None:
        self._notebook, self._all, self._tell = notebook, all_of_them, tell
        self._data: list[str] = []
        self._headings: list[tuple[str, str]] = []  # of the second level: their ids, and their words
        self._titled = False

    def text(self) -> str:
        """The whole page."""
        sections = self._sections()
        if not self._titled:
            sections.insert(0, f"<h1>{html.escape(self._notebook.title)}</h1>")
        place = self._all.index(self._notebook)
        before, after = self._all[max(0, place - 1) : place], self._all[place + 1 : place + 2]
        return whole_page(
            self._notebook.title,
            sections,
            self._data,
            headings=self._headings,
            before=[(one.address, one.title) for one in before],
            after=[(one.address, one.title) for one in after],
        )

    def _sections(self) -> list[str]:
        """The cells in their order. What comes under a heading that is folded, up to the next, is behind that."""
        sections, folded = [], False
        for number, cell in enumerate(self._notebook.cells):
            if folded and cell.kind == "markdown" and re.match(r"#{1,3} ", cell.source):
                sections.append("</details>")
                folded = False
            heading = FOLDED in cell.tags and re.match(r"### +(.+)", cell.source)
            if heading:
                words = html.escape(printable(heading[1]))
                sections.append(f'<details class="fold"><summary>{words}</summary>')
                folded, cell = True, replace(cell, source=cell.source[heading.end() :].strip())
            sections += self._cell(number, cell)
        return [*sections, "</details>"] if folded else sections

    def _cell(self, number: int, cell: Cell) -> Iterator[str]:
        inside = ""
        if cell.kind == "markdown":
            inside = self._prose(number, cell)
        elif cell.kind == "code":
            inside = self._code(number, cell)
        if inside:
            name = f' id="{html.escape(_place(cell.name))}"' if cell.name else ""
            yield f'<section class="{cell.kind}"{name}>\n{inside}\n</section>'

    def _prose(self, number: int, cell: Cell) -> str:
        text = web_prose(printable(cell.source), self._link, lambda address: self._picture(cell, address))
        return re.sub(r"<h([1-6])>(.*?)</h\1>", lambda found: self._heading(number, found), text, flags=re.DOTALL)

    def _heading(self, number: int, found: re.Match[str]) -> str:
        """A heading at its level, of which the first is the page's own alone, with an id for the list of contents."""
        level, inside = int(found[1]), found[2]
        if level == 1 and not self._titled:
            self._titled = True
            return f"<h1>{inside}</h1>"
        if level <= 2:
            name = f"part-{number}-{len(self._headings)}"
            self._headings.append((name, html.unescape(re.sub(r"<[^>]*>", "", inside))))
            return f'<h2 id="{name}">{inside}</h2>'
        return found[0]

    def _code(self, number: int, cell: Cell) -> str:
        tree = _tree(cell)
        shown = tree.body[-1] if tree.body and isinstance(tree.body[-1], ast.Expr) else None
        call = self._call(shown.value) if shown is not None else None
        moving = self._moving(number, cell, call) if call else None
        only = moving is not None and all(isinstance(node, (ast.Import, ast.ImportFrom)) for node in tree.body[:-1])
        source = "" if only or not cell.source.strip() else _folded(cell.source)
        return source + (moving if moving is not None else self._stored(cell, call))

    def _call(self, shown: ast.expr) -> Call | None:
        """What a cell shows, if that is a call that is followed."""
        wanted = {**_MOVES, **{name: () for name in _STAYS}}
        found = next(calls(shown, wanted), None) if isinstance(shown, ast.Call) else None
        return found if found and found.node is shown and found.name in self._notebook.ours else None

    def _moving(self, number: int, cell: Cell, call: Call) -> str | None:
        """What works on the page too; None for what does not, or has arguments that would have to be worked out."""
        if call.name in _STAYS or call.arguments is None:
            return None
        try:
            if call.name == "panel":
                return self._panel(number, **call.arguments)
            part = self._part(call.name, call.arguments, f"{call.name}-{number}")
        except ValueError as error:
            raise ValueError(f"{cell.where}: {error}") from None
        except TypeError:
            raise ValueError(f"{cell.where}: {call.name}() does not take these arguments") from None
        self._data += part.data
        return part.html

    @staticmethod
    def _part(kind: str, arguments: dict[str, Any], name: str) -> PagePart:
        if kind == "progress":
            return progress_part(name, **arguments)
        if kind == "progress_line":
            return progress_line_part(name=name, **arguments)
        if kind == "needle":
            return needle_part(arguments, name)
        return (keys_part if kind in ("keys", "harmonic_keys") else card_part)(kind, arguments, name)

    def _panel(self, number: int, exhibit: str, **knobs: Any) -> str:
        shown, name = find_exhibit(exhibit), f"exhibit-{number}"
        start = shown.settle({knob: value for knob, value in knobs.items() if knob not in _NOT_KNOBS})
        self._tell(f"making {self._notebook.page}: the pictures of {exhibit}")
        made = ahead(shown, start)
        self._data.append(panel_data(made, name))
        return panel_html(made, name)

    def _stored(self, cell: Cell, call: Call | None) -> str:
        """What a cell has stored; of something that only a notebook can move, with words that say so."""
        shown = "\n".join(filter(None, (self._output(output) for output in cell.outputs)))
        live = call is not None or any("widget-view" in kind for output in cell.outputs for kind in _data_of(output))
        return f'<div class="output">\n{shown}{_note(_STILL) if live else ""}\n</div>' if shown or live else ""

    def _output(self, output: dict[str, Any]) -> str:
        """A stored output in the best of its forms that a page can take."""
        if output.get("output_type") == "stream":
            return _typed(_joined(output.get("text")))
        if output.get("output_type") == "error":
            return _typed(f"{output.get('ename')}: {output.get('evalue')}")
        data = _data_of(output)
        for kind, ending in _PICTURES.items():
            if kind in data:
                words = _alt(output, kind) or _joined(data.get("text/plain"))
                return _image(ending, _joined(data[kind]), words)
        if "text/html" in data:
            return _lowered(safe_html(printable(_joined(data["text/html"])), self._link))
        if "text/markdown" in data:
            return _lowered(web_prose(printable(_joined(data["text/markdown"])), self._link))
        return _typed(_joined(data.get("text/plain") or data.get("text/latex")))

    def _link(self, address: str) -> str:
        """Where a link in a notebook leads to among the pages; empty if nowhere."""
        path, _, place = address.partition("#")
        target = (
            self._notebook if not path else next((one for one in self._all if one.path.name == unquote(path)), None)
        )
        if target is None or (not path and not place):
            return ""
        named = unquote(f"#{place}".removeprefix(_CELL_LINK))
        at = f"#{quote(_place(named))}" if named in target.places else ""
        return at if target is self._notebook else f"{target.address}{at}"

    def _picture(self, cell: Cell, address: str) -> str:
        """A picture that a notebook shows in its prose, taken into the page; empty for one that is not there."""
        if address.startswith("attachment:"):
            stored = (cell.attachments or {}).get(unquote(address.removeprefix("attachment:")))
            for kind, ending in _PICTURES.items():
                if isinstance(stored, dict) and kind in stored:
                    return f"data:image/{ending};base64,{_joined(stored[kind])}"
            return ""
        folder = self._notebook.path.resolve().parent
        try:
            path = (folder / unquote(address)).resolve()
            inside = path.is_relative_to(folder) and path.is_file() and path.stat().st_size <= _LARGEST_PICTURE
        except (OSError, ValueError):
            return address
        if not inside or path.suffix.lower() not in _KINDS_OF_FILE:
            return address
        kind = _KINDS_OF_FILE[path.suffix.lower()]
        return f"data:image/{kind};base64,{base64.b64encode(path.read_bytes()).decode()}"


def _index(notebooks: Sequence[_Notebook]) -> str:
    """The page that leads to the others: the lessons with their minutes and steps, and what else there is."""
    lessons = {lesson.name: lesson for lesson in course.LESSONS}
    listed, others = [], []
    for one in notebooks:
        link = f'<a href="{one.address}">{html.escape(one.title)}</a>'
        lesson = lessons.get(one.path.stem)
        if lesson is None:
            others.append(f"<li>{link}</li>")
        else:
            steps = "".join(f"<li>{html.escape(step.about)}</li>" for step in lesson.steps)
            listed.append(
                f'<li class="lesson">{link} <span class="aside">{lesson.minutes} minutes</span>\n'
                f'<ol start="{lesson.steps[0].number}">{steps}</ol></li>'
            )
    course_part = f'<h2>Lessons</h2>\n<ol class="lessons">\n{"".join(listed)}\n</ol>' if listed else ""
    other_part = f"<h2>{'Beside the lessons' if listed else 'Pages'}</h2>\n<ul>\n{''.join(others)}\n</ul>"
    words = (
        "<p>Each page is one file, and needs nothing but a browser: no connection, no program, no account. Move the "
        "sliders, listen, and answer; start with the volume low.</p>"
    )
    done = progress_part("progress")
    progress_place = f"<h2>Your progress</h2>\n{done.html}" if listed else ""
    title = "Tuning, from waves to thirty-one notes" if listed else "Pages"
    sections = [f"<h1>{title}</h1>", words, course_part, other_part if others else "", progress_place]
    return whole_page(title, sections, done.data if listed else (), home=True)


def _place(cell: str) -> str:
    """The id of a cell on its page."""
    return f"cell-{cell}"


def _folded(source: str) -> str:
    return (
        f'<details class="source"><summary>Python</summary><pre><code>{html.escape(printable(source))}</code></pre>'
        "</details>\n"
    )


def _lowered(text: str) -> str:
    """HTML of ours whose headings are below those of the lesson."""
    return re.sub(r"(</?)h[12]>", r"\1h3>", text)


def _note(words: str) -> str:
    return f'<p class="aside">{html.escape(words)}</p>'


def _typed(text: str) -> str:
    shown = printable(_ANSI.sub("", text)).rstrip()
    return f"<pre>{html.escape(shown)}</pre>" if shown else ""


def _image(kind: str, data: str, words: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9+/=\s]*", data):
        return _note("The picture that was stored here is damaged.")
    said = html.escape(" ".join(printable(words).split()))
    return f'<div class="still"><img src="data:image/{kind};base64,{"".join(data.split())}" alt="{said}"></div>'


def _alt(output: dict[str, Any], kind: str) -> str:
    metadata = output.get("metadata")
    of_kind = metadata.get(kind) if isinstance(metadata, dict) else None
    return str(of_kind.get("alt", "")) if isinstance(of_kind, dict) else ""


def _data_of(output: dict[str, Any]) -> dict[str, Any]:
    data = output.get("data")
    return data if isinstance(data, dict) else {}


def _joined(text: Any) -> str:
    """A text that is stored as one, or as its lines."""
    if isinstance(text, list):
        return "".join(line for line in text if isinstance(line, str))
    return text if isinstance(text, str) else ""
