"""Long work: recordings that are heard, and scores that are rendered, in blocks, in memory that does not grow."""

from __future__ import annotations

import io
import subprocess
import sys
import wave
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scipy.ndimage
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import retune
from tunelib.hearing.recording import Recording
from tunelib.hearing.take import hear, hear_recording
from tunelib.hearing.take_faults import survey
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.practice.listening import listen_to
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import open_recording, read_audio, wav_bytes, write_wav, write_wav_blocks
from tunelib.sound.demo_takes import DEMO_TAKES, SAMPLE_RATE
from tunelib.sound.limiter import LOOK_AHEAD_SECONDS, limit, limited
from tunelib.sound.render import Rendering, render
from tunelib.sound.timbre import TIMBRES, mixture
from tunelib.sound.voice import overtone_singer

RATE = 48_000
TAKE = DEMO_TAKES["a mixed day"].samples()


def cut(samples: np.ndarray, lengths: list[int]) -> Iterator[np.ndarray]:
    """Samples in blocks of these lengths, over and over."""
    first = 0
    while first < len(samples):
        for length in lengths:
            yield samples[first : first + length]
            first += length


# Listening


@pytest.mark.parametrize("lengths", [[len(TAKE)], [4096], [1, 50_000, 7, 333]])
@pytest.mark.parametrize("take", ["a mixed day", "wide vibrato"])
def test_a_take_is_heard_alike_whole_and_in_blocks(take: str, lengths: list[int]) -> None:
    samples = DEMO_TAKES[take].samples()
    whole = hear(samples, SAMPLE_RATE)
    parts = hear_recording(Recording(SAMPLE_RATE, lambda: cut(samples, lengths)))
    assert parts.seconds == whole.seconds and parts.faults == whole.faults
    for in_blocks, at_once in zip(parts.track, whole.track, strict=True):
        np.testing.assert_allclose(in_blocks, at_once, rtol=1e-9, atol=1e-9)
    assert len(parts.notes) == len(whole.notes)
    for heard, note in zip(parts.notes, whole.notes, strict=True):
        assert vars(heard) == pytest.approx(vars(note), abs=1e-6)


def test_faults_are_found_where_blocks_meet() -> None:
    """A flat top is five samples long at the least; in blocks of three, none has one whole"""
    clipped = np.rint(np.clip(3 * TAKE / np.abs(TAKE).max(), -1, 1) * 32767) / 32768
    for lengths in ([3], [4, 1], [len(TAKE)]):
        found = survey(Recording(SAMPLE_RATE, lambda lengths=lengths: cut(clipped[RATE // 5 : RATE], lengths)))
        assert found.clipped and found.samples == RATE - RATE // 5, lengths


def test_a_file_is_heard_as_its_samples_are(tmp_path: Path) -> None:
    """In stereo and in the kinds of file that people have"""
    for kind in ("wav", "flac", "ogg"):
        path = tmp_path / f"take.{kind}"
        soundfile.write(path, np.stack([TAKE, 0.5 * TAKE], axis=1), SAMPLE_RATE)
        samples, rate = read_audio(path, mono=True)
        blocks = list(open_recording(path).blocks())
        assert max(map(len, blocks)) < len(samples)
        assert np.array_equal(np.concatenate(blocks), samples)
        report = listen_to(path, "12")
        assert report.notes == hear(samples, rate).against(report.targets).notes


def test_listening_tells_its_progress_from_nothing_to_all(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "take.wav", TAKE)
    told: list[float] = []
    listen_to(path, "12", progress=told.append)
    assert told == sorted(told) and 0 <= told[0] < 0.1 and told[-1] == 1.0
    assert len(told) > 10 and max(np.diff(told)) < 0.5


def test_a_recording_that_is_damaged_further_on_is_named(tmp_path: Path) -> None:
    samples = TAKE.copy()
    samples[-10] = np.nan
    path = tmp_path / "take.wav"
    soundfile.write(path, samples, SAMPLE_RATE, subtype="FLOAT")
    with pytest.raises(ValueError, match=r"take\.wav is damaged: it holds values that are not numbers"):
        listen_to(path, "12")
    samples[-10] = 1e30
    soundfile.write(path, samples, SAMPLE_RATE, subtype="FLOAT")
    with pytest.raises(ValueError, match="values as high as 1e\\+30 times full scale"):
        listen_to(path, "12")


def test_a_damaged_mp3_says_nothing_past_python(tmp_path: Path) -> None:
    """Its decoder prints what it finds on the error stream of the process itself."""
    stream = io.BytesIO()
    soundfile.write(stream, TAKE, SAMPLE_RATE, format="MP3")
    data = bytearray(stream.getvalue())
    data[2000:2400] = bytes(range(200)) * 2
    path = tmp_path / "take.mp3"
    path.write_bytes(b"ID3\x04\x00\x00\x00\x00\x0f\xff" + bytes(300) + data)
    code = (
        "import sys; from tunelib.sound.audio import read_audio\ntry: read_audio(sys.argv[1])\nexcept ValueError: pass"
    )
    ran = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert ran.stderr == ""


# Memory. Each measurement has a process of its own, since the most that a process ever took does not fall again.

PEAK = "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"


def peak_mib(code: str, *arguments: str) -> float:
    ran = subprocess.run([sys.executable, "-c", f"{code}\n{PEAK}", *arguments], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    return int(ran.stdout.split()[-1]) / 1024


@pytest.mark.parametrize(("rate", "channels"), [(48_000, 1), (192_000, 2)])
def test_memory_does_not_grow_with_the_length_of_a_recording(tmp_path: Path, rate: int, channels: int) -> None:
    """A minute against four. Held whole, three minutes more take 69 MiB at 48 kHz, and 264 MiB at 192 kHz"""
    code = "import sys; from tunelib.practice.listening import listen_to; listen_to(sys.argv[1], '12')"
    second = 0.2 * np.sin(2 * np.pi * 440 * np.arange(rate) / rate) * np.minimum(1, 5 - 5 * np.arange(rate) / rate)
    peaks = []
    for minutes in (1, 4):
        path = tmp_path / f"{minutes}.flac"
        with soundfile.SoundFile(path, "w", rate, channels) as file:
            for _ in range(60 * minutes):
                file.write(np.tile(second[:, np.newaxis], channels))
        peaks.append(peak_mib(code, str(path)))
    assert peaks[1] - peaks[0] < 30


def test_memory_does_not_grow_with_the_length_of_a_score(tmp_path: Path) -> None:
    """A minute against six. Held whole, five minutes more take 110 MiB as samples alone"""
    code = """
import sys
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import write_wav_blocks
from tunelib.sound.render import Rendering
from tunelib.sound.timbre import TIMBRES, mixture
score = Score(tuple(ScoreNote(i, 1, 220.0 + i % 7) for i in range(60 * int(sys.argv[1]))), 60)
with open(sys.argv[2], "wb") as stream:
    write_wav_blocks(stream, Rendering(score, TIMBRES["sine"]).blocks())
"""
    peaks = [peak_mib(code, str(minutes), str(tmp_path / "score.wav")) for minutes in (1, 6)]
    with wave.open(str(tmp_path / "score.wav")) as written:
        assert written.getnframes() == 360 * RATE + round(TIMBRES["sine"].release * RATE)
    assert peaks[1] - peaks[0] < 30


# Rendering


def test_a_long_note_is_a_sum_of_sines_from_its_first_sample_to_its_last() -> None:
    """By the definition, in notes that begin and end anywhere in a block; phases from the timbre's own list"""
    onset, seconds, hertz, timbre = 1.2345, 4.5, 331.7, TIMBRES["flute"]
    sound = render(Score((ScoreNote(onset, seconds, hertz, level=0.5),), 60), timbre)
    start, stop = round(onset * RATE), round((onset + seconds) * RATE)
    ramp = round(timbre.attack * RATE)
    frequencies, amplitudes, _ = timbre.partials(hertz)
    times = np.arange(ramp, stop - start)[:, np.newaxis] / RATE
    expected = np.sin(2 * np.pi * frequencies * times + timbre.phases(hertz)) @ amplitudes
    scale = 0.5 * 10 ** (-12 / 20) / 5  # -12 dB, and headroom for five: the module's own figures
    assert np.abs(sound[start + ramp : stop] - scale * expected).max() < 1e-9


def test_a_note_struck_again_is_the_same_sum_of_sines_at_its_own_level_and_length() -> None:
    """Tones that die away, struck at several levels for several lengths, more of them than can be kept"""
    timbre, random = replace(mixture([1.0, 0.5, 0.3]), ring=2.0), np.random.default_rng(31)
    score = Score(
        tuple(
            ScoreNote(0.5 * i, random.uniform(0.2, 3.1), 82.4 * 2 ** (i % 70 / 31), level=random.uniform(0.1, 1))
            for i in range(150)
        ),
        60,
    )
    expected = np.zeros(render(score, timbre).size)
    attack, release = round(timbre.attack * RATE), round(timbre.release * RATE)
    for note in score.notes:
        start, stop = round(note.onset * RATE), round((note.end + timbre.release) * RATE)
        count, (frequencies, amplitudes, decay_seconds) = np.arange(stop - start), timbre.partials(note.hertz)
        ramp = np.interp(count, (0, attack), (0, 1)) * np.interp(
            count, (stop - start - 1 - release, stop - start - 1), (1, 0)
        )
        sound = np.zeros(stop - start)
        for hertz, amplitude, seconds, phase in zip(
            frequencies, amplitudes, decay_seconds, timbre.phases(note.hertz), strict=True
        ):
            times = count / RATE
            sound += amplitude * 10 ** (-3 * times / seconds) * np.sin(2 * np.pi * hertz * times + phase)
        expected[start:stop] += note.level * 10 ** (-12 / 20) / 5 * (0.5 - 0.5 * np.cos(np.pi * ramp)) * sound
    difference = np.abs(render(score, timbre, gain=0.2) - 0.2 * expected).max()
    assert difference < 10 ** (-160 / 20) * 0.2 * np.abs(expected).max()


def test_notes_together_are_the_sum_of_each_alone() -> None:
    """A walking voice too, whose movement is worked out in blocks that begin with its note"""
    singer = overtone_singer("hood", [(0, 8), (1.0, 9), (2.3, 12)], 110.0)
    notes = [(ScoreNote(0.013, 4, 110.0, voice="a"), singer), (ScoreNote(1.7, 3, 246.9, voice="b"), TIMBRES["plucked"])]
    together = render(Score(tuple(note for note, _ in notes), 60), {"a": singer, "b": TIMBRES["plucked"]})
    alone = [render(Score((note,), 60), timbre) for note, timbre in notes]
    longest = max(map(len, alone))
    summed = sum(np.pad(sound, (0, longest - len(sound))) for sound in alone)
    assert np.abs(together[:longest] - summed).max() < 1e-12


def test_a_rendering_can_be_gone_through_twice_and_tells_its_progress() -> None:
    rendering = Rendering(Score(tuple(ScoreNote(i, 1, 200.0 + i) for i in range(8)), 60), TIMBRES["organ"])
    told: list[float] = []
    first, second = (np.concatenate(list(rendering.blocks(told.append))) for _ in range(2))
    assert np.array_equal(first, second) and len(first) == rendering.samples
    assert told[: len(told) // 2] == sorted(told[: len(told) // 2]) and told[-1] == 1.0


def test_a_note_too_high_is_refused_before_anything_is_rendered() -> None:
    with pytest.raises(ValueError, match="the note at beat 500 cannot sound"):
        Rendering(Score((ScoreNote(0, 1, 440.0), ScoreNote(500, 1, 21_000.0)), 60), TIMBRES["organ"])


@settings(max_examples=12, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.lists(st.integers(400, 9000), min_size=1, max_size=5),
    st.floats(0.02, 1.0),
    st.sampled_from([8000, 44_100]),
)
def test_the_limiter_is_the_same_in_blocks(seed: int, lengths: list[int], ceiling: float, rate: int) -> None:
    """Beside the whole at once by scipy: the lowest needed gain about each sample, averaged twice over 50 ms"""
    random = np.random.default_rng(seed)
    samples = random.normal(size=24_000) * np.repeat(random.choice([0.0, 0.1, 1.0], size=24), 1000) * 0.2
    half = round(LOOK_AHEAD_SECONDS * rate)
    needed = np.pad(np.minimum(1, ceiling / np.maximum(np.abs(samples), 1e-9)), 2 * half, constant_values=1)
    gain = scipy.ndimage.minimum_filter1d(needed, 2 * half + 1, mode="nearest")
    box = np.full(half + 1, 1 / (half + 1))
    smooth = np.convolve(np.convolve(gain[half : gain.size - half], box, "valid"), box, "valid")
    joined = np.concatenate(list(limited(cut(samples, lengths), ceiling, rate)))
    assert np.abs(joined - samples * smooth).max() < 1e-8
    assert np.abs(joined - limit(samples, ceiling, rate)).max() < 1e-9
    assert np.abs(joined).max() <= ceiling


@pytest.mark.parametrize("bits", [16, 24])
def test_a_file_written_in_blocks_is_the_file_written_whole(tmp_path: Path, bits: int) -> None:
    """And holds what another library reads: libsndfile, to half of the last bit"""
    for samples in (TAKE, np.stack([TAKE, -TAKE], axis=1), np.zeros(0)):
        stream = io.BytesIO()
        write_wav_blocks(stream, cut(samples, [1000, 1, 77_777]), SAMPLE_RATE, bits)
        data = stream.getvalue()
        whole = (
            wav_bytes(samples) if bits == 16 else write_wav(tmp_path / "a.wav", samples, overwrite=True).read_bytes()
        )
        assert data == whole
        read, rate = soundfile.read(io.BytesIO(data))
        assert rate == SAMPLE_RATE and read.shape == samples.shape
        assert np.abs(read - samples).max(initial=0) <= 0.5 / 2 ** (bits - 1) + 1e-12


def test_a_sample_past_full_scale_is_named_by_its_place_in_the_whole() -> None:
    with pytest.raises(ValueError, match=r"sample 1003 is 1\.5"):
        write_wav_blocks(io.BytesIO(), [np.zeros(1000), np.array([0, 0, 0, 1.5])])
    with pytest.raises(ValueError, match="a block has 2 channels, and the first has 1"):
        write_wav_blocks(io.BytesIO(), [np.zeros(10), np.zeros((10, 2))])


# Retuning


def test_retuning_tells_its_progress_from_nothing_to_nearly_all() -> None:
    told: list[float] = []
    sheet = parse_lead_sheet("\n".join(["| Dm7 G7 | Cmaj7 A7 | Dm7 G7 | Em7 A7 |"] * 60))
    retune(sheet, THIRTY_ONE, progress=told.append)
    assert told == sorted(told) and told[0] == 0 and told[-1] > 0.9 and max(np.diff(told)) < 0.3
