"""What an ear or a computer makes of sound; arrays in, arrays out."""

from tunelib.hearing.alignment import Alignment, Playing, align
from tunelib.hearing.attacks import Attacks, attacks_of
from tunelib.hearing.bayes_threshold import BayesRule, BayesThreshold, Believed, believed
from tunelib.hearing.beats import beat_rate, beating_partials
from tunelib.hearing.common_offset import Offset, common_offset
from tunelib.hearing.critical_bands import bark, critical_bandwidth, erb
from tunelib.hearing.followed import follow_recording
from tunelib.hearing.heard_notes import track_notes
from tunelib.hearing.held_pitch import EXCELLENT_CENTS, USUAL_CENTS, Held, Slid, grade_hold, grade_slide
from tunelib.hearing.intended import Intended, IntendedNote
from tunelib.hearing.pitch_track import PitchTrack, track_pitch
from tunelib.hearing.published_thresholds import PUBLISHED_THRESHOLDS
from tunelib.hearing.recording import Progress, Recording
from tunelib.hearing.report import FURTHEST, LONG_TAKE, LeftOut, Report, TakenNote
from tunelib.hearing.roughness import dissonance_curve, dissonance_plane, minima, roughness
from tunelib.hearing.take import Take, hear, hear_recording, listen
from tunelib.hearing.targets import Targets, parse_targets
from tunelib.hearing.thresholds import TARGET, HearingTest, Staircase, Trial

__all__ = [
    "EXCELLENT_CENTS",
    "FURTHEST",
    "LONG_TAKE",
    "PUBLISHED_THRESHOLDS",
    "TARGET",
    "USUAL_CENTS",
    "Alignment",
    "Attacks",
    "BayesRule",
    "BayesThreshold",
    "Believed",
    "HearingTest",
    "Held",
    "Intended",
    "IntendedNote",
    "LeftOut",
    "Offset",
    "PitchTrack",
    "Playing",
    "Progress",
    "Recording",
    "Report",
    "Slid",
    "Staircase",
    "Take",
    "TakenNote",
    "Targets",
    "Trial",
    "align",
    "attacks_of",
    "bark",
    "beat_rate",
    "beating_partials",
    "believed",
    "common_offset",
    "critical_bandwidth",
    "dissonance_curve",
    "dissonance_plane",
    "erb",
    "follow_recording",
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
