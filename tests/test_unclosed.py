"""Chords of equal parts: their gaps from plain arithmetic, the keys they lead to, and the picture beside the sound."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.equal_parts import turned_chord
from tunelib.exhibits.exhibit import Playing
from tunelib.harmony import Chord
from tunelib.pitch import THIRTY_ONE

SHOW = EXHIBITS["unclosed_chords"]
FORMS = SHOW.knobs[0].corners
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
PLACES = {
    "diminished seventh": 4,
    "purer diminished": 4,
    "augmented triad": 3,
    "whole-tone scale": 6,
    "octatonic scale": 4,
}


def in_31(ratio: Fraction) -> int:
    """Steps of 31 of a ratio of 2, 3 and 5, by the steps of its primes: 31, 49 and 72."""
    steps = 0
    for prime, size in ((2, 31), (3, 49), (5, 72)):
        while ratio.numerator % prime == 0:
            ratio, steps = ratio / prime, steps + size
        while ratio.denominator % prime == 0:
            ratio, steps = ratio * prime, steps - size
    assert ratio == 1
    return steps


def test_equal_thirds_miss_the_octave_by_the_two_dieses() -> None:
    """Four minor thirds are 648/625 more than the octave and three major ones 128/125 less: 62.6 and 41.1 cents."""
    greater, great = Fraction(6, 5) ** 4 / 2, 2 / Fraction(5, 4) ** 3
    assert (greater, great) == (Fraction(648, 625), Fraction(128, 125))
    assert 1200 * math.log2(greater) == pytest.approx(62.57, abs=0.005)  # Ellis 1885
    assert 1200 * math.log2(great) == pytest.approx(41.06, abs=0.005)
    assert turned_chord("diminished seventh", 0, "31").past == in_31(greater) == 1
    assert -turned_chord("augmented triad", 0, "31").past == in_31(great) == 1


@pytest.mark.parametrize(
    ("form", "gaps", "past"),
    [
        ("diminished seventh", [8, 8, 8, 7], 4 * 8 - 31),
        ("purer diminished", [8, 7, 9, 7], 4 * 8 - 31),
        ("augmented triad", [10, 10, 11], 3 * 10 - 31),
        ("whole-tone scale", [5, 5, 5, 5, 5, 6], 6 * 5 - 31),
        ("octatonic scale", [5, 3, 5, 3, 5, 3, 5, 2], 4 * (5 + 3) - 31),
    ],
)
def test_one_gap_differs_by_a_step_in_31_and_none_in_12(form: str, gaps: list[int], past: int) -> None:
    for moved in range(5):
        shown = turned_chord(form, moved, "31")
        assert list(shown.gaps) == gaps and sum(gaps) == 31 and shown.past == past
        assert shown.kinds == 31
        plain = turned_chord(form, moved, "12")
        size = 12 // PLACES[form]
        if form == "octatonic scale":
            assert plain.gaps == (2, 1) * 4
        else:
            assert plain.gaps == (size,) * PLACES[form]
        assert plain.past == 0 and plain.kinds == size  # 3 diminished sevenths, 4 augmented triads, 2 scales of tones


@pytest.mark.parametrize("form", FORMS)
def test_the_leading_note_rises_three_steps_to_the_one_key_that_the_gap_names(form: str) -> None:
    """Above the narrow gap; of an augmented triad and a whole-tone scale it is the third of the note above the gap."""
    for moved in range(5):
        shown = turned_chord(form, moved, "31")
        assert (shown.tonic.step(THIRTY_ONE) - shown.leading.step(THIRTY_ONE)) == 3
        above = (shown.leading.step(THIRTY_ONE) - shown.steps[0]) % 31
        assert above == (10 if form in ("augmented triad", "whole-tone scale") else 0)
        values = {"chord": form, "moved": moved}
        assert SHOW.numbers(**values, tuned="31")["keys"] == "1"
        assert SHOW.numbers(**values, tuned="12")["keys"] == str(PLACES[form])
        triad = {note.name for note in Chord.parse("C").on(shown.tonic).notes}
        assert {note.name for note in shown.resolved} == triad
        assert max(map(abs, shown.moves)) <= 5


def test_a_diminished_seventh_turns_by_one_voice_and_one_step() -> None:
    """B D F A♭ leads to C, G♯ B D F to A, E♯ G♯ B D to F♯, C𝄪 E♯ G♯ B to D♯; then all are a diesis lower."""
    chords = [sorted(turned_chord("diminished seventh", moved, "31").steps) for moved in range(5)]
    moves = [[there - here for here, there in zip(*pair, strict=True)] for pair in pairwise(chords)]
    assert moves == [[0, 0, 0, -1], [0, 0, -1, 0], [0, -1, 0, 0], [-1, 0, 0, 0]]
    tonics = [turned_chord("diminished seventh", moved, "31").tonic.name for moved in range(5)]
    assert tonics == ["C", "A", "F♯", "D♯", "C½♭"]
    assert len({tuple(sorted(turned_chord("diminished seventh", moved, "12").steps)) for moved in range(5)}) == 1


def test_an_augmented_triad_turns_by_one_voice_and_one_step() -> None:
    """C E G♯, the note above the wide gap lowered from C to B♯, is E G♯ B♯, the dominant of A; and so on."""
    chords = [sorted(turned_chord("augmented triad", moved, "31").steps) for moved in range(4)]
    moves = [[there - here for here, there in zip(*pair, strict=True)] for pair in pairwise(chords)]
    assert moves == [[-1, 0, 0], [0, -1, 0], [0, 0, -1]]
    assert [turned_chord("augmented triad", moved, "31").tonic.name for moved in range(3)] == ["F", "A", "C♯"]


def test_the_purer_diminished_seventh_is_nearer_to_its_ratios() -> None:
    """35:42:49:60 against 35:42:50:60; root mean squares over all pairs of notes."""

    def rms(steps: tuple[int, ...], numbers: tuple[int, ...]) -> float:
        off = [
            (steps[j] - steps[i]) * 1200 / 31 - 1200 * math.log2(numbers[j] / numbers[i])
            for i in range(4)
            for j in range(i + 1, 4)
        ]
        return math.sqrt(sum(one**2 for one in off) / len(off))

    assert rms((0, 8, 16, 24), (35, 42, 50, 60)) == pytest.approx(5.1, abs=0.05)
    assert rms((0, 8, 15, 24), (35, 42, 49, 60)) == pytest.approx(3.7, abs=0.05)
    found = turned_chord("purer diminished", 0, "31").steps
    steps = tuple(step - found[0] for step in found)
    assert steps == (0, 8, 15, 24)


@SHAPES
@pytest.mark.parametrize("tuned", ["12", "31"])
@pytest.mark.parametrize("form", FORMS)
def test_the_ring_has_the_notes_that_sound(form: str, tuned: str, size: str) -> None:
    """Every note of the chord at its place on the ring, lit while it sounds; the last ones are the tonic chord."""
    scene = in_size("unclosed_chords", size)
    for moved in (0, 3):
        values: dict[str, Any] = {"chord": form, "moved": moved, "tuned": tuned}
        scene.update(**values)
        dots = np.mod(scene.parts["notes"][0].get_xdata(), 1)
        notes = SHOW.score(**values).notes
        ends = max(note.onset for note in notes)
        [lit] = [line for line in scene.moving if getattr(line, "get_ms", lambda: 0)() == 17]
        c4 = 440 * 2 ** (-9 / 12) if tuned == "12" else float(THIRTY_ONE.hz(0))
        for onset in sorted({note.onset for note in notes}):
            places = [i for i, note in enumerate(notes) if note.onset == onset]
            scene.light(Playing(onset, tuple(places)))
            shown = np.mod(lit.get_xdata(), 1)
            heard = [math.log2(notes[i].hertz / c4) % 1 for i in places]
            apart = np.abs((shown - np.array(heard) + 0.5) % 1 - 0.5)
            assert apart.max() < 1e-6
            if onset < ends:
                assert all(np.abs((dots - turn + 0.5) % 1 - 0.5).min() < 1e-6 for turn in shown)
            else:
                tonic = scene.parts["leading"][1].get_xdata()[0] % 1
                assert np.abs((shown - tonic + 0.5) % 1 - 0.5).min() < 1e-6


@SHAPES
def test_the_filled_gap_is_one_step_wide_and_gone_in_twelve(size: str) -> None:
    scene = in_size("unclosed_chords", size)
    for form in FORMS:
        scene.update(chord=form, moved=1, tuned="31")
        turns = scene.parts["miss"][0].get_xy()[:, 0]
        assert np.ptp(turns) == pytest.approx(1 / 31) and scene.parts["miss"][0].get_visible()
        scene.update(chord=form, moved=1, tuned="12")
        assert not scene.parts["miss"][0].get_visible()
