"""Symbols with marks: what was written is printed where our words would be long, with the cents of what is retuned."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.export.chord_symbols import marked_symbol, printed_symbol
from tunelib.harmony.chords import Chord
from tunelib.harmony.symbol_words import WORDS
from tunelib.pitch.tunings import THIRTY_ONE, equal

# Cents: steps of 1200/31 less the semitones of a piano.
MARKED = [
    ("C7", "Charm7", "Charm7", ""),
    ("C9", "Charm9", "Charm9", ""),
    ("Cm7", "Cm7", "Cm7", ""),
    ("C", "Csup", "Csup", ""),
    ("C7#11", "C7h#11", "C7½♯11", ""),
    ("Charm7", "Charm7", "Charm7", ""),
    ("F7alt", "F7alt", "F7alt", ""),
    ("F7alt", "Fharm7no5b9#9#11b13", "F7alt", "7 −32"),
    ("F7no5b9b10#11b13", "Fharm7no5b9b10#11b13", "F7alt", "7 −32 ♯9 +10"),
    ("D7b10", "D7b10", "D7♯9", "♯9 +10"),
    ("D7#9", "Dharm7b10", "D7♯9", "7 −32 ♯9 +10"),
    ("F7alt/A", "Fharm7no5b9#9h#11b13/A", "F7alt/A", "7 −32 ♯11 −58"),
    ("Cm7", "Csubharm7", "Cm7", "3 −29 7 −32"),
    ("C7#5", "C7no5b13", "C7♯5", "♯5 +13"),
    ("Cdim7", "Cm6b5", "Cdim7", "7 −10"),
    ("B7#11", "Cbharm7h#11", "C♭7♯11", "7 −32 ♯11 −58"),
]


@pytest.mark.parametrize(("written", "tuned", "symbol", "mark"), MARKED)
def test_a_symbol_is_in_our_words_or_as_written_with_a_mark(written: str, tuned: str, symbol: str, mark: str) -> None:
    assert marked_symbol(Chord.parse(written), Chord.parse(tuned), THIRTY_ONE) == (symbol, mark)


def test_the_cents_of_a_mark_are_those_of_the_tuning() -> None:
    """7/4 is step 33 of 41 and 44 of 55: 966 and 960 cents"""
    written, tuned = Chord.parse("F7alt"), Chord.parse("Fharm7no5b9#9#11b13")
    assert marked_symbol(written, tuned, equal(41))[1] == "7 −34"
    assert marked_symbol(written, tuned, equal(55))[1] == "7 −40"


BODIES = st.sampled_from(["", *(body for body in WORDS.usual if body[0] not in "#bh")])


@given(BODIES, BODIES)
def test_symbols_stay_short_and_every_difference_is_said(one: str, other: str) -> None:
    written, tuned = Chord.parse(f"G{one}"), Chord.parse(f"G{other}")
    symbol, mark = marked_symbol(written, tuned, THIRTY_ONE)
    assert len(symbol) <= len(printed_symbol(written)) + 4
    if mark:
        assert symbol == printed_symbol(written)
        assert re.fullmatch(r"(?:[½♯♭]*\d+ (?:[+−]\d+|0) ?)+", mark)
        assert len(mark.split()) == 2 * len(set(tuned.intervals) - set(written.intervals))
    elif symbol != printed_symbol(tuned):
        assert set(tuned.intervals) < set(written.intervals)  # it only lacks a note
