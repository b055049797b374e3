"""Flashes are counted as the Web Content Accessibility Guidelines 2.2 define them: general and red."""

from __future__ import annotations

import numpy as np
import pytest

from tunelib.show.flashes import FlashMeter

BLACK, WHITE = (0, 0, 0), (255, 255, 255)


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
    """Pure red to a dark blue-green of nearly its luminance differs in colour alone, and is refused all the same."""
    red, like_it = (150, 0, 0), (0, 68, 68)
    assert flashes_too_much(red, like_it, 8)
    assert not flashes_too_much((0, 100, 0), (68, 68, 68), 8), "green is no red flash"


def test_slow_fades_count_as_well_as_cuts() -> None:
    """What matters is how often it goes up and down, not how suddenly."""
    for rate, refused in ((2.5, False), (5, True)):
        meter = FlashMeter(60)
        grey = [np.full((54, 96, 4), 255, np.uint8) for _ in range(180)]
        for number, frame in enumerate(grey):
            frame[..., :3] = round(127.5 - 127.5 * np.cos(2 * np.pi * rate * number / 60))
        assert any([meter.add(frame) for frame in grey]) == refused


def test_travelling_lines_are_no_flash() -> None:
    """A grating that moves brightens as much as it darkens, everywhere: a balanced pattern."""
    meter = FlashMeter(30)
    across = np.arange(384)
    found = []
    for number in range(90):
        frame = np.full((216, 384, 4), 255, np.uint8)
        frame[..., :3] = np.where((across + 7 * number) // 12 % 2, 255, 0)[:, np.newaxis]
        found.append(meter.add(frame))
    assert not any(found)


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
