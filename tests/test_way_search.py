"""The search for ways by itself: on random fields, all paths up to a bound and no other, against plain loops."""

from __future__ import annotations

from itertools import pairwise, permutations

import numpy as np
import pytest

from tunelib.harmony.way_search import Field

PLACES, VOICES, ASIDE, TURN, PASSING = 6, 2, 2, 0.5, 0.25


def random_field(seed: int) -> Field:
    rng = np.random.default_rng(seed)
    moves = rng.uniform(0, 3, (PLACES + 2, PLACES + 2)).astype(np.float32)
    moves[rng.uniform(size=moves.shape) < 0.2] = np.inf
    steps = rng.integers(0, 6, (PLACES + 2, VOICES))
    return Field(steps, rng.uniform(0, 2, PLACES), moves, PASSING, TURN, ASIDE)


def every_path(field: Field, length: int) -> dict[tuple[int, ...], float]:
    """All paths that may be, with what they cost."""
    found = {}
    for places in permutations(range(PLACES), length):
        chain = [PLACES, *places, PLACES + 1]
        cost = sum(float(field.moves[pair]) for pair in pairwise(chain))
        cost += sum(float(field.costs[place]) for place in places) / length + PASSING * length
        possible = True
        for voice in range(VOICES):
            moves = [int(field.steps[b, voice] - field.steps[a, voice]) for a, b in pairwise(chain)]
            turns = [after for before, after in pairwise([move for move in moves if move]) if before * after < 0]
            cost += TURN * len(turns)
            possible &= len(turns) <= 1 and all(abs(turn) <= ASIDE for turn in turns)
        if possible and np.isfinite(cost):
            found[places] = cost
    return found


@pytest.mark.parametrize("length", [1, 2, 3])
@pytest.mark.parametrize("seed", range(12))
def test_every_path_up_to_a_bound_is_found(seed: int, length: int) -> None:
    """The bound is put between two costs, so that roundings do not matter; the least of all is no more than any."""
    field = random_field(seed)
    every = every_path(field, length)
    costs = sorted(every.values())
    assert field.least(length) <= min(costs, default=np.inf) + 1e-4
    for share in (0.1, 0.5, 1.0):
        if not costs:
            continue
        last = min(int(share * len(costs)), len(costs) - 1)
        while last + 1 < len(costs) and costs[last + 1] - costs[last] < 1e-3:
            last += 1
        found = field.paths(length, costs[last] + 5e-4)
        assert {places for _, places in found} == {
            places for places, cost in every.items() if cost <= costs[last] + 5e-4
        }
        for cost, places in found:
            assert cost == pytest.approx(every[places], abs=1e-4)
