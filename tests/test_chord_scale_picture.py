"""The exhibit of scales over a chord: what is drawn, read and heard agree with the scales and with plain arithmetic."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.laid_out import laid_out
from tunelib.exhibits import EXHIBITS, Playing
from tunelib.exhibits.chord_scale import laid_scale
from tunelib.harmony import Chord, scales_over
from tunelib.live import notes_at
from tunelib.pitch import INSTRUMENTS, THIRTY_ONE, instrument

EXHIBIT = EXHIBITS["chord_scale"]
CHOICES = {knob.name: knob.options for knob in EXHIBIT.knobs}


def settled(**values: Any) -> dict[str, Any]:
    return EXHIBIT.settle(values)


def laid(**values: Any) -> Any:
    given = settled(**values)
    del given["hear"]
    return laid_scale(**given)


@pytest.mark.parametrize("chord", CHOICES["chord"])
def test_flips_have_the_same_notes_at_the_same_times(chord: str) -> None:
    """Pure, in twelve and in thirty-one: as many notes in the same voices, none below the one before it."""
    for scale in CHOICES["scale"]:
        scores = [EXHIBIT.score(**settled(chord=chord, scale=scale, tuned=tuned)) for tuned in CHOICES["tuned"]]
        keys = [[(note.voice, note.onset, note.duration) for note in score.notes] for score in scores]
        assert keys[0] == keys[1] == keys[2]
        for tuned in CHOICES["tuned"]:
            assert (np.diff(laid(chord=chord, scale=scale, tuned=tuned).sizes) > 0).all()


def test_what_is_heard_is_the_scale_at_its_steps() -> None:
    """On C4 in thirty-one, up and down over the chord from C3, from 440 Hz and logarithms alone."""
    score = EXHIBIT.score(**settled(chord="harm7"))
    c4 = 440 * 2 ** (-23 / 31)  # A is 23 steps above C
    up = [0, 5, 10, 13, 18, 23, 25, 31]
    heard = [31 * math.log2(note.hertz / c4) for note in score.notes if note.voice == "scale"]
    assert heard == pytest.approx([*up, *up[-2::-1]], abs=1e-6)
    under = [31 * math.log2(note.hertz / c4) for note in score.notes if note.voice == "chord"]
    assert under == pytest.approx([-31, -21, -13, -6], abs=1e-6)


def test_pure_the_chord_is_four_to_seven_and_in_twelve_it_is_on_keys() -> None:
    """4:5:6:7, and semitones."""
    pure = [note.hertz for note in EXHIBIT.score(**settled(tuned="pure", hear="chord alone")).notes]
    assert [hertz / pure[0] * 4 for hertz in pure] == pytest.approx([4, 5, 6, 7])
    keys = [note.hertz for note in EXHIBIT.score(**settled(tuned="12 steps", hear="chord alone")).notes]
    assert [12 * math.log2(hertz / keys[0]) for hertz in keys] == pytest.approx([0, 4, 7, 10])


def test_held_the_chord_alone_rings_on_and_with_the_scale_it_goes_round() -> None:
    """To play over: after its end all of the chord still sounds, and no note does where the scale begins anew."""
    for hear, rings in (("chord alone", True), ("chord and scale", False)):
        values = settled(hear=hear)
        score = EXHIBIT.score(**values)
        later = score.seconds(score.beats) + 1
        found = notes_at(score, EXHIBIT.timbre(**values), later, hold=True)
        assert found == (tuple(range(len(score.notes))) if rings else ())


@pytest.mark.parametrize("name", ["flute", "alto saxophone", "clarinet in B♭", "trumpet", "bass guitar", "viola"])
def test_a_player_reads_what_sounds(name: str) -> None:
    """Written notes sound the scale on the root, and are within the player's range."""
    player = instrument(name)
    for root in CHOICES["root"]:
        found = laid(chord="7alt", root=root, instrument=name)
        sounding = [player.sounding(note).step(THIRTY_ONE) for note in found.written]
        assert np.diff(sounding).tolist() == list(found.scale.gaps)
        assert player.sounding(found.written[0]).name == root
        assert player.lowest.quartertones <= found.written[0].quartertones
        assert found.written[-1].quartertones <= player.highest.quartertones


def test_the_last_scale_is_shown_past_the_last() -> None:
    """A chord with one scale shows it, and says that it is 1 of 1."""
    found = laid(chord="neumid7", scale="fourth")
    assert (found.number, found.count, found.scale.name) == (1, 1, "neutral")
    assert "scale 1 of 1: neutral" in EXHIBIT.sentence(**settled(chord="neumid7", scale="fourth"))


def test_the_picture_counts_the_notes_to_mind_and_lights_the_note_that_sounds() -> None:
    """3 over C7alt in thirty-one and 0 in twelve; the third note is lit at its beat, and no other."""
    scene = laid_out("chord_scale")
    number = scene.parts["mind"][0]
    marks = [mark for mark in scene.parts["marks"] if mark.get_marker() != "None"]
    for tuned, count in (("31 steps", "3"), ("12 steps", "0")):
        scene.update(**settled(chord="7alt", tuned=tuned))
        assert number.get_text() == count == EXHIBIT.numbers(**settled(chord="7alt", tuned=tuned))["mind"]
    score = EXHIBIT.score(**settled(chord="7alt", tuned="12 steps"))
    before = [mark.get_markersize() for mark in marks]
    third = next(i for i, note in enumerate(score.notes) if note.voice == "scale") + 2
    scene.light(Playing(1.0, (0, third)))
    after = [mark.get_markersize() for mark in marks]
    assert [i for i, (one, other) in enumerate(zip(before, after, strict=True)) if one != other] == [2]


def test_marks_are_where_the_scale_is() -> None:
    """Along the row, each mark is at its share of the octave."""
    scene = laid_out("chord_scale")
    scene.update(**settled(chord="7b9"))
    marks = [mark for mark in scene.parts["marks"] if mark.get_marker() != "None" and mark.get_visible()]
    x = np.array([mark.get_xdata()[0] for mark in marks])
    assert ((x - x[0]) / (x[-1] - x[0]) * 31).tolist() == pytest.approx([0, 3, 8, 10, 15, 18, 23, 26, 31])
    assert [text.get_text() for text in scene.parts["gaps"]] == "3 5 2 5 3 5 3 5".split()


def test_a_page_for_a_player_has_all_scales_over_the_chord() -> None:
    """For the alto saxophone C is A: the table has the scales over A7, and says how they sound."""
    page = EXHIBIT.printed(**settled(chord="7", instrument="alto saxophone"))
    over = scales_over(Chord.parse("A7"), THIRTY_ONE)
    assert [row[0] for row in page.rows] == [scale.name for scale in over]
    assert page.rows[0][1] == "A B C♯ D E F♯ G"
    assert page.rows[0][3] == "D: a semitone above C♯"
    assert "It sounds as C7." in page.introduction
    assert all(len(row) == len(page.head) for row in page.rows)


def test_every_instrument_has_a_place_for_it() -> None:
    """Whatever the instrument, a written octave can be drawn, and its root sounds the chord's."""
    for name in INSTRUMENTS:
        found = laid(instrument=name, root="E♭")
        assert INSTRUMENTS[name].sounding(found.written[0]).name == "E♭"
