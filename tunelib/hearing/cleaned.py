"""What is done to a recording before its notes are looked for: clicks and drones taken out, and said."""

from __future__ import annotations

from typing import NamedTuple

from tunelib.hearing.click_tracks import find_clicks, without_clicks
from tunelib.hearing.drones import find_drone, without_drone
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.pitch import listed, nearest_note


class Cleaned(NamedTuple):
    """A recording without what is not the player, whether that was a drone, and what there is to say of it."""

    recording: Recording
    droned: bool
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
    return Cleaned(recording, drone is not None, tuple(said))
