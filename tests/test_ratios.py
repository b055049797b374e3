"""The ratios that chords stand for, and every pair's error recomputed with plain fractions and logarithms."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from fractions import Fraction
from itertools import combinations, product

import pytest
from cents_by_hand import cents_of
from hypothesis import given, settings
from hypothesis import strategies as st

import tunelib.harmony.ratios as ratios_module
from tunelib.harmony.chords import Chord
from tunelib.harmony.ratios import complexity, pair_errors, ratio_chord, whole_numbers
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE, equal

C = Note.named("C")

# Chords in thirty-one, with the errors of their notes against the lowest, worked out from the definition: a step is
# 1200/31 cents, and a ratio 1200 log2 of it.
TABLE = {
    "C": ("4:5:6", (0, 10, 18), (0.7831, -5.1808)),
    "Cm": ("10:12:15", (0, 8, 18), (-5.9639, -5.1808)),
    "Cneu": ("18:22:27", (0, 9, 18), (0.9792, -5.1808)),
    "Csub": ("6:7:9", (0, 7, 18), (4.0968, -5.1808)),
    "Csup": ("14:18:21", (0, 11, 18), (-9.2776, -5.1808)),
    "Charm7": ("4:5:6:7", (0, 10, 18, 25), (0.7831, -5.1808, -1.0840)),
    "C7": ("20:25:30:36", (0, 10, 18, 26), (0.7831, -5.1808, -11.1447)),
    "Cmaj7": ("8:10:12:15", (0, 10, 18, 28), (0.7831, -5.1808, -4.3977)),
    "Cm7": ("10:12:15:18", (0, 8, 18, 26), (-5.9639, -5.1808, -11.1447)),
    "Cm7bhb5": ("5:6:7:9", (0, 8, 15, 26), (-5.9639, -1.8670, -11.1447)),
    "Charm9": ("4:5:6:7:9", (0, 10, 18, 25, 36), (0.7831, -5.1808, -1.0840, -10.3616)),
    "Charm9h#11": ("4:5:6:7:9:11", (0, 10, 18, 25, 36, 45), (0.7831, -5.1808, -1.0840, -10.3616, -9.3825)),
}


def by_hand(steps: tuple[int, ...], ratios: tuple[Fraction, ...], size: int = 31) -> dict[tuple[int, int], float]:
    """Every pair's error: what is played less the ratio between the two."""
    return {
        (i, j): (steps[j] - steps[i]) * 1200 / size - cents_of(ratios[j] / ratios[i])
        for i, j in combinations(range(len(steps)), 2)
    }


@pytest.mark.parametrize("symbol", TABLE)
def test_the_table_of_chords_in_thirty_one(symbol: str) -> None:
    numbers, steps, errors = TABLE[symbol]
    chord = Chord.parse(symbol)
    assert chord.steps(THIRTY_ONE) == steps
    assert ":".join(map(str, whole_numbers(chord.ratios(THIRTY_ONE)))) == numbers
    found = chord.errors(THIRTY_ONE)
    assert [round(found[0, place], 4) for place in range(1, len(steps))] == list(errors)
    assert Chord.from_ratios(numbers, C, THIRTY_ONE) == chord
    assert Chord.from_steps(C, steps, THIRTY_ONE) == chord


@pytest.mark.parametrize("symbol", TABLE)
def test_every_pair_error_is_what_fractions_and_logarithms_give(symbol: str) -> None:
    numbers, steps, _ = TABLE[symbol]
    parts = [Fraction(part) for part in numbers.split(":")]
    expected = by_hand(steps, tuple(part / parts[0] for part in parts))
    assert Chord.parse(symbol).errors(THIRTY_ONE) == pytest.approx(expected, abs=1e-9)
    assert len(expected) == len(steps) * (len(steps) - 1) // 2


@settings(max_examples=200, deadline=None)
@given(st.sets(st.integers(1, 60), max_size=5), st.sampled_from([12, 19, 31, 53]))
def test_every_pair_error_of_any_chord_is_what_fractions_and_logarithms_give(above: set[int], size: int) -> None:
    steps = (0, *sorted(above))
    tuning = equal(size)
    try:
        ratios = ratio_chord(steps, tuning)
    except ValueError as refused:
        assert "no simple ratio is within 20 cents of step" in str(refused)
        return
    found = by_hand(steps, ratios, size)
    assert pair_errors(steps, ratios, tuning) == pytest.approx(found, abs=1e-8)
    assert all(abs(error) <= 20 + 1e-9 for (low, _), error in found.items() if low == 0)


def test_the_harmonic_seventh_in_thirty_one_as_it_is_published() -> None:
    """4:5:6:7 is +0.8, -5.2 and -1.1 cents off. That the augmented sixth of the cycle is 7/4 Huygens noticed in 1661
    (Huygens-Fokker Foundation); the figures follow from 31 equal steps."""
    errors = Chord.parse("Charm7").errors(THIRTY_ONE)
    assert [round(errors[0, place], 1) for place in (1, 2, 3)] == [0.8, -5.2, -1.1]


def test_thirty_one_holds_every_ratio_of_odd_numbers_up_to_seven_within_six_cents() -> None:
    """Common practice calls this the 7-odd limit; the worst are 6/5 and 5/3, by 5.96 cents."""
    worst = {}
    for low, high in combinations((1, 3, 5, 7), 2):
        ratio = Fraction(high, low)
        while ratio >= 2:
            ratio /= 2
        for one in (ratio, 2 / ratio):
            steps = (0, round(31 * math.log2(one)))
            (error,) = pair_errors(steps, (Fraction(1), one), THIRTY_ONE).values()
            assert error == pytest.approx(steps[1] * 1200 / 31 - cents_of(one), abs=1e-9)
            assert ratio_chord(steps, THIRTY_ONE) == (1, one)
            worst[one] = abs(error)
    assert len(worst) == 12
    assert max(worst.values()) < 6
    assert [str(ratio) for ratio in sorted(worst) if worst[ratio] > 5.96] == ["6/5", "5/3"]


def test_the_five_thirds_stand_for_the_five_ratios_of_the_trade() -> None:
    """7/6, 6/5, 11/9, 5/4 and 9/7 (names after Ellis 1885, Appendix XX; from memory)."""
    families = [Chord.parse(f"C{word}").ratios(THIRTY_ONE)[1] for word in ("sub", "m", "neu", "", "sup")]
    assert [str(ratio) for ratio in families] == ["7/6", "6/5", "11/9", "5/4", "9/7"]


def test_a_chord_stands_for_the_same_ratios_wherever_its_notes_are_an_octave_higher() -> None:
    assert [str(ratio) for ratio in ratio_chord((0, 18, 41, 56), THIRTY_ONE)] == ["1", "3/2", "5/2", "7/2"]
    assert [str(ratio) for ratio in ratio_chord((0, 31, 62), THIRTY_ONE)] == ["1", "2", "4"]


def test_no_other_choice_of_the_simple_ratios_near_the_steps_costs_less() -> None:
    """All choices tried, for all triads within an octave: bits of complexity, and a bit for every five cents off."""
    near = {
        step: [
            Fraction(high, low)
            for low in range(1, 17)
            for high in range(low + 1, 2 * low + 1)
            if math.gcd(low, high) == 1 and abs(step * 1200 / 31 - cents_of(Fraction(high, low))) <= 20
        ]
        for step in range(1, 31)
    }

    def cost(steps: tuple[int, ...], ratios: tuple[Fraction, ...]) -> float:
        return sum(
            math.log2((ratios[j] / ratios[i]).numerator * (ratios[j] / ratios[i]).denominator) + abs(error) / 5
            for (i, j), error in by_hand(steps, ratios).items()
        )

    for low, high in ((10, 18), (8, 18), (7, 18), (9, 18), (13, 18), (8, 15), (10, 25), (7, 13), (5, 18), (10, 20)):
        best = min(
            ((Fraction(1), a, b) for a in near[low] for b in near[high]), key=lambda three: cost((0, low, high), three)
        )
        assert cost((0, low, high), ratio_chord((0, low, high), THIRTY_ONE)) <= cost((0, low, high), best) + 1e-9


@pytest.mark.parametrize(
    ("step", "nearer", "simpler"), [(4, Fraction(12, 11), Fraction(11, 10)), (22, Fraction(18, 11), Fraction(13, 8))]
)
def test_five_cents_off_weigh_as_much_as_a_bit(step: int, nearer: Fraction, simpler: Fraction) -> None:
    """4.2 cents off 12/11 (7.0 bits), 10.2 off 11/10 (6.8 bits); 0.8 off 18/11 (7.6 bits), 11.1 off 13/8 (6.7 bits)."""
    assert complexity(simpler) < complexity(nearer)
    assert ratio_chord((0, step), THIRTY_ONE) == (1, nearer)


def test_complexity_is_the_logarithm_of_numerator_times_denominator() -> None:
    """Tenney 1988 (from memory): log2 of 3/2 is that of 6."""
    assert complexity(Fraction(1)) == 0
    assert complexity(Fraction(3, 2)) == pytest.approx(math.log2(6))
    assert complexity(Fraction(2, 3)) == complexity(Fraction(3, 2))


def test_whole_numbers_are_the_smallest_in_the_same_proportions() -> None:
    assert whole_numbers([Fraction(1), Fraction(7, 6), Fraction(3, 2)]) == (6, 7, 9)
    assert whole_numbers([Fraction(2), Fraction(4)]) == (1, 2)


@pytest.mark.parametrize(
    ("steps", "says"),
    [((), "rise from 0"), ((1, 2), "rise from 0"), ((0, 18, 10), "rise from 0"), ((0, 10, 10), "rise from 0")],
)
def test_steps_that_do_not_rise_from_0_are_refused(steps: tuple[int, ...], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        ratio_chord(steps, THIRTY_ONE)


def test_a_step_near_nothing_simple_and_a_ratio_too_few_are_refused() -> None:
    with pytest.raises(ValueError, match="no simple ratio is within 20 cents of step 1 of 58 equal steps"):
        ratio_chord((0, 1), equal(58))  # 20.7 cents, between 1/1 and 128/125 (41.1)
    with pytest.raises(ValueError, match="3 steps need as many ratios, not 1"):
        pair_errors((0, 10, 18), (Fraction(1),), THIRTY_ONE)


def test_a_bit_of_complexity_is_worth_five_cents() -> None:
    """29 steps of 41 are 13/8, which is 4.8 cents farther off for each bit by which it is simpler than 18/11; 25 of 53
    are 18/13, not 7/5, which is 5.04 cents farther off a bit (by logarithms)"""
    farther = {}
    for size, step, simple, near in ((41, 29, "13/8", "18/11"), (53, 25, "7/5", "18/13")):
        off = [abs(step * 1200 / size - cents_of(Fraction(one))) for one in (simple, near)]
        bits = [math.log2(Fraction(one).numerator * Fraction(one).denominator) for one in (simple, near)]
        farther[size] = (off[0] - off[1]) / (bits[1] - bits[0])
    assert farther[41] == pytest.approx(4.78, abs=0.01) and farther[53] == pytest.approx(5.04, abs=0.01)
    assert ratio_chord((0, 29), equal(41))[1] == Fraction(13, 8)
    assert ratio_chord((0, 25), equal(53))[1] == Fraction(18, 13)


# Other chords of jazz in thirty-one, and the root mean square of the errors of all their pairs: worked out with plain
# fractions and logarithms.
JAZZ = {
    "Csubharm7": ("12:14:18:21", 5.4),
    "Cm7b5": ("25:30:36:45", 7.8),
    "Csubharm7bhb5": ("60:70:84:105", 3.8),
    "Cm6": ("30:36:45:50", 7.8),
    "Cmmaj7": ("40:48:60:75", 3.8),
    "C7b5": ("28:35:40:50", 1.7),
    "Charm7bhb5": ("20:25:28:35", 1.7),
    "C7#5": ("112:140:175:200", 1.6),
    "Charm7#5": ("16:20:25:28", 1.6),
    "C7b9": ("28:35:42:50:60", 4.5),
    "Charm7b9": ("28:35:42:49:60", 3.5),
    "Charm7#9": ("12:15:18:21:28", 4.7),
    "Charm7#5b9": ("112:140:175:196:240", 2.7),
    "Csus4": ("6:8:9", 7.3),
    "Csus2": ("8:9:12", 7.3),
    "Csushb4": ("16:21:24", 4.7),
    "Csush#2": ("14:16:21", 4.7),
    "Charm7sushb4": ("16:21:24:28", 4.3),
    "C9": ("20:25:30:36:45", 7.9),
    "Charm9": ("4:5:6:7:9", 6.5),
    "C69": ("12:15:18:20:27", 8.8),
    "Cneu": ("18:22:27", 4.7),
    "Cneumid7": ("18:22:27:33", 4.3),
    "Cneuharm7": ("36:44:54:63", 3.8),
    "Csupharm7": ("28:36:42:49", 6.0),
}


@pytest.mark.parametrize("symbol", JAZZ)
def test_chords_of_jazz_in_thirty_one(symbol: str) -> None:
    numbers, mean = JAZZ[symbol]
    chord = Chord.parse(symbol)
    assert ":".join(map(str, whole_numbers(chord.ratios(THIRTY_ONE)))) == numbers
    parts = [Fraction(part) for part in numbers.split(":")]
    errors = by_hand(chord.steps(THIRTY_ONE), tuple(part / parts[0] for part in parts)).values()
    assert math.sqrt(sum(error**2 for error in errors) / len(errors)) == pytest.approx(mean, abs=0.05)
    assert chord.purity(THIRTY_ONE) == pytest.approx(mean, abs=0.05)


@pytest.mark.parametrize(
    ("from_each_note", "mean"),
    [
        ({(0, 10, 20): "16:20:25", (0, 10, 21): "20:25:32", (0, 11, 21): "25:32:40"}, 1.1),
        (
            {
                (0, 8, 16, 24): "35:42:50:60",
                (0, 8, 16, 23): "21:25:30:35",
                (0, 8, 15, 23): "25:30:35:42",
                (0, 7, 15, 23): "30:35:42:50",
            },
            5.1,
        ),
    ],
)
def test_an_augmented_triad_and_a_diminished_seventh_are_read_alike_from_each_note(
    from_each_note: dict[tuple[int, ...], str], mean: float
) -> None:
    """They do not close in thirty-one: one gap is a step wider or narrower, and the ratios stay the same"""
    for steps, numbers in from_each_note.items():
        ratios = ratio_chord(steps, THIRTY_ONE)
        assert ":".join(map(str, whole_numbers(ratios))) == numbers
        errors = by_hand(steps, ratios).values()
        assert math.sqrt(sum(error**2 for error in errors) / len(errors)) == pytest.approx(mean, abs=0.05)


USUAL = " m dim 6 m6 69 7 maj7 m7 m7b5 dim7 mmaj7 7sus4 9 m9 m11 13 7b9 7#9 7b5 7#5 7#11 maj7#11 7b13 7alt harm7 harm9"
SPECIAL = "harm7b9 harm7#9 harm7#5 subharm7 neumid7 neu7 sup7"


PRIMES_BEYOND = (17, 19, 23, 29, 31)


def bits_a_pair(table: Collection[Fraction], sizes: Iterable[int]) -> dict[tuple[int, str], float]:
    """What chords cost, for each pair of their notes, if their ratios are chosen from a table."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ratios_module, "_RATIOS", tuple(sorted(table)))
        for size, word in product(sizes, f"{USUAL} {SPECIAL}".split(" ")):
            steps = tuple(sorted(set(Chord.parse(f"C{word}").steps(equal(size)))))
            clear()
            ratios = ratio_chord(steps, equal(size))
            errors = by_hand(steps, ratios, size)
            bits = [complexity(ratios[j] / ratios[i]) + abs(error) / 5 for (i, j), error in errors.items()]
            found[size, word] = sum(bits) / len(bits)
    clear()
    return found


def clear() -> None:
    ratio_chord.cache_clear()
    ratios_module._choices.cache_clear()


def test_the_table_has_no_gap_for_usual_chords() -> None:
    """With every ratio of primes up to 13 whose numerator times denominator is at most 1024, no usual chord of 31 would
    be cheaper, and those of no division by as much as a fifth of a bit a pair on the mean"""
    every = {Fraction(high, low) for low in range(1, 32) for high in range(low, 2 * low) if high * low <= 1024}
    every = {ratio for ratio in every if all(ratio.numerator * ratio.denominator % prime for prime in PRIMES_BEYOND)}
    table = set(ratios_module._RATIOS)
    assert len(every - table) > 40
    sizes = (12, 17, 19, 22, 27, 29, 31, 34, 36, 41, 43, 46, 50, 53, 55, 60, 65, 72)
    ours, of_all = bits_a_pair(table, sizes), bits_a_pair(table | every, sizes)
    for size in sizes:
        gains = [bits - of_all[chord] for chord, bits in ours.items() if chord[0] == size]
        assert sum(gains) / len(gains) < (1e-9 if size == 31 else 0.2), size
    without = bits_a_pair(table - {Fraction(25, 14)}, [31])
    dearer = {word: bits - ours[31, word] for (_, word), bits in without.items() if bits > ours[31, word] + 1e-9}
    assert set(dearer) == {"7b9", "7b5", "7#5"} and max(dearer.values()) > 2
