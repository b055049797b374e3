"""Timbres, rendering, the limiter, loudness and audio files."""

from __future__ import annotations

import io
import math
import wave
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import parselmouth
import pytest
import scipy.signal
import soundfile
from film import metered
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.exhibits import EXHIBITS
from tunelib.pitch.instruments import FAMILIES, INSTRUMENTS
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes, write_wav
from tunelib.sound.limiter import limit
from tunelib.sound.loudness import at_loudness, k_weighting, loudness, true_peak
from tunelib.sound.players import timbre_for
from tunelib.sound.render import render
from tunelib.sound.timbre import TIMBRES, Timbre, mixture, timbre
from tunelib.sound.voice import overtone_singer, vowel_timbre

RATE = 48000
EVERY_TIMBRE = TIMBRES | {
    "vowel": vowel_timbre("heed"),
    "overtone": overtone_singer("who'd", [(0, 8)], 174.6),
    "walking overtone": overtone_singer("who'd", [(0, 8), (0.3, 9), (0.6, 12)], 174.6),
}
SUSTAINED = [name for name, t in EVERY_TIMBRE.items() if t.ring == math.inf and not t.moves]


def one_note(hertz: float, seconds: float = 1.0, level: float = 1.0) -> Score:
    return Score((ScoreNote(0, seconds, hertz, level=level),))


def spectrum(samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies and amplitudes of whole seconds of sound: a partial at whole hertz falls into one bin."""
    return np.fft.rfftfreq(samples.size, 1 / RATE), 2 * np.abs(np.fft.rfft(samples)) / samples.size


# Timbres


@pytest.mark.parametrize(
    ("name", "table", "rms"),
    [
        ("sine", {1: 1.0}, 0.707107),
        ("square", {1: 1.273240, 3: 0.424413, 5: 0.254648}, 1.0),
        ("sawtooth", {1: 0.636620, 2: 0.318310, 3: 0.212207, 5: 0.127324}, 0.577350),
        ("triangle", {1: 0.810569, 3: 0.090063, 5: 0.032423}, 0.577350),
    ],
)
def test_textbook_waveforms_have_their_fourier_series(name: str, table: dict[int, float], rms: float) -> None:
    """Closed forms of every signals textbook: 4/(pi n) odd, 2/(pi n), 8/(pi n)^2 odd; root mean square of each."""
    frequencies, amplitudes, decay = TIMBRES[name].partials(10.0)
    by_number = dict(zip(np.rint(frequencies / 10).astype(int), amplitudes, strict=True))
    for number in (1, 2, 3, 5):
        assert by_number.get(number, 0.0) == pytest.approx(table.get(number, 0.0), abs=5e-7)
    # The tail beyond the 2000 partials below 20 kHz holds less than 1/2000 of the power.
    assert math.sqrt(np.sum(amplitudes**2) / 2) == pytest.approx(rms, rel=3e-4)
    assert np.all(decay == math.inf)


@pytest.mark.parametrize(
    ("name", "reference"),
    [
        ("sine", np.sin),
        ("square", scipy.signal.square),
        ("sawtooth", lambda x: scipy.signal.sawtooth(x + np.pi)),
        ("triangle", lambda x: scipy.signal.sawtooth(x + np.pi / 2, width=0.5)),
    ],
)
def test_a_waveform_begins_at_zero_and_has_the_shape_that_scipy_gives_it(name: str, reference: object) -> None:
    """Compared away from the jumps, where a sum of partials rings (Gibbs)."""
    seconds = (np.arange(400) + 0.5) / 400 / 10.0 * 2
    turns = seconds * 10.0
    away = np.min(np.abs(turns[:, np.newaxis] - np.arange(0, 2.5, 0.5)), axis=1) > 0.02
    expected = reference(2 * np.pi * turns)  # type: ignore[operator]
    assert TIMBRES[name].wave(seconds, 10.0)[away] == pytest.approx(expected[away], abs=0.02)
    assert TIMBRES[name].wave(np.zeros(1), 10.0)[0] == pytest.approx(0, abs=1e-9)


def test_a_partial_sum_of_a_square_overshoots_by_gibbs_constant() -> None:
    """The peak tends to (2/pi) Si(pi) = 1.178980 (textbook)."""
    peak = TIMBRES["square"].wave(np.linspace(0, 0.01, 20001), 10.0, count=200).max()
    assert peak == pytest.approx(1.178980, abs=2e-4)


def test_struck_string_has_the_stretched_partials_of_fletcher_1964() -> None:
    """Cents above n times partial 1 for B = 3.5e-4, worked out from f_n = n f0 sqrt(1 + B n^2)."""
    frequencies, _, decay = TIMBRES["struck string"].partials(220.0)
    cents = 1200 * np.log2(frequencies / 220.0 / np.rint(frequencies / 220.0))
    numbers = np.rint(frequencies / 220.0).astype(int)
    sharp = dict(zip(numbers, cents, strict=True))
    assert [sharp[n] for n in (1, 2, 3, 5, 10)] == pytest.approx([0, 0.9081, 2.4195, 7.2383, 29.4755], abs=5e-5)
    assert np.all(np.diff(decay) < 0)


@pytest.mark.parametrize("name", EVERY_TIMBRE)
@pytest.mark.parametrize("hertz", [27.5, 440.0, 12000.0, 19999.0])
def test_no_partial_is_listed_above_20_khz(name: str, hertz: float) -> None:
    frequencies, amplitudes, decay = EVERY_TIMBRE[name].partials(hertz)
    assert frequencies.shape == amplitudes.shape == decay.shape == EVERY_TIMBRE[name].phases(hertz).shape
    assert frequencies[0] == pytest.approx(hertz, rel=1e-15) and np.all(np.diff(frequencies) > 0)
    assert frequencies[-1] <= 20000 and np.all(amplitudes > 0)


def test_caricatures_have_equal_power_so_that_recipes_compare() -> None:
    for name in ("flute", "clarinet", "reed", "brass", "bowed", "plucked", "struck string", "organ", "tick", "vowel"):
        assert np.sum(EVERY_TIMBRE[name].partials(220.0)[1] ** 2) == pytest.approx(1, rel=1e-12)


def test_a_closed_pipe_favours_odd_partials_and_a_fifth_point_pluck_has_no_fifth() -> None:
    """Common knowledge of instruments' acoustics (Benade 1976; Fletcher and Rossing 1998; from memory)."""
    _, clarinet, _ = TIMBRES["clarinet"].partials(150.0)
    assert clarinet[1] < clarinet[0] / 10 and clarinet[1] < clarinet[2] / 5
    assert not np.any(np.isclose(TIMBRES["plucked"].partials(100.0)[0] % 500, 0))


def test_a_mixture_keeps_its_amplitudes_and_refuses_nonsense() -> None:
    frequencies, amplitudes, _ = mixture([0.5, 0, 0.25]).partials(200.0)
    assert frequencies.tolist() == [200, 600] and amplitudes.tolist() == [0.5, 0.25]
    for wrong in ([], [0, 0], [1, -1], [math.nan], [[1]]):
        with pytest.raises(ValueError, match="a mixture is a list of amplitudes"):
            mixture(wrong)  # type: ignore[arg-type]


def test_timbres_are_looked_up_by_name_with_help() -> None:
    assert timbre("Flute-like") is TIMBRES["flute"] and timbre("struck-string") is TIMBRES["struck string"]
    with pytest.raises(ValueError, match="did you mean clarinet"):
        timbre("clarinett")
    with pytest.raises(ValueError, match="known are: sine"):
        timbre("xyzzy")


@pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=list(INSTRUMENTS))
def test_every_instrument_and_family_has_a_timbre(player: object) -> None:
    assert isinstance(timbre_for(player), Timbre)  # type: ignore[arg-type]
    assert {i.family for i in INSTRUMENTS.values()} == set(FAMILIES)


def test_low_voices_sing_with_mens_formants_and_high_ones_with_womens() -> None:
    assert timbre_for(INSTRUMENTS["tenor voice"]) != timbre_for(INSTRUMENTS["alto voice"])
    assert timbre_for(INSTRUMENTS["bass voice"]).vowel.speaker == "men"  # type: ignore[attr-defined]
    assert timbre_for(INSTRUMENTS["alto voice"]).vowel.speaker == "women"  # type: ignore[attr-defined]


@pytest.mark.parametrize(("field", "value"), [("attack", 0.001), ("release", 0.1), ("ring", 0), ("inharmonicity", -1)])
def test_a_timbre_refuses_values_out_of_bounds(field: str, value: float) -> None:
    with pytest.raises(ValueError, match="sine"):
        replace(TIMBRES["sine"], **{field: value})  # type: ignore[arg-type]


# Rendering


@pytest.mark.parametrize("name", SUSTAINED)
@pytest.mark.parametrize("hertz", [110.0, 261.625565, 441.3])
def test_pitch_is_within_a_tenth_of_a_cent_by_praat(name: str, hertz: float) -> None:
    """Praat's autocorrelation method (Boersma 1993), whose own error here is below 0.0001 cent."""
    samples = render(one_note(hertz), EVERY_TIMBRE[name])
    found = parselmouth.Sound(samples, RATE).to_pitch_ac(
        time_step=0.01, pitch_floor=75, pitch_ceiling=600, very_accurate=True
    )
    pitches = found.selected_array["frequency"][10:-10]
    assert pitches.size > 60 and np.abs(1200 * np.log2(pitches / hertz)).max() < 0.1


@pytest.mark.parametrize("name", ["plucked", "struck string"])
def test_ringing_timbres_have_partial_1_at_the_score_s_pitch(name: str) -> None:
    """Measured from the phase that partial 1 gains in a second: a stiff string's whole tone has no single period."""
    samples = render(one_note(261.625565, 3), EVERY_TIMBRE[name])
    window = np.hanning(RATE) * np.exp(-2j * np.pi * 261.625565 * np.arange(RATE) / RATE)
    before, after = (samples[start : start + RATE] @ window for start in (RATE // 2, RATE + RATE // 2))
    turns = float(np.angle(after / before)) / (2 * math.pi) - 261.625565
    hertz = 261.625565 + turns - round(turns)
    assert abs(1200 * math.log2(hertz / 261.625565)) < 0.1


def test_phase_is_exact_after_three_minutes() -> None:
    """Against exact rational arithmetic on the same float64 frequency."""
    hertz = 440 * 2 ** (7 / 31)
    score = Score((ScoreNote(0, 180, hertz),))
    samples = render(score, mixture([1, 0, 0, 0, 1]))
    for n in np.random.default_rng(1).integers(8_000_000, 8_600_000, 50):
        expected = (
            sum(math.sin(2 * math.pi * float(Fraction(k * hertz) * int(n) / RATE % 1)) for k in (1, 5))
            * 10 ** (-12 / 20)
            / 5
        )
        assert samples[n] == pytest.approx(expected, abs=1e-13)


def test_a_decay_of_60_db_takes_the_time_it_says() -> None:
    ringing = replace(TIMBRES["sine"], ring=0.5)
    samples = render(one_note(440, 1.0), ringing)
    early, late = (np.abs(samples[int(t * RATE) :][:4800]).max() for t in (0.2, 0.7))
    assert 20 * math.log10(early / late) == pytest.approx(60, abs=0.05)


@pytest.mark.parametrize("name", EVERY_TIMBRE)
def test_begins_and_ends_in_silence_without_a_click(name: str) -> None:
    """At the edges neither the step nor the bend from sample to sample passes that of the tone held without decay."""
    samples = render(one_note(311.127, 0.8), EVERY_TIMBRE[name])
    held = render(one_note(311.127, 0.8), replace(EVERY_TIMBRE[name], ring=math.inf))
    assert samples[0] == samples[-1] == 0.0
    edge = round(0.021 * RATE)
    for order in (1, 2):
        change = np.abs(np.diff(samples, order, prepend=np.zeros(4), append=np.zeros(4)))
        steady = np.abs(np.diff(held, order))[edge:-edge].max()
        assert change[:edge].max() <= steady and change[-edge:].max() <= steady


@pytest.mark.parametrize("name", EVERY_TIMBRE)
def test_no_energy_above_20_khz_or_half_the_sample_rate(name: str) -> None:
    samples = render(one_note(1234.5, 1.0), EVERY_TIMBRE[name])
    windowed = np.abs(np.fft.rfft(samples * np.blackman(samples.size)))
    above = np.fft.rfftfreq(samples.size, 1 / RATE) > 20400
    assert 20 * math.log10(windowed[above].max() / windowed.max()) < -100


def test_a_low_sample_rate_leaves_partials_out_rather_than_folding_them() -> None:
    """At 8 kHz harmonics 4 and 5 of 1100 Hz would fold to 3600 and 2500 Hz."""
    samples = render(one_note(1100, 1.0), TIMBRES["sawtooth"], sample_rate=8000)
    amplitude = np.abs(np.fft.rfft(samples[1000:5000]))
    assert (2 * np.flatnonzero(amplitude > amplitude.max() * 1e-6)).tolist() == [1100, 2200, 3300]


def test_length_is_the_score_and_the_last_release() -> None:
    score = Score((ScoreNote(0, 1, 440), ScoreNote(2, Fraction(1, 2), 550)), tempo=120)
    assert render(score, TIMBRES["flute"]).size == round((1.25 + 0.020) * RATE)
    silent_end = Score((ScoreNote(0, 1, 440), ScoreNote(1, 3, 440, level=0)), tempo=60)
    samples = render(silent_end, TIMBRES["flute"])
    assert samples.size == 4 * RATE and not samples[round(1.02 * RATE) :].any() and samples[: RATE // 2].any()
    assert render(Score(()), TIMBRES["sine"]).size == 0


def test_notes_add_up_and_never_overwrite() -> None:
    low, high = ScoreNote(0, 1, 220, level=0.5), ScoreNote(Fraction(1, 2), 1, 331, level=0.5)
    together = render(Score((low, high)), TIMBRES["organ"])
    apart = [render(Score((note,)), TIMBRES["organ"]) for note in (low, high)]
    apart[0] = np.pad(apart[0], (0, together.size - apart[0].size))
    assert together == pytest.approx(sum(apart), abs=1e-15)


def test_each_voice_has_its_timbre_and_a_missing_one_is_named() -> None:
    score = Score((ScoreNote(0, 1, 200, voice="guide"), ScoreNote(0, 1, 300, voice="drone")))
    frequencies, amplitudes = spectrum(
        render(score, {"guide": mixture([0, 1]), "drone": TIMBRES["sine"]})[RATE // 4 : RATE // 4 + RATE // 2]
    )
    assert sorted(frequencies[np.argsort(amplitudes)[-2:]]) == [300, 400]
    with pytest.raises(ValueError, match="no timbre is given for the voice 'drone'; there is one for guide"):
        render(score, {"guide": TIMBRES["sine"]})


def test_rendering_refuses_nonsense() -> None:
    for rate in (0, 44100.5, True, 10**6):
        with pytest.raises(ValueError, match="a sample rate is a whole number of hertz"):
            render(one_note(440), TIMBRES["sine"], sample_rate=rate)  # type: ignore[arg-type]
    for peak in (-0.5, 0, math.nan):
        with pytest.raises(ValueError, match="the peak must be from"):
            render(one_note(440), TIMBRES["sine"], peak_dbfs=peak)
    with pytest.raises(ValueError, match="the note at beat 0 cannot sound: its pitch is 5000 Hz"):
        render(one_note(5000), TIMBRES["sine"], sample_rate=8000)


# Level


def test_a_quiet_score_stays_quiet_and_level_is_amplitude() -> None:
    full, soft = (np.abs(render(one_note(440, level=level), TIMBRES["sine"])).max() for level in (1.0, 0.01))
    assert 20 * math.log10(full) == pytest.approx(-26, abs=0.03)
    assert full / soft == pytest.approx(100, rel=1e-9)


@pytest.mark.parametrize("name", EVERY_TIMBRE)
def test_four_notes_at_full_level_need_no_limiting_to_speak_of(name: str) -> None:
    """The pure chord 4:5:6:7 piles its peaks up as no tempered one does."""
    score = Score(tuple(ScoreNote(0, 1, hertz, level=1) for hertz in (220, 275, 330, 385)))
    separate = sum(render(Score((note,)), EVERY_TIMBRE[name]) for note in score.notes)
    assert 20 * math.log10(np.abs(separate).max()) < -11.0
    assert 20 * math.log10(np.abs(render(score, EVERY_TIMBRE[name])).max()) <= -12


def test_a_crowd_is_limited_smoothly_to_the_peak_asked_for() -> None:
    score = Score(tuple(ScoreNote(0, 1, 100 * k) for k in range(1, 30)))
    for peak in (-12.0, -6.0, -1.0):
        samples = render(score, TIMBRES["sawtooth"], peak_dbfs=peak)
        assert peak - 0.5 < 20 * math.log10(np.abs(samples).max()) <= peak


def test_the_limiter_is_transparent_below_its_ceiling_and_smooth_above() -> None:
    time = np.arange(RATE) / RATE
    tone = 0.2 * np.sin(2 * np.pi * 440 * time)
    assert limit(tone, 0.25) is tone
    burst = tone.copy()
    burst[RATE // 2 : RATE // 2 + 480] *= 5
    limited = limit(burst, 0.25)
    assert np.abs(limited).max() <= 0.25
    far = np.abs(np.arange(RATE) - RATE // 2) > 0.12 * RATE
    assert np.allclose(limited[far], burst[far], rtol=1e-9, atol=0)
    sounding = np.abs(burst) > 1e-3
    gain = limited[sounding] / burst[sounding]
    assert np.all(gain > 0) and np.abs(np.diff(gain)).max() < 1e-3, "the gain may not jump, nor clip a wave's top"
    with pytest.raises(ValueError, match="a ceiling must be above 0"):
        limit(tone, 0)


notes = st.builds(
    ScoreNote,
    onset=st.fractions(0, 2, max_denominator=12),
    duration=st.fractions(Fraction(1, 64), 2, max_denominator=64),
    hertz=st.floats(8, 7999),
    level=st.floats(0, 1),
)


@settings(max_examples=60, deadline=None)
@given(
    notes=st.lists(notes, max_size=8),
    name=st.sampled_from(sorted(EVERY_TIMBRE)),
    tempo=st.floats(60, 400),
    rate=st.sampled_from([16000, 22050, 48000]),
    peak=st.floats(-40, -1),
)
def test_no_score_comes_out_too_loud_or_broken(
    notes: list[ScoreNote], name: str, tempo: float, rate: int, peak: float
) -> None:
    samples = render(Score(tuple(notes), tempo=tempo), EVERY_TIMBRE[name], sample_rate=rate, peak_dbfs=peak)
    assert np.all(np.isfinite(samples)) and samples.dtype == np.float64
    assert np.abs(samples).max(initial=0) <= 10 ** (peak / 20) * (1 + 1e-12)
    if samples.size:
        assert samples[0] == samples[-1] == 0.0


# Loudness


def full_scale_sine(hertz: float, seconds: float = 20, rate: int = RATE) -> np.ndarray:
    return np.sin(2 * np.pi * hertz * np.arange(round(seconds * rate)) / rate)


def test_k_weighting_at_48_khz_has_the_recommendation_s_coefficients() -> None:
    """Recommendation ITU-R BS.1770-4, tables 1 and 2."""
    (b1, a1), (b2, a2) = k_weighting(48000)
    assert b1 == pytest.approx([1.53512485958697, -2.69169618940638, 1.19839281085285], abs=1e-13)
    assert a1 == pytest.approx([1, -1.69065929318241, 0.73248077421585], abs=1e-13)
    assert b2.tolist() == [1, -2, 1]
    assert a2 == pytest.approx([1, -1.99004745483398, 0.99007225036621], abs=1e-13)


def test_loudness_of_the_recommendation_s_calibration_tone() -> None:
    """997 Hz at full scale in one channel is -3.01 LKFS (ITU-R BS.1770-4); the rest worked out from its filters."""
    tone = full_scale_sine(997)
    assert loudness(tone) == pytest.approx(-3.01, abs=0.005)
    assert loudness(0.1 * tone) == pytest.approx(-23.0103, abs=0.005)
    assert loudness(np.stack([tone, tone], axis=1)) == pytest.approx(0, abs=0.005)
    assert loudness(full_scale_sine(100)) == pytest.approx(-3.0103 - 0.6910 - 1.1335, abs=0.005)
    assert loudness(full_scale_sine(10000)) == pytest.approx(-3.0103 - 0.6910 + 4.0419, abs=0.005)


@pytest.mark.parametrize("rate", [16000, 22050, 44100, 96000])
def test_loudness_does_not_hang_on_the_sample_rate(rate: int) -> None:
    assert loudness(full_scale_sine(997, 5, rate), rate) == pytest.approx(-3.01, abs=0.05)


def test_weighting_agrees_with_scipy_s_recursion() -> None:
    noise = np.random.default_rng(2).normal(0, 0.1, RATE)
    power = noise
    for b, a in k_weighting(RATE):
        power = scipy.signal.lfilter(b, a, power)
    short = noise[: round(0.4 * RATE)]
    expected = -0.691 + 10 * math.log10(np.mean(power[: short.size] ** 2))
    assert loudness(short) == pytest.approx(expected, abs=1e-9)


def test_weighting_in_pieces_is_weighting_of_the_whole() -> None:
    """A minute, filtered 20 seconds at a time, has the loudness that one recursion by scipy gives to its loudest."""
    noise = np.random.default_rng(3).normal(0, 0.1, 65 * RATE)
    noise[: 39 * RATE] *= 1e-3  # the rest, over a seam, is all that passes the gates
    power = noise
    for b, a in k_weighting(RATE):
        power = scipy.signal.lfilter(b, a, power)
    blocks = np.array([np.mean(power[i : i + 19200] ** 2) for i in range(0, noise.size - 19199, 4800)])
    loud = blocks[blocks > 0.1 * blocks.mean()]
    assert loudness(noise) == pytest.approx(-0.691 + 10 * math.log10(loud.mean()), abs=1e-6)


def test_the_true_peak_of_a_wave_lies_between_its_samples() -> None:
    """A sine of a quarter of the rate, begun an eighth late: samples at -3.01 dB, peak at 0 dB (after BS.1770-4)."""
    slow = np.sin(np.pi / 2 * np.arange(RATE) + np.pi / 4) * np.hanning(RATE)
    assert 20 * np.log10(np.abs(slow).max()) == pytest.approx(-3.01, abs=0.01)
    assert true_peak(slow) == pytest.approx(0, abs=0.05)
    assert true_peak(np.stack([0.1 * slow, slow], axis=1)) == true_peak(slow)
    assert true_peak(np.zeros(RATE)) == -math.inf


@pytest.mark.parametrize("name", ["calibration", "wave", "beating_third", "growing_chord"])
def test_loudness_and_true_peak_are_what_another_meter_reads(tmp_path: Path, name: str) -> None:
    """ffmpeg's meter of EBU R 128, which prints tenths: the calibration tone (-3.0), and exhibits as they sound."""
    sound = full_scale_sine(997) * 0.999 if name == "calibration" else EXHIBITS[name].sound(**EXHIBITS[name].settle({}))
    read, peak = metered(write_wav(tmp_path / "sound.wav", sound))
    assert loudness(sound) == pytest.approx(read, abs=0.1) and true_peak(sound) == pytest.approx(peak, abs=0.15)
    assert name != "calibration" or read == pytest.approx(-3.0, abs=0.05)


def test_pauses_are_gated_out() -> None:
    """EBU Tech 3341, case 3: 10 s at -36, 60 s at -23 and 10 s at -36 dBFS in both channels read -23.0 LUFS.

    The case is quoted from memory.
    """
    tone = full_scale_sine(1000, 80)
    level = np.full(tone.size, -36.0)
    level[10 * RATE : 70 * RATE] = -23.0
    stereo = np.repeat((tone * 10 ** (level / 20))[:, np.newaxis], 2, axis=1)
    assert loudness(stereo) == pytest.approx(-23.0, abs=0.1)
    assert loudness(np.zeros(RATE)) == -math.inf
    hiss = tone[: 60 * RATE] * 10 ** (-75 / 20)
    hiss[: 6 * RATE] *= 10 ** (13 / 20)
    assert loudness(hiss) == pytest.approx(-62 - 3.0, abs=0.1), "what lies under -70 LKFS counts for nothing"


def test_a_sound_is_turned_to_a_loudness_and_silence_cannot_be() -> None:
    sound = render(one_note(220), TIMBRES["square"])
    assert loudness(at_loudness(sound, -30)) == pytest.approx(-30, abs=1e-6)
    with pytest.raises(ValueError, match="the sound is silent"):
        at_loudness(np.zeros(RATE), -30)


@pytest.mark.parametrize("wrong", [np.zeros(0), np.zeros((10, 6)), np.array([0, math.nan]), np.zeros((2, 2, 2))])
def test_loudness_refuses_nonsense(wrong: np.ndarray) -> None:
    with pytest.raises(ValueError, match="samples"):
        loudness(wrong)


# Files


def test_a_wav_file_holds_the_samples_in_24_bits(tmp_path: object) -> None:
    path = tmp_path / "tone.wav"  # type: ignore[operator]
    samples = render(one_note(440), TIMBRES["organ"])
    assert write_wav(path, samples) == path
    info = soundfile.info(path)
    assert (info.samplerate, info.channels, info.subtype, info.frames) == (RATE, 1, "PCM_24", samples.size)
    read, _ = soundfile.read(path)
    assert np.abs(read - samples).max() <= 2**-24


def test_a_wav_file_is_written_whole_or_not_at_all(tmp_path: object) -> None:
    path = tmp_path / "tone.wav"  # type: ignore[operator]
    path.write_bytes(b"mine")
    with pytest.raises(FileExistsError, match=r"tone\.wav"):
        write_wav(path, np.zeros(10))
    with pytest.raises(ValueError, match="sample 3 is 1.5"):
        write_wav(path, [0, 0, 0, 1.5], overwrite=True)
    assert path.read_bytes() == b"mine" and [p.name for p in path.parent.iterdir()] == ["tone.wav"]
    write_wav(path, np.zeros(10), overwrite=True)
    assert soundfile.info(path).frames == 10
    with pytest.raises(FileNotFoundError):
        write_wav(path.parent / "missing" / "tone.wav", np.zeros(10))


def test_bytes_for_the_browser_are_16_bit_and_keep_the_level() -> None:
    """Read back by the standard library; IPython's own player would have turned this up to full scale."""
    samples = render(one_note(440, 0.5), TIMBRES["sine"])
    with wave.open(io.BytesIO(wav_bytes(samples))) as reader:
        assert (reader.getframerate(), reader.getnchannels(), reader.getsampwidth()) == (RATE, 1, 2)
        read = np.frombuffer(reader.readframes(reader.getnframes()), "<i2") / 32768
    assert np.abs(read - samples).max() <= 2**-16
    assert read[0] == read[-1] == 0


@pytest.mark.parametrize("wrong", [[math.nan], [math.inf], [-1.01], np.zeros((1, 1, 1)), 0.5])
def test_samples_that_would_clip_or_are_none_are_refused(wrong: object) -> None:
    with pytest.raises(ValueError, match="sample"):
        wav_bytes(wrong)  # type: ignore[arg-type]
