"""Everything that can be shown, by name."""

from tunelib.exhibits.dividing import AllDivisions, FinerSteps, TheTrade
from tunelib.exhibits.exhibit import Exhibit
from tunelib.exhibits.intonation import Intonation
from tunelib.exhibits.measuring import CentsRuler, SmallDifference
from tunelib.exhibits.overtones import HarmonicLadder, Recipe
from tunelib.exhibits.sheet import SeriesSheet
from tunelib.exhibits.singing import SungOvertones
from tunelib.exhibits.twelve import BeatingThird, EqualSteps, OvertonesAndSteps
from tunelib.exhibits.waves import Beats, SharedPeaks, Wave
from tunelib.pitch.lookup import look_up

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
    )
}


def find_exhibit(name: str) -> Exhibit:
    """The exhibit of a name. Raises ValueError with the nearest name for one that does not exist."""
    return look_up(name, EXHIBITS, "exhibit")
