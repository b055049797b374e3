"""Flashes are counted as the Web Content Accessibility Guidelines 2.2 define them: general and red."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from tunelib.exhibits import THEMES
from tunelib.film.flashes import FlashMeter

BLACK, WHITE = (0, 0, 0), (255, 255, 255)
RGB = {
    name: tuple(round(255 * part) for part in to_rgb(colour))
    for name, colour in (("twelve", THEMES["light"].twelve.full), ("thirty-one", THEMES["light"].thirty_one.full))
}


def flashes_too_much(
    one: tuple[int, ...], other: tuple[int, ...], rate: float, *, fps: int = 30, part: float = 1.0, seconds: float = 3
) -> bool:
    """Whether a picture is refused whose left part goes from one colour to the other and back `rate` times a second."""
    meter = FlashMeter(fps)
    plain = np.full((216, 384, 4), 255, np.uint8)
    plain[..., : len(one)] = one
    lit = plain.copy()
    lit[:, : round(384 * part), : len(other)] = other
    return any([meter.add(lit if int(2 * rate * i / fps) % 2 else plain) for i in range(round(seconds * fps))])


def shown(greys: Iterable[np.ndarray]) -> bool:
    """Whether pictures of these greys, thirty a second, are refused."""
    meter = FlashMeter(30)
    found = []
    for grey in greys:
        frame = np.full((*grey.shape, 4), 255, np.uint8)
        frame[..., :3] = grey[..., np.newaxis]
        found.append(meter.add(frame))
    return any(found)


@pytest.mark.parametrize("fps", [24, 25, 30, 50, 60])
def test_three_flashes_a_second_pass_and_four_do_not(fps: int) -> None:
    """The threshold is three flashes in any one second (2.3.1), whatever the rate of pictures."""
    assert not flashes_too_much(BLACK, WHITE, 3, fps=fps)
    assert flashes_too_much(BLACK, WHITE, 4, fps=fps)


def test_a_flash_changes_luminance_by_a_tenth_and_goes_below_eight_tenths() -> None:
    """Relative luminance 0.127 to 0.156 is too small a change; 0.83 to 1 too bright; 0.05 to 0.21 is a flash."""
    assert not flashes_too_much((100,) * 3, (110,) * 3, 8)
    assert not flashes_too_much((235,) * 3, WHITE, 8)
    assert flashes_too_much((64,) * 3, (128,) * 3, 8)


def test_a_small_place_may_flash() -> None:
    """A quarter of ten degrees of the visual field: a twelfth of the width is less, a sixth is more, at full height."""
    assert not flashes_too_much(BLACK, WHITE, 8, part=1 / 14)
    assert flashes_too_much(BLACK, WHITE, 8, part=1 / 6)


def test_saturated_red_is_a_flash_of_its_own() -> None:
    """Colours of nearly the same luminance differ in colour alone, and are refused all the same.

    Beside pure red, the vermilion and the blue that stand here for two tunings: red is 0.86 of the first, and they lie
    0.40 apart in the CIE 1976 diagram, although vermilion lies within 0.2 of white.
    """
    assert flashes_too_much((150, 0, 0), (0, 68, 68), 8)
    assert flashes_too_much(RGB["twelve"], RGB["thirty-one"], 4)
    assert not flashes_too_much(RGB["twelve"], RGB["thirty-one"], 3)
    assert not flashes_too_much((0, 100, 0), (68, 68, 68), 8), "green is no red flash"


def test_slow_fades_count_as_well_as_cuts() -> None:
    """What matters is how often it goes up and down, not how suddenly."""
    for rate, refused in ((2.5, False), (5, True)):
        meter = FlashMeter(60)
        grey = [np.full((54, 96, 4), 255, np.uint8) for _ in range(180)]
        for number, frame in enumerate(grey):
            frame[..., :3] = round(127.5 - 127.5 * np.cos(2 * np.pi * rate * number / 60))
        assert any([meter.add(frame) for frame in grey]) == refused


@pytest.mark.parametrize("side", [6, 20, 60, 108, 192])
@pytest.mark.parametrize("rows", [True, False], ids=["squares", "bars"])
def test_a_pattern_that_changes_places_flashes(side: int, rows: bool) -> None:
    """As much grows lighter as darker, and still every point flashes. Only squares below 0.1 degree are excepted there:
    a three-hundredth of the width, which is less than any of these."""
    down, across = np.mgrid[:216, :384] // side
    pattern = 255 * ((across + down * rows) % 2)
    for rate, refused in ((3, False), (4, True)):
        assert shown(pattern if int(2 * rate * number / 30) % 2 else 255 - pattern for number in range(60)) == refused


@pytest.mark.parametrize(("a_second", "refused"), [(2.5, False), (6, True)])
def test_bars_that_travel_flash_wherever_they_pass(a_second: float, refused: bool) -> None:
    """What counts is how often a bar passes by a point."""
    across = np.arange(384) - np.zeros((216, 1))
    assert shown(255 * ((across - number * a_second * 48 / 30) // 24 % 2) for number in range(60)) == refused


def test_thin_lines_that_travel_are_no_flash() -> None:
    """Five a second pass each point, but at no time does a quarter of the field grow lighter or darker together."""
    across = np.arange(384) - np.zeros((216, 1))
    assert not shown(np.where((across - number * 5 * 40 / 30) % 40 < 3, 0, 255) for number in range(60))


def test_parts_that_follow_one_another_quickly_flash_together() -> None:
    """Stripes on a fifth of the field, and as many a picture later: two fifths in all."""
    place = np.arange(384) % 30 + np.zeros((216, 1))
    for number_of_sets, refused in ((1, False), (2, True)):
        lit = [np.zeros((216, 384)) for _ in range(60)]
        for number, frame in enumerate(lit):
            for late in range(number_of_sets):
                of_these = (place >= 12 * late) & (place < 12 * late + 6)
                frame[of_these] = 255 * (max(0, number - late) // 3 % 2)
        assert shown(lit) == refused


def test_what_is_clear_is_seen_against_what_is_behind() -> None:
    """White that comes and goes over a clear ground flashes where black is behind it, and not before white."""
    for behind, refused in (((0, 0, 0), True), ((255, 255, 255), False)):
        meter = FlashMeter(30, behind)
        frames = [np.full((54, 96, 4), 255 * (number // 3 % 2), np.uint8) for number in range(60)]
        for frame in frames:
            frame[..., :3] = 255
        assert any([meter.add(frame) for frame in frames]) == refused


def test_a_picture_that_stays_is_taken_as_it_is() -> None:
    """`same` goes on counting time: flashes long ago are forgotten."""
    meter = FlashMeter(30)
    frames = [np.full((54, 96, 4), 255, np.uint8) for _ in (0, 1)]
    frames[0][..., :3] = 0
    for number in range(6):
        assert not meter.add(frames[number % 2])
    assert not any([meter.same() for _ in range(30)])
    for number in range(6):
        assert not meter.add(frames[number % 2])
    with pytest.raises(ValueError, match="no picture has been looked at yet"):
        FlashMeter(30).same()
