"""The plan of a learner's practice: what to practise today, in what order, and how hard.

*What.* Items that are about to be forgotten are chosen first (`tunelib.practice.spacing`), and the five notes that were
sung worst the last time; then one to three new ones, from easy to hard, fewer while less than most is right.

*In what order.* Items take turns, since what is mixed is told apart better than what comes in blocks (S. S. H. Wong,
S. Chen and S. W. H. Lim, "Learning melodic musical intervals: to block or to interleave?", Psychology of Music 49,
2021). The best known comes first, as one warms up, what is new after the rest, and the best known once more at the end.
Among the questions are sounds that are only listened to, with their names: practice alone taught nothing in four days,
practice and plain listening together did (D. F. Little, H. H. Cheng and B. A. Wright, "Inducing musical-interval
learning by combining task practice with periods of stimulus exposure alone", Attention, Perception & Psychophysics 81,
2019).

*How hard.* Some four answers of five should be right, which keeps a learner at it and tells most of a threshold.
Differences in cents are those of which so many are heard, as the answers so far tell by Bayes' rule. Sung notes are to
be as close as that share of the latest ones was. Where there are names to choose from, the rule is the weighted up-down
method (C. Kaernbach, "Simple adaptive testing with the weighted up-down method", Perception & Psychophysics 49, 1991):
a step towards the harder after each right answer, four steps back after each wrong one. Pitch is shown at first while
one sings, which helps beginners to find their notes, and then less and less, so that nobody comes to lean on it (A. W.
Salmoni, R. A. Schmidt and C. B. Walter, "Knowledge of results and motor learning", Psychological Bulletin 95, 1984;
from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import NamedTuple

import numpy as np

from tunelib.hearing import BayesRule, believed
from tunelib.pitch import is_number, shortened
from tunelib.practice.ear_history import Answered, EarHistory, Item, mean_and_spread, months_of
from tunelib.practice.spacing import DUE, half_life, recalled, traces

SHORTEST_SESSION, LONGEST_SESSION = 5, 10  # minutes
AIM = 0.8
"""The share of answers that should be right."""
MOST_NEW = 3
"""How many new items there are in a day at most."""

CAUTIONS = (
    "Keep the volume low, in headphones above all, and stop if it hurts or your ears ring.",
    "Sing where your voice is easy, neither loud nor high, and rest between notes. Stop when you are hoarse or it "
    "feels tight; a voice that stays so is a matter for a doctor.",
    "Ten minutes a day do more than an hour at once: a tired ear guesses.",
)
"""What a practice begins with."""

# Thresholds in cents to begin with. People without training hear two tones 10 to 20 cents apart
# (`PUBLISHED_THRESHOLDS`). Where beats help it is less, and to which side an interval is mistuned 20 to 30 cents (J.
# Vos, Perception & Psychophysics 32, 1982). Sizes of melodic intervals on changing notes were compared well by
# musicians from 100 cents on (J. M. Zarate, C. R. Ritson and D. Poeppel, J. Acoust. Soc. Am. 132, 2012).
_EXPECTED = {"pure": 8.0, "side": 12.0, "same": 15.0, "wider": 40.0, "narrower": 40.0}
_RECENT = 60  # answers that tell of what is heard now
_APART = 0.2  # by how many decades, one standard deviation, thresholds of registers and items differ
_FEWEST_NAMES, _MOST_NAMES = 2, 9
_ROAMING = ("same",)  # kinds whose two sounds may be in two registers
_WIDEST, _CLOSEST = 35.0, 8.0  # cents within which a sung note counts as right, to begin with and at last
_NAME_STEP = 1 / 3  # names more for each right answer, and four times as many fewer for each wrong one
_LATEST_SUNG = 12  # notes, by which the next is judged
_SEEN = (1.0, 1.0, 0.5, 0.25)  # the share of attempts at which pitch is shown, by good practices so far; then none
_WELL, _SOSO = 0.85, 0.7  # shares of right answers above which three new items are begun, or two
_WORST_NOTES = 5
_TOLERABLE = 5.0  # cents off that need no extra practice
_FEWEST_TURNS, _MOST_TURNS = 3, 6  # questions about an item in one session

_LISTENING_SECONDS = 8.0
_SECONDS = {"play": 20.0, "play chord": 25.0, "sing": 25.0, "slide": 25.0, "overtone": 25.0, "line": 45.0}
_CHOOSING_SECONDS = 13.0

_BEGIN = {
    "pure": 0.0, "third": 1.0, "sing": 1.5, "play": 2.5, "seventh": 3.0, "wider": 3.5, "narrower": 4.0, "overtone": 4.0,
    "harmonic": 4.5, "side": 5.0, "chord": 5.5, "slide": 6.0, "play chord": 7.0, "division": 7.5, "same": 8.0,
    "line": 9.0,
}  # fmt: skip
_EASIER = {
    "third": ("major", "minor", "neutral", "subminor", "supermajor"),
    "seventh": ("minor", "harmonic", "neutral"),
    "chord": ("C", "Cm", "Cneu", "C7", "Charm7", "Cmaj7", "Cm7"),
    "play chord": ("C", "Cm", "Cneu", "C7", "Charm7", "Cmaj7", "Cm7"),
    "division": ("12", "31", "19", "53"),
}


class Turn(NamedTuple):
    """One turn of a session: an item, and whether it is only listened to, with its name; else it is asked."""

    item: Item
    listen: bool = False


@dataclass(frozen=True)
class Standing:
    """How an item stands.

    Parameters
    ----------
    right, wrong : float
        Practices so far, one for each day, as `EarMonth` has them.
    last : datetime
        When the last answer was.
    """

    right: float
    wrong: float
    last: datetime

    def recall(self, now: datetime) -> float:
        """The probability of recalling it at a moment; before its last practice, 1."""
        days = max((now - self.last).total_seconds(), 0.0) / 86_400
        return recalled(days, half_life(traces(self.right, self.wrong)))


@dataclass(frozen=True)
class Difficulty:
    """How hard the next question about an item is to be.

    Parameters
    ----------
    cents : float
        The difference that is to be heard, where the question has one.
    names : int
        How many names are offered, where there are names.
    within : float
        Within how many cents a sung note counts as right.
    seen : bool
        Whether the pitch is shown while one sings; else only afterwards.
    registers : tuple of str
        Where it may come: the one register that has come least, of more of them the better the item is known; or all of
        these, where two sounds of a question may differ in it.
    """

    cents: float
    names: int
    within: float
    seen: bool
    registers: tuple[str, ...]


def standings(history: EarHistory) -> dict[Item, Standing]:
    """How each item stands that was ever practised."""
    found: dict[Item, Standing] = {}
    for month in (*history.months, *months_of(history.answers)):
        before = found.get(month.item, Standing(0.0, 0.0, month.last))
        right, wrong = before.right + month.share, before.wrong + month.days - month.share
        found[month.item] = Standing(right, max(wrong, 0.0), max(before.last, month.last))
    return found


def recall(history: EarHistory, item: Item, now: datetime) -> float:
    """The probability that an item is recalled at a moment; 0 for one that was never practised."""
    standing = standings(history).get(item)
    return standing.recall(now) if standing else 0.0


def from_easy_to_hard(items: Sequence[Item]) -> tuple[Item, ...]:
    """Items in the order in which they are begun: the kinds take turns, each from its easiest item on.

    Of kinds and items that are not known here, those that come first are taken to be easier.
    """
    places: dict[str, list[Item]] = {}
    for item in dict.fromkeys(items):
        places.setdefault(item.kind, []).append(item)
    ranked = []
    for kind, these in places.items():
        known = _EASIER.get(kind, ())
        these.sort(key=lambda item: known.index(item.what) if item.what in known else len(known))
        ranked += [(_BEGIN.get(kind, max(_BEGIN.values())) + place, item) for place, item in enumerate(these)]
    return tuple(item for _, item in sorted(ranked, key=lambda pair: pair[0]))


def worst_notes(history: EarHistory, before: str = "9999") -> tuple[Item, ...]:
    """The five notes, at most, that were sung or played worst on the latest day of singing, the worst first.

    What counts is the greater of the mean error and the spread; below 5 cents nothing does. `before` is a day that is
    not looked at, nor any after it.
    """
    sung = [one for one in history.answers if one.sung and one.cents is not None and one.day < before]
    if not sung:
        return ()
    today: dict[Item, list[float]] = {}
    for one in sung:
        if one.day == sung[-1].day:
            today.setdefault(one.item, []).append(one.cents or 0.0)
    off = {item: max(map(abs, mean_and_spread(errors))) for item, errors in today.items()}
    worst = sorted((item for item in off if off[item] >= _TOLERABLE), key=lambda item: (-off[item], item))
    return tuple(worst[:_WORST_NOTES])


def next_session(history: EarHistory, now: datetime, items: Sequence[Item], minutes: float = 7) -> tuple[Turn, ...]:
    """The turns of a session.

    Parameters
    ----------
    history : EarHistory
    now : datetime
        With its time zone.
    items : sequence of Item
        All that may be practised, such as `ear_items` gives, or a teacher's exercise.
    minutes : float
        5 to 10, about how long it takes.

    Raises ValueError for a moment without a time zone, no items, or another length.
    """
    if not isinstance(now, datetime) or now.utcoffset() is None:
        raise ValueError(f"a session is at a moment with a time zone, not at {shortened(now)}")
    if not items:
        raise ValueError("there is nothing to practise: give one item at least")
    if not is_number(minutes) or not SHORTEST_SESSION <= minutes <= LONGEST_SESSION:
        raise ValueError(f"a session takes {SHORTEST_SESSION} to {LONGEST_SESSION} minutes, not {shortened(minutes)}")
    standing, today = standings(history), now.date().isoformat()
    known = {item: standing[item].recall(now) for item in dict.fromkeys(items) if item in standing}
    new = [item for item in from_easy_to_hard(items) if item not in standing]
    new = new[: _how_many_new(history, today)]
    worst = [item for item in worst_notes(history, today) if item in known and standing[item].last.date() < now.date()]
    due = [item for item in sorted(known, key=lambda item: known[item]) if known[item] < DUE]
    later = [item for item in sorted(known, key=lambda item: known[item]) if item not in due]
    left = 60 * minutes - sum(_seconds(item, _FEWEST_TURNS, new=True) for item in new)
    enough = 60 * (minutes - SHORTEST_SESSION)  # with so many seconds left, what is not due yet can wait
    chosen: list[Item] = []
    for item in dict.fromkeys([*due, *worst, *later]):
        cost = _seconds(item, _FEWEST_TURNS)
        if cost <= left and (item not in later or item in worst or left > enough or not chosen + new):
            chosen.append(item)
            left -= cost
    return _in_turns(sorted(chosen, key=lambda item: -known[item]), new, left)


def _how_many_new(history: EarHistory, today: str) -> int:
    """How many items may be begun today, beside those that were."""
    latest = [one.right for one in history.answers[-_RECENT:]]
    share = sum(latest) / len(latest) if latest else 1.0
    most = MOST_NEW if share >= _WELL else 2 if share >= _SOSO else 1
    before = {one.item for one in history.answers if one.day < today} | {one.item for one in history.months}
    begun = {one.item for one in history.answers if one.day >= today} - before
    return max(most - len(begun), 0)


def _seconds(item: Item, turns: int, new: bool = False) -> float:
    """About how long so many questions about an item take, with what is listened to among them."""
    return (2 if new else 1) * _LISTENING_SECONDS + turns * _SECONDS.get(item.kind, _CHOOSING_SECONDS)


def _in_turns(known: Sequence[Item], new: Collection[Item], left: float) -> tuple[Turn, ...]:
    """Items in turns. What is new is heard before it is asked; what is known is asked before it is heard again.

    `known` are from the best known on: a session begins with the first of them, as one warms up, and ends with it.
    """
    everything = [*known, *new]
    rounds = _FEWEST_TURNS
    one_more = sum(_SECONDS.get(item.kind, _CHOOSING_SECONDS) for item in everything)
    while rounds < _MOST_TURNS and one_more <= left:
        rounds += 1
        left -= one_more
    turns: list[Turn] = []
    for place in range(rounds):
        last = place == rounds - 1 and len(everything) > 2
        for item in [*everything[1:], everything[0]] if last else everything:
            if (place == 0 and item in new) or place == 1:
                turns.append(Turn(item, listen=True))
            turns.append(Turn(item))
    return tuple(turns)


def difficulty(history: EarHistory, item: Item, registers: Sequence[str] = ("middle",)) -> Difficulty:
    """How hard the next question about an item is to be, so that some four of five answers are right.

    `registers` are those that the learner has chosen, the easiest first. Raises ValueError if there are none.
    """
    if not registers:
        raise ValueError("a question is in one register at least")
    of_kind = [one for one in history.answers if one.item.kind == item.kind]
    of_item = [one for one in of_kind if one.item == item]
    names = float(_FEWEST_NAMES)
    for one in of_kind:
        names = min(max(names + (_NAME_STEP if one.right else -4 * _NAME_STEP), _FEWEST_NAMES), _MOST_NAMES)
    if len(of_item) < _FEWEST_TURNS:
        names = max(names - 1, _FEWEST_NAMES)  # an item that is new among known ones
    errors = [abs(one.cents) for one in of_item if one.sung and one.cents is not None][-_LATEST_SUNG:]
    close = float(np.quantile(errors, AIM)) if len(errors) >= _FEWEST_TURNS else _WIDEST
    # Practices before the latest day, which may be today's.
    before = tuple(one for one in of_item if one.day != of_item[-1].day)
    standing = standings(EarHistory(before, tuple(each for each in history.months if each.item == item)))
    good = round(standing[item].right) if standing else 0
    seen = _SEEN[good] if good < len(_SEEN) else 0.0
    attempts = len(of_item) - len(before)
    known = tuple(registers[: 1 + good])
    came = [one.register for one in of_item]
    chosen = known if item.kind in _ROAMING else (min(known, key=came.count),)
    there = [one for one in of_kind if one.register in chosen]
    return Difficulty(
        cents=_difference(of_kind, there, [one for one in there if one.item == item], kind=item.kind),
        names=int(names),
        within=min(max(close, _CLOSEST), _WIDEST),
        seen=int((attempts + 1) * seen) > int(attempts * seen),
        registers=chosen,
    )


def _difference(*answers: Sequence[Answered], kind: str) -> float:
    """The difference in cents of which four of five are heard: as answers of the kind tell, and then closer ones."""
    rule = BayesRule(aim=AIM)
    rule = replace(rule, expected=_EXPECTED.get(kind, rule.expected))
    for these in answers:
        heard = [one for one in these if not one.sung and one.cents is not None][-_RECENT:]
        threshold = believed([one.cents or 0.0 for one in heard], [one.right for one in heard], rule).threshold
        rule = replace(rule, expected=min(max(threshold, 2 * rule.floor), rule.ceiling / 2), decades=_APART)
    return rule.difference(rule.expected)
