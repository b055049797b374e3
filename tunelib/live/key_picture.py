"""The keys as a picture, for a reader without a kernel."""

from __future__ import annotations

import io
from collections.abc import Collection

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch

from tunelib.exhibits import LONG_SIDE, MARGIN, Look, find_theme
from tunelib.live.key_notes import KeyNotes
from tunelib.live.layouts import Board

_DPI = 80
_MARGIN, _TOP = 0.2, 0.55  # inches
_LARGEST_KEY = 0.55  # inches
_MOST_HEIGHT = 4.5  # inches
_LETTERS_HIGH = 0.42  # of a key, for the names on it
_SMALLEST_LETTERS = 6.0  # points; smaller names are left out
_COUNTED, _SHARE_OF_COUNTED = "+−", 0.7  # what is counted from another name recedes, so that plain ones are read first
_BAR = 0.18  # of a key: half the length of the bar, and how far it is from the edge
_POINTS = 72  # an inch


def key_picture(board: Board, notes: KeyNotes, lit: Collection[int], title: str, faint: Collection[int] = ()) -> bytes:
    """The keys of a board with their names, those of the steps `lit` marked by a thick edge and a bar; a PNG.

    Those that are `faint` as well have a thinner edge and no bar.
    """
    look = Look(find_theme("light"))
    key = min((LONG_SIDE - 2 * _MARGIN) / board.width, _MOST_HEIGHT / board.height, _LARGEST_KEY)
    height = _TOP + board.height * key + _MARGIN
    figure = Figure(figsize=(LONG_SIDE, height), dpi=_DPI, facecolor=look.theme.paper or "none")
    look.text(figure, MARGIN / LONG_SIDE, 1 - _MARGIN / height, title, "name", va="top")
    tint = look.theme.of(len(notes.tuning) if notes.is_even else 0)
    width, tall = board.width * key / LONG_SIDE, board.height * key / height
    axes = look.bare(figure, ((1 - width) / 2, _MARGIN / height, width, tall))
    axes.set(xlim=(0, board.width), ylim=(board.height, 0))
    for line in board.lines:
        axes.plot([line.x1, line.x2], [line.y1, line.y2], color=look.theme.line, lw=3 if line.broad else 1, zorder=0)
    size = min(look.size("name"), key * _LETTERS_HIGH * _POINTS)
    for place in board.keys:
        name, marked = place.name or key_name(notes, place.step), place.step in lit
        corner = place.x - place.width / 2 + 0.1, place.y - place.height / 2 + 0.1
        axes.add_patch(FancyBboxPatch(
            corner, place.width - 0.2, place.height - 0.2, boxstyle="round,pad=0.1", clip_on=False,
            fc=look.theme.behind_text if len(name) == 1 else look.theme.ground,
            ec=tint.full if marked else look.theme.line, lw=2 if place.step in faint else 3 if marked else 1,
        ))  # fmt: skip
        if size >= _SMALLEST_LETTERS:
            letters, color = size, look.theme.ink
            if any(sign in name for sign in _COUNTED):
                letters, color = max(_SMALLEST_LETTERS, size * _SHARE_OF_COUNTED), look.theme.grey
            look.text(axes, place.x, place.y, name, fontsize=letters, ha="center", va="center", color=color)
        if marked and place.step not in faint:
            bar = place.y + place.height / 2 - _BAR
            axes.plot([place.x - _BAR, place.x + _BAR], [bar, bar], color=look.theme.ink, lw=3)
    png = io.BytesIO()
    FigureCanvasAgg(figure).print_png(png)
    return png.getvalue()


def key_name(notes: KeyNotes, step: int) -> str:
    """What stands on the key of a step: its name without the octave."""
    name = notes.names[step % len(notes.names)]
    return name if isinstance(name, str) else name.name
