"""What Python has of the needle: its notes and their names, its target, attempts that come in, its picture."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tunelib.live import Attempt, Needle, needle
from tunelib.pitch import A4_HZ, Note, equal, hz_from_midi, instrument


def test_a_target_is_a_frequency_or_a_note_of_the_tuning() -> None:
    third = 440 * 2 ** (-13 / 31)  # E4 is thirteen steps below A4
    assert needle(31, target="E4").target == pytest.approx(third)
    assert needle(31, target=Note.parse("E4")).target == pytest.approx(third)
    assert needle(31, target=329.0).target == 329
    assert needle(31).target == 0
    assert needle("quarter-comma", target="A4", reference=415).target == pytest.approx(415)
    assert needle(31, target="E4", drone="C4").drone == pytest.approx(hz_from_midi(69) * 2 ** (-23 / 31))


def test_aim_moves_both_target_and_drone() -> None:
    shown = needle(31, target="E4", drone="C4")
    shown.aim("Ehb4")
    assert shown.target == pytest.approx(440 * 2 ** (-14 / 31)) and shown.drone == 0
    shown.aim(None, 110)
    assert (shown.target, shown.drone) == (0, 110)


@pytest.mark.parametrize("player", ["alto sax", "clarinet in B♭", "double bass", "piccolo", "flute"])
def test_names_are_those_that_the_player_reads_and_sound_as_they_did(player: str) -> None:
    shown, reads, tuning = needle(31, player=player), instrument(player), equal(31)
    for step, (name, octave) in enumerate(zip(shown.scale["names"], shown.scale["octaves"], strict=True)):
        read = Note.parse(f"{name}{octave}")
        assert reads.sounding(read).step(tuning) == step
        assert abs(read.half_sharps) <= 2, "the simplest name"
    assert shown.scale["hertz"] == pytest.approx(float(tuning.hz(0, A4_HZ)))


@pytest.mark.parametrize("tuning", [5, 12, 13, 17, 19, 31, 53, 72, "quarter-comma", "Vallotti"])
def test_any_tuning_has_a_needle_and_a_picture_for_readers_without_a_kernel(tuning: Any) -> None:
    shown = needle(tuning, target=300.0)
    data, metadata = shown._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in data
    with Image.open(io.BytesIO(data["image/png"])) as picture:
        assert picture.width == 768
    nearest = shown.notes.nearest(300.0)
    away = [abs(np.log2(shown.notes.hz(step) / 300)) for step in range(nearest - 2, nearest + 3)]
    assert int(np.argmin(away)) == 2
    assert data["text/plain"] == shown.words == metadata["image/png"]["alt"]


def test_an_attempt_that_the_page_tells_of_is_handed_on_to_everyone() -> None:
    shown, heard = needle(31, target=220.0), []
    shown.on_attempt(heard.append)
    shown.on_attempt(lambda attempt: heard.append(attempt.target))
    seconds, hertz = np.array([0, 0.011, 0.021]), np.array([219.0, np.nan, 220.5])
    shown._handle_custom_msg({"attempt": 220.0}, [seconds.tobytes(), memoryview(hertz.tobytes())])
    shown._handle_custom_msg({"something": "else"}, [])
    (attempt, target) = heard
    assert isinstance(attempt, Attempt) and target == attempt.target == 220
    np.testing.assert_array_equal(attempt.seconds, seconds)
    np.testing.assert_array_equal(attempt.hertz, hertz)


def test_a_page_without_python_gets_all_but_the_tones_as_json() -> None:
    state = needle(31, target="E4").page_state
    assert set(state) == set(Needle.class_own_traits(sync=True)) - {"tones", "_esm", "_css"}
    assert state["listening"] is False and state["lowest"] == 60


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"tuning": "no such"}, "no such"),
        ({"tuning": 31, "target": "Q4"}, "Q4"),
        ({"tuning": 31, "target": -3}, "a target must be above 0 Hz, not -3"),
        ({"tuning": 31, "target": [1]}, "a target is a frequency in hertz or a note"),
        ({"tuning": 31, "drone": 0}, "a drone must be above 0 Hz"),
        ({"tuning": 13, "target": "E4"}, "have numbers"),
        ({"tuning": 31, "player": "flutte"}, "flute"),
        ({"tuning": 31, "lowest": 10}, "from 30 Hz at the lowest to 5000 Hz, and not from 10 to 2000"),
        ({"tuning": 31, "lowest": 300, "highest": 500}, "over an octave or more"),
        ({"tuning": 31, "highest": 50000}, "not from 60.0 to 50000"),
        ({"tuning": 31, "lowest": float("nan")}, "not from nan"),
    ],
)
def test_what_does_not_exist_is_refused(given: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        needle(**given)
