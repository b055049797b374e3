"""Exact pitch by pitch bends, with ordinary channels or in MPE zones.

The bend range is sent by registered parameter 0 (MIDI 1.0). In ordinary channels it is two semitones, which is also
what an instrument assumes that was never told: a bend is then one of 16384 places 0.0244 cents apart, and no note is
off by more than half that.

In MPE (MIDI Polyphonic Expression 1.0, RP-053) notes go on the member channels of a zone, each on its own, and what
concerns the whole instrument on its master channel. Registered parameter 6 on the master channel sets a zone up: the
lower one has master channel 1 and members from 2 up, the upper one master channel 16 and members from 15 down. A zone
is one instrument, so a score of two programs has both zones. The bend range of members is 48 semitones, which is what
they begin with: places 0.59 cents apart, and no note off by more than 0.3 cents. Where the lower zone is alone,
and there is no percussion, it has all other channels; if not, channel 10 is left free between the two.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tunelib.export.midi_channels import Bent, TooManyAtOnceError, allotted
from tunelib.export.midi_messages import (
    CHANNELS,
    SETUP,
    TICKS_PER_BEAT,
    Event,
    message,
    nearest_key,
    registered,
    sounded,
    span,
)
from tunelib.pitch import midi_from_hz
from tunelib.score import ScoreNote

BEND_RANGE = 2
"""Semitones each way in ordinary channels."""

MPE_BEND_RANGE = 48
"""Semitones each way in the member channels of an MPE zone."""

_HIGHEST_BEND = 8191
_BEND_RANGE_SET, _ZONE_SET = 0, 6  # registered parameters


@dataclass(frozen=True)
class _Zone:
    master: int
    members: tuple[int, ...]


_WHOLE = _Zone(0, tuple(range(1, 16)))
_LOWER, _UPPER = _Zone(0, tuple(range(1, 9))), _Zone(15, tuple(range(14, 9, -1)))


def bent(notes: Sequence[ScoreNote], programs: Mapping[str, int], tail: int) -> dict[str, list[Event]]:
    """Events by voice (the opening track under ""), the notes of each on channels of their own, by bends.

    `tail` is in ticks. Raises ValueError for a pitch that is out of reach, or more notes at once than there are
    channels.
    """
    found = [_bent(note, programs, BEND_RANGE) for note in notes]
    channels = _allotted(found, CHANNELS, tail, shared=True)
    events: dict[str, list[Event]] = {"": []}
    for channel in sorted(set(channels)):
        setup = registered(channel, _BEND_RANGE_SET, (6, BEND_RANGE), (38, 0))
        events[""] += [(0, SETUP, one) for one in setup]
    program_on: dict[int, int] = {}
    for note, own, channel in zip(notes, found, channels, strict=True):
        if program_on.get(channel) != own.program:
            start = own.start if channel in program_on else 0
            change = message("program_change", channel=channel, program=own.program)
            events.setdefault(note.voice, []).append((start, SETUP, change))
            program_on[channel] = own.program
    _write_notes(events, notes, found, channels)
    return events


def in_zones(
    notes: Sequence[ScoreNote], programs: Mapping[str, int], tail: int, percussion: bool
) -> dict[str, list[Event]]:
    """Events by voice (the opening track under ""), in one MPE zone for each program.

    Raises ValueError as `bent` does, and for more programs than the two that there are zones for.
    """
    found = [_bent(note, programs, MPE_BEND_RANGE) for note in notes]
    instruments = list(dict.fromkeys(own.program for own in found))
    if len(instruments) > 2:
        raise ValueError(
            f"MPE has two zones of one instrument each, and the score has {len(instruments)}: give fewer voices, such "
            "as those of score.only('melody', 'chords')"
        )
    zones = (_WHOLE,) if len(instruments) < 2 and not percussion else (_LOWER, _UPPER)
    events: dict[str, list[Event]] = {"": []}
    channels: dict[int, int] = {}
    for program, zone in zip(instruments, zones, strict=False):
        setup = registered(zone.master, _ZONE_SET, (6, len(zone.members)))
        for member in zone.members:
            setup += registered(member, _BEND_RANGE_SET, (6, MPE_BEND_RANGE), (38, 0))
        setup.append(message("program_change", channel=zone.master, program=program))
        events[""] += [(0, SETUP, one) for one in setup]
        places = [place for place, own in enumerate(found) if own.program == program]
        own_channels = _allotted([found[place] for place in places], zone.members, tail, shared=False)
        channels |= dict(zip(places, own_channels, strict=True))
    _write_notes(events, notes, found, [channels[place] for place in range(len(notes))])
    return events


def _bent(note: ScoreNote, programs: Mapping[str, int], bend_range: int) -> Bent:
    """A note on its nearest key, bent."""
    key = nearest_key(note.hertz)
    bend = round((midi_from_hz(note.hertz) - key) * 8192 / bend_range)
    if abs(midi_from_hz(note.hertz) - key) > BEND_RANGE or bend > _HIGHEST_BEND:
        raise ValueError(f"{note.hertz:.6g} Hz is out of range for bent MIDI keys, which go from 7.3 Hz to 14080 Hz")
    return Bent(*span(note), key, bend, note.voice, programs[note.voice])


def _allotted(notes: Sequence[Bent], channels: Sequence[int], tail: int, shared: bool) -> list[int]:
    try:
        return allotted(notes, channels, tail, shared)
    except TooManyAtOnceError as error:
        raise ValueError(
            f"more than {len(channels)} notes sound at once at beat {error.start / TICKS_PER_BEAT:g}; bending has "
            "channels for no more; write fewer, or use tuning='mts'"
        ) from None


def _write_notes(
    events: dict[str, list[Event]], notes: Sequence[ScoreNote], found: Sequence[Bent], channels: Sequence[int]
) -> None:
    """The notes, each after a bend if its channel is not bent so already."""
    bend_on: dict[int, tuple[str, int]] = {}  # the voice whose track has the bend, so that it comes before the note
    for note, own, channel in zip(notes, found, channels, strict=True):
        voice = events.setdefault(note.voice, [])
        if bend_on.get(channel) != (note.voice, own.bend):
            voice.append((own.start, SETUP, message("pitchwheel", channel=channel, pitch=own.bend)))
            bend_on[channel] = note.voice, own.bend
        voice.extend(sounded(note, channel, own.key))
