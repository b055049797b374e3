"""Knobs moved along keyframes."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Choice, Slider, Switch
from tunelib.film.timeline import EASES, LAST_STAY, Keyframe, Timeline

WAVE, LADDER = EXHIBITS["wave"], EXHIBITS["harmonic_ladder"]


def frequency(seconds: float, *keyframes: Keyframe) -> float:
    """What the frequency of the wave is at a moment."""
    return float(Timeline(WAVE, keyframes).values(seconds)["hertz"])


def test_knobs_stand_still_before_the_first_keyframe_during_a_hold_and_after_the_last() -> None:
    """Nothing moves but between keyframes."""
    keyframes = Keyframe(1, {"hertz": 220}, hold=2), Keyframe(4, {"hertz": 440})
    assert [frequency(t, *keyframes) for t in (0, 1, 2, 3, 4, 9)] == [220, 220, 220, 220, 440, 440]
    assert 220 < frequency(3.2, *keyframes) < frequency(3.5, *keyframes) < 440


def test_a_logarithmic_slider_moves_by_ratios_and_another_by_differences() -> None:
    """Halfway from 220 to 880 Hz is 440, an octave from each; halfway from 20 to 80 per cent is 50."""
    line = Timeline(WAVE, [Keyframe(0, {"hertz": 220, "level": 20}), Keyframe(2, {"hertz": 880, "level": 80})])
    assert line.values(1)["hertz"] == pytest.approx(440)
    assert line.values(1)["level"] == 50


def test_whole_numbers_stay_whole_and_stop_where_the_slider_does() -> None:
    """A slider of whole numbers goes through its stops and no others."""
    knob = next(knob for knob in LADDER.knobs if isinstance(knob, Slider) and knob.whole)
    line = Timeline(LADDER, [Keyframe(0, {knob.name: knob.low}), Keyframe(10, {knob.name: knob.high})])
    seen = [line.values(t)[knob.name] for t in np.linspace(0, 10, 400)]
    assert all(isinstance(value, int) for value in seen)
    assert sorted(set(seen)) == list(range(int(knob.low), int(knob.high) + 1, int(knob.step)))
    assert seen == sorted(seen)


def test_words_and_switches_go_straight_to_what_they_will_be_and_count_from_the_keyframe_on() -> None:
    """Twelve to thirty-one does not pass nineteen: the picture glides there in the last second, as its ease says, and
    what is said and heard changes on arrival."""
    checked = set()
    for exhibit in EXHIBITS.values():
        for knob in exhibit.knobs:
            if isinstance(knob, Slider):
                continue
            every: Any = knob.options if isinstance(knob, Choice) else (False, True)
            options = [one for one in every if not exhibit.clash(**{**exhibit.settle({}), knob.name: one})]
            first, last = options[0], options[-1]
            line = Timeline(exhibit, [Keyframe(0, {knob.name: first}), Keyframe(4, {knob.name: last})])
            moments = [line.moment(t) for t in np.linspace(0, 4, 401).tolist()]
            assert [m.values[knob.name] for m in moments] == [first] * 400 + [last], (exhibit.name, knob.name)
            ways = [m.way for m in moments]
            assert max(ways[:301]) < 1e-9 and ways[400] == 0 and ways[301:400] == sorted(ways[301:400])
            assert ways[350] == pytest.approx(0.5) and ways[399] > 0.99
            assert all((m.there == line.stops[1].values) == (m.way > 0) for m in moments)
            checked.add((type(knob), isinstance(knob, Choice) and knob.ordered))
    assert checked == {(Choice, True), (Choice, False), (Switch, False)}


def test_a_slider_of_whole_numbers_glides_from_stop_to_stop() -> None:
    """Three steps in three seconds, evenly: at each second it has arrived, and halfway it is half of the way."""
    knob = next(knob for knob in LADDER.knobs if isinstance(knob, Slider) and knob.whole)
    first = int(knob.low)
    keyframes = [Keyframe(0, {knob.name: first}), Keyframe(3, {knob.name: first + 3}, ease="steady")]
    line = Timeline(LADDER, keyframes)
    for stage in range(3):
        moment = line.moment(stage + 0.5)
        assert moment.there is not None and moment.way == pytest.approx(0.5)
        assert (moment.values[knob.name], moment.there[knob.name]) == (first + stage, first + stage + 1)
    slow = Timeline(LADDER, [keyframes[0], Keyframe(4, {knob.name: first + 1}, ease="steady")])
    assert slow.moment(2.9).there is None and slow.moment(3.5).way == pytest.approx(0.5)


def test_stops_that_come_faster_than_they_can_be_seen_are_not_glided_between() -> None:
    """At ten a second each is shown as it is; at five, words change on the way without fading."""
    knob = next(knob for knob in LADDER.knobs if isinstance(knob, Slider) and knob.whole and knob.high - knob.low >= 10)
    low = int(knob.low)
    line = Timeline(LADDER, [Keyframe(0, {knob.name: low}), Keyframe(0.9, {knob.name: low + 10}, ease="steady")])
    moments = [line.moment(t) for t in np.linspace(0, 0.9, 101).tolist()]
    assert {m.there is None for m in moments} == {True}
    assert list(dict.fromkeys(m.values[knob.name] for m in moments)) == list(range(low, low + 11))
    slower = Timeline(LADDER, [Keyframe(0, {knob.name: low}), Keyframe(2, {knob.name: low + 10}, ease="steady")])
    assert slower.moment(0.1).quick and slower.moment(0.1).way == pytest.approx(0.5)


def test_even_sliders_are_true_on_both_sides_of_a_glide() -> None:
    """While a division changes under a number that moves, both settings have the number that it has by then."""
    beats = EXHIBITS["five_thirds"]
    even = next(knob for knob in beats.knobs if isinstance(knob, Slider) and not knob.whole)
    other = next(knob for knob in beats.knobs if knob is not even and knob.corners[0] != knob.corners[1])
    ends = [{knob.name: knob.corners[end] for knob in (even, other)} for end in (0, 1)]
    line = Timeline(beats, [Keyframe(0, ends[0]), Keyframe(1, ends[1])])
    moment = line.moment(0.97)
    assert moment.there is not None
    assert moment.values[even.name] == moment.there[even.name]
    assert ends[0][even.name] < moment.values[even.name] < ends[1][even.name]
    assert moment.values[other.name] != moment.there[other.name]


def test_a_jump_does_not_glide() -> None:
    """Until the moment itself nothing happens."""
    exhibit, knob = next(
        (exhibit, knob) for exhibit in EXHIBITS.values() for knob in exhibit.knobs if isinstance(knob, Switch)
    )
    line = Timeline(exhibit, [Keyframe(0, {knob.name: False}), Keyframe(2, {knob.name: True}, ease="jump")])
    assert all(line.moment(t).there is None for t in np.linspace(0, 2, 101).tolist())
    assert [line.values(t)[knob.name] for t in (1.99, 2)] == [False, True]


@pytest.mark.parametrize("ease", EASES)
def test_every_ease_begins_where_it_is_and_arrives_where_it_goes(ease: str) -> None:
    """At the share 0 nothing has happened and at 1 all has; between them it never turns back."""
    way = [EASES[ease](share) for share in np.linspace(0, 1, 101).tolist()]
    assert way[0] == 0 and way[-1] == 1
    assert all(b >= a for a, b in pairwise(way))
    gentle = {"in and out": (True, True), "in": (True, False), "out": (False, True), "steady": (False, False)}
    if ease in gentle:
        assert (way[1] < 0.005, way[-2] > 0.995) == gentle[ease]
    else:
        assert set(way) == {0, 1}


def test_eases_follow_their_curves() -> None:
    """From rest at a steady acceleration the ways of equal times are as 1:3:5:7 (G. Galilei, *Discorsi*, 1638), and to
    a stop as 7:5:3:1; in and out is the cubic that is level at both ends, 3t² - 2t³ (C. Hermite's interpolation)."""
    ways = {
        "in": [0, 1 / 16, 4 / 16, 9 / 16, 1],
        "out": [0, 7 / 16, 12 / 16, 15 / 16, 1],
        "in and out": [0, 5 / 32, 1 / 2, 27 / 32, 1],
        "steady": [0, 1 / 4, 1 / 2, 3 / 4, 1],
        "jump": [0, 0, 0, 0, 1],
    }
    assert set(ways) == set(EASES)
    for ease, way in ways.items():
        line = Timeline(WAVE, [Keyframe(2, {"moment": 0}), Keyframe(6, {"moment": 1}, ease=ease)])
        assert [line.values(2 + quarter)["moment"] for quarter in range(5)] == pytest.approx(way, abs=1e-6), ease
    unsaid = Timeline(WAVE, [Keyframe(2, {"moment": 0}), Keyframe(6, {"moment": 1})])
    assert unsaid.values(3)["moment"] == pytest.approx(5 / 32, abs=1e-6)


def test_a_clip_stays_three_seconds_after_its_last_move_and_lasts_half_an_hour_at_most() -> None:
    """After the hold, if there is one; so it is promised to who gives no length"""
    assert Timeline(WAVE, [Keyframe(2)]).seconds == 5
    assert Timeline(WAVE, [Keyframe(2, hold=1.5)]).seconds == 6.5
    for seconds in (0.5, 1800):
        assert Timeline(WAVE, [Keyframe(0)], seconds).seconds == seconds
    for seconds in (0.49, 1800.1):
        with pytest.raises(ValueError, match="from 0.5 to 1800 seconds"):
            Timeline(WAVE, [Keyframe(0)], seconds)


@given(st.lists(st.tuples(st.floats(0.01, 5), st.floats(0, 3), st.floats(0, 1)), min_size=1, max_size=6))
def test_values_always_lie_between_their_neighbours(plan: list[tuple[float, float, float]]) -> None:
    """At any moment a knob is between the values of the keyframes about it, and is a value that the knob takes."""
    at, keyframes = 0.0, []
    for gap, hold, place in plan:
        at += gap
        keyframes.append(Keyframe(at, {"moment": place}, hold=hold))
        at += hold
    line = Timeline(WAVE, keyframes)
    assert line.seconds == pytest.approx(at + LAST_STAY)
    for t in np.linspace(0, line.seconds, 50).tolist():
        settled = line.values(t)
        assert WAVE.settle(settled) == settled
        before = [stop for stop in line.stops if stop.at <= t] or line.stops[:1]
        after = [stop for stop in line.stops if stop.at >= t] or line.stops[-1:]
        ends = sorted((before[-1].values["moment"], after[0].values["moment"]))
        assert ends[0] - 1e-9 <= settled["moment"] <= ends[1] + 1e-9


def test_the_same_object_comes_back_while_nothing_moves() -> None:
    """So a picture that has not changed need not be drawn again."""
    line = Timeline(WAVE, [Keyframe(0, {"hertz": 220}, hold=1), Keyframe(2, {}), Keyframe(3, {"hertz": 440})])
    assert line.values(0) is line.values(1)
    assert line.values(1.5)["hertz"] == line.values(2)["hertz"] == 220


@pytest.mark.parametrize(
    ("keyframes", "seconds", "message"),
    [
        ([], None, "needs at least one keyframe"),
        ([Keyframe(0), Keyframe(0)], None, r"keyframe 2: it comes at 0 s, not after the one before"),
        ([Keyframe(0, hold=3), Keyframe(2)], None, "keyframe 2: it comes at 2 s, while the one before is held until 3"),
        ([Keyframe(-1)], None, "keyframe 1: at is 0 seconds or more, not -1"),
        ([Keyframe(0, hold=float("nan"))], None, "keyframe 1: hold is a number of seconds, not nan"),
        ([Keyframe(True)], None, "keyframe 1: at is a number of seconds, not True"),
        ([Keyframe(0, {"herz": 3})], None, "keyframe 1: no knob is called 'herz'; did you mean hertz"),
        ([Keyframe(0), Keyframe(1, {"hertz": 3})], None, "keyframe 2: hertz goes from 55 to 1760 Hz, not to 3"),
        ([Keyframe(0, ease="in and uot")], None, "keyframe 1: no ease is called 'in and uot'; did you mean in and out"),
        ([Keyframe(4)], 3, "keyframe 1 lasts until 4 s, and the clip only 3 s"),
        ([Keyframe(0)], 0.1, "lasts from 0.5 to 1800 seconds, not 0.1"),
        ([Keyframe(0)], float("nan"), "lasts from 0.5 to 1800 seconds, not nan"),
    ],
)  # fmt: skip
def test_a_timeline_says_what_is_wrong_and_where(
    keyframes: list[Keyframe], seconds: float | None, message: str
) -> None:
    """Each mistake is named with its keyframe."""
    with pytest.raises(ValueError, match=message):
        Timeline(WAVE, keyframes, seconds)


def test_knobs_are_known_by_any_spelling_of_their_name() -> None:
    """As elsewhere, capitals and hyphens do not matter."""
    line = Timeline(WAVE, [Keyframe(0, {"Hertz": 300})])
    assert line.stops[0].values["hertz"] == 300
