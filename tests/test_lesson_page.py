"""Pages made of lessons: what is on them, what a hostile notebook cannot do to them, and how much they weigh."""

from __future__ import annotations

import base64
import json
import re
import time
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlsplit

import pytest

from tunelib.commands.line import main
from tunelib.exhibits import EXHIBITS
from tunelib.export import safe_html
from tunelib.files import write_set
from tunelib.practice import exercise, question
from tunelib.practice.lesson_page import INDEX, lesson_pages

PIXEL = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
_ADDRESSES = ("src", "href", "srcset", "action", "data", "poster", "background", "formaction", "xlink:href")
_VOID = {"meta", "img", "br", "hr", "wbr", "input", "link"}


class Reader(HTMLParser):
    """The elements of a page, as a browser's parser would list them, and whether all are closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, (tag, self.open[-3:])
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("script", "style"):
            self.words.append(data)

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def notebook(folder: Path, *cells: str | dict[str, Any], name: str = "own.ipynb") -> Path:
    """A notebook of Markdown cells, of code cells, which begin with ``>>> ``, and of whole cells as they are stored."""
    made = []
    for cell in cells:
        if isinstance(cell, dict):
            made.append(cell)
        else:
            code = cell.startswith(">>> ")
            made.append({"cell_type": "code" if code else "markdown", "source": cell[4:] if code else cell})
    path = folder / name
    path.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": made}), encoding="utf-8")
    return path


def stored(source: str, **data: Any) -> dict[str, Any]:
    """A code cell with one stored output; kinds are given with _ for /."""
    kinds = {kind.replace("_", "/", 1): value for kind, value in data.items()}
    output = {"output_type": "display_data", "data": kinds, "metadata": {}}
    return {"cell_type": "code", "source": source, "outputs": [output]}


def page(folder: Path, *cells: str | dict[str, Any]) -> str:
    made = write_set(lesson_pages([notebook(folder, *cells)]), folder / "site", overwrite=True)
    return made[0].read_text(encoding="utf-8")


def loads(text: str) -> Iterator[tuple[str, str]]:
    """What a page would fetch or go to that is neither in it nor in its site: elements, and addresses."""
    for tag, attributes in Reader(text).elements:
        for name in _ADDRESSES:
            address = attributes.get(name, "#").strip()
            inside = address.startswith(("#", "data:image/")) or re.fullmatch(r"[\w. -]+\.html(#[\w-]+)?", address)
            if not inside:
                yield tag, address


HOSTILE = (
    "<script>alert(1)</script>after",
    '<img src="x" onerror="alert(1)">',
    '<img src="https://example.org/spy.png" alt="a spy">',
    '<a href="javascript:alert(1)">press</a>',
    "[press](javascript:alert(1)) [go](https://example.org/)",
    "[press](data:text/html;base64,PHNjcmlwdD5hbGVydCgxKTwvc2NyaXB0Pg==)",
    '<iframe src="https://example.org/"></iframe><object data="https://example.org/"></object>',
    '<svg onload="alert(1)"><script>alert(1)</script></svg>',
    '<form action="https://example.org/"><input name="a"><button>go</button></form>',
    '<style>* { background: url("https://example.org/spy.png") }</style>',
    '<p style="background: url(https://example.org/spy.png)" onclick="alert(1)">words</p>',
    '<base href="https://example.org/"><link rel="stylesheet" href="https://example.org/a.css">',
    '<meta http-equiv="refresh" content="0; url=https://example.org/">',
    "</main></body></html><p>after the end",
    "<div><div><b>never closed",
    "<!-- <script>alert(1)</script> --><!--",
    '<math><mtext></mtext><mglyph><style></math><img src onerror="alert(1)">',
    '<details open ontoggle="alert(1)"><summary>fold</summary>',
    '<a href="jav&#x09;ascript:alert(1)">press</a>',
    '<p id="main" class="exhibit">taken</p>',
    "# <img src=x onerror=alert(1)>",
)


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("place", ["in prose", "stored as HTML", "stored as Markdown", "in code"])
def test_nothing_that_a_notebook_holds_runs_or_leaves_the_page(tmp_path: Path, text: str, place: str) -> None:
    """HTML of a teacher's own goes through as far as it is harmless, and always closed"""
    cell: str | dict[str, Any] = {
        "in prose": text, "stored as HTML": stored("x", text_html=text), "in code": f">>> # {text}",
        "stored as Markdown": stored("x", text_markdown=text),
    }[place]  # fmt: skip
    made = page(tmp_path, "# Own lesson", cell, "Here it goes on.")
    read = Reader(made)
    assert read.open == [] and read.text.endswith("Here it goes on.")
    assert list(loads(made)) == []
    scripts = [each for each in read.all("script") if each.get("type") != "application/octet-stream"]
    assert len(scripts) == 1
    assert not [name for _, attributes in read.elements for name in attributes if name.startswith("on")]
    assert not [tag for tag, _ in read.elements if tag in ("iframe", "object", "embed", "form", "svg", "base", "link")]
    assert [each["id"] for _, each in read.elements if each.get("id") == "main"] == ["main"]
    assert len([each for _, each in read.elements if each.get("class") == "exhibit"]) == 0
    assert len(read.all("h1")) == 1


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("<a b='" * 10_000, "&lt;a b='" * 10_000),
        ("<b>" * 20_000 + "</i>" * 20_000, "<b>" * 20_000 + "</b>" * 20_000),
        ("1 > 0 &amp; 1 < 2", "1 &gt; 0 &amp; 1 &lt; 2"),
        ("before<script>a > b", "before"),
    ],
)
def test_html_that_is_never_closed_is_soon_read(text: str, shown: str) -> None:
    """Two seconds are several times what these take; what looks for each end again takes half a minute"""
    begun = time.process_time()
    assert safe_html(text, lambda address: "") == shown
    assert time.process_time() - begun < 2


def test_a_page_forbids_all_that_is_not_in_it(tmp_path: Path) -> None:
    """The policy comes before anything that could load, and names the script and the style by their digests"""
    made = page(tmp_path, "# Own lesson")
    policy = Reader(made).all("meta")[1]
    assert policy["http-equiv"] == "Content-Security-Policy"
    rules = dict(rule.strip().split(" ", 1) for rule in policy["content"].split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert "unsafe" not in policy["content"] and "http" not in policy["content"]
    assert made.index("Content-Security-Policy") < made.index("<style>") < made.index("<body>")


def test_harmless_html_of_a_teacher_goes_through(tmp_path: Path) -> None:
    """A table, a fold, raised and lowered letters, and a picture that is in the notebook"""
    made = page(
        tmp_path,
        "# Own lesson\n\n<details><summary>More</summary>\n\n*inside*\n\n</details>\n\nH<sub>2</sub>O, $x_1$ and $x_2$",
        stored("table", text_html="<style>td {color: red}</style><table><tr><td colspan=2>cell</td></tr></table>"),
        stored("plot", image_png=PIXEL, text_plain="a plot"),
        {
            "cell_type": "markdown",
            "source": "![mine](attachment:a.png)",
            "attachments": {"a.png": {"image/png": PIXEL}},
        },
    )
    assert "<details><summary>More</summary>" in made and "<em>inside</em>" in made and "<sub>2</sub>" in made
    assert '<code class="math">x_1</code>' in made
    assert '<td colspan="2">cell</td>' in made and "color: red" not in made
    assert Reader(made).all("img") == [
        {"src": f"data:image/png;base64,{PIXEL}", "alt": words} for words in ("a plot", "mine")
    ]


def test_a_picture_beside_the_notebook_is_taken_in_and_one_outside_its_folder_is_not(tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    for folder in (tmp_path, inner):
        (folder / "a.png").write_bytes(base64.b64decode(PIXEL))
    made = page(inner, "# Own lesson\n\n![mine](a.png) ![other](../a.png) ![none](b.png)")
    assert [each["alt"] for each in Reader(made).all("img")] == ["mine"]
    assert "[Picture that is not in this file: other]" in made and "file: none]" in made


def test_links_between_lessons_become_links_between_pages(tmp_path: Path) -> None:
    """To a step by its cell; a link to what is not there is words, and an address of the web can be read"""
    step = {"cell_type": "markdown", "id": "step-4-1", "source": "## Step 4 · More"}
    two = notebook(tmp_path, "# Two", step, "[first](one.ipynb)", name="two.ipynb")
    one = notebook(
        tmp_path,
        "# One\n\n[a](two.ipynb) [b](two.ipynb#cell-id=step-4-1) [c](three.ipynb) [d](two.ipynb#cell-id=nowhere) "
        "[e](https://example.org/x) [f](../two.ipynb)",
        name="one.ipynb",
    )
    first, second, index = (path.read_text() for path in write_set(lesson_pages([one, two]), tmp_path / "site"))
    assert re.findall(r'<a href="(two[^"]*)">(\w)</a>', first) == [
        ("two.html", "a"), ("two.html#cell-step-4-1", "b"), ("two.html", "d"),
    ]  # fmt: skip
    assert 'e <span class="address">(https://example.org/x)</span>' in first and ">f<" not in first
    assert 'id="cell-step-4-1"' in second and '<a href="one.html">first</a>' in second
    assert '<a href="one.html">One</a>' in index and '<a href="two.html">Two</a>' in index
    assert list(loads(first + second + index)) == []


@pytest.mark.parametrize("name", ["50% #1?", "javascript:alert(1)", "die Töne"])
def test_links_lead_to_pages_and_cells_of_any_name(tmp_path: Path, name: str) -> None:
    """What means something else in an address is written so that it does not"""
    cell = {"cell_type": "markdown", "id": 'a"&<%', "source": "# Two"}
    two = notebook(tmp_path, cell, name=f"{name}.ipynb")
    address = f"{quote(name)}.ipynb#cell-id={quote(cell['id'])}"
    one = notebook(tmp_path, f"# One\n\n[there]({address.replace('(', '%28').replace(')', '%29')})", name="one.ipynb")
    first, second, index = (Reader(path.read_text()) for path in write_set(lesson_pages([one, two]), tmp_path / "site"))
    for address in (urlsplit(link["href"]) for link in [*first.all("a"), *index.all("a")]):
        assert not address.scheme and (not address.path or (tmp_path / "site" / unquote(address.path)).is_file())
        assert unquote(address.fragment) in ("", "main", 'cell-a"&<%')
    assert len([link for link in first.all("a") if "#cell-" in link["href"]]) == 1
    assert 'cell-a"&<%' in [each.get("id") for _, each in second.elements]


@pytest.mark.parametrize(
    ("heading", "title"), [("# The key of F#", "The key of F#"), ("# *Own* lesson ##", "Own lesson"), ("# #", "own")]
)
def test_a_page_is_called_what_its_first_heading_says(tmp_path: Path, heading: str, title: str) -> None:
    assert f"<title>{title}</title>" in page(tmp_path, heading)


def test_a_panel_is_followed_only_where_its_arguments_are_written_out(tmp_path: Path) -> None:
    """What would have to be worked out, and what is a function of the notebook's own, stands as it was stored"""
    moving = page(tmp_path, '>>> from tunelib.show import panel\npanel("interval_families", step=9)')
    assert 'class="exhibit"' in moving and 'class="source"' not in moving
    for source in (
        'n = 9\npanel("interval_families", step=n)',
        'def panel(name):\n    return name\npanel("interval_families")',
        'from mine import panel\npanel("wave")',
    ):
        still = page(tmp_path, stored(source, image_png=PIXEL, text_plain="as stored"))
        assert 'class="exhibit"' not in still and "as stored" in still and 'class="source"' in still
    assert "works in the notebook" in page(tmp_path, stored("tune_panel()", text_plain="a tune"))


def test_an_exhibit_can_be_read_before_any_script_has_run(tmp_path: Path) -> None:
    """Its first picture, its sentence as alternative text, and its knobs with their labels and values"""
    made = page(tmp_path, '>>> panel("interval_families", step=9)')
    shown = EXHIBITS["interval_families"]
    sentence = shown.sentence(**shown.settle({"step": 9}))
    read = Reader(made)
    [picture] = read.all("img")
    assert picture["alt"] == sentence and picture["src"].startswith("data:image/webp;base64,")
    [slider] = [each for each in read.all("input") if each["type"] == "range"]
    assert (slider["min"], slider["max"], slider["value"], slider["aria-valuetext"]) == ("0", "31", "9", "9")
    assert slider["id"] in {each["for"] for each in read.all("label")}


def test_questions_and_exercises_are_on_the_page(tmp_path: Path) -> None:
    text = Reader(page(tmp_path, ">>> question(3)", ">>> exercise(3)")).text
    for words in (question(3).prompt, *question(3).answer.choices, exercise(3).prompt, exercise(3).hint):
        assert " ".join(words.split()) in text


@pytest.mark.parametrize(
    ("cell", "complaint"),
    [
        ('>>> panel("wafe")', "own.ipynb, cell 1: no exhibit is called 'wafe'"),
        ('>>> panel("wave", hertz=5)', "own.ipynb, cell 1: hertz goes from 55 to 1760"),
        (">>> question(99)", "own.ipynb, cell 1: there is no step 99"),
        (">>> question(3, 4)", None),
        ({"cell_type": "code"}, "own.ipynb, cell 1 is damaged"),
    ],
)
def test_a_mistake_in_a_notebook_is_one_line_and_leaves_no_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], cell: Any, complaint: str | None
) -> None:
    path, site = notebook(tmp_path, cell), tmp_path / "site"
    code = main(["page", str(path), "--out", str(site)])
    said = capsys.readouterr().err.splitlines()[-1]
    if complaint is None:
        assert code == 0
    else:
        assert code == 2 and complaint in said
        assert not site.exists()


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"cells": 3}', '{"cells": [3]}', "\x00", "[" * 100_000])
def test_what_is_no_notebook_is_refused_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    path = tmp_path / "own.ipynb"
    path.write_text(text)
    assert main(["page", str(path), "--out", str(tmp_path / "site")]) == 2
    [said] = capsys.readouterr().err.splitlines()
    assert "own.ipynb" in said


def test_pages_are_written_whole_and_over_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All or none; what is there stays, unless it is to be replaced; a name that is taken twice is refused"""
    path, site = notebook(tmp_path, "# Own"), tmp_path / "site"
    assert main(["page", str(path), "--out", str(site)]) == 0
    assert capsys.readouterr().out.split() == [str(site / "own.html"), str(site / INDEX)]
    assert main(["page", str(path), "--out", str(site)]) == 2
    assert "already there" in capsys.readouterr().err
    assert main(["page", str(path), "--out", str(site), "--force"]) == 0
    assert main(["page", str(notebook(tmp_path, "# I", name="index.ipynb")), "--out", str(tmp_path / "other")]) == 2
    assert "would both be index.html" in capsys.readouterr().err
    (tmp_path / "two").mkdir()
    same = notebook(tmp_path / "two", "# Own", name="OWN.ipynb")  # one file on many systems
    assert main(["page", str(path), str(same), "--out", str(tmp_path / "other")]) == 2
    assert "would both be own.html" in capsys.readouterr().err
    assert main(["page", str(tmp_path / "none.ipynb"), "--out", str(site)]) == 2
    assert "none.ipynb" in capsys.readouterr().err
