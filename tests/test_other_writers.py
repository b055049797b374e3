"""Lead sheets from MusicXML as other programs write it: their chords, their jumps, and what has to be left out.

`scores/` has two files that were made by general libraries for notation, each by its own writer, and are kept as they
came: partitura 1.9.0 (chords as ``<kind text=...>none``, endings, a pickup, a grace note) and pymusicxml 0.5.6 (degrees
added and altered, a triplet, jumps in words alone). music21, which the tests install, writes a third one here and plays
its jumps itself.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree
from music21 import bar, converter, expressions, harmony, key, metadata, meter, note, repeat, stream, tempo
from test_form import assert_read_back
from test_musicxml import check, schema  # noqa: F401  (a fixture)

from tunelib.commands.line import main
from tunelib.harmony import Chord, musicxml_lead_sheet, read_lead_sheet

SCORES = Path(__file__).parent / "scores"


def test_a_file_by_partitura() -> None:
    sheet = read_lead_sheet(SCORES / "partitura_1_9_0.musicxml")
    assert [chord.symbol for chord in sheet.chords] == [
        "Bbmaj7", "Gm7b5", "C7b9", "F7sus4/C", "Bbmaj7", "Gm7b5", "C7b9", "Bb6/D"
    ]  # fmt: skip
    assert [chord.onset for chord in sheet.chords] == [4, 8, 10, 12, 16, 20, 22, 24]
    assert [(one.number, one.opens, one.times, one.endings) for one in sheet.form] == [
        (0, False, 1, ()), (1, True, 1, ()), (2, False, 1, ()), (3, False, 2, (1,)), (4, False, 1, (2,))
    ]  # fmt: skip
    assert (sheet.melody[0].onset, sheet.melody[0].bar) == (3, 0)
    assert sheet.remarks == ("1 grace note left out: measure 2",)
    assert_read_back(sheet)


def test_a_file_by_pymusicxml() -> None:
    sheet = read_lead_sheet(SCORES / "pymusicxml_0_5_6.musicxml")
    once = ["G7#5", "Cm7b5", "F9b5"]
    assert [chord.symbol for chord in sheet.chords] == [*once, "Bb9sus4", "Ebadd9", "Dm7b5", *once]
    assert [one.marks for one in sheet.form] == [("segno",), (), ("fine",), (), ("D.S. al fine",)]
    assert [one.double for one in sheet.form] == [False, False, True, False, False]
    assert [n.duration for n in sheet.melody if n.bar == 3][:5] == [1, *[Fraction(1, 3)] * 3, 1]
    assert_read_back(sheet)


FIGURES = [bar.split() for bar in "F|Dm7|GmM7 C7b9|Am7b5 D7#5|B-7sus4|B-m6|F/A A-o7|Gø7 C7".split("|")]


def test_a_file_by_music21_is_played_as_music21_plays_it(tmp_path: Path) -> None:
    """With a pickup, quintuplets, sections, a double bar and a D.S. al Coda that it has in signs and words alone"""
    part = stream.Part()
    pickup = stream.Measure(number=0)
    pickup.append([meter.TimeSignature("4/4"), key.Key("F"), tempo.MetronomeMark(number=132), note.Note("C5")])
    measures = [pickup]
    for number, figures in enumerate(FIGURES, start=1):
        measure = stream.Measure(number=number)
        measure.append([note.Note("A4", quarterLength=0.2) for _ in range(5)])
        measure.append(note.Note("C5", quarterLength=3))
        for place, figure in enumerate(figures):
            measure.insert(4 / len(figures) * place, harmony.ChordSymbol(figure))
        measures.append(measure)
    for number, place, sign in (
        (1, 0, expressions.RehearsalMark("A")),
        (2, 0, repeat.Segno()),
        (3, 4, repeat.Coda()),
        (5, 0, expressions.RehearsalMark("Bridge")),
        (5, 0, note.Note("D5").getGrace()),
        (7, 4, repeat.DalSegnoAlCoda()),
        (8, 0, repeat.Coda()),
    ):
        measures[number].insert(place, sign)
    measures[4].rightBarline = bar.Barline("double")
    part.append(measures)
    score = stream.Score([part])
    score.metadata = metadata.Metadata(title="Offcut")
    path = score.write("musicxml", fp=tmp_path / "tune.musicxml")
    sheet = read_lead_sheet(path)
    theirs = converter.parse(path).parts[0].expandRepeats().recurse().getElementsByClass(harmony.ChordSymbol)
    assert [{n.quartertones // 2 % 12 for n in chord.chord.notes} for chord in sheet.chords] == [
        {p.pitchClass for p in chord.pitches} for chord in theirs
    ]
    assert [chord.symbol for chord in sheet.chords][:10] == [
        "F", "Dm7", "Gmmaj7", "C7b9", "Am7b5", "D7#5", "Bb7sus4", "Bbm6", "F/A", "Abdim7"
    ]  # fmt: skip
    assert [one.number for one in sheet.form] == list(range(9))
    assert [(one.number, one.section) for one in sheet.form if one.section] == [(1, "A"), (5, "Bridge")]
    assert [one.number for one in sheet.form if one.double] == [4]
    assert [n.onset for n in sheet.melody[:4]] == [3, 4, Fraction(21, 5), Fraction(22, 5)]
    assert sheet.remarks == ("1 grace note left out: measure 5",)
    assert (sheet.title, sheet.tempo) == ("Offcut", 132)
    assert_read_back(sheet)


# Jumps, sections and bar lines


def direction(*types: str, sound: str = "", offset: str = "") -> str:
    inner = "".join(f"<direction-type>{one}</direction-type>" for one in types)
    return f"<direction>{inner}{offset}{f'<sound {sound}/>' if sound else ''}</direction>"


def words(text: str) -> str:
    return f"<words>{text}</words>"


def measure(number: int, root: str, before: str = "", after: str = "", left: str = "", right: str = "") -> str:
    edges = [
        f'<barline location="{side}">{inner}</barline>' if inner else ""
        for side, inner in (("left", left), ("right", right))
    ]
    return (
        f'<measure number="{number}">{edges[0]}'
        + ("<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
           if number == 1 else "")
        + f"{before}<harmony><root><root-step>{root}</root-step></root><kind>major</kind></harmony>"
        + "<note><pitch><step>C</step><octave>5</octave></pitch><duration>16</duration><voice>1</voice></note>"
        + f"{after}{edges[1]}</measure>"
    )  # fmt: skip


def score(*measures: str, parts: str = "", listed: str = "") -> str:
    return (
        '<score-partwise version="4.0"><part-list>'
        f'{listed}<score-part id="P1"><part-name>Voice</part-name></score-part></part-list>{parts}'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>'
    )


def played(text: str) -> str:
    return "".join(chord.symbol for chord in musicxml_lead_sheet(text.encode()).chords)


SEGNO, CODA = "<segno/>", "<coda/>"


@pytest.mark.parametrize(
    ("measures", "order"),
    [
        ([("C", "", ""), ("D", "", direction(words("D.C."), sound='dacapo="yes"'))], "CDCD"),
        ([("C", "", direction(words("Fine"), sound='fine="yes"')), ("D", "", "<sound dacapo='yes'/>")], "CDC"),
        ([("C", "", ""), ("D", direction(SEGNO, sound='segno="s"'), ""),
          ("E", "", direction(words("To Coda"), sound='tocoda="c"')),
          ("F", "", direction(words("D.S. al Coda"), sound='dalsegno="s"')),
          ("G", direction(CODA, sound='coda="c"'), "")], "CDEFDEG"),
        ([("C", "", ""), ("D", direction(SEGNO), ""), ("E", "", direction(CODA)),
          ("F", "", direction(words("Dal Segno al Coda"))), ("G", direction(CODA), "")], "CDEFDEG"),
        ([("C", "", ""), ("D", direction(words("To"), CODA), ""), ("E", "", direction(words("D.C. al"), CODA)),
          ("F", direction(CODA), "")], "CDECF"),
        ([("C", "", direction(words("To Coda")) + direction(CODA)), ("D", "", direction(words("D.C. al Coda"))),
          ("E", direction(words("Coda"), CODA), "")], "CDCE"),
        ([("C", "", direction(SEGNO)), ("D", "", direction(words("D.S."), SEGNO))], "CDD"),
        ([("C", "", ""), ("D", "", direction(words("D.C. al Fine (no repeats)"))), ("E", direction(words("Fine")), "")],
         "CDCDE"),
        ([("C", "", ""), ("D", "", direction(words("slowly"), sound='tempo="60" fine="no"'))], "CD"),
    ],
)  # fmt: skip
def test_jumps_in_sounds_signs_and_words_are_played(
    schema: etree.XMLSchema,  # noqa: F811
    measures: list[tuple[str, str, str]],
    order: str,
) -> None:
    text = score(*(measure(number, *one) for number, one in enumerate(measures, start=1)))
    check(schema, text)
    assert played(text) == order
    assert_read_back(musicxml_lead_sheet(text.encode()))


def test_a_direction_counts_where_it_stands() -> None:
    """An offset moves it; to coda at the beginning of a bar leads away before it, a segno at its end is for the next"""
    back = direction(words("To Coda"), offset="<offset>-16</offset>")
    text = score(
        measure(1, "C", "", direction(SEGNO)),
        measure(2, "D"),
        measure(3, "E", "", back),
        measure(4, "F", "", direction(words("D.S. al Coda"))),
        measure(5, "G", direction(CODA)),
    )
    assert played(text) == "CDEFDG"


def test_marks_on_bar_lines_sections_and_double_bars() -> None:
    rehearsal = "<rehearsal>{}</rehearsal>"
    text = score(
        measure(1, "C", direction(rehearsal.format("A [1]"))),
        measure(2, "D", left="<bar-style>light-light</bar-style><segno/>"),
        measure(3, "E", direction(rehearsal.format("Verse  two")), right="<bar-style>light-light</bar-style>"),
        measure(4, "F", "", direction(words("D.S.")), right="<bar-style>light-heavy</bar-style>"),
    )
    form = musicxml_lead_sheet(text.encode()).form
    assert [one.section for one in form] == ["A 1", "", "Verse two", ""]
    assert [one.double for one in form] == [True, False, True, False]
    assert [one.marks for one in form] == [(), ("segno",), (), ("D.S.",)]
    assert played(text) == "CDEFDEF"


# Chords


def chord(kind: str, degrees: str = "", text: str = "") -> str:
    symbol = f' text="{text}"' if text else ""
    inner = f"<root><root-step>C</root-step></root><kind{symbol}>{kind}</kind>{degrees}"
    body = measure(1, "C").replace("<root><root-step>C</root-step></root><kind>major</kind>", inner)
    return musicxml_lead_sheet(score(body).encode()).chords[0].symbol


def degree(value: int, alter: int, action: str) -> str:
    return (
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{action}</degree-type></degree>"
    )


@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        ("minor-seventh", degree(5, -1, "add"), "Cm7b5"),
        ("minor-seventh", degree(5, -1, "alter"), "Cm7b5"),
        ("dominant", degree(5, 1, "add"), "C7#5"),
        ("dominant", degree(5, -1, "add"), "C7b5"),
        ("dominant-ninth", degree(5, 1, "add"), "C9#5"),
        ("dominant-ninth", degree(9, -1, "add"), "C7b9"),
        ("dominant-13th", degree(9, -1, "add") + degree(11, 1, "add"), "C13b9#11"),
        ("major-seventh", degree(5, 1, "add"), "Cmaj7#5"),
        ("major-seventh", degree(11, 1, "add"), "Cmaj7#11"),
        ("minor", degree(7, 1, "add"), "Cmmaj7"),
        ("suspended-fourth-seventh", "", "C7sus4"),
        ("suspended-fourth-seventh", degree(9, -1, "add"), "C7sus4b9"),
        ("half-diminished-seventh", "", "Cm7b5"),
        ("minor-major-seventh", "", "Cmmaj7"),
        ("augmented-major-seventh", "", "Cmaj7#5"),
    ],
)
def test_chords_as_other_programs_write_them(kind: str, degrees: str, symbol: str) -> None:
    assert Chord.parse(chord(kind, degrees)) == Chord.parse(symbol)


@pytest.mark.parametrize("kind", ["none", "other", ""])
def test_a_chord_of_no_kind_is_what_is_printed(kind: str) -> None:
    assert chord(kind, text="m7b5") == "Cm7b5"
    assert chord(kind, text="7(b9)") == "C7b9"


def test_no_chord_is_none_whatever_is_printed() -> None:
    text = score(measure(1, "C"), measure(2, "D").replace("<kind>major", '<kind text="N.C.">none'))
    assert [(one.symbol, one.duration) for one in musicxml_lead_sheet(text.encode()).chords] == [("C", 4)]


# What is left out, and durations


def test_percussion_is_left_out_and_said_and_its_form_is_kept() -> None:
    listed = '<score-part id="P0"><part-name>Drum set</part-name></score-part>'
    hit = (
        "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
        "<duration>4</duration></note>"
    )
    bars = (
        f'<measure number="1"><attributes><divisions>1</divisions><clef><sign>percussion</sign></clef></attributes>'
        f"{direction('<rehearsal>A</rehearsal>')}{hit}</measure>"
        f'<measure number="2">{hit}<barline location="right"><repeat direction="backward"/></barline></measure>'
    )
    text = score(measure(1, "C"), measure(2, "D"), parts=f'<part id="P0">{bars}</part>', listed=listed)
    sheet = musicxml_lead_sheet(text.encode())
    assert sheet.remarks == ("the part Drum set is left out: it is percussion",)
    assert [one.symbol for one in sheet.chords] == list("CDCD")
    assert len(sheet.melody) == 4
    assert (sheet.form[0].section, sheet.form[1].times) == ("A", 2)


def test_percussion_on_a_staff_of_the_melody_is_left_out_and_said() -> None:
    """Its voice comes first, and has the number of the melody's on another staff"""
    hit = (
        "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
        "<duration>8</duration><voice>1</voice><staff>2</staff></note>"
    )
    back = "<backup><duration>16</duration></backup>"
    sheet = musicxml_lead_sheet(score(measure(1, "C", hit + hit + back), measure(2, "D")).encode())
    assert [(one.onset, one.note.typed) for one in sheet.melody] == [(0, "C5"), (4, "C5")]
    assert sheet.remarks == ("2 percussion notes left out: measure 1",)


def test_slashes_cues_and_grace_notes_are_left_out_and_said() -> None:
    pitch = "<pitch><step>B</step><octave>4</octave></pitch>"
    slash = f"<note>{pitch}<duration>8</duration><voice>1</voice><notehead>slash</notehead></note>"
    cue = f"<note><cue/>{pitch}<duration>16</duration><voice>1</voice></note>"
    grace = f"<note><grace/>{pitch}<voice>1</voice></note>"
    whole = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>16</duration><voice>1</voice></note>"
    text = score(
        measure(1, "C", grace + grace),
        measure(2, "D").replace(whole, slash + slash),
        measure(3, "E").replace(whole, cue),
        measure(4, "F", grace),
    )
    sheet = musicxml_lead_sheet(text.encode())
    assert [one.onset for one in sheet.melody] == [0, 12]
    assert sheet.remarks == (
        "3 grace notes left out: measures 1, 4", "2 slashed notes left out: measure 2", "1 cue note left out: measure 3"
    )  # fmt: skip


def test_the_command_says_what_is_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tune = SCORES / "partitura_1_9_0.musicxml"
    assert main(["retune", str(tune), "--compare", "12"]) == 0
    assert f"{tune.name}: 1 grace note left out: measure 2\n" in capsys.readouterr().err


def test_a_duration_that_was_rounded_is_the_note_value_that_it_stands_for() -> None:
    """Seven in a beat of 480 divisions"""
    pitch = "<pitch><step>B</step><octave>4</octave></pitch>"
    ratio = "<time-modification><actual-notes>7</actual-notes><normal-notes>4</normal-notes></time-modification>"
    lengths = [69, 68, 69, 68, 69, 68, 69]
    notes = (
        "".join(f"<note>{pitch}<duration>{length}</duration><type>16th</type>{ratio}</note>" for length in lengths)
        + f"<note>{pitch}<duration>1440</duration><type>half</type><dot/></note>"
    )
    text = score(measure(1, "C").replace("<divisions>4", "<divisions>480"))
    whole = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>16</duration><voice>1</voice></note>"
    sheet = musicxml_lead_sheet(text.replace(whole, notes).encode())
    assert [one.onset for one in sheet.melody] == [*(Fraction(n, 7) for n in range(7)), 1]
    with pytest.raises(ValueError, match=r"^line 1, column \d+: in bar 1 something begins or ends 23/160 into a beat"):
        musicxml_lead_sheet(text.replace(whole, notes.replace(ratio, "")).encode())


def test_a_measure_without_a_number_is_counted() -> None:
    text = score(measure(1, "C"), measure(2, "H").replace(' number="2"', ""))
    with pytest.raises(ValueError, match=r"^measure 2 \(line 1"):
        musicxml_lead_sheet(text.encode())
