"""A question for the ear as it is asked: what sounds, what may be answered, and what is told afterwards."""

from __future__ import annotations

from dataclasses import dataclass

from tunelib.practice.answers import Response
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_sounds import EarSound


@dataclass(frozen=True)
class QuestionAsked:
    """One question with its sounds.

    Parameters
    ----------
    item : Item
        What is practised.
    register : str
        Where it sounds, one of `EAR_REGISTERS`.
    words : str
        What is asked, in a sentence.
    sounds : tuple of EarSound
        What is heard before the answer, in this order, under "Sound 1", "Sound 2"; their names would tell.
    answers : tuple of str
        What may be answered, in the order of their number keys.
    right : int
        The place of the right one.
    why : str
        What it was, in cents and in beats where there are any; told after every answer.
    compared : tuple of EarSound
        To be flipped between afterwards, by their names.
    helps : tuple of EarSound
        What may be heard beside the sounds, by name, before and after the answer.
    cents : float or None
        The difference that is to be heard, where the question has one.

    Raises ValueError unless there is a sound, something to compare it with, and a right one among two answers or more.
    """

    item: Item
    register: str
    words: str
    sounds: tuple[EarSound, ...]
    answers: tuple[str, ...]
    right: int
    why: str
    compared: tuple[EarSound, ...]
    helps: tuple[EarSound, ...] = ()
    cents: float | None = None

    def __post_init__(self) -> None:
        if not self.sounds or not self.compared:
            raise ValueError("a question for the ear has a sound at least, and something to compare it with afterwards")
        if len(set(self.answers)) < max(2, len(self.answers)) or not 0 <= self.right < len(self.answers):
            raise ValueError(
                f"a question has two different answers or more and a right one among them, not {self.right} of "
                f"{self.answers!r}"
            )

    def check(self, place: int) -> Response:
        """Respond to the answer at a place, counted from 0. Raises ValueError where there is none."""
        if isinstance(place, bool) or not isinstance(place, int) or not 0 <= place < len(self.answers):
            raise ValueError(f"the answers are those at 0 to {len(self.answers) - 1}, not {place!r}")
        if place == self.right:
            return Response(True, f"Yes. {self.why}")
        return Response(False, f"No: {self.answers[self.right]}. {self.why}")
