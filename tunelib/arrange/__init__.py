"""What is played: sheets to play along with, a tune laid out for a band, comping. All of it as scores."""

from tunelib.arrange.chord_score import chord_score
from tunelib.arrange.count_in import count_in_beats
from tunelib.arrange.feels import FEELS, Feel, find_feel, suitable_feel
from tunelib.arrange.hints import hint, hint_words
from tunelib.arrange.intended_score import intended_from
from tunelib.arrange.parts import (
    LEAD,
    LINE,
    PAD,
    SLASHES,
    VOICINGS,
    PartStaff,
    TunePart,
    leader_parts,
    part_names,
    part_slugs,
    tune_parts,
)
from tunelib.arrange.play_along import HIGHEST_HARMONIC, MOST_PLAYERS, PAGES, Sheet, SheetRow, overtone_sheet
from tunelib.arrange.tune_score import COMMON, reference_hertz, tune_score
from tunelib.arrange.tuning_card import (
    LEAST_CENTS,
    CardDegree,
    CardNote,
    TuningCard,
    chord_read_by,
    own_key,
    tuning_card,
)
from tunelib.arrange.way_score import way_score
from tunelib.arrange.written_score import BASS, CHORDS, COMP, COUNT, MELODY, as_written, written_score

__all__ = [
    "BASS",
    "CHORDS",
    "COMMON",
    "COMP",
    "COUNT",
    "FEELS",
    "HIGHEST_HARMONIC",
    "LEAD",
    "LEAST_CENTS",
    "LINE",
    "MELODY",
    "MOST_PLAYERS",
    "PAD",
    "PAGES",
    "SLASHES",
    "VOICINGS",
    "CardDegree",
    "CardNote",
    "Feel",
    "PartStaff",
    "Sheet",
    "SheetRow",
    "TunePart",
    "TuningCard",
    "as_written",
    "chord_read_by",
    "chord_score",
    "count_in_beats",
    "find_feel",
    "hint",
    "hint_words",
    "intended_from",
    "leader_parts",
    "overtone_sheet",
    "own_key",
    "part_names",
    "part_slugs",
    "reference_hertz",
    "suitable_feel",
    "tune_parts",
    "tune_score",
    "tuning_card",
    "way_score",
    "written_score",
]
