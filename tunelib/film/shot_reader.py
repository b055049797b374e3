"""Reading the shots of a shot list, and finding what is wrong in them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tunelib.film.act_reader import ActReader, ReadAct
from tunelib.film.acts import Act
from tunelib.film.clip import ClipPlan
from tunelib.film.shot import Settings, Shot, clip_arguments
from tunelib.film.shot_values import (
    AS_RENDERED,
    BESIDE_KEYS,
    CLEAR_FORMATS,
    EPISODE_KEYS,
    FOR_CLIPS,
    FOR_STILLS,
    POSSIBLE,
    SAY_KEYS,
    SETTINGS,
    SHOT_KEYS,
    THEN_KEYS,
    a_number,
    file_name,
    is_of_tables,
    some_text,
)
from tunelib.film.talk import Say
from tunelib.film.timeline import Keyframe, started
from tunelib.film.toml_lines import Place
from tunelib.pitch import listed
from tunelib.show import Stage, find_size

MOST_SHOTS = 1000
_ABOUT = re.compile(r"(?:(beside): |then (\d+): )?(?:(keyframe|point|say) (\d+))?")


class ShotReader(ActReader):
    """Goes over a shot list from top to bottom and collects its mistakes."""

    def __init__(self, tree: dict[str, Any], lines: Mapping[Place, int]) -> None:
        super().__init__(tree, lines)
        self._named: dict[str, tuple[int, str]] = {}  # by name without capitals: where, and as it is there
        self.keys(tree, (), EPISODE_KEYS, "a shot list")
        self.title: str = self.checked(tree, (), "title", some_text) or ""
        self._defaults = self._settings(self.table(tree, (), "defaults"), ("defaults",))

    def shots(self) -> list[Shot]:
        """All shots that can be read."""
        found = list(self.tables(self.tree, (), "shot"))
        if not self.tree.keys() - {"title", "defaults"}:
            self.wrong((), "there are no shots; each begins with a line [[shot]]")
        if len(found) > MOST_SHOTS:
            self.wrong(found[MOST_SHOTS][1], f"an episode has {MOST_SHOTS} shots at most")
            return []
        shots = [self._shot(table, place) for table, place in found]
        return [shot for shot in shots if shot is not None]

    def _shot(self, table: dict[str, Any], place: Place) -> Shot | None:
        begun = len(self.mistakes)
        self.keys(table, place, SHOT_KEYS, "a shot")
        if "name" not in table:
            self.wrong(place, 'this shot has no name; add a line such as name = "slow-beats"')
        name = self.checked(table, place, "name", file_name)
        if name is not None:
            line, first = self._named.setdefault(name.casefold(), (self.lines[place], name))
            if line != self.lines[place]:
                self.wrong((*place, "name"), f"the shot on line {line} is called {first} already; find another name")
        act = self.act(table, place, "this shot")
        note = self.checked(table, place, "note", some_text) or ""
        seconds = self.checked(table, place, "seconds", a_number)
        moves = "keyframe" in table or any(is_of_tables(table[key]) for key in table.keys() - set(SHOT_KEYS))
        for key in FOR_STILLS if moves else FOR_CLIPS:
            if key in table:
                kind = "this shot has keyframes" if moves else "this shot has no [[shot.keyframe]]"
                self.wrong((*place, key), f"{key} is for {'stills' if moves else 'clips'}, and {kind}")
        settings = self._fitting(table, place, moves)
        beside = self._beside(table, place)
        then = [self._then(inner, there) for inner, there in self.tables(table, place, "then")]
        say = self._say(table, place)
        others = [*([beside] if beside is not None else []), *then]
        if act.exhibit is None or any(other.exhibit is None for other in others):
            return None
        for one in (act, *others):
            self._title(one, "square" if beside is not None and one in (act, beside) else "", settings)
        shot = Shot(
            name or "", act.exhibit, act.title, note, act.knobs, act.keyframes, seconds, settings, act.build,
            act.points, _as_act(beside) if beside is not None else None, tuple(_as_act(one) for one in then), say,
        )  # fmt: skip
        if act.in_order and all(other.in_order for other in others) and self._together((act, *others)):
            self._in_time(shot, place)
        if shot.moves and len(self.mistakes) == begun:
            self._as_a_clip(shot, place)
        return shot

    def _beside(self, table: dict[str, Any], place: Place) -> ReadAct | None:
        """The exhibit beside the first: a table, or its name alone."""
        if "beside" not in table:
            return None
        inner = table["beside"]
        there = (*place, "beside")
        if isinstance(inner, str):
            return self.act({"exhibit": inner}, there, "what is beside")
        if not isinstance(inner, dict):
            self.wrong(there, "write [shot.beside], and below it the exhibit and its knobs")
            return None
        self.keys(inner, there, BESIDE_KEYS, "what is beside")
        return self.act(inner, there, "what is beside")

    def _then(self, table: dict[str, Any], place: Place) -> ReadAct:
        self.keys(table, place, THEN_KEYS, "what follows")
        return self.following(table, place)

    def _say(self, table: dict[str, Any], place: Place) -> tuple[Say, ...]:
        """What is said over the shot, as far as it can be read."""
        found = []
        for inner, there in self.tables(table, place, "say"):
            self.keys(inner, there, SAY_KEYS, "what is said")
            for key, example in (("at", "at = 2.5"), ("words", 'words = "Listen."')):
                if key not in inner:
                    self.wrong(there, f"what is said has no {key}; add a line such as {example}")
            at, words = self.checked(inner, there, "at", a_number), self.checked(inner, there, "words", some_text)
            if at is not None and words is not None:
                found.append(Say(at, words))
        return tuple(found) if len(found) == len(table.get("say", ())) else ()

    def _fitting(self, table: dict[str, Any], place: Place, moves: bool) -> Settings:
        """The settings of a shot: its own, then the defaults, each fit for a clip or a still."""
        own = self._settings({key: table[key] for key in SETTINGS if key in table}, place)
        merged = self._defaults | own
        clear = merged.get("theme") == "transparent"
        kind = "clip" if moves else "still"
        usual = {"sizes": "1080p", "formats": ("mov" if clear else "mp4") if moves else "png"}
        for key, possible in POSSIBLE[kind].items():
            for number, choice in enumerate(own.get(key, ())):
                if choice not in possible:
                    self.wrong(
                        (*place, key, number), f"the {key} of a {kind} are {listed(possible, 'or')}, not {choice}"
                    )
            merged[key] = tuple(choice for choice in merged.get(key, ()) if choice in possible) or (usual[key],)
        opaque = [format for format in merged["formats"] if moves and format not in CLEAR_FORMATS]
        if clear and opaque:
            culprit = self._set_at(place, "theme" if "theme" in own or "formats" not in own else "formats")
            self.wrong(
                culprit,
                f"a transparent clip is written as {listed(CLEAR_FORMATS, 'or')}, not as {opaque[0]}: give "
                f'formats = ["{usual["formats"]}"]',
            )
        return Settings(**merged)

    def _set_at(self, place: Place, key: str) -> Place:
        """Where a setting of a shot is given: in the shot itself or among the defaults."""
        return next((there for there in ((*place, key), ("defaults", key)) if there in self.lines), place)

    def _title(self, act: ReadAct, shape: str, settings: Settings) -> None:
        """Whether a title has room in every size, or in the shape that it is shown in."""
        assert act.exhibit is not None
        for size in ((shape,) if shape else settings.sizes) if act.title else ():
            try:
                Stage(act.exhibit, find_size(size), settings.theme, title=act.title)
            except ValueError as error:
                self.wrong((*act.place, "title"), f"{size}: {error}")

    def _together(self, acts: tuple[ReadAct, ...]) -> bool:
        """Whether the knobs, each right by itself, make sense together, at each keyframe."""
        begun = len(self.mistakes)
        for act in acts:
            assert act.exhibit is not None
            values: dict[str, Any] = {}
            for number, keyframe in enumerate(started(act.knobs, act.keyframes or (Keyframe(0.0),))):
                values |= keyframe.knobs
                there = (*act.place, "keyframe", number) if act.keyframes else act.place
                try:
                    act.exhibit.settle(values)
                except ValueError as error:
                    self.wrong((*there, "knobs") if (*there, "knobs") in self.lines else there, error)
        return len(self.mistakes) == begun

    def _in_time(self, shot: Shot, place: Place) -> None:
        """Whether all that happens in a shot, each right by itself, goes together in time."""
        try:
            _ = shot.spoken  # and the programme with it
        except ValueError as error:
            self.wrong(self._about(str(error), place), error)

    def _about(self, said: str, place: Place) -> Place:
        """What a message of a programme is about: it begins with that, numbered from 1."""
        found = _ABOUT.match(said)
        assert found is not None
        beside, then, what, number = found.groups()
        act: Place = (*place, "beside") if beside else (*place, "then", int(then) - 1) if then else place
        rest = said[found.end() :]
        if "the clip only" in rest or rest.startswith("a clip lasts"):
            return next(there for there in ((*place, "seconds"), act) if there in self.lines)
        there: Place = (*act, what, int(number) - 1) if what else act
        keys = (
            ()
            if rest.startswith(": on the way")
            else ("build",)
            if "build" in rest or "on stage" in rest
            else ("until", "at")
        )
        return next((one for key in keys if (one := (*there, key)) in self.lines), there)

    def _as_a_clip(self, shot: Shot, place: Place) -> None:
        """Whatever else a clip may have against a shot in which each part is right."""
        for output in shot.outputs:
            arguments = clip_arguments(output) | {"title": None}
            arguments["beside"] = shot.beside and replace(shot.beside, title=None)
            arguments["then"] = [replace(act, title=None) for act in shot.then]
            try:
                ClipPlan(**arguments)
            except ValueError as error:
                self.wrong(self._about(str(error), place), error)

    def _settings(self, table: dict[str, Any], place: Place) -> dict[str, Any]:
        """Those settings of a table that are right."""
        if place == ("defaults",):
            self.keys(table, place, tuple(SETTINGS), "[defaults]")
        good = {}
        for key, check in SETTINGS.items():
            if key not in table:
                continue
            if key in POSSIBLE["clip"]:
                chosen = self.names(table[key], (*place, key), check)
                if chosen:
                    good[key] = chosen
            else:
                value = self.checked(table, place, key, check)
                if value is not None or table[key] == AS_RENDERED:
                    good[key] = value
        return good


def _as_act(read: ReadAct) -> Act:
    assert read.exhibit is not None
    return Act(
        read.exhibit.name, read.keyframes, read.title, read.build, read.points, read.at, read.transition, read.knobs
    )
