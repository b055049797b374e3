"""Voicing: the same chord spread and turned, rough low down and clear higher up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations, zip_longest
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import LONG_SIDE, NORMAL, SHORT_SIDE, THIRTY_ONE_COLOUR, Look
from tunelib.harmony import VOICING_KINDS, Chord, chord_roughness, voicings
from tunelib.pitch import THIRTY_ONE, FloatArray, Note, cents, drawn, plain, spellings, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_OCTAVE = len(THIRTY_ONE)
_C2, _C3, _C5 = (Note.parse(name).hz(THIRTY_ONE) for name in ("C2", "C3", "C5"))
_SYMBOLS = ("C6", "Cmaj7", "Cm7", "Csubharm7", "C7", "Charm7", "C9", "Charm9")
_MOST_NOTES = 5
_FIRST, _LAST = -2, 4  # octaves from C4 that the picture spans
_RASPS = 2.0  # roughness from which a pair of notes is marked: less than that of any interval at its low limit
_MARGIN = 0.35  # octaves to the left of them
_TOOTH, _TEETH = 0.045, 0.012  # inches: along a marked pair, and aside for each unit of roughness
_BULGE = 0.16  # inches by which a marked pair bends aside for each voice from one to the other
_DASHED = (0, (3, 1.5))


@dataclass(frozen=True)
class _Laid:
    """A chord laid out on a root: its name there, its notes, and its steps from C4."""

    symbol: str
    notes: tuple[Note, ...]
    steps: tuple[int, ...]

    @cached_property
    def rasping(self) -> tuple[tuple[int, int, float], ...]:
        """Pairs of voices that rasp, and how much."""
        found = []
        for (i, low), (j, high) in combinations(enumerate(self.steps), 2):
            both, alone = (chord_roughness(rows, THIRTY_ONE) for rows in ([[low, high]], [[low], [high]]))
            together = float(both[0] - alone.sum())
            if together >= _RASPS:
                found.append((i, j, together))
        return tuple(found)


@lru_cache(maxsize=1024)
def _shapes(chord: str, kind: str) -> tuple[tuple[Note, ...], ...]:
    """The voicings of a kind on C3 or as little above it as possible, the narrowest for each lowest note."""
    found: dict[int, tuple[Note, ...]] = {}
    for voicing in voicings(Chord.parse(chord), THIRTY_ONE, kind, Note.parse("C3"), Note.parse("C7")):
        steps = voicing.steps(THIRTY_ONE)
        lowest = steps[0]
        if lowest < 0 and (lowest not in found or steps[-1] < found[lowest][-1].step(THIRTY_ONE)):
            found[lowest] = voicing.notes
    return tuple(found[lowest] for lowest in sorted(found))


@lru_cache(maxsize=1024)
def _laid(chord: str, kind: str, turned: int, root: int) -> _Laid:
    """A chord laid out on the root some steps from C4, spelled with the fewest signs."""
    shapes = _shapes(chord, kind)
    shape, c3 = shapes[turned % len(shapes)], Note.parse("C3")
    ways = [
        (Chord.parse(chord).on(name), tuple(name.transpose(c3.interval_to(note)) for note in shape))
        for name in spellings(root, THIRTY_ONE)
    ]
    on, notes = min(ways, key=lambda way: sum(abs(note.half_sharps) for note in way[1]))
    return _Laid(on.symbol, notes, tuple(note.step(THIRTY_ONE) for note in notes))


_REGISTERS = np.arange(_FIRST * _OCTAVE, 3 * _OCTAVE + 1)  # of the lowest note, in steps; an octave up is among them


@lru_cache(maxsize=1024)
def _curve(chord: str, kind: str, turned: int) -> FloatArray:
    """Roughness of a voicing in every register, by its lowest note."""
    above = np.array(_laid(chord, kind, turned, 0).steps)
    return chord_roughness(_REGISTERS[:, np.newaxis] + above - above[0], THIRTY_ONE)


@lru_cache(maxsize=64)
def _roughest(chord: str) -> float:
    """The roughness of a chord where it is roughest of all."""
    return float(max(_curve(chord, kind, turned).max() for kind in VOICING_KINDS for turned in range(4)))


class SpreadChord(Exhibit):
    """A chord in its voicings: its notes over a keyboard, what rasps among them, and how rough it is by register."""

    name: ClassVar[str] = "spread_chord"
    title: ClassVar[str] = "The same chord, spread and turned"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", _SYMBOLS, "Cmaj7"),
        Choice("voicing", "Voicing", VOICING_KINDS, "close"),
        Slider("turned", "Times turned", 0, 3, 1, 0),
        Slider("root", "Root", _C2, _C5, _OCTAVE, _C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        kind: {"voicing": kind} for kind in ("close", "open", "spread")
    }
    together: ClassVar[tuple[str, ...]] = ("chord", "voicing", "turned")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, look.fit(self.title, "The same chord, spread"))
        left, width = look.fit((0.11, 0.86), (0.17, 0.8))
        beside, legend = look.fit((0.08, 2.1), (0.15, 1.6))  # octaves: names from bars, and what curves mean
        field = look.bare(figure, (left, 0.11, width, 0.74))
        over = look.bare(figure, (left, 0.48, width, 0.37))
        keys = look.bare(figure, (left, 0.425, width, 0.05))
        under = look.axes(figure, (left, 0.11, width, 0.315))
        for axes in (field, over, keys, under):
            axes.set_xlim(_FIRST - _MARGIN, _LAST)
        over.set_ylim(-0.6, _MOST_NOTES - 0.5)
        under.set(ylim=(0, 1.06), yticks=[])
        under.set_xticks(range(_FIRST, _LAST + 1), [f"C{4 + octave}" for octave in range(_FIRST, _LAST + 1)])
        look.beside(under, 0.5, "rough-\nness")
        _draw_keys(keys, look)
        field.set_ylim(0, 1)
        (link,) = field.plot([], [], color=grey, lw=1.5, ls=(0, (1, 1.5)))

        x = _REGISTERS / _OCTAVE
        (close,) = under.plot(x, x, color=grey, lw=2.5, ls=_DASHED)
        (curve,) = under.plot(x, x, color=ink, lw=2.5)
        (gauge,) = under.plot([], [], color=THIRTY_ONE_COLOUR, lw=9, solid_capstyle="butt")
        (here,) = under.plot([], [], "o", ms=12, mfc=look.theme.behind_text, mec=ink, mew=2.5)
        for height, words, colour, dash in ((0.93, "this voicing", ink, "-"), (0.77, "close", grey, _DASHED)):
            under.plot([legend, legend + 0.35], [height, height], color=colour, lw=2.5, ls=dash)
            look.text(under, legend + 0.45, height, words, va="center")
        said = [look.text(under, legend, height, va="center", weight="bold") for height in (0.57, 0.41)]
        (rasps,) = over.plot([], [], color=ink, lw=1.5, solid_joinstyle="miter", clip_on=False)
        (bars,) = over.plot([], [], color=THIRTY_ONE_COLOUR, lw=9, solid_capstyle="butt")
        names = [look.text(over, 0, i - 0.22, va="center", fontsize=NORMAL, weight="bold") for i in range(_MOST_NOTES)]
        heading = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", fontsize=NORMAL, weight="bold")
        look.text(figure, 0.97, look.fit(0.885, 0.87), "jagged: pairs that rasp", ha="right", va="top")
        long, short = look.fit((LONG_SIDE, SHORT_SIDE), (SHORT_SIDE, LONG_SIDE), (SHORT_SIDE, SHORT_SIDE))
        inches = np.array(
            [[long * width / (_LAST - _FIRST + _MARGIN)], [short * 0.37 / 5.1]]
        )  # of an octave across, and of a voice up

        def update(chord: str, voicing: str, turned: int, root: float) -> None:
            step = _nearest(root)
            laid = _laid(chord, voicing, turned, step)
            off = float(np.log2(root / THIRTY_ONE.hz(step)))  # nothing, where the slider stops
            places = np.array(laid.steps) / _OCTAVE + off
            voices = np.arange(len(places), dtype=float)
            bars.set_data(np.repeat(places, 3), np.ravel([(voice - 0.42, voice + 0.42, np.nan) for voice in voices]))
            ends = np.stack([places, voices])
            rasps.set_data(
                *np.hstack(
                    [np.zeros((2, 0)), *(_jagged(ends[:, [i, j]], j - i, much, inches) for i, j, much in laid.rasping)]
                )
            )
            for text, place, note in zip_longest(names, places.tolist(), laid.notes):
                text.set_visible(note is not None)
                if note is not None:
                    text.set(text=drawn(str(note)), x=place + beside)
            heights, plainly = (_curve(chord, *how) / _roughest(chord) for how in ((voicing, turned), ("close", 0)))
            curve.set_ydata(heights)
            close.set_ydata(plainly)
            height = float(np.interp(places[0], x, heights))
            gauge.set_data([places[0]] * 2, [0, height])
            here.set_data([places[0]], [height])
            link.set_data([places[0]] * 2, [0, 0.6])
            of_close, octave_up = self._compared(chord, voicing, turned, root)
            said[0].set_text(f"{of_close} % of close")
            said[1].set_text(f"octave up: {octave_up} %")
            heading.set_text(f"{laid.symbol}, {voicing}")

        return Scene((link, close, curve, gauge, here, *said, rasps, bars, *names, heading), update)

    @staticmethod
    def _compared(chord: str, voicing: str, turned: int, root: float) -> tuple[int, int]:
        """Roughness in per cent of the close voicing's on the same lowest note; and an octave up, of that here."""
        lowest = _laid(chord, voicing, turned, _nearest(root)).steps[0]
        ours, plainly = _curve(chord, voicing, turned), _curve(chord, "close", 0)
        place = lowest - int(_REGISTERS[0])
        return round(100 * ours[place] / plainly[place]), round(100 * ours[place + _OCTAVE] / ours[place])

    def sentence(self, chord: str, voicing: str, turned: int, root: float) -> str:
        laid = _laid(chord, voicing, turned, _nearest(root))
        of_close, octave_up = self._compared(chord, voicing, turned, root)
        plain_close = (voicing, turned) == ("close", 0)
        beside = "" if plain_close else f"it is {of_close} % as rough as the close voicing from there up, and "
        return (
            f"On {plain(root)} Hz the {voicing} voicing of {laid.symbol}, turned {times(turned, 'time')}, has "
            f"{laid.notes[0]} at the bottom; {beside}an octave higher it is {octave_up} % as rough as here."
        )

    def score(self, chord: str, voicing: str, turned: int, root: float) -> Score:
        step = _nearest(root)
        laid = _laid(chord, voicing, turned, step)
        hertz = np.asarray(THIRTY_ONE.hz(np.array(laid.steps))) * root / float(THIRTY_ONE.hz(step))
        level, count = min(0.4, 1.4 / len(laid.steps)), len(laid.steps)
        rolled = (
            ScoreNote(onset=0.3 * i, duration=0.3 * (count - i) + 3, hertz=f, level=level)
            for i, f in enumerate(hertz.tolist())
        )
        return Score(tuple(rolled), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _draw_keys(axes: Axes, look: Look) -> None:
    """A keyboard, each key at its note of twelve."""
    axes.set_ylim(0, 1)
    half = 0.5 / 12
    axes.fill_between([_FIRST - half, _LAST], 0, 1, color=look.theme.faint, lw=0)
    semitones = np.arange(12 * _FIRST, 12 * _LAST)
    black = semitones[np.isin(semitones % 12, (1, 3, 6, 8, 10))] / 12
    sides = np.ravel([(x - half, x - half, x + half, x + half) for x in black])
    axes.fill_between(sides, 0.4, np.tile([0.4, 1, 1, 0.4], len(black)), color=look.theme.grey, lw=0)
    for octave in range(_FIRST, _LAST + 1):
        axes.plot([octave - half] * 2, [0, 1], color=look.theme.grey, lw=1.5)


def _nearest(root: float) -> int:
    return int(THIRTY_ONE.nearest(cents(root / float(THIRTY_ONE.hz(0))))[0])


def _jagged(ends: FloatArray, apart: int, much: float, inches: FloatArray) -> FloatArray:
    """A jagged bow from one note to a higher, whose teeth say how much they rasp; shape (2, points), a gap at its end.

    `ends` has a place a column; `apart` is the number of voices from one to the other, and `inches` are those of one
    unit along x and y, in a column.
    """
    start, way = ends[:, :1] * inches, (ends[:, 1:] - ends[:, :1]) * inches
    length = float(np.hypot(*way[:, 0]))
    count = max(5, round(length / _TOOTH)) | 1
    along, teeth = np.linspace(0, 1, count), np.where(np.arange(count) % 2, 1, -1) * _TEETH * much
    teeth[[0, -1]] = 0
    aside = 4 * along * (1 - along) * _BULGE * apart + teeth
    points = start + way * along + way[::-1] * [[-1], [1]] / length * aside
    return np.hstack([points / inches, [[np.nan], [np.nan]]])
