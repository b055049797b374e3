"""A retuned tune as sound, MIDI, MusicXML, page and table: one score, read back by somebody else's readers.

A note's place in thirty-one is worked out here from its letter and its accidental as Huygens counts them (Christiaan
Huygens, *Le cycle harmonique*, 1691): a whole tone is five steps, a major semitone three, a sharp two, its half one.
"""

from __future__ import annotations

import csv
import importlib
import io
import itertools
import math
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import music21
import numpy as np
import parselmouth
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from midi_reader import hear, struck
from poppler import poppler
from test_musicxml import check, schema  # noqa: F401 - a fixture
from test_outputs_agree import TOLERANCE, away, measured

from tunelib.arrange.tune_score import tune_score
from tunelib.arrange.written_score import BASS, CHORDS, COUNT, MELODY, bass_beats, written_score
from tunelib.export.chord_symbols import chart_symbol, harmony_element, printed_symbol
from tunelib.export.engrave import engrave_svg
from tunelib.export.lead import Lead
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import musicxml_text
from tunelib.export.stand_pages import TUNE_CAUTIONS
from tunelib.export.tune_files import (
    tune_csv,
    tune_files,
    tune_musicxml,
    tune_names,
    tune_stem,
    tune_table,
    worst_pair,
)
from tunelib.files import write_set
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet, read_lead_sheet
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.retune import RetunedChord, RetunedTune, retune
from tunelib.harmony.taste import Taste
from tunelib.harmony.tune import TimedNote
from tunelib.harmony.xml_chords import MUSICXML_KINDS
from tunelib.pitch.notes import Note
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.pitch.words import drawn
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes
from tunelib.sound.levels import reference_gain
from tunelib.sound.players import tune_timbres
from tunelib.sound.render import render

TUNE_FILES = importlib.import_module("tunelib.export.tune_files")  # which `tunelib.export` hides behind the function

RATE = 48000
ROOT = Path(__file__).parent.parent
BLUES = """title: Offcuts & <Shavings>
tempo: 160
key: F major
        | F7         | Bb7 . . Bdim7 | F7/C            | Cm7 F7            |
melody: | C4:2 A4:2  | D5:3/2 F4:5/2 | -:1 C5:1/3 A4:1/3 F4:1/3 C5:2 | Eb5:2 D5:2 |
"""
WALTZ = """title: Waltz of the Dovetail
metre: 3/4
tempo: 180
key: E minor
| Em7 | A7 . D7 | N.C. | Cneu | F#m7b5 B7alt/D# . | Em |
"""
ADVENTUROUS, DRIFTING = Taste(0.8), Taste(1.0, drift=True, clashes=True)
TUNES = {
    "blues": retune(parse_lead_sheet(BLUES), THIRTY_ONE, ADVENTUROUS),
    "drifting": retune(parse_lead_sheet(BLUES), THIRTY_ONE, DRIFTING),
    "waltz": retune(parse_lead_sheet(WALTZ), THIRTY_ONE, ADVENTUROUS),
}
EACH = pytest.mark.parametrize("tune", TUNES.values(), ids=TUNES.keys())
LETTERS = {"C": 0, "D": 5, "E": 10, "F": 13, "G": 18, "A": 23, "B": 28}
WRITTEN = (MELODY, CHORDS, BASS)


def hertz(letter: str, half_sharps: float, octave: int) -> float:
    """The pitch of a spelled note in thirty-one equal steps, A4 at 440 Hz."""
    return float(440 * 2 ** ((LETTERS[letter] - 23 + half_sharps + 31 * (octave - 4)) / 31))


def voice(score: Score, name: str) -> list[ScoreNote]:
    return sorted((note for note in score.notes if note.voice == name), key=lambda note: (note.onset, note.hertz))


def parsed(tune: RetunedTune) -> music21.stream.Score:
    """As music21 reads it, which refuses a chord whose root is altered by half a semitone."""
    text = tune_musicxml(tune)
    return music21.converter.parse(text, format="musicxml")


def test_a_seventh_that_resolves_as_a_sixth_is_printed_as_one() -> None:
    """E over G flat before F, F sharp over A flat before C over G; at the same pitch as in other company"""
    tune = retune(parse_lead_sheet("| Gbharm7 | F | Abharm7 | C/G | Abharm7 | Db |"), THIRTY_ONE, Taste(0))
    printed = [{note.name.name for note in voice(written_score(tune), CHORDS) if note.onset == 4 * bar and note.name}
               for bar in (0, 2, 4)]  # fmt: skip
    assert printed == [{"B♭", "D♭", "E"}, {"C", "E♭", "F♯"}, {"C", "E♭", "G♭½♭"}]
    sharp, flat = (
        [note.hertz for note in voice(written_score(tune), CHORDS) if note.onset == onset] for onset in (8, 16)
    )
    assert sharp == pytest.approx(flat)


@EACH
def test_the_score_holds_the_retuned_chords(tune: RetunedTune) -> None:
    """Every chord's notes at the pitches that their names have in thirty-one, as long as the chord holds"""
    score = written_score(tune)
    chords, bass = voice(score, CHORDS), voice(score, BASS)
    for chord in tune.chords:
        inside = [note for note in chords if note.onset == chord.written.onset]
        wanted = [hertz(note.letter, note.half_sharps, note.octave) for note in chord.notes]
        assert all(note.end == chord.written.end for note in inside)
        first = next(note for note in bass if note.onset == chord.written.onset)
        for found, exact in zip([first, *inside], wanted, strict=True):
            assert abs(away(found.hertz, exact)) < 1e-6
    assert len(chords) == sum(len(chord.notes) - 1 for chord in tune.chords)
    sung = [(note.onset, note.duration, note.hertz) for note in voice(score, MELODY)]
    assert sung == [
        (n.onset, n.duration, pytest.approx(hertz(n.note.letter, n.note.half_sharps, n.note.octave)))
        for n in tune.melody
    ]


@EACH
def test_in_twelve_it_is_the_written_tune_in_the_same_rhythm_and_layout(tune: RetunedTune) -> None:
    """Every note on a key of twelve equal steps, the written letter in the same octave, at the same time"""
    exact, keys = (tune_score(tune, division, common="A", count_in=False) for division in (31, 12))
    for name in exact.voices:
        for ours, plain in zip(exact.only(name).notes, keys.only(name).notes, strict=True):
            assert (ours.onset, ours.duration, ours.level) == (plain.onset, plain.duration, plain.level)
            number = 69 + 12 * math.log2(plain.hertz / 440)
            assert abs(number - round(number)) < 1e-9
            assert abs(away(ours.hertz, plain.hertz)) < 150
    for chord in tune.chords:
        if all(note.half_sharps % 2 == 0 for note in chord.written.chord.notes):
            inside = [note for note in keys.notes if note.onset == chord.written.onset and note.voice == CHORDS]
            written = {note.name for note in chord.written.chord.notes}
            assert {note.name.name for note in inside if note.name} <= written


def test_a_written_note_between_two_keys_goes_to_the_nearer_in_twelve() -> None:
    """E half-flat is 541.9 cents under A4 in thirty-one; of the keys, E, 500 under it, is nearer than E flat"""
    tune = TUNES["waltz"]
    [neutral] = [chord for chord in tune.chords if chord.written.symbol == "Cneu"]
    inside = [note for note in tune_score(tune, 12, count_in=False).notes if note.onset == neutral.written.onset]
    assert {note.name.name for note in inside if note.voice == CHORDS and note.name} == {"C", "E", "G"}


@EACH
def test_the_sounds_pitches_are_the_scores(tune: RetunedTune) -> None:
    """Melody and bass by Praat's autocorrelation (Boersma 1993), chords by their fundamentals in a spectrum"""
    score = tune_score(tune)
    for name in (MELODY, BASS):
        if name not in score.voices:
            continue
        sound = parselmouth.Sound(render(score.only(name), tune_timbres(), RATE), RATE)
        for note in score.only(name).notes:
            start, end = score.seconds(note.onset) + 0.08, score.seconds(note.end) - 0.01
            if end - start > 0.6:
                assert abs(away(measured(sound, start, end, note.hertz), note.hertz)) < TOLERANCE
    samples = render(score.only(CHORDS), tune_timbres(), RATE)
    for note in score.only(CHORDS).notes:
        start, end = (round(RATE * score.seconds(beat)) for beat in (note.onset, note.end))
        part = samples[start + RATE // 20 : end]
        if part.size > RATE:
            assert abs(away(spectral_peak(part, note.hertz), note.hertz)) < TOLERANCE


def spectral_peak(samples: np.ndarray, near: float) -> float:
    """Frequency of the peak of a spectrum nearest to one: a Blackman window, and a parabola through the logarithms."""
    size = 8 * samples.size
    spectrum = np.log(np.abs(np.fft.rfft(samples * np.blackman(samples.size), size)) + 1e-12)
    low, high = (round(near * 2 ** (side / 48) * size / RATE) for side in (-1, 1))
    top = low + int(np.argmax(spectrum[low : high + 1]))
    left, middle, right = spectrum[top - 1 : top + 2]
    return float((top + (left - right) / (2 * (left - 2 * middle + right))) * RATE / size)


@EACH
@pytest.mark.parametrize("way", ["bend", "mts"])
def test_the_midi_files_pitches_are_the_scores(tune: RetunedTune, way: str) -> None:
    score = tune_score(tune, count_in=False)
    for last_first in (False, True):
        heard = hear(midi_bytes(score, way), last_first)
        for name in score.voices:
            found = sorted((n for n in heard if n.track == name), key=lambda note: (note.start, note.hertz))
            for note, own in zip(voice(score, name), found, strict=True):
                assert abs(away(own.hertz, note.hertz)) < TOLERANCE
                assert abs(own.start - note.onset) <= 1 / 960
                assert abs(own.end - note.end) <= 3 / 960


@EACH
def test_the_musicxmls_pitches_are_the_scores(tune: RetunedTune) -> None:
    """As music21 reads letters and quarter-tones, placed in thirty-one: every written voice, its times and pitches"""
    score, read = written_score(tune), parsed(tune)
    names = [name for name in WRITTEN if name in score.voices]
    assert [part.partName for part in read.parts] == names
    for name, part in zip(names, read.parts, strict=True):
        found = sorted(
            (
                (beat(element.getOffsetInHierarchy(part)), exact(pitch), beat(element.quarterLength))
                for element in part.stripTies().recurse().notes
                if not isinstance(element, music21.harmony.Harmony)
                for pitch in element.pitches
            ),
        )
        for note, (onset, pitch, duration) in zip(voice(score, name), found, strict=True):
            assert abs(away(pitch, note.hertz)) < TOLERANCE
            assert (onset, duration) == (note.onset, note.duration)


def beat(offset: float) -> Fraction:
    return Fraction(offset).limit_denominator(96)


def exact(pitch: music21.pitch.Pitch) -> float:
    return hertz(pitch.step, 2 * pitch.alter, pitch.octave)


@EACH
def test_the_musicxml_keeps_to_the_schema(tune: RetunedTune, schema: etree.XMLSchema) -> None:  # noqa: F811
    check(schema, tune_musicxml(tune))


@EACH
def test_the_musicxml_is_a_lead_sheet_of_the_tune(tune: RetunedTune) -> None:
    """Its chords on their beats, to the semitone, its melody, its key, its metre and its tempo"""
    text = tune_musicxml(tune)
    sheet = musicxml_lead_sheet(text.encode())
    for found, own in zip(sheet.chords, tune.chords, strict=True):
        assert (found.onset, found.duration) == (own.written.onset, own.written.duration)
        assert to_the_semitone(found.chord, own.chord)
    printed = [
        (harmony.find("root/root-step").get("text"), harmony.find("kind").get("text"))  # type: ignore[union-attr]
        for harmony in ElementTree.fromstring(text).iter("harmony")
    ]
    assert [f"{root}{kind}" for root, kind in printed if root] == [on_the_staff(chord) for chord in tune.chords]
    if tune.melody:
        assert sheet.melody == tune.melody
    own = tune.sheet
    assert (sheet.key, sheet.beats_per_bar, sheet.tempo, sheet.title) == (
        own.key, own.beats_per_bar, own.tempo, own.title
    )  # fmt: skip


@pytest.mark.parametrize("name", ["blues.txt", "song_form.txt", "two_five_one.txt", "offcuts.musicxml"])
def test_the_musicxml_keeps_the_form_of_the_tune(name: str) -> None:
    """Read back by the reader of lead sheets: the bars as they are printed, and played through, all of the tune"""
    tune = retune(read_lead_sheet(ROOT / "lessons" / "material" / name), THIRTY_ONE)
    text = tune_musicxml(tune)
    sheet = musicxml_lead_sheet(text.encode())
    assert sheet.form == tune.sheet.form
    assert sheet.melody == tune.melody
    assert [(chord.onset, chord.duration) for chord in sheet.chords] == [
        (chord.written.onset, chord.written.duration) for chord in tune.chords
    ]
    assert len(ElementTree.fromstring(text).findall("part[1]/measure")) == len(tune.sheet.form) <= tune.sheet.bars


def on_the_staff(chord: RetunedChord) -> str:
    """The symbol of a chord without its bass, and its mark in brackets."""
    symbol, mark = chart_symbol(chord, THIRTY_ONE)
    return symbol.partition("/")[0] + f" ({mark})" * bool(mark)


def over(chord: RetunedChord) -> list[str]:
    """Its bass, as a symbol has it."""
    return [f"/{chord.chord.bass.name}"] if chord.chord.bass else []


def to_the_semitone(found: Chord, exact: Chord) -> bool:
    """Whether two chords have the same root, bass and letters, no note farther away than one half-sharp."""
    pairs = zip(sorted(found.degrees), sorted(exact.degrees), strict=True)
    near = all(one[0] == other[0] and abs(one[1] - other[1]) <= 1 for one, other in pairs)
    return near and (found.root, found.bass) == (exact.root, exact.bass)


def test_signature_and_accidentals_are_those_of_the_key() -> None:
    """In F major a B flat needs no sign and a B natural does (common practice)"""
    root = ElementTree.fromstring(
        tune_musicxml(retune(parse_lead_sheet("key: F major\n| Bb | G |"), THIRTY_ONE, Taste(0)))
    )
    assert {key.findtext("fifths") for key in root.iter("key")} == {"-1"}
    shown = {
        (note.findtext("pitch/step"), note.findtext("pitch/alter"), note.findtext("accidental"))
        for note in root.iter("note")
    }
    assert ("B", "-1", None) in shown
    assert ("B", None, "natural") in shown


@pytest.mark.parametrize(
    ("key", "fifths"), [("Gb", "-6"), ("C# minor", "4"), ("D dorian", "0"), ("Ehb", "0"), ("G# major", "0")]
)
def test_a_signature_that_no_sharps_or_flats_make_is_left_out(key: str, fifths: str) -> None:
    root = ElementTree.fromstring(tune_musicxml(retune(parse_lead_sheet(f"key: {key}\n| C |"), THIRTY_ONE)))
    assert root.findtext(".//key/fifths") == fifths


@EACH
def test_labels_are_the_nearest_key_and_the_cents_from_it(tune: RetunedTune) -> None:
    """Under every note that was moved or is between two keys, and under no other, by plain sums"""
    flat, sharp = ("C D♭ D E♭ E F G♭ G A♭ A B♭ B".split(), "C C♯ D D♯ E F F♯ G G♯ A A♯ B".split())
    written = {(note.onset, note.name) for note in sung(tune.sheet.melody)}
    for note in written_score(tune).notes:
        assert note.name is not None
        if note.label:
            number = 69 + 12 * math.log2(note.hertz / 440)
            cents = round(100 * (number - round(number)))
            sign = "−" if cents < 0 else "+" if cents > 0 else ""
            assert note.label in {f"{keys[round(number) % 12]} {sign}{abs(cents)}" for keys in (flat, sharp)}
        elif note.voice == MELODY:
            assert (note.onset, note.name) in written
        else:
            assert note.name.half_sharps % 2 == 0
    for chord in tune.chords:
        upper = [
            note for note in written_score(tune).notes if note.onset == chord.written.onset and note.voice == CHORDS
        ]
        plain = {note.name for note in chord.written.chord.notes}
        moved = sorted(
            hertz(n.letter, n.half_sharps, n.octave)
            for n in chord.notes[1:]
            if n.name not in plain or n.half_sharps % 2
        )
        assert sorted(note.hertz for note in upper if note.label) == pytest.approx(moved)


def sung(melody: tuple[TimedNote, ...]) -> list[ScoreNote]:
    return [ScoreNote(n.onset, n.duration, 440, n.note, MELODY) for n in melody]


@pytest.mark.parametrize(
    ("symbol", "kind", "degrees"),
    [
        ("C", "major", []),
        ("Ebm7", "minor-seventh", []),
        ("F#7", "dominant", []),
        ("G7b9", "dominant", [("9", "-1", "add")]),
        ("Am7b5", "half-diminished", []),
        ("Bbmaj7#11", "major-seventh", [("11", "1", "add")]),
        ("Dharm7", "dominant", []),
        ("Csub", "minor", []),
        ("Cneu", "major", []),
        ("Csubharm7b5", "half-diminished", []),
        ("D7b10", "dominant", [("9", "1", "add")]),
        ("Csup7b9", "dominant", [("9", "-1", "add")]),
        ("C7h#11", "dominant", [("11", "0", "add")]),
        ("G7sus4", "suspended-fourth", [("7", "0", "add")]),
        ("C5", "power", []),
    ],
)
def test_a_chord_is_the_nearest_kind_with_its_degrees_to_the_semitone(
    symbol: str, kind: str, degrees: list[tuple[str, str, str]]
) -> None:
    """kind-value and degree of the MusicXML 4.0 schema"""
    element = harmony_element(Chord.parse(symbol))
    assert element.findtext("kind") == kind
    tags = ("degree-value", "degree-alter", "degree-type")
    assert [tuple(degree.findtext(tag) for tag in tags) for degree in element.iter("degree")] == degrees


ROOTS = ("C", "F#", "Eb", "Bhb", "G#", "Dh#")
THIRDS = ("", "m", "sub", "neu", "sup")
ENDS = (
    "",
    "7",
    "maj7",
    "harm7",
    "mid7",
    "6",
    "69",
    "9",
    "13",
    "7b9#9",
    "harm9h#11",
    "7b5",
    "(#5)",
    "7sus4",
    "/E",
    "add9",
    "no5",
)
SYMBOLS = [
    f"{root}{third}{end}"
    for root, third, end in itertools.product(ROOTS, THIRDS, ENDS)
    if "sus" not in end or not third
]


START = (
    '<score-partwise version="4.0"><part-list/><part id="P1"><measure number="1">'
    "<attributes><divisions>1</divisions></attributes>"
)


def read_back(harmony: str) -> Chord:
    """A chord as the reader of lead sheets takes it from its element."""
    xml = f"{START}{harmony}<note><rest/><duration>4</duration></note></measure></part></score-partwise>"
    [timed] = musicxml_lead_sheet(xml.encode()).chords
    return timed.chord


def test_every_chord_comes_back_from_its_element() -> None:
    """Exactly: what is between the keys from its texts. Without those it is the nearest chord on the keys"""
    for symbol in [*SYMBOLS, "Calt", "Cdim7", "Caug", "C5", "Csus2", "Cm7b5", "C7alt/F#", "E[-1]7", "Cm/Ehb"]:
        chord = Chord.parse(symbol)
        text = ElementTree.tostring(harmony_element(chord), encoding="unicode")
        assert read_back(text) == chord, symbol
        without = read_back(re.sub(r' text="[^"]*"', "", text))
        assert without.root.half_sharps == 2 * int(chord.root.half_sharps / 2), symbol
        assert to_the_semitone(replace(without, root=chord.root, bass=chord.bass), chord), symbol


def test_a_text_that_says_something_else_is_not_believed() -> None:
    """Other programs may write what they like there"""
    text = ElementTree.tostring(harmony_element(Chord.parse("D7")), encoding="unicode")
    for step, kind in (("E½♯", "7"), ("D♯", "7"), ("Re", "7"), ("D½♯", "m7"), ("D", "harm9"), ("D", "♭5"), ("", "")):
        said = text.replace('text="D"', f'text="{step}"').replace('text="7"', f'text="{kind}"')
        assert read_back(said) == Chord.parse("Dh#7" if step == "D½♯" else "D7"), (step, kind)
    assert read_back(text.replace('text="7"', 'text="harm7"')) == Chord.parse("Dharm7")


def test_chords_between_the_keys_keep_to_the_schema_and_open_elsewhere(schema: etree.XMLSchema) -> None:  # noqa: F811
    """music21 knows whole sharps and flats alone, and would refuse the bar"""
    symbols = [
        f"{root}{body}" for root in ("Dh#", "Bhb", "Ebhb", "F#h#", "Ch#") for body in ("7", "m7b5", "harm9", "neu/Fhb")
    ]
    chords = [Chord.parse(symbol) for symbol in symbols]
    lead = Lead({MELODY: "treble"}, Key(Note.named("C")), [(Fraction(4 * i), chord) for i, chord in enumerate(chords)])
    text = musicxml_text(
        Score(tuple(ScoreNote(4 * i, 4, 440, Note.parse("A4")) for i in range(len(chords)))), lead=lead
    )
    check(schema, text)
    found = music21.converter.parse(text, format="musicxml").recurse().getElementsByClass(music21.harmony.ChordSymbol)
    roots = [(root.step, int(2 * root.alter)) for root in (symbol.root() for symbol in found)]
    assert roots == [(chord.root.letter, 2 * int(chord.root.half_sharps / 2)) for chord in chords]
    assert [timed.chord for timed in musicxml_lead_sheet(text.encode()).chords] == chords


@pytest.mark.parametrize("body", sorted(set(MUSICXML_KINDS.values()) - {"11", "maj11", "m11", "13", "maj13", "m13"}))
def test_music21_reads_the_ordinary_chords_as_their_notes(body: str) -> None:
    """Elevenths and thirteenths aside, of which players leave out what the standard's kinds have"""
    chord = Chord.parse(f"F#{body}")
    lead = Lead({MELODY: "treble"}, Key(Note.named("C")), [(Fraction(0), chord)])
    text = musicxml_text(Score((ScoreNote(0, 4, 440, Note.parse("A4")),)), lead=lead)
    [symbol] = (
        music21.converter.parse(text, format="musicxml").recurse().getElementsByClass(music21.harmony.ChordSymbol)
    )
    assert {(pitch.step, 2 * pitch.alter) for pitch in symbol.pitches} == {
        (n.letter, n.half_sharps) for n in chord.notes
    }


def test_printed_symbols_have_printed_accidentals() -> None:
    printed = {
        "Bb7b9": "B♭7♭9", "F#m7b5": "F♯m7♭5", "Ebsub7": "E♭sub7", "Ebhbsub7bhb5": "E♭½♭sub7♭½♭5",
        "Charm9h#11/Gb": "Charm9½♯11/G♭", "C(b5)": "C(♭5)", "Abmaj7#11": "A♭maj7♯11", "Csubaddb9": "Csubadd♭9",
    }  # fmt: skip
    for typed, shown in printed.items():
        assert printed_symbol(Chord.parse(typed)) == shown


BEATS = st.fractions(0, 40, max_denominator=24)


@given(BEATS, BEATS, st.integers(1, 12))
def test_the_printed_bass_fills_the_chord(one: Fraction, other: Fraction, beats: int) -> None:
    onset, end = min(one, other), max(one, other)
    if onset == end:
        return
    now = onset
    for when, length in bass_beats(onset, end, beats):
        assert when == now and length > 0
        now = when + length
    assert now == end


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tune")
    write_set(tune_files(TUNES["blues"]), folder)
    return folder


def test_the_files_are_of_one_score(written: Path) -> None:
    """Both recordings, both MIDI files and the MusicXML are what the functions above were measured by

    But for the held chords, which the file with bends has no channels for beside those that are struck
    """
    tune = TUNES["blues"]
    assert {path.name for path in written.iterdir()} == set(tune_names("offcuts-shavings", 31))
    data = {
        name.removeprefix("offcuts-shavings"): (written / name).read_bytes()
        for name in tune_names("offcuts-shavings", 31)
    }
    for division in (31, 12):
        score = tune_score(tune, division)
        sound = render(score, tune_timbres(), gain=reference_gain(score, tune_timbres()))
        assert data[f"-in-{division}.wav"] == wav_bytes(sound)
    assert data["-in-31.musicxml"].decode() == tune_musicxml(tune)
    for way in ("bend", "mts"):
        score = tune_score(tune)
        score = score.only(*set(score.voices) - {CHORDS}) if way == "bend" else score
        notes = [(n.start, n.hertz, n.track) for n in hear(data[f"-in-31-{way}.mid"])]
        assert notes == [(n.start, n.hertz, n.track) for n in hear(midi_bytes(score, way))]
        assert [when for when, _, _ in struck(data[f"-in-31-{way}.mid"])] == [
            note.onset for note in voice(score, COUNT)
        ]


@pytest.mark.parametrize("suffix", ["-in-31.wav", "-in-12.wav"])
def test_the_recordings_are_safe_whole_and_without_clicks(written: Path, suffix: str) -> None:
    """At most a quarter of full scale; as long as the tune and its last release; no step that a tone would not make"""
    samples, rate = soundfile.read(written / f"offcuts-shavings{suffix}")
    score = tune_score(TUNES["blues"])
    assert np.abs(samples).max() <= 10 ** (-12 / 20)
    assert 0 <= samples.size / rate - score.seconds(score.beats) <= 0.03
    assert samples[0] == samples[-1] == 0
    # A click is a step from one sample to the next: it would stand far out from the sharpest bend of a steady tone.
    bends = np.abs(np.diff(samples, 2))
    assert bends.max() < 3 * np.quantile(bends, 0.9999)
    loudest = 20 * np.log10(np.sqrt(np.mean(samples**2)))
    assert -35 < loudest < -20


def test_where_no_chord_is_written_nothing_sounds() -> None:
    tune = TUNES["waltz"]
    score = tune_score(tune, count_in=False)
    samples = render(score, tune_timbres(), RATE)
    third_bar = slice(int(RATE * (score.seconds(6) + 0.05)), int(RATE * score.seconds(9)))
    assert not samples[third_bar].any()
    assert samples.any()


def test_the_score_is_tagged_and_holds_everything(written: Path) -> None:
    """As poppler reads it (ISO 14289-1): title, symbols, cents, reasons, cautions"""
    path = written / "offcuts-shavings-in-31-score.pdf"
    about = poppler("pdfinfo", path)
    assert re.search(r"Tagged: +yes", about)
    assert "Title:           Offcuts & <Shavings>, in thirty-one: score" in about
    assert "(A4)" in about
    text = " ".join(poppler("pdftotext", path, "-").split())
    tune = TUNES["blues"]
    for chord in tune.chords:
        symbol = chart_symbol(chord, THIRTY_ONE)[0]
        assert symbol in text.replace(" ", "") or symbol in text
    for note in written_score(tune).notes:
        cents = round(note.cents_from_name)
        if note.voice != CHORDS and note.name and not note.name.half_sharps % 2 and abs(cents) >= 5:
            assert f"{cents:+d}".replace("-", "−") in text
    for caution in TUNE_CAUTIONS:
        assert caution in text.replace("- ", "-") or caution in text


@EACH
def test_the_engraved_staves_have_every_symbol_and_label_as_text(tune: RetunedTune) -> None:
    """In words and signs that the page's own letters have, none of them in the music font"""
    svg = "".join(engrave_svg(tune_musicxml(tune), page_width=2000))
    root = ElementTree.fromstring(svg)
    group = "{http://www.w3.org/2000/svg}g"
    symbols = ["".join("".join(g.itertext()).split()) for g in root.iter(group) if g.get("class") == "harm"]
    assert sorted(symbol for symbol in symbols if symbol != "N.C.") == sorted(
        drawn("".join([on_the_staff(chord), *over(chord)]).replace(" ", "")) for chord in tune.chords
    )
    assert not re.search("[\uea64-\uea66]", svg)
    labels = ["".join("".join(g.itertext()).split()) for g in root.iter(group) if g.get("class") == "syl"]
    assert sorted(labels) == sorted(note.label.replace(" ", "") for note in written_score(tune).notes if note.label)


def test_the_table_holds_every_chord_and_its_numbers() -> None:
    """The purity recomputed from the ratios with plain fractions"""
    tune = TUNES["blues"]
    rows = list(csv.DictReader(io.StringIO(tune_csv(tune))))
    assert len(rows) == len(tune.chords)
    for row, chord in zip(rows, tune.chords, strict=True):
        assert row["as written"] == chord.written.symbol
        assert Chord.parse(row["as retuned"]) == chord.chord
        assert row["notes"].split() == [note.typed for note in chord.notes]
        assert row["why"] == chord.why
        steps = [LETTERS[n.letter] + n.half_sharps + 31 * n.octave for n in chord.chord.notes]
        above = sorted((step - steps[0], name.name) for step, name in zip(steps, chord.chord.notes, strict=True))
        ratios = chord.chord.ratios(THIRTY_ONE)
        errors = {}
        for low, high in itertools.combinations(range(len(above)), 2):
            ratio = ratios[high] / ratios[low]
            errors[f"{above[low][1]}–{above[high][1]}"] = 1200 / 31 * (
                above[high][0] - above[low][0]
            ) - 1200 * math.log2(ratio)
        rms = math.sqrt(sum(error**2 for error in errors.values()) / len(errors))
        assert float(row["cents off, rms"]) == pytest.approx(rms, abs=0.006)
        assert float(row["worst pair, cents"]) == pytest.approx(errors[row["worst pair"]], abs=0.006)
        assert abs(errors[row["worst pair"]]) == pytest.approx(max(map(abs, errors.values())))
    beats = [(row["bar"], row["beat"]) for row in rows]
    assert beats == [("1", "1"), ("2", "1"), ("2", "4"), ("3", "1"), ("4", "1"), ("4", "3")]


def test_the_printed_table_is_aligned() -> None:
    head, *rows, _ = tune_table(TUNES["blues"]).splitlines()
    place = head.index("retuned")
    for row, chord in zip(rows, TUNES["blues"].chords, strict=True):
        assert row[place:].startswith(" ".join(chart_symbol(chord, THIRTY_ONE)).strip())
        assert row[place - 1] == " "


def test_one_note_alone_has_no_worst_pair() -> None:
    assert worst_pair(Chord(Note.named("C"), (SpelledInterval(0, 0),)), THIRTY_ONE) == ("", 0.0)


PARTS = st.tuples(st.sampled_from([symbol for symbol in SYMBOLS if "no5" not in symbol]), st.integers(1, 4))


@given(st.lists(PARTS, min_size=1, max_size=4), st.floats(0, 1), st.floats(-1, 1), st.booleans())
def test_any_tune_can_be_written(parts: list[tuple[str, int]], adventure: float, colour: float, drift: bool) -> None:
    """Whatever chords, and however they drift: score, MusicXML, both ways of MIDI, table"""
    bars = " | ".join(symbol if share % 2 else f"{symbol} . N.C. ." for symbol, share in parts)
    tune = retune(parse_lead_sheet(f"key: Ab\n| {bars} |"), THIRTY_ONE, Taste(adventure, colour, drift))
    score = tune_score(tune)
    assert {note.name is None for note in score.notes} == {True, False}
    ElementTree.fromstring(tune_musicxml(tune))
    pitched = len(score.notes) - len(voice(score, COUNT))
    assert len(hear(midi_bytes(score, "bend"))) == len(hear(midi_bytes(score, "mts"))) == pitched
    assert len(tune_csv(tune).splitlines()) == 1 + len(parts) == len(tune_table(tune).splitlines()) - 1
    tune_score(tune, 12)


def test_more_pitches_than_keys_are_tuned_in_turn() -> None:
    """MIDI tuning has 128 keys to a program (MIDI Tuning Standard); the voices here have 160 pitches"""
    notes = tuple(ScoreNote(i, 1, 100 * 2 ** (i / 31), None, "low" if i < 80 else "high") for i in range(160))
    heard = hear(midi_bytes(Score(notes), "mts"))
    assert [away(own.hertz, note.hertz) for own, note in zip(heard, notes, strict=True)] == pytest.approx(
        [0] * 160, abs=TOLERANCE
    )


@pytest.mark.parametrize(
    ("title", "otherwise", "stem"),
    [
        ("Sawdust on the Stairs", "x", "sawdust-on-the-stairs"),
        ("Übung in E♭", "x", "ubung-in-e"),
        ("../../etc", "x", "etc"),
        ("木くず", "my Blues", "my-blues"),
        ("", "♭", "tune"),
        ("a" * 500, "x", "a" * 60),
    ],
)
def test_files_are_called_by_the_title(title: str, otherwise: str, stem: str) -> None:
    assert tune_stem(title, otherwise) == stem


def test_nothing_is_overwritten_unless_asked(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written / "offcuts-shavings-in-31.csv"
    before = path.read_bytes()
    with pytest.raises(FileExistsError, match="and 6 more are already there"):
        write_set(tune_files(TUNES["blues"]), written)
    monkeypatch.setattr(TUNE_FILES, "render_to", lambda path, score, timbres: path.write_bytes(b""))
    path.write_bytes(b"old")
    steps: list[str] = []
    write_set(tune_files(TUNES["blues"]), written, overwrite=True, progress=steps.append)
    assert path.read_bytes() == before
    assert steps[-1] == "saving the files"


def test_a_failure_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(path: Path, score: Score, timbres: Any) -> None:
        raise ValueError("no sound today")

    monkeypatch.setattr(TUNE_FILES, "render_to", fails)
    with pytest.raises(ValueError, match="no sound today"):
        write_set(tune_files(TUNES["blues"]), tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("text", "paper", "message"),
    [
        ("| C |", "a5", "no paper is called 'a5'"),
        ("tempo: 10\n" + "| C | C | C | C |\n" * 10, "a4", "the tune lasts 16 minutes .* and 15 can be made"),
        ("| C |\nmelody: | A4:1/131 -:523/131 |", "a4", "in bar 1 something begins or ends 1/131 into a beat"),
    ],
)
def test_what_cannot_be_made_is_refused(text: str, paper: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=message):
        write_set(tune_files(retune(parse_lead_sheet(text), THIRTY_ONE), paper), tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("division", [19, 31.5, 41, "31"])
def test_a_tune_is_played_in_12_or_in_its_own_division(division: Any) -> None:
    with pytest.raises(ValueError, match="in 31 or in 12"):
        tune_score(TUNES["waltz"], division)
