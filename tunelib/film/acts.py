"""Acts: the exhibits of one clip, beside each other or one after another, and which of them is spoken of when."""

from __future__ import annotations

import contextlib
import math
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tunelib.exhibits import Exhibit, find_exhibit
from tunelib.film.pointing import Point, Pointing, checked_point
from tunelib.film.timeline import LAST_STAY, LONGEST_SECONDS, Keyframe, Timeline, started
from tunelib.pitch import is_number, look_up, shortened

TRANSITIONS = {"cut": 0.0, "cross-fade": 0.6, "morph": 1.0}
"""How one exhibit follows another, and how many seconds that takes."""


@dataclass(frozen=True)
class Act:
    """What one exhibit does in a clip.

    Parameters
    ----------
    exhibit : str
        Its name.
    keyframes : sequence of Keyframe
        In seconds of the whole clip. Beside another, an exhibit without any is not heard; one that comes later is
        heard as soon as it is there.
    title : str, optional
        In the picture in place of the exhibit's own; an empty one leaves it out.
    build : bool
        Whether its parts come on stage one after another, as its `builds` say, before the knobs first move.
    points : sequence of Point
        What is pointed at, in seconds of the whole clip.
    at : float
        For one that comes later: when it begins to.
    transition : str
        For one that comes later: ``"cut"``, ``"cross-fade"`` or ``"morph"``, in which parts that both exhibits have go
        from place to place while the rest of the one fades out and that of the other in.
    """

    exhibit: str
    keyframes: Sequence[Keyframe] = ()
    title: str | None = None
    build: bool = False
    points: Sequence[Point] = ()
    at: float = 0.0
    transition: str = "cross-fade"
    knobs: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Cue:
    """From `at` until another is spoken of, an exhibit, at these knobs; `act` is its number in the clip, from 0."""

    at: float
    until: float
    act: int
    exhibit: Exhibit
    values: dict[str, Any]


@dataclass(frozen=True)
class Entry:
    """An act that has been looked at: when it is on, its knobs over time, and what is pointed at."""

    act: Act
    timeline: Timeline
    begins: float
    ends: float
    transition: str
    points: tuple[Pointing, ...]

    @property
    def exhibit(self) -> Exhibit:
        """What is shown."""
        return self.timeline.exhibit

    @property
    def arrives(self) -> float:
        """When it is there entirely."""
        return self.begins + TRANSITIONS[self.transition]


class Programme:
    """All acts of a clip in time.

    Parameters
    ----------
    first : Act
        From the beginning, with one keyframe at least.
    beside : Act, optional
        Is seen beside the first.
    then : sequence of Act
        Each follows on what was there before, alone.
    seconds : float, optional
        The length of the whole; three seconds after the last keyframe or its hold, unless given.

    Raises ValueError, naming the act (but the first), for what `Timeline` and `Point` refuse, and for acts that come
    before those that they follow, or move when they have left.
    """

    def __init__(
        self, first: Act, beside: Act | None = None, then: Sequence[Act] = (), seconds: float | None = None
    ) -> None:
        acts = [first, *([beside] if beside else []), *then]
        self.beside = beside is not None
        self.names = ["", *(["beside: "] if beside else []), *(f"then {n}: " for n in range(1, len(then) + 1))]
        self._later = len(acts) - len(then)  # the number of the first act that comes later
        begins = [0.0] * self._later
        for number, act in enumerate(then, self._later):
            with _named(self.names[number]):
                begins.append(_after(act, begins[-1], seconds))
                acts[number] = replace(act, transition=find_transition(act.transition))
        spoken = [replace(act, keyframes=self._keyframes(act, number)) for number, act in enumerate(acts)]
        if seconds is None:
            natural = [self._line(act, number, None).seconds for number, act in enumerate(spoken)]
            seconds = min(max([*natural, *(act.at + LAST_STAY for act in then)]), LONGEST_SECONDS)
        lines = [self._line(act, number, seconds) for number, act in enumerate(spoken)]
        self.seconds = lines[0].seconds
        self.entries = []
        for number, (act, line) in enumerate(zip(acts, lines, strict=True)):
            with _named(self.names[number]):
                self.entries.append(self._entry(act, line, number, begins))
        self.cues = self._cues()
        self._starts = [cue.at for cue in self.cues]

    def _keyframes(self, act: Act, number: int) -> Sequence[Keyframe]:
        if act.keyframes or number == 0:
            return started(act.knobs, act.keyframes) if act.keyframes else ()
        return [Keyframe(act.at + TRANSITIONS[act.transition] if number >= self._later else 0.0, act.knobs)]

    def _line(self, act: Act, number: int, seconds: float | None) -> Timeline:
        with _named(self.names[number]):
            return Timeline(find_exhibit(act.exhibit), act.keyframes, seconds, act.build)

    def _entry(self, act: Act, line: Timeline, number: int, begins: Sequence[float]) -> Entry:
        follows = max(number + 1, self._later)
        ends = begins[follows] if follows < len(begins) else self.seconds
        transition = act.transition if number >= self._later else "cut"
        for which, stop in enumerate(line.stops, start=1):
            if stop.at < begins[number]:
                raise ValueError(
                    f"keyframe {which}: it comes at {stop.at:g} s, before the exhibit at {begins[number]:g} s"
                )
            if follows < len(begins) and stop.leaves > ends:
                raise ValueError(
                    f"keyframe {which} lasts until {stop.leaves:g} s, and the exhibit leaves at {ends:g} s"
                )
        points = []
        for which, point in enumerate(act.points, start=1):
            with _named(f"point {which}: "):
                points.append(checked_point(point, line.exhibit, begins[number], ends, follows < len(begins)))
        return Entry(act, line, begins[number], ends, transition, tuple(points))

    def _cues(self) -> list[Cue]:
        """Every keyframe of every act; of two at the same moment, that of the first."""
        found: dict[float, tuple[int, Timeline, dict[str, Any]]] = {}
        for number, entry in enumerate(self.entries):
            if number == 1 and self.beside and not entry.act.keyframes:
                continue
            for stop in entry.timeline.stops:
                found.setdefault(stop.at, (number, entry.timeline, stop.values))
        moments = sorted(found)
        leave = [(self.entries[found[at][0]].ends) for at in moments]
        ends = [min(after, left) for after, left in zip([*moments[1:], self.seconds], leave, strict=True)]
        return [
            Cue(at, end, found[at][0], found[at][1].exhibit, found[at][2])
            for at, end in zip(moments, ends, strict=True)
        ]

    def cue(self, seconds: float) -> Cue | None:
        """The last keyframe that has come, whichever act's; None before the first."""
        passed = bisect_right(self._starts, seconds)
        return self.cues[passed - 1] if passed else None

    def on(self, seconds: float) -> int:
        """The number of the act that is on, and in front: of two beside each other, the one that is spoken of."""
        on = max((n for n, entry in enumerate(self.entries) if n >= self._later and entry.begins <= seconds), default=0)
        cue = self.cue(seconds)
        return 1 if on == 0 and self.beside and cue is not None and cue.act == 1 else on

    def heard(self, seconds: float) -> tuple[Exhibit, dict[str, Any]]:
        """What a sound that follows the knobs is made of at a moment."""
        timeline = self.entries[self.on(seconds)].timeline
        return timeline.exhibit, timeline.values(seconds)


def find_transition(name: Any) -> str:
    """A transition by its full name; ValueError with the nearest for one that does not exist."""
    return look_up(name, {known: known for known in TRANSITIONS}, "transition")


def _after(act: Act, before: float, over: float | None) -> float:
    """When an act comes that follows on another."""
    if not is_number(act.at) or not math.isfinite(act.at):
        raise ValueError(f"at is a number of seconds, not {shortened(act.at)}")
    if act.at <= before:
        raise ValueError(f"it comes at {act.at:g} s, not after what it follows, which comes at {before:g} s")
    if over is not None and act.at >= over:
        raise ValueError(f"it comes at {act.at:g} s, and the clip is over at {over:g} s")
    return float(act.at)


@contextlib.contextmanager
def _named(name: str) -> Iterator[None]:
    """Put a name before the message of a ValueError."""
    try:
        yield
    except ValueError as error:
        raise ValueError(f"{name}{error}") from None
