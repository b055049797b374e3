"""Plain names: the same steps under the name that players read, and harmonic sevenths that are written as sixths."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.harmony.chords import Chord
from tunelib.harmony.plain_names import notes_before, plainest_name
from tunelib.harmony.symbol_words import WORDS
from tunelib.pitch.notes import LETTERS, Note
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import THIRTY_ONE, equal

FLATS, SHARPS = Key(Note.named("Db")), Key(Note.named("B"))

# What a player would rather read for a chord that has moved (common practice), in the keys of C, D♭ and B.
RENAMED = {
    "Bh#7#11": ("Cb7#11", "Cb7#11", "Cb7#11"),
    "Bbhbdim7": ("A#dim7", "A#dim7", "A#dim7"),
    "Gbhb7": ("F#7", "F#7", "F#7"),
    "Eh#7": ("Fb7", "Fb7", "Fb7"),
    "Bhb7": ("Bhb7", "Bhb7", "Bhb7"),
    "Dh#m7/Fh#": ("Dh#m7/Fh#", "Dh#m7/Fh#", "Dh#m7/Fh#"),
    "Ebhbm7/Abhb": ("D#m7/G#", "D#m7/G#", "D#m7/G#"),
    "Dbb7/G": ("Ch#7/G", "Ch#7/G", "Ch#7/G"),
    "Fhbmaj7": ("E#maj7", "E#maj7", "E#maj7"),
    "Cmaj7": ("Cmaj7", "Cmaj7", "Cmaj7"),
}


@pytest.mark.parametrize("symbol", RENAMED)
def test_a_chord_of_thirty_one_has_the_name_that_players_read(symbol: str) -> None:
    chord = Chord.parse(symbol)
    assert tuple(plainest_name(chord, THIRTY_ONE, key).symbol for key in (None, FLATS, SHARPS)) == RENAMED[symbol]


def test_where_two_names_are_one_key_the_tune_decides() -> None:
    for symbol, flat, sharp in (
        ("F#7", "Gb7", "F#7"),
        ("Gb7", "Gb7", "F#7"),
        ("C#m7", "Dbm7", "C#m7"),
        ("B/D#", "Cb/Eb", "B/D#"),
    ):
        chord = Chord.parse(symbol)
        assert plainest_name(chord, equal(12), FLATS).symbol == flat
        assert plainest_name(chord, equal(12), SHARPS).symbol == sharp


ROOTS = st.builds(Note, st.sampled_from(LETTERS), st.integers(-5, 5), st.just(4))
BASSES = st.none() | ROOTS
BODIES = st.sampled_from(["", *(body for body in WORDS.usual if body[0] not in "#bh")])
KEYS = st.sampled_from([None, FLATS, SHARPS, Key(Note.named("G"), "minor")])


@given(ROOTS, BASSES, BODIES, st.sampled_from([12, 17, 19, 22, 31, 41, 43, 50, 53, 72]), KEYS)
def test_another_name_is_the_same_chord_and_no_worse_to_read(
    root: Note, bass: Note | None, body: str, size: int, key: Key | None
) -> None:
    tuning = equal(size)
    chord = Chord(root, Chord.parse(f"C{body}").intervals, bass)
    found = plainest_name(chord, tuning, key)
    assert found.intervals == chord.intervals
    for one, other in ((chord.root, found.root), (chord.bass_in(tuning), found.bass_in(tuning))):
        assert (one.within(tuning).step(tuning) - other.step(tuning)) % size == 0
    assert plainest_name(found, tuning, key) == found
    if size in (12, 19, 31):  # elsewhere a name may be taken by the chord, and be another step
        assert abs(found.root.half_sharps) <= 4 and (found.bass is None or abs(found.bass.half_sharps) <= 4)


@pytest.mark.parametrize(
    "body", ["", "m", "7", "m7", "maj7", "m7b5", "dim7", "7b9", "7#9", "7#11", "7alt", "harm7", "69", "13"]
)
def test_no_name_in_thirty_one_has_more_than_a_double_accidental(body: str) -> None:
    """Whatever the step: on paper there is no sign for more"""
    intervals = Chord.parse(f"C{body}").intervals
    for letter in LETTERS:
        for half_sharps in range(-4, 5):
            found = plainest_name(Chord(Note(letter, half_sharps, 4), intervals), THIRTY_ONE)
            assert max(abs(note.half_sharps) for note in notes_before(found, None, THIRTY_ONE)) <= 4, found.symbol


@pytest.mark.parametrize(
    ("chord", "after", "names"),
    [
        ("Gbharm7", "F", "G♭ B♭ D♭ E"),
        ("Abharm7", "C/G", "A♭ C E♭ F♯"),
        ("Abharm9", "G7", "A♭ C E♭ F♯ B♭"),
        ("Dbharm7#11", "Cmaj7", "D♭ F A♭ B G"),
        ("Gbharm7", "Gb", "G♭ B♭ D♭ F♭½♭"),
        ("Gbharm7", None, "G♭ B♭ D♭ F♭½♭"),
        ("Gharm7", "Gb", "G B D F½♭"),
        ("Gharm7", "C", "G B D F½♭"),
        ("Cbharm7", None, "C♭ E♭ G♭ A"),
        ("Gb7", "F", "G♭ B♭ D♭ F♭"),
    ],
)
def test_a_harmonic_seventh_is_a_sixth_where_the_bass_falls_a_semitone(
    chord: str, after: str | None, names: str
) -> None:
    """A German sixth (common practice), and what would have more than a double flat; in the order of the degrees"""
    found = notes_before(Chord.parse(chord), Chord.parse(after) if after else None, THIRTY_ONE)
    assert [note.name for note in found] == names.split()
    assert [n.step(THIRTY_ONE) % 31 for n in found] == [
        n.step(THIRTY_ONE) % 31 for n in Chord.parse(chord).notes_in(THIRTY_ONE)
    ]


def test_a_sixth_that_is_another_step_than_the_seventh_is_not_written_for_it() -> None:
    """In 41 steps 7/4 is step 33, and an augmented sixth by fifths step 35"""
    chord, after = Chord.parse("Abharm7"), Chord.parse("G")
    assert notes_before(chord, after, equal(41)) == chord.notes_in(equal(41))
    assert [note.name for note in notes_before(chord, after, equal(50))][3] == "F♯"
    assert [note.name for note in notes_before(chord, after, equal(43))][3] == "F♯"


def test_a_tuning_without_letters_is_refused() -> None:
    with pytest.raises(ValueError, match="have no letters"):
        plainest_name(Chord.parse("C"), equal(13))
