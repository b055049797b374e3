"""MIDI files that keep exact pitch.

A MIDI note is a key, a whole number of equal semitones (A4 is key 69), so a pitch between the keys needs help. Every
note is on its nearest key, and there are three ways to bring it to its pitch, of which a file uses one:

* **bend**: a pitch bend on its channel, for anything that plays MIDI; see `tunelib.export.midi_bends`.
* **mts**: the MIDI Tuning Standard, for what knows it; all else plays in twelve. See `tunelib.export.midi_tunings`.
* **mpe**: pitch bends in MPE zones, for synthesizers that have them: one or two instruments.

No note that sounds or rings is moved by what comes after it, as far as there are channels: for so long as
`tunelib.export.midi_messages.TAIL` says, its channel, or its key, is left as it is. The clicks of the voice "count" are
wood blocks on channel 10, which General MIDI keeps for percussion; no note is ever there.
"""

from __future__ import annotations

import io
import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from tunelib.export.midi_bends import bent, in_zones
from tunelib.export.midi_messages import TAIL, TICKS_PER_BEAT, Event, load_mido, sounded, timed
from tunelib.export.midi_tunings import retuned
from tunelib.files import write_whole
from tunelib.score import Score, ScoreNote

_PERCUSSION = 9  # channel 10, counted from 0
_COUNT = "count"
_HIGH_BLOCK, _LOW_BLOCK = 76, 77  # keys of the percussion map (General MIDI 1)


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
        ``"bend"``, ``"mts"`` or ``"mpe"``; see above.
    overwrite : bool
        Whether a file of that name may be replaced.
    program_of : mapping of voice to int
        General MIDI program of each voice, 0 to 127; 0 for a voice that is not named.

    Returns the path. Raises ValueError for another tuning, a program out of bounds, a pitch that no key can reach,
    or more than there is room for (bends of 15 pitches at once, 15 voices, two instruments in MPE), FileExistsError if
    the file is there, and ImportError, with what to install, where mido is missing.
    """
    return write_whole(path, midi_bytes(score, tuning, program_of), overwrite)


def midi_bytes(score: Score, tuning: str = "bend", program_of: Mapping[str, int] | None = None) -> bytes:
    """The file that `write_midi` writes, as bytes; the parameters and errors are the same."""
    if tuning not in ("bend", "mts", "mpe"):
        raise ValueError(f"the tuning of a MIDI file is 'bend', 'mts' or 'mpe', not {tuning!r}")
    programs = {voice: _program(voice, program_of or {}) for voice in score.voices}
    sounding = [note for note in score.notes if note.level > 0]
    clicks = [note for note in sounding if _is_click(note)]
    notes = [note for note in sounding if not _is_click(note)]
    tail = round(TAIL * score.tempo / 60 * TICKS_PER_BEAT)
    if tuning == "mts":
        events = retuned(notes, programs, tail)
    elif tuning == "bend":
        events = bent(notes, programs, tail)
    else:
        events = in_zones(notes, programs, tail, percussion=bool(clicks))
    if clicks:
        events[_COUNT] = _struck(clicks)

    mido = load_mido()
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_BEAT, charset="utf-8")
    opening = mido.MidiTrack()
    opening.append(mido.MetaMessage("track_name", name=score.title))
    opening.append(mido.MetaMessage("set_tempo", tempo=_microseconds(score.tempo)))
    opening.append(mido.MetaMessage("time_signature", numerator=_metre(score.beats_per_bar), denominator=4))
    opening.extend(timed(events.pop("", [])))
    file.tracks.append(opening)
    for voice, messages in events.items():
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=voice)])
        track.extend(timed(messages))
        file.tracks.append(track)
    for track in file.tracks:
        track.append(mido.MetaMessage("end_of_track"))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def _program(voice: str, program_of: Mapping[str, int]) -> int:
    program = program_of.get(voice, 0)
    if isinstance(program, bool) or not isinstance(program, int) or not 0 <= program < 128:
        raise ValueError(f"the MIDI program of voice {voice!r} is a whole number from 0 to 127, not {program!r}")
    return program


def _microseconds(tempo: float) -> int:
    """A tempo as a file has it, in microseconds a beat, in three bytes."""
    microseconds = int(load_mido().bpm2tempo(tempo))
    if not 1 <= microseconds < 1 << 24:
        raise ValueError(f"a MIDI file cannot hold a tempo of {tempo:g}: give at least 3.6 beats a minute")
    return microseconds


def _metre(beats: int) -> int:
    if beats > 255:
        raise ValueError(f"a MIDI file cannot hold {beats} beats in a bar: give at most 255")
    return beats


def _is_click(note: ScoreNote) -> bool:
    return note.voice == _COUNT and note.name is None


def _struck(clicks: Sequence[ScoreNote]) -> list[Event]:
    """Clicks as wood blocks: the high one for those of the highest pitch."""
    highest = max(click.hertz for click in clicks)
    return [
        event
        for click in clicks
        for event in sounded(click, _PERCUSSION, _HIGH_BLOCK if click.hertz == highest else _LOW_BLOCK)
    ]
