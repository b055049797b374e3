"""What a MIDI file sounds like, worked out from its own messages as mido parses them.

A pitch is its key, bent by the channel's bend in the range that registered parameter 0 set (MIDI 1.0), or as a
real-time single note change retuned it (MIDI Tuning Standard, universal system exclusive 7F .. 08 02).
"""

from __future__ import annotations

import io
from collections import defaultdict
from dataclasses import dataclass, field

import mido

_PERCUSSION = 9  # channel 10 (General MIDI 1)


@dataclass
class Heard:
    """One note as a receiver would sound it: beats, hertz, channel and program counted from 0."""

    start: float
    end: float
    hertz: float
    channel: int
    program: int
    track: str


def struck(data: bytes) -> list[tuple[float, int, int]]:
    """The percussion of a file: beats, keys and velocities."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    found, ticks = [], 0
    for message in mido.merge_tracks(file.tracks):
        ticks += message.time
        if message.type == "note_on" and message.channel == _PERCUSSION:
            found.append((ticks / file.ticks_per_beat, message.note, message.velocity))
    return found


def moved_tails(data: bytes, tail: float) -> list[float]:
    """By how many cents each bend or tuning change moves a note that sounds, or ended less than `tail` seconds before.

    Changes that move none are left out.
    """
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    bends: dict[int, tuple[int, float]] = defaultdict(lambda: (0, 2.0))  # and the range
    chosen: dict[int, list[int]] = defaultdict(lambda: [127, 127])
    tuned: dict[tuple[int, int], float] = {}  # semitones by program and key
    program_of: dict[int, int] = {}
    rings: dict[tuple[int, int], float] = {}  # by channel and key, the second until which it rings
    moved = []
    now, tempo = 0.0, 500_000
    for message in mido.merge_tracks(file.tracks):
        now += message.time * tempo / 1e6 / file.ticks_per_beat
        if message.type == "set_tempo":
            tempo = message.tempo
        elif message.type == "sysex":
            program, changes = single_note_changes(message.data)
            for key, pitch in changes.items():
                held = [
                    c for (c, k), until in rings.items() if k == key and program_of.get(c) == program and until > now
                ]
                moved += [100 * abs(pitch - tuned[program, key]) for _ in held]
                tuned[program, key] = pitch
        elif message.type == "control_change" and message.control in (100, 101):
            chosen[message.channel][101 - message.control] = message.value
        elif message.type == "control_change" and message.control == 6:
            if chosen[message.channel] == [0, 0]:
                bends[message.channel] = bends[message.channel][0], message.value
            elif chosen[message.channel] == [0, 3]:
                program_of[message.channel] = message.value
        elif message.type == "pitchwheel":
            before, reach = bends[message.channel]
            bends[message.channel] = message.pitch, reach
            held = [c for (c, _), until in rings.items() if c == message.channel and until > now]
            moved += [100 * reach * abs(message.pitch - before) / 8192 for _ in held]
        elif message.type == "note_on" and message.velocity:
            rings[message.channel, message.note] = float("inf")
        elif message.type in ("note_off", "note_on"):
            rings[message.channel, message.note] = now + tail
    return [cents for cents in moved if cents > 0]


@dataclass
class _Channel:
    program: int = 0
    bend: int = 0
    bend_range: float = 2.0  # what a receiver assumes that was never told
    chosen: list[int] = field(default_factory=lambda: [127, 127])
    tuning_program: int | None = None


def hear(data: bytes, last_track_first: bool = False) -> list[Heard]:
    """The notes of a file in order of beginning; raises AssertionError for what a receiver could not make sense of.

    What is on channel 10 is percussion, without pitch (see `struck`), unless the file sets the channel up for bends.

    Where messages of several tracks fall on one tick, a receiver may take them in either order of the tracks.
    """
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    channels: dict[int, _Channel] = defaultdict(_Channel)
    retuned: dict[int, dict[int, float]] = defaultdict(dict)  # by tuning program
    sounding: dict[tuple[int, int], Heard] = {}
    heard: list[Heard] = []
    timed = []
    for number, track in enumerate(file.tracks):
        ticks = 0
        for message in track:
            ticks += message.time
            order = len(file.tracks) - number if last_track_first and number else number
            timed.append((ticks, order, track.name, message))
    pitched = {message.channel for *_, message in timed if message.type == "control_change"}
    for ticks, _, name, message in sorted(timed, key=lambda item: item[:2]):
        beat = ticks / file.ticks_per_beat
        if message.type == "sysex":
            program, changes = single_note_changes(message.data)
            retuned[program].update(changes)
            continue
        if message.is_meta or message.channel in {_PERCUSSION} - pitched:
            continue
        channel = channels[message.channel]
        place = (message.channel, getattr(message, "note", -1))
        if message.type == "program_change":
            channel.program = message.program
        elif message.type == "control_change":
            _control(channel, message.control, message.value)
        elif message.type == "pitchwheel":
            assert not any(busy == message.channel for busy, _ in sounding), f"a bend under a sounding note at {beat}"
            channel.bend = message.pitch
        elif message.type == "note_on" and message.velocity:
            assert place not in sounding, f"key {place} struck twice at beat {beat}"
            key = message.note
            if channel.tuning_program is not None:
                tuned = retuned[channel.tuning_program]
                assert key in tuned, f"key {key} was never tuned"
                key = tuned[key]
            semitones = key + channel.bend_range * channel.bend / 8192
            note = Heard(beat, -1, 440 * 2 ** ((semitones - 69) / 12), message.channel, channel.program, name)
            sounding[place] = note
            heard.append(note)
        elif message.type in ("note_off", "note_on"):
            sounding.pop(place).end = beat
    assert not sounding, "notes are left hanging"
    return heard


def _control(channel: _Channel, control: int, value: int) -> None:
    if control in (100, 101):
        channel.chosen[101 - control] = value
    elif channel.chosen == [0, 0] and control == 6:
        channel.bend_range = float(value)
    elif channel.chosen == [0, 0] and control == 38:
        channel.bend_range += value / 100
    elif channel.chosen == [0, 3] and control == 6:
        channel.tuning_program = value


def single_note_changes(data: tuple[int, ...]) -> tuple[int, dict[int, float]]:
    """The tuning program that a single note tuning change is to, and its keys with the pitches that it gives them.

    Pitches are in semitones, as MIDI numbers them.
    """
    assert data[0] == 0x7F and data[2:4] == (0x08, 0x02), "not a real-time single note tuning change"
    program, count, changes = data[4], data[5], data[6:]
    assert len(changes) == 4 * count
    return program, {
        key: semitone + (high * 128 + low) / 16384
        for key, semitone, high, low in (changes[4 * i : 4 * i + 4] for i in range(count))
    }
