"""MIDI messages with their times, and what all ways of writing exact pitch have in common."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tunelib.pitch import midi_from_hz
from tunelib.score import ScoreNote

if TYPE_CHECKING:
    import mido

TICKS_PER_BEAT = 960
CHANNELS = tuple(channel for channel in range(16) if channel != 9)
"""The channels, counted from 0, that notes may have: channel 10 of General MIDI is percussion."""

KEYS = 128
TAIL = 1.0
"""Seconds for which a note is taken to ring after its end. What General MIDI sets have in pianos, organs, guitars and
winds is 40 decibels down by then, mostly within half of it (measured in the sound font that the tests use)."""

OFF, SETUP, ON = range(3)
"""What happens first where several messages fall on one tick."""

Event = tuple[int, int, "mido.Message"]
"""A tick, what kind of message it is, and the message."""


def load_mido() -> Any:
    """The library that writes MIDI, loaded when there is some to be written.

    Raises ImportError, with what to install, where it is missing.
    """
    try:
        import mido
    except ImportError as error:
        raise ImportError("a MIDI file needs mido, which is missing here: pip install mido") from error
    return mido


def message(kind: str, **fields: Any) -> mido.Message:
    """A message as mido makes it."""
    return load_mido().Message(kind, **fields)


def velocity(level: float) -> int:
    """Velocity for a level of amplitude: amplitude goes as velocity squared (Downloadable Sounds Level 1)."""
    return max(1, round(127 * math.sqrt(level)))


def ticks(beats: Fraction | float) -> int:
    """A time in ticks."""
    whole: int = round(beats * TICKS_PER_BEAT)
    return whole


def span(note: ScoreNote) -> tuple[int, int]:
    """The ticks at which a note begins and ends.

    It ends a tick early: the next note's messages, which may be in another track, then surely come after.
    """
    start = ticks(note.onset)
    return start, max(start, ticks(note.end) - 2) + 1


def timed(events: Sequence[Event]) -> list[mido.Message]:
    """Messages in order of tick, each with the ticks since the one before."""
    messages, now = [], 0
    for tick, _, one in sorted(events, key=lambda event: event[:2]):
        messages.append(one.copy(skip_checks=True, time=tick - now))
        now = tick
    return messages


def registered(channel: int, parameter: int, *entry: tuple[int, int]) -> list[mido.Message]:
    """Set a registered parameter: choose it, send the data entry, and choose none again."""
    pairs = ((101, 0), (100, parameter), *entry, (101, 127), (100, 127))
    return [message("control_change", channel=channel, control=c, value=v) for c, v in pairs]


def sounded(note: ScoreNote, channel: int, key: int) -> list[Event]:
    """The two messages between which a note sounds."""
    start, end = span(note)
    on = message("note_on", channel=channel, note=key, velocity=velocity(note.level))
    off = message("note_off", channel=channel, note=key, velocity=64)
    return [(start, ON, on), (end, OFF, off)]


def nearest_key(hertz: float) -> int:
    """The key that is nearest to a frequency in hertz, of those that there are."""
    nearest: int = round(midi_from_hz(hertz))
    return min(max(nearest, 0), KEYS - 1)
