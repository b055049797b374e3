"""The form of a tune: sections, repeats, endings, jumps and pickups, as they are played, and back to text."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.export.note_values import bar_values
from tunelib.harmony import MARKS, FormBar, LeadSheet, parse_lead_sheet
from tunelib.harmony.chords import Chord
from tunelib.harmony.form_words import MARK_WORDS, form_mark
from tunelib.harmony.lead_sheet_text import lead_sheet_text
from tunelib.harmony.playing_order import playing_order
from tunelib.harmony.tune import TimedChord
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.pitch import Key, Note


def symbols(text: str) -> str:
    return " ".join(chord.symbol for chord in parse_lead_sheet(text).chords)


def assert_read_back(sheet: LeadSheet) -> None:
    again = parse_lead_sheet(lead_sheet_text(sheet))
    assert again == sheet
    assert again.form == sheet.form


# Jumps


@pytest.mark.parametrize(
    ("text", "played"),
    [
        ("| C Fine | D D.C. al Fine |", "C D C"),
        ("| C | D D.C. |", "C D C D"),
        ("| C | D d.c. | E |", "C D C D E"),
        ("| C | Segno D | E Fine | F D.S. al Fine |", "C D E F D E"),
        ("| C | 𝄋 D | E To 𝄌 | F D.S. al Coda | Coda G | A |", "C D E F D E G A"),
        ("| C To Coda | D DC al coda | Coda E :|", "C D C E E"),
        ("| C To Coda | D D.S. | Segno E |", ""),
        ("|: C | 1. D :| 2. E | F Fine | G D.C. al Fine |", "C D C E F G C E F"),
        ("|: C :| 3x |: D :| D.C. |", ""),
        ("|: C | D 3x :| E D.C. |", "C D C D C D E C D E"),
        ("|: Segno C | D D.S. :| E |", "C D C D C D E"),
        ("| C To Coda | D Fine | E D.C. al Fine | Coda F |", ""),
        ("| C To Coda | D D.C. al Coda | Coda F | G Dal Segno |", ""),
        ("| C | Segno D To Coda D.S. al Coda | Coda F |", "C D D F"),
        ("| C Fine D.C. al Fine |", "C C"),
        ("| C To Coda | D D.C. | Coda E | F |", "C D C E F"),
        ("| C | D Fine | E D.C. |", "C D E C D"),
        ("| C | D Fine | E D.C. | F |", ""),
        ("| C | D D.C. al Fine | E Fine |", "C D C D E"),
        ("| C | D D.C. | E D.C. |", "C D C D E C D E"),
    ],
)
def test_jumps_are_played(text: str, played: str) -> None:
    """By hand, after common practice: repeats are not taken again, of endings the last is, each jump once"""
    if played:
        assert symbols(text) == played
        assert_read_back(parse_lead_sheet(text))
    else:
        with pytest.raises(ValueError, match=r"^line 1, column \d+: \S"):
            parse_lead_sheet(text)


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("| C | D D.S. al Fine |", 6, "D.S. al fine, and there is no segno before it"),
        ("| C | D D.S. | Segno E |", 6, "no segno before it"),
        ("| C | D D.C. al Fine | E |", 6, "no fine comes between where it leads and here"),
        ("| C | D D.C. al Coda | Coda E |", 6, "no to coda comes between"),
        ("| C To Coda | D D.C. al Coda |", 2, "no coda to go to"),
        ("| C | Coda D |", 6, "the coda is never reached"),
        ("| C To Coda | D D.C. al Coda | E | Coda F |", 31, "this bar is never played"),
        ("| C Fine | D D.C. al Fine | Segno E | Segno F |", 38, "a second segno"),
        ("|: C | 1. D D.C. :| 2. E |", 7, "in an ending that is not the last"),
        ("|: C | 1. Segno D :| 2. E D.S. |", 7, "an ending that is not played again"),
        ("| C Coda | D |", 5, "Coda goes before the chords of its bar"),
        ("| C D.C. al Fine G | D |", 18, "'G' comes after To Coda, Fine, D.C. or D.S.: chords go before it"),
        ("| C Fine al Coda |", 10, "'al' comes after"),
        ("| D.C. |", 2, "empty"),
        ("| C 3x |", 5, "3x, and no repeat ends with this bar"),
        ("[A]", 4, "no bars"),
        ("| C |\n[B]", 1, "no bar follows"),
        ("| C |\n[B] [C] | C |", 5, "the section B has no bars"),
        ("[ ] | C |", 1, "no name"),
        (f"[{'x' * 41}] | C |", 1, "40 letters at most"),
        ("[A] tempo", 5, "does not belong"),
        ("| C | 5/4 D |", 7, "longer than the metre"),
        ("| C | 1/5 D |", 7, "not the length of a bar"),
        ("| C | 3/4 % |", 11, "% repeats a bar of 4 beats, and this has 3"),
        ("| C | 3/8 C D |", 11, "2 signs do not share 3/2 beats equally: write one, or 3"),
        ("C D E F | C |", 1, "a pickup, shorter than a bar, and this lasts 4 of 4 beats"),
        ("| C |\nF | C |", 1, "does not belong"),
        ("| C |\nmelody: | A4 ~A4:3 |", 14, "~ ties the first note of a bar"),
        ("| C |\nmelody: | ~ A4:3 |", 11, "ties a note to the one before"),
    ],
)
def test_what_is_wrong_with_a_form_is_said_with_its_place(text: str, column: int, said: str) -> None:
    with pytest.raises(ValueError, match=rf"^line \d, column {column}: .*{re.escape(said)}"):
        parse_lead_sheet(text)


def test_jumps_without_end_are_refused() -> None:
    with pytest.raises(ValueError, match="more than 10000 bars"):
        parse_lead_sheet("| C D.C. |\n" * 1000)


def test_every_mark_is_read_as_it_is_printed_and_in_full() -> None:
    assert [form_mark(MARK_WORDS[mark]) for mark in MARKS] == list(MARKS)
    assert form_mark("Da  Capo al Fine") == "D.C. al fine"
    assert form_mark("dal segno") == "D.S."
    assert not form_mark("Dm7")


# The page


def test_sections_double_bars_and_numbers_are_kept() -> None:
    text = "[A]\n|: Dm7 | G7 || C |\n|| F :|\n[ Bridge  two ] | % |\n| C ||"
    sheet = parse_lead_sheet(text)
    assert [bar.section for bar in sheet.form] == ["A", "", "", "", "Bridge two", ""]
    assert [bar.double for bar in sheet.form] == [False, True, True, False, False, True]
    assert [bar.number for bar in sheet.form] == [1, 2, 3, 4, 5, 6]
    assert [bar.onset for bar in sheet.form] == [0, 4, 8, 12, 32, 36]
    assert [(bar.opens, bar.times) for bar in sheet.form[:4]] == [(True, 1), (False, 1), (False, 1), (False, 2)]
    assert_read_back(sheet)


def test_a_tune_without_a_form_has_plain_bars() -> None:
    chord = TimedChord(Chord.parse("C"), Fraction(0), Fraction(7), "C", 1)
    sheet = LeadSheet("", 120, 3, Key(Note.named("C")), (chord,))
    assert sheet.form == ()
    assert sheet.written_bars == tuple(FormBar(n + 1, Fraction(3 * n), Fraction(3)) for n in range(3))
    with pytest.raises(ValueError, match="are FormBars"):
        replace(sheet, form=(1,))  # type: ignore[arg-type]


def test_slashes_are_beats_as_dots_are() -> None:
    assert parse_lead_sheet("| Dm7 / G7 / | / / C / |") == parse_lead_sheet("| Dm7 . G7 . | . . C . |")


def test_the_bars_between_repeats_may_be_typed_in_any_way() -> None:
    for text in ("|: C :|: D :|", "|: C :| |: D :|", "||: C :||: D :||", "|: C :|\n|: D :|"):
        assert symbols(text) == "C C D D"
    double = parse_lead_sheet("| C || |: D :| || E |").form
    assert [(bar.double, bar.opens, bar.times) for bar in double] == [
        (True, False, 1),
        (True, True, 2),
        (False, False, 1),
    ]


# Pickups and other short bars


@pytest.mark.parametrize(
    "text",
    [
        "        | Dm7  | G7 |\nmelody: A4:1/2 B4:1/2 | C5:4 | D5:4 |",
        "A7 | Dm7 | G7 |\nmelody: A4:1/2 B4:1/2 | C5:4 | D5:4 |",
        "| 1/4 A7 | Dm7 | G7 |\nmelody: | A4:1/2 B4:1/2 | C5:4 | D5:4 |",
    ],
)
def test_a_pickup_is_bar_0_at_the_end_of_its_bar(text: str) -> None:
    sheet = parse_lead_sheet(text)
    assert [(bar.number, bar.onset, bar.beats) for bar in sheet.form] == [(0, 3, 1), (1, 4, 4), (2, 8, 4)]
    assert [(note.onset, note.bar) for note in sheet.melody] == [(3, 0), (Fraction(7, 2), 0), (4, 1), (8, 2)]
    assert [chord.bar for chord in sheet.chords][-2:] == [1, 2]
    assert_read_back(sheet)


def test_the_chords_of_a_pickup_last_a_beat_each_or_share_its_notes() -> None:
    assert [chord.onset for chord in parse_lead_sheet("A7 D7 | G |").chords] == [2, 3, 4]
    half = parse_lead_sheet("A7 D7 | G |\nmelody: A4:1/2 B4:1/2 | C5:4 |")
    assert [chord.onset for chord in half.chords] == [3, Fraction(7, 2), 4]
    assert_read_back(half)


def test_a_pickup_is_played_again_where_there_is_room_for_it() -> None:
    """In the last bar before the jump: a rest of its length, a bar that is so much shorter, or no room"""

    def played(last: str, melody: str) -> list[tuple[str, Fraction]]:
        sheet = parse_lead_sheet(f"| C | {last} D.C. | F |\nmelody: A4 | C5:4 | {melody} | F5:4 |")
        assert_read_back(sheet)
        return [(note.note.typed, note.onset) for note in sheet.melody]

    once = [("A4", 3), ("C5", 4), ("D5", 8)]
    again = [("C5", 12), ("D5", 16), ("F5", 20)]
    assert played("D", "D5:3 -") == [*once, ("A4", 11), *again]
    assert played("3/4 D", "D5:3") == [*once, ("A4", 11), *again]
    assert played("D", "D5:4") == [*once, *again]


def test_a_bar_that_a_repeat_divides_has_one_number() -> None:
    sheet = parse_lead_sheet("metre: 3/4\n|: 1/4 C | D | 2/4 E . :|: 1/4 F | G | 2/4 A . :|")
    assert [(bar.number, bar.onset, bar.beats) for bar in sheet.form] == [
        (0, 2, 1), (1, 3, 3), (2, 6, 2), (2, 14, 1), (3, 15, 3), (4, 18, 2)
    ]  # fmt: skip
    assert [chord.bar for chord in sheet.chords] == [0, 1, 2, 0, 1, 2, 2, 3, 4, 2, 3, 4]
    assert_read_back(sheet)


def test_a_short_bar_that_nothing_completes_is_filled_up() -> None:
    sheet = parse_lead_sheet("| C | 2/4 D | E |\nmelody: | C4:4 | D4:2 | E4:4 |")
    assert [(bar.onset, bar.beats) for bar in sheet.form] == [(0, 4), (4, 4), (8, 4)]
    assert [note.onset for note in sheet.melody] == [0, 4, 8]
    assert_read_back(sheet)


def test_a_tie_may_be_to_one_time_of_two() -> None:
    """Into the repeat from a pickup, and struck when it comes round; held over into both endings"""
    text = "| C |: D | 1. E :| 2. F |\nmelody: | A4:4 |: ~A4:2 B4:2 | 1. .:2 C5:2 :| .:4 |"
    sheet = parse_lead_sheet(text.replace("| 1. .", "| ."))
    assert [(note.note.typed, note.onset, note.duration) for note in sheet.melody] == [
        ("A4", 0, 6), ("B4", 6, 4), ("C5", 10, 2), ("A4", 12, 2), ("B4", 14, 6)
    ]  # fmt: skip
    assert_read_back(sheet)


# Rhythm


@pytest.mark.parametrize(
    "length", ["1/2", "1/3", "1/5", "1/7", "1/9", "1/11", "1/13", "1/15", "1/12", "1/20", "1/64", "1/48"]
)
def test_a_beat_may_be_divided_down_to_a_64th_and_into_tuplets(length: str) -> None:
    rest = 1 - Fraction(length)
    sheet = parse_lead_sheet(f"| C |\nmelody: | -:{rest} A4:{length} B4:3 |")
    assert [note.duration for note in sheet.melody] == [Fraction(length), 3]
    values = bar_values(tuple((note.onset, note.end) for note in sheet.melody), (Fraction(0), Fraction(4)), 4)
    assert sum(value.length for value in values) == 4


@pytest.mark.parametrize("length", ["1/128", "1/129", "1/130", "1/194", "1/640", "0.001"])
def test_what_has_no_note_value_is_refused_with_its_bar_and_place(length: str) -> None:
    rest = 3 - Fraction(length)
    with pytest.raises(ValueError, match=r"^line 2, column 23: in bar 2 something begins or ends .* into a beat"):
        parse_lead_sheet(f"| C | D |\nmelody: | A4:4 | B4:{1} C5:{length} D5:{rest} |")
    exact = Fraction(length)
    with pytest.raises(ValueError, match="note value"):
        bar_values(((Fraction(0), exact), (exact, Fraction(1))), (Fraction(0), Fraction(4)), 4)


def test_two_divisions_in_one_beat_are_weighed_together() -> None:
    parse_lead_sheet("| C |\nmelody: | A4:1/3 B4:7/15 C5:16/5 |")
    with pytest.raises(ValueError, match="line 2, column 18: in bar 1"):
        parse_lead_sheet("| C |\nmelody: | A4:1/33 B4:1/31 C5:4028/1023 |")


# Any form


def bar(draw: st.DrawFn, number: int, beats: Fraction, last: bool = False) -> WrittenBar:
    """A bar with chords or none, and notes, rests and ties"""
    written = WrittenBar(f"bar {number}", beats, double=draw(st.booleans()))
    for offset in sorted(draw(st.sets(st.integers(0, int(2 * beats) - 1), max_size=3))):
        symbol = draw(st.sampled_from("C Dm7 G7b9 Ebmaj7/G N.C.".split()))
        chord = None if symbol == "N.C." else Chord.parse(symbol)
        written.chords.append(WrittenChord(Fraction(offset, 2), chord, symbol, 0, 0))
    now = Fraction(0)
    for length in draw(
        st.lists(st.sampled_from([Fraction(n) for n in ("1/5", "1/3", "1/2", "1", "2", "4")]), max_size=6)
    ):
        kind = draw(st.sampled_from(["rest", "note", "note", "held", *["tied"] * (not now)]))
        if now + length > beats:
            break
        note = Note.named(draw(st.sampled_from("C E♭ F½♯".split())), 4)
        if kind in ("note", "tied"):
            written.melody.append(WrittenNote(now, length, note, kind == "tied", 0, 0))
        elif kind == "held" and (
            not now or (written.melody and written.melody[-1].offset + written.melody[-1].duration == now)
        ):
            written.melody.append(WrittenNote(now, length, None, True, 0, 0))
        now += length
    return written


@st.composite
def pages(draw: st.DrawFn) -> tuple[list[WrittenBar], list[int], int]:
    """A page, the order in which it is played, worked out from how it was made, and the beats of its bars"""
    beats = draw(st.integers(1, 5))
    bars: list[WrittenBar] = []
    first: list[int] = []  # in order, with the repeats
    once: list[int] = []

    def add(count: int) -> list[int]:
        for _ in range(count):
            bars.append(bar(draw, len(bars), Fraction(beats)))
        return list(range(len(bars) - count, len(bars)))

    def units(count: int) -> None:
        for _ in range(count):
            kind = draw(st.sampled_from(["plain", "repeat", "endings"]))
            body = add(draw(st.integers(1, 3)))
            bars[body[0]].section = draw(st.sampled_from(["", "", "A", "Verse 2"]))
            if kind == "plain":
                first.extend(body)
                once.extend(body)
                continue
            bars[body[0]].opens = True
            if kind == "repeat":
                bars[body[-1]].times = draw(st.integers(2, 4))
                first.extend(body * bars[body[-1]].times)
                once.extend(body)
                continue
            passes = draw(st.lists(st.integers(1, 2), min_size=1, max_size=2))
            due = 1
            for length in passes:
                ending = add(draw(st.integers(1, 2)))
                bars[ending[0]].endings = tuple(range(due, due + length))
                bars[ending[-1]].times = 2
                for _ in range(length):
                    first.extend([*body, *ending])
                due += length
            final = add(draw(st.integers(1, 2)))
            bars[final[0]].endings = (due,)
            first.extend([*body, *final])
            once.extend([*body, *final])

    units(draw(st.integers(1, 3)))
    jump = draw(st.sampled_from(["", "D.C.", "D.S.", "al fine", "al coda"]))
    if not jump:
        return bars, first, beats
    plain = add(1)
    first += plain
    once += plain
    at = draw(st.sampled_from(["D.C.", "D.S."])) if jump.startswith("al") else jump
    back = draw(st.sampled_from(once)) if at == "D.S." else 0
    marks: dict[int, set[str]] = {}
    marks.setdefault(plain[0], set()).add(f"{at} {jump}" if jump.startswith("al") else jump)
    if at == "D.S.":
        marks.setdefault(back, set()).add("segno")
    way = [place for place in once if place >= back]
    if jump == "al fine":
        end = draw(st.sampled_from(way))
        marks.setdefault(end, set()).add("fine")
        order = first + way[: way.index(end) + 1]
    elif jump == "al coda":
        end = draw(st.sampled_from(way))
        marks.setdefault(end, set()).add("to coda")
        played = len(first)
        marks.setdefault(len(bars), set()).add("coda")
        units(draw(st.integers(1, 2)))
        order = first[:played] + way[: way.index(end) + 1] + first[played:]
    else:
        played = len(first)
        units(draw(st.integers(0, 2)))
        order = first[:played] + way + first[played:]
    for place, found in marks.items():
        bars[place].marks = tuple(mark for mark in MARKS if mark in found)
    return bars, order, beats


@settings(max_examples=300, deadline=None)
@given(pages(), st.data())
def test_any_form_is_played_as_it_was_made_and_read_back_from_its_text(
    page: tuple[list[WrittenBar], list[int], int], data: st.DataObject
) -> None:
    bars, order, beats = page
    assert playing_order(bars) == order
    if data.draw(st.booleans()) and beats > 1:
        length = data.draw(st.sampled_from([Fraction(1), Fraction(1, 2)]))
        bars = [bar(data.draw, -1, length), *bars]
        bars[0].double = False
    if all(sign.chord is None for one in bars for sign in one.chords):
        bars[-1].chords = [WrittenChord(Fraction(0), Chord.parse("C"), "C", 0, 0)]
    try:
        sheet = written_out(bars, "", 120, beats, Key(Note.named("C")))
    except ValueError as error:
        assert "lasts no time" in str(error) or "without a single chord" in str(error)
        return
    assert [one.number for one in sheet.form] == list(
        range(bars[0].beats == beats, len(bars) + (bars[0].beats == beats))
    )
    assert_read_back(sheet)
