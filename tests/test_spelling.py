"""Keys and spellings against music21, librosa and common practice."""

from __future__ import annotations

import itertools

import librosa
import music21
import pytest

from tunelib.pitch.notes import LETTERS, Note, spellings
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.spelling import MODES, Key, simplest_tonic, spell_chord, spell_in_key
from tunelib.pitch.tunings import equal

MUSIC21_SIGNS = {-4: "--", -2: "-", 0: "", 2: "#", 4: "##"}
TONICS = [Note(letter, half_sharps, 4) for letter in LETTERS for half_sharps in range(-4, 5)]
KEYS = [Key(tonic, mode) for tonic in TONICS for mode in MODES]
ORDINARY = [key for key in KEYS if not key.tonic.half_sharps % 2 and -8 <= key.lowest_fifth <= 6]


def theirs(note: Note) -> str:
    return f"{note.letter}{MUSIC21_SIGNS[note.half_sharps]}"


def test_there_are_fifteen_ordinary_signatures_in_every_mode() -> None:
    """From seven flats to seven sharps: common practice."""
    assert len(ORDINARY) == 15 * 7


@pytest.mark.parametrize("key", ORDINARY, ids=lambda key: f"{key.tonic.name} {key.mode}")
def test_signatures_and_scales_match_music21(key: Key) -> None:
    reference = music21.key.Key(theirs(key.tonic), key.mode)
    assert [theirs(note) for note in key.signature] == [pitch.name for pitch in reference.alteredPitches]
    assert sum(key.alterations.values()) == 2 * reference.sharps
    scale = [(theirs(note), note.octave) for note in key.scale]
    assert scale == [(pitch.name, pitch.octave) for pitch in reference.getPitches()[:7]]
    kind = "sharp" if reference.sharps > 0 else "flat"
    number = abs(reference.sharps)
    words = f"{number} {kind}{'s' if number > 1 else ''}" if number else "no sharps or flats"
    assert key.signature_words == words


@pytest.mark.parametrize("mode", MODES)
def test_keys_beyond_seven_sharps_or_flats_match_music21(mode: str) -> None:
    """music21 counts a double sharp as two: G sharp major has eight sharps."""
    for tonic in TONICS:
        if tonic.half_sharps % 2 == 0:
            reference = music21.key.Key(theirs(tonic), mode)
            assert sum(Key(tonic, mode).alterations.values()) == 2 * reference.sharps


@pytest.mark.parametrize(
    ("tonic", "words"),
    [("G#", "1 double sharp and 6 sharps"), ("Fb", "1 double flat and 6 flats"), ("Ch#", "7 half-sharps"),
     ("Bhb", "5 half-sharps and 2 half-flats"), ("Chb", "7 half-flats"),
     ("Gh#", "1 one-and-a-half-sharp and 6 half-sharps"),
     ("Fhb", "1 one-and-a-half-flat and 6 half-flats"), ("Bx", "5 triple sharps and 2 double sharps"),
     ("Fbbbb", "1 5-fold flat and 6 4-fold flats")],
)  # fmt: skip
def test_signatures_in_words(tonic: str, words: str) -> None:
    """Counted by hand: a key half a sharp higher has half a sharp more on all of its seven letters."""
    assert Key(Note.named(tonic)).signature_words == words


@pytest.mark.parametrize(
    ("tonic", "signature"),
    [("Bhb", "F½♯ C½♯ G½♯ D½♯ A½♯ E½♭ B½♭"), ("Ahb", "B½♭ E½♭ A½♭ D½♭ G½♯ C½♯ F½♯"),
     ("Ch#", "F½♯ C½♯ G½♯ D½♯ A½♯ E½♯ B½♯"), ("Chb", "B½♭ E½♭ A½♭ D½♭ G½♭ C½♭ F½♭")],
)  # fmt: skip
def test_the_order_of_a_signature_with_halves(tonic: str, signature: str) -> None:
    """Counted by hand: in the order of sharps, or in that of flats where the flats begin it."""
    assert " ".join(note.name for note in Key(Note.named(tonic)).signature) == signature


def test_every_scale_has_each_letter_once_and_the_steps_of_its_mode() -> None:
    """Whole tones and semitones of the modes: common practice."""
    pattern = {"major": "TTSTTTS", "dorian": "TSTTTST", "phrygian": "STTTSTT", "lydian": "TTTSTTS",
               "mixolydian": "TTSTTST", "minor": "TSTTSTT", "locrian": "STTSTTT"}  # fmt: skip
    assert set(pattern) == set(MODES)
    tone, semitone = SpelledInterval.parse("M2"), SpelledInterval.parse("m2")
    for key in KEYS:
        scale = key.scale
        assert scale[0] == key.tonic
        assert {note.letter for note in scale} == set(LETTERS)
        rising = [*scale, key.tonic.transpose("P8")]
        steps = [lower.interval_to(upper) for lower, upper in itertools.pairwise(rising)]
        assert steps == [tone if step == "T" else semitone for step in pattern[key.mode]]
        assert {note.letter: note.half_sharps for note in key.signature} == {
            x: a for x, a in key.alterations.items() if a
        }


def test_a_mode_is_found_however_it_is_written() -> None:
    assert Key(Note.named("D"), "Dorian") == Key(Note.named("D"), "dorian")
    assert Key(Note.named("D"), "MINOR").signature_words == "1 flat"


@pytest.mark.parametrize("n", [7, 12, 19, 31])
def test_the_notes_of_a_scale_are_spelled_as_in_its_signature(n: int) -> None:
    """Every key and mode whose scale has no more than two sharps or flats on a letter, halves included in 31."""
    tuning, tried = equal(n), 0
    for key in KEYS:
        if max(map(abs, key.alterations.values())) <= 4 and (n == 31 or not key.tonic.half_sharps % 2):
            tried += 1
            for note in key.scale:
                assert spell_in_key(note.step(tuning), tuning, key) == note
    assert tried > 120


@pytest.mark.parametrize("tonic", "C G D A E B F# C# F Bb Eb Ab Db Gb Cb".split())
def test_the_scale_in_twelve_is_spelled_as_librosa_spells_it(tonic: str) -> None:
    names = librosa.key_to_notes(f"{tonic}:maj")
    degrees = librosa.key_to_degrees(f"{tonic}:maj")
    ours = [spell_in_key(int(degree), equal(12), Key(Note.named(tonic))).name for degree in degrees]
    assert ours == [names[degree] for degree in degrees]


@pytest.mark.parametrize("n", [12, 19, 31])
def test_every_step_is_named_in_every_key(n: int) -> None:
    tuning = equal(n)
    for key in KEYS:
        if abs(key.lowest_fifth + 1) <= 7:
            names = [spell_in_key(step, tuning, key) for step in range(-n, 2 * n)]
            assert [name.step(tuning) for name in names] == list(range(-n, 2 * n))


@pytest.mark.parametrize(
    ("tonic", "names"),
    [("C", "C C♯ D E♭ E F F♯ G A♭ A B♭ B"), ("D", "C C♯ D D♯ E F F♯ G G♯ A B♭ B"),
     ("E", "C C♯ D D♯ E E♯ F♯ G G♯ A A♯ B"),
     ("E♭", "C D♭ D E♭ E F G♭ G A♭ A B♭ B")],
)  # fmt: skip
def test_twelve_notes_in_a_key(tonic: str, names: str) -> None:
    """The seven of the key, and around them what is nearest along the fifths: common practice."""
    key = Key(Note.named(tonic))
    assert " ".join(spell_in_key(step, equal(12), key).name for step in range(12)) == names


@pytest.mark.parametrize(
    ("tonic", "step", "name"),
    [("C#", 12, "E♯"), ("C#", 30, "B♯"), ("Cb", 11, "F♭"), ("C", 12, "F½♭"), ("G#", 17, "F𝄪"), ("A", 20, "G♯"),
     ("Ab", 21, "A♭"), ("G", 12, "E♯"), ("B", 4, "D½♭"), ("C#", 4, "C𝄪")],
)  # fmt: skip
def test_one_name_of_several_in_thirty_one(tonic: str, step: int, name: str) -> None:
    """Those of the scale as it has them; of others the nearest by fifths, a half counting two more and a double four.

    In G, whose middle is A, E♯ is 8 fifths away and F½♭ 7½; in B, C𝄪 is 7 and D½♭ 8½. Counted by hand.
    """
    assert spell_in_key(step, equal(31), Key(Note.named(tonic))).name == name


@pytest.mark.parametrize(
    ("steps", "name"),
    [((0, 10, 18), "major triad"), ((0, 8, 18), "minor triad"), ((0, 8, 16), "diminished triad"),
     ((0, 10, 20), "augmented triad"), ((0, 10, 18, 26), "dominant seventh chord"),
     ((0, 10, 18, 28), "major seventh chord"),
     ((0, 8, 18, 26), "minor seventh chord"), ((0, 8, 16, 26), "half-diminished seventh chord"),
     ((0, 10, 18, 26, 36), "dominant-ninth"), ((0, 10, 18, 28, 36), "major-ninth chord")],
)  # fmt: skip
def test_chords_over_every_root_are_what_music21_calls_them(steps: tuple[int, ...], name: str) -> None:
    """Steps in 31: a major third is 10, a minor 8, a fifth 18, a minor seventh 26 (common practice)."""
    for root in TONICS:
        notes = spell_chord(root, steps, equal(31))
        assert notes[0] == root
        if all(note.half_sharps in MUSIC21_SIGNS for note in notes):
            chord = music21.chord.Chord([f"{theirs(note)}{note.octave}" for note in notes])
            assert chord.commonName == name
            assert chord.root().name == theirs(root)


@pytest.mark.parametrize(
    ("root", "steps", "names"),
    [("C", (0, 9, 18), "C E½♭ G"), ("C", (0, 10, 18, 25), "C E G B♭½♭"), ("C", (0, 7, 18), "C E♭½♭ G"),
     ("C", (0, 11, 18), "C E½♯ G"), ("E♭", (0, 10, 18), "E♭ G B♭"), ("D♯", (0, 10, 18), "D♯ F𝄪 A♯"),
     ("B½♭", (0, 10, 18), "B½♭ D½♯ F½♯"), ("C", (0, 10, 18, 25, 36, 45), "C E G B♭½♭ D F½♯")],
)  # fmt: skip
def test_chords_of_thirty_one_are_written_in_thirds(root: str, steps: tuple[int, ...], names: str) -> None:
    """Neutral, harmonic seventh, subminor, supermajor, and the first eleven harmonics: common practice."""
    notes = spell_chord(Note.named(root), steps, equal(31))
    assert " ".join(note.name for note in notes) == names
    first = Note.named(root).step(equal(31))
    assert [note.step(equal(31)) - first for note in notes] == list(steps)


@pytest.mark.parametrize(
    ("steps", "names"), [((0, 4, 7), "A C♯ E"), ((0, 3, 7), "A C E"), ((0, 3, 6), "A C E♭"), ((0, 4, 8), "A C♯ E♯"),
                         ((0, 4, 7, 10), "A C♯ E G"), ((0, 5, 7), "A D E"), ((0, 2, 7), "A B E")]
)  # fmt: skip
def test_chords_of_twelve(steps: tuple[int, ...], names: str) -> None:
    """Common practice."""
    assert " ".join(note.name for note in spell_chord(Note.named("A"), steps, equal(12))) == names


def test_the_simplest_tonic_has_the_lightest_signature() -> None:
    tuning = equal(31)
    for step, mode in itertools.product(range(31), MODES):
        chosen = simplest_tonic(step, tuning, mode)
        assert chosen.step(tuning) == step
        weights = {note: sum(map(abs, Key(note, mode).alterations.values())) for note in spellings(step, tuning)}
        assert weights[chosen] == min(weights.values())


def test_the_usual_keys_of_twelve() -> None:
    """D♭ before C♯, A♭ before G♯, B before C♭, and in minor G♯ before A♭: common practice."""
    major = [simplest_tonic(step, equal(12)).name for step in range(12)]
    minor = [simplest_tonic(step, equal(12), "minor").name for step in range(12)]
    assert [name for step, name in enumerate(major) if step != 6] == "C D♭ D E♭ E F G A♭ A B♭ B".split()
    assert [name for step, name in enumerate(minor) if step != 3] == "C C♯ D E F F♯ G G♯ A B♭ B".split()
    assert (major[6], minor[3]) == ("F♯", "E♭")  # six sharps and six flats weigh the same


@pytest.mark.parametrize("mode", ["majr", "", None, 3])
def test_a_mode_that_is_none_is_refused(mode: object) -> None:
    for ask in (lambda m: Key(Note.named("C"), m), lambda m: simplest_tonic(0, equal(31), m)):
        with pytest.raises(ValueError, match="no mode is called") as refused:
            ask(mode)
        assert repr(mode) in str(refused.value)


@pytest.mark.parametrize("tonic", ["C", None, 0])
def test_a_tonic_is_a_note(tonic: object) -> None:
    with pytest.raises(ValueError, match="the tonic of a key is a note") as refused:
        Key(tonic)  # type: ignore[arg-type]
    assert repr(tonic) in str(refused.value)


def test_steps_without_a_plain_name_are_refused() -> None:
    unnamed = next(step for step in range(53) if not spellings(step, equal(53)))
    for ask in (
        lambda: spell_in_key(unnamed, equal(53), Key(Note.named("C"))),
        lambda: simplest_tonic(unnamed, equal(53)),
    ):
        with pytest.raises(ValueError, match=f"step {unnamed} of 53 equal steps has no plain spelling"):
            ask()
    with pytest.raises(ValueError, match="an interval of 25 steps of 53 equal steps has no plain name"):
        spell_chord(Note.named("C"), [0, 25], equal(53))


@pytest.mark.parametrize("step", [1.0, "1", None, True])
def test_only_whole_steps_are_spelled(step: object) -> None:
    for ask in (lambda s: spell_in_key(s, equal(31), Key(Note.named("C"))), lambda s: simplest_tonic(s, equal(31)),
                lambda s: spell_chord(Note.named("C"), [0, s], equal(31))):  # fmt: skip
        with pytest.raises(ValueError, match="whole number") as refused:
            ask(step)
        assert repr(step) in str(refused.value)


def test_letters_have_no_place_where_there_is_no_fifth() -> None:
    for ask in (lambda: spell_in_key(0, equal(9), Key(Note.named("C"))), lambda: simplest_tonic(0, equal(9)),
                lambda: spell_chord(Note.named("C"), [0, 3], equal(9))):  # fmt: skip
        with pytest.raises(ValueError, match="9 equal steps have no letters"):
            ask()
