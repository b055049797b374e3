"""Blue notes: what was measured, what has been proposed, and which steps of a tuning that covers.

**Measured.** C. B. Cutting, "Microtonal analysis of 'blue notes' and the blues scale", *Empirical Musicology Review* 13
(1-2), 2018: the pitches sung in fifteen early blues performances, against the mean tonic of each, fall into clusters,
three of them "blue", whose means are below. (Values from its abstract, which was seen.) He reads them as 5:6:7:9: the
third is near 6/5 and the fifth near 7/5, but the seventh, one of three clusters there, is 20 cents above 9/5. The
abstract also says that a neutral third occurs.

**Proposed.** G. Kubik, *Africa and the Blues*, 1999, takes blue notes from harmonics: the seventh harmonic of the
tonic, and of the fourth, which is 7/6 above the tonic; the eleventh for the fifth. P. van der Merwe, *Origins of the
Popular Style*, 1989, page 119, has neutral intervals among what a blue note may be: 350 cents is halfway between the
two thirds of twelve. (Both seen quoted by others.) These are ideas about where blue notes come from, and no
measurements.

**Moved through.** J. T. Titon, *Early Downhome Blues*, 1977, found *complexes* in place of points in the songs that he
transcribed: on C, a third from E flat to E with two pitches between (seen quoted by others). Players slide. What is
called the zone of a blue note here runs from the lowest to the highest of all that is measured, proposed and written:
that is ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from tunelib.pitch.intervals import cents
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.tunings import Tuning

CUTTING = "C. B. Cutting, Empirical Musicology Review 13 (1-2), 2018"
KUBIK = "G. Kubik, Africa and the Blues, 1999"
VAN_DER_MERWE = "P. van der Merwe, Origins of the Popular Style, 1989"


@dataclass(frozen=True)
class Published:
    """A size that was published: its cents above the tonic, by whom, and as a ratio or in a word, if it is one."""

    cents: float
    source: str
    called: str

    @classmethod
    def of_ratio(cls, ratio: Fraction, source: str) -> Published:
        """A ratio that was published."""
        return cls(cents(ratio), source, str(ratio))


@dataclass(frozen=True)
class BlueNote:
    """A blue note of the blues.

    Parameters
    ----------
    name : str
    written : SpelledInterval
        As it is written, above the tonic.
    measured : Published
    proposed : tuple of Published
        The ratio of harmonics first.
    goal : SpelledInterval
        The note of the tonic chord above it, to which players bend it (common practice).

    >>> from tunelib.pitch.tunings import THIRTY_ONE, equal
    >>> third = BLUE_NOTES["third"]
    >>> third.measured.cents, third.steps(THIRTY_ONE), third.nearest(THIRTY_ONE), third.steps(equal(12))
    (319.1, (7, 8, 9), 8, (3,))
    """

    name: str
    written: SpelledInterval
    measured: Published
    proposed: tuple[Published, ...]
    goal: SpelledInterval

    def nearest(self, tuning: Tuning) -> int:
        """The step that the measured mean is nearest to."""
        return int(tuning.nearest(self.measured.cents)[0])

    def steps(self, tuning: Tuning) -> tuple[int, ...]:
        """Its zone: the steps from the lowest to the highest that is measured, proposed or written, each the nearest.

        Raises ValueError for a tuning whose notes have no letters.
        """
        published = [int(tuning.nearest(one.cents)[0]) for one in (self.measured, *self.proposed)]
        known = [*published, self.written.step(tuning)]
        return tuple(range(min(known), max(known) + 1))

    def above(self, proposal: Published) -> float:
        """How many cents the measured mean is above what is proposed."""
        return self.measured.cents - proposal.cents


def _interval(name: str) -> SpelledInterval:
    return SpelledInterval.parse(name)


BLUE_NOTES: Mapping[str, BlueNote] = {
    note.name: note
    for note in (
        BlueNote(
            "third",
            _interval("minor third"),
            Published(319.1, CUTTING, "mean of a cluster"),
            (Published.of_ratio(Fraction(7, 6), KUBIK), Published(350.0, VAN_DER_MERWE, "neutral")),
            _interval("major third"),
        ),
        BlueNote(
            "fifth",
            _interval("diminished fifth"),
            Published(582.8, CUTTING, "mean of a cluster"),
            (Published.of_ratio(Fraction(11, 8), KUBIK),),
            _interval("perfect fifth"),
        ),
        BlueNote(
            "seventh",
            _interval("minor seventh"),
            Published(1037.9, CUTTING, "mean of a cluster"),
            (Published.of_ratio(Fraction(7, 4), KUBIK),),
            _interval("octave"),
        ),
    )
}
"""The three by their names: third, fifth and seventh."""
