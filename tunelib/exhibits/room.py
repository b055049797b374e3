"""How much room words take, for pictures that put them where there is some."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from matplotlib.font_manager import FontProperties
from matplotlib.text import Text
from matplotlib.textpath import TextPath

from tunelib.exhibits.typeface import as_set


def width_in_inches(text: Text, words: str) -> float:
    """How wide some words are, set as a text is."""
    return _width(text.get_fontproperties(), as_set(words))


@lru_cache(maxsize=4096)
def _width(font: FontProperties, words: str) -> float:
    if not words:
        return 0.0
    inked: Any = TextPath((0, 0), words, prop=font).get_extents()
    return float(inked.x1) / 72
