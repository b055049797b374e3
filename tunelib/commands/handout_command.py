"""``handout``: a lesson on paper, with room to write, or with its answers."""

from __future__ import annotations

import argparse
import sys
from functools import partial

from tunelib.commands.arguments import add_force, add_out, add_paper, check_folder, path
from tunelib.commands.telling import Steps
from tunelib.files import FileSet, check_targets, write_set

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
    from tunelib.practice import ANSWERS, handout_pdf

    ending = f"{ANSWERS if options.answers else ''}.pdf"
    names = [lesson.stem + ending for lesson in options.lesson]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise ValueError(f"two of these lessons would both be written to {twice}; print them into separate folders")
    check_folder(options.out)
    check_targets((options.out / name for name in names), options.force, reads=options.lesson)
    printed = [partial(handout_pdf, lesson, options.paper, options.answers) for lesson in options.lesson]
    with Steps(sys.stderr) as steps:
        paths = write_set(FileSet.of(dict(zip(names, printed, strict=True))), options.out, options.force, steps)
    for made in paths:
        print(made)
