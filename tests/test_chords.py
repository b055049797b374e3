"""Chords and their symbols: the whole grammar there and back, against music21, and nonsense refused."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21.harmony import ChordSymbol

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import interval_of
from tunelib.harmony.symbols import Degree, read_symbol
from tunelib.pitch.notes import LETTERS, Note
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.tunings import THIRTY_ONE, equal, just

C = Note.named("C")

# The pieces of a symbol in the order in which they are printed, and the degrees that each stands for.
THIRDS: dict[str, set[Degree]] = {
    "": {(3, 0)}, "m": {(3, -2)}, "sub": {(3, -3)}, "neu": {(3, -1)}, "sup": {(3, 1)},
}  # fmt: skip
SUSPENSIONS: dict[str, set[Degree]] = {
    "": set(), "sus4": {(4, 0)}, "sus2": {(2, 0)}, "susb2": {(2, -2)}, "sus#4": {(4, 2)}, "sush#4": {(4, 1)},
    "sus2sus4": {(2, 0), (4, 0)},
}  # fmt: skip
SEVENTHS = {"": -2, "maj": 0, "harm": -3, "mid": -1, "wide": 1}
PLAIN = {"7": (), "9": (9,), "11": (9, 11), "13": (9, 13)}  # what the number in the place of 7 adds
FIFTHS = {"": 0, "bhb5": -3, "b5": -2, "hb5": -1, "h#5": 1, "#5": 2, "no5": None}
ALTERATIONS = (
    {"": (), "b9": (-2,), "hb9": (-1,), "h#9": (1,), "#9": (2,), "b9#9": (-2, 2)},
    {"": (), "h#11": (1,), "#11": (2,)},
    {"": (), "b13": (-2,), "hb13": (-1,)},
)


def grammar() -> Iterator[tuple[str, frozenset[Degree]]]:
    """Every chord made of these pieces: what comes after the root, as it is printed, and its degrees."""
    yield "dim", frozenset({(1, 0), (3, -2), (5, -2)})
    yield "dim7", frozenset({(1, 0), (3, -2), (5, -2), (7, -4)})
    yield "aug", frozenset({(1, 0), (3, 0), (5, 2)})
    yield "5", frozenset({(1, 0), (5, 0)})
    yield "7alt", frozenset({(1, 0), (3, 0), (7, -2), (9, -2), (9, 2), (11, 2), (13, -2)})
    for third, suspension, fifth, signs in product(THIRDS, SUSPENSIONS, FIFTHS, product(*ALTERATIONS)):
        if third and suspension:
            continue
        triad = {(1, 0), *(SUSPENSIONS[suspension] or THIRDS[third])}
        if FIFTHS[fifth] is not None:
            triad.add((5, FIFTHS[fifth]))
        altered = {
            (number, offset)
            for number, known, sign in zip((9, 11, 13), ALTERATIONS, signs, strict=True)
            for offset in known[sign]
        }
        for word, number in product(SEVENTHS, PLAIN):
            plain = {(n, 0) for n in PLAIN[number] if not any(n == other for other, _ in altered)}
            if (int(number), 0) in plain or number == "7":  # an altered 9 stands behind a 7, and so on
                yield (
                    f"{third}{word}{number}{suspension}{fifth}{''.join(signs)}",
                    frozenset({*triad, (7, SEVENTHS[word]), *plain, *altered}),
                )
        added = "".join(f"add{sign}" for sign in signs if sign).replace("b9#9", "b9add#9")
        for sixth, degrees in {"6": {(6, 0)}, "69": {(6, 0), (9, 0)}}.items():
            yield f"{third}{sixth}{suspension}{fifth}{added}", frozenset({*triad, *degrees, *altered})
        if (f"{third}{suspension}", fifth) not in (("m", "b5"), ("", "#5")):  # which are dim and aug
            bracketed = fifth and fifth != "no5" and not third and not suspension  # as it would belong to the root
            yield (
                f"{third}{suspension}{f'({fifth})' if bracketed else fifth}{added}",
                frozenset({*triad, *altered}),
            )


GRAMMAR = {body: degrees for body, degrees in grammar() if body != "7no5b9#9#11b13"}  # which is a 7alt


def test_every_symbol_of_the_grammar_stands_for_its_degrees_and_prints_back_the_same() -> None:
    assert len(GRAMMAR) > 50_000
    for body, degrees in GRAMMAR.items():
        chord = Chord.parse(f"C{body}")
        assert chord.degrees == degrees, body
        assert chord.symbol == f"C{body}"


def test_two_chords_never_share_a_symbol_and_no_chord_has_two() -> None:
    assert len(set(GRAMMAR.values())) == len(GRAMMAR)


def test_the_degrees_of_every_symbol_make_its_notes() -> None:
    """A degree is so many letters from the root, and so many half-sharps from the major scale (common practice)."""
    scale = {"C": 0, "D": 4, "E": 8, "F": 10, "G": 14, "A": 18, "B": 22}  # quarter-tones of C major
    for body in list(GRAMMAR)[::97]:
        chord = Chord.parse(f"C{body}")
        for (number, offset), note in zip(sorted(chord.degrees), sorted(chord.notes, key=by_letter), strict=True):
            octave, letter = divmod(number - 1, 7)
            assert (note.letter, note.half_sharps, note.octave) == (LETTERS[letter], offset, 4 + octave)
            assert note.quartertones == 96 + 24 * octave + scale[LETTERS[letter]] + offset


def by_letter(note: Note) -> tuple[int, int]:
    return note.diatonic, note.half_sharps


@pytest.mark.parametrize("accidental", ["", "#", "b", "h#", "hb", "#h#", "bhb", "x", "bb"])
def test_every_root_and_every_bass_print_back_the_same(accidental: str) -> None:
    for letter, body in product(LETTERS, ("", "(b5)", "(h#5)", "5", "m7", "harm9h#11", "69", "7b9", "sub", "add9")):
        name = f"{letter}{accidental}"
        bass = "F" if name != "F" else "G"
        assert Chord.parse(f"{name}{body}").symbol == f"{name}{body}"
        assert Chord.parse(f"{name}{body}/{bass}").symbol == f"{name}{body}/{bass}"
        assert Chord.parse(f"{bass}{body}/{name}").symbol == f"{bass}{body}/{name}"
        assert Chord.parse(f"{name}{body}/{name}").symbol == f"{name}{body}"


# The same chord in other hands (common practice of lead sheets), and how it is printed here.
SYNONYMS = {
    "C": "CM|Cmaj|CMaj|Cma",
    "C13b9": "C13(b9)|C7b9add13|C7b9(13)",
    "C5": "Cno3",
    "C5add9": "Cadd9no3",
    "C6": "Cadd6|Cmaj6|CM6",
    "C69": "C6/9|C6add9|C6(9)",
    "C69/E": "C6/9/E|C69 / E",
    "C7#5": "C+7|Caug7|C7+|C7+5|C7(♯5)",
    "C7add13": "C7(13)|C13no9",
    "C7alt": "Calt|C7(alt)",
    "C7b9#11": "C7(b9,#11)|C7(b9 #11)|C7 b9 #11|C7#11b9|C7♭9♯11|C7-9+11|C7b9#4",
    "C7h#11": "C7½♯11|C7(½#11)",
    "C7sus4": "C7sus|C7(sus4)",
    "C7sus4b9": "C7b9sus|C7sus(b9)|C7(b9)sus4",
    "Cadd9": "Cadd2|C(add9)|C(9)",
    "Caug": "C+|C(#5)",
    "Cdim": "C°|Co|Cm(b5)|Cmb5",
    "Cdim7": "C°7|Co7",
    "Cdim9": "C°9|Cdim7add9",
    "Cm": "C-|Cmin|Cmi",
    "Cm6": "C-6|Cmin6",
    "Cm7": "C-7|Cmin7|CMin7|Cmi7",
    "Cm7b5": "Cø|Cø7|Cm7(b5)|C-7b5|Cm7-5|Cmin7♭5",
    "Cm9b5": "Cø9",
    "Cmaj7": "CM7|CMaj7|Cma7|CMa7|CΔ|CΔ7|C△7|C(maj7)|C(Δ)",
    "Cmaj7#11": "Cmaj7#4|CΔ(#11)",
    "Cmaj7#5": "C+maj7|CaugM7|CΔ#5",
    "Cmaj9": "CM9|Cma9|CΔ9",
    "Cmmaj7": "CmM7|C-Δ|Cm(maj7)|Cminmaj7|C-maj7|CmΔ7|Cm(Δ7)|Cmaddmaj7",
    "Csus4": "Csus|C(sus4)|C(sus)",
    "Ehbneu": "E½♭neu",
    "F#m7": "F♯m7|F♯-7| F#m7 ",
}


@pytest.mark.parametrize("printed", SYNONYMS)
def test_what_other_hands_write_is_printed_in_one_way(printed: str) -> None:
    for other in SYNONYMS[printed].split("|"):
        assert Chord.parse(other).symbol == printed, other


def test_the_eight_signs_move_by_half_sharps() -> None:
    signs = {"bb": -4, "bhb": -3, "b": -2, "hb": -1, "h#": 1, "#": 2, "#h#": 3, "x": 4}
    for sign, half_sharps in signs.items():
        chord = Chord.parse(f"C7{sign}11")
        assert (11, half_sharps) in chord.degrees
        assert chord.symbol == f"C7{sign}11"
        assert chord.notes[-1] == Note("F", half_sharps, 5)


@pytest.mark.parametrize(
    ("symbol", "says"),
    [
        ("Cmajk7", "'Cmajk7' cannot be read from character 5 on, 'k7'; did you mean Cmaj7?"),
        ("Chrm7", "'Chrm7' cannot be read from character 2 on, 'hrm7'; did you mean Charm7?"),
        ("Ebsuss4", "'Ebsuss4' cannot be read from character 6 on, 's4'; did you mean Ebsus4?"),
        ("  F#m7z", "'  F#m7z' cannot be read from character 7 on, 'z'; did you mean F#m7?"),
        ("C7b12", "'C7b12' cannot be read from character 3 on, 'b12'; did you mean C7b13?"),
        ("Cm7add3", "'Cm7add3' cannot be read from character 4 on, 'add3'; did you mean Cmadd9?"),
        ("C7no9", "'C7no9' cannot be read from character 3 on, 'no9'; did you mean C7no5?"),
        ("C7(b9", "'C7(b9' cannot be read from character 3 on, '(b9'; did you mean C7b9?"),
        ("C7b9)", "'C7b9)' cannot be read from character 5 on, ')'; did you mean C7b9?"),
        ("Cwhat", "'Cwhat' cannot be read from character 2 on, 'what'; did you mean C"),
        ("C&%$", "cannot be read from character 2 on, '&%$'; a symbol is built like Cm7, Cneu, C7b9 or Cmaj7/E"),
        ("Cm7/H", "'Cm7/H' cannot be read from character 5 on: after the slash comes a bass note, as in C/E, not 'H'"),
        ("C/", "'C/' cannot be read from character 3 on: after the slash comes a bass note, as in C/E, not nothing"),
        ("Cb#7", "'Cb#7' cannot be read from character 1 on: 'Cb#' mixes sharps and flats"),
        ("C/Eb#", "'C/Eb#' cannot be read from character 3 on: 'Eb#' mixes sharps and flats"),
        ("Q7", "'Q7' is not a chord symbol: it begins with a letter from A to G, as in Cm7"),
        ("H7", "'H7' is not a chord symbol: H is the German name of B, so type B7; and Bb for what is B there"),
        ("c#7", "'c#7' is not a chord symbol: it begins with a capital; did you mean C#7?"),
        ("", "'' is not a chord symbol"),
    ],
)
def test_an_unknown_symbol_is_refused_at_the_character_with_the_nearest(symbol: str, says: str) -> None:
    with pytest.raises(ValueError) as refused:
        Chord.parse(symbol)
    assert says in str(refused.value)


@pytest.mark.parametrize("given_instead", [None, 7, ["C"], b"C"])
def test_what_is_not_text_is_refused(given_instead: object) -> None:
    with pytest.raises(ValueError, match="a chord symbol is text"):
        Chord.parse(given_instead)  # type: ignore[arg-type]


PIECES = st.sampled_from(
    [" ", *"C D# Ehb m - sub neu sup dim aug + ° ø Δ maj M7 harm mid wide 6 7 9 11 13 5 sus 2 4".split(),
     *"add no omit alt b # h# hb x ( ) , / E MI MA SUS ADD dom j ^ ∆ 7M 7alt − ⁷ b10".split()]
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.one_of(st.text(max_size=12), st.lists(PIECES, max_size=9).map(lambda pieces: f"C{''.join(pieces)}")))
def test_any_text_is_a_chord_that_prints_back_the_same_or_a_clear_error(text: str) -> None:
    try:
        chord = Chord.parse(text)
    except ValueError as refused:
        assert "\n" not in str(refused)
        assert "chord symbol" in str(refused) or "cannot be read from character" in str(refused)
    else:
        assert Chord.parse(chord.symbol) == chord
        assert Chord.parse(chord.symbol).symbol == chord.symbol


@settings(max_examples=400, deadline=None)
@given(st.frozensets(st.tuples(st.integers(2, 14), st.integers(-5, 5)), max_size=7))
def test_any_degrees_have_a_symbol_that_is_read_back_or_a_reason_why_not(degrees: frozenset[Degree]) -> None:
    chord = Chord(C, tuple(interval_of(degree) for degree in {(1, 0), *degrees}))
    try:
        symbol = chord.symbol
    except ValueError as refused:
        assert str(refused).startswith("no symbol can say such a chord: ")
    else:
        assert read_symbol(symbol) == (C, chord.degrees, None)


def test_a_long_symbol_is_refused_in_a_short_line() -> None:
    with pytest.raises(ValueError) as refused:
        Chord.parse("C7" + "b9z" * 10_000)
    assert len(str(refused.value)) < 250


# Kinds of chords by music21's names, and the signs of lead sheets for them (common practice).
KINDS = {
    "": "major", "m": "minor", "aug": "augmented", "dim": "diminished", "7": "dominant-seventh",
    "maj7": "major-seventh", "mmaj7": "minor-major-seventh", "m7": "minor-seventh",
    "maj7#5": "augmented-major-seventh", "7#5": "augmented-seventh", "m7b5": "half-diminished-seventh",
    "dim7": "diminished-seventh", "7b5": "seventh-flat-five", "6": "major-sixth", "m6": "minor-sixth",
    "maj9": "major-ninth", "9": "dominant-ninth", "mmaj9": "minor-major-ninth", "m9": "minor-ninth",
    "maj9#5": "augmented-major-ninth", "9#5": "augmented-dominant-ninth", "m9b5": "half-diminished-ninth",
    "m7b5b9": "half-diminished-minor-ninth", "dim9": "diminished-ninth", "dim7b9": "diminished-minor-ninth",
    "11": "dominant-11th", "maj11": "major-11th", "mmaj11": "minor-major-11th", "m11": "minor-11th",
    "maj11#5": "augmented-major-11th", "11#5": "augmented-11th", "m11b5": "half-diminished-11th",
    "dim11": "diminished-11th", "maj13": "major-13th", "13": "dominant-13th", "mmaj13": "minor-major-13th",
    "m13": "minor-13th", "maj13#5": "augmented-major-13th", "13#5": "augmented-dominant-13th",
    "m13b5": "half-diminished-13th", "sus2": "suspended-second", "sus4": "suspended-fourth",
    "7sus4": "suspended-fourth-seventh", "5": "power",
}  # fmt: skip


def as_music21(note: Note) -> tuple[str, float]:
    return note.letter, note.half_sharps / 2


@pytest.mark.parametrize("root", ["C", "F#", "Bb", "Eb", "A"])
def test_ordinary_chords_have_the_notes_that_music21_gives_them(root: str) -> None:
    for body, kind in KINDS.items():
        peer = {(pitch.step, pitch.alter) for pitch in ChordSymbol(root=root.replace("b", "-"), kind=kind).pitches}
        chord = Chord.parse(f"{root}{body}")
        ours = {as_music21(note) for note in chord.notes}
        if "13" in body:  # there a 13 has the 11 too, which players leave out (common practice)
            ours.add(as_music21(chord.root.transpose("P11")))
        assert ours == peer, body


@pytest.mark.parametrize(
    "symbol", ["Cm", "C7", "Cm7", "Cmaj7", "Cdim", "Cdim7", "C+", "C6", "Cm6", "C9", "Cm9", "Csus4", "Cm7b5", "C7b9"]
)
def test_symbols_that_music21_reads_too_are_read_alike(symbol: str) -> None:
    peer = {(pitch.step, pitch.alter) for pitch in ChordSymbol(symbol).pitches}
    assert {as_music21(note) for note in Chord.parse(symbol).notes} == peer


# Steps in thirty-one, reckoned by hand: C 0, D 5, E 10, F 13, G 18, A 23, B 28, a sharp 2, half a sharp 1.
STEPS = {
    "Csub": (0, 7, 18), "Cm": (0, 8, 18), "Cneu": (0, 9, 18), "C": (0, 10, 18), "Csup": (0, 11, 18),
    "Csus2": (0, 5, 18), "Csus4": (0, 13, 18), "Cdim": (0, 8, 16), "Caug": (0, 10, 20),
    "C7": (0, 10, 18, 26), "Charm7": (0, 10, 18, 25), "Cmid7": (0, 10, 18, 27), "Cmaj7": (0, 10, 18, 28),
    "Cwide7": (0, 10, 18, 29), "Cm7b5": (0, 8, 16, 26), "Cdim7": (0, 8, 16, 24), "C6": (0, 10, 18, 23),
    "C69": (0, 10, 18, 23, 36), "C13": (0, 10, 18, 26, 36, 54), "C7h#11": (0, 10, 18, 26, 45),
    "C7alt": (0, 10, 26, 34, 38, 46, 52), "Cneumid7": (0, 9, 18, 27), "Csubharm7": (0, 7, 18, 25),
}  # fmt: skip


@pytest.mark.parametrize("symbol", STEPS)
def test_steps_by_hand_and_back(symbol: str) -> None:
    assert Chord.parse(symbol).steps(THIRTY_ONE) == STEPS[symbol]
    assert Chord.from_steps(C, STEPS[symbol], THIRTY_ONE).symbol == symbol
    assert Chord.from_steps(C, [step % 31 for step in reversed(STEPS[symbol])], THIRTY_ONE).symbol == symbol


@pytest.mark.parametrize(
    ("symbol", "ratios", "thirds"),
    [
        ("Csub", "6:7:9", "subminor supermajor"),
        ("Cm", "10:12:15", "minor major"),
        ("Cneu", "18:22:27", "neutral neutral"),
        ("C", "4:5:6", "major minor"),
        ("Csup", "14:18:21", "supermajor subminor"),
        ("Charm7", "4:5:6:7", "major minor subminor"),
        ("Cmaj7", "8:10:12:15", "major minor major"),
        ("Charm9", "4:5:6:7:9", "major minor subminor supermajor"),
        ("Charm9h#11", "4:5:6:7:9:11", "major minor subminor supermajor neutral"),
        ("Cneumid7", "18:22:27:33", "neutral neutral neutral"),
    ],
)
def test_a_chord_is_the_same_from_its_symbol_steps_ratios_and_thirds(symbol: str, ratios: str, thirds: str) -> None:
    chord = Chord.parse(symbol)
    assert Chord.from_steps(C, chord.steps(THIRTY_ONE), THIRTY_ONE) == chord
    assert Chord.from_ratios(ratios, C, THIRTY_ONE) == chord
    assert Chord.from_ratios([int(part) for part in ratios.split(":")], C, THIRTY_ONE) == chord
    assert Chord.stacked(C, thirds.split()) == chord


def test_the_five_families_differ_by_a_diesis_in_the_third_and_share_the_fifth() -> None:
    families = [Chord.parse(f"D{word}") for word in ("sub", "m", "neu", "", "sup")]
    assert [chord.steps(THIRTY_ONE)[1] for chord in families] == [7, 8, 9, 10, 11]
    assert {chord.steps(THIRTY_ONE)[2] for chord in families} == {18}
    assert [chord.notes[1].name for chord in families] == ["F½♭", "F", "F½♯", "F♯", "F♯½♯"]


def test_ordinary_symbols_come_back_from_their_steps_in_twelve_too() -> None:
    twelve = equal(12)
    for body in KINDS:
        chord = Chord.parse(f"A{body}")
        again = Chord.from_steps(chord.root, chord.steps(twelve), twelve)
        assert {note.step(twelve) % 12 for note in again.notes} == {note.step(twelve) % 12 for note in chord.notes}
    for body in ("", "m", "dim", "aug", "7", "m7", "maj7", "dim7", "m7b5", "6", "m6", "9", "maj9", "m9", "13", "7b9"):
        chord = Chord.parse(f"A{body}")
        assert Chord.from_steps(chord.root, chord.steps(twelve), twelve) == chord, body


def test_octaves_and_doublings_are_set_aside() -> None:
    assert Chord.from_steps(C, [0, 31, 10, 41, 18, 57], THIRTY_ONE).symbol == "C7"
    assert Chord.from_steps(C, [5, 10, 18], THIRTY_ONE).symbol == "Cadd9"
    assert Chord.from_steps(C, [13, 18], THIRTY_ONE).symbol == "Csus4"


def test_a_chord_on_another_root_takes_its_bass_along() -> None:
    chord = Chord.parse("Cneu7/Ehb")
    assert chord.on(Note.named("A")).symbol == "Aneu7/Ch#"
    assert chord.over(None).symbol == "Cneu7"
    assert chord.over(Note.named("C")).bass is None
    assert str(chord.over(Note.parse("D2"))) == "Cneu7/D"


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Chord(C, ()), "begin with the unison"),
        (lambda: Chord(C, (SpelledInterval(2, 8),)), "begin with the unison"),
        (lambda: Chord(C, (SpelledInterval(0, 0), SpelledInterval(0, 0))), "each is given once"),
        (lambda: Chord(C, (SpelledInterval(0, 0), SpelledInterval(0, 2))), "go up from its root"),
        (lambda: Chord(C, (SpelledInterval(0, 0), "M3")), "are SpelledIntervals"),
        (lambda: Chord("C", (SpelledInterval(0, 0),)), "the root of a chord is a note"),
        (lambda: Chord(C, (SpelledInterval(0, 0),), "E"), "the bass of a chord is a note"),
        (lambda: Chord.from_steps(C, [0, -3], THIRTY_ONE), "0 or more, not -3"),
        (lambda: Chord.from_steps(C, [0, 1.5], THIRTY_ONE), "0 or more, not 1.5"),
        (
            lambda: Chord.from_steps(C, [0, 1], equal(72)),
            "a note 1 steps of 72 equal steps above the root is not a degree",
        ),
        (
            lambda: Chord.from_steps(C, [0, 26, 27], THIRTY_ONE),
            "no symbol can say a chord of 0, 26, 27 steps of 31 equal steps",
        ),
        (lambda: Chord.from_steps(C, [0, 4], just(["5/4", "3/2"])), "have no letters"),
        (lambda: Chord.from_ratios("4:5:5", C, THIRTY_ONE), "is not a chord of ratios"),
        (lambda: Chord.from_ratios("4", C, THIRTY_ONE), "is not a chord of ratios"),
        (lambda: Chord.from_ratios("4:x", C, THIRTY_ONE), "is not a ratio"),
        (lambda: Chord.stacked(C, ["big"]), "'big third' is not an interval"),
        (lambda: Chord.parse("Cneu").steps(equal(13)), "the notes of 13 equal steps have no letters"),
    ],
)
def test_nonsense_is_refused(call: object, says: str) -> None:
    with pytest.raises(ValueError) as refused:
        call()  # type: ignore[operator]
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)
