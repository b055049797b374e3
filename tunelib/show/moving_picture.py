"""The picture of a panel: one image whose bytes change as its exhibit is moved, glides, sounds and comes on stage.

A compact encoding is shown while anything moves, and a crisp one once it has come to rest. What is chosen or switched
glides from where it was; what is dragged is drawn at once. What comes next takes over from a glide that is not over.
"""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable, Mapping
from typing import Any

import ipywidgets as widgets
from PIL import Image

from tunelib.exhibits import SILENT, Choice, Exhibit, Knob, Playing, Slider
from tunelib.show.stage import Stage, compacted, find_size

GLIDE_SECONDS = 0.25
REST_SECONDS = 0.2  # how long a picture must have stayed as it is before it is made crisp
_FRAME_SECONDS = 1 / 30
_LONG_WAY = 0.05  # of a slider: less than that may be the beginning of a drag
_SEGMENT = 1 << 16  # bytes; a smaller picture would wait on its way to a page on the same machine (see DEVELOPERS.md)
_SIZES = {
    ("wide", 1): "panel",
    ("wide", 2): "panel at double density",
    ("square", 1): "square panel",
    ("square", 2): "square",
}


class MovingPicture:
    """A picture of an exhibit in an image widget.

    Parameters
    ----------
    exhibit : Exhibit
    theme : str
    density : int
        Pixels for each pixel of the page: 1 or 2.
    glides : bool
        Whether what is chosen or switched glides.
    on_stage : int, optional
        How many of the exhibit's groups are on stage at first; all if None.

    ``image`` is the widget. ``missing`` says what a picture would need that is not installed; there is none then.
    """

    def __init__(
        self, exhibit: Exhibit, theme: str, density: int, glides: bool = True, on_stage: int | None = None
    ) -> None:
        self.missing = ""
        self.glides = glides
        self._exhibit, self._theme, self._density = exhibit, theme, density
        self._values: dict[str, Any] = {}
        self._playing = SILENT
        self._on_stage = on_stage
        self._size = _SIZES["wide", density]
        self._stage = self._set_up()
        self._ticking: asyncio.TimerHandle | None = None
        self._resting: asyncio.TimerHandle | None = None
        width, height = find_size("panel").pixels
        self.image = widgets.Image(width=width, height=height)

    def go(self, values: dict[str, Any], playing: Playing = SILENT) -> None:
        """Show the exhibit at other settled values, and what sounds there: at once, or gliding if something leaps."""
        before, heard = self._values, self._playing
        self._values, self._playing = values, playing
        if self.missing:
            return
        glides = self.glides and before and self._leaps(before)
        self._stop()
        try:
            if glides and _loop() is not None:
                self._animate(self._glide_from(before, heard))
            else:
                self._draw()
        except ImportError as missing:
            self.missing = str(missing)
            self.image.layout.display = "none"

    def light(self, playing: Playing) -> None:
        """Show what sounds now. On the way to other values it is shown on arrival."""
        self._playing = playing
        if self._ticking is None and not self.missing:
            self._stage.move(self._values, self._playing)
            self._show(self._stage.compact())
            self._rest_soon()

    def bring_on(self, count: int | None) -> None:
        """Have so many groups of the exhibit on stage; what comes or goes fades in or out."""
        self._on_stage = count
        if self.missing:
            return
        self._stop()
        before = Image.fromarray(self._stage.pixels().copy())
        self._stage.on_stage(count)
        self._stage.move(self._values, self._playing)
        after = Image.fromarray(self._stage.pixels().copy())
        if self.glides and _loop() is not None:
            self._animate(lambda way: compacted(Image.blend(before, after, _eased(way))))
        else:
            self._draw()

    def fit(self, shape: str, large: bool = False) -> None:
        """Draw it in another shape, ``"wide"`` or ``"square"``; at double density if it is shown large."""
        size = _SIZES[shape, 2 if large else self._density]
        if size == self._size:
            return
        self._size = size
        self._stop()
        self._stage = self._set_up()
        if self._values and not self.missing:
            self._stage.move(self._values, self._playing)
            self._show(self._stage.crisp(), "png", find_size("square panel" if shape == "square" else "panel").pixels)

    def rest(self) -> None:
        """Show it crisp, if it is not on its way."""
        if self._ticking is None and not self.missing:
            self._stop()
            self._show(self._stage.crisp(), "png")

    def captioned(self, sentence: str) -> Image.Image:
        """The picture as a reader without a kernel has it: wide, whole, silent, and with its sentence below."""
        stage = self._stage
        plain = self._size == "panel" and self._on_stage is None and self._playing == SILENT
        if not plain or self._ticking is not None:
            stage = Stage(self._exhibit, "panel", self._theme)
            stage.move(self._values)
        return stage.captioned(sentence)

    def _set_up(self) -> Stage:
        stage = Stage(self._exhibit, self._size, self._theme)
        if self._on_stage is not None:
            stage.on_stage(self._on_stage)
        return stage

    def _leaps(self, before: Mapping[str, Any]) -> bool:
        """Whether the way from other values is to be gone by gliding.

        A slider that is dragged, or moved on before the picture has come to rest, is followed at once.
        """
        still = self._ticking is None and self._resting is None
        moved = [knob for knob in self._exhibit.knobs if self._values[knob.name] != before[knob.name]]
        return any(_is_leap(knob, before[knob.name], self._values[knob.name], still) for knob in moved)

    def _glide_from(self, before: dict[str, Any], heard: Playing) -> Callable[[float], bytes]:
        there, playing = self._values, (heard, self._playing)

        def frame(way: float) -> bytes:
            if way < 1:
                self._stage.between(before, there, _eased(way), playing=playing)
            else:
                self._stage.move(there, self._playing)
            return self._stage.compact()

        return frame

    def _draw(self) -> None:
        self._stage.move(self._values, self._playing)
        self._show(self._stage.compact().ljust(_SEGMENT, b"\0"))
        self._rest_soon()

    def _animate(self, frame: Callable[[float], bytes]) -> None:
        """Show frames one after another; each is asked for by how much of the way is gone, the last one by 1."""
        loop = asyncio.get_running_loop()
        began = loop.time() - _FRAME_SECONDS

        def tick() -> None:
            due = loop.time()
            way = min(1.0, (due - began) / GLIDE_SECONDS)
            self._show(frame(way).ljust(_SEGMENT, b"\0"))
            self._ticking = loop.call_at(due + _FRAME_SECONDS, tick) if way < 1 else None
            if way == 1:
                self._rest_soon()

        tick()

    def _stop(self) -> None:
        for timer in (self._ticking, self._resting):
            if timer is not None:
                timer.cancel()
        self._ticking = self._resting = None

    def _rest_soon(self) -> None:
        """Have the picture made crisp when nothing has changed for a while; not as long as it flows."""
        if self._resting is not None:
            self._resting.cancel()
        loop = None if self._exhibit.flows and self._playing != SILENT else _loop()
        self._resting = None if loop is None else loop.call_later(REST_SECONDS, self.rest)

    def _show(self, picture: bytes, kind: str = "jpeg", pixels: tuple[int, int] | None = None) -> None:
        with self.image.hold_sync():
            if pixels is not None:
                self.image.width, self.image.height = (str(side) for side in pixels)
            self.image.format = kind
            self.image.value = picture


def _loop() -> asyncio.AbstractEventLoop | None:
    """The loop that runs a kernel; None where there is none, and so nobody who could watch a way."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def _is_leap(knob: Knob, before: Any, now: Any, still: bool) -> bool:
    if not isinstance(knob, Slider):
        return still or not (isinstance(knob, Choice) and knob.ordered)
    if not still:
        return False
    if knob.logarithmic:
        way, whole = abs(math.log2(now / before)), math.log2(knob.high / knob.low)
        stops = way * knob.step
    else:
        way, whole = abs(now - before), knob.high - knob.low
        stops = way / knob.step
    return stops > 1.5 and way > _LONG_WAY * whole


def _eased(way: float) -> float:
    """Slow at both ends."""
    return way * way * (3 - 2 * way)
