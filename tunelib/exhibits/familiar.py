"""From the familiar note: where each of the thirty-one is, for those who make every note themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, ClassVar

from tunelib.exhibits.between_keys import BetweenKeys
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Printed, Scene, Voicing
from tunelib.exhibits.hand_and_voice import Hand, Height, NoteStage, OctaveStrip
from tunelib.exhibits.inches import field_of, in_inches
from tunelib.exhibits.look import Look
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
PLAYERS = tuple(name for name, player in INSTRUMENTS.items() if name in BOWED or player.family == "voice")
_PIANO, _MIDDLE = "piano", 4  # and the octave from middle C
_WHEEL = 200.0  # cents that a pitch wheel moves a note at most, unless it is set otherwise (General MIDI 1)
_FIRST_STEP = cents(THIRTY_ONE.hz(0) / _TWELVE.hz(0))  # of thirty-one above that of twelve, since both have one A
_SAME = 0.05  # cents, below which two notes are called the same
_TABLE = "The thirty-one notes from the familiar ones"

_FOR_FINGERS = (
    "Move from the hand, not from the shoulder or the neck, and never stretch by force.",
    REST_HANDS,
)
_FOR_VOICES = (
    "Sing softly, in the middle of your range, and take another octave where this one does not suit you.",
    "Drink water and rest your voice often. Hoarseness or pain means stop; ask a teacher before you go on.",
)


@dataclass(frozen=True)
class Place:
    """One of the thirty-one notes between two familiar ones, as a player reads them, and where to find it.

    `above` and `below` are the cents up from `lower` and down from `upper`; `hz` sounds, as does `familiar_hz` of
    `familiar`, the nearer of the two. On bowed strings `string` is the one it is played on, `length` its millimetres
    from nut to bridge, and `finger`, `familiar_finger` and so on are millimetres from the nut.
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
    lower_finger: float = 0.0
    upper_finger: float = 0.0

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
    def turn(self) -> float:
        """How far a pitch wheel turns from the familiar note, in per cent of its way up; negative where it is down."""
        return 100 * self.away / _WHEEL

    @property
    def shift(self) -> float:
        """Millimetres from the familiar finger place towards the bridge; negative towards the nut."""
        return self.finger - self.familiar_finger


class FamiliarNotes(Exhibit):
    """A note of thirty-one beside those of twelve: in cents, and in millimetres, beats or turns of a wheel."""

    name: ClassVar[str] = "familiar_notes"
    title: ClassVar[str] = "From the familiar note"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("player", "Voice or instrument", (*PLAYERS, _PIANO), "violin"),
        Choice("note", "Note", _NOTES, "E½♭", ordered=True),
    )

    parts: ClassVar[Mapping[str, str]] = {
        "stage": "the strings under the fingers, the height of a voice, or the keys of a piano",
        "known": "the two familiar notes",
        "note": "the new note",
        "gap": "the gap to the nearest familiar note",
        "words": "how far it is from the familiar note",
        "octave": "twelve and thirty-one notes of an octave",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("stage", "known"), ("note",), ("gap", "words"), ("octave",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        octave = OctaveStrip(axes, look)
        hand, voice, piano = stages = Hand(axes, look), Height(axes, look), BetweenKeys(axes, look, octave)
        head = look.headline(axes, 0, 0, below=hand.upright)
        lines = [look.text(axes, 0, 0) for _ in range(2)]
        field = field_of(look)
        side, level = look.fit((field.right, look.inches[1] - 0.66), (field.left, field.bottom + 0.84))
        who_plays = look.text(axes, side, level, ha=look.fit("right", "left"), color=look.theme.grey)
        shown: dict[str, Any] = {}

        def update(player: str, note: str) -> None:
            place = _place(player, note)
            octave.show(_NOTES.index(note))
            who_plays.set_text(f"as the {player} reads it")
            on_string = place.string is not None
            stage: NoteStage = hand if on_string else piano if player == _PIANO else voice
            for one in stages:
                one.see(one is stage)
            if on_string:
                who = instrument(player)
                hand.set_up([who.written(string).name for string in BOWED[player].strings], place.string_name)
            stage.show(place)
            at, below = stage.reading(place)
            cents_away, words, more = _reading(player, place)
            head.say(cents_away, words)
            head.move(*at)
            rows = more if hand.upright and on_string else (" ".join(more), "")
            for text, words, height in zip(lines, rows, below, strict=True):
                text.set_text(words)
                text.set_position(height)
            shown.update(stage=stage, place=place)

        def light(playing: Playing) -> None:
            heard = {("familiar", "note")[number % 2] for number in playing.notes}
            if heard:
                shown["stage"].light(shown["place"], heard)

        parts = {name: tuple(artist for stage in stages for artist in stage.parts[name]) for name in stages[0].parts}
        parts |= {"words": (*head.artists, *lines), "octave": octave.artists}
        moving = (
            *octave.moving,
            *(artist for stage in stages for artist in stage.moving),
            *head.artists,
            *lines,
            who_plays,
        )
        return Scene(moving, update, light, parts)

    def numbers(self, player: str, note: str) -> Mapping[str, str]:
        place = _place(player, note)
        found = {
            "written": str(place.note),
            "familiar": str(place.familiar),
            "cents": plain(abs(place.away)),
            "beats": plain(place.beats),
        }
        if player == _PIANO:
            found["turn"] = plain(abs(place.turn), 0)
        return found | ({"millimetres": plain(abs(place.shift))} if place.string else {})

    def sentence(self, player: str, note: str) -> str:
        place = _place(player, note)
        reading = f"{place.note}, as the {player} reads it,"
        if place.same:
            return f"{reading} is the same note in twelve and in thirty-one, which share their A."
        sizes = f"is {plain(place.above)} cents above {place.lower} and {plain(place.below)} below {place.upper}"
        if place.string is None:
            beats = times(round(place.beats, 1), "beat")
            wheel = (
                f", and it is {place.familiar} with the pitch wheel {_wheel_words(place)}" if player == _PIANO else ""
            )
            return f"{reading} {sizes}; against {place.familiar} it gives {beats} a second{wheel}."
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
        if player == _PIANO:
            return Printed(
                opening + "A pitch wheel moves a note by two semitones at most, unless it is set otherwise: hold the "
                "familiar key, and turn the wheel by so many per cent of its way up or down. It moves all that is "
                "held, so play one note at a time. Where there is no wheel, give the note to a voice or a horn, hold "
                "the familiar key against it, and count the beats.",
                _TABLE,
                (*head, "Wheel", "Beats a second"),
                tuple(
                    (*row, f"{aligned(place.turn, 0)} %", f"{place.beats:.1f}")
                    for row, place in zip(rows, places, strict=True)
                ),
                (REST_HANDS, LOW_VOLUME),
            )
        if player not in BOWED:
            return Printed(
                opening
                + "Held against the familiar note, the other beats with it this many times a second: find it by "
                "the beats, then by ear alone. A voice with vibrato hardly beats: begin without it.",
                _TABLE,
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
            _TABLE,
            (*head, "String", "From the nut", "Finger moves"),
            tuple(
                (*row, place.string_name, f"{place.finger:.1f} mm", f"{aligned(place.shift)} mm")
                for row, place in zip(rows, places, strict=True)
            ),
            (*_FOR_FINGERS, LOW_VOLUME),
        )


@lru_cache(maxsize=1024)
def _place(player: str, note: str) -> Place:
    """A note in the lowest octave from C up that is in a player's comfortable range; for the piano, from middle C."""
    who = instrument(player)
    octave = _MIDDLE if player == _PIANO else _octave(who)
    step = _NOTES.index(note) + (octave - 4) * len(THIRTY_ONE)
    key, above = divmod(round(float(THIRTY_ONE.cents_of(step)) + _FIRST_STEP, 6), 100.0)
    lower, upper = (spell(int(key) + i, _TWELVE) for i in (0, 1))
    familiar = lower if above <= 50 else upper
    sounding = who.sounding(spell(step, THIRTY_ONE))
    hz, familiar_hz = sounding.hz(THIRTY_ONE), who.sounding(familiar).hz()
    found = Place(spell(step, THIRTY_ONE), lower, upper, above, 100 - above, familiar, hz, familiar_hz)
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
        lower_finger=strings.place(string, who.sounding(lower).hz()),
        upper_finger=strings.place(string, who.sounding(upper).hz()),
    )


def _reading(player: str, place: Place) -> tuple[str, str, tuple[str, str]]:
    """How far a note is from the familiar one: the cents, what they are, and what a player goes by, in two pieces."""
    if place.same:
        return "0", f"cents from {place.familiar}", ("the same in twelve", "and in thirty-one")
    words = f"cents {'above' if place.away > 0 else 'below'} {place.familiar}"
    if player == _PIANO:
        return plain(abs(place.away)), words, ("pitch wheel", _wheel_words(place))
    if place.string is None:
        return plain(abs(place.away)), words, (times(round(place.beats, 1), "beat"), "a second")
    side = "bridge" if place.shift > 0 else "nut"
    return plain(abs(place.away)), words, (f"{plain(abs(place.shift))} mm nearer", f"to the {side}")


def _octave(player: Instrument) -> int:
    """The octave number of the lowest written C in a player's comfortable range."""
    lowest = player.lowest
    return lowest.octave if lowest.letter == "C" else lowest.octave + 1


def _finger_words(place: Place) -> str:
    """Where the finger goes, such as ``"on the D string the finger is 3.7 mm nearer to the nut than for E4"``."""
    side = "bridge" if place.shift > 0 else "nut"
    return (
        f"on the {place.string_name} string the finger is {plain(abs(place.shift))} mm nearer to the {side} than "
        f"for {place.familiar}"
    )


def _wheel_words(place: Place) -> str:
    """How far the pitch wheel turns from the familiar note, such as ``"21 % down"``."""
    return f"{plain(abs(place.turn), 0)} % {'up' if place.turn > 0 else 'down'}"
