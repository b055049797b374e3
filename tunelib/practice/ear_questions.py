"""The questions that a practice asks, by what is practised: ``ask(Item("third", "neutral"), ...)``.

A kind of question is a row in `EAR_KINDS`. Those with a difference in cents are given it, from what the learner can
hear by then; those with names to choose from offer more of them as they are known better.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from tunelib.pitch import finite, listed, shortened, whole_number
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_names import (
    EAR_DIVISIONS,
    EAR_HARMONICS,
    chords_of,
    sevenths_of,
    thirds_of,
    which_chord,
    which_division,
    which_harmonic,
    which_seventh,
    which_third,
)
from tunelib.practice.ear_pairs import (
    EAR_RATIOS,
    on_which_side,
    whether_the_same,
    which_is_narrower,
    which_is_pure,
    which_is_wider,
)
from tunelib.practice.ear_played import PlayedQuestion, play_chord, play_interval
from tunelib.practice.ear_settings import EarSettings

Asked: TypeAlias = "QuestionAsked | PlayedQuestion"
FEWEST_NAMES, MOST_NAMES = 2, 9  # which have number keys


@dataclass(frozen=True)
class EarKind:
    """One kind of question.

    Parameters
    ----------
    title : str
        What it is called in lists.
    whats : callable
        From the settings to everything that can be practised of it.
    make : callable
        From an item, the dice and the settings to a question; with a difference in cents or a number of names behind
        them, where it has them.
    differences : (float, float), optional
        The least and the greatest difference in cents.
    names : bool
        Whether it offers names to choose from.
    by : "choosing", "playing" or "singing"
        How it is answered.
    """

    title: str
    whats: Callable[[EarSettings], tuple[str, ...]]
    make: Callable[..., Asked]
    differences: tuple[float, float] | None = None
    names: bool = False
    by: Literal["choosing", "playing", "singing"] = "choosing"


def _steps(settings: EarSettings) -> tuple[str, ...]:
    """The steps that are sung and played: thirds, fourth, fifth and sevenths."""
    tuning = settings.tuning
    fifth = tuning.fifth or 0
    steps = {*thirds_of(tuning).values(), len(tuning) - fifth, fifth, *sevenths_of(tuning).values()}
    return tuple(map(str, sorted(steps)))


def _chords(settings: EarSettings) -> tuple[str, ...]:
    return tuple(symbol for notes in (3, 4) for symbol in chords_of(settings.tuning, notes))


def _ratios(settings: EarSettings) -> tuple[str, ...]:
    return tuple(EAR_RATIOS)


EAR_KINDS: dict[str, EarKind] = {
    "pure": EarKind("which is pure", _ratios, which_is_pure, differences=(1, 40)),
    "wider": EarKind("which is wider", _ratios, which_is_wider, differences=(1, 120)),
    "narrower": EarKind("which is narrower", _ratios, which_is_narrower, differences=(1, 120)),
    "same": EarKind("tuned the same or not", _ratios, whether_the_same, differences=(2, 60)),
    "side": EarKind("too low or too high", _steps, on_which_side, differences=(1, 60)),
    "third": EarKind("name the third", lambda chosen: tuple(thirds_of(chosen.tuning)), which_third, names=True),
    "seventh": EarKind("name the seventh", lambda chosen: tuple(sevenths_of(chosen.tuning)), which_seventh, names=True),
    "chord": EarKind("name the chord", _chords, which_chord, names=True),
    "division": EarKind("name the division", lambda chosen: tuple(map(str, EAR_DIVISIONS)), which_division, names=True),
    "harmonic": EarKind("find the harmonic", lambda chosen: tuple(map(str, EAR_HARMONICS)), which_harmonic, names=True),
    "play": EarKind("play what you heard", _steps, play_interval, by="playing"),
    "play chord": EarKind("play the chord", _chords, play_chord, by="playing"),
}
"""The kinds of question, by the name that an item has."""


def ear_items(settings: EarSettings) -> tuple[Item, ...]:
    """Everything that can be practised with these settings; without a microphone nothing that is sung."""
    return tuple(
        Item(name, what)
        for name, kind in EAR_KINDS.items()
        if settings.microphone or kind.by != "singing"
        for what in _whats(kind, settings)
    )


def _whats(kind: EarKind, settings: EarSettings) -> tuple[str, ...]:
    """What there is to practise of a kind: nothing, where there is no choice of names."""
    whats = kind.whats(settings)
    return whats if not kind.names or len(whats) >= FEWEST_NAMES else ()


def ask(
    item: Item,
    dice: np.random.Generator,
    settings: EarSettings,
    *,
    cents: float | None = None,
    names: int | None = None,
) -> Asked:
    """A question about an item, drawn anew each time.

    Parameters
    ----------
    item : Item
        One of `ear_items`.
    dice : numpy Generator
        What is drawn by: root, timbre, register, order and side.
    settings : EarSettings
    cents : float, optional
        The difference to be heard, in kinds that have one; brought within the bounds of its kind.
    names : int, optional
        How many names are offered, 2 or more, in kinds that have them; all there are, if it is more.

    Raises ValueError for an item that there is no question about, and where a difference or a number of names is
    missing, or given to a kind that has none.
    """
    kind = EAR_KINDS.get(item.kind)
    if kind is None:
        raise ValueError(f"no question is of the kind {shortened(item.kind)}; there are {listed(EAR_KINDS)}")
    whats = _whats(kind, settings)
    if item.what not in whats:
        raise ValueError(
            f"of the kind {item.kind} there {f'are {listed(whats)}' if whats else 'is nothing'} in "
            f"{settings.tuning.name}, not {shortened(item.what)}"
        )
    for what, given, wanted in (
        ("difference in cents", cents, kind.differences is not None), ("number of names", names, kind.names),
    ):  # fmt: skip
        if (given is not None) != wanted:
            raise ValueError(f"a question of the kind {item.kind} {'needs a' if wanted else 'has no'} {what}")
    if kind.differences and cents is not None:
        least, most = kind.differences
        return kind.make(item, dice, settings, min(max(float(finite(cents, "a difference")), least), most))
    if kind.names and names is not None:
        return kind.make(item, dice, settings, whole_number(names, "the number of names", FEWEST_NAMES, MOST_NAMES))
    return kind.make(item, dice, settings)
