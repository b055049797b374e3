"""A timeline: the knobs of an exhibit moved along keyframes.

A keyframe says where the knobs are at a moment, and how long they stay there; between one and the next they move.
A number moves evenly or eased, along the logarithm on a logarithmic slider, and a slider of whole numbers steps through
its stops. Words in a row are stepped through in their order; other words, and switches, change when the keyframe comes.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from tunelib.exhibits import Choice, Exhibit, Knob, Slider
from tunelib.pitch import in_figures, is_number, look_up, shortened

SHORTEST_SECONDS, LONGEST_SECONDS = 0.5, 1800.0
_MOMENTS = 100  # of a move, at which its knobs are asked whether they clash
LAST_STAY = 3.0  # seconds that a clip stays at its last keyframe, if nothing else is said

EASES: dict[str, Callable[[float], float]] = {
    "in and out": lambda way: way * way * (3 - 2 * way),
    "in": lambda way: way * way,
    "out": lambda way: way * (2 - way),
    "steady": lambda way: way,
    "jump": math.floor,
}
"""How a move goes, by name: from the share of its time that has passed, 0 to 1, to the share of the way."""


@dataclass(frozen=True)
class Keyframe:
    """Where knobs are at a moment.

    Parameters
    ----------
    at : float
        In seconds from the beginning.
    knobs : mapping from knob names to values
        Knobs not named stay as at the keyframe before, or at their defaults.
    hold : float
        Seconds for which the knobs stay there before the next move begins.
    ease : str
        How the knobs move towards this keyframe: ``"in and out"`` (starting and stopping gently), ``"in"``, ``"out"``,
        ``"steady"``, or ``"jump"`` (not until the moment itself).
    """

    at: float
    knobs: Mapping[str, Any] = field(default_factory=dict)
    hold: float = 0.0
    ease: str = "in and out"


@dataclass(frozen=True)
class Stop:
    """A keyframe as it turned out: when it comes, when the move away from it begins, and all knobs there."""

    at: float
    leaves: float
    values: dict[str, Any]


class Timeline:
    """The knobs of an exhibit over time.

    Parameters
    ----------
    exhibit : Exhibit
    keyframes : sequence of Keyframe
        One or more, in order of time. Before the first, the knobs are as at the first.
    seconds : float, optional
        The length of the whole, 0.5 to 1800; three seconds after the last keyframe or its hold, unless given.

    Raises ValueError, naming the keyframe, for times that do not rise, a hold that runs into the next keyframe or past
    the end, for a knob, a value or an ease that does not exist, and for knobs that clash, there or on the way.
    """

    def __init__(self, exhibit: Exhibit, keyframes: Sequence[Keyframe], seconds: float | None = None) -> None:
        self.exhibit = exhibit
        if not keyframes:
            raise ValueError("a clip needs at least one keyframe")
        values: dict[str, Any] = exhibit.settle({})
        self.stops: list[Stop] = []
        self._eases: list[Callable[[float], float]] = []
        for number, keyframe in enumerate(keyframes, start=1):
            try:
                values = exhibit.settle(values | _by_full_name(exhibit, keyframe.knobs))
                at, leaves = _times(keyframe, self.stops[-1] if self.stops else None)
                self._eases.append(look_up(keyframe.ease, EASES, "ease"))
            except ValueError as error:
                raise ValueError(f"keyframe {number}: {error}") from None
            self.stops.append(Stop(at, leaves, values))
        last = self.stops[-1]
        self.seconds = last.leaves + LAST_STAY if seconds is None else float(seconds)
        if not SHORTEST_SECONDS <= self.seconds <= LONGEST_SECONDS:
            raise ValueError(
                f"a clip lasts from {SHORTEST_SECONDS:g} to {LONGEST_SECONDS:g} seconds, not {self.seconds:g}"
            )
        if last.leaves > self.seconds:
            raise ValueError(
                f"keyframe {len(self.stops)} lasts until {last.leaves:g} s, and the clip only {self.seconds:g} s"
            )
        self._starts = [stop.at for stop in self.stops]
        self._refuse_clashes()

    def _refuse_clashes(self) -> None:
        """Stop if knobs that agree at two keyframes clash on the way from one to the other."""
        for number, (here, there) in enumerate(pairwise(self.stops), start=2):
            if here.values == there.values:
                continue
            for moment in range(1, _MOMENTS):
                at = here.leaves + (there.at - here.leaves) * moment / _MOMENTS
                if why := self.exhibit.clash(**self.values(at)):
                    raise ValueError(
                        f"keyframe {number}: on the way to it, at {at:.3g} s, {why}; put another before it"
                    )

    def values(self, seconds: float) -> dict[str, Any]:
        """All knobs at a moment, settled; the same object for as long as nothing moves."""
        after = bisect_right(self._starts, seconds)
        if after == 0:
            return self.stops[0].values
        here = self.stops[after - 1]
        if after == len(self.stops) or seconds <= here.leaves:
            return here.values
        there = self.stops[after]
        way = self._eases[after]((seconds - here.leaves) / (there.at - here.leaves))
        if way <= 0 or here.values == there.values:
            return here.values
        return {
            knob.name: _between(knob, here.values[knob.name], there.values[knob.name], way)
            for knob in self.exhibit.knobs
        }


def _by_full_name(exhibit: Exhibit, knobs: Mapping[str, Any]) -> dict[str, Any]:
    known = {knob.name: knob for knob in exhibit.knobs}
    return {name if name in known else look_up(name, known, "knob").name: value for name, value in knobs.items()}


def _times(keyframe: Keyframe, before: Stop | None) -> tuple[float, float]:
    for what, seconds in (("at", keyframe.at), ("hold", keyframe.hold)):
        if not is_number(seconds):
            raise ValueError(f"{what} is a number of seconds, not {shortened(seconds)}")
        if not 0 <= seconds <= LONGEST_SECONDS:
            most = f", and {LONGEST_SECONDS:g} at most" if seconds > 0 else " or more"
            raise ValueError(f"{what} is 0 seconds{most}, not {in_figures(seconds)}")
    if before is not None and keyframe.at <= before.at:
        raise ValueError(f"it comes at {keyframe.at:g} s, not after the one before, which comes at {before.at:g} s")
    if before is not None and keyframe.at < before.leaves:
        raise ValueError(f"it comes at {keyframe.at:g} s, while the one before is held until {before.leaves:g} s")
    return float(keyframe.at), float(keyframe.at + keyframe.hold)


def _between(knob: Knob, here: Any, there: Any, way: float) -> Any:
    """The value of a knob part of the way from one value to another."""
    if here == there or way >= 1:
        return there
    if isinstance(knob, Choice) and knob.ordered:
        first, last = knob.options.index(here), knob.options.index(there)
        return knob.options[round(first + way * (last - first))]
    if not isinstance(knob, Slider):
        return here
    if knob.logarithmic:
        return knob.check(here * (there / here) ** way)
    value = here + way * (there - here)
    if knob.whole:
        return knob.check(round(knob.low + round((value - knob.low) / knob.step) * knob.step))
    return knob.check(value)
