"""Knobs: the values that each takes, and what makes no sense together, wherever an exhibit is shown."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.lines import Line2D

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import Look
from tunelib.film.mistakes import ShotListError
from tunelib.film.shots import parse_episode
from tunelib.film.timeline import Keyframe, Timeline
from tunelib.score import Score, ScoreNote
from tunelib.show.panel import panel
from tunelib.show.still import still
from tunelib.sound.timbre import TIMBRES

ENDS = st.one_of(st.integers(-(10**6), 10**6), st.floats(-1e6, 1e6, allow_nan=False))


@given(st.tuples(ENDS, ENDS).map(sorted), st.data())
def test_a_slider_takes_what_lies_between_its_ends_and_nothing_else(ends: list[float], data: st.DataObject) -> None:
    low, high = ends
    knob = Slider("a", "A", low, high, 1, low)
    assert (knob.check(low), knob.check(high)) == (low, high)
    whole = knob.whole
    inside = data.draw(st.integers(int(low), int(high)) if whole else st.floats(low, high))
    assert knob.check(inside) == pytest.approx(inside, rel=1e-8, abs=1e-8 * max(abs(low), abs(high)))
    beyond = max(1, abs(low), abs(high)) * data.draw(st.floats(0.001, 1e6))
    for outside in (high + beyond, low - beyond, float("nan"), float("inf"), 10**400, -(10**5000), True, "1"):
        with pytest.raises(ValueError, match=r"^a ") as refused:
            knob.check(outside)
        assert len(str(refused.value)) < 200


class Parts(Exhibit):
    """Equal parts of a bar, some of them silent: never more than there are."""

    name = "parts"
    title = "Parts"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("parts", "Parts", 1, 8, 1, 4),
        Slider("silent", "Silent parts", 0, 8, 1, 1),
    )

    def clash(self, parts: int, silent: int) -> str:
        return f"{silent} of {parts} parts cannot be silent: 0 to {parts} can" if silent > parts else ""

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        line = Line2D([0, 1], [0, 1])
        axes.add_line(line)

        def update(parts: int, silent: int) -> None:
            line.set_ydata([0, 1 - silent / parts])

        return Scene([line], update)

    def sentence(self, parts: int, silent: int) -> str:
        return f"{parts - silent} of {parts} parts sound."

    def score(self, parts: int, silent: int) -> Score:
        return Score(tuple(ScoreNote(place, 0.5, 440.0) for place in range(max(1, parts - silent))))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]


@pytest.fixture
def parts() -> Iterator[None]:
    EXHIBITS["parts"] = Parts()
    yield
    del EXHIBITS["parts"]


WHY = "8 of 2 parts cannot be silent: 0 to 2 can"


def test_what_makes_no_sense_together_is_refused_in_a_still_a_panel_and_a_clip(parts: None, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=f"^{WHY}$"):
        still("parts", tmp_path / "a.png", parts=2, silent=8)
    with pytest.raises(ValueError, match=f"^{WHY}$"):
        panel("parts", parts=2, silent=8)
    with pytest.raises(ValueError, match=f"^keyframe 2: {WHY}$"):
        Timeline(EXHIBITS["parts"], [Keyframe(0, {"parts": 8, "silent": 8}), Keyframe(2, {"parts": 2})])
    assert not list(tmp_path.iterdir())


def test_knobs_that_clash_only_on_the_way_are_refused_with_the_moment(parts: None) -> None:
    first, last = {"parts": 8, "silent": 6}, {"parts": 1, "silent": 0}

    class Stubborn(Parts):
        def clash(self, parts: int, silent: int) -> str:
            return "3 parts cannot be shown" if parts == 3 else ""

    with pytest.raises(ValueError, match=r"^keyframe 2: on the way to it, at 1\.\d+ s, 3 parts cannot be shown"):
        Timeline(Stubborn(), [Keyframe(0, first), Keyframe(2, last)])
    Timeline(Stubborn(), [Keyframe(0, first), Keyframe(2, last, ease="jump")])
    Timeline(EXHIBITS["parts"], [Keyframe(0, first), Keyframe(2, last)])


def test_a_panel_whose_knobs_clash_keeps_its_picture_and_says_why(parts: None) -> None:
    shown = panel("parts", parts=4, silent=3)
    before = shown.image.value
    shown.knobs["parts"].value = 2
    assert shown.values == {"parts": 4, "silent": 3} and shown.image.value == before
    assert shown.sentence == "1 of 4 parts sound."
    assert (
        "3 of 2 parts cannot be silent: 0 to 2 can. The picture stays as it was: 1 of 4 parts sound."
        in shown.words.value
    )
    shown.knobs["silent"].value = 2
    assert shown.values == {"parts": 2, "silent": 2} and shown.image.value != before
    assert "cannot" not in shown.words.value and "0 of 2 parts sound." in shown.words.value


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('[[shot]]\nname = "a"\nexhibit = "parts"\nknobs = { silent = 8, parts = 2 }\n', 4),
        ('[[shot]]\nname = "a"\nexhibit = "parts"\nknobs.parts = 2\n[[shot.keyframe]]\nat = 0\nknobs.silent = 8\n', 7),
    ],
)
def test_in_a_shot_list_a_clash_is_found_on_its_line_and_alone(parts: None, text: str, line: int) -> None:
    with pytest.raises(ShotListError) as caught:
        parse_episode(text.encode())
    assert [(mistake.line, mistake.what) for mistake in caught.value.mistakes] == [(line, WHY)]


def test_a_knob_that_clashes_with_a_default_alone_is_right_in_a_shot_list(parts: None) -> None:
    text = '[[shot]]\nname = "a"\nexhibit = "parts"\nknobs = { silent = 6, parts = 8 }\n'
    assert parse_episode(text.encode()).shots[0].stops[0].values == {"parts": 8, "silent": 6}


@pytest.mark.parametrize("name", tuple(EXHIBITS))
def test_the_defaults_of_an_exhibit_make_sense(name: str) -> None:
    EXHIBITS[name].settle({})


def _widget_stops(knob: Slider, widget: Any) -> list[Any]:
    """The values that a slider on the page may send, as it works them out."""
    if knob.logarithmic:
        count = round((widget.max - widget.min) / widget.step)
        return [min(widget.base ** (widget.min + n * widget.step), widget.base**widget.max) for n in range(count + 1)]
    return [widget.min + n * widget.step for n in range(round((widget.max - widget.min) / widget.step) + 1)]


@pytest.mark.parametrize("name", tuple(EXHIBITS))
def test_at_every_stop_the_live_sentence_is_the_stored_one(name: str) -> None:
    """What a widget works out is the same value as the one that is given first: in the picture, in words and in sound.

    A stop that was reached by sliding and one that a lesson names would else differ by a hair, which a threshold may
    fall into.
    """
    exhibit, shown = EXHIBITS[name], panel(name)
    start = exhibit.settle({})
    for knob in exhibit.knobs:
        if not isinstance(knob, Slider):
            continue
        for sent in _widget_stops(knob, shown.knobs[knob.name]):
            live = knob.snap(sent, start[knob.name])
            assert live == pytest.approx(sent, rel=1e-9, abs=1e-9)
            meant = _meant(knob, start[knob.name], sent)
            assert live == meant, f"{knob.name}: {live!r} is not {meant!r}"
            assert knob.snap(live, start[knob.name]) == live
            settled = start | {knob.name: live}
            if sent in (knob.low, knob.high, start[knob.name]) and not exhibit.clash(**settled):
                stored = exhibit.settle({knob.name: meant})
                assert exhibit.sentence(**settled) == exhibit.sentence(**stored)


def _meant(knob: Slider, start: float, sent: float) -> float:
    """The stop nearest to a value, worked out in another way: by fractions, or as a power of two times the start."""
    if knob.logarithmic:
        ends = [end for end in (knob.low, knob.high) if abs(sent - end) < 1e-6]
        steps = round(math.log2(sent / start) * knob.step)
        return float(ends[0] if ends else start * 2 ** (steps / knob.step))
    step, low = Fraction(str(knob.step)), Fraction(str(knob.low))
    exact = low + round((Fraction(sent) - low) / step) * step
    return int(exact) if knob.whole else float(exact)
