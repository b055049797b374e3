"""A timeline: the knobs of an exhibit moved along keyframes.

A keyframe says where the knobs are at a moment, and how long they stay there; between one and the next they move. A
number moves evenly or eased, along the logarithm on a logarithmic slider, and what is seen on the way is true. A slider
of whole numbers goes from stop to stop, and words and switches straight to what they will be: the picture glides there
from what was, and what it says changes on arrival.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from tunelib.exhibits import Exhibit, Slider
from tunelib.film.building import Building
from tunelib.pitch import in_figures, is_number, look_up, shortened

SHORTEST_SECONDS, LONGEST_SECONDS = 0.5, 1800.0
_MOMENTS = 100  # of a move, at which its knobs are asked whether they clash
GLIDE_SECONDS = 1.0  # that a picture takes at the most from one stop to the next
_QUICK, _QUICKEST = 0.5, 0.1  # seconds of a glide: in less, words do not fade; in still less, there is none
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
    build : int, optional
        How many groups of the exhibit's parts are on stage from then on; as before, unless given, and all at first.
    """

    at: float
    knobs: Mapping[str, Any] = field(default_factory=dict)
    hold: float = 0.0
    ease: str = "in and out"
    build: int | None = None


@dataclass(frozen=True)
class Moment:
    """All knobs at a moment, settled; and where the picture glides to `there`, how far it is on its `way`, 0 to 1.

    What is said and heard is what holds at `values`, until it arrives. A `quick` glide is too short for words to fade.
    """

    values: dict[str, Any]
    there: dict[str, Any] | None = None
    way: float = 0.0
    quick: bool = False


@dataclass(frozen=True)
class Stop:
    """A keyframe as it turned out: when it comes, when the move away from it begins, and all knobs there."""

    at: float
    leaves: float
    values: dict[str, Any]


def started(knobs: Mapping[str, Any], keyframes: Sequence[Keyframe]) -> list[Keyframe]:
    """Keyframes, the first with all knobs that are set before any of them moves one."""
    first, *others = keyframes
    return [replace(first, knobs={**knobs, **first.knobs}), *others]


class Timeline:
    """The knobs of an exhibit over time.

    Parameters
    ----------
    exhibit : Exhibit
    keyframes : sequence of Keyframe
        One or more, in order of time. Before the first, the knobs are as at the first.
    seconds : float, optional
        The length of the whole, 0.5 to 1800; three seconds after the last keyframe or its hold, unless given.
    build : bool
        Whether the exhibit's groups of parts come on stage evenly: before the first keyframe, or, if that is at the
        beginning, before the first move.

    Raises ValueError, naming the keyframe, for times that do not rise, a hold that runs into the next keyframe or past
    the end, for a knob, a value or an ease that does not exist, and for knobs that clash, there or on the way.
    """

    def __init__(
        self, exhibit: Exhibit, keyframes: Sequence[Keyframe], seconds: float | None = None, build: bool = False
    ) -> None:
        self.exhibit = exhibit
        if not keyframes:
            raise ValueError("a clip needs at least one keyframe")
        values: dict[str, Any] = exhibit.settle({})
        self.stops: list[Stop] = []
        self.eases: list[str] = []
        for number, keyframe in enumerate(keyframes, start=1):
            try:
                values = exhibit.settle(values | _by_full_name(exhibit, keyframe.knobs))
                at, leaves = _times(keyframe, self.stops[-1] if self.stops else None)
                self.eases.append(look_up(keyframe.ease, {ease: ease for ease in EASES}, "ease"))
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
        self._moves = [
            _Move(exhibit, *ends, EASES[ease]) for ends, ease in zip(pairwise(self.stops), self.eases[1:], strict=True)
        ]
        self._refuse_clashes()
        first = self.stops[0]
        moves = len(self.stops) > 1 or keyframes[0].hold > 0
        until = (first.at or (first.leaves if moves else self.seconds)) if build else None
        asked = [(stop.at, keyframe.build) for stop, keyframe in zip(self.stops, keyframes, strict=True)]
        self.building = Building(exhibit, asked, until)

    def moving(self, seconds: float) -> bool:
        """Whether the picture is on its way at a moment, or has not yet come to where it will be next."""
        return any(move.begins <= seconds < move.ends for move in self._moves)

    @property
    def departures(self) -> list[float]:
        """When the picture begins to move, each time."""
        return [move.begins for move in self._moves if move.begins < move.ends]

    def _refuse_clashes(self) -> None:
        """Stop if knobs that agree at two keyframes clash on the way from one to the other."""
        for number, (here, there) in enumerate(pairwise(self.stops), start=2):
            if here.values == there.values:
                continue
            for share in range(1, _MOMENTS):
                at = here.leaves + (there.at - here.leaves) * share / _MOMENTS
                moment = self.moment(at)
                for values in (moment.values, moment.there):
                    if values is not None and (why := self.exhibit.clash(**values)):
                        raise ValueError(
                            f"keyframe {number}: on the way to it, at {at:.3g} s, {why}; put another before it"
                        )

    def values(self, seconds: float) -> dict[str, Any]:
        """All knobs at a moment, settled; the same object for as long as nothing moves."""
        return self.moment(seconds).values

    def moment(self, seconds: float) -> Moment:
        """The knobs at a moment, and where the picture is on its way to."""
        after = bisect_right(self._starts, seconds)
        if after == 0:
            return Moment(self.stops[0].values)
        here = self.stops[after - 1]
        if after == len(self.stops) or seconds <= here.leaves or here.values == self.stops[after].values:
            return Moment(here.values)
        return self._moves[after - 1].at(seconds)


class _Move:
    """From one stop to the next.

    Sliders of whole numbers pass through their stops together, in as many stages as the longest way has; where a word
    or a switch changes as well, there is one stage.
    """

    def __init__(self, exhibit: Exhibit, here: Stop, there: Stop, ease: Callable[[float], float]) -> None:
        self._here, self._there, self._ease = here, there, ease
        changed = [knob for knob in exhibit.knobs if here.values[knob.name] != there.values[knob.name]]
        self._even = [knob for knob in changed if isinstance(knob, Slider) and not knob.whole]
        whole = [knob for knob in changed if isinstance(knob, Slider) and knob.whole]
        straight = len(self._even) + len(whole) < len(changed)
        ways = [abs(there.values[knob.name] - here.values[knob.name]) / knob.step for knob in whole]
        stages = 1 if straight else max(map(math.ceil, ways), default=0)
        between = [
            here.values | {knob.name: _stop_near(knob, here, there, stage / stages) for knob in whole}
            for stage in range(1, stages)
        ]
        last = there.values | {knob.name: here.values[knob.name] for knob in self._even}
        self._stages = [here.values, *between, *([last] if stages else [])]
        self._arrivals = [_moment_of(stage / stages, ease) for stage in range(1, stages + 1)]  # shares of the time
        self.ends = self._there.at
        self.begins = here.leaves if self._even else self.ends
        if stages and not self._even:
            first = here.leaves + self._arrivals[0] * (there.at - here.leaves)
            self.begins = max(here.leaves, first - GLIDE_SECONDS)

    def at(self, seconds: float) -> Moment:
        """The knobs at a moment of the move."""
        whole = self._there.at - self._here.leaves
        share = (seconds - self._here.leaves) / whole
        way = self._ease(share)
        passed = bisect_right(self._arrivals, share)
        moved = {
            knob.name: _between(knob, self._here.values[knob.name], self._there.values[knob.name], way)
            for knob in self._even
        }
        values = self._stages[passed] | moved if moved and way > 0 else self._stages[passed]
        if passed == len(self._arrivals):
            return Moment(values)
        arrives = self._arrivals[passed]
        begins = max(self._arrivals[passed - 1] if passed else 0.0, arrives - GLIDE_SECONDS / whole)
        lasts = (arrives - begins) * whole
        if share <= begins or lasts < _QUICKEST:
            return Moment(values)
        glided = self._ease((share - begins) / (arrives - begins))
        if glided <= 0:
            return Moment(values)
        return Moment(values, self._stages[passed + 1] | moved, glided, lasts < _QUICK)


def _moment_of(way: float, ease: Callable[[float], float]) -> float:
    """The share of its time at which a move has come a share of its way."""
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if ease(middle) >= way else (middle, high)
    return high


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


def _stop_near(knob: Slider, here: Stop, there: Stop, way: float) -> float:
    """The stop of a slider of whole numbers that is nearest to a place on its way."""
    value = here.values[knob.name] + way * (there.values[knob.name] - here.values[knob.name])
    return knob.check(round(knob.low + round((value - knob.low) / knob.step) * knob.step))


def _between(knob: Slider, here: float, there: float, way: float) -> float:
    """The value of an even slider part of the way from one value to another."""
    if way >= 1:
        return there
    return knob.check(here * (there / here) ** way if knob.logarithmic else here + way * (there - here))
