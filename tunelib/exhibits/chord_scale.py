"""Which notes of thirty-one go over a chord, for a solo: on a player's staff, and as steps of the octave."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Printed, Scene, Voicing
from tunelib.exhibits.held_chords import as_played, set_apart
from tunelib.exhibits.look import Look
from tunelib.exhibits.scale_picture import ScalePicture
from tunelib.export import middle_line
from tunelib.harmony import Chord, ChordScale, scale_over, scales_over
from tunelib.pitch import (
    INSTRUMENTS,
    THIRTY_ONE,
    FloatArray,
    Instrument,
    Note,
    cents,
    drawn,
    equal,
    listed,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, timbre_for

_KINDS = (
    "maj7", "maj7h#11", "7", "harm7", "harm7h#11", "m7", "subharm7", "neumid7", "supwide7", "mmaj7", "m7b5", "7alt",
    "harm7#5", "7b9", "harm7#9", "dim7",
)  # fmt: skip
_ROOTS = ("C", "F", "B♭", "E♭", "A♭", "D♭", "G♭", "B", "E", "A", "D", "G")
_TWELVE = equal(12)
_TUNED = ("pure", "31 steps", "12 steps")
_BOTH, _CHORD = "chord and scale", "chord alone"
_PLACES = ("first", "second", "third", "fourth")  # of the scales over a chord; past the last is the last
_TEMPO = 100
_REST = 1  # beats of the chord alone before the scale
_CHORD_OCTAVE = 3
_CAUTIONS = (
    "Start softly, and rest lips, voice and hands often. Strain or pain means stop; ask a teacher before you go on.",
    "Many instruments have no key or fret for half of these notes: bend, shade or slide to them, and let the ear "
    "judge. What a fingering gives differs from one instrument and player to the next.",
)


@dataclass(frozen=True)
class LaidScale:
    """A scale over a chord as one player reads it and as it is tuned.

    `scale` is the one of thirty-one over the chord that sounds, and `read` the same, or in twelve steps the one of
    twelve, over the chord as the player reads it; `count` is how many scales can be chosen.
    """

    scale: ChordScale
    read: ChordScale
    number: int
    count: int
    tuned: str
    player: Instrument

    @cached_property
    def octave(self) -> int:
        """The octave of the written root: in the player's range, with the fewest ledger lines."""
        centre, root = middle_line(self.player.clef).diatonic, self.read.notes[0]

        def strain(octave: int) -> tuple[int, int]:
            low = replace(root, octave=octave)
            high = replace(root, octave=octave + 1)
            out = max(0, self.player.lowest.quartertones - low.quartertones)
            out += max(0, high.quartertones - self.player.highest.quartertones)
            return out, max(centre - low.diatonic, high.diatonic - centre)

        return min(range(8), key=strain)

    @cached_property
    def written(self) -> tuple[Note, ...]:
        """Its notes as the player reads them, from the root to the octave."""
        notes = [replace(note, octave=note.octave + self.octave - 4) for note in self.read.notes]
        return (*notes, replace(notes[0], octave=self.octave + 1))

    @cached_property
    def sizes(self) -> FloatArray:
        """Cents of its notes above the root, the octave last."""
        degrees = self.scale.degrees
        if self.tuned == "pure":
            found = [cents(one.ratio) for one in degrees]
        else:
            found = [float(self.read.tuning.cents_of(one.step)) for one in self.read.degrees]
        return np.array([*found, 1200.0])

    @cached_property
    def pure(self) -> FloatArray:
        """The same pure."""
        return np.array([*(cents(one.ratio) for one in self.scale.degrees), 1200.0])

    @cached_property
    def chord_sizes(self) -> tuple[float, ...]:
        """Cents of the notes of the chord above its root."""
        chord = self.scale.chord
        if self.tuned == "12 steps":
            return tuple(float(_TWELVE.cents_of(step)) for step in chord.steps(_TWELVE))
        steps = chord.steps(THIRTY_ONE)
        if self.tuned == "31 steps":
            return tuple(float(THIRTY_ONE.cents_of(step)) for step in steps)
        heard = dict(zip(sorted(set(steps)), chord.ratios(THIRTY_ONE), strict=True))
        ratios = {one.step: one.ratio for one in self.scale.degrees}
        octaves = ((*divmod(step, len(THIRTY_ONE)), step) for step in steps)
        return tuple(
            cents(ratios[within] * 2**octave) if within in ratios else cents(heard[step])
            for octave, within, step in octaves
        )

    @cached_property
    def hertz(self) -> tuple[float, ...]:
        """The frequencies of its notes; the root is that of thirty-one in every tuning."""
        root = self.player.sounding(self.written[0]).hz(THIRTY_ONE)
        return tuple(root * ratio_from_cents(size) for size in self.sizes.tolist())

    @cached_property
    def chord_hertz(self) -> tuple[float, ...]:
        """The frequencies of the chord under it."""
        root = replace(self.scale.chord.root, octave=_CHORD_OCTAVE).hz(THIRTY_ONE)
        return tuple(root * ratio_from_cents(size) for size in self.chord_sizes)

    @property
    def minded(self) -> tuple[str, ...]:
        """What is to be minded, in lines as the player reads them; and what of the chord the scale leaves out."""
        reasons: dict[str, list[tuple[str, str]]] = {}
        for one in self.read.to_mind:
            how, _, tone = one.why.partition(":")[0].rpartition(" ")
            reasons.setdefault(how, []).append((one.note.name, tone))
        lines = [
            f"{', '.join(name for name, _ in pairs)}: {how} {', '.join(tone for _, tone in pairs)}"
            for how, pairs in reasons.items()
        ]
        said = {tone for pairs in reasons.values() for _, tone in pairs}
        missing = [note.name for note in self.read.missing if note.name not in said]
        return (*lines, f"without the chord's {listed(missing)}") if missing else tuple(lines)


@lru_cache(maxsize=256)
def laid_scale(chord: str, scale: str, root: str, instrument: str, tuned: str) -> LaidScale:
    """The first, second … scale over a chord, or the last one if it has fewer."""
    player = INSTRUMENTS[instrument]
    sounding = Chord.parse(f"C{chord}").on(Note.named(root))
    over = scales_over(sounding, THIRTY_ONE)[: len(_PLACES)]
    number = min(_PLACES.index(scale) + 1, len(over))
    chosen = over[number - 1]
    tuning = _TWELVE if tuned == "12 steps" else THIRTY_ONE
    read = scale_over(sounding.on(player.written(sounding.root)), chosen.name, tuning)
    return LaidScale(chosen, read, number, len(over), tuned, player)


class ScaleOverChord(Exhibit):
    """Which notes of thirty-one go over a chord: those of the chord, those that colour it, and those to mind."""

    name: ClassVar[str] = "chord_scale"
    title: ClassVar[str] = "A scale over a chord"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", _KINDS, "harm7"),
        Choice("scale", "Scale", _PLACES, "first", ordered=True),
        Choice("root", "Root", _ROOTS, "C"),
        Choice("instrument", "Instrument", tuple(INSTRUMENTS), "flute"),
        Choice("tuned", "Tuned in", _TUNED, "31 steps", ordered=True),
        Choice("hear", "Hear", (_BOTH, _CHORD), _BOTH),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure": {"tuned": "pure"},
        "12": {"tuned": "12 steps"},
        "31": {"tuned": "31 steps"},
    }
    together: ClassVar[tuple[str, ...]] = ("chord", "scale", "tuned")
    parts: ClassVar[Mapping[str, str]] = {
        "steps": "the steps of the octave",
        "chord": "the chord, and the scale over it",
        "notes": "the notes on the staff",
        "marks": "where they are among the steps",
        "gaps": "how many steps from each note to the next",
        "mind": "the notes to mind",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("steps", "chord"), ("notes", "marks"), ("gaps",), ("mind",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        picture = ScalePicture(figure, look)
        now: dict[str, Any] = {}

        def update(hear: str, **values: Any) -> None:
            laid = laid_scale(**values)
            now.update(values, hear=hear)
            picture.show(laid.read, laid.written, laid.player.clef, laid.sizes, laid.pure, laid.tuned, hear == _CHORD)
            which = f"scale {laid.number} of {laid.count}, {laid.tuned}, {laid.player.name}"
            picture.say(f"{set_apart(laid.read.chord)}: {laid.read.name}", which, laid.minded)

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            notes, order = self.score(**now).notes, _up_and_down(len(picture.places))
            picture.sound([order[int(notes[i].onset) - _REST] for i in playing.notes if notes[i].voice == "scale"])

        return Scene(picture.moving, update, light, picture.parts)

    def sentence(self, hear: str, **values: Any) -> str:
        laid = laid_scale(**values)
        read, symbol = laid.read, as_played(laid.read.chord)
        gaps = "" if laid.tuned == "pure" else f", with gaps of {' '.join(map(str, read.gaps))} steps"
        whose = f", as the {laid.player.name} reads them"
        mind = f"To mind: {'; '.join(laid.minded)}." if laid.minded else "Nothing is to be minded."
        tuned = "pure" if laid.tuned == "pure" else f"in {laid.tuned}"
        heard = "The chord is heard with the scale." if hear == _BOTH else "The chord is heard alone, to play over."
        also = f" In twelve it is the same as {laid.scale.name}." if read.name != laid.scale.name else ""
        return (
            f"Over {symbol}, scale {laid.number} of {laid.count}: {read.name}, "
            f"{' '.join(drawn(note.name) for note in read.notes)}{whose}, tuned {tuned}{gaps}. Of the chord are "
            f"{listed(one.note.name for one in read.chord_tones)}. {mind}{also} {heard}"
        )

    def numbers(self, hear: str, **values: Any) -> Mapping[str, str]:
        laid = laid_scale(**values)
        worst = max(laid.scale.degrees, key=lambda one: abs(one.error))
        return {
            "scale_name": laid.read.name,
            "symbol": as_played(laid.read.chord),
            "mind": str(len(laid.read.to_mind)),
            "notes": str(len(laid.read.degrees)),
            "worst": plain(abs(worst.error)),
        }

    def score(self, hear: str, **values: Any) -> Score:
        laid = laid_scale(**values)
        order = _up_and_down(len(laid.sizes))
        lasts = _REST + len(order)
        level = min(0.22, 0.9 / len(laid.chord_hertz))
        notes = [
            ScoreNote(onset=0, duration=lasts, hertz=hertz, voice="chord", level=level) for hertz in laid.chord_hertz
        ]
        if hear == _BOTH:
            notes += [
                ScoreNote(onset=_REST + i, duration=2 if i + 1 == len(order) else 1, hertz=laid.hertz[place],
                          voice="scale", level=0.45)
                for i, place in enumerate(order)
            ]  # fmt: skip
        return Score(tuple(notes), tempo=_TEMPO)

    def timbre(self, hear: str, **values: Any) -> Voicing:
        found = {"chord": TIMBRES["organ"]}
        return found | ({"scale": timbre_for(laid_scale(**values).player)} if hear == _BOTH else {})

    def printed(self, hear: str, **values: Any) -> Printed:
        laid = laid_scale(**values)
        scales = scales_over(laid.read.chord, THIRTY_ONE)
        sounds = laid.scale.chord
        how = "" if sounds == laid.read.chord else f" It sounds as {as_played(sounds)}."
        return Printed(
            introduction=(
                f"What goes over {as_played(laid.read.chord)} in thirty-one steps, as the {laid.player.name} reads "
                f"it.{how} Notes of the chord can be held; the others colour it; those in the last column are close "
                "above a note of the chord, or beside one that the scale does not have. The scale on the staff is "
                f"{laid.read.name}. Steps are counted from each note to the next."
            ),
            table_title=f"Scales over {as_played(laid.read.chord)}",
            head=("Scale", "Notes", "Steps", "To mind", "From"),
            rows=tuple(
                (
                    scale.name,
                    " ".join(drawn(note.name) for note in scale.notes),
                    " ".join(map(str, scale.gaps)),
                    "; ".join(f"{drawn(one.note.name)}: {one.why.partition(':')[0]}" for one in scale.to_mind),
                    scale.source,
                )
                for scale in scales
            ),
            cautions=_CAUTIONS,
        )


def _up_and_down(count: int) -> list[int]:
    """The places of a scale, from the root to its octave and back."""
    return [*range(count), *range(count - 2, -1, -1)]
