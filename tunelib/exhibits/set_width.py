"""How wide words are in the typeface of pictures, for those that something follows on their line."""

from __future__ import annotations

from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

from tunelib.exhibits.typeface import as_set, families


@lru_cache(maxsize=2048)
def set_width(words: str, size: float, weight: str = "bold") -> float:
    """The width of one line of words in a size of type, in inches.

    >>> set_width("31 steps", 13) < set_width("31 steps", 16) < set_width("131 steps", 16)
    True
    """
    face = FontProperties(family=list(families()), weight=weight)
    return float(TextPath((0, 0), as_set(words), size=size, prop=face).get_extents().x1) / 72
