"""The command line: ``python -m tunelib``.

Each command is a function that adds its arguments to a parser and one that runs it. A wrong argument, a file in the way
or a missing part gets one line on the error stream and exit code 2.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn, TextIO

from tunelib.pitch.instruments import INSTRUMENTS, Instrument, instrument, propose_fundamental
from tunelib.pitch.notes import Note

WRONG = 2  # exit code
INTERRUPTED = 130  # as shells report it
_FEW = 0.5  # a share of harmonics in reach below which another fundamental is proposed


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(WRONG, f"{self.prog}: {message} (see {self.prog} --help)\n")


class Steps:
    """Tells the steps of a longer piece of work: on a terminal in one line that changes, else a line each."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._changing = stream.isatty()

    def __call__(self, step: str) -> None:
        """Say which step begins."""
        self._stream.write(f"\r\x1b[K{step} ..." if self._changing else f"{step} ...\n")
        self._stream.flush()

    def done(self) -> None:
        """Clear the changing line."""
        if self._changing:
            self._stream.write("\r\x1b[K")
            self._stream.flush()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, or 2 for anything wrong with what was asked."""
    parser = _Parser(prog="python -m tunelib", description="Sheets for practising pure tuning.")
    commands = parser.add_subparsers(title="commands", required=True, metavar="command")
    for name, (add_arguments, run, summary) in _COMMANDS.items():
        command = commands.add_parser(name, help=summary, description=summary)
        add_arguments(command)
        command.set_defaults(run=run, prog=command.prog)
    try:
        options = parser.parse_args(arguments)
    except SystemExit as stop:
        return int(stop.code or 0)
    try:
        options.run(options)
    except (ValueError, OSError, ImportError) as error:
        print(f"{options.prog}: {_one_line(error)}", file=sys.stderr)
        return WRONG
    except KeyboardInterrupt:
        print(f"{options.prog}: stopped", file=sys.stderr)
        return INTERRUPTED
    return 0


def _one_line(error: Exception) -> str:
    return " ".join(str(error).replace("pass overwrite=True", "give --force").split())


def parse_harmonics(text: str) -> Sequence[int]:
    """Numbers of harmonics as typed: ``"1-16"``, ``"1,2,5"``, ``"8"`` or ``"1-4,7"``.

    Raises ValueError unless they are whole numbers that rise.

    >>> list(parse_harmonics("1-4,7"))
    [1, 2, 3, 4, 7]
    """
    numbers: list[int] = []
    for part in text.split(","):
        first, dash, last = part.strip().partition("-")
        if not _is_number(first) or (dash and not _is_number(last)):
            raise ValueError(f"{text!r} names no harmonics; write them as 1-16, as 1,2,5 or as 8")
        begin, end = int(first), int(last) if dash else int(first)
        if end < begin:
            raise ValueError(f"{part.strip()!r} runs backwards; write {end}-{begin}")
        if end > 10**6:
            raise ValueError(f"{text!r} is out of bounds; harmonics are numbered from 1 to 64")
        numbers.extend(range(begin, end + 1))
    return numbers


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _add_sheet(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--instrument", required=True, help='such as "alto saxophone"; see the command instruments')
    parser.add_argument("--fundamental", required=True, help="the sounding note, such as B♭1 or Bb1")
    parser.add_argument("--harmonics", default="1-16", help="such as 1-16, 1,2,5 or 8 (default: %(default)s)")
    parser.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the files; made if missing")
    parser.add_argument("--paper", default="a4", help="a4 or letter (default: %(default)s)")
    parser.add_argument("--tempo", default=60.0, type=float, help="beats a minute, 20 to 200 (default: %(default)g)")
    parser.add_argument("--no-drone", action="store_true", help="leave the fundamental's drone out")
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def _run_sheet(options: argparse.Namespace) -> None:
    player = instrument(options.instrument)
    fundamental = Note.parse(options.fundamental)
    harmonics = parse_harmonics(options.harmonics)

    from tunelib.export.sheet import overtone_sheet, write_sheet  # loads the engraver, which a wrong name can spare

    sheet = overtone_sheet(player, fundamental, harmonics, drone=not options.no_drone, tempo=options.tempo)
    _check_folder(options.out)
    steps = Steps(sys.stderr)
    try:
        paths = write_sheet(sheet, options.out, options.paper, overwrite=options.force, progress=steps)
    finally:
        steps.done()
    for path in paths:
        print(path)
    print(f"{sheet.reached} of {len(sheet.rows)} harmonics lie in the comfortable range of the {player.name}.")
    if sheet.reached < _FEW * len(sheet.rows):
        _propose(player, fundamental, harmonics, sheet.reached)


def _propose(player: Instrument, fundamental: Note, harmonics: Sequence[int], reached: int) -> None:
    better, count = propose_fundamental(player, harmonics, near=fundamental)
    if count > reached:
        print(f"On {better} it would be {count} of {len(harmonics)}: try --fundamental {better.typed}")


def _check_folder(folder: Path) -> None:
    """Stop early, before a minute's work, if nothing can be written there."""
    present = next(place for place in (folder.absolute(), *folder.absolute().parents) if place.exists())
    if not present.is_dir():
        raise NotADirectoryError(f"{present} is a file, not a folder; give --out a folder")
    if not os.access(present, os.W_OK | os.X_OK):
        raise PermissionError(f"no file may be written in {present}; give --out a folder of your own")


def _add_instruments(parser: argparse.ArgumentParser) -> None:
    """This command takes no arguments."""


def _run_instruments(options: argparse.Namespace) -> None:
    """List the instruments and voices: name, clef, and the comfortable range as written."""
    width = max(map(len, INSTRUMENTS))
    for player in INSTRUMENTS.values():
        print(f"{player.name:<{width}}  {player.clef:<10}  {player.lowest} to {player.highest}".rstrip())


_Command = tuple[Callable[[argparse.ArgumentParser], None], Callable[[argparse.Namespace], None], str]
_COMMANDS: dict[str, _Command] = {
    "sheet": (_add_sheet, _run_sheet, "write an overtone sheet to play along with: PDF, SVG, MusicXML, MIDI and WAV"),
    "instruments": (_add_instruments, _run_instruments, "list the instruments and voices, with clef and written range"),
}

if __name__ == "__main__":
    sys.exit(main())
