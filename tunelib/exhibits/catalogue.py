"""The catalogue of everything that can be shown, by name, in the order of the course."""

from __future__ import annotations

from tunelib.exhibits.bargain import TheTrade
from tunelib.exhibits.beating_third import BeatingThird
from tunelib.exhibits.blue_notes import BlueNotes
from tunelib.exhibits.chord_scale import ScaleOverChord
from tunelib.exhibits.closing import ClosingTheCircle
from tunelib.exhibits.dividing import FinerSteps
from tunelib.exhibits.equal_steps import EqualSteps
from tunelib.exhibits.exhibit import Exhibit
from tunelib.exhibits.familiar import FamiliarNotes
from tunelib.exhibits.families import IntervalFamilies
from tunelib.exhibits.five_thirds import FiveThirds
from tunelib.exhibits.fretboard import Fretboard
from tunelib.exhibits.going_round import GoingRound
from tunelib.exhibits.growing_chord import GrowingChord
from tunelib.exhibits.guide_tones import GuideTones
from tunelib.exhibits.intonation import Intonation
from tunelib.exhibits.keyboard import KeyGridBoard
from tunelib.exhibits.measuring import CentsRuler
from tunelib.exhibits.other_sevenths import OtherSevenths
from tunelib.exhibits.overtones import HarmonicLadder
from tunelib.exhibits.overtones_and_steps import OvertonesAndSteps
from tunelib.exhibits.passing_through import WaysBetween
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
from tunelib.exhibits.unclosed import UnclosedChords
from tunelib.exhibits.voicing import SpreadChord
from tunelib.exhibits.waves import Beats, Wave
from tunelib.exhibits.wolf import TheGap
from tunelib.exhibits.written import WrittenNotes
from tunelib.pitch import look_up

EXHIBITS: dict[str, Exhibit] = {
    exhibit.name: exhibit
    for exhibit in (
        Wave(),
        Beats(),
        SharedPeaks(),
        HarmonicLadder(),
        Recipe(),
        SungOvertones(),
        SeriesSheet(),
        CentsRuler(),
        SmallDifference(),
        Intonation(),
        EqualSteps(),
        OvertonesAndSteps(),
        BeatingThird(),
        FinerSteps(),
        AllDivisions(),
        TheTrade(),
        FourFifths(),
        Tempering(),
        TheGap(),
        ClosingTheCircle(),
        RingOf31(),
        WrittenNotes(),
        IntervalFamilies(),
        BlueNotes(),
        Fretboard(),
        TromboneSlide(),
        KeyGridBoard(),
        FamiliarNotes(),
        FiveThirds(),
        TwoSevenths(),
        OtherSevenths(),
        GrowingChord(),
        ScaleOverChord(),
        SpreadChord(),
        StackedFourths(),
        SmallestMoves(),
        GuideTones(),
        WaysBetween(),
        GoingRound(),
        UnclosedChords(),
        RetunedChords(),
        TunedBluesChorus(),
    )
}


def find_exhibit(name: str) -> Exhibit:
    """The exhibit of a name. Raises ValueError with the nearest name for one that does not exist."""
    return look_up(name, EXHIBITS, "exhibit")
