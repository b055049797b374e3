"""Reading what one exhibit does in a shot: its knobs, its keyframes, and what is pointed at."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from tunelib.exhibits import Exhibit, find_exhibit
from tunelib.film.acts import find_transition
from tunelib.film.mistakes import Tables
from tunelib.film.pointing import Point, check_part, check_ways, check_words
from tunelib.film.shot_values import KEYFRAME_KEYS, POINT_KEYS, a_number, some_text, yes_or_no
from tunelib.film.timeline import Keyframe, Timeline
from tunelib.film.toml_lines import Place


@dataclass(frozen=True)
class ReadAct:
    """One exhibit of a shot as far as it could be read, and where it is; `in_order` if its keyframes are."""

    place: Place
    exhibit: Exhibit | None
    title: str | None
    knobs: Mapping[str, Any]
    keyframes: tuple[Keyframe, ...]
    in_order: bool
    build: bool
    points: tuple[Point, ...]
    at: float = 0.0
    transition: str = "cross-fade"


class ActReader(Tables):
    """Reads tables that say what an exhibit does."""

    def act(self, table: dict[str, Any], place: Place, what: str) -> ReadAct:
        """What a table says of an exhibit, each part looked at by itself."""
        if "exhibit" not in table:
            self.wrong(place, f'{what} has no exhibit; add a line such as exhibit = "beats"')
        exhibit = self.checked(table, place, "exhibit", lambda value: find_exhibit(some_text(value)))
        title = self.checked(table, place, "title", some_text)
        knobs = self._knobs(table, place, exhibit)
        keyframes = [self._keyframe(inner, there, exhibit) for inner, there in self.tables(table, place, "keyframe")]
        in_order = self._ordered(keyframes, place, exhibit)
        build = bool(self.checked(table, place, "build", yes_or_no))
        points = [self._point(inner, there, exhibit) for inner, there in self.tables(table, place, "point")]
        good = tuple(point for point in points if point is not None)
        return ReadAct(place, exhibit, title, knobs, tuple(keyframes), in_order, build, good)

    def following(self, table: dict[str, Any], place: Place) -> ReadAct:
        """The same of an exhibit that follows another."""
        if "at" not in table:
            self.wrong(place, "this exhibit does not say when it comes; add a line such as at = 12")
        act = self.act(table, place, "what follows")
        at = self.checked(table, place, "at", a_number)
        transition = self.checked(table, place, "transition", lambda value: find_transition(some_text(value)))
        in_order = act.in_order and at is not None and (transition is not None or "transition" not in table)
        return replace(act, at=at or 0.0, transition=transition or act.transition, in_order=in_order)

    def _keyframe(self, table: dict[str, Any], place: Place, exhibit: Exhibit | None) -> Keyframe:
        """A keyframe, each part looked at by itself; `at` is not a number where it is missing or wrong."""
        self.keys(table, place, KEYFRAME_KEYS, "a keyframe")
        if "at" not in table:
            self.wrong(place, "this keyframe does not say when it comes; add a line such as at = 2.5")
        parts: dict[str, Any] = {"at": math.nan, "knobs": self._knobs(table, place, exhibit)}
        for key in ("at", "hold", "ease", "build"):
            if key not in table:
                continue
            try:
                Timeline(exhibit or find_exhibit("wave"), [Keyframe(**({"at": 0.0} | {key: table[key]}))])
                parts[key] = table[key]
            except ValueError as error:
                self.wrong((*place, key), _without_number(error))
        return Keyframe(**parts)

    def _ordered(self, keyframes: Sequence[Keyframe], place: Place, exhibit: Exhibit | None) -> bool:
        """Whether each keyframe says when it comes, after the one before."""
        begun = len(self.mistakes)
        for number, (one, other) in enumerate(pairwise(keyframes), start=1):
            there: Place = (*place, "keyframe", number)
            if math.isnan(one.at) or math.isnan(other.at):
                continue
            try:
                Timeline(exhibit or find_exhibit("wave"), [Keyframe(one.at, {}, one.hold), Keyframe(other.at)])
            except ValueError as error:
                self.wrong((*there, "at"), f"keyframe {number + 1}: {_without_number(error)}")
        return len(self.mistakes) == begun and not any(math.isnan(keyframe.at) for keyframe in keyframes)

    def _knobs(self, table: dict[str, Any], place: Place, exhibit: Exhibit | None) -> dict[str, Any]:
        knobs = self.table(table, place, "knobs")
        if exhibit is None:
            return {}
        good: dict[str, Any] = {}
        for name, value in knobs.items():
            try:
                [(full, checked)] = exhibit.checked({name: value}).items()
            except ValueError as error:
                self.wrong((*place, "knobs", name), error)
            else:
                if full in good:
                    self.wrong((*place, "knobs", name), f"the knob {full} is set twice")
                good[full] = checked
        return good

    def _point(self, table: dict[str, Any], place: Place, exhibit: Exhibit | None) -> Point | None:
        """What is pointed at, each part looked at by itself."""
        begun = len(self.mistakes)
        self.keys(table, place, POINT_KEYS, "a point")
        for key, example in (("at", "at = 2.5"), ("part", 'part = "gap"')):
            if key not in table:
                self.wrong(place, f"this point has no {key}; add a line such as {example}")
        parts = {key: self.checked(table, place, key, a_number) for key in ("at", "until")}
        if exhibit is None:
            return None
        part = self.checked(table, place, "part", lambda value: check_part(some_text(value), exhibit))
        how = self.checked(table, place, "how", check_ways)
        words = self.checked(table, place, "words", lambda value: check_words(some_text(value), exhibit))
        if len(self.mistakes) > begun:
            return None
        return Point(parts["at"], part, parts["until"], ("circle",) if how is None else how, words or "")


def _without_number(error: ValueError) -> str:
    """What a timeline said of one keyframe, which it numbers among those it was given."""
    return re.sub(r"^keyframe \d+: ", "", str(error))
