"""What a learner has answered by ear and sung: the items of practice, and all answers to them so far."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from tunelib.pitch import shortened

_LONGEST = 40  # letters of a kind, of what, of an answer


@dataclass(frozen=True, order=True)
class Item:
    """One thing to be practised.

    Parameters
    ----------
    kind : str
        The kind of question, such as ``"third"``: see `ear_items`.
    what : str
        What is asked of it, such as ``"neutral"``.

    Raises ValueError for either that is empty, longer than 40 letters, or has a colon or a line break.

    >>> str(Item("third", "neutral")), Item.parse("pure:5/4")
    ('third:neutral', Item(kind='pure', what='5/4'))
    """

    kind: str
    what: str

    def __post_init__(self) -> None:
        for part, words in (("kind", self.kind), ("thing asked", self.what)):
            if not isinstance(words, str) or not re.fullmatch(rf"[^:\n\r\t]{{1,{_LONGEST}}}", words):
                raise ValueError(
                    f"the {part} of an item is 1 to {_LONGEST} letters and no colon, not {shortened(words)}"
                )

    def __str__(self) -> str:
        return f"{self.kind}:{self.what}"

    @classmethod
    def parse(cls, text: str) -> Item:
        """The item that is written so. Raises ValueError for what is not ``kind:what``."""
        kind, colon, what = str(text).partition(":")
        if not colon:
            raise ValueError(f"an item is written as kind:what, such as third:neutral, not {shortened(text)}")
        return cls(kind, what)


@dataclass(frozen=True)
class Answered:
    """One answer.

    Parameters
    ----------
    item : Item
    moment : datetime
        When, with its time zone: that of the learner, since a day is the learner's.
    right : bool
    answer : str
        What was answered, in a word; empty for what was sung.
    cents : float or None
        Of what was sung or played: how far it was off, sharp above 0. Of what was heard: the difference that was to be
        heard, 0 or more, in questions that have one. None in others.
    register : str
        Where it sounded: ``"low"``, ``"middle"`` or ``"high"``.
    """

    item: Item
    moment: datetime
    right: bool
    answer: str = ""
    cents: float | None = None
    register: str = "middle"
