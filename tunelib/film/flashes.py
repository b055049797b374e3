"""Counting flashes, to keep clips from harming viewers with photosensitive epilepsy.

As in the W3C's Web Content Accessibility Guidelines 2.2 (success criterion 2.3.1 and its definitions): a flash is a
pair of opposing changes of relative luminance by a tenth of the greatest or more, the darker below 0.80; or a pair of
opposing changes to and from a saturated red. More than three in any second are too many where together they fill a
quarter of any ten degrees of the visual field, taken here as a third of the width by a third of the height of the
picture. Changes come together where more than that part grows lighter, or darker, within 45 milliseconds, which is two
frames at 24 to 30 a second. So squares or bars that change places flash, however small. Bars that travel, as wide as
the gaps between them, do so from five or six a second on, where the Guidelines might count four; thin lines do not.

In two things more is refused here than there. A red counts wherever it becomes or ceases to be saturated: between two
saturated reds the Guidelines' least difference of 0.2 in the CIE 1976 diagram is never reached, so none is missed. And
fine patterns, of squares under a tenth of a degree, are not excepted.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

_Light: TypeAlias = npt.NDArray[np.float32]

MOST_FLASHES = 3  # in any second

_CELLS = 90  # points looked at along the short side of the picture
_CHANGE, _BRIGHT = 0.1, 0.8
_RED_SHARE, _DARK = 0.8, 1e-4  # of the sum of red, green and blue; relative luminance that is as good as black
_FIELD, _PART = 3, 0.25
_TOGETHER_SECONDS = 0.045
_channel = np.arange(256) / 255
_LINEAR = np.where(_channel <= 0.04045, _channel / 12.92, ((_channel + 0.055) / 1.055) ** 2.4).astype(np.float32)
_LUMINANCE = np.array([[0.2126], [0.7152], [0.0722]], np.float32) * _LINEAR  # of each channel's values


class FlashMeter:
    """Looks at the pictures of a clip one after another.

    Parameters
    ----------
    rate : int
        Frames a second.
    behind : tuple of three numbers
        Red, green and blue, 0 to 255, of what is seen through a transparent picture.
    """

    def __init__(self, rate: int, behind: tuple[int, int, int] = (0, 0, 0)) -> None:
        self._rate = rate
        self._behind = np.array(behind, np.float32)
        self._bright: _Swings | None = None
        self._red: _Swings | None = None

    def add(self, pixels: npt.NDArray[np.uint8]) -> bool:
        """Look at the next picture; shape (height, width, 4), red, green, blue and opacity.

        Returns whether the second that ends with it holds more than `MOST_FLASHES` flashes over too large a part.
        """
        every = max(1, min(pixels.shape[:2]) // _CELLS)
        seen = np.moveaxis(pixels[every // 2 :: every, every // 2 :: every], -1, 0).copy()
        if seen[3].min() < 255:
            opacity = seen[3].astype(np.float32) / 255
            behind = self._behind[:, np.newaxis, np.newaxis]
            seen = np.round(seen[:3] * opacity + behind * (1 - opacity)).astype(np.uint8)
        red, green, blue = seen[:3]
        luminance = _LUMINANCE[0][red] + _LUMINANCE[1][green] + _LUMINANCE[2][blue]
        redness = _saturated_red(red, green, blue, luminance)
        if self._bright is None or self._red is None:
            self._bright, self._red = _Swings(luminance, self._rate), _Swings(redness, self._rate)
            return False
        many = self._bright.add(luminance, _CHANGE, _BRIGHT)
        many |= self._red.add(redness, 1.0, np.inf)
        return _covers_too_much(many)

    def same(self) -> bool:
        """As `add`, for a picture that is the same as the one before."""
        if self._bright is None or self._red is None:
            raise ValueError("no picture has been looked at yet")
        return _covers_too_much(self._bright.rest() | self._red.rest())


class _Swings:
    """Opposing changes at every point, counted over the last second."""

    def __init__(self, first: _Light, rate: int) -> None:
        self._low, self._high = first.copy(), first.copy()
        self._way = np.zeros(first.shape, np.int8)  # of the last change: 1 up, -1 down
        self._fresh = np.zeros(first.shape, np.int8)  # for how many pictures it may still be joined by others
        self._least = _PART * first.size / _FIELD**2 / 2  # points: half of what it takes to fill the part of a field
        self._together = 1 + int(_TOGETHER_SECONDS * rate)
        self._last_second = np.zeros((rate, *first.shape), bool)
        self._count = np.zeros(first.shape, np.int16)
        self._now = 0

    def add(self, values: _Light, change: float, bright: float) -> npt.NDArray[np.bool_]:
        """Where the second that ends with these values has more flashes than are allowed."""
        np.minimum(self._low, values, out=self._low)
        np.maximum(self._high, values, out=self._high)
        np.maximum(self._fresh - 1, 0, out=self._fresh)
        if np.max(self._high - self._low) >= change:
            up = (self._way <= 0) & (values - self._low >= change) & (self._low < bright)
            down = (self._way >= 0) & (self._high - values >= change) & (values < bright)
            turned = up | down
            self._way[up], self._way[down] = 1, -1
            self._low[turned] = self._high[turned] = values[turned]
            self._fresh[turned] = self._together
        return self._record()

    def rest(self) -> npt.NDArray[np.bool_]:
        """The same, where nothing has changed since."""
        np.maximum(self._fresh - 1, 0, out=self._fresh)
        return self._record()

    def _record(self) -> npt.NDArray[np.bool_]:
        slot = self._now % len(self._last_second)
        self._count -= self._last_second[slot]
        joined = np.zeros(self._fresh.shape, bool)
        for way in (1, -1):
            alike = (self._fresh > 0) & (self._way == way)
            if np.count_nonzero(alike) > self._least:
                joined |= alike & (_spread(alike) > _PART)
        self._fresh[joined] = 0
        self._count += joined
        self._last_second[slot] = joined
        self._now += 1
        return np.asarray(self._count > 2 * MOST_FLASHES)


def _saturated_red(
    red: npt.NDArray[np.uint8], green: npt.NDArray[np.uint8], blue: npt.NDArray[np.uint8], luminance: _Light
) -> _Light:
    """1 where red is four fifths or more of the light of the three, else 0."""
    if not np.any(red > np.maximum(green, blue)):
        return np.zeros(red.shape, np.float32)
    linear = _LINEAR[red]
    share = linear >= _RED_SHARE * (linear + _LINEAR[green] + _LINEAR[blue])
    return np.asarray(share & (luminance > _DARK), np.float32)


def _covers_too_much(many: npt.NDArray[np.bool_]) -> bool:
    """Whether marked points fill too much of any field."""
    return bool(many.any()) and bool(_spread(many).max() > _PART)


def _spread(marks: npt.NDArray[Any]) -> _Light:
    """The mean of the marks over the field about each point, or over the nearest field that is within the picture."""
    height, width = (max(1, round(side / _FIELD)) for side in marks.shape)
    sums = np.pad(marks.cumsum(axis=0, dtype=np.int32).cumsum(axis=1), ((1, 0), (1, 0)))
    inside = sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
    above, left = height // 2, width // 2
    around = ((above, marks.shape[0] - inside.shape[0] - above), (left, marks.shape[1] - inside.shape[1] - left))
    return np.asarray(np.pad(inside, around, mode="edge") / (height * width), np.float32)
