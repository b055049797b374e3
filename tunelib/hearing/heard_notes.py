"""The notes in a pitch track: steady stretches, each with its pitch, its drift and its vibrato.

A stretch of pitch is cut where that explains it best as a row of level pieces, each cut at a fixed price: the least
sum of squares about the pieces' means, found by dynamic programming (B. Jackson and others, "An algorithm for optimal
partitioning of data on an interval", IEEE Signal Process. Lett. 12, 2005). The price is set so that a semitone held
for some 70 ms on either side is worth a cut, and the swings of a vibrato are not until it is some 180 cents wide. What
then rises or falls all through is a slide from one note to the next, not a note; what is shorter than 50 ms is passed
over; and neighbours that run on at the same pitch are joined again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.pitch import FloatArray

SHORTEST_NOTE = 0.050

_CUT_PRICE = 350.0  # cents squared times seconds
_LONGEST_PIECE = 5.0
_BRIDGED_GAP, _BRIDGED_BLIP = 0.025, 0.060
_DIP, _SURE, _DIP_REACH = 0.85, 0.85, 0.100
_SAME_PITCH = 45.0
_SLIDE_CENTS, _SLIDE_RATE, _SLIDE_SHARE = 60.0, 150.0, 0.8
_OUTLIER, _LEAST_OUTLIER = 4.0, 10.0
_VIBRATO_WINDOW, _LEAST_VIBRATO_CENTS, _VIBRATO_SHARE = 0.5, 4.0, 0.5
_VIBRATO_RATES = np.arange(3.5, 9.01, 0.1)
_WINDOWS_AT_A_TIME = 256


@dataclass(frozen=True)
class HeardNote:
    """A note as it was heard.

    Parameters
    ----------
    onset, offset : float
        In seconds.
    hertz : float
        Its pitch: the mean in cents of its frames, stray ones left out.
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


def track_notes(track: PitchTrack, *, shortest: float = SHORTEST_NOTE) -> list[HeardNote]:
    """The notes of a pitch track, in their order.

    A new note begins where the pitch pauses for more than 25 ms, where it leaps by about a semitone or more, and where
    a note is struck again, which shows as a dip in confidence. A note with vibrato or a slow drift stays one; a slide
    between two notes belongs to neither.

    Parameters
    ----------
    track : PitchTrack
        As `tunelib.hearing.pitch_track.track_pitch` gives it, with evenly spaced times.
    shortest : float
        Seconds below which a stretch does not count as a note, 0.02 or more.

    Returns a list of HeardNote, empty where nothing has a pitch. Raises ValueError for arrays of unequal length, times
    that are not evenly spaced, or pitches of zero or less.
    """
    times, hertz, confidence, hop = _checked(track, shortest)
    voiced = np.flatnonzero(np.isfinite(hertz))
    if not voiced.size:
        return []
    cents = np.full(hertz.size, np.nan)
    cents[voiced] = 1200 * np.log2(hertz[voiced])
    gaps = np.flatnonzero(np.diff(voiced) * hop > _BRIDGED_GAP + hop)
    walls = set(voiced[gaps + 1].tolist()) | set(_dips(confidence, hop).tolist())
    cuts = sorted(set(np.searchsorted(voiced, sorted(walls)).tolist()) - {0, voiced.size})
    pieces: list[npt.NDArray[np.intp]] = []
    for stretch in np.split(voiced, cuts):
        pieces += np.split(stretch, _level_pieces(cents[stretch], hop))
    steady = [
        piece for piece in pieces if piece.size * hop >= shortest and not slides((piece - piece[0]) * hop, cents[piece])
    ]
    return [
        heard_note(times[piece], cents[piece], confidence[piece], hop)
        for piece in _joined(steady, cents, hop, np.array(sorted(walls)))
    ]


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


def _dips(confidence: FloatArray, hop: float) -> npt.NDArray[np.intp]:
    """Frames at which the confidence is lowest between two stretches of sure pitch."""
    reach = max(1, round(_DIP_REACH / hop))
    if confidence.size <= reach:
        return np.zeros(0, dtype=np.intp)
    padded = np.pad(confidence, reach)
    around = sliding_window_view(padded, reach).max(axis=1)
    before, after = around[: confidence.size], around[reach + 1 : reach + 1 + confidence.size]
    lowest = sliding_window_view(padded, 2 * reach + 1).min(axis=1)
    sides = np.minimum(before, after)
    return np.flatnonzero((confidence == lowest) & (sides >= _SURE) & (confidence < _DIP * sides))


def _level_pieces(cents: FloatArray, hop: float) -> list[int]:
    """Where to cut a stretch into level pieces."""
    price, reach = _CUT_PRICE / hop, max(2, round(_LONGEST_PIECE / hop))
    centred = cents - cents.mean()
    first = np.concatenate(([0.0], np.cumsum(centred)))
    over_lengths = -1.0 / np.arange(reach, 0, -1)
    best = np.zeros(cents.size + 1)  # of all cuts up to a place, less the squares up to there
    came_from = np.zeros(cents.size + 1, dtype=int)
    for end in range(1, cents.size + 1):
        start = max(0, end - reach)
        trial = first[start:end] - first[end]
        trial *= trial
        trial *= over_lengths[start - end :]
        trial += best[start:end]
        pick = int(trial.argmin())
        best[end], came_from[end] = trial[pick] + price, start + pick
    cuts = []
    place = int(came_from[-1])
    while place:
        cuts.append(place)
        place = int(came_from[place])
    return cuts[::-1]


def slides(seconds: FloatArray, cents: FloatArray) -> bool:
    """Whether a piece rises or falls all through, as a slide does and a vibrato does not."""
    slope, _ = _line(seconds, cents)
    rise = slope * seconds[-1]
    total = np.sum((cents - cents.mean()) ** 2)
    explained = slope**2 * np.sum((seconds - seconds.mean()) ** 2)
    return bool(abs(rise) > _SLIDE_CENTS and abs(slope) > _SLIDE_RATE and explained > _SLIDE_SHARE * total)


def _line(seconds: FloatArray, cents: FloatArray) -> tuple[float, float]:
    """Slope in cents a second, and the height at 0 seconds, of the least-squares line."""
    offset = seconds - seconds.mean()
    slope = float(offset @ cents) / max(float(offset @ offset), 1e-12)
    return slope, float(cents.mean() - slope * seconds.mean())


def _joined(
    pieces: list[npt.NDArray[np.intp]], cents: FloatArray, hop: float, walls: npt.NDArray[np.intp]
) -> list[npt.NDArray[np.intp]]:
    """Pieces, with neighbours joined that go on at the same pitch and with no wall between."""
    joined: list[npt.NDArray[np.intp]] = []
    for piece in pieces:
        if joined:
            last = joined[-1]
            near = (piece[0] - last[-1]) * hop <= _BRIDGED_BLIP + hop
            walled = np.any((walls > last[-1]) & (walls <= piece[0]))
            if near and not walled and abs(_step(last, piece, cents, hop)) < _SAME_PITCH:
                joined[-1] = np.concatenate((last, piece))
                continue
        joined.append(piece)
    return joined


def _step(last: npt.NDArray[np.intp], piece: npt.NDArray[np.intp], cents: FloatArray, hop: float) -> float:
    """Cents from one piece to the next where they meet: of their lines, or of their means where they are short."""
    meeting = (last[-1] + piece[0]) / 2
    heights = []
    for part in (last[-round(_LONGEST_PIECE / hop) :], piece[: round(_LONGEST_PIECE / hop)]):
        _, height = _line((part - meeting) * hop, cents[part])
        heights.append(height if part.size * hop > 2 * _VIBRATO_WINDOW else float(cents[part].mean()))
    return heights[1] - heights[0]


def heard_note(times: FloatArray, cents: FloatArray, confidence: FloatArray, hop: float) -> HeardNote:
    """The note of some frames, evenly spaced by `hop` seconds but for gaps; `cents` are above 1 Hz."""
    middle = np.median(cents)
    away = np.abs(cents - middle)
    kept = away <= max(_LEAST_OUTLIER, _OUTLIER * 1.4826 * float(np.median(away)))
    mean = float(cents[kept].mean())
    rate, width = _vibrato(cents, kept, hop)
    return HeardNote(
        onset=max(0.0, float(times[0] - hop / 2)),
        offset=float(times[-1] + hop / 2),
        hertz=float(2 ** (mean / 1200)),
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
        limit = 1.5 * 1.4826 * float(np.median(away)) + 1e-6
        weights = np.minimum(1.0, limit / np.maximum(away, 1e-12))
    return float(fit[1] * (seconds[-1] - seconds[0]))


def _vibrato(cents: FloatArray, kept: npt.NDArray[np.bool_], hop: float) -> tuple[float, float]:
    """Rate in hertz and width in cents of the swing that fits best, in windows of half a second; their medians."""
    length = round(_VIBRATO_WINDOW / hop)
    if cents.size < length or length < 20:
        return 0.0, 0.0
    places = np.arange(cents.size)
    smooth = np.interp(places, places[kept], cents[kept])
    windows = sliding_window_view(smooth, length)[:: max(1, length // 4)]
    parts = [_best_swings(windows[i : i + _WINDOWS_AT_A_TIME], hop) for i in range(0, len(windows), _WINDOWS_AT_A_TIME)]
    rates, widths, inside = (np.concatenate(part) for part in zip(*parts, strict=True))
    if np.mean(inside) < 0.5:
        return 0.0, 0.0
    width = float(np.median(widths[inside]))
    return (float(np.median(rates[inside])), width) if width >= _LEAST_VIBRATO_CENTS else (0.0, 0.0)


def _best_swings(windows: FloatArray, hop: float) -> tuple[FloatArray, FloatArray, npt.NDArray[np.bool_]]:
    """Rate and width of the swing that fits each window best, and whether it tells most of what moves there."""
    plain, swings, solvers = _swings(windows.shape[1], hop)
    rest = windows - windows @ plain @ plain.T
    total = np.maximum(np.sum(rest**2, axis=1), 1e-12)
    fits = rest @ solvers  # shape (rates, windows, 2)
    share = np.sum((fits @ swings) ** 2, axis=2) / total
    widths = 2 * np.hypot(fits[..., 0], fits[..., 1])
    best = np.clip(share.argmax(axis=0), 1, len(_VIBRATO_RATES) - 2)
    column = np.arange(best.size)
    low, top, high = (share[best + side, column] for side in (-1, 0, 1))
    inside = (top >= low) & (top >= high) & (top > _VIBRATO_SHARE)
    bend = np.minimum(low - 2 * top + high, -1e-12)
    rates = _VIBRATO_RATES[best] + np.clip(0.5 * (low - high) / bend, -0.5, 0.5) * (
        _VIBRATO_RATES[1] - _VIBRATO_RATES[0]
    )
    return rates, widths[best, column], inside


@lru_cache(maxsize=8)
def _swings(length: int, hop: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What windows are fitted with: an orthonormal level and line, and per rate a cosine and sine freed of both.

    Shapes (length, 2), (rates, 2, length), and (rates, length, 2) for the matrix that solves for their amplitudes.
    """
    seconds = (np.arange(length) - (length - 1) / 2) * hop
    plain = np.linalg.qr(np.stack((np.ones(length), seconds), axis=1))[0]
    turns = 2 * np.pi * _VIBRATO_RATES[:, np.newaxis] * seconds
    swings = np.stack((np.cos(turns), np.sin(turns)), axis=1)
    swings -= swings @ plain @ plain.T
    return plain, swings, np.linalg.pinv(swings)
