"""What is done to a recording before its notes are looked for: clicks and drones taken out, and said."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tunelib.hearing.attacks import Attacks
from tunelib.hearing.click_tracks import find_clicks, without_clicks
from tunelib.hearing.drones import find_drone, without_drone
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.pitch import FloatArray, listed, nearest_note

_ABOUT_A_CLICK = (-0.08, -0.03, 0.1, 0.16)  # seconds: from before it to where it has an effect, and on to what follows
_SOUNDS_ON = 6.0  # decibels


class Cleaned(NamedTuple):
    """A recording without what is not the player, whether that was a drone, where there were clicks (in seconds), and
    what there is to say of it."""

    recording: Recording
    droned: bool
    clicks: FloatArray
    said: tuple[str, ...]


def cleaned(recording: Recording, progress: Progress) -> Cleaned:
    """Take out of a recording, whose length it must tell, what goes on beside the player.

    Where there is nothing of the kind, the recording is handed on as it is.
    """
    said = list(recording.said())
    clicks = find_clicks(recording.told(share_of(progress, 0.0, 0.5)))
    if clicks is not None:
        recording = without_clicks(recording, clicks)
        said.append(f"clicks at {clicks.tempo:.0f} a minute were taken out. Have them on headphones the next time")
    drone = find_drone(recording.told(share_of(progress, 0.5, 1.0)))
    if drone is not None:
        recording = without_drone(recording, drone)
        names = [f"{nearest_note(hertz)[0]} ({hertz:.1f} Hz)" for hertz in sorted(drone.hertz)]
        said.append(f"a drone on {listed(names)} was taken out. Have it on headphones the next time")
    places = np.zeros(0) if clicks is None else clicks.places / recording.sample_rate
    return Cleaned(recording, drone is not None, places, tuple(said))


def unclicked(attacks: Attacks, track: PitchTrack, clicks: FloatArray) -> Attacks:
    """Attacks without those that a click left behind: at a click, where a note sounds on as loudly as before."""
    worth = attacks.worth.copy()
    for click in clicks.tolist():
        begin, before, over, after = np.searchsorted(track.times, click + np.array(_ABOUT_A_CLICK)).tolist()
        softest, later = attacks.level_db[begin:over], attacks.level_db[over:after]
        if begin < before and later.size and softest.min() > np.median(later) - _SOUNDS_ON:
            worth[before:over] = 0.0
    return attacks._replace(worth=worth)
