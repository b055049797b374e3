"""The pictures of held chords: what is drawn is where, and as much as, the numbers say."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.colors import to_hex

from tunelib.exhibits import EXHIBITS, THEMES, Look, Scene
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.harmony import chord_roughness
from tunelib.hearing import roughness
from tunelib.pitch import Note, cents, equal
from tunelib.show.stage import Stage

CHORDS = ("five_thirds", "two_sevenths", "growing_chord", "spread_chord")
C3 = Note.parse("C3").hz(equal(31))


def laid_out(name: str, size: str = "panel", **values: Any) -> Scene:
    """The scene of an exhibit at some knob values."""
    exhibit = EXHIBITS[name]
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle(values))
    return stage._scene


def words(artists: Sequence[Artist]) -> list[str]:
    """What visible texts say."""
    return [artist.get_text() for artist in artists if artist.get_visible() and hasattr(artist, "get_text")]


def triad_roughness(third: float, root: float) -> float:
    """How rough a triad of the fifth of thirty-one is, of eight partials a note."""
    hertz = root * 2 ** (np.array([0, third, 18 * 1200 / 31]) / 1200)
    partials = (hertz[:, np.newaxis] * np.arange(1, 9)).ravel()
    return float(roughness(partials, np.tile(0.88 ** np.arange(8), 3)))


@pytest.mark.parametrize("name", CHORDS)
@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
def test_parts_that_can_be_pointed_at_are_there(name: str, size: str) -> None:
    """Each part has artists, each stage of a build has parts, and light leaves a silent picture as it is."""
    exhibit = EXHIBITS[name]
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle({}))
    assert set(stage._scene.parts) == set(exhibit.parts)
    assert all(stage._scene.parts.values())
    assert {part for stage_of in exhibit.builds for part in stage_of} <= set(exhibit.parts)
    before = stage.pixels().copy()
    stage._scene.light(Playing(0.3, (0,)))
    stage._scene.light(SILENT)
    for artist in stage._scene.moving:
        assert artist.get_figure() is not None
    stage.canvas.restore_region(stage._still)
    stage.move(exhibit.settle({}))
    assert np.array_equal(stage.pixels(), before)


@pytest.mark.parametrize("root", [C3 / 2, 2 * C3, 4 * C3])
def test_thirds_are_planted_on_their_roughness(root: float) -> None:
    """Dots are on the ridge at 31st parts of an octave, as high over one another as they are rougher."""
    scene = laid_out("five_thirds", third=9, root=root)
    dots = scene.parts["thirds"][0]
    x, y = np.array(dots.get_data())  # type: ignore[attr-defined]
    assert x == pytest.approx(np.arange(7, 12) * 1200 / 31)
    rough = np.array([triad_roughness(third, root) for third in x])
    slope = np.polyfit(rough, y, 1)
    assert slope[0] > 0 and np.polyval(slope, rough) == pytest.approx(y, abs=0.01)
    [ridge] = [line for line in scene.parts["land"] if hasattr(line, "get_xdata") and len(line.get_xdata()) == 261]
    assert np.interp(x, *ridge.get_data()) == pytest.approx(y)  # type: ignore[attr-defined]


@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
@pytest.mark.parametrize("root", [C3 / 2, 2 * C3, 4 * C3])
def test_rough_is_written_in_a_hill_and_smooth_in_a_valley(size: str, root: float) -> None:
    """Both words are in the land, and what is called smooth is less rough than what is called rough."""
    scene = laid_out("five_thirds", size, root=root)
    [ridge] = [line for line in scene.parts["land"] if hasattr(line, "get_xdata") and len(line.get_xdata()) == 261]
    sizes, heights = ridge.get_data()  # type: ignore[attr-defined]
    rough, smooth = (text for text in scene.parts["land"] if words([text]))
    assert words([rough, smooth]) == ["rough", "smooth"]
    assert triad_roughness(rough.get_position()[0], root) > triad_roughness(10 * 1200 / 31, root)  # type: ignore[attr-defined]
    axes = ridge.axes
    assert axes is not None
    for text in (rough, smooth):
        box = text.get_window_extent().transformed(axes.transData.inverted())
        under = (sizes >= box.x0) & (sizes <= box.x1)
        assert box.y1 < heights[under].min(), text


def test_the_land_is_as_grainy_as_it_is_rough() -> None:
    """On C2 a triad is some three times as rough as on C4, and has as many times the grains."""
    counts = {}
    for root in (C3 / 2, 2 * C3):
        [grains] = [
            line
            for line in laid_out("five_thirds", root=root).parts["land"]
            if hasattr(line, "get_ydata") and len(line.get_ydata()) > 1000
        ]
        counts[root] = int((np.asarray(grains.get_ydata()) > 0).sum())
    rougher = triad_roughness(348, C3 / 2) / triad_roughness(348, 2 * C3)
    assert 3 < rougher < 4
    assert counts[C3 / 2] / counts[2 * C3] == pytest.approx(rougher, rel=0.15)


def test_the_chord_is_named_on_the_root_that_sounds() -> None:
    """Up a minor third, names move along: the neutral third of E flat is a G half-flat."""
    exhibit = EXHIBITS["five_thirds"]
    up = 2 * C3 * 2 ** (3 / 12)
    assert exhibit.numbers(third=9, root=up)["note"] == "G½♭"
    assert "On E♭4 (312.9 Hz) the triad E♭neu has the neutral third G½♭" in exhibit.sentence(third=9, root=up)
    assert exhibit.sentence(third=10, root=2 * C3).startswith("On C4 (263.1 Hz) the triad C has the major third E,")
    assert "On F3" in EXHIBITS["two_sevenths"].sentence(chord="C7 in 31", root=C3 * 2 ** (5 / 12))


@pytest.mark.parametrize("chord", ["pure 4:5:6:7", "Charm7 in 31", "C7 in 31", "C7 in 12"])
def test_threads_swing_once_for_each_beat(chord: str) -> None:
    """Along a thread, a quarter of a second, is one wave for each beat between the two harmonics that nearly meet."""
    scene = laid_out("two_sevenths", chord=chord, root=2 * C3)
    sizes = {"pure 4:5:6:7": [cents(Fraction(n, 4)) for n in (4, 5, 6, 7)], "C7 in 12": [0, 400, 700, 1000]}.get(
        chord, np.array([0, 10, 18, 25 if "harm" in chord else 26]) * 1200 / 31
    )
    hertz = 2 * C3 * 2 ** (np.array(sizes) / 1200)
    threads = [artist for artist in scene.parts["threads"] if hasattr(artist, "get_xdata")]
    pairs = [(i, j) for i in range(4) for j in range(i + 1, 4)]
    assert len(threads) == len(pairs)
    for (low, high), thread in zip(pairs, threads, strict=True):
        meet = Fraction(4 + high, 4 + low)
        beats = abs(hertz[low] * meet.numerator - hertz[high] * meet.denominator)
        x = np.asarray(thread.get_xdata())
        middle = x - x[0]
        turns = np.count_nonzero(np.diff(np.sign(middle[np.abs(middle) > 1e-9])))
        assert turns == pytest.approx(2 * beats / 4, abs=1.01)
    shown = float(words(scene.parts["beats"])[0])
    assert shown == pytest.approx(max(abs(hertz[i] * (4 + j) - hertz[j] * (4 + i)) for i, j in pairs), abs=0.06)


def test_threads_move_while_the_chord_sounds_and_rest_when_it_is_pure() -> None:
    """The worst thread runs on with the sound, as slowly as it says; pure threads stay straight."""
    for chord, moves in (("C7 in 31", True), ("pure 4:5:6:7", False)):
        scene = laid_out("two_sevenths", chord=chord)
        thread = scene.parts["threads"][5]
        before = np.array(thread.get_xdata())  # type: ignore[attr-defined]
        scene.light(Playing(0.2, (0, 1, 2, 3)))
        after = np.array(thread.get_xdata())  # type: ignore[attr-defined]
        assert bool(np.ptp(before - after) > 0.05) == moves
    slow = int(EXHIBITS["two_sevenths"].numbers(chord="C7 in 31", root=C3)["slower"])
    assert any(f"{slow} times slower" in text for text in words(scene.parts["threads"]))
    fastest = max(
        float(EXHIBITS["two_sevenths"].numbers(chord=chord, root=C3)["beats"]) for chord in ("C7 in 31", "C7 in 12")
    )
    assert 1 < fastest / slow < 2


def test_a_still_thread_shows_the_worst_pair_with_the_harmonic_seventh() -> None:
    """Straight, between the pure rungs of G and the seventh; chords that have that seventh need none."""
    scene = laid_out("two_sevenths", chord="C7 in 12")
    still, said = scene.parts["still"]
    x, y = np.array(still.get_data())  # type: ignore[attr-defined]
    rungs = [float(rung.get_ydata()[0]) for rung in scene.parts["rungs"][:4]]  # type: ignore[attr-defined]
    assert still.get_visible() and words([said]) == ["pure: 0"]
    assert np.ptp(x) == 0 and y == pytest.approx(rungs[2:])
    for chord in ("pure 4:5:6:7", "Charm7 in 31"):
        assert not laid_out("two_sevenths", chord=chord).parts["still"][0].get_visible()


@pytest.mark.parametrize(
    "tuned, symbol", [("31 steps", "Charm9(½♯11)"), ("pure", "Charm9(½♯11)"), ("12 steps", "C9(♯11)")]
)
def test_a_growing_chord_has_the_name_of_its_tuning(tuned: str, symbol: str) -> None:
    """Six harmonics are a harmonic ninth with a half-sharp eleventh; on a piano, a ninth with a sharp one."""
    numbers = EXHIBITS["growing_chord"].numbers(notes=6, tuned=tuned, root=C3)
    assert numbers["chord"] == symbol
    assert numbers["newest"] == "11"
    worst = {"31 steps": ("10.4", "9"), "12 steps": ("48.7", "11"), "pure": ("0", "4")}[tuned]
    assert (numbers["most"], numbers["farthest"]) == worst


@pytest.mark.parametrize("size", ["panel", "vertical"])
def test_notes_grow_out_of_the_root(size: str) -> None:
    """Notes to come wait at the root; those that sound are as far from it as their cents."""
    scene = laid_out("growing_chord", size, notes=3, tuned="31 steps")
    dots = scene.parts["notes"][7]
    places = np.array(dots.get_data())[1 if size == "vertical" else 0]  # type: ignore[attr-defined]
    assert places[3:] == pytest.approx(places[0])
    assert (places[1] - places[0]) / (places[2] - places[0]) == pytest.approx(10 / 18)


def test_a_symbol_does_not_read_as_a_word() -> None:
    """A thin space is between a root and a family that is written as a word; its misses have a sign and a unit."""
    scene = laid_out("growing_chord", notes=4, tuned="31 steps")
    assert words(scene.parts["symbol"])[0] == "C\N{THIN SPACE}harm7"
    assert words(scene.parts["misses"]) == ["−5 cents"]
    assert words(laid_out("growing_chord", notes=4, tuned="12 steps").parts["symbol"])[0] == "C7"


@pytest.mark.parametrize("voicing, turned", [("spread", 0), ("open", 2), ("close", 0)])
def test_the_close_voicing_is_named_at_its_notes(voicing: str, turned: int) -> None:
    """Rings are where the close voicing has notes that this one has not; the word is among them, or not there."""
    scene = laid_out("spread_chord", voicing=voicing, turned=turned)
    rings, there = scene.parts["close"][2:]
    x = np.array(rings.get_xdata())  # type: ignore[attr-defined]
    x = x[~np.isnan(x)]
    assert there.get_visible() == bool(len(x)) == (voicing != "close")
    if len(x):
        assert x.min() - 1e-9 <= there.get_position()[0] <= x.max() + 1e-9  # type: ignore[attr-defined]


def test_ties_are_as_thick_as_their_notes_are_rough() -> None:
    """By the roughness of pairs of notes alone; pairs beyond the last note have none."""
    scene = laid_out("spread_chord", chord="Cmaj7", voicing="close")
    steps = [-31, -21, -13, -3]
    single = chord_roughness([[step] for step in steps], equal(31))
    shown = [tie for tie in scene.parts["ties"] if tie.get_visible()]
    pairs = [(i, j) for i in range(4) for j in range(i + 1, 4)]
    assert len(shown) == len(pairs)
    rough = [float(chord_roughness([[steps[i], steps[j]]], equal(31))[0]) - single[i] - single[j] for i, j in pairs]
    widths = np.array([tie.get_linewidth() for tie in shown])  # type: ignore[attr-defined]
    assert widths / widths[0] == pytest.approx(np.array(rough) / rough[0], rel=1e-6)


@pytest.mark.parametrize("voicing, turned, root", [("open", 3, 4 * C3), ("close", 0, C3 / 2), ("spread", 2, 2 * C3)])
def test_every_note_is_on_the_keys(voicing: str, turned: int, root: float) -> None:
    """However high and wide a chord is, the keys reach as far as its notes."""
    scene = laid_out("spread_chord", chord="Charm9", voicing=voicing, turned=turned, root=root)
    body = scene.parts["keys"][0].get_window_extent()
    for post in scene.parts["notes"]:
        if post.get_visible() and hasattr(post, "get_xdata"):
            box = post.get_window_extent()
            assert body.x0 - 1 <= box.x0 and box.x1 <= body.x1 + 1


def test_what_sounds_is_bright() -> None:
    """As the chord is rolled, notes that are still to come are dim."""
    scene = laid_out("spread_chord")
    posts = [artist for artist in scene.parts["notes"] if hasattr(artist, "get_linewidth")][:4]
    scene.light(Playing(0.4, (0, 1)))
    theme = Look(THEMES["light"]).theme
    assert [to_hex(post.get_color()).upper() for post in posts] == [  # type: ignore[attr-defined]
        theme.thirty_one.full, theme.thirty_one.full, theme.thirty_one.dim, theme.thirty_one.dim,
    ]  # fmt: skip


def test_the_ground_shakes_under_the_third_that_sounds() -> None:
    """Grains near it move while the chord sounds, those far away stay, and all are back when it is silent."""
    scene = laid_out("five_thirds", third=10)
    [grains] = [line for line in scene.parts["land"] if hasattr(line, "get_ydata") and len(line.get_ydata()) > 1000]
    x, before = np.array(grains.get_data())  # type: ignore[attr-defined]
    scene.light(Playing(0.7, (1,)))
    moved = np.abs(np.array(grains.get_ydata()) - before)
    near = np.abs(x - 10 * 1200 / 31) < 15
    assert moved[near].max() > 0.01 and moved[np.abs(x - 10 * 1200 / 31) > 20].max() < 1e-9
    scene.light(SILENT)
    assert np.array(grains.get_ydata()) == pytest.approx(before)
