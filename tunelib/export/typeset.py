"""Printed pages, as PDF, set by Typst: each a title, drawings, a table and what to mind.

A file is tagged for screen readers to the standard for accessible PDF (ISO 14289-1, PDF/UA-1): it has a title and a
language, each drawing carries a description in words, and the table's head is marked as such.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from tunelib.export.outlines import FONT_FOLDER
from tunelib.pitch import cut, drawn

PAPERS = {"a4": ("a4", 210.0), "letter": ("us-letter", 215.9)}
"""The papers that are known, with Typst's name for each and its width in millimetres."""

MARGIN_MM = 15.0

# Everything that differs from page to page comes in as data, so that no text can be mistaken for markup.
_FRAME = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.title)
#set page(paper: sys.inputs.paper, margin: eval(sys.inputs.margin))
#set text(font: ("Libertinus Serif", "STIXGeneral"), size: 10pt, lang: "en", region: "GB")
#set par(leading: 0.55em)
#set list(spacing: 0.55em)
#show heading.where(level: 1): set text(18pt)
#show heading.where(level: 2): it => block(above: 1.1em, below: 0.6em, sticky: true, text(12pt, it.body))
#let foot(words, last) = context [
  #set text(8.5pt)
  #words #h(1fr) #counter(page).display() / #counter(page).at(last).first()
]
"""

_LAYOUT = """
#let printed(page-data) = {
  let table-part = block(breakable: page-data.rows.len() > 24)[
    == #page-data.table_title

    #set text(9.5pt)
    #table(
      columns: page-data.head.len(),
      align: (if page-data.numbered { right } else { left },) + (center,) * (page-data.head.len() - 1),
      stroke: (x, y) => if y == 0 { (bottom: 0.8pt) } else { (bottom: 0.3pt + luma(60%)) },
      inset: (
        x: if page-data.head.len() > 8 { 5pt } else { 9pt },
        y: if page-data.table_apart { 4.2pt } else { 2.6pt },
      ),
      table.header(..page-data.head.map(cell => strong(cell))),
      ..page-data.rows.flatten(),
    )
  ]

  let cautions-part = if page-data.cautions.len() > 0 {
    block(breakable: false)[
      == #page-data.cautions_title

      #list(..page-data.cautions)
    ]
  }

  heading(level: 1, page-data.title)
  par(page-data.introduction)
  for drawing in page-data.drawings {
    let shown(..size) = image(bytes(drawing.svg), format: "svg", width: 100%, alt: drawing.description, ..size)
    if page-data.table_apart { block(height: 1fr, shown(height: 100%, fit: "contain")) }
    else { block(above: 2mm, below: 2mm, shown()) }
    text(9pt, drawing.caption)
  }
  if page-data.table_apart {
    cautions-part
    pagebreak()
    table-part
  } else {
    table-part
    cautions-part
  }
}

#for (number, part) in data.parts.enumerate() {
  let last = label("last-" + str(number))
  set page(footer: none)
  if number > 0 { pagebreak(to: "odd", weak: true) }
  for (place, page-data) in part.enumerate() {
    set page(footer: foot(page-data.title, last))
    if place == 0 { counter(page).update(1) }
    printed(page-data)
    if place == part.len() - 1 [#metadata(none)#last]
  }
}
"""


@dataclass(frozen=True)
class Drawing:
    """An SVG document; what it shows in words, for those who cannot see it; and words to go under it, if any."""

    svg: str
    description: str
    caption: str = ""


@dataclass(frozen=True)
class Page:
    """What a printed page says.

    Parameters
    ----------
    title, introduction : str
    drawings : sequence of Drawing
        Each as wide as the page; none is cut by the end of a sheet.
    table_title : str
    head : sequence of str
    rows : sequence of sequences of str
        As many cells each as the head has.
    cautions_title : str
    cautions : sequence of str
        What to mind; a page without any has no title for them.
    table_apart : bool
        Whether the table is on a sheet of its own, the drawings filling the first sheet.

    Raises ValueError for a row that does not match the head.
    """

    title: str
    introduction: str
    drawings: Sequence[Drawing]
    table_title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    cautions_title: str = ""
    cautions: Sequence[str] = ()
    table_apart: bool = False

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.head):
                raise ValueError(f"row {number} of the table has {len(row)} cells, but the head has {len(self.head)}")


def paper_width(paper: str) -> float:
    """The width between the margins of a paper, in millimetres.

    Raises ValueError for a paper that is not known.
    """
    return _paper(paper)[1] - 2 * MARGIN_MM


def page_pdf(page: Page, paper: str = "a4") -> bytes:
    """A page as a PDF document; it runs over as many sheets as it needs.

    `paper` is ``"a4"`` or ``"letter"``. Raises ValueError for another, and ImportError, with what to install, where
    Typst is missing.
    """
    return parts_pdf(page.title, [[page]], paper)


def parts_pdf(title: str, parts: Sequence[Sequence[Page]], paper: str = "a4") -> bytes:
    """Several parts, each of some pages, as one PDF document; errors as for `page_pdf`.

    Each part counts its own sheets and begins on a right-hand one, with an empty sheet before it where needed,
    so that printed on both sides they come apart.
    """
    numbered = [
        [asdict(page) | {"numbered": all(row[0].isdigit() for row in page.rows)} for page in part] for part in parts
    ]
    return typeset(_LAYOUT, {"title": title, "parts": numbered}, paper)


def typeset(layout: str, data: Mapping[str, Any], paper: str) -> bytes:
    """Data set by a layout in Typst's language as a PDF document, tagged for screen readers.

    Parameters
    ----------
    layout : str
        Finds the data as ``data``, and the two-sided line at the foot of a sheet as ``foot``.
    data : mapping
        Anything that JSON can hold; its ``"title"`` is the title of the document.
    paper : str
        ``"a4"`` or ``"letter"``; errors as for `page_pdf`.

    Raises ValueError for what cannot be set, such as a control character.
    """
    name, _ = _paper(paper)
    text = drawn(json.dumps(data, ensure_ascii=False))
    try:
        pdf = _typst().compile(
            (_FRAME + layout).encode(),
            font_paths=_fonts(),
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"data": text, "paper": name, "margin": f"{MARGIN_MM:g}mm"},
            pdf_standards="ua-1",
        )
    except RuntimeError as error:  # a character that no font has, say
        raise ValueError(f"the page cannot be set: {cut(str(error), 200)}") from None
    return bytes(pdf)


def _paper(paper: str) -> tuple[str, float]:
    if paper not in PAPERS:
        raise ValueError(f"no paper is called {paper!r}; known are {' and '.join(PAPERS)}")
    return PAPERS[paper]


def _typst() -> Any:
    try:
        import typst
    except ImportError:
        raise ImportError('a printed page needs Typst: pip install "tunelib[studio]"') from None
    return typst


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """Typst's own fonts and those that come with matplotlib, so that a page looks the same everywhere."""
    return _typst().Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(FONT_FOLDER)])
