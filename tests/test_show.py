"""Stills, panels and lettering: the ways in which an exhibit is shown."""

from __future__ import annotations

import asyncio
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar

import ipywidgets as widgets
import numpy as np
import own_time
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from test_exhibits import corners, settings

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Canvas, Choice, Knob, Scene, Slider, Switch
from tunelib.exhibits.look import Look, Words
from tunelib.live import Sounding, exhibit_program
from tunelib.show import SIZES, panel, still
from tunelib.show.lettering import Lettering
from tunelib.show.moving_picture import GLIDE_SECONDS, REST_SECONDS
from tunelib.show.stage import Stage
from tunelib.show.still import picture

EVERY = pytest.mark.parametrize("name", EXHIBITS)


@pytest.mark.parametrize("size", SIZES)
def test_a_png_still_has_the_size_it_is_named_for(tmp_path: Path, size: str) -> None:
    """1080p is 1920 by 1080 pixels, 2160p twice that, vertical video 1080 by 1920 (common practice)."""
    named = {"1080p": (1920, 1080), "2160p": (3840, 2160), "vertical": (1080, 1920), "square": (1080, 1080)}
    path = still("wave", tmp_path / "wave.png", size=size)
    with Image.open(path) as picture:
        assert picture.size == named.get(size, SIZES[size].pixels)
        assert picture.info["dpi"][0] == pytest.approx(SIZES[size].dpi, abs=0.1)


def test_a_transparent_still_lets_the_background_through(tmp_path: Path) -> None:
    """The paper is clear and the ink is not."""
    with Image.open(still("wave", tmp_path / "wave.png", theme="transparent")) as picture:
        opacity = np.asarray(picture)[..., 3]
    assert picture.mode == "RGBA" and opacity[0, 0] == 0 and opacity.max() == 255


@EVERY
@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_a_vector_still_carries_its_sentence(tmp_path: Path, name: str, kind: str) -> None:
    """SVG and PDF are whole files of their kind, the same each time, described by the exhibit's sentence."""
    one, two = (still(name, tmp_path / f"{i}.{kind}").read_bytes() for i in (1, 2))
    assert one == two
    if kind == "svg":
        sentence = EXHIBITS[name].sentence(**EXHIBITS[name].settle({}))
        assert sentence.split(",")[0].replace("“", "") in one.decode().replace("“", "")
        assert one.decode().rstrip().endswith("</svg>")
    else:
        assert one.startswith(b"%PDF") and one.rstrip().endswith(b"%%EOF") and b"/Subject" in one


def test_a_caption_adds_room_below_and_changes_nothing_above(tmp_path: Path) -> None:
    """The picture with its caption is the picture, with a strip under it."""
    plain, captioned = (still("beats", tmp_path / f"{c}.png", caption=c, size="panel") for c in (False, True))
    with Image.open(plain) as one, Image.open(captioned) as two:
        assert two.size[0] == one.size[0] and two.size[1] > one.size[1] + 30
        assert np.abs(np.asarray(one, float) - np.asarray(two.crop((0, 0, *one.size)), float)).mean() < 1
        strip = np.asarray(two)[one.size[1] :]
    ink = np.flatnonzero((strip < 128).any(axis=(0, 2)))
    assert ink.size and ink[0] > 10 and ink[-1] < two.size[0] - 10, "the caption is cut off"


def title_row(png: bytes) -> np.ndarray:
    """Where there is ink in the line of a picture's title."""
    with Image.open(io.BytesIO(png)) as opened:
        grey = np.asarray(opened.convert("L"))
    return grey[: round(0.16 * grey.shape[0])] < 128


def test_a_picture_has_its_own_title_the_one_it_is_given_or_none() -> None:
    """Another title takes the place of the exhibit's own, an empty one leaves its line blank; the rest is the same."""
    own, same, other, none = (
        picture(EXHIBITS["beats"], size="square", title=title)
        for title in (None, EXHIBITS["beats"].title, "Two pianos", "")
    )
    assert own == same != other
    assert title_row(own).any() and title_row(other).any() and not title_row(none).any()
    left, left_of_other = (np.flatnonzero(title_row(png).any(axis=0))[0] for png in (own, other))
    assert abs(int(left) - int(left_of_other)) <= 3
    stages = [Stage(EXHIBITS["beats"], "square", title=title) for title in (None, "Two pianos", "")]
    pixels = []
    for stage in stages:
        stage.move(EXHIBITS["beats"].settle({}))
        pixels.append(stage.pixels()[round(0.16 * 1080) :].copy())
    assert np.array_equal(pixels[0], pixels[1]) and np.array_equal(pixels[0], pixels[2])


def test_a_vector_still_is_called_by_its_title() -> None:
    """The title that is given goes into the file too."""
    assert b"Two pianos" in picture(EXHIBITS["beats"], "svg", title="Two pianos")
    assert EXHIBITS["beats"].title.encode() in picture(EXHIBITS["beats"], "svg", title="")


@pytest.mark.parametrize("size", ["1080p", "vertical", "square"])
def test_a_title_that_has_no_room_is_refused_with_what_fits(size: str) -> None:
    """It may not reach the edge or words beside it, wherever the knobs are; what fits by the message does fit."""
    long = "Every kind of third that a choir of thirty can sing in a cold church, and then some"
    name = "key_grid"
    with pytest.raises(ValueError, match=rf"too long for a picture of '{name}' in this size: only '.+' fits") as no:
        picture(EXHIBITS[name], size=size, title=long)
    fits = str(no.value).rpartition("only '")[2].removesuffix("' fits")
    assert long.startswith(fits) and len(fits) > 20
    with pytest.raises(ValueError, match="too long"):
        Stage(EXHIBITS[name], size, title=long[: len(fits) + 1 + (long[len(fits)] == " ")])
    stage = Stage(EXHIBITS[name], size, title=fits)
    heading, *others = sorted(stage.figure.findobj(Words), key=lambda text: text.get_text() != fits)
    for values in settings(EXHIBITS[name]):
        stage.move(values)
        assert not any(heading.get_window_extent().overlaps(text.get_window_extent()) for text in others), values


class Crowded(type(EXHIBITS["wave"])):  # type: ignore[misc]
    """A picture with words in the line of its title, which begin where a knob says, in pixels of 200 to the inch."""

    name: ClassVar[str] = "crowded"
    title: ClassVar[str] = ""
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("left", "Left", 0, 1920, 1, 0),)
    begins: ClassVar[float] = 0.0

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        words = look.text(figure, 0, 0.92, "beside", va="top")

        def update(left: int) -> None:
            words.set_x(0)
            words.set_x((self.begins - words.get_window_extent().x0) / 1920)

        return Scene((words,), update)


def test_between_a_title_and_what_is_beside_it_a_tenth_of_an_inch_stays_clear(monkeypatch: pytest.MonkeyPatch) -> None:
    """20 pixels at 1080p: with half a pixel less it is refused, with half a pixel more it fits"""
    bare = Stage(EXHIBITS["wave"], "1080p", title="Two pianos")
    [heading] = [text for text in bare.texts() if text.get_text() == "Two pianos"]
    ends = heading.get_window_extent().x1
    monkeypatch.setattr(Crowded, "begins", ends + 20.5)
    Stage(Crowded(), "1080p", title="Two pianos")
    monkeypatch.setattr(Crowded, "begins", ends + 19.5)
    with pytest.raises(ValueError, match="too long"):
        Stage(Crowded(), "1080p", title="Two pianos")


def test_a_title_keeps_to_its_side_of_the_picture() -> None:
    """It may end where the margin begins, 0.45 inches from the edge, and no farther: 1830 pixels of 1920"""
    with pytest.raises(ValueError, match="only 'l+' fits") as no:
        Stage(EXHIBITS["wave"], "1080p", title="l" * 150)
    title = "l" * (str(no.value).rpartition("only ")[2].count("l"))
    stage = Stage(EXHIBITS["wave"], "1080p", title=title)
    [heading] = [text for text in stage.texts() if text.get_text() == title]
    box = heading.get_window_extent()
    assert 1830 - box.width / len(title) - 1 < box.x1 <= 1830 and box.width / len(title) < 20


def test_a_title_is_one_line_of_plain_text() -> None:
    """A line break is refused, and a sign the font has not; signs that formulas are made of stay as they are."""
    with pytest.raises(ValueError, match="one line of plain text"):
        Stage(EXHIBITS["beats"], title="one\ntwo")
    with pytest.raises(ValueError, match="cannot show: '音'"):
        Stage(EXHIBITS["beats"], title="One 音")
    Stage(EXHIBITS["beats"], title="From B½♭ to C𝄪 – a “long” way")
    assert b"$5 and $6" in picture(EXHIBITS["beats"], "svg", title="Between $5 and $6")


def test_a_still_never_overwrites_unasked(tmp_path: Path) -> None:
    """A file that is there stays as it is, unless overwriting is asked for."""
    path = tmp_path / "mine.png"
    path.write_bytes(b"somebody's work")
    with pytest.raises(FileExistsError, match=r"mine\.png"):
        still("wave", path)
    assert path.read_bytes() == b"somebody's work"
    still("wave", path, overwrite=True)
    assert path.read_bytes().startswith(b"\x89PNG")
    assert [p.name for p in tmp_path.iterdir()] == ["mine.png"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"exhibit": "waev"}, "did you mean wave"),
        ({"path": "picture.bmp"}, r"\.png, \.svg or \.pdf file, not 'picture.bmp'"),
        ({"size": "1080"}, "did you mean 1080p"),
        ({"theme": "drak"}, "did you mean dark"),
        ({"hertz": -3}, "hertz goes from 55 to 1760 Hz, not to -3"),
        ({"herz": 220}, "did you mean hertz"),
    ],
)
def test_a_still_refuses_what_does_not_exist(tmp_path: Path, arguments: dict[str, Any], message: str) -> None:
    """Each wrong argument gets one line that says what would be right, and no file is made."""
    given: dict[str, Any] = {"exhibit": "wave", "path": "picture.png"} | arguments
    given["path"] = tmp_path / given["path"]
    with pytest.raises(ValueError, match=message):
        still(**given)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("dpi", [100, 200])
@pytest.mark.parametrize("weight", ["normal", "bold"])
@pytest.mark.parametrize("va", ["top", "center", "bottom", "baseline"])
@pytest.mark.parametrize("ha", ["left", "center", "right"])
def test_lettering_sets_text_where_matplotlib_does(dpi: int, weight: str, va: str, ha: str) -> None:
    """The ink of quick lettering is within a pixel or so of matplotlib's own (its renderer is the reference)."""
    extents = []
    for quick in (False, True):
        figure = Figure(figsize=(4, 1), dpi=dpi, facecolor="white")
        canvas = FigureCanvasAgg(figure)
        text = figure.text(0.5, 0.5, "7 × 110.5 = 773,5 B½♭ gypsum", va=va, ha=ha, fontsize=10.5, weight=weight)
        text.set_animated(True)
        canvas.draw()
        renderer = canvas.get_renderer()
        if quick:
            Lettering(dpi).set(text, renderer)
        else:
            text.draw(renderer)
        ink = np.asarray(canvas.buffer_rgba())[..., 0] < 160
        rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
        extents.append([rows[0], rows[-1], columns[0], columns[-1], ink.sum() / 200])
    assert np.abs(np.subtract(*extents)).max() <= 2 * dpi / 100, extents


def test_lettering_leaves_adorned_text_to_matplotlib() -> None:
    """Turned text, formulas and several lines are not plain."""
    figure, lettering = Figure(), Lettering(100)
    assert lettering.suits(figure.text(0, 0, "plain"))
    for adorned in ({"s": "two\nlines"}, {"s": "$x$"}, {"s": "turned", "rotation": 90}):
        assert not lettering.suits(figure.text(0, 0, **adorned))


def decoded(panel_: Any) -> np.ndarray:
    """The picture that a panel shows, as pixels."""
    with Image.open(io.BytesIO(panel_.image.value)) as picture:
        assert picture.format.lower() == panel_.image.format
        return np.asarray(picture.convert("RGB")).astype(int)


@EVERY
def test_every_control_of_a_panel_moves_its_picture_and_sentence(name: str) -> None:
    """Each knob is a control of its kind with the knob's bounds; turning it shows in picture and sentence."""
    shown = panel(name)
    kinds = {Slider: (widgets.IntSlider, widgets.FloatSlider, widgets.FloatLogSlider), Switch: widgets.Checkbox}
    for knob in EXHIBITS[name].knobs:
        control = shown.knobs[knob.name]
        assert isinstance(control, kinds.get(type(knob), (widgets.Dropdown, widgets.SelectionSlider)))
        assert control.description.startswith(knob.label)
        before, said = decoded(shown), shown.sentence
        other = [values[knob.name] for values in corners(EXHIBITS[name], knob) if values[knob.name] != control.value]
        control.value = other[0]
        assert np.abs(decoded(shown) - before).max() > 60, f"{knob.name} moves nothing"
        assert shown.sentence != said and re.sub("<.*?>", "", shown.words.value) != said
        if isinstance(knob, Choice):
            assert tuple(control.options) == knob.options
        control.value = knob.default


def test_a_panel_reaches_the_very_ends_of_its_sliders() -> None:
    """The ends of a logarithmic slider are within the knob's bounds, roundings or no."""
    shown = panel("wave")
    slider = shown.knobs["hertz"]
    for end in (slider.min, slider.max):
        slider.value = slider.base**end
        assert shown.values["hertz"] in (55, 1760)


def test_the_page_has_what_it_plays_at_rest_and_at_every_move_while_it_sounds() -> None:
    """Silent, the sound waits for the knob to rest; while the page says that it sounds, it goes along with it."""
    shown = panel("beats")
    exhibit = EXHIBITS["beats"]

    def given(difference: float) -> bytes:
        return exhibit_program(exhibit, exhibit.settle({"difference": difference}))

    assert bytes(shown.sound.program) == given(3.0)

    async def a_listener_turns_the_knob() -> None:
        shown.knobs["difference"].value = 5
        await asyncio.sleep(0.01)
        assert bytes(shown.sound.program) == given(3.0) and shown.image.format == "jpeg"
        await asyncio.sleep(GLIDE_SECONDS + 2 * REST_SECONDS)
        assert bytes(shown.sound.program) == given(5.0) and shown.image.format == "png"
        shown.sound.playing = True
        shown.knobs["difference"].value = 7
        await asyncio.sleep(0.01)
        assert bytes(shown.sound.program) == given(7.0) and shown.image.format == "jpeg"

    own_time.run(a_listener_turns_the_knob())


def test_the_page_has_what_there_is_to_hear_from_the_first_message_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that nobody finds a button with nothing to play"""
    opened: list[dict[str, Any]] = []
    begin = Sounding.open

    def noted(row: Sounding) -> None:
        opened.append(row.get_state())
        begin(row)

    monkeypatch.setattr(Sounding, "open", noted)
    shown = panel("beating_third")
    [first] = opened
    for name in ("program", "others", "chosen"):
        assert first[name] and first[name] == getattr(shown.sound, name)


@pytest.mark.parametrize("name", [name for name, exhibit in EXHIBITS.items() if exhibit.comparisons])
def test_flipping_sets_the_knobs_to_what_is_heard(name: str) -> None:
    """Every way that the page may flip to is ready there, and its knobs follow."""
    shown, exhibit = panel(name), EXHIBITS[name]
    assert list(shown.sound.others) == list(exhibit.comparisons)
    for way, knobs in exhibit.comparisons.items():
        programs = dict(shown.sound.others)
        shown.sound._told(None, {"flip": way}, [])
        assert {knob: shown.values[knob] for knob in knobs} == dict(knobs)
        assert bytes(shown.sound.program) == programs[way] and shown.sound.chosen == way


def test_a_slider_stands_where_it_is_told_even_between_its_usual_stops() -> None:
    """A value given first is a stop of the slider, and its ends stay within the knob's bounds."""
    shown = panel("wave", hertz=330)
    slider = shown.knobs["hertz"]
    assert shown.values["hertz"] == 330
    assert (np.log2(330) - slider.min) / slider.step == pytest.approx(round((np.log2(330) - slider.min) / slider.step))
    assert 55 <= 2**slider.min < 55 * 2 ** (1 / 12)


@pytest.mark.parametrize("density", [1, 2])
def test_a_panel_carries_its_picture_and_sentence_for_readers_without_a_kernel(density: int) -> None:
    """The outputs hold live widgets, a PNG with the sentence under the picture, and the sentence as text and alt."""
    shown = panel("wave", density=density, hertz=440)
    data, metadata = shown._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in data
    assert data["text/plain"] == shown.sentence and "440 Hz" in shown.sentence
    assert metadata["image/png"]["alt"] == shown.sentence
    with Image.open(io.BytesIO(data["image/png"])) as picture:
        assert picture.size[0] == 960 and picture.size[1] > 540
    assert decoded(shown).shape == (540 * density, 960 * density, 3)


@pytest.mark.parametrize("name", ["wave", "beats", "ring_of_31", "series_sheet"])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_picture_gets_its_sentence_as_if_it_had_been_drawn_with_it(name: str, theme: str) -> None:
    exhibit = EXHIBITS[name]
    values = exhibit.settle({})
    with_it = Stage(exhibit, "panel", theme, exhibit.sentence(**values))
    without = Stage(exhibit, "panel", theme)
    for stage in (with_it, without):
        stage.move(values)
    assert np.array_equal(np.asarray(without.captioned(exhibit.sentence(**values))), with_it.pixels())


@pytest.mark.parametrize("builds", [False, True])
def test_readers_without_a_kernel_see_the_knobs_as_they_were_set_last(builds: bool) -> None:
    """Even if they were set in the same cell, so that the panel has not drawn yet; and the whole picture"""
    wanted = panel("beating_third", lower=330)

    async def cell() -> Any:
        shown = panel("beating_third", builds=builds)
        shown.knobs["lower"].value = wanted.knobs["lower"].value
        return shown._repr_mimebundle_()[0]

    data, expected = own_time.run(cell()), wanted._repr_mimebundle_()[0]
    assert data["text/plain"] == expected["text/plain"]
    pictures = [np.asarray(Image.open(io.BytesIO(one["image/png"])).convert("RGB")) for one in (data, expected)]
    assert np.array_equal(*pictures)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"exhibit": "waves"}, "did you mean wave"),
        ({"density": 3}, "density of a panel is 1 or 2, not 3"),
        ({"hertz": 2}, "hertz goes from 55"),
        ({"theme": "pink"}, "no theme is called 'pink'"),
        ({"theme": "transparent"}, "a still can be transparent"),
    ],
)
def test_a_panel_refuses_what_does_not_exist(arguments: dict[str, Any], message: str) -> None:
    """One line that says what would be right."""
    with pytest.raises(ValueError, match=message):
        panel(**({"exhibit": "wave"} | arguments))


def test_the_size_of_the_controls_never_changes() -> None:
    """Every part has a fixed size, so that nothing jumps when a knob moves."""
    shown = panel("wave")
    before = [dict(part.layout.get_state()) for part in _within(shown)]
    shown.knobs["hertz"].value = 300
    assert before == [dict(part.layout.get_state()) for part in _within(shown)]
    assert (shown.image.width, shown.image.height) == ("960", "540")


def test_a_stage_draws_the_same_whether_moved_or_whole() -> None:
    """The figure that vector formats get shows the same picture as the quick one."""
    exhibit = EXHIBITS["harmonic_ladder"]
    values = exhibit.settle({"count": 12})
    quick = Stage(exhibit)
    quick.move(values)
    whole = Stage(exhibit)
    canvas = FigureCanvasAgg(whole.whole(values))
    canvas.draw()
    slow = np.asarray(canvas.buffer_rgba())[..., :3].astype(int)
    assert np.abs(slow - quick.pixels()[..., :3]).mean() < 2


def test_the_sheet_is_made_on_request_and_never_twice_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The button writes the sheet beside the notebook and says so; a second press says what is in the way."""
    monkeypatch.chdir(tmp_path)
    shown = panel("series_sheet", last=3)
    assert not list(tmp_path.iterdir())
    shown.make.click()
    made = sorted(path.suffix for path in (tmp_path / "my_sheets").iterdir())
    assert made == [".mid", ".musicxml", ".pdf", ".svg", ".wav"]
    assert "my_sheets" in shown.made.value and ".pdf" in shown.made.value
    before = {path: path.read_bytes() for path in (tmp_path / "my_sheets").iterdir()}
    shown.make.click()
    assert "already in the folder my_sheets" in shown.made.value
    assert before == {path: path.read_bytes() for path in (tmp_path / "my_sheets").iterdir()}


def _within(box: widgets.Box) -> Iterator[widgets.Widget]:
    for part in box.children:
        yield part
        if isinstance(part, widgets.Box):
            yield from _within(part)


def test_only_exhibits_that_make_files_have_a_button_for_it() -> None:
    """The others have no such button, and say so if asked."""
    for name, exhibit in EXHIBITS.items():
        shown = panel(name)
        assert (shown.make in list(_within(shown))) == bool(exhibit.makes)
        if not exhibit.makes:
            with pytest.raises(NotImplementedError, match=name):
                exhibit.make(Path("nowhere"), print)
