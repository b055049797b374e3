"""Voicing: the same chord spread and turned, its notes on a keyboard, tied the thicker the more they rub."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations, zip_longest
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import as_played, set_apart
from tunelib.exhibits.inches import in_inches, width_of
from tunelib.exhibits.key_row import KeyRow
from tunelib.exhibits.look import MARGIN, Look
from tunelib.harmony import VOICING_KINDS, Chord, chord_roughness, voicings
from tunelib.pitch import THIRTY_ONE, FloatArray, Note, cents, plain, spellings, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_OCTAVE = len(THIRTY_ONE)
_C2, _C3, _C5 = (Note.parse(name).hz(THIRTY_ONE) for name in ("C2", "C3", "C5"))
_SYMBOLS = ("C6", "Cmaj7", "Cm7", "Csubharm7", "C7", "Charm7", "C9", "Charm9")
_MOST_NOTES = 5
_FIRST, _KEYS = -2, 48  # the lowest octave on the keys, from C4, where all notes fit; and semitones to the last key
_WHITE = (0, 2, 4, 5, 7, 9, 11)
_PAIRS = tuple(combinations(range(_MOST_NOTES), 2))
_RASPS = 2.0  # roughness from which a pair of notes rasps: less than that of any interval at its low limit
_THICK = 1.2  # points of a tie for each unit of roughness
_BOW = 40  # points of the line of a tie


@dataclass(frozen=True)
class _Laid:
    """A chord laid out on a root: the chord there, the root, its notes, and its steps from C4."""

    chord: Chord
    root: Note
    notes: tuple[Note, ...]
    steps: tuple[int, ...]

    @cached_property
    def rubs(self) -> dict[tuple[int, int], float]:
        """Every pair of voices, and how rough they are together beyond what each is alone."""
        pairs = list(combinations(range(len(self.steps)), 2))
        alone = chord_roughness([[step] for step in self.steps], THIRTY_ONE)
        both = chord_roughness([[self.steps[i], self.steps[j]] for i, j in pairs], THIRTY_ONE)
        return {(i, j): float(two - alone[i] - alone[j]) for (i, j), two in zip(pairs, both, strict=True)}


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
        (name, tuple(name.transpose(c3.interval_to(note)) for note in shape)) for name in spellings(root, THIRTY_ONE)
    ]
    on, notes = min(ways, key=lambda way: sum(abs(note.half_sharps) for note in way[1]))
    return _Laid(Chord.parse(chord).on(on), on, notes, tuple(note.step(THIRTY_ONE) for note in notes))


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
    """A chord in its voicings: its notes on a keyboard, how much every two of them rub, and how rough it is in all."""

    name: ClassVar[str] = "spread_chord"
    title: ClassVar[str] = "The same chord, spread and turned"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", _SYMBOLS, "Cmaj7"),
        Choice("voicing", "Voicing", VOICING_KINDS, "spread"),
        Slider("turned", "Times turned", 0, 3, 1, 0),
        Slider("root", "Root", _C2, _C5, _OCTAVE, _C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        kind: {"voicing": kind} for kind in ("close", "open", "spread")
    }
    together: ClassVar[tuple[str, ...]] = ("chord", "voicing", "turned")
    parts: ClassVar[Mapping[str, str]] = {
        "keys": "the keyboard",
        "notes": "the notes of the chord",
        "ties": "ties between every two notes, the thicker the more they rub",
        "close": "the close voicing: its notes, and how rough it is",
        "gauge": "how rough this voicing is",
        "share": "its roughness in per cent of the close voicing's",
        "chord": "the chord and its voicing",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("keys",),
        ("notes", "chord"),
        ("ties",),
        ("close",),
        ("gauge", "share"),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, look.fit(self.title, "The same chord, spread"))
        width, height = look.inches
        upright = look.tall and not look.square
        axes = in_inches(figure, look)
        margin = look.fit(MARGIN, 0.4, 0.35)
        start, end = look.fit((margin, width - margin), (0.55, 6.95), (margin, width - margin))  # the ends of the keys
        near, back = look.fit((0.86, 1.72), (1.25, 2.0), (1.2, 1.75))
        widest = look.fit(1.68, 3.1, 1.28)  # inches that ties may reach beyond the keys
        key = (end - start) / (_KEYS + 1)

        def at(sizes: Any) -> Any:
            """Where along the keys so many cents above the lowest C are, in inches."""
            return start + key * (np.asarray(sizes) / 100 + 0.5)

        def turn(along: Any, across: Any) -> tuple[Any, Any]:
            return (across, along) if upright else (along, across)

        keys = KeyRow(axes, look, at, (0, _KEYS), near, back, upright=upright)
        ties = [axes.plot([], [], solid_capstyle="butt")[0] for _ in _PAIRS]
        (from_close,) = axes.plot([], [], "o", ms=look.fit(9, 10), mfc="none", mec=theme.grey, mew=1.6)
        column = look.fit(7, 8)
        posts = [
            axes.plot([], [], color=theme.thirty_one.full, lw=column, solid_capstyle="round")[0]
            for _ in range(_MOST_NOTES)
        ]
        size, side = look.fit(("name", "center"), ("name", "right"), ("label", "center"))
        names = [look.text(axes, 0, 0, size=size, ha=side, va="center") for _ in range(_MOST_NOTES)]
        there = look.text(axes, 0, 0, "close", ha=side, va="center", color=theme.grey)

        line = height - MARGIN - look.size("title") / 72 + 0.06
        said_at = look.fit((width - MARGIN, line), (MARGIN, line - 0.42), (MARGIN, line - 0.38))
        said = look.text(axes, *said_at, size="name", ha=look.fit("right", "left"))
        left, right = MARGIN, width - MARGIN
        bar_y = look.fit(3.64, 7.35, 3.26)
        longest = right - left - look.fit(0.6, 0.7)
        thick = look.fit(0.2, 0.26, 0.2)
        (gauge,) = axes.fill([0] * 4, [0] * 4, color=theme.rough[3], lw=0)
        (ghost,) = axes.fill([0] * 4, [0] * 4, fc="none", ec=theme.grey, lw=1.6, joinstyle="round")
        close = look.text(axes, 0, bar_y + thick / 2, "close", va="center", color=theme.grey)
        number_y = bar_y + thick + look.fit(0.14, 0.18, 0.17)
        share = look.text(axes, left, number_y, size="number")
        of_close = look.text(axes, left, number_y, "as rough as close", "name")
        post_foot = near + 0.3 * (back - near)
        shown: dict[str, Any] = {}

        def bar(length: float) -> list[tuple[float, float]]:
            low, high = bar_y, bar_y + thick
            return [(left, low), (left + length, low), (left + length, high), (left, high)]

        def update(chord: str, voicing: str, turned: int, root: float) -> None:
            step = _nearest(root)
            laid = _laid(chord, voicing, turned, step)
            off = float(np.log2(root / THIRTY_ONE.hz(step)))  # nothing, where the slider stops
            octaves = np.array(laid.steps) / _OCTAVE + off
            lowest = _lowest_key(12 * float(octaves[-1]))
            keys.begin(lowest % 12)
            x = at(1200 * octaves - 100 * lowest)
            close_steps = np.array(_laid(chord, "close", 0, step).steps)
            left_behind = np.where(np.isin(close_steps, laid.steps), np.nan, close_steps / _OCTAVE + off)
            from_close.set_data(*turn(at(1200 * left_behind - 100 * lowest), np.full(len(left_behind), post_foot)))
            for i, (post, text, note) in enumerate(zip_longest(posts, names, laid.notes)):
                post.set_visible(note is not None)
                text.set_visible(note is not None)
                if note is not None:
                    post.set_data(*turn([x[i], x[i]], [post_foot, back + 0.12]))
                    text.set_text(str(note))
            room, below, further = look.fit((0.5, 0.22, 0.28), (0.3, 0.1, 0.62), (0.5, 0.2, 0.26))
            rows = _rows(x.tolist(), room)
            for i, row in enumerate(rows):
                names[i].set_position(turn(x[i], near - below - further * row))
            alone = at(1200 * left_behind[~np.isnan(left_behind)] - 100 * lowest).tolist()
            there.set_visible(bool(alone))
            if alone:
                place, row = _free([(alone[0] + alone[-1]) / 2, *alone], x.tolist(), rows, room)
                there.set_position(turn(place, near - below - further * row))
            for pair, tie in zip(_PAIRS, ties, strict=True):
                much = laid.rubs.get(pair)
                tie.set_visible(much is not None)
                if much is not None:
                    tie.set_data(*turn(*_bow(float(x[pair[0]]), float(x[pair[1]]), back + 0.12, widest, end - start)))
                    tie.set_linewidth(_THICK * max(0.0, much))
            heights, plainly = (_curve(chord, *how) / _roughest(chord) for how in ((voicing, turned), ("close", 0)))
            registers = _REGISTERS / _OCTAVE
            gauge.set_xy(bar(longest * float(np.interp(octaves[0], registers, heights))))
            as_close = longest * float(np.interp(octaves[0], registers, plainly))
            ghost.set_xy(bar(as_close))
            close.set_x(left + as_close + 0.1)
            share.set_text(f"{self._compared(chord, voicing, turned, root)[0]} %")
            of_close.set_x(left + width_of(share) + 0.12)
            said.set_text(f"{set_apart(laid.chord)}, {voicing}")
            shown.update(laid=laid)
            light(SILENT)

        def light(playing: Playing) -> None:
            sounding = set(playing.notes) or set(range(_MOST_NOTES))
            for i, (post, text) in enumerate(zip(posts, names, strict=True)):
                post.set_color(theme.thirty_one.full if i in sounding else theme.thirty_one.dim)
                text.set_color(theme.ink if i in sounding else theme.grey)
            for pair, tie in zip(_PAIRS, ties, strict=True):
                rasps = shown["laid"].rubs.get(pair, 0.0) >= _RASPS
                tie.set_color(theme.rough[4] if rasps else theme.rough[3])
                tie.set_alpha(1.0 if set(pair) <= sounding else 0.25)

        moving = (
            keys.seams,
            keys.black,
            from_close,
            *ties,
            *posts,
            *names,
            there,
            gauge,
            ghost,
            close,
            share,
            of_close,
            said,
        )
        parts = {
            "keys": keys.artists,
            "notes": (*posts, *names),
            "ties": ties,
            "close": (ghost, close, from_close, there),
            "gauge": (gauge,),
            "share": (share, of_close),
            "chord": (said,),
        }
        return Scene(moving, update, light, parts)

    def numbers(self, chord: str, voicing: str, turned: int, root: float) -> Mapping[str, str]:
        laid = _laid(chord, voicing, turned, _nearest(root))
        share, octave_up = self._compared(chord, voicing, turned, root)
        return {
            "chord": as_played(laid.chord),
            "lowest": str(laid.notes[0]),
            "share": str(share),
            "up": str(octave_up),
            "rasping": str(sum(much >= _RASPS for much in laid.rubs.values())),
        }

    @staticmethod
    def _compared(chord: str, voicing: str, turned: int, root: float) -> tuple[int, int]:
        """Roughness in per cent of the close voicing's on the same lowest note; and an octave up, of that here."""
        lowest = _laid(chord, voicing, turned, _nearest(root)).steps[0]
        ours, plainly = _curve(chord, voicing, turned), _curve(chord, "close", 0)
        place = lowest - int(_REGISTERS[0])
        return round(100 * ours[place] / plainly[place]), round(100 * ours[place + _OCTAVE] / ours[place])

    def sentence(self, chord: str, voicing: str, turned: int, root: float) -> str:
        laid = _laid(chord, voicing, turned, _nearest(root))
        symbol = as_played(laid.chord)
        of_close, octave_up = self._compared(chord, voicing, turned, root)
        plain_close = (voicing, turned) == ("close", 0)
        count, whole = len(laid.notes), len(_laid(chord, "close", 0, _nearest(root)).notes)
        fewer = f" with {count} notes where that has {whole}," if count < whole else ""
        beside = "" if plain_close else f"it is {of_close} % as rough as the close voicing from there up,{fewer} and "
        how = f", turned {times(turned, 'time')}," if turned else ""
        return (
            f"On {laid.root} ({plain(root)} Hz) the {voicing} voicing of {symbol}{how} has "
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


def _nearest(root: float) -> int:
    return int(THIRTY_ONE.nearest(cents(root / float(THIRTY_ONE.hz(0))))[0])


def _lowest_key(top: float) -> int:
    """The lowest key in semitones from C4: a C, or the next white key from which the top note is on the keys too."""
    lowest = 12 * _FIRST
    while top > lowest + _KEYS + 0.4 or lowest % 12 not in _WHITE:
        lowest += 1
    return lowest


def _rows(places: list[float], room: float) -> list[int]:
    """In which of a few rows each name goes, so that none is nearer than `room` to the one before it in its row."""
    last: list[float] = []
    found = []
    for place in places:
        row = next((i for i, before in enumerate(last) if place - before >= room), len(last))
        last[row : row + 1] = [place]
        found.append(row)
    return found


def _free(wanted: list[float], places: list[float], rows: list[int], room: float) -> tuple[float, int]:
    """The first of some wanted places, and the first row, with room for a word among names in their rows."""
    return next(
        (place, row)
        for row in range(len(places) + 1)
        for place in wanted
        if all(abs(place - other) >= room for other, its_row in zip(places, rows, strict=True) if its_row == row)
    )


def _bow(low: float, high: float, foot: float, most: float, whole: float) -> tuple[FloatArray, FloatArray]:
    """The bow of a tie from one place to another: along, and across. Over the `whole` it would reach out by `most`."""
    turn = np.linspace(0, np.pi, _BOW)
    reach = most * min(1.0, 1.3 * (high - low) / whole) ** 0.6
    return (low + high) / 2 - (high - low) / 2 * np.cos(turn), foot + reach * np.sin(turn)
