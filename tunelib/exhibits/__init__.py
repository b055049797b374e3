"""Everything that can be shown, by name."""

from tunelib.exhibits.bargain import TheTrade
from tunelib.exhibits.beating_third import BeatingThird
from tunelib.exhibits.blue_notes import BlueNotes
from tunelib.exhibits.catalogue import EXHIBITS, find_exhibit
from tunelib.exhibits.chord_scale import ScaleOverChord
from tunelib.exhibits.closing import ClosingTheCircle
from tunelib.exhibits.dividing import RULE_OF_THUMB, FinerSteps
from tunelib.exhibits.ear_curves import EarCurves
from tunelib.exhibits.ear_weeks_drawn import MOST_STEPS, EarCurve, EarWeeks
from tunelib.exhibits.equal_parts import Unclosed, turned_chord
from tunelib.exhibits.equal_steps import EqualSteps
from tunelib.exhibits.exhibit import SILENT, Choice, Exhibit, Knob, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.familiar import PLAYERS, FamiliarNotes
from tunelib.exhibits.families import STANDS_FOR, IntervalFamilies
from tunelib.exhibits.five_thirds import FiveThirds
from tunelib.exhibits.fretboard import Fretboard
from tunelib.exhibits.going_round import GoingRound
from tunelib.exhibits.growing_chord import GrowingChord
from tunelib.exhibits.guide_tones import GuideTones
from tunelib.exhibits.intonation import Intonation
from tunelib.exhibits.keyboard import KeyGridBoard
from tunelib.exhibits.look import (
    HEADING,
    LONG_SIDE,
    MARGIN,
    SHORT_SIDE,
    THEMES,
    Look,
    Theme,
    Words,
    find_theme,
)
from tunelib.exhibits.measuring import CentsRuler
from tunelib.exhibits.other_sevenths import OtherSevenths
from tunelib.exhibits.overtones import HarmonicLadder
from tunelib.exhibits.overtones_and_steps import OvertonesAndSteps
from tunelib.exhibits.own_take import OwnTake
from tunelib.exhibits.passing_through import WaysBetween
from tunelib.exhibits.reading_staff import MOST_NOTES, NotesToRead, place_in_words, sign_in_words
from tunelib.exhibits.recipe import Recipe
from tunelib.exhibits.retuned import RetunedChords
from tunelib.exhibits.scored import AllDivisions
from tunelib.exhibits.series_sheet import SeriesSheet
from tunelib.exhibits.shared_peaks import SharedPeaks
from tunelib.exhibits.singing import SungOvertones
from tunelib.exhibits.small_difference import SmallDifference
from tunelib.exhibits.smallest_moves import SmallestMoves
from tunelib.exhibits.stacked_fourths import StackedFourths
from tunelib.exhibits.tempering import Tempering
from tunelib.exhibits.thirty_one import RingOf31
from tunelib.exhibits.trombone import TromboneSlide
from tunelib.exhibits.tuned_blues import TunedBluesChorus
from tunelib.exhibits.two_sevenths import TwoSevenths
from tunelib.exhibits.two_ways_up import FourFifths
from tunelib.exhibits.typeface import families, sign_outlines
from tunelib.exhibits.unclosed import UnclosedChords
from tunelib.exhibits.voicing import SpreadChord
from tunelib.exhibits.waves import Beats, Wave
from tunelib.exhibits.wolf import TheGap
from tunelib.exhibits.written import WrittenNotes

__all__ = [
    "EXHIBITS",
    "HEADING",
    "LONG_SIDE",
    "MARGIN",
    "MOST_NOTES",
    "MOST_STEPS",
    "PLAYERS",
    "RULE_OF_THUMB",
    "SHORT_SIDE",
    "SILENT",
    "STANDS_FOR",
    "THEMES",
    "AllDivisions",
    "BeatingThird",
    "Beats",
    "BlueNotes",
    "CentsRuler",
    "Choice",
    "ClosingTheCircle",
    "EarCurve",
    "EarCurves",
    "EarWeeks",
    "EqualSteps",
    "Exhibit",
    "FamiliarNotes",
    "FinerSteps",
    "FiveThirds",
    "FourFifths",
    "Fretboard",
    "GoingRound",
    "GrowingChord",
    "GuideTones",
    "HarmonicLadder",
    "IntervalFamilies",
    "Intonation",
    "KeyGridBoard",
    "Knob",
    "Look",
    "NotesToRead",
    "OtherSevenths",
    "OvertonesAndSteps",
    "OwnTake",
    "Playing",
    "Recipe",
    "RetunedChords",
    "RingOf31",
    "ScaleOverChord",
    "Scene",
    "SeriesSheet",
    "SharedPeaks",
    "Slider",
    "SmallDifference",
    "SmallestMoves",
    "SpreadChord",
    "StackedFourths",
    "SungOvertones",
    "Switch",
    "Tempering",
    "TheGap",
    "TheTrade",
    "Theme",
    "TromboneSlide",
    "TunedBluesChorus",
    "TwoSevenths",
    "Unclosed",
    "UnclosedChords",
    "Voicing",
    "Wave",
    "WaysBetween",
    "Words",
    "WrittenNotes",
    "families",
    "find_exhibit",
    "find_theme",
    "place_in_words",
    "sign_in_words",
    "sign_outlines",
    "turned_chord",
]
