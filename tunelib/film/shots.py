"""The shot list: a TOML file that names the pictures and clips of one episode of a video.

TOML is an open standard (toml.io, version 1.0.0). What a shot list may hold::

    title = "Where the comma comes from"   # heading of the contact sheet; the file's own name, if left out

    [defaults]                 # for every shot that does not say otherwise; each line may be left out
    sizes = ["1080p"]          # 1080p, 2160p, vertical, square and the other sizes of a still
    formats = ["png", "mp4"]   # stills: png, svg, pdf. Clips: mp4, webm, mov. Each shot takes those of its kind
    theme = "light"            # light, dark, or transparent (clips: webm or mov)
    fps = 30                   # clips: frames a second
    sound = "at keyframes"     # clips: at keyframes, following, or off
    loudness = -23             # clips: LKFS, or "as rendered"
    captions = true            # clips: whether to write a file of captions (.vtt) beside it
    sentence = false           # stills: whether to add the exhibit's sentence below, in a picture that much taller

    [[shot]]                   # one for each shot, in the order of the episode
    name = "slow-beats"        # the files are called by it: slow-beats-1080p.png
    exhibit = "beats"
    title = "One beat a second"            # in the picture; the exhibit's own if left out, none if ""
    note = "Count along before you look."  # what to say over it; on the contact sheet only
    knobs = { difference = 1 } # those not named stay at their defaults
    theme = "dark"             # any of the defaults, for this shot

    [[shot]]
    name = "beats-to-roughness"
    exhibit = "beats"
    seconds = 8                # how long the clip is; 3 s after the last keyframe if left out
    knobs = { lower = 220 }    # where the knobs are until a keyframe moves them

    [[shot.keyframe]]          # a shot that has keyframes is a clip, one that has none a still
    at = 0                     # seconds from the beginning
    hold = 2                   # seconds for which the knobs stay before the next move; none if left out
    knobs = { difference = 1 }

    [[shot.keyframe]]
    at = 6
    ease = "in and out"        # how the knobs move towards it: in and out, in, out, steady, or jump
    knobs = { difference = 20 }

Every size and format of a shot is a file, `name-size.format`. Names hold no numbers of order, so that a shot put in
between renames nothing that a video editor links to.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from tunelib.exhibits import THEMES, Exhibit, find_exhibit
from tunelib.files import require_file
from tunelib.film.clip import CLIP_SIZES, check_rate, plan_clip
from tunelib.film.encoder import CLEAR_SUFFIXES, FILM_SUFFIXES
from tunelib.film.soundtrack import SOUNDS, USUAL_LOUDNESS, check_loudness
from tunelib.film.timeline import Keyframe, Stop, Timeline
from tunelib.film.toml_lines import Place, lines_of
from tunelib.pitch import in_figures, is_number, listed, look_up, shortened, unprintable
from tunelib.show import SIZES, STILL_FORMATS, Stage

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MOST_BYTES = 1_000_000
MOST_SHOTS = 1000
_DEEPEST = 12  # tables in tables; a knob of a keyframe of a shot needs five
_LONGEST_NAME = 60
_LONGEST_TEXT = 5000
_LONGEST_MESSAGE = 400
_MOST_TOLD = 100  # mistakes in one message
_LARGEST_NUMBER = 1e6
_MANY_DIGITS = re.compile(r"[0-9][0-9_]{1000,}")
_HINTS = {  # what is usually behind a message of the TOML reader, by its beginning
    "Cannot declare": "each shot begins with [[shot]] and each keyframe with [[shot.keyframe]], in double brackets",
    "Cannot overwrite": "each name may be given only once in a shot or a keyframe",
    "Expected '='": "values are set with an equals sign, as in at = 6",
    "Expected newline": "one setting to a line, and decimals have a point, as in at = 6.5",
    "Illegal character": "text ends on its own line, with the kind of quotation mark that it began with",
    "Invalid value": "text goes in quotes, numbers without, and true and false are in lower case",
}
_NAME = re.compile(rf"[A-Za-z0-9][A-Za-z0-9_-]{{0,{_LONGEST_NAME - 1}}}")
_DEVICES = frozenset("con prn aux nul".split()) | {f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)}
AS_RENDERED = "as rendered"


@dataclass(frozen=True)
class Mistake:
    """What is wrong in a shot list, and its line, from 1."""

    line: int
    what: str


class ShotListError(ValueError):
    """All mistakes of a shot list, in the order of their lines; a line of the message each."""

    def __init__(self, file: str, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = sorted(set(mistakes), key=lambda mistake: (mistake.line, mistake.what))
        told = [f"{file}, line {mistake.line}: {mistake.what}" for mistake in self.mistakes[:_MOST_TOLD]]
        if len(self.mistakes) > _MOST_TOLD:
            told.append(f"{file}: {len(self.mistakes) - _MOST_TOLD:,} more mistakes, told when these are mended")
        super().__init__("\n".join(told))


@dataclass(frozen=True)
class Settings:
    """How the files of a shot are made: what ``[defaults]`` may say."""

    sizes: tuple[str, ...] = ("1080p",)
    formats: tuple[str, ...] = ()
    theme: str = "light"
    fps: int = 30
    sound: str = "at keyframes"
    loudness: float | None = USUAL_LOUDNESS
    captions: bool = True
    sentence: bool = False


@dataclass(frozen=True)
class Shot:
    """One shot: a clip if it has keyframes, else a still.

    `title` is None for the exhibit's own; `seconds` where the clip ends 3 s after its last keyframe.
    `keyframes` name only the knobs that move; `knobs` are where the others are.
    """

    name: str
    exhibit: Exhibit
    title: str | None
    note: str
    knobs: Mapping[str, Any]
    keyframes: tuple[Keyframe, ...]
    seconds: float | None
    settings: Settings

    @property
    def moves(self) -> bool:
        """Whether it is a clip."""
        return bool(self.keyframes)

    @cached_property
    def timeline(self) -> Timeline:
        """The knobs over time; a still is treated as a clip of one keyframe."""
        return Timeline(self.exhibit, self.started, self.seconds)

    @property
    def started(self) -> list[Keyframe]:
        """Its keyframes, the first with all knobs that are set."""
        first, *others = self.keyframes or (Keyframe(0.0),)
        return [replace(first, knobs={**self.knobs, **first.knobs}), *others]

    @property
    def stops(self) -> list[Stop]:
        """Its keyframes with all knobs settled; one for a still."""
        return self.timeline.stops

    @property
    def outputs(self) -> list[Output]:
        """Its files: one of each format in each size. Captions go with the first format."""
        settings = self.settings
        return [
            Output(self, size, format, captions=self.moves and settings.captions and format == settings.formats[0])
            for size in settings.sizes
            for format in settings.formats
        ]


@dataclass(frozen=True)
class Output:
    """One picture or clip that is to be made: a shot in one size and format, with or without captions beside it."""

    shot: Shot
    size: str
    format: str
    captions: bool

    @property
    def stem(self) -> str:
        """Its file's name without the ending."""
        return f"{self.shot.name}-{self.size.replace(' ', '-')}"

    @property
    def file(self) -> str:
        """Its file's name."""
        return f"{self.stem}.{self.format}"

    @property
    def files(self) -> tuple[str, ...]:
        """The names of all files that are written with it."""
        return (self.file, f"{self.stem}.vtt") if self.captions else (self.file,)


@dataclass(frozen=True)
class Episode:
    """A shot list that has been read: its title, its shots in order, and the name of its file."""

    title: str
    shots: tuple[Shot, ...]
    file: str

    @property
    def outputs(self) -> list[Output]:
        """All files of all shots, in order."""
        return [output for shot in self.shots for output in shot.outputs]


def clip_arguments(output: Output) -> dict[str, Any]:
    """The arguments of `clip` and `plan_clip`, except the folder."""
    shot, settings = output.shot, output.shot.settings
    return {
        "exhibit": shot.exhibit.name,
        "path": output.file,
        "keyframes": shot.started,
        "seconds": shot.seconds,
        "size": output.size,
        "theme": settings.theme,
        "fps": settings.fps,
        "title": shot.title,
        "sound": settings.sound,
        "loudness": settings.loudness,
        "captions": output.captions,
    }


def read_episode(path: str | Path) -> Episode:
    """Read a shot list and check everything in it.

    Raises ShotListError with every mistake and its line, and OSError if the file cannot be read.
    """
    path = Path(path)
    require_file(path, "give the shot list itself, such as episode.toml")
    if path.stat().st_size > MOST_BYTES:
        raise ValueError(f"{path} has {path.stat().st_size:,} bytes; a shot list has {MOST_BYTES:,} at most")
    return parse_episode(path.read_bytes(), path.name)


def parse_episode(data: bytes, file: str = "episode.toml") -> Episode:
    """The same from bytes; `file` is what the messages call it."""
    text = _decoded(data, file)
    try:
        tree = tomllib.loads(text)
        if _depth(tree) > _DEEPEST:
            raise RecursionError
        lines = lines_of(text)
    except RecursionError:
        raise ValueError(f"{file}: its tables and arrays are nested too deep for a shot list") from None
    except ValueError as error:
        raise _not_toml(error, text, file) from None
    reader = _Reader(tree, lines)
    shots = reader.shots()
    if reader.mistakes:
        raise ShotListError(file, reader.mistakes)
    return Episode(reader.title or Path(file).stem, tuple(shots), file)


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = 1 + data.count(b"\n", 0, error.start)
        raise ShotListError(
            file, [Mistake(line, "this is not text in UTF-8; save the file as UTF-8 in the editor")]
        ) from None


def _depth(tree: Any) -> int:
    """How deep tables and arrays are nested."""
    depth, layer = 0, [tree]
    while layer and depth <= _DEEPEST:
        depth += 1
        layer = [
            inner
            for outer in layer
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, (dict, list))
        ]
    return depth


def _not_toml(error: ValueError, text: str, file: str) -> ValueError:
    said = str(error)
    where = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", said)
    if where is None:  # a number of more digits than Python reads
        found = _MANY_DIGITS.search(text)
        line = 1 + text.count("\n", 0, found.start() if found else 0)
        return ShotListError(file, [Mistake(line, "a number of thousands of digits is more than any setting takes")])
    line = int(where[1]) if where[1] else 1 + text.rstrip().count("\n")
    what = said[: where.start()]
    what += next((f"; {hint}" for beginning, hint in _HINTS.items() if what.startswith(beginning)), "")
    return ShotListError(file, [Mistake(line, f"this is not TOML: {what[0].lower()}{what[1:]}")])


# Each setting's value as it is kept; ValueError for one that cannot be.


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"this is text in quotes, not {_shown(value)}")
    if found := unprintable(value):
        raise ValueError(f"{found[1]} cannot be printed: take it away")
    if len(value) > _LONGEST_TEXT:
        raise ValueError(f"this has {len(value):,} characters; {_LONGEST_TEXT:,} are the most")
    return value


def _number(value: Any) -> float:
    if not is_number(value):
        raise ValueError(f"this is a number, not {_shown(value)}")
    if abs(value) > _LARGEST_NUMBER:
        raise ValueError(f"this is a number of seconds or of LKFS, not {in_figures(value)}")
    return float(value)


def _yes_or_no(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"this is true or false, not {_shown(value)}")
    return value


def _loudness(value: Any) -> float | None:
    if isinstance(value, str):
        look_up(value, {AS_RENDERED: AS_RENDERED}, "loudness")
        return None
    return check_loudness(_number(value))


def _one_of(known: Sequence[str], what: str) -> Callable[[Any], str]:
    def check(value: Any) -> str:
        return look_up(_text(value), {name: name for name in known}, what)

    return check


def _is_of_tables(value: Any) -> bool:
    """Whether a value is an array of tables: under a name that is not known, what was meant to be keyframes."""
    return isinstance(value, list) and any(isinstance(part, dict) for part in value)


def _file_name(value: Any) -> str:
    if _NAME.fullmatch(_text(value)) and value.casefold() not in _DEVICES:
        return str(value)
    if value.casefold() in _DEVICES:
        raise ValueError(f"no file may be called {value!r} everywhere; add a word, such as {value}-1")
    better = re.sub(r"[^A-Za-z0-9_]+", "-", value).strip("-_")[:_LONGEST_NAME]
    hint = f"did you mean {better}?" if better and better.casefold() not in _DEVICES else "write, say, slow-beats"
    raise ValueError(
        f"{_shown(value)} cannot name files: a name has up to {_LONGEST_NAME} letters without accents, digits, "
        f"hyphens and underscores; {hint}"
    )


def _shown(value: Any) -> str:
    """A value as TOML might have it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    return shortened(value) if isinstance(value, (str, int, float)) else str(value)


CLIP_FORMATS = tuple(suffix.lstrip(".") for suffix in FILM_SUFFIXES)
_CLEAR = tuple(suffix.lstrip(".") for suffix in CLEAR_SUFFIXES)


_SETTINGS: dict[str, Callable[[Any], Any]] = {
    "sizes": _one_of(tuple(SIZES), "size"),
    "formats": _one_of((*STILL_FORMATS, *CLIP_FORMATS), "format"),
    "theme": _one_of(tuple(THEMES), "theme"),
    "fps": check_rate,
    "sound": _one_of(SOUNDS, "sound"),
    "loudness": _loudness,
    "captions": _yes_or_no,
    "sentence": _yes_or_no,
}
_POSSIBLE: dict[str, dict[str, tuple[str, ...]]] = {
    "still": {"sizes": tuple(SIZES), "formats": STILL_FORMATS},
    "clip": {"sizes": CLIP_SIZES, "formats": CLIP_FORMATS},
}
_FOR_CLIPS = ("fps", "sound", "loudness", "captions", "seconds")
_FOR_STILLS = ("sentence",)
_EPISODE_KEYS = ("title", "defaults", "shot")
_SHOT_KEYS = ("name", "exhibit", "title", "note", "knobs", "keyframe", "seconds", *_SETTINGS)
_KEYFRAME_KEYS = ("at", "hold", "ease", "knobs")


class _Reader:
    """Goes over a shot list from top to bottom and collects its mistakes."""

    def __init__(self, tree: dict[str, Any], lines: dict[Place, int]) -> None:
        self.mistakes: list[Mistake] = []
        self._tree = tree
        self._lines = lines
        self._named: dict[str, tuple[int, str]] = {}  # by name without capitals: where, and as it is there
        self._keys(tree, (), _EPISODE_KEYS, "a shot list")
        self.title: str = self._checked(tree, (), "title", _text) or ""
        self._defaults = self._settings(self._table(tree, (), "defaults"), ("defaults",))

    def wrong(self, place: Place, what: object) -> None:
        """Note a mistake at a place, or at the nearest that has a line."""
        while place not in self._lines:
            place = place[:-1]
        said = " ".join(str(what).split())
        self.mistakes.append(
            Mistake(self._lines[place], said if len(said) <= _LONGEST_MESSAGE else f"{said[:_LONGEST_MESSAGE]}...")
        )

    def shots(self) -> list[Shot]:
        """All shots that can be read."""
        found = list(self._tables(self._tree, (), "shot"))
        if not self._tree.keys() - {"title", "defaults"}:
            self.wrong((), "there are no shots; each begins with a line [[shot]]")
        if len(found) > MOST_SHOTS:
            self.wrong(found[MOST_SHOTS][1], f"an episode has {MOST_SHOTS} shots at most")
            return []
        shots = [self._shot(table, place) for table, place in found]
        return [shot for shot in shots if shot is not None]

    def _shot(self, table: dict[str, Any], place: Place) -> Shot | None:
        begun = len(self.mistakes)
        self._keys(table, place, _SHOT_KEYS, "a shot")
        for key, example in (("name", "slow-beats"), ("exhibit", "beats")):
            if key not in table:
                self.wrong(place, f'this shot has no {key}; add a line such as {key} = "{example}"')
        name = self._checked(table, place, "name", _file_name)
        if name is not None:
            line, first = self._named.setdefault(name.casefold(), (self._lines[place], name))
            if line != self._lines[place]:
                self.wrong((*place, "name"), f"the shot on line {line} is called {first} already; find another name")
        exhibit = self._checked(table, place, "exhibit", lambda value: find_exhibit(_text(value)))
        title = self._checked(table, place, "title", _text)
        note = self._checked(table, place, "note", _text) or ""
        seconds = self._checked(table, place, "seconds", _number)
        moves = "keyframe" in table or any(_is_of_tables(table[key]) for key in table.keys() - set(_SHOT_KEYS))
        for key in _FOR_STILLS if moves else _FOR_CLIPS:
            if key in table:
                kind = "this shot has keyframes" if moves else "this shot has no [[shot.keyframe]]"
                self.wrong((*place, key), f"{key} is for {'stills' if moves else 'clips'}, and {kind}")
        settings = self._fitting(table, place, moves)
        knobs = self._knobs(table, place, exhibit)
        keyframes = [self._keyframe(inner, there, exhibit) for inner, there in self._tables(table, place, "keyframe")]
        in_order = self._in_time(keyframes, place, exhibit)
        if exhibit is None:
            return None
        self._title(title, exhibit, settings, place)
        shot = Shot(name or "", exhibit, title, note, knobs, tuple(keyframes), seconds, settings)
        if in_order and self._together(shot, place):
            self._length(shot, place)
        if shot.moves and len(self.mistakes) == begun:
            self._as_a_clip(shot, place)
        return shot

    def _fitting(self, table: dict[str, Any], place: Place, moves: bool) -> Settings:
        """The settings of a shot: its own, then the defaults, each fit for a clip or a still."""
        own = self._settings({key: table[key] for key in _SETTINGS if key in table}, place)
        merged = self._defaults | own
        clear = merged.get("theme") == "transparent"
        kind = "clip" if moves else "still"
        usual = {"sizes": "1080p", "formats": ("mov" if clear else "mp4") if moves else "png"}
        for key, possible in _POSSIBLE[kind].items():
            for number, choice in enumerate(own.get(key, ())):
                if choice not in possible:
                    self.wrong(
                        (*place, key, number), f"the {key} of a {kind} are {listed(possible, 'or')}, not {choice}"
                    )
            merged[key] = tuple(choice for choice in merged.get(key, ()) if choice in possible) or (usual[key],)
        opaque = [format for format in merged["formats"] if moves and format not in _CLEAR]
        if clear and opaque:
            culprit = self._set_at(place, "theme" if "theme" in own or "formats" not in own else "formats")
            self.wrong(
                culprit,
                f"a transparent clip is written as {listed(_CLEAR, 'or')}, not as {opaque[0]}: give "
                f'formats = ["{usual["formats"]}"]',
            )
        return Settings(**merged)

    def _set_at(self, place: Place, key: str) -> Place:
        """Where a setting of a shot is given: in the shot itself or among the defaults."""
        return next((there for there in ((*place, key), ("defaults", key)) if there in self._lines), place)

    def _keyframe(self, table: dict[str, Any], place: Place, exhibit: Exhibit | None) -> Keyframe:
        """A keyframe, each part looked at by itself; `at` is not a number where it is missing or wrong."""
        self._keys(table, place, _KEYFRAME_KEYS, "a keyframe")
        if "at" not in table:
            self.wrong(place, "this keyframe does not say when it comes; add a line such as at = 2.5")
        parts: dict[str, Any] = {"at": math.nan, "knobs": self._knobs(table, place, exhibit)}
        for key in ("at", "hold", "ease"):
            if key not in table:
                continue
            try:
                Timeline(exhibit or find_exhibit("wave"), [Keyframe(**({"at": 0.0} | {key: table[key]}))])
                parts[key] = table[key]
            except ValueError as error:
                self.wrong((*place, key), _without_number(error))
        return Keyframe(**parts)

    def _in_time(self, keyframes: Sequence[Keyframe], place: Place, exhibit: Exhibit | None) -> bool:
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

    def _title(self, title: str | None, exhibit: Exhibit, settings: Settings, place: Place) -> None:
        """Whether a title has room in every size."""
        for size in settings.sizes if title else ():
            try:
                Stage(exhibit, size, settings.theme, title=title)
            except ValueError as error:
                self.wrong((*place, "title"), f"{size}: {error}")

    def _together(self, shot: Shot, place: Place) -> bool:
        """Whether the knobs, each right by itself, make sense together, at each keyframe."""
        begun = len(self.mistakes)
        values: dict[str, Any] = {}
        for number, keyframe in enumerate(shot.started):
            values |= keyframe.knobs
            there = (*place, "keyframe", number) if shot.moves else place
            try:
                shot.exhibit.settle(values)
            except ValueError as error:
                self.wrong((*there, "knobs") if (*there, "knobs") in self._lines else there, error)
        return len(self.mistakes) == begun

    def _length(self, shot: Shot, place: Place) -> None:
        try:
            _ = shot.timeline
        except ValueError as error:
            moving = re.match(r"keyframe (\d+): on the way", str(error))
            self.wrong((*place, "keyframe", int(moving[1]) - 1) if moving else (*place, "seconds"), error)

    def _as_a_clip(self, shot: Shot, place: Place) -> None:
        """Whatever else a clip may have against a shot in which each part is right."""
        for output in shot.outputs:
            try:
                plan_clip(**{**clip_arguments(output), "title": None})
            except ValueError as error:
                self.wrong(place, error)

    def _knobs(self, table: dict[str, Any], place: Place, exhibit: Exhibit | None) -> dict[str, Any]:
        knobs = self._table(table, place, "knobs")
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

    def _settings(self, table: dict[str, Any], place: Place) -> dict[str, Any]:
        """Those settings of a table that are right."""
        if place == ("defaults",):
            self._keys(table, place, tuple(_SETTINGS), "[defaults]")
        good = {}
        for key, check in _SETTINGS.items():
            if key not in table:
                continue
            if key in _POSSIBLE["clip"]:
                chosen = self._list(table[key], (*place, key), check)
                if chosen:
                    good[key] = chosen
            else:
                value = self._checked(table, place, key, check)
                if value is not None or table[key] == AS_RENDERED:
                    good[key] = value
        return good

    def _list(self, values: Any, place: Place, check: Callable[[Any], str]) -> tuple[str, ...]:
        if not isinstance(values, list) or not values:
            example = "1080p" if place[-1] == "sizes" else "png"
            self.wrong(place, f'{place[-1]} is a list in brackets with one name or more, such as ["{example}"]')
            return ()
        chosen: list[str] = []
        for number, value in enumerate(values):
            try:
                name = check(value)
            except ValueError as error:
                self.wrong((*place, number), error)
                continue
            if name in chosen:
                self.wrong((*place, number), f"{name} is here twice")
            chosen.append(name)
        return tuple(chosen)

    def _checked(self, table: dict[str, Any], place: Place, key: str, check: Callable[[Any], Any]) -> Any:
        """What a key says, or None if it is not there or wrong."""
        if key not in table:
            return None
        try:
            return check(table[key])
        except ValueError as error:
            self.wrong((*place, key), f"{key}: {error}" if str(error).startswith("this is") else error)
            return None

    def _table(self, table: dict[str, Any], place: Place, key: str) -> dict[str, Any]:
        inner = table.get(key, {})
        if isinstance(inner, dict):
            return inner
        self.wrong((*place, key), f"{key} is a table, such as {{ difference = 2 }}, not {_shown(inner)}")
        return {}

    def _tables(self, table: dict[str, Any], place: Place, key: str) -> Iterator[tuple[dict[str, Any], Place]]:
        """The tables of an array of tables."""
        name = ".".join(str(part) for part in (*place, key) if isinstance(part, str))
        inner = table.get(key, [])
        if not isinstance(inner, list) or (key in table and not inner):
            self.wrong((*place, key), f"write [[{name}]], in double brackets, before each {key}")
            return
        for number, one in enumerate(inner):
            if isinstance(one, dict):
                yield one, (*place, key, number)
            else:
                self.wrong((*place, key, number), f"write [[{name}]], in double brackets, before each {key}")

    def _keys(self, table: dict[str, Any], place: Place, known: Sequence[str], what: str) -> None:
        for key in table:
            if key in known:
                continue
            try:
                right = look_up(key, {name: name for name in known}, f"setting of {what}")
                self.wrong((*place, key), f"write {right}, not {shortened(key)}")
            except ValueError as error:
                self.wrong((*place, key), error)


def _without_number(error: ValueError) -> str:
    """What a timeline said of one keyframe, which it numbers among those it was given."""
    return re.sub(r"^keyframe \d+: ", "", str(error))
