"""``sheet``: a play-along sheet of overtones, and pages of the thirty-one notes, for one player."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial

from tunelib.commands.arguments import check_folder, player_named, steps
from tunelib.commands.overtone_options import FEW, add_overtones, overtones_asked_for, reach, sheets_asked_for
from tunelib.commands.telling import Steps
from tunelib.files import FileSet, check_targets, write_set
from tunelib.pitch import THIRTY_ONE, Instrument, Note, propose_fundamental

NAME = "sheet"
SUMMARY = "write an overtone sheet to play along with, and pages of the 31 notes on an instrument"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """An instrument, and what its sheet is made of."""
    parser.add_argument("--instrument", required=True, help='such as "alto saxophone"; see the command instruments')
    add_overtones(parser, "all there are for the instrument that are not yet in DIR")
    parser.add_argument(
        "--steps",
        type=steps,
        metavar="N",
        help="equal steps to the octave: the table of overtones also gives the nearest of them, and how far off it is",
    )


def run(options: argparse.Namespace) -> None:
    """Write the files, and say how many harmonics are in range."""
    player = player_named(options.instrument)
    overtones, fundamental, harmonics = overtones_asked_for(options)

    from tunelib.export import (
        paper_width,
        sheet_files,  # these load engraver and drawing: a wrong name can spare them
    )
    from tunelib.show import players_pages, printed_page

    known = players_pages(player) if options.steps in (None, len(THIRTY_ONE)) else {}
    if not known and options.pages is not None and set(options.pages) - {"overtones"}:
        raise ValueError(f"the pages of notes and fingers are for {len(THIRTY_ONE)} steps; leave --steps out for them")
    if options.pages is not None and "fingers" in options.pages and "fingers" not in known:
        raise ValueError(f"there is no page of fingers for the {player.name}; leave it out of --pages")
    pages = [page for name, page in known.items() if options.pages is None or name in options.pages]
    division = 12 if options.steps is None else options.steps
    sheet = None
    if overtones and fundamental:
        [sheet] = sheets_asked_for([player], fundamental, harmonics, options, division)
    paper_width(options.paper)  # refuses one that is not known
    check_folder(options.out)
    if options.pages is None and not options.force:  # the same for every fundamental: made once
        pages = [page for page in pages if not (options.out / page.file).exists()]
    files = FileSet.of({page.file: partial(printed_page, page.exhibit, options.paper, **page.knobs) for page in pages})
    if sheet:
        files = sheet_files(sheet, options.paper) + files
    check_targets((options.out / name for name in files.names), options.force)
    with Steps(sys.stderr) as telling:
        paths = write_set(files, options.out, options.force, telling)
    for path in paths:
        print(path)
    if sheet and fundamental:
        print(reach(sheet))
        if sheet.reached < FEW * len(sheet.rows):
            _propose(player, fundamental, harmonics, sheet.reached)


def _propose(player: Instrument, fundamental: Note, harmonics: Sequence[int], reached: int) -> None:
    better, count = propose_fundamental(player, harmonics, near=fundamental)
    if count > reached:
        print(f"On {better} it would be {count} of {len(harmonics)}: try --fundamental {better.typed}")
