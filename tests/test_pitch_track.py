"""Pitch tracking and the notes found in it, beside parselmouth (Boersma 1993) and librosa (YIN, 2002)."""

from __future__ import annotations

import math
from collections.abc import Mapping

import librosa
import numpy as np
import parselmouth
import pytest
import scipy.signal
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from sampled import sampled

from tunelib.hearing.heard_notes import track_notes
from tunelib.hearing.pitch_track import PitchTrack, track_pitch
from tunelib.pitch.notes import hz_from_midi
from tunelib.score import Score, ScoreNote
from tunelib.sound.render import render
from tunelib.sound.voice import overtone_singer

RATE = 48000
SAW = {n: 1 / n for n in range(1, 9)}

# General MIDI programs (MIDI Manufacturers Association 1991), and keys within what the instruments play.
SAMPLED = {
    "grand piano": (0, 36, 84),
    "harpsichord": (6, 36, 84),
    "nylon guitar": (24, 40, 76),
    "electric bass": (33, 34, 55),
    "violin": (40, 55, 93),
    "viola": (41, 48, 80),
    "cello": (42, 36, 72),
    "harp": (46, 36, 84),
    "trumpet": (56, 54, 82),
    "trombone": (57, 40, 70),
    "tuba": (58, 34, 55),
    "french horn": (60, 41, 74),
    "alto saxophone": (65, 49, 80),
    "oboe": (68, 58, 88),
    "bassoon": (70, 34, 70),
    "clarinet": (71, 50, 89),
    "flute": (73, 60, 94),
    "recorder": (74, 72, 94),
}


def sounding(hertz: np.ndarray, strengths: Mapping[int, float], rate: int = RATE) -> np.ndarray:
    """Partials of these strengths over a pitch given sample by sample; a tenth of full scale in power."""
    phase = 2 * np.pi * np.cumsum(hertz) / rate
    tone = sum(a * np.sin(n * phase + n * n) for n, a in strengths.items() if n * hertz.max() < 0.48 * rate)
    return np.asarray(0.1 * tone / np.sqrt(np.mean(np.square(tone))))


def steady(hertz: float, strengths: Mapping[int, float] = SAW, seconds: float = 1.0, rate: int = RATE) -> np.ndarray:
    return sounding(np.full(round(seconds * rate), float(hertz)), strengths, rate)


def noise(seconds: float, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal(round(seconds * RATE))


def inside(track: PitchTrack, margin: float = 0.1) -> np.ndarray:
    """The pitches of a track without its beginning and end."""
    return track.hertz[(track.times > margin) & (track.times < track.times[-1] - margin)]


def cents_off(hertz: np.ndarray, target: float | np.ndarray) -> np.ndarray:
    return np.asarray(1200 * np.log2(hertz / target))


def contour(cents: np.ndarray) -> list:
    """The notes of a pitch of 220 Hz moved by cents sample by sample, with a little noise."""
    sound = sounding(220 * 2 ** (cents / 1200), SAW)
    return track_notes(track_pitch(sound + 3e-4 * noise(cents.size / RATE), RATE))


# Exact tones


@pytest.mark.parametrize("hertz", [50, 61.7, 110, 261.63, 440, 1000, 1760, 2000])
@pytest.mark.parametrize("strengths", [{1: 1.0}, SAW], ids=["sine", "eight partials"])
def test_an_exact_tone_is_found_within_a_fiftieth_of_a_cent(hertz: float, strengths: Mapping[int, float]) -> None:
    found = inside(track_pitch(steady(hertz, strengths), RATE), 0.3)
    assert np.abs(cents_off(found, hertz)).max() < 0.02


@pytest.mark.parametrize("rate", [8000, 11025, 16000, 22050, 44100, 96000, 192000])
def test_every_usual_sample_rate_gives_the_same_pitch_and_evenly_spaced_times(rate: int) -> None:
    track = track_pitch(steady(330.0, {1: 1.0, 2: 0.5, 3: 0.3}, rate=rate), rate)
    assert np.abs(cents_off(inside(track), 330)).max() < 0.05
    assert np.ptp(np.diff(track.times)) < 1e-9
    assert track.times[1] == pytest.approx(0.010, abs=1 / 16000)
    assert track.times[-1] == pytest.approx(1.0, abs=0.011)


TRAPS = {
    "odd partials only, as a clarinet": {1: 1, 3: 0.5, 5: 0.3, 7: 0.2, 9: 0.1},
    "a second partial 30 dB above the first": {1: 0.03, 2: 1, 3: 0.03, 4: 0.3, 5: 0.02, 6: 0.1},
    "no first partial": {2: 1, 3: 0.8, 4: 0.6, 5: 0.4},
    "partials 4 to 7 alone": {4: 1, 5: 1, 6: 1, 7: 1},
    "an eighth partial 25 dB above the rest": {n: 1 if n == 8 else 0.056 / math.sqrt(n) for n in range(1, 16)},
}


@pytest.mark.parametrize("trap", TRAPS)
@pytest.mark.parametrize("hertz", [60, 110, 220, 415])
def test_no_octave_is_taken_for_another(trap: str, hertz: float) -> None:
    found = inside(track_pitch(steady(hertz, TRAPS[trap]), RATE))
    assert np.abs(cents_off(found, hertz)).max() < 0.1


def test_the_drone_of_an_overtone_singer_is_the_pitch() -> None:
    """While the resonance walks over harmonics 6 to 12, the drone is found, or (in a leap of an octave) nothing."""
    singer = overtone_singer("who'd", [(0, 8), (0.5, 9), (1.0, 10), (1.5, 12), (2.0, 6)], 110)
    sound = render(Score((ScoreNote(0, 2.5, 110),)), singer)
    found = inside(track_pitch(sound, RATE), 0.15)
    assert np.isfinite(found).mean() > 0.95
    assert np.nanmax(np.abs(cents_off(found, 110))) < 1


# Beside the peers


def test_a_glide_is_followed_as_closely_as_parselmouth_does_and_closer_than_yin() -> None:
    """Eight partials from 60 to 1500 Hz in 20 s with noise at -45 dB; no octave errors."""
    seconds = np.arange(20 * RATE) / RATE
    pace = math.log(1500 / 60) / 20

    def truth(times: np.ndarray) -> np.ndarray:
        return np.asarray(60 * np.exp(pace * times))

    sound = sounding(truth(seconds + 0.5 / RATE), SAW)
    sound += 0.1 * 10 ** (-45 / 20) * noise(20)

    def errors(times: np.ndarray, hertz: np.ndarray) -> np.ndarray:
        kept = (times > 0.1) & (times < 19.9)
        return np.abs(cents_off(hertz[kept], truth(times[kept])))

    ours = errors(*track_pitch(sound, RATE)[:2])
    praat = parselmouth.Sound(sound, RATE).to_pitch(time_step=0.01, pitch_floor=50, pitch_ceiling=2000)
    peer = errors(praat.xs(), praat.selected_array["frequency"])
    hertz = librosa.yin(sound, fmin=50, fmax=2000, sr=RATE, frame_length=4096, hop_length=480)
    yin = errors(np.arange(hertz.size) / 100, hertz)
    assert np.median(ours) <= 0.05 and np.percentile(ours, 95) <= 0.2 and ours.max() < 1
    assert np.percentile(ours, 95) < np.percentile(peer, 95)
    assert np.median(ours) < np.median(yin) / 10


def in_thirds(name: str) -> tuple[np.ndarray, tuple[int, ...]]:
    """A sampled instrument in thirds over its range: a second for each key, and a quarter of rest before it."""
    program, low, high = SAMPLED[name]
    keys = tuple(range(low, high + 1, 4))
    return sampled(program, keys, seconds=1.0, gap=0.25), keys


@pytest.mark.parametrize("name", SAMPLED)
def test_recorded_instruments_are_heard_as_parselmouth_hears_them(name: str) -> None:
    """The median of each steady note is within 2 cents of parselmouth's and near the key's; no octave errors."""
    sound, keys = in_thirds(name)
    ours = track_pitch(sound, RATE)
    praat = parselmouth.Sound(sound, RATE).to_pitch(time_step=0.01, pitch_floor=50, pitch_ceiling=2000)
    for place, key in enumerate(keys):
        begin = 0.25 + 1.25 * place
        mine = ours.hertz[(ours.times > begin + 0.2) & (ours.times < begin + 0.9)]
        theirs = praat.selected_array["frequency"][(praat.xs() > begin + 0.2) & (praat.xs() < begin + 0.9)]
        assert np.isfinite(mine).mean() > 0.7, key
        pitch = np.nanmedian(mine)
        assert abs(cents_off(pitch, np.median(theirs[theirs > 0]))) < 2, key
        assert abs(cents_off(pitch, hz_from_midi(key))) < 60, key


def test_recorded_notes_are_found_one_by_one() -> None:
    """Every key of instruments that hold their notes comes out as one note of its length, where it was played."""
    for name in ("violin", "trumpet", "oboe", "clarinet", "alto saxophone"):
        sound, keys = in_thirds(name)
        notes = [note for note in track_notes(track_pitch(sound, RATE)) if note.offset - note.onset > 0.4]
        assert len(notes) == len(keys), name
        for place, (key, note) in enumerate(zip(keys, notes, strict=True)):
            assert abs(cents_off(np.array(note.hertz), hz_from_midi(key))) < 60
            assert note.onset == pytest.approx(0.25 + 1.25 * place, abs=0.12)


# What disturbs


@pytest.mark.parametrize(("decibels", "cents"), [(-40, 0.1), (-20, 1.0), (-10, 6.0)])
def test_noise_widens_the_spread_and_shifts_nothing(decibels: float, cents: float) -> None:
    for hertz in (82, 330, 1200):
        sound = steady(hertz, seconds=2) + 0.1 * 10 ** (decibels / 20) * noise(2)
        off = cents_off(inside(track_pitch(sound, RATE)), hertz)
        assert np.isfinite(off).all()
        assert off.std() < cents and abs(off.mean()) < 0.3 * cents


def test_level_changes_and_an_offset_move_nothing() -> None:
    tone = steady(220, seconds=2)
    ramp = 10 ** (-np.linspace(0, 50, tone.size) / 20)
    tremolo = 1 + 0.9 * np.sin(2 * np.pi * 5 * np.arange(tone.size) / RATE)
    for sound in (tone * ramp, tone * tremolo, tone + 0.5, tone * 1e-3):
        assert np.abs(cents_off(inside(track_pitch(sound, RATE)), 220)).max() < 1


def breath(resonances: Mapping[float, float]) -> np.ndarray:
    """Noise through resonances, given as their width for each centre in hertz; nothing in it repeats itself."""
    sound = np.zeros(6 * RATE)
    for centre, width in resonances.items():
        radius = math.exp(-math.pi * width / RATE)
        sound += scipy.signal.lfilter(
            [1], [1, -2 * radius * math.cos(2 * math.pi * centre / RATE), radius**2], noise(6)
        )
    return 0.3 * sound / np.abs(sound).max()


WHISPER = breath({730: 90, 1090: 110, 2440: 160})  # the formants of "hod", Peterson and Barney 1952
BREATHY_FLUTE = breath({880: 150})


@pytest.mark.parametrize(
    ("sound", "most"),
    [
        (np.zeros(RATE), 0),
        (np.full(RATE, 0.5), 0),
        (0.1 * noise(4), 0),
        (1e-6 * steady(220), 0),
        (np.convolve(0.1 * noise(4), np.ones(40) / 40), 0.01),
        (np.arange(3 * RATE) % (RATE // 3) == 0, 0),
        (WHISPER, 0.02),
        (BREATHY_FLUTE, 0.05),
    ],
    ids=[
        "silence",
        "an offset alone",
        "white noise",
        "a tone below -90 dBFS",
        "dull noise",
        "clicks",
        "whisper",
        "breath in a flute",
    ],
)
def test_what_has_no_pitch_is_nan(sound: np.ndarray, most: float) -> None:
    track = track_pitch(sound.astype(float), RATE)
    assert np.isfinite(track.hertz).mean() <= most
    assert np.isfinite(track.confidence).all()


def test_breath_becomes_no_note() -> None:
    """No easy case: Praat, as it is usually set, gives most frames of the flute's a pitch."""
    for sound in (WHISPER, BREATHY_FLUTE):
        assert track_notes(track_pitch(sound, RATE)) == []
    praat = parselmouth.Sound(BREATHY_FLUTE, RATE).to_pitch(time_step=0.01, pitch_floor=50, pitch_ceiling=2000)
    assert np.mean(praat.selected_array["frequency"] > 0) > 0.5


def test_a_pause_is_left_open_and_a_tone_out_of_bounds_is_not_guessed() -> None:
    tone = steady(440, seconds=2)
    tone[RATE // 2 : RATE] = 0
    track = track_pitch(tone, RATE)
    assert np.isnan(track.hertz[(track.times > 0.55) & (track.times < 0.95)]).all()
    assert np.isfinite(track.hertz[(track.times > 0.05) & (track.times < 0.45)]).all()
    assert np.isnan(inside(track_pitch(steady(30, {1: 1.0}), RATE, lowest=60))).all()


# What comes in


def test_whole_numbers_and_channels_are_taken_as_what_they_mean() -> None:
    tone = steady(196)
    plain = track_pitch(tone, RATE)
    coded = {
        "int16": np.rint(tone * 32767).astype(np.int16),
        "int32": np.rint(tone * (2**31 - 1)).astype(np.int32),
        "uint8": np.rint(128 + tone * 127).astype(np.uint8),
        "float32": tone.astype(np.float32),
        "stereo": np.stack((tone, 0.5 * tone), axis=1),
    }
    for what, sound in coded.items():
        track = track_pitch(sound, RATE)
        assert np.array_equal(track.times, plain.times)
        limit = 2.0 if what == "uint8" else 0.1
        assert np.abs(cents_off(inside(track), 196)).max() < limit, what


def test_a_few_samples_are_too_short_for_a_pitch_but_no_error() -> None:
    for count in (1, 2, 100, 479, 481):
        track = track_pitch(steady(440)[:count], RATE)
        assert len(track.times) == len(track.hertz) == len(track.confidence) == -(-count // 480)


@pytest.mark.parametrize(
    ("samples", "options", "said"),
    [
        ([], {}, "shape"),
        (np.zeros((2, 2, 2)), {}, "shape"),
        (np.zeros((2, 4800)), {}, "4800 channels"),
        ([0.0, math.nan], {}, "sample 1 of channel 1 is nan"),
        ([0.0, math.inf], {}, "sample 1 of channel 1 is inf"),
        ([0.0, 1j], {}, "complex"),
        (["a"], {}, "type"),
        ([True], {}, "bool"),
        ([0.0], {"sample_rate": 4000}, "8000 Hz or more"),
        ([0.0], {"sample_rate": math.nan}, "sample rate"),
        ([0.0], {"lowest": 0}, "10 Hz or more"),
        ([0.0], {"lowest": 500, "highest": 400}, "from 500 to 400"),
        ([0.0], {"hop": 0}, "hop"),
        ([0.0], {"clarity": 1}, "clarity"),
    ],
)
def test_bad_input_is_named(samples: object, options: dict[str, float], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        track_pitch(samples, **{"sample_rate": RATE, **options})  # type: ignore[arg-type]


FLOATS = st.floats(allow_nan=True, allow_infinity=True)
SHAPES = arrays.array_shapes(min_dims=1, max_dims=2, min_side=0, max_side=600)


@settings(max_examples=60, deadline=None)
@given(
    samples=st.one_of(
        arrays.arrays(np.float64, SHAPES, elements=FLOATS, fill=FLOATS),
        arrays.arrays(np.int16, SHAPES, fill=st.integers(-32768, 32767)),
        arrays.arrays(np.float32, SHAPES, elements=st.floats(-1, 1, width=32), fill=st.nothing()),
    ),
    rate=st.sampled_from([8000, 22050, 48000]),
)
def test_any_array_gives_pitches_in_bounds_or_a_value_error(samples: np.ndarray, rate: int) -> None:
    try:
        track = track_pitch(samples, rate)
    except ValueError:
        return
    assert np.isfinite(track.confidence).all() and np.isfinite(track.times).all()
    pitched = track.hertz[~np.isnan(track.hertz)]
    assert ((pitched > 48) & (pitched < 2060)).all()
    track_notes(track)


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("sample", [np.nan, -np.inf, 6.7e153])
def test_samples_that_are_none_are_refused_by_their_place(sample: float, channels: int) -> None:
    """Neither what is no number nor what would be too large for a number when it is squared."""
    samples = np.zeros((600, channels))
    samples[7:, -1] = sample
    with pytest.raises(ValueError, match=rf"sample 7 of channel {channels} is .*; samples are numbers"):
        track_pitch(samples, 8000)


# Notes


def test_a_steady_tone_is_one_note_of_its_length() -> None:
    [note] = contour(np.zeros(2 * RATE))
    assert (note.onset, note.offset) == pytest.approx((0, 2), abs=0.02)
    assert abs(cents_off(np.array(note.hertz), 220)) < 0.02
    assert note.cents_spread < 0.2 and abs(note.drift) < 0.1 and note.confidence > 0.99
    assert (note.vibrato_rate, note.vibrato_width) == (0, 0)


@pytest.mark.parametrize(("rate", "width"), [(4.5, 20), (5.5, 50), (6.0, 120), (7.0, 80)])
def test_vibrato_stays_one_note_and_its_rate_width_and_centre_are_found(rate: float, width: float) -> None:
    """Within 7 per cent of its width, which the window of the tracker narrows (see `track_pitch`)."""
    seconds = np.arange(2 * RATE) / RATE
    [note] = contour(width / 2 * np.sin(2 * np.pi * rate * seconds) + 10 * seconds)
    assert note.vibrato_rate == pytest.approx(rate, abs=0.05)
    assert 0.93 * width < note.vibrato_width < 1.01 * width
    assert cents_off(np.array(note.hertz), 220) == pytest.approx(10, abs=1.5)
    assert note.drift == pytest.approx(20, abs=1)
    assert note.cents_spread == pytest.approx(math.sqrt(width**2 / 8 + 20**2 / 12), rel=0.07)


def test_a_slow_drift_stays_one_note() -> None:
    [note] = contour(np.linspace(0, 100, 10 * RATE))
    assert note.drift == pytest.approx(100, abs=1)
    assert cents_off(np.array(note.hertz), 220) == pytest.approx(50, abs=1)


@pytest.mark.parametrize("each", [0.1, 0.125, 0.3])
def test_a_chromatic_run_is_parted_into_its_semitones(each: float) -> None:
    count = 12
    steps = np.repeat(100.0 * np.arange(count), round(each * RATE))
    notes = contour(steps)
    assert cents_off(np.array([note.hertz for note in notes]), 220) == pytest.approx(100 * np.arange(count), abs=3)
    assert np.array([note.onset for note in notes]) == pytest.approx(each * np.arange(count), abs=0.02)


def test_a_slide_belongs_to_neither_note() -> None:
    seconds = np.arange(2 * RATE) / RATE
    first, second = contour(np.interp(seconds, [0, 0.8, 1.0, 2], [0, 0, 700, 700]))
    assert first.offset == pytest.approx(0.8, abs=0.05) and second.onset == pytest.approx(1.0, abs=0.05)
    pitches = cents_off(np.array([first.hertz, second.hertz]), 220)
    assert pitches == pytest.approx([0, 700], abs=1)
    assert contour(278 * seconds) == []  # one long slide is no note at all


def test_the_same_note_again_is_another_note() -> None:
    """Both with a pause of 50 ms between, and struck again without one while the last still rings."""
    seconds = np.arange(2 * RATE) / RATE
    gate = np.where(seconds % 0.25 < 0.2, 1.0, 0.0)
    paused = track_notes(track_pitch(steady(220, seconds=2) * gate, RATE))
    since = seconds % 0.25
    phase = 2 * np.pi * 220 * seconds + 1.3 * np.floor(seconds / 0.25)
    struck = sum(np.sin(n * phase) / n for n in range(1, 7)) * np.exp(-3 * since) * np.minimum(1, since / 0.01) / 10
    again = track_notes(track_pitch(struck, RATE))
    for notes in (paused, again):
        assert [note.onset for note in notes] == pytest.approx(list(0.25 * np.arange(8)), abs=0.04)
        assert [float(cents_off(np.array(note.hertz), 220)) for note in notes] == pytest.approx([0] * 8, abs=1)


def test_blips_and_dropouts_of_a_track_are_passed_over() -> None:
    times = np.arange(200) * 0.01
    hertz, confidence = np.full(200, 300.0), np.full(200, 0.97)
    hertz[60:62] = 600
    hertz[120:122] = np.nan
    [note] = track_notes(PitchTrack(times, hertz, confidence))
    assert note.hertz == pytest.approx(300)
    assert note.cents_spread == pytest.approx(0, abs=1e-6)
    hertz[120:126] = np.nan
    assert len(track_notes(PitchTrack(times, hertz, confidence))) == 2
    assert track_notes(PitchTrack(times, np.full(200, np.nan), confidence)) == []


def test_a_track_that_is_none_is_named() -> None:
    good = np.arange(4) * 0.01
    for track, said in (
        (PitchTrack(good, good[:3] + 1, good), "one length"),
        (PitchTrack(good, good, good), "above 0 Hz"),
        (PitchTrack(good**2, good + 1, good), "evenly"),
    ):
        with pytest.raises(ValueError, match=said):
            track_notes(track)
    with pytest.raises(ValueError, match="shortest"):
        track_notes(PitchTrack(good, good + 1, good), shortest=0)
