"""Symbols as people type them: read as players read them, or refused with what to type."""

from __future__ import annotations

import re

import pytest

from tunelib.harmony.chords import Chord
from tunelib.harmony.symbol_words import TYPE_INSTEAD

# How a chord is printed here, and how else it is typed (C. Brandt and C. Roemer, Standardized Chord Symbol Notation,
# 1976, from memory, for what they advise for and against; common practice).
TYPED = """
    Cmaj7       C∆7 C∆ CΔ7 CΔ C△7 C△ C^7 C^ CM7 CMaj7 CMAJ7 Cma7 CMa7 CMA7 Cmj7 Cj7 C7M C(maj7) Cmaj7
    Cmaj9       C∆9 C^9 CMA9 CM9 CMAJ9 C9(maj7) C7M(9) Cj9
    C           CM Cmaj CMa CMA CMAJ
    C6          C6 Cmaj6 CMA6
    C69         C6/9 C69 C6(9) C6add9
    Cadd9       C2 Cadd9 C(add9) Cadd2 CADD9 C(add2)
    Cm          Cm Cmi CMI Cmin CMIN C- C− C–
    Cm7         Cm7 CMI7 CMIN7 Cmin7 Cmi7 C-7 C−7 C–7 Cm⁷
    Cm9         Cm9 CMI9 C-9
    Cm11        Cm11 CMI11 C-11
    Cm6         Cm6 CMI6 C-6
    Cmadd9      Cmadd9 Cm2 Cm(add9) CMI(ADD9)
    Cm7b5       Cm7b5 Cø Cø7 CØ CØ7 Cm7-5 C-7b5 CMI7b5 CMI7(b5) Cm7(b5)
    Cmmaj7      Cmmaj7 CmM7 Cm(maj7) CMI(MA7) CMI(MAJ7) C-∆7 C-∆ C-^7 C-maj7 CminMaj7 Cm7M
    Cmmaj9      Cm9(maj7) Cm(maj9) Cm9(MA7) C-∆9
    Cmmaj11     Cm11(maj7)
    C7          C7 Cdom7 C⁷
    C9          C9 C7/9 Cdom9 C7(9) C7add9
    C13         C13 C9(13)
    C7b9        C7b9 C7-9 C7(b9) C7/b9 C7♭9 C7−9
    C7#9        C7#9 C7+9 C7(#9) C7/#9
    C7b9b13     C7b9b13 C7(b9,b13) C7(b9/b13) C7/b9/b13
    C7#11       C7#11 C7(#11) C7+11 C7/#11
    C7alt       C7alt Calt C7(alt) C7alt(b9) Calt(#9) C7alt(b13) C7altb9 C7alt(#11)
    C7#5b9#9#11  C7alt(#5) Calt(#5) C7alt(b9,#5)
    C7b5b9#9b13  C7alt(b5)
    Caug        Caug C+ C(#5) CAUG C(aug)
    C7#5        C7#5 C+7 C7+ Caug7 C7aug C7+5 C7(#5) CAUG7
    Cdim        Cdim Co C° CDIM Cº
    Cdim7       Cdim7 Co7 C°7 CDIM7 Cº7
    Csus4       Csus4 Csus CSUS CSUS4 C(sus4)
    C7sus4      C7sus4 C7sus Csus7 C7(sus4) C7SUS
    C9sus4      C9sus4 C9sus Csus9
    C13sus4     C13sus4 C13sus Csus13
    C7sus4b9    C7susb9 C7sus(b9) C7b9sus C7sus4(b9)
    Cmaj7#11    Cmaj7#11 Cmaj7(#11) C∆7#11 C^7(#11) CMA7+11
    C5          C5 C(no3) Cno3 Comit3 C(omit3) COMIT3
    C7no3       C7no3 C7(no3) C7(omit3) C7omit3
    C7no5       C7no5 C7omit5 C7(omit5)
    Cno5        Cno5 C(omit5)
"""
WAYS = [(line.split()[0], way) for line in TYPED.strip().splitlines() for way in line.split()[1:]]


@pytest.mark.parametrize(("printed", "typed"), WAYS)
def test_a_symbol_is_read_however_it_is_typed(printed: str, typed: str) -> None:
    """On C, and over another root and bass"""
    assert Chord.parse(typed).symbol == printed
    assert Chord.parse(f"F#{typed[1:]}/E").symbol == f"F#{Chord.parse(printed).symbol[1:]}/E"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("Ch7", "did you mean Cm7b5?"),
        ("C%7", "did you mean Cm7b5?"),
        ("C4", "did you mean Csus4 or Cadd11?"),
        ("C7/13", "not '13'; did you mean C13?"),
        ("Bb7/4", "not '4'; did you mean Bb7sus4?"),
        ("C7dim", "did you mean Cdim7?"),
        ("Cdom", "did you mean C7?"),
        ("Ephryg", "did you mean E7sus4b9?"),
        ("Clyd", "did you mean Cmaj7#11?"),
        ("Csus24", "did you mean Csus2sus4?"),
        ("Hm7", "H is the German name of B, so type Bm7; and Bb for what is B there"),
        ("bb7", "begins with a capital; did you mean Bb7?"),
        ("C7alt(13)", "did you mean C7alt?"),
        ("C7altsus", "did you mean C7alt?"),
        ("C7(maj7)", "cannot be read from character 4 on, 'maj7)'"),
        ("C∆7q", "'C∆7q' cannot be read from character 4 on, 'q'"),
        ("C7sus9", "cannot be read from character"),
    ],
)
def test_what_is_not_read_is_refused_with_what_to_type(typed: str, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        Chord.parse(typed)


def test_what_to_type_instead_is_read_and_what_it_is_for_is_not() -> None:
    for typed, instead in TYPE_INSTEAD.items():
        with pytest.raises(ValueError, match=re.escape(f"did you mean C{instead[0]}")):
            Chord.parse(f"C{typed}")
        for body in instead:
            assert Chord.parse(f"C{body}").symbol == f"C{body}"


def test_upper_and_lower_case_m_are_two_things() -> None:
    assert Chord.parse("CM7").symbol == "Cmaj7" and Chord.parse("Cm7").symbol == "Cm7"
    assert Chord.parse("CMI7").symbol == "Cm7" and Chord.parse("CMA7").symbol == "Cmaj7"
