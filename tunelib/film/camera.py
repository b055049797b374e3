"""How near a picture is seen: a part of one that was drawn more finely, cut out as sharp as the whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.transforms import Bbox
from PIL import Image

from tunelib.film.blending import Pixels, image, opaque

FINER = 2  # times as many pixels to the inch: as near as it goes without a blur
_FILLED = 0.5  # of the width or height, by what is zoomed to; more, if it is then as near as it goes
_NEARLY = 1.5


@dataclass(frozen=True)
class Frame:
    """What is seen of a picture: the lower left corner and the width and height, in its pixels."""

    left: float
    bottom: float
    width: float
    height: float
    whole_width: float
    whole_height: float

    @classmethod
    def whole(cls, pixels: Pixels) -> Frame:
        """All of a picture."""
        height, width, _ = pixels.shape
        return cls(0.0, 0.0, width, height, width, height)

    def toward(self, box: Bbox, share: float) -> Frame:
        """Some of the way, 0 to 1, to where a box is in the middle and fills about half of what is seen."""
        if box.width < 0:  # nothing is there
            return self
        fits = min(
            _FILLED * whole / max(side, 1.0)
            for whole, side in ((self.whole_width, box.width), (self.whole_height, box.height))
        )
        nearer = FINER if fits >= _NEARLY else max(fits, 1.0)
        width, height = self.whole_width / nearer, self.whole_height / nearer
        left = min(max((box.x0 + box.x1 - width) / 2, 0.0), self.whole_width - width)
        bottom = min(max((box.y0 + box.y1 - height) / 2, 0.0), self.whole_height - height)
        now = self.width * (width / self.width) ** share
        way = share if width == self.width else (self.width - now) / (self.width - width)
        return Frame(
            self.left + way * (left - self.left),
            self.bottom + way * (bottom - self.bottom),
            now,
            self.height * now / self.width,
            self.whole_width,
            self.whole_height,
        )

    def seen(self, box: Bbox, width: float, height: float) -> Bbox:
        """Where a box of the picture is when what is seen of it is this wide and high."""
        if box.width < 0:
            return box
        across, up = width / self.width, height / self.height
        return Bbox.from_extents(
            (box.x0 - self.left) * across, (box.y0 - self.bottom) * up,
            (box.x1 - self.left) * across, (box.y1 - self.bottom) * up,
        )  # fmt: skip

    def cut_out(self, pixels: Pixels, width: int, height: int) -> Pixels:
        """What is seen, in so many pixels."""
        top = self.whole_height - self.bottom - self.height
        if round(self.width) == width and round(self.height) == height:  # as sharp as it gets
            row, column = round(top), round(self.left)
            return pixels[row : row + height, column : column + width].copy()
        within = (
            self.left,
            top,
            min(self.left + self.width, self.whole_width),
            min(top + self.height, self.whole_height),
        )
        picture = image(pixels, "RGBX" if opaque(pixels[::8, ::8]) else "RGBA")
        return np.asarray(picture.resize((width, height), Image.Resampling.HAMMING, box=within))
