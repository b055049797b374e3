"""The questions that a practice asks, by what is practised: ``ask(Item("third", "neutral"), ...)``.

A kind of question is a row in `EAR_KINDS`. Those with a difference in cents are given it, from what the learner can
hear by then; those with names to choose from offer more of them as they are known better.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import remainder
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
from tunelib.practice.ear_sung import OVERTONES, SungQuestion, lines_of, sing_line, sing_overtone, sing_slide, sing_step

Asked: TypeAlias = "QuestionAsked | PlayedQuestion | SungQuestion"
_SHORTEST_SLIDE = 9.0  # cents
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
        From an item, the dice and the settings to a question; with a difference in cents or the names that are offered
        behind them, where it has them.
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

    @property
    def mixed(self) -> bool:
        """Whether the sound alone tells what is asked, so that it has to change from question to question."""
        return self.names or self.by == "playing"


_THIRDS_FROM_EASY = ("major", "minor", "neutral", "subminor", "supermajor")


def _steps(settings: EarSettings) -> tuple[str, ...]:
    """The steps that are sung and played, from easy to hard: fifth and fourth, thirds, sevenths."""
    tuning = settings.tuning
    fifth, thirds, sevenths = tuning.fifth or 0, thirds_of(tuning), sevenths_of(tuning)
    named = [thirds[family] for family in _THIRDS_FROM_EASY if family in thirds]
    return tuple(
        map(str, dict.fromkeys([fifth, len(tuning) - fifth, *named, *sorted(sevenths.values(), reverse=True)]))
    )


def _slides(settings: EarSettings) -> tuple[str, ...]:
    """Those that are off the steps of twelve by as much as can be slid."""
    off = {step: abs(remainder(float(settings.tuning.cents_of(int(step))), 100)) for step in _steps(settings)}
    return tuple(step for step, cents in off.items() if cents >= _SHORTEST_SLIDE)


def _chords(settings: EarSettings) -> tuple[str, ...]:
    return tuple(symbol for notes in (3, 4) for symbol in chords_of(settings.tuning, notes))


def _ratios(settings: EarSettings) -> tuple[str, ...]:
    return tuple(EAR_RATIOS)


EAR_KINDS: dict[str, EarKind] = {
    "pure": EarKind("hearing which is pure", _ratios, which_is_pure, differences=(1, 40)),
    "wider": EarKind("hearing which is wider", _ratios, which_is_wider, differences=(1, 120)),
    "narrower": EarKind("hearing which is narrower", _ratios, which_is_narrower, differences=(1, 120)),
    "same": EarKind("hearing whether two are tuned the same", _ratios, whether_the_same, differences=(2, 60)),
    "side": EarKind("hearing a note too low or too high", _steps, on_which_side, differences=(1, 60)),
    "third": EarKind("naming the third", lambda chosen: tuple(thirds_of(chosen.tuning)), which_third, names=True),
    "seventh": EarKind(
        "naming the seventh", lambda chosen: tuple(sevenths_of(chosen.tuning)), which_seventh, names=True
    ),
    "chord": EarKind("naming the chord", _chords, which_chord, names=True),
    "division": EarKind(
        "naming the division", lambda chosen: tuple(map(str, EAR_DIVISIONS)), which_division, names=True
    ),
    "harmonic": EarKind(
        "finding the harmonic", lambda chosen: tuple(map(str, EAR_HARMONICS)), which_harmonic, names=True
    ),
    "play": EarKind("playing what was heard", _steps, play_interval, by="playing"),
    "play chord": EarKind("playing the chord", _chords, play_chord, by="playing"),
    "sing": EarKind("holding a note over a drone", _steps, sing_step, by="singing"),
    "slide": EarKind("sliding from twelve", _slides, sing_slide, by="singing"),
    "overtone": EarKind("singing harmonics", lambda chosen: OVERTONES, sing_overtone, by="singing"),
    "line": EarKind("singing a line", lines_of, sing_line, by="singing"),
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
    names: int | Sequence[str] | None = None,
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
    names : int or sequence of str, optional
        In kinds that have names to choose from, those that are offered, the right one among them; or how many, 2 or
        more: the right one and others drawn at random, all there are if it is more.

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
        ("a difference in cents", cents, kind.differences is not None), ("names", names, kind.names),
    ):  # fmt: skip
        if (given is not None) != wanted:
            raise ValueError(f"a question of the kind {item.kind} is asked {'with' if wanted else 'without'} {what}")
    if kind.differences and cents is not None:
        least, most = kind.differences
        return kind.make(item, dice, settings, min(max(float(finite(cents, "a difference")), least), most))
    if kind.names and names is not None:
        return kind.make(item, dice, settings, _offered(item, dice, settings, names))
    return kind.make(item, dice, settings)


def names_beside(item: Item, settings: EarSettings) -> tuple[str, ...]:
    """The names that may be offered in a question about an item, its own among them, in their usual order.

    Chords are offered beside those that have as many notes.
    """
    if item.kind in ("chord", "play chord"):
        return next(group for notes in (3, 4) if item.what in (group := chords_of(settings.tuning, notes)))
    return EAR_KINDS[item.kind].whats(settings)


def _offered(
    item: Item, dice: np.random.Generator, settings: EarSettings, names: int | Sequence[str]
) -> tuple[str, ...]:
    """The names that are offered, in their usual order."""
    there = names_beside(item, settings)
    others = [name for name in there if name != item.what]
    if isinstance(names, int):
        many = whole_number(names, "the number of names", FEWEST_NAMES, MOST_NAMES)
        wanted = {item.what, *(others[place] for place in dice.permutation(len(others))[: many - 1].tolist())}
    else:
        wanted = set(names)
        if item.what not in wanted or not wanted <= set(there) or not FEWEST_NAMES <= len(wanted) <= MOST_NAMES:
            raise ValueError(
                f"what is offered for {item} is {FEWEST_NAMES} to {MOST_NAMES} of {listed(there)}, {item.what} among "
                f"them, not {shortened(names)}"
            )
    return tuple(name for name in there if name in wanted)
