"""An exhibit's pictures made beforehand, for a page that has no Python behind it.

Where an exhibit has few settings, all of them are made. Where it has more, some of its knobs are moved together, and
each of the others by itself while the rest stay where they begin. A slider with many stops keeps some of them, at round
values; an exhibit that knows better says which (`Exhibit.stops`) and which knobs go together (`Exhibit.together`).

Pictures are kept as mosaics, since they have most of their parts in common (`tunelib.show.mosaic`), in colours rounded
to 32 shades of red, green and blue. Sounds are programs for the player, taken apart, since many of them share their
tones.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.exhibits import Choice, Exhibit, Knob, Slider, Switch
from tunelib.live import exhibit_program
from tunelib.pitch import plain
from tunelib.show.mosaic import Mosaics, webp
from tunelib.show.sounds_ahead import Sounds
from tunelib.show.stage import Stage, find_size

MOST_SETTINGS = 400
"""An exhibit with no more settings has them all."""
MOST_TOGETHER = 200
"""Settings of the knobs that are moved together, in an exhibit that has more."""
MOST_STOPS = 61
"""Stops of a slider; its ends, its start and what is compared may come on top."""

_ROUND = (1, 2, 5)
_Pixels = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Row:
    """The stops of one knob: their values, and which of them is the start."""

    knob: Knob
    values: tuple[Any, ...]
    start: int

    @property
    def thinned(self) -> bool:
        """Whether the knob has more stops in a notebook than here."""
        return isinstance(self.knob, Slider) and len(self.values) < _count(self.knob)

    @property
    def slides(self) -> bool:
        """Whether it is moved by a slider."""
        return isinstance(self.knob, Slider) or (isinstance(self.knob, Choice) and self.knob.ordered)

    def said(self, value: Any) -> str:
        """A value as it is read, with its unit."""
        if not isinstance(self.knob, Slider):
            return str(value) if isinstance(self.knob, Choice) else ("on" if value else "off")
        number = plain(value, 1 if self.knob.logarithmic else _decimals(self.knob))
        return f"{number} {self.knob.unit}".rstrip()


@dataclass(frozen=True)
class Setting:
    """What is seen, said and heard at one setting, as indices but for the words.

    `others` are its sounds in the other ways to tune it (`Exhibit.comparisons`), and `chosen` is the place of the one
    that `sound` is among them, or -1. Where the knobs make no sense together, `picture` and `sound` are None, `words`
    say why, and the picture stays what it was.
    """

    picture: int | None
    words: str
    sound: int | None
    others: tuple[int, ...] = ()
    chosen: int = -1


@dataclass(frozen=True)
class Ahead:
    """All that a page needs to move an exhibit: what `ahead` makes.

    Parameters
    ----------
    exhibit : Exhibit
    rows : tuple of Row
        One for each knob, in their order.
    together : tuple of int
        Which rows are moved together: the settings of these come first, as `itertools.product` has them.
    places : tuple of int
        Indices into `settings`: first for the rows that are moved together, then for each of the others, in order, one
        for each of its stops.
    settings : tuple of Setting
    pictures : Mosaics
    sounds : Sounds
    first : bytes
        The picture at the start, as WebP.
    """

    exhibit: Exhibit
    rows: tuple[Row, ...]
    together: tuple[int, ...]
    places: tuple[int, ...]
    settings: tuple[Setting, ...]
    pictures: Mosaics
    sounds: Sounds
    first: bytes

    @property
    def start(self) -> Setting:
        """The setting that is shown first."""
        place = 0
        for index in self.together:
            place = place * len(self.rows[index].values) + self.rows[index].start
        return self.settings[self.places[place]]


def ahead(exhibit: Exhibit, values: Mapping[str, Any]) -> Ahead:
    """Make an exhibit's pictures, sentences and sounds beforehand.

    Parameters
    ----------
    exhibit : Exhibit
    values : mapping
        Where the knobs start; the others start at their defaults.

    Raises ValueError as `Exhibit.settle`, and ImportError where a package that the picture needs is missing.
    """
    start = exhibit.settle(values)
    rows = tuple(_row(exhibit, knob, start[knob.name]) for knob in exhibit.knobs)
    together = _moved_together(exhibit, rows)
    maker = _Maker(exhibit)
    places = tuple(maker.setting(values) for values in _walk(rows, together, start))
    first = webp(maker.pixels(start))
    return Ahead(exhibit, rows, together, places, tuple(maker.settings), maker.pictures, maker.sounds, first)


class _Maker:
    """Draws settings one after another, and keeps each picture and sound once."""

    def __init__(self, exhibit: Exhibit) -> None:
        self.settings: list[Setting] = []
        self.pictures = Mosaics(*find_size("panel").pixels)
        self.sounds = Sounds()
        self._exhibit = exhibit
        self._stage = Stage(exhibit)
        self._found: dict[Any, int] = {}

    def setting(self, values: dict[str, Any]) -> int:
        """The index of the setting with these values, which is made if it is new."""
        key = tuple(values.values())
        if key not in self._found:
            self._found[key] = len(self.settings)
            self.settings.append(self._made(values))
        return self._found[key]

    def _made(self, values: dict[str, Any]) -> Setting:
        if why := self._exhibit.clash(**values):
            return Setting(None, f"{why[:1].upper()}{why[1:]}.", None)
        ways = self._exhibit.comparisons.values()
        others = tuple(self._sound({**values, **way}) for way in ways)
        chosen = next((place for place, way in enumerate(ways) if way.items() <= values.items()), -1)
        picture = self.pictures.add(self.pixels(values))
        return Setting(picture, self._exhibit.sentence(**values), self._sound(values), others, chosen)

    def _sound(self, values: dict[str, Any]) -> int:
        """The index of what is heard."""
        key = ("heard", *values.values())
        if key not in self._found:
            self._found[key] = self.sounds.add(exhibit_program(self._exhibit, values))
        return self._found[key]

    def pixels(self, values: dict[str, Any]) -> _Pixels:
        """The picture with these values, in rounded colours."""
        self._stage.move(values)
        return _rounded(self._stage.pixels())


def _walk(rows: tuple[Row, ...], together: tuple[int, ...], start: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The settings that a page can reach, in the order of `Ahead.places`."""
    names = [rows[index].knob.name for index in together]
    for values in product(*(rows[index].values for index in together)):
        yield start | dict(zip(names, values, strict=True))
    for index, row in enumerate(rows):
        if index not in together:
            yield from (start | {row.knob.name: value} for value in row.values)


def _moved_together(exhibit: Exhibit, rows: tuple[Row, ...]) -> tuple[int, ...]:
    """Which knobs are moved together: all, those that the exhibit names, or those with the most settings that go."""

    def count(indices: tuple[int, ...]) -> int:
        return math.prod(len(rows[index].values) for index in indices)

    everything = tuple(range(len(rows)))
    if count(everything) <= MOST_SETTINGS:
        return everything
    if exhibit.together:
        return tuple(index for index in everything if rows[index].knob.name in exhibit.together)
    sets = [found for size in range(len(rows)) for found in combinations(everything, size)]
    return max((found for found in sets if len(found) > 1 and count(found) <= MOST_TOGETHER), key=count, default=())


def _row(exhibit: Exhibit, knob: Knob, start: Any) -> Row:
    if isinstance(knob, Switch):
        values: tuple[Any, ...] = (False, True)
    elif isinstance(knob, Choice):
        values = knob.options
    else:
        compared = [way[knob.name] for way in exhibit.comparisons.values() if knob.name in way]
        values = tuple(sorted({knob.check(value) for value in (*_stops(exhibit, knob, start), *compared, start)}))
    return Row(knob, values, values.index(start))


def _stops(exhibit: Exhibit, knob: Slider, start: float) -> Iterator[float]:
    """Where a slider can stop: everywhere, at the stops that the exhibit names, or at round values and the ends."""
    count = _count(knob)
    by = _apart(count)
    if knob.name in exhibit.stops:
        yield from exhibit.stops[knob.name]
    elif knob.logarithmic:
        below = math.floor(math.log2(start / knob.low) * knob.step + 1e-9)
        above = math.floor(math.log2(knob.high / start) * knob.step + 1e-9)
        yield from (start * 2 ** (n / knob.step) for n in range(-(below // by) * by, above + 1, by))
    else:
        first, last = math.ceil(round(knob.low / knob.step) / by) * by, round(knob.high / knob.step)
        yield knob.low
        yield from (n * knob.step if knob.whole else round(n * knob.step, _decimals(knob))
                    for n in range(first, last, by) if n * knob.step > knob.low)  # fmt: skip
        yield knob.high


def _count(knob: Slider) -> int:
    """How many stops a slider has in a notebook."""
    steps = math.log2(knob.high / knob.low) * knob.step if knob.logarithmic else (knob.high - knob.low) / knob.step
    return math.floor(steps + 1e-9) + 1


def _apart(count: int) -> int:
    """How many steps to go at a time so that not too many stops are left: 1, 2, 5, 10 …"""
    return next(
        by * ten for ten in (1, 10, 100, 1000, 10_000) for by in _ROUND if (count - 1) / (by * ten) < MOST_STOPS
    )


def _decimals(knob: Slider) -> int:
    return len(f"{knob.step:g}".partition(".")[2])


def _rounded(pixels: _Pixels) -> _Pixels:
    """The picture in 32 shades of each colour, black and white among them."""
    shade = (pixels - (pixels >> 5) + np.uint8(4)) >> 3
    return np.asarray(shade << 3 | shade >> 2, dtype=np.uint8)
