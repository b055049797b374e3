"""The thirty-one notes of an octave as an instrument reads them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Printed, Scene, Slider, Voicing
from tunelib.exhibits.long_staff import LongStaff
from tunelib.exhibits.look import Look
from tunelib.export import middle_line
from tunelib.pitch import (
    INSTRUMENTS,
    THIRTY_ONE,
    Instrument,
    Note,
    SpelledInterval,
    aligned,
    drawn,
    equal,
    interval_names,
    plain,
    spell,
    spell_on_chain,
    spellings,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import timbre_for

_TWELVE = equal(12)
_STEPS = len(THIRTY_ONE)
_HALVES, _CHAIN = "with halves", "along the fifths"
_MIDDLE_C = Note("C", 0, 4)
_CAUTIONS = (
    "Start softly, and rest lips, voice and hands often. Strain or pain means stop; ask a teacher before you go on.",
    "Many instruments have no key or fret for half of these notes: bend, shade or slide to them, and let the ear "
    "judge. What a fingering gives differs from one instrument and player to the next.",
)


@dataclass(frozen=True)
class WrittenNote:
    """One of the thirty-one as a player reads it, and what else it is.

    `names` are all its names at most a double sharp or flat away, the one on the staff first; `interval` is the
    written one above C; `sounding` names the note that sounds, at `hertz`; `key` is the nearest key of twelve, as the
    player would read it, and `cents` how far above it the note is, A4 being 440 Hz in both.
    """

    step: int
    names: tuple[Note, ...]
    interval: SpelledInterval
    sounding: Note
    hertz: float
    key: Note
    cents: float

    @property
    def written(self) -> Note:
        """The note on the staff."""
        return self.names[0]


def lowest_c(player: Instrument) -> Note:
    """The C from which an octave suits a player best: in comfortable range, and with the fewest ledger lines."""
    within = [
        Note("C", 0, octave)
        for octave in range(player.lowest.octave, player.highest.octave)
        if player.lowest.quartertones <= 24 * octave and 24 * (octave + 1) <= player.highest.quartertones
    ]
    centre = middle_line(player.clef).diatonic
    return min(within, key=lambda low: max(centre - low.diatonic, low.diatonic + 7 - centre))


@lru_cache(maxsize=2 * len(INSTRUMENTS))
def written_notes(player: Instrument, along_the_fifths: bool = False) -> tuple[WrittenNote, ...]:
    """The thirty-one notes of an octave, and the octave, as a player reads them from a written C up.

    Each is spelled as plainly as possible, with halves, or along the chain of fifths with at most double sharps and
    flats. A player whose instrument transposes does so by name: a tone is five steps of thirty-one, and two keys of
    twelve.
    """
    named = spell_on_chain if along_the_fifths else spell
    home, transposed = lowest_c(player), player.written(_MIDDLE_C)
    steps = home.step(THIRTY_ONE) + np.arange(_STEPS + 1)
    sounding = steps - transposed.step(THIRTY_ONE)
    hertz = THIRTY_ONE.hz(sounding)
    from_a4 = np.asarray(THIRTY_ONE.cents_of(sounding)) - THIRTY_ONE.a4_cents
    nearest, errors = _TWELVE.nearest(from_a4 + _TWELVE.a4_cents)
    keys = nearest + transposed.step(_TWELVE)
    found = []
    for i, step in enumerate(steps.tolist()):
        written = named(step, THIRTY_ONE)
        others = (name for name in spellings(step, THIRTY_ONE) if name != written)
        found.append(
            WrittenNote(
                step=i,
                names=(written, *others),
                interval=home.interval_to(written),
                sounding=named(int(sounding[i]), THIRTY_ONE),
                hertz=float(hertz[i]),
                key=spell(int(keys[i]), _TWELVE),
                cents=-float(errors[i]),
            )
        )
    return tuple(found)


class WrittenNotes(Exhibit):
    """All notes of an octave in thirty-one on the staff of an instrument, one of them picked out."""

    name: ClassVar[str] = "written_notes"
    title: ClassVar[str] = "Thirty-one notes on a staff"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("instrument", "Instrument", tuple(INSTRUMENTS), "alto saxophone"),
        Slider("step", "Step", 0, _STEPS, 1, 9),
        Choice("spelling", "Spelling", (_HALVES, _CHAIN), _HALVES),
    )
    together: ClassVar[tuple[str, ...]] = ("step", "spelling")

    parts: ClassVar[Mapping[str, str]] = {
        "staff": "the staff and its clef",
        "notes": "the notes, those with the new signs bright",
        "chosen": "the place of the chosen note",
        "name": "its name, and its interval from C",
        "facts": "its other names, its distance from twelve, and how it sounds",
        "all": "all thirty-one at a glance",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("staff",), ("notes", "all"), ("chosen", "name"), ("facts",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        staff = LongStaff(figure, look, _STEPS + 1)
        label = look.size("label")
        name = look.headline(staff.axes, staff.middle, 0, below=True, ha="center")
        baseline = staff.foot - 0.85 * look.size("number")
        name.move(staff.middle, baseline)
        under = baseline - 0.4 * 72 - 1.45 * label
        in_lines = ((staff.middle, under - 1.35 * label * line, "center") for line in range(4))
        beside = (
            (0.0, baseline, "left"), (0.0, baseline - 1.45 * label, "left"),
            (staff.width, baseline, "right"), (staff.width, baseline - 1.45 * label, "right"),
        )  # fmt: skip
        facts = [look.text(staff.axes, x, y, ha=ha, color=look.theme.grey) for x, y, ha in look.fit(beside, in_lines)]
        facts[0].set_color(look.theme.ink)
        now: dict[str, int] = {}

        def update(instrument: str, step: int, spelling: str) -> None:
            player = INSTRUMENTS[instrument]
            notes = written_notes(player, spelling == _CHAIN)
            now["step"] = step
            staff.show(tuple(note.written for note in notes), player.clef, step)
            name.say(notes[step].written.name, notes[step].interval.name)
            for text, words in zip(facts, self._facts(player, notes[step], look), strict=True):
                text.set_text(words)

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                staff.sound([(0, now["step"])[note % 2] for note in playing.notes])

        return Scene(
            [*staff.moving, *name.artists, *facts], update, light, {**staff.parts, "name": name.artists, "facts": facts}
        )

    @staticmethod
    def _facts(player: Instrument, note: WrittenNote, look: Look) -> tuple[str, ...]:
        """What is said of a note in words, in lines as the shape has room for them."""
        others = f"also {', '.join(str(name) for name in note.names[1:])}" if note.names[1:] else ""
        sounds = f"sounds {note.sounding}, {plain(note.hertz)} Hz"
        if look.square:
            return (_beside_twelve(note), sounds, "", "")
        return (_beside_twelve(note), others, player.name, sounds)

    def numbers(self, instrument: str, step: int, spelling: str) -> Mapping[str, str]:
        note = written_notes(INSTRUMENTS[instrument], spelling == _CHAIN)[step]
        return {
            "cents": plain(abs(round(note.cents, 1))),
            "hertz": plain(note.hertz),
            "note": note.written.name,
            "interval": note.interval.name,
        }

    def sentence(self, instrument: str, step: int, spelling: str) -> str:
        player = INSTRUMENTS[instrument]
        note = written_notes(player, spelling == _CHAIN)[step]
        names = " or ".join(drawn(str(name)) for name in note.names)
        return (
            f"Step {step} of {_STEPS} above C as the {player.name} reads it, spelled {spelling}: {names}, "
            f"{', in sound a '.join(_intervals(note))}, {_beside_twelve(note)}; it sounds "
            f"{drawn(str(note.sounding))} at {plain(note.hertz)} Hz."
        )

    def score(self, instrument: str, step: int, spelling: str) -> Score:
        notes = written_notes(INSTRUMENTS[instrument], spelling == _CHAIN)
        times = ((0, 1.2, notes[0]), (1.3, 1.2, notes[step]), (2.6, 2.0, notes[0]), (2.6, 2.0, notes[step]))
        return Score(
            tuple(
                ScoreNote(onset=onset, duration=duration, hertz=note.hertz, name=note.sounding, level=0.45)
                for onset, duration, note in times
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return timbre_for(INSTRUMENTS[values["instrument"]])

    def printed(self, instrument: str, step: int, spelling: str) -> Printed:
        player = INSTRUMENTS[instrument]
        notes = written_notes(player, spelling == _CHAIN)[:_STEPS]
        transposes = player.written(_MIDDLE_C) != _MIDDLE_C
        how = f" The first of them sounds as {player.sounding(notes[0].written)}." if transposes else ""
        return Printed(
            introduction=(
                f"The {_STEPS} notes from {notes[0].written} up, as the {player.name} reads them.{how} A sharp or flat "
                "is two steps, a half-sharp or half-flat one, a double sharp or flat four. The notes go on in the same "
                "way in every octave. The last column says how far each is from the nearest key of twelve equal "
                "steps, named as it is read; A is 440 Hz in both."
            ),
            table_title="The thirty-one in numbers",
            head=("Step", "Written", "Other names", "Sounds", "Hertz", "Nearest key", "Cents from it"),
            rows=tuple(
                (
                    str(note.step),
                    drawn(str(note.written)),
                    ", ".join(drawn(str(name)) for name in note.names[1:]),
                    drawn(str(note.sounding)),
                    f"{note.hertz:.2f}",
                    str(note.key),
                    aligned(note.cents),
                )
                for note in notes
            ),
            cautions=_CAUTIONS,
        )


def _intervals(note: WrittenNote) -> tuple[str, ...]:
    """The interval above C by its written name and, where that differs, by the plainest for as many steps."""
    return tuple(dict.fromkeys((note.interval.name, interval_names(note.step, THIRTY_ONE)[0].name)))


def _beside_twelve(note: WrittenNote) -> str:
    away = round(note.cents, 1)
    if not away:
        return f"just on {note.key} of twelve"
    return f"{plain(abs(away))} cents {'above' if away > 0 else 'below'} {note.key} of twelve"
