"""tunelib: a library for teaching tuning, from a wave to harmony in thirty-one equal steps.

What is here needs numpy alone: exact pitch, notes and tunings. The rest is imported by its own name:
`tunelib.score`, `tunelib.sound`, `tunelib.export`, `tunelib.show` (panels and stills) and `tunelib.practice`.
"""

from tunelib.pitch.divisions import (
    consistency,
    division_report,
    errors,
    frontier,
    harmonic_intervals,
    largest_error,
    mapped_steps,
    odd_limit_intervals,
    prime_limit_intervals,
    prime_mapping,
    rms_error,
    trade,
    vanishes,
    vanishing_commas,
)
from tunelib.pitch.harmonics import harmonic_deviations, harmonic_series
from tunelib.pitch.instruments import INSTRUMENTS, Instrument, instrument
from tunelib.pitch.intervals import (
    Interval,
    cents,
    octave_reduce,
    odd_limit,
    parse_ratio,
    prime_factors,
    prime_limit,
    ratio_from_cents,
)
from tunelib.pitch.named import NAMED, NamedInterval, name_of, named_interval, nearest_named
from tunelib.pitch.notes import Note, hz_from_midi, midi_from_hz, nearest_note, spell
from tunelib.pitch.tunings import Tuning, equal, just

__version__ = "0.1.0"

__all__ = [
    "INSTRUMENTS",
    "NAMED",
    "Instrument",
    "Interval",
    "NamedInterval",
    "Note",
    "Tuning",
    "cents",
    "consistency",
    "division_report",
    "equal",
    "errors",
    "frontier",
    "harmonic_deviations",
    "harmonic_intervals",
    "harmonic_series",
    "hz_from_midi",
    "instrument",
    "just",
    "largest_error",
    "mapped_steps",
    "midi_from_hz",
    "name_of",
    "named_interval",
    "nearest_named",
    "nearest_note",
    "octave_reduce",
    "odd_limit",
    "odd_limit_intervals",
    "parse_ratio",
    "prime_factors",
    "prime_limit",
    "prime_limit_intervals",
    "prime_mapping",
    "ratio_from_cents",
    "rms_error",
    "spell",
    "trade",
    "vanishes",
    "vanishing_commas",
]
