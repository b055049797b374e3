"""How far a whole take is tuned away from its targets, so that it can be told from notes that are out of tune.

A take whose notes are all 25 cents sharp is a matter of one turn of a peg, and each note says so by itself. But where
targets are as close as the steps of thirty-one, 38.7 cents, the note nearest to a sharp one is the next: the whole take
could as well be called 14 cents flat, of other notes. So every offset is tried. The notes are taken as drawn from a
mixture: one bell for each target, moved by the offset, beside a few strays. A target with a plain name weighs more
than one half a sharp away, since tunes have more of those, and a small offset more than a large one, since players tune
before they play; but a tune of halves alone is not ruled out. The likeliest offset is kept, if it is a good deal
likelier than none and the intervals do not fit better without; and beside it another that the intervals fit as well,
against which only the names speak.

Both weights are this project's own judgement, as are the limits below.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tunelib.hearing.scatter import scatter
from tunelib.hearing.targets import Targets
from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray, IntArray, Note, cents

FEWEST_NOTES, FEWEST_PITCHES = 5, 3  # a take of less has no offset to speak of
LEAST_OFFSET = 4.0  # cents

_FARTHEST = 70  # cents: offsets are tried up to here, either way
_TUNED, _UNTUNED = 4.0, 20.0  # cents: the standard deviations of the offsets of those who have tuned, or have not
_WIDTHS = (3.0, 6.0, 10.0, 16.0)  # cents: of the bells
_STRAYS = 0.05  # of the notes
_ANY_NAMES = 0.02  # of the takes: those whose notes have any names
_PLAUSIBLE = 3.0  # nats: what is less likely by more than that is not worth a word, one reading in twenty
_APART = 8.0  # cents: offsets nearer than that are one
_NATURAL, _ACCIDENTAL, _HALF, _ODD = 1.0, 0.7, 0.15, 0.1  # how often such names come, one beside the other
_MOST_AT_A_TIME = 4096  # notes


class Offset(NamedTuple):
    """How far a whole take is from its targets.

    Parameters
    ----------
    cents : float
        Positive where it is sharp.
    sure : float
        Half of the interval about it, in cents, that holds the true offset 19 times in 20.
    other : float or None
        Another offset that would explain the take nearly as well, with other names for its notes.
    """

    cents: float
    sure: float
    other: float | None = None


def find_offset(hertz: npt.ArrayLike, targets: Targets) -> Offset | None:
    """The common offset of the notes of a take from a ladder of targets.

    `hertz` are the pitches of the notes, shape (notes,). None where there is none of 4 cents or more that can be told
    from chance, or where fewer than five notes or three pitches were played.
    """
    heard = np.asarray(cents(np.asarray(hertz, dtype=float)))
    if heard.size < FEWEST_NOTES:
        return None
    rungs = np.asarray(cents(np.array(targets.hertz)))
    tried = np.arange(-_FARTHEST, _FARTHEST + 1, dtype=float)
    plain, any_names = _costs(heard, rungs, targets.labels, tried)
    cost = -np.logaddexp(np.log(1 - _ANY_NAMES) - plain, np.log(_ANY_NAMES) - any_names)
    best, none = int(np.argmin(cost)), np.abs(tried) < LEAST_OFFSET
    nearest = _nearest(heard - tried[best], rungs)
    found = common_offset(heard - rungs[nearest], nearest)
    if found is None or cost[none].min() < cost[best] + _PLAUSIBLE or any_names[none].min() < any_names[best]:
        return None
    lowest = np.flatnonzero((any_names[1:-1] <= any_names[:-2]) & (any_names[1:-1] <= any_names[2:])) + 1
    rivals = [
        i for i in lowest if abs(tried[i] - tried[best]) >= _APART and any_names[i] < any_names[best] + _PLAUSIBLE
    ]
    return found._replace(other=float(tried[min(rivals, key=lambda i: any_names[i])])) if rivals else found


def common_offset(off: npt.ArrayLike, targets: npt.ArrayLike) -> Offset | None:
    """What notes whose targets are known are off together.

    Parameters
    ----------
    off : array, shape (notes,)
        Cents, heard minus target.
    targets : array of int, shape (notes,)
        Which target each note had: each counts once, however often it was played.

    None as for `find_offset`. The offset is the median over the targets of each one's median; its certainty follows
    from their median absolute deviation, with Student's distribution for as many.
    """
    away, which = np.asarray(off, dtype=float), np.asarray(targets)
    pitches = np.unique(which)
    if away.size < FEWEST_NOTES or pitches.size < FEWEST_PITCHES:
        return None
    medians = np.array([np.median(away[which == pitch]) for pitch in pitches])
    middle = float(np.median(medians))
    scale = scatter(medians - middle)
    error = 1.2533 * max(scale, 1.0) / np.sqrt(pitches.size)  # of a median, likewise
    free = pitches.size - 1
    if abs(middle) < LEAST_OFFSET or abs(middle) < (2.58 + 8.1 / free) * error:
        return None
    return Offset(middle, float((1.96 + 3.2 / free) * error))


def _nearest(heard: FloatArray, rungs: FloatArray) -> IntArray:
    above = np.clip(np.searchsorted(rungs, heard), 1, max(rungs.size - 1, 1))
    if rungs.size == 1:
        return np.zeros(heard.size, dtype=np.int64)
    return np.where(heard - rungs[above - 1] <= rungs[above] - heard, above - 1, above).astype(np.int64)


def _costs(heard: FloatArray, rungs: FloatArray, labels: tuple[str, ...], tried: FloatArray) -> tuple[FloatArray, ...]:
    """Minus the logarithm of how likely each offset is, but for a constant: by plain names, and whatever the names."""
    plainness = np.array([_plainness(label) for label in labels])
    before = sum(np.exp(-(tried**2) / (2 * width**2)) / width for width in (_TUNED, _UNTUNED))
    return tuple(
        -_likely(heard, rungs, _shared(weights, rungs), tried) - np.log(before)
        for weights in (plainness, np.ones(rungs.size))
    )


def _likely(heard: FloatArray, rungs: FloatArray, weights: FloatArray, tried: FloatArray) -> FloatArray:
    """The logarithm of how likely the notes are with each offset, with the width of bell that suits it best."""
    likely = np.zeros((len(_WIDTHS), tried.size))
    for start in range(0, heard.size, _MOST_AT_A_TIME):
        some = heard[start : start + _MOST_AT_A_TIME]
        for column, offset in enumerate(tried):
            at = _nearest(some - offset, rungs)
            around = np.clip(at + np.arange(-1, 2)[:, np.newaxis], 0, rungs.size - 1)
            shares = weights[around] * np.array([at > 0, at >= 0, at < rungs.size - 1])
            squares = (some - offset - rungs[around]) ** 2
            for row, width in enumerate(_WIDTHS):
                bells = shares * np.exp(-squares / (2 * width**2)) / (width * np.sqrt(2 * np.pi))
                likely[row, column] += np.log((1 - _STRAYS) * bells.sum(axis=0) + _STRAYS / CENTS_PER_OCTAVE).sum()
    return np.asarray(likely.max(axis=0))


def _shared(weights: FloatArray, rungs: FloatArray) -> FloatArray:
    """Weights as shares of those within half an octave either way."""
    until = np.concatenate([[0.0], np.cumsum(weights)])
    half = CENTS_PER_OCTAVE / 2
    first, last = np.searchsorted(rungs, rungs - half), np.searchsorted(rungs, rungs + half, side="right")
    return np.asarray(weights / (until[last] - until[first]))


def _plainness(label: str) -> float:
    try:
        note = Note.parse(label)
    except ValueError:
        return _NATURAL
    if note.steps or abs(note.half_sharps) > 2:
        return _ODD
    return (_NATURAL, _HALF, _ACCIDENTAL)[abs(note.half_sharps)]
