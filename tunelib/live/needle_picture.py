"""The needle as a picture, for a reader without a kernel: the rungs of the ladder, with nothing sung yet."""

from __future__ import annotations

import io

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tunelib.exhibits import LONG_SIDE, NORMAL, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look, find_theme
from tunelib.live.key_notes import KeyNotes
from tunelib.pitch import drawn

_HEIGHT, _DPI = 3.4, 80
_COLOURS = {12: TWELVE_COLOUR, 31: THIRTY_ONE_COLOUR}
_BAND = 10  # cents, as in needle_ladder.js
_RUNGS = 2  # to either side


def needle_picture(notes: KeyNotes, middle: int, title: str) -> bytes:
    """The notes about a step of a tuning with their names, and a band of ten cents to either side of it; a PNG."""
    look = Look(find_theme("light"))
    figure = Figure(figsize=(LONG_SIDE, _HEIGHT), dpi=_DPI, facecolor=look.theme.paper or "none")
    look.text(figure, 0.02, 0.95, drawn(title), fontsize=NORMAL, weight="bold", va="top")
    axes = look.bare(figure, (0.14, 0.04, 0.84, 0.8))
    colour = _COLOURS.get(len(notes.tuning), look.theme.grey) if notes.is_even else look.theme.grey
    steps = range(middle - _RUNGS, middle + _RUNGS + 1)
    cents = [notes.tuning.cents_of(step) for step in steps]
    axes.set(xlim=(0, 1), ylim=(cents[0] - 15, cents[-1] + 15))
    axes.axhspan(cents[_RUNGS] - _BAND, cents[_RUNGS] + _BAND, color=colour, alpha=0.2, lw=0)
    for step, height in zip(steps, cents, strict=True):
        aimed = step == middle
        axes.axhline(height, color=colour, lw=4 if aimed else 1.5)
        weight = "bold" if aimed else "normal"
        look.beside(axes, height, drawn(note_words(notes, step)), fontsize=NORMAL, weight=weight)
    png = io.BytesIO()
    FigureCanvasAgg(figure).print_png(png)
    return png.getvalue()


def note_words(notes: KeyNotes, step: int) -> str:
    """A step's note with its octave, or its number where notes have no letters."""
    return str(notes.note(step)) if notes.spelled else str(notes.names[step % len(notes.tuning)])
