"""Retuning in other divisions: what is said is so in each, and no choice is offered that is none."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from test_meanings import IN_FULL

from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.playable import playable_division, small_step
from tunelib.harmony.retune import retune
from tunelib.harmony.taste import Taste
from tunelib.harmony.variants import variants
from tunelib.hearing.roughness import roughness
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import equal, just

OTHERS = tuple(n for n in range(12, 73) if equal(n).fifth is not None and n not in IN_FULL)
MEANTONES = (12, 19, 24, 31, 36, 43, 50, 55)
STUDY = "| Dm7 G7 | Cmaj7 A7b9 | Em7b5 C69 | D7#11 G7alt | Caug Bdim7 | Csus4 C/E | Charm9h#11 Fneu | Ebsub C |"
TASTES = [Taste(0.0), Taste(0.6), Taste(1.0, -1.0), Taste(0.5, drift=True)]


@pytest.mark.parametrize("taste", TASTES, ids=str)
@pytest.mark.parametrize("division", IN_FULL)
def test_what_is_said_of_each_chord_is_so_in_every_division(division: int, taste: Taste) -> None:
    """Purity, roughness and motion recomputed from the notes, none of them beyond what a division allows."""
    tuning = equal(division)
    tune = retune(parse_lead_sheet(STUDY), tuning, taste)
    before: list[int] | None = None
    for chord in tune.chords:
        steps = [note.step(tuning) for note in chord.notes]
        upper = steps[1:]
        assert steps == sorted(set(steps))
        root = chord.chord.root.step(tuning)
        assert (root - chord.written.chord.root.step(tuning) - chord.shift) % division == 0
        sounding = sorted(set(chord.chord.steps(tuning)))
        assert {step % division for step in upper} <= {(root + step) % division for step in sounding}
        errors = [
            (sounding[j] - sounding[i]) * 1200 / division - 1200 * math.log2(ratios[j] / ratios[i])
            for ratios in [chord.chord.ratios(tuning)]
            for i, j in combinations(range(len(sounding)), 2)
        ]
        assert chord.purity == pytest.approx(math.sqrt(sum(error**2 for error in errors) / len(errors)))
        hertz = np.array([float(tuning.hz(step - chord.shift)) for step in steps])
        partials = (hertz[:, np.newaxis] * np.arange(1, 9)).ravel()
        assert chord.roughness == pytest.approx(float(roughness(partials, np.tile(0.88 ** np.arange(8), len(steps)))))
        if before is not None and len(before) == len(upper):
            assert chord.motion == sum(abs(a - b) for a, b in zip(upper, before, strict=True))
        assert abs(chord.shift) in ({0, small_step(tuning), 2 * small_step(tuning)} if taste.drift else {0})
        assert f"{chord.purity:.1f} cents" in chord.why and chord.why.count(". ") == 0
        before = upper


@pytest.mark.parametrize("division", OTHERS)
def test_every_other_division_with_letters_plays_a_tune_too(division: int) -> None:
    tune = retune(parse_lead_sheet(f"{STUDY}\nmelody:{' | E4:2 F#4 Bb4' * 8} |"), equal(division), Taste(0.6))
    for chord in tune.chords:
        low, high = Note.parse("G2").step(equal(division)), Note.parse("C5").step(equal(division))
        assert all(low <= note.step(equal(division)) <= high for note in chord.notes[1:])


@pytest.mark.parametrize("division", (19, 31, 41, 53))
def test_g7_as_it_is_written_has_the_errors_of_the_division(division: int) -> None:
    """The ratios of its reading, from fractions and logarithms."""
    [chord] = retune(parse_lead_sheet("| G7 |"), equal(division), Taste(0.0)).chords
    ratios = chord.chord.ratios(equal(division))
    steps = chord.chord.steps(equal(division))
    errors = [
        (steps[j] - steps[i]) * 1200 / division - 1200 * math.log2(ratios[j] / ratios[i])
        for i, j in combinations(range(4), 2)
    ]
    by_hand = math.sqrt(sum(error**2 for error in errors) / 6)
    assert chord.purity == pytest.approx(by_hand)
    assert f"G7 as written; its pairs are {by_hand:.1f} cents off" in chord.why


def families_offered(symbol: str, division: int) -> set[str]:
    return {variant.chord.symbol for variant in variants(Chord.parse(symbol), equal(division))}


def test_no_choice_is_offered_that_is_none() -> None:
    """By hand: in 12 all families are the plain ones; in 19 the neutral third is the major one, and 7/4 a step."""
    assert families_offered("C", 12) == {"C"} and families_offered("C7", 12) == {"C7"}
    assert families_offered("C", 19) == {"C", "Csup"}
    assert families_offered("Cm", 19) == {"Cm", "Csub"}
    assert families_offered("C", 31) == {"C", "Csup", "Cneu"}
    assert "Charm7" in families_offered("C7", 19) and "Cmid7" not in families_offered("C7", 19)
    assert families_offered("C7#11", 12) == {"C7#11"} and "Charm7h#11" in families_offered("C7#11", 31)
    for division in IN_FULL:
        for symbol in ("C", "Cm7", "G13", "D7#11", "Fm6"):
            chords = [variant.chord for variant in variants(Chord.parse(symbol), equal(division))]
            assert len({chord.steps(equal(division)) for chord in chords}) == len(chords)


def test_a_plain_tune_in_twelve_comes_out_as_written_whatever_the_taste() -> None:
    for taste in (Taste(1.0), Taste(1.0, -1.0), Taste(0.5, drift=True)):
        tune = retune(parse_lead_sheet("| Dm7 | G7b9 | Cmaj7 | E7#11 | Ab13 | C69 |"), equal(12), taste)
        assert [chord.chord for chord in tune.chords] == [chord.written.chord for chord in tune.chords]


def test_two_families_on_one_step_are_told_in_the_reasons() -> None:
    [in_twelve] = retune(parse_lead_sheet("| Cneu |"), equal(12), Taste(0.0)).chords
    assert "neutral third and minor third are one step of 12" in in_twelve.why
    [in_nineteen] = retune(parse_lead_sheet("| Cneu |"), equal(19), Taste(0.0)).chords
    assert "neutral third and major third are one step of 19" in in_nineteen.why
    for division in (24, 31, 41, 53):
        [told_apart] = retune(parse_lead_sheet("| Cneu |"), equal(division), Taste(0.0)).chords
        assert "one step of" not in told_apart.why


MELODY = "| C | Am | F | G7 |\nmelody: | E4:2 D4 G4 | E5:2 B4 C5 | A4:2 F4 E4 | B3:2 F4 D4 |"


def test_a_melody_note_sounds_with_its_namesake_in_the_chord() -> None:
    """E over C is the pure third, E over A minor its fifth; what is in no chord is where the fifths put it."""
    in_53 = retune(parse_lead_sheet(MELODY), equal(53), Taste(0.0))
    assert [note.note.name for note in in_53.melody] == "E−1 D G E B C+1 A−1 F E B−1 F+1 D".split()
    for note, chord in zip(in_53.melody[::3], in_53.chords, strict=True):
        sung = note.note.step(equal(53)) % 53
        assert sung in {other.step(equal(53)) % 53 for other in chord.notes}


@pytest.mark.parametrize("division", MEANTONES)
def test_in_a_meantone_the_melody_is_as_it_is_written(division: int) -> None:
    for taste in (Taste(0.0), Taste(0.6)):
        tune = retune(parse_lead_sheet(MELODY), equal(division), taste)
        assert tune.melody == tune.sheet.melody


def test_a_melody_note_with_steps_of_its_own_is_left_where_it_is_put() -> None:
    tune = retune(parse_lead_sheet("| C |\nmelody: | E4:2 E4+1:2 |"), equal(53), Taste(0.0, clashes=True))
    assert [str(note.note) for note in tune.melody] == ["E4−1", "E4+1"]


def test_the_root_of_a_chord_that_lies_between_two_steps_goes_to_the_nearer() -> None:
    tune = retune(parse_lead_sheet("| Ehb7 | C |\nmelody: | Bhb4:4 | C5:4 |"), equal(12), Taste(0.0))
    assert tune.chords[0].notes[0] == Note.parse("Ehb2").within(equal(12))
    assert all(note.note.half_sharps % 2 == 0 for note in tune.melody)


def test_two_notes_that_rub_are_a_clash_by_their_size_and_not_by_their_steps() -> None:
    """38.7 cents in 31, 45.3 in 53, and 50 in 24 rub; 63.2 in 19 and 77.4 in 31 are small semitones."""
    for division, note, expected in (
        (31, "Ch#4", 1), (31, "C#4", 0), (53, "C4+2", 1), (53, "C4+3", 0), (24, "Ch#4", 1), (19, "C#4", 0),
        (12, "C#4", 0),
    ):  # fmt: skip
        sheet = parse_lead_sheet(f"| C |\nmelody: | {note}:4 |")
        assert retune(sheet, equal(division), Taste(0.0, clashes=True)).chords[0].clashes == expected, (division, note)


@pytest.mark.parametrize(
    ("tuning", "words"),
    [
        (equal(13), "the notes of 13 equal steps have no letters"),
        (equal(18), "no fifth of it is between 4/7 and 3/5 of the octave"),
        (equal(7), "12 to 72 equal steps, not in 7 equal steps"),
        (equal(84), "12 to 72 equal steps, not in 84 equal steps"),
        (equal(31, 3), "12 to 72 equal steps"),
        (just([Fraction(n, 12) for n in range(12, 24)]), "equal steps of the octave, and just intonation has others"),
        (31, "a tuning, such as equal(31), not in 31"),
    ],
)
def test_a_tune_is_played_in_an_equal_division_that_can_be_spelled(tuning: object, words: str) -> None:
    with pytest.raises(ValueError) as refused:
        retune(parse_lead_sheet("| C |"), tuning)  # type: ignore[arg-type]
    assert words in str(refused.value) and "\n" not in str(refused.value)
    with pytest.raises(ValueError):
        playable_division(tuning)  # type: ignore[arg-type]
