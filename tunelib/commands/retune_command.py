"""``retune``: a lead sheet retuned, with its reasons, as pages and sound for a band; or divisions compared."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from tunelib.commands.arguments import (
    add_force,
    add_out,
    add_paper,
    check_folder,
    number,
    path,
    players_named,
    steps,
    tempo,
)
from tunelib.commands.telling import Steps
from tunelib.files import FileSet, check_targets, require_file, write_set
from tunelib.pitch import THIRTY_ONE, Tuning, equal, shortened

if TYPE_CHECKING:
    from tunelib.harmony import LeadSheet, Taste

NAME = "retune"
SUMMARY = (
    "retune a lead sheet in thirty-one or another division: a table with reasons, staves, MIDI and sound, and the same "
    "in twelve; or compare it in several divisions"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The tune, and a player's taste."""
    parser.add_argument("tune", type=path, help="a lead sheet: text (.txt), or MusicXML (.musicxml, .xml or .mxl)")
    parser.add_argument(
        "--taste",
        default=0.3,
        type=_taste,
        help="0, as written where possible, to 1, adventurous (default: %(default)g)",
    )
    parser.add_argument(
        "--colour",
        default=0.0,
        type=_colour,
        help="-1, darker, to 1, brighter thirds and sevenths (default: %(default)g)",
    )
    parser.add_argument(
        "--steps",
        type=_division,
        metavar="N",
        help=f"equal steps to the octave, 12 to 72, with a fifth of 4/7 to 3/5 of it (default: {len(THIRTY_ONE)})",
    )
    parser.add_argument(
        "--compare",
        type=_divisions,
        metavar="LIST",
        help="compare the tune in these divisions, such as 12,19,31,41,53, and make no other files",
    )
    parser.add_argument("--drift", action="store_true", help="let the roots drift, and the melody with them")
    parser.add_argument(
        "--clashes", action="store_true", help="let melody notes sound a diesis away from a note of their chord"
    )
    parser.add_argument(
        "--voicing",
        default="rootless",
        type=_voicing,
        help="how chords are laid out: shells, rootless, 'drop 2', 'four-way close' or pads (default: %(default)s)",
    )
    parser.add_argument(
        "--feel",
        type=_feel,
        help="how it is played: swing, straight, ballad, bossa, waltz, or 'long chords' to listen to "
        "(default: what suits metre and tempo)",
    )
    parser.add_argument(
        "--common",
        default="tonic",
        type=_common,
        metavar="A|tonic",
        help="what its sound in twelve shares with it: the tonic of the key, to which twelve is moved, or A4 = 440 Hz, "
        "to which the tune itself always is in tune (default: %(default)s)",
    )
    parser.add_argument(
        "--for",
        dest="players",
        metavar="LIST",
        help='a part for each of these, such as "alto saxophone, trumpet, guitar, piano, double bass"; see instruments',
    )
    parser.add_argument(
        "--choices",
        type=path,
        metavar="FILE",
        help="chords that were chosen by hand, as the panel of step 31 saves them (.toml): they stay, and the rest is "
        "worked out around them",
    )
    add_out(parser, required=False)
    add_paper(parser)
    parser.add_argument("--tempo", type=tempo, help="beats a minute, 10 to 500 (default: the tune's)")
    add_force(parser)


def _taste(text: str) -> float:
    return _within(text, 0, "the taste goes from 0, as written where possible, to 1, adventurous")


def _colour(text: str) -> float:
    return _within(text, -1, "the colour goes from -1, darker, to 1, brighter")


def _within(text: str, low: float, bounds: str) -> float:
    value = number(text, f"{bounds}; {shortened(text)} is not a number")
    if not low <= value <= 1:
        raise argparse.ArgumentTypeError(f"{bounds}, not to {value:g}")
    return value


def _division(text: str) -> int:
    from tunelib.harmony import FEWEST_STEPS, MOST_STEPS

    count = steps(text)
    if not FEWEST_STEPS <= count <= MOST_STEPS:
        raise argparse.ArgumentTypeError(
            f"a tune is played in {FEWEST_STEPS} to {MOST_STEPS} equal steps, not in {count}"
        )
    return count


def _voicing(text: str) -> str:
    from tunelib.harmony import COMPING

    if text.casefold() not in COMPING:
        raise argparse.ArgumentTypeError(f"a voicing is one of {', '.join(COMPING)}, not {shortened(text)}")
    return text.casefold()


def _feel(text: str) -> str:
    from tunelib.arrange import find_feel

    try:
        return find_feel(text).name
    except ValueError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from None


def _common(text: str) -> str:
    from tunelib.arrange import COMMON

    for known in COMMON:
        if text.casefold() == known.casefold():
            return known
    raise argparse.ArgumentTypeError(f"two tunings have the tonic in common or A, not {shortened(text)}")


def _divisions(text: str) -> tuple[int, ...]:
    return tuple(dict.fromkeys(_division(part) for part in text.split(",")))


def run(options: argparse.Namespace) -> None:
    """Retune the tune, write its files, and print its table; or compare it."""
    if options.compare and options.steps is not None:
        raise ValueError("give --steps for one division or --compare for several, not both")
    if not options.compare and options.out is None:
        raise ValueError("the following arguments are required: --out, or --compare with the divisions to compare")
    if options.compare and options.players is not None:
        raise ValueError("--for makes parts of a tune in one division; leave --compare out for them")
    if options.compare and options.choices is not None:
        raise ValueError("choices are of one division: give --choices or --compare, not both")
    require_file(options.tune, "give the lead sheet itself, such as tune.txt")
    if options.choices is not None:
        require_file(options.choices, "give the file with the choices itself, such as tune-choices.toml")

    from tunelib.harmony import Taste, playable_division, read_lead_sheet

    counts = options.compare or (len(THIRTY_ONE) if options.steps is None else options.steps,)
    tunings = [playable_division(equal(count)) for count in counts]
    sheet = read_lead_sheet(options.tune)
    for remark in sheet.remarks:
        print(f"{options.tune.name}: {remark}", file=sys.stderr)
    if options.tempo is not None:
        sheet = replace(sheet, tempo=options.tempo)
    taste = Taste(options.taste, options.colour, options.drift, options.clashes, options.voicing)
    if options.compare:
        _compare(sheet, tunings, taste, options)
    else:
        _write(sheet, tunings[0], taste, options)


def _write(sheet: LeadSheet, tuning: Tuning, taste: Taste, options: argparse.Namespace) -> None:
    players = [] if options.players is None else players_named(options.players)

    from tunelib.arrange import tune_parts
    from tunelib.export import check_length, paper_width, tune_files, tune_names, tune_stem, tune_table  # loads drawing
    from tunelib.harmony import NO_CHOICES, read_choices, retune

    paper_width(options.paper)  # refuses one that is not known
    check_length(sheet)
    check_folder(options.out)
    stem = tune_stem(sheet.title, options.tune.stem)
    names = tune_names(stem, len(tuning), players)
    reads = [options.tune] if options.choices is None else [options.tune, options.choices]
    check_targets((options.out / name for name in names), options.force, reads=reads)
    choices = NO_CHOICES if options.choices is None else read_choices(options.choices, sheet)
    with Steps(sys.stderr) as steps:
        steps("retuning the chords")
        tune = retune(sheet, tuning, taste, choices, steps.share("retuning the chords"))
        parts = tune_parts(tune, players) if players else ()
        files = tune_files(tune, options.paper, stem, parts, options.feel, options.common)
        paths = write_set(files, options.out, options.force, steps)
    print(tune_table(tune), end="")
    for made in paths:
        print(made)
    for part in parts:
        for sentence in part.told:
            print(f"{part.name}: {sentence}")


def _compare(sheet: LeadSheet, tunings: list[Tuning], taste: Taste, options: argparse.Namespace) -> None:
    from tunelib.export import compare_tune, tune_stem

    name = f"{tune_stem(sheet.title, options.tune.stem)}-compared.csv"
    if options.out is not None:
        check_folder(options.out)
        check_targets([options.out / name], options.force, reads=[options.tune])
    with Steps(sys.stderr) as telling:
        found = compare_tune(sheet, tunings, taste, telling)
    print(found.table(), end="")
    if options.out is not None:
        table = FileSet.of({name: lambda: found.csv().encode()})
        for made in write_set(table, options.out, options.force):
            print(made)
