"""A slide trombone in B♭: how far out the slide is for a pitch, and which notes are where.

The model is an air column of length L that sounds the harmonics of its fundamental. The closed slide, first position,
sounds the multiples of B♭1, so there the instrument is in tune by definition. To lower everything by a ratio r the tube
must grow to r L; and since it runs out along the slide and back again, the slide moves by half of what is added,
``(r - 1) L / 2``. Seven positions, a semitone apart, reach six semitones down: a travel of ``L (√2 - 1) / 2``. A pitch
of 31 equal steps is a place between them, and 15 steps below first position are still within the travel.

Harmonics are pure, and a division is not: where harmonic 3 is to sound a fifth of 31, which is narrower by 5.2 cents,
the slide is a little further out than the octave's place. `slide_place` gives the place where the pitch is right.

What is approximate: the length that counts is longer than the tube that one can measure (about nine feet, 2.74 m), by
the bell and the mouthpiece, and by how much differs from horn to horn; a plain tube that sounds B♭1 would be 2.95 m
long. 2.85 m puts third and seventh position within two per cent of where a published method has them. All distances
grow with it: measure your own seventh position, and the length that counts is 4.83 times that. Mouthpiece and bell
flare shift each harmonic a little, so real ones are not exact multiples (the fifth is low on many instruments, the
sixth high: common practice); a player's lips pull every note by some cents, and warm air raises all of them. The ear
has the last word. Most slides run a few centimetres beyond seventh position before they come off (from memory), which
is not counted here.

Conventions: slide distances are in millimetres from the closed slide, the tube in metres, lowering in cents.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tunelib.pitch.counts import whole_number
from tunelib.pitch.divisions import FINEST_DIVISION
from tunelib.pitch.harmonics import harmonic_deviations
from tunelib.pitch.intervals import CENTS_PER_OCTAVE, FloatArray, cents, finite, finite_cents, positive_hertz, shortened
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.tunings import A4_HZ, Tuning, equal
from tunelib.pitch.words import ordinal, plain

FUNDAMENTAL = Note.parse("B♭1")
TUBE_LENGTH = 2.85  # metres that count; see above
POSITIONS = 7
HARMONICS = range(1, 11)  # 1 is the pedal note
_SEMITONE = CENTS_PER_OCTAVE / 12
_FARTHEST = _SEMITONE * (POSITIONS - 1)  # cents
_MOST_HARMONICS = 64
_TWELVE = equal(12)
_ROUNDING = 1e-9  # cents
_NOTICED = 0.5  # millimetres, and tenths of a cent: less than this is not worth a word


def slide_distance(lowered: Any, tube_length: float = TUBE_LENGTH) -> Any:
    """How far out the slide is when everything sounds a number of cents lower than in first position.

    `lowered` is a number or an array of any shape; a negative value asks for more than the closed slide can give, and
    gets a negative distance. Returns millimetres, of the same shape. Raises ValueError for a tube not above 0 m.

    >>> round(slide_distance(100), 1), round(slide_distance(600), 1)
    (84.7, 590.3)
    """
    result = (np.exp2(finite_cents(lowered) / CENTS_PER_OCTAVE) - 1) * _metres(tube_length) / 2 * 1000
    return result if result.ndim else float(result)


def slide_travel(tube_length: float = TUBE_LENGTH) -> float:
    """From first position to seventh, in millimetres: ``L (√2 - 1) / 2``."""
    return float(slide_distance(_FARTHEST, tube_length))


def ordinary_positions(tube_length: float = TUBE_LENGTH) -> FloatArray:
    """The seven positions, a semitone apart: distances in millimetres, shape (7,).

    >>> ordinary_positions().round(1)
    array([  0. ,  84.7, 174.5, 269.6, 370.4, 477.1, 590.3])
    """
    return np.asarray(slide_distance(_SEMITONE * np.arange(POSITIONS), tube_length))


def division_positions(division: int, tube_length: float = TUBE_LENGTH) -> FloatArray:
    """The positions a step of a division of the octave apart, as far as the travel goes: distances in millimetres.

    31 steps have 16 of them, from 0 to 15 steps down. Raises ValueError unless the division is a whole number from 1.

    >>> division_positions(31).round(1)[[0, 1, 15]]
    array([  0. ,  32.2, 567.8])
    """
    steps = whole_number(division, "a division", 1, FINEST_DIVISION)
    return np.asarray(slide_distance(CENTS_PER_OCTAVE * np.arange(steps // 2 + 1) / steps, tube_length))


@dataclass(frozen=True)
class SlidePlace:
    """Where the slide is for one pitch on one harmonic.

    Parameters
    ----------
    harmonic : int
        1 is the pedal note.
    hertz : float
        The pitch that is wanted.
    millimetres : float
        From the closed slide, between 0 and the travel.
    position : int
        The ordinary position that is nearest along the slide, 1 to 7.
    beyond : float
        How much further out than that position, in millimetres; negative is further in.
    lips : float
        Cents that the slide cannot give: the lips must raise the note by so much, or lower it if negative. 0 for a
        pitch within the travel.
    """

    harmonic: int
    hertz: float
    millimetres: float
    position: int
    beyond: float
    lips: float

    @property
    def in_words(self) -> str:
        """The place as a player would say it, such as ``"3rd position, 21 mm further out"``."""
        words = f"{ordinal(self.position)} position"
        if abs(self.beyond) >= _NOTICED:
            words += f", {plain(abs(self.beyond), 0)} mm further {'out' if self.beyond > 0 else 'in'}"
        if abs(self.lips) >= _NOTICED / 10:
            words += f", lips {plain(abs(self.lips))} cents {'up' if self.lips > 0 else 'down'}"
        return words


def slide_place(
    harmonic: int,
    hertz: float,
    tube_length: float = TUBE_LENGTH,
    tuning: Tuning | None = None,
    reference: float = A4_HZ,
) -> SlidePlace:
    """The place of the slide at which one harmonic sounds a pitch.

    Parameters
    ----------
    harmonic : int
        1 to 64; 1 is the pedal note.
    hertz : float
        The pitch that is wanted.
    tube_length : float
        Metres, with the slide closed.
    tuning, reference
        In which the player's B♭1, the fundamental in first position, is tuned: twelve equal steps and A4 = 440 Hz
        unless given.

    Where the pitch is outside the travel, the nearer end of it is returned, and `SlidePlace.lips` says what is
    missing. Raises ValueError for a harmonic out of range, a pitch that is not one frequency above 0, or a tube not
    above 0 m.

    >>> slide_place(6, Note.parse("E4").hz()).in_words
    '2nd position, 2 mm further out'
    """
    number = whole_number(harmonic, "a harmonic", 1, _MOST_HARMONICS)
    wanted = positive_hertz(hertz, "a pitch")
    if wanted.ndim:
        raise ValueError(f"slide_place takes one pitch at a time, not {shortened(hertz)}")
    lowered = cents(number * FUNDAMENTAL.hz(tuning, reference) / float(wanted))
    within = min(max(lowered, 0.0), _FARTHEST)
    beyond_reach = within - lowered
    distance = slide_distance(within, tube_length)
    ordinary = ordinary_positions(tube_length)
    nearest = int(np.argmin(np.abs(ordinary - distance)))
    return SlidePlace(
        harmonic=number,
        hertz=float(wanted),
        millimetres=distance,
        position=nearest + 1,
        beyond=distance - float(ordinary[nearest]),
        lips=beyond_reach if abs(beyond_reach) > _ROUNDING else 0.0,
    )


def slide_places(
    hertz: float,
    tube_length: float = TUBE_LENGTH,
    tuning: Tuning | None = None,
    reference: float = A4_HZ,
    *,
    harmonics: Iterable[int] = HARMONICS,
    lips: float = 0.0,
) -> tuple[SlidePlace, ...]:
    """Every place of the slide at which a pitch can be played, from the closed slide outward.

    `lips` is how many cents a player may pull a note that is just outside the travel; the rest is as for
    `slide_place`. Empty where no harmonic reaches. Raises ValueError as it does, and for `lips` below 0.

    >>> [(place.harmonic, place.position) for place in slide_places(Note.parse("F4").hz())]
    [(6, 1), (7, 4), (8, 6)]
    """
    leeway = finite(lips, "the pull of the lips")
    if leeway.ndim or leeway < 0:
        raise ValueError(f"the pull of the lips is a number of cents, 0 or more, not {shortened(lips)}")
    places = (slide_place(number, hertz, tube_length, tuning, reference) for number in harmonics)
    reached = [place for place in places if abs(place.lips) <= leeway + _ROUNDING]
    return tuple(sorted(reached, key=lambda place: (place.millimetres, place.harmonic)))


def position_note(harmonic: int, step: int, tuning: Tuning | None = None) -> Note:
    """The note of a tuning that a harmonic is used for when the slide is some steps of the tuning out.

    That is the step nearest to the harmonic in first position, and a number of steps below it; `slide_place` then says
    where exactly it is in tune. Spelled around B♭. Raises ValueError for a harmonic that is not a whole number from 1
    to 64, a step that is not one from 0, or a tuning whose notes have no letters.

    >>> [str(position_note(harmonic, 4, equal(31))) for harmonic in (2, 3, 4, 5, 6, 7)]
    ['A½♭2', 'E½♭3', 'A½♭3', 'C½♯4', 'E½♭4', 'G♭4']
    """
    scale = _TWELVE if tuning is None else tuning
    number = whole_number(harmonic, "a harmonic", 1, _MOST_HARMONICS)
    above = int(harmonic_deviations(scale, number).step[-1])
    down = whole_number(step, "a step down", 0, FINEST_DIVISION)
    return spell(FUNDAMENTAL.step(scale) + above - down, scale, home=FUNDAMENTAL.fifths)


def _metres(tube_length: float) -> float:
    value = finite(tube_length, "the length of a tube")
    if value.ndim or value <= 0:
        raise ValueError(
            f"the length of a tube is one number above 0 metres, such as 2.85, not {shortened(tube_length)}"
        )
    return float(value)
