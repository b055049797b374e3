"""A whole tune retuned: every chord as written and as chosen, how far its notes are off, and why it was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist

from tunelib.arrange import tune_score
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.look import Look
from tunelib.export import printed_symbol
from tunelib.harmony import Chord, RetunedChord, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, FloatArray, drawn, equal, plain, times
from tunelib.score import Score
from tunelib.sound import reference_gain, tune_timbres

_TWELVE = equal(12)
_SHEET = parse_lead_sheet("title: Six chords\ntempo: 96\n| Dm7 G7 | Cmaj7 Ab7 | G7 C69 |")
_COUNT = len(_SHEET.chords)
_TUNED = ("31", "12")
_MOST_NOTES = max(len(timed.chord.intervals) for timed in _SHEET.chords)
_OCTAVE = len(THIRTY_ONE)


@lru_cache(maxsize=128)
def _tune(adventure: float, colour: float) -> RetunedTune:
    return retune(_SHEET, THIRTY_ONE, Taste(adventure, colour))


@lru_cache(maxsize=128)
def _heard(adventure: float, colour: float, division: int) -> tuple[Score, float]:
    """The score of the six chords, and its gain."""
    score = tune_score(_tune(adventure, colour), division, "long chords", count_in=False)
    return score, reference_gain(score, tune_timbres())


class RetunedChords(Exhibit):
    """Six chords retuned to a player's taste: the chords chosen, and how far each is off, beside twelve."""

    name: ClassVar[str] = "retuned_chords"
    title: ClassVar[str] = "Six chords, retuned"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("adventure", "Adventure", 0.0, 1.0, 0.1, 0.6),
        Slider("colour", "Dark to bright", -1.0, 1.0, 0.5, 0.0),
        Slider("chord", "Chord", 1, _COUNT, 1, 2),
        Choice("heard", "Hear it in", _TUNED, "31", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "as written": {"heard": "12"},
        "as chosen": {"heard": "31"},
    }
    together: ClassVar[tuple[str, ...]] = ("adventure", "chord", "heard")

    parts: ClassVar[Mapping[str, str]] = {
        "chords": "the chords, one to a line",
        "written": "the notes as they are written",
        "notes": "the notes that are played",
        "moves": "how far notes are moved",
        "price": "how far each chord is off",
        "number": "how far the chord is off in cents",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("chords", "written"), ("notes", "moves"), ("price", "number"))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Lines(figure, look)
        now: dict[str, Any] = {}

        def update(adventure: float, colour: float, chord: int, heard: str) -> None:
            now.update(adventure=adventure, colour=colour, heard=heard)
            picture.show(_tune(round(adventure, 3), round(colour, 3)), chord - 1, int(heard))

        def light(playing: Playing) -> None:
            if playing.seconds is None or not playing.notes:
                return
            tune = _tune(round(now["adventure"], 3), round(now["colour"], 3))
            score, _ = _heard(round(now["adventure"], 3), round(now["colour"], 3), int(now["heard"]))
            begun = score.notes[playing.notes[-1]].onset
            chord = max(i for i, timed in enumerate(_SHEET.chords) if timed.onset <= begun)
            picture.show(tune, chord, int(now["heard"]), sounding=True)

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, adventure: float, colour: float, chord: int, heard: str) -> str:
        tune = _tune(round(adventure, 3), round(colour, 3))
        return (
            f"At adventure {plain(adventure)} and dark to bright {plain(colour)}, heard in {heard}, chord {chord} of "
            f"{_COUNT} is {drawn(tune.chords[chord - 1].why)}"
        )

    def numbers(self, adventure: float, colour: float, chord: int, heard: str) -> Mapping[str, str]:
        retuned = _tune(round(adventure, 3), round(colour, 3)).chords[chord - 1]
        moves = np.abs(_steps(retuned.chord) - _steps(retuned.meant))
        return {
            "cents": plain(_price(retuned, int(heard))),
            "written": plain(retuned.meant.purity(THIRTY_ONE)),
            "steps": str(int(moves.sum())),
            "symbol": printed_symbol(retuned.chord),
        }

    def score(self, adventure: float, colour: float, chord: int, heard: str) -> Score:
        return _heard(round(adventure, 3), round(colour, 3), int(heard))[0]

    def timbre(self, **values: Any) -> Voicing:
        return tune_timbres()

    def gain(self, adventure: float, colour: float, chord: int, heard: str) -> float:
        return _heard(round(adventure, 3), round(colour, 3), int(heard))[1]


def _steps(chord: Chord) -> FloatArray:
    """Where the notes of a chord are above its root, in steps of thirty-one."""
    return np.array([interval.step(THIRTY_ONE) for interval in chord.intervals], dtype=np.float64)


def _places(retuned: RetunedChord, division: int) -> FloatArray:
    """Where the notes that are heard are above their root, in steps of thirty-one: chosen ones, or keys of twelve."""
    if division == _OCTAVE:
        return _steps(retuned.chord)
    keys = np.array([interval.step(_TWELVE) for interval in retuned.meant.intervals], dtype=np.float64)
    return keys * _OCTAVE / division


def _price(retuned: RetunedChord, division: int) -> float:
    """How far the pairs of the chord that is heard are off, in cents."""
    return retuned.purity if division == _OCTAVE else retuned.meant.purity(_TWELVE)


class _Lines:
    """Six chords on a picture, one to a line, in points from the lower left corner of the frame.

    On each line are the notes of a chord within an octave from its root, whatever their octave, rising to the right,
    and under them a bar as long as the chord is off. The chosen line is open: it has room for names and numbers, and
    more of it from step to step where the others have little.
    """

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look = look
        self._wide, self._high = (72 * side * part for side, part in zip(look.inches, look.frame[2:], strict=True))
        self._left, right = look.fit(180.0, 126.0), self._wide - 20
        self._step = (right - self._left) / (_OCTAVE - 1)
        self._open = look.fit(116.0, 200.0, 156.0)  # the height of the chosen line, and where it begins
        self._open_left = look.fit(self._left, 12.0)
        self._open_step = (right - self._open_left) / (_OCTAVE - 1)
        self._closed = (self._high - self._open) / (_COUNT - 1)
        axes = look.bare(figure)
        axes.set(xlim=(0, self._wide), ylim=(0, self._high))
        (self._band,) = axes.fill([0, 0, 0, 0], [0, 0, 1, 1], color=theme.ground, lw=0, clip_on=False)
        butt: dict[str, Any] = {"solid_capstyle": "butt"}
        (self._strings,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._edges,) = axes.plot([], [], lw=14, **butt)
        (self._fills,) = axes.plot([], [], lw=11.5, **butt)
        (self._ghosts,) = axes.plot([], [], "o", ms=11, mfc=theme.behind_text, mec=theme.grey, mew=1.6)
        (self._notes,) = axes.plot([], [], ls="none", ms=11, **look.ring())
        (self._open_ghosts,) = axes.plot([], [], "o", mfc=theme.behind_text, mec=theme.grey, mew=2, ms=look.fit(22, 17))
        (self._held,) = axes.plot([], [], ls="none", ms=look.fit(16, 13), **look.ring())
        (self._moved,) = axes.plot([], [], ls="none", ms=look.fit(22, 17), **look.ring())
        (self._prices,) = axes.plot([], [], lw=4, **butt)
        (self._price,) = axes.plot([], [], lw=9, **butt)
        (self._ticks,) = axes.plot([], [], color=theme.grey, lw=1.6)
        label: dict[str, Any] = {"va": "center"}
        self._written = [look.text(axes, 0, 0, color=theme.grey, **label) for _ in range(_COUNT)]
        self._symbols = [look.text(axes, 0, 0, **label) for _ in range(_COUNT)]
        self._symbol = look.text(axes, 0, 0, size="name", **label)
        self._names = [look.text(axes, 0, 0, weight="bold", ha="center", **label) for _ in range(_MOST_NOTES)]
        self._moves = [look.text(axes, 0, 0, ha="center", weight="bold", **label) for _ in range(_MOST_NOTES)]
        self._as_written = look.text(axes, 0, 0, color=theme.grey, **label)
        self._number = look.headline(axes, 0, 0, below=not look.tall)
        self.moving: tuple[Artist, ...] = (
            self._band, self._strings, self._edges, self._fills, self._ghosts, self._notes, self._open_ghosts,
            self._held, self._moved, self._prices, self._price, self._ticks, *self._written, *self._symbols,
            self._symbol, *self._names, *self._moves, self._as_written, *self._number.artists,
        )  # fmt: skip
        self.parts: Mapping[str, tuple[Artist, ...]] = {
            "chords": (*self._written, *self._symbols, self._symbol, self._strings),
            "written": (self._ghosts, self._open_ghosts),
            "notes": (self._notes, self._held, self._moved, *self._names),
            "moves": (self._edges, self._fills, *self._moves),
            "price": (self._prices, self._price, self._ticks, self._as_written),
            "number": self._number.artists,
        }

    def show(self, tune: RetunedTune, here: int, division: int, sounding: bool = False) -> None:
        """Show a tune in a division, one of its chords open; as it is while that chord sounds, if it does."""
        theme, tint = self._look.theme, self._look.theme.of(division)
        heights = [self._height(line, here) for line in range(_COUNT)]
        octave = [(self._x(0, line == here), self._x(_OCTAVE - 1, line == here), y) for line, y in enumerate(heights)]
        self._strings.set_data(*_level(octave))
        meant = [_steps(retuned.meant) % _OCTAVE for retuned in tune.chords]
        heard = [_places(retuned, division) % _OCTAVE for retuned in tune.chords]
        ways = [
            [(self._x(one, line == here), self._x(other, line == here), heights[line]) for one, other in pairs]
            for line, pairs in enumerate(
                list(zip(ones.tolist(), others.tolist(), strict=True))
                for ones, others in zip(meant, heard, strict=True)
            )
        ]
        for line, colour in ((self._edges, tint.dim), (self._fills, tint.fill)):
            line.set_data(*_level([way for row in ways for way in row]))
            line.set_color(colour)
        every = [way for row in ways for way in row]  # the open line's too, under its larger marks
        self._ghosts.set_data([one for one, _, _ in every], [y for _, _, y in every])
        self._notes.set_data([other for _, other, _ in every], [y for _, _, y in every])
        self._notes.set(marker=tint.marker, markerfacecolor=tint.dim)
        moved = [way for way in ways[here] if way[0] != way[1] and division == _OCTAVE]
        held = [way for way in ways[here] if way not in moved]
        for line, row, which in (
            (self._open_ghosts, moved, 0), (self._moved, moved, 1), (self._held, held, 1),
        ):  # fmt: skip
            marks = (row or ways[here][-1:]) + row[:1] * (_MOST_NOTES - len(row))  # as many whatever moves
            line.set_data([way[which] for way in marks], [y for _, _, y in marks])
            line.set_visible(bool(row))
        for line in (self._moved, self._held):
            line.set(marker=tint.marker, markerfacecolor=theme.ink if sounding else tint.full)
        if moved and not sounding:
            self._held.set_markerfacecolor(tint.dim)
        top = heights[here] + self._above()
        self._band.set_xy(
            [(-8, top), (self._wide + 8, top), (self._wide + 8, top - self._open), (-8, top - self._open)]
        )
        self._show_prices(tune, here, division, heights)
        self._show_symbols(tune, here, division, heights)
        self._show_moves(tune.chords[here], meant[here], heard[here], division, heights[here])

    def _above(self) -> float:
        """From the top of the open line down to its notes."""
        return self._look.fit(36.0, 72.0, 60.0)

    def _height(self, line: int, here: int) -> float:
        """The height of the notes on a line, one of them being open."""
        top = self._high - self._closed * line
        if line > here:
            top -= self._open - self._closed
        return float(top - (self._above() if line == here else 0.42 * self._closed))

    def _x(self, step: float, is_open: bool = False) -> float:
        """Where a step above the root is across, on the open line or another."""
        left, unit = (self._open_left, self._open_step) if is_open else (self._left, self._step)
        return float(left + unit * step)

    def _show_prices(self, tune: RetunedTune, here: int, division: int, heights: list[float]) -> None:
        """The bars, how long they would be as written, and the number."""
        tint, label = self._look.theme.of(division), self._look.size("label")
        prices = [_price(retuned, division) for retuned in tune.chords]
        written = [retuned.meant.purity(THIRTY_ONE) for retuned in tune.chords]
        under = [
            y - (self._open - self._above() - 1.1 * label if line == here else 0.4 * self._closed)
            for line, y in enumerate(heights)
        ]
        bars = [
            (self._x(0, line == here), self._x(self._bar(price), line == here), y)
            for line, (price, y) in enumerate(zip(prices, under, strict=True))
        ]
        self._prices.set_data(*_level(bars))
        self._prices.set_color(tint.dim)
        self._price.set_data(*_level(bars[here : here + 1]))
        self._price.set_color(tint.full)
        ticks = [self._x(self._bar(price), line == here) for line, price in enumerate(written)]
        half = [7.0 if line == here else 4.0 for line in range(_COUNT)]
        up = [y for middle, reach in zip(under, half, strict=True) for y in (middle - reach, middle + reach, np.nan)]
        self._ticks.set_data([x for tick in ticks for x in (tick, tick, np.nan)], up)
        alike = division == _OCTAVE
        self._as_written.set_text(f"{'as written' if alike else 'in 31:'} {plain(written[here])}")
        end = max(prices[here], written[here])
        self._as_written.set_position((self._x(self._bar(end), True) + 8, under[here]))
        self._number.say(plain(prices[here]), "cents off")
        foot = heights[here] + self._above() - self._open
        if self._look.tall:
            width = sum(0.27 if letter == "." else 0.52 for letter in plain(prices[here]))  # as the typeface has them
            self._number.move(self._open_left + width * self._look.size("number"), foot + 2.3 * label)
        else:
            self._number.move(0, foot + 10 + 1.7 * self._look.size("name"))

    @staticmethod
    def _bar(cents: float) -> float:
        """How long the bar of a price is, in steps of the lines."""
        return 1.4 * cents

    def _show_symbols(self, tune: RetunedTune, here: int, division: int, heights: list[float]) -> None:
        """The chord symbols, each set in one line: as written, and as they are heard."""
        theme, wide = self._look.theme, not self._look.tall
        for line, (retuned, y) in enumerate(zip(tune.chords, heights, strict=True)):
            middle = y + (self._above() - 0.95 * self._look.size("name") if line == here else 0.0)
            meant = printed_symbol(retuned.meant)
            chosen = printed_symbol(retuned.chord) if division == _OCTAVE else meant
            changed = chosen != meant
            beside = 3.9 * self._look.size("label") if changed and (wide or line == here) else 0.0
            self._written[line].set_text(meant)
            self._written[line].set_visible(bool(beside))
            self._written[line].set_position((0, middle))
            self._symbols[line].set_visible(line != here)
            self._symbols[line].set_text(chosen)
            self._symbols[line].set_color(theme.ink if changed else theme.grey)
            self._symbols[line].set_position((beside, middle))
            if line == here:
                self._symbol.set_text(chosen)
                self._symbol.set_position((beside, middle))

    def _show_moves(self, retuned: RetunedChord, meant: FloatArray, heard: FloatArray, division: int, y: float) -> None:
        """The names of the notes that are heard, and in words how far they were moved."""
        label = self._look.size("label")
        notes = (retuned.chord if division == _OCTAVE else retuned.meant).notes
        for i, (name, move) in enumerate(zip(self._names, self._moves, strict=True)):
            shown = i < len(notes)
            steps = int(heard[i] - meant[i]) if shown and division == _OCTAVE else 0
            name.set_visible(shown)
            move.set_visible(bool(steps))
            if shown:
                name.set_text(notes[i].name)
                name.set_position((self._x(heard[i], True), y + 10 + 0.75 * label))
                move.set_text(f"{'up' if steps > 0 else 'down'} {times(abs(steps), 'step')}")
                middle = self._x((heard[i] + meant[i]) / 2, True)
                move.set_position((min(middle, self._wide - 3.0 * label), y - 11 - 0.75 * label))


def _level(ways: list[tuple[float, float, float]]) -> tuple[list[float], list[float]]:
    """Level lines, each from a place to another at a height."""
    return [x for start, end, _ in ways for x in (start, end, np.nan)], [y for *_, y in ways for y in (y, y, np.nan)]
