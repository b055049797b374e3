"""``band``: the sheets of a whole band, in score order, and one recording for all."""

from __future__ import annotations

import argparse
import sys

from tunelib.arrange import PAGES
from tunelib.commands.arguments import check_folder, players_named
from tunelib.commands.overtone_options import FEW, add_overtones, overtones_asked_for, reach, sheets_asked_for
from tunelib.commands.telling import Steps
from tunelib.files import check_targets, write_set

NAME = "band"
SUMMARY = "write the sheets of a whole band, in score order, and one recording for all"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The instruments, and what their sheets are made of."""
    parser.add_argument(
        "--instruments", required=True, metavar="LIST", help='such as "alto saxophone, trumpet, trumpet, piano"'
    )
    add_overtones(parser, "all there are for each instrument")


def run(options: argparse.Namespace) -> None:
    """Write the files, and say how many harmonics each player has in range."""
    players = players_named(options.instruments)
    overtones, fundamental, harmonics = overtones_asked_for(options)

    from tunelib.show import WHOLE_BAND, band_files, band_of, suit_all  # loads engraver and drawing

    if overtones and fundamental:
        sheets_asked_for(players, fundamental, harmonics, options)
    pages = PAGES if options.pages is None else options.pages
    band = band_of(players, fundamental, harmonics, pages, drone=not options.no_drone, tempo=options.tempo)
    files = band_files(band, options.paper)
    check_folder(options.out)
    check_targets((options.out / name for name in files.names), options.force)
    with Steps(sys.stderr) as steps:
        paths = write_set(files, options.out, options.force, steps)
    for path in paths:
        print(path)
    for part, path in zip(band.parts, paths, strict=False):
        if part.players > 1:
            print(f"{part.players} players read {path.name}; it is in {WHOLE_BAND} {part.players} times.")
    sheets = [part.sheet for part in band.parts if part.sheet]
    for sheet in sheets:
        print(reach(sheet))
    if fundamental and sheets and min(sheet.reached for sheet in sheets) < FEW * len(harmonics):
        better, counts = suit_all([sheet.player for sheet in sheets], harmonics, fundamental)
        if min(counts) > min(sheet.reached for sheet in sheets):
            print(f"On {better} each would have {min(counts)} or more in range: try --fundamental {better.typed}")
