"""Scales over chords: steps and gaps worked out by hand, ratios by plain fractions, published means, every division."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.harmony import (
    CHORD_TONE,
    SCALE_KINDS,
    TENSION,
    TO_MIND,
    Chord,
    ChordScale,
    ScaleKind,
    scale_over,
    scales_over,
)
from tunelib.pitch import THIRTY_ONE, equal
from tunelib.pitch.tunings import Tuning

LETTERED = [steps for steps in range(12, 73) if equal(steps).fifth is not None]

# Steps and gaps in thirty-one, each worked out by hand from letters (a letter's step on the chain of narrow fifths, two
# steps for a sharp or flat, one for a half) and each gap by subtraction.
BY_HAND = (
    ("Cmaj7", "major", "0 5 10 13 18 23 28", "5 5 3 5 5 5 3"),
    ("Cmaj7#11", "lydian", "0 5 10 15 18 23 28", "5 5 5 3 5 5 3"),
    ("Cmaj7h#11", "lydian harmonic 11", "0 5 10 14 18 23 28", "5 5 4 4 5 5 3"),
    ("C7", "mixolydian", "0 5 10 13 18 23 26", "5 5 3 5 5 3 5"),
    ("Charm7", "mixolydian harmonic 7", "0 5 10 13 18 23 25", "5 5 3 5 5 2 6"),
    ("Charm7", "mixolydian harmonic 7 low 4", "0 5 10 12 18 23 25", "5 5 2 6 5 2 6"),
    ("Charm7h#11", "overtone", "0 5 10 14 18 22 25", "5 5 4 4 4 3 6"),
    ("Cm7", "dorian", "0 5 8 13 18 23 26", "5 3 5 5 5 3 5"),
    ("Csubharm7", "subminor dorian", "0 5 7 13 18 23 25", "5 2 6 5 5 2 6"),
    ("Cneumid7", "neutral", "0 4 9 13 18 22 27", "4 5 4 5 4 5 4"),
    ("Cmmaj7", "melodic minor", "0 5 8 13 18 23 28", "5 3 5 5 5 5 3"),
    ("Cm7b5", "locrian natural 2", "0 5 8 13 16 21 26", "5 3 5 3 5 5 5"),
    ("C7alt", "altered", "0 3 8 11 16 21 26", "3 5 3 5 5 5 5"),
    ("C7alt", "altered with the chord's third", "0 3 8 10 16 21 26", "3 5 2 6 5 5 5"),
    ("Charm7#5b9#9#11", "harmonic altered", "0 3 7 10 15 20 25", "3 4 3 5 5 5 6"),
    ("Charm7#5", "whole-tone harmonic 7", "0 5 10 15 20 25", "5 5 5 5 5 6"),
    ("C7b9", "half-whole", "0 3 8 10 15 18 23 26", "3 5 2 5 3 5 3 5"),
    ("Charm7#9", "harmonic half-whole", "0 3 7 10 15 18 23 25", "3 4 3 5 3 5 2 6"),
    ("Cdim7", "whole-half", "0 5 8 13 16 21 24 28", "5 3 5 3 5 3 4 3"),
    ("C7", "blues as written", "0 8 13 16 18 26", "8 5 3 2 8 5"),
    ("C7", "blues as measured", "0 8 13 15 18 27", "8 5 2 3 9 4"),
    ("Charm7", "harmonic blues", "0 7 13 14 18 25", "7 6 1 4 7 6"),
)


def over(symbol: str, name: str, tuning: Tuning = THIRTY_ONE) -> ChordScale:
    return scale_over(Chord.parse(symbol), name, tuning)


@pytest.mark.parametrize(("symbol", "name", "steps", "gaps"), BY_HAND)
def test_steps_and_gaps_are_those_worked_out_by_hand(symbol: str, name: str, steps: str, gaps: str) -> None:
    """Each scale is among those over its chord, as a usual one, with these steps and gaps; gaps make an octave."""
    scale = over(symbol, name)
    assert (scale.name, scale.usual) == (name, True)
    assert " ".join(map(str, scale.steps)) == steps
    assert " ".join(map(str, scale.gaps)) == gaps
    assert sum(map(int, gaps.split())) == 31


# Ratio and error in cents of steps of thirty-one, from 1200 / 31 and log2 alone.
RATIOS = (
    ("Charm7", "mixolydian harmonic 7", "9/8 -10.4, 5/4 +0.8, 4/3 +5.2, 3/2 -5.2, 5/3 +6.0, 7/4 -1.1"),
    ("Charm7h#11", "overtone", "9/8 -10.4, 5/4 +0.8, 11/8 -9.4, 3/2 -5.2, 13/8 +11.1, 7/4 -1.1"),
    ("Cneumid7", "neutral", "12/11 +4.2, 11/9 +1.0, 4/3 +5.2, 3/2 -5.2, 18/11 -1.0, 11/6 -4.2"),
    ("C7alt", "altered", "16/15 +4.4, 6/5 -6.0, 9/7 -9.3, 10/7 +1.9, 8/5 -0.8, 9/5 -11.1"),
    ("Charm7#5b9#9#11", "harmonic altered", "16/15 +4.4, 7/6 +4.1, 5/4 +0.8, 7/5 -1.9, 25/16 +1.6, 7/4 -1.1"),
    ("Charm7", "mixolydian harmonic 7 low 4", "9/8 -10.4, 5/4 +0.8, 21/16 -6.3, 3/2 -5.2, 5/3 +6.0, 7/4 -1.1"),
)


@pytest.mark.parametrize(("symbol", "name", "row"), RATIOS)
def test_each_degree_is_off_its_ratio_by_these_cents(symbol: str, name: str, row: str) -> None:
    """Errors agree with the table, and with the step's own size less the ratio's, by logarithm."""
    degrees = over(symbol, name).degrees
    assert [f"{one.ratio} {one.error:+.1f}" for one in degrees[1:]] == row.split(", ")
    for one in degrees:
        assert one.error == pytest.approx(1200 * one.step / 31 - 1200 * math.log2(one.ratio), abs=1e-9)


def test_the_measured_blues_scale_is_nearest_to_the_published_means() -> None:
    """Cutting 2018: means of the blue third, fifth and seventh, in cents; the nearest steps of thirty-one."""
    means = (319.1, 582.8, 1037.9)
    scale = over("C7", "blues as measured")
    assert [scale.steps[place] for place in (1, 3, 5)] == [round(mean * 31 / 1200) for mean in means]
    assert scale.source == "means of measured performances"


def test_the_third_of_the_altered_scale_is_a_diesis_above_the_chords() -> None:
    """C7alt has E, 10 steps; its scale has F♭, 11: three thirds of 10 are a step short of the octave. In 12 it is E."""
    chord = Chord.parse("C7alt")
    scale = over("C7alt", "altered")
    third = scale.degrees[3]
    assert (third.note.name, third.step, third.part) == ("F♭", 11, TO_MIND)
    assert chord.steps(THIRTY_ONE)[1] == 10 == third.step - (31 - 3 * 10)
    assert third.why == "1 step above the chord's E: choose one of the two"
    assert "E" in [note.name for note in scale.missing]
    in_twelve = over("C7alt", "altered", equal(12))
    assert (in_twelve.degrees[3].step, in_twelve.degrees[3].part, in_twelve.missing) == (4, CHORD_TONE, ())


@pytest.mark.parametrize(
    ("symbol", "name", "minded"),
    [
        ("Cmaj7", "major", ["F"]),
        ("Cmaj7", "lydian", []),
        ("C7", "mixolydian", ["F"]),
        ("Charm7", "mixolydian harmonic 7 low 4", ["F½♭"]),
        ("Cm7", "dorian", []),
        ("Cm7", "aeolian", ["A♭"]),
        ("C7b9", "half-whole", []),
        ("C7", "half-whole", []),
        ("C", "harmonic minor from its fifth", ["D♭", "F", "A♭"]),
        ("Cm7b5", "locrian", ["D♭"]),
        ("Cm7b5", "locrian natural 2", []),
    ],
)
def test_notes_a_semitone_above_a_chord_tone_are_minded(symbol: str, name: str, minded: list[str]) -> None:
    """The notes that Nettles and Graf 1997 (from memory) have to be avoided; on a dominant ♭9 and ♭13 are tensions."""
    for tuning in (equal(12), equal(19), THIRTY_ONE):
        if not (name.endswith("low 4") and tuning is not THIRTY_ONE):
            assert [one.note.name for one in over(symbol, name, tuning).to_mind] == minded


def test_parts_are_the_chord_its_colours_and_what_to_mind() -> None:
    """Over C7♭9 the ninth is of the chord, and a tension; every note has one part."""
    scale = over("C7b9", "half-whole")
    assert [one.note.name for one in scale.chord_tones] == ["C", "E", "G", "B♭"]
    assert [one.note.name for one in scale.tensions] == ["D♭", "E♭", "F♯", "A"]
    assert {one.part for kind in BY_HAND for one in over(kind[0], kind[1]).degrees} == {CHORD_TONE, TENSION, TO_MIND}


def test_six_tones_and_eight_of_the_octatonic_do_not_close() -> None:
    """Six whole tones are 30 steps, so one is wide; four times 5 + 3 are 32, so one gap has lost a step."""
    assert sorted(over("Charm7#5", "whole-tone harmonic 7").gaps) == [5] * 5 + [6]
    assert sorted(over("C7#5", "whole-tone").gaps) == [5] * 5 + [6]
    for symbol, name, lost in (("C7b9", "half-whole", 2), ("Cdim7", "whole-half", 4)):
        gaps = sorted(over(symbol, name).gaps)
        assert sum(gaps) == 31 == 4 * (5 + 3) - 1
        gaps.remove(lost)
        gaps.append(lost + 1)
        assert sorted(gaps) == [3] * 4 + [5] * 4


def test_in_twelve_the_harmonic_versions_are_the_usual_scales() -> None:
    """Scales on the same steps are one, and it says which it was; in thirty-one they are apart."""
    for symbol, name, folded in (
        ("Charm7", "mixolydian", "mixolydian harmonic 7"),
        ("Charm7", "lydian dominant", "overtone"),
        ("Csubharm7", "dorian", "subminor dorian"),
        ("Cneumid7", "dorian", "neutral"),
        ("Charm7#5", "whole-tone", "whole-tone harmonic 7"),
        ("Charm7#9", "half-whole", "harmonic half-whole"),
    ):
        found = over(symbol, folded, equal(12))
        assert found.name == name
        assert folded in found.also
        assert not over(symbol, folded).also
    assert over("C7", "harmonic blues", equal(12)).name == "blues as written"


@pytest.mark.parametrize("steps", LETTERED)
def test_every_usual_chord_has_its_scales_in_every_division(steps: int) -> None:
    """Scales rise within an octave, have the chord or say what they lack, and their notes sound their steps."""
    tuning = equal(steps)
    for body in dict.fromkeys(body for kind in SCALE_KINDS for body in kind.over):
        chord = Chord.parse(f"Eb{body}")
        scales = scales_over(chord, tuning)
        assert scales[0].usual
        assert len({scale.steps for scale in scales}) == len(scales)
        root = chord.root.step(tuning)
        tones = {step % steps for step in chord.steps(tuning)}
        for scale in scales:
            assert scale.steps[0] == 0
            assert all(gap >= 0 for gap in scale.gaps)
            assert sum(scale.gaps) == steps
            assert [note.step(tuning) - root for note in scale.notes] == list(scale.steps)
            assert len(tones - set(scale.steps)) == len(scale.missing)
            assert {one.step for one in scale.degrees if one.part == CHORD_TONE} <= tones
            assert scale.usual or not scale.missing


@settings(max_examples=40)
@given(
    root=st.sampled_from(["C", "F#", "Bb", "Ehb", "Gx"]),
    body=st.sampled_from(["", "m", "7", "harm7", "m7b5", "7alt", "maj7#11", "13", "6", "7sus4", "7#9", "neu", "sup"]),
    steps=st.sampled_from([12, 17, 19, 22, 31, 41, 53, 72]),
)
def test_a_scale_goes_with_the_root(root: str, body: str, steps: int) -> None:
    """On any root the scales are the same ones, and the first note is the root."""
    tuning = equal(steps)
    on_c, here = (scales_over(Chord.parse(f"{letter}{body}"), tuning) for letter in ("C", root))
    assert [(one.name, one.steps, one.also) for one in on_c] == [(one.name, one.steps, one.also) for one in here]
    assert all(one.notes[0].step(tuning) == Chord.parse(root).root.within(tuning).step(tuning) for one in here)


def test_a_chord_without_a_scale_says_what_is_wrong() -> None:
    """No scale has a major seventh and a minor ninth; over C13♯9 one is taken whose E♭ is a diesis from D♯."""
    with pytest.raises(ValueError, match=r"no scale has all notes of Cmaj7b9; the nearest, major, lacks D♭: leave a"):
        scales_over(Chord.parse("Cmaj7b9"), THIRTY_ONE)
    near = scales_over(Chord.parse("C13#9"), THIRTY_ONE)[0]
    assert (near.name, [one.why for one in near.to_mind]) == (
        "half-whole",
        ["1 step above the chord's D♯: choose one of the two"],
    )


def test_what_is_no_chord_no_tuning_and_no_scale_is_refused() -> None:
    """One line each, with what would be right."""
    with pytest.raises(ValueError, match=r"laid over a chord, such as Chord.parse\('Cm7'\), not over 'Cm7'"):
        scales_over("Cm7", THIRTY_ONE)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="13 equal steps have no letters"):
        scales_over(Chord.parse("C"), equal(13))
    with pytest.raises(ValueError, match=r"no scale over C7 is called 'myxolydian'; did you mean mixolydian"):
        over("C7", "myxolydian")
    with pytest.raises(ValueError, match=r"'b8' is not a degree of a scale: write 1 to 7 with a sign"):
        ScaleKind("wrong", "1 2 b8")
    for wrong in (None, 7, b"1 2"):
        with pytest.raises(ValueError, match="degrees of a scale are text such as"):
            ScaleKind("wrong", wrong)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="begin with 1"):
        ScaleKind("wrong", "2 3 4")
    with pytest.raises(ValueError, match="no comma in it: 'wrong, and more'"):
        ScaleKind("wrong, and more", "1 2 3")


def test_names_of_scales_read_as_one_each_in_a_list() -> None:
    """Counted as a reader does, by commas and the last "and"."""
    also = over("Charm7", "mixolydian", equal(12)).also
    assert len(also) > 1
    in_list = over("Charm7", "mixolydian", equal(12)).words.partition("the same as ")[2].rstrip(".")
    assert tuple(in_list.replace(" and ", ", ").split(", ")) == also


def test_the_sentence_says_notes_gaps_and_reasons() -> None:
    """What is printed for a scale."""
    assert str(over("Cmaj7", "major")) == (
        "major over Cmaj7 in 31 equal steps: C D E F G A B, gaps 5 5 3 5 5 5 3; "
        "mind F (a semitone above E: pass through it)."
    )
    assert over("Cm7", "dorian").degrees[2].word == "♭3"
    assert over("Charm7", "mixolydian harmonic 7").degrees[6].ratio == Fraction(7, 4)
