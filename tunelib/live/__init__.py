"""What runs in the reader's browser: the player and what plays on it."""

from tunelib.live.keys import Keys, harmonic_keys, keys
from tunelib.live.layouts import LAYOUTS
from tunelib.live.played import Played
from tunelib.live.program import MOVEMENTS_A_SECOND, program, tones
from tunelib.live.script import script

__all__ = ["LAYOUTS", "MOVEMENTS_A_SECOND", "Keys", "Played", "harmonic_keys", "keys", "program", "script", "tones"]
