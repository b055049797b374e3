"""The notes in a pitch track: each with its pitch, its drift and its vibrato.

Stretches of sound without a pause are parted by `cheapest_row`, which weighs what a note may be, level or with a
vibrato about its level, against the price of one more note, and takes what speaks for an attack (`attacks`) into
account. So neighbouring steps of thirty-one that are slurred are two notes, and a vibrato four times as wide is one.
What is left is put right by `joined`: slides, tails, beginnings that have not settled.

Published vibratos: 5.5 to 8 Hz, 20 to 35 cents from crest to trough for strings and 60 to 200 for singers (R. Timmers
and P. Desain, "Vibrato: questions and answers from musicians and science", Proc. ICMPC, 2000). A vibrato is heard near
its mean (J. Brown and K. Vaughn, "Pitch center of stringed instrument vibrato tones", J. Acoust. Soc. Am. 100, 1996).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.attacks import SURE_ATTACK, Attacks, attacks_by_clarity
from tunelib.hearing.cheapest_row import Stretch, cheapest_row
from tunelib.hearing.joined_notes import joined
from tunelib.hearing.piece_ends import BRIDGED_GAP
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.scatter import scatter
from tunelib.hearing.swings import level_and_swing
from tunelib.hearing.vibrato import best_swings
from tunelib.pitch import FloatArray

SHORTEST_NOTE = 0.050

_SOUNDING_GAP, _SOUNDING_DIP = 0.09, 6.0  # seconds, decibels
_BESIDE = 0.1  # seconds
_BRIEF, _FEW_SWINGS = 0.2, 1.0  # seconds
_OUTLIER, _LEAST_OUTLIER = 4.0, 10.0
_VIBRATO_WINDOW, _LEAST_VIBRATO_CENTS = 0.5, 4.0  # seconds, cents from peak to peak


@dataclass(frozen=True)
class HeardNote:
    """A note as it was heard.

    Parameters
    ----------
    onset, offset : float
        In seconds.
    hertz : float
        Its pitch: the mean in cents of its frames, stray ones left out; the level about which a vibrato swings, where
        there are too few swings for a mean; the median where it is so short that it has hardly settled.
    cents_spread : float
        Standard deviation about that in cents.
    drift : float
        Cents that it rises from start to end, by a straight line beside its vibrato.
    vibrato_rate : float
        Swings a second; 0 for none.
    vibrato_width : float
        Cents from peak to peak; 0 for none.
    confidence : float
        Mean of its frames' confidence, 0 to 1.
    """

    onset: float
    offset: float
    hertz: float
    cents_spread: float
    drift: float
    vibrato_rate: float
    vibrato_width: float
    confidence: float


def track_notes(
    track: PitchTrack, attacks: Attacks | None = None, *, shortest: float = SHORTEST_NOTE
) -> list[HeardNote]:
    """The notes of a pitch track, in their order.

    A new note begins where the pitch pauses for more than 35 ms, where it moves to another level, by a few cents or
    many, and where a note is struck again. A note with vibrato or a slow drift stays one; a slide between two notes
    belongs to neither.

    Parameters
    ----------
    track : PitchTrack
        As `track_pitch` gives it, with evenly spaced times.
    attacks : Attacks, optional
        Evidence of attacks, as `attacks_of` gives it; otherwise only what the track's confidence tells.
    shortest : float
        Seconds below which a stretch does not count as a note, 0.02 or more.

    Returns a list of HeardNote, empty where nothing has a pitch. Raises ValueError for arrays of unequal length, times
    that are not evenly spaced, or pitches of zero or less.
    """
    times, hertz, confidence, hop = _checked(track, shortest)
    if attacks is None:
        attacks = attacks_by_clarity(confidence, hop)
    worth, level = attacks.worth.copy(), attacks.level_db
    cents = 1200 * np.log2(hertz)
    found: list[HeardNote] = []
    for first, last in _stretches(np.flatnonzero(np.isfinite(hertz)), level, hop):
        if (last - first) * hop < shortest:
            continue
        worth[first] = max(worth[first], SURE_ATTACK)
        for frame in np.flatnonzero(np.isnan(cents[first:last]) & (worth[first:last] > 0)).tolist():
            after = first + frame + int(np.isfinite(cents[first + frame : last]).argmax())  # where there is a pitch
            worth[after], worth[first + frame] = max(worth[after], worth[first + frame]), 0.0
        frames = slice(first, last)
        part = Stretch(cents[frames], worth[frames], level[frames], hop)
        for begin, end in joined(part, cheapest_row(part)):
            at = np.arange(first + begin, first + end)
            at = at[np.isfinite(cents[at])]
            if (end - begin) * hop >= shortest:
                found.append(heard_note(times[at], cents[at], confidence[at], hop))
    return found


def _stretches(voiced: npt.NDArray[np.intp], level: FloatArray, hop: float) -> list[tuple[int, int]]:
    """First frames of pitch without a pause, and the frames after their last.

    A wide vibrato moves so fast between its ends that no pitch is found there: where the sound goes on meanwhile, that
    is no pause.
    """
    if not voiced.size:
        return []
    ends, begins, near = voiced[:-1], voiced[1:], round(_BESIDE / hop)
    pauses = (begins - ends - 1) * hop > BRIDGED_GAP
    for place in np.flatnonzero(pauses & ((begins - ends - 1) * hop <= _SOUNDING_GAP)).tolist():
        end, begin = ends[place], begins[place]
        sides = min(level[max(0, end - near) : end + 1].max(), level[begin : begin + near + 1].max())
        pauses[place] = not level[end + 1 : begin].min() >= sides - _SOUNDING_DIP
    cuts = np.flatnonzero(pauses)
    return list(zip(voiced[np.append(0, cuts + 1)].tolist(), (voiced[np.append(cuts, -1)] + 1).tolist(), strict=True))


def _checked(track: PitchTrack, shortest: float) -> tuple[FloatArray, FloatArray, FloatArray, float]:
    times, hertz, confidence = (np.asarray(part, dtype=float) for part in track)
    if not times.shape == hertz.shape == confidence.shape == (times.size,):
        raise ValueError(
            f"a track is three arrays of one length, not of the shapes {times.shape}, {hertz.shape}, {confidence.shape}"
        )
    if np.any(hertz <= 0) or np.any(np.isinf(hertz)):
        raise ValueError("a track's pitches are above 0 Hz, or NaN where there is none")
    if not shortest >= 0.02:
        raise ValueError(f"the shortest note lasts 0.02 seconds or more, not {shortest}")
    steps = np.diff(times)
    hop = float(np.median(steps)) if steps.size else 0.010
    if not (hop > 0 and np.allclose(steps, hop, rtol=0.01, atol=0)):
        raise ValueError("the times of a track must be evenly spaced and go forward")
    return times, hertz, confidence, hop


def heard_note(times: FloatArray, cents: FloatArray, confidence: FloatArray, hop: float) -> HeardNote:
    """The note of some frames, evenly spaced by `hop` seconds but for gaps; `cents` are above 1 Hz."""
    middle = np.median(cents)
    away = np.abs(cents - middle)
    kept = away <= max(_LEAST_OUTLIER, _OUTLIER * scatter(away))
    pitch = float(cents[kept].mean())
    if cents.size * hop < _BRIEF:
        pitch = float(middle)
    elif cents.size * hop < _FEW_SWINGS and (swing := level_and_swing(cents[kept], hop)).width:
        pitch = swing.level
    rate, width = _vibrato(cents, kept, hop)
    return HeardNote(
        onset=max(0.0, float(times[0] - hop / 2)),
        offset=float(times[-1] + hop / 2),
        hertz=float(2 ** (pitch / 1200)),
        cents_spread=float(cents[kept].std()),
        drift=_drift(times[kept], cents[kept], rate),
        vibrato_rate=rate,
        vibrato_width=width,
        confidence=float(confidence.mean()),
    )


def _drift(seconds: FloatArray, cents: FloatArray, rate: float) -> float:
    """Rise from start to end by a line, fitted together with a swing at the vibrato's rate."""
    offset = seconds - seconds.mean()
    turn = 2 * np.pi * rate * offset
    columns = [np.ones_like(offset), offset] + ([np.cos(turn), np.sin(turn)] if rate else [])
    if offset.size <= 2 * len(columns):
        return 0.0
    design = np.stack(columns, axis=1)
    weights = np.ones_like(offset)
    for _ in range(5):  # with weights after Huber, so that a scoop at the onset tells little
        root = np.sqrt(weights)
        fit = np.linalg.lstsq(design * root[:, np.newaxis], cents * root, rcond=None)[0]
        away = np.abs(cents - design @ fit)
        limit = 1.5 * scatter(away) + 1e-6
        weights = np.minimum(1.0, limit / np.maximum(away, 1e-12))
    return float(fit[1] * (seconds[-1] - seconds[0]))


def _vibrato(cents: FloatArray, kept: npt.NDArray[np.bool_], hop: float) -> tuple[float, float]:
    """Rate in hertz and width in cents of the swing that fits best, in windows of half a second; their medians."""
    length = round(_VIBRATO_WINDOW / hop)
    if cents.size < length or length < 20:
        return 0.0, 0.0
    places = np.arange(cents.size)
    smooth = np.interp(places, places[kept], cents[kept])
    swings = best_swings(sliding_window_view(smooth, length)[:: max(1, length // 4)], hop)
    if np.mean(swings.sure) < 0.5:
        return 0.0, 0.0
    width = float(np.median(swings.width[swings.sure]))
    return (float(np.median(swings.rate[swings.sure])), width) if width >= _LEAST_VIBRATO_CENTS else (0.0, 0.0)
