"""Blue notes: each value beside its published source, the picture beside the values, and the slide as it is heard."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np
import parselmouth
import pytest
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch import BLUE_NOTES, THIRTY_ONE, Note, equal
from tunelib.sound import SAMPLE_RATE, render

SHOW = EXHIBITS["blue_notes"]
ALL = tuple(BLUE_NOTES.values())

# C. B. Cutting, Empirical Musicology Review 13 (1-2), 2018, abstract: means of the three principal clusters, in cents.
MEANS = {"third": 319.1, "fifth": 582.8, "seventh": 1037.9}


def size(ratio: str) -> float:
    return 1200 * math.log2(Fraction(ratio))


def test_the_means_are_those_that_were_published() -> None:
    assert {name: note.measured.cents for name, note in BLUE_NOTES.items()} == MEANS
    assert all(note.measured.source == "C. B. Cutting, Empirical Musicology Review 13 (1-2), 2018" for note in ALL)


def test_every_value_has_its_source_with_a_year() -> None:
    """An author, a title and a year; and what is proposed is never by whom the means were measured."""
    for note in ALL:
        for published in (note.measured, *note.proposed):
            assert published.source[-4:].isdigit() and published.source.count(",") >= 2
        assert note.measured.source not in {proposal.source for proposal in note.proposed}


def test_the_ratios_proposed_are_harmonics() -> None:
    """7/4 and 11/8 are harmonics of the tonic; 7/6 is the seventh harmonic of the fourth, an octave down."""
    found = {name: note.proposed[0] for name, note in BLUE_NOTES.items()}
    wanted = {"third": Fraction(4, 3) * Fraction(7, 4) / 2, "fifth": Fraction(11, 8), "seventh": Fraction(7, 4)}
    for name, ratio in wanted.items():
        assert found[name].called == str(ratio)
        assert found[name].cents == pytest.approx(size(str(ratio)), abs=1e-9)
    assert BLUE_NOTES["third"].proposed[1].cents == (300 + 400) / 2


def test_steps_of_thirty_one_worked_out_anew() -> None:
    """The means meet 8, 15 and 27, not the step of 7/4, which is 25; the zones are three steps each."""
    for name, step, zone in (("third", 8, (7, 8, 9)), ("fifth", 15, (14, 15, 16)), ("seventh", 27, (25, 26, 27))):
        assert BLUE_NOTES[name].nearest(THIRTY_ONE) == round(MEANS[name] * 31 / 1200) == step
        assert BLUE_NOTES[name].steps(THIRTY_ONE) == zone
    assert round(size("7/4") * 31 / 1200) == 25
    assert BLUE_NOTES["seventh"].above(BLUE_NOTES["seventh"].proposed[0]) == pytest.approx(69.07, abs=0.005)
    assert MEANS["seventh"] - size("9/5") == pytest.approx(20.3, abs=0.05)


@pytest.mark.parametrize("division", [12, 19, 31, 41, 53, 72])
def test_a_zone_holds_all_that_is_known_in_any_division(division: int) -> None:
    tuning = equal(division)
    for note in ALL:
        steps = note.steps(tuning)
        assert list(steps) == list(range(steps[0], steps[-1] + 1))
        assert note.nearest(tuning) in steps and note.written.step(tuning) in steps
        assert all(tuning.nearest(proposal.cents)[0] in steps for proposal in note.proposed)
        assert steps[-1] <= note.goal.step(tuning)


@pytest.fixture(scope="module")
def scene() -> Any:
    return SHOW.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))


@pytest.mark.parametrize("note", MEANS)
def test_marks_are_where_the_values_say(scene: Any, note: str) -> None:
    """By the distance between two steps; and the filled gap is as wide as its number."""
    for pitch in SHOW.comparisons:
        scene.update(note=note, pitch=pitch)
        [dots, *_], [mean, *_], [posts, *_] = (scene.parts[part] for part in ("steps", "measured", "proposed"))
        x = dots.get_xdata()
        cent = float(x[1] - x[0]) * 31 / 1200

        def at(line: Any, x: Any = x, cent: float = cent) -> float:
            return float((line.get_xdata()[0] - x[0]) / cent + 1200 * BLUE_NOTES[note].steps(THIRTY_ONE)[0] / 31)

        assert at(mean) == pytest.approx(MEANS[note], abs=1e-6)
        assert at(posts) == pytest.approx(BLUE_NOTES[note].proposed[0].cents, abs=1e-6)
        [gap], (number, _) = scene.parts["gap"], scene.parts["number"]
        assert np.ptp(gap.get_xy()[:, 0]) / cent == pytest.approx(float(number.get_text()), abs=0.51)


@pytest.mark.parametrize(("note", "pitch"), [("third", "31, low"), ("fifth", "measured"), ("seventh", "proposed")])
def test_the_slide_is_heard_as_it_is_drawn(scene: Any, note: str, pitch: str) -> None:
    """By Praat (Boersma 1993), the solo alone: where the runner is, there the pitch is."""
    values = SHOW.settle({"note": note, "pitch": pitch})
    score, bends = SHOW.score(**values), SHOW.bends(**values)
    solo = [i for i, one in enumerate(score.notes) if one.voice == "solo"]
    samples = render(score.only("solo"), SHOW.timbre(**values), bends=[bends[i] for i in solo])
    found = parselmouth.Sound(samples, SAMPLE_RATE).to_pitch_ac(time_step=0.01, pitch_floor=150)
    scene.update(**values)
    [dots, *_] = scene.parts["steps"]
    x = dots.get_xdata()
    cent = float(x[1] - x[0]) * 31 / 1200
    home, compared = Note.parse("C4").hz(THIRTY_ONE), 0
    for seconds in np.arange(3, 32) / 10:
        scene.update(**values)
        scene.light(Playing(float(seconds), (0, 1, 2, solo[0])))
        runner = next(artist for artist in scene.moving if artist.get_label() == "runner")
        heard = 1200 * math.log2(found.get_value_at_time(seconds) / home)
        seen = (runner.get_xdata()[0] - x[0]) / cent + 1200 * BLUE_NOTES[note].steps(THIRTY_ONE)[0] / 31
        assert heard == pytest.approx(float(seen), abs=3)
        compared += 1
    assert compared == 29


def test_each_slide_ends_on_a_note_of_the_chord() -> None:
    """E, G and C of C7 in the tuning that is heard."""
    for note, goal in (("third", "E4"), ("fifth", "G4"), ("seventh", "C5")):
        for pitch, tuning in (("31, middle", THIRTY_ONE), ("12", equal(12))):
            values = {"note": note, "pitch": pitch}
            first = next(one for one in SHOW.score(**values).notes if one.voice == "solo")
            bend = next(bend for bend in SHOW.bends(**values) if len(bend))
            above = 1200 * math.log2(first.hertz * bend[-1] / Note.parse("C4").hz(THIRTY_ONE))
            assert above == pytest.approx(float(tuning.cents_of(Note.parse(goal).step(tuning))), abs=1e-6)
