"""A handout, as PDF: pictures, questions and tables of a lesson with ruled lines to write on, set by Typst.

It is made of parts in a row. None of them is split by the end of a sheet, but for a table too long for one, and no
heading is left alone at the foot. All is in black and grey except the pictures, which do not need their colours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, TypeAlias

from tunelib.export.markdown import Block, Heading, Span, Spans, words_of
from tunelib.export.typeset import typeset


@dataclass(frozen=True)
class Figure:
    """A picture as SVG, and its sentence, which goes under it and is its description in words."""

    svg: str
    sentence: str
    kind: str = "figure"


@dataclass(frozen=True)
class Task:
    """What to look at and listen for, and how many ruled lines there are for what was heard."""

    paragraphs: tuple[Spans, ...]
    lines: int
    kind: str = "task"


@dataclass(frozen=True)
class Asked:
    """A question or an exercise in plain words; blank lines separate paragraphs.

    Parameters
    ----------
    title, prompt : str
    choices : sequence of str
        Each gets a box to tick; none for an answer in words or numbers.
    lines : int
        Ruled lines to answer on.
    right : int, optional
        The choice that is ticked already, where answers are printed.
    answers : sequence of (str, str)
        What is printed as the answer: a title and words.
    """

    title: str
    prompt: str
    choices: Sequence[str] = ()
    lines: int = 0
    right: int | None = None
    answers: Sequence[tuple[str, str]] = ()
    kind: str = "asked"


@dataclass(frozen=True)
class Numbers:
    """A table of plain words, under a title."""

    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    kind: str = "numbers"


@dataclass(frozen=True)
class NewSheet:
    """What follows begins on a sheet of its own."""

    kind: str = "sheet"


Part: TypeAlias = Block | Figure | Task | Asked | Numbers | NewSheet


def handout_page(title: str, parts: Sequence[Part], paper: str = "a4") -> bytes:
    """A handout as a PDF document, tagged for screen readers as `tunelib.export.typeset` says.

    The title comes first, as the one heading of the first level. A heading without words is left out, and one whose
    level skips another is raised to the level below the heading before it, as the standard demands.

    `paper` is ``"a4"`` or ``"letter"``. Raises ValueError for another, or for what cannot be set, and ImportError, with
    what to install, where Typst is missing.
    """
    data = {"title": title, "parts": list(_levelled(title, parts)), "small_print": _SMALL_PRINT}
    return typeset(_LAYOUT, data, paper)


def _levelled(title: str, parts: Sequence[Part]) -> Iterator[dict[str, Any]]:
    """The parts as data, with a title before them and headings whose levels follow each other."""
    level = 0
    for part in (Heading(1, (Span(title),)), *parts):
        if isinstance(part, Heading):
            if not words_of(part.spans).strip():
                continue
            level = min(max(part.level, 2 if level else 1), level + 1, _DEEPEST)
            yield asdict(part) | {"level": level}
        elif isinstance(part, Numbers):
            yield asdict(part) | {"level": min(level + 1, _DEEPEST)}
        else:
            yield asdict(part)


_DEEPEST = 3  # level of a heading
_SMALL_PRINT = "Sources"  # the heading of it

_LAYOUT = """
#set page(footer: foot(data.title, <last>))
#set text(10.5pt)
#set par(spacing: 0.85em)
#show heading.where(level: 2): it => block(above: 1.3em, below: 0.7em, sticky: true, text(13pt, it.body))
#show heading.where(level: 3): it => block(above: 1.2em, below: 0.7em, sticky: true, text(11pt, it.body))
#show raw: set text(font: ("DejaVu Sans Mono", "STIXGeneral"))

#let said(title, words) = {
  let (first, ..others) = words.split("\\n\\n")
  par(strong(title) + " " + first)
  for other in others { par(other) }
}
#let spans(runs) = for run in runs {
  let shown = if run.code { raw(run.text) } else { run.text }
  if run.emphasis { shown = emph(shown) }
  if run.strong { shown = strong(shown) }
  if run.url.starts-with(regex("https?:|mailto:")) { link(run.url, shown) } else { shown }
}
#let ruled(count) = for _ in range(count) {
  block(width: 100%, height: 7mm, spacing: 0pt, stroke: (bottom: 0.5pt + luma(45%)))
}
#let set-off(body, sticky: false) = block(
  width: 100%, inset: (left: 3mm, y: 1mm), stroke: (left: 1.5pt + luma(45%)), breakable: false, sticky: sticky, body,
)
#let tick-box(ticked) = box(
  width: 3mm, height: 3mm, baseline: 0.3mm, stroke: 0.7pt, fill: if ticked { black } else { none },
)
#let lined(x, y) = (bottom: if y == 0 { 0.8pt } else { 0.3pt + luma(60%) })

#let heading-part(part) = heading(level: part.level, spans(part.spans))
#let paragraph-part(part) = par(spans(part.spans))
#let items-part(part) = {
  let items = part.items.map(spans)
  block(breakable: items.len() > 12, if part.first == none { list(..items) } else { enum(start: part.first, ..items) })
}
#let quotation-part(part) = set-off(sticky: true, for words in part.paragraphs { par(spans(words)) })
#let listing-part(part) = block(breakable: false, raw(part.text, block: true))
#let grid-part(part) = block(breakable: part.rows.len() > 24, above: 1.2em, below: 1.2em, table(
  columns: part.head.len(), stroke: lined, inset: (x: 6pt, y: 3.5pt),
  table.header(..part.head.map(cell => strong(spans(cell)))),
  ..part.rows.map(row => row.map(spans)).flatten(),
))
#let numbers-part(part) = block(breakable: part.rows.len() > 40, above: 1.2em, below: 1.2em)[
  #heading(level: part.level, part.title)

  #set text(if part.head.len() > 8 { 8pt } else { 9pt })
  #table(
    columns: part.head.len(), align: center, stroke: lined,
    inset: (x: if part.head.len() > 8 { 4pt } else { 8pt }, y: 1.7pt),
    table.header(..part.head.map(cell => strong(cell))),
    ..part.rows.flatten(),
  )
]
#let figure-part(part) = block(breakable: false, above: 0.8em, below: 1em, width: 100%)[
  #align(center, image(bytes(part.svg), format: "svg", width: 140mm, alt: part.sentence))
  #text(9pt, part.sentence)
]
#let task-part(part) = block(breakable: false, sticky: part.lines == 0)[
  #for words in part.paragraphs { par(spans(words)) }
  #ruled(part.lines)
]
#let asked-part(part) = block(breakable: false, above: 1em, below: 1em, width: 100%)[
  #said(part.title, part.prompt)
  #for (place, choice) in part.choices.enumerate() {
    let right = place == part.right
    block(inset: (left: 3mm), above: 0.7em, below: 0.7em, par({
      tick-box(right)
      h(2mm)
      if right { strong(choice) } else { choice }
    }))
  }
  #ruled(part.lines)
  #for (title, words) in part.answers { set-off(text(9.5pt, said(title, words))) }
]

#let sheet-part(part) = pagebreak(weak: true)

#let kinds = (
  heading: heading-part, paragraph: paragraph-part, items: items-part, quotation: quotation-part,
  listing: listing-part, grid: grid-part, numbers: numbers-part,
  figure: figure-part, task: task-part, asked: asked-part, sheet: sheet-part,
)
#let small = false  // in small print: where it all comes from
#for part in data.parts {
  if part.kind == "heading" { small = part.spans.map(run => run.text).join() == data.small_print }
  set text(8.5pt) if small and part.kind != "heading"
  (kinds.at(part.kind))(part)
}
#metadata(none)<last>
"""
