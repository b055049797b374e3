"""What the sheet of one player and the sheets of a band have in common: pages, a fundamental, harmonics."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from tunelib.arrange import HIGHEST_HARMONIC, PAGES
from tunelib.commands.arguments import add_force, add_out, add_paper, is_count, tempo
from tunelib.pitch import Instrument, Note, equal, shortened, spell

if TYPE_CHECKING:
    from tunelib.arrange import Sheet

FEW = 0.5  # a share of harmonics in reach below which another fundamental is proposed
_LOWEST_STEP, _STEPS_UP = -60, 60  # of twelve, from C4: where a fundamental that works is sought


def add_overtones(parser: argparse.ArgumentParser, all_pages: str) -> None:
    """What a sheet is made of; `all_pages` says which pages are made by default."""
    parser.add_argument("--fundamental", help="the sounding note, such as B♭1 or Bb1; needed for overtones")
    parser.add_argument("--harmonics", default="1-16", help="such as 1-16, 1,2,5 or 8 (default: %(default)s)")
    add_out(parser)
    parser.add_argument(
        "--pages",
        type=_pages,
        metavar="LIST",
        help=f"of {', '.join(PAGES)} (default: {all_pages})",
    )
    add_paper(parser)
    parser.add_argument("--tempo", default=60.0, type=tempo, help="beats a minute, 20 to 200 (default: %(default)g)")
    parser.add_argument("--no-drone", action="store_true", help="leave the fundamental's drone out")
    add_force(parser)


def _pages(text: str) -> tuple[str, ...]:
    chosen = [name.strip().lower() for name in text.split(",")]
    for name in chosen:
        if name not in PAGES:
            raise argparse.ArgumentTypeError(
                f"there is no page {shortened(name)}; choose from {', '.join(PAGES)}, such as notes,fingers"
            )
    return tuple(name for name in PAGES if name in chosen)


def overtones_asked_for(options: argparse.Namespace) -> tuple[bool, Note | None, Sequence[int]]:
    """Whether pages of overtones are wanted, on which fundamental, and which harmonics."""
    overtones = options.pages is None or "overtones" in options.pages
    if overtones and options.fundamental is None:
        raise ValueError("the page of overtones needs --fundamental, such as Bb1; for another page give --pages notes")
    fundamental = _fundamental(options.fundamental) if options.fundamental is not None else None
    return overtones, fundamental, parse_harmonics(options.harmonics)


def parse_harmonics(text: str) -> Sequence[int]:
    """Numbers of harmonics as typed: ``"1-16"``, ``"1,2,5"``, ``"8"`` or ``"1 - 4, 7"``.

    Raises ValueError unless they are whole numbers that rise.

    >>> list(parse_harmonics("1 - 4, 7"))
    [1, 2, 3, 4, 7]
    """
    numbers: list[int] = []
    for part in text.split(","):
        first, dash, last = (piece.strip() for piece in part.partition("-"))
        if not is_count(first) or (dash and not is_count(last)):
            raise ValueError(f"{shortened(text)} names no harmonics; write them as 1-16, as 1,2,5 or as 8")
        begin, end = int(first), int(last) if dash else int(first)
        if end < begin:
            raise ValueError(f"{shortened(part.strip())} runs backwards; write {end}-{begin}")
        if end > HIGHEST_HARMONIC:
            raise ValueError(
                f"harmonics are numbered from 1 to {HIGHEST_HARMONIC}, so {shortened(part.strip())} is out"
            )
        numbers.extend(range(begin, end + 1))
        if len(numbers) > HIGHEST_HARMONIC:
            raise ValueError(f"the harmonics rise, each given once; {shortened(text)} has more than {HIGHEST_HARMONIC}")
    return numbers


def _fundamental(text: str) -> Note:
    try:
        return Note.parse(text)
    except ValueError:
        if re.search(r"\d", text) or not _is_note(f"{text.strip()}1"):
            raise
    raise ValueError(f"{shortened(text)} has no octave: add its number, such as {text.strip()}1 (C4 is middle C)")


def _is_note(text: str) -> bool:
    try:
        Note.parse(text)
    except ValueError:
        return False
    return True


def sheets_asked_for(
    players: Sequence[Instrument],
    fundamental: Note,
    harmonics: Sequence[int],
    options: argparse.Namespace,
    division: int = 12,
) -> list[Sheet]:
    """The sheets that were asked for, which also give the nearest steps of a division; where one cannot be made, the
    error names the lowest fundamental that works.
    """
    from tunelib.arrange import overtone_sheet

    def sheets_on(note: Note) -> list[Sheet]:
        drone, tempo = not options.no_drone, options.tempo
        return [overtone_sheet(player, note, harmonics, drone, tempo, division) for player in players]

    try:
        return sheets_on(fundamental)
    except ValueError as error:
        lowest = _lowest(sheets_on, fundamental)
        raise ValueError(f"{error}; the lowest that works here is {lowest.typed}" if lowest else str(error)) from None


def _lowest(sheets_on: Callable[[Note], object], refused: Note) -> Note | None:
    """The first fundamental above one that was refused on which a sheet can be made, if there is any."""
    twelve = equal(12)
    try:
        first = refused.step(twelve) + 1
    except ValueError:  # between the keys
        return None
    first = max(first, _LOWEST_STEP)
    for step in range(first, first + _STEPS_UP):
        note = spell(step, twelve)
        try:
            sheets_on(note)
        except ValueError:
            continue
        return note
    return None


def reach(sheet: Sheet) -> str:
    """How much of a sheet is in its player's range, in a sentence."""
    return f"{sheet.reached} of {len(sheet.rows)} harmonics are in the comfortable range of the {sheet.player.name}."
