"""Notes of sampled instruments, played by FluidSynth from a sound font: recordings that this project did not make."""

from __future__ import annotations

import functools
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import mido
import numpy as np
import numpy.typing as npt
import pytest
import soundfile

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
RATE = 48_000


@functools.lru_cache(maxsize=64)
def sampled(
    program: int, notes: tuple[int, ...], seconds: float = 1.2, gap: float = 0.3, together: bool = False
) -> npt.NDArray[Any]:
    """Notes by MIDI number, one after another or together, on a General MIDI program; one channel at 48 kHz, dry.

    The test that asks is skipped where FluidSynth or a sound font is not installed.
    """
    track = mido.MidiTrack(
        [mido.MetaMessage("set_tempo", tempo=1_000_000), mido.Message("program_change", program=program)]
    )
    if together:
        track += [mido.Message("note_on", note=note, velocity=90) for note in notes]
        lengths = (int(480 * seconds), *[0] * (len(notes) - 1))
        track += [mido.Message("note_off", note=note, time=time) for note, time in zip(notes, lengths, strict=True)]
    else:
        for note in notes:
            track.append(mido.Message("note_on", note=note, velocity=90, time=int(480 * gap)))
            track.append(mido.Message("note_off", note=note, time=int(480 * seconds)))
    return played(mido.MidiFile(ticks_per_beat=480, tracks=[track]))


def played(file: mido.MidiFile, font: Path = FONT) -> npt.NDArray[Any]:
    """A MIDI file as FluidSynth plays it; one channel at 48 kHz, dry. Skips the test as `sampled` does."""
    if shutil.which("fluidsynth") is None or not font.is_file():
        pytest.skip("needs FluidSynth and a sound font (Debian: fluidsynth, timgm6mb-soundfont)")
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        file.save(midi)
        quiet = ["-ni", "-q", "-g", "0.5", "-o", "synth.reverb.active=0", "-o", "synth.chorus.active=0"]
        command = ["fluidsynth", *quiet, "-r", str(RATE), "-F", str(wav), str(font), str(midi)]
        subprocess.run(command, check=True, capture_output=True, timeout=60)
        return np.asarray(soundfile.read(wav, always_2d=True)[0].mean(axis=1))
