"""The table of words for chords: one entry is a new word; the page of the grammar has them all; common names stay."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, islice

import pytest
from test_chords import GRAMMAR

import tunelib.harmony.chords as chords
import tunelib.harmony.symbols as symbols
from tunelib.harmony.chords import Chord
from tunelib.harmony.symbol_words import (
    ALTERED_WORDS,
    BESIDE,
    HALF_DIMINISHED,
    IN_PLACE_OF_7,
    PRINTED_SIGNS,
    SHORTHAND,
    SIXTH_AND_NINTH,
    SIXTHS,
    SUSPENDED,
    SUSPENSIONS,
    WITHOUT,
    WORDS,
    WRITTEN_LOW,
    Triad,
    Word,
)
from tunelib.harmony.symbols import has_word, read_symbol, symbol_body
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE, equal

C = Note.named("C")


def free(words: tuple[Word, ...], first: int) -> list[int]:
    """Half-sharps from some number up that have no word yet, whatever has been added to the table."""
    taken = {word.half_sharps for word in words}
    return [half_sharps for half_sharps in range(first, first + 20) if half_sharps not in taken]


THIRD, *_, FAR_THIRD = free(WORDS.thirds, 2)
SEVENTH, *_, FAR_SEVENTH = free(WORDS.sevenths, 2)
SIGN, *_ = free(WORDS.signs, 5)

# Steps above the root in 31 and in 12 equal steps, and what a jazz player calls them (common practice), by hand:
# in 31 a major second is 5, a minor third 8, a major third 10, a fourth 13, a fifth 18, a sixth 23, a minor seventh 26,
# a major one 28, the harmonic one 25; a sharp or flat is 2, and half of one is 1.
NAMES = """
    0 10 18            0 4 7             C            0 8 18             0 3 7             Cm
    0 8 16             0 3 6             Cdim         0 10 20            0 4 8             Caug
    0 13 18            0 5 7             Csus4        0 5 18             0 2 7             Csus2
    0 18               0 7               C5           0 10 16            0 4 6             C(b5)
    0 10 18 23         0 4 7 9           C6           0 8 18 23          0 3 7 9           Cm6
    0 10 18 23 36      0 4 7 9 14        C69          0 8 18 23 36       0 3 7 9 14        Cm69
    0 10 18 36         0 4 7 14          Cadd9        0 8 18 36          0 3 7 14          Cmadd9
    0 10 18 26         0 4 7 10          C7           0 8 18 26          0 3 7 10          Cm7
    0 10 18 28         0 4 7 11          Cmaj7        0 8 18 28          0 3 7 11          Cmmaj7
    0 8 16 26          0 3 6 10          Cm7b5        0 8 16 24          0 3 6 9           Cdim7
    0 10 20 28         0 4 8 11          Cmaj7#5      0 10 20 26         0 4 8 10          C7#5
    0 10 16 26         0 4 6 10          C7b5         0 10 16 28         0 4 6 11          Cmaj7b5
    0 13 18 26         0 5 7 10          C7sus4       0 5 18 26          0 2 7 10          C7sus2
    0 13 18 28         0 5 7 11          Cmaj7sus4    0 8 16 28          0 3 6 11          Cmmaj7b5
    0 10 18 26 36      0 4 7 10 14       C9           0 8 18 26 36       0 3 7 10 14       Cm9
    0 10 18 28 36      0 4 7 11 14       Cmaj9        0 8 18 28 36       0 3 7 11 14       Cmmaj9
    0 13 18 26 36      0 5 7 10 14       C9sus4       0 8 16 26 36       0 3 6 10 14       Cm9b5
    0 10 20 26 36      0 4 8 10 14       C9#5         0 10 16 26 36      0 4 6 10 14       C9b5
    0 10 18 26 34      0 4 7 10 13       C7b9         0 10 18 26 38      0 4 7 10 15       C7#9
    0 10 20 26 34      0 4 8 10 13       C7#5b9       0 10 20 26 38      0 4 8 10 15       C7#5#9
    0 10 16 26 34      0 4 6 10 13       C7b5b9       0 13 18 26 34      0 5 7 10 13       C7sus4b9
    0 10 18 26 34 38   0 4 7 10 13 15    C7b9#9       0 10 18 26 46      0 4 7 10 18       C7#11
    0 10 18 28 46      0 4 7 11 18       Cmaj7#11     0 10 18 26 36 46   0 4 7 10 14 18    C9#11
    0 10 18 28 36 46   0 4 7 11 14 18    Cmaj9#11     0 8 18 26 36 44    0 3 7 10 14 17    Cm11
    0 10 18 26 36 44   0 4 7 10 14 17    C11          0 8 16 26 36 44    0 3 6 10 14 17    Cm11b5
    0 10 18 26 36 54   0 4 7 10 14 21    C13          0 8 18 26 36 54    0 3 7 10 14 21    Cm13
    0 10 18 28 36 54   0 4 7 11 14 21    Cmaj13       0 13 18 26 36 54   0 5 7 10 14 21    C13sus4
    0 10 18 26 34 54   0 4 7 10 13 21    C13b9        0 10 18 26 38 54   0 4 7 10 15 21    C13#9
    0 10 18 26 36 46 54  0 4 7 10 14 18 21  C13#11    0 10 18 28 36 46 54  0 4 7 11 14 18 21  Cmaj13#11
    0 10 18 26 52      0 4 7 10 20       C7b13        0 10 18 26 34 52   0 4 7 10 13 20    C7b9b13
    0 10 18 26 36 52   0 4 7 10 14 20    C9b13        0 10 26 34 38 46 52  0 4 10 13 15 18 20  C7alt
    0 10 26            0 4 10            C7no5        0 8 26             0 3 10            Cm7no5
"""
FAMILIES = """
    0 7 18          Csub         0 9 18             Cneu          0 11 18            Csup
    0 10 18 25      Charm7       0 10 18 27         Cmid7         0 10 18 29         Cwide7
    0 7 18 25       Csubharm7    0 9 18 27          Cneumid7      0 9 18 26          Cneu7
    0 8 18 25       Cmharm7      0 11 18 26         Csup7         0 8 16 25          Cmharm7b5
    0 10 18 25 36   Charm9       0 7 18 25 36       Csubharm9     0 10 18 25 36 45   Charm9h#11
    0 10 18 26 45   C7h#11       0 10 18 25 34      Charm7b9      0 10 18 25 36 54   Charm13
    0 13 18 25      Charm7sus4   0 7 15 25          Csubharm7bhb5 0 10 18 25 33      Charm7bhb9
    0 9 18 27 36    Cneumid9     0 9 18 23          Cneu6         0 10 18 28 45      Cmaj7h#11
"""


def names() -> Iterator[tuple[int, tuple[int, ...], str]]:
    """Each division, steps and symbol of the two tables."""
    for in_31, in_12, symbol in re.findall(r"(0(?: \d+)+) +(0(?: \d+)+) +(C\S*)", NAMES):
        yield 31, tuple(map(int, in_31.split())), symbol
        yield 12, tuple(map(int, in_12.split())), symbol
    for steps, symbol in re.findall(r"(0(?: \d+)+) +(C\S+)", FAMILIES):
        yield 31, tuple(map(int, steps.split())), symbol


def test_common_step_sets_have_the_names_that_players_give_them() -> None:
    found = list(names())
    assert len({symbol for _, _, symbol in found}) == NAMES.count("C") + FAMILIES.count("C") > 80
    wrong = {}
    for division, steps, symbol in found:
        assert Chord.parse(symbol).steps(equal(division)) == steps, symbol
        named = Chord.from_steps(C, steps, equal(division)).symbol
        if named != symbol:
            wrong[division, steps] = symbol, named
    assert not wrong


def widen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put three words more into the table: a third and a seventh of no family, and a sign beyond two sharps."""
    more = replace(
        WORDS,
        thirds=(*WORDS.thirds, Word("ultra", THIRD, ("ult",))),
        sevenths=(*WORDS.sevenths, Word("vast", SEVENTH)),
        signs=(*WORDS.signs, Word("w", SIGN)),
    )
    monkeypatch.setattr(symbols, "WORDS", more)


@pytest.fixture
def wider(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The wider table, and nothing of it kept when it has gone."""
    widen(monkeypatch)
    yield
    chords._parsed.cache_clear()


@pytest.mark.usefixtures("wider")
@pytest.mark.parametrize(
    ("written", "printed", "degrees"),
    [
        ("ultra", "ultra", {(3, THIRD), (5, 0)}),
        ("ult7", "ultra7", {(3, THIRD), (5, 0), (7, -2)}),
        ("ultramaj9#11", "ultramaj9#11", {(3, THIRD), (5, 0), (7, 0), (9, 0), (11, 2)}),
        ("vast7", "vast7", {(3, 0), (5, 0), (7, SEVENTH)}),
        ("m(vast7)", "mvast7", {(3, -2), (5, 0), (7, SEVENTH)}),
        ("vast9sus4", "vast9sus4", {(4, 0), (5, 0), (7, SEVENTH), (9, 0)}),
        ("ultravast13", "ultravast13", {(3, THIRD), (5, 0), (7, SEVENTH), (9, 0), (13, 0)}),
        ("7w9", "7w9", {(3, 0), (5, 0), (7, -2), (9, SIGN)}),
        ("w5", "w5", {(3, 0), (5, SIGN)}),
        ("susw4addw13", "susw4addw13", {(4, SIGN), (5, 0), (13, SIGN)}),
    ],
)
def test_a_word_in_the_table_is_read_and_printed(written: str, printed: str, degrees: set[tuple[int, int]]) -> None:
    chord = Chord.parse(f"C{written}/E")
    assert chord.degrees == {(1, 0), *degrees}
    assert chord.symbol == f"C{printed}/E"
    assert Chord.parse(chord.symbol) == chord
    assert all(has_word(degree) for degree in degrees)


@pytest.mark.usefixtures("wider")
@pytest.mark.parametrize(
    ("typo", "hint"),
    [
        ("Cultrra7", "did you mean Cultra7?"),
        ("Cvats7", "did you mean Cvast7?"),
        ("Cultraz", "did you mean Cultra?"),
        ("C7w12", "did you mean C7w13?"),
    ],
)
def test_a_word_in_the_table_is_proposed(typo: str, hint: str) -> None:
    with pytest.raises(ValueError, match=re.escape(hint)):
        read_symbol(typo)


@pytest.mark.usefixtures("wider")
def test_a_word_in_the_table_is_told_where_a_chord_has_no_symbol() -> None:
    with pytest.raises(ValueError, match=r"its third is none of the major, m, sub, neu, sup\b.* and ultra$"):
        symbol_body(frozenset({(1, 0), (3, FAR_THIRD)}))
    with pytest.raises(ValueError, match=r"its seventh is none of 7, maj7, harm7, mid7, wide7, dim7\b.* and vast7$"):
        symbol_body(frozenset({(1, 0), (7, FAR_SEVENTH)}))


def test_no_chord_is_renamed_by_a_new_word(monkeypatch: pytest.MonkeyPatch) -> None:
    """No symbol that is written today, and no name of any two or three notes, changes with three words more"""
    steps = [(0, *others) for count in (1, 2) for others in combinations(range(1, 31), count)]
    before = {some: name for some in steps if (name := named(some))}
    widen(monkeypatch)
    for body, degrees in islice(GRAMMAR.items(), 0, None, 5):
        assert symbol_body(degrees) == body
        assert read_symbol(f"C{body}")[1] == degrees
    assert len(before) > 400 and {some: named(some) for some in before} == before
    for division, some, symbol in names():
        assert Chord.from_steps(C, some, equal(division)).symbol == symbol


def named(steps: tuple[int, ...]) -> str | None:
    """What a chord of steps of 31 is called; None where it has no symbol."""
    try:
        return Chord.from_steps(C, steps, THIRTY_ONE).symbol
    except ValueError:
        return None


@pytest.mark.parametrize(
    ("family", "word", "message"),
    [
        ("thirds", Word("ultra", 1), "the third of 1 half-sharps is in the table twice, as 'sup' and 'ultra'"),
        ("thirds", Word("mi", THIRD), "the word 'mi' is in the table twice, as 'm' and 'mi'"),
        ("thirds", Word("ultra", THIRD, ("aug",)), "the word 'aug' is in the table twice, as 'ultra' and 'aug'"),
        ("sevenths", Word("septimal", -3), "the seventh of -3 half-sharps is in the table twice, as 'harm' and"),
        ("thirds", Word("big", THIRD), "the word 'big' begins like an accidental: Cbig would be read as Cb"),
        ("sevenths", Word("vast", SEVENTH, ("h#",)), "the word 'h#' begins like an accidental"),
        ("signs", Word("##", 4), "the sign of 4 half-sharps is in the table twice, as 'x' and '##'"),
    ],
)
def test_a_table_that_cannot_be_read_one_way_alone_is_refused(family: str, word: Word, message: str) -> None:
    """A word or a meaning that comes twice would rename chords, and a root would swallow the b of a word"""
    with pytest.raises(ValueError, match=re.escape(message)):
        replace(WORDS, **{family: (*getattr(WORDS, family), word)})


PAGE = symbols.__doc__ or ""


def test_every_word_of_the_table_is_on_the_page_of_the_grammar() -> None:
    """Plain words among the lines of the grammar, other spellings under "Also read\""""
    grammar, also = PAGE.split("Also read")
    printed = set(re.split(r'[\s,;:"()]+', grammar))
    spelled = set(re.split(r"[\s,;()]+", also))
    thirds = {word.printed for word in (*WORDS.thirds, *WORDS.triads)} - {""}
    sevenths = {f"{word.printed}7" for word in WORDS.sevenths}
    numbers = {str(number) for number in IN_PLACE_OF_7} | set(SIXTHS)
    suspensions = {f"{SUSPENDED}{number}" for number in SUSPENSIONS}
    missing = (thirds | sevenths | numbers | suspensions | {ALTERED_WORDS[0]}) - printed
    assert not missing, f"among the lines of the grammar at the head of symbols.py: {sorted(missing)}"
    assert any(word.startswith(BESIDE) for word in printed) and any(word.startswith(WITHOUT) for word in printed)
    for word in WORDS.signs:
        found = any(re.fullmatch(rf"{re.escape(word.printed)}\d*", one) for one in printed)
        assert found, f"among the lines of the grammar at the head of symbols.py: {word.printed}"
    signs = {*PRINTED_SIGNS, *PRINTED_SIGNS.values()}
    thirds_also = {way for word in (*WORDS.thirds, *WORDS.triads) for way in word.also}
    sevenths_also = {f"{way}7" for word in WORDS.sevenths for way in word.also}
    others = {HALF_DIMINISHED, SUSPENDED, SIXTH_AND_NINTH, "alt", *SHORTHAND}
    low = {f"{BESIDE}{number}" for number in WRITTEN_LOW if number == 2} | {"#4"}
    missing = (signs | thirds_also | sevenths_also | others | low) - spelled
    assert not missing, f'under "Also read" at the head of symbols.py: {sorted(missing)}'


def test_the_page_of_the_grammar_says_nothing_that_is_not_so() -> None:
    """Every word under "Also read" is read as the plain one beside it, and printed as that"""
    lines = re.findall(r"^    for (\S+) +(.+)$", PAGE, re.MULTILINE)
    assert len(lines) == 12 + sum(bool(word.also) for word in (*WORDS.thirds, *WORDS.triads, *WORDS.sevenths)) >= 11
    for plain, ways in lines:
        if plain not in ("signs", "add9"):
            for way in ways.removesuffix(", which is also #5").split(", "):
                plain = "" if plain == "major" else plain
                assert Chord.parse(f"C{way}").symbol == f"C{plain}", way
    for way, plain in {
        "7♯9": "7#9",
        "7♭9": "7b9",
        "7½♯11": "7h#11",
        "7𝄪11": "7x11",
        "7+9": "7#9",
        "7-9": "7b9",
    }.items():
        assert Chord.parse(f"C{way}").symbol == f"C{plain}"
    assert Chord.parse("Cadd2").symbol == "Cadd9" and Chord.parse("C7#4").symbol == "C7#11"
    third, seventh = (re.search(rf"^    {row} +(.+)$", PAGE, re.MULTILINE)[1] for row in ("third", "seventh"))  # type: ignore[index]
    for word in re.findall(r"(\w+) \w+;", third + ";")[1:5]:
        assert Chord.parse(f"C{word}").symbol == f"C{word}"
    for word in re.findall(r"(\w*7|\b6|\b69)\b", seventh):
        assert Chord.parse(f"Cm{word}").degrees, word


def test_what_is_proposed_and_shown_as_an_example_can_be_read_and_prints_as_it_is() -> None:
    for body in (*WORDS.usual, *WORDS.rare):
        assert Chord.parse(f"C{body}").symbol == f"C{body}"
    for symbol in re.findall(r"C\S*\b", WORDS.examples):
        assert Chord.parse(symbol).symbol == symbol


def test_a_half_diminished_chord_has_one_seventh() -> None:
    with pytest.raises(ValueError, match=r"'Cømaj7' cannot be read from character 3 on, 'maj7'"):
        Chord.parse("Cømaj7")


def test_a_triad_has_one_word() -> None:
    """A third and its fifth are said together where a word says both (common practice)"""
    for triad in (Triad("dim", -2, -2, -4), Triad("aug", 0, 2), Triad("5", None, 0)):
        thirds = set() if triad.third is None else {(3, triad.third)}
        assert symbol_body(frozenset({(1, 0), (5, triad.fifth), *thirds})) == triad.printed
