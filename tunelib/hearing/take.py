"""A take: the notes of a recording as they are heard, with what in the recording itself may have spoiled them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tunelib.hearing.attacks import Attacks, attacks_of
from tunelib.hearing.cleaned import cleaned, unclicked
from tunelib.hearing.common_offset import Offset, common_offset, find_offset
from tunelib.hearing.heard_notes import HeardNote, track_notes
from tunelib.hearing.octave_slips import raised
from tunelib.hearing.pitch_track import PitchTrack, track_recording
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.hearing.report import Report, TakenNote
from tunelib.hearing.rooms import ringing
from tunelib.hearing.sought import sought
from tunelib.hearing.speech import Spoken, spoken
from tunelib.hearing.take_faults import Faults, faults, levels, loud_enough, survey
from tunelib.hearing.targets import Targets
from tunelib.pitch import Instrument, ratio_from_cents

SHORTEST_TAKE, SHORTEST_NOTE = 0.2, 0.07  # seconds
QUIETEST_TAKE = -60.0  # dB below full scale, of its loudest moment

_MOST_TOLD = 3
_RINGS_ON = 1.5  # seconds
_SEVERAL = "more than one note seems to sound at once. Record one player alone, with any drone on headphones"

_ROOM = (
    "the room rings for about {:.1f} s, so that notes run into one another. "
    "Go nearer to the microphone, or into a smaller room"
)


@dataclass(frozen=True)
class Take:
    """A take as it was heard, before it is measured against anything: its notes, its pitch over time, its faults,
    and where notes may have been struck.
    """

    player: Instrument | None
    seconds: float
    notes: tuple[HeardNote, ...]
    track: PitchTrack
    faults: tuple[str, ...]
    attacks: Attacks

    def against(self, targets: Targets) -> Report:
        """Each note measured against the nearest target, once the take is tuned to them as a whole."""
        offset = find_offset([note.hertz for note in self.notes], targets)
        notes = _against(self.notes, targets, offset.cents if offset else 0.0)
        if offset and _drifts_there(notes, offset):
            offset, notes = None, _against(self.notes, targets, 0.0)
        warnings = self.faults + (() if _SEVERAL in self.faults else _octaves(notes, targets, self.player))
        return Report(targets, self.player, self.seconds, notes, warnings, self.track, offset)


def listen(samples: npt.ArrayLike, sample_rate: float, targets: Targets, player: Instrument | None = None) -> Report:
    """Hear a take of one player, one note at a time, and measure each note against the nearest target.

    Parameters
    ----------
    samples : array, shape (samples,) or (samples, channels)
        Full scale is 1. Channels are averaged.
    sample_rate : float
        In hertz, 8000 or more.
    targets : Targets
    player : Instrument, optional
        Says where to look for pitch (the instrument's range and an octave about it), and gives written names.

    Returns a Report with at least one note.

    Raises ValueError for a take that is silent, shorter than 0.2 s, or in which no steady note is found, with what
    may be the cause.
    """
    return hear(samples, sample_rate, player).against(targets)


def hear(samples: npt.ArrayLike, sample_rate: float, player: Instrument | None = None) -> Take:
    """Find the notes of a take, to measure `against` several targets; otherwise, errors included, as `listen`."""
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or not np.isfinite(sound.sum()):
        raise ValueError("a take is an array of finite samples, (samples,) or (samples, channels)")
    return hear_recording(Recording.of(sound, sample_rate), player)


def hear_recording(
    recording: Recording,
    player: Instrument | None = None,
    progress: Progress | None = None,
    bounds: tuple[float, float] | None = None,
) -> Take:
    """Find the notes of a take that is read in blocks; the rest is as for `hear`.

    An hour takes some 200 MB, whatever its sample rate. `progress` is told the share that is done. Pitch is looked for
    within `bounds` in hertz, or where the player may be.
    """
    tell = progress or (lambda share: None)
    rate = recording.sample_rate
    if not rate >= 8000:
        raise ValueError(f"a take has 8000 samples a second or more, not {rate}")
    known = survey(recording.told(share_of(tell, 0.0, 0.1)))
    recording = replace(recording, expected=known.samples)
    seconds = known.samples / rate
    if seconds < SHORTEST_TAKE:
        raise ValueError(f"the take is too short: it lasts {seconds:.2f} s, and a note needs {SHORTEST_TAKE:g} s")
    level = known.loudest_dbfs
    if level < QUIETEST_TAKE:
        how = "silent" if level == -math.inf else f"all but silent, {-level:.0f} dB below full scale at its loudest"
        raise ValueError(f"the take is {how}; check the microphone and its level")
    clean = cleaned(recording, share_of(tell, 0.1, 0.2))
    lowest, highest = bounds or sought(clean.recording, player)
    track = track_recording(
        clean.recording, lowest=lowest, highest=min(highest, rate / 5), progress=share_of(tell, 0.2, 0.9)
    )
    attacks = unclicked(attacks_of(clean.recording, track), track, clean.clicks)
    notes = tuple(track_notes(track, attacks, shortest=SHORTEST_NOTE))
    higher = raised(track, notes, clean.recording)
    if higher is not track:
        track, notes = higher, tuple(track_notes(higher, attacks, shortest=SHORTEST_NOTE))
    loud = levels(clean.recording, track)
    if clean.droned:
        notes = loud_enough(notes, loud, track)
    speech = spoken(track, loud)
    notes = tuple(
        note for note in notes if not any(part.begin < (note.onset + note.offset) / 2 < part.end for part in speech)
    )
    said = (*clean.said, *_left_out(speech), *_said(known.clipped, faults(clean.recording, track)))
    room = ringing(notes, track.times, attacks.level_db)
    if room > _RINGS_ON:
        said = (*said, _ROOM.format(room))
    tell(1.0)
    if not notes:
        raise ValueError(f"no steady note is found from {lowest:.0f} to {highest:.0f} Hz{_because(said)}")
    return Take(player, seconds, notes, track, said, attacks)


def _because(said: tuple[str, ...]) -> str:
    return f": {'; '.join(said)}" if said else "; hold each note for half a second at least"


def _said(clipped: bool, found: Faults) -> tuple[str, ...]:
    said = []
    if clipped:
        said.append("the recording is clipped: its peaks are cut off. Record it again with the level turned down")
    if found.several:
        said.append(_SEVERAL)
    elif found.noisy:
        said.append("the recording is noisy, so that small figures mean little. Go nearer to the microphone")
    return tuple(said)


def _left_out(speech: tuple[Spoken, ...]) -> tuple[str, ...]:
    """A line about what was spoken, for the first few stretches."""
    if not speech:
        return ()
    times = [f"{part.begin:.1f} to {part.end:.1f} s" for part in speech[:_MOST_TOLD]]
    more = ", and more" if len(speech) > _MOST_TOLD else ""
    return (f"what was spoken was left out ({', '.join(times)}{more}). If that was music, hold its notes longer",)


def _against(notes: tuple[HeardNote, ...], targets: Targets, offset: float) -> tuple[TakenNote, ...]:
    found = []
    for note in notes:
        target, away = targets.nearest(note.hertz / ratio_from_cents(offset))
        found.append(
            TakenNote(
                note.onset, note.offset, note.hertz, target, offset + away, note.cents_spread, note.drift,
                note.vibrato_width, note.vibrato_rate, note.confidence,
            )
        )  # fmt: skip
    return tuple(found)


def _drifts_there(notes: tuple[TakenNote, ...], offset: Offset) -> bool:
    """Whether the notes are off together only because they drift: where they begin they are not, or the other way."""
    begun = common_offset([note.off - note.drift / 2 for note in notes], [note.target for note in notes])
    return begun is None or begun.cents * offset.cents < 0


def _octaves(notes: tuple[TakenNote, ...], targets: Targets, player: Instrument | None) -> tuple[str, ...]:
    """A line for a take that fits an octave higher or lower, by its targets or by the player's range."""
    pitches = np.array([note.hertz for note in notes])
    here = math.sqrt(np.mean([note.off**2 for note in notes]))
    found = []
    for factor, side in ((2.0, "below"), (0.5, "above")):
        there = math.sqrt(np.mean([targets.nearest(pitch * factor)[1] ** 2 for pitch in pitches]))
        if here > 60 and there < here / 2:
            found.append(
                f"the take seems to be an octave {side} its targets: an octave {'higher' if factor > 1 else 'lower'} "
                f"it would be {there:.0f} cents off and not {here:.0f}. Check the octave of the fundamental"
            )
        if player and np.mean(player.reaches(pitches)) < 0.5 and np.mean(player.reaches(pitches * factor)) > 0.8:
            found.append(
                f"the take seems to be an octave {side} the usual range of the {player.name}. Check the instrument"
            )
    return tuple(found)
