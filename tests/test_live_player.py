"""The player in the page beside the library's own rendering, in a real browser: pitch, level, onsets, and no clicks."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import parselmouth
import pytest
from offline import LIVE, Play, offline

from tunelib.exhibits import EXHIBITS
from tunelib.live import exhibit_program, program, script, tones
from tunelib.pitch import cents, ratio_from_cents
from tunelib.score import Score, ScoreNote, sequence
from tunelib.sound import MOVEMENTS_A_SECOND, SAMPLE_RATE, TIMBRES, Timbre, mixture, render

SILENCE = 10 ** (-110 / 20)
THIRD = Score((ScoreNote(0, 2, 220.0, voice="low"), ScoreNote(0, 2, 275.0, voice="high")))


@pytest.fixture(scope="module")
def play(chromium: Any) -> Iterator[Play]:
    with offline(chromium) as playing:
        yield playing


def decibels(ratio: float) -> float:
    return float(20 * np.log10(ratio))


def rms(samples: np.ndarray[Any, Any]) -> float:
    return float(np.sqrt(np.mean(samples**2)))


def praat_hertz(samples: np.ndarray[Any, Any]) -> float:
    """The median pitch by Praat's autocorrelation (Boersma 1993)."""
    found = parselmouth.Sound(samples, SAMPLE_RATE).to_pitch_ac(
        time_step=0.01, pitch_floor=60, pitch_ceiling=2000, very_accurate=True
    )
    hertz = found.selected_array["frequency"]
    return float(np.median(hertz[hertz > 0]))


def worst_click(samples: np.ndarray[Any, Any]) -> float:
    """The strongest moment above 12 kHz beside the loudest sample: a jump has all frequencies, low tones few."""
    spectrum = np.fft.rfft(samples)
    spectrum[: round(12_000 * samples.size / SAMPLE_RATE)] = 0
    return decibels(np.abs(np.fft.irfft(spectrum, samples.size)).max() / np.abs(samples).max())


@pytest.mark.parametrize("name", [name for name in EXHIBITS if name not in ("intonation", "blue_notes")])
def test_what_every_exhibit_plays_is_what_the_library_renders(play: Play, name: str) -> None:
    values = EXHIBITS[name].settle({})
    wanted = EXHIBITS[name].sound(**values)
    heard = play(exhibit_program(EXHIBITS[name], values), wanted.size)
    moves = name == "sung_overtones"  # whose amplitudes go in straight lines between movements
    assert decibels(rms(heard - wanted) / rms(wanted)) < (-50 if moves else -120)
    assert abs(decibels(rms(heard) / rms(wanted))) < 0.01


def test_a_slide_over_a_chord_is_what_the_library_renders(play: Play) -> None:
    """The page bends it in straight lines between blocks, so that phases come apart a little."""
    exhibit = EXHIBITS["blue_notes"]
    values = exhibit.settle({})
    wanted = exhibit.sound(**values)
    heard = play(exhibit_program(exhibit, values), wanted.size)
    assert decibels(rms(heard - wanted) / rms(wanted)) < -30
    assert abs(decibels(rms(heard) / rms(wanted))) < 0.01


@pytest.mark.parametrize("take", ["wide vibrato", "tired lip"])
def test_a_demo_take_bends_in_the_page_as_it_does_when_rendered(play: Play, take: str) -> None:
    """Its pitch by Praat, moment by moment; the phases of its partials are not the same."""
    exhibit = EXHIBITS["intonation"]
    values = exhibit.settle({"take": take})
    wanted = exhibit.sound(**values)
    heard = play(exhibit_program(exhibit, values), wanted.size)
    tracks = [
        parselmouth.Sound(samples, SAMPLE_RATE).to_pitch_ac(time_step=0.01, pitch_floor=75).selected_array["frequency"]
        for samples in (heard, wanted)
    ]
    both = (tracks[0] > 0) & (tracks[1] > 0)
    assert both.sum() > 650
    assert np.percentile(np.abs(cents(tracks[0][both] / tracks[1][both])), 95) < 0.5
    assert abs(decibels(rms(heard) / rms(wanted))) < 0.2


@pytest.mark.parametrize("name", ["sine", "clarinet", "bowed", "organ", "plucked", "struck string"])
@pytest.mark.parametrize("hertz", [82.41, 233.08, 987.77])
def test_pitch_level_and_onset_by_praat_and_by_ear_level(play: Play, name: str, hertz: float) -> None:
    score = Score((ScoreNote(0.25, 1.25, hertz),), tempo=60)
    wanted = render(score, TIMBRES[name])
    heard = play(program(score, TIMBRES[name]), wanted.size)
    assert abs(cents(praat_hertz(heard) / praat_hertz(wanted))) < 0.01
    if name in ("sine", "clarinet", "bowed", "organ"):
        assert abs(cents(praat_hertz(heard) / hertz)) < 0.1  # Praat's own error on a steady tone
    assert abs(decibels(rms(heard) / rms(wanted))) < 0.2
    begins = [int(np.flatnonzero(np.abs(samples) > 1e-4)[0]) for samples in (heard, wanted)]
    assert abs(begins[0] - begins[1]) <= 1 and abs(begins[0] / SAMPLE_RATE - 0.25) < 0.02


def test_a_held_third_glides_to_new_pitches_without_a_click(play: Play) -> None:
    other = replace(THIRD, notes=(THIRD.notes[0], replace(THIRD.notes[1], hertz=285.0)))
    flute = TIMBRES["flute"]
    heard = play(program(THIRD, flute), 2 * SAMPLE_RATE, [(0.8, "follow", program(other, flute))])
    before, after = render(THIRD, flute), render(other, flute)
    change = slice(round(0.75 * SAMPLE_RATE), round(0.9 * SAMPLE_RATE))
    assert worst_click(heard[change] * np.hanning(heard[change].size)) < -70
    early = round(0.79 * SAMPLE_RATE)
    assert decibels(rms(heard[:early] - before[:early]) / rms(before)) < -120
    late = slice(round(0.83 * SAMPLE_RATE), round(1.9 * SAMPLE_RATE))
    partials = [np.exp(-2j * np.pi * f * np.arange(SAMPLE_RATE) / SAMPLE_RATE) for f in (220.0, 285.0, 275.0)]
    strength = [abs(np.mean(heard[late][:SAMPLE_RATE] * np.hanning(SAMPLE_RATE) * partial)) for partial in partials]
    wanted = [abs(np.mean(after[late][:SAMPLE_RATE] * np.hanning(SAMPLE_RATE) * partial)) for partial in partials]
    assert strength[:2] == pytest.approx(wanted[:2], rel=1e-3) and strength[2] < 0.02 * strength[0]


def test_two_tones_that_are_brought_together_do_not_stay_as_they_cancel(play: Play) -> None:
    """Caught half a beat in, two equal tones would be silent; in step they are as loud as if they had begun so."""
    apart, one = (Score((ScoreNote(0, 3, 330.0, voice="a"), ScoreNote(0, 3, 330.0 + off, voice="b"))) for off in (2, 0))
    sine = TIMBRES["sine"]
    changes = [(0.752, "follow", program(one, sine)), (1.2, "follow", program(one, sine), True)]
    heard = play(program(apart, sine), 2 * SAMPLE_RATE, changes)
    caught, together = heard[round(0.8 * SAMPLE_RATE) : round(1.1 * SAMPLE_RATE)], heard[round(1.4 * SAMPLE_RATE) :]
    fresh = render(one, sine)[SAMPLE_RATE : 2 * SAMPLE_RATE]
    assert decibels(rms(caught) / rms(fresh)) < -20
    assert abs(decibels(rms(together) / rms(fresh))) < 0.01


@pytest.mark.parametrize("name", ["flute", "organ"])
def test_a_flip_ends_up_as_a_fresh_start_would_sound(play: Play, name: str) -> None:
    """Not only as loud: the same wave, some way on."""
    other = replace(THIRD, notes=(THIRD.notes[0], replace(THIRD.notes[1], hertz=277.18)))
    heard = play(program(other, TIMBRES[name]), 2 * SAMPLE_RATE, [(0.6, "follow", program(THIRD, TIMBRES[name]), True)])
    fresh = render(THIRD, TIMBRES[name])
    piece = heard[SAMPLE_RATE : SAMPLE_RATE + 9600]
    assert worst_click(heard[26_000:34_000] * np.hanning(8000)) < (
        -60 if name == "flute" else -50
    )  # an organ has partials up there
    lags = range(SAMPLE_RATE - 1000, SAMPLE_RATE + 1000)
    nearest = min(rms(fresh[lag : lag + 9600] - piece) for lag in lags)
    assert decibels(nearest / rms(piece)) < -30  # the lag is a whole number of samples


def test_one_tone_has_nothing_to_fall_in_step_with(play: Play) -> None:
    one = Score((ScoreNote(0, 2, 220.0),), tempo=60)
    two = Score((ScoreNote(0, 2, 330.0),), tempo=60)
    bowed = TIMBRES["bowed"]
    changes = [(0.5, "follow", program(two, bowed)), (0.8, "follow", program(two, bowed), True)]
    aligned, plain = (
        play(program(one, bowed), SAMPLE_RATE, changes),
        play(program(one, bowed), SAMPLE_RATE, changes[:1]),
    )
    assert rms(aligned - plain) < 1e-5 * rms(plain)


def test_a_jump_in_its_place_would_be_found(play: Play) -> None:
    whole = play(program(THIRD, TIMBRES["flute"]), SAMPLE_RATE)
    cut = np.concatenate([whole[20_000:30_000], whole[30_077:40_000]]) * np.hanning(19_923)
    assert worst_click(cut) > -60


@pytest.mark.parametrize("amplitudes", [[0, 1, 0, 0.5, 0, 0.3], [0.2] * 12, [1]])
def test_partials_come_and_go_without_a_click(play: Play, amplitudes: list[float]) -> None:
    other = program(THIRD, mixture(amplitudes))
    changes = [(0.4, "follow", other), (0.7, "follow", program(THIRD, TIMBRES["flute"]))]
    heard = play(program(THIRD, TIMBRES["flute"]), SAMPLE_RATE, changes)
    for seconds in (0.4, 0.7):
        around = heard[round((seconds - 0.05) * SAMPLE_RATE) : round((seconds + 0.08) * SAMPLE_RATE)]
        assert worst_click(around * np.hanning(around.size)) < -60


def test_a_scale_goes_on_from_where_it_is(play: Play) -> None:
    def scale(lowest: float) -> Score:
        return sequence([(lowest * 2 ** (k / 12), None) for k in range(8)], beats=0.25)

    flute = TIMBRES["flute"]
    heard = play(program(scale(220), flute), 2 * SAMPLE_RATE, [(1.1, "follow", program(scale(330), flute))])
    notes = [
        praat_hertz(heard[round((k + 0.2) * SAMPLE_RATE / 4) : round((k + 0.8) * SAMPLE_RATE / 4)]) for k in range(8)
    ]
    wanted = [(220 if k < 4 else 330) * 2 ** (k / 12) for k in range(8)]
    for k in (0, 1, 2, 3, 5, 6, 7):  # the fifth glides while it sounds
        assert abs(cents(notes[k] / wanted[k])) < 1


@pytest.mark.parametrize("beats", [1.0, 3.0])
def test_a_note_that_is_ending_ends_though_it_has_become_longer(play: Play, beats: float) -> None:
    """And one that should have ended by now is let go by its ramp."""
    longer = replace(THIRD, notes=tuple(replace(note, duration=beats) for note in THIRD.notes))
    heard = play(
        program(THIRD, TIMBRES["flute"]), 2 * SAMPLE_RATE + 4800, [(2.008, "follow", program(longer, TIMBRES["flute"]))]
    )
    around = heard[round(1.95 * SAMPLE_RATE) : round(2.08 * SAMPLE_RATE)]
    assert worst_click(around * np.hanning(around.size)) < -60
    assert np.abs(heard[round(2.03 * SAMPLE_RATE) :]).max() < SILENCE


def test_hold_sustains_a_chord_until_it_is_let_go(play: Play) -> None:
    heard = play(program(THIRD, TIMBRES["organ"]), 5 * SAMPLE_RATE, [(4.0, "hold", False)], hold=True)
    assert rms(heard[3 * SAMPLE_RATE : 4 * SAMPLE_RATE]) == pytest.approx(
        rms(heard[SAMPLE_RATE : 2 * SAMPLE_RATE]), rel=1e-3
    )
    assert np.abs(heard[round(4.05 * SAMPLE_RATE) :]).max() < SILENCE


def test_hold_stays_on_the_chord_that_a_score_ends_with(play: Play) -> None:
    """A broken chord is heard note by note, and its close goes on."""
    spread = Score(
        tuple(ScoreNote(k * 0.4, 2 - k * 0.4, hertz) for k, hertz in enumerate((220.0, 275.0, 330.0))), tempo=60
    )
    heard = play(program(spread, TIMBRES["organ"]), 5 * SAMPLE_RATE, [(4.0, "hold", False)], hold=True)
    once = render(spread, TIMBRES["organ"])
    assert np.abs(heard[: round(1.9 * SAMPLE_RATE)] - once[: round(1.9 * SAMPLE_RATE)]).max() < 1e-6
    assert rms(heard[3 * SAMPLE_RATE : 4 * SAMPLE_RATE]) == pytest.approx(rms(once[48_000:86_000]), rel=0.02)
    assert np.abs(heard[round(4.05 * SAMPLE_RATE) :]).max() < SILENCE


def test_hold_repeats_what_is_not_one_chord_to_the_sample(play: Play) -> None:
    score = sequence([(300, None), (400, None)], beats=0.25)
    once = render(score, TIMBRES["flute"])
    heard = play(program(score, TIMBRES["flute"]), 3 * once.size, hold=True)
    assert np.abs(heard - np.tile(once, 3)).max() < 1e-6


def test_stopping_fades_within_the_release(play: Play) -> None:
    heard = play(program(THIRD, TIMBRES["flute"]), SAMPLE_RATE, [(0.5, "stop")])
    assert rms(heard[: SAMPLE_RATE // 2]) > 0.01
    assert np.abs(heard[round(0.53 * SAMPLE_RATE) :]).max() < SILENCE


def test_keys_sound_bend_and_are_let_go(play: Play) -> None:
    tone = ("tone", tones(TIMBRES["clarinet"], [330.0]))
    changes = [
        (0.1, "press", 1, tone, 1.0, 1.0), (0.8, "bend", 1, float(ratio_from_cents(100))), (1.5, "release", 1),
    ]  # fmt: skip
    heard = play(b"", 2 * SAMPLE_RATE, changes)
    assert np.abs(heard[: SAMPLE_RATE // 10]).max() == 0
    assert abs(cents(praat_hertz(heard[10_000:36_000]) / 330)) < 0.1
    assert abs(cents(praat_hertz(heard[42_000:70_000]) / 330) - 100) < 0.1
    assert np.abs(heard[round(1.53 * SAMPLE_RATE) :]).max() < SILENCE


def test_sixty_voices_pass_the_limiter_under_its_ceiling(play: Play) -> None:
    sixteen = Timbre("sixteen", lambda number, _: (number <= 16) / number)
    hertz = 55.0 * 2 ** (np.arange(60) / 31)
    chord = Score(tuple(ScoreNote(0, 4, float(one), voice=f"{one:.3f}") for one in hertz), tempo=60)
    heard = play(program(chord, sixteen), 4 * SAMPLE_RATE)
    assert np.abs(heard).max() <= 10 ** (-12 / 20) + 1e-6
    assert np.abs(heard).max() > 10 ** (-13 / 20)


def test_a_bent_note_follows_its_bends(play: Play) -> None:
    seconds = np.arange(MOVEMENTS_A_SECOND + 1) / MOVEMENTS_A_SECOND
    up = ratio_from_cents(200 * seconds)
    score = Score((ScoreNote(0, 1, 300.0),), tempo=60)
    heard = play(program(score, TIMBRES["sine"], bends=[up]), SAMPLE_RATE)
    # The phase of a tone whose pitch rises evenly in cents is the integral of its frequency.
    rate = np.log(2) / 6
    exact = np.sin(2 * np.pi * 300 * (np.exp(rate * np.arange(SAMPLE_RATE) / SAMPLE_RATE) - 1) / rate)
    middle = slice(5_000, 40_000)
    scale = rms(heard[middle]) / rms(exact[middle])
    assert decibels(rms(heard[middle] - scale * exact[middle]) / rms(heard[middle])) < -60


def test_gain_makes_all_notes_louder_alike(play: Play) -> None:
    quiet, loud = (play(program(THIRD, TIMBRES["flute"], gain=gain), SAMPLE_RATE) for gain in (0.25, 0.5))
    assert np.allclose(2 * quiet, loud, atol=1e-7)


def test_a_tone_stands_once_in_a_program() -> None:
    one = program(sequence([(220, None)]), TIMBRES["bowed"])
    four = program(sequence([(220, None)] * 4), TIMBRES["bowed"])
    assert len(four) < len(one) + 400


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"gain": 0.0}, "a gain is a factor above 0"),
        ({"gain": float("nan")}, "a gain is a factor above 0"),
        ({"bends": [np.ones(3)]}, "2 notes that sound need as many bends or none, not 1"),
    ],
)
def test_a_program_says_what_is_wrong(given: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        program(THIRD, TIMBRES["sine"], **given)


def test_modules_are_joined_each_after_what_it_imports() -> None:
    joined = script(LIVE / "player.js")
    assert joined.startswith('const worklet = "// The player')
    assert "\nimport " not in joined and "\nexport " not in joined
    assert json.loads(joined.splitlines()[0].removeprefix("const worklet = ").removesuffix(";")) == (
        LIVE / "worklet.js"
    ).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("files", "message"),
    [
        ({"a.js": 'import {b} from "./b.js";\n'}, "there is no b.js in .*, which a.js imports"),
        ({"a.js": 'import b from "./b.js";\n', "b.js": ""}, "a.js: modules are joined by"),
        ({"a.js": "export default 3;\n"}, "a.js: modules are joined by"),
        (
            {"a.js": 'import {b} from "./b.js";\nconst c = 1;\n', "b.js": "const c = 2;\n"},
            "c stands at the top of both",
        ),
        ({"a.js": 'import {b} from "./b.js";\n', "b.js": 'import {a} from "./a.js";\n'}, "a.js imports itself"),
    ],
)
def test_what_cannot_be_joined_is_refused(tmp_path: Path, files: dict[str, str], message: str) -> None:
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match=message):
        script(tmp_path / "a.js")
