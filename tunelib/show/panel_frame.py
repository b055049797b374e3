"""What of a panel only the page can see to: how wide it is, full screen, and the keys that bring on the next part."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets

from tunelib.live import script

_HERE = Path(__file__).parent


class PanelFrame(anywidget.AnyWidget):
    """A row with a button for full screen, and, where a picture comes on stage in steps, for going on and back.

    Parameters
    ----------
    title : str
        What the panel shows, for assistive technology.
    paper, ink : str
        The colours around the picture in full screen.
    steps : int
        In how many steps the picture comes on stage; 0 if it is there at once.

    ``step`` is the one it is at, from 1. The page tells the rest: ``shape`` is that of the picture that suits the
    panel's width, ``"wide"`` or ``"square"``; ``large`` whether it fills the screen; ``calm`` whether the reader has
    asked for less motion.
    """

    _esm = f"{script(_HERE / 'panel_frame.js')}\nexport default {{render: renderFrame}};"
    title = traitlets.Unicode().tag(sync=True)
    paper = traitlets.Unicode().tag(sync=True)
    ink = traitlets.Unicode().tag(sync=True)
    steps = traitlets.Int(0).tag(sync=True)
    step = traitlets.Int(1).tag(sync=True)
    shape = traitlets.Enum(("wide", "square"), "wide").tag(sync=True)
    large = traitlets.Bool(False).tag(sync=True)
    calm = traitlets.Bool(False).tag(sync=True)
