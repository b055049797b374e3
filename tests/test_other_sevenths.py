"""Other sevenths: readings and errors against whole numbers and logarithms; what is drawn and heard, against both."""

from __future__ import annotations

from itertools import combinations
from math import log2, sqrt

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS, Playing
from tunelib.exhibits.seventh_kinds import KINDS, ROWS, kinds_written, off_in_twelve
from tunelib.harmony import Chord, ratio_chord, whole_numbers
from tunelib.pitch import THIRTY_ONE, equal

SHOW = EXHIBITS["other_sevenths"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
PAIRS = tuple(combinations(range(4), 2))

# By hand: steps of thirty-one above the root, the whole numbers that they are near, and the root mean square of what
# all pairs miss them by, to a tenth of a cent.
KNOWN = {
    "7♯5": ((0, 10, 20, 26), (112, 140, 175, 200), 1.6),
    "harm7♯5": ((0, 10, 20, 25), (16, 20, 25, 28), 1.6),
    "7♭5": ((0, 10, 16, 26), (28, 35, 40, 50), 1.7),
    "French sixth": ((0, 10, 15, 25), (20, 25, 28, 35), 1.7),
    "7♭9": ((0, 10, 26, 34), (28, 35, 50, 60), 3.5),
    "harm7♭9": ((0, 10, 25, 34), (28, 35, 49, 60), 2.5),
    "7♯9": ((0, 10, 26, 38), (84, 105, 150, 196), 2.6),
    "harm7♯9": ((0, 10, 25, 38), (12, 15, 21, 28), 3.2),
    "m(maj7)": ((0, 8, 18, 28), (40, 48, 60, 75), 3.8),
    "sub(maj7)": ((0, 7, 18, 28), (24, 28, 36, 45), 6.1),
    "m6": ((0, 8, 18, 23), (30, 36, 45, 50), 7.8),
    "m6, wide": ((0, 8, 18, 24), (70, 84, 105, 120), 3.8),
    "m7♭5": ((0, 8, 16, 26), (25, 30, 36, 45), 7.8),
    "m7♭5 as 5:6:7:9": ((0, 8, 15, 26), (5, 6, 7, 9), 7.0),
    "m7♭5 as 60:70:84:105": ((0, 7, 15, 25), (60, 70, 84, 105), 3.8),
    "m7": ((0, 8, 18, 26), (10, 12, 15, 18), 6.5),
    "subharm7": ((0, 7, 18, 25), (12, 14, 18, 21), 5.4),
}


def errors(cents: list[float], numbers: tuple[int, ...]) -> list[float]:
    """Cents of each pair less those of its ratio."""
    return [
        cents[high] - cents[low] - 1200 * log2(numbers[high] / numbers[low])
        for low, high in combinations(range(len(cents)), 2)
    ]


def rms(cents: list[float], numbers: tuple[int, ...]) -> float:
    found = errors(cents, numbers)
    return sqrt(sum(error**2 for error in found) / len(found))


def in_cents(steps: tuple[int, ...], division: int = 31) -> list[float]:
    return [step * 1200 / division for step in steps]


def test_every_kind_has_the_steps_the_reading_and_the_errors_of_the_table() -> None:
    """Steps, whole numbers and errors, worked out without the library."""
    assert set(KNOWN) == set(KINDS)
    for name, (steps, numbers, off) in KNOWN.items():
        kind = KINDS[name]
        assert kind.steps == steps and kind.reading == ":".join(map(str, numbers)), name
        assert kind.off(THIRTY_ONE) == pytest.approx(off, abs=0.05), name
        assert kind.off(THIRTY_ONE) == pytest.approx(rms(in_cents(steps), numbers))
        assert kind.off(None) == 0
        keys = kind.chord.steps(equal(12))
        assert kind.off(equal(12)) == pytest.approx(rms(in_cents(keys, 12), numbers))


def test_altered_dominants_without_a_fifth_are_purer_than_any_seventh_with_one() -> None:
    """All eight are purer than a major triad, 4:5:6, than 4:5:6:7, and than all that are shown with a fifth."""
    altered = [kind.off(THIRTY_ONE) for row in ROWS[:4] for kind in kinds_written(row)]
    others = [kind.off(THIRTY_ONE) for row in ROWS[4:] for kind in kinds_written(row)]
    assert max(altered) < min(rms(in_cents((0, 10, 18)), (4, 5, 6)), rms(in_cents((0, 10, 18, 25)), (4, 5, 6, 7)))
    assert max(altered) < min(others)
    assert all(18 not in kind.steps for row in ROWS[:4] for kind in kinds_written(row))


def test_a_half_diminished_chord_has_four_readings_in_three_tunings() -> None:
    """As written it is off two sets of numbers by nearly as much; 5:6:7:9 and 60:70:84:105 have notes of their own."""
    written = in_cents((0, 8, 16, 26))
    assert rms(written, (25, 30, 36, 45)) == pytest.approx(7.8, abs=0.05)
    assert rms(written, (35, 42, 50, 63)) == pytest.approx(8.4, abs=0.05)
    assert [round(kind.off(THIRTY_ONE), 1) for kind in kinds_written("m7♭5")] == [7.8, 7.0, 3.8]


def test_two_altered_dominants_have_a_mirror() -> None:
    """The French sixth is 7♭5 upside down, harm7♯5 is 7♯5 upside down: so their errors are as large."""
    for one, other in (("7♭5", "French sixth"), ("7♯5", "harm7♯5")):
        steps, turned = KNOWN[one][0], KNOWN[other][0]
        numbers, mirrored = KNOWN[one][1], KNOWN[other][1]
        rotations = [{(steps[k] - step) % 31 for step in steps} for k in range(4)]
        assert set(turned) in rotations
        assert KINDS[one].off(THIRTY_ONE) == pytest.approx(KINDS[other].off(THIRTY_ONE), abs=0.01)
        assert numbers != mirrored


def test_the_french_sixth_on_g_flat_is_c7_flat_5() -> None:
    """The same four notes: G♭ is 16, and 16 + (0, 10, 15, 25) are B♭, C and E."""
    assert {(16 + step) % 31 for step in KINDS["French sixth"].steps} == set(KINDS["7♭5"].steps)


def test_the_minor_seventh_is_read_as_25_14_where_that_is_simplest() -> None:
    """26 steps are 2.7 cents wide of 25/14, 11.1 narrow of 9/5, 10.4 wide of 16/9."""
    size = 26 * 1200 / 31
    assert [round(size - 1200 * log2(ratio), 1) for ratio in (25 / 14, 9 / 5, 16 / 9)] == [2.7, -11.1, 10.4]
    assert whole_numbers(ratio_chord((0, 10, 16, 26), THIRTY_ONE)) == (28, 35, 40, 50)
    assert whole_numbers(Chord.parse("C7b9").ratios(THIRTY_ONE)) == (28, 35, 42, 50, 60)


def test_twelve_has_readings_of_its_own_for_some_but_not_for_the_altered_fifth() -> None:
    """What the keys of a piano are read as by themselves: 11.3 cents off for m7♭5 and m6, and still 18.1 for 7♭5."""
    for symbol, numbers, off in (
        ("Cm7b5", (42, 50, 60, 75), 11.3),
        ("Cm6", (50, 60, 75, 84), 11.3),
        ("C7b5", (28, 35, 40, 50), 18.1),
    ):
        chord = Chord.parse(symbol)
        assert whole_numbers(chord.ratios(equal(12))) == numbers
        assert rms(in_cents(chord.steps(equal(12)), 12), numbers) == pytest.approx(off, abs=0.05)


def test_names_have_one_sign_and_are_the_steps() -> None:
    """By letters (C 0, D 5, E 10, F 13, G 18, A 23, B 28) and signs, ♯ 2 and ½♯ 1."""
    letters = {"C": 0, "D": 5, "E": 10, "F": 13, "G": 18, "A": 23, "B": 28}
    signs = {"": 0, "♯": 2, "♭": -2, "½♯": 1, "½♭": -1}
    for kind in KINDS.values():
        assert [(letters[name[0]] + signs[name[1:]]) % 31 for name in kind.names] == [step % 31 for step in kind.steps]
        spelled = [note.step(THIRTY_ONE) % 31 for note in kind.chord.notes]
        assert spelled == [step % 31 for step in kind.steps]


@pytest.mark.parametrize("tuned", ["12", "31", "pure"])
@SHAPES
def test_what_is_drawn_is_what_sounds(size: str, tuned: str) -> None:
    """Gaps and marks are errors of the frequencies that are heard, on one scale; the number is their mean."""
    scene = in_size("other_sevenths", size)
    level = scene.parts["pure"][0].get_ydata()[0]
    scales = []
    for name, (_, numbers, _) in KNOWN.items():
        scene.update(chord=name, tuned=tuned)
        hertz = [note.hertz for note in SHOW.score(chord=name, tuned=tuned).notes]
        cents = [1200 * log2(one / hertz[0]) for one in hertz]
        off = np.array(errors(cents, numbers))
        gaps, dots = scene.parts["pairs"][:6], scene.parts["pairs"][6]
        drawn = np.asarray(dots.get_ydata()) - level
        scales += [float(one / error) for one, error in zip(drawn, off, strict=True) if abs(error) > 1]
        for gap, y in zip(gaps, dots.get_ydata(), strict=True):
            assert sorted({*np.round(gap.get_xy()[:, 1], 9)}) == pytest.approx(sorted({level, y}), abs=1e-6)
        number = float(scene.parts["number"][0].get_text())
        assert number == pytest.approx(rms(cents, numbers), abs=0.051)
        pairs = [text.get_text() for text in scene.parts["pairs"][13:]]
        assert len(pairs) == 6 and pairs[0].startswith("C–")
    assert scales == pytest.approx([scales[0]] * len(scales)) if tuned != "pure" else not scales


def test_all_chords_are_on_one_scale() -> None:
    """A mark for each kind in thirty-one and each row in twelve, as far from pure as each is off; so is the triad's."""
    scene = in_size("other_sevenths", "panel")
    post = scene.parts["rows"][-1].get_xdata()[0]
    unit = (scene.parts["triad"][0].get_xdata()[0] - post) / rms(in_cents((0, 10, 18)), (4, 5, 6))
    kinds = (np.asarray(scene.parts["kinds"][0].get_xdata()) - post) / unit
    expected = [
        rms(in_cents(steps), numbers)
        for row in ROWS
        for steps, numbers, _ in (KNOWN[k.name] for k in kinds_written(row))
    ]
    assert kinds == pytest.approx(expected)
    twelves = (np.asarray(scene.parts["twelve"][0].get_xdata()) - post) / unit
    assert twelves == pytest.approx([off_in_twelve(row) for row in ROWS])
    assert twelves.min() > kinds.max()
    scene.update(chord="m6", tuned="12")
    assert (scene.parts["chosen"][1].get_xdata()[0] - post) / unit == pytest.approx(KINDS["m6"].off(equal(12)))


def test_a_pair_lights_up_when_both_its_notes_sound() -> None:
    """One note makes no pair; two make one, three make three, four make six."""
    scene = in_size("other_sevenths", "panel")
    scene.update(chord="7♭5", tuned="31")
    lit = next(artist for artist in scene.moving if getattr(artist, "get_markersize", float)() == 18)
    for count, pairs in ((1, 0), (2, 1), (3, 3), (4, 6)):
        scene.light(Playing(1.0, tuple(range(count))))
        assert len(lit.get_xdata()) == pairs
