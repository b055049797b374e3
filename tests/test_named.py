"""The table of named intervals against Ellis's, and against what the names say."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.pitch.intervals import prime_factors
from tunelib.pitch.lookup import folded
from tunelib.pitch.named import NAMED, NamedInterval, name_of, named_interval, nearest_named

# Helmholtz, On the Sensations of Tone, 2nd English edition 1885, Ellis's Appendix XX, section D: ratio, name, and size
# to the nearest cent (names from memory, a few of them common practice). Books print the Pythagorean comma as 24.
ELLIS = """
1/1 0 unison; 32805/32768 2 skhisma; 2048/2025 20 diaskhisma; 81/80 22 comma of Didymus; 531441/524288 23
Pythagorean comma; 64/63 27 septimal comma; 128/125 41 great diesis; 36/35 49 septimal quarter-tone; 648/625 63
greater diesis; 25/24 71 small semitone; 256/243 90 Pythagorean limma; 135/128 92 larger limma; 16/15 112 diatonic
semitone; 2187/2048 114 Pythagorean apotome; 27/25 133 great limma; 15/14 119 septimal semitone; 21/20 84 subminor
second; 10/9 182 minor tone; 9/8 204 major tone; 8/7 231 supersecond; 75/64 275 augmented tone; 7/6 267 subminor
third; 32/27 294 Pythagorean minor third; 6/5 316 just minor third; 11/9 347 neutral third; 5/4 386 just major third;
81/64 408 Pythagorean major third; 32/25 427 diminished fourth; 9/7 435 supermajor third; 4/3 498 fourth; 11/8 551
11th harmonic; 7/5 583 subminor fifth; 45/32 590 tritone; 64/45 610 diminished fifth; 10/7 617 septimal tritone; 3/2
702 fifth; 40/27 680 grave fifth; 25/16 773 augmented fifth; 14/9 765 subminor sixth; 8/5 814 minor sixth; 13/8 841
13th harmonic; 5/3 884 major sixth; 27/16 906 Pythagorean major sixth; 12/7 933 supermajor sixth; 7/4 969 natural
seventh; 16/9 996 Pythagorean minor seventh; 9/5 1018 acute minor seventh; 15/8 1088 just major seventh; 243/128 1110
Pythagorean major seventh; 2/1 1200 octave
"""
ELLIS_ROWS = [" ".join(row.split()).split(" ", 2) for row in ELLIS.strip().split(";")]


@pytest.mark.parametrize(("ratio", "whole_cents", "name"), ELLIS_ROWS)
def test_ellis_table_of_intervals(ratio: str, whole_cents: str, name: str) -> None:
    named = named_interval(name)
    assert (named.ratio, named.name) == (Fraction(ratio), name)
    assert round(named.cents) == int(whole_cents)


def stack(**powers: int) -> Fraction:
    """Steps up (and down, where negative) by pure intervals."""
    pure = {
        "octave": Fraction(2), "fifth": Fraction(3, 2), "third": Fraction(5, 4), "minor_third": Fraction(6, 5),
        "seventh": Fraction(7, 4), "tone": Fraction(9, 8), "septimal_tone": Fraction(8, 7), "twelfth": Fraction(3),
        "eleventh": Fraction(11, 8), "thirteenth": Fraction(13, 8), "fourth": Fraction(4, 3), "comma": Fraction(81, 80),
    }  # fmt: skip
    product = Fraction(1)
    for name, power in powers.items():
        product *= pure[name] ** power
    return product


DEFINITIONS = {  # what each is the difference of: common practice, and for the kleisma Tanaka 1890
    "comma of Didymus": stack(fifth=4, octave=-2, third=-1),
    "Pythagorean comma": stack(fifth=12, octave=-7),
    "skhisma": stack(fifth=8, third=1, octave=-5),
    "diaskhisma": stack(octave=3, fifth=-4, third=-2),
    "great diesis": stack(octave=1, third=-3),
    "greater diesis": stack(minor_third=4, octave=-1),
    "small diesis": stack(third=5, twelfth=-1),
    "kleisma": stack(twelfth=1, minor_third=-6),
    "Mercator's comma": stack(fifth=53, octave=-31),
    "semicomma": stack(third=7, fifth=3, octave=-4),
    "Pythagorean limma": stack(fourth=1, tone=-2),
    "Pythagorean apotome": stack(fifth=7, octave=-4),
    "larger limma": stack(tone=1, third=1, fourth=-1),
    "small semitone": stack(third=1, minor_third=-1),
    "diatonic semitone": stack(fourth=1, third=-1),
    "minor tone": stack(third=1, tone=-1),
    "septimal comma": stack(octave=2, fifth=-2, seventh=-1),
    "septimal quarter-tone": stack(minor_third=1, fifth=1, seventh=-1),
    "septimal diesis": stack(seventh=1, fifth=-1, septimal_tone=-1),
    "septimal sixth-tone": Fraction(10, 7) / Fraction(7, 5),
    "septimal kleisma": stack(third=2, tone=1, seventh=-1),
    "septimal semicomma": stack(fifth=2, seventh=1, third=-3, octave=-1),
    "fifth less three septimal tones": stack(fifth=1, septimal_tone=-3),
    "undecimal comma": stack(eleventh=1, fourth=-1),
    "difference of the neutral thirds": Fraction(27, 22) / Fraction(11, 9),
    "difference of the neutral seconds": Fraction(11, 10) / Fraction(12, 11),
    "tridecimal third-tone": Fraction(27, 16) / Fraction(13, 8),
    "wosta of Zalzal": stack(fifth=3, octave=-1, eleventh=-1),
}


@pytest.mark.parametrize("name", DEFINITIONS)
def test_a_name_means_what_the_trade_defines_it_to_be(name: str) -> None:
    assert named_interval(name).ratio == DEFINITIONS[name]


def test_the_skhisma_is_what_separates_the_two_great_commas() -> None:
    """Ellis 1885: Pythagorean comma less comma of Didymus; and the great diesis is three commas less the larger one."""
    didymus, pythagoras = named_interval("comma").ratio, named_interval("ditonic comma").ratio
    assert named_interval("skhisma").ratio == pythagoras / didymus
    assert named_interval("great diesis").ratio == didymus**3 / pythagoras


def test_three_commas_bound_a_block_of_thirty_one_notes() -> None:
    """Fokker 1955 (from memory): 81/80, 225/224 and 1029/1024, as steps along 3, 5 and 7, span a block of 31 notes."""
    rows = []
    for name in ("comma of Didymus", "septimal kleisma", "fifth less three septimal tones"):
        factors = prime_factors(named_interval(name).ratio)
        rows.append([factors.get(prime, 0) for prime in (3, 5, 7)])
    assert abs(round(float(np.linalg.det(rows)))) == 31


def test_every_name_is_unique_and_every_row_complete() -> None:
    names = [folded(name) for named in NAMED for name in (named.name, *named.other_names)]
    assert len(names) == len(set(names))
    assert len({named.ratio for named in NAMED}) == len(NAMED)
    for named in NAMED:
        assert isinstance(named.ratio, Fraction)
        assert named.ratio >= 1
        assert named.name == named.name.strip() != ""
        assert all(named.other_names)
        assert len(named.source) > len("from memory")


def test_the_table_ascends_and_commas_are_smaller_than_the_small_semitone() -> None:
    assert [named.ratio for named in NAMED] == sorted(named.ratio for named in NAMED)
    for named in NAMED:
        assert named.kind == ("comma" if 1 < named.ratio < Fraction(25, 24) else "interval"), named


def test_every_interval_of_thirty_one_steps_has_a_name_within_half_a_step() -> None:
    """From two steps (the small semitone) to twenty-nine (the supermajor seventh); one step is a diesis."""
    for step in range(2, 30):
        _, error = nearest_named(1200 * step / 31)
        assert abs(error) < 600 / 31
    named, error = nearest_named(1200 / 31, "comma")
    assert (named.name, round(error, 4)) == ("great diesis", 2.3492)


@pytest.mark.parametrize("named", NAMED, ids=lambda named: named.name)
def test_each_is_found_by_every_name_and_by_its_ratio(named: NamedInterval) -> None:
    for name in (named.name, *named.other_names):
        assert named_interval(name) is named
        assert named_interval(f"  {name.upper().replace('-', ' ')} ") is named
    assert name_of(named.ratio) == named.name
    assert name_of(1 / named.ratio) == named.name
    assert nearest_named(named.cents, named.kind) == (named, 0.0)


@given(st.floats(0, 3600), st.sampled_from(["interval", "comma"]))
def test_no_other_name_is_nearer(cents: float, kind: str) -> None:
    named, error = nearest_named(cents, kind)  # type: ignore[arg-type]
    assert named.kind == kind
    assert error == pytest.approx(named.cents - cents, abs=1e-9)
    assert abs(error) <= min(abs(other.cents - cents) for other in NAMED if other.kind == kind)


@given(st.fractions(min_value=Fraction(1, 9), max_value=9, max_denominator=1000))
def test_a_ratio_without_a_name_gives_none(ratio: Fraction) -> None:
    known = {named.ratio for named in NAMED}
    assert (name_of(ratio) is None) == (max(ratio, 1 / ratio) not in known)


@pytest.mark.parametrize(
    ("typed", "suggested"),
    [("syntonic coma", "comma of Didymus"), ("pythagorian comma", "Pythagorean comma"),
     ("nuetral third", "neutral third"), ("zzzz", "unison"), ("", "unison"), (7, "unison"), (None, "unison")],
)  # fmt: skip
def test_an_unknown_name_is_answered_with_near_ones(typed: object, suggested: str) -> None:
    with pytest.raises(ValueError, match="no interval is called") as refused:
        named_interval(typed)  # type: ignore[arg-type]
    assert repr(typed) in str(refused.value)
    assert suggested in str(refused.value)


@pytest.mark.parametrize(
    ("cents", "kind", "named"),
    [(-1.0, "interval", "-1.0"), (float("nan"), "interval", "nan"), ("702", "interval", "'702'"),
     ([1, 2], "comma", "[1, 2]"), (702, "chord", "'chord'")],
)  # fmt: skip
def test_what_has_no_size_has_no_nearest_name(cents: object, kind: str, named: str) -> None:
    with pytest.raises(ValueError, match="cents|kind") as refused:
        nearest_named(cents, kind)  # type: ignore[arg-type]
    assert named in str(refused.value)


@pytest.mark.parametrize("bad", [1.5, 0, -1, "0/3", None, "fifth"])
def test_only_an_exact_ratio_is_named(bad: object) -> None:
    with pytest.raises(ValueError, match="ratio") as refused:
        name_of(bad)  # type: ignore[arg-type]
    assert str(bad).split("/")[0] in str(refused.value)
