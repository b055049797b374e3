"""How a pitch was held: how soon it was there, how close it came, how steady it stayed; and how a slide went.

A vibrato is heard near its mean (J. Shonle and K. Horan, "The pitch of vibrato tones", J. Acoust. Soc. Am. 67, 1980),
so what is graded is the *level*: in every stretch of half a second a swing about a line is fitted (`best_swings`), and
where it tells more than half of what moves beside the line, the line is the level. Elsewhere it is the median of five
pitches.

Within 10 cents counts as there, which good singers and players reach, and 20 as usual (common practice). Experts called
melodic intervals in tune that were up to 20 or 25 cents off (A. Vurma and J. Ross, "Production and perception of
musical intervals", Music Perception 23, 2006; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.scatter import scatter
from tunelib.hearing.vibrato import best_swings
from tunelib.pitch import FloatArray, positive_hertz, signed

EXCELLENT_CENTS, USUAL_CENTS = 10.0, 20.0

_HOP = 0.010  # seconds
_SHORTEST = 0.3
_GAP = 0.05  # seconds without a pitch that are passed over
_STRAY = 0.1  # and outside what is near
_SCOOP, _RELEASE = 0.25, 0.10  # at either end, which tell nothing of how close a note was
_WINDOW = 50  # pitches of a stretch
_LEAST_VIBRATO_CENTS = 8.0  # from peak to peak
_MEDIAN_OF = 5
_OF_A_SLIDE = 1 / 3  # of its size that counts as there, at most


@dataclass(frozen=True)
class Held:
    """How a target was held.

    Parameters
    ----------
    seconds : float
        How long the attempt took.
    soon : float
        Seconds until the level came near the target for good, but for moments under a tenth of a second; NaN if never.
    off : float
        Cents from the target to the median of the level, the beginning and the end left out.
    spread : float
        Standard deviation of the level about a line in cents, by the median deviation; from `soon` on, if that is in
        the first half.
    drift : float
        Cents that this line rises from start to end.
    steady_seconds, near_seconds : float
        How long the level was near the target, at the longest and in all.
    vibrato_rate, vibrato_width : float
        Swings a second, and cents from peak to peak; 0 for none.
    near : float
        Cents within which it was near.
    """

    seconds: float
    soon: float
    off: float
    spread: float
    drift: float
    steady_seconds: float
    near_seconds: float
    vibrato_rate: float
    vibrato_width: float
    near: float

    @property
    def closeness(self) -> str:
        """``"excellent"``, ``"usual"`` or ``"off"``."""
        away = abs(self.off)
        return "excellent" if away <= EXCELLENT_CENTS else "usual" if away <= USUAL_CENTS else "off"

    @property
    def words(self) -> str:
        """How soon, how close and how steady, in a sentence."""
        soon = f"near after {self.soon:.1f} s" if math.isfinite(self.soon) else "not near to the end"
        swing = f"; vibrato of {self.vibrato_width:.0f} cents at {self.vibrato_rate:.1f} Hz"
        return (
            f"Held for {self.seconds:.1f} s, {soon}: {signed(self.off)} cents in the middle; within {self.near:g} "
            f"cents for {self.near_seconds:.1f} s; spread {self.spread:.0f}, drift {signed(self.drift)} cents"
            f"{swing if self.vibrato_width else ''}."
        )


@dataclass(frozen=True)
class Slid:
    """How a slide from one pitch to another went.

    Parameters
    ----------
    from_off, to_off : float
        Cents from the pitch to leave and from the pitch to reach, to the level before and after the slide.
    began, arrived : float
        Seconds at which the level left the first for good, and at which it came to the second for good; NaN for never.
    beyond : float
        Cents by which it went past the second; 0 if it did not.
    near : float
        Cents within which it counted as there: 10, and no more than a third of the slide.
    """

    from_off: float
    to_off: float
    began: float
    arrived: float
    beyond: float
    near: float

    @property
    def seconds(self) -> float:
        """How long the slide took; NaN if it never arrived."""
        return self.arrived - self.began


def grade_hold(seconds: npt.ArrayLike, hertz: npt.ArrayLike, target: float, near: float = EXCELLENT_CENTS) -> Held:
    """How a target was held.

    Parameters
    ----------
    seconds, hertz : array
        Moments that rise, and the pitch at each; NaN where there is none.
    target : float
        In hertz.
    near : float
        Cents within which the pitch counts as there.

    Raises ValueError for arrays that do not match, moments that do not rise, pitches of zero or less, bounds that are
    not above 0, or less than 0.3 s of pitch.

    >>> moments = np.arange(0, 3, 0.01)
    >>> swing = 40 * np.sin(2 * np.pi * 6 * moments)
    >>> held = grade_hold(moments, 330 * 2 ** ((4 + swing) / 1200), 330)
    >>> round(held.off), round(held.vibrato_width), held.soon
    (4, 80, 0.0)
    """
    curve = _Curve.of(seconds, hertz, target, near)
    inside = curve.within(0.0, near)
    soon = _for_good(curve.times, inside, curve.times <= curve.times[-1] - _RELEASE)
    body = curve.body
    settled = body & (curve.times >= soon) if soon <= curve.times[-1] / 2 else body
    slope, rest = _line(curve.times[settled], curve.level[settled])
    return Held(
        seconds=curve.seconds,
        soon=soon,
        off=float(np.median(curve.level[body])),
        spread=scatter(rest - np.median(rest)),
        drift=slope * float(np.ptp(curve.times[settled])),
        steady_seconds=_longest(inside) * _HOP,
        near_seconds=int(inside.sum()) * _HOP,
        vibrato_rate=curve.vibrato_rate,
        vibrato_width=curve.vibrato_width,
        near=near,
    )


def grade_slide(seconds: npt.ArrayLike, hertz: npt.ArrayLike, start: float, end: float) -> Slid:
    """How a slide went from one pitch to another, both in hertz, such as from a note of twelve to that of thirty-one.

    The rest, and what raises ValueError, is as for `grade_hold`; so does a slide to where it starts.

    >>> moments = np.arange(0, 3, 0.01)
    >>> cents = np.interp(moments, [1, 2], [0, -13.7])
    >>> slid = grade_slide(moments, 330 * 2 ** (cents / 1200), 330, 330 * 2 ** (-13.7 / 1200))
    >>> round(slid.from_off, 1), round(slid.to_off, 1), round(slid.seconds, 1)
    (0.0, 0.0, 0.3)
    """
    size = 1200 * math.log2(
        float(positive_hertz(end, "the end of a slide")) / float(positive_hertz(start, "its start"))
    )
    if not size:
        raise ValueError(f"a slide leads to another pitch than its start, {start:g} Hz")
    near = min(EXCELLENT_CENTS, abs(size) * _OF_A_SLIDE)
    curve = _Curve.of(seconds, hertz, start, near)
    ends = curve.times <= curve.times[-1] - _RELEASE
    arrived = _for_good(curve.times, curve.within(size, near), ends)
    left = _for_good(curve.times, ~curve.within(0.0, near), ends)
    before = curve.times <= (left if math.isfinite(left) else curve.times[-1])
    after = curve.times >= (arrived if math.isfinite(arrived) else curve.times[-1] - _SCOOP)
    past = (curve.level[ends] - size) * math.copysign(1.0, size)
    return Slid(
        from_off=float(np.median(curve.level[before])),
        to_off=float(np.median(curve.level[after & ends])) - size,
        began=left,
        arrived=arrived,
        beyond=max(0.0, float(np.max(past))),
        near=near,
    )


@dataclass(frozen=True)
class _Curve:
    """The level of an attempt at even moments, in cents from a pitch; those without a pitch are left out."""

    times: FloatArray
    level: FloatArray
    vibrato_rate: float
    vibrato_width: float
    seconds: float

    @classmethod
    def of(cls, seconds: npt.ArrayLike, hertz: npt.ArrayLike, origin: float, near: float) -> _Curve:
        moments, pitches = np.asarray(seconds, dtype=float), np.asarray(hertz, dtype=float)
        if moments.ndim != 1 or moments.shape != pitches.shape:
            raise ValueError(
                f"each moment has one pitch: {moments.shape} moments and {pitches.shape} pitches do not match"
            )
        if not np.isfinite(moments).all() or (np.diff(moments) <= 0).any():
            raise ValueError("the moments of an attempt must be finite and rise")
        if not near > 0:
            raise ValueError(f"a pitch is near within some cents above 0, not {near}")
        heard = np.isfinite(pitches)
        of = float(positive_hertz(origin, "a target"))
        cents = 1200 * np.log2(positive_hertz(pitches[heard], "a pitch") / of)
        moments = moments[heard]
        pitched = float(np.minimum(np.diff(moments), _GAP).sum()) if moments.size else 0.0
        if pitched < _SHORTEST:
            raise ValueError(f"an attempt needs {_SHORTEST:g} s of pitch; this one has {pitched:.2f} s")
        times = np.arange(moments[0], moments[-1] + _HOP / 2, _HOP)
        level, rates, widths = _levels(np.interp(times, moments, cents))
        place = np.clip(np.searchsorted(moments, times), 1, moments.size - 1)
        kept = moments[place] - moments[place - 1] <= _GAP
        swings = np.isfinite(rates) & kept
        vibrato = bool(swings.mean() > 0.5)
        return cls(
            times=times[kept] - times[0],
            level=level[kept],
            vibrato_rate=float(np.median(rates[swings])) if vibrato else 0.0,
            vibrato_width=float(np.median(widths[swings])) if vibrato else 0.0,
            seconds=float(moments[-1] - moments[0]),
        )

    def within(self, cents: float, near: float) -> npt.NDArray[np.bool_]:
        """Where the level is near a number of cents; moments that are not, between others that are, are passed over."""
        inside = np.abs(self.level - cents) <= near
        for first, last in _runs(~inside):
            if first > 0 and last < inside.size and (last - first) * _HOP < _STRAY:
                inside[first:last] = True
        return np.asarray(inside)

    @property
    def body(self) -> npt.NDArray[np.bool_]:
        """All but the beginning and the end, which are no more than half of it."""
        whole = self.times[-1]
        share = min(1.0, whole / 2 / (_SCOOP + _RELEASE))
        return np.asarray((self.times >= _SCOOP * share) & (self.times <= whole - _RELEASE * share))


def _levels(cents: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The level at each of some even moments, with the rate and the width of the vibrato there; NaN where is none."""
    half = _MEDIAN_OF // 2
    level = np.median(sliding_window_view(np.pad(cents, half, mode="edge"), _MEDIAN_OF), axis=1)
    rates, widths = np.full(cents.size, np.nan), np.full(cents.size, np.nan)
    if cents.size < _WINDOW:
        return level, rates, widths
    swings = best_swings(sliding_window_view(cents, _WINDOW), _HOP)
    window = np.clip(np.arange(cents.size) - _WINDOW // 2, 0, swings.sure.size - 1)
    sways = (swings.sure & (swings.width >= _LEAST_VIBRATO_CENTS))[window]
    of = window[sways]
    away = np.flatnonzero(sways) - of - (_WINDOW - 1) / 2
    level[sways] = swings.level[of] + swings.rise[of] * away
    rates[sways], widths[sways] = swings.rate[of], swings.width[of]
    return level, rates, widths


def _for_good(times: FloatArray, inside: npt.NDArray[np.bool_], counts: npt.NDArray[np.bool_]) -> float:
    """The first of the moments from which on all that count are inside; NaN if the last is not."""
    outside = np.flatnonzero(counts & ~inside)
    counted = np.flatnonzero(counts)
    first = counted[counted > outside[-1]] if outside.size else counted
    return float(times[first[0]]) if first.size else math.nan


def _line(times: FloatArray, values: FloatArray) -> tuple[float, FloatArray]:
    """The rise a second of a line through values, and what they are beside it."""
    middle = times - times.mean()
    slope = float(middle @ (values - values.mean()) / max(float(middle @ middle), 1e-12))
    return slope, values - values.mean() - slope * middle


def _runs(true: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Where a row is true without a break: from which place to before which."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], true, [False])).astype(int)))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]


def _longest(true: npt.NDArray[np.bool_]) -> int:
    return max((last - first for first, last in _runs(true)), default=0)
