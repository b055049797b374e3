"""``retune``: a lead sheet retuned, with its reasons, as pages and sound for a band."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace

from tunelib.commands.arguments import add_force, add_out, add_paper, check_folder, number, path, tempo
from tunelib.commands.telling import Steps
from tunelib.files import check_targets, require_file, write_set
from tunelib.pitch import shortened

NAME = "retune"
SUMMARY = "retune a lead sheet in thirty-one: a table with reasons, staves, MIDI and sound, and the same in twelve"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The tune, and a player's taste."""
    parser.add_argument("tune", type=path, help="a lead sheet: text (.txt), or MusicXML (.musicxml, .xml or .mxl)")
    parser.add_argument(
        "--taste",
        default=0.3,
        type=_taste,
        help="0, as written where it can be, to 1, adventurous (default: %(default)g)",
    )
    parser.add_argument(
        "--colour",
        default=0.0,
        type=_colour,
        help="-1, darker, to 1, brighter thirds and sevenths (default: %(default)g)",
    )
    parser.add_argument("--drift", action="store_true", help="let the roots wander off, and the melody with them")
    parser.add_argument(
        "--clashes", action="store_true", help="let melody notes sound a diesis beside a note of their chord"
    )
    add_out(parser)
    add_paper(parser)
    parser.add_argument("--tempo", type=tempo, help="beats a minute, 10 to 500 (default: the tune's)")
    add_force(parser)


def _taste(text: str) -> float:
    return _within(text, 0, "the taste goes from 0, as written where it can be, to 1, adventurous")


def _colour(text: str) -> float:
    return _within(text, -1, "the colour goes from -1, darker, to 1, brighter")


def _within(text: str, low: float, bounds: str) -> float:
    value = number(text, f"{bounds}; {shortened(text)} is no number")
    if not low <= value <= 1:
        raise argparse.ArgumentTypeError(f"{bounds}, not to {value:g}")
    return value


def run(options: argparse.Namespace) -> None:
    """Retune the tune, write its files, and print its table."""
    require_file(options.tune, "give the lead sheet itself, such as tune.txt")

    from tunelib.harmony import read_lead_sheet

    sheet = read_lead_sheet(options.tune)
    if options.tempo is not None:
        sheet = replace(sheet, tempo=options.tempo)

    from tunelib.export import check_length, paper_width, tune_files, tune_names, tune_stem, tune_table  # loads drawing
    from tunelib.harmony import Taste, retune

    paper_width(options.paper)  # refuses one that is not known
    check_length(sheet)
    check_folder(options.out)
    stem = tune_stem(sheet.title, options.tune.stem)
    check_targets((options.out / name for name in tune_names(stem)), options.force, reads=[options.tune])
    with Steps(sys.stderr) as steps:
        steps("retuning the chords")
        taste = Taste(options.taste, options.colour, options.drift, options.clashes)
        tune = retune(sheet, taste, steps.share("retuning the chords"))
        paths = write_set(tune_files(tune, options.paper, stem), options.out, options.force, steps)
    print(tune_table(tune), end="")
    for made in paths:
        print(made)
