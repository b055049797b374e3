"""The microphone in a real JupyterLab, whose browser hears a file: recorded as a learner would, and reported rightly.

A file that is chosen arrives whole or is refused at once, and no report is shown as that of another take.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from time import monotonic
from typing import Any

import numpy as np
import pytest
import soundfile
from browser import Lab, Page, running_browser, why_not

from tunelib.pitch import equal
from tunelib.score import sequence
from tunelib.sound import TIMBRES, render, wav_bytes

RATE = 48_000
STEPS = (0, 5, 10, 13, 18, 23, 28, 31)
OFF = (3, -8, 0, 12, -4, 6, 0, -2)  # cents, by which each note of the take is wrong
PLAYED = dict(zip(("A4", "B4", "C♯5", "D5", "E5", "F♯5", "G♯5", "A5"), OFF, strict=True))  # as an alto saxophone reads
NOTE_SECONDS, REST_SECONDS = 0.8, 2  # it rests until a busy browser, too, has opened its microphone
TAKE_SECONDS = REST_SECONDS + NOTE_SECONDS * len(STEPS)
PANEL = "from tunelib.practice import take_panel\npanel = take_panel()\npanel.against.value = '31'\npanel"
FLAGS = "--use-fake-device-for-media-stream", "--use-file-for-fake-audio-capture="


def played() -> np.ndarray[Any, Any]:
    hertz = [float(equal(31).hz(step)) * 2 ** (off / 1200) for step, off in zip(STEPS, OFF, strict=True)]
    return render(sequence([(pitch, None) for pitch in hertz], beats=NOTE_SECONDS), TIMBRES["reed"])


@pytest.fixture(scope="module")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A browser whose microphone is a file; it is allowed to no page that has not been given leave."""
    if why_not():
        pytest.skip(why_not())
    heard = np.concatenate([np.zeros(int(REST_SECONDS * RATE)), played(), np.zeros(10 * RATE)])
    file = tmp_path_factory.mktemp("heard") / "heard.wav"
    file.write_bytes(wav_bytes(heard, RATE))
    with running_browser(FLAGS[0], f"{FLAGS[1]}{file}") as browser:
        yield browser


@pytest.fixture
def page(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("take.ipynb", [PANEL])
    page.page.context.grant_permissions(["microphone"])
    yield page
    page.close()


@pytest.fixture(scope="module")
def panel(lab: Lab) -> Iterator[Page]:
    """One page for the tests that leave it as they found it, but for its take."""
    page = lab.open_cells("panel.ipynb", [PANEL])
    page.page.context.grant_permissions(["microphone"])
    yield page
    page.close()


def part(page: Page, name: str) -> Any:
    return page.page.locator(f".tunelib-{name}").first


def wait_for_recorded(page: Page, seconds: float) -> None:
    """Wait until so much is recorded, by the clock in the page, which counts samples."""
    page.page.wait_for_function(
        "seconds => { const clock = document.querySelector('.tunelib-records .tunelib-recorder-clock')?.textContent;"
        " const [, minutes, rest] = /^● Recording (\\d+):(\\d+)$/.exec(clock) ?? [];"
        " return 60 * minutes + Number(rest) >= seconds; }",
        arg=seconds,
    )


def record(page: Page, seconds: float) -> None:
    """Press Record, wait until so much is recorded, and press Stop."""
    part(page, "record").click()
    wait_for_recorded(page, seconds)
    part(page, "record").click()


def taken(words: str) -> int:
    """The seconds of a take, from what is said of it."""
    return int(re.findall(r", (\d+)\ss\b", words)[0])


def report(page: Page, name: str) -> dict[str, float]:
    """Wait for the report on a take, and read from its table how far each note was off, in cents.

    Names of notes are there as they are seen, and in a second line as they are said. A browser that is kept waiting may
    drop a moment of what it hears, which makes two of a note: they are read as one.
    """
    page.page.locator(".tunelib-heading", has_text=f"Report: {name}").wait_for()
    part(page, "report").locator("thead").first.wait_for()  # which comes after it
    columns = part(page, "report").locator("thead th").all_inner_texts()
    rows = [
        re.sub(r"\n[^\t]*", "", row.inner_text()).split("\t")
        for row in page.page.locator(".tunelib-report tbody tr").all()
    ]
    return {row[columns.index("target")]: float(row[columns.index("off")].replace("−", "-")) for row in rows}


def choose(page: Page, name: str, data: bytes) -> None:
    """Choose a file as a reader would: by the button."""
    with page.page.expect_file_chooser() as chooser:
        part(page, "choose").click()
    chooser.value.set_files({"name": name, "mimeType": "audio/wav", "buffer": data})


def test_a_take_that_is_recorded_has_the_notes_that_were_played(panel: Page) -> None:
    """In cents from their targets, as the report has them in words; and its microphone is off afterwards."""
    record(panel, TAKE_SECONDS)
    found = report(panel, "recorded at")
    assert found == pytest.approx(PLAYED, abs=1)
    assert panel.page.evaluate("globalThis[Symbol.for('tunelib.microphone')].used === undefined")
    assert panel.errors == []


def test_the_keyboard_alone_records_and_decides_and_saves(lab: Lab, panel: Page) -> None:
    """And no key reaches the notebook: not even one that is held down, which would press the button again and again."""
    keys, cells = panel.page.keyboard, panel.page.locator(".jp-Cell").count()
    part(panel, "record").focus()
    keys.press("Enter")
    wait_for_recorded(panel, 1)
    keys.press("b")
    keys.down("Space")
    keys.down("Space")
    keys.up("Space")
    panel.page.get_by_text("Which one?").wait_for()
    earlier = part(panel, "recorder-words").inner_text().split("The earlier one, ")[1].split(", is not saved")[0]
    panel.tab_to("Keep the earlier one")
    keys.press("Enter")
    panel.page.get_by_text(f"Your take, as before: {earlier}").wait_for()
    panel.wait_for_keyboard(".tunelib-record")
    panel.tab_to("Save the take")
    keys.press("Enter")
    panel.wait_for_keyboard(".tunelib-save-name")
    keys.press("Control+a")
    keys.type("bdd.flac")
    keys.press("Enter")
    panel.page.get_by_text("Saved as ").wait_for()
    samples, rate = soundfile.read(lab.folder / "bdd.flac")
    assert samples.size / rate == pytest.approx(taken(earlier), abs=0.5) and taken(earlier) >= TAKE_SECONDS
    assert panel.page.locator(".jp-Cell").count() == cells


def test_a_large_file_arrives_whole_under_its_own_name(panel: Page) -> None:
    """Of more than the ten megabytes that a server takes in one message; and the report before it was another's."""
    samples = np.repeat(played()[:, None], 8, axis=1)
    data = wav_bytes(np.pad(samples, ((0, 10 * RATE), (0, 0))), RATE)
    assert len(data) > 12_000_000
    choose(panel, "eight microphones.wav", data)
    assert report(panel, "eight microphones.wav.") == pytest.approx(PLAYED, abs=1)
    assert part(panel, "recorder-words").inner_text() == "Your take: eight microphones.wav."


def test_step_10_is_worked_in_its_lesson_as_a_learner_would(lab: Lab) -> None:
    """The lesson is run, its panel is given the targets by keyboard, and two takes are recorded: the first is kept."""
    page = lab.open("03_measuring_pitch.ipynb")
    page.run_all()
    page.page.context.grant_permissions(["microphone"])
    against = part(page, "against").locator("input")
    against.scroll_into_view_if_needed()
    against.fill("31")
    against.press("Tab")
    record(page, TAKE_SECONDS)
    assert report(page, "recorded at") == pytest.approx(PLAYED, abs=1)
    record(page, 1)
    page.page.get_by_text("Keep the earlier one").click()
    assert report(page, "recorded at") == pytest.approx(PLAYED, abs=1)
    assert page.cell_errors() == [] and page.errors == []
    page.close()


def test_a_file_that_is_too_large_is_refused_at_once_and_the_report_says_whose_it_is(lab: Lab) -> None:
    page = lab.open_cells("large.ipynb", [PANEL + ".recorder.limit = 2_000_000; panel"])
    choose(page, "right.wav", wav_bytes(played(), RATE))
    report(page, "right.wav.")
    choose(page, "concert.wav", bytes(2_500_000))
    words = "concert.wav has 3 MB, and 2 MB is the most that can be taken."
    assert part(page, "recorder-words").inner_text() == (
        f"{words} Cut out the part to be heard, or save it as FLAC. The report is still of right.wav."
    )
    part(page, "heading").get_by_text("Report: right.wav. A newer take, concert.wav, has not been measured.").wait_for()
    choose(page, "empty.wav", b"")
    assert part(page, "recorder-words").inner_text() == "empty.wav is empty. The report is still of right.wav."
    choose(page, "noise.txt", b"Dear diary, today I practised.")
    page.page.locator(".tunelib-heading", has_text="No report: noise.txt.").wait_for()
    page.page.get_by_text("is not a recording that can be read").wait_for()
    assert not part(page, "picture").is_visible()
    page.close()


def test_a_part_that_is_lost_on_the_way_is_sent_again(lab: Lab) -> None:
    cell = """
add, lost = panel.recorder._add, []
def lose(message, part):
    if message["at"] and not lost:
        lost.append(message["at"])
    else:
        add(message, part)
panel.recorder._add = lose
panel"""
    page = lab.open_cells("lost.ipynb", [PANEL + cell])
    choose(page, "right.wav", wav_bytes(np.concatenate([played(), np.zeros(RATE * 10)]), RATE))
    assert report(page, "right.wav.") == pytest.approx(PLAYED, abs=1)
    page.close()


def test_a_take_is_recorded_while_python_is_busy_and_waits_for_it(lab: Lab, page: Page) -> None:
    with lab.busy(page):
        record(page, 3)
        part(page, "recorder-words").get_by_text("Python is busy with another cell").wait_for()
    report(page, "recorded at")
    assert taken(part(page, "heading").inner_text()) >= 3


def test_without_python_a_take_is_saved_from_the_page(page: Page) -> None:
    page.tool("window.jupyterapp.serviceManager.sessions.shutdownAll()")
    record(page, 2)
    part(page, "recorder-words").get_by_text("Python has stopped").wait_for()
    with page.page.expect_download() as download:
        part(page, "rescue").click()
    samples, rate = soundfile.read(download.value.path())
    assert samples.size / rate >= 2 and np.abs(samples).max() > 0.01


def test_a_microphone_that_is_not_allowed_is_said_to_be_so(lab: Lab) -> None:
    page = lab.open_cells("denied.ipynb", [PANEL])
    part(page, "record").click()
    words = part(page, "recorder-words")
    words.get_by_text("The microphone is not allowed here.").wait_for()
    assert "allow the microphone for this page and press again" in words.inner_text()
    assert part(page, "record").inner_text() == "Record" and part(page, "record").is_enabled()
    page.page.context.grant_permissions(["microphone"])
    record(page, 1)
    page.page.locator(".tunelib-heading", has_text="recorded at").wait_for()
    page.close()


def test_the_count_and_the_drone_sound_and_the_take_begins_after_the_count(page: Page) -> None:
    """Four beats at 80 a minute are three seconds, of which the take has none."""
    part(page, "count").check()
    part(page, "drone").check()
    assert part(page, "headphones").inner_text().startswith("Wear headphones, at a low volume")
    pressed = monotonic()
    part(page, "record").click()
    page.page.get_by_text("The count: four beats").wait_for()
    playing = "globalThis[Symbol.for('tunelib.player')].owner !== undefined"
    assert page.page.evaluate(playing)
    wait_for_recorded(page, 2)
    assert page.page.evaluate(playing)
    part(page, "record").click()
    lasted = monotonic() - pressed
    heading = page.page.locator(".tunelib-heading", has_text="Report: recorded at")
    heading.wait_for()
    assert 2 <= taken(heading.inner_text()) < lasted - 2.5
    assert not page.page.evaluate(playing)


def test_a_take_is_recorded_in_notebook_7(lab: Lab) -> None:
    page = lab.open_classic("classic.ipynb", [PANEL], shown=".tunelib-record")
    page.page.context.grant_permissions(["microphone"])
    record(page, TAKE_SECONDS)
    assert report(page, "recorded at") == pytest.approx(PLAYED, abs=1)
    page.close()
