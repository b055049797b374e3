"""From a recording to an intonation report, as the command and the notebook both ask for it."""

from __future__ import annotations

import os
from collections.abc import Callable

from tunelib.hearing import Recording, Report, hear_recording, parse_targets
from tunelib.pitch import A4_HZ, Instrument
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
