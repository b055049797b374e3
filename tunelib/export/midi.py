"""MIDI files that keep exact pitch.

A MIDI note is a key, a whole number of equal semitones (A4 is key 69), so a pitch between the keys needs help.
There are two ways, and a file uses one of them:

* **bend**: each sounding note has a channel to itself and a pitch bend on it. The bend range is sent by registered
  parameter 0 as two semitones, which is also what an instrument assumes that was never told (MIDI 1.0): a bend
  is then one of 16384 places 0.0244 cents apart, and no note is off by more than half that.
* **mts**: the MIDI Tuning Standard. Real-time single note tuning changes give every pitch of the score a key of its
  own, in places 0.0061 cents apart (MIDI 1.0 Detailed Specification, Tuning Standard, 1992). Where the score has more
  pitches than there are keys, its voices share out several tuning programs.

Channel 10, which General MIDI keeps for drums, is never used.
"""

from __future__ import annotations

import io
import math
import os
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tunelib.files import write_whole
from tunelib.pitch import midi_from_hz
from tunelib.score import Score, ScoreNote

if TYPE_CHECKING:
    import mido

TICKS_PER_BEAT = 960
BEND_RANGE = 2  # semitones each way
CHANNELS = tuple(channel for channel in range(16) if channel != 9)  # counted from 0; 9 is channel 10
KEYS = 128
_UNITS_PER_SEMITONE = 1 << 14
_HIGHEST_UNIT = (KEYS - 1) * _UNITS_PER_SEMITONE + _UNITS_PER_SEMITONE - 2  # 7F 7F 7F means "no change"
_CHANGES_PER_MESSAGE = 127

# What happens first where several messages fall on one tick.
_OFF, _SETUP, _ON = range(3)
_Event = tuple[int, int, "mido.Message"]


def write_midi(
    score: Score,
    path: str | os.PathLike[str],
    tuning: str = "bend",
    overwrite: bool = False,
    program_of: Mapping[str, int] | None = None,
) -> Path:
    """Write a score as a Standard MIDI File, format 1: a track for tempo and metre, then a track for each voice.

    Parameters
    ----------
    score : Score
        Notes at level 0 are left out: they are written for someone to play.
    path : str or path
    tuning : str
        ``"bend"`` or ``"mts"``; see above.
    overwrite : bool
        Whether a file of that name may be replaced.
    program_of : mapping of voice to int
        General MIDI program of each voice, 0 to 127; 0 for a voice that is not named.

    Returns the path. Raises ValueError for another tuning, a program out of bounds, a pitch that no key can reach,
    or more than there is room for (15 notes at once; 15 voices of 128 pitches each), FileExistsError if the file is
    there, and ImportError, with what to install, where mido is missing.
    """
    return write_whole(path, midi_bytes(score, tuning, program_of), overwrite)


def midi_bytes(score: Score, tuning: str = "bend", program_of: Mapping[str, int] | None = None) -> bytes:
    """The file that `write_midi` writes, as bytes; the parameters and errors are the same."""
    ways = {"bend": _bent, "mts": _retuned}
    if tuning not in ways:
        raise ValueError(f"the tuning of a MIDI file is 'bend' or 'mts', not {tuning!r}")
    programs = {voice: _program(voice, program_of or {}) for voice in score.voices}
    sounding = [note for note in score.notes if note.level > 0]
    events = ways[tuning](sounding, programs)

    mido = _mido()
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_BEAT, charset="utf-8")
    opening = mido.MidiTrack()
    opening.append(mido.MetaMessage("track_name", name=score.title))
    opening.append(mido.MetaMessage("set_tempo", tempo=_microseconds(score.tempo)))
    opening.append(mido.MetaMessage("time_signature", numerator=_metre(score.beats_per_bar), denominator=4))
    opening.extend(_timed(events.pop("", [])))
    file.tracks.append(opening)
    for voice, messages in events.items():
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=voice)])
        track.extend(_timed(messages))
        file.tracks.append(track)
    for track in file.tracks:
        track.append(mido.MetaMessage("end_of_track"))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def frequency_data(hz: float) -> tuple[int, int, int]:
    """A frequency as the MIDI Tuning Standard has it: key at or below, then 14 bits of the semitone above it.

    `hz` is in hertz. Raises ValueError if it is below key 0 (8.1758 Hz) or too high for key 127.

    >>> frequency_data(440.0)
    (69, 0, 0)
    """
    units = round(midi_from_hz(hz) * _UNITS_PER_SEMITONE)
    if not 0 <= units <= _HIGHEST_UNIT:
        raise ValueError(f"{hz:.6g} Hz is outside the range of MIDI tuning, which goes from 8.1758 Hz to 13289 Hz")
    key, fraction = divmod(units, _UNITS_PER_SEMITONE)
    return key, fraction >> 7, fraction & 0x7F


def _mido() -> Any:
    """The library that writes MIDI, loaded when there is some to be written."""
    try:
        import mido
    except ImportError as error:
        raise ImportError("a MIDI file needs mido, which is missing here: pip install mido") from error
    return mido


def _message(kind: str, **fields: Any) -> mido.Message:
    return _mido().Message(kind, **fields)


def _program(voice: str, program_of: Mapping[str, int]) -> int:
    program = program_of.get(voice, 0)
    if isinstance(program, bool) or not isinstance(program, int) or not 0 <= program < 128:
        raise ValueError(f"the MIDI program of voice {voice!r} is a whole number from 0 to 127, not {program!r}")
    return program


def _microseconds(tempo: float) -> int:
    """A tempo as a file has it, in microseconds a beat, in three bytes."""
    microseconds = int(_mido().bpm2tempo(tempo))
    if not 1 <= microseconds < 1 << 24:
        raise ValueError(f"a MIDI file cannot hold a tempo of {tempo:g}: give at least 3.6 beats a minute")
    return microseconds


def _metre(beats: int) -> int:
    if beats > 255:
        raise ValueError(f"a MIDI file cannot hold {beats} beats in a bar: give at most 255")
    return beats


def _velocity(level: float) -> int:
    """Velocity for a level of amplitude: amplitude goes as velocity squared (Downloadable Sounds Level 1)."""
    return max(1, round(127 * math.sqrt(level)))


def _ticks(beats: Fraction | float) -> int:
    ticks: int = round(beats * TICKS_PER_BEAT)
    return ticks


def _span(note: ScoreNote) -> tuple[int, int]:
    """The ticks at which a note begins and ends.

    It ends a tick early: the next note's messages, which may be in another track, then surely come after.
    """
    start = _ticks(note.onset)
    return start, max(start, _ticks(note.end) - 2) + 1


def _timed(events: Sequence[_Event]) -> list[mido.Message]:
    """Messages in order of tick, each with the ticks since the one before."""
    messages, now = [], 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        messages.append(message.copy(skip_checks=True, time=tick - now))
        now = tick
    return messages


def _controls(channel: int, *pairs: tuple[int, int]) -> list[mido.Message]:
    return [_message("control_change", channel=channel, control=c, value=v) for c, v in pairs]


def _registered(channel: int, parameter: int, *entry: tuple[int, int]) -> list[mido.Message]:
    """Set a registered parameter: choose it, send the data entry, and choose none again."""
    return _controls(channel, (101, 0), (100, parameter), *entry, (101, 127), (100, 127))


def _sounded(note: ScoreNote, channel: int, key: int) -> list[_Event]:
    start, end = _span(note)
    velocity = _velocity(note.level)
    on = _message("note_on", channel=channel, note=key, velocity=velocity)
    off = _message("note_off", channel=channel, note=key, velocity=64)
    return [(start, _ON, on), (end, _OFF, off)]


def _bent(notes: Sequence[ScoreNote], programs: Mapping[str, int]) -> dict[str, list[_Event]]:
    """Events by voice (the opening track under ""), a channel for each note.

    Of the free channels a note takes one that has its program already, if there is one, and of those the one that
    has been silent longest, so that a bend meets no dying note of before.
    """
    events: dict[str, list[_Event]] = {"": []}
    free_from = dict.fromkeys(CHANNELS, -1)
    program_on: dict[int, int] = {}
    for note in notes:
        start, end = _span(note)
        program = programs[note.voice]
        free = [channel for channel in CHANNELS if free_from[channel] < start]
        if not free:
            raise ValueError(
                f"more than {len(CHANNELS)} notes sound at once at beat {float(note.onset):g}; bending has channels "
                "for no more; write fewer, or use tuning='mts'"
            )
        channel = min(free, key=lambda c: (program_on.get(c, program) != program, free_from[c], c))
        free_from[channel] = end
        voice = events.setdefault(note.voice, [])
        if channel not in program_on:
            setup = _registered(channel, 0, (6, BEND_RANGE), (38, 0))
            events[""].extend((0, _SETUP, message) for message in setup)
        if program_on.get(channel) != program:
            program_on[channel] = program
            voice.append((start, _SETUP, _message("program_change", channel=channel, program=program)))
        exact = midi_from_hz(note.hertz)
        key = min(max(round(exact), 0), KEYS - 1)
        bend = round((exact - key) * 8192 / BEND_RANGE)
        if not -8192 <= bend <= 8191:
            raise ValueError(
                f"{note.hertz:.6g} Hz is out of range for bent MIDI keys, which go from 7.3 Hz to 14080 Hz"
            )
        voice.append((start, _SETUP, _message("pitchwheel", channel=channel, pitch=bend)))
        voice.extend(_sounded(note, channel, key))
    return events


def _retuned(notes: Sequence[ScoreNote], programs: Mapping[str, int]) -> dict[str, list[_Event]]:
    """Events by voice (the opening track under ""), every pitch on a key of its own, a channel for each voice."""
    voices = list(dict.fromkeys(note.voice for note in notes))
    if len(voices) > len(CHANNELS):
        raise ValueError(f"the score has {len(voices)} voices, and a MIDI file has channels for {len(CHANNELS)}")
    channel_of = dict(zip(voices, CHANNELS, strict=False))
    events: dict[str, list[_Event]] = {"": []}
    key_of: dict[str, dict[float, int]] = {}
    for tuning_program, (sharing, pitches) in enumerate(_shared_out(notes)):
        keys = _keys_for(sorted(pitches))
        events[""] += [(0, _SETUP, message) for message in _tuning_changes(keys, tuning_program)]
        for voice in sharing:
            key_of[voice] = keys
            setup = _registered(channel_of[voice], 4, (6, 0))  # tuning bank 0
            setup += _registered(channel_of[voice], 3, (6, tuning_program))
            setup.append(_message("program_change", channel=channel_of[voice], program=programs[voice]))
            events[voice] = [(0, _SETUP, message) for message in setup]
    for note in notes:
        events[note.voice].extend(_sounded(note, channel_of[note.voice], key_of[note.voice][note.hertz]))
    return events


def _shared_out(notes: Sequence[ScoreNote]) -> list[tuple[list[str], set[float]]]:
    """Voices that share a tuning program, with all their pitches: as few programs as filling each in turn gives."""
    pitches_of: dict[str, set[float]] = {}
    for note in notes:
        pitches_of.setdefault(note.voice, set()).add(note.hertz)
    shared: list[tuple[list[str], set[float]]] = []
    for voice, pitches in pitches_of.items():
        for voices, others in shared:
            if len(others | pitches) <= KEYS:
                voices.append(voice)
                others |= pitches
                break
        else:
            shared.append(([voice], set(pitches)))
    return shared


def _keys_for(pitches: Sequence[float]) -> dict[float, int]:
    """A key for each of these ascending pitches: its nearest, or where neighbours crowd, the nearest left, in order."""
    if len(pitches) > KEYS:
        raise ValueError(
            f"a voice of the score has {len(pitches)} different pitches, and a MIDI tuning has {KEYS} keys; "
            "use tuning='bend'"
        )
    keys: list[int] = []
    for hz in pitches:
        nearest = frequency_data(hz)[0] + (frequency_data(hz)[1] >= 64)
        keys.append(max(nearest, keys[-1] + 1) if keys else nearest)
    ceiling = KEYS - 1
    for i in reversed(range(len(keys))):
        keys[i] = min(keys[i], ceiling)
        ceiling = keys[i] - 1
    return dict(zip(pitches, keys, strict=True))


def _tuning_changes(key_of: Mapping[float, int], tuning_program: int) -> list[mido.Message]:
    """Real-time single note tuning changes of a tuning program, to all devices."""
    changes = [(key, *frequency_data(hz)) for hz, key in key_of.items()]
    messages = []
    for first in range(0, len(changes), _CHANGES_PER_MESSAGE):
        part = changes[first : first + _CHANGES_PER_MESSAGE]
        data = [0x7F, 0x7F, 0x08, 0x02, tuning_program, len(part), *(byte for change in part for byte in change)]
        messages.append(_message("sysex", data=data))
    return messages
