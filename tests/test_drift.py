"""Going round: commas recomputed from plain fractions, published examples, and what each division makes of them."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from tunelib.harmony.drift import PROGRESSIONS, Progression, fifths_round, fourths_round, nearest_octave
from tunelib.pitch.intervals import cents
from tunelib.pitch.tunings import THIRTY_ONE

C_AM_DM_G = PROGRESSIONS["I vi ii V"]
NOTHING_HELD = {
    ("blues", 3),  # G7 to F7: its F is 8/9 of G, that of G7 is 9/5 over it
    *(("chromatic turnaround", place) for place in (1, 2, 3)),
    ("major thirds, closed", 2),  # A♭maj7 to B7: E♭ and D♯ are a diesis apart
    ("minor thirds, closed", 2),  # G♭ to A
}


def test_the_common_progression_sinks_by_a_comma_each_round() -> None:
    """C E are held into A minor, A into D minor, D into G, G into C: the product of the roots' moves is 80/81."""
    by_hand = Fraction(5, 6) * Fraction(4, 3) * Fraction(4, 3) * Fraction(2, 3)
    assert by_hand == Fraction(80, 81) == C_AM_DM_G.comma
    assert [[note.name for note in C_AM_DM_G.held(place)] for place in range(4)] == [["C", "E"], ["A"], ["D"], ["G"]]
    assert C_AM_DM_G.drift() == pytest.approx(-21.506, abs=0.0005)  # the comma of Didymus, Ellis 1885


def test_benedettis_two_voices_rise_by_a_comma() -> None:
    """Over C, G, D, A and C, a tone tied each time: up 3/2, down 4/3, up 3/2, down 5/3 (Benedetti 1585)."""
    by_hand = Fraction(3, 2) * Fraction(3, 4) * Fraction(3, 2) * Fraction(3, 5)
    assert by_hand == Fraction(81, 80) == PROGRESSIONS["Benedetti"].comma
    tied = [PROGRESSIONS["Benedetti"].held(place)[0].name for place in range(4)]
    assert tied == ["G", "D", "A", "C"]  # as R. W. Duffin has them, A into C and C into G; the others from memory


def test_huygens_singers_are_nearly_a_tone_below_after_nine_rounds() -> None:
    """C F D G C sinks by a comma, nine of them are nearly a tone of 9/8 (*Kosmotheoros*, 1698; from memory)."""
    huygens = PROGRESSIONS["Huygens"]
    assert Fraction(4, 3) * Fraction(5, 6) * Fraction(4, 3) * Fraction(2, 3) == huygens.comma == Fraction(80, 81)
    assert -cents("9/8") < huygens.tonic(9)[-1] < -cents("10/9")


@pytest.mark.parametrize(
    ("name", "comma", "pure", "in_31"),
    [
        ("three major thirds", Fraction(125, 128), -41.06, -1),
        ("four minor thirds", Fraction(648, 625), 62.57, 1),
        ("12 fifths", Fraction(531441, 524288), 23.46, -1),
        ("I vi ii V", Fraction(80, 81), -21.51, 0),
    ],
)
def test_commas_have_their_published_sizes_and_move_31_by_a_diesis_or_not(
    name: str, comma: Fraction, pure: float, in_31: int
) -> None:
    """The great and the greater diesis, the Pythagorean comma and that of Didymus (Ellis 1885)."""
    round_ = PROGRESSIONS[name]
    assert round_.comma == comma
    assert round_.drift() == pytest.approx(pure, abs=0.005) == pytest.approx(1200 * math.log2(comma), abs=0.005)
    assert round_.drift_steps(31) == in_31 and round_.drift_steps(12) == 0
    assert round_.drift(31) == pytest.approx(in_31 * 1200 / 31)


@pytest.mark.parametrize(
    ("name", "moves", "comma", "pure", "in_31"),
    [
        ("two turnarounds", "5/6 4/3 4/3 5/6 4/3 4/3 4/3 4/3", "6400/6561", -43.01, 0),
        ("blues", "4/3 3/2 3/2 8/9 3/2 1/1", "1/1", 0, 0),
        ("chromatic turnaround", "6/5 15/16 128/135 15/16", "1/1", 0, 0),
        ("fourths in one key", "4/3 25/18 4/3 4/3 4/3 4/3 4/3", "6400/6561", -43.01, 0),
        ("12 fourths", " ".join(["4/3"] * 12), "524288/531441", -23.46, 1),
        ("major thirds, closed", "6/5 4/3 7/6 4/3 6/5 4/3", "224/225", -7.71, 0),
        ("major thirds, spelled on", "6/5 4/3 6/5 4/3 6/5 4/3", "128/125", 41.06, 1),
        ("minor thirds, closed", "6/5 6/5 7/6 6/5", "126/125", 13.79, 0),
    ],
)
def test_cycles_by_thirds_fourths_and_steps(name: str, moves: str, comma: str, pure: float, in_31: int) -> None:
    """Products of ratios written out by hand, octaves aside; steps of 31 and of 12 from the primes of their product."""
    round_ = PROGRESSIONS[name]
    written = [Fraction(move) for move in moves.split()]
    assert list(round_.moves) == [nearest_octave(move) for move in written]
    product = math.prod(written, start=Fraction(1))
    octaves = round(math.log2(product))
    assert product / Fraction(2) ** octaves == Fraction(comma) == round_.comma
    assert (
        round_.drift() == pytest.approx(pure, abs=0.005) == pytest.approx(1200 * math.log2(Fraction(comma)), abs=0.005)
    )
    assert round_.drift_steps(31) == in_31 == mapped(Fraction(comma), 31)
    assert round_.drift_steps(12) == 0


def test_cycles_have_the_roots_that_their_letters_have_in_31() -> None:
    """C 0, D♭ 3, D 5, E♭ 8, E 10, F 13, G♭ 16, G 18, A♭ 21, A 23, B 28: two turnarounds, and closed cycles."""
    roots = {
        "two turnarounds": [0, 23, 5, 18, 10, 23, 5, 18, 0],
        "blues": [0, 13, 0, 18, 13, 0, 0],
        "chromatic turnaround": [0, 8, 5, 3, 0],
        "major thirds, closed": [0, 8, 21, 28, 10, 18, 0],
        "minor thirds, closed": [0, 8, 16, 23, 0],
    }
    for name, steps in roots.items():
        found = PROGRESSIONS[name].roots(1, 31) * 31 / 1200
        assert np.mod(np.round(found), 31).tolist() == steps, name
        assert [chord.root.step(THIRTY_ONE) % 31 for chord in PROGRESSIONS[name].chords] == steps[:-1], name


def test_what_follows_two_turnarounds_brings_no_comma() -> None:
    """I I7 IV ♯iv° I V: the F♯ between F and the C that is held from F on is 21/20 over F, as 7/5 over C has it."""
    rest = Progression.read("C C7 F F#dim C G")
    assert rest.comma == 1 and [str(move) for move in rest.moves[2:4]] == ["21/20", "5/7"]
    whole = Progression.read("C Am Dm G Em A Dm G C C7 F F#dim C G")
    assert whole.comma == PROGRESSIONS["two turnarounds"].comma == C_AM_DM_G.comma**2


def test_fourths_are_fifths_the_other_way() -> None:
    for count in (2, 7, 12, 31, 53):
        there, back = fifths_round(count), fourths_round(count)
        assert back.comma == 1 / there.comma
        assert back.drift_steps([12, 19, 31]).tolist() == (-there.drift_steps([12, 19, 31])).tolist()
    with pytest.raises(ValueError, match="the number of fourths"):
        fourths_round(1)


def test_thirty_one_fifths_come_home_in_31_and_twelve_in_12() -> None:
    """31 fifths of 18 steps are 18 octaves; 31 of 7 semitones are 18 octaves and a semitone."""
    for count in range(2, 54):
        round_ = fifths_round(count)
        for division, fifth in ((12, 7), (19, 11), (31, 18), (53, 31)):
            away = count * fifth % division
            assert round_.drift_steps(division) % division == away
            assert round_.comes_home(division) == (round_.drift_steps(division) == 0)
    assert fifths_round(31).comes_home([12, 31, 53]).tolist() == [False, True, False]
    assert fifths_round(12).comes_home([12, 31, 53]).tolist() == [True, False, False]


def test_meantones_come_home_and_others_do_not() -> None:
    """Divisions up to 60 in which four fifths make a major third and two octaves are those that do not drift."""
    for division in range(5, 61):
        fifth, third = (math.floor(division * math.log2(r) + 0.5) for r in (3, 5))
        four = 4 * fifth - 4 * division - third
        assert C_AM_DM_G.comes_home(division) == (four == 0), division
        assert C_AM_DM_G.drift_steps(division) == -four


@pytest.mark.parametrize("name", PROGRESSIONS)
@pytest.mark.parametrize("division", [None, 12, 19, 31, 53])
def test_every_round_drifts_by_the_same_and_the_tonic_ends_on_the_comma(name: str, division: int | None) -> None:
    round_ = PROGRESSIONS[name]
    size = len(round_.chords)
    for running in (round_.tonic(5, division), round_.roots(5, division)):
        assert running.shape == (5 * size + 1,) and running[0] == 0
        assert running[::size] == pytest.approx(round_.drift(division) * np.arange(6))
        assert running[size:] - running[:-size] == pytest.approx(round_.drift(division))


def test_the_comma_is_lost_a_quarter_at_each_held_tone() -> None:
    """Each move of the progression is a fifth or three of them away from pure, and so loses a quarter of 81/80."""
    quarter = cents("81/80") / 4
    assert C_AM_DM_G.tonic(1) == pytest.approx([0, -quarter, -2 * quarter, -3 * quarter, -4 * quarter])
    assert not C_AM_DM_G.tonic(200, 31).any() and not C_AM_DM_G.tonic(200, 12).any()
    assert PROGRESSIONS["three major thirds"].tonic(1, 31).tolist() == [0, 0, 0, -1200 / 31]


@pytest.mark.parametrize("name", PROGRESSIONS)
def test_pure_chords_are_pure_and_held_tones_do_not_move(name: str) -> None:
    """Sung pitches: every chord in the ratios of its own, each held note at the very pitch it had."""
    round_ = PROGRESSIONS[name]
    sung = round_.pitches(2)
    assert len(sung) == 2 * len(round_.chords) + 1
    for place, notes in enumerate(sung):
        chord = round_.chords[place % len(round_.chords)]
        root = round_.roots(2)[place]
        above = sorted((float(note) - root) % 1200 % 1199.9999 for note in notes[1:])
        assert above == pytest.approx(sorted(cents(ratio) for ratio in chord.ratios(THIRTY_ONE)), abs=1e-3)
        assert notes[0] < notes[1:].min()
    for place in range(len(round_.chords)):
        classes = [np.mod(notes[1:] + 1, 1200) for notes in sung[place : place + 2]]
        kept = sum(bool(np.any(np.abs(classes[1] - note) < 1e-6)) for note in classes[0])
        assert kept == len(round_.held(place))
        assert kept >= 1 or (name, place) in NOTHING_HELD


def test_a_chord_over_another_bass_has_it_below() -> None:
    """C over E: the E below, a pure major third over the C that would be there."""
    notes = Progression.read("C/E F").pitches(1)[0]
    assert notes[0] == pytest.approx(cents("5/4") - 1200) and len(notes) == 4


def test_in_a_division_chords_lie_on_its_steps() -> None:
    for division in (12, 31):
        for notes in PROGRESSIONS["four minor thirds"].pitches(3, division):
            steps = notes * division / 1200
            assert steps == pytest.approx(np.round(steps), abs=1e-9)


def test_a_progression_of_ones_own_is_read_from_text() -> None:
    """Held tones give the moves, ratios are where they are written, and the simplest of two is taken."""
    own = Progression.read("C 7/6 Eb 3/2 Bb F", "septimal")
    assert [str(move) for move in own.moves] == ["7/6", "3/4", "3/4", "3/4"]
    assert own.comma == nearest_octave(Fraction(7, 6) * Fraction(27, 8))
    two_ways = Progression.read("C69 D")  # D held is 9/4 over C, and A held 5/3, which is 3/2 over D: 9/8 or 10/9
    assert two_ways.moves[0] == Fraction(9, 8)
    assert [note.name for note in two_ways.held(0)] == ["D"]
    assert Progression.read(" C   G ").name == "C G"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "a progression is text"),
        (7, "a progression is text"),
        ("C 5/4", None),
        ("5/4 C", "the ratio 5/4 comes after no chord"),
        ("C 5/4 4/3 F", "the ratio 4/3 comes after no chord"),
        ("C F#", "C and F# have no note in common: write the ratio"),
        ("C 5/0 E", "'5/0' is not a ratio"),
        ("C 3/2 E", "from C to E the root cannot move by 3/4: that is 316 cents more"),
        ("C Hm", "'Hm' is not a chord symbol"),
    ],
)
def test_what_is_no_progression_is_refused(text: str, message: str | None) -> None:
    if message is None:
        assert Progression.read(text).comma == Fraction(5, 4)
        return
    with pytest.raises(ValueError, match=message.replace("(", r"\(")):
        Progression.read(text)


def test_bounds_are_refused() -> None:
    for rounds in (0, 1001, 2.5):
        with pytest.raises(ValueError, match="the number of rounds is a whole number from 1 to 1000"):
            C_AM_DM_G.tonic(rounds)  # type: ignore[arg-type]
        with pytest.raises(ValueError, match="the number of rounds"):
            C_AM_DM_G.pitches(rounds)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="a division has a whole number of steps"):
        C_AM_DM_G.tonic(1, 0)
    with pytest.raises(ValueError, match="as many moves"):
        Progression("short", C_AM_DM_G.chords, C_AM_DM_G.moves[:2])
    with pytest.raises(ValueError, match="the number of fifths"):
        fifths_round(1)


def mapped(ratio: Fraction, division: int) -> int:
    """Steps of a ratio by its primes, each at its nearest step: worked out from the logarithms of 2, 3, 5 and 7."""
    steps = 0
    for prime in (2, 3, 5, 7, 11):
        size = math.floor(division * math.log2(prime) + 0.5)
        numerator, denominator = ratio.numerator, ratio.denominator
        while numerator % prime == 0:
            numerator, steps = numerator // prime, steps + size
        while denominator % prime == 0:
            denominator, steps = denominator // prime, steps - size
        ratio = Fraction(numerator, denominator)
    assert ratio == 1
    return steps


@pytest.mark.parametrize("name", PROGRESSIONS)
def test_the_commas_that_vanish_decide_what_a_progression_does_in_each_division(name: str) -> None:
    """The product of the roots' moves, octaves aside, in the steps of its primes, for every division from 12 to 72."""
    round_ = PROGRESSIONS[name]
    product = Fraction(1)
    for move in round_.moves:
        product *= move
    while product**2 > 2:
        product /= 2
    while product**2 < Fraction(1, 2):
        product *= 2
    for division in range(12, 73):
        steps = mapped(product, division)
        assert round_.drift_steps(division) == steps
        assert round_.drift(division) == pytest.approx(1200 * steps / division)
        assert round_.comes_home(division) == (steps == 0)
        assert round_.tonic(3, division)[-1] == pytest.approx(3 * 1200 * steps / division)


def test_the_syntonic_comma_vanishes_in_meantones_and_in_no_other_division() -> None:
    """12, 19, 31, 43, 50 and 55 are meantones; 22, 34, 41 and 53 are not (common practice)."""
    assert all(C_AM_DM_G.comes_home(division) for division in (12, 19, 31, 43, 50, 55))
    assert not any(C_AM_DM_G.comes_home(division) for division in (22, 34, 41, 53))
    assert [int(C_AM_DM_G.drift_steps(division)) for division in (22, 34, 41, 53)] == [-1, -1, -1, -1]


def test_a_root_may_miss_the_interval_of_its_names_by_a_semitone_at_most() -> None:
    """11/7 is 86 cents above the fifth of quarter-comma meantone, 8/5, or 4/5 an octave down, is 117 above it"""
    fifth = 1200 * math.log2(5) / 4
    assert 1200 * math.log2(11 / 7) - fifth == pytest.approx(86, abs=0.5)
    Progression.read("C 11/7 G")
    with pytest.raises(ValueError, match="from C to G the root cannot move by 4/5: that is 117 cents more than"):
        Progression.read("C 8/5 G")
