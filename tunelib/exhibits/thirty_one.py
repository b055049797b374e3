"""The thirty-one notes on a ring, by pitch and by fifths, and what is between one letter and the next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Polygon, Rectangle

from tunelib.exhibits.circle import Around
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches
from tunelib.exhibits.look import Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    FloatArray,
    Note,
    cents,
    drawn,
    equal,
    interval_names,
    nearest_note,
    plain,
    ratio_from_cents,
    spell,
    spell_on_chain,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C4 = Note.parse("C4").hz(THIRTY_ONE)
_TWELVES_C = cents(Note.parse("C4").hz() / _C4)  # from the C of thirty-one, when both have the same A
_TWELVE = equal(12)
_ORDERS = ("by pitch", "by fifths")
_NAMES = ("with halves", "along the fifths")
_STEPS = len(THIRTY_ONE)
_FIFTHS_OF_A_STEP = 19  # 19 fifths of 18 steps are one step and eleven octaves
_LETTERS = tuple(step for step in range(_STEPS) if len(spell(step, THIRTY_ONE).name) == 1)
_BETWEEN = np.array([step for step in range(_STEPS) if step not in _LETTERS])
_MOST_RUNGS = 1 + max(np.diff([*_LETTERS, _STEPS]).tolist())
_WORDS_FOR = {2: "two", 3: "three", 5: "five"}


def pair(lower: float, upper: float, onset: float) -> tuple[ScoreNote, ...]:
    """Two notes one after the other, and then together."""
    return (
        ScoreNote(onset=onset, duration=0.9, hertz=lower, voice="lower", level=0.4),
        ScoreNote(onset=onset + 1.0, duration=0.9, hertz=upper, voice="upper", level=0.4),
        ScoreNote(onset=onset + 2.0, duration=2.0, hertz=lower, voice="lower", level=0.4),
        ScoreNote(onset=onset + 2.0, duration=2.0, hertz=upper, voice="upper", level=0.4),
    )


class RingOf31(Exhibit):
    """All thirty-one notes on a ring, in order of pitch or in order of fifths, under either of their names."""

    name: ClassVar[str] = "ring_of_31"
    title: ClassVar[str] = "The map of thirty-one"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("step", "Step", 0, 30, 1, 9),
        Choice("order", "In order", _ORDERS, "by pitch", ordered=True),
        Choice("names", "Named", _NAMES, "with halves", ordered=True),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "ring": "the thirty-one notes of an octave",
        "letters": "the seven letters",
        "twelve": "the twelve notes of a piano",
        "between": "the steps from one letter to the next",
        "note": "the chosen note on the ring",
        "name": "the chosen note and its interval from C",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("ring",),
        ("letters",),
        ("twelve",),
        ("note", "name"),
        ("between",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, tint = look.theme, look.theme.thirty_one
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        ring = _Ring(look)
        round_it: dict[str, Any] = {"transform": Around(ring.centre) + axes.transData}
        wedge = Polygon(
            ring.sector(0, 0), closed=True, fc=tint.fill, ec=tint.dim, lw=1.2, joinstyle="round", zorder=1, **round_it
        )
        axes.add_patch(wedge)
        axes.plot(*ring.at(np.linspace(0, 1, 241)), color=theme.line, lw=1.2, zorder=1.5, **round_it)
        (between,) = axes.plot([], [], "o", ms=9, color=tint.dim, **look.ring(), **round_it)
        (letters,) = axes.plot([], [], "o", ms=12, color=tint.full, **look.ring(), **round_it)
        (keys,) = axes.plot([], [], "s", ms=7, color=theme.twelve.full, **round_it)
        piano = look.text(axes, 0, ring.piano, "piano", ha="center", va="center", color=theme.grey, **round_it)
        (hand,) = axes.plot([], [], color=theme.ink, lw=4, solid_capstyle="round", **round_it)
        (here,) = axes.plot([], [], "o", ms=20, color=tint.full, mec=theme.ink, mew=3, **round_it)
        (sounding,) = axes.plot([], [], "o", ms=17, color=theme.ink, label="sounding", **look.ring(), **round_it)
        labels = [look.text(axes, 0, 0, ha="center", va="center", **round_it) for _ in range(_STEPS)]
        x, y = ring.centre
        middle = look.headline(axes, x, y + look.fit(0.12, 0.14), below=True, ha="center")
        lower = look.text(axes, x, y - look.fit(0.58, 0.66), size="name", ha="center")
        lens = None if look.square else _Lens(axes, look)
        said: dict[str, Any] = {}

        def update(step: int, order: str, names: str) -> None:
            by_pitch = order == _ORDERS[0]
            chained = names == _NAMES[1]
            places = self._places(order)
            turns = places / _STEPS
            for number, (text, turn) in enumerate(zip(labels, turns.tolist(), strict=True)):
                text.set_text(self._named(number, chained))
                text.set_position((turn, ring.names))
                text.set_color(theme.ink if number in (*_LETTERS, step) else theme.grey)
                text.set_fontweight("bold" if number in (*_LETTERS, step) else "normal")
            between.set_data(*ring.at(turns[_BETWEEN]))
            letters.set_data(*ring.at(turns[list(_LETTERS)]))
            keys.set_data(*ring.at(np.arange(12) / 12 + _TWELVES_C / CENTS_PER_OCTAVE, ring.keys))
            for artist in (keys, piano):
                artist.set_visible(by_pitch)
            piano.set_position((ring.beside_hand(step / _STEPS), ring.piano))
            low, high = _letters_around(step)
            start = int(places[low])
            way = (int(places[high % _STEPS]) - start + 15) % _STEPS - 15
            wedge.set_xy(ring.sector(start / _STEPS, (start + way) / _STEPS))
            hand.set_data([turns[step]] * 2, ring.hand)
            here.set_data(*ring.at(turns[[step]]))
            sounding.set_data(*ring.at(np.full(2, np.nan)))
            middle.say(self._named(step, chained), interval_names(step, THIRTY_ONE)[0].name)
            size = f"{plain(float(THIRTY_ONE.cents_of(step)))} cents"
            lower.set_text(size if by_pitch else _fifths_away(step))
            if lens:
                lens.show(step, chained, by_pitch, abs(way))
            said.update(turns=turns, step=step)

        def light(playing: Playing) -> None:
            heard = {0 if note in (0, 2) else said["step"] for note in playing.notes}
            turns = [said["turns"][step] if step in heard else np.nan for step in (0, said["step"])]
            sounding.set_data(*ring.at(np.array(turns)))

        of_letters = [labels[step] for step in _LETTERS]
        of_others = [labels[step] for step in _BETWEEN.tolist()]
        seen = lens.artists if lens else ()
        parts = {
            "ring": (between, *of_others),
            "letters": (letters, *of_letters),
            "twelve": (keys, piano),
            "between": (wedge, *seen),
            "note": (here, hand),
            "name": (*middle.artists, lower),
        }
        moving = (wedge, between, keys, piano, letters, hand, here, sounding, *labels, *middle.artists, lower)
        return Scene((*moving, *(lens.moving if lens else ())), update, light, parts)

    @staticmethod
    def _places(order: str) -> Any:
        """Where on the ring each note is, by its number of steps above C.

        In order of fifths that is as near to its place in order of pitch as going round from there can have it.
        """
        steps = np.arange(_STEPS)
        half = _STEPS // 2
        return steps if order == _ORDERS[0] else steps + ((_FIFTHS_OF_A_STEP - 1) * steps + half) % _STEPS - half

    @staticmethod
    def _named(step: int, chained: bool) -> str:
        return (spell_on_chain if chained else spell)(step, THIRTY_ONE).name

    def sentence(self, step: int, order: str, names: str) -> str:
        size = float(THIRTY_ONE.cents_of(step))
        shown, other = (drawn(self._named(step, along == (names == _NAMES[1]))) for along in (True, False))
        other_way = _NAMES[names == _NAMES[0]]
        also = f", and the same {other_way}" if shown == other else f", and {other_way} {other}"
        way = "C itself" if step == 0 else f"{_fifths_away(step)} from C"
        return (
            f"On the ring {order}, step {step} of 31 is {shown} {names}{also}: {plain(size)} cents above "
            f"C, the {interval_names(step, THIRTY_ONE)[0].name}, {way}."
        )

    def numbers(self, step: int, order: str, names: str) -> Mapping[str, str]:
        nearest, away = _nearest_key(step)
        return {
            "cents": plain(float(THIRTY_ONE.cents_of(step))),
            "note": self._named(step, names == _NAMES[1]),
            "fifths": str(abs(int(spell_on_chain(step, THIRTY_ONE).fifths))),
            "key": nearest,
            "away": plain(abs(away)),
            "hertz": plain(_hertz(step)),
        }

    def score(self, step: int, order: str, names: str) -> Score:
        return Score(pair(_C4, _hertz(step), 0.0), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _hertz(step: int) -> float:
    return float(_C4 * ratio_from_cents(float(THIRTY_ONE.cents_of(step))))


def _fifths_away(step: int) -> str:
    fifths = int(spell_on_chain(step, THIRTY_ONE).fifths)
    return f"{times(abs(fifths), 'fifth')} {'up' if fifths > 0 else 'down'}" if fifths else "where it begins"


def _letters_around(step: int) -> tuple[int, int]:
    """The letter at or below a note and the next one above it, in steps above C."""
    low = max(letter for letter in _LETTERS if letter <= step)
    return low, min(letter for letter in (*_LETTERS, _STEPS) if letter > low)


def _nearest_key(step: int) -> tuple[str, float]:
    """The nearest of twelve, and how far a note is above it, in cents."""
    nearest, away = nearest_note(_hertz(step))
    return nearest.name, float(away)


def _side(away: float) -> str:
    return "above" if away > 0 else "below"


class _Ring:
    """Where the ring is, and what is at which distance from its centre, in inches."""

    def __init__(self, look: Look) -> None:
        free = field_of(look)
        width, height = look.inches
        self.radius = look.fit(1.82, 1.76, 1.53)
        self.names = self.radius + look.fit(0.32, 0.34, 0.32)
        edge = self.names + 0.17
        self.keys = self.radius - look.fit(0.25, 0.25, 0.22)
        self.piano = self.keys - look.fit(0.24, 0.26, 0.22)
        self.hand = (self.keys - look.fit(0.66, 0.5, 0.32), self.keys - 0.1)
        self.inner = self.keys - 0.11
        self.centre = look.fit(
            (free.right - edge, height / 2), (width / 2, free.top - edge), (width / 2, (free.top + free.bottom) / 2)
        )

    def at(self, turns: Any, radius: float | None = None) -> tuple[FloatArray, FloatArray]:
        """Places on the ring, unless at another distance: turns clockwise from the top, and distances."""
        places = np.asarray(turns, dtype=float)
        return places, np.full(places.shape, self.radius if radius is None else radius)

    @staticmethod
    def beside_hand(turn: float) -> float:
        """Where the squares are named, in turns: at the bottom, or at the top while the hand is there."""
        return 0.0 if abs(turn - 0.5) < 0.12 else 0.5

    def sector(self, start: float, end: float) -> FloatArray:
        """A part of the ring and of what is beside it, with half a place at either end."""
        half = 0.42 / _STEPS
        low, high = sorted((start, end))
        turns = np.linspace(low - half, high + half, 40)
        outer, inner = self.at(turns, self.names + 0.19), self.at(turns[::-1], self.inner)
        return np.column_stack([np.concatenate(sides) for sides in zip(outer, inner, strict=True)])


class _Lens:
    """The steps from the letter at or below the note to the next letter, large, beside the keys of a piano there."""

    def __init__(self, axes: Any, look: Look) -> None:
        theme, tint = look.theme, look.theme.thirty_one
        free = field_of(look)
        top = look.fit(free.top - 0.42, 3.2)
        right = look.fit(4.42, free.right)
        ground = Rectangle(
            (free.left, free.bottom), right - free.left, top - free.bottom, fc=tint.fill, ec=tint.dim, lw=1.2
        )
        axes.add_patch(ground)
        self._heights = free.bottom + 0.34, top - look.fit(0.68, 0.74)
        self._x = {"key name": free.left + 0.5, "key": free.left + 0.75, "note": free.left + look.fit(1.5, 1.65)}
        self._x |= {"name": free.left + look.fit(1.74, 1.9), "words": free.left + look.fit(2.25, 2.5)}
        self._ink, self._grey = theme.ink, theme.grey
        self._said = look.text(axes, free.left, top + 0.16, size="name")
        heads = [
            look.text(axes, self._x[column], top - look.fit(0.34, 0.38), words, ha="center", color=theme.grey)
            for column, words in (("key", "piano"), ("note", "thirty-one"))
        ]
        (pole,) = axes.plot([self._x["note"]] * 2, self._heights, color=tint.dim, lw=2.5, solid_capstyle="round")
        self._miss = Rectangle((0, 0), 0, 0, fc=theme.twelve.fill, ec=theme.twelve.full, lw=1.2)
        axes.add_patch(self._miss)
        (self._rungs,) = axes.plot([], [], "o", ms=11, color=tint.full, mec=tint.fill, mew=2)
        (self._keys,) = axes.plot([], [], "s", ms=11, color=theme.twelve.full, mec=tint.fill, mew=2)
        (self._here,) = axes.plot([], [], "o", ms=21, color=tint.full, mec=theme.ink, mew=3)
        self._names = [look.text(axes, 0, 0, size="name", va="center") for _ in range(_MOST_RUNGS)]
        self._key_names = [look.text(axes, 0, 0, ha="right", va="center") for _ in range(4)]
        self._away = look.text(axes, 0, 0, va="center", weight="bold")
        self._from = look.text(axes, 0, 0, va="center")
        self._line = 0.68 * look.size("label") / 72  # half of what two lines are apart, in inches
        self.moving = (
            self._said, self._miss, self._keys, self._rungs, self._here, *self._names, *self._key_names, self._away,
            self._from,
        )  # fmt: skip
        self.artists = (ground, pole, *heads, *self.moving)

    def show(self, step: int, chained: bool, by_pitch: bool, way: int) -> None:
        """The letters around a note, the notes between them, and how far the note is from the nearest key."""
        low, high = _letters_around(step)
        count = high - low
        named = RingOf31._named
        ends = f"{named(low, False)} to {named(high % _STEPS, False)}"
        far = f"{_WORDS_FOR[count]} steps" if by_pitch else f"{_WORDS_FOR[way]} fifths{'' if count == 5 else ' down'}"
        self._said.set_text(f"{ends}: {far}")
        heights = np.full(_MOST_RUNGS, np.nan)
        heights[: count + 1] = self._height(THIRTY_ONE.cents_of(np.arange(low, high + 1)), low, high)
        self._rungs.set_data(np.full(_MOST_RUNGS, self._x["note"]), heights)
        for rung, text in enumerate(self._names):
            text.set_visible(rung <= count)
            if rung <= count:
                chosen = low + rung == step
                text.set_text(named((low + rung) % _STEPS, chained))
                text.set_position((self._x["name"] + (0.04 if chosen else 0), heights[rung]))
                text.set_color(self._ink if chosen else self._grey)
        first = float(THIRTY_ONE.cents_of(low)) - _TWELVES_C
        keys = np.arange(4) + round(first / 100)
        at = self._height(100 * keys + _TWELVES_C, low, high)
        seen = at < self._heights[1] + 0.2
        at[~seen] = np.nan
        self._keys.set_data(np.full(4, self._x["key"]), at)
        for key, shown, height, text in zip(keys.tolist(), seen.tolist(), at.tolist(), self._key_names, strict=True):
            text.set_visible(shown)
            if shown:
                text.set_text(spell(key, _TWELVE).name)
                text.set_position((self._x["key name"], height))
        nearest, away = _nearest_key(step)
        mine = float(THIRTY_ONE.cents_of(step))
        here, there = self._height(np.array([mine, mine - away]), low, high).tolist()
        self._miss.set_bounds(self._x["key"], there, self._x["note"] - self._x["key"], here - there)
        self._here.set_data([self._x["note"]], [here])
        same = abs(away) < 0.05
        self._away.set_text("the same" if same else f"{plain(abs(away))} cents")
        self._from.set_text(f"as the piano's {nearest}" if same else f"{_side(away)} the piano's {nearest}")
        for text, line in ((self._away, 1), (self._from, -1)):
            text.set_position((self._x["words"], here + line * self._line))

    def _height(self, sizes: Any, low: int, high: int) -> FloatArray:
        """The height of cents above C, where two letters are at the ends."""
        start, end = THIRTY_ONE.cents_of(np.array([low, high]))
        bottom, top = self._heights
        return np.asarray(bottom + (np.asarray(sizes) - start) / (end - start) * (top - bottom))
