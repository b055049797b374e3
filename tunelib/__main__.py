"""The command line: ``python -m tunelib``.

Each command is a function that adds its arguments to a parser and one that runs it. A wrong argument, a file in the way
or a missing part gets one line on the error stream and exit code 2.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TextIO, TypeVar

from tunelib.files import refuse_existing, require_file, write_together, write_whole
from tunelib.pitch.instruments import INSTRUMENTS, Instrument, instrument, propose_fundamental
from tunelib.pitch.lookup import folded
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.tunings import A4_HZ, THIRTY_ONE, equal
from tunelib.pitch.words import listed, times

if TYPE_CHECKING:
    from tunelib.export.sheet import Sheet

WRONG = 2  # exit code
INTERRUPTED = 130  # as shells report it
_PICTURES = (".png", ".svg", ".pdf")
_LOWEST_STEP, _STEPS_UP = -60, 60  # of twelve, from C4: where a fundamental that works is sought
_PAGES = ("overtones", "notes", "fingers")
_FEW = 0.5  # a share of harmonics in reach below which another fundamental is proposed


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(WRONG, f"{self.prog}: {message} (see {self.prog} --help)\n")


_Told = TypeVar("_Told", bound="_Telling")


class _Telling:
    """Tells how a longer piece of work goes: on a terminal in one line that changes, else line by line."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._changing = stream.isatty()

    def _tell(self, words: str) -> None:
        self._stream.write(f"\r\x1b[K{words}" if self._changing else f"{words}\n")
        self._stream.flush()

    def __enter__(self: _Told) -> _Told:
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the changing line."""
        if self._changing:
            self._tell("")


class Steps(_Telling):
    """Tells the steps of the work."""

    def __call__(self, step: str) -> None:
        """Say which step begins."""
        self._tell(f"{step} ...")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, 2 for anything wrong with what was asked, 130 if it was stopped."""
    parser = _Parser(
        prog="python -m tunelib",
        description="Sheets and handouts, stills and clips, reports on tuning, and retuned tunes.",
    )
    commands = parser.add_subparsers(title="commands", metavar="command")
    for name, (add_arguments, run, summary) in _COMMANDS.items():
        command = commands.add_parser(name, help=summary, description=summary)
        add_arguments(command)
        command.set_defaults(run=run, prog=command.prog)
    try:
        options = parser.parse_args(arguments)
        if "run" not in options:
            parser.error(f"give a command: {listed(_COMMANDS, 'or')}")
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
    """Numbers of harmonics as typed: ``"1-16"``, ``"1,2,5"``, ``"8"`` or ``"1 - 4, 7"``.

    Raises ValueError unless they are whole numbers that rise.

    >>> list(parse_harmonics("1 - 4, 7"))
    [1, 2, 3, 4, 7]
    """
    numbers: list[int] = []
    for part in text.split(","):
        first, dash, last = (piece.strip() for piece in part.partition("-"))
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
    return text.isascii() and text.isdigit() and len(text) <= 18


def _add_sheet(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--instrument", required=True, help='such as "alto saxophone"; see the command instruments')
    _add_overtones(parser, "all there are for the instrument and not yet in DIR")


def _add_overtones(parser: argparse.ArgumentParser, all_pages: str) -> None:
    """What a sheet is made of, for one player or a band."""
    parser.add_argument("--fundamental", help="the sounding note, such as B♭1 or Bb1; needed for overtones")
    parser.add_argument("--harmonics", default="1-16", help="such as 1-16, 1,2,5 or 8 (default: %(default)s)")
    parser.add_argument("--out", required=True, type=_path, metavar="DIR", help="folder for the files; made if missing")
    parser.add_argument(
        "--pages",
        type=_pages,
        metavar="LIST",
        help=f"of {', '.join(_PAGES)} (default: {all_pages})",
    )
    parser.add_argument("--paper", default="a4", help="a4 or letter (default: %(default)s)")
    parser.add_argument("--tempo", default=60.0, type=_tempo, help="beats a minute, 20 to 200 (default: %(default)g)")
    parser.add_argument("--no-drone", action="store_true", help="leave the fundamental's drone out")
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def _path(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError("its name is empty; give one, such as my_practice")
    return Path(text)


def _pages(text: str) -> tuple[str, ...]:
    chosen = [name.strip().lower() for name in text.split(",")]
    for name in chosen:
        if name not in _PAGES:
            raise argparse.ArgumentTypeError(
                f"{name!r} is no page; there are {', '.join(_PAGES)}, such as notes,fingers"
            )
    return tuple(name for name in _PAGES if name in chosen)


def _tempo(text: str) -> float:
    return _number(text, f"the tempo is a number of beats a minute, such as 60, not {text!r}")


def _reference(text: str) -> float:
    return _number(text, f"the reference is the frequency of A4 in hertz, such as 440, not {text!r}")


def _number(text: str, otherwise: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(otherwise) from None


def _player(name: str) -> Instrument:
    """The instrument of a name; where a whole family goes by that name, the error stream says which one was taken."""
    try:
        player = instrument(name)
    except ValueError as error:
        far = "" if "did you mean" in str(error) else "; `python -m tunelib instruments` lists them"
        raise ValueError(f"{error}{far}") from None
    sought = re.sub(r"\bsax\b", "saxophone", folded(name))
    others = [other for other in INSTRUMENTS if other != player.name and sought in folded(other).split()]
    if sought != folded(player.name) and others:
        print(f"taking the {player.name} for {name!r}; there are also: {', '.join(others)}", file=sys.stderr)
    return player


def _fundamental(text: str) -> Note:
    try:
        return Note.parse(text)
    except ValueError:
        if re.search(r"\d", text) or not _is_note(f"{text.strip()}1"):
            raise
    raise ValueError(f"{text!r} has no octave: add its number, such as {text.strip()}1 (C4 is middle C)")


def _is_note(text: str) -> bool:
    try:
        Note.parse(text)
    except ValueError:
        return False
    return True


def _overtones(options: argparse.Namespace) -> tuple[bool, Note | None, Sequence[int]]:
    """Whether pages of overtones are wanted, on which fundamental, and which harmonics."""
    overtones = options.pages is None or "overtones" in options.pages
    if overtones and options.fundamental is None:
        raise ValueError("the page of overtones needs --fundamental, such as Bb1; for another page give --pages notes")
    fundamental = _fundamental(options.fundamental) if options.fundamental is not None else None
    return overtones, fundamental, parse_harmonics(options.harmonics)


def _run_sheet(options: argparse.Namespace) -> None:
    player = _player(options.instrument)
    overtones, fundamental, harmonics = _overtones(options)

    from tunelib.export.page import paper_width  # these load engraver and drawing: a wrong name can spare them
    from tunelib.export.sheet import sheet_files
    from tunelib.show.page import printed_page
    from tunelib.show.players_pages import players_pages

    known = players_pages(player)
    if options.pages is not None and "fingers" in options.pages and "fingers" not in known:
        raise ValueError(f"there is no page of fingers for the {player.name}; leave it out of --pages")
    pages = [page for name, page in known.items() if options.pages is None or name in options.pages]
    sheet = _sheets([player], fundamental, harmonics, options)[0] if overtones and fundamental else None
    paper_width(options.paper)  # refuses one that is not known
    _check_folder(options.out)
    if options.pages is None and not options.force:  # the same for every fundamental: made once
        pages = [page for page in pages if not (options.out / page.file).exists()]
    if not options.force:
        names = [*(sheet.files if sheet else ()), *(page.file for page in pages)]
        refuse_existing(options.out / name for name in names)
    with Steps(sys.stderr) as steps:
        contents = sheet_files(sheet, options.paper, steps) if sheet else {}
        for page in pages:
            steps(f"printing {page.file}")
            contents[page.file] = printed_page(page.exhibit, options.paper, **page.knobs)
        steps("saving the files")
        paths = write_together(options.out, contents, options.force)
    for path in paths:
        print(path)
    if sheet and fundamental:
        print(f"{sheet.reached} of {len(sheet.rows)} harmonics lie in the comfortable range of the {player.name}.")
        if sheet.reached < _FEW * len(sheet.rows):
            _propose(player, fundamental, harmonics, sheet.reached)


def _sheets(
    players: Sequence[Instrument], fundamental: Note, harmonics: Sequence[int], options: argparse.Namespace
) -> list[Sheet]:
    """The sheets that were asked for; where one cannot be made, the lowest fundamental that works is named."""
    from tunelib.export.sheet import overtone_sheet

    def sheets_on(note: Note) -> list[Sheet]:
        drone, tempo = not options.no_drone, options.tempo
        return [overtone_sheet(player, note, harmonics, drone=drone, tempo=tempo) for player in players]

    try:
        return sheets_on(fundamental)
    except ValueError as error:
        lowest = _lowest(sheets_on, fundamental)
        raise ValueError(f"{error}; the lowest that works here is {lowest.typed}" if lowest else str(error)) from None


def _lowest(sheets_on: Callable[[Note], object], refused: Note) -> Note | None:
    """The first fundamental above one that was refused on which a sheet can be made, if there is any."""
    twelve = equal(12)
    try:
        first = refused.step(twelve) + 1
    except ValueError:  # between the keys
        return None
    first = max(first, _LOWEST_STEP)
    for step in range(first, first + _STEPS_UP):
        note = spell(step, twelve)
        try:
            sheets_on(note)
        except ValueError:
            continue
        return note
    return None


def _propose(player: Instrument, fundamental: Note, harmonics: Sequence[int], reached: int) -> None:
    better, count = propose_fundamental(player, harmonics, near=fundamental)
    if count > reached:
        print(f"On {better} it would be {count} of {len(harmonics)}: try --fundamental {better.typed}")


def _check_folder(folder: Path) -> None:
    """Stop early, before a minute's work, if nothing can be written there."""
    present = next(place for place in (folder.absolute(), *folder.absolute().parents) if place.exists())
    if not present.is_dir():
        raise NotADirectoryError(f"{present} is a file, not a folder; give --out a folder")
    refused = f"no file may be written in {present}; give --out a folder of your own"
    if not os.access(present, os.W_OK | os.X_OK):
        raise PermissionError(refused)
    try:
        with tempfile.TemporaryDirectory(dir=present, prefix=".tunelib-"):
            pass
    except OSError:  # a full or read-only disk, or a folder that only the system fills
        raise PermissionError(refused) from None


def _add_band(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--instruments", required=True, metavar="LIST", help='such as "alto saxophone, trumpet, trumpet, piano"'
    )
    _add_overtones(parser, "all there are for each instrument")


def _run_band(options: argparse.Namespace) -> None:
    names = [name.strip() for name in options.instruments.split(",")]
    if not all(names):
        raise ValueError(f"{options.instruments!r} has a name missing; part instruments by single commas")
    players = [_player(name) for name in names]
    overtones, fundamental, harmonics = _overtones(options)

    from tunelib.show.band import PAGES, WHOLE_BAND, band_of, suit_all, write_band  # loads engraver and drawing

    if overtones and fundamental:
        _sheets(players, fundamental, harmonics, options)
    pages = PAGES if options.pages is None else options.pages
    band = band_of(players, fundamental, harmonics, pages, drone=not options.no_drone, tempo=options.tempo)
    _check_folder(options.out)
    with Steps(sys.stderr) as steps:
        paths = write_band(band, options.out, options.paper, options.force, steps)
    for path in paths:
        print(path)
    for part, path in zip(band.parts, paths, strict=False):
        if part.players > 1:
            print(f"{part.players} players read {path.name}; it stands {part.players} times in {WHOLE_BAND}.")
    sheets = [part.sheet for part in band.parts if part.sheet]
    for sheet in sheets:
        print(
            f"{sheet.reached} of {len(sheet.rows)} harmonics lie in the comfortable range of the {sheet.player.name}."
        )
    if fundamental and sheets and min(sheet.reached for sheet in sheets) < _FEW * len(harmonics):
        better, counts = suit_all([sheet.player for sheet in sheets], harmonics, fundamental)
        if min(counts) > min(sheet.reached for sheet in sheets):
            print(f"On {better} each would reach {min(counts)} or more: try --fundamental {better.typed}")


def _add_handout(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", nargs="+", type=_path, help="a notebook such as lessons/04_twelve.ipynb, or several")
    parser.add_argument("--out", required=True, type=_path, metavar="DIR", help="folder for the files; made if missing")
    parser.add_argument("--answers", action="store_true", help="print the answers, for a teacher, in a file of its own")
    parser.add_argument("--paper", default="a4", help="a4 or letter (default: %(default)s)")
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def _run_handout(options: argparse.Namespace) -> None:
    from tunelib.practice.handout import ANSWERS, handout_pdf

    ending = f"{ANSWERS if options.answers else ''}.pdf"
    names = [lesson.stem + ending for lesson in options.lesson]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise ValueError(f"two of these lessons would both be written to {twice}; print them into two folders")
    _check_folder(options.out)
    if not options.force:
        refuse_existing(options.out / name for name in names)
    contents = {}
    with Steps(sys.stderr) as steps:
        for lesson, name in zip(options.lesson, names, strict=True):
            steps(f"printing {name}")
            contents[name] = handout_pdf(lesson, options.paper, options.answers)
        steps("saving the files")
        paths = write_together(options.out, contents, options.force)
    for path in paths:
        print(path)


def _add_instruments(parser: argparse.ArgumentParser) -> None:
    """This command takes no arguments."""


def _run_instruments(options: argparse.Namespace) -> None:
    """List the instruments and voices: name, clef, and the comfortable range as written."""
    width = max(map(len, INSTRUMENTS))
    print(f"{'instrument or voice':<{width}}  {'clef':<10}  comfortable range, as written")
    for player in INSTRUMENTS.values():
        print(f"{player.name:<{width}}  {player.clef:<10}  {player.lowest} to {player.highest}".rstrip())


def _add_listen(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("recording", type=_path, help="of one player, one note at a time: WAV, FLAC, OGG or MP3")
    parser.add_argument(
        "--against",
        required=True,
        help='"harmonics of B♭1", a number of equal steps such as 31, or ratios such as "1/1 5/4 3/2 on C4"',
    )
    parser.add_argument("--instrument", help='such as "alto saxophone": where to look for pitch, and written names')
    parser.add_argument(
        "--reference", default=A4_HZ, type=_reference, help="frequency of A4 in hertz (default: %(default)g)"
    )
    parser.add_argument("--csv", type=_path, metavar="FILE", help="write the notes as comma-separated values too")
    parser.add_argument("--picture", type=_path, metavar="FILE", help="write a picture too: .png, .svg or .pdf")
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def _run_listen(options: argparse.Namespace) -> None:
    player = _player(options.instrument) if options.instrument is not None else None
    files = [path for path in (options.csv, options.picture) if path is not None]
    _check_files(files, options.picture, options.force)

    from tunelib.practice.intonation import listen_to, take_picture  # loads the drawing

    report = listen_to(options.recording, options.against, player, options.reference)
    contents = []
    if options.csv is not None:
        contents.append(report.csv().encode())
    if options.picture is not None:
        contents.append(take_picture(report, options.picture.suffix.lower().lstrip(".")))
    for path, data in zip(files, contents, strict=True):
        write_whole(path, data, overwrite=options.force)
    print(report.table(), end="")
    for path in files:
        print(path)


def _check_files(files: Sequence[Path], picture: Path | None, force: bool) -> None:
    """Stop before the work if a file that was asked for could not be written."""
    if picture is not None and picture.suffix.lower() not in _PICTURES:
        raise ValueError(f"a picture is a .png, .svg or .pdf file, not {picture.name!r}")
    if len({path.absolute() for path in files}) < len(files):
        raise ValueError(f"--csv and --picture would both be written to {files[0]}; give them two names")
    if not force:
        refuse_existing(files)
    for path in files:
        if path.is_dir():
            raise IsADirectoryError(f"{path} is a folder; give the name of a file")
        if not path.absolute().parent.is_dir():
            raise FileNotFoundError(f"cannot write {path}: the folder {path.parent} does not exist; make it first")


def _add_retune(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tune", type=_path, help="a lead sheet: text (.txt), or MusicXML (.musicxml, .xml or .mxl)")
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
    parser.add_argument("--out", required=True, type=_path, metavar="DIR", help="folder for the files; made if missing")
    parser.add_argument("--paper", default="a4", help="a4 or letter (default: %(default)s)")
    parser.add_argument("--tempo", type=_tempo, help="beats a minute, 10 to 500 (default: the tune's)")
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def _taste(text: str) -> float:
    return _within(text, 0, "the taste lies from 0, as written where it can be, to 1, adventurous")


def _colour(text: str) -> float:
    return _within(text, -1, "the colour lies from -1, darker, to 1, brighter")


def _within(text: str, low: float, bounds: str) -> float:
    value = _number(text, f"{bounds}; {text!r} is no number")
    if not low <= value <= 1:
        raise argparse.ArgumentTypeError(f"{bounds}, not at {text}")
    return value


def _run_retune(options: argparse.Namespace) -> None:
    require_file(options.tune, "give the lead sheet itself, such as tune.txt")

    from tunelib.harmony.lead_sheet import read_lead_sheet

    sheet = read_lead_sheet(options.tune)
    if options.tempo is not None:
        sheet = replace(sheet, tempo=options.tempo)

    from tunelib.export.page import paper_width  # these load engraver and drawing: a wrong tune can spare them
    from tunelib.export.tune import tune_files, tune_names, tune_stem, tune_table
    from tunelib.harmony.retune import Taste, retune

    paper_width(options.paper)  # refuses one that is not known
    _check_folder(options.out)
    stem = tune_stem(sheet.title, options.tune.stem)
    targets = [options.out / name for name in tune_names(stem)]
    if any(target.exists() and target.samefile(options.tune) for target in targets):
        raise ValueError(f"{options.tune} would be replaced by what is made of it; give --out another folder")
    if not options.force:
        refuse_existing(targets)
    with Steps(sys.stderr) as steps:
        steps("retuning the chords")
        tune = retune(sheet, THIRTY_ONE, Taste(options.taste, options.colour, options.drift, options.clashes))
        contents = tune_files(tune, stem, options.paper, steps)
        steps("saving the files")
        paths = write_together(options.out, contents, options.force)
    print(tune_table(tune), end="")
    for path in paths:
        print(path)


def _add_render(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shots", type=_path, metavar="episode.toml", help="the shot list")
    parser.add_argument("--out", required=True, type=_path, metavar="DIR", help="folder for the files; made if missing")
    parser.add_argument("--only", nargs="+", default=(), metavar="NAME", help="make these shots alone")
    parser.add_argument("--jobs", type=_jobs, metavar="N", help="files to make at a time (default: one for each core)")
    parser.add_argument("--check", action="store_true", help="look for mistakes and say what there is to make; no more")
    parser.add_argument("--force", action="store_true", help="replace files that are not this command's own")


def _jobs(text: str) -> int:
    if not _is_number(text) or int(text) < 1:
        raise argparse.ArgumentTypeError(f"the number of jobs is 1 or more, not {text!r}")
    return int(text)


class _Rendering(_Telling):
    """Tells how rendering goes: the share that is done, where a line can change, else each file."""

    def going(self, share: float, left: float | None) -> None:
        """Show the share of the work that is done, and the time left."""
        if self._changing:
            after = "" if left is None else f", about {int(left) // 60}:{int(left) % 60:02} left"
            self._tell(f"rendering: {share:.0%}{after}")

    def finished(self, file: str, reason: str | None) -> None:
        """Say that a file is there."""
        if not self._changing and reason is None:
            self._tell(f"{file} is made")


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


def _run_render(options: argparse.Namespace) -> None:
    from tunelib.show.episode import plan_episode, render_plan  # these load the drawing
    from tunelib.show.shots import ShotListError, read_episode

    try:
        episode = read_episode(options.shots)
    except ShotListError as error:
        print(error, file=sys.stderr)
        count = times(len(error.mistakes), "mistake")
        raise ValueError(f"{count} in {options.shots}; nothing was made") from None
    plan = plan_episode(episode, options.out, options.only)
    if plan.refused and not options.force:
        print(*plan.refused, sep="\n", file=sys.stderr)
        raise FileExistsError("nothing was made; give --out another folder, or --force to replace what is named above")
    if options.check:
        print(f"{options.shots} is in order: {times(len(plan.wanted), 'file')} to make, {len(plan.current)} current")
        return
    _check_folder(options.out)
    with _Rendering(sys.stderr) as telling, _ended_gently():
        outcome = render_plan(plan, options.jobs, options.force, telling)
    for file in outcome.made:
        print(options.out / file)
    print(f"{len(outcome.made)} made, {len(outcome.current)} current; look through them in {outcome.sheet}")
    for file in outcome.left:
        print(f"{options.out / file} is no longer in {options.shots}; delete it if it is not needed")
    for file, reason in outcome.failed.items():
        print(f"{file}: {reason}", file=sys.stderr)
    if outcome.failed:
        raise ValueError(f"{len(outcome.failed)} of {len(plan.wanted)} files could not be made")


_Command = tuple[Callable[[argparse.ArgumentParser], None], Callable[[argparse.Namespace], None], str]
_COMMANDS: dict[str, _Command] = {
    "sheet": (
        _add_sheet,
        _run_sheet,
        "write an overtone sheet to play along with, and pages of the 31 notes on an instrument",
    ),
    "band": (_add_band, _run_band, "write the sheets of a whole band, in score order, and one recording for all"),
    "instruments": (_add_instruments, _run_instruments, "list the instruments and voices, with clef and written range"),
    "listen": (_add_listen, _run_listen, "say how well a recorded player is in tune: a table, CSV and a picture"),
    "handout": (_add_handout, _run_handout, "print a lesson as a handout with room to write, or with its answers"),
    "render": (_add_render, _run_render, "make the stills and clips of an episode from its shot list"),
    "retune": (
        _add_retune,
        _run_retune,
        "retune a lead sheet in thirty-one: a table with reasons, staves, MIDI and sound, and the same in twelve",
    ),
}

if __name__ == "__main__":
    sys.exit(main())
