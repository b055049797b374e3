"""The gap at the end of a chain of fifths: a progression modulates until it howls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from matplotlib.path import Path

from tunelib.exhibits.circle import clockwise
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.inches import in_inches, level_strokes, strokes
from tunelib.exhibits.look import Look, Tint
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    Chain,
    FloatArray,
    Interval,
    Key,
    Note,
    Triad,
    cents,
    listed,
    plain,
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
_FLARE = Path.unit_regular_star(13, 0.66)  # the mark of what howls
_STEPS = {"12 equal": 12, "31 equal": 31}
_SMOOTH = 200  # points of the circle
_NOTCH = 0.63  # of the radius: how far below the middle the break in the disc ends
_VOICES = 4  # a bass and three notes
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
        Choice("key", "Key", _KEYS, "E", ordered=True),
        Choice("tuned", "Tuned as", _TUNED_AS, "quarter-comma"),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "quarter-comma": {"tuned": "quarter-comma"},
        "12": {"tuned": "12 equal"},
        "31": {"tuned": "31 equal"},
    }
    parts: ClassVar[Mapping[str, str]] = {
        "ring": "the fifths, one after another round a circle",
        "wolf": "where the chain breaks off",
        "key": "the seven notes of the key",
        "beads": "the roots of the chords",
        "chords": "the six chords, each beside a pure one",
        "howl": "what reaches over the break",
        "word": "how far the worst interval is off",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("ring", "wolf"),
        ("key",),
        ("beads", "chords"),
        ("howl",),
        ("word",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        ring = _Ring(axes, look, *look.fit((2.5, 2.46, 1.56), (2.7, 6.42, 1.74), (2.7, 2.4, 1.6)))
        columns = None
        if not look.square:
            columns = _Columns(axes, look, *look.fit((5.4, 0.68, 1.05, 0.0046), (1.2, 0.7, 1.0, 0.0042)))
        x, y = ring.x, ring.y
        within = look.text(axes, x, y + look.fit(0.72, 0.85), "", "name", ha="center")
        headline = look.headline(axes, x, y - 0.02, below=True, ha="center")
        why = look.text(axes, x, y - look.fit(0.76, 0.83), ha="center", color=theme.grey)
        now: dict[str, Any] = {}

        def update(key: str, tuned: str) -> None:
            chain, chords = tuned_as(tuned), _chords(key, tuned)
            howls = [self._howls(chain, triad) for _, triad in chords]
            ring.show(chain, key, theme.of(_STEPS.get(tuned, 0)))
            ring.beads(chain, key, [bool(found) for found in howls])
            if columns:
                columns.show(chords, howls, theme.of(_STEPS.get(tuned, 0)))
            within.set_text(f"{key} major")
            words, interval, error = self._worst(chain, key, chords)
            headline.say(_in_cents(error), f"cents {'wide' if error > 0 else 'narrow'}, the {interval}")
            why.set_text(words)
            now.update(places=[chain.place_of(triad.root) for _, triad in chords], howls=howls)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                chord = playing.notes[0] // _VOICES
                ring.sound(now["places"][chord], bool(now["howls"][chord]))
                if columns:
                    columns.sound(chord)

        parts: dict[str, Sequence[Any]] = {
            "ring": [ring.disc, ring.arc, ring.dots, *ring.names],
            "wolf": [ring.word],
            "key": [ring.reach, within],
            "beads": [ring.roots],
            "chords": columns.all if columns else [ring.roots],
            "howl": [ring.flares, *(columns.howl if columns else [])],
            "word": [*headline.artists, why],
        }
        moving = [*ring.moving, *(columns.moving if columns else []), within, *headline.artists, why]
        return Scene(moving, update, light, parts)

    def _worst(self, chain: Chain, key: str, chords: Sequence[tuple[str, Triad]]) -> tuple[str, str, float]:
        """What is farthest from pure: where it is, and what is played for what, its name, and its error in cents."""
        found = [
            (degree, triad, interval, error)
            for degree, (_, triad) in zip(_DEGREES, chords, strict=True)
            for interval, error in (("third", triad.third_error), ("fifth", triad.fifth_error))
        ]
        degree, triad, interval, error = max(found, key=lambda one: abs(one[3]))
        root = Key(Note.named(key)).scale[degree]
        away = 1 if interval == "fifth" else 4 if triad.kind == "major" else -3
        wanted = Note.on_chain(int(root.fifths) + away)
        played = triad.fifth if interval == "fifth" else triad.third
        pairs = [(there, right) for there, right in ((played, wanted), (triad.root, root)) if there.name != right.name]
        chord = f"in {root.name}{'m' if triad.kind == 'minor' else ''}"
        instead = f": {pairs[0][0].name} for {pairs[0][1].name}" if pairs else ""
        return chord + instead, interval, error

    @staticmethod
    def _howls(chain: Chain, triad: Triad) -> list[str]:
        """Which of a triad's intervals reach over the wolf."""
        if chain.wolf is None:
            return []
        third = [] if triad.third_is_whole else ["third"]
        return third + ([] if triad.fifth_is_whole else ["fifth"])

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

    def numbers(self, key: str, tuned: str) -> Mapping[str, str]:
        words, interval, error = self._worst(tuned_as(tuned), key, _chords(key, tuned))
        return {"cents": _in_cents(error), "interval": interval, "where": words}

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


def _in_cents(error: float) -> str:
    """How far something is off, to a tenth of a cent where that matters."""
    return plain(abs(error), 0 if abs(error) >= 10 else 1)


class _Ring:
    """A chain of fifths round a circle, broken where its ends do not meet, with the notes of a key upon it."""

    def __init__(self, axes: Axes, look: Look, x: float, y: float, radius: float) -> None:
        theme = self._theme = look.theme
        self.x, self.y, self.radius = x, y, radius
        self.disc = Polygon(np.zeros((_SMOOTH + 1, 2)), fc=theme.ground, ec="none", lw=0)
        axes.add_patch(self.disc)
        (self.arc,) = axes.plot([], [], color=theme.line, lw=2, solid_capstyle="butt")
        (self.reach,) = axes.plot([], [], lw=13, solid_capstyle="round")
        (self.dots,) = axes.plot([], [], "o", ms=8, color=theme.grey, **look.ring(1.5))
        (self.flares,) = axes.plot([], [], marker=_FLARE, ls="none", ms=38, color=theme.rough[3], mew=0)
        (self._howling,) = axes.plot([], [], marker=_FLARE, ls="none", ms=46, color=theme.rough[4], mew=0)
        (self.roots,) = axes.plot([], [], "o", ms=17, color=theme.ink, **look.ring())
        (self._lit,) = axes.plot([], [], "o", ms=24, color=theme.ink, label="sounding", **look.ring())
        self._outside = radius + look.fit(0.4, 0.44)
        self.names = [look.text(axes, 0, 0, ha="center", va="center", weight="bold") for _ in range(12)]
        self.word = look.text(axes, x, y - radius - 0.05, "the wolf", ha="center", va="center", color=theme.grey)
        self._turns: FloatArray = np.zeros(1)

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [
            self.disc,
            self.arc,
            self.reach,
            self.dots,
            self.flares,
            self._howling,
            self.roots,
            self._lit,
            *self.names,
            self.word,
        ]

    def _at(self, turns: Any, radius: float | None = None) -> tuple[Any, Any]:
        across, up = clockwise(turns)
        far = self.radius if radius is None else radius
        return self.x + far * across, self.y + far * up

    def show(self, chain: Chain, key: str, tint: Tint) -> None:
        """Show a chain, with the seven notes of a key upon it."""
        opened = 1.0 if chain.wolf else 0.0  # the gap is drawn a fifth wider, so that it is seen
        turn = 1 / (len(chain) + opened)
        turns = self._turns = np.asarray((np.arange(len(chain)) - (len(chain) - 1) / 2) * turn)
        rim = self._at(np.linspace(turns[0], turns[-1] + (0 if chain.wolf else turn), _SMOOTH))
        self.arc.set_data(*rim)
        self.disc.set_xy(np.vstack([np.column_stack(rim), [self.x, self.y - _NOTCH * self.radius]]))
        self.dots.set_data(*self._at(turns))
        places = [chain.place_of(Note.on_chain(int(Key(Note.named(key)).lowest_fifth) + i)) for i in range(7)]
        strokes = []
        for start, end in pairwise(places):
            whole = end == start + 1 or not chain.wolf
            strokes.append(turns[start] + np.linspace(0 if whole else -_A_DOT, turn if whole else 0, 12))
        strokes.append(turns[places[-1]] + np.linspace(0, _A_DOT, 12))
        pieces = [np.column_stack(self._at(np.append(stroke, np.nan))) for stroke in strokes]
        self.reach.set_data(*np.concatenate(pieces).T)
        self.reach.set_color(tint.dim)
        shown: Sequence[int] = range(12) if len(chain) == 12 else places
        for name, place in zip(self.names, [*shown, *[None] * (12 - len(shown))], strict=True):
            name.set_visible(place is not None)
            if place is not None:
                across, up = self._at(turns[place], self._outside)
                name.set(text=str(chain.notes[place].name), position=(float(across), float(up)))
                name.set_color(self._theme.ink if place in places else self._theme.grey)
        self.word.set_visible(bool(chain.wolf))
        self._lit.set_data([], [])
        self._howling.set_data([], [])

    def beads(self, chain: Chain, key: str, howls: Sequence[bool]) -> None:
        """Put a bead on each root, with a flare on those of chords that howl."""
        home = Key(Note.named(key))
        turns = self._turns[[chain.place_of(home.scale[degree]) for degree in _DEGREES]]
        x, y = self._at(turns)
        self.roots.set_data(x, y)
        self.flares.set_data(np.where(howls, x, np.nan), np.where(howls, y, np.nan))

    def sound(self, place: int, howls: bool) -> None:
        """Light up the root that sounds, with a larger flare where its chord howls."""
        x, y = self._at(self._turns[place])
        self._lit.set_data([x], [y])
        if howls:
            self._howling.set_data([x], [y])


class _Columns:
    """Six chords as columns of three notes, each beside the places of pure ones, on a scale of cents."""

    def __init__(self, axes: Axes, look: Look, left: float, apart: float, foot: float, per_cent: float) -> None:
        theme = self._theme = look.theme
        self._x, self._foot, self._per_cent = left + apart * np.arange(len(_DEGREES)), foot, per_cent
        (self._stems,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._pure,) = axes.plot([], [], color=theme.pure.full, lw=4, solid_capstyle="butt")
        (self._misses,) = axes.plot([], [], color=theme.rough[4], lw=11, solid_capstyle="butt")
        (self._flares,) = axes.plot([], [], marker=_FLARE, ls="none", ms=34, color=theme.rough[3], mew=0)
        (self._notes,) = axes.plot([], [], ls="none", **look.ring(1.5))
        (self._lit,) = axes.plot([], [], "o", ms=20, color=theme.ink, label="sounding column", **look.ring())
        self._names = [look.text(axes, x, foot - 0.42, "", "name", ha="center") for x in self._x.tolist()]
        self._rows = [
            look.text(axes, left - 0.28, foot + per_cent * size, words, ha="right", va="center", color=theme.grey)
            for words, size in (("root", 0.0), ("third", cents("5/4")), ("fifth", cents("3/2")))
        ]
        self._at: list[FloatArray] = []

    @property
    def moving(self) -> list[Any]:
        """All that moves."""
        return [self._stems, self._flares, self._misses, self._pure, self._notes, self._lit, *self._names]

    @property
    def all(self) -> list[Any]:
        """What there is of every chord."""
        return [self._stems, self._pure, self._notes, *self._names, *self._rows]

    @property
    def howl(self) -> list[Any]:
        """What there is of those that howl."""
        return [self._misses, self._flares]

    def show(self, chords: Sequence[tuple[str, Triad]], howls: Sequence[Sequence[str]], tint: Tint) -> None:
        """Show the chords of a progression, with flares at what howls."""
        triads = [triad for _, triad in chords]
        sizes = np.array([(0.0, triad.third_cents, triad.fifth_cents) for triad in triads])
        errors = np.array([(0.0, triad.third_error, triad.fifth_error) for triad in triads])
        loud = np.array([(False, "third" in found, "fifth" in found) for found in howls])
        x = np.repeat(self._x, 3)
        y = np.asarray(self._foot + self._per_cent * sizes)
        pure = np.asarray(self._foot + self._per_cent * (sizes - errors))
        self._at = list(y)
        self._notes.set_data(x, y.ravel())
        self._notes.set(marker=tint.marker, ms=12, mfc=tint.full)
        self._notes.set_markeredgecolor(self._theme.behind_text)
        self._pure.set_data(*level_strokes(pure.ravel(), x - 0.2, x + 0.2))
        self._stems.set_data(*strokes(self._x, y[:, 0], y.max(axis=1)))
        off = np.where(loud, y, np.nan).ravel()
        self._misses.set_data(*strokes(x, off, pure.ravel()))
        self._flares.set_data(x, off)
        for name, (words, _), found in zip(self._names, chords, howls, strict=True):
            name.set_text(words.replace(" minor", "m"))
            name.set_color(self._theme.ink if found or not any(howls) else self._theme.grey)
        self._lit.set_data([], [])

    def sound(self, chord: int) -> None:
        """Light up the chord that sounds."""
        self._lit.set_data(np.full(3, self._x[chord]), self._at[chord])
