"""The search over a tune's realisations finds what trying every one of them finds."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tunelib.harmony.best_path import EXCEPTION, Column, Search, cheapest, one_tuning_a_symbol, through

PER_STEP = 1 / 8


def moving(before: Column, after: Column) -> np.ndarray:
    """An eighth of a point a step of each voice."""
    steps = np.abs(after.voices[:, np.newaxis].astype(int) - before.voices[np.newaxis].astype(int))
    return PER_STEP * steps.sum(axis=2)


def column(random: np.random.Generator, tunings: int = 3, ways: int = 2) -> Column:
    """A chord of some tunings, two layouts each, the last of which may rub against the melody."""
    count = tunings * ways
    clean = frozenset(range(tunings if random.random() < 0.6 else tunings - 1))
    return Column(
        voices=random.integers(-20, 40, (count, 3)).astype(np.int16),
        costs=random.uniform(0, 4, count),
        sevenths=np.full(count, -1, dtype=np.int8),
        tunings=np.repeat(np.arange(tunings), ways).astype(np.int16),
        clean=clean,
        counts=np.full(count, 3, dtype=np.int8),
        drifts=np.zeros(count, dtype=np.int16),
        root=0,
        held_over=False,
    )


TREES = {"a line": (-1, 0, 1, 2, 3), "a second ending": (-1, 0, 1, 1, 3), "two tunes": (-1, 0, -1, 2, 2)}


def cost_of(search: Search, path: tuple[int, ...]) -> float:
    total = 0.0
    for place, (chosen, before) in enumerate(zip(path, search.before, strict=True)):
        total += float(search.columns[place].costs[chosen])
        if before >= 0:
            total += float(moving(search.columns[before], search.columns[place])[chosen, path[before]])
    return total


def every(search: Search) -> list[tuple[int, ...]]:
    return list(product(*(range(len(one.costs)) for one in search.columns)))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("tree", TREES)
def test_no_other_choice_is_cheaper(tree: str, seed: int) -> None:
    """All 7,776 choices, one by one; and through each realisation of a chord, the cheapest that has it."""
    random = np.random.default_rng(seed)
    search = Search([column(random) for _ in TREES[tree]], TREES[tree], range(5), moving)
    allowed = [np.arange(6)] * 5
    path, cost = cheapest(search, allowed)
    totals = {one: cost_of(search, one) for one in every(search)}
    assert cost == pytest.approx(min(totals.values())) and totals[tuple(path)] == pytest.approx(cost)
    for place in (0, 2, 4):
        by_hand = [min(total for one, total in totals.items() if one[place] == chosen) for chosen in range(6)]
        assert through(search, allowed, place) == pytest.approx(np.array(by_hand))


@pytest.mark.parametrize("seed", range(12))
def test_with_one_tuning_a_symbol_no_other_choice_is_cheaper(seed: int) -> None:
    """Three chords of one symbol and two of another; every choice that keeps to one tuning each, tried one by one."""
    random = np.random.default_rng(seed)
    symbols = (0, 1, 0, 1, 0)
    search = Search([column(random) for _ in symbols], TREES["a line"], symbols, moving)

    def price(path: tuple[int, ...]) -> float:
        """With a point for each exception, which only a melody excuses; infinite for what is not excused."""
        found = []
        tuned = [int(one.tunings[chosen]) for one, chosen in zip(search.columns, path, strict=True)]
        for agreed in product(range(3), repeat=2):
            exceptions = 0.0
            for one, symbol, tuning in zip(search.columns, symbols, tuned, strict=True):
                wanted = agreed[symbol]
                if wanted in one.clean and tuning != wanted:
                    exceptions = np.inf
                elif wanted not in one.clean:
                    exceptions += (EXCEPTION if tuning != wanted else 0.0) if tuning in one.clean else np.inf
            found.append(exceptions)
        return min(found) + cost_of(search, path)

    path, cost, allowed = one_tuning_a_symbol(search)
    best = min(map(price, every(search)))
    assert cost == pytest.approx(best) and price(tuple(path)) == pytest.approx(best)
    assert all(chosen in places for chosen, places in zip(path, allowed, strict=True))


def test_a_greedy_choice_is_dearer_than_the_best() -> None:
    """The cheapest chord first leads astray: 0 then 10 points of motion, rather than 1 and none."""

    def one(voices: list[list[int]], costs: list[float]) -> Column:
        count = len(costs)
        return Column(
            voices=np.array(voices, dtype=np.int16),
            counts=np.ones(count, dtype=np.int8),
            costs=np.array(costs),
            sevenths=np.full(count, -1, dtype=np.int8),
            tunings=np.zeros(count, dtype=np.int16),
            clean=frozenset({0}),
            drifts=np.zeros(count, dtype=np.int16),
            root=0,
            held_over=False,
        )

    search = Search([one([[0], [80]], [0.0, 1.0]), one([[80]], [0.0])], (-1, 0), (0, 1), moving)
    assert cheapest(search, [np.arange(2), np.arange(1)]) == ([1, 0], 1.0)
    assert cheapest(Search([], (), (), moving), []) == ([], 0.0)
