"""Other sevenths: minor, half-diminished and altered ones, how far each pair of their notes is from simple ratios."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.held_chords import C3
from tunelib.exhibits.inches import begin, field_of, in_inches, level_strokes
from tunelib.exhibits.look import Look, Tint
from tunelib.exhibits.seventh_kinds import KINDS, PAIRS, ROWS, SeventhKind, kinds_written, off_in_twelve
from tunelib.harmony import Chord
from tunelib.pitch import THIRTY_ONE, Tuning, equal, plain, ratio_from_cents, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_TUNED: dict[str, Tuning | None] = {"12": equal(12), "31": THIRTY_ONE, "pure": None}
_THIN = "\N{THIN SPACE}"  # before a family written as a word
_LATER, _HELD_TO = 0.5, 6.0  # seconds from each note that comes in to the next; and until all end
_MOST_OFF = 32.0  # cents, at the end of the scale
_YARDSTICK = Chord.parse("C").purity(THIRTY_ONE)  # of a major triad


class OtherSevenths(Exhibit):
    """Seventh chords that are neither the dominant nor the harmonic one: their pairs, and how pure each is."""

    name: ClassVar[str] = "other_sevenths"
    title: ClassVar[str] = "Other sevenths"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", tuple(KINDS), "7♭5"),
        Choice("tuned", "Tuned in", tuple(_TUNED), "31", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {tuned: {"tuned": tuned} for tuned in _TUNED}
    parts: ClassVar[Mapping[str, str]] = {
        "rows": "the chords as they are written",
        "kinds": "what thirty-one makes of each",
        "twelve": "how far twelve is from the same ratios",
        "chosen": "the chosen chord among them",
        "triad": "how far a major triad is off in thirty-one",
        "pure": "where every pair would be pure",
        "pairs": "the six pairs of notes, and how far each is off",
        "name": "the chord, and the ratios that it is heard as",
        "number": "how far it is off on the whole",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("name", "pure"), ("pairs",), ("number",), ("rows", "triad"), ("kinds", "twelve", "chosen")
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Picture(figure, look)
        return Scene(picture.moving, picture.show, picture.sound, picture.parts)

    def sentence(self, chord: str, tuned: str) -> str:
        kind, tuning = KINDS[chord], _TUNED[tuned]
        notes = " ".join(kind.names)
        if kind.names != kind.spelled:
            notes += f" (spelled {' '.join(kind.spelled)})"
        where = "in pure ratios" if tuning is None else f"in {tuned} steps"
        if tuning is None:
            return f"{_called(kind)}, {notes}, {where} is {kind.reading} itself: none of its six pairs of notes is off."
        errors = kind.errors(tuning)
        worst = max(range(len(PAIRS)), key=lambda k: abs(errors[k]))
        low, high = (kind.names[place] for place in PAIRS[worst])
        return (
            f"{_called(kind)}, {notes}, {where} is {plain(kind.off(tuning))} cents off {kind.reading}, the root mean "
            f"square of its six pairs of notes; the farthest off, {low} to {high}, is {signed(errors[worst], 1)} cents."
        )

    def numbers(self, chord: str, tuned: str) -> Mapping[str, str]:
        kind, tuning = KINDS[chord], _TUNED[tuned]
        return {
            "off": plain(kind.off(tuning)),
            "reading": kind.reading,
            "worst": plain(max(map(abs, kind.errors(tuning)))),
            "twelve": plain(kind.off(_TUNED["12"])),
            "triad": plain(_YARDSTICK),
        }

    def score(self, chord: str, tuned: str) -> Score:
        sizes = KINDS[chord].sizes(_TUNED[tuned])
        return Score(
            tuple(
                ScoreNote(place * _LATER, _HELD_TO - place * _LATER, C3 * ratio_from_cents(size), level=0.35)
                for place, size in enumerate(sizes)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _called(kind: SeventhKind) -> str:
    """What a chord is called, on C."""
    return f"{kind.name} on C" if kind.name[0].isupper() else f"C{kind.name}"


def _shown(kind: SeventhKind) -> str:
    """The same in a picture, where the ratios are beside it."""
    if kind.name[0].isupper():
        return kind.name
    return f"C{_THIN if kind.name.startswith(('harm', 'sub')) else ''}{kind.name.partition(' as ')[0]}"


class _Picture:
    """The chosen chord by its pairs, and all chords on one scale of cents; in inches."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look = look
        free = field_of(look)
        axes = in_inches(figure, look)
        label, name, number = (look.size(size) / 72 for size in ("label", "name", "number"))
        # the rows, at the left or below
        pitch = look.fit(0.41, 0.48, 0.232)
        foot = free.bottom + look.fit(0.28, 0.3, 0.26)
        self._row_y = {row: foot + (len(ROWS) - 1 - k + 0.5) * pitch for k, row in enumerate(ROWS)}
        rows_top = foot + len(ROWS) * pitch
        self._zero = free.left + look.fit(1.0, 1.1)
        self._per_cent = (free.left + look.fit(4.3, free.width) - 0.12 - self._zero) / _MOST_OFF
        # the pairs, at the right or above
        left = look.fit(free.left + 4.75, free.left)
        self._columns = np.linspace(left + look.fit(0.3, 0.35), free.right - look.fit(0.3, 0.35), len(PAIRS))
        self._half = look.fit(0.2, 0.24)
        named = look.fit(free.bottom + 0.1, rows_top + 0.55, rows_top + 0.2)
        self._ratio_y, self._pair_y = named, named + look.fit(1.35 * label, 1.35 * label, 0)
        top = free.top - look.fit(0.2, 0.2, 0.16)
        self._title_y = top
        self._reading_y = top - look.fit(0, 0, 1.25 * name)
        self._headline = left, top - look.fit(0.6 * name + 0.95 * number, 0.6 * name + number, 0.62 * number)
        bottom = self._pair_y + 0.75 * label
        self._level = (bottom + self._headline[1] - 0.12) / 2
        self._tall = (self._headline[1] - 0.12 - bottom) / 2 - look.fit(0.4, 0.45, 0.1)
        self._each = self._tall / max(abs(e) for kind in KINDS.values() for e in kind.errors(_TUNED["12"]))

        y = list(self._row_y.values())
        (post,) = axes.plot([self._zero] * 2, [foot, rows_top], color=theme.pure.full, lw=3, solid_capstyle="round")
        at = self._zero + _YARDSTICK * self._per_cent
        (triad,) = axes.plot([at, at], [foot - 0.02, rows_top], color=theme.line, lw=1.2)
        triad_words = look.text(
            axes, at - 0.05, free.bottom - 0.04, f"major triad in 31: {plain(_YARDSTICK)}", color=theme.grey
        )
        (guides,) = axes.plot(
            *level_strokes(y, self._zero, self._zero + _MOST_OFF * self._per_cent), color=theme.ground, lw=1.2
        )
        (twelves,) = axes.plot(
            [self._zero + off_in_twelve(row) * self._per_cent for row in ROWS], y, theme.twelve.marker, ms=9,
            color=theme.twelve.dim, **look.ring(1.2),
        )  # fmt: skip
        places = [(kind.off(THIRTY_ONE), self._row_y[row]) for row in ROWS for kind in kinds_written(row)]
        (kinds,) = axes.plot(
            [self._zero + off * self._per_cent for off, _ in places], [height for _, height in places],
            theme.thirty_one.marker, ms=9, color=theme.thirty_one.dim, **look.ring(1.2),
        )  # fmt: skip
        marks = (
            []
            if look.square
            else [
                ("31", theme.thirty_one, KINDS[ROWS[0]].off(THIRTY_ONE)),
                ("12", theme.twelve, off_in_twelve(ROWS[0])),
            ]
        )
        signs = [
            look.text(axes, self._zero + off * self._per_cent, rows_top + 0.04, words, ha="center", color=tint.text)
            for words, tint, off in marks
        ]
        self._row_names = {
            row: look.text(axes, free.left, height, row, va="center") for row, height in self._row_y.items()
        }
        (self._row_gap,) = axes.fill([0] * 4, [0] * 4, lw=1.2)
        (self._row_dot,) = axes.plot([], [], ls="none", ms=16, **look.ring())

        (level,) = axes.plot([left, free.right], [self._level] * 2, color=theme.pure.full, lw=3, solid_capstyle="round")
        self._gaps = [axes.fill([0] * 4, [0] * 4, lw=1.2)[0] for _ in PAIRS]
        (self._dots,) = axes.plot([], [], ls="none", ms=13, **look.ring())
        (self._lit,) = axes.plot([], [], ls="none", ms=18, color=theme.ink, **look.ring())
        self._cents = [look.text(axes, x, 0, ha="center", va="center") for x in self._columns]
        self._pairs = [look.text(axes, x, self._pair_y, ha="center", va="center") for x in self._columns]
        self._ratios = [
            look.text(axes, x, self._ratio_y, ha="center", va="center", color=theme.pure.text) for x in self._columns
        ]
        aside = (free.right, "right") if look.square else (left, "left")
        self._title = look.text(axes, aside[0], self._title_y, size="name", va="center", ha=aside[1])
        self._reading = look.text(
            axes, free.right, self._reading_y, size="name", va="center", ha="right", color=theme.pure.text
        )
        self._number = look.headline(axes, 0, 0)
        self.moving = (
            self._row_gap, self._row_dot, *self._row_names.values(), *self._gaps, self._dots, self._lit, *self._cents,
            *self._pairs, *self._ratios, self._title, self._reading, *self._number.artists,
        )  # fmt: skip
        self.parts = {
            "rows": (*self._row_names.values(), guides, post),
            "kinds": (kinds, *signs[:1]),
            "twelve": (twelves, *signs[1:]),
            "chosen": (self._row_gap, self._row_dot),
            "triad": (triad, triad_words),
            "pure": (level, *self._ratios),
            "pairs": (*self._gaps, self._dots, *self._cents, *self._pairs),
            "name": (self._title, self._reading),
            "number": self._number.artists,
        }

    def _tint(self, tuned: str) -> Tint:
        theme = self._look.theme
        return theme.pure if tuned == "pure" else theme.of(int(tuned))

    def show(self, chord: str, tuned: str) -> None:
        """Show a chord in a tuning; nothing sounds."""
        kind, tuning, tint, theme = KINDS[chord], _TUNED[tuned], self._tint(tuned), self._look.theme
        errors = np.array(kind.errors(tuning))
        away = self._level + self._each * errors
        for gap, x, y in zip(self._gaps, self._columns.tolist(), away.tolist(), strict=True):
            left, right = x - self._half, x + self._half
            gap.set_xy([(left, self._level), (right, self._level), (right, y), (left, y)])
            gap.set(facecolor=tint.fill, edgecolor=tint.full)
        self._dots.set_data(self._columns, away)
        self._dots.set(marker=tint.marker, color=tint.full)
        self._heights = away
        beyond = self._look.fit(0.26, 0.3)
        for text, error, y in zip(self._cents, errors.tolist(), away.tolist(), strict=True):
            text.set(text=signed(error, 1), y=y + (beyond if error >= 0 else -beyond))
            text.set_visible(not self._look.square)
        for pair, ratio, (low, high) in zip(self._pairs, self._ratios, PAIRS, strict=True):
            pair.set_text(f"{kind.names[low]}–{kind.names[high]}")
            ratio.set_text(str(kind.ratios[high] / kind.ratios[low]))
            ratio.set_visible(not self._look.square)
        self._title.set_text(_shown(kind))
        self._reading.set_text(kind.reading)
        off = kind.off(tuning)
        self._number.say(plain(off), self._look.fit("cents off", "cents off", "cents"))
        begin(self._number, *self._headline)
        row, half = self._row_y[kind.row], self._look.fit(0.13, 0.13, 0.09)
        end = self._zero + off * self._per_cent
        self._row_gap.set_xy([(self._zero, row - half), (end, row - half), (end, row + half), (self._zero, row + half)])
        self._row_gap.set(facecolor=tint.fill, edgecolor=tint.full)
        self._row_dot.set_data([end], [row])
        self._row_dot.set(marker=tint.marker, color=tint.full)
        for name, text in self._row_names.items():
            text.set_color(theme.ink if name == kind.row else theme.grey)
            text.set_fontweight("bold" if name == kind.row else "normal")
        self.sound(SILENT)

    def sound(self, playing: Playing) -> None:
        """Light up the pairs whose notes both sound."""
        on = [k for k, (low, high) in enumerate(PAIRS) if low in playing.notes and high in playing.notes]
        self._lit.set_data(self._columns[on], self._heights[on])
        self._lit.set_marker(self._dots.get_marker())
