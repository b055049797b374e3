"""The ways to show an exhibit: live in a notebook (`panel`), or as a file (`still`)."""

from tunelib.show.panel import panel
from tunelib.show.stage import SIZES
from tunelib.show.still import still

__all__ = ["SIZES", "panel", "still"]
