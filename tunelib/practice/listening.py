"""From a recording to an intonation report, as the command and the notebook both ask for it."""

from __future__ import annotations

import os
from collections.abc import Callable

from tunelib.arrange import MELODY, intended_from, written_score
from tunelib.harmony import playable_division, read_lead_sheet, retune
from tunelib.hearing import Intended, Recording, Report, follow_recording, hear_recording, parse_targets
from tunelib.pitch import A4_HZ, Instrument, equal
from tunelib.practice.exercise_file import Exercise, read_exercise
from tunelib.sound import open_recording


def listen_to(
    recording: str | os.PathLike[str] | bytes | Recording,
    against: str,
    player: Instrument | None = None,
    reference: float = A4_HZ,
    progress: Callable[[float], None] | None = None,
) -> Report:
    """Measure a recording against targets.

    Parameters
    ----------
    recording : str, path, bytes or Recording
        A file that `read_audio` reads, the contents of one, or what is open already.
    against : str
        The targets, as `parse_targets` reads them.
    player : Instrument, optional
        Who plays: says where to look for pitch, and gives written names.
    reference : float
        The frequency of A4 in hertz.
    progress : callable, optional
        Called now and then with the share of the work done, from 0 to 1.

    The recording is read in blocks: an hour takes some 200 MB. Raises ValueError, OSError or ImportError, as
    `parse_targets`, `open_recording` and `listen` do, in that order.
    """
    targets = parse_targets(against, reference)
    opened = recording if isinstance(recording, Recording) else open_recording(recording)
    return hear_recording(opened, player, progress).against(targets)


def follow_exercise(
    recording: str | os.PathLike[str] | bytes | Recording,
    exercise: Exercise | Intended,
    player: Instrument | None = None,
    progress: Callable[[float], None] | None = None,
) -> Report:
    """Hold a recording beside an exercise, or any notes that were to be played: of each, how it was.

    `player` is the exercise's own unless given; the rest is as for `listen_to`. Raises ValueError, OSError or
    ImportError, as `open_recording` and `tunelib.hearing.follow_recording` do.
    """
    if isinstance(exercise, Exercise):
        player, exercise = player or exercise.player, exercise.intended
    opened = recording if isinstance(recording, Recording) else open_recording(recording)
    return follow_recording(opened, exercise, player, progress)


def read_intended(path: str | os.PathLike[str], against: str | None = None) -> Exercise | Intended:
    """What a file has to play: an exercise (.toml), or the melody of a lead sheet, retuned.

    Parameters
    ----------
    path : str or path
        An exercise, or a tune as text or MusicXML.
    against : str, optional
        The division that a tune is played in, a number of equal steps such as ``"31"``. An exercise names its own.

    Raises ValueError for a tune without a division or without a melody, for an exercise with one, and otherwise as
    `read_exercise`, `tunelib.harmony.read_lead_sheet` and `tunelib.harmony.playable_division`.
    """
    if os.fspath(path).lower().endswith(".toml"):
        if against is not None:
            raise ValueError("an exercise names its own tuning; leave --against out")
        return read_exercise(path)
    if against is None or not against.strip().isdecimal():
        raise ValueError("a tune is played in equal steps: say --against with their number, such as --against 31")
    tune = retune(read_lead_sheet(path), playable_division(equal(int(against))))
    if not tune.melody:
        raise ValueError(f"{os.fspath(path)} has no melody to be played")
    return intended_from(written_score(tune), MELODY)
