"""What is taped, as the player in the page plays it: the recording itself, levelled, on ramps, and flipped in place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from offline import Play, offline
from test_live_player import decibels, rms, worst_click
from test_take_heard import samples

from tunelib.hearing import Recording, hear, parse_targets
from tunelib.live import Tape
from tunelib.live.program import TAPE_RAMP
from tunelib.practice.take_programs import as_played, in_tune, one_note
from tunelib.sound import REFERENCE_LOUDNESS, SAMPLE_RATE, USUAL_PEAK_DBFS, loudness

CEILING = 10 ** (USUAL_PEAK_DBFS / 20)


@pytest.fixture(scope="module")
def play(chromium: Any) -> Iterator[Play]:
    with offline(chromium) as playing:
        yield playing


def tape_of(sound: np.ndarray[Any, Any]) -> Tape:
    return Tape.of(Recording.of(sound, SAMPLE_RATE), 0.0, 60.0)


@pytest.mark.parametrize("loud", [0.02, 1.0, 3.5])
def test_a_take_is_heard_as_it_was_recorded_and_at_the_loudness_of_all_else(play: Play, loud: float) -> None:
    """Sample by sample, but for the level and the ramps at its ends."""
    sound = samples(loud)
    tape = tape_of(sound)
    heard = play(as_played(tape), sound.size, tapes=[tape])
    before_the_ramp = sound.size - round(TAPE_RAMP * SAMPLE_RATE)
    wanted = sound * 10 ** ((REFERENCE_LOUDNESS - loudness(sound)) / 20)
    assert decibels(rms((heard - wanted)[:before_the_ramp]) / rms(wanted)) < -60
    assert loudness(heard) == pytest.approx(REFERENCE_LOUDNESS, abs=0.1)


def test_nothing_of_a_take_passes_the_ceiling(play: Play) -> None:
    """Blows that are far louder than the rest, which the limiter turns down."""
    sound = 0.01 * np.sin(2 * np.pi * 300 * np.arange(3 * SAMPLE_RATE) / SAMPLE_RATE)
    sound[SAMPLE_RATE : SAMPLE_RATE + 40] = 0.99
    tape = tape_of(sound)
    heard = play(as_played(tape), sound.size, tapes=[tape])
    assert 0.5 * CEILING < np.abs(heard).max() <= CEILING * (1 + 1e-6)


def test_a_take_that_is_cut_begins_and_ends_on_a_ramp(play: Play) -> None:
    """Out of the middle of a tone; beside it, the same without ramps clicks."""
    sound = 0.3 * np.sin(2 * np.pi * 300 * np.arange(2 * SAMPLE_RATE) / SAMPLE_RATE + 1)
    tape = tape_of(sound)
    heard = play(as_played(tape), sound.size + 9600, tapes=[tape])
    quiet = np.zeros(4800)
    assert worst_click(np.concatenate([quiet, heard])) < -70 < -40 < worst_click(np.concatenate([quiet, sound, quiet]))


def test_the_same_moment_is_heard_after_a_flip(play: Play) -> None:
    """To the targets and back: the recording goes on where it would have been, and nothing clicks on the way."""
    sound = samples()
    tape, report = tape_of(sound), hear(sound, SAMPLE_RATE).against(parse_targets("31"))
    played, tuned = as_played(tape), in_tune(report, tape)
    changes = [(0.7, "follow", tuned, True), (1.6, "follow", played, True)]
    heard = play(played, sound.size, changes, tapes=[tape])
    straight = play(played, sound.size, tapes=[tape])
    for part in (slice(0, round(0.69 * SAMPLE_RATE)), slice(round(1.65 * SAMPLE_RATE), None)):
        assert rms((heard - straight)[part]) < 1e-5 * rms(straight)
    between = heard[round(0.8 * SAMPLE_RATE) : round(1.5 * SAMPLE_RATE)]
    fresh = play(tuned, sound.size)[round(0.8 * SAMPLE_RATE) : round(1.5 * SAMPLE_RATE)]
    assert decibels(rms(between) / rms(fresh)) == pytest.approx(0, abs=1)


def test_a_note_and_its_target_are_equally_loud_with_silence_between(play: Play) -> None:
    sound = samples(0.05)
    tape, report = tape_of(sound), hear(sound, SAMPLE_RATE).against(parse_targets("31"))
    pair = one_note(report, 1, tape)
    heard = play(pair.program, round((pair.again + 1.2) * SAMPLE_RATE), tapes=[tape])
    again = round(pair.again * SAMPLE_RATE)
    assert loudness(heard[: again - 4800]) == pytest.approx(REFERENCE_LOUDNESS, abs=0.5)
    assert loudness(heard[again:]) == pytest.approx(REFERENCE_LOUDNESS, abs=0.3)
    assert rms(heard[again - 9600 : again - 100]) < 1e-4 * rms(heard)
