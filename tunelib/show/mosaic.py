"""Pictures of one size kept as mosaics: each is a grid of tiles, and a tile that is met again is not kept again.

At most settings of an exhibit the same letters, dots and lines are there, in other company: what one knob moves looks
alike wherever another one is. Tiles find that by themselves. They are laid on sheets in the order in which they are
met, so that on a sheet, too, neighbours mostly lie side by side, which helps to pack them; each sheet is WebP without
loss. Of a picture only the numbers of its tiles are kept.
"""

from __future__ import annotations

import io

import numpy as np
import numpy.typing as npt
from PIL import Image

TILE = 12
"""Pixels along each side of a tile. Smaller ones need more numbers, and larger ones are less often alike."""
ACROSS = 128
"""Tiles along each side of a sheet. A larger sheet is packed better, up to about this size."""

_Pixels = npt.NDArray[np.uint8]


class Mosaics:
    """Opaque pictures of one size, each kept once.

    Parameters
    ----------
    width, height : int
        In pixels; multiples of `TILE`.

    Attributes
    ----------
    columns : int
        Of the grid.

    Raises ValueError for another size.
    """

    def __init__(self, width: int, height: int) -> None:
        if width % TILE or height % TILE:
            raise ValueError(f"a picture of {width} by {height} pixels cannot be cut into tiles of {TILE} by {TILE}")
        self.columns = width // TILE
        self._tiles: dict[bytes, int] = {}
        self._pictures: dict[bytes, int] = {}
        cells = self.columns * (height // TILE)
        self._last = np.zeros((cells, TILE * TILE), np.uint32)  # the tiles of the last picture, and their numbers
        self._numbers = np.full(cells, self._number(self._last[0]), "<i4")

    def add(self, pixels: _Pixels) -> int:
        """The index of a picture, of shape (height, width, 4), which is taken in if it is new."""
        whole = np.ascontiguousarray(pixels).view(np.uint32)
        tiles = whole.reshape(-1, TILE, self.columns, TILE).swapaxes(1, 2).reshape(self._last.shape)
        numbers = self._numbers.copy()
        for cell in np.flatnonzero((tiles != self._last).any(axis=1)):
            numbers[cell] = self._number(tiles[cell])
        self._last, self._numbers = tiles, numbers
        return self._pictures.setdefault(numbers.tobytes(), len(self._pictures))

    def _number(self, tile: npt.NDArray[np.uint32]) -> int:
        return self._tiles.setdefault(tile.tobytes(), len(self._tiles))

    @property
    def steps(self) -> npt.NDArray[np.int32]:
        """How far it is, in each picture, to the number of a cell's tile from that of the cell before, row after row.

        Shape (cells, pictures). The number before the first cell is 0. Both what stays from picture to picture and
        what was met in one go are then the same again and again, and can be compressed.
        """
        numbers = np.frombuffer(b"".join(self._pictures), "<i4").reshape(-1, self._numbers.size).T
        return np.diff(numbers, axis=0, prepend=np.int32(0))

    @property
    def sheets(self) -> list[bytes]:
        """All tiles as WebP in the order of their numbers, row after row and sheet after sheet; the first is blank."""
        tiles = np.frombuffer(b"".join(self._tiles), np.uint8).reshape(-1, TILE, TILE, 4)
        return [_sheet(tiles[first : first + ACROSS**2]) for first in range(0, len(tiles), ACROSS**2)]


def _sheet(tiles: _Pixels) -> bytes:
    """Tiles side by side, in as many rows as it takes, without their opacity."""
    rows = -(-len(tiles) // ACROSS)
    laid = np.zeros((rows * ACROSS, TILE, TILE, 3), np.uint8)
    laid[: len(tiles)] = tiles[..., :3]
    return webp(laid.reshape(rows, ACROSS, TILE, TILE, 3).swapaxes(1, 2).reshape(rows * TILE, ACROSS * TILE, 3))


def webp(pixels: _Pixels) -> bytes:
    """A picture as WebP without loss, at the setting where size and time are in the best proportion."""
    packed = io.BytesIO()
    Image.fromarray(pixels).save(packed, "WEBP", lossless=True, method=1, quality=60)
    return packed.getvalue()
