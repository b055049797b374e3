"""What runs in the reader's browser: the player and what plays on it."""

from tunelib.live.program import MOVEMENTS_A_SECOND, program, tones
from tunelib.live.script import script

__all__ = ["MOVEMENTS_A_SECOND", "program", "script", "tones"]
