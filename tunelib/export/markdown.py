"""Reading the Markdown that lessons are written in, for pages that are not web pages.

Headings, paragraphs, lists, tables, quotations and code set apart; and inside them emphasis, code and links. What is
read is plain values, so that a page takes it as data and never as markup of its own. HTML stays as it is written.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby
from typing import Any, TypeAlias

from tunelib.pitch import printable


@dataclass(frozen=True)
class Span:
    """A run of words in one style; `url` is where it leads to, if anywhere."""

    text: str
    strong: bool = False
    emphasis: bool = False
    code: bool = False
    url: str = ""


Spans: TypeAlias = tuple[Span, ...]


@dataclass(frozen=True)
class Heading:
    """A heading; `level` is 1 for a title."""

    level: int
    spans: Spans
    kind: str = "heading"


@dataclass(frozen=True)
class Paragraph:
    """Words that flow; `lead` is the bold run they begin with, or nothing."""

    spans: Spans
    kind: str = "paragraph"

    @property
    def lead(self) -> str:
        """The bold words at its beginning, without their full stop; empty if there are none."""
        return self.spans[0].text.rstrip(".:") if self.spans and self.spans[0].strong else ""


@dataclass(frozen=True)
class Items:
    """A list; `first` is the number it begins with, or None for bullets."""

    items: tuple[Spans, ...]
    first: int | None = None
    kind: str = "items"


@dataclass(frozen=True)
class Grid:
    """A table whose rows have as many cells as its head."""

    head: tuple[Spans, ...]
    rows: tuple[tuple[Spans, ...], ...]
    kind: str = "grid"


@dataclass(frozen=True)
class Quotation:
    """Paragraphs set off by ``>``."""

    paragraphs: tuple[Spans, ...]
    kind: str = "quotation"


@dataclass(frozen=True)
class Listing:
    """Code set apart, line by line as it is."""

    text: str
    kind: str = "listing"


Block: TypeAlias = Heading | Paragraph | Items | Grid | Quotation | Listing

_LONG_BLANK = re.compile(r"[^\S\n]{200,}")  # over which mistune would search for minutes
_RULE = re.compile(r"\s*\|?\s*:?-+:?\s*(?:\|\s*:?-+:?\s*)*\|?\s*")  # between the head of a table and its rows
_BETWEEN_CELLS = re.compile(r"(?<!\\)\|")


def read_markdown(text: str) -> list[Block]:
    """The blocks of a text in Markdown, in their order.

    >>> read_markdown("# Beats")
    [Heading(level=1, spans=(Span(text='Beats', strong=False, emphasis=False, code=False, url=''),), kind='heading')]
    >>> [block.kind for block in read_markdown("Two:\\n\\n- one\\n- two\\n\\n| a | b |\\n|---|---|\\n| 1 | 2 |")]
    ['paragraph', 'items', 'grid']
    """
    return [block for token in _tokens()(evened(text)) for block in _blocks(token)]


def words_of(spans: Sequence[Span]) -> str:
    """The words alone."""
    return "".join(span.text for span in spans)


@lru_cache(maxsize=1)
def _tokens() -> Callable[[str], Any]:
    """Reads a text into mistune's tree: dictionaries with a type, and children or raw words."""
    import mistune

    return mistune.create_markdown(renderer="ast", plugins=["table"])


def evened(text: str) -> str:
    """A text in Markdown with as many cells in each row of a table as in its head, which mistune insists on.

    What is missing is filled up with empty cells, and what is too much left out (GitHub Flavored Markdown 4.10). Tabs
    and very long blanks become spaces.
    """
    lines = _LONG_BLANK.sub(" ", text.expandtabs(4)).split("\n")
    columns, piped, fenced = 0, True, False
    for number, line in enumerate(lines):
        fenced ^= line.lstrip().startswith(("```", "~~~"))
        cells = _BETWEEN_CELLS.split(line.strip().removeprefix("|"))
        if len(cells) == 1 or fenced:
            columns = 0
        elif columns:
            cells = [*(cells if cells[-1].strip() else cells[:-1]), *[""] * columns][:columns]
            row = " | ".join(cell.strip() for cell in cells)
            lines[number] = f"| {row} |" if piped else row
        elif _RULE.fullmatch(line):
            columns, piped = len([cell for cell in cells if cell.strip()]), line.lstrip().startswith("|")
    return "\n".join(lines)


def _blocks(token: dict[str, Any]) -> Iterator[Block]:
    """The block that a token of the tree is; none for a blank line or a rule."""
    inner = token.get("children", [])
    match token["type"]:
        case "heading":
            yield Heading(token["attrs"]["level"], _spans(inner))
        case "paragraph":
            yield Paragraph(_spans(inner))
        case "block_html":
            yield Paragraph(_joined([Span(" ".join(token["raw"].split()))]))
        case "list":
            first = token["attrs"].get("start", 1) if token["attrs"]["ordered"] else None
            yield Items(tuple(_items(token)), first)
        case "table":
            head, *bodies = inner
            rows = [row for body in bodies for row in body["children"]]
            yield Grid(_cells(head), tuple(map(_cells, rows)))
        case "block_quote":
            yield Quotation(tuple(_spans([part]) for part in inner if part["type"] != "blank_line"))
        case "block_code":
            yield Listing(token["raw"].rstrip("\n"))


def _items(of_list: dict[str, Any]) -> Iterator[Spans]:
    """The items of a list; those of one inside another are drawn into it."""
    for item in of_list["children"]:
        parts = [part for part in item["children"] if part["type"] != "blank_line"]
        if not parts:
            yield ()
        for nested, inside in groupby(parts, key=lambda part: part["type"] == "list"):
            if nested:
                yield from (inner for part in inside for inner in _items(part))
            else:
                yield _spans(inside)


def _cells(row: dict[str, Any]) -> tuple[Spans, ...]:
    return tuple(_spans(cell["children"]) for cell in row["children"])


def _spans(tokens: Iterable[dict[str, Any]]) -> Spans:
    """All words of some tokens, as runs of one style each; the end of a line or of a paragraph is a space."""
    return _joined(_runs(tokens, Span("")))


def _runs(tokens: Iterable[dict[str, Any]], style: Span) -> Iterator[Span]:
    for number, token in enumerate(tokens):
        kind, inner = token["type"], token.get("children", [])
        if number and kind in ("paragraph", "block_text", "list_item"):
            yield replace(style, text=" ")
        if kind == "strong":
            yield from _runs(inner, replace(style, strong=True))
        elif kind == "emphasis":
            yield from _runs(inner, replace(style, emphasis=True))
        elif kind == "link":
            yield from _runs(inner, replace(style, url=token["attrs"]["url"]))
        elif kind == "text":
            yield replace(style, text=printable(html.unescape(token["raw"])).replace("\t", " "))
        elif kind in ("softbreak", "linebreak"):
            yield replace(style, text=" ")
        else:
            yield replace(style, text=token.get("raw", ""), code="code" in kind)
            yield from _runs(inner, style)


def _joined(spans: Iterable[Span]) -> Spans:
    """Neighbours of one style drawn together, and empty ones left out."""
    joined: list[Span] = []
    for span in spans:
        if joined and replace(joined[-1], text="") == replace(span, text=""):
            joined[-1] = replace(span, text=joined[-1].text + span.text)
        elif span.text:
            joined.append(span)
    return tuple(joined)
