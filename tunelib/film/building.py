"""Building a picture up: the groups of an exhibit's parts come on stage one after another."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import Any

from tunelib.exhibits import Exhibit
from tunelib.pitch import shortened

FADE_SECONDS = 0.4  # in which a group comes on stage
STILL_SECONDS = 1.0  # for which the whole picture is seen before anything moves


class Building:
    """How many groups of an exhibit's `builds` are on stage, over time.

    Parameters
    ----------
    exhibit : Exhibit
    asked : sequence of (float, int or None)
        The moment of each keyframe, and how many groups it asks for; None where it asks for nothing.
    until : float or None
        When all groups are there, and have been for a second, if they are to come on stage evenly; the first is there
        from the beginning. None if only keyframes build.

    Raises ValueError, naming the keyframe, for numbers of groups that there are not; and where the time is too short.
    """

    def __init__(self, exhibit: Exhibit, asked: Sequence[tuple[float, Any]], until: float | None) -> None:
        groups = len(exhibit.builds)
        self._moments: list[float] = []
        self._counts: list[int | None] = [groups or None]
        for number, (at, count) in enumerate(asked, start=1):
            if count is None:
                continue
            try:
                _check(exhibit, count)
                if until is not None:
                    raise ValueError("build is asked for at keyframes, and for the whole shot as well: choose one")
            except ValueError as error:
                raise ValueError(f"keyframe {number}: {error}") from None
            if not self._moments and number == 1:
                self._counts = [count]
            elif count != self._counts[-1]:
                self._moments.append(at)
                self._counts.append(count)
        if until is not None:
            _check(exhibit, groups)
            least = STILL_SECONDS + FADE_SECONDS * groups
            if until < least:
                raise ValueError(
                    f"{exhibit.name} comes on stage in {groups} groups, which takes {least:.3g} s at least, and has "
                    f"{until:.3g} s before it moves or sounds: let the first keyframe come later, or hold it longer"
                )
            apart = (until - STILL_SECONDS - FADE_SECONDS) / max(groups - 1, 1)
            self._moments = [apart * group for group in range(1, groups)]
            self._counts = list(range(1, groups + 1))

    @property
    def changes(self) -> list[tuple[float, int | None]]:
        """How many groups are on stage from which moment on; None for all, of an exhibit that knows no groups."""
        return list(zip([0.0, *self._moments], self._counts, strict=True))

    def at(self, seconds: float) -> tuple[int | None, int | None, float]:
        """How many groups are on stage before a change and after it, and how much of it is seen, 0 to 1.

        None for all, of an exhibit that knows no groups.
        """
        passed = bisect_right(self._moments, seconds)
        now = self._counts[passed]
        if passed == 0 or seconds >= self._moments[passed - 1] + FADE_SECONDS:
            return now, now, 1.0
        return self._counts[passed - 1], now, (seconds - self._moments[passed - 1]) / FADE_SECONDS


def _check(exhibit: Exhibit, count: Any) -> None:
    groups = len(exhibit.builds)
    if not groups:
        raise ValueError(f"{exhibit.name} comes on stage all at once: it has no groups to build up")
    if isinstance(count, bool) or not isinstance(count, int) or not 0 <= count <= groups:
        raise ValueError(
            f"{exhibit.name} comes on stage in {groups} groups: build is from 0 to {groups}, not {shortened(count)}"
        )
