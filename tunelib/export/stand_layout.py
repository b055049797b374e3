"""The printed pages of a tune on the stand: how parts, scores, tuning cards, grips and reasons are laid out.

The name of the part is at the top on the left and the title centred (E. Gould, *Behind Bars*, 2011; C. Roemer, *The Art
of Music Copying*, 1985; both from memory). Systems of one section are kept together where they leave room for others,
so that no page is turned within a phrase.

The tuning card is read from a stand, at about 60 cm. Print is read fastest where the height of an x is 0.2 degrees or
more, 2.1 mm at 60 cm (G. E. Legge and C. A. Bigelow, *Journal of Vision* 11(5), 2011). Figures and capitals are as high
as two thirds of their size: figures of 13 points have 3 mm, note names and symbols of 16 points 3.8.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tunelib.arrange import LEAST_CENTS, TuningCard
from tunelib.export.cautions import CAUTIONS_TITLE
from tunelib.export.chord_symbols import marked_symbol
from tunelib.export.typeset import Drawing, paper_width, typeset
from tunelib.harmony import Grip
from tunelib.pitch import Tuning, signed

_TOGETHER_MM = 125.0  # about half a page: what is kept together is no higher
_BETWEEN_MM = 3.0  # systems
_VIEW_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_FRETS_SHOWN = 4

_LAYOUT = """
#let systems(groups) = for group in groups {
  block(breakable: false, above: 4mm, below: 4mm, for system in group {
    block(above: 3mm, below: 3mm, image(bytes(system.svg), format: "svg", width: 100%, alt: system.description))
  })
}

#let card(rows, degrees) = block(breakable: false, above: 7mm, width: 100%, stroke: 0.8pt, inset: 3mm, radius: 1mm)[
  #block(below: 3mm)[
    #text(12pt, strong[Tuning card]) #h(1em) Cents from the keys of a piano, A = 440 Hz
  ]
  #grid(columns: (1fr,) * 8, row-gutter: 3.5mm, align: center, ..rows.map(row => [
    #text(16pt, weight: "bold", row.at(0)) #linebreak() #text(13pt, row.at(1))
  ]))
  #for degree in degrees {
    block(above: 4mm, par(leading: 0.8em)[
      #text(13pt)[#strong(degree.word): #degree.cents above the root] #h(0.8em) #text(16pt, degree.chords)
    ])
  }
]

#let grip(one) = box(width: 31mm, inset: (bottom: 4mm))[
  #set align(center)
  #text(14pt, one.symbol)
  #v(-1mm)
  #let wide = 17mm
  #let high = 18mm
  #let across = wide / 5
  #let down = high / data.frets_shown
  #box(width: 31mm, height: 30mm)[
    #for string in range(6) {
      place(top + left, dx: 8mm + string * across, dy: 5mm, line(length: high, angle: 90deg, stroke: 0.6pt))
    }
    #for fret in range(data.frets_shown + 1) {
      place(top + left, dx: 8mm, dy: 5mm + fret * down, line(length: wide, stroke: 0.6pt))
    }
    #place(top + left, dx: 0mm, dy: 5mm + down / 2 - 1.8mm, box(width: 6mm, align(right, text(10pt, str(one.first)))))
    #for (number, string) in one.strings.enumerate() {
      let middle = 8mm + number * across
      if string.fret == none {
        place(top + left, dx: middle - 2mm, dy: 0.8mm, box(width: 4mm, align(center, text(10pt, "×"))))
      } else {
        place(top + left, dx: middle - 1.3mm, dy: 5mm + (string.fret - one.first + 0.5) * down - 1.3mm,
          circle(radius: 1.3mm, fill: black))
        place(top + left, dx: middle - 3mm, dy: 5mm + high + 0.8mm + calc.rem(number, 2) * 3.2mm,
          box(width: 6mm, align(center, text(8pt, string.cents))))
      }
    }
  ]
]

#let reasons = {
  heading(level: 2, data.reasons_title)
  set text(9.5pt)
  set table.cell(breakable: false)
  table(
    columns: (auto, auto, auto, 1fr),
    stroke: (x, y) => if y == 0 { (bottom: 0.8pt) } else { (bottom: 0.3pt + luma(60%)) },
    inset: (x: 6pt, y: 3pt),
    table.header(..data.reasons_head.map(strong)),
    ..data.reasons.flatten(),
  )
}

#metadata(none)<first>
#set page(footer: foot(data.title, <last>))
#if data.name != "" { text(13pt, weight: "bold", data.name) }
#block(above: 2mm, below: 3mm, width: 100%, align(center, heading(level: 1, data.heading)))
#par(text(10pt, data.remarks.join(" ")))
#for sentence in data.told { par(text(10pt, strong(sentence))) }
#systems(data.groups)
#card(data.notes, data.degrees)
#if data.grips.len() > 0 [
  #block(sticky: true)[
    == #data.grips_title

    #data.grips_words
  ]
  #data.grips.map(grip).join()
]
#if data.reasons.len() > 0 { pagebreak(); reasons }
#block(breakable: false)[
  == #data.cautions_title

  #list(..data.cautions)
]
#metadata(none)<last>
"""


@dataclass(frozen=True)
class StandPages:
    """What the pages of a part or a score say.

    Parameters
    ----------
    title : str
        Of the tune.
    name : str
        Of the part.
    remarks, told : sequence of str
        Sentences at the head; what is told is printed bold.
    systems : sequence of sequences of Drawing
        The lines of staves, those of one section together.
    card : TuningCard
        As the player reads it.
    cautions : sequence of str
    tuning : Tuning
    grips : sequence of (str, Grip)
        Each with the symbol of its chord.
    reasons : sequence of rows
        As written, as tuned, bars, and why.
    """

    title: str
    name: str
    remarks: Sequence[str]
    told: Sequence[str]
    systems: Sequence[Sequence[Drawing]]
    card: TuningCard
    cautions: Sequence[str]
    tuning: Tuning
    grips: Sequence[tuple[str, Grip]] = ()
    reasons: Sequence[tuple[str, str, str, str]] = ()


def stand_pdf(pages: StandPages, paper: str = "a4") -> bytes:
    """The pages as a PDF document; errors as for `tunelib.export.page_pdf`."""
    return typeset(_LAYOUT, _data(pages, paper_width(paper)), paper)


def _data(pages: StandPages, width: float) -> Mapping[str, Any]:
    return {
        "title": f"{pages.title}: {pages.name}",
        "heading": pages.title,
        "name": pages.name,
        "remarks": list(pages.remarks),
        "told": list(pages.told),
        "groups": [
            [{"svg": system.svg, "description": system.description} for system in group]
            for section in pages.systems
            for group in _kept_together(section, width)
        ],
        "notes": [
            (row.note.name, signed(row.cents) if row.on_own_key else f"{row.key.name} {signed(row.cents)}")
            for row in pages.card.notes
        ],
        "degrees": [
            {
                "word": degree.word,
                "cents": f"{degree.plain} {signed(degree.cents)}",
                "chords": "   ".join(marked_symbol(*chords, pages.tuning)[0] for chords in degree.chords),
            }
            for degree in pages.card.degrees
        ],
        "grips_title": "Grips",
        "grips_words": (
            "On ordinary frets, the nearest notes. Under each string is how many cents above its fret the band's note "
            "is: push the string as far as that. Where it is negative, leave the note to the others."
        ),
        "frets_shown": _FRETS_SHOWN,
        "grips": [_grip(symbol, grip) for symbol, grip in pages.grips],
        "reasons_title": "What was changed, and why",
        "reasons_head": ("Written", "Tuned", "Bars", "Why"),
        "reasons": [list(row) for row in pages.reasons],
        "cautions_title": CAUTIONS_TITLE,
        "cautions": list(pages.cautions),
    }


def _kept_together(section: Sequence[Drawing], width: float) -> Iterator[Sequence[Drawing]]:
    """The systems of a section that are kept on one page: all of them, if that leaves room for others; or in twos."""
    at_once = next(
        count for count in (len(section), 2, 1) if _height(section[:count], width) <= _TOGETHER_MM or count == 1
    )
    for place in range(0, len(section), at_once):
        yield section[place : place + at_once]


def _height(systems: Sequence[Drawing], width: float) -> float:
    """How high systems are together on a page, in millimetres."""
    boxes = [_VIEW_BOX.search(system.svg) for system in systems]
    return sum(width * float(box[2]) / float(box[1]) + _BETWEEN_MM for box in boxes if box)


def _grip(symbol: str, grip: Grip) -> Mapping[str, Any]:
    return {
        "symbol": symbol,
        "first": grip.first_fret,
        "strings": [
            {"fret": string.fret, "cents": signed(string.cents) if abs(string.cents) >= LEAST_CENTS else ""}
            for string in grip.strings
        ],
    }
