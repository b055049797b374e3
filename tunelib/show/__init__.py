"""The ways to show an exhibit: live in a notebook (`panel`), as a picture (`still`), or on paper (`page`)."""

from tunelib.show.page import page
from tunelib.show.panel import panel
from tunelib.show.stage import SIZES
from tunelib.show.still import still

__all__ = ["SIZES", "page", "panel", "still"]
