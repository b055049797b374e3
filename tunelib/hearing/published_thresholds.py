"""How small a difference of pitch listeners of others' experiments could hear."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tunelib.hearing.critical_bands import critical_bandwidth
from tunelib.pitch import cents, positive_hertz


@dataclass(frozen=True)
class PublishedThreshold:
    """What has been published on the smallest difference of pitch that is heard.

    Parameters
    ----------
    what : str
        Whose threshold for what, as a legend has it.
    brief : str
        The same in a word or three, where there is little room.
    low, high : float
        The values, equal where only one is given, in `unit`.
    unit : str
        ``"hertz"``, ``"percent"`` of the frequency, ``"cents"``, or ``"bands"``, shares of a critical bandwidth.
    lowest_hz, highest_hz : float
        For which frequencies it is given.
    source : str
        Where; and how the value came here, if not from the source itself.
    measured : bool
        Whether it was measured, or is a convention.
    """

    what: str
    brief: str
    low: float
    high: float
    unit: Literal["hertz", "percent", "cents", "bands"]
    lowest_hz: float
    highest_hz: float
    source: str
    measured: bool = True

    def cents(self, hertz: float) -> tuple[float, float] | None:
        """The least and the greatest value in cents at a frequency; None at frequencies for which it is not given.

        Raises ValueError for a frequency of zero or less.
        """
        at = float(positive_hertz(hertz))
        if not self.lowest_hz <= at <= self.highest_hz:
            return None
        if self.unit == "cents":
            return self.low, self.high
        one = {"hertz": 1.0, "percent": at / 100, "bands": critical_bandwidth(at)}[self.unit]
        return cents(1 + self.low * one / at), cents(1 + self.high * one / at)


_DEMONSTRATIONS = (
    "A. J. M. Houtsma, T. D. Rossing and W. M. Wagenaars, Auditory Demonstrations, Acoustical Society of America 1987, "
    "track 33"
)
_ZWICKER_FASTL = "E. Zwicker and H. Fastl, Psychoacoustics: Facts and Models, 2nd edition 1999; from memory"
_MICHEYL = (
    "C. Micheyl, K. Delhommeau, X. Perrot and A. J. Oxenham, 'Influence of musical and psychoacoustical training on "
    "pitch discrimination', Hearing Research 219, 2006"
)
_OPEN_UNIVERSITY = "The Open University, Hearing (OpenLearn), section 11.2"

PUBLISHED_THRESHOLDS: tuple[PublishedThreshold, ...] = (
    PublishedThreshold(
        "two tones, middle notes", "two tones, middle", 0.2, 0.2, "percent", 500, 2000, _OPEN_UNIVERSITY,
    ),
    PublishedThreshold("two tones, low notes", "two tones, low", 1, 3, "hertz", 100, 1000, _OPEN_UNIVERSITY),
    PublishedThreshold(
        "a thirtieth of a critical band", "1/30 critical band", 1 / 30, 1 / 30, "bands", 100, 10_000, _DEMONSTRATIONS,
    ),
    PublishedThreshold(
        "two sines one after the other", "two sines in turn", 0.2, 0.3, "percent", 1000, 1000,
        "B. C. J. Moore, An Introduction to the Psychology of Hearing; from memory",
    ),
    PublishedThreshold(
        "slow vibrato, low notes", "slow vibrato, low", 3.6, 3.6, "hertz", 50, 500, _ZWICKER_FASTL,
    ),
    PublishedThreshold(
        "slow vibrato, high notes", "slow vibrato, high",
        0.7, 0.7, "percent", 500, 10_000, _ZWICKER_FASTL,
    ),
    PublishedThreshold(
        "classical musicians", "classical musicians", 0.1, 0.2, "percent", 110, 1760,
        f"{_MICHEYL}; absolute values from memory, and taken to hold from 110 to 1760 Hz",
    ),
    PublishedThreshold(
        "people without training", "without training", 0.6, 1.2, "percent", 110, 1760,
        f"{_MICHEYL}: taken as six times the musicians' ('more than six times' there)",
    ),
    PublishedThreshold(
        "the size of a melodic third, amateurs", "thirds, amateurs", 10, 10, "cents", 200, 1000,
        "T. J. W. Hill and I. R. Summers, 'Discrimination of interval size in short tone sequences', J. Acoust. Soc. "
        "Am. 121, 2007; taken to hold from 200 to 1000 Hz",
    ),
    PublishedThreshold(
        "the rule of thumb of 5 cents", "rule of thumb", 5, 5, "cents", 20, 20_000,
        "common practice: a convention, not a measurement",
        measured=False,
    ),
)  # fmt: skip
"""Published thresholds, to be drawn beside a learner's own. Task, training and method differ, so they do too."""
