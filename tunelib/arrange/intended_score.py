"""What a voice of a score has to play, for a take to be held beside."""

from __future__ import annotations

from itertools import pairwise

from tunelib.hearing import Intended, IntendedNote
from tunelib.pitch import A4_HZ, nearest_note
from tunelib.score import Score


def intended_from(score: Score, voice: str, reference: float = A4_HZ) -> Intended:
    """The notes of one voice of a score, in their order and at their exact pitch.

    Parameters
    ----------
    score : Score
        Such as a play-along sheet's, whose voice ``"player"`` is to be played, or `written_score`, whose ``"melody"``.
    voice : str
        One that plays a note at a time.
    reference : float
        The frequency of A4 in hertz, for naming.

    A note is labelled by its name. One that has none is named after the nearest of twelve. Raises ValueError for a
    voice that the score does not have, or in which several notes sound at once.
    """
    notes = score.only(voice).notes
    for before, after in pairwise(notes):
        if after.onset < before.end:
            raise ValueError(
                f"in the voice {voice!r} several notes sound at once, at beat {float(after.onset):g}; "
                "choose one that plays a note at a time"
            )
    found = []
    for note in notes:
        name = note.name or nearest_note(note.hertz, reference=reference)[0]
        found.append(IntendedNote(note.hertz, name, str(name), float(note.duration)))
    whole = f"“{score.title}”" if score.title else "the score"
    return Intended(f"the {voice} of {whole}", tuple(found), reference)
