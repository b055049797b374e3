"""Transpositions, ranges and sound programs of instruments against published tables and music21."""

from __future__ import annotations

import math

import music21
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.pitch.instruments import FAMILIES, INSTRUMENTS, Instrument, instrument, propose_fundamental
from tunelib.pitch.notes import LETTERS, Note
from tunelib.pitch.tunings import equal

players = st.sampled_from(list(INSTRUMENTS.values()))
notes = st.builds(Note, st.sampled_from(LETTERS), st.integers(-2, 2), st.integers(0, 7))

# Name, semitones from the written note to the sounding one, what a written C4 sounds: B. Pimentel's table of woodwind
# and brass transpositions and Georgetown College's conducting handout 6; guitars and percussion are common practice.
TRANSPOSITIONS = [
    ("clarinet in B♭", -2, "Bb3"), ("clarinet in A", -3, "A3"), ("clarinet in E♭", +3, "Eb4"),
    ("bass clarinet", -14, "Bb2"), ("soprano saxophone", -2, "Bb3"), ("alto saxophone", -9, "Eb3"),
    ("tenor saxophone", -14, "Bb2"), ("baritone saxophone", -21, "Eb2"), ("trumpet", -2, "Bb3"),
    ("flugelhorn", -2, "Bb3"), ("horn in F", -7, "F3"), ("english horn", -7, "F3"), ("alto flute", -5, "G3"),
    ("piccolo", +12, "C5"), ("guitar", -12, "C3"), ("bass guitar", -12, "C3"), ("double bass", -12, "C3"),
    ("contrabassoon", -12, "C3"), ("glockenspiel", +24, "C6"), ("xylophone", +12, "C5"), ("recorder", +12, "C5"),
    ("banjo", -12, "C3"), ("cornet", -2, "Bb3"),
]  # fmt: skip

# Written and sounding ranges in handbooks (the Orchestra Library's range charts for clarinets and English horn;
# elsewhere common practice, from memory). Ours are the comfortable part: never wider.
RANGES = [
    ("clarinet in B♭", "E3 C7", "D3 Bb6"), ("clarinet in A", "E3 C7", "C#3 A6"), ("clarinet in E♭", "E3 G6", "G3 Bb6"),
    ("bass clarinet", "Eb3 G6", "Db2 F5"), ("soprano saxophone", "Bb3 F6", "Ab3 Eb6"),
    ("alto saxophone", "Bb3 F6", "Db3 Ab5"), ("tenor saxophone", "Bb3 F6", "Ab2 Eb5"),
    ("baritone saxophone", "A3 F6", "C2 Ab4"), ("trumpet", "F#3 C6", "E3 Bb5"), ("horn in F", "F#2 C6", "B1 F5"),
    ("english horn", "B3 G6", "E3 C6"), ("alto flute", "C4 C7", "G3 G6"), ("piccolo", "D4 C7", "D5 C8"),
    ("guitar", "E3 B5", "E2 B4"), ("bass guitar", "E2 G4", "E1 G3"), ("double bass", "E2 G4", "E1 G3"),
    ("contrabassoon", "Bb1 Bb4", "Bb0 Bb3"), ("glockenspiel", "G3 C6", "G5 C8"), ("violin", "G3 A7", "G3 A7"),
    ("viola", "C3 E6", "C3 E6"), ("cello", "C2 C6", "C2 C6"), ("flute", "C4 C7", "C4 C7"), ("oboe", "Bb3 A6", "Bb3 A6"),
    ("bassoon", "Bb1 E5", "Bb1 E5"), ("trombone", "E2 Bb4", "E2 Bb4"), ("recorder", "C4 D6", "C5 D7"),
    ("alto recorder", "F4 G6", "F4 G6"), ("harmonica", "C4 C7", "C4 C7"),
    ("organ", "C2 C7", "C2 C7"), ("accordion", "F3 A6", "F3 A6"), ("ukulele", "C4 A5", "C4 A5"),
    ("mandolin", "G3 A6", "G3 A6"), ("banjo", "C4 A5", "C3 A4"), ("marimba", "A2 C7", "A2 C7"),
    ("xylophone", "F4 C7", "F5 C8"), ("cornet", "F#3 C6", "E3 Bb5"),
]  # fmt: skip

MUSIC21_CLASSES = {
    "clarinet in B♭": "Clarinet", "bass clarinet": "BassClarinet", "soprano saxophone": "SopranoSaxophone",
    "alto saxophone": "AltoSaxophone", "tenor saxophone": "TenorSaxophone", "baritone saxophone": "BaritoneSaxophone",
    "trumpet": "Trumpet", "horn in F": "Horn", "english horn": "EnglishHorn", "piccolo": "Piccolo",
    "double bass": "Contrabass", "flute": "Flute", "oboe": "Oboe", "bassoon": "Bassoon", "trombone": "Trombone",
    "tuba": "Tuba", "violin": "Violin", "viola": "Viola", "cello": "Violoncello", "harp": "Harp", "piano": "Piano",
    "vibraphone": "Vibraphone", "glockenspiel": "Glockenspiel", "guitar": "AcousticGuitar",
    "bass guitar": "ElectricBass", "recorder": "Recorder", "alto recorder": "Recorder",
    "harmonica": "Harmonica", "organ": "PipeOrgan", "accordion": "Accordion", "banjo": "Banjo", "marimba": "Marimba",
    "xylophone": "Xylophone",
}  # fmt: skip
# music21 leaves these at None
WITHOUT_TRANSPOSITION_THERE = {"guitar", "bass guitar", "glockenspiel", "recorder", "xylophone"}


@pytest.mark.parametrize(("name", "semitones", "written_c_sounds"), TRANSPOSITIONS)
def test_transpositions_in_the_published_tables(name: str, semitones: int, written_c_sounds: str) -> None:
    player, middle_c = instrument(name), Note.parse("C4")
    assert player.sounding(middle_c) == Note.parse(written_c_sounds)
    assert player.sounding(middle_c).step(equal(12)) == semitones


def test_every_transposing_instrument_is_checked() -> None:
    transposing = {name for name, player in INSTRUMENTS.items() if player.written_above != "P1"}
    assert transposing == {name for name, _, _ in TRANSPOSITIONS}


@pytest.mark.parametrize("name", [name for name in MUSIC21_CLASSES if name not in WITHOUT_TRANSPOSITION_THERE])
def test_transpositions_match_music21(name: str) -> None:
    theirs = music21.pitch.Pitch("C4")
    transposition = getattr(music21.instrument, MUSIC21_CLASSES[name])().transposition
    if transposition is not None:
        theirs = theirs.transpose(transposition)
    ours = instrument(name).sounding(Note.parse("C4"))
    alteration = 0 if theirs.accidental is None else 2 * theirs.accidental.alter
    assert (ours.letter, ours.half_sharps, ours.octave) == (theirs.step, alteration, theirs.octave)


@pytest.mark.parametrize(("name", "theirs"), MUSIC21_CLASSES.items())
def test_sound_programs_match_music21(name: str, theirs: str) -> None:
    """General MIDI 1 sound set, counted from 0."""
    assert instrument(name).midi_program == getattr(music21.instrument, theirs)().midiProgram


@pytest.mark.parametrize(("name", "written", "sounding"), RANGES)
def test_comfortable_ranges_lie_within_the_published_ones(name: str, written: str, sounding: str) -> None:
    player = instrument(name)
    low, high = (Note.parse(text) for text in written.split())
    assert low.step(equal(12)) <= player.lowest.step(equal(12)) < player.highest.step(equal(12)) <= high.step(equal(12))
    sounding_low, sounding_high = (Note.parse(text).hz() for text in sounding.split())
    assert sounding_low * 0.9999 <= player.range_hz[0] < player.range_hz[1] <= sounding_high * 1.0001


@pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=lambda player: player.name)
def test_each_instrument_is_whole(player: Instrument) -> None:
    assert player is instrument(player.name) is INSTRUMENTS[player.name]
    assert player.family in FAMILIES
    assert player.clef in ("treble", "treble 8vb", "alto", "bass", "bass 8vb")
    assert 0 <= player.midi_program <= 127
    low, high = player.range_hz
    assert 25 < low < high < 4500
    assert 12 <= 12 * math.log2(high / low) <= 60


def test_there_are_at_least_twenty_of_every_kind() -> None:
    assert len(INSTRUMENTS) >= 20
    assert {player.family for player in INSTRUMENTS.values()} == set(FAMILIES)


@given(players, notes)
def test_written_and_sounding_are_inverse(player: Instrument, note: Note) -> None:
    assert player.sounding(player.written(note)) == note
    assert player.written(player.sounding(note)) == note


@given(players, notes)
def test_a_player_reads_the_same_number_of_letters_away(player: Instrument, note: Note) -> None:
    letters = player.written(Note.parse("C4")).diatonic - Note.parse("C4").diatonic
    assert player.written(note).diatonic - note.diatonic == letters


def test_in_thirty_one_a_transposition_is_by_name() -> None:
    """A major second is five steps of 31, so a B♭ clarinet reads D½♭ for a sounding C½♭."""
    clarinet = instrument("clarinet")
    assert clarinet.written(Note.parse("Chb4")) == Note.parse("Dhb4")
    assert clarinet.written(Note.parse("C4")).step(equal(31)) == 5


@pytest.mark.parametrize(
    ("typed", "name"),
    [("Alto Sax", "alto saxophone"), ("ALTO-SAXOPHONE", "alto saxophone"), ("sax", "alto saxophone"),
     ("clarinet in Bb", "clarinet in B♭"), ("Clarinet_in_B♭", "clarinet in B♭"), ("cor anglais", "english horn"),
     ("French horn", "horn in F"), ("  violoncello ", "cello"), ("mezzo soprano voice", "mezzo-soprano voice"),
     ("bass", "double bass"), ("upright bass", "double bass"), ("contrabass", "double bass"),
     ("Bb clarinet", "clarinet in B♭"), ("A clarinet", "clarinet in A"), ("mouth organ", "harmonica"),
     ("pipe organ", "organ"), ("piano accordion", "accordion"), ("descant recorder", "recorder"),
     ("treble recorder", "alto recorder"), ("fiddle", "violin"),
     ("electric guitar", "guitar"), ("double bassoon", "contrabassoon"), ("vibes", "vibraphone")],
)  # fmt: skip
def test_names_as_people_type_them(typed: str, name: str) -> None:
    assert instrument(typed).name == name


@pytest.mark.parametrize(
    ("typed", "suggested"),
    [("clarinette", "clarinet in B♭"), ("alto saxofone", "alto saxophone"), ("trumpit", "trumpet"), ("zzz", "piccolo"),
     ("", "piccolo"), (None, "piccolo"), (64, "piccolo")],
)  # fmt: skip
def test_an_unknown_instrument_is_answered_with_near_ones(typed: object, suggested: str) -> None:
    with pytest.raises(ValueError, match="no instrument is called") as refused:
        instrument(typed)  # type: ignore[arg-type]
    assert repr(typed) in str(refused.value)
    assert suggested in str(refused.value)


@pytest.mark.parametrize("typed", ["soprano", "alto", "tenor", "baritone"])
def test_a_name_that_may_mean_a_voice_or_a_saxophone_is_not_guessed(typed: str) -> None:
    """The one is written where it sounds, the other is not"""
    with pytest.raises(ValueError, match=f"{typed} voice"):
        instrument(typed)


def test_reach_is_the_range_as_it_sounds_with_half_a_semitone_to_spare() -> None:
    alto = instrument("alto saxophone")  # sounds D♭3 to A♭5
    low, high = Note.parse("Db3").hz(), Note.parse("Ab5").hz()
    cents_out = np.array([-51, -49, 0, 600, 0, 49, 51])
    edges = np.array([low, low, low, low, high, high, high]) * 2 ** (cents_out / 1200)
    assert alto.reaches(edges).tolist() == [False, True, True, True, True, True, False]
    assert alto.reaches(edges.reshape(7, 1)).shape == (7, 1)
    assert alto.reaches(low * 0.99, leeway=0) is False
    assert alto.reaches(low) is True


@given(players, st.integers(1, 8), st.integers(1, 24), st.integers(-48, 24))
def test_no_fundamental_reaches_more_harmonics_than_the_one_proposed(
    player: Instrument, first: int, count: int, step: int
) -> None:
    harmonics = range(first, first + count)
    near = Note.parse("Bb1")
    note, within = propose_fundamental(player, harmonics, near)
    assert within == np.sum(player.reaches(note.hz() * np.array(harmonics)))
    other_hz = 261.6255653 * 2 ** (step / 12)
    other_within = np.sum(player.reaches(other_hz * np.array(harmonics)))
    assert other_within <= within
    if other_within == within:
        assert abs(note.step(equal(12)) - near.step(equal(12))) <= abs(step - near.step(equal(12)))


def test_a_fundamental_that_is_already_best_is_kept() -> None:
    player = instrument("alto saxophone")
    best, _ = propose_fundamental(player, range(1, 17), Note.parse("Bb1"))
    assert propose_fundamental(player, range(1, 17), best)[0] == best
