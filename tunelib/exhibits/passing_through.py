"""Ways from one chord to the next through chords that no piano has: voices that glide, and what twelve makes of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any, ClassVar, NamedTuple

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, width_of
from tunelib.exhibits.look import Look, Tint
from tunelib.export import printed_symbol
from tunelib.harmony import Chord, Way, degrees_of_no_piano, ways_between
from tunelib.pitch import THIRTY_ONE, FloatArray, IntArray, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_PAIRS = (
    "Dm7 to G7", "G7 to Cmaj7", "Cmaj7 to Am7", "Cmaj7 to Fmaj7", "Cmaj7 to E♭maj7", "Em7♭5 to A7", "Fmaj7 to Fm6",
    "C to F", "F to C", "C to Am",
)  # fmt: skip
_TUNED = ("in thirty-one", "in twelve")
_SIZE = len(THIRTY_ONE)
_STEPS_A_KEY = _SIZE / 12
_MOST, _VOICES, _WAYS = 3, 4, 5
_TEMPO = 60
_ENDS, _PASSING = 2.0, 1.0  # beats of the two chords, and of each between them
_BASS = -2 * _SIZE  # steps from C4 to the C of the octave in which the roots are played
_ROOM = 5, 8  # steps between two notes that leave room for a name, in a wide picture and in others


class _Heard(NamedTuple):
    """A way in one tuning, in steps of thirty-one from C4: where its voices are, and where the roots."""

    voices: FloatArray  # chords, voices
    roots: FloatArray


def _way(pair: str, passing: int, way: int) -> Way:
    first, last = map(Chord.parse, pair.split(" to "))
    return ways_between(first, last, THIRTY_ONE, most=passing, fewest=passing, count=_WAYS)[way - 1]


@lru_cache(maxsize=512)
def _heard(pair: str, passing: int, way: int, tuned: str) -> _Heard:
    """The notes of a way: as they are, or each on the nearest key, the root of the first chord left where it is."""
    one = _way(pair, passing, way)
    roots = np.array([chord.root.within(THIRTY_ONE).step(THIRTY_ONE) % _SIZE for chord in one.chords])
    if tuned == _TUNED[0]:
        return _Heard(np.array(one.voices, dtype=float), roots + float(_BASS))
    keys = np.array(one.in_twelve.keys)
    root_keys = np.floor((roots - roots[0]) / _STEPS_A_KEY + 0.5)
    return _Heard(roots[0] + keys * _STEPS_A_KEY, roots[0] + root_keys * _STEPS_A_KEY + _BASS)


@lru_cache(maxsize=512)
def _new(pair: str, passing: int, way: int) -> tuple[tuple[int, int], ...]:
    """The notes that no piano has, as (chord, voice): those of neutral degrees, harmonic ones and the like."""
    one = _way(pair, passing, way)
    found: set[tuple[int, int]] = set()
    for place, chord in enumerate(one.chords):
        root = chord.root.within(THIRTY_ONE).step(THIRTY_ONE)
        strange = {(root + step) % _SIZE for step in degrees_of_no_piano(chord, THIRTY_ONE)}
        found |= {(place, voice) for voice, step in enumerate(one.voices[place]) if step % _SIZE in strange}
    return tuple(sorted(found))


class WaysBetween(Exhibit):
    """The best ways from one chord to another that no piano has, and the same on the keys of one."""

    name: ClassVar[str] = "ways_between"
    title: ClassVar[str] = "A way that no piano has"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("pair", "From chord to chord", _PAIRS, _PAIRS[0]),
        Slider("passing", "Passing chords", 1, _MOST, 1, 2),
        Slider("way", "Which way, the best first", 1, _WAYS, 1, 1),
        Choice("tuned", "Tuned", _TUNED, _TUNED[0], ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"tuned": _TUNED[1]}, "31": {"tuned": _TUNED[0]}}
    parts: ClassVar[Mapping[str, str]] = {
        "voices": "the voices, from chord to chord",
        "chords": "the names of the chords",
        "moves": "how far each voice moves",
        "notes": "the notes of the chords",
        "new": "the moves and the notes that no piano has",
        "number": "how many moves or chords no piano has",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("voices", "notes"), ("chords",), ("moves",), ("new", "number"))
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Picture(figure, look)
        now: list[Any] = []

        def update(pair: str, passing: int, way: int, tuned: str) -> None:
            now[:] = pair, passing, way, tuned
            picture.show(pair, passing, way, tuned)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                picture.sound(playing.seconds * _TEMPO / 60, playing.notes[0] // (len(picture.pitches[0]) + 1))

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, pair: str, passing: int, way: int, tuned: str) -> str:
        one = _way(pair, passing, way)
        names = [printed_symbol(chord) for chord in one.chords]
        twelve = one.in_twelve.told(names)
        chain = f"Way {way} of {_WAYS} through {times(passing, 'passing chord')}: {' – '.join(names)}"
        if tuned == _TUNED[1]:
            return f"{chain}, each note on the nearest key: {twelve[0].lower()}{twelve[1:]}"
        return f"{chain}. {one.reason} {twelve}"

    def numbers(self, pair: str, passing: int, way: int, tuned: str) -> Mapping[str, str]:
        one = _way(pair, passing, way)
        return {
            "steps": str(one.leading.total),
            "largest": str(one.leading.largest),
            "lost": str(len(one.in_twelve.lost)),
            "foreign": str(len(one.in_twelve.foreign)),
        }

    def score(self, pair: str, passing: int, way: int, tuned: str) -> Score:
        heard = _heard(pair, passing, way, tuned)
        notes = []
        onset = 0.0
        for place, (voices, root) in enumerate(zip(heard.voices, heard.roots, strict=True)):
            beats = _beats(place, passing)
            steps = [root, *voices.tolist()]
            hertz = THIRTY_ONE.hz(0) * 2 ** (np.array(steps) / _SIZE)
            notes += [
                ScoreNote(onset=onset, duration=beats, hertz=float(one), voice=str(voice), level=0.45)
                for voice, one in enumerate(hertz.tolist())
            ]
            onset += beats
        return Score(tuple(notes), tempo=_TEMPO)

    def timbre(self, **values: Any) -> Voicing:
        return dict.fromkeys(map(str, range(_VOICES + 1)), TIMBRES["reed"])


def _beats(place: int, passing: int) -> float:
    return _PASSING if 0 < place <= passing else _ENDS


class _Picture:
    """The voices on a picture in inches: to the right in a wide one, downwards in the others."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look, self._down = look, look.tall
        field = field_of(look)
        axes = in_inches(figure, look)
        label, name, number = (look.size(size) / 72 for size in ("label", "name", "number"))
        self._left, self._foot = field.left, field.bottom
        if self._down:
            self._along = (
                field.top - 0.3 * label - look.fit(0, 0.15, 0.1),
                field.bottom + number + look.fit(0, 0.6, 0.3),
            )
            self._pitch = field.left + 8.6 * label, field.right - 2.6 * label
        else:
            self._along = field.left + 0.7, field.right - 0.8
            self._pitch = field.bottom + number + 0.5, field.top - 2.4 * name - 0.3
        self._top = field.top
        style: dict[str, Any] = {"solid_capstyle": "round", "solid_joinstyle": "round"}
        self._lines = [axes.plot([], [], lw=2.5, **style)[0] for _ in range(_VOICES)]
        (self._moved,) = axes.plot([], [], lw=4, **style)
        (self._lost,) = axes.plot([], [], lw=8, **style)
        (self._head,) = axes.plot([], [], color=theme.ink, lw=1.2)
        (self._dots,) = axes.plot([], [], ls="none", ms=9, **look.ring())
        (self._new,) = axes.plot([], [], ls="none", ms=16, **look.ring())
        (self._lit,) = axes.plot([], [], ls="none", ms=11, **look.ring())
        side: dict[str, Any] = {"va": "center", "ha": "left"} if self._down else {"va": "center", "ha": "center"}
        columns = range(_MOST + 2)
        self._symbols = [look.text(axes, 0, 0, size=look.fit("name", "label"), weight="bold", **side) for _ in columns]
        self._names = [[look.text(axes, 0, 0, va="center", ha="center") for _ in range(_VOICES)] for _ in columns]
        self._sizes = [
            [look.text(axes, 0, 0, weight="bold", va="center", ha="center") for _ in range(_VOICES)]
            for _ in range(_MOST + 1)
        ]
        self._number = look.headline(axes, 0, 0)
        self.pitches: FloatArray = np.zeros((2, _VOICES))
        self._places: FloatArray = np.zeros(2)
        names = [text for row in self._names for text in row]
        sizes = [text for row in self._sizes for text in row]
        self.moving = (
            *self._lines, self._moved, self._lost, self._head, self._dots, self._new, self._lit, *self._symbols, *names,
            *sizes, *self._number.artists,
        )  # fmt: skip
        self.parts = {
            "voices": tuple(self._lines),
            "chords": tuple(self._symbols),
            "moves": (self._moved, *sizes),
            "notes": (self._dots, *names),
            "new": (self._lost, self._new),
            "number": self._number.artists,
        }

    def show(self, pair: str, passing: int, way: int, tuned: str) -> None:
        """Show a way; nothing sounds."""
        one = _way(pair, passing, way)
        self.pitches = _heard(pair, passing, way, tuned).voices
        self._places = np.linspace(*self._along, passing + 2)
        self._passing = passing
        theme = self._look.theme
        tint = theme.of(31 if tuned == _TUNED[0] else 12)
        low, high = min(map(min, one.voices)), max(map(max, one.voices))
        self._scale = (self._pitch[1] - self._pitch[0]) / (high - low)
        self._low = low
        in_steps = one.moves
        in_keys = np.diff(np.array(one.in_twelve.keys), axis=0)
        moves = in_steps if tuned == _TUNED[0] else in_keys
        lost = one.in_twelve.lost if tuned == _TUNED[0] else ()
        self._show_lines(moves, lost, tint)
        new = _new(pair, passing, way)
        is_new = np.zeros(self.pitches.shape, dtype=bool)
        if new:
            is_new[tuple(np.array(new).T)] = tuned == _TUNED[0]
        for line, chosen in ((self._dots, ~is_new), (self._new, is_new)):
            where = np.argwhere(chosen)
            line.set_data(*self._at(self._places[where[:, 0]], self.pitches[chosen]))
            line.set(color=tint.full, marker=tint.marker, mec=theme.behind_text)
        self._dots.set_color(tint.dim)
        self._lit.set_visible(False)
        self._head.set_visible(False)
        self._show_symbols(one, in_keys if tuned == _TUNED[1] else in_steps, tint)
        self._show_names(one, tuned, is_new, in_steps)
        self._show_sizes(moves)
        self._say(one, tuned)

    def sound(self, beats: float, chord: int) -> None:
        """Show which chord sounds, and a line at the moment that is heard."""
        spans = [_beats(place, self._passing) for place in range(self._passing + 2)]
        ends = np.cumsum(spans)
        moment = float(np.interp(beats, [0, *ends[:-1]], self._places))
        across = np.array([self._pitch[0] - 0.2, self._pitch[1] + 0.2])
        along = np.full(2, moment)
        self._head.set_data(*((across, along) if self._down else (along, across)))
        self._head.set_visible(True)
        chord = min(chord, len(self.pitches) - 1)
        self._lit.set_data(*self._at(np.full(self.pitches.shape[1], self._places[chord]), self.pitches[chord]))
        self._lit.set(color=self._look.theme.ink, marker=self._dots.get_marker(), visible=True)

    def _at(self, along: Any, pitch: Any) -> tuple[Any, Any]:
        """A place on the picture: along the way, and at a height of pitch in steps of thirty-one."""
        up = self._pitch[0] + self._scale * (np.asarray(pitch) - self._low)
        return (up, np.asarray(along)) if self._down else (np.asarray(along), up)

    def _glides(self) -> tuple[FloatArray, FloatArray]:
        """Where each glide from chord to chord begins and ends, along the way."""
        gap = self._places[1:] - self._places[:-1]
        return self._places[:-1] + 0.3 * gap, self._places[1:] - 0.2 * gap

    def _show_lines(self, moves: IntArray, lost: Sequence[tuple[int, int]], tint: Tint) -> None:
        """The voices, where they move, and where they do so by a move that no piano has."""
        begins, ends = self._glides()
        along = np.concatenate([self._places[:1], np.column_stack([begins, ends]).ravel(), self._places[-1:]])
        for voice, line in enumerate(self._lines):
            line.set(visible=voice < self.pitches.shape[1], color=tint.dim)
            if voice < self.pitches.shape[1]:
                line.set_data(*self._at(along, np.repeat(self.pitches[:, voice], 2)))
        is_lost = np.zeros(moves.shape, dtype=bool)
        for chord, voice in lost:
            is_lost[chord - 1, voice] = True
        for strokes, chosen in ((self._moved, (moves != 0) & ~is_lost), (self._lost, is_lost)):
            change, voices = np.nonzero(chosen)
            gap = np.full(len(change), np.nan)
            along = np.column_stack([begins[change], ends[change], gap]).ravel()
            pitch = np.column_stack([self.pitches[change, voices], self.pitches[change + 1, voices], gap]).ravel()
            strokes.set_data(*self._at(along, pitch))
            strokes.set_color(tint.full)

    def _show_symbols(self, one: Way, moves: IntArray, tint: Tint) -> None:
        theme = self._look.theme
        count = len(one.chords)
        for place, text in enumerate(self._symbols):
            text.set_visible(place < count)
            text.set_text(printed_symbol(one.chords[min(place, count - 1)]))
            idle = 0 < place < count and not moves[place - 1].any()
            text.set_color(theme.line if idle else tint.text if 0 < place < count - 1 else theme.ink)
        widths = [width_of(text) for text in self._symbols[:count]]
        apart = abs(self._places[1] - self._places[0])
        crowded = any((left + right) / 2 + 0.15 > apart for left, right in pairwise(widths))
        line = 1.2 * self._look.size("name") / 72
        for place, text in enumerate(self._symbols[:count]):
            if self._down:
                text.set_position((self._left, self._places[place]))
            else:
                half = widths[place] / 2
                x = float(np.clip(self._places[place], self._left + half, self._look.inches[0] - self._left - half))
                text.set_position((x, self._top - 0.5 * line - (line if crowded and place % 2 else 0)))

    def _show_names(self, one: Way, tuned: str, is_new: Any, moves: IntArray) -> None:
        """The names of the notes where they are reached, if there is room."""
        theme = self._look.theme
        names = one.leading.notes(one.chords)
        room = _ROOM[self._down]
        away = 0.5 * self._look.size("label") / 72 + 0.13
        for place, row in enumerate(self._names):
            for voice, text in enumerate(row):
                there = place < len(names) and voice < self.pitches.shape[1] and tuned == _TUNED[0]
                reached = there and (place == 0 or moves[place - 1, voice] != 0)
                text.set_visible(False)
                if not reached:
                    continue
                pitch = self.pitches[place]
                above = pitch[voice + 1] - pitch[voice] if voice + 1 < len(pitch) else _SIZE
                below = pitch[voice] - pitch[voice - 1] if voice else _SIZE
                if max(above, below) < room:
                    continue
                side = 1 if above >= room else -1
                text.set_text(names[place][voice].name)
                x, y = self._at(self._places[place], pitch[voice])
                wide = width_of(text) / 2 + 0.13
                text.set_position((x + side * wide, y) if self._down else (x, y + side * away))
                text.set(visible=True, color=theme.ink if is_new[place, voice] else theme.grey)

    def _show_sizes(self, moves: IntArray) -> None:
        """How far each voice moves, beside its glide, on the side on which there is more room."""
        begins, ends = self._glides()
        label = self._look.size("label") / 72
        middles = (self.pitches[:-1] + self.pitches[1:]) / 2
        for change, row in enumerate(self._sizes):
            for voice, text in enumerate(row):
                there = change < len(moves) and voice < self.pitches.shape[1] and moves[change, voice] != 0
                text.set_visible(bool(there))
                if there:
                    text.set_text(signed(int(moves[change, voice])))
                    at = middles[change]
                    above = at[voice + 1] - at[voice] if voice + 1 < len(at) else _SIZE
                    below = at[voice] - at[voice - 1] if voice else _SIZE
                    side = 1 if above >= _ROOM[0] or above >= below else -1
                    x, y = self._at((begins[change] + ends[change]) / 2, at[voice])
                    text.set_position((x + side * 1.1 * label, y) if self._down else (x, y + side * 0.85 * label))

    def _say(self, one: Way, tuned: str) -> None:
        """The number: what of the way no piano has."""
        lost, foreign = len(one.in_twelve.lost), len(one.in_twelve.foreign)
        count, thing = (lost, "move") if lost else (foreign, "chord")
        words = times(count, thing).split(" ", 1)[1]
        self._number.say(str(count), f"{words} that no piano has" if tuned == _TUNED[0] else f"{words} lost in twelve")
        begin(self._number, self._left, self._foot)
