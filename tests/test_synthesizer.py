"""MIDI files as FluidSynth plays them: pitch while a note sounds, and while it dies away.

Of a tune's file a few notes are kept, far apart, with all that is sent between them: so what moves a tail is heard
alone. Each is compared with the same key of the same instrument without bends and tunings, since recorded samples are
out of tune themselves. The instrument is the vibraphone of General MIDI, whose tail is long and nearly a pure tone.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mido
import numpy as np
import numpy.typing as npt
import pytest
from cents_by_hand import key_of
from midi_reader import hear, moved_tails
from sampled import RATE, played
from test_outputs_agree import away

from tunelib.arrange.tune_score import tune_score
from tunelib.arrange.written_score import BASS, CHORDS, COMP, COUNT, MELODY
from tunelib.export.midi import midi_bytes
from tunelib.harmony.lead_sheet import read_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.score import Score

MATERIAL = Path(__file__).parent.parent / "lessons" / "material"
NAMES = ("blues.txt", "song_form.txt", "two_five_one.txt", "offcuts.musicxml")
VIBRAPHONE = 11
PROGRAMS = {MELODY: 65, CHORDS: 19, COMP: 26, BASS: 32}
TAIL = 0.5  # seconds after the end of a note in which its pitch is measured
APART = 1.5  # seconds from the end of a note that is kept to the beginning of the next
LOWEST = 48  # the key from which on half a second is enough to tell a cent
_FINE = 1 << 17


@pytest.fixture(scope="module", params=NAMES)
def tune(request: pytest.FixtureRequest) -> RetunedTune:
    return retune(read_lead_sheet(MATERIAL / request.param), THIRTY_ONE)


def without_pad(score: Score) -> Score:
    return score.only(*(voice for voice in score.voices if voice != CHORDS))


@dataclass
class Kept:
    """A note that is left in a file, in seconds."""

    channel: int
    key: int
    start: float
    end: float = -1.0


def sparse(data: bytes, turn: int, tuned: bool) -> tuple[mido.MidiFile, list[Kept]]:
    """A file with few of its notes, of which the first is one after so many; all on the vibraphone, tuned or not."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    track = mido.MidiTrack()
    kept: list[Kept] = []
    key_of = None  # the note that sounds
    seen = waiting = ticks = 0
    [beat] = [message.tempo / 1e6 for message in file.tracks[0] if message.type == "set_tempo"]
    for message in mido.merge_tracks(file.tracks):
        ticks += message.time
        waiting += message.time
        now = ticks / file.ticks_per_beat * beat
        keep = message.type in ("set_tempo", "end_of_track")
        keep |= tuned and message.type in ("sysex", "control_change", "pitchwheel")
        if message.type == "program_change":
            message, keep = message.copy(program=VIBRAPHONE), True
        elif message.type == "note_on" and message.channel != 9:
            seen += 1
            quiet = key_of is None and (not kept or now - kept[-1].end > APART)
            if seen > turn and quiet and message.note >= LOWEST:
                key_of, keep = (message.channel, message.note), True
                kept.append(Kept(message.channel, message.note, now))
        elif message.type == "note_off" and key_of == (message.channel, message.note):
            key_of, keep = None, True
            kept[-1].end = now
        if keep:
            track.append(message.copy(time=waiting))
            waiting = 0
    return mido.MidiFile(ticks_per_beat=file.ticks_per_beat, tracks=[track]), kept


def pitch(samples: npt.NDArray[Any], near: float) -> float:
    """The frequency of the strongest partial within a semitone of one, in hertz."""
    spectrum = np.log(np.abs(np.fft.rfft(samples * np.hanning(samples.size), _FINE)) + 1e-30)
    low, high = (int(near * 2 ** (side / 12) * _FINE / RATE) for side in (-1, 1))
    top = low + int(np.argmax(spectrum[low:high]))
    left, middle, right = spectrum[top - 1 : top + 2]
    return float((top + (left - right) / (2 * (left - 2 * middle + right))) * RATE / _FINE)


def misses(data: bytes, turn: int) -> list[tuple[str, float, float]]:
    """How far what is heard is from what the file says, in cents: while each kept note sounds, and in its tail."""
    [beat] = [
        message.tempo / 1e6 for message in mido.MidiFile(file=io.BytesIO(data)).tracks[0] if message.type == "set_tempo"
    ]
    told = {(round(note.start * beat, 6), note.channel, round(key_of(note.hertz))): note.hertz for note in hear(data)}
    file, kept = sparse(data, turn, tuned=True)
    plain, alike = sparse(data, turn, tuned=False)
    assert kept == alike
    sound, reference = played(file), played(plain)
    found = []
    for note in kept:
        wanted = 100 * (key_of(told[round(note.start, 6), note.channel, note.key]) - note.key)
        windows = [("tail", note.end + 0.02, note.end + TAIL)]
        if note.end - note.start > 0.4:
            windows.append(("note", note.start + 0.1, note.end - 0.02))
        for what, start, end in windows:
            part = slice(int(start * RATE), int(end * RATE))
            near = 440 * 2 ** ((note.key - 69) / 12)
            off = away(pitch(sound[part], near * 2 ** (wanted / 1200)), pitch(reference[part], near))
            found.append((what, wanted, off - wanted))
    return found


@pytest.mark.parametrize("way", ["bend", "mts"])
def test_every_note_and_every_tail_is_within_a_cent(tune: RetunedTune, way: str) -> None:
    score = tune_score(tune)
    if way == "bend":
        score = without_pad(score)
    data = midi_bytes(score, way, dict.fromkeys(score.voices, VIBRAPHONE))
    found = [miss for turn in (0, 9) for miss in misses(data, turn)]
    assert {what for what, _, _ in found} == {"note", "tail"}
    assert sum(abs(wanted) > 5 for _, wanted, _ in found) > 10
    assert max(abs(off) for _, _, off in found) < 1


@pytest.mark.parametrize("feel", [None, "long chords"])
def test_no_message_moves_a_note_that_rings(tune: RetunedTune, feel: str | None) -> None:
    """For half a second in the file with bends, which has channels for no more, and for a second in the other"""
    score = tune_score(tune, feel=feel)
    pitched = score if feel else without_pad(score)
    assert moved_tails(midi_bytes(pitched, "bend", PROGRAMS), TAIL) == []
    assert moved_tails(midi_bytes(score, "mts", PROGRAMS), 0.98) == []
    for voice in set(score.voices) - {COUNT}:
        assert moved_tails(midi_bytes(score.only(voice), "mpe", PROGRAMS), 0.98) == []
