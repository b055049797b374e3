"""``listen``: how well a recorded player is in tune."""

from __future__ import annotations

import argparse
import contextlib
import sys
from pathlib import Path

from tunelib.commands.arguments import add_force, number, path, player_named
from tunelib.commands.telling import Steps
from tunelib.files import check_targets, staged
from tunelib.hearing import FURTHEST, LONG_TAKE
from tunelib.pitch import A4_HZ, shortened

NAME = "listen"
SUMMARY = "say how well a recorded player is in tune: a table, CSV and a picture"
_PICTURES = (".png", ".svg", ".pdf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The recording, and what to measure it against."""
    parser.add_argument("recording", type=path, help="of one player, one note at a time: WAV, FLAC, OGG or MP3")
    parser.add_argument(
        "--against",
        help='a number of equal steps such as 31 or "31 on C4 = 263.1 Hz", "harmonics of B♭1", ratios such as '
        '"1/1 5/4 3/2 on C4", or a temperament such as "quarter-comma on D"; ", A = 442" at the end moves the A',
    )
    parser.add_argument(
        "--exercise",
        type=path,
        metavar="FILE",
        help="the notes that were to be played, in their order: an exercise (.toml), or a lead sheet, whose melody is "
        "taken in as many equal steps as --against says; the report tells of each note how it was",
    )
    parser.add_argument("--instrument", help='such as "alto saxophone": where to look for pitch, and written names')
    parser.add_argument(
        "--reference", default=A4_HZ, type=_reference, help="frequency of A4 in hertz (default: %(default)g)"
    )
    parser.add_argument("--all", action="store_true", help="print every note of a long take, not only the worst five")
    parser.add_argument("--csv", type=path, metavar="FILE", help="also write the notes as comma-separated values")
    parser.add_argument(
        "--picture",
        type=path,
        metavar="FILE",
        help="also write a picture: .png, .svg or, with all passages of a long take, .pdf",
    )
    add_force(parser)


def _reference(text: str) -> float:
    return number(text, f"the reference is the frequency of A4 in hertz, such as 440, not {shortened(text)}")


def run(options: argparse.Namespace) -> None:
    """Print the report, and write what was asked for."""
    if options.against is None and options.exercise is None:
        raise ValueError("say what was played: --against with a tuning, or --exercise with the notes in their order")
    player = player_named(options.instrument) if options.instrument is not None else None
    files = [path for path in (options.csv, options.picture) if path is not None]
    _check_files(files, options)
    wanted = {target.parent: [one.name for one in files if one.parent == target.parent] for target in files}

    from tunelib.exhibits import OwnTake  # loads the drawing
    from tunelib.practice import follow_exercise, listen_to, read_intended
    from tunelib.show import paged, picture

    with Steps(sys.stderr) as steps:
        if options.exercise is None:
            report = listen_to(options.recording, options.against, player, options.reference, steps.share("listening"))
        else:
            intended = read_intended(options.exercise, options.against)
            report = follow_exercise(options.recording, intended, player, steps.share("listening"))
    with contextlib.ExitStack() as stack:
        made = {folder: stack.enter_context(staged(folder, names, options.force)) for folder, names in wanted.items()}
        if options.csv is not None:
            (made[options.csv.parent] / options.csv.name).write_bytes(report.csv().encode())
        if options.picture is not None:
            kind, take = options.picture.suffix.lower().lstrip("."), OwnTake(report)
            drawn = paged(take.pages()) if kind == "pdf" else picture(take, kind)
            (made[options.picture.parent] / options.picture.name).write_bytes(drawn)
    print(report.table(options.all), end="")
    if len(report.notes) > LONG_TAKE and not options.all:
        print(f"These are the {FURTHEST} furthest off; --all prints all {len(report.notes)} notes.")
    for target in files:
        print(target)


def _check_files(files: list[Path], options: argparse.Namespace) -> None:
    """Stop before the work if one of the files asked for could not be written."""
    if options.picture is not None and options.picture.suffix.lower() not in _PICTURES:
        raise ValueError(f"a picture is a .png, .svg or .pdf file, not {options.picture.name!r}")
    if len({target.absolute() for target in files}) < len(files):
        raise ValueError(f"--csv and --picture would both be written to {files[0]}; give them different names")
    reads = [one for one in (options.recording, options.exercise) if one is not None]
    check_targets(files, options.force, reads=reads)
    for target in files:
        if not target.absolute().parent.is_dir():
            raise FileNotFoundError(f"cannot write {target}: the folder {target.parent} does not exist; make it first")
