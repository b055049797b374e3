"""What degrees stand for: recomputed from fractions, checked against the chain of fifths and published errors."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import (
    RATIOS,
    comma,
    degree_step,
    diesis,
    families,
    interval_of,
    is_meantone,
    ratio_of,
    same_step,
)
from tunelib.harmony.naming import readings
from tunelib.harmony.voicings import ranked, voicings
from tunelib.pitch.notes import Note, spell_near
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.tunings import THIRTY_ONE, equal, just

# Tested in full, here and in `test_retune_divisions.py`.
IN_FULL = (12, 17, 19, 22, 24, 29, 31, 34, 36, 41, 43, 46, 50, 53, 55, 72)
SPELLED = tuple(n for n in range(12, 73) if equal(n).fifth is not None)
MEANTONES = (12, 19, 31, 43, 50, 55)
LETTERS = "CDEFGAB"
NATURAL = (0, 2, 4, -1, 1, 3, 5)  # fifths from the root to the major and perfect intervals

# The ratio of every note of a chord, written out by hand.
CHORDS = {
    "C": "1 5/4 3/2", "Cm": "1 6/5 3/2", "Cneu": "1 11/9 3/2", "Csub": "1 7/6 3/2", "Csup": "1 9/7 3/2",
    "C7": "1 5/4 3/2 9/5", "Charm7": "1 5/4 3/2 7/4", "Cmid7": "1 5/4 3/2 11/6", "Cmaj7": "1 5/4 3/2 15/8",
    "Cwide7": "1 5/4 3/2 27/14", "Cm7": "1 6/5 3/2 9/5", "Cdim": "1 6/5 10/7", "Cdim7": "1 6/5 10/7 12/7",
    "Caug": "1 5/4 25/16", "C6": "1 5/4 3/2 5/3", "C69": "1 5/4 3/2 5/3 9/4", "Csus4": "1 4/3 3/2",
    "Csus2": "1 9/8 3/2", "C7b9": "1 5/4 3/2 9/5 32/15", "C7#11": "1 5/4 3/2 9/5 14/5",
    "Charm9h#11": "1 5/4 3/2 7/4 9/4 11/4", "C13": "1 5/4 3/2 9/5 9/4 10/3", "C7b13": "1 5/4 3/2 9/5 16/5",
    "C7#9": "1 5/4 3/2 9/5 7/3", "Cneumid7": "1 11/9 3/2 11/6",
}  # fmt: skip
TEN = (12, 19, 22, 31, 34, 41, 43, 46, 50, 53)


def nearest(ratio: Fraction, division: int) -> int:
    return math.floor(division * math.log2(ratio) + 0.5)


def by_fifths(degree: tuple[int, int], division: int) -> int:
    """A degree of whole sharps along the chain of fifths: a sharp is seven of them, less four octaves."""
    fifth = nearest(Fraction(3, 2), division)
    octaves, letter = divmod(degree[0] - 1, 7)
    fifths = NATURAL[letter] + 7 * degree[1] // 2
    natural_octaves = (0, 1, 2, -1, 0, 1, 2)[letter] + 4 * degree[1] // 2
    return fifths * fifth - natural_octaves * division + octaves * division


@pytest.mark.parametrize("division", TEN)
def test_every_chord_is_what_fractions_and_logarithms_give(division: int) -> None:
    """Cents of every note in ten divisions: the step nearest to its ratio."""
    tuning = equal(division)
    for symbol, ratios in CHORDS.items():
        steps = [nearest(Fraction(text), division) for text in ratios.split()]
        assert list(Chord.parse(symbol).steps(tuning)) == steps, symbol
        cents = [float(tuning.cents_of(step)) for step in Chord.parse(symbol).steps(tuning)]
        assert cents == pytest.approx([1200 * step / division for step in steps])


def test_in_thirty_one_every_degree_is_where_its_letters_and_signs_put_it() -> None:
    """C 0, D 5, E 10, F 13, G 18, A 23, B 28, half a sharp 1: as many steps as letters and quarter-tones together."""
    for number in range(1, 22):
        for offset in range(-9, 10):
            interval = interval_of((number, offset))
            assert degree_step((number, offset), THIRTY_ONE) == interval.letters + interval.quartertones


@pytest.mark.parametrize("division", MEANTONES)
def test_in_a_meantone_the_fifths_make_all_that_sharps_and_flats_spell(division: int) -> None:
    assert is_meantone(equal(division))
    for number in range(1, 15):
        for offset in (-4, -2, 0, 2, 4):
            assert degree_step((number, offset), equal(division)) == by_fifths((number, offset), division)


def test_where_the_fifths_of_a_meantone_do_not_lead_to_the_nearest_step() -> None:
    """All of the ordinary degrees in all meantones for which the letters, not the nearest step, decide."""
    ordinary = {(number, offset) for number in range(2, 8) for offset in (-2, 0, 2)} | {(7, -4)}
    ordinary -= {(3, 2), (4, -2), (6, 2), (7, 2)}  # a diminished fourth is a third in all but its name, and so on
    found = {
        division: {degree for degree in ordinary if nearest(ratio_of(degree), division) != by_fifths(degree, division)}
        for division in (*MEANTONES, 24, 36)
    }
    assert found == {
        12: set(), 19: set(), 31: set(), 43: set(), 50: set(),
        55: {(2, 2), (5, 2), (7, -2), (7, -4)},
        24: {(2, 2), (5, 2), (7, -4)},
        36: {(2, 2), (4, 2), (5, -2), (5, 2), (7, -2), (7, -4)},
    }  # fmt: skip


def test_where_no_step_is_heard_as_the_ratio_the_letters_choose_between_the_two_around_it() -> None:
    """17 steps have no 5/4: their major third is four fifths, 424 cents, their neutral one 353 (common practice)."""
    assert nearest(Fraction(5, 4), 17) == 5 and abs(5 * 1200 / 17 - 1200 * math.log2(5 / 4)) > 20
    assert families(3, equal(17)) == {"sub": 4, "minor": 4, "neutral": 5, "major": 6, "super": 6}
    assert Chord.parse("C7").steps(equal(17)) == (0, 6, 10, 14)


@pytest.mark.parametrize(
    ("division", "symbol", "published"),
    [
        (19, "C", (-7.366, -7.218)), (19, "Cm", (0.148, -7.218)), (41, "C", (-5.826, 0.484)),
        (41, "Cm", (6.310, 0.484)), (53, "C", (-1.408, -0.068)), (53, "Cm", (1.340, -0.068)),
    ],
)  # fmt: skip
def test_published_errors_of_19_41_and_53(division: int, symbol: str, published: tuple[float, float]) -> None:
    """Third and fifth, in cents (Helmholtz and Ellis 1885 on 53; all three in handbooks of tuning; from memory)."""
    errors = Chord.parse(symbol).errors(equal(division))
    assert (errors[0, 1], errors[0, 2]) == pytest.approx(published, abs=0.0006)


@pytest.mark.parametrize("division", SPELLED)
def test_a_chord_in_any_division_sounds_as_its_notes_are_written(division: int) -> None:
    """Letters as in the symbol, steps as asked for, and names that are read back."""
    tuning = equal(division)
    for symbol in CHORDS:
        for root in ("C", "Eb", "F#"):
            chord = Chord.parse(f"{root}{symbol[1:]}")
            home = chord.root.step(tuning)
            for note, plain, step in zip(chord.notes_in(tuning), chord.notes, chord.steps(tuning), strict=True):
                assert note.step(tuning) == home + step and note.letter == plain.letter
                assert Note.parse(str(note)) == note == Note.parse(note.typed)
                assert Note.named(note.name, note.octave) == note == Note.named(note.typed_name, note.octave)


def test_notes_beside_their_letters_in_divisions_that_are_no_meantones() -> None:
    """A comma, 81/80, parts the pure third from four fifths (common practice)."""
    for division in (22, 34, 41, 53):
        assert [note.name for note in Chord.parse("C").notes_in(equal(division))] == ["C", "E−1", "G"]
    assert [note.name for note in Chord.parse("Charm7").notes_in(equal(53))] == ["C", "E−1", "G", "B♭−1"]
    for division in (*MEANTONES, 24, 36):
        assert [note.name for note in Chord.parse("Am7").notes_in(equal(division))] == ["A", "C", "E", "G"]
    assert [note.name for note in Chord.parse("Cneu").notes_in(equal(41))] == ["C", "E½♭", "G"]
    assert Chord.parse("C/E").bass_in(equal(41)).name == "E−1"
    assert Chord.parse("C/D").bass_in(equal(41)).name == "D"


def test_the_families_that_a_division_tells_apart() -> None:
    """By hand: 12 has two thirds; 19 four, its neutral one being 11/9 = 5.501 steps; 24, 31, 41, 53, 72 all five."""
    assert len(set(families(3, equal(12)).values())) == 2
    assert families(3, equal(19)) == {"sub": 4, "minor": 5, "neutral": 6, "major": 6, "super": 7}
    for division in (24, 31, 34, 36, 41, 43, 46, 50, 53, 55, 72):
        assert len(set(families(3, equal(division)).values())) == 5
    for division in SPELLED:
        for number in (3, 6, 7):
            in_order = list(families(number, equal(division)).values())
            assert in_order == sorted(in_order)
    with pytest.raises(ValueError, match="4 is none of them"):
        families(4, THIRTY_ONE)
    assert same_step((7, -3), equal(12)) == (7, -2) and same_step((7, -3), equal(19)) is None
    assert same_step((11, 1), equal(12)) == (11, 2) and same_step((3, 0), equal(12)) is None


def test_the_small_steps_follow_from_the_commas_that_vanish() -> None:
    """81/80 vanishes where four fifths are the third, 128/125 where three thirds are the octave."""
    for division in SPELLED:
        third = degree_step((3, 0), equal(division))
        fifth = nearest(Fraction(3, 2), division)
        assert comma(equal(division)) == abs(4 * fifth - 2 * division - third)
        assert diesis(equal(division)) == abs(division - 3 * third)
    assert all(comma(equal(division)) == 0 for division in (*MEANTONES, 24, 36))
    assert all(comma(equal(division)) == 1 for division in (22, 34, 41, 46, 53, 72))


def test_the_table_rises_and_holds_every_degree_of_the_grammar() -> None:
    for number in range(1, 8):
        row = [RATIOS[degree] for degree in sorted(RATIOS) if degree[0] == number]
        assert row == sorted(row)
    needed = {(n, offset) for n in (2, 4, 5, 6) for offset in range(-4, 5)}
    needed |= {(3, offset) for offset in range(-3, 2)} | {(7, offset) for offset in range(-4, 2)}
    assert needed <= set(RATIOS)
    assert ratio_of((9, 0)) == Fraction(9, 4) and ratio_of((13, -2)) == Fraction(16, 5)
    assert ratio_of((3, 3)) == Fraction(9, 7) * Fraction(45, 44) ** 2


def test_a_tuning_without_letters_is_refused() -> None:
    for tuning in (equal(13), just(["5/4", "3/2"])):
        for ask in (lambda: degree_step((3, 0), tuning), lambda: comma(tuning)):  # noqa: B023 - called at once
            with pytest.raises(ValueError, match="have no letters"):
                ask()
        assert not is_meantone(tuning)


@pytest.mark.parametrize("division", IN_FULL)
def test_plain_chords_come_back_from_their_steps_by_their_own_symbols(division: int) -> None:
    """Those whose notes the division tells apart; the first reading of the steps of the others is a plainer chord."""
    tuning = equal(division)
    for symbol in ("C", "Cm", "C7", "Cm7", "Cmaj7", "Csub", "Csup", "Cneu", "Charm7", "Cdim7", "C6", "Cm7b5"):
        chord = Chord.parse(symbol)
        again = Chord.from_steps(chord.root, chord.steps(tuning), tuning)
        assert again.steps(tuning) == chord.steps(tuning)
        if all(same_step(degree, tuning) is None for degree in chord.degrees):
            alike = [reading.chord.degrees for reading in readings(chord.steps(tuning), tuning)]
            assert chord.degrees in alike, symbol
    assert Chord.from_steps(Note.named("C"), Chord.parse("C").steps(tuning), tuning).symbol == "C"


@pytest.mark.parametrize("division", IN_FULL)
def test_chords_named_by_their_letters_are_read_by_them(division: int) -> None:
    """C E G is a C in every division, though in 41 the E of four fifths is not the third of a C."""
    assert readings("C E G", equal(division))[0].symbol == "C"
    assert readings("G3 B3 D4 F4", equal(division))[0].symbol == "G7"


@pytest.mark.parametrize("division", IN_FULL)
def test_voicings_are_of_the_notes_of_the_chord_within_reach(division: int) -> None:
    tuning = equal(division)
    for symbol in ("Cmaj7", "Dm7", "G13", "Bbharm7"):
        chord = Chord.parse(symbol)
        home = chord.root.step(tuning)
        degrees = {(home + step) % division for step in chord.steps(tuning)}
        found = voicings(chord, tuning)
        assert found
        for voicing in found:
            steps = voicing.steps(tuning)
            assert list(steps) == sorted(steps) and {step % division for step in steps} <= degrees
            assert chord.notes[voicing.inversion].letter == voicing.upper[0].letter
        assert len(ranked(found, tuning)) == len(found)


@settings(deadline=None)
@given(st.integers(-300, 300), st.sampled_from(SPELLED))
def test_every_step_of_every_division_has_a_name_that_leads_back(step: int, division: int) -> None:
    note = spell_near(step, equal(division))
    assert note.step(equal(division)) == step
    assert Note.parse(str(note)) == Note.parse(note.typed) == note


@settings(deadline=None)
@given(st.sampled_from(LETTERS), st.integers(-6, 6), st.integers(-9, 12), st.integers(-40, 40), st.integers(-30, 30))
def test_a_note_with_steps_is_read_back_and_stays_so_many_steps_away(
    letter: str, half_sharps: int, octave: int, steps: int, away: int
) -> None:
    note = Note(letter, half_sharps, octave, steps)
    assert Note.parse(str(note)) == Note.parse(note.typed) == Note.named(note.name, octave) == note
    plain = Note(letter, half_sharps, octave)
    assert note.step(THIRTY_ONE) - plain.step(THIRTY_ONE) == steps
    assert note.transpose("M6").steps == steps and note.above(note, THIRTY_ONE) == note
    moved = note.sounding(note.step(THIRTY_ONE) + away, THIRTY_ONE)
    assert moved.step(THIRTY_ONE) == note.step(THIRTY_ONE) + away and moved.letter == letter


def test_a_negative_octave_and_steps_down_do_not_clash() -> None:
    assert (Note.parse("E-1").octave, Note.parse("E-1").steps) == (-1, 0)
    assert (Note.parse("E-1-1").octave, Note.parse("E-1−1").steps) == (-1, -1)
    assert (Note.parse("E4-1").octave, Note.parse("E4+2").steps) == (4, 2)
    assert Note.named("E-1") == Note("E", 0, 4, -1)
    for wrong in ("E4-0", "E4−", "E-1 4", "E4+1.5"):
        with pytest.raises(ValueError, match="is not a note"):
            Note.parse(wrong)


def test_a_root_with_steps_has_them_in_brackets_in_a_symbol() -> None:
    for symbol in ("C[-1]7", "Bb[+2]m7b5", "Ehb[-3]maj7/G[-3]", "C/E[-1]"):
        assert Chord.parse(symbol).symbol == symbol
    assert Chord.parse("C[−1]7").root == Note("C", 0, 4, -1)
    assert Chord.parse("C-7").symbol == "Cm7"  # a minus sign is a minor chord's
    with pytest.raises(ValueError, match="cannot be read"):
        Chord.parse("C[1]7")


@pytest.mark.parametrize("division", [12, 19, 22, 29, 36, 43, 50, 53])
def test_half_a_sharp_between_two_steps_goes_to_the_nearer_in_pitch(division: int) -> None:
    """Nearer to where it is in thirty-one, A4 at one pitch in both."""
    for letter in LETTERS:
        for half_sharps in (-3, -1, 1, 3):
            note = Note(letter, half_sharps, 4)
            found = note.within(equal(division))
            lower, upper = (Note(letter, half_sharps + side, 4).step(equal(division)) for side in (-1, 1))
            around = [(lower + upper - 1) // 2, (lower + upper + 1) // 2]
            away = [abs(math.log2(float(equal(division).hz(step)) / note.hz(THIRTY_ONE))) for step in around]
            assert found.letter == letter and found.step(equal(division)) == around[away[0] > away[1]]
    assert Note.parse("Ehb4").within(equal(24)) == Note.parse("Ehb4")


def test_stacked_thirds_out_of_the_table_stay_where_they_are_in_thirty_one() -> None:
    stack = Chord.stacked(Note.named("C"), ["subminor"] * 4)
    assert stack.steps(THIRTY_ONE) == (0, 7, 14, 21, 28)
    assert stack.intervals[2] == SpelledInterval(4, 10)
