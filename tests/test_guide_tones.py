"""Guide tones: how the voices go, against letters and fifths; what is drawn and heard, against that."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS, Playing
from tunelib.exhibits.cadences import CADENCES, GUIDES, led
from tunelib.harmony import Chord, notes_before
from tunelib.pitch import THIRTY_ONE, equal

SHOW = EXHIBITS["guide_tones"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
SEVENTHS = ("12", "31, minor 7th", "31, harmonic 7th")
EVERY = [(progression, seventh) for progression in CADENCES for seventh in SEVENTHS]

# Steps of thirty-one above C, counted by hand: a letter up is 5 or, E to F and B to C, 3; a sharp or flat is 2.
STEP = {
    "C": 0, "C♯": 2, "D♭": 3, "D": 5, "E½♭": 9, "E": 10, "F♭": 11, "F": 13, "F♯": 15, "G♭": 16, "G": 18, "A♭": 21,
    "A": 23, "A♯": 25, "B♭": 26,
}  # fmt: skip
KEY = {
    "C": 0, "C♯": 1, "D♭": 1, "D": 2, "E": 4, "F♭": 4, "F": 5, "F♯": 6, "G♭": 6, "G": 7, "A♭": 8, "A": 9, "A♯": 10,
    "B♭": 10,
}  # fmt: skip

# Each voice from the lowest up. Common practice: the notes; the moves are worked out by the table above, by hand.
MOVES = {
    ("V I", False): [[0], [3], [-5], [-3]],
    ("V I", True): [[0], [3], [-5], [-2]],
    ("ii V I", False): [[0, -5], [0, -3], [-5, 0], [-3, 0]],
    ("ii V I", True): [[0, -5], [-1, -2], [-5, 0], [-3, 0]],
    ("minor ii V i", False): [[0, -5], [0, -5], [0, -3], [-3, 0]],
    ("minor ii V i", True): [[0, -5], [-1, -4], [0, -3], [-3, 0]],
    ("true substitute", False): [[3, -3], [0, 3], [-2, -3], [0, -3]],  # an augmented sixth opens outward
    ("true substitute", True): [[2, -2], [0, 3], [-3, -2], [0, -2]],
    ("false substitute", False): [[3, -3], [1, -1], [-2, -3], [0, -3]],  # planes
    ("false substitute", True): [[2, -2], [-1, 1], [-3, -2], [0, -2]],
}


def as_number(text: str) -> int:
    return int(text.replace("−", "-"))


@pytest.mark.parametrize(("progression", "harmonic"), MOVES)
def test_voices_go_as_counted_by_hand(progression: str, harmonic: bool) -> None:
    """The moves of all four voices in thirty-one: the harmonic seventh falls a step less than the minor one."""
    found = led(progression, harmonic, THIRTY_ONE)
    assert [found.moves(voice) for voice in range(4)] == MOVES[progression, harmonic]


@pytest.mark.parametrize(("progression", "seventh"), EVERY)
def test_names_are_of_the_notes_that_sound(progression: str, seventh: str) -> None:
    """Every name that is shown has one sign at most, and is the step, or the key, at which its voice is."""
    twelve = seventh == "12"
    tuning, table = (equal(12), KEY) if twelve else (THIRTY_ONE, STEP)
    found = led(progression, seventh.endswith("harmonic 7th"), tuning)
    for names, steps in zip(found.names, found.leading.voices, strict=True):
        assert [table[name] for name in names] == [step % len(tuning) for step in steps]
    for chord, steps, bass in zip(found.chords, found.leading.voices, found.bass, strict=True):
        root = table[chord.root.name]
        chord_steps = {(root + step) % len(tuning) for step in chord.steps(tuning)}
        assert bass % len(tuning) == root and bass < min(steps)
        assert {step % len(tuning) for step in steps} <= chord_steps
        assert chord_steps <= {step % len(tuning) for step in (*steps, bass)}, "a note of the chord is missing"


def test_a_substitute_is_exact_only_if_the_seventh_changes_kind() -> None:
    """Of all eight pairs of C and G♭ or F♯ with either seventh, two share third and seventh, and those are shown.

    By the table: the third of C is 10; its seventh 26, or 25; G♭ 16 and F♯ 15, with thirds 10 above and sevenths 26 or
    25 above, are a tritone away.
    """
    exact = set()
    for kind, seventh in (("7", 26), ("harm7", 25)):
        for root, at in (("Gb", 16), ("F#", 15)):
            for other, above in (("7", 26), ("harm7", 25)):
                if {(at + 10) % 31, (at + above) % 31} == {10, seventh}:
                    exact.add((f"C{kind}", f"{root}{other}"))
    assert exact == {("C7", "Gbharm7"), ("Charm7", "F#7")}
    for harmonic in (False, True):
        true, false = (led(f"{which} substitute", harmonic, THIRTY_ONE) for which in ("true", "false"))
        assert tuple(str(chord) for chord in true.chords[:2]) in exact
        assert tuple(str(chord) for chord in false.chords[:2]) not in exact
        assert [true.moves(voice)[0] for voice in GUIDES] == [0, 0]
        assert sum(abs(false.moves(voice)[0]) for voice in GUIDES) == 1
        assert (true.tritone(0), true.tritone(1)) == ((15, 16) if harmonic else (16, 15))
    in_twelve = [led(f"{which} substitute", False, equal(12)) for which in ("true", "false")]
    assert in_twelve[0].chords[:2] == in_twelve[1].chords[:2], "twelve has one substitute"


def test_names_are_those_of_the_chart() -> None:
    """E over G♭ before F, as a chart writes it; for the seventh of Charm7 the step that the chart's name has."""
    found = led("true substitute", False, THIRTY_ONE)
    written = {note.name for note in notes_before(found.chords[1], found.chords[2], THIRTY_ONE)}
    assert written == set(found.names[1])
    assert found.renamed() == {"F♭½♭": "E"}
    plain = led("V I", True, THIRTY_ONE)
    assert plain.renamed() == {"B♭½♭": "A♯"}
    assert Chord.parse("Charm7").notes[3].name == "B♭½♭" and Chord.parse("Charm7").notes[3].step(THIRTY_ONE) == 25


@pytest.mark.parametrize("division", [12, 19, 22, 31, 41, 43, 50, 53, 55, 72])
def test_cadences_are_led_in_any_tuning_with_letters(division: int) -> None:
    """In every division the last chord is reached, and twelve keys that are one are one."""
    tuning = equal(division)
    for progression in CADENCES:
        for harmonic in (False, True):
            found = led(progression, harmonic, tuning)
            for chord, steps in zip(found.chords, found.leading.voices, strict=True):
                root = chord.root.within(tuning).step(tuning)
                assert {(step - root) % division for step in steps} <= {k % division for k in chord.steps(tuning)}
            assert found.leading.largest <= -(-division * 5 // 31) + 1


@pytest.mark.parametrize(("progression", "seventh"), EVERY)
@SHAPES
def test_what_is_drawn_is_what_sounds(progression: str, seventh: str, size: str) -> None:
    """Marks are as far apart as the frequencies; the figures are the differences of the marks, in steps or keys."""
    scene = in_size("guide_tones", size)
    scene.update(progression=progression, seventh=seventh)
    heard = np.array([note.hertz for note in SHOW.score(progression=progression, seventh=seventh).notes]).reshape(-1, 5)
    octaves = np.log2(heard[:, 1:] / heard[0, 1])
    small, dots = scene.parts["notes"][:2]
    drawn = np.empty(octaves.shape)
    drawn[:, [0, 2]] = np.reshape(small.get_ydata(), (-1, 2))
    drawn[:, [1, 3]] = np.reshape(dots.get_ydata(), (-1, 2))
    scale = np.ptp(drawn) / np.ptp(octaves)
    assert drawn - drawn[0, 0] == pytest.approx(octaves * scale, abs=1e-6)
    division = 12 if seventh == "12" else 31
    moves = np.diff(octaves, axis=0) * division
    shown = [as_number(text.get_text()) for text in scene.parts["moves"] if text.get_visible()]
    assert shown == pytest.approx(moves[:, list(GUIDES)].ravel().tolist(), abs=1e-6)
    for line, voice in zip(scene.parts["guides"], GUIDES, strict=True):
        ends = np.reshape(line.get_ydata(), (-1, 3))
        assert ends[:, 0] == pytest.approx(drawn[:-1, voice]) and ends[:, 1] == pytest.approx(drawn[1:, voice])


@SHAPES
def test_the_headline_is_the_way_of_the_seventh(size: str) -> None:
    """Three steps or two; in one go, or one and two; shared, or a step off; and in twelve one key."""
    scene = in_size("guide_tones", size)
    expected = {
        ("V I", "31, minor 7th"): "−3",
        ("V I", "31, harmonic 7th"): "−2",
        ("V I", "12"): "−1",
        ("ii V I", "31, minor 7th"): "−3",
        ("ii V I", "31, harmonic 7th"): "−1, −2",
        ("minor ii V i", "31, harmonic 7th"): "−1, −4",
        ("true substitute", "31, minor 7th"): "0",
        ("true substitute", "31, harmonic 7th"): "0",
        ("false substitute", "31, minor 7th"): "+1",
        ("false substitute", "31, harmonic 7th"): "−1",
        ("false substitute", "12"): "0",
    }
    for (progression, seventh), words in expected.items():
        scene.update(progression=progression, seventh=seventh)
        assert scene.parts["number"][0].get_text() == words
        assert SHOW.numbers(progression=progression, seventh=seventh)["moves"] == words
        written = re.findall(r"[+−]\d", SHOW.sentence(progression=progression, seventh=seventh))
        assert words == "0" or set(words.split(", ")) <= set(written)


def test_the_chord_that_sounds_lights_up() -> None:
    """The bright marks are those of the guide tones of the chord that is heard."""
    scene = in_size("guide_tones", "panel")
    values: dict[str, Any] = {"progression": "ii V I", "seventh": "31, harmonic 7th"}
    scene.update(**values)
    lit = next(artist for artist in scene.moving if getattr(artist, "get_markersize", float)() == 19)
    dots = np.column_stack(scene.parts["notes"][1].get_data())
    for chord in range(3):
        notes = tuple(range(5 * chord, 5 * chord + 5))  # bass and four voices
        for sounding in (notes, notes[-1:]):
            scene.light(Playing(chord * 2 * 60 / 66 + 0.1, sounding))
            assert np.column_stack(lit.get_data()) == pytest.approx(dots[2 * chord : 2 * chord + 2])
    scene.light(Playing())
    assert not lit.get_visible()
