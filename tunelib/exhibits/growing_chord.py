"""A chord that grows harmonic by harmonic, each a chord tone that jazz players know."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import C3, as_played, root_of, set_apart
from tunelib.exhibits.inches import in_inches, width_in_inches, width_of
from tunelib.exhibits.key_row import KeyRow
from tunelib.exhibits.look import MARGIN, Look
from tunelib.harmony import Chord
from tunelib.pitch import THIRTY_ONE, FloatArray, Note, cents, equal, nearest_note, plain, ratio_from_cents, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_HARMONICS = (4, 5, 6, 7, 9, 11, 13)
_DEGREES = ("root", "third", "fifth", "seventh", "ninth", "eleventh", "thirteenth")
_IN_SHORT = ("root", "3rd", "5th", "7th", "9th", "11th", "13th")
_PURE = np.array([cents(Fraction(n, _HARMONICS[0])) for n in _HARMONICS])
_MOST = len(_HARMONICS)
_TUNED = ("pure", "31 steps", "12 steps")
_SAID = 2.0  # cents from which a miss is said


class GrowingChord(Exhibit):
    """A chord that grows harmonic by harmonic, 4:5:6:7:9:11:13, pure and by the nearest steps."""

    name: ClassVar[str] = "growing_chord"
    title: ClassVar[str] = "A chord that grows"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("notes", "Notes", 2, _MOST, 1, 4),
        Choice("tuned", "Tuned in", _TUNED, "31 steps", ordered=True),
        Slider("root", "Root", C3 / 2, 2 * C3, 12, C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure": {"tuned": "pure"},
        "12": {"tuned": "12 steps"},
        "31": {"tuned": "31 steps"},
    }
    together: ClassVar[tuple[str, ...]] = ("notes", "tuned")
    parts: ClassVar[Mapping[str, str]] = {
        "keys": "the keys of a piano",
        "harmonics": "the harmonics",
        "degrees": "what players call them",
        "notes": "the notes of the chord",
        "misses": "how far each is from its harmonic",
        "newest": "the note that came last",
        "symbol": "the symbol of the chord",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("keys",),
        ("harmonics",),
        ("degrees",),
        ("notes", "misses"),
        ("newest", "symbol"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, tall = look.theme, look.tall
        look.heading(figure, self.title)
        width, height = look.inches
        axes = in_inches(figure, look)
        start, end = look.fit((0.75, 8.45), (0.7, 7.5), (0.55, 3.7))  # inches: the root, and 2060 cents above it
        near, back = look.fit((0.92, 1.62), (1.25, MARGIN))  # where keys end across the row
        root_tip, rise = look.fit((2.05, 0.29), (1.55, 0.16))  # how far the root's line goes, and each next one farther
        tips = root_tip + rise * np.arange(_MOST)
        base = max(near, back)

        def at(sizes: Any) -> Any:
            return start + np.asarray(sizes) * (end - start) / 2060

        def turned(along: Any, across: Any) -> tuple[Any, Any]:
            return (across, along) if tall else (along, across)

        keys = KeyRow(axes, look, at, (0, look.fit(21, 20)), near, back, upright=tall)
        beyond = look.fit(0.3, 0.25)
        posts = [
            axes.plot(*turned([x, x], [base, tip + beyond]), lw=3, solid_capstyle="round")[0]
            for x, tip in zip(at(_PURE), tips, strict=True)
        ]
        labels = []
        for i, (number, x, tip) in enumerate(zip(_HARMONICS, at(_PURE).tolist(), tips.tolist(), strict=True)):
            words = f"harmonic {number}" if not i else str(number)
            where = (tip + beyond + 0.12, x) if tall else (x - (0.1 if not i else 0), tip + beyond + 0.1)
            side, level = ("left" if tall or not i else "center"), ("center" if tall else "baseline")
            labels.append(look.text(axes, *where, words, ha=side, va=level))
        degrees = []
        for words, x in zip(look.fit(_DEGREES, _IN_SHORT), at(_PURE).tolist(), strict=True):
            along, across = (width - 0.3, x) if tall else (x, 0.62)
            degrees.append(look.text(axes, along, across, words, ha="right" if tall else "center", va="center"))
        gaps = [axes.fill([0] * 4, [0] * 4, lw=0)[0] for _ in _HARMONICS]
        lines = [axes.plot([], [], lw=2.5, solid_capstyle="round")[0] for _ in _HARMONICS]
        (dots,) = axes.plot([], [], "o", **look.ring())
        (newest,) = axes.plot([], [], "o", mec=theme.ink, mew=2.5)
        names = [look.text(axes, 0, 0, size="name", va="center") for _ in _HARMONICS]
        misses = [look.text(axes, 0, 0, va="center") for _ in _HARMONICS]
        symbol_y = look.fit(3.8, height - 1.5, height - 1.35)
        symbol = look.text(axes, MARGIN, symbol_y, size="number")
        added = look.text(axes, MARGIN, symbol_y, size="name")
        line = height - MARGIN - look.size("title") / 72 + 0.06
        around = look.text(axes, width - MARGIN, line, ha="right", color=theme.grey)
        last, tints = [0], [theme.thirty_one]
        shown: list[tuple[Any, Any]] = []

        def update(notes: int, tuned: str, root: float) -> None:
            tint = {"pure": theme.pure, "31 steps": theme.thirty_one, "12 steps": theme.twelve}[tuned]
            sizes = self._sizes(tuned)
            grown = np.arange(_MOST) < notes
            x = at(np.where(grown, sizes, 0))
            y = np.where(grown, tips, tips[0])
            note = root_of(root)
            keys.begin(_semitone(note))
            chord = _chord(notes, note, tuned)
            for i, here in enumerate(grown.tolist()):
                posts[i].set_color(theme.pure.full if here else theme.pure.dim)
                labels[i].set_color(theme.pure.text if here else theme.grey)
                degrees[i].set_color(theme.ink if here else theme.grey)
                pure = float(at(_PURE[i])) if here else x[0]
                gaps[i].set(
                    xy=np.column_stack(turned([pure, x[i], x[i], pure], [base, base, y[i], y[i]])), color=tint.fill
                )
                lines[i].set_data(*turned([x[i], x[i]], [base, y[i]]))
                names[i].set_visible(here)
                off = float(sizes[i] - _PURE[i])
                misses[i].set_visible(here and abs(off) >= _SAID)
                if here:
                    names[i].set_text(chord.notes[i].name)
                    misses[i].set_text(f"{signed(off, 0)} cents")
                    beside = max(pure, x[i]) + 0.2
                    names[i].set_position((3.25, pure) if tall else (beside, y[i] + 0.02))
                    width = width_of(misses[i])
                    crowded = i + 1 < notes and x[i + 1] - beside < width + 0.05
                    under = min(pure, x[i]) - 0.1 - width if crowded else beside
                    misses[i].set_position((3.72, pure) if tall else (under, y[i] + (0.02 if crowded else -0.24)))
            for mark in (dots, newest):
                mark.set(color=tint.full, marker=tint.marker)
            dots.set(markeredgecolor=theme.behind_text, markersize=10, data=turned(x, y))
            newest.set(markeredgecolor=theme.ink, markersize={"o": 20, "s": 18, "D": 16}[tint.marker])
            played = set_apart(chord)
            body, bracket, rest = played.partition("(")
            symbol.set_text(body)
            added.set(text=bracket + rest, x=MARGIN + width_in_inches(symbol, body) + 0.08)
            around.set_text(f"on {note}" + look.fit(f", {plain(root, 0)} Hz", ""))
            last[0], tints[0] = notes - 1, tint
            shown[:] = list(zip(*turned(x, y), strict=True))
            light(SILENT)

        def light(playing: Playing) -> None:
            now = last[0] if not playing.notes else min(max(playing.notes), last[0])
            newest.set_data([shown[now][0]], [shown[now][1]])
            for i, name in enumerate(names):
                name.set_color(theme.ink if i <= now else theme.grey)
                lines[i].set_color(tints[0].full if i <= now or i > last[0] else tints[0].dim)

        moving = (
            keys.seams, keys.black, *posts, *gaps, *lines, dots, newest,
            *labels, *degrees, *names, *misses, symbol, added, around,
        )  # fmt: skip
        parts = {
            "keys": keys.artists,
            "harmonics": (*posts, *labels),
            "degrees": degrees,
            "notes": (*lines, dots, *names),
            "misses": (*gaps, *misses),
            "newest": (newest,),
            "symbol": (symbol, added),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _sizes(tuned: str) -> FloatArray:
        if tuned == "pure":
            return _PURE
        tuning = THIRTY_ONE if tuned == "31 steps" else equal(12)
        return np.asarray(tuning.cents_of(tuning.nearest(_PURE)[0]))

    def numbers(self, notes: int, tuned: str, root: float) -> Mapping[str, str]:
        off = self._sizes(tuned)[:notes] - _PURE[:notes]
        worst = int(np.argmax(np.abs(off)))
        return {
            "chord": as_played(_chord(notes, root_of(root), tuned)),
            "newest": str(_HARMONICS[notes - 1]),
            "off": plain(abs(float(off[-1]))),
            "most": plain(abs(float(off[worst]))),
            "farthest": str(_HARMONICS[worst]),
        }

    def sentence(self, notes: int, tuned: str, root: float) -> str:
        sizes, note = self._sizes(tuned)[:notes], root_of(root)
        errors = (sizes - _PURE[:notes]).tolist()
        worst = max(range(notes), key=lambda i: abs(errors[i]))
        most = f"off by {signed(errors[worst], 1)} cents at most, in harmonic {_HARMONICS[worst]}"
        off = "exact" if tuned == "pure" else most
        return (
            f"On {note} ({plain(root)} Hz), {notes} notes of the harmonics {':'.join(map(str, _HARMONICS[:notes]))} "
            f"make the chord {as_played(_chord(notes, note, tuned))}; tuned in {tuned}, they are {off}."
        )

    def score(self, notes: int, tuned: str, root: float) -> Score:
        hertz = [root * ratio_from_cents(size) for size in self._sizes(tuned)[:notes].tolist()]
        level = min(0.4, 1.4 / notes)
        growing = [
            ScoreNote(onset=0.7 * i, duration=0.7 * (notes - i) + 2.5, hertz=f, level=level)
            for i, f in enumerate(hertz)
        ]
        return Score(tuple(growing), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _chord(notes: int, root: Note, tuned: str) -> Chord:
    """The chord of the first harmonics on a root, as the keys of twelve name it, or else as thirty-one does."""
    on_keys = tuned == "12 steps"
    if root.half_sharps % 2 and on_keys:
        root = nearest_note(root.hz(THIRTY_ONE))[0]
    return _on_c(notes, on_keys).on(root)


@lru_cache(maxsize=16)
def _on_c(notes: int, on_keys: bool) -> Chord:
    ratios = [Fraction(n, _HARMONICS[0]) for n in _HARMONICS[:notes]]
    return Chord.from_ratios(ratios, Note.named("C"), equal(12) if on_keys else THIRTY_ONE)


def _semitone(note: Note) -> int:
    """The key of twelve that is nearest to a note of thirty-one, in semitones above C."""
    return round(note.step(THIRTY_ONE) * 12 / len(THIRTY_ONE)) % 12
