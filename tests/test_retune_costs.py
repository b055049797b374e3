"""Each cost of retuning decides something that can be heard: set to nothing, it changes the music of its check."""

from __future__ import annotations

import importlib
import time
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest

from tunelib.harmony.choices import NO_CHOICES, Choices
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.harmony.taste import Taste
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE

CANDIDATES, LAYOUTS, TONES, SEARCH = (
    importlib.import_module(f"tunelib.harmony.{name}")
    for name in ("candidates", "comping_layouts", "comping_tones", "best_path")
)
MODULES: tuple[ModuleType, ...] = (CANDIDATES, LAYOUTS, TONES, SEARCH)

# What is no cost: numbers that say which realisations there are, or how far something is.
LIMITS = {
    "CENTS_PER_OCTAVE",
    "_BEST",
    "_CLUSTER",
    "_EITHER_WAY",
    "_FEWEST",
    "_FIFTH",
    "_HALVED_AFTER",
    "_MINOR_NINTH",
    "_MOST_HALF_SHARPS",
    "_REMEMBERED",
    "_ROUNDS",
    "_SEMITONE",
    "_UNDER_MELODY",
    "_WHOLE_TONE",
    "_WIDEST_GAP_TO_BASS",
}


def tune(
    text: str, adventure: float, colour: float = 0.0, *, drift: bool = False, choices: Choices = NO_CHOICES
) -> RetunedTune:
    """A lead sheet retuned in thirty-one."""
    return retune(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure, colour, drift), choices)


def symbols(text: str, adventure: float, colour: float = 0.0) -> list[str]:
    """The symbols of its chords."""
    return [chord.chord.symbol for chord in tune(text, adventure, colour).chords]


def upper(text: str, place: int = 0, adventure: float = 0.0, voicing: str = "rootless") -> str:
    """The upper voices of one of its chords."""
    found = retune(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure, voicing=voicing))
    return " ".join(map(str, found.chords[place].notes[1:]))
