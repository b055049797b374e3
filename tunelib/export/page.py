"""A printed page, as PDF: a title, an engraved staff, a table and what to mind, set by Typst.

The file is tagged for screen readers to the standard for accessible PDF (ISO 14289-1, PDF/UA-1): it has a title and a
language, each line of the staff carries a description in words, and the table's head is marked as such.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from tunelib.export.outlines import FONT_FOLDER

PAPERS = {"a4": ("a4", 210.0), "letter": ("us-letter", 215.9)}
"""The papers that are known, with Typst's name for each and its width in millimetres."""

MARGIN_MM = 15.0

# Everything that differs from page to page comes in as data, so that no text can be mistaken for markup.
_LAYOUT = b"""
#let page-data = json(bytes(sys.inputs.page))
#set document(title: page-data.title)
#set page(paper: sys.inputs.paper, margin: eval(sys.inputs.margin), footer: context [
  #set text(8.5pt)
  #page-data.title #h(1fr) #counter(page).display("1 / 1", both: true)
])
#set text(font: ("Libertinus Serif", "STIXGeneral"), size: 10pt, lang: "en", region: "GB")
#set par(leading: 0.55em)
#set list(spacing: 0.55em)
#show heading.where(level: 1): set text(18pt)
#show heading.where(level: 2): it => block(above: 1.1em, below: 0.6em, sticky: true, text(12pt, it.body))

= #page-data.title

#page-data.introduction

#for line in page-data.staff {
  block(above: 2mm, below: 2mm, image(bytes(line.svg), format: "svg", width: 100%, alt: line.description))
}

#block(breakable: page-data.rows.len() > 24)[
== #page-data.table_title

#set text(9.5pt)
#table(
  columns: page-data.head.len(),
  align: (right,) + (center,) * (page-data.head.len() - 1),
  stroke: (x, y) => if y == 0 { (bottom: 0.8pt) } else { (bottom: 0.3pt + luma(60%)) },
  inset: (x: 9pt, y: 2.6pt),
  table.header(..page-data.head.map(cell => strong(cell))),
  ..page-data.rows.flatten(),
)
]

#block(breakable: false)[
== #page-data.cautions_title

#list(..page-data.cautions)
]
"""


@dataclass(frozen=True)
class StaffLine:
    """One engraved line: an SVG document as `engrave_svg` makes it, and what it shows in words."""

    svg: str
    description: str


@dataclass(frozen=True)
class Page:
    """What a printed page says.

    Parameters
    ----------
    title, introduction : str
    staff : sequence of StaffLine
        None is cut by the end of a sheet.
    table_title : str
    head : sequence of str
    rows : sequence of sequences of str
        As many cells each as the head has.
    cautions_title : str
    cautions : sequence of str

    Raises ValueError for a row that does not match the head.
    """

    title: str
    introduction: str
    staff: Sequence[StaffLine]
    table_title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    cautions_title: str
    cautions: Sequence[str]

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.head):
                raise ValueError(f"row {number} of the table has {len(row)} cells, and the head has {len(self.head)}")


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
    name, _ = _paper(paper)
    inputs = {"page": json.dumps(asdict(page)), "paper": name, "margin": f"{MARGIN_MM:g}mm"}
    pdf = _typst().compile(
        _LAYOUT,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs=inputs,
        pdf_standards="ua-1",
    )
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
