"""What is said over a clip: sentences with their moments, timed at a pace that can be followed, and captions of them.

Numbers in braces are the exhibit's own at that moment, so that what is said cannot disagree with what is shown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tunelib.film.acts import Programme
from tunelib.film.pointing import check_names, filled
from tunelib.pitch import clock, is_number, plain, shortened, unprintable

EASY_PACE, FASTEST_PACE = 140.0, 180.0  # words a minute that are easy to follow, and more than are (common practice)
LONGEST_TALK = 600  # characters said in one go
_SPOKEN = re.compile(r"[^\W_]+(?:['’][^\W_]+)?")


@dataclass(frozen=True)
class Say:
    """Something to say.

    Parameters
    ----------
    at : float
        When it begins, in seconds of the clip.
    words : str
        Names in braces are filled with the `numbers` or knobs of the exhibit that is in front at that moment, as in
        ``"They beat {beats} times a second."``.
    """

    at: float
    words: str


@dataclass(frozen=True)
class Spoken:
    """Something said, with its numbers filled in.

    `until` is when it is over at the pace of `EASY_PACE`, or when the next begins, if that is sooner; `pace` is how
    many words a minute that makes.
    """

    at: float
    until: float
    words: str
    pace: float


def spoken(say: Sequence[Say], programme: Programme) -> tuple[Spoken, ...]:
    """What is said over a clip, in time.

    Raises ValueError, with the number of the one that is wrong: for one that begins before the clip or the one before
    it, or after the end; words that cannot be printed, or that quote what the exhibit does not have; and words that
    would have to be said faster than `FASTEST_PACE`.
    """
    found = []
    for number, one in enumerate(say):
        try:
            before = say[number - 1].at if number else -math.inf
            after = say[number + 1].at if number + 1 < len(say) else programme.seconds
            found.append(_spoken(one, before, after, programme))
        except ValueError as error:
            raise ValueError(f"say {number + 1}: {error}") from None
    return tuple(found)


def _spoken(one: Say, before: float, after: Any, programme: Programme) -> Spoken:
    if not is_number(one.at) or not 0 <= one.at < programme.seconds:
        raise ValueError(
            f"at is a number of seconds from 0 to {programme.seconds:g}, where the clip ends, not {shortened(one.at)}"
        )
    if one.at <= before:
        raise ValueError(f"it begins at {one.at:g} s, and the one before it at {before:g} s")
    exhibit, values = programme.heard(one.at)
    words = filled(check_talk(one.words, exhibit), exhibit, values)
    count = len(_SPOKEN.findall(words))
    room = after - one.at if is_number(after) and after > one.at else math.inf
    lasts = min(room, 60 * count / EASY_PACE)
    pace = 60 * count / lasts
    if pace > FASTEST_PACE:
        raise ValueError(
            f"{count} words in {plain(room)} s are {pace:.0f} a minute, and more than {FASTEST_PACE:g} cannot be "
            "followed: say less, or begin the next later"
        )
    return Spoken(float(one.at), float(one.at + lasts), words, pace)


def check_talk(words: Any, exhibit: Any) -> str:
    """Words that can be said over an exhibit; ValueError for others."""
    if not isinstance(words, str) or not _SPOKEN.search(words):
        raise ValueError(f"words are text to be said, not {shortened(words)}")
    if len(words) > LONGEST_TALK:
        raise ValueError(f"the words have {len(words)} characters; {LONGEST_TALK} are said in one go at most")
    if found := unprintable(words):
        raise ValueError(f"{found[1]} cannot be printed: take it away")
    return check_names(words, exhibit)


def talk_track(said: Sequence[Spoken]) -> str:
    """What is said as a page to read from: when, at how many words a minute, and the words.

    >>> from tunelib.film.acts import Act
    >>> from tunelib.film.timeline import Keyframe
    >>> programme = Programme(Act("beats", [Keyframe(0, {"difference": 2}, hold=6)]))
    >>> print(talk_track(spoken([Say(1, "{beats} swells a second."), Say(4.5, "Count them.")], programme)))
    0:01.0  140 a minute  2 swells a second.
    0:04.5  140 a minute  Count them.
    """
    lines = [f"{clock(one.at, tenths=True)}  {one.pace:.0f} a minute  {one.words}" for one in said]
    return "\n".join(lines)
