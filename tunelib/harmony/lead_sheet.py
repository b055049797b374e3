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
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from tunelib.harmony.chords import Chord
from tunelib.harmony.form import LONGEST_SECTION
from tunelib.harmony.form_words import form_mark, in_order
from tunelib.harmony.lead_sheet_lines import (
    BAR_LINE,
    BarLine,
    at_place,
    cells_of,
    first_column,
    place_of,
    signs_in,
    wrong_at,
)
from tunelib.harmony.lead_sheet_values import METRE, key, metre, note_and_length, short_bar, tempo
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.playing_order import MOST_BARS
from tunelib.harmony.tune import LeadSheet, known_title, writable, writable_chord
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.harmony.xml_tree import LARGEST_FILE
from tunelib.pitch import Key, Note, look_up, shortened, times, unprintable

_LONGEST_TEXT = 1_000_000
_HEADINGS = {name: name for name in ("title", "metre", "tempo", "key")} | {"meter": "metre"}
_HEADING = re.compile(r"\s*([A-Za-z]+(?: [A-Za-z]+)*)\s*:(?!\|)")
_MELODY = re.compile(r"\s*melody\s*:", re.IGNORECASE)
_SECTION = re.compile(r"\s*\[([^\[\]|]*)\]")
_ENDING = re.compile(r"([1-9])\.")
_TIMES = re.compile(r"([2-9])x", re.IGNORECASE)
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
    raise wrong_at(line, column, "this is not UTF-8 text; save the file as UTF-8")


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
        self._bar_lines: list[BarLine] = []  # and its bar lines
        self._sung: set[int] = set()  # the bars that have a melody

    def read(self, text: str) -> LeadSheet:
        lines = _LINE_END.split(text)
        if len(lines) > 1 and not lines[-1]:
            lines.pop()
        for number, line in enumerate(lines, start=1):
            self._line(number, line)
        end = len(lines), len(lines[-1]) + 1
        if not self._bars:
            raise wrong_at(*end, "there are no bars; write a line of them, such as | Dm7 G7 | Cmaj7 |")
        if self._opens:
            raise wrong_at(*end, "the last bar line |: begins a repeat, and nothing follows: end the tune with |")
        if self._section is not None:
            raise wrong_at(*self._section[1:], "a section begins here, and no bar follows")
        for bar, number_of_times, line, column in self._times:
            if bar.times == 1:
                raise wrong_at(line, column, f"{number_of_times}x, and no repeat ends with this bar: close it with :|")
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
            raise wrong_at(number, found[0] + 1, f"{found[1]} cannot be printed: remove it")
        if section := _SECTION.match(line):
            self._begin_section(number, section)
            self._line(number, " " * section.end() + line[section.end() :])
        elif line.lstrip().startswith(("|", ":|")):
            self._chord_line(number, line)
        elif melody := _MELODY.match(line):
            self._melody_line(number, line, melody.end())
        elif heading := _HEADING.match(line):
            self._heading(number, line, heading)
        elif not self._bars and BAR_LINE.search(line):
            self._chord_line(number, line)
        else:
            raise wrong_at(
                number,
                first_column(line),
                f"{shortened(line.strip(), 30)} does not belong in a lead sheet: a line is a heading such as key: F "
                "major, bars that begin and end with a bar line |, their melody: or a comment after #",
            )

    def _heading(self, number: int, line: str, heading: re.Match[str]) -> None:
        start = heading.start(1) + 1
        with at_place(number, start):
            name = look_up(heading[1], _HEADINGS, "heading")
        if self._bars:
            raise wrong_at(number, start, f"the {name} comes too late: headings go before the bars")
        if name in self._headings:
            raise wrong_at(number, start, f"the {name} has been given already: remove one of the two")
        self._headings.add(name)
        after = line[heading.end() :]
        value = after.strip()
        with at_place(number, heading.end() + first_column(after)):
            if name == "title":
                self._title = known_title(value)
            elif name == "metre":
                self._beats = metre(value)
            elif name == "tempo":
                self._tempo = tempo(value)
            else:
                self._key = key(value)

    def _begin_section(self, number: int, section: re.Match[str]) -> None:
        column = section.start(1)
        name = " ".join(section[1].split())
        if self._section is not None:
            raise wrong_at(number, column, f"the section {self._section[0]} has no bars: remove it, or write them")
        if not name:
            raise wrong_at(
                number, column, "this section has no name: write a letter or a word, such as [A] or [Bridge]"
            )
        if len(name) > LONGEST_SECTION:
            raise wrong_at(
                number,
                column,
                f"the name of a section has {LONGEST_SECTION} letters at most, and {shortened(name, 20)} has "
                f"{len(name):,}",
            )
        self._section = name, number, column

    def _chord_line(self, number: int, line: str) -> None:
        (column, before), bar_lines, cells = cells_of(number, line, 0)
        if before.strip():  # only in the first line of bars
            self._pickup_cell(number, column, before)
        if bar_lines[0].closes and not self._bars:
            raise wrong_at(
                number, first_column(line), "a repeat ends here, but there is no bar before it: begin with | or |:"
            )
        if self._bars:
            _end(self._bars[-1], bar_lines[0])
        first = len(self._bars)
        for (left, right), (column, inside) in zip(pairwise(bar_lines), cells, strict=True):
            bar = WrittenBar(place_of(number, column), Fraction(self._beats))
            bar.opens = left.opens or self._opens
            _end(bar, right)
            self._opens = False
            self._chord_cell(number, column, inside, bar)
            self._bars.append(bar)
            if len(self._bars) > MOST_BARS:
                raise wrong_at(number, column, f"a tune has {MOST_BARS:,} bars at most")
        if self._section is not None:
            self._bars[first].section, self._section = self._section[0], None
        self._opens = bar_lines[-1].opens
        self._in_line, self._bar_lines = range(first, len(self._bars)), bar_lines

    def _pickup_cell(self, number: int, column: int, inside: str) -> None:
        """The chords of a pickup, a beat each until its melody says how long it is."""
        signs = signs_in(column, inside)
        self._pickup = WrittenBar(place_of(number, signs[0][0]), Fraction(len(signs)))
        self._chords(number, signs, self._pickup)

    def _chord_cell(self, number: int, column: int, inside: str, bar: WrittenBar) -> None:
        signs = self._form_signs(number, signs_in(column, inside), bar)
        self._note_before(bar)
        if not signs:
            raise wrong_at(
                number, column, "this bar is empty: write a chord, % for the bar before, or N.C. for no chord"
            )
        column = signs[0][0]
        if any(sign == "%" for _, sign in signs):
            bar.chords = self._bars[self._repeated(number, column, len(signs), len(self._bars), bar)].chords
            return
        if not shares(bar.beats, len(signs)):
            raise wrong_at(number, column, _uneven(bar.beats, [sign for _, sign in signs]))
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
            elif METRE.fullmatch(sign):
                with at_place(number, column):
                    bar.beats = short_bar(sign, self._beats)
            else:
                break
            begin += 1
        at, end = begin, len(signs)
        while at < len(signs):
            column, sign = signs[at]
            words, mark = (0, "") if sign in _GOES_ON else _words(signs[at : at + _MOST_WORDS])
            said = _TIMES.fullmatch(sign)
            if mark in _STARTS:
                raise wrong_at(number, column, f"{sign} goes before the chords of its bar; after them go {_ENDS}")
            if mark:
                marks.add(mark)
            elif said:
                self._times.append((bar, int(said[1]), number, column))
            elif end < len(signs):
                raise wrong_at(number, column, f"{shortened(sign)} comes after {_ENDS}: chords go before it")
            end = min(end, at) if mark or said else end
            at += words or 1
        bar.endings, bar.marks = tuple(endings), in_order(marks)
        return signs[begin:end]

    def _chords(self, number: int, signs: list[tuple[int, str]], bar: WrittenBar) -> None:
        share = bar.beats / len(signs)
        for place, (at, sign) in enumerate(signs):
            if sign in _GOES_ON:
                continue
            with at_place(number, at):
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
            raise wrong_at(number, column, "% must be alone in its bar: it repeats the whole bar before it")
        if self._before[place] < 0:
            raise wrong_at(number, column, "there is no bar before this one that % could repeat")
        before = self._bars[self._before[place]]
        if before.beats != bar.beats:
            raise wrong_at(number, column, f"% repeats a bar of {before.beats} beats, and this has {bar.beats}")
        return self._before[place]

    def _melody_line(self, number: int, line: str, begin: int) -> None:
        (where, before), bar_lines, cells = cells_of(number, line, begin)
        column = first_column(line)
        if not self._in_line:
            raise wrong_at(number, column, "a melody goes below its line of chords, one line for each")
        if before.strip():
            if self._in_line.start:
                raise wrong_at(number, where - 1 + first_column(before), "the bars begin with a bar line |")
            self._pickup_melody(number, where, before)
        if len(cells) != len(self._in_line):
            raise wrong_at(
                number,
                column,
                f"the melody has {times(len(cells), 'bar')}, and the chords above it {len(self._in_line)}: bar for bar",
            )
        for own, above, (where, _) in zip(bar_lines, self._bar_lines, [*cells, (len(line), "")], strict=True):
            if (own.closes or own.opens) and (own.closes, own.opens) != (above.closes, above.opens):
                raise wrong_at(number, where - 1, "a repeat sign, but none such above it: make them the same")
        for place, (where, inside) in zip(self._in_line, cells, strict=True):
            self._melody_cell(number, where, inside, place)
            self._sung.add(place)
        self._in_line = range(0)

    def _pickup_melody(self, number: int, column: int, inside: str) -> None:
        signs = signs_in(column, inside)
        if self._pickup is None:
            self._pickup = WrittenBar(place_of(number, signs[0][0]), Fraction(1))
        melody, length = _notes(number, signs)
        stretch = length / self._pickup.beats
        chords = [replace(sign, offset=sign.offset * stretch) for sign in self._pickup.chords]
        self._pickup = replace(self._pickup, beats=length, chords=chords, melody=melody)

    def _melody_cell(self, number: int, column: int, inside: str, place: int) -> None:
        bar = self._bars[place]
        signs = signs_in(column, inside)
        if any(sign == "%" for _, sign in signs):
            repeated = self._repeated(number, signs[0][0], len(signs), place, bar)
            if repeated not in self._sung:
                raise wrong_at(number, signs[0][0], "the bar before has no melody that % could repeat")
            bar.melody = self._bars[repeated].melody
            return
        bar.melody, length = _notes(number, signs)
        if length != bar.beats:
            what = f"add {bar.beats - length}" if length < bar.beats else f"take away {length - bar.beats}"
            if length < bar.beats and not place and self._pickup is None:
                what += ", or put them before the first bar line if they are a pickup"
            raise wrong_at(
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


def _notes(number: int, signs: list[tuple[int, str]]) -> tuple[list[WrittenNote], Fraction]:
    """The notes that signs stand for, without the rests, and how long they last together."""
    melody: list[WrittenNote] = []
    now, resting = Fraction(0), False
    for at, sign in signs:
        with at_place(number, at):
            name, duration = note_and_length(sign)
            if name[0] == "~" and now:
                raise ValueError("~ ties the first note of a bar to the one before; within it, write one longer note")
            resting = name == "-" or (name == "." and resting)
            if not resting:
                note = None if name == "." else writable(Note.parse(name.removeprefix("~")))
                melody.append(WrittenNote(now, duration, note, name[0] in ".~", number, at))
        now += duration
    return melody, now


def _end(bar: WrittenBar, bar_line: BarLine) -> None:
    """Take what the bar line after a bar says of it."""
    if bar_line.closes:
        bar.times = 2
    bar.double = bar.double or bar_line.double
