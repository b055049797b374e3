"""Roughness against Sethares's published program and minima and others' models, and beats between partials."""

from __future__ import annotations

import math
import tracemalloc
from typing import Any

import numpy as np
import pytest
from scipy import signal, stats

from tunelib.hearing.beats import beat_rate, beating_partials
from tunelib.hearing.critical_bands import critical_bandwidth
from tunelib.hearing.roughness import dissonance_curve, dissonance_plane, minima, roughness
from tunelib.pitch.intervals import cents, ratio_from_cents

C4 = 261.6255653
GRID = np.arange(10, 1251)


def series(count: int, fundamental: float = C4) -> np.ndarray:
    return fundamental * np.arange(1, count + 1)


def fading(count: int) -> np.ndarray:
    """Amplitudes that fall by 12 % from partial to partial, as in Sethares's examples."""
    return 0.88 ** np.arange(count)


@pytest.mark.parametrize(
    ("frequencies", "amplitudes", "relative"),
    [
        ([440, 460, 480], [1, 1, 1], 2.9194),
        ([440, 460, 480], [1, 2, 3], 3.9161),
        ([440, 460, 480], [3, 2, 1], 3.9194),
        ([300, 250, 275, 425], [1.5, 2, 9, 4], 4.8657),
    ],
)
def test_chords_are_as_rough_as_in_the_published_program(
    frequencies: list[float], amplitudes: list[float], relative: float
) -> None:
    """What W. A. Sethares's program for MATLAB ("dissmeasure") gives, relative to 440 and 460 Hz; the figures are those
    that P. M. C. Harrison's R package dycon, version 0.1, checks itself against."""
    assert roughness(frequencies, amplitudes) / roughness([440, 460], [1, 1]) == pytest.approx(relative, abs=5e-5)


def test_a_pair_is_roughest_where_calculus_puts_it() -> None:
    """The difference of two exponentials is greatest at ln(b2/b1) / (b2-b1), not at the 0.24 that scales it. For sines
    at 440 Hz that is a quarter of a critical band, as Plomp and Levelt 1965 found, to within a tenth of one."""
    apart = np.linspace(0.01, 150, 150_000)
    pairs = np.stack(np.broadcast_arrays(440.0, 440.0 + apart), axis=-1)
    roughest = apart[np.argmax(roughness(pairs, 1))]
    x = 0.24 * roughest / (0.0207 * 440 + 18.96)
    assert x == pytest.approx(math.log(5.75 / 3.51) / (5.75 - 3.51), abs=1e-4)
    assert roughest / critical_bandwidth(440) == pytest.approx(0.25, abs=0.1)


SIX = ("6/5", "5/4", "4/3", "3/2", "5/3")
SEVEN = ("7/6", "6/5", "5/4", "4/3", "7/5", "3/2", "5/3", "7/4")


@pytest.mark.parametrize(
    ("count", "amplitudes", "ratios", "others"),
    [
        (6, 1 / np.arange(1, 7), SIX, 0),
        (7, fading(7), SEVEN, 0),
        (6, fading(6), SIX, 1),
        (6, np.ones(6), SIX, 2),
    ],
)
def test_the_dissonance_curve_dips_at_simple_ratios(
    count: int, amplitudes: np.ndarray, ratios: tuple[str, ...], others: int
) -> None:
    """Sethares 1993: six harmonics make dips at 6/5, 5/4, 4/3, 3/2, 5/3 and 2/1, a seventh adds 7/6, 7/5 and 7/4. For
    some amplitudes the model has a shallow dip or two besides, near the major second and the minor seventh."""
    dips = GRID[minima(dissonance_curve(series(count), amplitudes, GRID))]
    wanted = cents([*ratios, "2/1"])
    for size in wanted:
        assert np.abs(dips - size).min() <= 1
    strangers = [dip for dip in dips if np.abs(wanted - dip).min() > 1]
    assert len(strangers) <= others
    assert all(200 < dip < 260 or 950 < dip < 1050 for dip in strangers)


def test_stretched_partials_move_the_octave() -> None:
    """Sethares 1993, after J. R. Pierce 1966: tones whose octaves are stretched to 2.1 agree at 2.1, and not at 2."""
    stretched = 440 * 2.1 ** np.log2(np.arange(1, 7))
    grid = np.arange(1000, 1400)
    deepest = grid[np.argmin(dissonance_curve(stretched, fading(6), grid))]
    assert deepest == pytest.approx(cents(2.1), abs=1)


def test_intervals_rank_as_another_model_ranks_them() -> None:
    """The roughness that P. N. Vassilakis prints for the intervals from minor second to octave (dissertation,
    University of California, Los Angeles 2001, p. 210), for six partials 1/n on middle C in twelve equal steps. His
    weights differ, so the order is compared, not the size."""
    printed = [40.383, 27.617, 18.117, 16.002, 11.446, 12.826, 6.17877, 10.103, 5.782, 6.214, 6.996, 1.589]
    ours = dissonance_curve(series(6), 1 / np.arange(1, 7), 100 * np.arange(1, 13))
    assert stats.spearmanr(ours, printed).statistic > 0.9


def test_roughness_adds_up_over_pairs() -> None:
    rng = np.random.default_rng(0)
    f, a = rng.uniform(100, 2000, 12), rng.uniform(0, 1, 12)
    pairs = [roughness([f[i], f[j]], [a[i], a[j]]) for i in range(12) for j in range(i)]
    assert roughness(f, a) == pytest.approx(sum(pairs))


def test_the_order_of_partials_and_a_common_gain_do_not_matter() -> None:
    rng = np.random.default_rng(1)
    f, a = rng.uniform(50, 5000, 30), rng.uniform(0, 1, 30)
    shuffled = rng.permutation(30)
    assert roughness(f[shuffled], a[shuffled]) == pytest.approx(roughness(f, a))
    assert roughness(f, 3 * a) == pytest.approx(3 * roughness(f, a))
    assert roughness([*f, 440], [*a, 0]) == pytest.approx(roughness(f, a))


def test_one_partial_or_none_is_smooth() -> None:
    assert roughness([440], [1]) == 0
    assert roughness([], []) == 0
    assert roughness([440, 440], 1) == 0


def test_many_sounds_at_once_are_as_each_alone() -> None:
    rng = np.random.default_rng(2)
    f, a = rng.uniform(50, 5000, (3, 4, 9)), rng.uniform(0, 1, (4, 9))
    many = roughness(f, a)
    assert many.shape == (3, 4)
    assert many[2, 1] == pytest.approx(roughness(f[2, 1], a[1]))
    assert many[0, 3] == pytest.approx(roughness(f[0, 3], a[3]))


def test_more_sounds_than_are_worked_on_together_are_all_there() -> None:
    """Five thousand intervals of 8 partials make several blocks; each is what it is alone."""
    grid = np.linspace(0, 1200, 5000)
    curve = dissonance_curve(series(8), fading(8), grid)
    for index in (0, 1023, 1024, 4999):
        assert curve[index] == pytest.approx(dissonance_curve(series(8), fading(8), grid[index]))


def test_a_plane_holds_the_roughness_of_each_triad() -> None:
    a, b = np.array([0.0, 316, 386, 400, -150]), np.array([702.0, 700, 969, 386])
    plane = dissonance_plane(series(8), fading(8), a, b)
    for i, second in enumerate(a):
        for j, third in enumerate(b):
            tones = np.concatenate([series(8) * ratio_from_cents(each) for each in (0.0, second, third)])
            assert plane[i, j] == pytest.approx(roughness(tones, np.tile(fading(8), 3)), rel=1e-12)


def test_a_plane_is_the_same_from_either_side() -> None:
    grid = np.arange(0, 1201, 40.0)
    plane = dissonance_plane(series(8), fading(8), grid, grid)
    np.testing.assert_allclose(plane, plane.T, rtol=1e-12)


def test_a_just_triad_is_smoother_than_the_same_in_twelve() -> None:
    """4:5:6 against 0, 400 and 700 cents: Helmholtz's point (*On the Sensations of Tone*, 1885, Part II, chapter X)."""
    plane = dissonance_plane(series(8), fading(8), [cents("5/4"), 400], [cents("3/2"), 700])
    assert plane[0, 0] == plane.min() < plane[1, 1]


def test_a_plane_takes_little_memory_beyond_itself() -> None:
    grid = np.arange(0, 1201, 2.5)
    tracemalloc.start()
    try:
        plane = dissonance_plane(series(8), fading(8), grid, grid)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 3 * plane.nbytes


@pytest.mark.parametrize(
    ("frequencies", "amplitudes", "match"),
    [
        ([440, 0], 1, "0 Hz"),
        ([440, -1], 1, "0 Hz"),
        ([440, math.nan], 1, "finite"),
        ([440, 880], [1, -1], "0 or more"),
        ([440, 880], [1, 2, 3], "one amplitude for each partial"),
        ([440, 880], [1, math.inf], "finite"),
        (440, 1, "row"),
        (["A4"], 1, "number"),
    ],
)
def test_bad_partials_are_refused(frequencies: Any, amplitudes: Any, match: str) -> None:
    for call in (roughness, lambda f, a: dissonance_curve(f, a, 0), lambda f, a: dissonance_plane(f, a, [0], [0])):
        with pytest.raises(ValueError, match=match):
            call(frequencies, amplitudes)


def test_bad_intervals_are_refused() -> None:
    with pytest.raises(ValueError, match="one row"):
        dissonance_curve([[440, 880]], 1, 0)
    with pytest.raises(ValueError, match="two rows"):
        dissonance_plane([440], 1, 0, [0])
    with pytest.raises(ValueError, match="finite"):
        dissonance_curve([440], 1, [0, math.nan])
    with pytest.raises(ValueError, match="thousand octaves"):
        dissonance_plane([440], 1, [1e9], [0])


def test_dips_are_those_that_scipy_finds() -> None:
    """scipy.signal.find_peaks and its prominence, upside down, on random walks with flat stretches."""
    rng = np.random.default_rng(3)
    for depth in (0.0, 1.0, 3.0):
        for _ in range(50):
            curve = np.cumsum(rng.integers(-1, 2, 200)).astype(float)
            peaks, _ = signal.find_peaks(-curve, prominence=depth or None)
            np.testing.assert_array_equal(minima(curve, depth), peaks)


def test_a_curve_without_dips_has_none() -> None:
    for curve in ([], [1], [1, 1], [1, 2, 3], [3, 2, 1], [1, 2, 1]):
        assert minima(curve).size == 0


def test_minima_refuse_what_is_no_curve() -> None:
    for curve in ([[1, 2], [3, 4]], [1, math.nan, 2], 3, "low"):
        with pytest.raises(ValueError, match="curve"):
            minima(curve)
    with pytest.raises(ValueError, match="depth"):
        minima([1, 0, 1], depth=-1)


def test_partials_of_a_tempered_third_beat_as_tuners_count() -> None:
    """Common practice in tuning by beats: on C4 the third in twelve beats 10.38 times a second between partials 5 and
    4, and twice as fast an octave higher, between 10 and 8."""
    third = beating_partials(series(10), series(10, C4 * ratio_from_cents(400.0)), ratio="5/4")
    assert list(zip(third.lower, third.upper, strict=True)) == [(5, 4), (10, 8)]
    np.testing.assert_allclose(third.rate, [10.3824, 20.7648], atol=1e-4)
    assert third.hertz[0] == pytest.approx(5 * C4, rel=0.01)
    assert third.rate[0] == pytest.approx(beat_rate(C4, C4 * ratio_from_cents(400.0), "5/4"))


def test_partials_beat_within_a_critical_band_and_no_further() -> None:
    """Zwicker's band round 1 kHz is 160 Hz wide: 920 and 1080 Hz share one, 900 and 1100 Hz do not."""
    assert beating_partials([920], [1080]).rate.tolist() == [160.0]
    assert beating_partials([900], [1100]).size == 0
    every = beating_partials(series(8), series(8, 1.26 * C4))
    apart = np.abs(np.subtract.outer(series(8), series(8, 1.26 * C4)))
    assert every.size == (apart <= critical_bandwidth(np.add.outer(series(8), series(8, 1.26 * C4)) / 2)).sum()


def test_the_weaker_partial_gives_the_beats_their_strength() -> None:
    """Two sines of amplitudes 1 and 0.3 swell to 1.3 and sink to 0.7."""
    pair = beating_partials([440], [444], [1.0], [0.3])
    seconds = np.arange(48_000) / 48_000
    envelope = np.abs(np.exp(2j * np.pi * 440 * seconds) + 0.3 * np.exp(2j * np.pi * 444 * seconds))
    assert pair.strength[0] == pytest.approx((envelope.max() - envelope.min()) / 2, abs=1e-6)
    assert pair.rate[0] == 4


def test_coinciding_partials_do_not_beat() -> None:
    fifth = beating_partials(200.0 * np.arange(1, 7), 300.0 * np.arange(1, 5), ratio="3/2")
    assert fifth.rate.tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        (([0], [440]), "0 Hz"),
        (([440], 440), "upper tone's"),
        (([440, 880], [441], [1, 2, 3]), "lower tone's"),
        (([440], [441], 1, -1), "upper tone is below 0"),
        (([440], [441], 1, 1, "loud"), "ratio"),
    ],
)
def test_bad_tones_cannot_beat(arguments: tuple[Any, ...], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        beating_partials(*arguments)
