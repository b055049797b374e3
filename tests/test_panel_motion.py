"""A panel in motion: what is chosen glides, what sounds lights up, parts come on stage, the picture fits its page."""

from __future__ import annotations

import asyncio
import io
import json
from collections.abc import Iterator
from typing import Any, ClassVar

import numpy as np
import own_time
import pytest
from matplotlib.lines import Line2D
from PIL import Image

from tunelib.exhibits import EXHIBITS, SILENT, Choice, Exhibit, Knob, Look, Playing, Scene, Slider, Switch, Voicing
from tunelib.exhibits.exhibit import Canvas
from tunelib.live import exhibit_program, notes_at
from tunelib.score import Score, ScoreNote
from tunelib.show import Stage, panel
from tunelib.show.moving_picture import GLIDE_SECONDS, REST_SECONDS
from tunelib.sound import TIMBRES

SIDES = {"small": 20, "middling": 25, "large": 30}
ORDERS = {"up": (0, 1, 2, 3), "down": (3, 2, 1, 0)}


class Bells(Exhibit):
    """Four notes in one of two orders, each half a second after a silent one; a mark for each of the four."""

    name = "bells"
    title = "Bells"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("order", "Order", ("up", "down"), "up"),
        Choice("size", "Size", ("small", "middling", "large"), "small", ordered=True),
        Slider("height", "Height", 0.0, 10.0, 0.1, 2.0),
        Switch("filled", "Filled", False),
    )
    parts: ClassVar[dict[str, str]] = {"line": "the line", "marks": "the marks"}
    builds = (("line",), ("marks",))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set(xlim=(-1, 4), ylim=(-1, 11))
        line = axes.axhline(10, color="black", lw=8)
        marks = [Line2D([place], [0], marker="s", ms=20, color="grey") for place in range(4)]
        for mark in marks:
            axes.add_line(mark)
        now: dict[str, Any] = {}

        def update(order: str, size: str, height: float, filled: bool) -> None:
            now.update(order=order)
            for place, mark in zip(ORDERS[order], marks, strict=True):
                mark.set_data([place], [height])
                mark.set(
                    color="black" if filled else "grey", markersize=20 + 10 * ("smallmiddlinglarge".index(size) > 0)
                )

        def light(playing: Playing) -> None:
            sounding = {self.score(**now).notes[place].voice for place in playing.notes}
            for number, mark in enumerate(marks):
                if str(number) in sounding:
                    mark.set_color("red")

        return Scene(marks, update, light, {"line": [line], "marks": marks})

    def sentence(self, **values: Any) -> str:
        return f"The bells {values}."

    def score(self, *, order: str, **_: Any) -> Score:
        silent = ScoreNote(0, 0.5, 440.0, level=0)
        rung = (
            ScoreNote(0.5 + beat, 0.5, 440.0 + number, voice=str(number)) for beat, number in enumerate(ORDERS[order])
        )
        return Score((silent, *rung))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]


@pytest.fixture(autouse=True)
def bells() -> Iterator[Exhibit]:
    EXHIBITS["bells"] = shown = Bells()
    yield shown
    del EXHIBITS["bells"]


class Frames:
    """What a panel draws, one after another: settings, the way between two, and what sounds."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.drawn: list[tuple[dict[str, Any], dict[str, Any], float, Playing]] = []
        move, between = Stage.move, Stage.between

        def moved(stage: Stage, values: dict[str, Any], playing: Playing = SILENT) -> None:
            self.drawn.append((values, values, 1.0, playing))
            move(stage, values, playing)

        def went(stage: Stage, here: dict[str, Any], there: dict[str, Any], way: float, **how: Any) -> None:
            self.drawn.append((here, there, way, how["playing"][1]))
            between(stage, here, there, way, **how)

        patch.setattr(Stage, "move", moved)
        patch.setattr(Stage, "between", went)

    def take(self) -> list[tuple[dict[str, Any], dict[str, Any], float, Playing]]:
        drawn, self.drawn = self.drawn, []
        return drawn


@pytest.fixture
def frames(monkeypatch: pytest.MonkeyPatch) -> Frames:
    return Frames(monkeypatch)


def pixels(shown: Any) -> np.ndarray:
    with Image.open(io.BytesIO(shown.image.value)) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


async def settled() -> None:
    await asyncio.sleep(GLIDE_SECONDS + 2 * REST_SECONDS)


@pytest.mark.parametrize(("knob", "value"), [("order", "down"), ("filled", True), ("size", "large"), ("height", 9.0)])
def test_what_is_chosen_switched_or_leaps_glides_and_arrives(frames: Frames, knob: str, value: Any) -> None:
    """The frames go evenly from one setting to the other in a quarter of a second; the last is the picture there."""
    shown = panel("bells")

    async def somebody_chooses() -> None:
        before = shown.values
        frames.take()
        shown.knobs[knob].value = value
        await settled()
        *way, last = [drawn for drawn in frames.take() if drawn[:2] != (before, before)]
        assert len(way) >= 2 and all(drawn[:2] == (before, shown.values) for drawn in way)
        gone = [drawn[2] for drawn in way]
        assert gone == sorted(gone) and 0 < gone[0] < 0.2 and gone[-1] < 1
        assert last == (shown.values, shown.values, 1.0, SILENT)

    own_time.run(somebody_chooses())
    assert shown.image.format == "png"
    stage = Stage(EXHIBITS["bells"])
    stage.move(shown.values)
    assert np.array_equal(pixels(shown), stage.pixels()[..., :3])


def test_a_new_choice_takes_over_from_a_glide_and_starts_where_that_was_to_end(frames: Frames) -> None:
    shown = panel("bells")

    async def somebody_is_in_a_hurry() -> None:
        first = shown.values
        shown.knobs["order"].value = "down"
        await asyncio.sleep(GLIDE_SECONDS / 3)
        second = shown.values
        frames.take()
        shown.knobs["filled"].value = True
        await asyncio.sleep(GLIDE_SECONDS / 3)
        drawn = frames.take()
        assert drawn and all(frame[0] == second and frame[1] == shown.values for frame in drawn)
        assert first not in [frame[0] for frame in drawn]
        shown.knobs["height"].value = 9.0  # a slider that leaps is followed at once while anything moves
        await asyncio.sleep(0.01)
        assert frames.take()[-1] == (shown.values, shown.values, 1.0, SILENT)

    own_time.run(somebody_is_in_a_hurry())


def test_a_slider_that_is_dragged_is_followed_at_once(frames: Frames) -> None:
    """A short step, and any step while the picture has not come to rest, even in a row of choices."""
    shown = panel("bells")

    async def somebody_drags() -> None:
        frames.take()
        for height in (2.1, 4.0, 9.0, 5.0):
            shown.knobs["height"].value = height
            await asyncio.sleep(0.02)
        shown.knobs["size"].value = "large"
        await asyncio.sleep(0.02)
        assert {frame[2] for frame in frames.take()} == {1.0}

    own_time.run(somebody_drags())


@pytest.mark.parametrize("calm", [False, True])
def test_nothing_glides_where_that_is_not_wanted(frames: Frames, calm: bool) -> None:
    """By the one who made the panel, or by a reader who asked the browser for less motion."""
    shown = panel("bells", glide=calm)
    shown.frame.calm = calm

    async def somebody_chooses() -> None:
        frames.take()
        shown.knobs["order"].value = "down"
        await asyncio.sleep(0.02)
        assert frames.take() == [(shown.values, shown.values, 1.0, SILENT)]

    own_time.run(somebody_chooses())


def place(shown: Any, seconds: float, hold: bool = False) -> None:
    """The page tells where the sound is."""
    shown.sound._told(None, {"at": seconds, "hold": hold}, [])


def test_the_note_that_is_lit_is_the_one_that_sounds(frames: Frames) -> None:
    """Held to the program that the page plays: its notes, in seconds. A silent note is never lit, nor is a rest."""
    shown = panel("bells")
    program = exhibit_program(EXHIBITS["bells"], shown.values)
    notes = json.loads(program[4 : 4 + int.from_bytes(program[:4], "little")])["notes"]
    score = EXHIBITS["bells"].score(**shown.values)
    shown.sound.playing = True
    lit = {}
    for seconds in np.arange(0, 4.5, 0.125).tolist():
        place(shown, seconds)
        *_, playing = frames.take()[-1]
        assert playing.seconds == seconds
        lit[seconds] = [f"{score.notes[number].voice} 0" for number in playing.notes]
        assert lit[seconds] == [
            note["key"] for note in notes if note["onset"] <= seconds < note["onset"] + note["duration"]
        ]
    assert lit[0.25] == [] and lit[0.5] == ["0 0"] and lit[1.25] == [] and lit[3.75] == ["3 0"] and lit[4.25] == []
    place(shown, 2.6)
    red = pixels(shown)[..., 0] - pixels(shown)[..., 1] > 120
    assert 4 / 5 * 0.55 < np.flatnonzero(red.any(axis=0)).mean() / 960 < 4 / 5 * 0.95  # the third of four
    frames.take()
    shown.sound.playing = False
    assert frames.take()[-1][3] == SILENT
    assert not (pixels(shown)[..., 0] - pixels(shown)[..., 1] > 120).any()


def test_what_is_held_stays_lit_after_its_end() -> None:
    exhibit = EXHIBITS["five_thirds"]
    values = exhibit.settle({})
    score, timbre = exhibit.score(**values), exhibit.timbre(**values)
    end = max(score.seconds(note.end) for note in score.notes)
    assert notes_at(score, timbre, end + 5) == ()
    assert len(notes_at(score, timbre, end + 5, hold=True)) > 1


def test_a_knob_moved_while_it_sounds_lights_what_sounds_there(frames: Frames) -> None:
    """The picture never shows what sounded at the knobs as they were, and what comes in between waits for it."""
    shown = panel("bells")

    async def somebody_turns_the_order_round() -> None:
        shown.sound.playing = True
        place(shown, 0.6)
        assert frames.take()[-1][3] == Playing(0.6, (1,))
        shown.knobs["order"].value = "down"
        place(shown, 1.6)  # before the picture of the move is drawn
        assert frames.take() == []
        await settled()
        drawn = frames.take()
        assert {frame[3] for frame in drawn} == {Playing(1.6, (2,))} and drawn[-1][1]["order"] == "down"
        assert shown.image.format == "png", "at rest the picture is crisp, though it sounds"

    own_time.run(somebody_turns_the_order_round())


def test_the_page_is_answered_whatever_it_tells(monkeypatch: pytest.MonkeyPatch) -> None:
    """It goes on telling when the picture has been drawn; what is no place is passed over."""
    shown = panel("bells")
    said: list[Any] = []
    monkeypatch.setattr(shown.sound, "send", said.append)
    place(shown, 0.6)
    assert [message["do"] for message in said] == ["go on telling"] and said[0]["after"] > 0
    for nonsense in (None, {"at": "soon"}, {"at": float("nan")}, {"at": -1.0}, {"at": None}, ["at"]):
        shown.sound._told(None, nonsense, [])
    assert len(said) == 1


def test_a_narrow_page_gets_the_square_picture_and_a_full_screen_double_density() -> None:
    shown = panel("bells", height=5.0)
    sizes, names = {}, {540: "square panel", 1080: "square", 960: "panel", 1920: "1080p"}
    for shape, large in (("wide", False), ("square", False), ("square", True), ("wide", True), ("wide", False)):
        shown.frame.shape, shown.frame.large = shape, large
        sizes[shape, large] = pixels(shown).shape[1::-1], (shown.image.width, shown.image.height)
        stage = Stage(EXHIBITS["bells"], names[sizes[shape, large][0][0]])
        stage.move(shown.values)
        assert np.array_equal(pixels(shown), stage.pixels()[..., :3])
    assert sizes == {
        ("wide", False): ((960, 540), ("960", "540")), ("wide", True): ((1920, 1080), ("960", "540")),
        ("square", False): ((540, 540), ("540", "540")), ("square", True): ((1080, 1080), ("540", "540")),
    }  # fmt: skip


def test_parts_come_on_stage_with_a_short_fade_and_go_again() -> None:
    shown = panel("bells", builds=True)
    first = pixels(shown)
    assert shown.frame.steps == 2 and shown.frame.step == 1

    async def a_lecturer_goes_on_and_back() -> None:
        shown.frame.step = 2
        await asyncio.sleep(GLIDE_SECONDS / 2)
        half = pixels(shown)
        await settled()
        whole = pixels(shown)
        here = np.abs(whole - first).sum(axis=-1) > 200
        assert here.any() and np.array_equal(whole, pixels(panel("bells")))
        part = (np.abs(half - first).sum(axis=-1) / np.abs(whole - first).sum(axis=-1).clip(1))[here]
        assert 0.05 < np.median(part) < 0.95
        shown.knobs["order"].value = "down"
        await settled()
        shown.knobs["order"].value = "up"
        shown.frame.step = 1
        await settled()
        assert np.array_equal(pixels(shown), first)

    own_time.run(a_lecturer_goes_on_and_back())
    shown.frame.step = 99  # more than there are
    assert np.abs(pixels(shown) - pixels(panel("bells"))).mean() < 1


def test_steps_are_refused_where_there_are_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Bells, "builds", ())
    with pytest.raises(ValueError, match="^'bells' does not come on stage in steps$"):
        panel("bells", builds=True)
    assert panel("bells").frame.steps == 0


def test_no_knob_is_called_as_a_setting_of_the_panel() -> None:
    settings = {"theme", "density", "glide", "builds"}
    assert not {knob.name for exhibit in EXHIBITS.values() for knob in exhibit.knobs} & settings


@pytest.mark.parametrize("name", ["glide", "builds"])
def test_a_switch_of_a_panel_is_true_or_false(name: str) -> None:
    """A number of groups, say, is refused with what would be right."""
    with pytest.raises(ValueError, match=f"{name} is True or False, not 3"):
        panel("beats", **{name: 3})
