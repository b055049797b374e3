"""From a recording to an intonation report and its picture, as the command and the notebook both ask for it."""

from __future__ import annotations

import os

from tunelib.exhibits.intonation import OwnTake
from tunelib.hearing.intonation import Report, listen, parse_targets
from tunelib.pitch.instruments import Instrument
from tunelib.pitch.tunings import A4_HZ
from tunelib.show.still import picture
from tunelib.sound.audio import read_audio


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


def take_picture(report: Report, kind: str = "png", size: str = "1080p", theme: str = "light") -> bytes:
    """The picture of a report, as bytes of a PNG, SVG or PDF file, described by its sentence.

    Raises ValueError for a kind, size or theme that does not exist.
    """
    return picture(OwnTake(report), kind, size=size, theme=theme)
