"""``handout``: a lesson on paper, with room to write, or with its answers."""

from __future__ import annotations

import argparse
import sys

from tunelib.commands.arguments import add_force, add_out, add_paper, check_folder, path
from tunelib.commands.telling import Steps
from tunelib.files import check_targets, write_set

NAME = "handout"
SUMMARY = "print a lesson as a handout with room to write, or with its answers"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The lessons, and how they are printed."""
    parser.add_argument("lesson", nargs="+", type=path, help="a notebook such as lessons/04_twelve.ipynb, or several")
    add_out(parser)
    parser.add_argument("--answers", action="store_true", help="print the answers, for a teacher, in a file of its own")
    add_paper(parser)
    add_force(parser)


def run(options: argparse.Namespace) -> None:
    """Write a PDF for each lesson."""
    check_folder(options.out)
    from tunelib.practice import handout_files

    files = handout_files(options.lesson, options.paper, options.answers)
    check_targets((options.out / name for name in files.names), options.force, reads=options.lesson)
    with Steps(sys.stderr) as steps:
        paths = write_set(files, options.out, options.force, steps)
    for made in paths:
        print(made)
