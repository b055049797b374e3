"""MusicXML against its schema, and read back by music21."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from itertools import groupby
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import music21
import pytest
from cents_by_hand import key_of
from lxml import etree

from tunelib.arrange.play_along import overtone_sheet
from tunelib.arrange.written_score import written_score
from tunelib.export.musicxml import musicxml_text, write_musicxml
from tunelib.export.sheet_files import sheet_musicxml
from tunelib.export.staff_clefs import octave_sign
from tunelib.export.staff_writer import ACCIDENTALS
from tunelib.export.tune_files import tune_musicxml
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import retune
from tunelib.pitch.instruments import INSTRUMENTS, Instrument, instrument
from tunelib.pitch.notes import Note, spell, spell_near
from tunelib.pitch.tunings import equal
from tunelib.pitch.words import signed
from tunelib.practice.tune_panel import FIRST_TUNE
from tunelib.score import Score, ScoreNote, sequence

# The schema imports two small ones, for attributes such as xml:lang and xlink:href, which are not in the package.
STUBS = {
    "xml.xsd": ("http://www.w3.org/XML/1998/namespace", ("lang", "space")),
    "xlink.xsd": ("http://www.w3.org/1999/xlink", ("href", "type", "role", "title", "show", "actuate")),
}


class Imported(etree.Resolver):
    def resolve(self, url: str, public_id: str, context: Any) -> Any:
        name = url.rsplit("/", 1)[-1]
        if name not in STUBS:
            return None
        namespace, attributes = STUBS[name]
        declared = "".join(f'<xs:attribute name="{a}" type="xs:string"/>' for a in attributes)
        xs = 'xmlns:xs="http://www.w3.org/2001/XMLSchema"'
        return self.resolve_string(f'<xs:schema {xs} targetNamespace="{namespace}">{declared}</xs:schema>', context)


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """The MusicXML 4.0 schema of the W3C Music Notation Community Group, as the package musicxml carries it."""
    parser = etree.XMLParser()
    parser.resolvers.add(Imported())
    text = files("musicxml").joinpath("generate_classes/musicxml_4_0.xsd").read_bytes()
    return etree.XMLSchema(etree.fromstring(text, parser))


def check(schema: etree.XMLSchema, text: str) -> None:
    schema.assertValid(etree.fromstring(text.encode()))


def parsed(text: str) -> music21.stream.Score:
    return music21.converter.parse(text, format="musicxml")


def named(text: str, **note: Any) -> ScoreNote:
    name = Note.parse(text)
    return ScoreNote(**{"onset": 0, "duration": 1, "hertz": name.hz(equal(24)), "name": name} | note)


PLAYERS = pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=INSTRUMENTS.keys())
RHYTHM = Score(
    (
        named("C4", duration=Fraction(1, 2)),
        named("E4", onset=Fraction(1, 2), duration=Fraction(1, 4)),
        named("G4", onset=Fraction(3, 4), duration=Fraction(1, 4)),
        named("A4", onset=1, duration=Fraction(1, 3)),
        named("B4", onset=Fraction(5, 3), duration=Fraction(1, 3)),
        named("C5", onset=2.5, duration=7.25),
        named("E5", onset=2.5, duration=7.25),
        named("F3", onset=4, duration=3),
        named("F#3", onset=11, duration=Fraction(1, 16), label="a & b < c"),
    ),
    tempo=72.5,
    title='Rhythm & "blues" <1>',
)
THIRTY_ONE = sequence(
    [(equal(31).hz(step), spell(step, equal(31))) for step in range(-20, 40)], title="Thirty-one", beats_per_bar=3
)


@PLAYERS
def test_every_instruments_part_keeps_to_the_schema(schema: etree.XMLSchema, player: Instrument) -> None:
    check(schema, sheet_musicxml(overtone_sheet(player, Note.parse("C2"), range(1, 33))))


@pytest.mark.parametrize("score", [RHYTHM, THIRTY_ONE], ids=["rhythm", "31"])
def test_other_scores_keep_to_the_schema(schema: etree.XMLSchema, score: Score) -> None:
    check(schema, musicxml_text(score, new_lines=(2, 4)))


def test_the_schema_check_can_fail(schema: etree.XMLSchema) -> None:
    with pytest.raises(etree.DocumentInvalid, match="half-sharp"):
        check(schema, musicxml_text(THIRTY_ONE).replace("quarter-sharp", "half-sharp"))


@PLAYERS
@pytest.mark.parametrize("fundamental", ["C2", "F2", "B♭2", "F#3"])
def test_every_instruments_part_sounds_the_harmonics(player: Instrument, fundamental: str) -> None:
    """music21 takes the written part to sounding pitch: the nearest semitone to each harmonic"""
    sheet = overtone_sheet(player, Note.parse(fundamental), range(1, 17))
    sounding = parsed(sheet_musicxml(sheet)).toSoundingPitch()
    numbers = [note.pitch.ps for note in sounding.recurse().notes]
    assert numbers == [round(key_of(row.hertz)) for row in sheet.rows for _ in range(2)]


@PLAYERS
def test_written_notes_are_the_sheets(player: Instrument) -> None:
    sheet = overtone_sheet(player, Note.parse("B♭2"), range(1, 17))
    root = ElementTree.fromstring(sheet_musicxml(sheet))
    for note, row in zip(root.findall(".//note[lyric]"), sheet.rows, strict=True):
        pitch = note.find("pitch")
        assert pitch is not None
        assert pitch.findtext("step") == row.written.letter
        assert float(pitch.findtext("alter", "0")) == row.written.half_sharps / 2
        assert int(pitch.findtext("octave", "")) == row.written.octave


@pytest.mark.parametrize(
    ("name", "diatonic", "chromatic", "octaves"),
    [
        ("trumpet", "-1", "-2", None),
        ("clarinet in A", "-2", "-3", None),
        ("clarinet in E♭", "2", "3", None),
        ("horn in F", "-4", "-7", None),
        ("alto saxophone", "-5", "-9", None),
        ("tenor saxophone", "-1", "-2", "-1"),
        ("baritone saxophone", "-5", "-9", "-1"),
        ("double bass", "0", "0", "-1"),
        ("piccolo", "0", "0", "1"),
        ("glockenspiel", "0", "0", "2"),
    ],
)
def test_transposition_is_letters_semitones_and_octaves(
    name: str, diatonic: str, chromatic: str, octaves: str | None
) -> None:
    """From written to sounding pitch (MusicXML 4.0, element transpose); the intervals are common practice"""
    player = instrument(name)
    root = ElementTree.fromstring(musicxml_text(sequence([(440, Note.parse("A4"))]), player))
    transpose = root.find(".//transpose")
    assert transpose is not None
    assert [transpose.findtext(tag) for tag in ("diatonic", "chromatic", "octave-change")] == [
        diatonic,
        chromatic,
        octaves,
    ]


@pytest.mark.parametrize("name", ["flute", "viola", "tenor voice", "cello"])
def test_an_instrument_written_where_it_sounds_has_no_transposition(name: str) -> None:
    text = musicxml_text(sequence([(220, Note.parse("A3"))]), instrument(name))
    assert "<transpose>" not in text
    clef = ElementTree.fromstring(text).find(".//clef")
    assert clef is not None
    read = [clef.findtext(tag) for tag in ("sign", "line", "clef-octave-change")]
    assert (
        read
        == {
            "flute": ["G", "2", None],
            "viola": ["C", "3", None],
            "tenor voice": ["G", "2", "-1"],
            "cello": ["F", "4", None],
        }[name]
    )


def test_thirty_one_comes_back_in_its_nominal_quarter_tones() -> None:
    """music21 reads a half-sharp as half a semitone, and its written name as ours"""
    notes = list(parsed(musicxml_text(THIRTY_ONE)).recurse().notes)
    assert [note.pitch.ps for note in notes] == [12 + n.name.quartertones / 2 for n in THIRTY_ONE.notes if n.name]
    signs = {note.pitch.accidental.name for note in notes if note.pitch.accidental}
    assert {"half-sharp", "half-flat", "sharp", "flat"} <= signs


@pytest.mark.parametrize("score", [RHYTHM, THIRTY_ONE], ids=["rhythm", "31"])
def test_written_note_and_cents_make_the_exact_pitch(score: Score) -> None:
    """To the rounding of the cents: nominal pitch as music21 reads it, and the words above"""
    for part in parsed(musicxml_text(score)).parts:
        above = {(e.measureNumber, e.offset): e.content for e in part.recurse().getElementsByClass("TextExpression")}
        for note in part.recurse().notes:
            if note.tie and note.tie.type != "start":
                continue
            words = above[note.measureNumber, note.offset].split("\n")
            for pitch, cents in zip(reversed(note.pitches), words, strict=True):
                exact = pitch.ps + float(cents.replace("−", "-")) / 100
                assert min(abs(exact - key_of(n.hertz)) for n in score.notes) < 0.00501


@pytest.mark.parametrize(
    ("half_sharps", "sign"),
    [
        (-4, "flat-flat"),
        (-3, "three-quarters-flat"),
        (-2, "flat"),
        (-1, "quarter-flat"),
        (1, "quarter-sharp"),
        (2, "sharp"),
        (3, "three-quarters-sharp"),
        (4, "double-sharp"),
    ],
)
def test_accidentals_have_the_schemas_names(half_sharps: int, sign: str) -> None:
    """accidental-value in the MusicXML 4.0 schema; alter is in semitones"""
    note = Note("D", half_sharps, 4)
    root = ElementTree.fromstring(musicxml_text(Score((ScoreNote(0, 4, 290, note),))))
    assert ACCIDENTALS[half_sharps] == root.findtext(".//accidental") == sign
    assert float(root.findtext(".//alter", "")) == half_sharps / 2


def test_an_accidental_holds_to_the_barline_and_is_taken_back_by_a_natural() -> None:
    """Common practice"""
    names = ["F#4", "F#4", "F4", "F#5", "F#4", "F#4", "F#4", "F4"]
    notes = tuple(named(name, onset=i) for i, name in enumerate(names))
    root = ElementTree.fromstring(musicxml_text(Score(notes, beats_per_bar=5)))
    shown = [note.findtext("accidental") for note in root.iter("note") if note.find("pitch") is not None]
    assert shown == ["sharp", None, "natural", "sharp", "sharp", "sharp", None, "natural"]


DIVISIONS = pytest.mark.parametrize("division", [12, 19, 22, 31, 41, 53])


def names_on_staff(part: ElementTree.Element) -> list[list[Note]]:
    """The notes that a reader makes out, chord by chord: signature, accidentals in force, and the figures below.

    What a tie leads to is not read again.
    """
    signs = {name: half_sharps for half_sharps, name in ACCIDENTALS.items()}
    fifths = int(part.findtext(".//fifths", "0"))
    signature = {letter: 0 for letter in "CDEFGAB"}
    signature |= dict.fromkeys("FCGDAEB"[:fifths] if fifths > 0 else "BEADGCF"[:-fifths], 2 if fifths > 0 else -2)
    chords: list[list[Note]] = []
    for measure in part.iter("measure"):
        in_force: dict[tuple[str, str], int] = {}
        steps: list[int] = []
        for element in measure:
            words = element.find("direction-type/words[@font-style='italic']")
            if words is not None and element.get("placement") == "below":
                steps = [int(mark.replace("−", "-")) for mark in (words.text or "").split("\n")]
            letter, octave = element.findtext("pitch/step", ""), element.findtext("pitch/octave", "")
            if not letter:
                continue
            if sign := element.findtext("accidental"):
                in_force[letter, octave] = signs[sign]
            note = Note(letter, in_force.get((letter, octave), signature[letter]), int(octave))
            if any(tie.get("type") == "stop" for tie in element.findall("tie")):
                continue
            if element.find("chord") is None:
                chords.append([])
            chords[-1].append(replace(note, steps=steps.pop() if steps else 0))
        assert not steps
    return chords


def chords_of(score: Score, voice: str) -> list[list[Note]]:
    own = sorted((note for note in score.notes if note.voice == voice), key=lambda note: (note.onset, note.hertz))
    return [[note.name for note in chord if note.name] for _, chord in groupby(own, key=lambda note: note.onset)]


@DIVISIONS
def test_what_is_written_says_the_name_of_the_note(schema: etree.XMLSchema, division: int) -> None:
    """Of every step, and of a whole tune with its chords: letter, sign in force and number of steps below it"""
    tuning = equal(division)
    every = sequence([(note.hz(tuning), note) for note in (spell_near(step, tuning) for step in range(division + 1))])
    tune = retune(parse_lead_sheet(FIRST_TUNE), tuning)
    for score, text in ((every, musicxml_text(every)), (written_score(tune), tune_musicxml(tune))):
        check(schema, text)
        root = ElementTree.fromstring(text)
        parts = [names_on_staff(part) for part in root.iter("part")]
        assert parts == [chords_of(score, voice) for voice in score.voices]
        if division in (12, 19, 31):
            assert not any(note.steps for part in parts for chord in part for note in chord)
    steps = {note.name.steps for note in written_score(tune).notes if note.name}
    assert steps == ({0} if division in (12, 19, 31) else {-1, 0, 1})


@DIVISIONS
def test_half_sharps_and_half_flats_are_written_only_where_a_sharp_can_be_halved(division: int) -> None:
    """A sharp is seven fifths less four octaves"""
    tuning = equal(division)
    halved = (7 * round(division * math.log2(3 / 2)) - 4 * division) % 2 == 0
    every = sequence([(note.hz(tuning), note) for note in (spell_near(step, tuning) for step in range(division))])
    texts = musicxml_text(every), tune_musicxml(retune(parse_lead_sheet(FIRST_TUNE), tuning))
    signs = {sign.text or "" for text in texts for sign in ElementTree.fromstring(text).iter("accidental")}
    assert any("quarter" in sign for sign in signs) == halved


def test_bars_are_full_and_ties_join_what_barlines_cut() -> None:
    score = parsed(musicxml_text(RHYTHM))
    measures = list(score.parts[0].getElementsByClass("Measure"))
    assert len(measures) == 3
    assert [m.duration.quarterLength for m in measures] == [4, 4, 4]
    pieces = [chord for chord in score.recurse().notes if len(chord.pitches) == 2]
    assert sum(chord.quarterLength for chord in pieces) == 7.25
    assert [chord.tie.type for chord in pieces] == ["start", *["continue"] * (len(pieces) - 2), "stop"]
    triplets = [n for n in score.recurse().notes if n.quarterLength == Fraction(1, 3)]
    assert [n.pitch.nameWithOctave for n in triplets] == ["A4", "B4"]


def test_notes_that_overlap_stand_in_a_second_line() -> None:
    voices = {note.findtext("voice") for note in ElementTree.fromstring(musicxml_text(RHYTHM)).iter("note")}
    assert voices == {"1", "2"}
    low = [n for n in parsed(musicxml_text(RHYTHM)).recurse().notes if n.pitches[0].nameWithOctave == "F3"]
    assert [(n.measureNumber, n.offset, n.quarterLength) for n in low] == [(2, 0, 3)]


def test_beams_join_the_notes_of_a_beat() -> None:
    root = ElementTree.fromstring(musicxml_text(RHYTHM))
    beams = [[beam.text for beam in note.findall("beam")] for note in root.iter("note")][:3]
    assert beams == [["begin"], ["continue", "begin"], ["end", "end"]]


def test_titles_and_labels_may_hold_any_letters() -> None:
    text = musicxml_text(RHYTHM)
    root = ElementTree.fromstring(text)
    assert root.findtext("work/work-title") == RHYTHM.title
    assert (
        root.findtext(".//lyric/text")
        == "a\N{NO-BREAK SPACE}&\N{NO-BREAK SPACE}b\N{NO-BREAK SPACE}<\N{NO-BREAK SPACE}c"
    )
    assert parsed(text).metadata.title == RHYTHM.title


def test_tempo_and_metre() -> None:
    score = parsed(musicxml_text(RHYTHM))
    assert [mark.number for mark in score.recurse().getElementsByClass("MetronomeMark")] == [72.5]
    assert [t.ratioString for t in parsed(musicxml_text(THIRTY_ONE)).recurse().getElementsByClass("TimeSignature")] == [
        "3/4"
    ]


def test_a_cue_is_small_silent_of_cents_and_in_the_players_part() -> None:
    score = Score((named("A4", voice="other", duration=4), named("B4", onset=4, duration=4, voice="mine", label="x")))
    root = ElementTree.fromstring(musicxml_text(score, cues=("other",)))
    cue, own = root.iter("note")
    assert len(root.findall("part")) == 1
    assert cue.find("cue") is not None
    assert own.find("cue") is None
    assert [words.text for words in root.iter("words")] == ["0"]
    assert len(ElementTree.fromstring(musicxml_text(score)).findall("part")) == 2


def test_out_of_reach_is_a_crossed_notehead() -> None:
    player = instrument("trumpet")
    sheet = overtone_sheet(player, Note.parse("B♭1"), range(1, 17))
    root = ElementTree.fromstring(sheet_musicxml(sheet))
    crossed = [note.findtext("notehead") == "x" for note in root.findall(".//note[lyric]")]
    assert crossed == [not row.in_reach for row in sheet.rows]
    assert 0 < sum(crossed) < 16


@pytest.mark.parametrize(
    ("name", "clef", "octaves"),
    [
        ("B4", "treble", 0),
        ("E6", "treble", 0),
        ("A6", "treble", 1),
        ("A7", "treble", 2),
        ("F3", "treble", 0),
        ("D3", "treble", -1),
        ("D2", "treble", -2),
        ("B0", "treble", -3),
        ("C4", "bass", 0),
        ("C5", "bass", 1),
        ("C4", "alto", 0),
        ("D1", "bass 8vb", 0),
    ],
)
def test_notes_far_from_the_staff_get_an_octave_sign(name: str, clef: str, octaves: int) -> None:
    assert octave_sign(Note.parse(name), clef) == octaves


def test_octave_signs_are_opened_and_closed_and_move_the_drawing_only() -> None:
    names = ["A6", "C7", "C5", "D3", "A7"]
    text = musicxml_text(Score(tuple(named(name, onset=i) for i, name in enumerate(names))))
    shifts = [(s.get("type"), s.get("size")) for s in ElementTree.fromstring(text).iter("octave-shift")]
    assert shifts == [("down", "8"), ("stop", "8"), ("up", "8"), ("stop", "8"), ("down", "15"), ("stop", "15")]
    assert [n.pitch.nameWithOctave for n in parsed(text).recurse().notes] == names


@pytest.mark.parametrize(("cents", "printed"), [(-31.17, "−31"), (1.96, "+2"), (0, "0"), (-0.4, "0"), (-13.69, "−14")])
def test_cents_are_printed_with_their_sign(cents: float, printed: str) -> None:
    assert signed(cents) == printed


@pytest.mark.parametrize(
    ("score", "arguments", "message"),
    [
        (Score(()), {}, "no named notes"),
        (Score((ScoreNote(0, 1, 440),)), {}, "no named notes"),
        (Score((named("A4"),)), {"cues": ("melody",)}, "no named notes to write, only cues"),
        (Score((named("A4"),)), {"cues": ("bass",)}, "'bass' is to be a cue, but the score has no such voice"),
        (
            Score((named("A4", duration=Fraction(1, 131)),)),
            {},
            "bar 1, beat 1: its notes and rests cut it into 131 equal",
        ),
        (Score((ScoreNote(0, 1, 10, Note("A", 0, -1)),)), {}, "bar 1, beat 1: A-1 is outside the octaves 0 to 9"),
        (Score((ScoreNote(5.5, 1, 440, Note("A", 5, 4)),)), {}, "bar 2, beat 2.5: A.* has no accidental of its own"),
    ],
)
def test_what_cannot_be_written_is_refused(score: Score, arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        musicxml_text(score, **arguments)


def test_a_file_is_not_overwritten_unless_asked(tmp_path: Path) -> None:
    path = write_musicxml(RHYTHM, tmp_path / "a.musicxml")
    assert path.read_text(encoding="utf-8") == musicxml_text(RHYTHM)
    with pytest.raises(FileExistsError):
        write_musicxml(THIRTY_ONE, path)
    write_musicxml(THIRTY_ONE, path, overwrite=True)
    assert path.read_text(encoding="utf-8") == musicxml_text(THIRTY_ONE)
