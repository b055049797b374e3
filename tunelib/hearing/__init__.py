"""What an ear or a computer makes of sound; arrays in, arrays out."""

from tunelib.hearing.beats import beat_rate, beating_partials
from tunelib.hearing.critical_bands import bark, critical_bandwidth, erb
from tunelib.hearing.heard_notes import track_notes
from tunelib.hearing.held_pitch import EXCELLENT_CENTS, USUAL_CENTS, Held, Slid, grade_hold, grade_slide
from tunelib.hearing.pitch_track import PitchTrack, track_pitch
from tunelib.hearing.recording import Progress, Recording
from tunelib.hearing.report import Report
from tunelib.hearing.roughness import dissonance_curve, dissonance_plane, minima, roughness
from tunelib.hearing.take import Take, hear, hear_recording, listen
from tunelib.hearing.targets import Targets, parse_targets
from tunelib.hearing.thresholds import PUBLISHED_THRESHOLDS, TARGET, Staircase, Trial

__all__ = [
    "EXCELLENT_CENTS",
    "PUBLISHED_THRESHOLDS",
    "TARGET",
    "USUAL_CENTS",
    "Held",
    "PitchTrack",
    "Progress",
    "Recording",
    "Report",
    "Slid",
    "Staircase",
    "Take",
    "Targets",
    "Trial",
    "bark",
    "beat_rate",
    "beating_partials",
    "critical_bandwidth",
    "dissonance_curve",
    "dissonance_plane",
    "erb",
    "grade_hold",
    "grade_slide",
    "hear",
    "hear_recording",
    "listen",
    "minima",
    "parse_targets",
    "roughness",
    "track_notes",
    "track_pitch",
]
