"""The thirty-one notes: the ring of them, by pitch and by fifths, and the families of intervals that they make."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    Note,
    cents,
    drawn,
    interval_names,
    nearest_note,
    plain,
    ratio_from_cents,
    signed,
    spell,
    spell_on_chain,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C4 = Note.parse("C4").hz(THIRTY_ONE)
_TWELVES_C = cents(Note.parse("C4").hz() / _C4)  # from the C of thirty-one, when both have the same A
_ORDERS = ("by pitch", "by fifths")
_NAMES = ("with halves", "along the fifths")
_FIFTHS_OF_A_STEP = 19  # 19 fifths of 18 steps are one step and eleven octaves


def _pair(lower: float, upper: float, onset: float) -> tuple[ScoreNote, ...]:
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

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        ring = look.bare(figure, (0.02, 0.02, 0.51, 0.9067), (0.02, 0.36, 0.96, 0.54), (0.155, 0.225, 0.69, 0.69))
        reach = look.fit(1.25, 1.25, 1.2)
        ring.set(xlim=(-reach, reach), ylim=(-reach, reach))
        round_ = np.linspace(0, 2 * np.pi, 200)
        ring.plot(np.sin(round_), np.cos(round_), color=grey, lw=1.5)
        turns = np.arange(31) / 31
        x, y = np.sin(2 * np.pi * turns), np.cos(2 * np.pi * turns)
        ring.plot(x, y, "o", ms=9, color=THIRTY_ONE_COLOUR)
        (keys,) = ring.plot([], [], "s", ms=6, color=TWELVE_COLOUR)
        (spoke,) = ring.plot([], [], color=ink, lw=2.5)
        (here,) = ring.plot([], [], "o", ms=16, mfc="none", mec=ink, mew=2.5)
        beside, over = look.fit((1.15, 1.15), (1.15, 1.15), (1.2, 1.13))
        labels = [
            look.text(ring, beside * across, over * up, ha="center", va="center")
            for across, up in zip(x.tolist(), y.tolist(), strict=True)
        ]
        middle = [
            look.text(ring, 0, height, ha="center", va="center", fontsize=size, weight="bold")
            for height, size in ((0.14, 24), (-0.16, 12))
        ]
        said = look.bare(figure, (0.56, 0.1, 0.41, 0.75), (0.06, 0.04, 0.9, 0.3), (0.06, 0.015, 0.9, 0.205))
        said.set(xlim=(0, 1), ylim=(-0.5, 5.5))
        heads = ("interval from C", "size", "other name", "nearest of twelve", "fifths from C", "in hertz")
        rows = [5 - row for row in range(len(heads))]
        for head, height in zip(heads, rows, strict=True):
            look.text(said, 0, height, head, ha="left", va="center")
        facts = [look.text(said, 0.44, height, ha="left", va="center", weight="bold") for height in rows]

        def update(step: int, order: str, names: str) -> None:
            by_pitch = order == _ORDERS[0]
            chained = names == _NAMES[1]
            places = np.arange(31) if by_pitch else np.arange(31) * _FIFTHS_OF_A_STEP % 31
            for number, place in enumerate(places.tolist()):
                labels[place].set_text(drawn(self._named(number, chained)))
            twelfths = 2 * np.pi * (np.arange(12) / 12 + _TWELVES_C / CENTS_PER_OCTAVE)
            keys.set_data(0.88 * np.sin(twelfths), 0.88 * np.cos(twelfths))
            keys.set_visible(by_pitch)
            at = int(places[step])
            spoke.set_data([0.45 * x[at], 0.93 * x[at]], [0.45 * y[at], 0.93 * y[at]])
            here.set_data([x[at]], [y[at]])
            middle[0].set_text(drawn(self._named(step, chained)))
            middle[1].set_text(f"step {step}")
            for text, fact in zip(facts, self._facts(step, chained), strict=True):
                text.set_text(fact)

        return Scene((keys, spoke, here, *labels, *middle, *facts), update)

    @staticmethod
    def _named(step: int, chained: bool) -> str:
        return (spell_on_chain if chained else spell)(step, THIRTY_ONE).name

    def _facts(self, step: int, chained: bool) -> tuple[str, ...]:
        size = float(THIRTY_ONE.cents_of(step))
        fifths = spell_on_chain(step, THIRTY_ONE).fifths
        other = self._named(step, not chained)
        nearest, away = nearest_note(_C4 * ratio_from_cents(size))
        return (
            interval_names(step, THIRTY_ONE)[0].name,
            f"{plain(size)} cents",
            "the same" if other == self._named(step, chained) else drawn(other),
            f"{nearest.name}, {signed(away)} cents",
            signed(fifths),
            f"{plain(_C4 * ratio_from_cents(size))} Hz",
        )

    def sentence(self, step: int, order: str, names: str) -> str:
        size = float(THIRTY_ONE.cents_of(step))
        shown, other = (self._named(step, along == (names == _NAMES[1])) for along in (True, False))
        other_way = _NAMES[names == _NAMES[0]]
        also = f", and the same {other_way}" if shown == other else f", and {other_way} {other}"
        fifths = int(spell_on_chain(step, THIRTY_ONE).fifths)
        way = "C itself" if fifths == 0 else f"{abs(fifths)} fifths {'up' if fifths > 0 else 'down'} from C"
        return (
            f"On the ring {order}, step {step} of 31 is {drawn(shown)} {names}{drawn(also)}: {plain(size)} cents above "
            f"C, the {interval_names(step, THIRTY_ONE)[0].name}, {way}."
        )

    def score(self, step: int, order: str, names: str) -> Score:
        return Score(_pair(_C4, _C4 * ratio_from_cents(float(THIRTY_ONE.cents_of(step))), 0.0), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


STANDS_FOR = (
    "1/1", "128/125", "21/20", "16/15", "12/11", "9/8", "8/7", "7/6", "6/5", "11/9", "5/4", "9/7", "21/16", "4/3",
    "11/8", "7/5", "10/7", "16/11", "3/2", "32/21", "14/9", "8/5", "18/11", "5/3", "12/7", "7/4", "9/5", "11/6",
    "15/8", "40/21", "125/64", "2/1",
)  # fmt: skip
"""A ratio near each step, by number of steps: Ellis's septimal ones and those of 11 where there is one, and for the "
"smallest
the diesis of quarter-comma. Steps 5 and 26 each stand for two ratios a comma apart, and one of them is given."""

_FAMILIES = ("sub-", "minor", "neutral,\nperfect", "major", "super-")
_ROWS = (
    ("unison", (None, None, 0, None, 1)),
    ("seconds", (2, 3, 4, 5, 6)),
    ("thirds", (7, 8, 9, 10, 11)),
    ("fourths", (12, None, 13, None, 14)),
    ("tritones", (None, 15, None, 16, None)),
    ("fifths", (17, None, 18, None, 19)),
    ("sixths", (20, 21, 22, 23, 24)),
    ("sevenths", (25, 26, 27, 28, 29)),
    ("octave", (30, None, 31, None, None)),
)


class IntervalFamilies(Exhibit):
    """The intervals of thirty-one by number and family, each beside the ratio that it stands for."""

    name: ClassVar[str] = "interval_families"
    title: ClassVar[str] = "Families of intervals"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("step", "Steps", 0, 31, 1, 9),)
    _scale = 0.026  # of a cell's width for each cent that an interval is off
    _places: ClassVar[dict[int, tuple[int, int]]] = {
        step: (column, row)
        for row, (_, steps) in enumerate(_ROWS)
        for column, step in enumerate(steps)
        if step is not None
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink = look.theme.ink
        look.heading(figure, self.title)
        grid = look.bare(figure, (0.13, 0.03, 0.85, 0.84), (0.2, 0.05, 0.78, 0.8))
        rows = len(_ROWS)
        grid.set(xlim=(-0.5, 4.5), ylim=(rows - 0.45, -1.0))
        for column, family in enumerate(_FAMILIES):
            look.text(grid, column, -0.8, family, ha="center", va="center", weight="bold")
        for row, (words, _) in enumerate(_ROWS):
            look.beside(grid, row, words)
        for step, (column, row) in self._places.items():
            off = self._scale * self._error(step)
            grid.plot([column, column], [row + 0.02, row + 0.42], color=PURE_COLOUR, lw=5, solid_capstyle="butt")
            grid.plot([column + off], [row + 0.22], "o", ms=9, color=THIRTY_ONE_COLOUR, mec=ink, mew=0.8)
            look.text(grid, column, row - 0.22, STANDS_FOR[step], ha="center", va="center")
        (box,) = grid.plot([], [], color=ink, lw=2.5)
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(step: int) -> None:
            column, row = self._places[step]
            left, right, top, bottom = column - 0.45, column + 0.45, row - 0.47, row + 0.49
            box.set_data([left, right, right, left, left], [top, top, bottom, bottom, top])
            said.set_text(
                f"{interval_names(step, THIRTY_ONE)[0].name}: {STANDS_FOR[step]} {signed(self._error(step), 2)} cents"
            )

        return Scene((box, said), update)

    @staticmethod
    def _error(step: int) -> float:
        """Cents by which a number of steps are wider than the ratio that they stand for."""
        return float(THIRTY_ONE.cents_of(step)) - cents(STANDS_FOR[step])

    def sentence(self, step: int) -> str:
        size, error = float(THIRTY_ONE.cents_of(step)), self._error(step)
        also = [name.name for name in interval_names(step, THIRTY_ONE)[1:]]
        other = f" (also the {also[0]})" if also else ""
        near = (
            "exactly"
            if abs(error) < 0.005
            else f"{plain(abs(error), 2)} cents {'wider' if error > 0 else 'narrower'} than"
        )
        return (
            f"The {interval_names(step, THIRTY_ONE)[0].name}{other}, {step} steps of 31, has {plain(size)} cents: "
            f"{near} "
            f"{STANDS_FOR[step]}, for which it stands."
        )

    def score(self, step: int) -> Score:
        upper = _C4 * ratio_from_cents(float(THIRTY_ONE.cents_of(step)))
        pure = _C4 * ratio_from_cents(cents(STANDS_FOR[step]))
        together = (
            ScoreNote(onset=4.4, duration=2.0, hertz=hertz, voice=voice, level=0.4)
            for hertz, voice in ((_C4, "lower"), (pure, "pure"))
        )
        return Score((*_pair(_C4, upper, 0.0), *together), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
