"""``page``: lessons as web pages that need nothing but themselves."""

from __future__ import annotations

import argparse
import sys

from tunelib.commands.arguments import add_force, add_out, check_folder, path
from tunelib.commands.telling import Steps
from tunelib.files import check_targets, write_set

NAME = "page"
SUMMARY = "make each lesson one web page that works anywhere, with its sliders and its sound"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The lessons, and where their pages go."""
    parser.add_argument("lesson", nargs="+", type=path, help="a notebook such as lessons/04_twelve.ipynb, or several")
    add_out(parser)
    add_force(parser)


def run(options: argparse.Namespace) -> None:
    """Write a page for each lesson, and an index of them."""
    check_folder(options.out)
    from tunelib.practice import lesson_pages

    pages = lesson_pages(options.lesson)
    check_targets((options.out / name for name in pages.names), options.force, reads=options.lesson)
    with Steps(sys.stderr) as steps:
        paths = write_set(pages, options.out, options.force, steps)
    for made in paths:
        print(made)
