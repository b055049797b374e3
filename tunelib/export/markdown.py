"""Reading the Markdown that lessons are written in, for pages that are not web pages.

The part of it that lessons use: headings, paragraphs, lists, tables, quotations and code set apart; and inside them
emphasis, code and links. What is read is plain values, so that a page takes it as data and never as markup of its own.
Anything else stays as it is written.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias


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
    """Code set apart, line by line as it stands."""

    text: str
    kind: str = "listing"


Block: TypeAlias = Heading | Paragraph | Items | Grid | Quotation | Listing

_FENCE = re.compile(r" {0,3}(```+|~~~+)")
_HEADING = re.compile(r" {0,3}(#{1,6})(?:[ \t]+(.*?))?(?:[ \t]+#+)?[ \t]*$")
_QUOTED = re.compile(r" {0,3}> ?")
_ITEM = re.compile(r"( {0,3})(?:[-*+]|(\d{1,9})[.)])[ \t]+(?=\S)")
_RULED = re.compile(r" *\|?(?: *:?-+:? *\|)+(?: *:?-+:? *)?$")


def read_markdown(text: str) -> list[Block]:
    """The blocks of a text in Markdown, in their order.

    >>> read_markdown("# Beats")
    [Heading(level=1, spans=(Span(text='Beats', strong=False, emphasis=False, code=False, url=''),), kind='heading')]
    >>> [block.kind for block in read_markdown("Two:\\n\\n- one\\n- two\\n\\n| a | b |\\n|---|---|\\n| 1 | 2 |")]
    ['paragraph', 'items', 'grid']
    """
    lines = text.expandtabs(4).splitlines()
    blocks: list[Block] = []
    at = 0
    while at < len(lines):
        if not lines[at].strip():
            at += 1
            continue
        block, at = _block(lines, at)
        blocks.append(block)
    return blocks


def read_spans(text: str) -> Spans:
    """Words in Markdown as runs of one style each; a line's end is a space.

    >>> [(span.text, span.strong) for span in read_spans("a **bold** word")]
    [('a ', False), ('bold', True), (' word', False)]
    """
    return _joined(_spans(" ".join(text.split()), Span("")))


def words_of(spans: Sequence[Span]) -> str:
    """The words alone."""
    return "".join(span.text for span in spans)


def _block(lines: Sequence[str], at: int) -> tuple[Block, int]:
    """The block that begins at a line, and where the next may begin."""
    line = lines[at]
    if fence := _FENCE.match(line):
        end = next((i for i in range(at + 1, len(lines)) if lines[i].strip() == fence[1]), len(lines))
        return Listing("\n".join(lines[at + 1 : end])), end + 1
    if heading := _HEADING.match(line):
        return Heading(len(heading[1]), read_spans(heading[2] or "")), at + 1
    if _QUOTED.match(line):
        end = _end(lines, at, lambda later: bool(later.strip()))
        inner = "\n".join(_QUOTED.sub("", each, count=1) for each in lines[at:end])
        return Quotation(tuple(read_spans(part) for part in re.split(r"\n\s*\n", inner) if part.strip())), end
    if at + 1 < len(lines) and "|" in line and _RULED.match(lines[at + 1]):
        end = _end(lines, at + 2, lambda later: "|" in later)
        head = _cells(line)
        rows = [[*_cells(each), *[()] * len(head)][: len(head)] for each in lines[at + 2 : end]]
        return Grid(tuple(head), tuple(map(tuple, rows))), end
    if _ITEM.match(line):
        return _items(lines, at)
    end = _end(lines, at + 1, lambda later: bool(later.strip()) and not _interrupts(later))
    return Paragraph(read_spans("\n".join(lines[at:end]))), end


def _end(lines: Sequence[str], at: int, goes_on: Callable[[str], bool]) -> int:
    """The first line from `at` on that no longer belongs, or the end."""
    while at < len(lines) and goes_on(lines[at]):
        at += 1
    return at


def _interrupts(line: str) -> bool:
    """Whether a line ends the paragraph before it; a number at its beginning is a list only if it is 1 (CommonMark)."""
    item = _ITEM.match(line)
    listed = item is not None and item[2] in (None, "1")
    return listed or any(sign.match(line) for sign in (_FENCE, _HEADING, _QUOTED))


def _items(lines: Sequence[str], at: int) -> tuple[Items, int]:
    """A list, whose items may run over several lines; one inside another is drawn into it."""
    first = _ITEM.match(lines[at])
    number = first[2] if first else None
    items: list[str] = []
    while at < len(lines):
        line = lines[at]
        item = _ITEM.match(line.lstrip() if line.startswith(" ") else line)
        if item and (item[2] is None) == (number is None):
            items.append(line.strip()[item.end() - item.start() :])
        elif line.strip() and not _interrupts(line):
            items[-1] += "\n" + line
        elif not line.strip() and at + 1 < len(lines) and _ITEM.match(lines[at + 1]):
            pass
        else:
            break
        at += 1
    return Items(tuple(map(read_spans, items)), None if number is None else int(number)), at


def _cells(line: str) -> list[Spans]:
    inner = re.sub(r"^\s*\||(?<!\\)\|\s*$", "", line)
    return [read_spans(cell.replace("\\|", "|")) for cell in re.split(r"(?<!\\)\|", inner)]


_SPAN = re.compile(
    r"""
    \\(?P<escaped>[!-/:-@\[-`{-~])
    | (?P<ticks>`+)(?P<code>.+?)(?<!`)(?P=ticks)(?!`)
    | \*\*(?=\S)(?P<strong>.+?)(?<=\S)\*\*(?!\*)
    | \*(?![\s*])(?P<starred>(?:\*\*.+?\*\*|[^*])+?)(?<=\S)\*(?!\*)
    | (?<!\w)_(?=\S)(?P<lined>[^_]+?)(?<=\S)_(?!\w)
    | !?\[(?P<words>(?:[^\[\]\\]|\\.)*)\]\((?P<url>[^()\s]*(?:\([^()\s]*\)[^()\s]*)*)(?:\s+"[^"]*")?\)
    | <(?P<bare>(?:https?|mailto):[^<>\s]+)>
    """,
    re.VERBOSE,
)


def _spans(text: str, style: Span) -> Iterator[Span]:
    """Runs of a text that stands in a style already."""
    done = 0
    for found in _SPAN.finditer(text):
        yield replace(style, text=html.unescape(text[done : found.start()]))
        done = found.end()
        if found["escaped"]:
            yield replace(style, text=found["escaped"])
        elif found["code"]:
            inner = found["code"]
            yield replace(style, text=inner.strip() or inner, code=True)
        elif found["strong"]:
            yield from _spans(found["strong"], replace(style, strong=True))
        elif found["starred"] or found["lined"]:
            yield from _spans(found["starred"] or found["lined"], replace(style, emphasis=True))
        elif found["bare"]:
            yield replace(style, text=found["bare"], url=found["bare"])
        else:
            yield from _spans(found["words"], style if found[0].startswith("!") else replace(style, url=found["url"]))
    yield replace(style, text=html.unescape(text[done:]))


def _joined(spans: Iterator[Span]) -> Spans:
    """Neighbours of one style drawn together, and empty ones left out."""
    joined: list[Span] = []
    for span in spans:
        if joined and replace(joined[-1], text="") == replace(span, text=""):
            joined[-1] = replace(span, text=joined[-1].text + span.text)
        elif span.text:
            joined.append(span)
    return tuple(joined)
