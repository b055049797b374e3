"""Voice leading by the smallest step: a chain of chords in which hardly anything moves, and far places are reached."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.look import Look
from tunelib.export import printed_symbol
from tunelib.harmony import Chord, Leading, lead, smooth_chain
from tunelib.pitch import CENTS_PER_OCTAVE, THIRTY_ONE, FloatArray, IntArray, cents, equal, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_TWELVE = equal(12)
_FAMILIES = (
    "maj7", "harm7", "mharm7", "subharm7", "neumid7", "m7", "mmaj7", "supmaj7", "submid7", "dim7", "m7b5", "7",
)  # fmt: skip
_MOVES, _MOST_STEPS, _HELD = 8, 2, 2
_VOICES = 4
_CHAINS = ("in thirty-one", "in twelve")
_TEMPO = 54
_LAST = 2  # beats that the last chord sounds


@lru_cache(maxsize=1)
def smallest_chain() -> tuple[tuple[Chord, ...], Leading]:
    """The chain of the exhibit, found by search, and how its voices go."""
    chords = smooth_chain(Chord.parse("Cmaj7"), _FAMILIES, _MOVES, THIRTY_ONE, _MOST_STEPS, _HELD)
    start = [note.step(THIRTY_ONE) for note in chords[0].notes]
    return chords, lead(start, chords[1:], THIRTY_ONE)


@lru_cache(maxsize=1)
def _in_twelve() -> Leading:
    """The same voices, each note on the nearest key of twelve."""
    _, leading = smallest_chain()
    above = cents(THIRTY_ONE.hz(np.array(leading.voices)) / _TWELVE.hz(0))
    keys, _ = _TWELVE.nearest(above)
    return Leading(tuple(tuple(row) for row in keys.tolist()), _TWELVE)


def _leading(chain: str) -> Leading:
    return smallest_chain()[1] if chain == _CHAINS[0] else _in_twelve()


class SmallestMoves(Exhibit):
    """A chain of chords in which no voice moves more than two steps, and the same harmonies in twelve."""

    name: ClassVar[str] = "smallest_moves"
    title: ClassVar[str] = "The smallest step"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("position", "Chord", 1, _MOVES + 1, 1, 5),
        Choice("chain", "The chain", _CHAINS, _CHAINS[0], ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "12": {"chain": "in twelve"},
        "31": {"chain": "in thirty-one"},
    }
    parts: ClassVar[Mapping[str, str]] = {
        "voices": "the four voices of the whole chain",
        "chords": "the names of the chords",
        "held": "the voices that hold, as far as the chord",
        "moves": "the voices that have moved so far",
        "step": "the voices that move into the chord, and how far",
        "notes": "the notes of the chord",
        "number": "how far the voices move into the chord, added up",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("voices",), ("chords",), ("held", "moves"), ("step", "number"))
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Chain(figure, look)
        now: dict[str, str] = {}

        def update(position: int, chain: str) -> None:
            now["chain"] = chain
            picture.show(position - 1, chain)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                picture.sound(playing.seconds * _TEMPO / 60, playing.notes[0] // _VOICES, now["chain"])

        return Scene(picture.moving, update, light, picture.parts)

    @staticmethod
    def _move_in_words(position: int, chain: str) -> str:
        """How the voices came to a chord."""
        if position == 1:
            return "the beginning"
        unit = "step" if chain == _CHAINS[0] else "key"
        moves = np.abs(_leading(chain).motion[position - 2])
        going, total = int(np.count_nonzero(moves)), int(moves.sum())
        if not going:
            return "nothing moves"
        return f"{times(going, 'voice')} by {times(total, unit)} in all"

    def sentence(self, position: int, chain: str) -> str:
        chords, leading = smallest_chain()
        way = " ".join(printed_symbol(chord) for chord in chords[:position])
        moved = self._move_in_words(position, chain)
        reached = "where it begins" if position == 1 else f"({moved})"
        largest = f"no voice of the chain goes farther than {times(leading.largest, 'step')} at a time"
        idle = int(np.count_nonzero(~_in_twelve().motion.any(axis=1)))
        other = f"each note goes to the nearest key, and at {idle} of the {_MOVES} changes of chord nothing moves"
        return (
            f"The chain {chain} as far as chord {position} of {_MOVES + 1} {reached}: {way}; "
            f"{largest if chain == _CHAINS[0] else other}."
        )

    def numbers(self, position: int, chain: str) -> Mapping[str, str]:
        leading = _leading(chain)
        moves = np.abs(leading.motion[position - 2]) if position > 1 else np.zeros(_VOICES, dtype=int)
        cents_in_all = int(moves.sum()) * CENTS_PER_OCTAVE / len(leading.tuning)
        return {
            "chord": printed_symbol(smallest_chain()[0][position - 1]),
            "steps": str(int(moves.sum())),
            "voices": str(int(np.count_nonzero(moves))),
            "cents": f"{cents_in_all:.0f}",
        }

    def score(self, position: int, chain: str) -> Score:
        leading = _leading(chain)
        notes = [
            ScoreNote(
                onset=place,
                duration=1 if place < position - 1 else _LAST,
                hertz=float(hertz),
                voice=str(voice),
                level=0.45,
            )
            for place, steps in enumerate(leading.voices[:position])
            for voice, hertz in enumerate(leading.tuning.hz(np.array(steps)).tolist())
        ]
        return Score(tuple(notes), tempo=_TEMPO)

    def timbre(self, **values: Any) -> Voicing:
        return dict.fromkeys("0123", TIMBRES["reed"])


@lru_cache(maxsize=2)
def _drawn(chain: str) -> tuple[FloatArray, IntArray]:
    """The voices in steps of 31 above the C4 of 31, wherever they are tuned, and how they move in their own steps."""
    leading = _leading(chain)
    hertz = leading.tuning.hz(np.array(leading.voices))
    return np.asarray(cents(hertz / THIRTY_ONE.hz(0))) / CENTS_PER_OCTAVE * len(THIRTY_ONE), leading.motion


@lru_cache(maxsize=2)
def _names(chain: str) -> tuple[tuple[str, ...], ...]:
    """The names of the notes of each chord, from the lowest voice."""
    chords, leading = smallest_chain()
    notes = leading.notes(chords) if chain == _CHAINS[0] else _in_twelve().notes()
    return tuple(tuple(note.name for note in row) for row in notes)


class _Chain:
    """The chain on a picture, in points from the lower left corner of the frame.

    In a wide picture it runs to the right, under the chords' names, each of which has the room that it needs. In
    others it runs down, and opens where the chosen chord is reached, so that what moves there has room beside it.
    """

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look, self._down = look, look.tall
        self._chords = smallest_chain()[0]
        self._wide, self._high = (72 * side * part for side, part in zip(look.inches, look.frame[2:], strict=True))
        axes = look.bare(figure)
        axes.set(xlim=(0, self._wide), ylim=(0, self._high))
        self._axes = axes
        name, label = look.size("name"), look.size("label")
        symbols = [printed_symbol(chord) for chord in self._chords]
        (self._band,) = axes.fill([0, 0, 0, 0], [0, 0, 1, 1], color=theme.ground, lw=0, clip_on=False)
        style: dict[str, Any] = {"solid_capstyle": "round", "solid_joinstyle": "round"}
        (self._ahead,) = axes.plot([], [], color=theme.line, lw=1.2, **style)
        (self._held,) = axes.plot([], [], lw=2.5, **style)
        (self._moved,) = axes.plot([], [], lw=2.5, **style)
        (self._now,) = axes.plot([], [], lw=6, **style)
        (self._head,) = axes.plot([], [], color=theme.ink, lw=1.2)
        (self._dots,) = axes.plot([], [], ms=14, ls="none", **look.ring())
        across: dict[str, Any] = {"ha": "left", "va": "center"} if self._down else {"ha": "center", "va": "center"}
        self._symbols = [look.text(axes, 0, 0, symbol, "name", **across) for symbol in symbols]
        widths = np.array([text.get_window_extent().width for text in self._symbols]) * 72 / figure.figure.dpi
        beside: dict[str, Any] = {"ha": "left" if self._down else "center", "va": "center"}
        self._small = [look.text(axes, 0, 0, color=theme.grey, **beside) for _ in range(_MOVES * _VOICES)]
        self._large = [look.text(axes, 0, 0, size="name", **beside) for _ in range(_VOICES)]
        self._sung = [look.text(axes, 0, 0, weight="bold", **beside) for _ in range(_VOICES)]
        self._number = look.headline(axes, 0, 0, below=self._down)
        low, high = 0.0, float(max(map(max, smallest_chain()[1].voices)))
        if self._down:
            self._opening = look.size("number") + name + 14
            self._pitch_from, self._pitch_to = float(widths.max()) + 26, self._wide - 26
            pace = (self._high - self._opening - 1.3 * name) / _MOVES
            along = np.arange(_MOVES + 1) * pace
            self._stay = min(0.3 * pace, 14.0)
        else:
            gap = (self._wide - widths.sum()) / _MOVES
            along = np.cumsum(widths) - widths / 2 + np.arange(_MOVES + 1) * gap
            self._pitch_from, self._pitch_to = look.size("number") + label + 22, self._high - name - 34
            self._stay = 16.0
        self._scale = (self._pitch_to - self._pitch_from) / (high - low)
        self._along: FloatArray = np.asarray(along, dtype=np.float64)
        self._widths = widths
        self.moving = (
            self._band, self._ahead, self._held, self._moved, self._now, self._head, self._dots, *self._symbols,
            *self._small, *self._large, *self._sung, *self._number.artists,
        )  # fmt: skip
        self.parts = {
            "voices": (self._ahead,),
            "chords": tuple(self._symbols),
            "held": (self._held,),
            "moves": (self._moved, *self._small),
            "step": (self._now, *self._large),
            "notes": (self._dots, *self._sung),
            "number": self._number.artists,
        }

    def show(self, here: int, chain: str) -> None:
        """Show a chord, how it was reached, and what is to come; nothing sounds."""
        pitches, motion = _drawn(chain)
        theme = self._look.theme
        tint = theme.of(31 if chain == _CHAINS[0] else 12)
        along = self._places(here)
        self._head.set_visible(False)
        self._show_band(float(along[here]), here)
        self._ahead.set_data(*self._lines(pitches, along, here, np.ones((_MOVES + 1, _VOICES), dtype=bool)))
        into = np.concatenate([np.zeros((1, _VOICES), dtype=int), motion]) != 0
        reached = (np.arange(_MOVES + 1) <= here)[:, np.newaxis]
        last = (np.arange(_MOVES + 1) == here)[:, np.newaxis]
        for line, chosen, colour in (
            (self._held, reached & ~into, tint.dim),
            (self._moved, reached & into & ~last, tint.full),
            (self._now, into & last, tint.full),
        ):
            line.set_data(*self._lines(pitches, along, here, chosen))
            line.set_color(colour)
        self._dots.set_data(*self._at(np.full(_VOICES, along[here]), pitches[here]))
        self._dots.set(marker=tint.marker, markerfacecolor=tint.full, markersize=14)
        for place, text in enumerate(self._symbols):
            text.set_color(theme.ink if place == here else theme.grey)
            x, y = self._at(along[place], np.zeros(1))
            text.set_position((0, y) if self._down else (x, self._high - 0.6 * self._look.size("name")))
        self._show_moves(here, pitches, motion, along)
        for text, words, pitch in zip(self._sung, _names(chain)[here], pitches[here].tolist(), strict=True):
            x, y = self._at(along[here], pitch)
            text.set_text(words)
            text.set_position((x + 11, y) if self._down else (x, y - 8 - 0.6 * self._look.size("label")))
        self._say(here, chain, motion, along)

    def sound(self, beats: float, here: int, chain: str) -> None:
        """Show the chord that sounds, with a line at the moment of the chain that is heard."""
        self.show(here, chain)
        self._dots.set(markerfacecolor=self._look.theme.ink, markersize=18)
        along = self._places(here)
        moment = float(np.interp(beats, np.arange(_MOVES + 1), along))
        low, high = self._pitch_from - 14, self._pitch_to + 14
        ends = np.array([low, high]), np.full(2, self._high - moment if self._down else moment)
        self._head.set_data(*(ends if self._down else ends[::-1]))
        self._head.set_visible(True)

    def _places(self, here: int) -> FloatArray:
        """How far along each chord is, in points; where the chain runs down it opens before the one shown."""
        if not self._down:
            return self._along
        opened = np.where(np.arange(_MOVES + 1) >= here, self._opening, 0.0)
        return np.asarray(self._along + opened + 0.65 * self._look.size("name"), dtype=np.float64)

    def _at(self, along: Any, pitch: Any) -> tuple[Any, Any]:
        """A place on the picture: along the chain, and at a height of pitch in steps of 31."""
        height = self._pitch_from + self._scale * np.asarray(pitch)
        return (height, self._high - np.asarray(along)) if self._down else (np.asarray(along), height)

    def _lines(
        self, pitches: FloatArray, along: FloatArray, here: int, chosen: npt.NDArray[np.bool_]
    ) -> tuple[FloatArray, FloatArray]:
        """How the voices come to those chords that are chosen for them, and stay there.

        All else is drawn in, under the marks of the chord that is shown, and comes out of them when it is reached.
        """
        before = np.concatenate([along[:1] - self._stay, along[:-1] + self._stay])
        ways = np.stack([before, along - self._stay, along + self._stay, np.full(along.size, np.nan)], axis=1)
        heights = np.concatenate([pitches[:1], pitches[:-1]])
        steps = np.stack([heights, pitches, pitches, pitches], axis=2)  # chords, voices, points
        across = np.broadcast_to(ways[:, np.newaxis, :], steps.shape)
        out = chosen[:, :, np.newaxis]
        drawn_in = np.where(np.isnan(across), np.nan, along[here])
        return self._at(
            np.where(out, across, drawn_in).ravel(), np.where(out, steps, pitches[here][:, np.newaxis]).ravel()
        )

    def _show_band(self, middle: float, here: int) -> None:
        """Ground under the chosen chord and its notes."""
        if self._down:
            half = 0.75 * self._look.size("name")
            corners = [
                (-8, middle - half),
                (self._wide, middle - half),
                (self._wide, middle + half),
                (-8, middle + half),
            ]
            self._band.set_xy([(x, self._high - along) for x, along in corners])
        else:
            half = max(float(self._widths[here]) / 2 + 5, 24.0)
            low, high = self._pitch_from - 30, self._high + 3
            self._band.set_xy(
                [(middle - half, low), (middle + half, low), (middle + half, high), (middle - half, high)]
            )

    def _show_moves(self, here: int, pitches: FloatArray, motion: IntArray, along: FloatArray) -> None:
        """How far each voice moves: in small figures, and in large ones into the chosen chord."""
        size = self._look.size("label")

        def place(text: Any, before: int, voice: int, aside: float) -> None:
            middle = (along[before] + along[before + 1]) / 2
            x, y = self._at(middle, (pitches[before, voice] + pitches[before + 1, voice]) / 2)
            text.set_position((x + aside - 7, y) if self._down else (x, y + aside))

        for text, (before, voice) in zip(self._small, np.ndindex(motion.shape), strict=True):
            text.set_visible(bool(motion[before, voice]) and before != here - 1 and not self._look.square)
            text.set_text(signed(int(motion[before, voice])))
            place(text, before, voice, size)
        for voice, text in enumerate(self._large):
            text.set_visible(here > 0 and bool(motion[here - 1, voice]))
            if here:
                text.set_text(signed(int(motion[here - 1, voice])))
                place(text, here - 1, voice, size + (1 if self._down else 3))

    def _say(self, here: int, chain: str, motion: IntArray, along: FloatArray) -> None:
        """The number: how far the voices move into the chosen chord, beside that change of chord."""
        unit = "step" if chain == _CHAINS[0] else "key"
        total = int(np.abs(motion[here - 1]).sum()) if here else _VOICES
        words = f"{unit if total == 1 else f'{unit}s'} in all" if total else "nothing moves"
        self._number.say(str(total), words if here else "voices")
        if self._down:
            top = float(along[here]) - 0.75 * self._look.size("name") - self._opening
            self._number.move(0, self._high - top - 0.85 * self._look.size("number") - 3)
        else:
            middle = float(along[max(here - 1, 0)] + along[here]) / 2
            room = 7.0 * self._look.size("name")
            self._number.move(min(max(middle, 0.6 * self._look.size("number")), self._wide - room), 2)
