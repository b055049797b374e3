"""What is played: sheets to play along with, a tune laid out for a band, comping. All of it as scores."""

from tunelib.arrange.chord_score import chord_score
from tunelib.arrange.comping import bass_beats, struck
from tunelib.arrange.play_along import HIGHEST_HARMONIC, MOST_PLAYERS, PAGES, Sheet, SheetRow, overtone_sheet
from tunelib.arrange.tune_score import BASS, CHORDS, COMP, MELODY, as_written, tune_score

__all__ = [
    "BASS",
    "CHORDS",
    "COMP",
    "HIGHEST_HARMONIC",
    "MELODY",
    "MOST_PLAYERS",
    "PAGES",
    "Sheet",
    "SheetRow",
    "as_written",
    "bass_beats",
    "chord_score",
    "overtone_sheet",
    "struck",
    "tune_score",
]
