"""A tune's form in MusicXML: its bars as they are printed, with repeats, endings, sections and jumps.

Read back by music21, which plays repeats through by its own rules, and engraved by Verovio.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree

import music21
import pytest
from test_musicxml import check, parsed, schema  # noqa: F401 - a fixture

from tunelib.export.engrave import engrave_svg
from tunelib.export.lead import Lead
from tunelib.export.musicxml import musicxml_text
from tunelib.harmony.chords import Chord
from tunelib.harmony.form import FormBar
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.tune import LeadSheet
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import equal
from tunelib.score import Score, ScoreNote

HALF = Fraction(1, 2)


def bar(chords: str, melody: str, beats: int = 4, **form: object) -> WrittenBar:
    """A bar in which chords share the beats, and notes too; a dot holds the one before, and - is a rest."""
    written = WrittenBar("", Fraction(beats), **form)  # type: ignore[arg-type]
    for place, symbol in enumerate(chords.split()):
        offset = Fraction(beats * place, len(chords.split()))
        written.chords.append(WrittenChord(offset, Chord.parse(symbol), symbol, 0, 0))
    share = Fraction(beats, len(melody.split()))
    for place, name in enumerate(melody.split()):
        if name != "-":
            note = None if name == "." else Note.parse(name)
            written.melody.append(WrittenNote(place * share, share, note, note is None, 0, 0))
    return written


BARS = [
    bar("", "F4 G4", beats=1),
    bar("Bbmaj7", "A4 B4 C5 D5", opens=True, section="A"),
    bar("Cm7 F7", "C5 Bb4"),
    bar("Bb6", ". A4", endings=(1,), times=2),
    bar("Bb6", ". G4", endings=(2,), double=True),
    bar("Ebmaj7", "G4", section="B"),
    bar("", "F4 - - -"),
]


def played(bars: Sequence[WrittenBar], beats: int = 4) -> LeadSheet:
    return written_out(bars, "Trial", 132, beats, Key(Note.named("B♭")))


def printed(sheet: LeadSheet, form: Sequence[FormBar] | None = None, **lead: object) -> str:
    """The melody and the chords of a tune as MusicXML."""
    notes = tuple(ScoreNote(n.onset, n.duration, n.note.hz(equal(24)), n.note) for n in sheet.melody)
    score = Score(notes, sheet.tempo, sheet.beats_per_bar, sheet.title)
    chords = [(chord.onset, chord.chord) for chord in sheet.chords]
    return musicxml_text(
        score,
        lead=Lead({"melody": "treble"}, sheet.key, chords, form or sheet.written_bars, **lead),  # type: ignore[arg-type]
    )


def sung(part: music21.stream.Stream) -> list[tuple[str, Fraction, Fraction]]:
    """Every note with its beat and length, ties joined."""
    return [
        (note.pitch.nameWithOctave, Fraction(note.offset), Fraction(note.quarterLength))
        for note in part.flatten().stripTies().notes
        if not isinstance(note, music21.harmony.ChordSymbol)
    ]


def measures(text: str) -> list[ElementTree.Element]:
    return ElementTree.fromstring(text).findall("part/measure")


def test_the_form_keeps_to_the_schema(schema) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    sheet = played(BARS)
    form = [replace(one, marks=("segno", "coda")) for one in sheet.form]
    for jump in ("to coda", "fine", "D.C.", "D.S.", "D.C. al fine", "D.S. al fine", "D.C. al coda", "D.S. al coda"):
        form[4] = replace(form[4], marks=(jump,))
        check(schema, printed(sheet, form, style="Medium swing", repeats_bars=True))
    check(schema, printed(sheet, slashed=("melody",)))


def test_each_bar_is_written_once_with_its_number() -> None:
    """A pickup is bar 0, which is not counted (MusicXML 4.0, attribute implicit)"""
    found = measures(printed(played(BARS)))
    assert [one.get("number") for one in found] == ["0", "1", "2", "3", "4", "5", "6"]
    assert [one.get("implicit") for one in found] == ["yes", *[None] * 6]


def test_played_through_by_music21_it_is_the_tune() -> None:
    """Repeats and endings expanded by music21: the notes at the beats at which the lead sheet has them"""
    sheet = played(BARS)
    part = parsed(printed(sheet)).parts[0].expandRepeats()
    late = 3  # the pickup has no silence before it
    assert sung(part) == [
        (note.note.name.replace("♭", "-") + str(note.note.octave), note.onset - late, note.duration)
        for note in sheet.melody
    ]


def test_a_bar_that_completes_another_has_its_number_and_is_not_counted() -> None:
    bars = [bar("Bb", "A4"), bar("Eb", "B4 C5 D5", beats=3, times=2), bar("", "F4", beats=1), bar("Bb", "A4")]
    found = measures(printed(played(bars)))
    assert [(one.get("number"), one.get("implicit")) for one in found] == [
        ("1", None), ("2", None), ("2", "yes"), ("3", None),
    ]  # fmt: skip
    assert [len(one.findall("note")) for one in found] == [1, 3, 1, 1]


def test_repeats_endings_and_bar_lines() -> None:
    found = {
        one.get("number"): [
            (
                line.get("location"),
                line.findtext("bar-style"),
                [tuple(sorted(ending.items())) for ending in line.findall("ending")],
                [dict(repeat.items()) for repeat in line.findall("repeat")],
            )
            for line in one.findall("barline")
        ]
        for one in measures(printed(played(BARS)))
    }
    start, stop = (lambda n, kind=kind: [(("number", n), ("type", kind))] for kind in ("start", "stop"))
    assert found == {
        "0": [],
        "1": [("left", "heavy-light", [], [{"direction": "forward"}])],
        "2": [],
        "3": [("left", None, start("1"), []), ("right", "light-heavy", stop("1"), [{"direction": "backward"}])],
        "4": [("left", None, start("2"), []), ("right", "light-light", stop("2"), [])],
        "5": [],
        "6": [("right", "light-heavy", [], [])],
    }


@pytest.mark.parametrize(
    ("last", "bracket"),
    [
        ([bar("Bb", "A4"), bar("Bb", "A4"), bar("Bb", "A4")], ("5", "discontinue")),  # as long as the first
        ([bar("Bb", "A4")], ("5", "stop")),  # the end
        ([bar("Bb", "A4", section="B"), bar("Bb", "A4")], ("4", "discontinue")),
        ([bar("Bb", "A4", opens=True, times=2), bar("Bb", "A4")], ("4", "discontinue")),
    ],
)
def test_the_bracket_of_a_last_ending_stops_in_time(last: list[WrittenBar], bracket: tuple[str, str]) -> None:
    """Common practice: it is as long as the one before, and goes over no section and no repeat"""
    first = [bar("F7", "C5", endings=(1,)), bar("Bb", "A4", times=2)]
    second = [bar("F7", "C5", endings=(2,)), *last]
    text = printed(played([bar("Cm7", "C5"), *first, *second]))
    stops = [
        (one.get("number"), ending.get("type"))
        for one in measures(text)
        for ending in one.findall("barline/ending")
        if ending.get("number") == "2" and ending.get("type") != "start"
    ]
    assert stops == [bracket]


def test_a_repeat_of_three_times_says_so_and_an_ending_of_two_has_both_numbers() -> None:
    bars = [bar("Cm7", "C5"), bar("F7", "A4", endings=(1, 2), times=3), bar("Bb", "A4", endings=(3,))]
    text = printed(played(bars))
    assert '<ending number="1,2" type="start">1. 2.</ending>' in text
    assert '<repeat direction="backward" times="3" />' in text


def test_a_chord_that_holds_from_elsewhere_is_written_again() -> None:
    """At a second ending, which is read after the first, a player has to be told what still sounds"""
    bars = [bar("Cm7", "C5"), bar("F7", "A4", endings=(1,), times=2), bar("", "C5", endings=(2,))]
    found = [[kind.get("text") for kind in one.findall("harmony/kind")] for one in measures(printed(played(bars)))]
    assert found == [["m7"], ["7"], ["m7"]]


def test_ties_into_another_ending_and_over_a_repeat_are_written_where_they_can_be() -> None:
    """One that leads to a second ending only stops; a note that rings on in a bar printed elsewhere has its own sign"""
    _, _, _, first, second, *_ = measures(printed(played(BARS)))
    assert [tie.get("type") for tie in first.findall("note/tie")] == ["stop"]
    assert [tie.get("type") for tie in second.findall("note/tie")] == ["stop"]
    assert [note.findtext("accidental") for note in second.findall("note")] == [None, None]
    flat = [bar("Cm7", "Db5"), bar("F7", ". C5", endings=(1,), times=2), bar("F7", ". Bb4", endings=(2,))]
    signs = [[note.findtext("accidental") for note in one.findall("note")] for one in measures(printed(played(flat)))]
    assert signs == [["flat"], [None, None], ["flat", None]]  # over a bar line the tie says it
    back = [bar("Cm7", ". C5", opens=True), bar("F7", "C5", times=2)]
    back[0].melody[0] = replace(back[0].melody[0], note=Note.parse("C5"))
    found = measures(printed(played(back)))
    assert [tied.get("type") for tied in found[1].findall("note/notations/tied")] == ["let-ring"]
    assert not found[1].findall("note/tie")


def test_signs_and_words_are_where_players_look_for_them() -> None:
    sheet = played(BARS)
    form = list(sheet.form)
    form[1] = replace(form[1], marks=("segno",))
    form[2] = replace(form[2], marks=("to coda",))
    form[4] = replace(form[4], marks=("D.S. al coda",))
    form[5] = replace(form[5], marks=("coda",))
    found = measures(printed(sheet, form, style="Medium swing"))
    tags = [[child.tag for child in one if child.tag in ("direction", "note", "harmony")] for one in found]
    assert tags[1][:2] == ["direction", "direction"] and tags[2][-1] == tags[4][-1] == "direction"
    said = [[words.text for words in one.iter() if words.tag in ("words", "rehearsal")] for one in found]
    assert said == [["Medium swing\xa0"], ["A"], ["To Coda"], [], ["D.S. al Coda"], ["B"], []]
    assert [one.attrib for one in ElementTree.fromstring(printed(sheet, form)).iter("sound")] == [
        {"tempo": "132"}, {"segno": "segno"}, {"tocoda": "coda"}, {"dalsegno": "segno"}, {"coda": "coda"},
    ]  # fmt: skip
    assert 'enclosure="square"' in printed(sheet, form)


def test_verovio_draws_it() -> None:
    sheet = played(BARS)
    form = [*sheet.form[:5], replace(sheet.form[5], marks=("coda",)), sheet.form[6]]
    [svg] = engrave_svg(printed(sheet, form, style="Medium swing"))
    assert svg.count('class="ending systemMilestone"') == 2
    assert svg.count('class="reh') == 2
    assert len(re.findall(r'class="measure', svg)) == 7
    assert "Medium swing" in svg


def test_without_a_form_bars_are_written_as_they_are_played() -> None:
    sheet = parse_lead_sheet("| Dm7 | G7 :|\nmelody: | D4:4 | B4:4 |")
    bare = replace(sheet, form=())
    text = printed(bare)
    assert [one.get("number") for one in measures(text)] == ["1", "2", "3", "4"]
    assert [one.get("number") for one in measures(printed(sheet))] == ["1", "2"]
    assert "<repeat" not in text


def test_a_players_part_has_key_and_chords_as_that_player_reads_them() -> None:
    """music21 takes both back to sounding pitch"""
    sheet = played(BARS)
    notes = tuple(ScoreNote(n.onset, n.duration, n.note.hz(), n.note) for n in sheet.melody)
    lead = Lead(
        {"melody": "treble"}, sheet.key, [(chord.onset, chord.chord) for chord in sheet.chords], sheet.written_bars
    )
    text = musicxml_text(Score(notes, 132, 4), instrument("alto saxophone"), lead=lead)
    root = ElementTree.fromstring(text)
    assert root.findtext(".//fifths") == "1"
    assert [root.findtext(f".//harmony/root/{tag}") for tag in ("root-step", "root-alter")] == ["G", None]
    sounding = parsed(text).toSoundingPitch()
    assert [note.pitch.nameWithOctave for note in sounding.recurse().notes if note.isNote][:3] == ["F4", "G4", "A4"]
    assert next(iter(sounding.recurse().getElementsByClass("ChordSymbol"))).root().name == "B-"
    assert "<notehead>" not in text


def chart(symbols: Sequence[str], new_lines: Sequence[int] = (), **lead: object) -> list[ElementTree.Element]:
    """The bars of a part of held chords, one chord a bar; N.C. is a bar of rest."""
    sheet = parse_lead_sheet(f"| {' | '.join(symbols)} |")
    notes = [
        ScoreNote(chord.onset, chord.duration, note.hz(), note, "chords")
        for chord in sheet.chords
        for note in chord.chord.notes
    ]
    chords = [(chord.onset, chord.chord) for chord in sheet.chords]
    lead_sheet = Lead({"chords": "treble"}, sheet.key, chords, **lead)  # type: ignore[arg-type]
    return measures(musicxml_text(Score(tuple(notes)), lead=lead_sheet, new_lines=new_lines))


def test_slashes_stand_for_each_beat_that_is_played() -> None:
    found = chart(["Dm7", "N.C.", "G7"], slashed=("chords",))
    heads = [[note.findtext("notehead") for note in one.findall("note")] for one in found]
    assert heads == [["slash"] * 4, [None], ["slash"] * 4]
    assert [[slash.get("type") for slash in one.iter("slash")] for one in found] == [
        ["start"], ["stop"], ["start", "stop"],
    ]  # fmt: skip
    assert not any(one.findall("note/pitch") for one in found)


def test_a_bar_like_the_one_before_is_a_repeat_sign_and_keeps_its_notes() -> None:
    """At most four in sequence, and none where a line begins"""
    found = chart(["Dm7", *["%"] * 7, "G7", "G7"], repeats_bars=True)
    assert [[sign.get("type") for sign in one.iter("measure-repeat")] for one in found] == [
        [], ["start"], [], [], [], ["stop"], ["start"], [], ["stop"], ["start", "stop"],
    ]  # fmt: skip
    assert [len(one.findall("harmony")) for one in found] == [1, 0, 0, 0, 0, 1, 0, 0, 1, 0]
    assert [len(one.findall("note")) for one in found] == [4] * 10
    found = chart(["Dm7", "%", "%"], new_lines=(3,), repeats_bars=True)
    assert [[sign.get("type") for sign in one.iter("measure-repeat")] for one in found] == [[], ["start"], ["stop"]]


def test_slashes_to_the_end_do_not_go_on_in_the_part_below() -> None:
    """A bar of rest there is drawn as a rest"""
    upper, lower = (ScoreNote(start, 4, 440, Note.parse("A4"), voice) for start, voice in ((0, "upper"), (0, "lower")))
    score = Score((upper, replace(upper, onset=4), lower))
    lead = Lead({"upper": "treble", "lower": "treble"}, Key(Note.named("C")), slashed=("upper",))
    [svg] = engrave_svg(musicxml_text(score, lead=lead))
    assert len(re.findall(r'class="mRest[ "]', svg)) == 1
    assert not re.findall(r'class="beatRpt[ "]', svg)


def test_verovio_draws_slashes_and_repeat_signs() -> None:
    sheet = parse_lead_sheet("| Dm7 | % | N.C. | G7 |")
    notes = [ScoreNote(chord.onset, 4, 440, Note.parse("A4"), "chords") for chord in sheet.chords]
    lead = Lead({"chords": "treble"}, sheet.key, [(c.onset, c.chord) for c in sheet.chords], (), "", ("chords",), True)
    text = musicxml_text(Score(tuple(notes)), lead=lead)
    [svg] = engrave_svg(text)
    assert len(re.findall(r'class="mRpt[ "]', svg)) == 1
    assert len(re.findall(r'class="mRest[ "]', svg)) == 1
    assert len(re.findall(r'class="note[ "]', svg)) == 8
