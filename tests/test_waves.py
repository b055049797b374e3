"""Pictures of waves: what is drawn is where the numbers say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.text import Text

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.inches import near_note, with_note
from tunelib.exhibits.waves import SPEED_OF_SOUND
from tunelib.show.stage import Stage

SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def shown(name: str, size: str = "panel", seconds: float | None = None, **values: Any) -> dict[str, Any]:
    """The artists of an exhibit's parts at some knob values, silent or so many seconds into its sound."""
    exhibit = EXHIBITS[name]
    stage = Stage(exhibit, size)
    stage._scene.update(**exhibit.settle(values))
    stage._scene.light(Playing(seconds))
    assert set(stage._scene.parts) == set(exhibit.parts)
    return dict(stage._scene.parts)


@pytest.mark.parametrize(
    ("hertz", "words"),
    [
        (220, "A3, 220 Hz"),
        (880 / 3, "293.3 Hz, 2 cents below D4"),
        (466.164, "B♭4, 466.2 Hz"),
        (444, "444 Hz, 16 cents above A4"),
    ],
)
def test_hertz_have_the_name_of_their_note(hertz: float, words: str) -> None:
    """A pure fifth, 702 cents, under A4 is 2 cents below D4; 444 Hz is 15.7 cents above A4."""
    assert with_note(hertz) == words


@pytest.mark.parametrize(
    ("hertz", "words"),
    [
        (220, "A3, 220 Hz"),
        (440 * 2 ** (24.5 / 1200), "446.3 Hz, a little above A4"),
        (440 * 2 ** (-25.5 / 1200), "433.6 Hz, well below A4"),
    ],
)
def test_the_first_pictures_name_a_note_without_cents(hertz: float, words: str) -> None:
    assert near_note(hertz) == words


@pytest.mark.parametrize("name", ["wave", "beats", "shared_peaks", "harmonic_ladder", "recipe"])
def test_no_picture_says_cents_before_they_are_taught(name: str) -> None:
    """Of all the text on the stage, as it is at first: cents come with step 8."""
    stage = Stage(EXHIBITS[name], "panel")
    stage._scene.update(**EXHIBITS[name].settle({}))
    words = [text.get_text() for text in stage.figure.findobj(Text) if text.get_visible()]
    assert any(words) and not [text for text in words if "cent" in text]


@SHAPES
@pytest.mark.parametrize(("hertz", "moment"), [(220, 0.6), (440, 0.0), (110, 0.4), (1760, 0.5)])
def test_air_is_crowded_where_the_pressure_is_high(size: str, hertz: float, moment: float) -> None:
    """Crests of the curve are under the crowds, and the bracket goes from one to the next: a wavelength, v / f."""
    parts = shown("wave", size, hertz=hertz, moment=moment, level=100)
    [dots], (curve, *_), (bracket, _) = parts["air"], parts["pressure"], parts["wave"]
    along, height = curve.get_data()
    left, right = along[0], along[-1]
    metre = (right - left) / {"panel": 3.0}.get(size, 2.0)
    crests = along[1:-1][(height[1:-1] > height[:-2]) & (height[1:-1] > height[2:])]
    counts, edges = np.histogram(dots.get_xdata(), np.linspace(left, right, 241))
    near = np.interp(crests, (edges[:-1] + edges[1:]) / 2, np.convolve(counts, np.ones(3) / 3, "same"))
    assert near.size and near.min() > 1.5 * counts.mean()
    first, last = bracket.get_xdata()[[0, -1]]
    assert (last - first) / metre == pytest.approx(SPEED_OF_SOUND / hertz)
    for end in (first, last):
        if crests.min() <= end <= crests.max():
            assert np.abs(crests - end).min() < 0.02


def test_marked_specks_stay_on_their_rails() -> None:
    """Through a whole wave, in its sound, each sways from one end of its rail to the other and no farther."""
    seen = []
    for seconds in np.linspace(0, 2, 41):
        specks, rails = shown("wave", seconds=float(seconds))["specks"]
        seen.append(specks.get_xdata())
    low, high = np.min(seen, axis=0), np.max(seen, axis=0)
    ends = rails.get_xdata().reshape(3, 3)[:, :2]
    assert low == pytest.approx(ends[:, 0], abs=0.02) and high == pytest.approx(ends[:, 1], abs=0.02)
    assert np.all(low >= ends[:, 0] - 1e-9) and np.all(high <= ends[:, 1] + 1e-9)


@SHAPES
@pytest.mark.parametrize(("lower", "difference", "moment"), [(440, 3, 0.44), (110, 20, 1.31), (220, 0.4, 1.0)])
def test_the_arrow_goes_from_one_crest_to_the_other(size: str, lower: float, difference: float, moment: float) -> None:
    """By as much of a wave as the second tone has gained: difference times moment, whole waves left out."""
    parts = shown("beats", size, lower=lower, difference=difference, moment=moment)
    [low, *_], [high, *_], [arrow, words] = parts["held"], parts["slipping"], parts["lead"]
    along, (tail, head) = low.get_xdata(), arrow.get_xdata()
    for line, end in ((low, tail), (high, head)):
        height = line.get_ydata()
        assert np.interp(end, along, height) == pytest.approx(height.max(), abs=0.01 * np.ptp(height))
    wave = (along[-1] - along[0]) / {"panel": 6, "vertical": 4, "square": 4}[size] * lower / (lower + difference)
    assert (tail - head) / wave == pytest.approx(difference * moment % 1)
    assert words.get_text() == f"{round(difference * moment % 1, 2):g} of a wave ahead"


def test_the_swell_is_that_of_the_two_tones_together() -> None:
    """Its outline is the envelope of the sum that is heard; a mark is on each beat, at multiples of 1 / difference."""
    parts = shown("beats", difference=2.5, moment=1.1)
    whole, heard, *_ = parts["sum"]
    upper = whole.get_xy()[:1201]
    seconds = (upper[:, 0] - upper[0, 0]) / np.ptp(upper[:, 0]) * 2
    fine = np.arange(0, 2, 1 / 48000)
    tones = np.abs(np.sin(2 * np.pi * 440 * fine) + np.sin(2 * np.pi * 442.5 * fine)) / 2
    low, high = np.min(whole.get_xy()[:, 1]), np.max(whole.get_xy()[:, 1])
    strength = (upper[:, 1] - (low + high) / 2) / ((high - low) / 2)
    peaks = np.array([tones[(fine > second - 0.002) & (fine < second + 0.002)].max() for second in seconds[5:-5:40]])
    assert strength[5:-5:40] == pytest.approx(peaks, abs=0.03)
    passed, coming = ((marks.get_xdata() - upper[0, 0]) / np.ptp(upper[:, 0]) * 2 for marks in parts["beats"])
    assert passed == pytest.approx([0, 0.4, 0.8]) and coming == pytest.approx([1.2, 1.6, 2.0])
    [now] = parts["playhead"]
    assert (now.get_xdata()[0] - upper[0, 0]) / np.ptp(upper[:, 0]) * 2 == pytest.approx(1.1)
    assert heard.get_xy()[:, 0].max() == pytest.approx(now.get_xdata()[0])


@pytest.mark.parametrize("difference", [0.5, 3.0, 3.1, 20.0])
def test_waves_slip_past_slowly_enough_to_be_followed(difference: float) -> None:
    """In time with the sound up to 3 a second; beyond, slower by a whole number that is said, and never faster."""
    dots = [
        shown("beats", difference=difference, seconds=seconds)["playhead"][0].get_xdata()[0] for seconds in (0, 0.3)
    ]
    slower = {0.5: 1, 3.0: 1, 3.1: 2, 20.0: 7}[difference]
    assert (dots[1] - dots[0]) / 8.7 * 2 == pytest.approx(0.3 / slower)
    assert difference / slower <= 3


RATIOS = {"octave 2:1": (2, 1), "fifth 3:2": (3, 2), "minor third 6:5": (6, 5), "fifteenth 4:1": (4, 1)}


@SHAPES
@pytest.mark.parametrize("interval", RATIOS)
@pytest.mark.parametrize(("off", "moment"), [(0.0, 0.7), (0.5, 0.3), (-2.0, 1.1)])
def test_posts_go_from_peak_to_peak(size: str, interval: str, off: float, moment: float) -> None:
    """Each mark is on a peak of its wave; in tune all posts are upright, out of tune they lean by what has slipped."""
    over, under = RATIOS[interval]
    parts = shown("shared_peaks", size, interval=interval, off=off, moment=moment)
    top, *_ = parts["upper"]
    lower_once, _ = parts["lower"]
    _, upper_ring, lower_ring = parts["posts"]
    for ring, wave in ((upper_ring, top), (lower_ring, lower_once)):
        places, heights = ring.get_data()
        assert heights == pytest.approx(np.max(wave.get_ydata()), abs=0.01)
        seen = places <= wave.get_xdata()[-1] + 1e-9
        assert sum(seen) >= 2
        assert np.interp(places[seen], *wave.get_data()) == pytest.approx(heights[seen], abs=0.02)
    feet, tips = lower_ring.get_xdata(), upper_ring.get_xdata()
    if not off:
        assert tips == pytest.approx(feet)
    wave = np.ptp(lower_once.get_xdata()) / under
    slipped = (feet - tips) / wave * (over / under + off / 110)
    times = moment + np.arange(feet.size) * under / 110
    assert np.cos(2 * np.pi * slipped) == pytest.approx(np.cos(2 * np.pi * off * times), abs=1e-6)
    counts = [text for text in parts["counts"] if text.get_visible()]
    assert [text.get_text() for text in counts[:over]] == [str(n) for n in range(1, over + 1)]
    for text in counts[:over]:
        assert np.interp(text.get_position()[0], *top.get_data()) == pytest.approx(np.max(top.get_ydata()), abs=0.02)
    for text in counts[over:]:
        place, height = text.get_position()
        assert np.interp(place, *lower_once.get_data()) == pytest.approx(np.max(lower_once.get_ydata()), abs=0.02)
        assert height < np.min(lower_once.get_ydata())


def test_a_pattern_is_marked_only_where_peaks_meet() -> None:
    """In tune always; 1 Hz off after half a second not, after a second again."""
    at = {
        (off, moment): shown("shared_peaks", off=off, moment=moment)["pattern"][0].get_visible()
        for off, moment in ((0.0, 0.5), (1.0, 0.5), (1.0, 1.0))
    }
    assert list(at.values()) == [True, False, True]
