"""Every exhibit, at its default, its corners and random places: what must hold for all that can be shown."""

from __future__ import annotations

import hashlib
import inspect
import itertools
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from tunelib.exhibits import EXHIBITS, find_exhibit
from tunelib.exhibits.exhibit import Choice, Exhibit, Knob, Slider, Switch
from tunelib.exhibits.look import THEMES
from tunelib.show import panel, still
from tunelib.show.stage import SIZES, Stage
from tunelib.sound import REFERENCE_LOUDNESS, loudness

EVERY = pytest.mark.parametrize("exhibit", EXHIBITS.values(), ids=EXHIBITS)
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])

LOUDNESS_KNOBS = {"wave": ("level",)}  # what they change is how loud it is


def settings(exhibit: Exhibit, extra: int = 8) -> list[dict[str, Any]]:
    """The default, each knob at each corner, all low, all high, and a few random settings, less those that clash."""
    found = [exhibit.settle({})]
    for knob in exhibit.knobs:
        found += corners(exhibit, knob)
    found += [{knob.name: knob.corners[end] for knob in exhibit.knobs} for end in (0, 1)]
    dice = np.random.default_rng(len(exhibit.name))
    for _ in range(extra):
        found.append({knob.name: anywhere(knob, dice) for knob in exhibit.knobs})
    return [exhibit.settle(values) for values in found if not exhibit.clash(**exhibit.checked(values))]


def corners(exhibit: Exhibit, knob: Knob) -> list[dict[str, Any]]:
    """The settings with one knob at each of its corners and the others at their defaults, less those that clash."""
    default = exhibit.settle({})
    found = [default | {knob.name: corner} for corner in dict.fromkeys(knob.corners)]
    return [values for values in found if not exhibit.clash(**values)]


def anywhere(knob: Any, dice: np.random.Generator) -> Any:
    """A random value of a knob: of a slider that moves on smoothly, at a stop or between two."""
    if isinstance(knob, Slider):
        if knob.logarithmic:
            return float(np.exp(dice.uniform(np.log(knob.low), np.log(knob.high))))
        if not knob.whole and dice.integers(2):
            return float(dice.uniform(knob.low, knob.high))
        steps = round((knob.high - knob.low) / knob.step)
        return knob.check(knob.low + knob.step * int(dice.integers(steps + 1)))
    if isinstance(knob, Choice):
        return knob.options[int(dice.integers(len(knob.options)))]
    return bool(dice.integers(2))


def boxes(stage: Stage) -> list[tuple[str, Any]]:
    """Every text that is drawn, with its box in pixels."""
    renderer = stage.canvas.get_renderer()
    hidden = set()
    for axes in stage.figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not axes.axison or not low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    hidden |= {tick.label1, tick.label2}
            if not axes.axison:
                hidden |= {axis.label, axis.offsetText}
    return [(text.get_text(), text.get_window_extent(renderer)) for text in stage.texts() if text not in hidden]


def assert_clear(found: list[tuple[str, Any]], size: tuple[int, int], values: dict[str, Any] | None = None) -> None:
    """Each text is within a picture of a size in pixels, and clear of every other; `values` is where a failure was."""
    assert found
    width, height = size
    for words, box in found:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= width and box.y1 <= height, (words, values)
    for (one, box), (other, box2) in itertools.combinations(found, 2):
        apart = box.x1 <= box2.x0 + 1 or box2.x1 <= box.x0 + 1 or box.y1 <= box2.y0 + 1 or box2.y1 <= box.y0 + 1
        assert apart, (one, other, values)


@dataclass(frozen=True)
class Sight:
    """What is seen at a setting of the knobs: a digest of the pixels and, on the way there, every text with its box."""

    values: dict[str, Any]
    pixels: bytes
    boxes: list[tuple[str, Any]]


@cache
def walk(name: str, size: str = "panel", backwards: bool = False) -> list[Sight]:
    """One stage, laid out once, moved through all `settings` of an exhibit; what is seen there, in their order."""
    exhibit = EXHIBITS[name]
    stage, found = Stage(exhibit, size), []
    for values in reversed(settings(exhibit)) if backwards else settings(exhibit):
        stage.move(values)
        pixels = hashlib.sha256(stage.pixels()).digest()
        found.append(Sight(values, pixels, [] if backwards else boxes(stage)))
    return found[::-1] if backwards else found


@EVERY
@SHAPES
def test_no_text_overlaps_or_is_cut_off(exhibit: Exhibit, size: str) -> None:
    """At every setting."""
    for sight in walk(exhibit.name, size):
        assert_clear(sight.boxes, SIZES[size].pixels, sight.values)


@EVERY
@SHAPES
def test_text_can_be_read_from_the_back_row(exhibit: Exhibit, size: str) -> None:
    """No type is smaller than 28 pixels where the short side of the picture has 1080."""
    assert min(SIZES["1080p"].pixels) == min(SIZES["vertical"].pixels) == min(SIZES["square"].pixels) == 1080
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle({}))
    for text in stage.texts():
        assert text.get_fontsize() / 72 * SIZES["1080p"].dpi >= 28, text.get_text()


@pytest.mark.parametrize("name", ["tempering", "the_gap", "closing_the_circle", "ring_of_31"])
@SHAPES
def test_circles_are_round(name: str, size: str) -> None:
    """A unit across is as many pixels as a unit up, in every shape of picture."""
    stage = Stage(EXHIBITS[name], size)
    axes = stage.figure.axes[0]
    (left, low), (right, high) = axes.transData.transform([(-1, -1), (1, 1)])
    assert right - left == pytest.approx(high - low, rel=0.002)


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of relative luminance and contrast ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2)."""
    channels = np.array(to_rgb(colour))
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


@EVERY
def test_words_have_a_halo_where_what_is_behind_them_is_unknown(exhibit: Exhibit) -> None:
    """Every text of a transparent picture brings its own background."""
    stage = Stage(exhibit, theme="transparent")
    stage.move(exhibit.settle({}))
    for text in stage.texts():
        assert text.get_path_effects(), f"{text.get_text()!r} has no halo"


def test_contrast_is_reckoned_as_published() -> None:
    """Black on white is 21 (WCAG 2.2); Okabe and Ito's blue on white 5.19, their bluish green 3.42 (by its formula)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#0072B2", "#FFFFFF") == pytest.approx(5.19, abs=0.005)
    assert contrast("#009E73", "#FFFFFF") == pytest.approx(3.42, abs=0.005)


def says(sentence: str, knob: Slider, value: float) -> bool:
    """Whether a number in a sentence is the value: to within half a step of its slider, where it is between two."""
    half = value * (2 ** (0.5 / knob.step) - 1) if knob.logarithmic else 0 if knob.whole else 0.5 * knob.step
    numbers = [float(Fraction(number)) for number in re.findall(r"\d+(?:\.\d+|/\d+)?", sentence)]
    return min(abs(number - value) for number in numbers) <= half + 1e-9


@EVERY
def test_sentence_says_what_the_picture_shows(exhibit: Exhibit) -> None:
    """The sentence is one sentence, names every number that is set, and changes with every knob."""
    for values in settings(exhibit):
        sentence = exhibit.sentence(**values)
        assert sentence.endswith(".") and sentence[0].isupper() and "  " not in sentence
        for knob in exhibit.knobs:
            untempered = knob.name == "fraction" and re.search("eleven fifths pure|With pure fifths", sentence)
            nothing = knob.name in ("off", "difference", "turned") or untempered  # "nothing beats"
            in_words = nothing and not values[knob.name]
            if isinstance(knob, Slider) and not in_words:
                assert says(sentence, knob, abs(values[knob.name])), (knob.name, values, sentence)
    for knob in exhibit.knobs:
        said = {exhibit.sentence(**values) for values in corners(exhibit, knob)}
        assert len(said) == len(corners(exhibit, knob)) > 1, f"{knob.name} does not show in the sentence"


@EVERY
def test_picture_changes_with_every_knob(exhibit: Exhibit) -> None:
    """No knob is idle."""
    for knob in exhibit.knobs:
        places = corners(exhibit, knob)
        seen = {sight.pixels for sight in walk(exhibit.name) if sight.values in places}
        assert len(seen) == len(places) > 1, knob.name


@EVERY
def test_a_move_leaves_nothing_behind(exhibit: Exhibit) -> None:
    """Whatever was shown before, the picture is the same to the pixel, and the same as one laid out afresh.

    All settings are shown there and back, so that of any two each comes before the other once. The way there begins at
    the default on a stage laid out afresh, the way back at the last setting.
    """
    for there, back in zip(walk(exhibit.name), walk(exhibit.name, backwards=True), strict=True):
        assert there.values == back.values
        assert there.pixels == back.pixels, there.values


@EVERY
@pytest.mark.parametrize("theme", THEMES)
def test_picture_is_on_its_paper(exhibit: Exhibit, theme: str) -> None:
    """The corners show the theme's paper, or nothing where it is transparent; something is drawn elsewhere."""
    stage = Stage(exhibit, theme=theme)
    stage.move(exhibit.settle({}))
    pixels = stage.pixels()
    paper = THEMES[theme].paper
    for corner in (pixels[0, 0], pixels[-1, 0], pixels[0, -1], pixels[-1, -1]):
        if paper is None:
            assert corner[3] == 0
        else:
            assert tuple(corner[:3]) == tuple(round(255 * c) for c in to_rgb(paper))
    assert np.ptp(pixels[..., :3].astype(int), axis=(0, 1)).min() > 100


@EVERY
def test_sound_is_safe_clean_and_as_loud_as_every_other(exhibit: Exhibit) -> None:
    """Peak at or under -12 dBFS, silence at both ends, no leap from silence, and the one loudness.

    With everything within half a LU of that (ITU-R BS.1770-4), no two sounds are as much as 3 LU apart. A knob that is
    there to make a sound louder or softer, at another place than its default, is the only reason for another loudness.
    """
    for values in settings(exhibit, extra=2):
        samples = exhibit.sound(**values)
        if all(values[name] == exhibit.settle({})[name] for name in LOUDNESS_KNOBS.get(exhibit.name, ())):
            assert loudness(samples) == pytest.approx(REFERENCE_LOUDNESS, abs=0.5), values
        peak = np.abs(samples).max()
        assert 1e-4 < peak <= 10 ** (-12 / 20) + 1e-12, values
        assert samples[0] == 0 and samples[-1] == 0
        assert np.abs(samples[:24]).max() < 0.05 * peak and np.abs(samples[-24:]).max() < 0.05 * peak
        assert np.all(np.isfinite(samples))


@EVERY
def test_knobs_refuse_what_they_cannot_take(exhibit: Exhibit) -> None:
    """A wrong value or name is refused with the knob's name and what would be right."""
    with pytest.raises(ValueError, match="no knob is called 'shininess'; (did you mean|known are)"):
        exhibit.settle({"shininess": 1})
    for knob in exhibit.knobs:
        wrong: list[Any] = [None, "loud", float("nan")]
        if isinstance(knob, Slider):
            wrong += [knob.low - 1, knob.high + 1, True]
            if knob.whole:
                wrong.append(knob.low + 0.5)
        if isinstance(knob, Switch):
            wrong.append(1)
        for value in wrong:
            with pytest.raises(ValueError, match=knob.name):
                exhibit.settle({knob.name: value})


def test_an_unknown_exhibit_is_refused_with_the_nearest() -> None:
    """A slip of the pen gets the right name back."""
    with pytest.raises(ValueError, match="no exhibit is called 'waev'; did you mean wave"):
        find_exhibit("waev")


def test_names_titles_and_defaults_are_in_order() -> None:
    """Every exhibit is asked for by its own name, and its defaults are within its bounds."""
    for name, exhibit in EXHIBITS.items():
        assert exhibit.name == name and exhibit.title
        assert exhibit.settle({}) == {knob.name: knob.default for knob in exhibit.knobs}
        assert len({knob.label for knob in exhibit.knobs}) == len(exhibit.knobs)
        taken = {*inspect.signature(still).parameters, *inspect.signature(panel).parameters}
        assert not taken & {knob.name for knob in exhibit.knobs}, "a knob has the name of a setting of panel or still"


def test_recipes_are_compared_at_one_loudness() -> None:
    """Whatever the recipe, the tone has the same loudness (ITU-R BS.1770-4), so that only the timbre differs."""
    recipe = EXHIBITS["recipe"]
    for sound, kept in itertools.product(("flute", "square", "plucked", "organ"), (1, 16)):
        heard = loudness(recipe.sound(**recipe.settle({"sound": sound, "kept": kept})))
        assert heard == pytest.approx(REFERENCE_LOUDNESS, abs=0.1)


def test_strength_is_heard_as_it_is_seen() -> None:
    """Twice the height of a wave is 6.02 dB, wherever it is heard (by the definition of the decibel)."""
    wave = EXHIBITS["wave"]
    for hertz in (55, 220, 1760):
        soft, usual, strong = (loudness(wave.sound(hertz=hertz, level=level, moment=0)) for level in (30, 60, 90))
        assert usual - soft == pytest.approx(6.02, abs=0.01)
        assert strong - usual == pytest.approx(3.52, abs=0.01)


def test_every_default_is_a_stop_of_its_slider() -> None:
    """A learner who has moved a slider can come back to where it stood, and reach its very end."""
    for exhibit in EXHIBITS.values():
        for knob in exhibit.knobs:
            if isinstance(knob, Slider):
                for value in (knob.default, knob.high):
                    way = np.log2(value / knob.low) if knob.logarithmic else value - knob.low
                    steps = way * knob.step if knob.logarithmic else way / knob.step
                    assert steps == pytest.approx(round(steps), abs=1e-6), (exhibit.name, knob.name, value)
