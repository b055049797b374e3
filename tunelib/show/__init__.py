"""The ways to show an exhibit: live in a notebook (`panel`), as a picture (`still`), on film (`clip`), or on paper
(`page`)."""

from tunelib.show.clip import clip
from tunelib.show.index import index, write_index
from tunelib.show.page import page
from tunelib.show.panel import panel
from tunelib.show.stage import SIZES
from tunelib.show.still import still
from tunelib.show.timeline import Keyframe

__all__ = ["SIZES", "Keyframe", "clip", "index", "page", "panel", "still", "write_index"]
