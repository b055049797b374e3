"""Progressions that go round and come home, or not: a choir in just intonation, beside twelve and thirty-one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import NORMAL, PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.export import printed_symbol
from tunelib.harmony import PROGRESSIONS
from tunelib.pitch import FloatArray, Note, plain, ratio_from_cents, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import vowel_timbre

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
        return between.join(printed_symbol(chord) for chord in (*chords, chords[0]))

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
