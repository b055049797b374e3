"""Comparisons of exhibits: ways to tune a sound between which a listener flips while it sounds."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from test_exhibits import settings

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Choice, Exhibit, Slider
from tunelib.live import exhibit_program
from tunelib.sound import expected_loudness, loudness

COMPARED = [exhibit for exhibit in EXHIBITS.values() if exhibit.comparisons]
EVERY = pytest.mark.parametrize("exhibit", COMPARED, ids=lambda exhibit: exhibit.name)


def ways(exhibit: Exhibit, values: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """All knob values of each way, with the other knobs as given."""
    return {way: exhibit.settle(values | dict(knobs)) for way, knobs in exhibit.comparisons.items()}


def everywhere(exhibit: Exhibit) -> Iterator[dict[str, dict[str, Any]]]:
    """The ways at the default and corners of the other knobs and at random places, each once."""
    seen = []
    for values in settings(exhibit, extra=4):
        compared = ways(exhibit, values)
        if compared not in seen:
            seen.append(compared)
            yield compared


@EVERY
def test_each_way_is_a_setting_that_the_knobs_can_be_moved_to(exhibit: Exhibit) -> None:
    """Two ways at least, all different, with short names; all set the same knobs, at stops of sliders."""
    knobs = {knob.name: knob for knob in exhibit.knobs}
    assert len(exhibit.comparisons) >= 2
    assert len({frozenset(way) for way in exhibit.comparisons.values()}) == 1
    for name, way in exhibit.comparisons.items():
        assert 1 <= len(name) <= 14
        for knob, value in way.items():
            assert knobs[knob].check(value) == value
            if isinstance(slider := knobs[knob], Slider):
                assert not slider.logarithmic, "the stops of such a slider are not round numbers"
                steps = (value - slider.low) / slider.step
                assert steps == pytest.approx(round(steps), abs=1e-6)
    assert all(one != other for one, other in itertools.combinations(exhibit.comparisons.values(), 2))


@EVERY
def test_all_ways_have_the_same_notes(exhibit: Exhibit) -> None:
    """The same number in each voice, in the same order, at the same times, wherever the other knobs are."""
    for compared in everywhere(exhibit):
        written = []
        for values in compared.values():
            score = exhibit.score(**values)
            notes = [(note.voice, float(note.onset), float(note.duration), note.level > 0) for note in score.notes]
            written.append((score.tempo, notes))
        assert all(other == written[0] for other in written[1:]), compared


@EVERY
def test_all_ways_are_equally_loud(exhibit: Exhibit) -> None:
    """To half a LU (ITU-R BS.1770-4): as rendered at the default, and as worked out wherever the other knobs are."""
    rendered = [loudness(exhibit.sound(**values)) for values in ways(exhibit, exhibit.settle({})).values()]
    assert np.ptp(rendered) < 0.5
    for compared in everywhere(exhibit):
        foreseen = [
            expected_loudness(exhibit.score(**values), exhibit.timbre(**values)) + 20 * np.log10(exhibit.gain(**values))
            for values in compared.values()
        ]
        assert np.ptp(foreseen) < 0.5, compared


@EVERY
def test_each_way_is_heard_seen_and_said(exhibit: Exhibit) -> None:
    """What the page plays differs from way to way, and so does the sentence under the picture."""
    compared = ways(exhibit, exhibit.settle({})).values()
    assert len({exhibit_program(exhibit, values) for values in compared}) == len(compared)
    assert len({exhibit.sentence(**values) for values in compared}) == len(compared)


def test_a_knob_that_retunes_is_one_to_compare_by() -> None:
    """Where a choice changes what is heard between twelve and thirty-one, a listener can flip between the two."""
    found = []
    for exhibit in EXHIBITS.values():
        for knob in exhibit.knobs:
            if isinstance(knob, Choice):
                in_twelve = [option for option in knob.options if re.search(r"\b(12|twelve)\b", option)]
                in_thirty_one = [option for option in knob.options if re.search(r"\b(31|thirty-one)\b", option)]
                values = [exhibit.settle({knob.name: option}) for option in (*in_twelve, *in_thirty_one)]
                heard = {tuple(note.hertz for note in exhibit.score(**at).notes) for at in values}
                if in_twelve and in_thirty_one and len(heard) > 1:
                    found.append(exhibit.name)
                    offered = {way.get(knob.name) for way in exhibit.comparisons.values()}
                    assert offered & set(in_twelve) and offered & set(in_thirty_one), exhibit.name
    assert len(found) >= 6
