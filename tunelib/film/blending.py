"""Mixing finished pictures: arrays of shape (height, width, 4), red, green, blue and opacity, as a stage has them."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from PIL import Image

Pixels: TypeAlias = npt.NDArray[np.uint8]


def image(pixels: Pixels, mode: str = "RGBA") -> Image.Image:
    """The same picture for Pillow, without copying it where that can be; `mode` ``"RGBX"`` for one that is opaque."""
    height, width, _ = pixels.shape
    return Image.frombuffer(mode, (width, height), np.ascontiguousarray(pixels), "raw", mode, 0, 1)


def opaque(pixels: Pixels) -> bool:
    """Whether nothing is seen through a picture."""
    return bool(pixels[..., 3].min() == 255)


def blended(one: Pixels, other: Pixels, way: float) -> Pixels:
    """Part of the way from one picture to another, 0 to 1: each pixel's mean, weighted by how opaque it is."""
    if way <= 0 or way >= 1:
        return other if way > 0 else one
    here, there = image(one), image(other)
    if opaque(one) and opaque(other):
        return np.asarray(Image.blend(here, there, way))
    return np.asarray(Image.blend(here.convert("RGBa"), there.convert("RGBa"), way).convert("RGBA"))
