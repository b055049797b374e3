"""From a recording to an intonation report and its picture, as the command and the notebook both ask for it."""

from __future__ import annotations

import io
import os
from typing import Any

import matplotlib

from tunelib.exhibits import OwnTake
from tunelib.hearing import Report, listen, parse_targets
from tunelib.pitch import A4_HZ, Instrument
from tunelib.show import STILL_FORMATS, Stage
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


def take_picture(report: Report, kind: str = "png", size: str = "1080p", theme: str = "light") -> bytes:
    """The picture of a report, as bytes of a PNG, SVG or PDF file, described by its sentence.

    Raises ValueError for a kind, size or theme that does not exist.
    """
    if kind not in STILL_FORMATS:
        raise ValueError(f"a picture is a .png, .svg or .pdf file, not .{kind}")
    shown = OwnTake(report)
    stage = Stage(shown, size, theme)
    if kind == "png":
        stage.move({})
        return stage.crisp()
    packed = io.BytesIO()
    metadata: dict[str, Any] = {"Title": shown.title, "Description" if kind == "svg" else "Subject": shown.sentence()}
    metadata |= {"Date" if kind == "svg" else "CreationDate": None}
    with matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": shown.name, "pdf.fonttype": 42}):
        stage.whole({}).savefig(packed, format=kind, metadata=metadata)
    return packed.getvalue()
