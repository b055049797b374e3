"""The printed pages of a tune on the stand: how parts, scores, tuning cards, grips and reasons are laid out.

The name of the part is at the top on the left and the title centred (E. Gould, *Behind Bars*, 2011; C. Roemer, *The Art
of Music Copying*, 1985; both from memory). Systems of one section are kept together where they leave room for others,
so that no page is turned within a phrase. Staves and tuning card are on one page where they fit, closer together if
need be; else the card goes with the last lines, or in a score with what was changed: no page has the card alone.

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
from tunelib.export.chord_symbols import marked_symbol
from tunelib.export.typeset import Drawing, paper_width, typeset
from tunelib.harmony import Grip
from tunelib.pitch import Tuning, signed

_TOGETHER_MM = 125.0  # about half a page: what is kept together is no higher
_BETWEEN_MM, _CLOSER_MM = 3.0, 1.5  # systems, and where that saves a page
_LAST_LINES = 2  # that go with the card
_MOST_IN_A_ROW = 9  # notes of the card
_Group = Sequence[Drawing]  # lines that are kept together
_VIEW_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_FRETS_SHOWN = 4
_REASONS_TOGETHER = 25  # rows that a page holds, whatever they say

_LAYOUT = """
#let systems(groups, gap) = for group in groups {
  block(breakable: false, above: gap + 1mm, below: gap + 1mm, for system in group {
    block(above: gap, below: gap, image(bytes(system.svg), format: "svg", width: 100%, alt: system.description))
  })
}

#let head(width) = {
  let name = text(13pt, weight: "bold", data.name)
  let title = heading(level: 1, data.heading)
  let both = measure(title).width + measure(name).width + 5mm
  let centred = both + measure(name).width + 5mm <= width
  block(below: 3mm, width: 100%, if both <= width {
    let columns = if centred { (1fr, auto, 1fr) } else { (auto, 1fr) }
    grid(columns: columns, column-gutter: 5mm, align: (left + bottom, right + bottom), name, title)
  } else {
    name
    block(above: 3mm, width: 100%, align(center, title))
  })
  par(text(10pt, data.remarks.join(" ")))
  for sentence in data.told { par(text(10pt, strong(sentence))) }
  block(above: 4mm, below: 0mm, sticky: true, text(13pt, weight: "bold", data.tempo))
  v(1mm - data.between * 1mm)
}

#let card(rows, degrees) = block(breakable: false, above: 5mm, width: 100%, stroke: 0.8pt, inset: 2.5mm, radius: 1mm)[
  #block(below: 2.5mm)[
    #text(12pt, strong[Tuning card]) #h(1em) Cents from the keys of a piano, A = 440 Hz
  ]
  #grid(columns: (1fr,) * data.in_a_row, row-gutter: 3mm, align: center, ..rows.map(row => [
    #text(16pt, weight: "bold", row.at(0)) #linebreak() #text(13pt, row.at(1))
  ]))
  #for degree in degrees {
    block(above: 3mm, par(leading: 0.8em)[
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

#let reasons = block(above: 5mm, breakable: data.reasons.len() > data.reasons_together)[
  == #data.reasons_title

  #set text(9.5pt)
  #set table.cell(breakable: false)
  #table(
    columns: (auto, auto, auto, 1fr),
    stroke: (x, y) => if y == 0 { (bottom: 0.8pt) } else { (bottom: 0.3pt + luma(60%)) },
    inset: (x: 6pt, y: 3pt),
    table.header(..data.reasons_head.map(strong)),
    ..data.reasons.flatten(),
  )
]

#let grips = if data.grips.len() > 0 [
  #block(sticky: true)[
    == #data.grips_title

    #data.grips_words
  ]
  #data.grips.map(grip).join()
]

#let reference = {
  card(data.notes, data.degrees)
  block(text(9pt, data.cautions.join(" ")))
  if data.reasons.len() > 0 { reasons }
}

#set page(footer: foot(data.title, <last>))
#layout(page => {
  let high(body) = measure(width: page.width, body).height
  let staves(gap) = {
    head(page.width)
    systems(data.groups, gap)
  }
  let whole(gap) = {
    staves(gap)
    systems(data.last, gap)
    reference
  }
  let gaps = (data.between, data.closer).map(gap => gap * 1mm)
  let gap = gaps.find(gap => high(whole(gap) + grips) <= page.height)
  if gap == none { gap = gaps.find(gap => high(whole(gap)) <= page.height) }
  if gap != none { whole(gap) } else {
    let ending = {
      systems(data.last, gaps.first())
      reference
    }
    staves(gaps.first())
    block(breakable: high(ending) > page.height, ending)
  }
  grips
})
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
    tempo : str
        What is over the first bar: how the tune is felt, and how fast.
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
    tempo: str
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
    groups = [group for section in pages.systems for group in _kept_together(section, width)]
    before, last = _parted(groups, width)
    return {
        "title": f"{pages.title}: {pages.name}",
        "heading": pages.title,
        "name": pages.name,
        "remarks": list(pages.remarks),
        "told": list(pages.told),
        "between": _BETWEEN_MM,
        "closer": _CLOSER_MM,
        "groups": _drawn(before),
        "last": _drawn(last),
        "tempo": pages.tempo,
        "in_a_row": _in_a_row(len(pages.card.notes)),
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
        "reasons_together": _REASONS_TOGETHER,
        "reasons": [list(row) for row in pages.reasons],
        "cautions": list(pages.cautions),
    }


def _drawn(groups: Sequence[_Group]) -> list[list[Mapping[str, str]]]:
    return [[{"svg": line.svg, "description": line.description} for line in group] for group in groups]


def _kept_together(section: Sequence[Drawing], width: float) -> Iterator[_Group]:
    """The systems of a section that are kept on one page: all of them, if that leaves room for others; or in twos."""
    heights = [height_mm(system, width) for system in section]
    fitting = (count for count in (len(section), 2) if sum(heights[:count]) <= _TOGETHER_MM)
    at_once = next(fitting, 1)
    for end in range(len(section) % at_once or at_once, len(section) + 1, at_once):
        yield section[max(0, end - at_once) : end]


def _parted(groups: Sequence[_Group], width: float) -> tuple[Sequence[_Group], Sequence[_Group]]:
    """The groups that come first, and those that go with the card: two lines or more, or none where they are too high.

    A group is torn apart only if it would be too high there as a whole.
    """
    count = next((n for n in range(1, len(groups)) if sum(map(len, groups[-n:])) >= _LAST_LINES), len(groups))
    before, last = groups[: len(groups) - count], groups[len(groups) - count :]
    if _high(last, width) > _TOGETHER_MM:
        lines = [line for group in last for line in group]
        before, last = [*before, lines[:-_LAST_LINES]], [lines[-_LAST_LINES:]]
    return (before, last) if _high(last, width) <= _TOGETHER_MM else (groups, [])


def _high(groups: Sequence[_Group], width: float) -> float:
    return sum(height_mm(line, width) for group in groups for line in group)


def _in_a_row(notes: int) -> int:
    """How many notes of the card are in a row, so that its rows are alike."""
    rows = max(1, -(-notes // _MOST_IN_A_ROW))
    return max(1, -(-notes // rows))


def height_mm(system: Drawing, width: float) -> float:
    """How high a line of staves is on a page of a width, in millimetres, with the room that is left under it."""
    box = _VIEW_BOX.search(system.svg)
    return width * float(box[2]) / float(box[1]) + _BETWEEN_MM if box else 0.0


def _grip(symbol: str, grip: Grip) -> Mapping[str, Any]:
    return {
        "symbol": symbol,
        "first": grip.first_fret,
        "strings": [
            {"fret": string.fret, "cents": signed(string.cents) if abs(string.cents) >= LEAST_CENTS else ""}
            for string in grip.strings
        ],
    }
