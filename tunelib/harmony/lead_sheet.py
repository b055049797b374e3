"""Lead sheets: a tune as plain text, a few lines to learn; and the one way to read a tune from any file.

The format on one page. First come headings, each on a line of its own, in any order; what is left out is as shown
here::

    title: Shavings
    metre: 4/4
    tempo: 120
    key: C major

Then come lines of bars between bar lines, with a chord symbol or several in each; `tunelib.harmony.symbols`
says what symbols there are. A line begins with a bar line | and ends with one::

    | Dm7 | G7 | Cmaj7 | % |
    | Dm7 G7 | Em7 . . A7 | . Ab7 G7 . | N.C. |

Signs in a bar share it equally.

``.``
    What came before goes on for one share more. ``Em7 . . A7`` in 4/4 is three beats and one, and a bar that begins
    with a dot goes on with the chord of the bar before.
``%``
    The bar before once again, struck afresh.
``N.C.``
    No chord.
``|:`` and ``:|``
    What is between them is played twice. Without ``|:`` it goes back to the end of the last repeat, or to the
    beginning. ``||`` is a bar line like any other.
``1.`` and ``2.``
    First in a bar: here begins the ending of the first time, or of the second. One for the first two times is written
    ``1. 2.``, and all but the last close with ``:|``::

        |: Dm7 G7 | 1. Cmaj7 A7 :| 2. Cmaj7 |

A line of bars may have its melody below it, bar for bar::

            | Dm7          G7      | Cmaj7   |
    melody: | D4 F4:1/2 A4:1/2 - B4 | .:2 C5:2 |

A note is a letter, its accidental and its octave (C4 is middle C, as it sounds), then a colon and how many beats it
lasts, whole, as a fraction or a decimal; one beat where nothing is said. ``-`` is a rest, and a dot holds what came
before it, as in ``.:2``: so notes are tied over a bar line. The notes fill every bar. ``%`` is the bar before once
again.

Beats are quarter notes in every metre, and a bar has a whole number of them, 1 to 12: 6/8 is three, 2/2 four, and 7/8
is to be written as 7/4. An upbeat is a whole bar that begins with rests, and with ``N.C.``; bars of silence at the
end are left off.

A line that begins with ``#`` is a comment, and so is the rest of a line of bars from a ``#`` on its own.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from itertools import pairwise, takewhile
from pathlib import Path

from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet_xml import LARGEST_FILE, musicxml_lead_sheet
from tunelib.harmony.tune import (
    MOST_BARS,
    LeadSheet,
    TimedChord,
    TimedNote,
    WrittenBar,
    WrittenChord,
    WrittenNote,
    bar_length,
    known_tempo,
    known_title,
    writable,
    writable_chord,
    written_out,
)
from tunelib.pitch import Key, Note, look_up, shortened, times, unprintable

__all__ = ["LeadSheet", "TimedChord", "TimedNote", "lead_sheet_text", "parse_lead_sheet", "read_lead_sheet"]

_LONGEST_TEXT = 1_000_000
_HEADINGS = {name: name for name in ("title", "metre", "tempo", "key")} | {"meter": "metre"}
_HEADING = re.compile(r"\s*([A-Za-z]+(?: [A-Za-z]+)*)\s*:(?!\|)")
_MELODY = re.compile(r"\s*melody\s*:", re.IGNORECASE)
_BAR_LINE = re.compile(r"(:?)\|{1,2}(:?)")
_COMMENT = re.compile(r"(^|(?<=\s))#(?=\s|$)")
_SIGN = re.compile(r"(?:\([^()|]*\)|[^\s|])+(?:\s+\([^()|]*\))*")
_ENDING = re.compile(r"([1-9])\.")
_METRE = re.compile(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})")
_NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,15})?")
_KEY = re.compile(r"(?P<tonic>[A-G](?:½♯|½♭|h#|hb|[#bx♯♭𝄪𝄫])*)(?P<minor>m(?![a-z]))?(?P<mode>.*)")
_LENGTH = re.compile(r"[0-9]{1,12}(?:/0{0,11}[1-9][0-9]{0,11}|\.[0-9]{1,6})?")
_LINE_END = re.compile(r"\r\n|\r|\n")  # as editors count lines
_NO_CHORD = ("N.C.", "NC", "N.C")
_MOST_SIGNS_A_BEAT = 24
_BARS_A_LINE = 4
_ONE_BAR_LINE = {":| |:": ":|:", ":| |": ":|", "| |:": "|:"}


def read_lead_sheet(path: str | os.PathLike[str]) -> LeadSheet:
    """Read a tune from a file: text (.txt), or MusicXML (.musicxml, .xml, or .mxl, compressed).

    Raises ValueError that begins with the file's name, as `parse_lead_sheet` and `musicxml_lead_sheet` do, or if the
    file is of another kind or larger than 20 MB; and OSError if it cannot be opened.
    """
    file = Path(path)
    kind = file.suffix.lower()
    if kind not in (".txt", ".musicxml", ".xml", ".mxl"):
        raise ValueError(f"{file.name} is not a lead sheet: its name must end in .txt, or in .musicxml, .xml or .mxl")
    with file.open("rb") as stream:
        data = stream.read(LARGEST_FILE + 1)
    try:
        if len(data) > LARGEST_FILE:
            raise ValueError(f"the file is larger than {LARGEST_FILE // 1_000_000} MB, which no tune is")
        return parse_lead_sheet(_decoded(data)) if kind == ".txt" else musicxml_lead_sheet(data)
    except ValueError as error:
        raise ValueError(f"{file.name}: {error}") from None


def _decoded(data: bytes) -> str:
    try:
        start = data.index(b"\0")  # which UTF-16 is full of, and no text in UTF-8 has
    except ValueError:
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            start = error.start
    line = data.count(b"\n", 0, start) + 1
    column = start - data.rfind(b"\n", 0, start)
    raise _wrong(line, column, "this is not UTF-8 text; save the file as UTF-8")


def parse_lead_sheet(text: str) -> LeadSheet:
    """Read a tune from text; the format is at the head of this module.

    Raises ValueError that begins with line and column, and says what is wrong there and what would be right.

    >>> sheet = parse_lead_sheet("key: F major\\n|: Gm7 C7 | 1. Fmaj7 D7 :| 2. Fmaj7 |")
    >>> [(chord.symbol, chord.bar, str(chord.duration)) for chord in sheet.chords[:4]]
    [('Gm7', 1, '2'), ('C7', 1, '2'), ('Fmaj7', 2, '2'), ('D7', 2, '2')]
    >>> sheet.bars, sheet.key.signature_words
    (4, '1 flat')
    """
    if not isinstance(text, str):
        raise ValueError(f"line 1, column 1: a lead sheet is text, not {shortened(text)}")
    if len(text) > _LONGEST_TEXT:
        raise ValueError(f"line 1, column 1: the text has more than {_LONGEST_TEXT:,} characters, which no tune has")
    return _Reader().read(text.removeprefix("\ufeff"))


@contextmanager
def _at(line: int, column: int) -> Iterator[None]:
    """Puts the place before what a ValueError says."""
    try:
        yield
    except ValueError as error:
        raise _wrong(line, column, str(error)) from None


def _wrong(line: int, column: int, why: str) -> ValueError:
    return ValueError(f"{_where(line, column)}: {why}")


def _where(line: int, column: int) -> str:
    return f"line {line}, column {column}"


class _Reader:
    """Reads a lead sheet line by line. Columns are counted from 1."""

    def __init__(self) -> None:
        self._headings: set[str] = set()
        self._title, self._tempo, self._beats, self._key = "", 120.0, 4, Key(Note.named("C"))
        self._bars: list[WrittenBar] = []
        self._before: list[int] = []  # for each bar, the one that is played before it; -1 for none
        self._before_endings = -1  # the bar before the last first ending
        self._opens = False  # whether the last bar line begins a repeat
        self._in_line = range(0)  # the bars of the last line of chords
        self._bar_lines: list[str] = []  # and its bar lines
        self._sung: set[int] = set()  # the bars that have a melody

    def read(self, text: str) -> LeadSheet:
        lines = _LINE_END.split(text)
        if len(lines) > 1 and not lines[-1]:
            lines.pop()
        for number, line in enumerate(lines, start=1):
            self._line(number, line)
        end = len(lines), len(lines[-1]) + 1
        if not self._bars:
            raise _wrong(*end, "there are no bars; write a line of them, such as | Dm7 G7 | Cmaj7 |")
        if self._opens:
            raise _wrong(*end, "the last bar line |: begins a repeat, and nothing follows: end the tune with |")
        return written_out(self._bars, self._title, self._tempo, self._beats, self._key)

    def _line(self, number: int, line: str) -> None:
        if not line.strip() or line.lstrip().startswith("#"):
            return
        if found := unprintable(line):
            raise _wrong(number, found[0] + 1, f"{found[1]} cannot be printed: remove it")
        if line.lstrip().startswith(("|", ":|")):
            self._chord_line(number, line)
        elif melody := _MELODY.match(line):
            self._melody_line(number, line, melody.end())
        elif heading := _HEADING.match(line):
            self._heading(number, line, heading)
        else:
            raise _wrong(
                number,
                _first(line),
                f"{shortened(line.strip(), 30)} does not belong in a lead sheet: a line is a heading such as key: F "
                "major, bars that begin and end with a bar line |, their melody: or a comment after #",
            )

    def _heading(self, number: int, line: str, heading: re.Match[str]) -> None:
        start = heading.start(1) + 1
        with _at(number, start):
            name = look_up(heading[1], _HEADINGS, "heading")
        if self._bars:
            raise _wrong(number, start, f"the {name} comes too late: headings go before the bars")
        if name in self._headings:
            raise _wrong(number, start, f"the {name} has been given already: remove one of the two")
        self._headings.add(name)
        after = line[heading.end() :]
        value = after.strip()
        with _at(number, heading.end() + _first(after)):
            if name == "title":
                self._title = known_title(value)
            elif name == "metre":
                self._beats = _metre(value)
            elif name == "tempo":
                self._tempo = _tempo(value)
            else:
                self._key = _key(value)

    def _chord_line(self, number: int, line: str) -> None:
        bar_lines, cells = _cells(number, line, 0)
        if bar_lines[0].startswith(":"):
            if not self._bars:
                raise _wrong(
                    number, _first(line), "a repeat ends here, but there is no bar before it: begin with | or |:"
                )
            self._bars[-1].times = 2
        first = len(self._bars)
        for (left, right), (column, inside) in zip(pairwise(bar_lines), cells, strict=True):
            bar = WrittenBar(_where(number, column), Fraction(self._beats))
            bar.opens = left.endswith(":") or self._opens
            bar.times = 2 if right.startswith(":") else 1
            self._opens = False
            self._chord_cell(number, column, inside, bar)
            self._bars.append(bar)
            if len(self._bars) > MOST_BARS:
                raise _wrong(number, column, f"a tune has {MOST_BARS:,} bars at most")
        self._opens = bar_lines[-1].endswith(":")
        self._in_line, self._bar_lines = range(first, len(self._bars)), bar_lines

    def _chord_cell(self, number: int, column: int, inside: str, bar: WrittenBar) -> None:
        signs = [(column + match.start(), match.group()) for match in _SIGN.finditer(inside)]
        endings = list(takewhile(lambda sign: _ENDING.fullmatch(sign[1]), signs))
        bar.endings = tuple(int(sign[0]) for _, sign in endings)
        signs = signs[len(endings) :]
        self._note_before(bar)
        if not signs:
            raise _wrong(number, column, "this bar is empty: write a chord, % for the bar before, or N.C. for no chord")
        column = signs[0][0]
        if any(sign == "%" for _, sign in signs):
            bar.chords = self._bars[self._repeated(number, column, len(signs), len(self._bars))].chords
            return
        if signs[0][1] == "." and not self._bars:
            raise _wrong(
                number, column, "there is nothing before this dot that could go on: begin with a chord or N.C."
            )
        share = Fraction(self._beats, len(signs))
        if ((2 * share).denominator > 1 and len(signs) % self._beats) or share * _MOST_SIGNS_A_BEAT < 1:
            raise _wrong(number, column, self._uneven([sign for _, sign in signs]))
        for place, (at, sign) in enumerate(signs):
            if sign == ".":
                continue
            with _at(number, at):
                chord = None if sign in _NO_CHORD else Chord.parse(sign)
                if chord is not None:
                    writable_chord(chord)
            bar.chords.append(WrittenChord(place * share, chord, sign, number, at))

    def _note_before(self, bar: WrittenBar) -> None:
        """Note which bar is played before one that comes next: for a later ending, the last that all of them share."""
        place = len(self._bars)
        later = bool(bar.endings and self._bars and self._bars[-1].times > 1)
        if bar.endings and not later:
            self._before_endings = place - 1
        self._before.append(self._before_endings if later else place - 1)

    def _repeated(self, number: int, column: int, signs: int, place: int) -> int:
        """The bar that a % in another repeats."""
        if signs > 1:
            raise _wrong(number, column, "% must be alone in its bar: it repeats the whole bar before it")
        if self._before[place] < 0:
            raise _wrong(number, column, "there is no bar before this one that % could repeat")
        return self._before[place]

    def _uneven(self, signs: list[str]) -> str:
        said = f"{len(signs)} signs do not share {times(self._beats, 'beat')} equally"
        if len(signs) > self._beats:
            return f"{said}: write {self._beats} or {2 * self._beats}, with dots where a chord goes on"
        dotted = " ".join([signs[0], *"." * (self._beats - len(signs)), *signs[1:]])
        return f"{said}: put dots where a chord goes on, such as {shortened(dotted)}"

    def _melody_line(self, number: int, line: str, begin: int) -> None:
        bar_lines, cells = _cells(number, line, begin)
        column = _first(line)
        if not self._in_line:
            raise _wrong(number, column, "a melody goes below its line of chords, one line for each")
        if len(cells) != len(self._in_line):
            raise _wrong(
                number,
                column,
                f"the melody has {times(len(cells), 'bar')}, and the chords above it {len(self._in_line)}: bar for bar",
            )
        for own, above, (where, _) in zip(bar_lines, self._bar_lines, [*cells, (len(line), "")], strict=True):
            if ":" in own and own != above:
                raise _wrong(number, where - 1, f"a repeat sign {own}, but {above} above it: make them the same")
        for place, (where, inside) in zip(self._in_line, cells, strict=True):
            self._melody_cell(number, where, inside, place)
            self._sung.add(place)
        self._in_line = range(0)

    def _melody_cell(self, number: int, column: int, inside: str, place: int) -> None:
        bar = self._bars[place]
        signs = [(column + match.start(), match.group()) for match in re.finditer(r"\S+", inside)]
        if any(sign == "%" for _, sign in signs):
            repeated = self._repeated(number, signs[0][0], len(signs), place)
            if repeated not in self._sung:
                raise _wrong(number, signs[0][0], "the bar before has no melody that % could repeat")
            bar.melody = self._bars[repeated].melody
            return
        if place == 0 and signs[0][1].partition(":")[0] == ".":
            raise _wrong(
                number, signs[0][0], "there is nothing before this dot that could go on: begin with a note or -"
            )
        now = Fraction(0)
        for at, sign in signs:
            with _at(number, at):
                name, duration = _note(sign)
            if name != "-":
                with _at(number, at):
                    note = None if name == "." else writable(Note.parse(name))
                bar.melody.append(WrittenNote(now, duration, note, note is None, number, at))
            now += duration
        if now != self._beats:
            what = f"add {self._beats - now}" if now < self._beats else f"take away {now - self._beats}"
            raise _wrong(
                number,
                signs[0][0],
                f"the notes of this bar last {now} {'beat' if now == 1 else 'beats'}, and it has {self._beats}: {what}",
            )


def _first(line: str) -> int:
    """Column of the first character that is not a space."""
    return len(line) - len(line.lstrip()) + 1


def _cells(number: int, line: str, begin: int) -> tuple[list[str], list[tuple[int, str]]]:
    """The bar lines of a line from a place on, and what is between them with its column."""
    comment = _COMMENT.search(line, begin)
    text = line[: comment.start()] if comment else line
    found = list(_BAR_LINE.finditer(text, begin))
    if not found or text[begin : found[0].start()].strip():
        raise _wrong(number, begin + _first(text[begin:]), "the bars begin with a bar line |")
    bar_lines, cells = [found[0].group().replace("||", "|")], []
    for left, right in pairwise(found):
        inside, bar_line = text[left.end() : right.start()], right.group().replace("||", "|")
        if inside.strip():
            bar_lines.append(bar_line)
            cells.append((left.end() + 1, inside))
        elif f"{bar_lines[-1]} {bar_line}" in _ONE_BAR_LINE:
            bar_lines[-1] = _ONE_BAR_LINE[f"{bar_lines[-1]} {bar_line}"]
        else:
            raise _wrong(
                number, left.end() + 1, "this bar is empty: write % for the bar before, N.C. for no chord, - for a rest"
            )
    if text[found[-1].end() :].strip():
        raise _wrong(number, len(text.rstrip()) + 1, "the last bar of the line is not closed: end it with a bar line |")
    if not cells:
        raise _wrong(number, found[0].start() + 1, "there is a bar line and no bar: write one such as | Dm7 G7 |")
    return bar_lines, cells


def _metre(text: str) -> int:
    match = _METRE.fullmatch(text)
    if match is None:
        raise ValueError(f"{shortened(text)} is not a metre: write one such as 4/4, 3/4 or 6/8")
    return bar_length(int(match[1]), int(match[2]))


def _tempo(text: str) -> float:
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{shortened(text)} is not a tempo: write quarter notes a minute, such as 120")
    return known_tempo(float(text))


def _key(text: str) -> Key:
    match = _KEY.fullmatch(text)
    if match is None:
        raise ValueError(f"{shortened(text)} is not a key: write one such as F major, Bb minor or D dorian")
    minor, mode = match["minor"], match["mode"].strip()
    if minor and mode:
        raise ValueError(f"{shortened(text)} has two modes: write one, such as {match['tonic']} minor")
    return Key(writable(Note.named(match["tonic"])), "minor" if minor else mode or "major")


def _note(sign: str) -> tuple[str, Fraction]:
    """The name in the sign for a note, and its length."""
    name, colon, length = sign.partition(":")
    if colon and not _LENGTH.fullmatch(length):
        raise ValueError(f"{shortened(sign)}: after the colon comes the length in beats, such as 2, 1/2 or 0.5")
    duration = Fraction(length) if colon else Fraction(1)
    if not duration:
        raise ValueError(f"{shortened(sign)} lasts no time: take it away, or give it a length above 0")
    if name == "":
        raise ValueError(f"{shortened(sign)} has no note: write one such as A4:2, a rest -:2, or a dot that holds .:2")
    return name, duration


def lead_sheet_text(sheet: LeadSheet) -> str:
    """A tune as text, which `parse_lead_sheet` reads back as an equal one; its repeats are written out.

    Raises ValueError for a chord whose symbol, as it is written, is not that chord's, or that begins at less than a
    24th of a beat from where a sign could be.

    >>> print(lead_sheet_text(parse_lead_sheet("metre: 3/4\\n|: Am7 . D7 | G :|")), end="")
    metre: 3/4
    tempo: 120
    key: C major
    <BLANKLINE>
    | Am7 . D7 | G | Am7 . D7 | G |
    """
    tempo = repr(sheet.tempo).removesuffix(".0")
    tonic = sheet.key.tonic.typed_name
    lines = [f"title: {sheet.title}"] if sheet.title else []
    lines += [f"metre: {sheet.beats_per_bar}/4", f"tempo: {tempo}", f"key: {tonic} {sheet.key.mode}", ""]
    chords, melody = _chord_cells(sheet), _melody_cells(sheet)
    for start in range(0, sheet.bars, _BARS_A_LINE):
        above, below = (cells[start : start + _BARS_A_LINE] for cells in (chords, melody))
        if not any(below):
            lines.append(f"| {' | '.join(above)} |")
            continue
        below = [cell or f"-:{sheet.beats_per_bar}" for cell in below]
        widths = [max(map(len, pair)) for pair in zip(above, below, strict=True)]
        for margin, cells in (("        ", above), ("melody: ", below)):
            padded = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
            lines.append(f"{margin}| {' | '.join(padded)} |")
    return "\n".join(lines) + "\n"


def _chord_cells(sheet: LeadSheet) -> list[str]:
    """What is between the bar lines of the lines of chords."""
    signs: list[dict[Fraction, str]] = [{} for _ in range(sheet.bars)]
    end = Fraction(0)
    for timed in sheet.chords:
        if not _SIGN.fullmatch(timed.symbol) or Chord.parse(timed.symbol) != timed.chord:
            raise ValueError(f"{timed.symbol!r} in bar {timed.bar} is not the symbol of its chord, {timed.chord}")
        if timed.onset > end:
            _put(signs, end, sheet.beats_per_bar, _NO_CHORD[0])
        _put(signs, timed.onset, sheet.beats_per_bar, timed.symbol)
        end = timed.end
    if end < sheet.beats:
        _put(signs, end, sheet.beats_per_bar, _NO_CHORD[0])
    return [_chord_cell(cell, sheet.beats_per_bar, bar) for bar, cell in enumerate(signs, start=1)]


def _put(signs: list[dict[Fraction, str]], onset: Fraction, beats: int, sign: str) -> None:
    bar, offset = divmod(onset, beats)
    signs[bar][offset] = sign


def _chord_cell(signs: dict[Fraction, str], beats: int, bar: int) -> str:
    for count in range(1, _MOST_SIGNS_A_BEAT * beats + 1):
        share = Fraction(beats, count)
        if all(offset % share == 0 for offset in signs) and ((2 * share).denominator == 1 or count % beats == 0):
            return " ".join(signs.get(place * share, ".") for place in range(count))
    raise ValueError(f"the chords of bar {bar} begin at {', '.join(map(str, signs))} beats, too fine to be written")


def _melody_cells(sheet: LeadSheet) -> list[str]:
    """What is between the bar lines of the lines of melody; empty for a bar of rest."""
    beats = sheet.beats_per_bar
    pieces: list[list[tuple[Fraction, Fraction, str]]] = [[] for _ in range(sheet.bars)]
    for timed in sheet.melody:
        name, now = timed.note.typed, timed.onset
        while now < timed.end:
            bar, offset = divmod(now, beats)
            duration = min(timed.end - now, beats - offset)
            pieces[bar].append((offset, duration, name))
            name, now = ".", now + duration
    return [_melody_cell(cell, beats) for cell in pieces]


def _melody_cell(pieces: list[tuple[Fraction, Fraction, str]], beats: int) -> str:
    if not pieces:
        return ""
    signs = []
    now = Fraction(0)
    for offset, duration, name in [*pieces, (Fraction(beats), Fraction(0), "")]:
        if offset > now:
            signs.append((offset - now, "-"))
        if duration:
            signs.append((duration, name))
        now = offset + duration
    return " ".join(name if duration == 1 else f"{name}:{duration}" for duration, name in signs)
