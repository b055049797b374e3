"""Reading the command line and running what was asked.

A command is a module of this room with `NAME`, `SUMMARY`, `add_arguments(parser)` and `run(options)`,
in the list below. A wrong argument, a file in the way or a missing part gets one line on the error stream and exit
code 2.
"""

from __future__ import annotations

import argparse
import contextlib
import signal
import sys
from collections.abc import Iterator, Sequence
from typing import NoReturn, Protocol

from tunelib.commands import (
    band_command,
    handout_command,
    instruments_command,
    listen_command,
    render_command,
    retune_command,
    sheet_command,
)
from tunelib.commands.telling import one_line
from tunelib.pitch import listed

WRONG = 2  # exit code
INTERRUPTED = 130  # as shells report it


class Command(Protocol):
    """What a command's module offers."""

    NAME: str
    SUMMARY: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say what can be given."""

    def run(self, options: argparse.Namespace) -> None:
        """Do it."""


COMMANDS: tuple[Command, ...] = (
    sheet_command,
    band_command,
    instruments_command,
    listen_command,
    handout_command,
    render_command,
    retune_command,
)


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(WRONG, f"{self.prog}: {message} (see {self.prog} --help)\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, 2 for anything wrong with what was asked, 130 if it was stopped."""
    try:
        parser = _parser()
        options = parser.parse_args(arguments)
        if "run" not in options:
            parser.error(f"give a command: {listed([command.NAME for command in COMMANDS], 'or')}")
    except SystemExit as stop:
        return int(stop.code or 0)
    try:
        with _ended_gently():
            options.run(options)
    except (ValueError, OSError, ImportError) as error:
        print(f"{options.prog}: {one_line(error)}", file=sys.stderr)
        return WRONG
    except KeyboardInterrupt:
        print(f"{options.prog}: stopped", file=sys.stderr)
        return INTERRUPTED
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m tunelib",
        description="Sheets and handouts, stills and clips, reports on tuning, and retuned tunes.",
    )
    commands = parser.add_subparsers(title="commands", metavar="command")
    for command in COMMANDS:
        added = commands.add_parser(command.NAME, help=command.SUMMARY, description=command.SUMMARY)
        command.add_arguments(added)
        added.set_defaults(run=command.run, prog=added.prog)
    return parser


@contextlib.contextmanager
def _ended_gently() -> Iterator[None]:
    """Let a request to end, or a terminal that is closed, stop the work as Ctrl-C does."""
    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.signal(number, signal.default_int_handler) for number in numbers}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
