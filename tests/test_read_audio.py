"""Recordings as people have them: what is read, and what is refused and how."""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

import tunelib.sound.audio
from tunelib.sound.audio import read_audio, write_wav

RATE = 44_100
SECONDS = np.arange(RATE) / RATE
LEFT = 0.4 * np.sin(2 * np.pi * 220 * SECONDS)
BOTH = np.stack([LEFT, 0.5 * LEFT], axis=1)


def encoded(kind: str, subtype: str | None = None, samples: Any = BOTH, rate: int = RATE) -> bytes:
    stream = io.BytesIO()
    soundfile.write(stream, samples, rate, format=kind, subtype=subtype)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("kind", "subtype", "close"),
    [
        ("WAV", "PCM_U8", 1e-2),
        ("WAV", "PCM_16", 1e-4),
        ("WAV", "PCM_24", 1e-6),
        ("WAV", "FLOAT", 1e-7),
        ("WAV", "DOUBLE", 0),
        ("RF64", "PCM_16", 1e-4),
        ("FLAC", None, 1e-4),
        ("AIFF", None, 1e-4),
        ("CAF", None, 1e-4),
        ("OGG", "VORBIS", 3e-2),
    ],
)
def test_a_recording_is_read_whatever_its_name(tmp_path: Path, kind: str, subtype: str | None, close: float) -> None:
    """As libsndfile wrote it; a name that ends otherwise, or not at all, changes nothing"""
    data = encoded(kind, subtype)
    for name in ("take.wav", "take.raw", "take"):
        path = tmp_path / name
        path.write_bytes(data)
        samples, rate = read_audio(path)
        assert rate == RATE and samples.dtype == np.float64 and samples.shape == BOTH.shape
        assert np.abs(samples - BOTH).max() <= close
    assert np.array_equal(read_audio(data)[0], samples)
    mono, _ = read_audio(data, mono=True)
    assert mono == pytest.approx(samples.mean(axis=1), abs=1e-12)


def test_mp3_is_read_at_its_pitch() -> None:
    """MPEG adds silence before and after, and leaves the frequency: the strongest bin is that of 220 Hz"""
    samples, rate = read_audio(encoded("MP3"), mono=True)
    assert abs(samples.size - LEFT.size) < 0.1 * rate
    middle = samples[rate // 4 : rate // 4 + rate // 2]
    assert np.argmax(np.abs(np.fft.rfft(middle))) * 2 == 220


def test_one_channel_comes_as_a_line_and_what_is_written_comes_back(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "line.wav", LEFT, RATE)
    samples, rate = read_audio(path)
    assert samples.shape == LEFT.shape and rate == RATE
    assert np.abs(samples - LEFT).max() < 2**-23


@pytest.mark.parametrize("mono", [False, True])
def test_a_long_recording_is_read_whole_across_its_blocks(monkeypatch: pytest.MonkeyPatch, mono: bool) -> None:
    monkeypatch.setattr(tunelib.sound.audio, "_FRAMES_AT_A_TIME", 1000)
    samples, _ = read_audio(encoded("WAV", "DOUBLE"), mono)
    assert np.array_equal(samples, BOTH.mean(axis=1) if mono else BOTH)


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"there is no file .*none\.wav"):
        read_audio(tmp_path / "none.wav")
    with pytest.raises(IsADirectoryError, match="is a folder; give the recording itself"):
        read_audio(tmp_path)
    with pytest.raises(ValueError, match="not an ordinary file"):
        read_audio("/dev/zero")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "is empty"),
        (b"Dear diary, today I practised.", "is not a recording that can be read: give a WAV"),
        (b"RIFF", "is damaged"),
        (b"fLaC" + bytes(300), "is damaged"),
        (b"OggS" + bytes(300), "is damaged"),
        (encoded("WAV")[:30], "is damaged"),
        (encoded("FLAC")[:60], "is damaged|holds no sound"),
        (encoded("WAV", samples=np.zeros((0, 1))), "holds no sound: it is 0 seconds long"),
        (encoded("WAV", "FLOAT", np.array([0.0, math.nan])), "values that are not numbers"),
        (encoded("WAV", rate=4000), "has 4000 samples a second; 8000 to 192000 can be read"),
        (encoded("WAV", rate=384_000), "has 384000 samples a second"),
    ],
    ids=lambda given: given if isinstance(given, str) else "",  # a file can have the time in it, and a test's name not
)
def test_what_cannot_be_heard_is_refused(tmp_path: Path, data: bytes, message: str) -> None:
    """In one line, whether from a file, which is then named, or from bytes"""
    path = tmp_path / "take.wav"
    path.write_bytes(data)
    for source, name in ((data, "the recording"), (path, str(path))):
        with pytest.raises(ValueError, match=message) as caught:
            read_audio(source)
        assert str(caught.value).startswith(name) and "\n" not in str(caught.value)


def test_a_recording_that_is_too_long_is_refused_before_it_fills_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tunelib.sound.audio, "LONGEST_MINUTES", 0.01)
    with pytest.raises(ValueError, match=r"longer than 0\.01 minutes; cut out the part"):
        read_audio(encoded("FLAC"))


HEADS = st.sampled_from(
    [b"", b"RIFF", b"RIFF\x00\x01\x00\x00WAVEfmt ", b"fLaC", b"OggS", b"FORM\x00\x00\x01\x00AIFF", b"caff", b"ID3"]
)


@settings(max_examples=300, deadline=None)
@given(HEADS, st.binary(max_size=600))
def test_any_bytes_are_read_or_refused(head: bytes, rest: bytes) -> None:
    try:
        samples, rate = read_audio(head + rest)
    except ValueError as error:
        assert "\n" not in str(error) and len(str(error)) < 300
    else:
        assert samples.size and rate >= 8000 and np.all(np.isfinite(samples))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(["WAV", "FLAC", "AIFF", "OGG"]), st.data())
def test_a_recording_with_a_hole_in_it_is_read_or_refused(kind: str, data: Any) -> None:
    """Cut short anywhere, or a few bytes overwritten anywhere"""
    whole = bytearray(encoded(kind, samples=BOTH[:3000]))
    for _ in range(data.draw(st.integers(0, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        samples, _ = read_audio(bytes(whole[: data.draw(st.integers(1, len(whole)))]))
    except ValueError as error:
        assert "\n" not in str(error)
    else:
        assert np.all(np.isfinite(samples))
