"""Pictures kept as mosaics: they come back as they were, and what is alike is kept once."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tunelib.show.mosaic import ACROSS, TILE, Mosaics

ROWS, COLUMNS = 9, 16


def laid_out(mosaics: Mosaics) -> Any:
    """All pictures put together again as a page does it: shape (pictures, height, width, 3)."""
    sheets = []
    for sheet in mosaics.sheets:
        with Image.open(io.BytesIO(sheet)) as image:
            sheets.append(np.asarray(image.convert("RGB")).reshape(-1, TILE, ACROSS, TILE, 3).swapaxes(1, 2))
    tiles = np.concatenate([sheet.reshape(-1, TILE, TILE, 3) for sheet in sheets])
    numbers = np.cumsum(mosaics.steps, axis=0).T
    grid = tiles[numbers].reshape(len(numbers), -1, mosaics.columns, TILE, TILE, 3)
    return grid.swapaxes(2, 3).reshape(len(numbers), -1, mosaics.columns * TILE, 3)


def noise(number: int) -> Any:
    """A picture of which no tile is like another."""
    pixels = np.random.default_rng(number).integers(0, 256, (ROWS * TILE, COLUMNS * TILE, 4), np.uint8)
    pixels[..., 3] = 255
    return pixels


def kept(mosaics: Mosaics) -> int:
    """How many tiles are kept, the blank one among them."""
    return int(np.cumsum(mosaics.steps, axis=0).max()) + 1


def test_pictures_come_back_as_they_were() -> None:
    """Also where their tiles need more than one sheet"""
    count = ACROSS**2 // (ROWS * COLUMNS) + 2
    mosaics = Mosaics(COLUMNS * TILE, ROWS * TILE)
    assert [mosaics.add(noise(number)) for number in range(count)] == list(range(count))
    assert kept(mosaics) == count * ROWS * COLUMNS + 1
    assert len(mosaics.sheets) == 2
    shown = laid_out(mosaics)
    assert all((shown[number] == noise(number)[..., :3]).all() for number in range(count))


def test_a_picture_that_is_met_again_is_the_one_before() -> None:
    mosaics = Mosaics(COLUMNS * TILE, ROWS * TILE)
    assert [mosaics.add(noise(number)) for number in (3, 5, 3, 5)] == [0, 1, 0, 1]
    assert mosaics.steps.shape == (ROWS * COLUMNS, 2)


def test_a_tile_is_kept_once_wherever_it_is() -> None:
    """In other places and other company"""
    mosaics = Mosaics(COLUMNS * TILE, ROWS * TILE)
    first = noise(0)
    mosaics.add(first)
    moved = np.roll(first, (2 * TILE, -3 * TILE), (0, 1))
    assert mosaics.add(moved) == 1 and kept(mosaics) == ROWS * COLUMNS + 1
    moved[0, 0, 0] ^= 1
    assert mosaics.add(moved) == 2 and kept(mosaics) == ROWS * COLUMNS + 2
    assert (laid_out(mosaics)[2] == moved[..., :3]).all()


@pytest.mark.parametrize("size", [(COLUMNS * TILE + 1, ROWS * TILE), (COLUMNS * TILE, ROWS * TILE - 1)])
def test_a_size_that_cannot_be_cut_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match=f"{size[0]} by {size[1]} pixels"):
        Mosaics(*size)
