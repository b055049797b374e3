"""Lead sheets from text and from MusicXML: what they mean, what they refuse, and music21's reading of the same file."""

from __future__ import annotations

import io
import random
import re
import struct
import tracemalloc
import zipfile
from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import Any

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from test_form import symbols
from test_musicxml import check, schema  # noqa: F401  (a fixture)

import tunelib.harmony.lead_sheet
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet, read_lead_sheet
from tunelib.harmony.lead_sheet_text import lead_sheet_text
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.playing_order import MOST_BARS
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.pitch.notes import Note
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.spelling import MODES, Key
from tunelib.pitch.tunings import equal
from tunelib.pitch.words import printable

MATERIAL = Path(__file__).parents[1] / "lessons" / "material"
TEXTS = ("two_five_one", "blues", "song_form")
PLACED = re.compile(r"line [1-9]\d*, column [1-9]\d*: \S")


def unrolled(sheet: LeadSheet) -> LeadSheet:
    """A tune with its bars counted as they are played, from 1"""
    return replace(
        sheet,
        chords=tuple(replace(chord, bar=int(chord.onset // sheet.beats_per_bar) + 1) for chord in sheet.chords),
        melody=tuple(replace(note, bar=int(note.onset // sheet.beats_per_bar) + 1) for note in sheet.melody),
    )


def assert_read_back(sheet: LeadSheet) -> None:
    """A tune is read back from its text with its form"""
    again = parse_lead_sheet(lead_sheet_text(sheet))
    assert again == sheet
    assert again.written_bars[: len(sheet.written_bars)] == sheet.written_bars


def lasting(text: str) -> list[tuple[str, Fraction, Fraction]]:
    return [(chord.symbol, chord.onset, chord.duration) for chord in parse_lead_sheet(text).chords]


def melody(text: str) -> list[tuple[str, Fraction, Fraction]]:
    return [(note.note.typed, note.onset, note.duration) for note in parse_lead_sheet(text).melody]


# Text: what it means


@pytest.mark.parametrize(
    ("bar", "metre", "expected"),
    [
        ("Dm7", "4/4", [("Dm7", 0, 4)]),
        ("Dm7 G7", "4/4", [("Dm7", 0, 2), ("G7", 2, 2)]),
        ("Dm7 G7", "3/4", [("Dm7", 0, Fraction(3, 2)), ("G7", Fraction(3, 2), Fraction(3, 2))]),
        ("Dm7 G7", "2/4", [("Dm7", 0, 1), ("G7", 1, 1)]),
        ("Dm7 . . G7 .", "5/4", [("Dm7", 0, 3), ("G7", 3, 2)]),
        ("Em7 . . A7", "4/4", [("Em7", 0, 3), ("A7", 3, 1)]),
        ("Em7 . . . . . . A7", "4/4", [("Em7", 0, Fraction(7, 2)), ("A7", Fraction(7, 2), Fraction(1, 2))]),
        ("C . . G . .", "6/8", [("C", 0, Fraction(3, 2)), ("G", Fraction(3, 2), Fraction(3, 2))]),
        ("N.C. . G7 .", "4/4", [("G7", 2, 2)]),
        ("C N.C.", "4/4", [("C", 0, 2)]),
        ("C7(b9, #11) F6/9/C", "2/2", [("C7(b9, #11)", 0, 2), ("F6/9/C", 2, 2)]),
        ("C7 (b9) (#11) F", "4/4", [("C7 (b9) (#11)", 0, 2), ("F", 2, 2)]),
    ],
)
def test_signs_share_a_bar_and_dots_hold(bar: str, metre: str, expected: list[tuple[str, int, int]]) -> None:
    assert lasting(f"metre: {metre}\n| {bar} |") == expected


def test_a_chord_goes_on_over_a_bar_line_and_a_repeated_bar_is_struck_anew() -> None:
    assert lasting("| C | . F | % |") == [("C", 0, 6), ("F", 6, 4), ("F", 10, 2)]
    assert lasting("| C G | % |") == [("C", 0, 2), ("G", 2, 2), ("C", 4, 2), ("G", 6, 2)]


@pytest.mark.parametrize(
    ("text", "played"),
    [
        ("|: C | D :| E |", "C D C D E"),
        ("| C | D :| E |", "C D C D E"),
        ("| C |: D :| E :| F |", "C D D E E F"),
        ("|: C :|: D :|", "C C D D"),
        ("|: C :| |: D :| ||", "C C D D"),
        ("|: C :|\n|: D :|", "C C D D"),
        ("|: C |\n:| D |", "C C D"),
        ("| C |:\n| D :|", "C D D"),
        ("|: C | 1. D :| 2. E | F |", "C D C E F"),
        ("|: C | 1. D | E :| 2. F | G |", "C D E C F G"),
        ("|: C | 1. 2. D :| 3. E |", "C D C D C E"),
        ("|: C | 1. D :| 2. E :| 3. F |", "C D C E C F"),
        ("|: C | 1. D :| E | F |", "C D C E F"),
        ("| C |: D | 1. E :| 2. F |: G :| A |", "C D E D F G G A"),
        ("|: C | D | 1. E :| 2. % |", "C D E C D D"),
        ("|: C | D | 1. % :| 2. E | % |", "C D D C D E E"),
        ("||: C || D :|| E ||", "C D C D E"),
    ],
)
def test_repeats_are_written_out(text: str, played: str) -> None:
    """The order of playing is common practice, written out by hand here"""
    assert symbols(text) == played


def test_bars_and_signs_are_counted_as_written_and_have_their_places() -> None:
    sheet = parse_lead_sheet("title: x\n\n|: C | F G :| % |\nmelody: | C4:4 | D4:4 :| .:2 E4:2 |")
    chords = sheet.chords
    assert [chord.bar for chord in chords] == [1, 2, 2, 1, 2, 2, 3, 3]
    assert [chord.sign for chord in chords] == [0, 1, 2, 0, 1, 2, 3, 4]
    assert [(note.bar, note.sign) for note in sheet.melody] == [(1, 0), (2, 1), (1, 0), (2, 1), (3, 3)]
    assert [(chord.line, chord.column) for chord in chords[:3]] == [(3, 4), (3, 8), (3, 10)]


def test_the_melody_has_lengths_rests_and_ties() -> None:
    text = """
            | Dm7                   | G7       | Cmaj7   |
    melody: | D4 F#4:1/2 Bb3:0.5 - C5 | .:2 - E4 | .:4 |   # a comment
    """
    assert melody(text) == [
        ("D4", 0, 1), ("F#4", 1, Fraction(1, 2)), ("Bb3", Fraction(3, 2), Fraction(1, 2)), ("C5", 3, 3), ("E4", 7, 5),
    ]  # fmt: skip


def test_a_dot_after_a_rest_holds_the_rest() -> None:
    assert melody("| C | D |\nmelody: | A4 - .:2 | . B4:3 |") == [("A4", 0, 1), ("B4", 5, 3)]


def test_the_melody_is_repeated_with_its_bars() -> None:
    text = "metre: 2/4\n|: C | 1. D :| 2. E | % |\nmelody: | C4:2 | D4 - :| % | E4:2 |"
    assert [(name, onset) for name, onset, _ in melody(text)] == [("C4", 0), ("D4", 2), ("C4", 4), ("C4", 6), ("E4", 8)]


def test_headings_and_what_is_left_out() -> None:
    plain = parse_lead_sheet("| C |")
    assert (plain.title, plain.tempo, plain.beats_per_bar, plain.key) == ("", 120, 4, Key(Note.named("C")))
    text = "# a comment\nKey: Bbm\nMeter: 12/8\ntempo: 92.5\ntitle:  Dust #1 | 2 : 3 \n#another\n| C | # the end"
    sheet = parse_lead_sheet(text)
    assert (sheet.title, sheet.tempo, sheet.beats_per_bar) == ("Dust #1 | 2 : 3", 92.5, 6)
    assert sheet.key == Key(Note.named("B♭"), "minor")


@pytest.mark.parametrize(
    ("written", "tonic", "mode"),
    [("F", "F", "major"), ("F# minor", "F#", "minor"), ("E♭ Dorian", "Eb", "dorian"), ("Am", "A", "minor"),
     ("Chb major", "Chb", "major"), ("Bbmixolydian", "Bb", "mixolydian")],
)  # fmt: skip
def test_keys(written: str, tonic: str, mode: str) -> None:
    assert parse_lead_sheet(f"key: {written}\n| C |").key == Key(Note.named(tonic), mode)


def test_the_text_may_have_windows_line_ends_a_byte_order_mark_and_spaces() -> None:
    assert symbols("\ufefftitle: x\r\n\r\n  | C\t| D |  \r\n") == "C D"


def test_the_example_at_the_head_of_the_module_is_read() -> None:
    blocks = re.findall(r"::\n\n((?:    .*\n|\n)+)", tunelib.harmony.lead_sheet.__doc__ or "")
    assert len(blocks) == 6
    assert parse_lead_sheet(blocks[0] + blocks[1]).bars == 7  # and one of silence
    assert symbols(blocks[2]) == "Dm7 G7 Cmaj7 A7 Dm7 G7 Cmaj7"
    assert symbols(blocks[3]) == "Fmaj7 Dm7 Gm7 C7 Bbmaj7 Bbm6 Am7 D7 Gm7 C7 Fmaj7 Dm7 Gm7 Gm7 C7 F6"
    assert [note.onset + note.duration for note in parse_lead_sheet(blocks[4]).melody][-2:] == [6, 8]
    assert [note.onset for note in parse_lead_sheet(blocks[5]).melody] == [3, 4, 7, 8, 10]


# Text: what it refuses


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ("", 1, 1, "no bars"),
        ("title: x\n", 1, 9, "no bars"),
        ("| C |\nDm7 G7", 2, 1, "'Dm7 G7' does not belong in a lead sheet"),
        ("| Dm7 | G7", 1, 11, "not closed"),
        ("| Dm7 |  | G7 |", 1, 8, "write %"),
        ("  tempi: 3\n| C |", 1, 3, "did you mean tempo"),
        ("tempo:  fast\n| C |", 1, 9, "such as 120"),
        ("tempo: 5\n| C |", 1, 8, "between 10 and 500"),
        ("metre: 7/8\n| C |", 1, 8, "in 7/4"),
        ("metre: 4/5\n| C |", 1, 8, "such as 4/4"),
        ("metre: 13/4\n| C |", 1, 8, "1 to 12"),
        ("key: H\n| C |", 1, 6, "such as F major"),
        ("key: C majr\n| C |", 1, 6, "did you mean major"),
        ("key: Cm minor\n| C |", 1, 6, "two modes"),
        ("| C |\nkey: C", 2, 1, "too late"),
        ("title: a\ntitle: b\n| C |", 2, 1, "already"),
        ("| Dm7 G7 C |", 1, 3, "such as 'Dm7 . G7 C'"),
        ("| C C C C C |", 1, 3, "write 4 or 8"),
        ("| C | . . . |", 1, 7, "3 signs"),
        ("| . |", 1, 2, "without a single chord"),
        ("| % |", 1, 3, "no bar before"),
        ("| C % |", 1, 3, "must be alone"),
        ("| C7 | Cq7 |", 1, 8, "did you mean"),
        ("| C#####7 |", 1, 3, "double sharp"),
        ("| N.C. |", 1, 2, "without a single chord"),
        ("|: C | D |", 1, 3, "put :|"),
        ("|: C |: D :|", 1, 3, "put :|"),
        ("| C | 2. D :|", 1, 6, "ending 1 is due"),
        ("| C | 1. D |", 1, 6, "belongs to no repeat"),
        ("|: C | 1. D | 2. E :|", 1, 14, "belongs to no repeat"),
        ("|: C | 1. D :| 3. E |", 1, 15, "ending 2 is due"),
        ("|: C | 1. D :| 2. E :| F |", 1, 15, "no ending 3 follows"),
        ("|: C | 1. D :| 2. E | F | G :|", 1, 15, "or put |: where the repeat begins"),
        ("|: C | 1. D :| 2. E | 3. F :|", 1, 22, "ending 3 belongs to no repeat"),
        ("|: C | 1. D :| 2. 3. E |", 1, 15, "more than once"),
        ("| C |:", 1, 7, "nothing follows"),
        (":| C |", 1, 1, "begin with | or |:"),
        ("|", 1, 1, "no bar"),
        ("| 1. |", 1, 2, "empty"),
        ("melody: | A4 |", 1, 1, "below its line of chords"),
        ("| C |\nmelody: A4:4 |", 2, 14, "a bar line and no bar"),
        ("| C |\nmelody: A4:4", 2, 9, "begin with a bar line"),
        ("| C |\n| D |\nmelody: A4:4 | B4:4 |", 3, 9, "begin with a bar line"),
        ("| C |\nmelody: | A4:4 |\nmelody: | A4:4 |", 3, 1, "one line for each"),
        ("| C |\nmelody: | A4 | B4 |", 2, 1, "2 bars, and the chords above it 1"),
        ("| C |\nmelody: | A4 B4:1/2 |", 2, 11, "last 3/2 beats, and it has 4: add 5/2, or put them before the first"),
        ("| C | D |\nmelody: | A4:4 | B4:1/2 |", 2, 18, "last 1/2 beats, and it has 4: add 7/2"),
        ("| C |\nmelody: | A4:4 B4:1/2 |", 2, 11, "take away 1/2"),
        ("| C |\nmelody: | A4 H4:3 |", 2, 14, "'H4' is not a note"),
        ("| C |\nmelody: | A4:x |", 2, 11, "length in beats"),
        ("| C |\nmelody: | A4:1/0 |", 2, 11, "length in beats"),
        ("| C |\nmelody: | A4:0 |", 2, 11, "no time"),
        ("| C |\nmelody: | :4 |", 2, 11, "has no note"),
        ("| C |\nmelody: | C12:4 |", 2, 11, "octaves go from"),
        ("| C | D |\nmelody: | % | A4:4 |", 2, 11, "no bar before"),
        ("| C |\n| D |\nmelody: | % |", 3, 11, "no melody"),
        ("| C |\nmelody: |: A4:4 |", 2, 10, "make them the same"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_line_and_column(text: str, line: int, column: int, said: str) -> None:
    with pytest.raises(ValueError, match=rf"^line {line}, column {column}: ") as refused:
        parse_lead_sheet(text)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_tune_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match=f"more than {MOST_BARS} bars"):
        parse_lead_sheet("|: C :|\n" * (MOST_BARS // 2 + 1))
    with pytest.raises(ValueError, match="1,000,000 characters"):
        parse_lead_sheet("#" * 1_000_001)
    with pytest.raises(ValueError, match="is text"):
        parse_lead_sheet(b"| C |")  # type: ignore[arg-type]


PIECES = st.sampled_from(
    (
        "| |: :| || : . % # 1. 2. 3. N.C. - C Dm7 G7/B Fhb C7(b9, 7alt Bb4 C4:1/2 .:2 A4:4 -:3 melody: title: metre: "
        "tempo: key: 4/4 7/8 120 minor / ♭ \t \ufeff \u2028 \x00 ½♯ 𝄪 99 Δ ø \n \n \r\n \n|_C_|_D_|\n "
        "\nmelody:_|_A4:4_|"
    )
    .replace("_", "\N{NO-BREAK SPACE}")
    .split(" ")
)


@settings(max_examples=400, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(PIECES, max_size=30).map(" ".join), st.lists(PIECES).map("".join)))
def test_any_text_gives_a_tune_or_an_error_with_its_place(text: str) -> None:
    try:
        sheet = parse_lead_sheet(text)
    except ValueError as error:
        assert PLACED.match(str(error)), error
    else:
        assert_read_back(sheet)


# Back to text

CHORDS = st.sampled_from("C Dm7 G7b9 Ebmaj7/G F#m7b5 Chb7h#11 Bsub7 Bb69 Aharm9 Dsus4 E5".split())
NOTES = st.builds(Note, st.sampled_from("CDEFGAB"), st.integers(-4, 4), st.integers(-1, 9))
LENGTHS = st.sampled_from([Fraction(n) for n in ("1/4", "1/3", "1/2", "1", "3/2", "2", "5", "13")])


@st.composite
def sheets(draw: st.DrawFn) -> LeadSheet:
    beats = draw(st.integers(1, 12))
    chords, notes = [], []
    now = Fraction(0)
    for symbol in draw(st.lists(CHORDS, min_size=1, max_size=12)):
        now += draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1, 2), Fraction(4)]))
        length = draw(LENGTHS)
        chords.append(TimedChord(Chord.parse(symbol), now, length, symbol, int(now // beats) + 1))
        now += length
    now = Fraction(0)
    for note in draw(st.lists(NOTES, max_size=12)):
        now += draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1, 7), Fraction(9)]))
        length = draw(LENGTHS)
        notes.append(TimedNote(note, now, length, int(now // beats) + 1))
        now += length
    title = draw(st.text(max_size=20).map(printable))  # control characters are refused
    tempo = draw(st.floats(10, 500))
    key = Key(Note.named(draw(st.sampled_from(["C", "F#", "Ehb", "Bbb"]))), draw(st.sampled_from(MODES)))
    return LeadSheet(title, tempo, beats, key, tuple(chords), tuple(notes))


@settings(max_examples=200, deadline=None)
@given(sheets())
def test_a_tune_is_read_back_from_its_text(sheet: LeadSheet) -> None:
    assert parse_lead_sheet(lead_sheet_text(sheet)) == sheet


def test_what_cannot_be_written_is_refused() -> None:
    key, chord = Key(Note.named("C")), Chord.parse("Cm7")
    lying = LeadSheet("", 120, 4, key, (TimedChord(chord, Fraction(0), Fraction(4), "C7", 1),))
    with pytest.raises(ValueError, match="'C7' in bar 1 is not the symbol of its chord, Cm7"):
        lead_sheet_text(lying)
    fine = LeadSheet("", 120, 4, key, (TimedChord(chord, Fraction(1, 101), Fraction(4), "Cm7", 1),))
    with pytest.raises(ValueError, match="too fine"):
        lead_sheet_text(fine)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"tempo": 0}, "a tempo must be between"),
        ({"tempo": float("nan")}, "a tempo must be between"),
        ({"beats_per_bar": 2.5}, "whole number of beats"),
        ({"key": "C"}, "a key is given as one"),
        ({"chords": ()}, "at least one chord"),
        ({"chords": (TimedChord(Chord.parse("C"), Fraction(0), Fraction(0), "C", 1),)}, "lasts no time"),
        ({"melody": (TimedNote(Note.parse("C4"), Fraction(-1), Fraction(2), 1),)}, "begins before 0"),
        ({"melody": (TimedNote(Note.parse("C44"), Fraction(0), Fraction(2), 1),)}, "octaves"),
    ],
)
def test_a_sheet_out_of_bounds_is_refused(change: dict[str, Any], said: str) -> None:
    chord = TimedChord(Chord.parse("C"), Fraction(0), Fraction(4), "C", 1)
    good: dict[str, Any] = {
        "title": "",
        "tempo": 120,
        "beats_per_bar": 4,
        "key": Key(Note.named("C")),
        "chords": (chord,),
    }
    assert LeadSheet(**good).bars == 1
    with pytest.raises(ValueError, match=said):
        LeadSheet(**good | change)


# The tunes that come with the lessons


@pytest.mark.parametrize(("name", "bars"), [("two_five_one", 20), ("blues", 24), ("song_form", 32)])
def test_the_tunes_have_their_bars_a_melody_and_no_clash_of_a_diesis(name: str, bars: int) -> None:
    sheet = read_lead_sheet(MATERIAL / f"{name}.txt")
    assert sheet.bars == bars
    assert sheet.title and len(sheet.melody) > 2 * bars
    assert_read_back(sheet)
    assert clashes(sheet) == []


def clashes(sheet: LeadSheet) -> list[tuple[str, str]]:
    """Notes that sound one step of thirty-one from a note of the chord that sounds with them."""
    tuning = equal(31)
    found = []
    for note in sheet.melody:
        for chord in sheet.chords:
            if chord.onset < note.onset + note.duration and note.onset < chord.onset + chord.duration:
                apart = {(note.note.step(tuning) - other.step(tuning)) % 31 for other in chord.chord.notes}
                found += [(note.note.typed, chord.symbol)] * bool(apart & {1, 30})
    return found


def test_the_blues_is_a_blues_and_the_song_has_the_form_aaba() -> None:
    """Twelve bars with the fourth degree in bar 5 and the fifth in bar 10; AABA, eight bars each (common practice)"""
    blues = unrolled(read_lead_sheet(MATERIAL / "blues.txt"))
    roots = {chord.bar: chord.chord.root.name for chord in reversed(blues.chords)}
    assert [roots[bar] for bar in (1, 5, 7, 10, 13, 17, 22)] == ["F", "B♭", "F", "C", "F", "B♭", "C"]
    song = unrolled(read_lead_sheet(MATERIAL / "song_form.txt"))

    def eight(first: int) -> list[tuple[str, Fraction]]:
        return [(c.symbol, c.onset - 4 * (first - 1)) for c in song.chords if first <= c.bar < first + 5]

    assert eight(1) == eight(9) == eight(25)
    assert eight(1) != eight(17)


# MusicXML, beside music21


def score(body: str, attributes: str = "", extra: str = "") -> bytes:
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list><score-part id="P1">'
        f'<part-name/></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>4</divisions>'
        f"<key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>{attributes}</attributes>"
        f"{body}</measure>{extra}</part></score-partwise>"
    ).encode()


def harmony(kind: str, root: str = "C", inner: str = "", after: str = "") -> str:
    return f"<harmony><root><root-step>{root}</root-step></root><kind>{kind}</kind>{inner}{after}</harmony>"


def degree(value: int, alter: float, action: str) -> str:
    return (
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter:g}</degree-alter>"
        f"<degree-type>{action}</degree-type></degree>"
    )


def pitch(name: str) -> str:
    note = Note.parse(name)
    alter = f"<alter>{note.half_sharps / 2:g}</alter>"
    return f"<pitch><step>{note.letter}</step>{alter}<octave>{note.octave}</octave></pitch>"


def note(name: str, duration: int, *inner: str, first: str = "") -> str:
    return f"<note>{first}{pitch(name)}<duration>{duration}</duration>{''.join(inner)}</note>"


REST = "<note><rest/><duration>16</duration></note>"
WHOLE = harmony("major") + note("C5", 16)


def their_chords(stream: Any) -> list[tuple[list[str], str, float]]:
    """Names of the notes, the bass and the onset of every chord symbol, as music21 reads them."""
    flat = stream.flatten().getElementsByClass(music21.harmony.ChordSymbol)
    return [(sorted({p.name for p in c.pitches}), c.bass().name, float(c.offset)) for c in flat]


def their_name(plain: Note) -> str:
    return plain.typed[:-1].replace("x", "##").replace("b", "-") if plain.half_sharps else plain.letter


def our_chords(sheet: LeadSheet) -> list[tuple[list[str], str, float]]:
    found = []
    for timed in sheet.chords:
        bass = timed.chord.bass or timed.chord.root
        names = {their_name(one) for one in (*timed.chord.notes, bass)}
        found.append((sorted(names), their_name(bass), float(timed.onset)))
    return found


def test_the_musicxml_tune_keeps_to_the_schema(schema: etree.XMLSchema) -> None:  # noqa: F811
    """The MusicXML 4.0 schema of the W3C Music Notation Community Group"""
    check(schema, (MATERIAL / "offcuts.musicxml").read_text(encoding="utf-8"))


def test_music21_finds_the_same_chords_and_melody_in_the_musicxml_tune() -> None:
    """Sounding a tone below what is written, repeats written out; music21 counts from the upbeat"""
    sheet = read_lead_sheet(MATERIAL / "offcuts.musicxml")
    stream = music21.converter.parse(MATERIAL / "offcuts.musicxml").toSoundingPitch().parts[0].expandRepeats()
    ours = [(names, bass, onset - 2) for names, bass, onset in our_chords(sheet)]
    assert ours == their_chords(stream)
    theirs = [
        (one.pitch.ps, float(one.offset), float(one.quarterLength))
        for one in stream.stripTies().flatten().getElementsByClass(music21.note.Note)
    ]
    half_flat = Note.parse("B♭½♭4")
    assert [(n.note.quartertones / 2 + 12, float(n.onset - 2), float(n.duration)) for n in sheet.melody] == theirs
    assert [n.note for n in sheet.melody if n.note.half_sharps % 2] == [half_flat]
    assert (sheet.title, sheet.tempo, sheet.beats_per_bar, sheet.key) == ("Offcuts", 138, 3, Key(Note.named("F")))
    assert clashes(sheet) == [(half_flat.typed, "C7")]  # it asks for the harmonic seventh
    assert_read_back(sheet)


# The kinds of chord as the MusicXML 4.0 schema describes them (simple type kind-value), in semitones above the root.
KINDS = {
    "major": "0 4 7", "minor": "0 3 7", "augmented": "0 4 8", "diminished": "0 3 6",
    "dominant": "0 4 7 10", "major-seventh": "0 4 7 11", "minor-seventh": "0 3 7 10", "diminished-seventh": "0 3 6 9",
    "augmented-seventh": "0 4 8 10", "half-diminished": "0 3 6 10", "major-minor": "0 3 7 11",
    "major-sixth": "0 4 7 9", "minor-sixth": "0 3 7 9",
    "dominant-ninth": "0 4 7 10 14", "major-ninth": "0 4 7 11 14", "minor-ninth": "0 3 7 10 14",
    "dominant-11th": "0 4 7 10 14 17", "major-11th": "0 4 7 11 14 17", "minor-11th": "0 3 7 10 14 17",
    "dominant-13th": "0 4 7 10 14 17 21", "major-13th": "0 4 7 11 14 17 21", "minor-13th": "0 3 7 10 14 17 21",
    "suspended-second": "0 2 7", "suspended-fourth": "0 5 7", "power": "0 7",
}  # fmt: skip
OTHERS = ("Neapolitan", "Italian", "French", "German", "pedal", "Tristan")


def test_every_kind_of_the_standard_is_known_here() -> None:
    """The list of the MusicXML 4.0 schema"""
    text = files("musicxml").joinpath("generate_classes/musicxml_4_0.xsd").read_text(encoding="utf-8")
    block = text[text.index('<xs:simpleType name="kind-value">') :]
    listed = set(re.findall(r'<xs:enumeration value="(.+?)"/>', block[: block.index("</xs:simpleType>")]))
    assert listed == {*KINDS, *OTHERS, "other", "none"}


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_has_the_notes_of_the_standard(kind: str) -> None:
    [timed] = musicxml_lead_sheet(score(harmony(kind) + REST)).chords
    semitones = [interval.quartertones / 2 for interval in timed.chord.intervals]
    expected = [int(number) for number in KINDS[kind].split()]
    if kind.endswith("13th"):
        expected.remove(17)  # as players take a thirteenth (common practice)
    assert semitones == expected
    assert Chord.parse(timed.symbol) == timed.chord


@pytest.mark.parametrize("kind", OTHERS)
def test_a_kind_that_says_what_a_chord_does_is_refused(kind: str) -> None:
    with pytest.raises(ValueError, match=rf"measure 1 \(line 1, column \d+\): the kind {kind} says what a chord does"):
        musicxml_lead_sheet(score(harmony(kind) + REST))


@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        ("dominant", [(9, -1, "add")], "C7b9"),
        ("dominant", [(9, -1, "add"), (9, 1, "add"), (13, -1, "add")], "C7b9#9b13"),
        ("dominant", [(5, -1, "alter")], "C7b5"),
        ("dominant", [(5, 1, "alter")], "C7#5"),
        ("dominant-ninth", [(11, 1, "add")], "C9#11"),
        ("dominant-13th", [(11, 1, "alter")], "C13#11"),
        ("dominant-13th", [(9, -1, "alter")], "C13b9"),
        ("dominant", [(4, 0, "add"), (3, 0, "subtract")], "C7sus4"),
        ("suspended-fourth", [(7, 0, "add")], "C7sus4"),  # the seventh of a dominant chord (degree-alter)
        ("major", [(9, 0, "add")], "Cadd9"),
        ("major", [(2, 0, "add")], "Cadd9"),
        ("major-sixth", [(9, 0, "add")], "C69"),
        ("minor-seventh", [(5, -1, "alter")], "Cm7b5"),
        ("major", [(5, 0, "subtract")], "Cno5"),
        ("other", [(3, -1, "add"), (5, 0, "add"), (7, 0, "add")], "Cm7"),
        ("dominant", [(11, 0.5, "add")], "C7h#11"),
        ("dominant", [(7, -0.5, "alter")], "Charm7"),
        ("major", [(3, -0.5, "alter")], "Cneu"),
    ],
)
def test_degrees(kind: str, degrees: list[tuple[int, float, str]], symbol: str) -> None:
    """Added degrees count from a dominant chord, altered ones from the kind (MusicXML 4.0, degree-alter)"""
    inner = "".join(degree(*one) for one in degrees)
    [timed] = musicxml_lead_sheet(score(harmony(kind, inner=inner) + REST)).chords
    assert timed.chord == Chord.parse(symbol)
    assert Chord.parse(timed.symbol) == timed.chord


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from([*KINDS, "other"]),
    st.lists(st.builds(degree, st.integers(0, 14), st.integers(-4, 4).map(lambda n: n / 2),
                       st.sampled_from(["add", "alter", "subtract"])), max_size=4).map("".join),
    st.integers(0, 6),
)  # fmt: skip
def test_any_kind_with_any_degrees_is_a_chord_that_its_symbol_says_or_is_refused(
    kind: str, degrees: str, inversion: int
) -> None:
    inner = f"<inversion>{inversion}</inversion>{degrees}"
    try:
        [timed] = musicxml_lead_sheet(score(harmony(kind, inner=inner) + REST)).chords
    except ValueError as error:
        assert str(error).startswith("measure 1 (line 1, column ")
    else:
        assert Chord.parse(timed.symbol) == timed.chord


def test_bass_and_inversion() -> None:
    bass = "<bass><bass-step>B</bass-step><bass-alter>-1</bass-alter></bass>"
    assert read_symbols(harmony("dominant", inner=bass) + REST) == "C7/Bb"
    assert read_symbols(harmony("dominant", inner="<inversion>1</inversion>") + REST) == "C7/E"
    assert read_symbols(harmony("dominant", inner="<inversion>3</inversion>") + REST) == "C7/Bb"
    assert read_symbols(harmony("dominant", inner="<inversion>0</inversion>") + REST) == "C7"


def read_symbols(body: str, attributes: str = "", extra: str = "") -> str:
    return " ".join(chord.symbol for chord in musicxml_lead_sheet(score(body, attributes, extra)).chords)


def test_places_of_chords_and_silence() -> None:
    body = harmony("major") + note("C5", 8) + harmony("minor", "D", after="<offset>4</offset>") + note("C5", 8)
    none = "<harmony><root><root-step>C</root-step></root><kind>none</kind></harmony>"
    extra = f'<measure number="2">{REST}</measure><measure number="3">{note("C5", 8)}{none}{note("C5", 8)}</measure>'
    chords = musicxml_lead_sheet(score(body, "", extra)).chords
    assert [(c.symbol, c.onset, c.duration) for c in chords] == [("C", 0, 3), ("Dm", 3, 7)]


@pytest.mark.parametrize(
    ("transposition", "instrument"),
    [
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic>", music21.instrument.Trumpet()),
        ("<diatonic>-5</diatonic><chromatic>-9</chromatic>", music21.instrument.AltoSaxophone()),
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change>",
         music21.instrument.TenorSaxophone()),
        ("<diatonic>-4</diatonic><chromatic>-7</chromatic>", music21.instrument.Horn()),
    ],
)  # fmt: skip
def test_a_transposing_part_is_read_as_it_sounds(transposition: str, instrument: Any) -> None:
    """The interval from written to sounding pitch is that of music21's own instrument"""
    body = harmony("major-seventh", "D") + note("F#5", 16)
    for shift in (transposition, re.sub("<diatonic>.*</diatonic>", "", transposition)):
        sheet = musicxml_lead_sheet(score(body, f"<transpose>{shift}</transpose>"))
        written = music21.pitch.Pitch("F#5")
        sounding = written.transpose(instrument.transposition)
        assert their_name(sheet.melody[0].note) == sounding.name
        assert sheet.melody[0].note.octave == sounding.octave
        tonic = music21.pitch.Pitch("D").transpose(instrument.transposition).name
        assert their_name(sheet.chords[0].chord.root) == tonic
        key = music21.pitch.Pitch("C").transpose(instrument.transposition).name
        assert their_name(sheet.key.tonic) == key


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("mode", ["major", "minor", "dorian", "ionian", "aeolian", "locrian"])
def test_keys_are_those_of_music21(fifths: int, mode: str) -> None:
    data = score(WHOLE).replace(b"<fifths>0</fifths>", f"<fifths>{fifths}</fifths><mode>{mode}</mode>".encode())
    tonic = music21.key.KeySignature(fifths).asKey(mode).tonic.name
    assert their_name(musicxml_lead_sheet(data).key.tonic) == tonic


def test_the_melody_is_the_top_of_the_first_voice() -> None:
    body = (
        harmony("major")
        + "<note><grace/>" + pitch("D5") + "<voice>1</voice></note>"
        + note("C5", 4, "<voice>1</voice>")
        + note("E5", 4, "<voice>1</voice>", first="<chord/>")
        + note("G4", 4, "<voice>1</voice>", first="<chord/>")
        + note("Fh#5", 4, "<voice>1</voice>")
        + note("Fh#5", 8, '<tie type="start"/>', "<voice>1</voice>")
        + "<backup><duration>16</duration></backup>"
        + note("C6", 16, "<voice>2</voice>")
    )  # fmt: skip
    second = note("Fh#5", 4, '<tie type="stop"/>', "<voice>1</voice>") + "<forward><duration>12</duration></forward>"
    sheet = musicxml_lead_sheet(score(body, "", f'<measure number="2">{second}</measure>'))
    found = [(n.note.typed, n.onset, n.duration) for n in sheet.melody]
    assert found == [("E5", 0, 1), ("Fh#5", 1, 1), ("Fh#5", 2, 3)]


def test_chords_may_stand_in_another_part() -> None:
    melody_part = f'<part id="P1"><measure number="1">{note("C5", 4)}</measure></part>'.encode()
    data = score(WHOLE).replace(b'<part id="P1">', melody_part.replace(b"C</step>", b"D</step>") + b'<part id="P2">')
    sheet = musicxml_lead_sheet(data)
    assert ([c.symbol for c in sheet.chords], [n.note.typed for n in sheet.melody]) == (["C"], ["D5"])


def test_a_score_by_time_is_read_as_one_by_parts_is() -> None:
    timewise = (
        score(WHOLE)
        .replace(b"score-partwise", b"score-timewise")
        .replace(b'<part id="P1"><measure number="1">', b'<measure number="1"><part id="P1">')
        .replace(b"</measure></part>", b"</part></measure>")
    )
    assert musicxml_lead_sheet(timewise) == musicxml_lead_sheet(score(WHOLE))


def test_repeats_and_endings_are_those_of_music21() -> None:
    def measure(number: int, root: str, left: str = "", right: str = "") -> str:
        edges = [f'<barline location="{side}">{inner}</barline>' if inner else "" for side, inner in
                 (("left", left), ("right", right))]  # fmt: skip
        return f'<measure number="{number}">{edges[0]}{harmony("major", root)}{note("C5", 16)}{edges[1]}</measure>'

    back, forth = '<repeat direction="backward"/>', '<repeat direction="forward"/>'
    extra = (
        measure(2, "D", forth)
        + measure(3, "E", '<ending number="1,2" type="start"/>', f'<ending number="1,2" type="stop"/>{back}')
        + measure(4, "F", '<ending number="3" type="start"/>', '<ending number="3" type="discontinue"/>')
        + measure(5, "G", forth, '<repeat direction="backward" times="3"/>')
        + measure(6, "A")
    )
    data = score(WHOLE, "", extra)
    theirs = music21.converter.parse(data.decode(), format="musicxml").parts[0].expandRepeats()
    roots = [c.root().name for c in theirs.recurse().getElementsByClass(music21.harmony.ChordSymbol)]
    assert [c.chord.root.letter for c in musicxml_lead_sheet(data).chords] == roots == list("CDEDEDFGGGA")


def test_a_bar_that_is_divided_by_a_repeat_and_one_that_is_cut_short() -> None:
    """An upbeat of a beat, and the last bar before the repeat a beat short, as it is usually written"""
    data = score(note("G4", 4), "", (
        f'<measure number="1">{harmony("major")}{note("C5", 16)}</measure>'
        f'<measure number="2">{harmony("dominant", "G")}{note("B4", 12)}'
        '<barline location="right"><repeat direction="backward"/></barline></measure>'
    ))  # fmt: skip
    sheet = musicxml_lead_sheet(data)
    assert [(n.note.typed, n.onset) for n in sheet.melody] == [
        ("G4", 3), ("C5", 4), ("B4", 8), ("G4", 11), ("C5", 12), ("B4", 16)
    ]  # fmt: skip
    assert [(c.symbol, c.bar, c.duration) for c in sheet.chords] == [
        ("C", 1, 4),
        ("G7", 2, 4),
        ("C", 1, 4),
        ("G7", 2, 4),
    ]
    assert [(bar.number, bar.onset, bar.beats) for bar in sheet.form] == [(0, 3, 1), (1, 4, 4), (2, 8, 3)]


@pytest.mark.parametrize(
    ("mark", "tempo"),
    [
        ('<sound tempo="92.5"/>', 92.5),
        ("<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>60</per-minute></metronome>"
         "</direction-type></direction>", 120),
        ("<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>c. 80"
         "</per-minute></metronome></direction-type></direction>", 120),
        ("", 120),
    ],
)  # fmt: skip
def test_tempo_in_quarter_notes(mark: str, tempo: float) -> None:
    assert musicxml_lead_sheet(score(mark + WHOLE)).tempo == tempo


WALTZ = "<time><beats>3</beats><beat-type>4</beat-type></time>"
SECOND = '<measure number="2">{}</measure>'


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (score(REST), "no chord symbols"),
        (score("").replace(b"<measure", b"<bar").replace(b"</measure", b"</bar"), "no measures"),
        (b"<html/>", "begins with 'html'"),
        (score(harmony("majr") + REST), "measure 1 .*did you mean major"),
        (score(harmony("major", "H") + REST), "measure 1 .*not a note letter"),
        (score("<harmony><numeral><numeral-root>5</numeral-root></numeral><kind>major</kind></harmony>" + REST),
         "numeral: write its name"),
        (score(harmony("major", inner="<root><root-step>D</root-step></root><kind>major</kind>") + REST), "has 2"),
        (score(harmony("major") + harmony("minor") + REST), "two chords begin at once"),
        (score(harmony("major", after="<offset>16</offset>") + REST), "after the measure ends"),
        (score(harmony("major", after="<offset>-1</offset>") + REST), "before its measure"),
        (score(harmony("major", inner="<inversion>3</inversion>") + REST), "no inversion 3"),
        (score(harmony("major", inner=degree(10, -1, "add")) + REST), "the degree 10 cannot be changed"),
        (score(harmony("major", inner=degree(3, -1, "add")) + REST), "no symbol can say"),
        (score(harmony("major", inner=degree(9, -0.25, "add")) + REST), "the finest that has a name"),
        (score(harmony("major") + note("C5", 17)), "lasts 4.25 quarter notes"),
        (score(harmony("major") + note("C5", 0)), "longer than nothing"),
        (score(harmony("major") + REST + "<backup><duration>17</duration></backup>"), "before the measure"),
        (score(harmony("major") + note("C5", 8) + "<backup><duration>4</duration></backup>" + note("D5", 4)),
         "before the last one has ended"),
        (score(WHOLE, "<transpose><chromatic>-99</chromatic></transpose>"), "4 octaves"),
        (score(WHOLE, "", SECOND.format(f"<attributes>{WALTZ}</attributes>")),
         "measure 2 .*the metre changes from 4"),
        (score(WHOLE, "", SECOND.format('<sound dalsegno="yes"/>')), "measure 2 .*no segno before it"),
        (score(WHOLE, "", SECOND.format('<barline><repeat direction="backward" times="1000"/></barline>')), "2 to 9"),
        (score(WHOLE, "", SECOND.format('<barline><repeat direction="forward"/></barline>')), "measure 2 .*not closed"),
        (score(WHOLE).replace(b"<beat-type>4", b"<beat-type>8").replace(b"<beats>4", b"<beats>7"), "in 7/4"),
        (score(WHOLE).replace(b"<divisions>4", b"<divisions>0"), "divisions"),
        (score(WHOLE).replace(b"<duration>16", b"<duration>1e9"), "the duration is a number"),
        (score('<sound tempo="99999"/>' + WHOLE), "a tempo must be between"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_its_measure(data: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=said) as refused:
        musicxml_lead_sheet(data)
    assert "\n" not in str(refused.value)


# Files


def mxl(packed_files: dict[str, bytes], container: str | None = "score.xml") -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        if container is not None:
            archive.writestr(
                "META-INF/container.xml",
                f'<container><rootfiles><rootfile full-path="{container}"/></rootfiles></container>',
            )
        for name, data in packed_files.items():
            archive.writestr(name, data)
    return packed.getvalue()


def test_every_kind_of_file_is_read(tmp_path: Path) -> None:
    data = score(WHOLE)
    for name, content in (
        ("a.txt", b"\xef\xbb\xbf| C |\r\nmelody: | C5:4 |"), ("a.musicxml", data), ("a.XML", data),
        ("a.mxl", mxl({"score.xml": data})), ("b.xml", mxl({"score.xml": data})),
        ("c.xml", data.decode().replace("UTF-8", "UTF-16").encode("utf-16")),
    ):  # fmt: skip
        (tmp_path / name).write_bytes(content)
        sheet = read_lead_sheet(tmp_path / name)
        assert ([c.symbol for c in sheet.chords], [n.note.typed for n in sheet.melody]) == (["C"], ["C5"])


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("tune.pdf", b"", "its name must end in .txt"),
        ("tune.txt", b"| C |\n| \xff |", "line 2, column 3: this is not UTF-8 text"),
        ("tune.txt", b"| Cq |", "line 1, column 3: 'Cq'"),
        ("tune.txt", b" " * 20_000_001, "larger than 20 MB"),
        ("tune.xml", b"| C |", "line 1, column 1: this is not XML"),
        ("tune.xml", b"", "this is not XML"),
        ("tune.xml", b"<a><b></a>", "line 1, column 9: this is not XML: mismatched tag"),
        ("tune.xml", b'<?xml version="1.0" encoding="zip"?><a/>', "this is not XML"),
        ("tune.mxl", b"PK\x03\x04 and nothing", "damaged"),
    ],
)
def test_a_file_that_is_no_tune_is_refused_by_name(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(ValueError, match=rf"^{name}.*{re.escape(said)}"):
        read_lead_sheet(tmp_path / name)


# Files that mean harm


def test_entities_are_refused_before_they_grow() -> None:
    lines = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 20))
    bomb = f'<!DOCTYPE score-partwise [<!ENTITY e0 "ha">{lines}]><score-partwise>&e19;</score-partwise>'
    with pytest.raises(ValueError, match="line 1, column .*: the file defines an entity, 'e0'"):
        musicxml_lead_sheet(bomb.encode())


@pytest.mark.parametrize("declared", ['<!ENTITY secret SYSTEM "{}">', '<!ENTITY % secret SYSTEM "{}"> %secret;'])
def test_nothing_outside_the_file_is_read(tmp_path: Path, declared: str) -> None:
    secret = tmp_path / "secret"
    secret.write_text("D")
    text = score(harmony("major", "&secret;") + REST).decode()
    doctype = f"<!DOCTYPE score-partwise [{declared.format(secret.as_uri())}]>"
    with pytest.raises(ValueError, match="defines an entity"):
        musicxml_lead_sheet(text.replace("<score-partwise", f"{doctype}<score-partwise", 1).encode())


def test_the_usual_doctype_is_no_hindrance_and_is_not_fetched(tmp_path: Path) -> None:
    stolen = tmp_path / "partwise.dtd"
    stolen.write_text('<!ENTITY root "D">')
    doctype = f'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "{stolen.as_uri()}">'
    text = score(WHOLE).decode().replace("<score-partwise", f"{doctype}<score-partwise", 1)
    assert musicxml_lead_sheet(text.encode()) == musicxml_lead_sheet(score(WHOLE))
    with pytest.raises(ValueError, match="not a note letter"):
        musicxml_lead_sheet(text.replace("<root-step>C", "<root-step>&root;").encode())


def test_depth_and_size_have_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match="more than 64 elements are inside one another"):
        musicxml_lead_sheet(b"<a>" * 100_000)
    monkeypatch.setattr("tunelib.harmony.xml_tree._MOST_ELEMENTS", 1000)
    with pytest.raises(ValueError, match="more than 1,000 elements"):
        musicxml_lead_sheet(b"<a>" + b"<b/>" * 1000)
    with pytest.raises(ValueError, match="larger than 20 MB"):
        musicxml_lead_sheet(b" " * 20_000_001)


def test_a_compressed_file_that_would_fill_the_memory_is_refused() -> None:
    packed = mxl({"score.xml": b" " * 100_000_000})
    tracemalloc.start()
    try:
        with pytest.raises(ValueError, match="larger than 20 MB when unpacked"):
            musicxml_lead_sheet(packed)
        assert tracemalloc.get_traced_memory()[1] < 60_000_000
    finally:
        tracemalloc.stop()
    lying = packed.replace(struct.pack("<I", 100_000_000), struct.pack("<I", 10))
    assert lying != packed
    with pytest.raises(ValueError):
        musicxml_lead_sheet(lying)
    with pytest.raises(ValueError, match="more than 1000 files"):
        musicxml_lead_sheet(mxl({str(number): b"" for number in range(1001)}))


@pytest.mark.parametrize(
    ("packed", "said"),
    [
        (mxl({"score.xml": b"x"}, None), "no 'META-INF/container.xml'"),
        (mxl({"score.xml": b"x"}, "other.xml"), "no 'other.xml' in it"),
        (mxl({"score.xml": b"x"}, "../../etc/passwd"), "no '../../etc/passwd' in it"),
        (mxl({"META-INF/container.xml": b"<container/>"}, None), "names no score"),
        (mxl({"score.xml": mxl({"score.xml": score(WHOLE)})}), "this is not XML"),
    ],
)
def test_a_compressed_file_without_a_score_is_refused(packed: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        musicxml_lead_sheet(packed)


@pytest.mark.parametrize("packed", [False, True])
def test_a_damaged_file_gives_a_tune_or_an_error(packed: bool) -> None:
    """Bytes changed, taken out and doubled at random places, in a plain file and in a compressed one"""
    chance = random.Random(31)
    whole = (MATERIAL / "offcuts.musicxml").read_bytes()
    whole = mxl({"score.xml": whole}) if packed else whole
    read = 0
    for _ in range(400):
        data = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(data))
            match chance.randrange(3):
                case 0:
                    data[at] = chance.randrange(256)
                case 1:
                    del data[at : at + chance.randint(1, 200)]
                case 2:
                    data[at:at] = data[at : at + chance.randint(1, 200)]
        try:
            musicxml_lead_sheet(bytes(data))
            read += 1
        except ValueError as error:
            assert "\n" not in str(error)
    assert read < 400


NUMBERS = st.sampled_from(["", "0", "-1", "1", "3", "99999999999999999999", "1e400", "nan", "0.3", "½", "4/4", "C"])


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_score_with_any_numbers_gives_a_tune_or_an_error(data: st.DataObject) -> None:
    """Some of the numbers and names in a sound file are replaced"""
    text = (MATERIAL / "offcuts.musicxml").read_text(encoding="utf-8")
    places = list(re.finditer(r'(?<=>)[^<>\n]+(?=<)|(?<==")[^"]+', text))
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.sampled_from(places))
        text = text[: place.start()] + data.draw(NUMBERS) + text[place.end() :]
        places = list(re.finditer(r'(?<=>)[^<>\n]+(?=<)|(?<==")[^"]+', text))
    try:
        musicxml_lead_sheet(text.encode())
    except ValueError as error:
        assert "\n" not in str(error)


def test_intervals_of_chords_are_spelled() -> None:
    """A diminished seventh is spelled as one: C E♭ G♭ B𝄫 (common practice)"""
    [timed] = musicxml_lead_sheet(score(harmony("diminished-seventh") + REST)).chords
    assert timed.chord.intervals[-1] == SpelledInterval.parse("diminished seventh")
