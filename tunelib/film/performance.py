"""One exhibit on film: its picture at any moment of the clip."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from matplotlib.transforms import Bbox

from tunelib.exhibits import HEADING, SILENT, Playing
from tunelib.film.acts import Programme
from tunelib.film.blending import Pixels, blended
from tunelib.film.camera import FINER, Frame
from tunelib.film.emphasis import Emphasis, Seen
from tunelib.film.playhead import Playhead
from tunelib.film.pointing import COMES_SECONDS, GOES_SECONDS, Pointing, Strength, strength
from tunelib.film.timeline import EASES, Moment
from tunelib.show import Size, Stage

_RESTART_SECONDS = 0.3  # in which what flows fades to how it begins anew
_JUST_BEFORE = 1e-6
_MOST_SAMPLES = 6  # of a picture that moves while it is pointed at, to find room for words


@dataclass(frozen=True)
class State:
    """All that an exhibit's picture depends on at a moment; what is equal looks the same.

    `sounds` is as much of `playing` as is seen: where nothing flows, the seconds are not. Where what flows begins anew,
    the picture `fades` in over that of a moment before, which `fading` has, with the moment.
    """

    moment: Moment
    build: tuple[int | None, int | None, float]
    playing: Playing = field(compare=False)
    sounds: tuple[Any, ...]
    points: tuple[tuple[Pointing, Strength], ...] = ()
    fades: float = 1.0
    fading: tuple[float, Callable[[], State]] | None = field(default=None, compare=False)


class Performance:
    """One act of a clip, in one size.

    Parameters
    ----------
    programme : Programme
    number : int
        Which act, from 0.
    size : Size
    theme : str
    sound : str
        As for the soundtrack, so that what sounds lights up.

    Raises ValueError for a title that has no room.
    """

    def __init__(self, programme: Programme, number: int, size: Size, theme: str, sound: str) -> None:
        self.entry = programme.entries[number]
        self.size = size
        self._theme = theme
        self._playhead = Playhead(programme, number, sound)
        self.stage = Stage(self.entry.exhibit, size, theme, title=self.entry.act.title)
        self._restarts = self._playhead.restarts
        self._usual = _Drawing(self.stage)
        self._finer: _Drawing | None = None
        self._emphasis = Emphasis(self.entry.exhibit, self.stage.look, size)

    def state(self, seconds: float) -> State:
        """What the picture depends on at a moment."""
        state = self._bare(seconds)
        passed = bisect_right(self._restarts, seconds)
        if passed and seconds < (began := self._restarts[passed - 1]) + _RESTART_SECONDS:
            way = (seconds - began) / _RESTART_SECONDS
            state = replace(state, fades=way, fading=(began, lambda: self._bare(began - _JUST_BEFORE)))
        points = [(point, strength(point, seconds)) for point in self.entry.points]
        return replace(state, points=tuple(point for point in points if point[1].all > 0))

    def _bare(self, seconds: float) -> State:
        """The same without what points, and however it came to it."""
        moment = self.entry.timeline.moment(seconds)
        playing = SILENT if moment.there is not None else self._playhead.at(seconds, moment.values)
        seconds_seen = playing.seconds if self.entry.exhibit.flows else playing.seconds is None
        return State(moment, self.entry.timeline.building.at(seconds), playing, (seconds_seen, playing.notes))

    def picture(self, state: State) -> Pixels:
        """The picture in a state."""
        if not state.points:
            return self._usual.pixels(state)
        seen = self._seen(state)
        return self._emphasis.over(seen, state.points, state.moment.values, self._samples)

    def shows(self, point: Pointing) -> bool:
        """Whether the part that is pointed at is in the picture when it begins to be."""
        state = self.state(point.at + COMES_SECONDS)
        late = self.entry.exhibit.builds[
            state.build[1] if state.build[1] is not None else len(self.entry.exhibit.builds) :
        ]
        self._usual.pixels(state)
        return self._usual.box(point.part).width >= 0 and not any(point.part in group for group in late)

    def apart(self, state: State, parts: Sequence[str]) -> tuple[Pixels, dict[str, Pixels]]:
        """The picture in a state without some of its parts, and each of these alone."""
        self._usual.pixels(replace(state, build=(state.build[1], state.build[1], 1.0)))
        return self.stage.apart(parts)

    def _seen(self, state: State) -> Seen:
        """The picture, as near as it is pointed at, and where in it the parts are that are pointed at."""
        nearer = [(point, share.all) for point, share in state.points if "zoom" in point.how]
        drawing = self._fine() if nearer else self._usual
        pixels = drawing.pixels(state)
        frame = Frame.whole(pixels)
        for point, share in nearer:
            frame = frame.toward(drawing.box(point.part), share)
        width, height = self.size.pixels
        boxes = {point.part: frame.seen(drawing.box(point.part), width, height) for point, _ in state.points}
        return Seen(
            frame.cut_out(pixels, width, height) if nearer else pixels,
            boxes,
            [frame.seen(box, width, height) for box in drawing.words()],
            [frame.seen(box, width, height) for box in drawing.title()],
        )

    def _samples(self, point: Pointing) -> list[tuple[Seen, dict[str, Any]]]:
        """What is seen, and the knobs, at some moments while a part is pointed at, from as near as it comes."""
        ends = min(point.until, self.entry.ends)
        fully = [point.at + COMES_SECONDS, (point.at + ends) / 2, max(ends - GOES_SECONDS, point.at + COMES_SECONDS)]
        moments = [*fully, *(stop.at for stop in self.entry.timeline.stops if fully[0] < stop.at < fully[-1])]
        states = [self.state(seconds) for seconds in moments[:_MOST_SAMPLES]]
        return [(self._seen(state).kept(), state.moment.values) for state in states]

    def _fine(self) -> _Drawing:
        """The same at a higher density, to be looked at from nearer."""
        if self._finer is None:
            size = replace(self.size, dpi=self.size.dpi * FINER)
            self._finer = _Drawing(Stage(self.entry.exhibit, size, self._theme, title=self.entry.act.title))
        return self._finer


class _Drawing:
    """A stage, and the pictures over which others fade in."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self._count: int | None = None
        self._before: tuple[int | None, Pixels] | None = None
        self._old: tuple[float, Pixels] | None = None

    def pixels(self, state: State) -> Pixels:
        """The picture in a state, without anything that points."""
        if state.fading is None:
            self._old = None
            return self._built(state)
        began, before = state.fading
        if self._old is None or self._old[0] != began:
            self._old = began, self._built(before()).copy()
        return blended(self._old[1], self._built(state), EASES["in and out"](state.fades))

    def _built(self, state: State) -> Pixels:
        before, after, way = state.build
        if way >= 1:
            self._before = None
            return self._drawn(state, after)
        if self._before is None or self._before[0] != before:
            self._before = before, self._drawn(state, before).copy()
        return blended(self._before[1], self._drawn(state, after), EASES["in and out"](way))

    def _drawn(self, state: State, count: int | None) -> Pixels:
        if count != self._count:
            self._stage.on_stage(count)
            self._count = count
        moment = state.moment
        if moment.there is None:
            self._stage.move(moment.values, state.playing)
        else:
            self._stage.between(moment.values, moment.there, moment.way, fading=not moment.quick)
        return self._stage.pixels()

    def box(self, part: str) -> Bbox:
        """Where a part is in the picture as it was drawn last."""
        return self._stage.box(part)

    def words(self) -> list[Bbox]:
        """Where words are in it."""
        return [text.get_window_extent() for text in self._stage.texts()]

    def title(self) -> list[Bbox]:
        """Where its title is, if it has one."""
        return [text.get_window_extent() for text in self._stage.texts() if text.get_label() == HEADING]
