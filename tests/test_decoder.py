"""What phones and browsers record: read at its pitch and in its length, or refused in one line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tunelib.hearing import hear_recording
from tunelib.pitch import cents, equal
from tunelib.score import sequence
from tunelib.sound import TIMBRES, find_ffmpeg, open_recording, read_audio, render, write_wav

RATE = 48_000
# How ffmpeg makes each: voice memos, a browser's recorder, a phone's camera, a dictating machine, and an old computer.
MADE = {
    "memo.m4a": ("-c:a", "aac", "-b:a", "64k"),
    "clip.mp4": ("-f", "lavfi", "-i", "color=size=32x32:rate=5", "-shortest", "-c:a", "aac"),
    "browser.webm": ("-c:a", "libopus", "-b:a", "16k"),
    "message.ogg": ("-c:a", "libopus", "-b:a", "16k"),
    "phone.3gp": ("-c:a", "libopencore_amrnb", "-ar", "8000", "-b:a", "12.2k"),
    "dictated.amr": ("-c:a", "libopencore_amrnb", "-ar", "8000", "-b:a", "12.2k"),
    "stream.aac": ("-c:a", "aac", "-b:a", "64k"),
    "old.wma": ("-c:a", "wmav2", "-b:a", "64k"),
}
NOT_OURS = tuple(name for name in MADE if not name.endswith(".ogg"))  # those that soundfile does not read


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same eight notes of thirty-one, as ffmpeg encodes them."""
    made = tmp_path_factory.mktemp("phones")
    notes = sequence([(float(equal(31).hz(step)), None) for step in (0, 5, 10, 13, 18, 23, 28, 31)], beats=0.8)
    write_wav(made / "plain.wav", render(notes, TIMBRES["reed"]), RATE)
    for name, options in MADE.items():
        command = [find_ffmpeg("a test"), "-v", "error", "-i", str(made / "plain.wav"), *options, str(made / name)]
        subprocess.run(command, check=True, timeout=120)
    return made


def pitches(path: Path) -> NDArray[np.float64]:
    return np.array([note.hertz for note in hear_recording(open_recording(path)).notes])


@pytest.mark.parametrize("name", MADE)
def test_the_pitch_of_what_a_phone_records_is_that_of_what_was_played(folder: Path, name: str) -> None:
    """The median error of the notes is below one cent, at 16 kbit/s as well; and nothing is cut off or added."""
    plain, found = pitches(folder / "plain.wav"), pitches(folder / name)
    assert len(found) == len(plain)
    assert np.median(np.abs(cents(found / plain))) < 1
    whole, part = (sum(map(len, open_recording(folder / n).blocks())) for n in ("plain.wav", name))
    rate = open_recording(folder / name).sample_rate
    assert abs(part / rate - whole / RATE) < 0.15


@pytest.mark.parametrize("name", MADE)
def test_bytes_and_files_of_any_name_are_read_alike(folder: Path, tmp_path: Path, name: str) -> None:
    data = (folder / name).read_bytes()
    (tmp_path / "take.wav").write_bytes(data)
    (from_bytes, rate), (from_file, again) = read_audio(data), read_audio(tmp_path / "take.wav")
    assert rate == again and np.array_equal(from_bytes, from_file)
    blocks = list(open_recording(data).blocks())
    assert np.array_equal(np.concatenate(blocks), read_audio(data, mono=True)[0])


def test_a_recording_says_beforehand_how_long_it_is(folder: Path) -> None:
    """Which is what a listener is told about the share that is done."""
    recording = open_recording(folder / "memo.m4a")
    assert recording.expected == pytest.approx(sum(map(len, recording.blocks())), rel=0.02)


@pytest.mark.parametrize("name", NOT_OURS)
def test_what_is_damaged_is_refused_in_one_line(folder: Path, name: str) -> None:
    with pytest.raises(
        ValueError, match="is damaged, or not the recording that it begins like|holds no sound"
    ) as caught:
        read_audio((folder / name).read_bytes()[:20])
    assert "\n" not in str(caught.value)


def test_a_film_without_sound_is_named_as_one(tmp_path: Path) -> None:
    film = tmp_path / "mute.mp4"
    command = [find_ffmpeg("a test"), "-v", "error", "-f", "lavfi", "-i", "color=size=32x32:duration=1", str(film)]
    subprocess.run(command, check=True, timeout=60)
    with pytest.raises(ValueError, match=r"mute\.mp4 has no sound in it"):
        read_audio(film)


def test_a_reader_that_stops_early_leaves_no_decoder_behind(folder: Path) -> None:
    """A recording that turns out to be too long is given up in the middle."""
    blocks = open_recording(folder / "memo.m4a").blocks()
    next(blocks)
    blocks.close()  # type: ignore[attr-defined]
    running = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True, check=True).stdout
    assert str(folder / "memo.m4a") not in running


def test_a_playlist_in_disguise_opens_no_other_file(folder: Path, tmp_path: Path) -> None:
    """Bytes that begin like a phone's recording are read as one, whatever else ffmpeg would make of them."""
    liar = tmp_path / "memo.m4a"
    liar.write_bytes(b"#!AMR\n#EXTM3U\n#EXTINF:1,\n" + str(folder / "plain.wav").encode() + b"\n#EXT-X-ENDLIST\n")
    try:
        samples, _ = read_audio(liar)
    except ValueError:
        return
    assert samples.size < 8000


def test_without_ffmpeg_one_is_told_what_to_install_or_to_do_instead(folder: Path) -> None:
    code = (
        "import sys\nsys.modules['imageio_ffmpeg'] = None\nfrom tunelib.sound import read_audio\nread_audio('memo.m4a')"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder)
    assert ran.stderr.splitlines()[-1] == (
        "ImportError: reading memo.m4a, which is in a form for phones, needs imageio-ffmpeg: "
        'pip install "tunelib[studio]", or have the recorder export WAV'
    )
