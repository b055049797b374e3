"""The plan of a practice: what it chooses and how hard; and fourteen days of learners whose ears are known."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from made_up_learners import ITEMS, START, THIRDS, MadeUpLearner, practised
from scipy import stats

from tunelib.hearing import BayesRule, believed
from tunelib.pitch import THIRTY_ONE, equal
from tunelib.practice import ear_plan
from tunelib.practice.ear_history import Answered, EarHistory, Item, months_of
from tunelib.practice.ear_plan import (
    difficulty,
    from_easy_to_hard,
    next_session,
    recall,
    standings,
    worst_notes,
)
from tunelib.practice.ear_questions import EAR_KINDS, ear_items
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.spacing import DUE, half_life, traces

DAYS = 14
REGISTERS = {"low": 16.0, "middle": 8.0, "high": 11.0}
BIAS = {"18": -6.0, "10": 14.0, "8": -12.0, "13": 0.0, "9": 10.0, "25": 20.0}
THIRD, FIFTH, SUNG = Item("third", "neutral"), Item("pure", "3/2"), Item("sing", "10")


def history_of(*answers: tuple[Item, float, bool], cents: float | None = None) -> EarHistory:
    """Answers to items after so many days, right or not."""
    history = EarHistory()
    for item, days, right in answers:
        history = history.adding(Answered(item, START + timedelta(days=days), right, cents=cents))
    return history


def sung(*errors: float, item: Item = SUNG, days: float = 0) -> EarHistory:
    history = EarHistory()
    for place, error in enumerate(errors):
        moment = START + timedelta(days=days, seconds=20 * place)
        history = history.adding(Answered(item, moment, abs(error) < 20, "", error, sung=True))
    return history


@cache
def fortnight(seed: int, half: float = 1.5) -> EarHistory:
    """What a learner has answered in fourteen days of practice."""
    return practised(MadeUpLearner(REGISTERS, BIAS, half_life=half, seed=seed), DAYS)


def days_of(history: EarHistory) -> dict[Item, list[int]]:
    """The days on which each item was asked."""
    found: dict[Item, list[int]] = {}
    for one in history.answers:
        day = (one.moment - START).days
        if day not in found.setdefault(one.item, []):
            found[one.item].append(day)
    return found


def gaps(*histories: EarHistory) -> list[np.ndarray]:
    """The days between the practices of each item that had four or more."""
    found = [days for history in histories for days in days_of(history).values()]
    return [np.diff(days) for days in found if len(days) >= 4]


def with_practice(*histories: EarHistory) -> float:
    """How the gaps that end in the second week rise with the practices before them: Spearman's rank correlation."""
    pairs = [
        (place, days[place] - days[place - 1])
        for history in histories
        for days in days_of(history).values()
        for place in range(1, len(days))
        if days[place] >= 7
    ]
    return float(stats.spearmanr(*zip(*pairs, strict=True)).statistic)


SEEDS = range(8)


def test_thresholds_by_register_come_out_as_they_are() -> None:
    """Eight learners, who get better meanwhile, with some forty answers in a register each: what these tell is right on
    average within a fifth, in each register within a third, and each by itself good to a factor of 1.6."""
    errors: dict[str, list[float]] = {register: [] for register in REGISTERS}
    for seed in SEEDS:
        learner, history = MadeUpLearner(REGISTERS, BIAS), fortnight(seed)
        for register, at_first in REGISTERS.items():
            heard = [one for one in history.answers if one.item.kind == "pure" and one.register == register]
            true = [at_first * learner.left((one.moment - START).total_seconds() / 86_400) for one in heard]
            told = believed([one.cents or 0 for one in heard], [one.right for one in heard])
            errors[register].append(math.log(told.threshold / np.mean(true)))
    for register, found in errors.items():
        assert abs(np.mean(found)) < math.log(1.33), register
    assert abs(np.mean(list(errors.values()))) < math.log(1.2)
    assert math.sqrt(np.mean(np.square(list(errors.values())))) < math.log(1.6)


def test_the_bias_of_each_step_comes_out_within_a_few_cents() -> None:
    """What is expected is the true bias on the days on which it was sung; some three standard errors are allowed."""
    seen = 0
    for seed in SEEDS:
        learner, history = MadeUpLearner(REGISTERS, BIAS), fortnight(seed)
        for step, at_first in BIAS.items():
            notes = [one for one in history.answers if one.item == Item("sing", step)]
            if len(notes) < 6:
                continue
            seen += 1
            true = at_first * np.mean([learner.left((one.moment - START).total_seconds() / 86_400) for one in notes])
            errors = [one.cents or 0.0 for one in notes]
            assert np.mean(errors) == pytest.approx(true, abs=3.3 * 8 / math.sqrt(len(notes)))
            assert 2 < np.std(errors) < 16  # 6 cents, and twice as much where the note was forgotten
    assert seen > 30


def test_four_answers_of_five_are_right() -> None:
    """Over all learners between 77 and 86 %, and in each kind between 74 and 88 %."""
    right: dict[str, list[bool]] = {}
    for seed in SEEDS:
        for one in fortnight(seed).answers:
            right.setdefault(one.item.kind, []).append(one.right)
    assert sorted(right) == ["pure", "sing", "third", "wider"]
    for kind, these in right.items():
        assert 0.74 < np.mean(these) < 0.88, kind
    assert 0.77 < np.mean([one for these in right.values() for one in these]) < 0.86


def test_items_are_spaced_out_more_and_more() -> None:
    """The first gap is a day or two, the last twice as long; and on any day they are the longer, the more often the
    item was practised before: so it is not for want of time."""
    every = gaps(*map(fortnight, SEEDS))
    assert len(every) > 60
    first, last = np.mean([gap[0] for gap in every]), np.mean([gap[-1] for gap in every])
    assert first < 1.6 and last > 2 * first
    assert with_practice(*map(fortnight, SEEDS)) > 0.35


def test_the_spacing_is_the_schedulers_doing(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a half-life that never grows it comes out the other way round."""
    monkeypatch.setattr(ear_plan, "half_life", lambda left: 3.5)
    assert with_practice(*(practised(MadeUpLearner(REGISTERS, BIAS, seed=seed), DAYS) for seed in range(3))) < 0


def test_who_forgets_faster_practises_each_item_again_sooner() -> None:
    """Learners who forget a third within four hours at first, and within three days; of what is to be remembered, the
    families of thirds."""
    found = []
    for half, growth in ((0.3, 1.2), (4.0, 2.5)):
        learners = [MadeUpLearner(REGISTERS, BIAS, half_life=half, growth=growth, seed=seed) for seed in range(4)]
        days = [days_of(practised(learner, DAYS)) for learner in learners]
        found.append(np.mean([np.diff(each[Item("third", family)]).mean() for each in days for family in THIRDS]))
    assert found[0] < 0.95 * found[1]


def test_one_to_three_new_items_a_day_and_sessions_of_about_seven_minutes() -> None:
    for seed in SEEDS:
        history = fortnight(seed)
        begun: dict[int, int] = {}
        for days in days_of(history).values():
            begun[days[0]] = begun.get(days[0], 0) + 1
        assert set(begun.values()) <= {1, 2, 3} and begun[0] == 3
        assert sorted(begun) == list(range(max(begun) + 1)), "a day without anything new before all was begun"
        answers = [sum((one.moment - START).days == day for one in history.answers) for day in range(DAYS)]
        assert min(answers) >= 15 and max(answers) <= 30


def test_a_fortnight_can_be_repeated() -> None:
    again = practised(MadeUpLearner(REGISTERS, BIAS, seed=1), DAYS)
    assert again == fortnight(1)


def test_what_is_due_comes_from_the_best_known_on_and_so_does_the_end() -> None:
    """One was wrong three days ago, one right, and one today."""
    lost, due, fresh = (Item("pure", ratio) for ratio in ("4/3", "5/4", "6/5"))
    history = history_of((lost, 0, False), (due, 0, True), (fresh, 2.8, True))
    now = START + timedelta(days=3)
    assert recall(history, lost, now) < recall(history, due, now) < DUE < recall(history, fresh, now)
    session = next_session(history, now, (fresh, due, lost, FIFTH, THIRD))
    order = list(dict.fromkeys(turn.item for turn in session))
    assert order == [fresh, due, lost], "as one was begun today, and little is right, nothing new is"
    assert [turn.item for turn in session[-3:]] == [due, lost, fresh]


def test_what_is_most_forgotten_is_not_left_out_for_what_is_known() -> None:
    """Of twelve items, five minutes have room for some six: those are the ones that were wrong."""
    wrong, right = ([Item("pure", f"{number}/{side}") for number in range(6)] for side in (1, 2))
    history = history_of(*((item, 0, item in right) for item in [*right, *wrong]))
    session = next_session(history, START + timedelta(days=3), [*right, *wrong], 5)
    assert {turn.item for turn in session} <= set(wrong) and len({turn.item for turn in session}) >= 4


def test_recall_is_that_of_the_scheduler_with_a_practice_for_each_day() -> None:
    """Two days of two answers, of which the last is wrong: by half the first answer of a day counts, by half all do."""
    history = history_of((THIRD, 0, True), (THIRD, 0.01, True), (THIRD, 1, True), (THIRD, 1.01, False))
    standing = standings(history)[THIRD]
    assert (standing.right, standing.wrong) == (1.75, 0.25)
    half = half_life(traces(1.75, 0.25))
    assert recall(history, THIRD, START + timedelta(days=1.01 + half)) == pytest.approx(0.5)
    assert recall(history, FIFTH, START) == 0.0


def test_sums_of_months_count_as_the_days_they_were() -> None:
    """An item's standing is the same whether its answers are kept one by one or in sums."""
    history = fortnight(2)
    months = tuple(months_of(history.answers))
    of_sums, of_answers = standings(EarHistory((), months)), standings(history)
    assert set(of_sums) == set(of_answers)
    for item, standing in of_answers.items():
        assert of_sums[item].right == pytest.approx(standing.right, abs=1e-3)
        assert of_sums[item].wrong == pytest.approx(standing.wrong, abs=1e-3)
        assert of_sums[item].last == standing.last


def test_no_item_comes_twice_in_a_row_and_new_ones_are_heard_before_they_are_asked() -> None:
    session = next_session(EarHistory(), START, ITEMS)
    asked = [turn.item for turn in session if not turn.listen]
    assert len(set(asked)) == 3 and all(one != other for one, other in pairwise(asked))
    for item in set(asked):
        assert next(turn for turn in session if turn.item == item).listen
        assert sum(turn.item == item and turn.listen for turn in session) == 2
    later = next_session(fortnight(0), START + timedelta(days=DAYS), ITEMS)
    known = next(turn.item for turn in later if turn.item in standings(fortnight(0)))
    first, *others = [turn for turn in later if turn.item == known]
    assert not first.listen and any(turn.listen for turn in others), "it is tried before it is heard again"


def test_a_session_is_as_long_as_it_is_to_be() -> None:
    now = START + timedelta(days=DAYS)
    short, long = (len(next_session(fortnight(0), now, ITEMS, minutes)) for minutes in (5, 10))
    assert short < long < 60
    alone = next_session(EarHistory(), START, [THIRD])
    assert 3 <= sum(not turn.listen for turn in alone) <= 6


def test_what_is_not_due_fills_five_minutes_and_no_more() -> None:
    """Twenty items that were all right an hour ago: of ten minutes half is left to other things."""
    known = [Item("pure", str(number)) for number in range(20)]
    history = history_of(*((item, 0, True) for item in known))
    session = next_session(history, START + timedelta(hours=1), known, 10)
    assert 5 <= len({turn.item for turn in session}) <= 8


def test_a_second_session_on_a_day_begins_nothing_new_and_still_has_something_to_practise() -> None:
    history = practised(MadeUpLearner(REGISTERS, BIAS), 1)
    session = next_session(history, START + timedelta(hours=2), ITEMS)
    assert session and {turn.item for turn in session} <= set(standings(history))


def test_fewer_new_items_while_little_is_right() -> None:
    for right, new in ((10, 3), (8, 2), (5, 1)):
        answers = [(Item("pure", "3/2"), 0.001 * place, place < right) for place in range(10)]
        session = next_session(history_of(*answers), START + timedelta(days=1), ITEMS)
        assert len({turn.item for turn in session} - {FIFTH}) == new


def test_tomorrows_five_notes_are_those_sung_worst_today() -> None:
    """By the greater of mean error and spread: of seven steps, one is sung well, and one but for the others."""
    history = EarHistory()
    errors = {"1": (2, -2), "2": (9, 11), "3": (-30, -30), "4": (-15, 15), "5": (20, 20), "6": (6, 8), "7": (-12, -10)}
    for step, these in errors.items():
        for one in sung(*map(float, these), item=Item("sing", step)).answers:
            history = history.adding(one)
    assert [item.what for item in worst_notes(history)] == ["3", "5", "4", "7", "2"]
    assert worst_notes(history, START.date().isoformat()) == ()
    tomorrow = next_session(history, START + timedelta(hours=14), [Item("sing", step) for step in errors], 10)
    first = [item.what for item in dict.fromkeys(turn.item for turn in tomorrow)]
    assert set(first[:5]) == {"3", "5", "4", "7", "2"}


def test_differences_come_to_those_of_which_four_in_five_are_heard() -> None:
    """Where everything is heard they shrink, where nothing is they grow; a learner of 6 cents is found."""
    at_first = difficulty(EarHistory(), FIFTH).cents
    for right, than in ((True, 0.3 * at_first), (False, at_first)):
        history = EarHistory()
        for place in range(20):
            hard = difficulty(history, FIFTH)
            history = history.adding(Answered(FIFTH, START + timedelta(seconds=place), right, "", hard.cents))
        assert (difficulty(history, FIFTH).cents < than) == right
        assert (difficulty(history, FIFTH).cents > 3 * than) == (not right)


def test_names_grow_with_what_is_right_and_shrink_four_times_as_fast() -> None:
    """Kaernbach 1991: steps in the ratio of 1 to 4 settle where four of five are right."""
    right = [(THIRD, 0.001 * place, True) for place in range(9)]
    assert difficulty(EarHistory(), THIRD).names == 2
    assert difficulty(history_of(*right), THIRD).names == 5
    assert difficulty(history_of(*right, (THIRD, 0.5, False)), THIRD).names == 3
    new = Item("third", "major")
    assert difficulty(history_of(*right), new).names == 4, "one that is new among known ones is easier"
    wrong = [(THIRD, 0.001 * place, False) for place in range(9)]
    assert difficulty(history_of(*wrong), THIRD).names == 2


def test_how_close_is_close_enough_follows_what_is_sung() -> None:
    assert difficulty(EarHistory(), SUNG).within == 35
    assert difficulty(sung(20, 24, 10, -12, 8), SUNG).within == pytest.approx(np.quantile([20, 24, 10, 12, 8], 0.8))
    assert difficulty(sung(1, 1, 2, 0), SUNG).within == 8
    assert difficulty(sung(100, -90, 80), SUNG).within == 35


def test_pitch_is_seen_at_first_and_then_less_and_less() -> None:
    """The share of attempts at which it is: all on two days, half on the third, a quarter on the fourth, then none."""
    history, shares = EarHistory(), []
    for day in range(6):
        seen = []
        for place in range(8):
            seen.append(difficulty(history, SUNG).seen)
            moment = START + timedelta(days=day, seconds=20 * place)
            history = history.adding(Answered(SUNG, moment, True, "", 3.0, sung=True))
        shares.append(np.mean(seen))
    assert shares[0] == 1 and shares[1] == pytest.approx(1, abs=0.25)
    assert shares[2] == pytest.approx(0.5, abs=0.2) and shares[3] == pytest.approx(0.25, abs=0.2)
    assert shares[4] <= 0.125 and shares[5] == 0


def test_more_registers_come_in_as_an_item_is_known_and_each_as_often() -> None:
    """The first alone on two days; where two sounds may differ in register, all that are known."""
    chosen = ("middle", "low", "high")
    for item, wanted in (
        (THIRD, [("middle",)] * 2 + [("low",), ("high",)]),
        (Item("same", "5/4"), [("middle",)] * 2 + [chosen[:2], chosen]),
    ):
        history, found = EarHistory(), []
        for day in range(10):
            found.append(difficulty(history, item, chosen).registers)
            moment = START + timedelta(days=day)
            history = history.adding(Answered(item, moment, True, register=found[-1][0]))
        assert found[:4] == wanted
    assert found[-1] == chosen
    assert {one for (one,) in [difficulty(history, THIRD, ("high",)).registers]} == {"high"}


def test_a_register_has_differences_of_its_own() -> None:
    """Somebody who hears half as much in the low register gets twice the difference there, or nearly."""
    history, dice, rule = EarHistory(), np.random.default_rng(2), BayesRule()
    for place in range(120):
        register, threshold = (("low", 20.0), ("middle", 5.0))[place % 2]
        cents = rule.difference(threshold)
        right = bool(dice.random() < rule.right(cents, threshold))
        moment = START + timedelta(days=place // 20, seconds=place)
        history = history.adding(Answered(FIFTH, moment, right, "", cents, register))
    low, middle = (difficulty(history, FIFTH, (register,)).cents for register in ("low", "middle"))
    assert low > 1.5 * middle


@pytest.mark.parametrize("division", [12, 31, 41])
def test_everything_there_is_has_its_place_from_easy_to_hard(division: int) -> None:
    """The course's order: pure or not, thirds by family, sevenths, chords, division; harmonics, the same or not."""
    tuning = THIRTY_ONE if division == 31 else equal(division)
    items = ear_items(EarSettings(tuning, microphone=True))
    order = from_easy_to_hard(items)
    assert sorted(order) == sorted(items)
    kinds = list(dict.fromkeys(item.kind for item in order))
    wanted = [kind for kind in ("pure", "third", "seventh", "chord", "division") if kind in kinds]
    assert [kind for kind in kinds if kind in wanted] == wanted
    assert kinds.index("harmonic") < kinds.index("same") and kinds[0] == "pure"
    assert set(kinds) <= set(EAR_KINDS)
    assert [item.what for item in order if item.kind == "third"][:2] == ["major", "minor"]


def test_each_kind_of_question_has_a_place_of_its_own_in_the_order() -> None:
    assert set(EAR_KINDS) <= set(ear_plan._BEGIN)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: next_session(EarHistory(), START, []), "nothing to practise"),
        (lambda: next_session(EarHistory(), datetime(2026, 1, 1), [THIRD]), "a moment with a time zone"),
        (lambda: next_session(EarHistory(), START, [THIRD], 4), "5 to 10 minutes, not 4"),
        (lambda: next_session(EarHistory(), START, [THIRD], math.nan), "5 to 10 minutes"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()
