"""The pages of all lessons, opened from a file in a real browser: moved, played, answered, measured."""

from __future__ import annotations

import base64
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
import pytest
from offline import LATE
from PIL import Image
from test_handout import exhibited
from test_practice import EXERCISES, RIGHT

from tunelib.exhibits import EXHIBITS
from tunelib.files import write_set
from tunelib.practice import question
from tunelib.practice.answers import Choice
from tunelib.practice.lesson_page import INDEX, lesson_pages
from tunelib.show import Stage
from tunelib.show.ahead import _row
from tunelib.sound import SAMPLE_RATE

NOTEBOOKS = sorted((Path(__file__).resolve().parent.parent / "lessons").glob("*.ipynb"))
PAGES = [f"{path.stem}.html" for path in NOTEBOOKS]
MOST = 6_000_000  # bytes of a page
COARSEST = 5  # of 255: how far a colour may be rounded
WIDTHS = (360, 1920)
_ALIKE, _ALIKE_MOVING = 0.999, 0.98  # correlation of samples; where pitch moves, waves drift apart by a little

# Set a control as a hand would.
_SET = """(control, stop) => {
  if (control.type === 'checkbox') { control.checked = stop === 1; } else { control.value = stop; }
  control.dispatchEvent(new Event('input', {bubbles: true}));
}"""
_SHOWN = (
    "([control, stop]) => control.closest('.exhibit').dataset.shown?.split(',')[control.dataset.row] === String(stop)"
)
_UNFOLD = "() => document.querySelectorAll('details.fold').forEach(fold => { fold.open = true; })"
_WRONG = ("", "?", "C4", "0.123", "1:2", "7 9")
_STOPS = """figure => [...figure.querySelectorAll('[data-row]')].map(
  control => control.type === 'checkbox' ? Number(control.checked) : Number(control.value))"""

# What the player is told to go on with: the fundamental of the last tone, and whether in step.
_FOLLOWED = """() => {
  const player = thePlayer(), {follow} = player;
  window.followed = [];
  player.follow = (owner, program, inStep = false) => {
    followed.push([program.tones.at(-1).hertz[0], inStep]);
    follow.call(player, owner, program, inStep);
  };
}"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages of all lessons."""
    folder = tmp_path_factory.mktemp("site")
    write_set(lesson_pages(NOTEBOOKS), folder)
    return folder


def _asked(name: str) -> list[tuple[str, str]]:
    """The questions and exercises of a page, in their order, as the lines of its notebook have them."""
    cells = json.loads(NOTEBOOKS[PAGES.index(name)].read_text(encoding="utf-8"))["cells"]
    code = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    found = re.findall(r"(?m)^(question|exercise)\((\d+)(, numbers=True)?\)$", "\n".join(code))
    return [(kind, f"{step}{' in numbers' if numbers else ''}") for kind, step, numbers in found]


class Opened:
    """A page that is open, and what it asked for, said and did wrong."""

    def __init__(self, browser: Any, path: Path, width: int = 1280, **options: Any) -> None:
        self.context = browser.new_context(viewport={"width": width, "height": 800}, **options)
        self.page = self.context.new_page()
        self.asked: list[str] = []
        self.wrong: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("pageerror", lambda error: self.wrong.append(str(error)))
        self.page.on(
            "console", lambda said: self.wrong.append(said.text) if said.type in ("error", "warning") else None
        )
        self.page.goto(path.as_uri())
        self.site = path.parent

    def close(self) -> None:
        """End it, and hold it to its word: nothing but the file was asked for, and nothing went wrong."""
        self.context.close()
        pages = {path.as_uri() for path in self.site.iterdir()}
        outside = [url for url in self.asked if urlsplit(url).scheme != "data" and url not in pages]
        assert outside == [] and self.wrong == []


@pytest.fixture
def opened(site: Path, chromium: Any) -> Iterator[Any]:
    pages: list[Opened] = []

    def open_page(name: str, **options: Any) -> Opened:
        pages.append(Opened(chromium, site / name, **options))
        return pages[-1]

    yield open_page
    for each in pages:
        each.close()


def turn(control: Any, stop: int) -> None:
    """Set a control, and wait until all of its exhibit is at what it now says."""
    control.evaluate(_SET, stop)
    control.owner_frame().wait_for_function(_SHOWN, arg=[control, stop])


@pytest.mark.parametrize("name", PAGES)
def test_every_slider_moves_its_picture(opened: Any, name: str) -> None:
    """At both ends of each knob the page shows and says what the exhibit would"""
    page = opened(name).page
    figures = page.query_selector_all(".exhibit")
    shown = exhibited(name.removesuffix(".html"))
    assert [figure.get_attribute("data-exhibit") for figure in figures] == [exhibit for exhibit, _ in shown]
    for figure, (exhibit_name, given) in zip(figures, shown, strict=True):
        exhibit = EXHIBITS[exhibit_name]
        start = exhibit.settle({knob: value for knob, value in given.items() if knob not in ("theme", "density")})
        rows = [_row(exhibit, knob, start[knob.name]) for knob in exhibit.knobs]
        stage = Stage(exhibit)
        figure.scroll_into_view_if_needed()
        for row, control in zip(rows, figure.query_selector_all("[data-row]"), strict=True):
            for stop in {0, len(row.values) - 1} - {row.start}:
                turn(control, stop)
                stops = figure.evaluate(_STOPS)
                values = {each.knob.name: each.values[at] for each, at in zip(rows, stops, strict=True)}
                assert values[row.knob.name] == row.values[stop]
                assert figure.query_selector(".sentence").inner_text() == exhibit.sentence(**values)
                stage.move(values)
                apart = np.abs(_pixels(figure) - stage.pixels()[..., :3].astype(int)).max()
                assert apart <= COARSEST, (exhibit_name, values)


def _pixels(figure: Any) -> Any:
    address = figure.evaluate("figure => figure.querySelector('canvas').toDataURL('image/png')")
    with Image.open(io.BytesIO(base64.b64decode(address.partition(",")[2]))) as image:
        return np.asarray(image.convert("RGB"), dtype=int)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", [*PAGES, INDEX])
def test_a_page_fits_a_telephone_and_a_large_screen(opened: Any, name: str, width: int) -> None:
    """Nothing is wider than the screen"""
    page = opened(name, width=width).page
    page.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", [name for name in PAGES if exhibited(name.removesuffix(".html"))])
def test_every_exhibit_is_heard_and_only_one_at_a_time(opened: Any, name: str) -> None:
    """It sounds when asked to and not before, goes on while a knob moves, and gives way to the next"""
    page = opened(name).page
    page.evaluate("thePlayer().ready")
    assert page.evaluate("thePlayer().owner === undefined && thePlayer().context.state") == "suspended"
    figures = page.query_selector_all(".exhibit")
    for figure in figures:
        figure.scroll_into_view_if_needed()
        hear = figure.query_selector(".tunelib-hear")
        page.wait_for_function("button => !button.disabled", arg=hear)
        figure.query_selector(".tunelib-hold").check()
        hear.click()
        page.wait_for_function("button => button.textContent === 'Stop'", arg=hear)
        knob = figure.query_selector("[data-row]")
        stops = figure.evaluate(_STOPS)
        turn(knob, 0 if stops[0] else 1)
        assert hear.inner_text() == "Stop"
        assert len([each for each in figures if each.query_selector(".tunelib-hear").inner_text() == "Stop"]) == 1
    page.wait_for_function("() => thePlayer().context.state === 'running'")


@pytest.mark.parametrize("name", [name for name in PAGES if _asked(name)])
def test_every_answer_gets_the_reply_that_a_notebook_gives(opened: Any, name: str) -> None:
    """Each choice of each question; of each exercise wrong answers, unreadable ones, and the right one"""
    page = opened(name).page
    page.evaluate(_UNFOLD)
    cards = page.query_selector_all(".card")
    asked = _asked(name)
    assert len(cards) == len(asked)
    for card, (kind, step) in zip(cards, asked, strict=True):
        card.scroll_into_view_if_needed()
        page.wait_for_function("card => card.classList.contains('tunelib-card')", arg=card)
        task = question(int(step)) if kind == "question" else EXERCISES[step]
        reply = card.query_selector(".tunelib-card-response")
        answers = task.answer.lettered if isinstance(task.answer, Choice) else (*_WRONG, RIGHT[step])
        for place, words in enumerate(answers):
            if isinstance(task.answer, Choice):
                card.query_selector_all(".tunelib-card-choices button")[place].click()
            else:
                card.query_selector("input.tunelib-card-field").fill(words)
                page.keyboard.press("Enter")
            expected = task.check(words)
            shown = " ".join(reply.inner_text().split())
            assert shown == " ".join(f"{'✓ ' if expected.right else ''}{expected.message}".split()), (step, words)
        if kind == "exercise":
            for button, words in (("Hint", task.hint), ("Worked answer", task.worked)):
                card.query_selector(f"button:text-is('{button}')").click()
                assert " ".join(words.split()) in " ".join(reply.inner_text().split())


def test_what_was_solved_is_kept_and_shown_on_the_index(opened: Any, site: Path) -> None:
    """In the browser's own storage, which its pages share"""
    page = opened("01_waves.html").page
    page.evaluate(_UNFOLD)
    page.locator(".card").nth(1).scroll_into_view_if_needed()
    page.locator(".card input.tunelib-card-field").first.fill(RIGHT["1 in numbers"])
    page.keyboard.press("Enter")
    page.locator(".card .tunelib-card-response", has_text="✓").wait_for()
    page.goto((site / INDEX).as_uri())
    page.locator(".progress").scroll_into_view_if_needed()
    page.get_by_text("1 of 31 exercises solved.").wait_for()


def test_keys_on_a_page_sound_under_the_hand(opened: Any) -> None:
    page = opened("08_chords.html").page
    place = page.locator(".instrument").first
    place.scroll_into_view_if_needed()
    key = place.locator(".tunelib-board button").first
    key.wait_for()
    key.hover()
    page.mouse.down()
    page.wait_for_function("() => thePlayer().pressed.size === 1")
    page.mouse.up()
    page.wait_for_function("() => thePlayer().pressed.size === 0")


# Press the button of an exhibit, and render what the page then plays, faster than it sounds.
_RENDER = """async ([figure, samples, rate]) => {
  const player = thePlayer(), playing = new Promise(played => {
    player.play = (owner, program) => {
      delete player.play;
      played(program);
    };
  });
  figure.querySelector('.tunelib-hear').click();
  const program = await playing, context = new OfflineAudioContext(1, samples, rate);
  await context.audioWorklet.addModule(`data:text/javascript;charset=utf-8,${encodeURIComponent(worklet)}`);
  const options = {numberOfInputs: 0, outputChannelCount: [1], processorOptions: {program}};
  new AudioWorkletNode(context, 'tunelib-player', options).connect(context.destination);
  return [...(await context.startRendering()).getChannelData(0)];
}"""


@pytest.mark.parametrize("name", [name for name in PAGES if exhibited(name.removesuffix(".html"))])
def test_what_a_page_plays_is_what_the_library_renders(opened: Any, name: str) -> None:
    """Rendered offline in the page: the same samples, but for the ear, and the same level"""
    page = opened(name).page
    for figure, (exhibit_name, given) in zip(
        page.query_selector_all(".exhibit"), exhibited(name.removesuffix(".html")), strict=True
    ):
        figure.scroll_into_view_if_needed()
        page.wait_for_function("button => !button.disabled", arg=figure.query_selector(".tunelib-hear"))
        exhibit = EXHIBITS[exhibit_name]
        start = exhibit.settle({knob: value for knob, value in given.items() if knob not in ("theme", "density")})
        expected = exhibit.sound(**start)[: 2 * SAMPLE_RATE]
        heard = np.array(page.evaluate(_RENDER, [figure, expected.size + LATE, SAMPLE_RATE]))[LATE:]
        level, target = (20 * np.log10(np.sqrt(np.mean(samples**2))) for samples in (heard, expected))
        assert abs(level - target) < 0.2, exhibit_name  # dB
        alike = _ALIKE_MOVING if len(exhibit.bends(**start)) else _ALIKE
        assert np.corrcoef(heard, expected)[0, 1] > alike, exhibit_name


def test_a_flip_moves_the_knobs(opened: Any) -> None:
    """Between two ways to tune it, while it sounds; the picture goes along"""
    page = opened("09_harmony_in_motion.html").page
    figure = page.query_selector("[data-exhibit=smallest_moves]")
    figure.scroll_into_view_if_needed()
    page.wait_for_function("figure => figure.querySelectorAll('.tunelib-way').length > 1", arg=figure)
    before = figure.query_selector(".sentence").inner_text()
    figure.query_selector(".tunelib-way[aria-pressed=false]").click()
    page.wait_for_function(
        "([figure, words]) => figure.querySelector('.sentence').textContent !== words", arg=[figure, before]
    )
    start = EXHIBITS["smallest_moves"].settle({})
    other = next(
        start | way for way in EXHIBITS["smallest_moves"].comparisons.values() if not way.items() <= start.items()
    )
    assert figure.query_selector(".sentence").inner_text() == EXHIBITS["smallest_moves"].sentence(**other)


def test_a_flip_goes_to_its_own_sound_at_once_and_in_phase(opened: Any) -> None:
    """Each of three ways, named by words and by numbers; and a knob that has been moved is in phase when it rests"""
    page = opened("04_twelve.html").page
    exhibit = EXHIBITS["beating_third"]
    figure = page.locator("[data-exhibit=beating_third]")
    figure.scroll_into_view_if_needed()
    figure.locator(".tunelib-way").first.wait_for()
    page.evaluate(_FOLLOWED)
    figure.locator(".tunelib-hold").check()
    figure.locator(".tunelib-hear").click()
    for way, knobs in exhibit.comparisons.items():
        figure.locator(f".tunelib-way[data-way='{way}']").click()
        assert figure.locator(".tunelib-way[aria-pressed=true]").all_inner_texts() == [way]
        expected = max(note.hertz for note in exhibit.score(**exhibit.settle({"lower": 220.0} | dict(knobs))).notes)
        [[hertz, in_step]] = page.evaluate("followed.splice(0)")
        assert hertz == pytest.approx(expected, rel=1e-6) and in_step
    figure.locator("input[type=range]").first.press("ArrowRight")
    page.wait_for_function("() => followed.length > 1")
    [[hertz, in_step], *later] = page.evaluate("followed")
    assert hertz > expected and not in_step and later == [[hertz, True]]


def test_the_keyboard_alone_moves_a_slider_and_says_its_value(opened: Any) -> None:
    """By arrow keys; what a screen reader is told has the unit, and the sentence once it has come to rest"""
    page = opened("01_waves.html").page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    slider = page.locator("[data-exhibit=wave] input[type=range]").first
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('[data-exhibit=wave]').dataset.shown")
    assert slider.get_attribute("aria-valuetext") == "233.1 Hz"
    assert page.locator("[data-exhibit=wave] .spoken").get_attribute("role") == "status"
    page.wait_for_function("() => document.querySelector('[data-exhibit=wave] .spoken').textContent.includes('233.1')")


def test_a_slider_that_is_moved_before_its_pictures_are_there_stays_where_it_is(opened: Any) -> None:
    """A second press of a key goes on from the first"""
    page = opened("01_waves.html").page
    page.add_init_script("""
      const make = createImageBitmap, ready = new Promise(resolve => { window.decode = resolve; });
      window.createImageBitmap = (...given) => {
        window.waiting = true;
        return ready.then(() => make(...given));
      };
      document.addEventListener("DOMContentLoaded", () => {
        const slider = document.querySelector("[data-exhibit=wave] input[type=range]");
        slider.value = slider.valueAsNumber + 1;
        slider.dispatchEvent(new Event("input", {bubbles: true}));
      });
    """)
    page.reload()
    slider = page.locator("[data-exhibit=wave] input[type=range]").first
    start = int(slider.get_attribute("value"))
    page.wait_for_function("window.waiting")
    slider.press("ArrowRight")
    page.evaluate("decode()")
    page.wait_for_function(_SHOWN, arg=[slider.element_handle(), start + 2])


def test_the_volume_is_set_in_one_place_and_remembered(opened: Any) -> None:
    page = opened("08_chords.html").page
    page.locator(".instrument").first.scroll_into_view_if_needed()
    page.locator(".instrument .tunelib-board").first.wait_for()
    assert page.locator("input[type=range][class*=volume]:visible").count() == 1
    page.locator("#volume input").fill("20")
    page.reload()
    assert page.locator("#volume input").input_value() == "20"
    assert page.evaluate("thePlayer().volume") == 0.2


def test_a_dark_page_keeps_the_contrast_and_a_printed_one_shows_no_controls(opened: Any) -> None:
    """WCAG 2.2, 1.4.3: text at 4.5 to 1 in both; on paper the pictures stay"""
    for scheme in ("light", "dark"):
        page = opened("01_waves.html", color_scheme=scheme).page
        ink, paper = page.evaluate(
            "(({color, backgroundColor}) => [color, backgroundColor])(getComputedStyle(document.body))"
        )
        light, dark = sorted((_luminance(ink), _luminance(paper)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 7
        assert (_luminance(paper) < 0.1) == (scheme == "dark")
    page.emulate_media(media="print")
    assert not page.locator(".knobs, .tunelib-sounding, header").first.is_visible()
    assert page.locator(".picture img").first.is_visible()


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2) of a colour as a browser says it."""
    shares = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_what_a_page_may_weigh(site: Path) -> None:
    sizes = {path.name: path.stat().st_size for path in site.iterdir()}
    assert {name for name, size in sizes.items() if size > MOST} == set()


def test_a_canvas_that_was_lost_is_drawn_whole_again(opened: Any) -> None:
    """The tiles that have not changed since, too"""
    figure = opened("01_waves.html").page.query_selector("[data-exhibit=wave]")
    figure.scroll_into_view_if_needed()
    slider = figure.query_selector("input")
    turn(slider, 3)
    expected = _pixels(figure)
    turn(slider, 4)
    figure.evaluate("""figure => {
      const canvas = figure.querySelector('canvas');
      canvas.getContext('2d').clearRect(0, 0, canvas.width, canvas.height);
      canvas.dispatchEvent(new Event('contextrestored'));
    }""")
    turn(slider, 3)
    assert (_pixels(figure) == expected).all()


def test_what_several_instruments_sound_with_is_on_a_page_once(site: Path) -> None:
    text = (site / "07_thirty_one_notes.html").read_text(encoding="utf-8")
    blocks = re.findall(r'data-of="(tones-[0-9a-f]+)" data-part="shared"', text)
    assert text.count('data-part="state"') > len(blocks) > 0 and len(set(blocks)) == len(blocks)


def test_all_links_lead_somewhere(site: Path) -> None:
    """Within the site, to a file that is there and a place that is on it"""
    texts = {path.name: path.read_text(encoding="utf-8") for path in site.iterdir()}
    places = {name: set(re.findall(r' id="([^"]+)"', text)) for name, text in texts.items()}
    for name, text in texts.items():
        links = re.findall(r'<a [^>]*href="([^"]+)"', text)
        assert links
        for link in links:
            target, _, place = link.partition("#")
            assert (target or name) in texts, (name, link)
            assert not place or place in places[target or name], (name, link)
    assert {f'href="{name}"' in texts[INDEX] for name in PAGES} == {True}


def test_a_page_is_the_same_when_it_is_made_again(tmp_path: Path) -> None:
    """So that a site can be kept under version control"""
    made = [write_set(lesson_pages(NOTEBOOKS[-1:]), tmp_path / str(number))[0].read_bytes() for number in range(2)]
    assert made[0] == made[1]
