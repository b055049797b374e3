"""tunelib: a library for teaching tuning, from a wave to harmony in thirty-one equal steps.

What is here needs numpy alone: exact pitch, notes and tunings. The rest is imported by its own name:
`tunelib.harmony` (chords, voicings, lead sheets, retuning), `tunelib.score`, `tunelib.sound`, `tunelib.export`,
`tunelib.show` (panels, stills and printed pages) and `tunelib.practice`.
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
from tunelib.pitch.meantone import (
    Chain,
    closings,
    home_fraction,
    meantone,
    meantone_chain,
    miss_after,
    tempered_fifth,
)
from tunelib.pitch.named import NAMED, NamedInterval, name_of, named_interval, nearest_named
from tunelib.pitch.notes import Note, hz_from_midi, midi_from_hz, nearest_note, spell, spell_on_chain, spellings
from tunelib.pitch.spelled import SpelledInterval, interval_names
from tunelib.pitch.spelling import Key, simplest_tonic, spell_chord, spell_in_key
from tunelib.pitch.temperaments import MEANTONES, WELL_TEMPERAMENTS, temperament, well
from tunelib.pitch.tunings import Tuning, equal, just

__version__ = "0.1.0"

__all__ = [
    "INSTRUMENTS",
    "MEANTONES",
    "NAMED",
    "WELL_TEMPERAMENTS",
    "Chain",
    "Instrument",
    "Interval",
    "Key",
    "NamedInterval",
    "Note",
    "SpelledInterval",
    "Tuning",
    "cents",
    "closings",
    "consistency",
    "division_report",
    "equal",
    "errors",
    "frontier",
    "harmonic_deviations",
    "harmonic_intervals",
    "harmonic_series",
    "home_fraction",
    "hz_from_midi",
    "instrument",
    "interval_names",
    "just",
    "largest_error",
    "mapped_steps",
    "meantone",
    "meantone_chain",
    "midi_from_hz",
    "miss_after",
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
    "simplest_tonic",
    "spell",
    "spell_chord",
    "spell_in_key",
    "spell_on_chain",
    "spellings",
    "temperament",
    "tempered_fifth",
    "trade",
    "vanishes",
    "vanishing_commas",
    "well",
]
