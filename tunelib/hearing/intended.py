"""What was to be played: notes in their order, which a take can be held beside."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tunelib.pitch import A4_HZ, Note, cents, positive_hertz

MOST_INTENDED = 5000


@dataclass(frozen=True)
class IntendedNote:
    """One note that was to be played.

    Parameters
    ----------
    hertz : float
        The exact pitch that was meant to sound.
    note : Note
        Its spelled name, as it sounds.
    label : str
        A short name, such as ``"E½♭4"``, or ``"7"`` for a harmonic.
    beats : float
        How long it is written, in quarter notes.

    Raises ValueError for a pitch or a length that is not above 0.
    """

    hertz: float
    note: Note
    label: str
    beats: float = 1.0

    def __post_init__(self) -> None:
        positive_hertz(self.hertz)
        if not 0 < self.beats < math.inf:
            raise ValueError(f"{self.label}: a note lasts longer than 0 beats, not {self.beats}")


@dataclass(frozen=True)
class Intended:
    """Notes that were to be played, one after another.

    Parameters
    ----------
    name : str
        As it is put in a sentence, such as ``"a scale on C4"``.
    notes : tuple of IntendedNote
        At least one, and 5000 at most.
    reference : float
        The frequency of A4 in hertz, which the notes are named by.

    Raises ValueError for no notes, or too many.
    """

    name: str
    notes: tuple[IntendedNote, ...]
    reference: float = A4_HZ

    def __post_init__(self) -> None:
        if not 1 <= len(self.notes) <= MOST_INTENDED:
            raise ValueError(
                f"{self.name}: a take is held beside 1 to {MOST_INTENDED} notes, not {len(self.notes)}; "
                "choose a voice that plays, or a part of the piece"
            )

    @cached_property
    def cents(self) -> tuple[float, ...]:
        """Each note's pitch in cents above 1 Hz."""
        return tuple(cents(np.array([note.hertz for note in self.notes])).tolist())
