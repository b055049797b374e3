"""Harmony in motion: a chain of chords by the smallest steps, and progressions that go round and come home, or not."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import NORMAL, PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.harmony import PROGRESSIONS, Chord, Leading, lead, smooth_chain
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    FloatArray,
    Note,
    cents,
    drawn,
    equal,
    plain,
    ratio_from_cents,
    signed,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, vowel_timbre

_TWELVE = equal(12)
_FAMILIES = (
    "maj7", "harm7", "mharm7", "subharm7", "neumid7", "m7", "mmaj7", "supmaj7", "submid7", "dim7", "m7b5", "7",
)  # fmt: skip
_MOVES, _MOST_STEPS, _HELD = 8, 2, 2


@lru_cache(maxsize=1)
def smallest_chain() -> tuple[tuple[Chord, ...], Leading]:
    """The chain of the exhibit, found by search, and how its voices go."""
    chords = smooth_chain(Chord.parse("Cmaj7"), _FAMILIES, _MOVES, THIRTY_ONE, _MOST_STEPS, _HELD)
    start = [note.step(THIRTY_ONE) for note in chords[0].notes]
    return chords, lead(start, chords[1:], THIRTY_ONE)


@lru_cache(maxsize=1)
def _in_twelve() -> Leading:
    """The same voices, each note on the nearest key of twelve."""
    _, leading = smallest_chain()
    above = cents(THIRTY_ONE.hz(np.array(leading.voices)) / _TWELVE.hz(0))
    keys, _ = _TWELVE.nearest(above)
    return Leading(tuple(tuple(row) for row in keys.tolist()), _TWELVE)


def _printed(chord: Chord) -> tuple[str, str]:
    """The root of a chord and the rest of its symbol, as a figure can draw them."""
    return drawn(chord.root.name), chord.symbol.removeprefix(chord.root.typed_name)


_CHAINS = ("in thirty-one", "in twelve")


class SmallestMoves(Exhibit):
    """A chain of chords in which no voice moves more than two steps, and the same harmonies in twelve."""

    name: ClassVar[str] = "smallest_moves"
    title: ClassVar[str] = "The smallest step"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("position", "Chord", 1, _MOVES + 1, 1, 5),
        Choice("chain", "The chain", _CHAINS, _CHAINS[0], ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "12": {"chain": "in twelve"},
        "31": {"chain": "in thirty-one"},
    }
    _stay = 0.3  # of the way to the next chord: how far a voice's level line reaches to either side

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.08, 0.15, 0.89, 0.68), (0.12, 0.08, 0.85, 0.74))
        chords, leading = smallest_chain()
        names = [_printed(chord) for chord in chords]
        low, high = min(map(min, leading.voices)), max(map(max, leading.voices))
        axes.set(xlim=(-0.6, _MOVES + 0.6), ylim=(low - 3, high + 3), xticks=[])
        axes.set_yticks(range(0, high + 1, 5))
        axes.spines["bottom"].set_visible(False)
        look.text(axes, -0.55, high + 3.2, "steps of 31 above C4", ha="left", va="bottom")
        for place, (root, kind) in enumerate(names):
            words = look.fit(f"{root}\n{kind}", root)
            look.text(axes, place, low - 4, words, ha="center", va="top", linespacing=1.4)
        (band,) = axes.fill([0, 0, 0, 0], [low - 3, low - 3, high + 3, high + 3], color=look.theme.faint)
        (ahead,) = axes.plot([], [], color=grey, lw=2)
        (so_far,) = axes.plot([], [], lw=6, solid_capstyle="round")
        (dots,) = axes.plot([], [], ms=13, mec=ink, mew=2, ls="none")
        moves = [look.text(axes, 0, 0, ha="center", va="center", weight="bold") for _ in range(leading.motion.size)]
        sung = [look.text(axes, 0, 0, ha="center", va="top", weight="bold") for _ in leading.voices[0]]
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(position: int, chain: str) -> None:
            pitches, motion = self._drawn(chain)
            colour, marker = (THIRTY_ONE_COLOUR, "o") if chain == _CHAINS[0] else (TWELVE_COLOUR, "s")
            here = position - 1
            band.set_xy(
                [(here - 0.42, low - 3), (here + 0.42, low - 3), (here + 0.42, high + 3), (here - 0.42, high + 3)]
            )
            ahead.set_data(*self._path(pitches))
            so_far.set_data(*self._path(pitches[:position]))
            so_far.set_color(colour)
            dots.set_data(np.full(pitches.shape[1], here), pitches[here])
            dots.set(marker=marker, markerfacecolor=colour)
            for text, (place, voice) in zip(moves, np.ndindex(motion.shape), strict=True):
                move = int(motion[place, voice])
                text.set_visible(move != 0)
                middle = (pitches[place, voice] + pitches[place + 1, voice]) / 2
                text.set(text=signed(move), position=(place + 0.5, middle + 1.7))
            for text, name, height in zip(sung, self._named(here, chain), pitches[here].tolist(), strict=True):
                text.set(text=name, position=(here, height - 1.2))
            said.set_text(f"{''.join(names[here])}: {self._move_in_words(position, chain)}")

        return Scene((band, ahead, so_far, dots, *moves, *sung, said), update)

    @staticmethod
    def _drawn(chain: str) -> tuple[FloatArray, Any]:
        """The voices in steps of 31 above the C4 of 31, wherever they are tuned, and how they move in their own."""
        leading = smallest_chain()[1] if chain == _CHAINS[0] else _in_twelve()
        hertz = leading.tuning.hz(np.array(leading.voices))
        return np.asarray(cents(hertz / THIRTY_ONE.hz(0))) / CENTS_PER_OCTAVE * len(THIRTY_ONE), leading.motion

    @staticmethod
    def _named(place: int, chain: str) -> list[str]:
        """The names of the notes of a chord, from the lowest voice."""
        chords, leading = smallest_chain()
        notes = leading.notes(chords)[place] if chain == _CHAINS[0] else _in_twelve().notes()[place]
        return [drawn(note.name) for note in notes]

    def _path(self, pitches: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Every voice as a line: level at each chord, sloping to the next; a gap between voices."""
        count, voices = pitches.shape
        across = np.repeat(np.arange(count, dtype=float), 2) + np.tile([-self._stay, self._stay], count)
        gaps = np.full((1, voices), np.nan)
        heights = np.concatenate([np.repeat(pitches, 2, axis=0), gaps])
        return np.tile(np.append(across, np.nan), voices), heights.ravel("F")

    @staticmethod
    def _move_in_words(position: int, chain: str) -> str:
        """How the voices came to a chord."""
        if position == 1:
            return "the beginning"
        leading, unit = (smallest_chain()[1], "step") if chain == _CHAINS[0] else (_in_twelve(), "key")
        moves = np.abs(leading.motion[position - 2])
        going, total = int(np.count_nonzero(moves)), int(moves.sum())
        if not going:
            return "nothing moves"
        return f"{times(going, 'voice')} by {times(total, unit)} in all"

    def sentence(self, position: int, chain: str) -> str:
        chords, leading = smallest_chain()
        way = " ".join("".join(_printed(chord)) for chord in chords[:position])
        moved = self._move_in_words(position, chain)
        reached = "where it begins" if position == 1 else f"({moved})"
        largest = f"no voice of the chain goes farther than {times(leading.largest, 'step')} at a time"
        idle = int(np.count_nonzero(~_in_twelve().motion.any(axis=1)))
        other = f"each note goes to the nearest key, and at {idle} of the {_MOVES} changes of chord nothing moves"
        return (
            f"The chain {chain} as far as chord {position} of {_MOVES + 1} {reached}: {way}; "
            f"{largest if chain == _CHAINS[0] else other}."
        )

    def score(self, position: int, chain: str) -> Score:
        leading = smallest_chain()[1] if chain == _CHAINS[0] else _in_twelve()
        notes = [
            ScoreNote(
                onset=place, duration=1 if place < position - 1 else 2, hertz=float(hertz), voice=str(voice), level=0.45
            )
            for place, steps in enumerate(leading.voices[:position])
            for voice, hertz in enumerate(leading.tuning.hz(np.array(steps)).tolist())
        ]
        return Score(tuple(notes), tempo=54)

    def timbre(self, **values: Any) -> Voicing:
        return dict.fromkeys("0123", TIMBRES["reed"])


_TUNED: dict[str, int | None] = {"just": None, "31": 31, "12": 12}
_MOST_ROUNDS = 8


@lru_cache(maxsize=64)
def _running(progression: str, tuned: str) -> FloatArray:
    """The running pitch of the tonic over all rounds, in cents."""
    return PROGRESSIONS[progression].tonic(_MOST_ROUNDS, _TUNED[tuned])


@lru_cache(maxsize=16)
def _ruled(progression: str) -> tuple[float, ...]:
    """The heights in cents at which the picture of a progression has its lines, lowest first."""
    every = np.concatenate([_running(progression, tuned) for tuned in _TUNED])
    unit = 50 if np.ptp(every) < 250 else 100
    return tuple(
        float(unit * k) for k in range(int(np.floor(every.min() / unit)), int(np.ceil(every.max() / unit)) + 1)
    )


class GoingRound(Exhibit):
    """A choir drifting in just intonation, round after round, and coming home in thirty-one, or a diesis off."""

    name: ClassVar[str] = "going_round"
    title: ClassVar[str] = "Going round and coming home"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("progression", "Progression", tuple(PROGRESSIONS), "I vi ii V"),
        Slider("rounds", "Rounds", 1, _MOST_ROUNDS, 1, 4),
        Choice("tuned", "Tuned in", tuple(_TUNED), "just", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {tuned: {"tuned": tuned} for tuned in _TUNED}
    _lines = 8
    _styles: ClassVar[dict[str, tuple[str, str, Any]]] = {
        "31": (THIRTY_ONE_COLOUR, "s", "-"),
        "12": (TWELVE_COLOUR, "D", (0, (2.5, 1.5))),
        "just": (PURE_COLOUR, "o", "-"),
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink = look.theme.ink
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.09, 0.16, 0.88, 0.58), (0.15, 0.11, 0.82, 0.65), (0.15, 0.13, 0.82, 0.62))
        room = look.fit(2.0, 3.6)  # rounds' worth of space for what is written at the ends
        beside = _MOST_ROUNDS + look.fit(0.6, 0.8)
        axes.set(xlim=(-0.1, _MOST_ROUNDS + room), ylim=(-0.03, 1.03))
        for round_ in range(_MOST_ROUNDS + 1):
            look.text(axes, round_, -0.07, str(round_), ha="center", va="top")
        look.text(axes, _MOST_ROUNDS / 2, look.fit(-0.16, -0.11, -0.135), "rounds", ha="center", va="top")
        look.text(axes, -0.1, 1.09, "cents from where it began", ha="left", va="center")
        (rules,) = axes.plot([], [], color=look.theme.faint, lw=1.2)
        (start,) = axes.plot([], [], color=look.theme.grey, lw=2.5)
        numbers = [look.beside(axes, 0) for _ in range(self._lines)]
        lines, keys, ends = {}, {}, {}
        for tuned, (colour, marker, dashes) in self._styles.items():
            (lines[tuned],) = axes.plot([], [], color=colour, marker=marker, ls=dashes, mec=ink, clip_on=False)
            (keys[tuned],) = axes.plot([], [], color=colour, marker=marker, ms=9, mec=ink, clip_on=False)
            ends[tuned] = look.text(axes, 0, 0, ha="left", va="center")
        chords = look.text(figure, 0.03, look.fit(0.855, 0.86), ha="left", va="center", fontsize=NORMAL)
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        for known in PROGRESSIONS:
            _ruled(known)  # worked out before anything moves

        def update(progression: str, rounds: int, tuned: str) -> None:
            ruled = _ruled(progression)
            low, high = ruled[0], ruled[-1]
            heights = [(cents_up - low) / (high - low) for cents_up in ruled]
            rules.set_data(np.tile([0, _MOST_ROUNDS, np.nan], len(ruled)), np.repeat(heights, 3))
            start.set_data([0, _MOST_ROUNDS], [-low / (high - low)] * 2)
            for number, place in zip(numbers, range(self._lines), strict=True):
                number.set_visible(place < len(ruled))
                if place < len(ruled):
                    number.set(text=signed(ruled[place]), y=heights[place])
            size = len(PROGRESSIONS[progression].chords)
            reached = {}
            for name, line in lines.items():
                running = _running(progression, name)[: rounds * size + 1]
                line.set_data(np.arange(running.size) / size, (running - low) / (high - low))
                line.set(lw=6 if name == tuned else 2.2, markevery=size, ms=12 if name == tuned else 7)
                reached[name] = float(running[-1])
            for name, height in self._apart({n: (v - low) / (high - low) for n, v in reached.items()}).items():
                weight = "bold" if name == tuned else "normal"
                keys[name].set_data([_MOST_ROUNDS + 0.35], [height])
                ends[name].set(text=f"{name}: {signed(reached[name])}", position=(beside, height), fontweight=weight)
            chords.set_text(self._names(progression, "  " if look.tall and size > 6 else " → "))
            said.set_text(f"{tuned}, {times(rounds, 'round')}: {self._in_words(reached[tuned])}")

        return Scene((rules, start, *numbers, *lines.values(), *keys.values(), *ends.values(), chords, said), update)

    @staticmethod
    def _apart(heights: dict[str, float]) -> dict[str, float]:
        """Heights of words, moved so that none overlaps another or leaves the picture."""
        least = 0.085
        ordered = sorted(heights, key=lambda name: heights[name])
        placed = [heights[name] for name in ordered]
        for _ in range(8):
            for k in range(len(placed) - 1):
                lack = least - (placed[k + 1] - placed[k])
                if lack > 0:
                    placed[k], placed[k + 1] = placed[k] - lack / 2, placed[k + 1] + lack / 2
        return dict(zip(ordered, placed, strict=True))

    @staticmethod
    def _names(progression: str, between: str) -> str:
        chords = PROGRESSIONS[progression].chords
        return between.join("".join(_printed(chord)) for chord in (*chords, chords[0]))

    @staticmethod
    def _in_words(away: float) -> str:
        """How far from home, and which way."""
        return f"{plain(abs(away))} cents {'sharp' if away > 0 else 'flat'}" if abs(away) >= 0.05 else "home again"

    def sentence(self, progression: str, rounds: int, tuned: str) -> str:
        round_ = PROGRESSIONS[progression]
        tuning = "in just intonation" if tuned == "just" else f"in {tuned} equal steps"
        ends = {name: rounds * round_.drift(division) for name, division in _TUNED.items()}
        words = {"just": "in just intonation", "31": "in 31 steps", "12": "in 12"}
        others = ", ".join(f"{words[name]} {self._in_words(ends[name])}" for name in _TUNED if name != tuned)
        return (
            f"After {times(rounds, 'round')} of {self._names(progression, ' ')} ({progression}; a comma of "
            f"{round_.comma} "
            f"in pure ratios) {tuning}, the choir is {self._in_words(ends[tuned])} ({others})."
        )

    def score(self, progression: str, rounds: int, tuned: str) -> Score:
        sung = PROGRESSIONS[progression].pitches(rounds, _TUNED[tuned])
        if rounds > 2:
            beats = [(sung[0], 3.0), (sung[-1], 3.0), (sung[0], 3.0)]
        else:
            lasting = 1.0 if len(sung) <= 10 else 0.5
            beats = [*((notes, lasting) for notes in sung[:-1]), (sung[-1], 3.0), (sung[0], 3.0)]
        first = Note.parse("C4").hz()
        notes, onset = [], 0.0
        for chord, lasting in beats:
            for hertz in (first * ratio_from_cents(chord)).tolist():
                notes.append(ScoreNote(onset=onset, duration=lasting, hertz=hertz, voice="choir", level=0.45))
            onset += lasting
        return Score(tuple(notes), tempo=72)

    def timbre(self, **values: Any) -> Voicing:
        return vowel_timbre("hod", "men")
