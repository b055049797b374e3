"""Where a division of the octave hits the overtones, and where it misses them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, TypeAlias

import numpy as np
from matplotlib import patheffects
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.text import Text

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import strokes, width_in_inches, width_of
from tunelib.exhibits.look import HALO, MARGIN, Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    FloatArray,
    Note,
    Tuning,
    cents,
    equal,
    harmonic_deviations,
    plain,
    ratio_from_cents,
    signed,
    spellings,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C3 = Note.parse("C3").hz()
_DIVISIONS = {f"{n} steps": equal(n) for n in (12, 19, 22, 24, 31, 41, 53)}
_OCTAVES = 4
_PLACES = [(n, octave) for octave in range(_OCTAVES) for n in range(2**octave, 2 ** (octave + 1) + 1)]
_ASIDE = 5.0  # cents below its step, from which a harmonic has its number on its other side
_STRAYS = 15.0  # cents off from which a harmonic is said to stray
_SLOTS = max(map(len, _DIVISIONS.values())) + 1  # bars enough for all divisions; in most, several are one
_SMALL, _LARGE = 8.5, 19.0  # points across a dot that agrees, and one that strays
_DISC = 0.42  # inches across the chosen one, in a wide picture

Hole: TypeAlias = tuple[float, float, float, float]  # left, right, bottom, top


class OvertonesAndSteps(Exhibit):
    """The first sixteen harmonics, octave by octave, among the bars of a division."""

    name: ClassVar[str] = "overtones_and_steps"
    title: ClassVar[str] = "Overtones among the steps"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("division", "The octave in", tuple(_DIVISIONS), "12 steps", ordered=True),
        Slider("harmonic", "Harmonic to hear", 2, 2**_OCTAVES, 1, 7),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "steps": "the steps of the division, an octave of them",
        "names": "the names of the steps",
        "harmonics": "the harmonics of C, an octave to a row",
        "chosen": "the harmonic that is heard",
        "key": "the step nearest to it",
        "gap": "the gap between the two",
        "miss": "how far off it is",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("steps", "names"), ("harmonics",), ("chosen",), ("key", "gap"), ("miss",),
    )  # fmt: skip
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "12": {"division": "12 steps"},
        "31": {"division": "31 steps"},
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        return _Drawing(figure, look, self.title).scene()

    def sentence(self, division: str, harmonic: int) -> str:
        tuning = _DIVISIONS[division]
        away = _away(tuning, harmonic)
        where = "on" if abs(away) < 0.05 else f"{plain(abs(away))} cents {'below' if away < 0 else 'above'}"
        worst = max(range(2, 2**_OCTAVES + 1), key=lambda n: abs(_away(tuning, n)))
        return (
            f"With the octave in {division}, harmonic {harmonic} is {where} its nearest step; of the first "
            f"{2**_OCTAVES} harmonics, number {worst} is farthest off, by "
            f"{plain(abs(_away(tuning, worst)))} cents."
        )

    def numbers(self, division: str, harmonic: int) -> Mapping[str, str]:
        tuning = _DIVISIONS[division]
        away = _away(tuning, harmonic)
        pure = _C3 * harmonic
        return {
            "cents": plain(abs(away)),
            "hertz": plain(pure),
            "step_hertz": plain(pure * ratio_from_cents(-away)),
            "steps": str(len(tuning)),
            "step_name": _name(tuning, int(harmonic_deviations(tuning, harmonic).step[-1])),
        }

    def score(self, division: str, harmonic: int) -> Score:
        pure = _C3 * harmonic
        tempered = pure * ratio_from_cents(-_away(_DIVISIONS[division], harmonic))
        return Score(
            (
                ScoreNote(onset=0, duration=1.2, hertz=pure, voice="pure", level=0.4),
                ScoreNote(onset=1.3, duration=1.2, hertz=tempered, voice="step", level=0.4),
                ScoreNote(onset=2.6, duration=2.0, hertz=pure, voice="pure", level=0.4),
                ScoreNote(onset=2.6, duration=2.0, hertz=tempered, voice="step", level=0.4),
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["flute"]


def _away(tuning: Tuning, harmonic: int) -> float:
    """How far a harmonic is from the nearest step, in cents; negative where it is flat of it."""
    return -float(harmonic_deviations(tuning, harmonic).error[-1])


def _name(tuning: Tuning, step: int) -> str:
    """What a step above C is called: its note, or its number where it has no plain name."""
    names = spellings(step % len(tuning), tuning)
    return names[0].name if names else f"step {step % len(tuning)}"


def _letters(tuning: Tuning) -> tuple[list[str], FloatArray]:
    """The names under the bars, C to C, and where they are: all of twelve, else the letters, nan for the rest."""
    names = [_name(_DIVISIONS["12 steps"], step) for step in range(12)]
    where = [
        cents(Note.parse(f"{name}4").hz(tuning) / Note.parse("C4").hz(tuning))
        if len(tuning) == 12 or len(name) == 1
        else np.nan
        for name in names
    ]
    return [*names, "C"], np.array([*where, CENTS_PER_OCTAVE])


def _rectangles(holes: Sequence[Hole]) -> Path:
    """Rectangles as one path."""
    if not holes:
        return Path(np.zeros((1, 2)))
    corners = [
        corner
        for left, right, low, high in holes
        for corner in ((left, low), (right, low), (right, high), (left, high), (left, low))
    ]
    codes = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY] * len(holes)
    return Path(corners, codes)


class _Drawing:
    """The picture: bars from left to right in cents, rows of an octave from below, in inches."""

    def __init__(self, figure: Canvas, look: Look, title: str) -> None:
        self._look = look
        look.heading(figure, title)
        _, _, width, height = look.frame
        self._wide, self._high = width * look.inches[0], height * look.inches[1]
        self._pad = _DISC * look.fit(0.5, 0.58)  # inches beside the outer bars
        self._scale = CENTS_PER_OCTAVE / (self._wide - 2 * self._pad - look.fit(0.1, 0.06))  # cents to the inch
        axes = self._axes = look.bare(figure)
        axes.set(xlim=(-self._pad * self._scale, (self._wide - self._pad) * self._scale), ylim=(0, self._high))
        self._foot, self._top = look.fit(0.44, 0.52), self._high - look.fit(0.02, 0.42, 0.02)  # of the bars
        head = look.fit(0.62, 0.7, 0.46)
        self._pitch = (self._top - head - self._foot - look.fit(0.3, 0.5, 0.18)) / (_OCTAVES - 1)
        self._rows = [self._top - head - self._pitch * (_OCTAVES - 1 - octave) for octave in range(_OCTAVES)]
        self._across = np.array([cents(n) - CENTS_PER_OCTAVE * octave for n, octave in _PLACES])
        self._up = np.array([self._rows[octave] for _, octave in _PLACES])
        self._make(figure, axes)

    def _make(self, figure: Canvas, axes: Axes) -> None:
        look, pure = self._look, self._look.theme.pure
        (self._bars,) = axes.plot([], [], solid_capstyle="round")
        paper = look.theme.behind_text  # under words among the bars, so that bars are whole until words come
        self._behind_labels, self._behind_miss = (PathPatch(_rectangles([]), fc=paper, lw=0) for _ in range(2))
        for patch in (self._behind_labels, self._behind_miss):
            axes.add_patch(patch)
        (self._gap,) = axes.fill([0, 0, 0, 0], [0, 0, 0, 0], lw=0)
        (self._key,) = axes.plot([], [], solid_capstyle="round")
        (self._pure,) = axes.plot([], [], color=pure.full, lw=2.5, solid_capstyle="round")
        (self._small,) = axes.plot([], [], solid_capstyle="butt", lw=look.fit(9, 11))
        self._dots = axes.scatter(self._across, self._up, zorder=3, linewidths=2, edgecolors=look.theme.behind_text)
        disc = _DISC * look.fit(1, 1.16) * 72
        (self._disc,) = axes.plot([], [], "o", ms=disc, color=pure.full, mew=2.5, zorder=4)
        right, above = 0.13, look.fit(0.17, 0.19)  # inches, where numbers are beside dots or above them
        self._labels, self._offs = [], []
        for (n, octave), x, y in zip(_PLACES, self._across.tolist(), self._up.tolist(), strict=True):
            over = octave == _OCTAVES - 1 and look.tall
            place = (x, y + above) if over else (x + right * self._scale, y)
            sides: dict[str, Any] = {"ha": "center", "va": "bottom"} if over else {"ha": "left", "va": "center"}
            self._labels.append((place, sides, look.text(axes, *place, str(n), zorder=5, **sides)))
            self._offs.append(look.text(axes, x, y + look.fit(0.2, 0.23), ha="center", zorder=5))
        names, _ = _letters(_DIVISIONS["12 steps"])
        self._names = [look.text(axes, 0, 0.06, name, ha="center") for name in names]
        self._called = look.text(axes, 0, 0.06, size="name", ha="center")
        inside = look.theme.ink if look.theme.name == "light" else look.theme.behind_text
        self._number = look.text(axes, 0, 0, size="name", ha="center", va="center", color=inside, zorder=6)
        self._in_a_dot(self._number)
        self._stacked = look.tall and not look.square  # the number over its words, so that they cut fewer bars
        self._says = look.headline(axes, 0, 0, below=self._stacked, ha="center" if self._stacked else "left")
        for text in self._says.artists:
            text.set_zorder(7)
        frame, height = look.frame, look.inches[1]
        down = MARGIN + look.fit(0.02, 0.42)  # inches: on the title's line, or below it where that is short
        self._division = look.text(figure, frame[0] + frame[2], 1 - down / height, size="name", ha="right", va="top")
        self._division.set_visible(not look.square)

    def _in_a_dot(self, text: Text) -> None:
        """Give text on a green dot a halo of that colour, where it needs one."""
        if self._look.theme.paper is None:
            text.set_path_effects([patheffects.withStroke(linewidth=HALO, foreground=self._look.theme.pure.full)])

    def scene(self) -> Scene:
        labels = [text for *_, text in self._labels]
        moving = (
            self._gap, self._bars, self._behind_labels, self._small, self._pure, self._key, self._behind_miss,
            self._dots, self._disc, *labels, *self._offs, *self._names, self._called, self._number,
            *self._says.artists, self._division,
        )  # fmt: skip
        parts = {
            "steps": (self._bars, self._division),
            "names": (*self._names, self._called),
            "harmonics": (self._dots, self._small, self._behind_labels, *labels, *self._offs),
            "chosen": (self._disc, self._number, self._pure),
            "key": (self._key,),
            "gap": (self._gap,),
            "miss": (self._behind_miss, *self._says.artists),
        }
        return Scene(moving, self.update, self.light, parts)

    def update(self, division: str, harmonic: int) -> None:
        look, tuning = self._look, _DIVISIONS[division]
        tint, count = look.theme.of(len(tuning)), len(tuning)
        table = harmonic_deviations(tuning, 2**_OCTAVES)
        octave = min(int(np.log2(harmonic)), _OCTAVES - 1)
        x = cents(harmonic) - CENTS_PER_OCTAVE * octave
        key = x + float(table.error[harmonic - 1])
        self._draw_dots(table, harmonic, octave)
        self._behind_miss.set_path(_rectangles([self._say(harmonic, octave, x, key)]))
        self._behind_labels.set_path(_rectangles(self._around_words()))
        slots = np.rint(np.arange(_SLOTS) * count / (_SLOTS - 1)) * CENTS_PER_OCTAVE / count
        self._bars.set_data(*strokes(slots, self._foot, self._top))
        self._bars.set(color=tint.dim, lw=3.0 if count < 20 else 2.2 if count < 40 else 1.5)
        self._gap.set_xy([(x, self._foot), (key, self._foot), (key, self._top), (x, self._top)])
        self._gap.set_facecolor(tint.fill)
        self._pure.set_data([x, x], [self._foot, self._top])
        self._key.set_data([key, key], [self._foot, self._top])
        self._key.set(color=tint.full, lw=look.fit(6, 6))
        self._disc.set_data([x], [self._rows[octave]])
        self._disc.set_markeredgecolor(look.theme.behind_text)
        self._number.set(x=x, y=self._rows[octave], text=str(harmonic))
        self._small.set_color(tint.fill)
        names, where = _letters(tuning)
        step = int(table.step[harmonic - 1])
        self._called.set(x=key, text=_name(tuning, step), color=tint.text)
        shown = float(width_of(self._called))
        for text, name, place in zip(self._names, names, where.tolist(), strict=True):
            room = (shown + width_in_inches(text, name)) / 2 + 0.05
            text.set_visible(bool(abs(place - key) > room * self._scale))
            text.set_x(0.0 if np.isnan(place) else place)
            text.set_color(look.theme.grey)
        self._division.set(text=f"{count} keys" if count == 12 else f"{count} steps", color=tint.text)

    def light(self, playing: Playing) -> None:
        """The pure one sounds first, then the key, then both."""
        ink = self._look.theme.ink
        if {0, 2} & set(playing.notes):
            self._disc.set_markeredgecolor(ink)
        if {1, 3} & set(playing.notes):
            self._key.set(color=ink, lw=9)

    def _say(self, harmonic: int, octave: int, x: float, key: float) -> Hole:
        """Say the miss under the chosen harmonic, on the side away from its step; gives the room that this takes."""
        look, away = self._look, x - key
        number = plain(abs(away), 0 if abs(away) >= 9.95 else 1)
        unit = "cent" if number == "1" else "cents"
        words = "cents off" if number == "0" else f"{unit} {'flat' if away < 0 else 'sharp'}"
        before, after = (
            width_in_inches(text, said) for text, said in zip(self._says.artists, (number, words), strict=True)
        )
        free, edge = 0.16 * self._scale, self._pad * self._scale
        needed = (max(before, after) if self._stacked else before + 0.1 + after) * self._scale
        left, right = min(x, key) - free, max(x, key) + free
        starts = {False: left - needed, True: right}
        fits = {False: starts[False] > -edge, True: right + needed < (self._wide - self._pad) * self._scale}
        side = away > 0 if fits[away > 0] else not away > 0
        start = starts[side]
        y = (self._rows[octave] + self._rows[octave - 1]) / 2
        self._says.say(number, words)
        clear, tall = 0.06 * self._scale, 0.0094 * look.size("number")
        below, baseline = 0.1, y - 0.0035 * look.size("number")
        at = start + before * self._scale
        if self._stacked:
            below, baseline, at = 0.5, y + 0.03, start + needed / 2
        self._says.move(at, baseline)
        return start - clear, start + needed + clear, baseline - below, baseline + tall + 0.1

    def _around_words(self) -> list[Hole]:
        """The room that each of the numbers and figures takes among the bars: none, where it is not shown."""
        found = []
        high, clear = self._look.size("label") / 72, 0.05 * self._scale
        for text in (*(text for *_, text in self._labels), *self._offs):
            (x, y), wide = text.get_position(), width_of(text)
            if text.get_fontweight() == "bold" or not text.get_visible():  # in a dot
                found.append((x, x, y, y))
                continue
            left = x - {"left": 0, "center": 0.5, "right": 1}[text.get_horizontalalignment()] * wide * self._scale
            low = y - (high / 2 if text.get_verticalalignment() == "center" else 0.02)
            found.append((left - clear, left + wide * self._scale + clear, low - 0.03, low + high + 0.02))
        return found

    def _draw_dots(self, table: Any, harmonic: int, octave: int) -> None:
        look, pure = self._look, self._look.theme.pure
        off = np.array([-float(table.error[n - 1]) for n, _ in _PLACES])
        strays = np.abs(off) > _STRAYS
        chosen = np.array([place == (harmonic, octave) for place in _PLACES])
        self._dots.set_sizes(np.where(strays, _LARGE * look.fit(1, 1.15), _SMALL * look.fit(1, 1.15)) ** 2)
        self._dots.set_facecolor([pure.full if stray else pure.dim for stray in strays])
        far = np.where(strays, self._across - off, self._across)
        self._small.set_data(
            np.column_stack([self._across, far, np.full(far.size, np.nan)]).ravel(), np.repeat(self._up, 3)
        )
        inside = look.theme.ink if look.theme.name == "light" else look.theme.behind_text
        same = {harmonic * 2**k for k in range(-_OCTAVES, _OCTAVES + 1)}
        column = float(self._across[chosen][0])
        for index, (place, sides, text) in enumerate(self._labels):
            n, row = _PLACES[index]
            free = n not in same and row != octave - 1  # there the miss of the chosen one is said
            x, y = float(self._across[index]), float(self._up[index])
            if strays[index]:
                text.set(x=x, y=y, ha="center", va="center", color=inside, weight="bold")
                self._in_a_dot(text)
            else:
                at, side = place[0], sides["ha"]
                if side == "left" and off[index] < -_ASIDE:  # away from its bar, which the number would cut
                    at, side = 2 * x - at, "right"
                if abs(x - column) < 1:  # beside the lines of the chosen one, which go through all its octaves
                    lines, clear = (x, x - float(off[index])), 0.1 * self._scale
                    beside = sides["ha"] == "left" and side == "left"
                    at = max(at, max(lines) + clear) if beside else min(lines) - clear
                    side = side if beside else "right"
                text.set(x=at, y=place[1], ha=side, va=sides["va"], color=look.theme.grey, weight="normal")
                look.haloed(text)
            text.set_visible(not chosen[index])
            self._offs[index].set(text=signed(float(off[index])), visible=bool(strays[index] and free))
        self._clear_offs()

    def _clear_offs(self) -> None:
        """Leave out numbers over dots that would run into how far off a neighbour is."""
        for index, (_, sides, text) in enumerate(self._labels):
            if sides["ha"] != "center" or text.get_horizontalalignment() == "center":
                continue  # it is beside its dot, or right over it
            for neighbour in self._offs[max(0, index - 2) : index]:
                end = neighbour.get_position()[0] + width_in_inches(neighbour, neighbour.get_text()) / 2 * self._scale
                start = text.get_position()[0] - width_in_inches(text, text.get_text()) * self._scale
                if neighbour.get_visible() and start < end:
                    text.set_visible(False)
