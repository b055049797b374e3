"""The gap at the end of a chain of fifths: a progression modulates until it howls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.circle import circle_axes, clockwise
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    Chain,
    Interval,
    Key,
    Note,
    Triad,
    drawn,
    listed,
    ratio_from_cents,
    signed,
    temperament,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C3 = Note.parse("C3").hz()


_TUNED_AS = (
    "quarter-comma", "31 equal", "12 equal", "Pythagorean", "third-comma", "sixth-comma",
    "Werckmeister III", "Vallotti", "Kirnberger III", "Young I", "Young II",
)  # fmt: skip
_KEYS = tuple(Note.on_chain(place).name for place in range(-3, 9))
_A_DOT = 0.012  # turns: how long a stroke is for a note on its own in its key
_DEGREES = (0, 5, 3, 1, 4, 0)  # of the progression's roots: I vi IV ii V I


@lru_cache(maxsize=len(_TUNED_AS))
def tuned_as(name: str) -> Chain:
    """The chain of fifths of a way of tuning: a temperament of the past, or equal steps, twelve or thirty-one."""
    if name == "12 equal":
        return Chain(name, -3, (Interval.of(2) ** Fraction(7, 12),) * 11)
    if name == "31 equal":
        return Chain(name, -13, (Interval.of(2) ** Fraction(18, 31),) * 30)
    return temperament(name).chain


@lru_cache(maxsize=256)
def _chords(key: str, tuned: str) -> tuple[tuple[str, Triad], ...]:
    """The chords of the progression in a major key, each with the name that it is meant to have."""
    home, chain = Key(Note.named(key)), tuned_as(tuned)
    triads = chain.triads_in(home)  # of the first six degrees, in a major key
    return tuple(
        (f"{home.scale[degree].name}{' minor' if triads[degree].kind == 'minor' else ''}", triads[degree])
        for degree in _DEGREES
    )


class TheGap(Exhibit):
    """A progression in one key after another: where a key runs past the end of the chain, it howls."""

    name: ClassVar[str] = "the_gap"
    title: ClassVar[str] = "Modulate until it howls"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("key", "Key", _KEYS, "C", ordered=True),
        Choice("tuned", "Tuned as", _TUNED_AS, "quarter-comma"),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "quarter-comma": {"tuned": "quarter-comma"},
        "12": {"tuned": "12 equal"},
        "31": {"tuned": "31 equal"},
    }
    _apart = 0.2  # how far above and below its row a chord's third and fifth are drawn

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        circle = circle_axes(figure, look)
        (ring,) = circle.plot([], [], color=grey, lw=2)
        (gap,) = circle.plot([], [], color=ink, lw=2.5, ls=(0, (1, 1)))
        (reach,) = circle.plot([], [], color=ink, lw=9, solid_capstyle="round")
        (dots,) = circle.plot([], [], "o", ms=8, mfc=look.theme.behind_text, mec=ink, mew=1.5)
        names = [look.text(circle, 0, 0, ha="center", va="center", weight="bold") for _ in range(12)]
        wolf = look.text(circle, 0, -0.62, ha="center", va="center", fontsize=13, weight="bold")
        within = look.text(circle, 0, 0.12, ha="center", va="center", fontsize=15, weight="bold")
        chords = look.axes(
            figure, (0.66, 0.14, 0.31, 0.66), (0.3, 0.08, 0.65, 0.32), (0.3, 0.1, 0.65, 0.3), x="cents wider than pure"
        )
        rows = 6
        chords.set(xlim=(-70, 64), ylim=(-0.6, rows - 0.4), yticks=[])
        chords.plot([0, 0], [-0.6, rows - 0.4], color=PURE_COLOUR, lw=4)
        labels = [look.beside(chords, rows - 1 - row) for row in range(rows)]
        heights = rows - 1.0 - np.arange(rows)
        ring_size, diamond, cross = look.fit((11, 9, 17), (11, 9, 17), (8, 6, 12))
        (thirds,) = chords.plot([], [], "o", ms=ring_size, mfc=look.theme.behind_text, mec=ink, mew=2.5)
        (fifths,) = chords.plot([], [], "D", ms=diamond, color=ink)
        (howls,) = chords.plot([], [], "x", ms=cross, color=ink, mew=4)
        place = look.fit((0.97, 0.85), (0.95, 0.42), (0.97, 0.893))
        look.text(figure, *place, "○ third   ◆ fifth   ✕ over the gap", ha="right", va="center")

        def update(key: str, tuned: str) -> None:
            chain = tuned_as(tuned)
            opened = 0.5 if chain.wolf else 0.0  # the gap is drawn half a fifth wider, so that it is seen
            turn = 1 / (len(chain) + opened)
            middle = (len(chain) - 1) / 2
            turns = (np.arange(len(chain)) - middle) * turn
            ring.set_data(*clockwise(np.linspace(turns[0], turns[-1] + (0 if chain.wolf else turn), 200)))
            gap.set_data(*clockwise(np.linspace(turns[-1], 1 + turns[0], 30)) if chain.wolf else ([], []))
            dots.set_data(*clockwise(turns))
            places = [chain.place_of(Note.on_chain(int(Key(Note.named(key)).lowest_fifth) + i)) for i in range(7)]
            joined = [pair for pair in pairwise(places) if pair[1] == pair[0] + 1 or not chain.wolf]
            alone = [place for place in places if not any(place in pair for pair in joined)]
            strokes = [(turns[start], turns[start] + turn) for start, _ in joined]
            strokes += [(turns[place] - _A_DOT / 2, turns[place] + _A_DOT / 2) for place in alone]
            pieces = [clockwise(np.append(np.linspace(*stroke, 12), np.nan)) for stroke in strokes]
            reach.set_data(*np.concatenate(pieces, axis=1))
            reach.set_color({"31 equal": THIRTY_ONE_COLOUR, "12 equal": TWELVE_COLOUR}.get(tuned, ink))
            shown = range(12) if len(chain) == 12 else places
            for name, place in zip(names, [*shown, *[None] * (12 - len(shown))], strict=True):
                name.set_visible(place is not None)
                if place is not None:
                    there_x, there_y = clockwise(turns[place])
                    name.set(text=drawn(chain.notes[place].name), position=(1.17 * there_x, 1.17 * there_y))
            wolf.set_text("the wolf" if chain.wolf else "no wolf")
            within.set_text(f"{key} major")
            triads = _chords(key, tuned)
            for label, (words, _) in zip(labels, triads, strict=True):
                label.set_text(drawn(words))
            third_errors = np.array([triad.third_error for _, triad in triads])
            fifth_errors = np.array([triad.fifth_error for _, triad in triads])
            thirds.set_data(third_errors, heights + self._apart)
            fifths.set_data(fifth_errors, heights - self._apart)
            crossing = [
                (error, height + beside)
                for (_, triad), height in zip(triads, heights.tolist(), strict=True)
                for error, beside in self._howls(chain, triad)
            ]
            howls.set_data([error for error, _ in crossing], [height for _, height in crossing])

        return Scene((ring, gap, reach, dots, *names, wolf, within, *labels, thirds, fifths, howls), update)

    def _howls(self, chain: Chain, triad: Triad) -> list[tuple[float, float]]:
        """A triad's intervals that reach over the wolf: the error of each in cents, and its place in the row."""
        if chain.wolf is None:
            return []
        third = [] if triad.third_is_whole else [(triad.third_error, self._apart)]
        return third + ([] if triad.fifth_is_whole else [(triad.fifth_error, -self._apart)])

    def sentence(self, key: str, tuned: str) -> str:
        chain = tuned_as(tuned)
        chords = _chords(key, tuned)
        triads = dict(chords)
        howling = [words for words, triad in triads.items() if self._howls(chain, triad)]
        worst = max((e for t in triads.values() for e in (t.third_error, t.fifth_error)), key=abs)
        over = "no chord reaches over a wolf" if not howling else f"{listed(howling)} reach{_s(howling)} over the wolf"
        return (
            f"The progression {', '.join(words for words, _ in chords)} in {key} major, tuned as {tuned}: {over}, and "
            f"the interval farthest from pure is off by {signed(worst, 1)} cents."
        )

    def score(self, key: str, tuned: str) -> Score:
        chain = tuned_as(tuned)
        notes: list[ScoreNote] = []
        length = 1.5
        for i, (_, triad) in enumerate(_chords(key, tuned)):
            last = i == len(_chords(key, tuned)) - 1
            for j, hertz in enumerate(self._voices(chain, triad)):
                notes.append(
                    ScoreNote(
                        onset=length * i,
                        duration=length * (2 if last else 1) - 0.05,
                        hertz=hertz,
                        level=0.3 + 0.1 * (j == 0),
                    )
                )
        return Score(tuple(notes), tempo=60)

    @staticmethod
    def _voices(chain: Chain, triad: Triad) -> list[float]:
        """A bass and the three notes close together above G3, so that what two chords share stays where it is."""
        lowest = 700.0  # cents above C3
        root, third, fifth = (float(chain.cents[chain.place_of(n)]) for n in (triad.root, triad.third, triad.fifth))
        above = [lowest + (pitch - lowest) % CENTS_PER_OCTAVE for pitch in (root, third, fifth)]
        return [_C3 * ratio_from_cents(pitch) for pitch in (root - (root > 600) * CENTS_PER_OCTAVE, *above)]

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["organ"]


def _s(words: Sequence[str]) -> str:
    return "es" if len(words) == 1 else ""
