"""From a recording to an intonation report, as the command and the notebook both ask for it."""

from __future__ import annotations

import os

from tunelib.hearing import Report, listen, parse_targets
from tunelib.pitch import A4_HZ, Instrument
from tunelib.sound import read_audio


def listen_to(
    recording: str | os.PathLike[str] | bytes, against: str, player: Instrument | None = None, reference: float = A4_HZ
) -> Report:
    """Hold a recording against targets.

    Parameters
    ----------
    recording : str, path or bytes
        A file that `read_audio` reads, or what stands in one.
    against : str
        The targets, as `parse_targets` reads them.
    player : Instrument, optional
        Who plays: says where pitch is sought, and gives written names.
    reference : float
        The frequency of A4 in hertz.

    Raises ValueError or OSError, as `parse_targets`, `read_audio` and `listen` do, in that order.
    """
    targets = parse_targets(against, reference)
    samples, sample_rate = read_audio(recording, mono=True)
    return listen(samples, sample_rate, targets, player)
