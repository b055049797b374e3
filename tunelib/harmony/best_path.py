"""The cheapest realisation of every chord of a tune, exactly: dynamic programming, and branch and bound over it.

A tune is a tree of chords: each follows the one that is played before it when it is first played, and so a second
ending follows what is before the first. Every chord has a column of realisations, each with a cost of its own, and what
it costs to move from one to the next is worked out from the voices. The cheapest choice in all columns together is
found from the leaves to the root (R. Bellman, *Dynamic Programming*, 1957; A. J. Viterbi, IEEE Trans. Inf. Theory 13,
1967).

Chords of one symbol are to have one tuning, and that ties columns together that are far apart. So the same search is
used as a lower bound: without those ties its result is never dearer than with them. Where it tunes a symbol in two
ways, prices are put on the tunings, place by place, that add up to nothing for a symbol tuned alike: they raise the
bound and draw its places together (A. M. Geoffrion, Mathematical Programming Study 2, 1974). Where they still disagree,
the search is done again twice, with one of the tunings for all places and without it, the cheapest bound first, until
the cheapest keeps all ties (A. H. Land and A. G. Doig, Econometrica 28, 1960). So no other choice that keeps them is
cheaper.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import count

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray

Indices = npt.NDArray[np.intp]

EXCEPTION = 3.0
"""Points for a chord that the melody keeps from being tuned as its symbol is elsewhere."""


@dataclass(frozen=True, eq=False)
class Column:
    """The realisations of one chord.

    Parameters
    ----------
    voices : array of int, shape (realisations, voices)
        In steps, each row rising; one of fewer voices than others ends with its top voice again.
    counts : array of int, shape (realisations,)
        How many voices there are.
    costs : array, shape (realisations,)
        What each costs alone, in points.
    sevenths : array of int, shape (realisations,)
        Which voice has a seventh that wants to fall or stay, or -1.
    tunings : array of int, shape (realisations,)
        How the chord is tuned: equal numbers for equal tunings of one symbol.
    clean : frozenset of int
        The tunings that do not rub against the melody.
    drifts : array of int, shape (realisations,)
        How many small steps the root has drifted from its place.
    root : int
        The step of the chord's root as it is written, octaves set aside.
    held_over : bool
        Whether a note of the melody is held from the chord before into this one.
    """

    voices: npt.NDArray[np.int16]
    counts: npt.NDArray[np.int8]
    costs: FloatArray
    sevenths: npt.NDArray[np.int8]
    tunings: npt.NDArray[np.int16]
    clean: frozenset[int]
    drifts: npt.NDArray[np.int16]
    root: int
    held_over: bool


Moving = Callable[[Column, Column], FloatArray]
"""What it costs to go from each realisation of a column, in columns, to each of another, in rows."""


@dataclass(frozen=True)
class Search:
    """A tune as the search sees it: a column for each chord, the place of the one before it, and its symbol's number.

    `before` is -1 for a chord that follows none. `moving` is asked once for each pair of columns.
    """

    columns: Sequence[Column]
    before: Sequence[int]
    symbols: Sequence[int]
    moving: Moving
    _moves: dict[tuple[int, int, bytes, bytes], FloatArray] = field(default_factory=dict, init=False, repr=False)

    def moves(self, before: int, after: int, from_these: Indices, to_these: Indices) -> FloatArray:
        """What it costs to move from some realisations of a chord to some of another; shape (to, from)."""
        one, other = self.columns[before], self.columns[after]
        key = id(one), id(other), from_these.tobytes(), to_these.tobytes()
        found = self._moves.get(key)
        if found is None:
            found = self.moving(one, other)[to_these[:, np.newaxis], from_these]
            self._moves[key] = found
        return found


Prices = Sequence[FloatArray]  # for each chord, what each of its tunings costs more


def cheapest(search: Search, allowed: Sequence[Indices], prices: Prices | None = None) -> tuple[list[int], float]:
    """The cheapest choice of one of the allowed realisations of each chord, and its cost, with prices if there are any.

    No columns give an empty choice that costs nothing.
    """
    onward, came = _onward(search, allowed, prices)
    path = [-1] * len(allowed)
    total = 0.0
    for place, before in enumerate(search.before):
        if before < 0:
            path[place] = int(np.argmin(onward[place]))
            total += float(onward[place][path[place]])
        else:
            path[place] = int(came[place][path[before]])
    return [int(allowed[place][chosen]) for place, chosen in enumerate(path)], total


def _onward(
    search: Search, allowed: Sequence[Indices], prices: Prices | None = None
) -> tuple[list[FloatArray], list[Indices]]:
    """For each allowed realisation the cost of it and of all that follows; and the best one after each of the last."""
    onward = [column.costs[places] for column, places in zip(search.columns, allowed, strict=True)]
    if prices is not None:
        for place, (column, places) in enumerate(zip(search.columns, allowed, strict=True)):
            onward[place] = onward[place] + prices[place][column.tunings[places]]
    came: list[Indices] = [np.empty(0, dtype=np.intp)] * len(onward)
    for place in range(len(onward) - 1, -1, -1):
        before = search.before[place]
        if before >= 0:
            reached = search.moves(before, place, allowed[before], allowed[place]) + onward[place][:, np.newaxis]
            came[place] = np.argmin(reached, axis=0)
            onward[before] = onward[before] + reached[came[place], np.arange(reached.shape[1])]
    return onward, came


def through(search: Search, allowed: Sequence[Indices], place: int) -> FloatArray:
    """For each allowed realisation of one chord the cost of the cheapest choice that has it."""
    onward, _ = _onward(search, allowed)
    line = [place]
    while search.before[line[-1]] >= 0:
        line.append(search.before[line[-1]])
    others = sum(
        float(onward[root].min()) for root, before in enumerate(search.before) if before < 0 and root != line[-1]
    )
    total = onward[line[-1]]
    for before, after in zip(line[:0:-1], line[-2::-1], strict=True):
        moves = search.moves(before, after, allowed[before], allowed[after])
        own = (moves + onward[after][:, np.newaxis]).min(axis=0)
        total = onward[after] + (moves + (total - own)[np.newaxis, :]).min(axis=1)
    return np.asarray(total + others)


def one_tuning_a_symbol(
    search: Search, progress: Callable[[float], None] | None = None
) -> tuple[list[int], float, list[Indices]]:
    """The cheapest choice in which every symbol has one tuning, but where that would rub against the melody.

    `progress` is called now and then with the share of the work that is probably done, from 0 to 1. Returns the
    realisation of each chord, the cost, and which realisations the tunings chosen allow.
    """
    of_symbol: dict[int, list[int]] = {}
    for place, symbol in enumerate(search.symbols):
        of_symbol.setdefault(symbol, []).append(place)
    start: Tunings = {
        symbol: frozenset().union(*(search.columns[place].tunings.tolist() for place in places))
        for symbol, places in of_symbol.items()
    }
    tell = progress or (lambda share: None)
    prices = _drawn_together(search, of_symbol, start, lambda share: tell(share / 2))
    order, rounds = count(), count()
    waiting: list[tuple[float, int, Tunings, list[int], bool]] = []

    def weigh(tunings: Tunings) -> None:
        allowed = _allowed_by(search, tunings)
        if all(map(len, allowed)):
            path, bound = cheapest(search, allowed, prices)
            heapq.heappush(waiting, (bound, next(order), tunings, path, False))

    weigh(start)
    while True:
        tell(1 - 0.5 * _TELLING ** next(rounds))
        bound, _, tunings, path, final = heapq.heappop(waiting)
        if final:
            return path, bound, _allowed_by(search, tunings)
        split, exceptions, agreed = None, 0, dict(tunings)
        for symbol, places in of_symbol.items():
            chosen = Counter(int(search.columns[place].tunings[path[place]]) for place in places)
            if len(tunings[symbol]) == 1:
                exceptions += sum(number for tuning, number in chosen.items() if tuning not in tunings[symbol])
            elif len(chosen) > 1:
                most = max(tunings[symbol], key=lambda tuning: (chosen[tuning], -tuning))
                split = max(split or (0, 0, 0), (len(places) - chosen[most], symbol, most))
            else:
                agreed[symbol] = frozenset(chosen)
        if split is None:
            path, cost = cheapest(search, _allowed_by(search, agreed))  # without the prices, which do not always cancel
            heapq.heappush(waiting, (cost + EXCEPTION * exceptions, next(order), agreed, path, True))
        else:
            _, symbol, tuning = split
            weigh(tunings | {symbol: frozenset({tuning})})
            weigh(tunings | {symbol: tunings[symbol] - {tuning}})


Tunings = dict[int, frozenset[int]]
_ROUNDS, _HALVED_AFTER = 40, 4
_TELLING = 0.9  # of what is left after each round


def _drawn_together(
    search: Search, of_symbol: dict[int, list[int]], start: Tunings, tell: Callable[[float], None]
) -> list[FloatArray]:
    """Prices on the tunings of each chord that draw the places of each symbol together, by the subgradient method.

    For every tuning of a symbol those of its places add up to nothing, so a choice with one tuning a symbol costs what
    it costs without them. Places where the melody forbids a tuning have none. (M. Held, P. Wolfe and H. P. Crowder,
    Mathematical Programming 6, 1974, for how far to go.)
    """
    sizes = {symbol: max(tunings) + 1 for symbol, tunings in start.items()}
    tied = {
        symbol: [place for place in places if start[symbol] <= search.columns[place].clean]
        for symbol, places in of_symbol.items()
    }
    prices = [np.zeros(sizes[symbol]) for symbol in search.symbols]
    allowed = _allowed_by(search, start)
    best_prices, best_bound, worse, reach = prices, -np.inf, 0, 1.0
    known = np.inf
    for number in range(_ROUNDS):
        tell(1 - _TELLING**number)
        path, bound = cheapest(search, allowed, prices)
        if bound > best_bound + 1e-9:
            best_prices, best_bound, worse = [one.copy() for one in prices], bound, 0
        else:
            worse += 1
            reach *= 0.5 if worse % _HALVED_AFTER == 0 else 1.0
        away: dict[int, FloatArray] = {}
        voted: Tunings = {}
        for symbol, places in tied.items():
            chosen = np.array([search.columns[place].tunings[path[place]] for place in places], dtype=int)
            votes = np.bincount(chosen, minlength=sizes[symbol]) if places else np.zeros(sizes[symbol])
            voted[symbol] = frozenset({max(start[symbol], key=lambda tuning: (votes[tuning], -tuning))})
            if np.count_nonzero(votes) > 1:
                for place, tuning in zip(places, chosen.tolist(), strict=True):
                    away[place] = -votes / len(places)
                    away[place][tuning] += 1.0
        if not away:
            break
        known = min(known, cheapest(search, _allowed_by(search, voted))[1])
        if known - best_bound < 1e-6:
            break
        step = reach * (known - bound) / sum(float(one @ one) for one in away.values())
        for place, one in away.items():
            prices[place] = prices[place] + step * one
    return best_prices


def _allowed_by(search: Search, tunings: Tunings) -> list[Indices]:
    return [_allowed(column, tunings[symbol]) for column, symbol in zip(search.columns, search.symbols, strict=True)]


@lru_cache(maxsize=1 << 14)
def _allowed(column: Column, tunings: frozenset[int]) -> Indices:
    """The realisations of a column in these tunings; in all clean ones, if one of these rubs and others do not."""
    wanted = tunings
    if column.clean and not tunings <= column.clean:
        wanted = column.clean
    is_wanted = np.zeros(int(column.tunings.max()) + 1, dtype=bool)
    is_wanted[list(wanted)] = True
    return np.flatnonzero(is_wanted[column.tunings])
