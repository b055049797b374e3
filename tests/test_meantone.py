"""Chains of fifths against the published tables, librosa, and a search in sixty digits that cannot be wrong."""

from __future__ import annotations

import math
from decimal import Decimal, localcontext
from fractions import Fraction

import librosa
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.pitch.intervals import Interval
from tunelib.pitch.meantone import (
    PURE_FIFTH,
    SYNTONIC_COMMA,
    Chain,
    closings,
    home_fraction,
    meantone,
    meantone_chain,
    miss_after,
    tempered_fifth,
)
from tunelib.pitch.notes import Note
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import equal

# Fraction of the syntonic comma: cents of the fifth, by how much it is flat, the wolf G♯-E♭, major third and its error,
# minor third and its error, tone, chromatic and diatonic semitone, diesis (three major thirds short of an octave).
# From the definitions; the row 1/4 is the published one of many books (fifth 696.578, diesis 41.059; semitones and wolf
# as in Barbour, Tuning and Temperament, 1951, from memory).
MEANTONES = [
    ("0", 701.9550, 0.0000, 678.4950, 407.8200, 21.5063, 294.1350, -21.5063, 203.9100, 113.6850, 90.2250, -23.4600),
    ("1/3", 694.7862, 7.1688, 757.3514, 379.1450, -7.1688, 315.6413, 0.0000, 189.5725, 63.5037, 126.0688, 62.5651),
    ("2/7", 695.8103, 6.1447, 746.0862, 383.2414, -3.0723, 312.5690, -3.0723, 191.6207, 70.6724, 120.9483, 50.2758),
    ("1/4", 696.5784, 5.3766, 737.6373, 386.3137, 0.0000, 310.2647, -5.3766, 193.1569, 76.0490, 117.1079, 41.0589),
    ("1/5", 697.6537, 4.3013, 725.8088, 390.6150, 4.3013, 307.0388, -8.6025, 195.3075, 83.5762, 111.7313, 28.1551),
    ("1/6", 698.3706, 3.5844, 717.9232, 393.4825, 7.1688, 304.8881, -10.7531, 196.7412, 88.5943, 108.1469, 19.5526),
]  # fmt: skip
DIVISIONS = [
    (31, 18, 696.7742, 5.1808, 735.4839, 387.0968, 0.7831, 309.6774, -5.9639, 193.5484, 77.4194, 116.1290, 38.7097),
    (19, 11, 694.7368, 7.2182, 757.8947, 378.9474, -7.3663, 315.7895, 0.1482, 189.4737, 63.1579, 126.3158, 63.1579),
    (43, 25, 697.6744, 4.2806, 725.5814, 390.6977, 4.3840, 306.9767, -8.6645, 195.3488, 83.7209, 111.6279, 27.9070),
    (55, 32, 698.1818, 3.7732, 720.0000, 392.7273, 6.4136, 305.4545, -10.1867, 196.3636, 87.2727, 109.0909, 21.8182),
    (12, 7, 700.0000, 1.9550, 700.0000, 400.0000, 13.6863, 300.0000, -15.6413, 200.0000, 100.0000, 100.0000, 0.0000),
]  # fmt: skip
TWELVE = "C C♯ D E♭ E F F♯ G G♯ A B♭ B".split()
QUARTER_COMMA = [
    0.0000, 76.0490, 193.1569, 310.2647, 386.3137, 503.4216, 579.4706, 696.5784, 772.6274, 889.7353, 1006.8431,
    1082.8921,
]  # fmt: skip
PYTHAGOREAN = [
    0.0000, 113.6850, 203.9100, 294.1350, 407.8200, 498.0450, 611.7300, 701.9550, 815.6400, 905.8650, 996.0900,
    1109.7750,
]  # fmt: skip

# Name, fifths from C, step of 31 and its cents, cents of quarter-comma, and string lengths for both where C is 100000
# (the form of Huygens, Lettre touchant le cycle harmonique, 1691, whose string runs from 100000 to 50000; computed).
THIRTY_ONE = [
    ("C", 0, 0, 0.0000, 0.0000, 100000.00, 100000.00), ("C♯", 7, 2, 77.4194, 76.0490, 95626.60, 95702.32),
    ("D♭", -5, 3, 116.1290, 117.1079, 93512.15, 93459.30), ("D", 2, 5, 193.5484, 193.1569, 89422.49, 89442.72),
    ("D♯", 9, 7, 270.9677, 269.2059, 85511.69, 85598.76), ("E♭", -3, 8, 309.6774, 310.2647, 83620.90, 83592.54),
    ("E", 4, 10, 387.0968, 386.3137, 79963.82, 80000.00), ("F♭", -8, 11, 425.8065, 427.3726, 78195.71, 78125.00),
    ("E♯", 11, 12, 464.5161, 462.3627, 76466.68, 76561.86), ("F", -1, 13, 503.2258, 503.4216, 74775.89, 74767.44),
    ("F♯", 6, 15, 580.6452, 579.4706, 71505.64, 71554.18), ("G♭", -6, 16, 619.3548, 620.5294, 69924.55, 69877.12),
    ("G", 1, 18, 696.7742, 696.5784, 66866.47, 66874.03), ("G♯", 8, 20, 774.1935, 772.6274, 63942.13, 64000.00),
    ("A♭", -4, 21, 812.9032, 813.6863, 62528.28, 62500.00), ("A", 3, 23, 890.3226, 889.7353, 59793.66, 59813.95),
    ("A♯", 10, 25, 967.7419, 965.7843, 57178.65, 57243.34), ("B♭", -2, 26, 1006.4516, 1006.8431, 55914.34, 55901.70),
    ("B", 5, 28, 1083.8710, 1082.8921, 53468.98, 53499.22), ("C♭", -7, 29, 1122.5806, 1123.9510, 52286.71, 52245.34),
    ("B♯", 12, 30, 1161.2903, 1158.9411, 51130.57, 51200.00),
]  # fmt: skip

fractions = st.fractions(min_value=-1, max_value=1, max_denominator=60)


def by_name(chain: Chain) -> dict[str, float]:
    return {note.name: float(size) for note, size in zip(chain.notes, chain.cents, strict=True)}


def digits(interval: Interval) -> Decimal:
    """Octaves in an interval, to sixty digits."""
    with localcontext() as context:
        context.prec = 60
        log2 = sum(
            (Decimal(e.numerator) / Decimal(e.denominator) * Decimal(p).ln() for p, e in interval.powers), Decimal(0)
        )
        return +(log2 / Decimal(2).ln())


def nearer_than_all_before(fifth: Interval, most: int) -> list[tuple[int, int, float]]:
    """Fifths, octaves and miss in cents of every record, found by trying every number of fifths."""
    found, best = [], Decimal(1)
    with localcontext() as context:
        context.prec = 60
        size = digits(fifth)
        for n in range(1, most + 1):
            octaves = (n * size).to_integral_value()
            miss = n * size - octaves
            if abs(miss) < best - Decimal("1e-45"):
                best = abs(miss)
                found.append((n, int(octaves), float(1200 * miss)))
            if best < Decimal("1e-45"):
                break
    return found


@pytest.mark.parametrize("row", [*MEANTONES, *DIVISIONS], ids=lambda row: "/".join(map(str, row[: len(row) - 11])))
def test_sizes_in_meantones_and_equal_divisions(row: tuple[float, ...]) -> None:
    *which, fifth, flat, wolf, major, major_error, minor, minor_error, tone, chromatic, diatonic, diesis = row
    if len(which) == 1:
        chain = meantone_chain(str(which[0]))
    else:
        steps, fifth_steps = map(int, which)
        chain = Chain(f"{steps} equal steps", -3, (Interval.of(2) ** Fraction(fifth_steps, steps),) * 11)
    c = chain.place_of(Note.named("C"))
    e_flat_major, c_minor = chain.triad(Note.named("E♭")), chain.triad(Note.named("C"), "minor")
    found = [
        chain.fifths[0].cents, -e_flat_major.fifth_error, chain.closing_fifth.cents, e_flat_major.third_cents,
        e_flat_major.third_error, c_minor.third_cents, c_minor.third_error, chain.spans(2)[c], chain.spans(7)[c - 2],
        chain.spans(-5)[c + 3], -miss_after(chain.fifths[0], 12).miss.cents,
    ]  # fmt: skip
    wanted = [fifth, flat, wolf, major, major_error, minor, minor_error, tone, chromatic, diatonic, diesis]
    np.testing.assert_allclose(found, wanted, atol=6e-5)


@pytest.mark.parametrize(("fraction", "wanted"), [("1/4", QUARTER_COMMA), ("0", PYTHAGOREAN)])
def test_twelve_notes_to_four_decimals(fraction: str, wanted: list[float]) -> None:
    """Computed from the definitions; the whole cents of quarter-comma are Barbour's below."""
    chain = meantone_chain(fraction)
    np.testing.assert_allclose([by_name(chain)[name] for name in TWELVE], wanted, atol=6e-5)
    np.testing.assert_allclose(meantone(fraction).cents, wanted, atol=6e-5)


def test_quarter_comma_in_whole_cents_is_barbours_table() -> None:
    """Barbour, Tuning and Temperament, 1951, the row for Aaron (from memory)."""
    printed = [0, 76, 193, 310, 386, 503, 579, 697, 773, 890, 1007, 1083]
    assert np.rint(meantone("1/4").cents).tolist() == printed


@pytest.mark.parametrize(
    ("fraction", "printed"),
    [("1/4", (10, -14, 3, 20, -3, 14, -10, 7, -17, 0, 17, -7)), ("0", (-6, 8, -2, -12, 2, -8, 6, -4, 10, 0, -10, 4))],
)
def test_a_tuners_printed_table_of_deviations(fraction: str, printed: tuple[int, ...]) -> None:
    """Whole cents from twelve equal steps with A at 0, C to B: a harpsichord tuner's table (hpschd.nu, cents.html)."""
    sizes = meantone(fraction).cents
    deviations = sizes - sizes[9] - 100.0 * (np.arange(12) - 9)
    np.testing.assert_allclose(deviations, printed, atol=0.55)


def test_the_quarter_comma_fifth_and_its_wolf_are_roots_of_whole_numbers() -> None:
    """5^(1/4) = 1.4953487812, and 2^7 / 5^(11/4) = 1.53123715 for the wolf: common practice."""
    chain = meantone_chain("1/4")
    assert chain.fifths[0] == Interval.of(5) ** Fraction(1, 4)
    assert chain.closing_fifth == Interval.of(2) ** 7 / Interval.of(5) ** Fraction(11, 4)
    assert 2 ** (chain.closing_fifth.cents / 1200) == pytest.approx(1.53123715, abs=5e-9)
    assert 2 ** (chain.fifths[0].cents / 1200) == pytest.approx(1.4953487812, abs=5e-11)
    assert miss_after(chain.fifths[0], 12).miss.ratio == Fraction(125, 128)
    assert [note.name for note in chain.wolf or ()] == ["G♯", "E♭"]


@pytest.mark.parametrize("notes", [5, 7, 12, 17, 24])
def test_fraction_zero_matches_librosa(notes: int) -> None:
    theirs = 1200 * np.log2(librosa.pythagorean_intervals(bins_per_octave=notes))
    np.testing.assert_allclose(meantone(0, first="C", notes=notes).cents, theirs, atol=1e-9)
    unsorted = librosa.pythagorean_intervals(bins_per_octave=notes, sort=False)
    np.testing.assert_allclose(meantone_chain(0, first="C", notes=notes).cents, 1200 * np.log2(unsorted), atol=1e-9)


@pytest.mark.parametrize("row", THIRTY_ONE, ids=lambda row: row[0])
def test_thirty_one_steps_beside_quarter_comma(row: tuple[str, int, int, float, float, float, float]) -> None:
    name, fifths, step, divided, tempered, string, tempered_string = row
    note, tuning = Note.named(name), meantone("1/4", first="F♭", notes=31)
    assert note.fifths == fifths
    assert note.step(equal(31)) % 31 == note.step(tuning) % 31 == step
    assert equal(31).cents_of(step) == pytest.approx(divided, abs=6e-5)
    assert tuning.cents_of(step) == pytest.approx(tempered, abs=6e-5)
    assert 100_000 / 2 ** (equal(31).cents_of(step) / 1200) == pytest.approx(string, abs=6e-3)
    assert 100_000 / 2 ** (tuning.cents_of(step) / 1200) == pytest.approx(tempered_string, abs=6e-3)


def test_huygens_logarithm_of_one_step() -> None:
    """0.0097106450 (Huygens 1691)."""
    assert math.log10(2 ** (equal(31).cents_of(1) / 1200)) == pytest.approx(0.0097106450, abs=5e-11)


def test_the_fifth_of_thirty_one_is_wider_by_a_hundred_and_tenth_of_a_comma() -> None:
    """0.1958 cent; Huygens says 1/110 of a comma (the statement from memory)."""
    wider = equal(31).interval(18) / tempered_fifth("1/4")
    assert wider.cents == pytest.approx(0.1958, abs=5e-5)
    assert round(SYNTONIC_COMMA.cents / wider.cents) == 110
    assert wider**31 == miss_after(tempered_fifth("1/4"), 31).miss ** -1
    assert 31 * wider.cents == pytest.approx(6.0687, abs=5e-5)


@given(fractions, st.integers(-20, 20), st.integers(5, 40))
@settings(deadline=None)
def test_a_chain_is_what_stacking_its_fifths_gives(fraction: Fraction, first: int, notes: int) -> None:
    try:
        chain = meantone_chain(fraction, Note.on_chain(first).name, notes)
    except ValueError as refused:
        assert "the circle closes after" in str(refused)
        return
    assert len(chain) == len(chain.notes) == notes
    assert [note.fifths for note in chain.notes] == list(range(first, first + notes))
    fifth = 1200 * (math.log2(1.5) - float(fraction) * math.log2(81 / 80))
    origin = 0 if first <= 0 < first + notes else first
    for note, size in by_name(chain).items():
        off = (size - fifth * (Note.named(note).fifths - origin)) % 1200
        assert min(off, 1200 - off) < 1e-9
    tuning = chain.tuning
    np.testing.assert_allclose(np.sort(chain.cents), tuning.cents, atol=1e-9)
    if tuning.fifth is not None:
        for note, interval in zip(chain.notes, chain.intervals, strict=True):
            assert tuning.degrees[note.step(tuning) % notes] == interval


def test_meantones_of_nineteen_and_thirty_one_notes_are_spelled_as_the_divisions_are() -> None:
    for notes in (12, 19, 31):
        chain = meantone_chain("1/4", notes=notes)
        assert chain.tuning.fifth == equal(notes).fifth
        for note in chain.notes:
            assert note.step(chain.tuning) == note.step(equal(notes))
            above_a4 = by_name(chain)[note.name] - by_name(chain)["A"] + 1200 * (note.step(chain.tuning) // notes)
            assert note.hz(chain.tuning) == pytest.approx(440 * 2 ** (above_a4 / 1200))


def test_d_sharp_and_e_flat_are_two_notes_in_nineteen_and_one_in_twelve() -> None:
    """The diesis of quarter-comma, 41.06 cents: common practice."""
    d_sharp, e_flat = Note.named("D♯"), Note.named("E♭")
    wide, narrow = meantone("1/4", notes=19), meantone("1/4")
    assert 1200 * math.log2(e_flat.hz(wide) / d_sharp.hz(wide)) == pytest.approx(41.0589, abs=5e-5)
    assert d_sharp.hz(narrow) == e_flat.hz(narrow)


def test_a_chain_without_c_starts_at_its_first_note() -> None:
    chain = meantone_chain("1/4", first="F♯", notes=12)
    assert chain.tuning.fifth is None
    assert by_name(chain)["F♯"] == 0
    assert np.array_equal(chain.tuning.cents, np.sort(chain.cents))
    assert [note.name for note in chain.wolf or ()] == ["A𝄪", "F♯"]
    ends = meantone_chain("1/4", first="C", notes=12)
    assert (ends.notes[0].name, ends.notes[-1].name, ends.tuning.fifth) == ("C", "E♯", 7)
    assert meantone_chain("1/4", first="D𝄫", notes=13).tuning.name.endswith("D𝄫 to C")


@pytest.mark.parametrize(("first", "last"), [("E♭", "G♯"), ("A♭", "C♯"), ("C", "E♯"), ("D♭", "F♯"), ("B♭", "D♯")])
def test_the_wolf_lies_between_the_ends_wherever_the_chain_begins(first: str, last: str) -> None:
    """Twelve fifths are one too many by 41.06 cents, so the twelfth is 737.64: common practice."""
    chain = meantone_chain("1/4", first=first)
    assert [note.name for note in chain.wolf or ()] == [last, first]
    np.testing.assert_allclose(chain.spans(1), [696.5784] * 11 + [737.6373], atol=6e-5)
    assert chain.crosses(1).tolist() == [False] * 11 + [True]
    np.testing.assert_allclose(chain.spans(4), [386.3137] * 8 + [427.3726] * 4, atol=6e-5)
    assert chain.crosses(4).tolist() == [False] * 8 + [True] * 4
    np.testing.assert_allclose(chain.spans(-3), [269.2059] * 3 + [310.2647] * 9, atol=6e-5)
    assert chain.crosses(-3).tolist() == [True] * 3 + [False] * 9
    assert chain.spans(0).tolist() == chain.spans(12).tolist() == [0] * 12


@pytest.mark.parametrize("notes", [13, 14, 15, 16, 17, 18])
def test_split_keys_move_the_wolf_but_leave_its_size(notes: int) -> None:
    """Keys added past G♯, as D♯ and A♯ were: whose fifth is missing takes the note a diesis away (common practice)."""
    chain = meantone_chain("1/4", notes=notes)
    np.testing.assert_allclose(chain.spans(1), [696.5784] * (notes - 1) + [737.6373], atol=6e-5)
    np.testing.assert_allclose(chain.spans(4), [386.3137] * (notes - 4) + [427.3726] * 4, atol=6e-5)
    assert chain.wolf == (chain.notes[-1], chain.notes[notes - 12])
    assert chain.triad(Note.named("B")).is_whole
    assert chain.notes[chain.place_of(Note.named("D♭"))].name == "C♯"
    assert chain.tuning.fifth is None


def test_nineteen_and_thirty_one_notes_close_better_each_time() -> None:
    """19 fifths are 34.99 cents over, 31 are 6.07 short: so the last fifth is 661.59, and 702.65."""
    nineteen, thirty_one = meantone_chain("1/4", notes=19), meantone_chain("1/4", notes=31)
    assert nineteen.closing_fifth.cents == pytest.approx(696.5784 - 34.9901, abs=2e-4)
    assert thirty_one.closing_fifth.cents == pytest.approx(696.5784 + 6.0687, abs=2e-4)
    assert nineteen.wolf is not None and thirty_one.wolf is None


def test_the_triads_of_twelve_notes_of_quarter_comma() -> None:
    """Eight major and eight minor triads are good on E♭ to G♯, eight are not: common practice."""
    chain = meantone_chain("1/4")
    major = {note.name: chain.triad(note) for note in chain.notes}
    minor = {note.name: chain.triad(note, "minor") for note in chain.notes}
    assert [name for name, triad in major.items() if triad.is_whole] == "E♭ B♭ F C G D A E".split()
    assert [name for name, triad in minor.items() if triad.is_whole] == "C G D A E B F♯ C♯".split()
    for name in "B F♯ C♯ G♯".split():
        assert major[name].third_cents == pytest.approx(427.3726, abs=5e-5)
        assert (major[name].third_spelled.name, major[name].third_is_whole) == ("diminished fourth", False)
    for name in "E♭ B♭ F".split():
        assert minor[name].third_cents == pytest.approx(269.2059, abs=5e-5)
        assert minor[name].third_spelled.name == "augmented second"
    for triad in (major["G♯"], minor["G♯"]):
        assert triad.fifth_cents == pytest.approx(737.6373, abs=5e-5)
        assert (triad.fifth_spelled.name, triad.fifth_is_whole) == ("diminished sixth", False)
    for triad in (*major.values(), *minor.values()):
        assert triad.is_whole == (abs(triad.third_error) < 6 and abs(triad.fifth_error) < 6)
    assert major["C"].third_error == pytest.approx(0, abs=1e-9)
    assert minor["A"].third_error == pytest.approx(-5.3766, abs=5e-5)


def test_six_major_and_six_minor_keys_are_free_of_the_wolf() -> None:
    """B♭, F, C, G, D and A major, and their relatives with natural sevenths: common practice."""
    chain = meantone_chain("1/4")
    for mode, free in (("major", "B♭ F C G D A"), ("minor", "G D A E B F♯")):
        tonics = [note for note in chain.notes if all(triad.is_whole for triad in chain.triads_in(Key(note, mode)))]
        assert [note.name for note in tonics] == free.split()


def test_the_triads_of_a_key_are_those_on_its_degrees() -> None:
    """I ii iii IV V vi of a major key, i III iv v VI VII of a minor one: common practice."""
    chain = meantone_chain("1/4", first="G𝄫", notes=31)
    for tonic in chain.notes[5:-5]:
        triads = chain.triads_in(Key(tonic))
        assert [triad.kind for triad in triads] == ["major", "minor", "minor", "major", "major", "minor"]
        assert [triad.root.letter for triad in triads] == [note.letter for note in Key(tonic).scale[:6]]
        kinds = [(triad.root.name, triad.kind) for triad in chain.triads_in(Key(tonic, "minor"))]
        scale = Key(tonic, "minor").scale
        assert kinds == [(scale[i].name, "minor" if i in (0, 3, 4) else "major") for i in (0, 2, 3, 4, 5, 6)]


def test_every_triad_of_thirty_one_notes_is_in_tune_to_about_six_cents() -> None:
    """Those that cross the gap are misspelled, and err by what 31 fifths do: 6.07 cents more or less."""
    chain = meantone_chain("1/4", notes=31)
    for kind, third_error, fifth_error in (("major", 0.0, -5.3766), ("minor", -5.3766, -5.3766)):
        triads = [chain.triad(note, kind) for note in chain.notes]
        assert sum(triad.is_whole for triad in triads) == 27
        for triad in triads:
            off = 0 if triad.third_is_whole else 6.0687 if kind == "major" else -6.0687
            assert triad.third_error == pytest.approx(third_error + off, abs=6e-5)
            assert triad.fifth_error == pytest.approx(fifth_error + (0 if triad.fifth_is_whole else 6.0687), abs=6e-5)
            assert max(abs(triad.third_error), abs(triad.fifth_error)) < 12


def test_in_thirty_one_equal_steps_no_triad_differs_from_another() -> None:
    chain = Chain("31 equal steps", -15, (equal(31).interval(18),) * 30)
    assert chain.wolf is None and chain.closing_fifth == equal(31).interval(18)
    for kind, third in (("major", 387.0968), ("minor", 309.6774)):
        for note in chain.notes:
            triad = chain.triad(note, kind)
            assert triad.third_cents == pytest.approx(third, abs=5e-5)
            assert triad.fifth_cents == pytest.approx(696.7742, abs=5e-5)
    assert chain.tuning.degrees == equal(31).degrees


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("D♯", "E♭"),
        ("A♭", "G♯"),
        ("D♭", "C♯"),
        ("E♯", "F"),
        ("B♯", "C"),
        ("C♭", "B"),
        ("F𝄪", "G"),
        ("A𝄫", "G"),
        ("G", "G"),
    ],
)
def test_the_key_that_stands_in_is_the_one_a_keyboard_has(name: str, key: str) -> None:
    """Common practice."""
    chain = meantone_chain("1/4")
    assert chain.notes[chain.place_of(Note.named(name))].name == key


@pytest.mark.parametrize(
    ("fifth", "most", "counts"),
    [(PURE_FIFTH, 2000, [1, 2, 5, 12, 41, 53, 306, 665]), (tempered_fifth("1/4"), 200, [1, 2, 5, 7, 12, 19, 31, 174]),
     (tempered_fifth("1/11"), 2000, [1, 2, 5, 7, 12]),
     (tempered_fifth("1/3"), 400, None), (tempered_fifth("2/7"), 400, None), (tempered_fifth("1/6"), 400, None),
     (Interval.of("5/4"), 400, None), (Interval.of("7/4"), 400, None), (Interval.of("6/5"), 300, None),
     (Interval.of("81/80"), 600, None), (Interval.of("2047/1024"), 200, None)],
)  # fmt: skip
def test_closings_are_what_trying_every_number_finds(fifth: Interval, most: int, counts: list[int] | None) -> None:
    """Of the pure fifth 1, 2, 5, 12, 41, 53, 306, 665: the convergents of log2(3/2) (Hardy and Wright, chapter X, for
    the method; the numbers common practice, from memory)."""
    found = [(closing.fifths, closing.octaves, closing.miss.cents) for closing in closings(fifth, most)]
    tried = nearer_than_all_before(fifth, most)
    assert [row[:2] for row in found] == [row[:2] for row in tried]
    np.testing.assert_allclose([row[2] for row in found], [row[2] for row in tried], rtol=1e-9, atol=1e-12)
    assert counts is None or [row[0] for row in found] == counts


@given(fractions)
@settings(deadline=None, max_examples=40)
def test_closings_of_any_tempered_fifth(fraction: Fraction) -> None:
    fifth = tempered_fifth(fraction)
    found = [(closing.fifths, closing.octaves) for closing in closings(fifth, 150)]
    assert found == [row[:2] for row in nearer_than_all_before(fifth, 150)]


@pytest.mark.parametrize("n", [5, 7, 12, 17, 19, 22, 24, 31, 43, 50, 53, 55])
def test_the_closings_of_an_equal_division_end_where_its_circle_does(n: int) -> None:
    fifth_steps = equal(n).fifth
    assert fifth_steps is not None
    found = closings(equal(n).interval(fifth_steps), 2000)
    around = n // math.gcd(n, fifth_steps)
    assert (found[-1].fifths, found[-1].octaves) == (around, fifth_steps * around // n)
    assert found[-1].miss == Interval()
    assert all(closing.miss != Interval() for closing in found[:-1])
    assert [(c.fifths, c.octaves) for c in found] == [
        row[:2] for row in nearer_than_all_before(equal(n).interval(fifth_steps), 60)
    ]


@pytest.mark.parametrize(
    ("fraction", "fifths", "octaves", "miss"),
    [("1/4", 12, 7, -41.0589), ("1/4", 19, 11, 34.9901), ("1/4", 31, 18, -6.0687), ("0", 12, 7, 23.4600),
     ("0", 53, 31, 3.6150), ("1/3", 19, 11, 0.9385), ("1/4", 1, 1, -503.4216)],
)  # fmt: skip
def test_how_far_fifths_miss(fraction: str, fifths: int, octaves: int, miss: float) -> None:
    """41.06, 34.99 and 6.07 for quarter-comma; 23.46 and 3.615 for pure fifths (Mercator's comma): common practice."""
    closing = miss_after(tempered_fifth(fraction), fifths)
    assert (closing.fifths, closing.octaves) == (fifths, octaves)
    assert closing.miss.cents == pytest.approx(miss, abs=6e-5)


@pytest.mark.parametrize(
    ("steps", "fifth_steps", "fraction"),
    [(12, 7, 1.9550 / 21.5063), (19, 11, 7.2182 / 21.5063), (31, 18, 5.1808 / 21.5063), (43, 25, 4.2806 / 21.5063),
     (50, 29, 5.9550 / 21.5063), (55, 32, 3.7732 / 21.5063)],
)  # fmt: skip
def test_which_fraction_is_at_home_where(steps: int, fifth_steps: int, fraction: float) -> None:
    """About 1/11, 1/3, 1/4, 1/5, 2/7 and 1/6 of the comma for 12, 19, 31, 43, 50 and 55: common practice."""
    assert home_fraction(steps, fifth_steps) == pytest.approx(fraction, abs=5e-6)
    known = {12: 1 / 11, 19: 1 / 3, 31: 1 / 4, 43: 1 / 5, 50: 2 / 7, 55: 1 / 6}
    assert min(known, key=lambda n: abs(known[n] - home_fraction(steps, fifth_steps))) == steps


@pytest.mark.parametrize(
    "given", [0.25, None, True, "quarter", "1/0", "nan", "", Decimal("0.25"), 2, "-5/4", Fraction(9, 8)]
)
def test_a_fraction_of_a_comma_is_exact_and_within_one(given: object) -> None:
    for ask in (tempered_fifth, meantone, meantone_chain):
        with pytest.raises(ValueError, match="comma.*1/4") as refused:
            ask(given)  # type: ignore[arg-type]
        assert repr(given) in str(refused.value)


def test_fractions_are_given_in_any_exact_form() -> None:
    fifths = {tempered_fifth(form) for form in ("1/4", "0.25", " 1/4 ", Fraction(1, 4), "2/8")}
    assert fifths == {Interval.of(5) ** Fraction(1, 4)}
    assert tempered_fifth(np.int64(0)) == tempered_fifth(0) == PURE_FIFTH
    assert tempered_fifth("-1/4").cents == pytest.approx(701.9550 + 5.3766, abs=1e-4)
    assert tempered_fifth("1/12", "531441/524288") == Interval.of(2) ** Fraction(7, 12)


@pytest.mark.parametrize("first", ["H", "", "E♭4", None, 3, "Ehb", "C½♯"])
def test_a_chain_begins_on_a_natural_sharp_or_flat(first: object) -> None:
    with pytest.raises(ValueError, match="name|natural, a sharp or a flat"):
        meantone("1/4", first=first)  # type: ignore[arg-type]


@pytest.mark.parametrize("notes", [4, 0, -12, 12.0, "12", None, True, 2001, 10**12])
def test_a_chain_has_a_whole_number_of_notes_that_somebody_could_play(notes: object) -> None:
    for ask in (meantone, meantone_chain):
        with pytest.raises(ValueError, match="from 5 to 2000") as refused:
            ask("1/4", notes=notes)
        assert repr(notes) in str(refused.value)


def test_a_chain_stops_before_two_notes_sound_alike() -> None:
    with pytest.raises(ValueError, match="the circle closes after 31 of these fifths: take 31 notes at most"):
        Chain("too many", 0, (equal(31).interval(18),) * 31)
    assert len(Chain("all", 0, (equal(31).interval(18),) * 30)) == 31


@pytest.mark.parametrize(
    ("first", "fifths", "says"),
    [(0, (PURE_FIFTH,) * 3, "4 to 1999 fifths"), (0, (Interval.of("4/3"),) * 11, "4/3 is not a fifth: at 498.0 cents"),
     (0, (Interval.of(2),) * 11, "2 is not a fifth"), (0.5, (PURE_FIFTH,) * 11, "not 0.5"),
     (True, (PURE_FIFTH,) * 11, "not True"),
     (0, ("3/2",) * 11, "not '3/2'"), (0, (), "not 0")],
)  # fmt: skip
def test_what_makes_no_chain_is_refused(first: int, fifths: tuple[Interval, ...], says: str) -> None:
    with pytest.raises(ValueError) as refused:
        Chain("mine", first, fifths)
    assert says in str(refused.value)


def test_a_half_sharp_has_no_key_on_a_chain() -> None:
    chain = meantone_chain("1/4", notes=31)
    for ask in (lambda: chain.triad(Note.named("E½♭")), lambda: chain.place_of(Note.named("E½♭")),
                lambda: chain.triads_in(Key(Note.named("E½♭")))):  # fmt: skip
        with pytest.raises(ValueError, match="E½♭ is half a sharp from any note that is tuned by fifths"):
            ask()


@pytest.mark.parametrize("kind", ["sus", "", None, 3])
def test_a_triad_is_major_or_minor(kind: object) -> None:
    with pytest.raises(ValueError, match="'major' or 'minor'") as refused:
        meantone_chain("1/4").triad(Note.named("C"), kind)  # type: ignore[arg-type]
    assert repr(kind) in str(refused.value)


@pytest.mark.parametrize("bad", [1.0, "4", None, True])
def test_fifths_are_counted_in_whole_numbers(bad: object) -> None:
    chain = meantone_chain("1/4")
    for ask in (chain.spans, chain.crosses, lambda n: miss_after(PURE_FIFTH, n), lambda n: closings(PURE_FIFTH, n),
                lambda n: home_fraction(n, 7), lambda n: home_fraction(12, n)):  # fmt: skip
        with pytest.raises(ValueError, match="whole number|is whole") as refused:
            ask(bad)
        assert repr(bad) in str(refused.value)


@pytest.mark.parametrize(
    ("fifth", "named"),
    [("2", "2"), ("1", "1"), ("9/4", "9/4"), ("2/3", "2/3"), (1.5, "1.5"), ("x", "'x'"), (None, "None")],
)
def test_only_what_lies_within_the_octave_closes_a_circle(fifth: object, named: str) -> None:
    with pytest.raises(ValueError) as refused:
        closings(fifth)  # type: ignore[arg-type]
    assert named in str(refused.value)
    assert closings("3/2", 12) == closings(PURE_FIFTH, 12)


def test_fifths_within_bounds() -> None:
    for ask in (lambda: closings(PURE_FIFTH, 2001), lambda: closings(PURE_FIFTH, 0), lambda: home_fraction(0, 7),
                lambda: home_fraction(12, 12), lambda: miss_after(PURE_FIFTH, 0)):  # fmt: skip
        with pytest.raises(ValueError, match="from 1 to|from 2 to|1 or more"):
            ask()
