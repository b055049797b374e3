"""Sound that follows moving knobs: exact where it rests, without a click where it moves."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np
import parselmouth
import pytest

from tunelib.exhibits import EXHIBITS
from tunelib.film.acts import Act, Programme
from tunelib.film.soundtrack import soundtrack
from tunelib.film.timeline import Keyframe, Timeline
from tunelib.score import Score, ScoreNote
from tunelib.sound.follow import MOMENTS_A_SECOND, SAMPLE_RATE, Moment, chord_of, follow
from tunelib.sound.loudness import loudness
from tunelib.sound.render import render
from tunelib.sound.timbre import TIMBRES


def followed(name: str, timeline: Timeline) -> np.ndarray:
    """The sound of an exhibit along a timeline."""
    exhibit, moments = EXHIBITS[name], []
    for number in range(round(timeline.seconds * MOMENTS_A_SECOND) + 1):
        values = timeline.values(number / MOMENTS_A_SECOND)
        moments.append((exhibit.score(**values), exhibit.timbre(**values), exhibit.gain(**values)))
    return follow(moments)


def held(score: Score, timbre: str, seconds: float) -> np.ndarray:
    """A score that does not change, as it would be followed."""
    moment: Moment = (score, TIMBRES[timbre], 1.0)
    return follow([moment] * (round(seconds * MOMENTS_A_SECOND) + 1))


@pytest.mark.parametrize("timbre", ["sine", "square", "reed", "bowed", "clarinet", "organ"])
def test_a_chord_that_rests_is_what_rendering_gives(timbre: str) -> None:
    """Away from its ends the sound of a score that does not move is that of `render`, to a millionth of its peak."""
    score = Score((ScoreNote(0, 1, 220.0, level=0.9), ScoreNote(0, 1, 275.0, level=0.5)))
    ours, rendered = held(score, timbre, 1), render(score, TIMBRES[timbre])
    inner = slice(1200, 46800)
    assert np.abs(ours[inner] - rendered[inner]).max() < 2e-6 * np.abs(rendered).max()
    assert ours.size == SAMPLE_RATE and ours[0] == ours[-1] == 0


def test_pitch_follows_the_knob_and_is_exact_where_it_rests() -> None:
    """Praat hears 220 Hz before the move, 440 Hz after it, and half an octave up in the middle of it."""
    line = Timeline(EXHIBITS["wave"], [Keyframe(0, {"hertz": 220}, hold=1), Keyframe(4, {"hertz": 440}, hold=1)], 5)
    heard = followed("wave", line)
    pitch = parselmouth.Sound(heard, sampling_frequency=SAMPLE_RATE).to_pitch_ac(
        time_step=0.01, pitch_floor=100, pitch_ceiling=600, very_accurate=True
    )
    for at, leeway in ((0.5, 0.1), (2.5, 3.0), (3.0, 3.0), (4.5, 0.1)):
        asked = line.values(at)["hertz"]
        assert 1200 * abs(np.log2(pitch.get_value_at_time(at) / asked)) < leeway, at
    assert line.values(2.5)["hertz"] == pytest.approx(220 * 2**0.5)


class Even(type(EXHIBITS["wave"])):  # type: ignore[misc]
    """Two seconds of a tone that begins and ends at its full level."""

    tone: ClassVar[np.ndarray] = 0.2 * np.sin(2 * np.pi * 1000 * np.arange(2 * SAMPLE_RATE) / SAMPLE_RATE + 0.1)

    def sound(self, **values: Any) -> np.ndarray:
        return self.tone


def test_a_sound_that_is_cut_off_fades_out_in_thirty_milliseconds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Along half a cosine, from full to nothing: short enough to seem cut, and long enough not to click"""
    monkeypatch.setitem(EXHIBITS, "wave", Even())
    programme = Programme(Act("wave", [Keyframe(0), Keyframe(1, {"hertz": 440})]), seconds=3)
    made = soundtrack(programme, "at keyframes", 3 * SAMPLE_RATE, None)
    assert made is not None
    heard = made.samples[:SAMPLE_RATE] / Even.tone[:SAMPLE_RATE]  # the tone is nowhere zero
    faded = np.flatnonzero(heard < 1 - 1e-9)
    assert faded[0] == pytest.approx(0.97 * SAMPLE_RATE, abs=1) and faded[-1] == SAMPLE_RATE - 1
    at = np.arange(SAMPLE_RATE - round(0.97 * SAMPLE_RATE)) / (0.03 * SAMPLE_RATE)
    assert np.abs(heard[-at.size :] - np.cos(np.pi * at / 2) ** 2).max() < 2e-3
    assert np.abs(made.samples[SAMPLE_RATE:] - Even.tone).max() == 0, "the last has its time"


def test_what_follows_begins_and_ends_within_twenty_milliseconds() -> None:
    """It rises and falls along half a cosine, and between is as loud as ever"""
    steady = held(Score((ScoreNote(0, 1, 1000.0, level=0.5),)), "sine", 1)
    crests = np.abs(steady.reshape(-1, 48)).max(axis=1)  # a period a row
    full = crests[500]
    assert np.flatnonzero(crests < 0.99 * full).tolist() == [*range(18), *range(982, 1000)]
    assert crests[9] / full == pytest.approx(0.45, abs=0.1) and crests[990] / full == pytest.approx(0.45, abs=0.1)


def test_nothing_clicks_while_it_glides() -> None:
    """The wave never leaps: no step between samples is steeper than the highest of its sines could make it."""
    line = Timeline(
        EXHIBITS["wave"], [Keyframe(0, {"hertz": 55}), Keyframe(1, {"hertz": 1760}), Keyframe(1.2, {"hertz": 100})], 1.5
    )
    heard = followed("wave", line)
    assert np.abs(np.diff(heard)).max() <= 2 * np.pi * 1760 / SAMPLE_RATE * np.abs(heard).max() * 1.001


def test_a_note_that_joins_does_so_within_a_hundredth_of_a_second() -> None:
    """Before that moment it is silent, after it as loud as it should be, and there is no leap."""
    low, high = ScoreNote(0, 1, 220.0, voice="low"), ScoreNote(0, 1, 900.0, voice="high")
    one, two = (Score((low,)), TIMBRES["sine"], 1.0), (Score((low, high)), TIMBRES["sine"], 1.0)
    heard = follow([one] * 100 + [two] * 101)

    def strength(samples: np.ndarray) -> float:
        return float(abs(np.exp(-2j * np.pi * 900 / SAMPLE_RATE * np.arange(samples.size)) @ samples) / samples.size)

    assert strength(heard[24000:43200]) < 1e-4 * strength(heard[52800:72000])
    assert strength(heard[48000:52800]) == pytest.approx(strength(heard[52800:72000]), rel=0.01)
    assert np.abs(np.diff(heard)).max() < 2 * np.pi * (220 + 900) / SAMPLE_RATE * np.abs(heard).max()


def test_the_chord_of_a_score_is_where_most_sounds_and_of_equals_the_last() -> None:
    """A broken chord that is then struck together gives the struck one."""
    broken = [ScoreNote(i, 1, 200.0 + i) for i in range(3)]
    struck = [ScoreNote(4, 1, 300.0 + i) for i in range(3)]
    assert {note.hertz for note in chord_of(Score((*broken, *struck)))} == {300, 301, 302}
    assert [note.hertz for note in chord_of(Score(tuple(broken)))] == [202]
    assert chord_of(Score((ScoreNote(0, 1, 220.0, level=0),))) == ()


def test_what_dies_away_is_held() -> None:
    """A plucked note that follows a knob sounds on: as loud in its fifth second as in its first."""
    heard = held(Score((ScoreNote(0, 1, 220.0),)), "plucked", 5)
    first, fifth = (loudness(heard[start : start + 24000]) for start in (12000, 204000))
    assert fifth == pytest.approx(first, abs=0.05)


def test_a_following_sound_needs_time_and_timbres() -> None:
    """One moment is none; a voice without a timbre is named."""
    score = Score((ScoreNote(0, 1, 220.0),))
    with pytest.raises(ValueError, match="needs two moments at least, not 1"):
        follow([(score, TIMBRES["sine"], 1.0)])
    with pytest.raises(ValueError, match="no timbre is given for the voice 'melody'"):
        follow([(score, {"drone": TIMBRES["sine"]}, 1.0)] * 2)
    with pytest.raises(ValueError, match="a gain is a factor above 0, not -1"):
        follow([(score, TIMBRES["sine"], -1)] * 2)


def test_a_gain_that_rises_makes_the_sound_grow() -> None:
    """Twice the gain is twice the sound, reached in a straight line."""
    score = Score((ScoreNote(0, 1, 220.0, level=0.5),))
    heard = follow([(score, TIMBRES["sine"], 1 + number / 100) for number in range(101)])
    steady = held(score, "sine", 1)
    inner = slice(1000, 46000)
    growth = 1 + np.arange(heard.size)[inner] / 48000
    assert np.abs(heard[inner] - growth * steady[inner]).max() < 1e-5 * np.abs(heard).max()
