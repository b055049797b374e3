"""Markdown as lessons write it, read beside another reader of Markdown."""

from __future__ import annotations

import html
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import mistune
import pytest

from tunelib.export.markdown import Grid, Heading, Items, Listing, Paragraph, Quotation, Span, read_markdown, words_of

LESSONS = sorted((Path(__file__).resolve().parent.parent / "lessons").glob("*.ipynb"))
PEER = mistune.create_markdown(renderer="ast", plugins=["table"])


def prose(notebook: Path) -> list[str]:
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    return ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"]


def ours(text: str) -> Iterator[tuple[str, str, str]]:
    """Kind of block, style and words of every run."""
    for block in read_markdown(text):
        match block:
            case Heading():
                yield from runs(f"heading {block.level}", block.spans)
            case Paragraph():
                yield from runs("paragraph", block.spans)
            case Items():
                for item in block.items:
                    yield from runs("bullet" if block.first is None else "number", item)
            case Grid():
                for cell in (*block.head, *(cell for row in block.rows for cell in row)):
                    yield from runs("cell", cell)
            case Quotation():
                for paragraph in block.paragraphs:
                    yield from runs("quotation", paragraph)
            case Listing():
                yield "listing", "", block.text.strip()


def runs(kind: str, spans: tuple[Span, ...]) -> Iterator[tuple[str, str, str]]:
    for span in spans:
        styles = [name for name in ("strong", "emphasis", "code") if getattr(span, name)]
        yield kind, " ".join([*styles, span.url]), span.text


def peers(tokens: list[dict[str, Any]], kind: str = "", style: tuple[str, ...] = (), url: str = "") -> Iterator[Any]:
    """The same from the peer's tree."""
    for token in tokens:
        what = token["type"]
        below = token.get("children", [])
        if what in ("text", "softbreak", "codespan"):
            text = " " if what == "softbreak" else token["raw"]
            text = html.unescape(text) if what == "text" else text  # which the peer leaves to its renderers
            yield kind, " ".join([*style, *(["code"] if what == "codespan" else []), url]), text
        elif what in ("strong", "emphasis"):
            both = [name for name in ("strong", "emphasis") if name in (*style, what)]
            yield from peers(below, kind, tuple(both), url)
        elif what == "link":
            yield from peers(below, kind, style, unquote(token["attrs"]["url"]))
        elif what == "block_code":
            yield "listing", "", token["raw"].strip()
        elif what != "blank_line":
            names = {"list": "number" if token.get("attrs", {}).get("ordered") else "bullet", "table_cell": "cell"}
            names |= {"block_quote": "quotation", "heading": f"heading {token.get('attrs', {}).get('level')}"}
            inner = kind if what == "paragraph" and kind else names.get(what, kind or "paragraph")
            yield from peers(below, inner, style, url)


def joined(found: Iterator[Any]) -> list[tuple[str, str, str]]:
    """Runs of one kind and style drawn together."""
    drawn: list[tuple[str, str, str]] = []
    for kind, style, text in found:
        if drawn and drawn[-1][:2] == (kind, style):
            drawn[-1] = (kind, style, drawn[-1][2] + text)
        else:
            drawn.append((kind, style, text))
    return [(kind, style, " ".join(text.split())) for kind, style, text in drawn if text.strip()]


@pytest.mark.parametrize("notebook", LESSONS, ids=lambda path: path.stem)
def test_every_lesson_reads_as_another_reader_has_it(notebook: Path) -> None:
    """mistune, an independent library: the same blocks, styles, links and words"""
    for text in prose(notebook):
        assert joined(ours(text)) == joined(peers(PEER(text)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "a **bold *and slanted* end** of it",
        "*slanted **and bold** end*",
        "2 * 3 * 4 and a_b_c and _so_ on",
        r"\*not slanted\*, \[no link\](x) and a back\\slash",
        "`*code*` and ``a ` tick``",
        "[a *styled* link](https://example.org/a_(b)) and <https://example.org>",
        "a line\nand 240. no list",
        "a line\n- a list",
        "1. one\n2. two\n   goes on\n3. three",
        "7. seven\n8. eight",
        "* one\n* two\n\n* three",
        "> quoted\n> on\n>\n> and on",
        "| a | b |\n|:-:|---|\n| `1` | *2* |\n\nafter",
        "### third ###\n\ntext",
        "```python\na = 1  # *not slanted*\n```\nafter",
        "R&amp;D",
    ],
)
def test_what_a_teacher_may_write_reads_as_another_reader_has_it(text: str) -> None:
    assert joined(ours(text)) == joined(peers(PEER(text)))  # type: ignore[arg-type]


def test_what_is_not_known_stays_as_it_is_written() -> None:
    [block] = read_markdown("$x^2$ and <b>b</b> and **open")
    assert isinstance(block, Paragraph)
    assert words_of(block.spans) == "$x^2$ and <b>b</b> and **open"


def test_a_table_with_a_short_row_is_filled_up() -> None:
    [block] = read_markdown("| a | b |\n|---|---|\n| 1 |\n| 1 | 2 | 3 |")
    assert isinstance(block, Grid)
    assert [[words_of(cell) for cell in row] for row in block.rows] == [["1", ""], ["1", "2"]]


def test_the_bold_words_at_a_paragraphs_beginning_are_its_lead() -> None:
    [led, plain] = read_markdown("**Look and listen.** Then go on.\n\nNothing **bold** here first.")
    assert isinstance(led, Paragraph) and isinstance(plain, Paragraph)
    assert (led.lead, plain.lead) == ("Look and listen", "")
