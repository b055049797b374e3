"""The sheets of a whole band at once: a set of pages for each instrument, in score order, and one recording for all.

Score order is common practice, from the top of the page: woodwind, brass, percussion, plucked and keyboard
instruments, voices, bowed strings (Read, *Music Notation*, 2nd edition, 1979; Gould, *Behind Bars*, 2011; both from
memory). In a band without percussion, voices and strings that is reeds, brass, rhythm. The harmonics sound at one pitch
for everybody, so that all can play along with the same recording; those out of an instrument's range are crossed in its
part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tunelib.arrange import MOST_PLAYERS, PAGES, Sheet, overtone_sheet
from tunelib.export import Page, paper_width, parts_pdf, play_along_midi, sheet_pages, write_play_along
from tunelib.files import FileSet, Tell
from tunelib.pitch import INSTRUMENTS, Instrument, Note, equal, spell, times
from tunelib.show.page import exhibit_page
from tunelib.show.players_pages import players_pages

WHOLE_BAND = "whole-band.pdf"

# Families, and instruments that go elsewhere than the rest of theirs; within a family the order of their table.
_SCORE_ORDER = (
    "flute", "oboe", "english horn", "clarinet in E♭", "reed", "brass", "glockenspiel", "xylophone", "vibraphone",
    "struck", "guitar", "harp", "piano", "organ", "plucked", "bass guitar", "voice", "bowed",
)  # fmt: skip
_TABLE_ORDER = {name: place for place, name in enumerate(INSTRUMENTS)}
_LOWEST_STEP, _HIGHEST_STEP = -48, 24  # of twelve, from C4: where a fundamental that suits everybody is sought


@dataclass(frozen=True)
class Part:
    """What one instrument of a band gets.

    `players` is how many play it; `sheet` is its overtone sheet, or None; `pages` are the names of all its pages.
    """

    instrument: Instrument
    players: int
    sheet: Sheet | None
    pages: tuple[str, ...]


@dataclass(frozen=True)
class Band:
    """The parts of a band in score order: what `band_of` makes."""

    parts: tuple[Part, ...]


def in_score_order(players: Sequence[Instrument]) -> list[Instrument]:
    """Instruments in the order of a score, from the top.

    >>> from tunelib.pitch import instrument
    >>> [player.name for player in in_score_order([instrument(name) for name in ("piano", "trumpet", "flute")])]
    ['flute', 'trumpet', 'piano']
    """

    def place(player: Instrument) -> tuple[int, int]:
        found = player.name if player.name in _SCORE_ORDER else player.family
        return _SCORE_ORDER.index(found), _TABLE_ORDER[player.name]

    return sorted(players, key=place)


def band_of(
    players: Sequence[Instrument],
    fundamental: Note | None,
    harmonics: Sequence[int] = range(1, 17),
    pages: Sequence[str] = PAGES,
    drone: bool = True,
    tempo: float = 60.0,
) -> Band:
    """Lay out the pages of a band.

    Parameters
    ----------
    players : sequence of Instrument
        In any order; an instrument that several play is here several times, and gets one part.
    fundamental : Note, optional
        As it sounds; needed for the pages of overtones.
    harmonics, drone, tempo
        As for `tunelib.arrange.overtone_sheet`.
    pages : sequence of str
        Of `PAGES`. Fingers are left out for an instrument whose fingers the library does not know.

    Raises ValueError where there are no players or no pages, where `overtone_sheet` would, and for a fundamental on
    which an instrument has none of the harmonics in range; it says how many each has, and which suits all best.
    """
    if not 1 <= len(players) <= MOST_PLAYERS:
        raise ValueError(f"a band has from 1 to {MOST_PLAYERS} players, not {len(players)}")
    for name in pages:
        if name not in PAGES:
            raise ValueError(f"there is no page {name!r}; choose from {', '.join(PAGES)}")
    overtones = "overtones" in pages
    if overtones and fundamental is None:
        raise ValueError("a page of overtones needs a fundamental")
    count = Counter(player.name for player in players)
    parts = []
    for player in in_score_order([INSTRUMENTS[name] for name in count]):
        known = [name for name in pages if name == "overtones" or name in players_pages(player)]
        sheet = overtone_sheet(player, fundamental, harmonics, drone, tempo) if overtones and fundamental else None
        parts.append(Part(player, count[player.name], sheet, tuple(known)))
    without = [part.instrument.name for part in parts if not part.pages]
    if without:
        raise ValueError(f"there is no page of {' or '.join(pages)} for the {' and the '.join(without)}")
    if fundamental is not None and any(part.sheet is not None and part.sheet.reached == 0 for part in parts):
        raise ValueError(_refused(parts, fundamental, harmonics))
    return Band(tuple(parts))


def suit_all(players: Sequence[Instrument], harmonics: Sequence[int], near: Note) -> tuple[Note, list[int]]:
    """The fundamental that suits a whole band best, and how many of the harmonics each instrument then has in range.

    The one that gives the worst-off the most; of those, the one that gives all together the most; then the nearest to
    `near`. Only those on which every part can be written are taken. Raises ValueError if there is none.
    """
    twelve = equal(12)
    candidates = [spell(step, twelve, home=-2) for step in range(_LOWEST_STEP, _HIGHEST_STEP + 1)]
    hertz = np.array([note.hz(twelve) for note in candidates])[:, np.newaxis] * np.array(harmonics)
    reached = np.stack([player.reaches(hertz).sum(axis=1) for player in players], axis=1)
    distance = np.abs([note.step(twelve) - near.step(twelve) for note in candidates])
    for best in np.lexsort((distance, -reached.sum(axis=1), -reached.min(axis=1))).tolist():
        try:
            for player in players:
                overtone_sheet(player, candidates[best], harmonics)
        except ValueError:
            continue
        return candidates[best], reached[best].tolist()
    raise ValueError("there is no fundamental on which all of these parts could be written; take fewer harmonics")


def band_files(band: Band, paper: str = "a4") -> FileSet:
    """The files of a band, to be written by `tunelib.files.write_set`: each part, all of them together, MIDI and sound.

    `paper` is ``"a4"`` or ``"letter"``; raises ValueError for another. Making them raises ImportError, with what to
    install, where Typst is missing.
    """
    paper_width(paper)  # refuses one that is not known
    sheet = band.parts[0].sheet
    numbered = [f"{number:02}-{part.instrument.slug}.pdf" for number, part in enumerate(band.parts, start=1)]
    heard = [f"band-{sheet.series}{suffix}" for suffix in (".mid", ".wav")] if sheet else []

    def make(folder: Path, tell: Tell) -> None:
        sets: list[list[Page]] = []
        for part, name in zip(band.parts, numbered, strict=True):
            tell(f"printing {name}")
            pages = _pages(part, paper)
            (folder / name).write_bytes(parts_pdf(f"Pages for {part.instrument.name}", [pages], paper))
            sets += [pages] * part.players
        tell(f"printing {WHOLE_BAND}")
        (folder / WHOLE_BAND).write_bytes(parts_pdf("Pages for the whole band", sets, paper))
        if sheet:
            midi, wav = (folder / name for name in heard)
            title = f"Overtones of {sheet.fundamental} for a band"
            common = replace(sheet, title=title, score=replace(sheet.score, title=title))
            tell("writing the MIDI file")
            midi.write_bytes(play_along_midi(common, together=True))
            tell("rendering the sound")
            write_play_along(common, wav, together=True)

    return FileSet((*numbered, WHOLE_BAND, *heard), make)


def _pages(part: Part, paper: str) -> list[Page]:
    """The pages of a part; each has the instrument in its title."""
    known = players_pages(part.instrument)
    pages = sheet_pages(part.sheet, paper) if part.sheet else []
    for name in part.pages:
        if name != "overtones":
            page = exhibit_page(known[name].exhibit, **known[name].knobs)
            pages.append(replace(page, title=f"{page.title}: {part.instrument.name}"))
    return pages


def _refused(parts: Sequence[Part], fundamental: Note, harmonics: Sequence[int]) -> str:
    """Why a band's fundamental is refused, and what would be better."""
    without = " and the ".join(part.instrument.name for part in parts if part.sheet and part.sheet.reached == 0)
    reached = ", ".join(f"{part.instrument.name} {part.sheet.reached}" for part in parts if part.sheet)
    complaint = (
        f"on {fundamental} no harmonic is in the comfortable range of the {without} "
        f"(in range, of {len(harmonics)}: {reached})"
    )
    best, counts = suit_all([part.instrument for part in parts], harmonics, fundamental)
    if min(counts) == 0:
        return f"{complaint}; no fundamental suits them all, so take more harmonics, or two bands"
    least = times(min(counts), "harmonic")
    return f"{complaint}; {best.typed} suits them all best, with {least} or more in range for each"
