"""What runs in the reader's browser: the player and what plays on it."""

from tunelib.live.program import exhibit_program, program, tones
from tunelib.live.script import script
from tunelib.live.sounding import Sounding

__all__ = ["Sounding", "exhibit_program", "program", "script", "tones"]
