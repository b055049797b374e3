"""Spelled notes against MIDI 1.0, librosa and music21, and against themselves."""

from __future__ import annotations

import math
import re

import librosa
import music21
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tunelib.pitch.notes import (
    LETTERS,
    Note,
    hz_from_midi,
    midi_from_hz,
    nearest_note,
    spell,
    spell_on_chain,
    spellings,
)
from tunelib.pitch.tunings import Tuning, equal, just

# Key, name and hertz: MIDI 1.0 with A4 = 440 Hz (ISO 16:1975).
MIDI_TABLE = [
    (0, "C-1", 8.175799), (21, "A0", 27.5), (57, "A3", 220.0), (60, "C4", 261.625565), (61, "C#4", 277.182631),
    (64, "E4", 329.627557), (67, "G4", 391.995436), (69, "A4", 440.0), (72, "C5", 523.251131),
    (108, "C8", 4186.009045), (127, "G9", 12543.853951),
]  # fmt: skip

notes = st.builds(Note, st.sampled_from(LETTERS), st.integers(-9, 9), st.integers(-2, 10))
plain_notes = st.builds(Note, st.sampled_from(LETTERS), st.integers(-4, 4), st.integers(-1, 9))
interval_names = st.sampled_from(
    [
        f"{sign}{quality}{number}"
        for sign in ("", "-")
        for qualities, numbers in (
            ("P A AA d dd", (1, 4, 5, 8, 11, 12, 15)),
            ("M m A AA d dd", (2, 3, 6, 7, 9, 10, 13)),
        )
        for quality in qualities.split()
        for number in numbers
    ]
)


@pytest.mark.parametrize(("key", "name", "hz"), MIDI_TABLE)
def test_midi_keys_names_and_frequencies(key: int, name: str, hz: float) -> None:
    note = Note.parse(name)
    assert note.step(equal(12)) == key - 60
    assert note.hz() == pytest.approx(hz, abs=5e-7)
    assert hz_from_midi(key) == pytest.approx(hz, abs=5e-7)
    assert midi_from_hz(hz) == pytest.approx(key, abs=1e-5)
    named, left_over = nearest_note(hz)
    assert named == note
    assert left_over == pytest.approx(0, abs=2e-4)


def test_the_tolerance_of_the_standard_pitch_in_cents() -> None:
    """440 +- 0.5 Hz is +1.9662 and -1.9684 cents (the tolerance of ISO 16:1975 is from memory)."""
    assert nearest_note(440.5)[1] == pytest.approx(1.9662, abs=5e-5)
    assert nearest_note(439.5)[1] == pytest.approx(-1.9684, abs=5e-5)


def test_midi_numbers_match_librosa_over_the_whole_range() -> None:
    keys = np.linspace(0, 127, 1271)
    np.testing.assert_allclose(hz_from_midi(keys), librosa.midi_to_hz(keys), rtol=1e-12)
    hertz = np.geomspace(8, 20_000, 500)
    np.testing.assert_allclose(midi_from_hz(hertz), librosa.hz_to_midi(hertz), atol=1e-9)
    assert isinstance(midi_from_hz(440), float)
    assert isinstance(hz_from_midi(69), float)


@given(st.floats(8, 20_000))
def test_nearest_note_agrees_with_librosa(hz: float) -> None:
    note, left_over = nearest_note(hz)
    key = librosa.hz_to_midi(hz)
    assume(abs(key % 1 - 0.5) > 1e-6)
    assert note.step(equal(12)) + 60 == round(float(key))
    assert left_over == pytest.approx(100 * float(key - np.round(key)), abs=1e-6)


@pytest.mark.parametrize("name", ["A3", "C#4", "Bb2", "F#6", "Eb5", "B-1", "Cx4", "Dbb4", "Cb4", "B#3", "E#5", "Fb5"])
def test_names_sound_where_librosa_puts_them(name: str) -> None:
    theirs = librosa.note_to_hz(name.replace("x", "##"))
    assert Note.parse(name).hz() == pytest.approx(float(theirs), rel=1e-12)


MUSIC21_SIGNS = {-4: "--", -3: "-`", -2: "-", -1: "`", 0: "", 1: "~", 2: "#", 3: "#~", 4: "##"}


@pytest.mark.parametrize("letter", LETTERS)
@pytest.mark.parametrize(("half_sharps", "sign"), MUSIC21_SIGNS.items())
def test_quarter_tones_match_music21(letter: str, half_sharps: int, sign: str) -> None:
    """In 24 equal steps a half-sharp is a quarter-tone; music21 writes it ~ and a half-flat with a backtick."""
    theirs = music21.pitch.Pitch(f"{letter}{sign}4")
    ours = Note(letter, half_sharps, 4)
    assert theirs.accidental is None or theirs.accidental.alter == half_sharps / 2
    assert ours.step(equal(24)) == 2 * (theirs.ps - 60)
    assert ours.quartertones - Note.parse("C4").quartertones == 2 * (theirs.ps - 60)
    assert ours.hz(equal(24)) == pytest.approx(theirs.frequency, rel=1e-9)
    assert ours.diatonic == theirs.diatonicNoteNum - 1


@given(st.builds(Note, st.sampled_from(LETTERS), st.sampled_from([-2, 0, 2]), st.integers(2, 6)), interval_names)
def test_transposition_matches_music21(note: Note, name: str) -> None:
    down = name.startswith("-")
    quality, number = re.fullmatch(r"-?([PMmAd]+)(\d+)", name).groups()  # type: ignore[union-attr]
    assume(number != "1")  # music21 has neither diminished unisons nor unisons down
    theirs = music21.pitch.Pitch(f"{note.letter}{MUSIC21_SIGNS[note.half_sharps]}{note.octave}")
    moved = theirs.transpose(music21.interval.Interval(f"{quality}{'-' if down else ''}{number}"))
    ours = note.transpose(name)
    assert (ours.letter, ours.half_sharps, ours.octave) == (moved.step, 2 * moved.alter, moved.octave)


@given(notes, interval_names)
def test_transposing_up_then_down_comes_home(note: Note, name: str) -> None:
    back = name[1:] if name.startswith("-") else f"-{name}"
    assert note.transpose(name).transpose(back) == note


@given(notes, interval_names, st.sampled_from([equal(12), equal(19), equal(24), equal(31), equal(53), equal(7)]))
def test_a_named_interval_is_one_number_of_steps_everywhere(note: Note, name: str, tuning: Tuning) -> None:
    assume(note.half_sharps % 2 == 0 or len(tuning) in (24, 31))
    size = Note.parse("C4").transpose(name).step(tuning)
    assert note.transpose(name).step(tuning) - note.step(tuning) == size


@pytest.mark.parametrize(
    ("name", "semitones", "steps"),
    [("P1", 0, 0), ("m2", 1, 3), ("M2", 2, 5), ("m3", 3, 8), ("M3", 4, 10), ("P4", 5, 13), ("A4", 6, 15), ("d5", 6, 16),
     ("P5", 7, 18), ("m6", 8, 21), ("M6", 9, 23), ("m7", 10, 26), ("M7", 11, 28), ("P8", 12, 31), ("M9", 14, 36),
     ("M13", 21, 54), ("P15", 24, 62), ("A1", 1, 2), ("d4", 4, 11), ("A5", 8, 20), ("A6", 10, 25), ("d7", 9, 24)],
)  # fmt: skip
def test_sizes_of_named_intervals_in_twelve_and_thirty_one(name: str, semitones: int, steps: int) -> None:
    """Semitones are common practice; in 31 the augmented sixth is the natural seventh's 25 (Huygens 1691)."""
    moved = Note.parse("C4").transpose(name)
    assert (moved.step(equal(12)), moved.step(equal(31))) == (semitones, steps)
    assert Note.parse("C4").transpose(f"-{name}").step(equal(31)) == -steps


@pytest.mark.parametrize(
    ("note", "interval", "written"),
    [("C4", "M2", "D4"), ("Bb3", "M2", "C4"), ("F#4", "M2", "G#4"), ("Eb4", "M6", "C5"), ("B3", "P5", "F#4"),
     ("Ehb4", "M2", "Fh#4"), ("E4", "-m3", "C#4"), ("B4", "m2", "C5"), ("C4", "-m2", "B3"), ("G#4", "M3", "B#4"),
     ("Db4", "-P8", "Db3"), ("F4", "A4", "B4"), ("F4", "d5", "Cb5")],
)  # fmt: skip
def test_transposition_keeps_the_spelling(note: str, interval: str, written: str) -> None:
    """Common practice: letters move by the number, the quality is kept by the accidental."""
    assert Note.parse(note).transpose(interval) == Note.parse(written)


@given(notes)
def test_notes_print_and_read_back(note: Note) -> None:
    assert Note.parse(str(note)) == note
    assert Note.parse(note.typed) == note
    assert Note.parse(note.typed.lower()) == note
    assert repr(note) == f"Note('{note.typed}')"
    assert str(note) == f"{note.letter}{note.accidental}{note.octave}"
    assert note.typed.isascii()


@pytest.mark.parametrize(
    ("text", "letter", "half_sharps", "octave"),
    [("C4", "C", 0, 4), ("B♭3", "B", -2, 3), ("bb3", "B", -2, 3), ("bbb3", "B", -4, 3), ("F#5", "F", 2, 5),
     ("Cx4", "C", 4, 4), ("C##4", "C", 4, 4), ("C𝄪4", "C", 4, 4), ("D𝄫4", "D", -4, 4), ("Dbb4", "D", -4, 4),
     ("Eh#2", "E", 1, 2), ("Ehb2", "E", -1, 2), ("E½♯2", "E", 1, 2), ("E½♭2", "E", -1, 2), ("Fh##4", "F", 3, 4),
     ("G#h#4", "G", 3, 4), ("Abhb4", "A", -3, 4), ("A♭½♭4", "A", -3, 4), ("C♮4", "C", 0, 4), ("A-1", "A", 0, -1),
     (" G10 ", "G", 0, 10)],
)  # fmt: skip
def test_every_way_of_writing_a_note(text: str, letter: str, half_sharps: int, octave: int) -> None:
    assert Note.parse(text) == Note(letter, half_sharps, octave)


def test_the_five_signs_between_c_and_d_in_thirty_one() -> None:
    names = ["C4", "C½♯4", "C♯4", "D♭4", "D½♭4", "D4"]
    assert [str(spell(step, equal(31))) for step in range(6)] == names
    assert [Note.parse(name).step(equal(31)) for name in names] == list(range(6))
    assert Note.parse("B3").step(equal(31)) == -3
    assert Note.parse("Dbb4").step(equal(31)) == 1


@given(notes, st.integers(-5, 5))
def test_steps_in_thirty_one_are_linear_in_the_accidental_and_the_octave(note: Note, octaves: int) -> None:
    tuning = equal(31)
    natural = Note(note.letter, 0, note.octave).step(tuning)
    assert note.step(tuning) == natural + note.half_sharps
    assert Note(note.letter, note.half_sharps, note.octave + octaves).step(tuning) == note.step(tuning) + 31 * octaves
    assert note.step(tuning) == (18 * note.fifths) % 31 + 31 * math.floor(note.step(tuning) / 31)


@given(plain_notes, st.sampled_from([12, 19, 31, 43, 53]))
def test_letters_are_placed_along_the_chain_of_fifths(note: Note, n: int) -> None:
    """Common practice: a letter's pitch is its number of fifths from C, less octaves."""
    tuning = equal(n)
    assume(note.half_sharps % 2 == 0)
    assert tuning.fifth is not None
    assert (note.step(tuning) - tuning.fifth * int(note.fifths)) % n == 0


@pytest.mark.parametrize("home", [0, -2, 3, -6, 6])
@pytest.mark.parametrize("n", [12, 19, 24, 31, 53, 22, 17, 43])
def test_a_spelled_step_names_that_step(n: int, home: int) -> None:
    tuning, unspelled = equal(n), 0
    for step in range(-2 * n, 2 * n + 1):
        try:
            note = spell(step, tuning, home)
        except ValueError as refused:
            assert "no plain spelling" in str(refused)
            unspelled += 1
            continue
        assert note.step(tuning) == step
        assert abs(note.half_sharps) <= 4
    assert unspelled == 0 or n in (43, 53)


def test_every_note_of_fifty_three_within_two_sharps_or_flats_is_spelled() -> None:
    """Letters with up to two sharps or flats are 35 fifths in a row, so 35 of the 53 notes."""
    spelled = {note.step(equal(53)) % 53 for note in (Note(x, h, 4) for x in LETTERS for h in (-4, -2, 0, 2, 4))}
    assert len(spelled) == 35
    for step in range(53):
        if step in spelled:
            assert spell(step, equal(53)).step(equal(53)) == step
        else:
            with pytest.raises(ValueError, match=f"step {step} of 53"):
                spell(step, equal(53))


def test_twelve_is_spelled_as_keyboards_are_commonly_labelled() -> None:
    names = "C4 C#4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4".split()
    assert [spell(step, equal(12)).typed for step in range(12)] == names
    around_b_flat = [spell(step, equal(12), home=-2).typed for step in range(12)]
    assert around_b_flat == "C4 Db4 D4 Eb4 E4 F4 Gb4 G4 Ab4 A4 Bb4 B4".split()


@given(
    st.floats(20, 15_000), st.sampled_from([equal(5), equal(12), equal(19), equal(24), equal(31)]), st.floats(400, 480)
)
def test_what_is_left_over_is_within_half_a_step(hz: float, tuning: Tuning, reference: float) -> None:
    note, left_over = nearest_note(hz, tuning, reference)
    assert abs(left_over) <= 600 / len(tuning) + 1e-9
    assert 1200 * math.log2(hz / note.hz(tuning, reference)) == pytest.approx(left_over, abs=1e-8)


@given(plain_notes, st.floats(-19, 19))
def test_a_note_played_a_little_out_is_heard_as_itself(note: Note, off: float) -> None:
    tuning = equal(31)
    heard, left_over = nearest_note(note.hz(tuning) * 2 ** (off / 1200), tuning)
    assert heard.step(tuning) == note.step(tuning)
    assert left_over == pytest.approx(off, abs=1e-8)


def test_just_tunings_of_twelve_are_spelled_as_keys() -> None:
    tuning = just(["16/15", "9/8", "6/5", "5/4", "4/3", "45/32", "3/2", "8/5", "5/3", "9/5", "15/8"])
    assert Note.parse("E4").hz(tuning) == pytest.approx(440 * 3 / 4)
    assert Note.parse("Eb4").step(tuning) == Note.parse("D#4").step(tuning) == 3


# The fourteen of the thirty-one notes that have a half-sharp or half-flat, each with its name along the chain of
# fifths: a half-sharp is one step of 31, a sharp two (common practice of music in thirty-one).
ENHARMONIC_PAIRS = [
    (1, "C½♯", "D𝄫"), (4, "D½♭", "C𝄪"), (6, "D½♯", "E𝄫"), (9, "E½♭", "D𝄪"), (11, "E½♯", "F♭"), (12, "F½♭", "E♯"),
    (14, "F½♯", "G𝄫"), (17, "G½♭", "F𝄪"), (19, "G½♯", "A𝄫"), (22, "A½♭", "G𝄪"), (24, "A½♯", "B𝄫"), (27, "B½♭", "A𝄪"),
    (29, "B½♯", "C♭"), (30, "C½♭", "B♯"),
]  # fmt: skip


@pytest.mark.parametrize(("step", "half", "along"), ENHARMONIC_PAIRS)
def test_the_two_names_of_a_note_in_thirty_one_are_one_pitch(step: int, half: str, along: str) -> None:
    tuning = equal(31)
    by_half, by_chain = spell(step, tuning), spell_on_chain(step, tuning)
    assert (by_half.name, by_chain.name) == (half, along)
    assert by_half.step(tuning) == by_chain.step(tuning) == step
    assert by_half.hz(tuning) == by_chain.hz(tuning) == tuning.hz(step)
    assert {by_half, by_chain} <= set(spellings(step, tuning))
    signs = {"½♯": "half-sharp", "½♭": "half-flat", "𝄪": "double-sharp", "𝄫": "double-flat", "♯": "sharp", "♭": "flat"}
    for note, name in ((by_half, half), (by_chain, along)):
        theirs = music21.pitch.Pitch(f"{note.letter}{MUSIC21_SIGNS[note.half_sharps]}{note.octave}")
        assert theirs.accidental.name == signs[name[1:]]


def test_the_other_seventeen_have_one_name_by_halves_and_along_the_chain() -> None:
    paired = {step for step, _, _ in ENHARMONIC_PAIRS}
    names = [spell(step, equal(31)).name for step in range(31) if step not in paired]
    assert names == "C C♯ D♭ D D♯ E♭ E F F♯ G♭ G G♯ A♭ A A♯ B♭ B".split()
    assert names == [spell_on_chain(step, equal(31)).name for step in range(31) if step not in paired]


def test_the_chain_of_thirty_one_goes_from_g_double_flat_to_a_double_sharp() -> None:
    """Fifteen fifths either side of D, and each of them 18 steps: common practice."""
    places = sorted(spell_on_chain(step, equal(31)).fifths for step in range(31))
    assert places == list(range(-13, 18))
    chain = [Note.on_chain(place) for place in range(-13, 18)]
    assert (chain[0].name, chain[-1].name) == ("G𝄫", "A𝄪")
    assert [note.step(equal(31)) % 31 for note in chain] == [18 * place % 31 for place in range(-13, 18)]


def test_c_sharp_and_d_flat_are_one_key_in_twelve_and_two_notes_in_thirty_one() -> None:
    """Common practice; in nineteen, too, and in fifty-three the sharp is above the flat."""
    c_sharp, d_flat = Note.parse("C#4"), Note.parse("Db4")
    assert [d_flat.step(equal(n)) - c_sharp.step(equal(n)) for n in (12, 19, 31, 53)] == [0, 1, 1, -1]
    assert d_flat.hz(equal(31)) / c_sharp.hz(equal(31)) == pytest.approx(2 ** (1 / 31), rel=1e-12)


@pytest.mark.parametrize("n", [12, 19, 24, 31, 53])
def test_spellings_are_all_the_names_of_a_step(n: int) -> None:
    tuning = equal(n)
    every = [
        Note(letter, half_sharps, octave) for octave in (3, 4, 5) for letter in LETTERS for half_sharps in range(-4, 5)
    ]
    playable = [note for note in every if n in (24, 31) or note.half_sharps % 2 == 0]
    for step in range(n):
        found = spellings(step, tuning)
        assert set(found) == {note for note in playable if note.step(tuning) == step}
        assert len(set(found)) == len(found)
        assert [abs(note.half_sharps) for note in found] == sorted(abs(note.half_sharps) for note in found)
        if found:
            assert found[0] == spell(step, tuning)
        higher = spellings(step + 2 * n, tuning)
        assert higher == tuple(Note(note.letter, note.half_sharps, note.octave + 2) for note in found)


@given(st.integers(-60, 60), st.integers(-2, 9))
def test_a_place_on_the_chain_is_the_notes_number_of_fifths(place: int, octave: int) -> None:
    note = Note.on_chain(place, octave)
    assert (note.fifths, note.octave) == (place, octave)
    assert Note.named(note.name, octave) == Note.named(f" {note.name} ", octave) == note
    assert Note.named(note.typed.removesuffix(str(octave)), octave) == note


def test_the_chain_is_a_chain_of_perfect_fifths_as_music21_counts_them() -> None:
    pitch = music21.pitch.Pitch("F--4")
    for place in range(-15, 20):
        ours = Note.on_chain(place, pitch.octave)
        assert (ours.letter, 2 * pitch.alter) == (pitch.step, ours.half_sharps)
        pitch = pitch.transpose("P5")


@pytest.mark.parametrize("name", ["", "C4", "H", "C#b", "Cn", "c sharp", "½♯", None, 3, b"C", ["C"]])
def test_what_is_no_name_of_a_note_is_refused(name: object) -> None:
    with pytest.raises(ValueError, match="such as|mixes sharps and flats"):
        Note.named(name)  # type: ignore[arg-type]


@pytest.mark.parametrize("place", [0.0, 0.5, "1", None, True])
def test_a_place_on_the_chain_is_a_whole_number(place: object) -> None:
    with pytest.raises(ValueError, match="a place on the chain of fifths is a whole number") as refused:
        Note.on_chain(place)  # type: ignore[arg-type]
    assert repr(place) in str(refused.value)


def test_spelling_along_the_chain_refuses_what_lies_off_it() -> None:
    with pytest.raises(ValueError, match="step 1 of 24 equal steps has no plain spelling along the fifths"):
        spell_on_chain(1, equal(24))
    for ask in (spellings, spell_on_chain):
        with pytest.raises(ValueError, match="whole number, not 1.5"):
            ask(1.5, equal(31))  # type: ignore[operator]
        with pytest.raises(ValueError, match="home is a place on the chain of fifths"):
            ask(1, equal(31), math.inf)  # type: ignore[operator]
        with pytest.raises(ValueError, match="9 equal steps have no letters"):
            ask(1, equal(9))  # type: ignore[operator]


BAD_NOTES = [
    "",
    "H4",
    "C",
    "4",
    "C#",
    "Cb#4",
    "C#b4",
    "C♮♯4",
    "Chx4",
    "C4.5",
    "C--1",
    "Do4",
    "C 4",
    "C#4 D4",
    "Cn4",
    "½♯4",
]


@pytest.mark.parametrize("text", [*BAD_NOTES, None, 60, b"C4", ["C4"]])
def test_text_that_is_no_note_is_refused_by_name(text: object) -> None:
    with pytest.raises(ValueError, match="such as B♭3") as refused:
        Note.parse(text)  # type: ignore[arg-type]
    assert repr(text) in str(refused.value)


@pytest.mark.parametrize(
    ("letter", "half_sharps", "octave", "named"),
    [("H", 0, 4, "'H'"), ("c", 0, 4, "'c'"), ("", 0, 4, "''"), ("CD", 0, 4, "'CD'"), (3, 0, 4, "3"),
     (None, 0, 4, "None"), ("C", 0.5, 4, "0.5"), ("C", True, 4, "True"),
     ("C", 0, "4", "'4'"), ("C", 0, 4.0, "4.0"), ("C", None, 4, "None")],
)  # fmt: skip
def test_parts_that_make_no_note_are_refused(letter: object, half_sharps: object, octave: object, named: str) -> None:
    with pytest.raises(ValueError, match="note") as refused:
        Note(letter, half_sharps, octave)  # type: ignore[arg-type]
    assert named in str(refused.value)


BAD_INTERVALS = [
    "",
    "5",
    "P",
    "P3",
    "M5",
    "m8",
    "P0",
    "M-2",
    "+M2",
    "fifthly",
    "AAA4",
    "p5",
    "M2.5",
    "--M2",
    "P6",
    "m4",
]


@pytest.mark.parametrize("text", [*BAD_INTERVALS, None, 7])
def test_text_that_is_no_interval_is_refused_by_name(text: object) -> None:
    with pytest.raises(ValueError, match="is not an interval.*such as") as refused:
        Note.parse("C4").transpose(text)  # type: ignore[arg-type]
    assert repr(text) in str(refused.value)


def test_a_half_sharp_has_no_place_in_twelve() -> None:
    for ask in (lambda: Note.parse("Ch#4").hz(), lambda: Note.parse("Ch#4").step(equal(22))):
        with pytest.raises(ValueError, match="C½♯4 falls between the steps"):
            ask()


def test_letters_have_no_place_where_a_sharp_would_flatten() -> None:
    for tuning in (equal(9), equal(13, 3), just(["5/4", "3/2"])):
        for ask in (Note.parse("C4").step, Note.parse("C4").hz, lambda t: spell(0, t), lambda t: nearest_note(300, t)):
            with pytest.raises(ValueError, match="have no letters") as refused:
                ask(tuning)
            assert tuning.name in str(refused.value)


@pytest.mark.parametrize("step", [1.0, 1.5, "1", True, None])
def test_only_a_whole_step_is_spelled(step: object) -> None:
    assert spell(1, equal(12)).typed == "C#4"  # so that no cached answer is mistaken for this one
    with pytest.raises(ValueError, match="whole number") as refused:
        spell(step, equal(12))
    assert repr(step) in str(refused.value)


@pytest.mark.parametrize(
    ("hz", "named"), [(0, "0"), (-1, "-1"), (math.nan, "nan"), (math.inf, "inf"), ("440", "'440'"), ([440], "[440]")]
)
def test_only_a_frequency_has_a_nearest_note(hz: object, named: str) -> None:
    with pytest.raises(ValueError, match="frequency") as refused:
        nearest_note(hz)  # type: ignore[arg-type]
    assert named in str(refused.value)


@pytest.mark.parametrize(
    ("bad", "named"), [(0, "0"), (-440, "-440"), ("440", "'440'"), (math.nan, "nan"), (None, "None")]
)
def test_midi_numbers_come_from_frequencies_above_zero(bad: object, named: str) -> None:
    with pytest.raises(ValueError, match="frequency") as refused:
        midi_from_hz(bad)
    assert named in str(refused.value)


@pytest.mark.parametrize("bad", [math.nan, math.inf, "69", None])
def test_frequencies_come_from_finite_midi_numbers(bad: object) -> None:
    with pytest.raises(ValueError, match="MIDI note number") as refused:
        hz_from_midi(bad)
    assert str(bad) in str(refused.value)
