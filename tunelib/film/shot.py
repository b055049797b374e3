"""A shot of an episode: its exhibits, how its files are made, and which files those are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from tunelib.exhibits import Exhibit
from tunelib.film.acts import Act, Programme
from tunelib.film.pointing import COMES_SECONDS, Point, filled
from tunelib.film.soundtrack import USUAL_LOUDNESS
from tunelib.film.talk import Say, Spoken, spoken
from tunelib.film.timeline import Keyframe, Stop, started


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
class Glance:
    """A moment of a shot at which it is looked at on the contact sheet, and what is said there.

    That is at each keyframe of each exhibit, when what it holds is about to move, and where something is pointed at;
    `act` is the exhibit's number in the shot, and `begins` when the keyframe or the pointing does.
    """

    begins: float
    at: float
    act: int
    exhibit: Exhibit
    values: Mapping[str, Any]
    said: str
    points: bool


@dataclass(frozen=True)
class Shot:
    """One shot: a clip if it has keyframes, else a still.

    `title` is None for the exhibit's own; `seconds` where the clip ends 3 s after its last keyframe. `keyframes` name
    only the knobs that move; `knobs` are where the others are. The exhibits of `beside` and `then` come on top.
    """

    name: str
    exhibit: Exhibit
    title: str | None
    note: str
    knobs: Mapping[str, Any]
    keyframes: tuple[Keyframe, ...]
    seconds: float | None
    settings: Settings
    build: bool = False
    points: tuple[Point, ...] = ()
    beside: Act | None = None
    then: tuple[Act, ...] = ()
    say: tuple[Say, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether it is a clip."""
        return bool(self.keyframes)

    @cached_property
    def programme(self) -> Programme:
        """All its exhibits over time; a still is treated as a clip of one keyframe."""
        keyframes = self.keyframes or (Keyframe(0.0),)
        first = Act(self.exhibit.name, keyframes, self.title, self.build, self.points, knobs=self.knobs)
        return Programme(first, self.beside, self.then, self.seconds)

    @cached_property
    def spoken(self) -> tuple[Spoken, ...]:
        """What is said over it, in time."""
        return spoken(self.say, self.programme)

    @property
    def stops(self) -> list[Stop]:
        """The first exhibit's keyframes with all knobs settled; one for a still."""
        return self.programme.entries[0].timeline.stops

    @property
    def glances(self) -> list[Glance]:
        """Where the contact sheet looks at it, in the order of time."""
        found = []
        for number, entry in enumerate(self.programme.entries):
            exhibit, timeline = entry.exhibit, entry.timeline
            for stop in timeline.stops:
                said = exhibit.sentence(**stop.values)
                found.append(Glance(stop.at, stop.leaves, number, exhibit, stop.values, said, False))
            for point in entry.points:
                at = point.at + COMES_SECONDS
                values = timeline.values(at)
                words = f", with the words: {filled(point.words, exhibit, values)}" if point.words else ""
                said = f"This points at {exhibit.parts[point.part]}{words}"
                found.append(Glance(point.at, at, number, exhibit, values, said, True))
        return sorted(found, key=lambda glance: (glance.begins, glance.act))

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
    """The arguments of `ClipPlan`; its path is without the folder."""
    shot, settings = output.shot, output.shot.settings
    return {
        "exhibit": shot.exhibit.name,
        "path": output.file,
        "keyframes": started(shot.knobs, shot.keyframes),
        "seconds": shot.seconds,
        "size": output.size,
        "theme": settings.theme,
        "fps": settings.fps,
        "title": shot.title,
        "sound": settings.sound,
        "loudness": settings.loudness,
        "captions": output.captions,
        "build": shot.build,
        "points": shot.points,
        "beside": shot.beside,
        "then": shot.then,
        "say": shot.say,
    }
