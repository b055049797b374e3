"""Chords named back from their notes: every reading is those notes, and the likeliest comes first."""

from __future__ import annotations

from itertools import pairwise

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.harmony.chords import Chord
from tunelib.harmony.naming import Reading, readings
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE, Tuning, equal, just

TWELVE = equal(12)


def symbols(notes: object, tuning: Tuning = THIRTY_ONE) -> list[str]:
    return [reading.symbol for reading in readings(notes, tuning)]  # type: ignore[arg-type]


def close_position(chord: Chord, inversion: int) -> list[Note]:
    """The notes of a chord, as many of the lowest as are asked for an octave higher, extensions brought within it."""
    notes = [Note(note.letter, note.half_sharps, 4) for note in chord.notes]
    turned = notes[inversion:] + notes[:inversion]
    rising = [turned[0]]
    for note in turned[1:]:
        while note.step(THIRTY_ONE) <= rising[-1].step(THIRTY_ONE):
            note = Note(note.letter, note.half_sharps, note.octave + 1)
        rising.append(note)
    return rising


# What players call these notes (common practice), the lowest first.
CALLED = {
    "C E G": "C", "E G C": "C/E", "G C E": "C/G", "A C E": "Am", "A C E G": "Am7", "C E G A": "C6", "D F A C": "Dm7",
    "G B D F": "G7", "F G B D": "G7/F", "B D F A": "Bm7b5", "D F A B": "Dm6", "C Eb Gb": "Cdim", "C E G#": "Caug",
    "B D F Ab": "Bdim7", "C F G": "Csus4", "C D G": "Csus2", "G C D F": "G7sus4", "G F A C": "F/G", "C G": "C5",
    "C E": "Cno5", "C E B": "Cmaj7no5", "C E Bb D": "C9no5", "F A C E G": "Fmaj9", "C E G A D": "C69",
    "C E G D": "Cadd9", "E G B D F#": "Em9", "D F A C E G": "Dm11", "G B D F A E": "G13", "C E G Bb Db": "C7b9",
    "C E G Bb D#": "C7#9", "C E G Bb F#": "C7#11", "C E G B F#": "Cmaj7#11", "C E G# Bb": "C7#5", "C E Gb Bb": "C7b5",
    "C Eb G B": "Cmmaj7", "C E Bb Db D# F# Ab": "C7alt", "Ab C Eb F#": "Abadd#6", "C F# G": "Csus#4",
    "C Ehb G": "Cneu", "C Eh# G": "Csup", "C Eb G Bhb": "Cmmid7", "C E Gb": "C(b5)",
}  # fmt: skip


@pytest.mark.parametrize("notes", CALLED)
def test_the_likeliest_reading_is_what_players_say(notes: str) -> None:
    assert symbols(notes)[0] == CALLED[notes]


BY_STEPS = {
    (0, 7, 18): "Csub", (0, 8, 18): "Cm", (0, 9, 18): "Cneu", (0, 10, 18): "C", (0, 11, 18): "Csup",
    (0, 10, 18, 25): "Charm7", (0, 10, 18, 26): "C7", (0, 8, 15, 26): "Cm7bhb5", (0, 10, 18, 25, 36, 45): "Charm9h#11",
    (-21, 0, 18): "C/E", (0, 8, 16, 24): "Cdim7", (10, 18, 25, 31): "Charm7/E", (3, 13, 21): "Db",
}  # fmt: skip


@pytest.mark.parametrize("steps", BY_STEPS)
def test_the_likeliest_reading_of_steps(steps: tuple[int, ...]) -> None:
    assert symbols(steps)[0] == BY_STEPS[steps]


# Kinds that music21 names, and our signs for them.
NAMED_BY_MUSIC21 = {
    "major": "", "minor": "m", "diminished": "dim", "augmented": "aug", "dominant-seventh": "7",
    "major-seventh": "maj7", "minor-seventh": "m7", "half-diminished-seventh": "m7b5", "diminished-seventh": "dim7",
    "minor-major-seventh": "mmaj7", "augmented-major-seventh": "maj7#5", "augmented-seventh": "7#5",
}  # fmt: skip


@pytest.mark.parametrize("root", ["C", "F#", "Eb", "A", "Bb"])
def test_triads_and_sevenths_in_every_inversion_are_named_as_music21_names_them(root: str) -> None:
    seen = set()
    for body in NAMED_BY_MUSIC21.values():
        chord = Chord.parse(f"{root}{body}")
        for inversion in range(len(chord.notes)):
            notes = close_position(chord, inversion)
            peer = music21.chord.Chord([note.typed.replace("b", "-").replace("x", "##") for note in notes])
            _, kind = music21.harmony.chordSymbolFigureFromChord(peer, True)
            name = f"{peer.root().name.replace('-', 'b')}{NAMED_BY_MUSIC21[kind]}"
            bass = notes[0].name.replace("♯", "#").replace("♭", "b").replace("𝄪", "x").replace("𝄫", "bb")
            expected = name if inversion == 0 else f"{name}/{bass}"
            sixth = inversion == 1 and kind in (
                "minor-seventh",
                "half-diminished-seventh",
            )  # to jazz players a C6 or Cm6
            assert symbols(notes)[int(sixth)] == expected
            seen.add(kind)
    assert seen == set(NAMED_BY_MUSIC21)


def test_every_ordinary_chord_in_every_inversion_is_among_its_readings() -> None:
    bodies = (
        "m7 7 maj7 9 m9 maj9 13 7b9 7#9 7#11 69 m6 sus4 7sus4 neu sub7 sup harm7 harm9 neumid7 add9 7alt dim7".split()
    )
    for body in bodies:
        chord = Chord.parse(f"D{body}")
        for inversion in range(len(chord.notes)):
            notes = close_position(chord, inversion)
            assert chord.over(notes[0]).symbol in symbols(notes), (body, inversion)
            assert chord.over(notes[0]).symbol in symbols([note.step(THIRTY_ONE) for note in notes]), (body, inversion)


def degrees_within(notes: object, tuning: Tuning) -> set[int]:
    return {note.step(tuning) % len(tuning) for note in notes}  # type: ignore[attr-defined]


def check(found: tuple[Reading, ...], sounding: set[int], lowest: int, tuning: Tuning) -> None:
    assert len({reading.symbol for reading in found}) == len(found)
    for reading in found:
        chord = reading.chord
        assert Chord.parse(reading.symbol) == chord
        bass = chord.bass or chord.root
        lowest_note = chord.bass_in(tuning)
        assert degrees_within((*chord.notes_in(tuning), lowest_note), tuning) == sounding
        assert lowest_note.name == bass.name or lowest_note.letter == bass.letter
        assert lowest_note.step(tuning) % len(tuning) == lowest % len(tuning)
        assert reading.why[0].isupper()
        assert reading.why.endswith(".")
        assert reading.why.count(".") == 1


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(-40, 60), min_size=2, max_size=7), st.sampled_from([12, 17, 19, 22, 31, 41, 53, 72]))
def test_every_reading_of_any_steps_is_just_those_notes_over_the_lowest(steps: list[int], size: int) -> None:
    sounding = {step % size for step in steps}
    if len(sounding) > 1:
        check(readings(steps, equal(size)), sounding, min(steps), equal(size))


NOTES = st.builds(Note, st.sampled_from("CDEFGAB"), st.integers(-4, 4), st.integers(2, 5))


@settings(max_examples=200, deadline=None)
@given(st.lists(NOTES, min_size=2, max_size=6))
def test_every_reading_of_any_spelled_notes_is_just_those_notes_and_those_that_keep_the_spelling_come_first(
    notes: list[Note],
) -> None:
    sounding = degrees_within(notes, THIRTY_ONE)
    if len(sounding) < 2:
        return
    found = readings(notes, THIRTY_ONE)
    check(found, sounding, min(note.step(THIRTY_ONE) for note in notes), THIRTY_ONE)
    names = {note.name for note in notes}
    if len(names) == len(sounding):
        kept = [
            {note.name for note in (*reading.chord.notes, reading.chord.bass or reading.chord.root)} == names
            for reading in found
        ]
        assert all(before or not after for before, after in pairwise(kept))


def test_twenty_five_steps_are_a_harmonic_seventh_or_an_augmented_sixth_as_they_are_spelled() -> None:
    assert symbols([0, 10, 18, 25])[:2] == ["Charm7", "Cadd#6"]
    spelled = readings("C E G A#", THIRTY_ONE)
    assert spelled[0].symbol == "Cadd#6"
    (other,) = [reading for reading in spelled if reading.symbol == "Charm7"]
    assert other.why == "Root position, complete; a harmonic seventh; B♭½♭ for A♯; close to 4:5:6:7."
    assert symbols("C E G Bbhb")[0] == "Charm7"


def test_in_twelve_a_diminished_seventh_and_an_augmented_triad_can_be_on_each_of_their_notes() -> None:
    """Common practice: they divide the octave evenly, so their roots are a matter of spelling."""
    diminished = {symbol.split("/")[0] for symbol in symbols("B D F Ab", TWELVE)}
    assert {"Bdim7", "Ddim7", "Fdim7"} <= diminished
    assert {"Abdim7", "G#dim7"} & diminished
    augmented = {symbol.split("/")[0] for symbol in symbols("C E G#", TWELVE)}
    assert {"Caug", "Eaug", "Abaug"} <= augmented
    assert {symbol.split("/")[0] for symbol in symbols("C E G#")} & {"Eaug", "Abaug"} == set()  # not so in thirty-one


@pytest.mark.parametrize(
    ("better", "worse", "notes"),
    [
        ("Am7", "C6/A", "A C E G"),  # the root in the bass
        ("C6", "Am7/C", "C E G A"),
        ("C/E", "Emno5addb6", "E G C"),  # complete before incomplete
        ("F/G", "G9sus4no5", "G C F A"),
        ("C7alt", "C7bhb5b9#9b13", "C E Bb Db D# F# Ab"),  # plain before altered
    ],
)
def test_what_comes_before_what(better: str, worse: str, notes: str) -> None:
    found = symbols(notes)
    assert found.index(better) < found.index(worse)


@pytest.mark.parametrize(
    ("notes", "symbol", "why"),
    [
        ("C E G", "C", "Root position, complete; close to 4:5:6."),
        ("E G C", "C/E", "First inversion, with its third, E, in the bass, complete; close to 4:5:6."),
        ("F G B D", "G7/F", "Third inversion, with its seventh, F, in the bass, complete; close to 20:25:30:36."),
        ("G F A C", "F/G", "A chord over the bass G, which is no note of it, complete; close to 4:5:6."),
        ("C E Bb", "C7no5", "Root position, without fifth; close to 28:35:50."),
        ("C Ehb G", "Cneu", "Root position, complete; a neutral third; close to 18:22:27."),
        ("C F G", "Csus4", "Root position, complete; a fourth in place of the third; close to 6:8:9."),
        ("A C E G", "C6/A", "With its sixth, A, in the bass, complete; a sixth; close to 12:15:18:20."),
    ],
)
def test_a_reading_says_why(notes: str, symbol: str, why: str) -> None:
    (reading,) = [reading for reading in readings(notes, THIRTY_ONE) if reading.symbol == symbol]
    assert reading.why == why


def test_notes_as_text_as_notes_and_as_steps_are_named_alike() -> None:
    notes = [Note.parse("G4"), Note.parse("E3"), Note.parse("C4")]
    assert symbols(notes)[0] == symbols("E3 C4 G4")[0] == symbols("E, C, G")[0] == symbols([-21, 0, 18, 31])[0] == "C/E"
    assert symbols(iter(notes)) == symbols(notes)


def test_a_spelling_that_no_step_would_be_given_is_kept() -> None:
    assert symbols("C E G Dx")[0] == "Caddx9"


def test_over_a_bass_that_is_no_note_of_it_stands_only_a_complete_chord() -> None:
    found = [
        reading
        for notes in CALLED
        for reading in readings(notes, THIRTY_ONE)
        if "which is no note of it" in reading.why
    ]
    assert len(found) > 20
    for reading in found:
        numbers = {number for number, _ in reading.chord.degrees}
        assert (5, 0) in reading.chord.degrees
        assert numbers & {2, 3, 4}
        assert "complete" in reading.why


def test_a_cluster_has_readings_with_added_notes() -> None:
    found = symbols([0, 1, 2, 3])
    assert found
    assert all("add" in symbol or "9" in symbol for symbol in found)


def test_of_all_thirty_one_notes_no_reading_is_left() -> None:
    assert readings(range(31), THIRTY_ONE) == ()


@pytest.mark.parametrize(
    ("notes", "tuning", "says"),
    [
        ([], THIRTY_ONE, "two different notes or more"),
        ("C4 C5", THIRTY_ONE, "two different notes or more"),
        ("C4 H4", THIRTY_ONE, "'H4' is not a note"),
        ("C E4", THIRTY_ONE, "'E4' is not a note's name"),
        (["C", "E"], THIRTY_ONE, "are not notes of a chord: give notes, their names as text"),
        ([0, 1.5], THIRTY_ONE, "are not notes of a chord"),
        ([0, Note.parse("E4")], THIRTY_ONE, "are not notes of a chord"),
        (7, THIRTY_ONE, "7 are not notes of a chord"),
        ("C Ehb G", TWELVE, "falls between the steps of 12"),
        ([0, 1, 2], just(["5/4", "3/2"]), "have no letters"),
    ],
)
def test_what_is_no_chord_is_refused(notes: object, tuning: Tuning, says: str) -> None:
    with pytest.raises(ValueError) as refused:
        readings(notes, tuning)  # type: ignore[arg-type]
    assert says in str(refused.value)


def test_a_high_degree_in_the_bass_is_less_likely_than_a_foreign_bass_but_not_out_of_the_question() -> None:
    """C7 over F sharp is read as that, and next as the C7#11 that it is too (common practice)"""
    assert [reading.symbol for reading in readings("F# C E G Bb", equal(31))][:2] == ["C7/F#", "C7#11/F#"]
