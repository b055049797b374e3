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

``.`` or ``/``
    What came before goes on for one share more. ``Em7 . . A7`` in 4/4 is three beats and one, so is ``Em7 / / A7``,
    and a bar that begins with a dot goes on with the chord of the bar before.
``%``
    The bar before once again, struck afresh.
``N.C.``
    No chord.
``|:`` and ``:|``
    What is between them is played twice, or three times if ``3x`` stands before ``:|``. Without ``|:`` it goes back to
    the end of the last repeat, or to the beginning.
``||``
    A double bar.
``1.`` and ``2.``
    First in a bar: here begins the ending of the first time, or of the second. One for the first two times is written
    ``1. 2.``, and all but the last close with ``:|``::

        |: Dm7 G7 | 1. Cmaj7 A7 :| 2. Cmaj7 |

``[A]``
    Before a line of bars, or on a line of its own: a section begins, with a letter or a word, such as ``[Bridge]``.
``Segno``, ``Coda``
    First in a bar, in any case; the signs 𝄋 and 𝄌 will do.
``To Coda``, ``Fine``, ``D.C.``, ``D.S.``, ``D.S. al Coda``, ``D.C. al Fine`` …
    Last in a bar. They are followed as players do: `tunelib.harmony.playing_order` says how::

        [A]
        | Segno Fmaj7 | Dm7 | Gm7 To Coda | C7 |
        [B]
        | Bbmaj7 | Bbm6 | Am7 D7 | Gm7 C7 D.S. al Coda |
        | Coda Gm7 C7 | F6 |

A line of bars may have its melody below it, bar for bar::

            | Dm7          G7      | Cmaj7   |
    melody: | D4 F4:1/2 A4:1/2 - B4 | .:2 C5:2 |

A note is a letter, its accidental and its octave (C4 is middle C, as it sounds), then a colon and how many beats it
lasts, whole, as a fraction or a decimal; one beat where nothing is said. ``-`` is a rest, and a dot holds what came
before it, as in ``.:2``: so notes are tied over a bar line. A note first in its bar with ``~`` before it, as in
``~C5:2``, is tied where the same note comes before it, and struck where not, as may be when a repeat comes round. The
notes fill every bar. ``%`` is the bar before once again.

What stands before the first bar line is a pickup. It is as long as its notes, or a beat for each chord; its chords may
be left out, and so may its melody. It is bar 0, and comes again after a repeat or a jump to the beginning where the bar
before leaves room for it, by a rest or by being shorter::

               | F7      | Bb7     |
    melody: C5 | A4:3 C5 | Bb4:2 F4:2 |

Beats are quarter notes in every metre, and a bar has a whole number of them, 1 to 12: 6/8 is three, 2/2 four, and 7/8
is to be written as 7/4. A bar that is shorter than the others, as where a repeat divides it, begins with a metre of its
own: ``| 3/4 Cmaj7 :|``; if what is played next does not complete it, a rest does. Bars of silence at the end are left
off.

A line that begins with ``#`` is a comment, and so is the rest of a line of bars from a ``#`` on its own.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from tunelib.harmony.chords import Chord
from tunelib.harmony.form import LONGEST_SECTION
from tunelib.harmony.form_words import form_mark, in_order
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.playing_order import MOST_BARS
from tunelib.harmony.tune import LeadSheet, bar_length, known_tempo, known_title, writable, writable_chord
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.harmony.xml_tree import LARGEST_FILE
from tunelib.pitch import Key, Note, look_up, shortened, times, unprintable

_LONGEST_TEXT = 1_000_000
_HEADINGS = {name: name for name in ("title", "metre", "tempo", "key")} | {"meter": "metre"}
_HEADING = re.compile(r"\s*([A-Za-z]+(?: [A-Za-z]+)*)\s*:(?!\|)")
_MELODY = re.compile(r"\s*melody\s*:", re.IGNORECASE)
_BAR_LINE = re.compile(r"(:?)\|{1,2}(:?)")
_COMMENT = re.compile(r"(^|(?<=\s))#(?=\s|$)")
_SECTION = re.compile(r"\s*\[([^\[\]|]*)\]")
_ENDING = re.compile(r"([1-9])\.")
_TIMES = re.compile(r"([2-9])x", re.IGNORECASE)
_METRE = re.compile(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})")
_NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,15})?")
_KEY = re.compile(r"(?P<tonic>[A-G](?:½♯|½♭|h#|hb|[#bx♯♭𝄪𝄫])*)(?P<minor>m(?![a-z]))?(?P<mode>.*)")
CHORD_SIGN = re.compile(r"(?:\([^()|]*\)|[^\s|])+(?:\s+\([^()|]*\))*")
_LENGTH = re.compile(r"[0-9]{1,12}(?:/0{0,11}[1-9][0-9]{0,11}|\.[0-9]{1,6})?")
_LINE_END = re.compile(r"\r\n|\r|\n")  # as editors count lines
NO_CHORD = ("N.C.", "NC", "N.C")
_GOES_ON = (".", "/")
_STARTS, _ENDS = ("segno", "coda"), "To Coda, Fine, D.C. or D.S."
_MOST_WORDS = 4  # da capo al fine
MOST_SIGNS_A_BEAT = 24


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


class _BarLine(NamedTuple):
    """What stands between two bars: whether a repeat ends or begins there, and whether it is double."""

    closes: bool
    double: bool
    opens: bool


class _Reader:
    """Reads a lead sheet line by line. Columns are counted from 1."""

    def __init__(self) -> None:
        self._headings: set[str] = set()
        self._title, self._tempo, self._beats, self._key = "", 120.0, 4, Key(Note.named("C"))
        self._pickup: WrittenBar | None = None
        self._bars: list[WrittenBar] = []
        self._before: list[int] = []  # for each bar, the one that is played before it; -1 for none
        self._before_endings = -1  # the bar before the last first ending
        self._opens = False  # whether the last bar line begins a repeat
        self._section: tuple[str, int, int] | None = None  # which begins with the next line of bars, and its place
        self._times: list[tuple[WrittenBar, int, int, int]] = []  # the bars that say how often, and where they do
        self._in_line = range(0)  # the bars of the last line of chords
        self._bar_lines: list[_BarLine] = []  # and its bar lines
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
        if self._section is not None:
            raise _wrong(*self._section[1:], "a section begins here, and no bar follows")
        for bar, number_of_times, line, column in self._times:
            if bar.times == 1:
                raise _wrong(line, column, f"{number_of_times}x, and no repeat ends with this bar: close it with :|")
            bar.times = number_of_times
        if self._pickup is not None and self._pickup.beats >= self._beats:
            raise ValueError(
                f"{self._pickup.where}: before the first bar line comes a pickup, shorter than a bar, and this lasts "
                f"{self._pickup.beats} of {times(self._beats, 'beat')}: begin with a bar line |"
            )
        bars = self._bars if self._pickup is None else [self._pickup, *self._bars]
        return written_out(bars, self._title, self._tempo, self._beats, self._key)

    def _line(self, number: int, line: str) -> None:
        if not line.strip() or line.lstrip().startswith("#"):
            return
        if found := unprintable(line):
            raise _wrong(number, found[0] + 1, f"{found[1]} cannot be printed: remove it")
        if section := _SECTION.match(line):
            self._begin_section(number, section)
            self._line(number, " " * section.end() + line[section.end() :])
        elif line.lstrip().startswith(("|", ":|")):
            self._chord_line(number, line)
        elif melody := _MELODY.match(line):
            self._melody_line(number, line, melody.end())
        elif heading := _HEADING.match(line):
            self._heading(number, line, heading)
        elif not self._bars and _BAR_LINE.search(line):
            self._chord_line(number, line)
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

    def _begin_section(self, number: int, section: re.Match[str]) -> None:
        column = section.start(1)
        name = " ".join(section[1].split())
        if self._section is not None:
            raise _wrong(number, column, f"the section {self._section[0]} has no bars: remove it, or write them")
        if not name:
            raise _wrong(number, column, "this section has no name: write a letter or a word, such as [A] or [Bridge]")
        if len(name) > LONGEST_SECTION:
            raise _wrong(
                number,
                column,
                f"the name of a section has {LONGEST_SECTION} letters at most, and {shortened(name, 20)} has "
                f"{len(name):,}",
            )
        self._section = name, number, column

    def _chord_line(self, number: int, line: str) -> None:
        (column, before), bar_lines, cells = _cells(number, line, 0)
        if before.strip():
            if self._bars:
                raise _wrong(number, column, "the bars begin with a bar line |")
            self._pickup_cell(number, column, before)
        if bar_lines[0].closes and not self._bars:
            raise _wrong(number, _first(line), "a repeat ends here, but there is no bar before it: begin with | or |:")
        if self._bars:
            self._end(self._bars[-1], bar_lines[0])
        first = len(self._bars)
        for (left, right), (column, inside) in zip(pairwise(bar_lines), cells, strict=True):
            bar = WrittenBar(_where(number, column), Fraction(self._beats))
            bar.opens = left.opens or self._opens
            self._end(bar, right)
            self._opens = False
            self._chord_cell(number, column, inside, bar)
            self._bars.append(bar)
            if len(self._bars) > MOST_BARS:
                raise _wrong(number, column, f"a tune has {MOST_BARS:,} bars at most")
        if self._section is not None:
            self._bars[first].section, self._section = self._section[0], None
        self._opens = bar_lines[-1].opens
        self._in_line, self._bar_lines = range(first, len(self._bars)), bar_lines

    def _end(self, bar: WrittenBar, bar_line: _BarLine) -> None:
        if bar_line.closes:
            bar.times = 2
        bar.double = bar.double or bar_line.double

    def _pickup_cell(self, number: int, column: int, inside: str) -> None:
        """The chords of a pickup, a beat each until its melody says how long it is."""
        signs = _signs(column, inside)
        self._pickup = WrittenBar(_where(number, signs[0][0]), Fraction(len(signs)))
        self._chords(number, signs, self._pickup)

    def _chord_cell(self, number: int, column: int, inside: str, bar: WrittenBar) -> None:
        signs = self._form_signs(number, _signs(column, inside), bar)
        self._note_before(bar)
        if not signs:
            raise _wrong(number, column, "this bar is empty: write a chord, % for the bar before, or N.C. for no chord")
        column = signs[0][0]
        if any(sign == "%" for _, sign in signs):
            bar.chords = self._bars[self._repeated(number, column, len(signs), len(self._bars), bar)].chords
            return
        if not shares(bar.beats, len(signs)):
            raise _wrong(number, column, _uneven(bar.beats, [sign for _, sign in signs]))
        self._chords(number, signs, bar)

    def _form_signs(self, number: int, signs: list[tuple[int, str]], bar: WrittenBar) -> list[tuple[int, str]]:
        """Take from a bar what stands before its chords and after them."""
        marks: set[str] = set()
        endings: list[int] = []
        begin = 0
        for column, sign in signs:
            if _ENDING.fullmatch(sign):
                endings.append(int(sign[0]))
            elif form_mark(sign) in _STARTS:
                marks.add(form_mark(sign))
            elif _METRE.fullmatch(sign):
                with _at(number, column):
                    bar.beats = _short_bar(sign, self._beats)
            else:
                break
            begin += 1
        at, end = begin, len(signs)
        while at < len(signs):
            column, sign = signs[at]
            words, mark = (0, "") if sign in _GOES_ON else _words(signs[at : at + _MOST_WORDS])
            said = _TIMES.fullmatch(sign)
            if mark in _STARTS:
                raise _wrong(number, column, f"{sign} goes before the chords of its bar; after them go {_ENDS}")
            if mark:
                marks.add(mark)
            elif said:
                self._times.append((bar, int(said[1]), number, column))
            elif end < len(signs):
                raise _wrong(number, column, f"{shortened(sign)} comes after {_ENDS}: chords go before it")
            end = min(end, at) if mark or said else end
            at += words or 1
        bar.endings, bar.marks = tuple(endings), in_order(marks)
        return signs[begin:end]

    def _chords(self, number: int, signs: list[tuple[int, str]], bar: WrittenBar) -> None:
        share = bar.beats / len(signs)
        for place, (at, sign) in enumerate(signs):
            if sign in _GOES_ON:
                continue
            with _at(number, at):
                chord = None if sign in NO_CHORD else Chord.parse(sign)
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

    def _repeated(self, number: int, column: int, signs: int, place: int, bar: WrittenBar) -> int:
        """The bar that a % in another repeats."""
        if signs > 1:
            raise _wrong(number, column, "% must be alone in its bar: it repeats the whole bar before it")
        if self._before[place] < 0:
            raise _wrong(number, column, "there is no bar before this one that % could repeat")
        before = self._bars[self._before[place]]
        if before.beats != bar.beats:
            raise _wrong(number, column, f"% repeats a bar of {before.beats} beats, and this has {bar.beats}")
        return self._before[place]

    def _melody_line(self, number: int, line: str, begin: int) -> None:
        (where, before), bar_lines, cells = _cells(number, line, begin)
        column = _first(line)
        if not self._in_line:
            raise _wrong(number, column, "a melody goes below its line of chords, one line for each")
        if before.strip():
            if self._in_line.start:
                raise _wrong(number, where, "the bars begin with a bar line |")
            self._pickup_melody(number, where, before)
        if len(cells) != len(self._in_line):
            raise _wrong(
                number,
                column,
                f"the melody has {times(len(cells), 'bar')}, and the chords above it {len(self._in_line)}: bar for bar",
            )
        for own, above, (where, _) in zip(bar_lines, self._bar_lines, [*cells, (len(line), "")], strict=True):
            if (own.closes or own.opens) and (own.closes, own.opens) != (above.closes, above.opens):
                raise _wrong(number, where - 1, "a repeat sign, but none such above it: make them the same")
        for place, (where, inside) in zip(self._in_line, cells, strict=True):
            self._melody_cell(number, where, inside, place)
            self._sung.add(place)
        self._in_line = range(0)

    def _pickup_melody(self, number: int, column: int, inside: str) -> None:
        signs = _signs(column, inside)
        if self._pickup is None:
            self._pickup = WrittenBar(_where(number, signs[0][0]), Fraction(1))
        melody, length = _notes(number, signs)
        stretch = length / self._pickup.beats
        chords = [replace(sign, offset=sign.offset * stretch) for sign in self._pickup.chords]
        self._pickup = replace(self._pickup, beats=length, chords=chords, melody=melody)

    def _melody_cell(self, number: int, column: int, inside: str, place: int) -> None:
        bar = self._bars[place]
        signs = _signs(column, inside)
        if any(sign == "%" for _, sign in signs):
            repeated = self._repeated(number, signs[0][0], len(signs), place, bar)
            if repeated not in self._sung:
                raise _wrong(number, signs[0][0], "the bar before has no melody that % could repeat")
            bar.melody = self._bars[repeated].melody
            return
        bar.melody, length = _notes(number, signs)
        if length != bar.beats:
            what = f"add {bar.beats - length}" if length < bar.beats else f"take away {length - bar.beats}"
            raise _wrong(
                number,
                signs[0][0],
                f"the notes of this bar last {length} {'beat' if length == 1 else 'beats'}, and it has {bar.beats}: "
                f"{what}",
            )


def _words(signs: list[tuple[int, str]]) -> tuple[int, str]:
    """How many of the signs, from the first, are words that belong together, and the mark that they stand for."""
    for words in range(len(signs), 0, -1):
        if mark := form_mark(" ".join(sign for _, sign in signs[:words])):
            return words, mark
    return 0, ""


def shares(beats: Fraction, count: int) -> bool:
    """Whether so many signs share a bar in a way that is read: in beats, half beats, or equal parts of a beat."""
    share = beats / count
    whole = count == 1 or (2 * share).denominator == 1 or (1 / share).denominator == 1
    return whole and share * MOST_SIGNS_A_BEAT >= 1


def _uneven(beats: Fraction, signs: list[str]) -> str:
    if beats.denominator > 1:
        return f"{len(signs)} signs do not share {beats} beats equally: write one, or {2 * beats}"
    said = f"{len(signs)} signs do not share {times(int(beats), 'beat')} equally"
    if len(signs) > beats:
        return f"{said}: write {beats} or {2 * beats}, with dots where a chord goes on"
    dotted = " ".join([signs[0], *"." * (int(beats) - len(signs)), *signs[1:]])
    return f"{said}: put dots where a chord goes on, such as {shortened(dotted)}"


def _signs(column: int, inside: str) -> list[tuple[int, str]]:
    """The signs between two bar lines, with their columns."""
    return [(column + match.start(), match.group()) for match in CHORD_SIGN.finditer(inside)]


def _notes(number: int, signs: list[tuple[int, str]]) -> tuple[list[WrittenNote], Fraction]:
    """The notes that signs stand for, without the rests, and how long they last together."""
    melody: list[WrittenNote] = []
    now, resting = Fraction(0), False
    for at, sign in signs:
        with _at(number, at):
            name, duration = _note(sign)
            if name[0] == "~" and now:
                raise ValueError("~ ties the first note of a bar to the one before; within it, write one longer note")
            resting = name == "-" or (name == "." and resting)
            if not resting:
                note = None if name == "." else writable(Note.parse(name.removeprefix("~")))
                melody.append(WrittenNote(now, duration, note, name[0] in ".~", number, at))
        now += duration
    return melody, now


def _first(line: str) -> int:
    """Column of the first character that is not a space."""
    return len(line) - len(line.lstrip()) + 1


def _cells(number: int, line: str, begin: int) -> tuple[tuple[int, str], list[_BarLine], list[tuple[int, str]]]:
    """What comes before the first bar line of a line, from a place on; its bar lines; and what is between them.

    Each text comes with its column.
    """
    comment = _COMMENT.search(line, begin)
    text = line[: comment.start()] if comment else line
    found = list(_BAR_LINE.finditer(text, begin))
    if not found:
        raise _wrong(number, begin + _first(text[begin:]), "the bars begin with a bar line |")
    before = text[begin : found[0].start()]
    bar_lines, cells = [_bar_line(found[0])], []
    for left, right in pairwise(found):
        inside, bar_line = text[left.end() : right.start()], _bar_line(right)
        if inside.strip():
            bar_lines.append(bar_line)
            cells.append((left.end() + 1, inside))
        elif (bar_lines[-1].closes or bar_line.opens) and not (bar_lines[-1].opens or bar_line.closes):
            bar_lines[-1] = _BarLine(*(one or other for one, other in zip(bar_lines[-1], bar_line, strict=True)))
        else:
            raise _wrong(
                number, left.end() + 1, "this bar is empty: write % for the bar before, N.C. for no chord, - for a rest"
            )
    if text[found[-1].end() :].strip():
        raise _wrong(number, len(text.rstrip()) + 1, "the last bar of the line is not closed: end it with a bar line |")
    if not cells:
        raise _wrong(number, found[0].start() + 1, "there is a bar line and no bar: write one such as | Dm7 G7 |")
    return (begin + _first(before), before), bar_lines, cells


def _bar_line(found: re.Match[str]) -> _BarLine:
    return _BarLine(found[1] == ":", found[0] == "||", found[2] == ":")


def _short_bar(text: str, beats: int) -> Fraction:
    """The length of a bar that has a metre of its own."""
    match = _METRE.fullmatch(text)
    assert match is not None
    length = Fraction(4 * int(match[1]), int(match[2]) or 1)
    if int(match[2]) not in (1, 2, 4, 8, 16, 32) or not length:
        raise ValueError(f"{text} is not the length of a bar: write one such as 2/4 or 3/8")
    if length > beats:
        raise ValueError(f"a bar of {text} is longer than the metre, {beats}/4, and can only be shorter")
    return length


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
    if name in ("~-", "~.", "~"):
        raise ValueError(f"{shortened(sign)}: ~ ties a note to the one before, such as ~A4:2; a dot holds any")
    if name == "":
        raise ValueError(f"{shortened(sign)} has no note: write one such as A4:2, a rest -:2, or a dot that holds .:2")
    return name, duration
