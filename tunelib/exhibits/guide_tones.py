"""Guide tones: how third and seventh lead home from a dominant, with a minor seventh or a harmonic one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.cadences import CADENCES, GUIDES, Led, frequencies, led
from tunelib.exhibits.exhibit import SILENT, Canvas, Choice, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.held_chords import set_apart
from tunelib.exhibits.inches import begin, field_of, in_inches, width_of
from tunelib.exhibits.look import Look, Tint
from tunelib.export import printed_symbol
from tunelib.pitch import THIRTY_ONE, FloatArray, Tuning, equal, listed, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_SEVENTHS: dict[str, tuple[bool, Tuning]] = {
    "12": (False, equal(12)),
    "31, minor 7th": (False, THIRTY_ONE),
    "31, harmonic 7th": (True, THIRTY_ONE),
}
_VOICES = 4
_MOST_CHORDS = max(len(cadence.voices) for cadence in CADENCES.values())
_REACH = 31  # steps of thirty-one from the lowest note of a cadence to its highest, at the most
_BEATS, _LAST, _TEMPO = 2, 3, 66


def _led(progression: str, seventh: str) -> Led:
    return led(progression, *_SEVENTHS[seventh])


def _unit(seventh: str) -> str:
    return "key" if seventh == "12" else "step"


class GuideTones(Exhibit):
    """Cadences in four voices, their guide tones thick, with the steps by which they move."""

    name: ClassVar[str] = "guide_tones"
    title: ClassVar[str] = "Guide tones"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("progression", "Progression", tuple(CADENCES), "ii V I"),
        Choice("seventh", "Seventh of the dominant", tuple(_SEVENTHS), "31, harmonic 7th", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "12": {"seventh": "12"},
        "31, minor": {"seventh": "31, minor 7th"},
        "31, harmonic": {"seventh": "31, harmonic 7th"},
    }
    parts: ClassVar[Mapping[str, str]] = {
        "chords": "the names of the chords",
        "others": "the voices that fill in",
        "notes": "the notes of each chord",
        "guides": "the lines of the guide tones",
        "tritone": "the tritone between third and seventh",
        "moves": "how far the guide tones move",
        "number": "the moves that count",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("chords", "notes"), ("others",), ("tritone",), ("guides",), ("moves", "number")
    )  # fmt: skip
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = _Lines(figure, look)

        def light(playing: Playing) -> None:
            picture.sound(playing)

        return Scene(picture.moving, picture.show, light, picture.parts)

    @staticmethod
    def _line(found: Led, voice: int) -> str:
        """A voice in words: its notes, with the steps between them."""
        names = [row[voice] for row in found.names]
        words = [names[0]]
        for move, before, name in zip(found.moves(voice), names, names[1:], strict=False):
            words.append(f"{signed(move)} to {name}" if move else "held" if name == before else f"held as {name}")
        return ", ".join(words)

    def sentence(self, progression: str, seventh: str) -> str:
        found, unit = _led(progression, seventh), _unit(seventh)
        symbols = [printed_symbol(chord) for chord in found.chords]
        upper, lower = (self._line(found, voice) for voice in reversed(GUIDES))
        said = [
            f"{' '.join(symbols)} {_tuned(seventh)}: one guide tone goes {upper}, the other {lower} (in {unit}s)",
            self._of_tritones(progression, seventh, symbols),
            *(f"the chord spells {name} as {spelled}" for spelled, name in found.renamed().items()),
        ]
        return f"{'; '.join(said)}."

    @staticmethod
    def _of_tritones(progression: str, seventh: str, symbols: list[str]) -> str:
        """How wide the tritone of the dominant is, or whether a substitute has the same."""
        found, dominants = _led(progression, seventh), CADENCES[progression].dominants
        first, last = symbols[dominants[0]], symbols[dominants[-1]]
        if len(dominants) == 1:
            return f"from the third of {first} to its seventh are {times(found.tritone(dominants[0]), _unit(seventh))}"
        if not (off := _apart(found)):
            return f"{first} and {last} share third and seventh"
        pairs = listed(f"{one} and {other}" for one, other, _ in off)
        return f"{first} and {last} do not share third and seventh, for {pairs} are a step apart"

    def numbers(self, progression: str, seventh: str) -> Mapping[str, str]:
        found = _led(progression, seventh)
        third, top = (found.moves(voice) for voice in GUIDES)
        return {
            "moves": _headline(progression, seventh)[0],
            "lower": listed(map(signed, third)),
            "upper": listed(map(signed, top)),
            "tritone": str(found.tritone(CADENCES[progression].dominants[0])),
        }

    def score(self, progression: str, seventh: str) -> Score:
        rows = frequencies(_led(progression, seventh))
        notes = []
        for place, row in enumerate(rows):
            lasting = _LAST if place == len(rows) - 1 else _BEATS
            for voice, hertz in zip(("bass", "0", "1", "2", "3"), row, strict=True):
                level = 0.4 if voice in ("1", "3") else 0.28  # the guide tones are heard above the others
                notes.append(ScoreNote(place * _BEATS, lasting, hertz, voice=voice, level=level))
        return Score(tuple(notes), tempo=_TEMPO)

    def timbre(self, **values: Any) -> Voicing:
        return dict.fromkeys(("bass", "0", "1", "2", "3"), TIMBRES["reed"])


def _tuned(seventh: str) -> str:
    if seventh == "12":
        return "in 12"
    return f"in 31 with the {'harmonic' if 'harmonic' in seventh else 'minor'} seventh"


def _apart(found: Led) -> list[tuple[str, str, int]]:
    """The guide tones that move between a dominant and its substitute, and how far."""
    motion = found.leading.motion[0]
    return [(found.names[0][voice], found.names[1][voice], int(motion[voice])) for voice in GUIDES if motion[voice]]


def _headline(progression: str, seventh: str) -> tuple[str, str]:
    """The moves that count, and of what: of the seventh on its way home, or from a dominant to its substitute."""
    found, unit = _led(progression, seventh), _unit(seventh)
    if len(CADENCES[progression].dominants) > 1:
        off = _apart(found)
        if not off:
            return "0", f"{unit}s: both held"
        low, high, move = off[0]
        return signed(move), f"{unit}: {low} to {high}"
    voice = 3 if progression == "V I" else 1  # that has the seventh
    moves = [move for move in found.moves(voice) if move]
    names = [row[voice] for row in found.names]
    way = [name for name, before in zip(names, ["", *names], strict=False) if name != before]
    return ", ".join(map(signed, moves)), f"{unit if moves == [-1] else f'{unit}s'}: {' '.join(way)}"


class _Lines:
    """The voices on a picture, in inches: time goes right, pitch up, on one scale for all cadences and tunings."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        theme = look.theme
        self._look = look
        free = field_of(look)
        axes = in_inches(figure, look)
        name, label = look.size("name") / 72, look.size("label") / 72
        beside = 2.35 if not look.tall else 0.0
        below = 0.0 if not look.tall else look.size("number") / 72 + label + look.fit(0, 0.5, 0.12)
        self._right, self._end = free.right - beside, free.right
        self._left, self._label = free.left + 0.15, label
        self._named = look.fit(0.5, 0.52)  # from a mark to where its name has ended
        self._head = free.top - 0.7 * name  # the middle of the symbols
        bottom, top = free.bottom + below + 0.6 * label, self._head - name - look.fit(0.3, 0.4, 0.24)
        self._scale = (top - bottom) / _REACH
        self._middle = (top + bottom) / 2
        self._at = (self._right + 0.2, self._head - 1.35) if not look.tall else (free.left, free.bottom + 1.9 * label)
        style: dict[str, Any] = {"solid_capstyle": "round", "solid_joinstyle": "round"}
        (self._band,) = axes.fill([0] * 4, [0] * 4, lw=1.2)
        (self._others,) = axes.plot([], [], color=theme.line, lw=2, **style)
        self._guides = [axes.plot([], [], lw=7, **style)[0] for _ in GUIDES]
        (self._moment,) = axes.plot([], [], color=theme.line, lw=1.6)
        (self._small,) = axes.plot([], [], "o", color=theme.line, ms=10, **look.ring(1.5))
        (self._dots,) = axes.plot([], [], ls="none", ms=16, **look.ring())
        (self._lit,) = axes.plot([], [], ls="none", ms=19, color=theme.ink, **look.ring())
        self._symbols = [look.text(axes, 0, 0, size="name", ha="left", va="center") for _ in range(_MOST_CHORDS)]
        self._sung = [look.text(axes, 0, 0, va="center") for _ in range(_MOST_CHORDS * _VOICES)]
        self._moves = [look.text(axes, 0, 0, size="name", ha="center") for _ in range((_MOST_CHORDS - 1) * 2)]
        self._number = look.headline(axes, 0, 0, below=not look.tall)
        self._said = look.text(axes, 0, 0, color=theme.grey)
        self.moving = (
            self._band, self._others, *self._guides, self._moment, self._small, self._dots, self._lit, *self._symbols,
            *self._sung, *self._moves, *self._number.artists, self._said,
        )  # fmt: skip
        self.parts = {
            "chords": tuple(self._symbols),
            "others": (self._others,),
            "notes": (self._small, self._dots, *self._sung),
            "guides": tuple(self._guides),
            "tritone": (self._band, self._said),
            "moves": tuple(self._moves),
            "number": self._number.artists,
        }

    def show(self, progression: str, seventh: str) -> None:
        """Show a cadence in a tuning; nothing sounds."""
        self._now = progression, seventh
        found = _led(progression, seventh)
        theme = self._look.theme
        tint = theme.of(len(found.leading.tuning))
        count = len(found.chords)
        self._along = np.linspace(self._left, self._right - self._look.fit(0.9, 0.75), count)
        self._heights = self._height(found)
        self._others.set_data(*self._lines([voice for voice in range(_VOICES) if voice not in GUIDES]))
        for line, voice in zip(self._guides, GUIDES, strict=True):
            line.set_data(*self._lines([voice]))
            line.set_color(tint.full)
        chosen = list(GUIDES)
        self._dots.set_data(np.repeat(self._along, 2), self._heights[:, chosen].ravel())
        self._dots.set(marker=tint.marker, markerfacecolor=tint.full)
        rest = self._heights[:, [0, 2]]
        self._small.set_data(np.repeat(self._along, 2), rest.ravel())
        for place, text in enumerate(self._symbols):
            text.set_visible(place < count)
            if place < count:
                text.set_text(set_apart(found.chords[place]))
                text.set_color(theme.ink)
                x = min(self._along[place] - 0.12, self._end - width_of(text))
                text.set_position((x, self._head))
        for slot, text in enumerate(self._sung):
            place, voice = divmod(slot, _VOICES)
            shown = place < count and (
                voice == 0 or found.leading.voices[place][voice - 1] != found.leading.voices[place][voice]
            )
            text.set_visible(shown)
            if shown:
                guide = voice in GUIDES
                text.set(text=found.names[place][voice], color=theme.ink if guide else theme.grey)
                text.set_fontweight("bold" if guide else "normal")
                text.set_position((self._along[place] + 0.17, self._heights[place, voice]))
        for slot, text in enumerate(self._moves):
            place, which = divmod(slot, 2)
            text.set_visible(place < count - 1)
            if place < count - 1:
                self._place_move(text, found, place, GUIDES[which])
        self._show_tritone(found, CADENCES[progression].dominants, tint)
        self._number.say(*_headline(progression, seventh))
        if self._look.tall:
            begin(self._number, *self._at)
        else:
            self._number.move(*self._at)
        self._say(found, CADENCES[progression].dominants, seventh)
        self.sound(SILENT)

    def sound(self, playing: Playing) -> None:
        """Light up the chord that sounds, and the moment of it."""
        on = playing.seconds is not None and bool(playing.notes)
        self._lit.set_visible(on)
        self._moment.set_visible(on)
        if not on or playing.seconds is None:
            return
        place = playing.notes[0] // (_VOICES + 1)
        tint = self._dots.get_marker()
        self._lit.set_data(np.full(2, self._along[place]), self._heights[place, list(GUIDES)])
        self._lit.set_marker(tint)
        beats = np.arange(len(self._along) + 1) * float(_BEATS)
        beats[-1] += _LAST - _BEATS
        ends = np.append(self._along, self._right)
        x = float(np.interp(playing.seconds * _TEMPO / 60, beats, ends))
        half = _REACH / 2 * self._scale
        self._moment.set_data([x, x], [self._middle - half, self._middle + half])

    def _height(self, found: Led) -> FloatArray:
        """Where the notes are: chords by voices. Twelve's C4 is where that of thirty-one is."""
        steps = np.array(found.leading.voices) * len(THIRTY_ONE) / len(found.leading.tuning)
        low, high = float(steps.min()), float(steps.max())
        return np.asarray(self._middle + (steps - (low + high) / 2) * self._scale, dtype=np.float64)

    def _lines(self, voices: list[int]) -> tuple[FloatArray, FloatArray]:
        """Voices as lines: from behind the name of each note to the next."""
        x = np.stack([self._along[:-1] + self._named, self._along[1:], np.full(len(self._along) - 1, np.nan)], axis=1)
        ways = [
            np.stack([self._heights[:-1, voice], self._heights[1:, voice], x[:, 2]], axis=1).ravel() for voice in voices
        ]
        return np.tile(x.ravel(), len(voices)), np.concatenate(ways)

    def _place_move(self, text: Any, found: Led, place: int, voice: int) -> None:
        """How far a guide tone moves, above the middle of the way."""
        move = found.moves(voice)[place]
        x = (self._along[place] + self._named + self._along[place + 1]) / 2
        y = (self._heights[place, voice] + self._heights[place + 1, voice]) / 2
        text.set_text(signed(move))
        text.set_position((x, y + 0.12))

    def _show_tritone(self, found: Led, dominants: tuple[int, ...], tint: Tint) -> None:
        """Ground between third and seventh: of one chord, or from a dominant to its substitute."""
        first, last = dominants[0], dominants[-1]
        left, right = float(self._along[first]) - 0.18, float(self._along[last]) + self._named - 0.04
        room = (-0.75 * self._label, 0.16 + 0.8 * self._look.size("name") / 72)  # clear of names and figures
        low, high = (
            (self._heights[[first, last], voice] + up).tolist() for voice, up in zip(GUIDES, room, strict=True)
        )
        self._band.set_xy([(left, low[0]), (right, low[1]), (right, high[1]), (left, high[0])])
        self._band.set(facecolor=tint.fill, edgecolor=tint.dim)

    def _say(self, found: Led, dominants: tuple[int, ...], seventh: str) -> None:
        sizes = [found.tritone(place) for place in dominants]
        unit = _unit(seventh)
        self._said.set_text(f"3rd to 7th: {listed(dict.fromkeys(map(str, sizes)))} {unit}s")
        x, y = self._at
        if self._look.tall:
            self._said.set_position((x, y - 1.7 * self._label))
        else:
            self._said.set_position((x, y - 0.8))
