"""From the familiar note: where each of the thirty-one is, for those who make every note themselves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.path import Path

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Printed, Scene, Voicing
from tunelib.exhibits.look import THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.export import LOW_VOLUME, REST_HANDS
from tunelib.pitch import (
    BOWED,
    INSTRUMENTS,
    THIRTY_ONE,
    Instrument,
    Note,
    aligned,
    cents,
    equal,
    instrument,
    plain,
    spell,
    spell_on_chain,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import timbre_for

_TWELVE = equal(12)
_NOTES = tuple(spell(step, THIRTY_ONE).name for step in range(len(THIRTY_ONE)))
_KEYS = tuple(spell(step, _TWELVE).name for step in range(len(_TWELVE) + 1))
PLAYERS = tuple(name for name, player in INSTRUMENTS.items() if name in BOWED or player.family == "voice")
_FIRST_STEP = cents(THIRTY_ONE.hz(0) / _TWELVE.hz(0))  # of thirty-one above that of twelve, since both have one A
_SAME = 0.05  # cents, below which two notes are called the same

_FOR_FINGERS = (
    "Move from the hand, not from the shoulder or the neck, and never stretch by force.",
    REST_HANDS,
)
_FOR_VOICES = (
    "Sing softly, in the middle of your range, and take another octave where this one does not suit you.",
    "Drink water and rest your voice often. Hoarseness or pain means stop; ask a teacher before you go on.",
)


@dataclass(frozen=True)
class _Place:
    """One of the thirty-one notes between two familiar ones, as a player reads them, and where to find it.

    `above` and `below` are the cents up from `lower` and down from `upper`; `hz` sounds, as does `familiar_hz` of
    `familiar`, the nearer of the two. On bowed strings `string` is the one it is played on, `length` its millimetres
    from nut to bridge, and `finger` and `familiar_finger` are millimetres from the nut.
    """

    note: Note
    lower: Note
    upper: Note
    above: float
    below: float
    familiar: Note
    hz: float
    familiar_hz: float
    length: float = 0.0
    string: Note | None = None
    finger: float = 0.0
    familiar_finger: float = 0.0

    @property
    def away(self) -> float:
        """Cents above the nearest familiar note; negative where it is below."""
        return self.above if self.familiar == self.lower else -self.below

    @property
    def same(self) -> bool:
        """Whether it is a familiar note."""
        return abs(self.away) < _SAME

    @property
    def string_name(self) -> str:
        """The string without its octave; empty for a voice."""
        return self.string.name if self.string else ""

    @property
    def beats(self) -> float:
        """How often it beats with the familiar note, each second."""
        return abs(self.hz - self.familiar_hz)

    @property
    def shift(self) -> float:
        """Millimetres from the familiar finger place towards the bridge; negative towards the nut."""
        return self.finger - self.familiar_finger


class FamiliarNotes(Exhibit):
    """A note of thirty-one beside the familiar notes of twelve, in cents, and in millimetres or beats."""

    name: ClassVar[str] = "familiar_notes"
    title: ClassVar[str] = "From the familiar note"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("player", "Voice or instrument", PLAYERS, "violin"),
        Choice("note", "Note", _NOTES, "E½♭", ordered=True),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        said = look.text(figure, 0.97, look.fit(0.955, 0.915), ha="right", va="top", weight="bold")
        ladder = _Ladder(figure, look)
        between = look.bare(figure, (0.1, 0.31, 0.8, 0.12), (0.14, 0.2, 0.72, 0.09))
        between.set(xlim=(0, 100), ylim=(-1, 1))
        between.plot([0, 100], [-0.3, -0.3], color=grey, lw=1.5)
        between.plot([0, 100], [-0.3, -0.3], "s", color=TWELVE_COLOUR, ms=13, clip_on=False)
        (reach,) = between.plot([], [], color=ink, lw=4)
        (dot,) = between.plot([], [], "o", color=THIRTY_ONE_COLOUR, ms=15, clip_on=False)
        ends = [look.text(between, x, -0.3, ha=ha, va="center") for x, ha in ((-3, "right"), (103, "left"))]
        away = look.text(between, 50, 0.55, ha="center", va="center", weight="bold")
        below = _Below(figure, look)

        def update(player: str, note: str) -> None:
            place = _place(player, note)
            ladder.show(note)
            reach.set_data([place.above, 0 if place.familiar == place.lower else 100], [-0.3, -0.3])
            dot.set_data([place.above], [-0.3])
            for text, end in zip(ends, (place.lower, place.upper), strict=True):
                text.set_text(str(end))
            away.set_text(
                f"the familiar {place.familiar}"
                if place.same
                else f"{plain(place.above)} cents above {place.lower}, {plain(place.below)} below {place.upper}"
            )
            below.show(place)
            said.set_text(f"{player}: {place.note}")

        return Scene((said, *ladder.artists, reach, dot, *ends, away, *below.artists), update)

    def sentence(self, player: str, note: str) -> str:
        place = _place(player, note)
        reading = f"{place.note}, as the {player} reads it,"
        if place.same:
            return f"{reading} is the same note in twelve and in thirty-one, which share their A."
        sizes = f"is {plain(place.above)} cents above {place.lower} and {plain(place.below)} below {place.upper}"
        if place.string is None:
            beats = times(round(place.beats, 1), "beat")
            return f"{reading} {sizes}; against {place.familiar} it gives {beats} a second."
        return f"{reading} {sizes}; {_finger_words(place)}."

    def score(self, player: str, note: str) -> Score:
        place = _place(player, note)
        both = (place.familiar_hz, place.hz)
        single = [ScoreNote(1.4 * i, 1.3, hertz, voice=str(i), level=0.5) for i, hertz in enumerate(both)]
        together = [ScoreNote(2.9, 2.4, hertz, voice=str(i), level=0.4) for i, hertz in enumerate(both)]
        return Score((*single, *together), tempo=60)

    def timbre(self, player: str, note: str) -> Voicing:
        return timbre_for(instrument(player))

    def printed(self, player: str, note: str) -> Printed:
        places = [_place(player, name) for name in _NOTES]
        opening = (
            f"All thirty-one notes of an octave as the {player} reads them, each from the nearest of the twelve "
            "familiar ones. Both have A at 440 Hz. Cents are hundredths of an equal semitone. "
        )
        head = ("Step", "Note", "By fifths", "Nearest familiar", "Cents from it")
        rows = [
            (
                str(step),
                str(place.note),
                str(spell_on_chain(place.note.step(THIRTY_ONE), THIRTY_ONE)),
                str(place.familiar),
                aligned(place.away),
            )
            for step, place in enumerate(places)
        ]
        if player not in BOWED:
            return Printed(
                opening
                + "Held against the familiar note, the other beats with it this many times a second: find it by "
                "the beats, then by ear alone. A voice with vibrato hardly beats: begin without it.",
                "The thirty-one notes from the familiar ones",
                (*head, "Hertz", "Beats a second"),
                tuple((*row, f"{place.hz:.2f}", f"{place.beats:.1f}") for row, place in zip(rows, places, strict=True)),
                (*_FOR_VOICES, LOW_VOLUME),
            )
        strings = BOWED[player]
        return Printed(
            opening + f"Millimetres are for a string of {plain(strings.length)} mm from nut to bridge, as is usual; on "
            "another they grow or shrink with its length. They are those of an ideal string, tuned in twelve equal "
            "steps: pressing a string sharpens it a little, fingers are broad, and open strings tuned pure are up to "
            "6 cents off. A plus moves the finger from its familiar place towards the bridge, a minus towards the "
            "nut. Let the millimetres show the way, and the ear decide.",
            "The thirty-one notes from the familiar ones",
            (*head, "String", "From the nut", "Finger moves"),
            tuple(
                (*row, place.string_name, f"{place.finger:.1f} mm", f"{aligned(place.shift)} mm")
                for row, place in zip(rows, places, strict=True)
            ),
            (*_FOR_FINGERS, LOW_VOLUME),
        )


@lru_cache(maxsize=1024)
def _place(player: str, note: str) -> _Place:
    """A note in the lowest octave from C up that is in a player's comfortable range."""
    who = instrument(player)
    octave = _octave(who)
    step = _NOTES.index(note) + (octave - 4) * len(THIRTY_ONE)
    key, above = divmod(round(float(THIRTY_ONE.cents_of(step)) + _FIRST_STEP, 6), 100.0)
    lower, upper = (spell(int(key) + i, _TWELVE) for i in (0, 1))
    familiar = lower if above <= 50 else upper
    sounding = who.sounding(spell(step, THIRTY_ONE))
    hz, familiar_hz = sounding.hz(THIRTY_ONE), who.sounding(familiar).hz()
    found = _Place(spell(step, THIRTY_ONE), lower, upper, above, 100 - above, familiar, hz, familiar_hz)
    if player not in BOWED:
        return found
    strings = BOWED[player]
    string = strings.string(hz)
    return replace(
        found,
        length=strings.length,
        string=who.written(string),
        finger=strings.place(string, hz),
        familiar_finger=strings.place(string, familiar_hz),
    )


def _octave(player: Instrument) -> int:
    """The octave number of the lowest written C in a player's comfortable range."""
    lowest = player.lowest
    return lowest.octave if lowest.letter == "C" else lowest.octave + 1


def _finger_words(place: _Place) -> str:
    """Where the finger goes, such as ``"on the D string the finger is 3.7 mm nearer to the nut than for E4"``."""
    side = "bridge" if place.shift > 0 else "nut"
    return (
        f"on the {place.string_name} string the finger is {plain(abs(place.shift))} mm nearer to the {side} than "
        f"for {place.familiar}"
    )


_FLAT_RING = Path(np.asarray(Path.unit_circle().vertices) * (1, 0.45), Path.unit_circle().codes)


class _Ladder:
    """The octave twice: twelve familiar notes, and thirty-one; one of these is picked out."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        self._tall = look.tall
        axes = look.bare(figure, (0.04, 0.47, 0.92, 0.38), (0.06, 0.33, 0.88, 0.53))
        along, across = (-35.0, 1235.0), (-1.5, 1.0)
        axes.set(xlim=look.fit(along, across), ylim=look.fit(across, along))
        self._axes = axes
        for pitch, name in enumerate(_KEYS):
            self._mark(100.0 * pitch, 0.1, 0.5, TWELVE_COLOUR, 6)
            self._name(look, 100.0 * pitch, 0.72, name)
        self._pitches = (THIRTY_ONE.cents + _FIRST_STEP).tolist()
        for step, (pitch, name) in enumerate(zip(self._pitches, _NOTES, strict=True)):
            row = step % 2
            self._mark(pitch, -0.1, -0.5 - 0.32 * row, look.theme.faint, 1.5)
            self._mark(pitch, -0.1, -0.5, THIRTY_ONE_COLOUR, 6)
            self._name(look, pitch, -0.75 - 0.36 * row, name)
        shape, size = look.fit(("o", 31), ("o", 27), (_FLAT_RING, 32))
        (self._ring,) = axes.plot([], [], ls="", marker=shape, ms=size, mfc="none", mec=look.theme.ink, mew=2.5)
        (self._line,) = axes.plot([], [], color=look.theme.ink, lw=3)

    def _points(self, pitch: Any, place: Any) -> tuple[Any, Any]:
        return (place, pitch) if self._tall else (pitch, place)

    def _mark(self, pitch: float, start: float, end: float, colour: str, width: float) -> None:
        self._axes.plot(*self._points([pitch, pitch], [start, end]), color=colour, lw=width, solid_capstyle="butt")

    def _name(self, look: Look, pitch: float, place: float, name: str) -> None:
        look.text(self._axes, *self._points(pitch, place), name, ha="center", va="center")

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [self._line, self._ring]

    def show(self, note: str) -> None:
        """Pick out a note: ringed, with a line to both lanes."""
        step = _NOTES.index(note)
        pitch = self._pitches[step]
        self._ring.set_data(*self._points([pitch], [-0.75 - 0.36 * (step % 2)]))
        self._line.set_data(*self._points([pitch, pitch], [-0.05, 0.55]))


class _Below:
    """What a player goes by: a finger on a string, or the beats of a voice against the familiar note."""

    _seconds = np.linspace(0, 1, 601)

    def __init__(self, figure: Canvas, look: Look) -> None:
        ink, grey = look.theme.ink, look.theme.grey
        where = (0.1, 0.04, 0.8, 0.2), (0.14, 0.035, 0.72, 0.12)
        low = look.fit(-0.75, -0.75, -1.1)
        string = look.bare(figure, *where)
        string.set(xlim=(0, 0.5), ylim=(-1, 1.6))
        (line,) = string.plot([0, 0.5], [0, 0], color=ink, lw=2)
        (nut,) = string.plot([0, 0], [-0.7, 0.7], color=ink, lw=7, clip_on=False)
        (self._familiar,) = string.plot([], [], color=TWELVE_COLOUR, lw=6, solid_capstyle="butt")
        (self._finger,) = string.plot([], [], color=THIRTY_ONE_COLOUR, lw=6, solid_capstyle="butt")
        self._name = look.text(string, -0.015, 0, ha="right", va="center", weight="bold")
        half = look.text(string, 0.5, low, "middle of the string", ha="right", va="center")
        self._strings = [line, nut, half, self._familiar, self._finger, self._name]
        beats = look.bare(figure, *where)
        beats.set(xlim=(0, 1), ylim=(-1, 1.6))
        (self._swell,) = beats.fill([0, 0, 0], [0, 0, 0], color=look.theme.faint, ec=grey, lw=1.5)
        second = look.text(beats, 1.0, low, "1 second", ha="right", va="center")
        self._voices = [self._swell, second]
        self._words = look.text(string, 0.25, 1.3, ha="center", va="center", weight="bold")

    @property
    def artists(self) -> list[Any]:
        """All that moves."""
        return [*self._strings, *self._voices, self._words]

    def show(self, place: _Place) -> None:
        """Show a finger's place, or the beats."""
        for artists, shown in ((self._strings, place.string is not None), (self._voices, place.string is None)):
            for artist in artists:
                artist.set_visible(shown)
        if place.string is None:
            self._show_beats(place)
        else:
            self._show_finger(place)

    def _show_finger(self, place: _Place) -> None:
        for line, millimetres, up in ((self._familiar, place.familiar_finger, 1), (self._finger, place.finger, -1)):
            line.set_data([millimetres / place.length] * 2, [0.1 * up, 0.7 * up])
        self._name.set_text(place.string_name)
        side = "bridge" if place.shift > 0 else "nut"
        self._words.set_text(
            "the familiar place"
            if place.same
            else f"{plain(abs(place.shift))} mm nearer to the {side} than for {place.familiar}"
        )

    def _show_beats(self, place: _Place) -> None:
        loud = 0.5 * np.abs(np.cos(np.pi * place.beats * self._seconds))
        self._swell.set_xy(np.column_stack([np.r_[self._seconds, self._seconds[::-1]], np.r_[loud, -loud[::-1]]]))
        self._words.set_text(f"against {place.familiar}: {times(round(place.beats, 1), 'beat')} a second")
