"""Progressions that go round and come home, or not: a choir in just intonation, beside twelve and thirty-one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.look import Look, Tint
from tunelib.export import printed_symbol
from tunelib.harmony import PROGRESSIONS
from tunelib.pitch import FloatArray, Note, plain, ratio_from_cents, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import vowel_timbre

_TUNED: dict[str, int | None] = {"just": None, "31": 31, "12": 12}
_MOST_ROUNDS = 8
_FULL_ROUNDS = 4  # fill the picture; fewer leave room below or above, and more are drawn smaller
_MOST_CHORDS = max(len(round_.chords) for round_ in PROGRESSIONS.values())
_LEAST_REACH = 90.0  # cents: what is hardly away from home is not made to look far
_A_ROUND = 168  # points on the way once round: a multiple of every number of chords


@lru_cache(maxsize=64)
def _running(progression: str, tuned: str) -> FloatArray:
    """The running pitch of the tonic over all rounds, in cents."""
    return PROGRESSIONS[progression].tonic(_MOST_ROUNDS, _TUNED[tuned])


@lru_cache(maxsize=64)
def _reach(progression: str, rounds: int) -> tuple[float, float]:
    """The lowest and the highest that so many rounds come in any tuning, in cents from where they began."""
    chords = rounds * len(PROGRESSIONS[progression].chords)
    every = np.concatenate([_running(progression, tuned)[: chords + 1] for tuned in _TUNED])
    low, high = float(every.min()), float(every.max())
    spare = max(0.0, _LEAST_REACH - (high - low)) / 2
    return low - spare, high + spare


@lru_cache(maxsize=64)
def _sung(progression: str, rounds: int, tuned: str) -> tuple[tuple[int, tuple[float, ...], float], ...]:
    """What is heard: which chord on the way, its notes in cents above the first root, and how many beats.

    Two rounds at most are sung chord by chord; of more, the first chord, the last and the first again.
    """
    chords = [
        tuple(float(note) for note in notes) for notes in PROGRESSIONS[progression].pitches(rounds, _TUNED[tuned])
    ]
    last = len(chords) - 1
    if rounds > 2:
        return (0, chords[0], 3.0), (last, chords[last], 3.0), (0, chords[0], 3.0)
    lasting = 1.0 if len(chords) <= 10 else 0.5
    way = [(place, notes, lasting) for place, notes in enumerate(chords[:-1])]
    return (*way, (last, chords[last], 3.0), (0, chords[0], 3.0))


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
    parts: ClassVar[Mapping[str, str]] = {
        "home": "the pitch where it began",
        "chords": "the chords, once round",
        "way": "the way of the tonic, round after round",
        "others": "where the other tunings end",
        "gap": "how far it ends from home",
        "number": "the distance from home in cents",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("home", "chords"), ("way",), ("gap", "number"), ("others",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        for known in PROGRESSIONS:
            for tuned in _TUNED:
                _running(known, tuned)  # worked out before anything moves
        picture = _Rounds(figure, look)
        now: dict[str, Any] = {}

        def update(progression: str, rounds: int, tuned: str) -> None:
            now.update(progression=progression, rounds=rounds, tuned=tuned)
            picture.show(progression, rounds, tuned)

        def light(playing: Playing) -> None:
            if playing.seconds is None or not playing.notes:
                return
            places = [place for place, notes, _ in _sung(**now) for _ in notes]
            picture.sound(places[playing.notes[0]], **now)

        return Scene(picture.moving, update, light, picture.parts)

    @staticmethod
    def _names(progression: str) -> list[str]:
        """The chords once round, and the first again."""
        chords = PROGRESSIONS[progression].chords
        return [printed_symbol(chord) for chord in (*chords, chords[0])]

    @staticmethod
    def _in_words(away: float) -> str:
        """How far from home, and which way."""
        return f"{plain(abs(away))} cents {_side(away)}" if _side(away) else "home again"

    def sentence(self, progression: str, rounds: int, tuned: str) -> str:
        round_ = PROGRESSIONS[progression]
        tuning = "in just intonation" if tuned == "just" else f"in {tuned} equal steps"
        ends = {name: rounds * round_.drift(division) for name, division in _TUNED.items()}
        words = {"just": "in just intonation", "31": "in 31 steps", "12": "in 12"}
        others = ", ".join(f"{words[name]} {self._in_words(ends[name])}" for name in _TUNED if name != tuned)
        comma = "no comma in pure ratios" if round_.comma == 1 else f"a comma of {round_.comma} in pure ratios"
        return (
            f"After {times(rounds, 'round')} of {' '.join(self._names(progression))} ({progression}; {comma}) "
            f"{tuning}, the choir is {self._in_words(ends[tuned])} ({others})."
        )

    def numbers(self, progression: str, rounds: int, tuned: str) -> Mapping[str, str]:
        round_, division = PROGRESSIONS[progression], _TUNED[tuned]
        return {
            "cents": plain(abs(rounds * round_.drift(division))),
            "each": plain(abs(round_.drift(division))),
            "comma": str(round_.comma),
        }

    def score(self, progression: str, rounds: int, tuned: str) -> Score:
        first = Note.parse("C4").hz()
        notes, onset = [], 0.0
        for _, chord, lasting in _sung(progression, rounds, tuned):
            for hertz in (first * ratio_from_cents(np.array(chord))).tolist():
                notes.append(ScoreNote(onset=onset, duration=lasting, hertz=hertz, voice="choir", level=0.45))
            onset += lasting
        return Score(tuple(notes), tempo=72)

    def timbre(self, **values: Any) -> Voicing:
        return vowel_timbre("hod", "men")


def _side(away: float) -> str:
    """Sharp or flat, or nothing for what is home."""
    return "" if abs(away) < 0.05 else "sharp" if away > 0 else "flat"


class _Rounds:
    """The rounds on a picture, in points from the lower left corner of the frame.

    A round is a ring seen from above at a slant, the tonic at its right, and its height is pitch: a choir that drifts
    goes down or up in a spiral past the posts of its chords, and one that does not stays on the ring of home.
    """

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look = look
        self._wide, self._high = (72 * side * part for side, part in zip(look.inches, look.frame[2:], strict=True))
        self._tints: dict[str, Tint] = {"just": theme.pure, "31": theme.thirty_one, "12": theme.twelve}
        beside = look.fit(166.0, 158.0)  # for the gap, its number, and what is said of the other tunings
        self._across, self._slant = (self._wide - beside) / 2 - 14, look.fit(50.0, 56.0, 38.0)
        self._middle = self._across + 28
        self._spine = self._middle + self._across
        self._name = 1.8 * look.size("label")  # room above the posts and below them
        axes = look.bare(figure)
        axes.set(xlim=(0, self._wide), ylim=(0, self._high))
        style: dict[str, Any] = {"solid_capstyle": "round", "solid_joinstyle": "round"}
        (self._posts,) = axes.plot([], [], color=theme.line, lw=1.2)
        (self._home,) = axes.plot([], [], color=theme.ink, lw=1.6)
        (self._gap,) = axes.fill([0, 0, 0, 0], [0, 0, 0, 0], lw=1.2)
        (self._back,) = axes.plot([], [], lw=2.5, **style)
        self._ways = {
            tuned: axes.plot([], [], color=tint.dim, lw=1.2, **style)[0] for tuned, tint in self._tints.items()
        }
        (self._front,) = axes.plot([], [], lw=4.5, **style)
        (self._stations,) = axes.plot([], [], ls="none", ms=9, **look.ring())
        (self._ends,) = axes.plot([], [], ls="none", ms=20, **look.ring())
        (self._sounding,) = axes.plot([], [], ls="none", ms=17, color=theme.ink, **look.ring())
        self._leads = {tuned: axes.plot([], [], color=tint.dim, lw=1.2)[0] for tuned, tint in self._tints.items()}
        self._keys = {
            tuned: axes.plot([], [], color=tint.full, marker=tint.marker, ms=10, ls="none")[0]
            for tuned, tint in self._tints.items()
        }
        self._others = {tuned: look.text(axes, 0, 0, color=theme.grey, va="center") for tuned in self._tints}
        self._names = [look.text(axes, 0, 0, ha="center", va="center") for _ in range(_MOST_CHORDS)]
        self._number = look.headline(axes, 0, 0, below=True)
        self._after_rounds = look.text(axes, 0, 0, color=theme.grey)
        self.moving: tuple[Artist, ...] = (
            self._posts, *self._ways.values(), self._home, self._back, self._gap, self._front, self._stations,
            *self._leads.values(), self._ends, self._sounding, *self._keys.values(), *self._others.values(),
            *self._names, *self._number.artists, self._after_rounds,
        )  # fmt: skip
        self.parts: Mapping[str, tuple[Artist, ...]] = {
            "home": (self._home,),
            "chords": (self._posts, *self._names),
            "way": (self._back, self._front, self._stations, self._ends),
            "others": (*self._ways.values(), *self._leads.values(), *self._keys.values(), *self._others.values()),
            "gap": (self._gap,),
            "number": (*self._number.artists, self._after_rounds),
        }

    def show(self, progression: str, rounds: int, tuned: str) -> None:
        """Show as many rounds of a progression, in a tuning; nothing sounds."""
        size, tint = len(PROGRESSIONS[progression].chords), self._tints[tuned]
        self._reach = _reach(progression, max(rounds, _FULL_ROUNDS))
        end = {name: float(_running(progression, name)[rounds * size]) for name in self._tints}
        home, low, high = (self._height(cents) for cents in (0.0, *self._reach))
        turns = np.linspace(0, 1, _A_ROUND + 1)
        left, right = self._spine + 26, self._spine + 44
        ring = self._ring(turns, home)
        self._home.set_data(*(np.append(along, more) for along, more in zip(ring, (right, home), strict=True)))
        self._show_posts(progression, home, low, high)
        for name, line in self._ways.items():
            line.set_data(*self._way(progression, rounds, name, np.append(turns, np.nan)))
        half = np.arange(_A_ROUND // 2 + 1) / _A_ROUND
        halves = np.append(half, np.nan)  # once along the front, or the back, and off the paper
        for line, offset, colour in ((self._front, 0.0, tint.full), (self._back, 0.5, tint.dim)):
            line.set_data(*self._way(progression, rounds, tuned, offset + halves))
            line.set_color(colour)
        self._stations.set_data(*self._way(progression, rounds, tuned, np.arange(size + 1) / size))
        self._stations.set(marker=tint.marker, markerfacecolor=tint.full)
        here = self._height(end[tuned])
        self._ends.set_data([self._spine], [here])
        self._ends.set(marker=tint.marker, markerfacecolor=tint.full)
        self._gap.set_xy([(left, home), (right, home), (right, here), (left, here)])
        self._gap.set(facecolor=tint.fill, edgecolor=tint.full)
        self._sounding.set_visible(False)
        away = end[tuned]
        self._number.say(
            plain(abs(away)) if _side(away) else "0", f"cents {_side(away)}" if _side(away) else "home again"
        )
        heights = self._apart({name: self._height(cents) for name, cents in end.items()}, tuned)
        number_y = heights[tuned] + 0.08 * self._look.size("number") + 0.75 * self._look.size("label")
        self._number.move(right + 8, number_y)
        self._after_rounds.set_position((right + 8, number_y - 29 - 1.5 * self._look.size("label")))
        self._after_rounds.set_text(f"after {times(rounds, 'round')}")
        for name, text in self._others.items():
            for artist in (text, self._keys[name], self._leads[name]):
                artist.set_visible(name != tuned)
            text.set_text(
                f"{name}: {plain(abs(end[name]))} {_side(end[name])}" if _side(end[name]) else f"{name}: home"
            )
            text.set_position((right + 22, heights[name]))
            self._keys[name].set_data([right + 13], [heights[name]])
            from_end, to = self._height(end[name]), heights[name]
            self._leads[name].set_data(right + np.array([1, 4, 4, 8]), [from_end, from_end, to, to])

    def sound(self, place: int, progression: str, rounds: int, tuned: str) -> None:
        """Light up the chord that sounds, counted from the first on the way."""
        size = len(PROGRESSIONS[progression].chords)
        self._sounding.set_data(*self._after(progression, tuned, np.array([place / size])))
        self._sounding.set(marker=self._tints[tuned].marker, visible=True)
        for chord, text in enumerate(self._names):
            text.set_color(self._look.theme.ink if chord == place % size else self._look.theme.grey)

    def _height(self, cents: Any) -> Any:
        """Where the middle of a ring at a pitch is, on the scale that is shown."""
        low, high = self._reach
        room = self._high - 2 * (self._name + self._slant)
        return self._name + self._slant + room * (cents - low) / (high - low)

    def _ring(self, turns: FloatArray, height: FloatArray | float) -> tuple[FloatArray, FloatArray]:
        """Places on a ring after so many turns, first along the front."""
        angle = 2 * np.pi * np.asarray(turns)
        return self._middle + self._across * np.cos(angle), height - self._slant * np.sin(angle)

    def _way(self, progression: str, rounds: int, tuned: str, turns: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places on the way of the tonic in every round, at parts of a turn.

        Rounds that are not sung yet are drawn in the last one that is, and sink or rise out of it when they are.
        """
        begun = np.minimum(np.arange(_MOST_ROUNDS), rounds - 1)
        return self._after(progression, tuned, (begun[:, np.newaxis] + turns).ravel())

    def _after(self, progression: str, tuned: str, turns: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places on the way of the tonic after so many turns."""
        running = _running(progression, tuned)
        size = len(PROGRESSIONS[progression].chords)
        return self._ring(turns, self._height(np.interp(turns, np.arange(running.size) / size, running)))

    def _show_posts(self, progression: str, home: float, low: float, high: float) -> None:
        """A post for each chord, with its name over those at the back and under those in front."""
        names = [printed_symbol(chord) for chord in PROGRESSIONS[progression].chords]
        turns = np.arange(_MOST_CHORDS) / len(names)
        turns = np.where(np.arange(_MOST_CHORDS) < len(names), turns, 0.0)
        x, up = self._ring(turns, 0.0)
        empty, down = np.full(_MOST_CHORDS, np.nan), home > (low + high) / 2  # the way leads down or up
        beyond = np.where(np.abs(up) < 1e-9, 0.7 * self._slant, 0.0)  # posts at the sides end beyond the last ring
        feet, tops = (up + low - beyond, up + high) if down else (up + low, up + high + beyond)
        self._posts.set_data(np.stack([x, x, empty], axis=1).ravel(), np.stack([feet, tops, empty], axis=1).ravel())
        for chord, text in enumerate(self._names):
            text.set_visible(chord < len(names))
            if chord < len(names):
                end = feet[chord] + 5 if down else tops[chord] - 5
                side = round(float(np.cos(2 * np.pi * turns[chord])), 6)
                aside = 1.15 * self._look.size("label")
                place = up[chord] + (low - aside if up[chord] < 0 else high + aside)
                text.set_text(names[chord])
                text.set_color(self._look.theme.grey)
                text.set(ha={1.0: "left", -1.0: "right"}.get(side, "center"))
                text.set_position((x[chord] + 5 * side, end) if abs(side) == 1 else (x[chord], place))

    def _apart(self, heights: dict[str, float], chosen: str) -> dict[str, float]:
        """Heights of words, moved so that none overlaps another or leaves the picture."""
        label = 1.5 * self._look.size("label")
        number = 0.95 * self._look.size("number") + 1.6 * self._look.size("name") + label
        ordered = sorted(heights, key=lambda name: heights[name])
        sizes = [number if name == chosen else label for name in ordered]
        placed = [heights[name] for name in ordered]
        middle = ordered.index(chosen)
        for k in range(middle + 1, len(ordered)):
            placed[k] = max(placed[k], placed[k - 1] + (sizes[k] + sizes[k - 1]) / 2)
        for k in range(middle - 1, -1, -1):
            placed[k] = min(placed[k], placed[k + 1] - (sizes[k] + sizes[k + 1]) / 2)
        over = placed[-1] + sizes[-1] / 2 - self._high
        under = sizes[0] / 2 - placed[0]
        move = -max(over, 0.0) if over > 0 else max(under, 0.0)
        return {name: place + move for name, place in zip(ordered, placed, strict=True)}
