"""What is played: sheets to play along with, a tune laid out for a band, comping. All of it as scores."""

from tunelib.arrange.chord_score import chord_score
from tunelib.arrange.count_in import count_in_beats
from tunelib.arrange.feels import FEELS, Feel, suitable_feel
from tunelib.arrange.play_along import HIGHEST_HARMONIC, MOST_PLAYERS, PAGES, Sheet, SheetRow, overtone_sheet
from tunelib.arrange.tune_score import COMMON, reference_hertz, tune_score
from tunelib.arrange.written_score import BASS, CHORDS, COMP, COUNT, MELODY, as_written, written_score

__all__ = [
    "BASS",
    "CHORDS",
    "COMMON",
    "COMP",
    "COUNT",
    "FEELS",
    "HIGHEST_HARMONIC",
    "MELODY",
    "MOST_PLAYERS",
    "PAGES",
    "Feel",
    "Sheet",
    "SheetRow",
    "as_written",
    "chord_score",
    "count_in_beats",
    "overtone_sheet",
    "reference_hertz",
    "suitable_feel",
    "tune_score",
    "written_score",
]
