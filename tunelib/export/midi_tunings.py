"""Exact pitch by the MIDI Tuning Standard (MIDI 1.0 Detailed Specification, Tuning Standard, 1992).

Each note is on its nearest key, which a real-time single note tuning change tunes to its pitch, in places 0.0061 cents
apart, shortly before. So a synthesizer that knows no tuning plays the score in twelve.

All voices share one tuning program as far as they can, each on a channel of its own, since some receivers have no more
than one. A key that sounds or still rings (`tunelib.export.midi_messages.TAIL`) is not tuned to anything
else, since that would move it: a note that needs it a diesis away goes on a second channel of its voice, with the next
tuning program. If there is no channel for one left, it takes the nearest key that is free.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from tunelib.export.midi_messages import (
    CHANNELS,
    KEYS,
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

_UNITS_PER_SEMITONE = 1 << 14
_HIGHEST_UNIT = (KEYS - 1) * _UNITS_PER_SEMITONE + _UNITS_PER_SEMITONE - 2  # 7F 7F 7F means "no change"
_CHANGES_PER_MESSAGE = 127
_AHEAD = TICKS_PER_BEAT // 64  # how many ticks before its note a key is tuned
_PROGRAM_SET, _BANK_SET = 3, 4  # registered parameters
_Data = tuple[int, int, int]


def frequency_data(hz: float) -> _Data:
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


def retuned(notes: Sequence[ScoreNote], programs: Mapping[str, int], tail: int) -> dict[str, list[Event]]:
    """Events by voice (the opening track under ""), by keys that are tuned as they are needed.

    `tail` is in ticks. Raises ValueError for a pitch that is out of reach, more voices than there are channels, or more
    notes at once than there are keys for.
    """
    voices = list(dict.fromkeys(note.voice for note in notes))
    if len(voices) > len(CHANNELS):
        raise ValueError(f"the score has {len(voices)} voices, and a MIDI file has channels for {len(CHANNELS)}")
    keyboard = _Keyboard(voices, tail)
    events: dict[str, list[Event]] = {"": [], **{voice: [] for voice in voices}}
    for note in notes:
        events[note.voice] += sounded(note, *keyboard.place(note))
    for (voice, tuning_program), channel in keyboard.channels.items():
        setup = registered(channel, _BANK_SET, (6, 0))
        setup += registered(channel, _PROGRAM_SET, (6, tuning_program))
        setup.append(message("program_change", channel=channel, program=programs[voice]))
        events[voice] += [(0, SETUP, one) for one in setup]
    for (tick, tuning_program), changes in keyboard.changes.items():
        events[""] += [(tick, SETUP, one) for one in _messages(changes, tuning_program)]
    return events


class _Keyboard:
    """Keys in tuning programs, as they are tuned and sound in the course of a score."""

    def __init__(self, voices: Sequence[str], tail: int) -> None:
        self.tail = tail
        self.channels = {(voice, 0): channel for voice, channel in zip(voices, CHANNELS, strict=False)}
        self.changes: defaultdict[tuple[int, int], dict[int, _Data]] = defaultdict(dict)  # by tick and program
        self._free = list(CHANNELS[len(voices) :])
        self._tuned: dict[tuple[int, int], _Data] = {}  # by program and key
        self._rings: dict[tuple[int, int], int] = {}  # the tick until which a key of a program rings
        self._sounds: dict[tuple[int, int], int] = {}  # the tick until which a key of a channel sounds

    def place(self, note: ScoreNote) -> tuple[int, int]:
        """The channel and the key of the next note, which is then tuned and sounds."""
        pitch = frequency_data(note.hertz)
        start, end = span(note)
        when = max(0, start - _AHEAD)
        for tuning_program, key in self._choices(note):
            channel = self.channels.get((note.voice, tuning_program))
            tuned = self._tuned.get((tuning_program, key))
            rings = self._rings.get((tuning_program, key), 0) > when
            sounds = channel is not None and self._sounds.get((channel, key), -1) >= start
            if sounds or (rings and tuned != pitch):
                continue
            if channel is None:
                channel = self.channels[note.voice, tuning_program] = self._free.pop(0)
            if tuned != pitch:
                self.changes[when, tuning_program][key] = self._tuned[tuning_program, key] = pitch
            ringing = max(self._rings.get((tuning_program, key), 0), end + self.tail)
            self._rings[tuning_program, key] = ringing
            self._sounds[channel, key] = end
            return channel, key
        raise ValueError(f"no key is left to be tuned at beat {float(note.onset):g}: use tuning='bend'")

    def _choices(self, note: ScoreNote) -> Iterator[tuple[int, int]]:
        """Tuning programs and keys for a note, the best first."""
        nearest = nearest_key(note.hertz)
        own = [program for voice, program in self.channels if voice == note.voice]
        programs = [*own, max(own) + 1] if self._free else own
        yield from ((program, nearest) for program in programs)
        exact = midi_from_hz(note.hertz)
        others = sorted((key for key in range(KEYS) if key != nearest), key=lambda key: abs(key - exact))
        yield from ((program, key) for key in others for program in own)


def _messages(pitch_of: Mapping[int, _Data], tuning_program: int) -> Iterator[object]:
    """Real-time single note tuning changes of a tuning program, to all devices."""
    changes = [(key, *pitch) for key, pitch in sorted(pitch_of.items())]
    for first in range(0, len(changes), _CHANGES_PER_MESSAGE):
        part = changes[first : first + _CHANGES_PER_MESSAGE]
        data = [0x7F, 0x7F, 0x08, 0x02, tuning_program, len(part), *(byte for change in part for byte in change)]
        yield message("sysex", data=data)
