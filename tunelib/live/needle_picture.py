"""The needle as a picture, for a reader without a kernel: the rungs of the ladder, with nothing sung yet."""

from __future__ import annotations

import io

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tunelib.exhibits import LONG_SIDE, MARGIN, Look, find_theme
from tunelib.live.key_notes import KeyNotes

_HEIGHT, _DPI = 3.4, 80
_BAND = 10  # cents, as in needle_ladder.js
_RUNGS = 2  # to either side


def needle_picture(notes: KeyNotes, middle: int, title: str) -> bytes:
    """The notes about a step of a tuning with their names, and a band of ten cents to either side of it; a PNG."""
    look = Look(find_theme("light"))
    figure = Figure(figsize=(LONG_SIDE, _HEIGHT), dpi=_DPI, facecolor=look.theme.paper or "none")
    look.text(figure, MARGIN / LONG_SIDE, 1 - MARGIN / 2 / _HEIGHT, title, "name", va="top")
    axes = look.bare(figure, (0.16, 0.04, 0.84 - MARGIN / LONG_SIDE, 0.76))
    tint = look.theme.of(len(notes.tuning) if notes.is_even else 0)
    steps = range(middle - _RUNGS, middle + _RUNGS + 1)
    cents = [notes.tuning.cents_of(step) for step in steps]
    axes.set(xlim=(0, 1), ylim=(cents[0] - 15, cents[-1] + 15))
    axes.axhspan(cents[_RUNGS] - _BAND, cents[_RUNGS] + _BAND, color=tint.fill, lw=0)
    for step, height in zip(steps, cents, strict=True):
        aimed = step == middle
        axes.axhline(height, color=tint.full if aimed else tint.dim, lw=4 if aimed else 1.5)
        ink = {} if aimed else {"color": look.theme.grey}
        look.beside(axes, height, note_words(notes, step), size="name" if aimed else "label", **ink)
    png = io.BytesIO()
    FigureCanvasAgg(figure).print_png(png)
    return png.getvalue()


def note_words(notes: KeyNotes, step: int) -> str:
    """A step's note with its octave, or its number where notes have no letters."""
    return str(notes.note(step)) if notes.spelled else str(notes.names[step % len(notes.tuning)])
