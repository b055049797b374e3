"""What runs in the reader's browser: the player and what plays on it."""

from tunelib.live.chord_table import chord_table
from tunelib.live.given_take import GivenTake
from tunelib.live.keys import Keys, harmonic_keys, keys
from tunelib.live.layouts import LAYOUTS
from tunelib.live.needle import Attempt, Needle, needle
from tunelib.live.played import Played
from tunelib.live.program import exhibit_program, notes_at, program, tones
from tunelib.live.recorder import Recorder
from tunelib.live.script import GUARD, LIVE_STYLE, script
from tunelib.live.sounding import Sounding
from tunelib.live.tape import Tape, Taped

__all__ = [
    "GUARD",
    "LAYOUTS",
    "LIVE_STYLE",
    "Attempt",
    "GivenTake",
    "Keys",
    "Needle",
    "Played",
    "Recorder",
    "Sounding",
    "Tape",
    "Taped",
    "chord_table",
    "exhibit_program",
    "harmonic_keys",
    "keys",
    "needle",
    "notes_at",
    "program",
    "script",
    "tones",
]
