"""Temperaments of the past against the tables in the books and their own definitions."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import reduce
from operator import mul

import numpy as np
import pytest

from tunelib.pitch.intervals import Interval
from tunelib.pitch.meantone import PURE_FIFTH, SYNTONIC_COMMA, meantone_chain
from tunelib.pitch.notes import Note
from tunelib.pitch.temperaments import (
    MEANTONES,
    PYTHAGOREAN_COMMA,
    WELL_TEMPERAMENTS,
    WellTemperament,
    temperament,
    well,
)

# Cents above C, from the definitions: Werckmeister III, C-G-D-A and B-F♯ narrow by a quarter of the Pythagorean comma
# (from memory; the deviations below are printed ones); Kirnberger III, C-G-D-A-E by a quarter of the syntonic one and
# F♯-C♯ by the skhisma ("leave C-e quite pure", his letter to Forkel); Vallotti, F to B, and Young's second, C to F♯, by
# a sixth of the Pythagorean (Young, Phil. Trans. 90, 1800; Vallotti from memory).
CENTS = {
    "Werckmeister III": [0.0000, 90.2250, 192.1800, 294.1350, 390.2250, 498.0450, 588.2700, 696.0900, 792.1800,
                         888.2700, 996.0900, 1092.1800],
    "Kirnberger III": [0.0000, 90.2250, 193.1569, 294.1350, 386.3137, 498.0450, 590.2237, 696.5784, 792.1800, 889.7353,
                       996.0900, 1088.2687],
    "Vallotti": [0.0000, 94.1350, 196.0900, 298.0450, 392.1800, 501.9550, 592.1800, 698.0450, 796.0900, 894.1350,
                 1000.0000, 1090.2250],
    "Young II": [0.0000, 90.2250, 196.0900, 294.1350, 392.1800, 498.0450, 588.2700, 698.0450, 792.1800, 894.1350,
                 996.0900, 1090.2250],
}  # fmt: skip

# Major thirds in cents by root, C to B: a Pythagorean third less what its four fifths are narrow, counted by hand.
MAJOR_THIRDS = {
    "Werckmeister III": [390.225, 407.820, 396.090, 401.955, 401.955, 390.225, 407.820, 396.090, 407.820, 401.955,
                         396.090, 401.955],
    "Vallotti": [392.180, 407.820, 396.090, 400.000, 403.910, 392.180, 407.820, 392.180, 403.910, 400.000, 396.090,
                 407.820],
    "Young II": [392.180, 407.820, 392.180, 403.910, 400.000, 396.090, 407.820, 392.180, 407.820, 396.090, 400.000,
                 403.910],
}  # fmt: skip
TWELVE = "C C♯ D E♭ E F F♯ G G♯ A B♭ B".split()


@pytest.mark.parametrize("name", CENTS)
def test_twelve_notes_to_four_decimals(name: str) -> None:
    np.testing.assert_allclose(well(name).cents, CENTS[name], atol=6e-5)
    chain = temperament(name).chain
    by_name = {note.name: size for note, size in zip(chain.notes, chain.cents, strict=True)}
    np.testing.assert_allclose([by_name[note] for note in TWELVE], CENTS[name], atol=6e-5)


def test_young_first_temperament_to_a_tenth() -> None:
    """Barbour, Tuning and Temperament, 1951, and Young 1800: 0 93.9 195.8 297.8 391.7 499.9 591.9 ... (from memory)."""
    printed = [0, 93.9, 195.8, 297.8, 391.7, 499.9, 591.9, 697.9, 795.8, 893.8, 999.8, 1091.8]
    np.testing.assert_allclose(well("Young I").cents, printed, atol=0.06)


@pytest.mark.parametrize(
    ("name", "printed", "within"),
    [("Werckmeister III", (12, 2, 4, 6, 2, 10, 0, 8, 4, 0, 8, 4), 0.55),
     ("Kirnberger III", (10, 1, 3, 4, -3, 8, 1, 7, 2, 0, 6, -2), 0.55),
     ("Vallotti", (6, 0, 2, 4, -2, 8, -2, 4, 2, 0, 6, -4), 0.55),
     ("Werckmeister III", (11.7, 2.0, 3.9, 5.9, 2.0, 9.8, 0.0, 7.8, 3.9, 0.0, 7.8, 3.9), 0.055)],
)  # fmt: skip
def test_tuners_printed_tables_of_deviations(name: str, printed: tuple[float, ...], within: float) -> None:
    """From twelve equal steps with A at 0, C to B: whole cents, a harpsichord tuner's table (hpschd.nu, cents.html);
    Werckmeister III in tenths, piano technicians' mailing list, September 1999 (moypiano.com)."""
    sizes = well(name).cents
    deviations = sizes - sizes[9] - 100.0 * (np.arange(12) - 9)
    np.testing.assert_allclose(deviations, printed, atol=within)


@pytest.mark.parametrize("name", MAJOR_THIRDS)
def test_every_major_third(name: str) -> None:
    """In Werckmeister's from 390 to 408, the best on C and F; in Vallotti's and Young's graded from 392 to 408: common
    practice (rounded: Barbour 1951, from memory)."""
    chain = temperament(name).chain
    thirds = [chain.triad(Note.named(note)).third_cents for note in TWELVE]
    np.testing.assert_allclose(thirds, MAJOR_THIRDS[name], atol=6e-4)


@pytest.mark.parametrize("name", ["Vallotti", "Young I", "Young II"])
def test_thirds_grow_towards_the_far_side_of_the_circle_and_come_back(name: str) -> None:
    """From the best key on, each third is no narrower than the one before, up to a Pythagorean one: common practice."""
    thirds = temperament(name).chain.spans(4)
    best = int(np.flatnonzero(np.isclose(thirds, thirds.min()))[0])
    round_the_circle = np.roll(thirds, -best)
    up = int(np.argmax(round_the_circle > round_the_circle.max() - 1e-6))
    assert np.all(np.diff(round_the_circle[: up + 1]) > -1e-9)
    assert np.all(np.diff(np.append(round_the_circle[up:], round_the_circle[0])) < 1e-9)
    assert thirds.max() == pytest.approx(407.820, abs=6e-4)


@pytest.mark.parametrize("name", WELL_TEMPERAMENTS)
def test_what_is_narrowed_is_the_pythagorean_comma_exactly_and_the_last_fifth_is_pure(name: str) -> None:
    """Twelve pure fifths are seven octaves and a comma; G♯ to E♭ is left pure in all five (from the definitions)."""
    kind = WELL_TEMPERAMENTS[name]
    assert reduce(mul, kind.narrowed.values()) == PYTHAGOREAN_COMMA
    assert kind.chain.closing_fifth == PURE_FIFTH
    assert kind.chain.wolf is None
    assert reduce(mul, (*kind.chain.fifths, kind.chain.closing_fifth)) == Interval.of(2) ** 7
    pure = {
        note.name
        for note, size in zip(kind.chain.notes, kind.chain.spans(1), strict=True)
        if abs(size - 701.955) < 1e-3
    }
    assert pure == {note.name for note in kind.chain.notes} - set(kind.narrowed)
    assert well(name).fifth == 7


@pytest.mark.parametrize("name", WELL_TEMPERAMENTS)
def test_every_key_of_a_well_temperament_can_be_played(name: str) -> None:
    """No third is wider than the Pythagorean one or narrower than pure, no fifth off by over six cents."""
    chain = WELL_TEMPERAMENTS[name].chain
    thirds, fifths = chain.spans(4), chain.spans(1)
    assert thirds.min() > 386.3137 - 1e-4 and thirds.max() < 407.8200 + 1e-4
    assert np.all(fifths < 701.956) and np.all(fifths > 701.955 - 6)


FIFTHS = {
    "Werckmeister III": "C G D B", "Vallotti": "F C G D A E", "Kirnberger III": "C G D A F♯",
    "Young I": "C G D A B♭ F E B", "Young II": "C G D A E B",
}  # fmt: skip


def test_the_narrowed_fifths_are_the_published_ones() -> None:
    """Werckmeister 1691: C-G, G-D, D-A and B-F♯; Kirnberger about 1779; Young 1800; Vallotti (from memory)."""
    assert {name: " ".join(kind.narrowed) for name, kind in WELL_TEMPERAMENTS.items()} == FIFTHS
    assert WELL_TEMPERAMENTS["Kirnberger III"].narrowed["F♯"].ratio == Fraction(32805, 32768)
    assert WELL_TEMPERAMENTS["Young I"].narrowed["C"] == SYNTONIC_COMMA ** Fraction(3, 16)


DESCRIBED = [
    ("third-comma", "1/3", 1577, "Salinas"), ("two-sevenths-comma", "2/7", 1558, "Zarlino"),
    ("quarter-comma", "1/4", 1523, "Aaron"), ("fifth-comma", "1/5", 1666, "Rossi"),
    ("sixth-comma", "1/6", 1748, "Silbermann"), ("Pythagorean", "0", -300, "Euclid"),
]  # fmt: skip


def test_every_temperament_is_checked_against_a_source() -> None:
    """A new one needs its fraction and author in DESCRIBED, or its fifths in FIFTHS and its notes in CENTS."""
    assert set(MEANTONES) == {name for name, *_ in DESCRIBED}
    assert set(WELL_TEMPERAMENTS) == set(FIFTHS) == set(CENTS) | {"Young I"}


@pytest.mark.parametrize(("name", "fraction", "year", "author"), DESCRIBED)
def test_meantones_by_name(name: str, fraction: str, year: int, author: str) -> None:
    """Who described which, and when: from memory, but for Zarlino, Salinas and Aaron's words (many books)."""
    kind = MEANTONES[name]
    assert (kind.fraction, kind.year) == (Fraction(fraction), year)
    assert author in kind.source
    assert kind.chain.fifths == meantone_chain(fraction).fifths
    assert kind.chain.notes == meantone_chain(fraction).notes
    assert temperament(name.upper().replace("-", " ")) is kind


def test_zarlinos_thirds_are_equally_off_and_salinas_minor_thirds_are_pure() -> None:
    """Zarlino 1558: major and minor thirds narrow by a seventh of the comma; Salinas 1577; Rossi 1666 (from memory)."""
    c, c_minor = Note.named("C"), "minor"
    zarlino, salinas, rossi = (MEANTONES[name].chain for name in ("two-sevenths-comma", "third-comma", "fifth-comma"))
    assert zarlino.triad(c).third_error == pytest.approx(zarlino.triad(c, c_minor).third_error, abs=1e-9)
    assert zarlino.triad(c).third_error == pytest.approx(-SYNTONIC_COMMA.cents / 7, abs=1e-9)
    assert salinas.triad(c, c_minor).third_error == pytest.approx(0, abs=1e-9)
    assert rossi.triad(c).third_error == pytest.approx(-rossi.triad(c).fifth_error, abs=1e-9)


def test_every_temperament_has_its_date_and_source() -> None:
    for name, kind in {**MEANTONES, **WELL_TEMPERAMENTS}.items():
        assert kind.name == name
        assert str(abs(kind.year)) in kind.source or kind.source.startswith("Young, as above")
        assert len(kind.source) > 30
    years = [kind.year for kind in WELL_TEMPERAMENTS.values()]
    assert years == sorted(years), "well temperaments are in order of date"


def test_the_commas_are_what_fifths_and_thirds_make_them() -> None:
    """531441/524288 and 81/80; their difference, the skhisma, 32805/32768 (Ellis 1885, Appendix XX)."""
    assert PURE_FIFTH**12 / Interval.of(2) ** 7 == PYTHAGOREAN_COMMA
    assert PURE_FIFTH**4 / Interval.of(5) == SYNTONIC_COMMA
    assert (PYTHAGOREAN_COMMA / SYNTONIC_COMMA).ratio == Fraction(32805, 32768)
    assert PYTHAGOREAN_COMMA.cents == pytest.approx(1200 * math.log2(531441 / 524288), abs=1e-9)


def test_a_well_temperament_of_ones_own() -> None:
    mine = WellTemperament(
        "mine",
        {name: PYTHAGOREAN_COMMA ** Fraction(1, 12) for name in "Eb Bb F C G D A E B F# C#".split()},
        2024,
        "for this test",
    )
    np.testing.assert_allclose(mine.chain.tuning.cents, 100.0 * np.arange(12), atol=1e-9)


@pytest.mark.parametrize("lower", ["G♯", "A♭", "D♯", "Chb", "H", ""])
def test_a_fifth_that_is_not_on_the_keyboard_is_refused(lower: str) -> None:
    with pytest.raises(ValueError, match="E♭ to C♯|not a note's name"):
        WellTemperament("mine", {lower: PYTHAGOREAN_COMMA}, 2024, "for this test")


@pytest.mark.parametrize(
    ("name", "hint"),
    [("Werkmeister", "did you mean Werckmeister III"), ("Kirnberger", "did you mean Kirnberger III"),
     ("Bach", "known are: "),
     ("quarter comma", "known are: Werckmeister III"), ("", "known are: "), (None, "known are: "), (3, "known are: ")],
)  # fmt: skip
def test_an_unknown_well_temperament_is_refused_with_a_hint(name: object, hint: str) -> None:
    with pytest.raises(ValueError, match="no well temperament is called") as refused:
        well(name)  # type: ignore[arg-type]
    assert repr(name) in str(refused.value) and hint in str(refused.value)


def test_an_unknown_temperament_is_refused_with_a_hint() -> None:
    with pytest.raises(ValueError, match="no temperament is called 'quater comma'; did you mean quarter-comma"):
        temperament("quater comma")
