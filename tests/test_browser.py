"""Every lesson in a real JupyterLab in a real browser: it opens, runs, and every knob changes its picture."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import nbformat
import pytest
from browser import FEWEST_PIXELS, Lab, Page, wait_until

from tunelib.pitch.instruments import instrument
from tunelib.practice.reading_drill import CHOICES, reading_tasks
from tunelib.practice.tune_folder import FOLDER
from tunelib.practice.tune_panel import tune_panel

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
NAMES = [path.name for path in sorted(LESSONS.glob("*.ipynb"))]


@pytest.fixture(scope="module", params=NAMES)
def lesson(lab: Lab, request: pytest.FixtureRequest) -> Iterator[tuple[str, Page]]:
    page = lab.open(request.param)
    yield request.param, page
    page.close()


def _stored_pictures(name: str) -> tuple[int, int]:
    """How many stored pictures come to life when a lesson is run, and how many stay pictures."""
    notebook = nbformat.read(LESSONS / name, as_version=4)
    stored = [output.get("data", {}) for cell in notebook.cells for output in cell.get("outputs", [])]
    return sum("image/png" in data for data in stored), sum(data.get("text/html", "").count("<img") for data in stored)


def test_a_lesson_in_a_browser(lesson: tuple[str, Page]) -> None:
    """Pictures are there before anything runs; then all cells run, and each knob by keyboard changes its picture.

    Nothing may fail on the way: no cell, no script on the page. And no knob may make the page jump.
    """
    name, page = lesson
    lively, still = _stored_pictures(name)
    page.wait_for_stored_pictures(lively + still)
    assert "model not found" not in page.text().lower()

    page.run_all()
    assert page.cell_errors() == []
    panels = (".tunelib-tune-panel", ".tunelib-reading-drill", ".tunelib-needle")  # a take panel begins without one
    others = ", ".join([*panels, ".tunelib-keys:not(.tunelib-card *)"])
    live = page.panels() + page.page.locator(others).count()
    assert live == lively, "not every stored picture came to life"

    assert page.cut_labels() == [], "a knob's label is cut off"
    for control in page.controls():
        moved = page.move(control)
        if moved.pixels < FEWEST_PIXELS and control.kind == "slider":  # one step of a taste may leave all as it was
            moved = page.move(control, far=True)
        assert moved.pixels >= FEWEST_PIXELS, f"{control} was moved, and its picture stayed as it was"
        assert moved.jump < 1, f"{control} made the page jump"
    assert page.errors == []


def test_exercises_are_answered_by_keyboard_alone(lesson: tuple[str, Page]) -> None:
    """Tab, Space and Enter reach and work every part of a card, and JupyterLab keeps its hands off them."""
    _, page = lesson
    if not page.has_run:
        page.run_all()
    page.tool("window.jupyterapp.commands.execute('notebook:expand-all-headings')")
    cards = page.page.locator(".tunelib-card")
    cells = page.page.locator(".jp-Cell").count()
    for number in range(cards.count()):
        card = cards.nth(number)
        field = card.locator("input[type=text]")
        if field.count():
            field.focus()
            page.page.keyboard.type("no idea")
            page.page.keyboard.press("Enter")
            card.get_by_text("I cannot read").wait_for()
            if not card.get_by_role("button", name="Hint").count():  # a question that is answered on keys has none
                continue
            for _ in ("Check", "Hint"):
                page.page.keyboard.press("Tab")
            page.page.keyboard.press("Enter")
            card.get_by_text("Hint.", exact=True).wait_for()
            page.page.keyboard.press("Tab")
            page.page.keyboard.press("Space")
            card.get_by_text("Worked answer.", exact=True).wait_for()
        else:
            card.locator("button.jupyter-button").first.focus()
            page.page.keyboard.press("Tab")
            page.page.keyboard.press("Space")
            card.locator("[role=status][aria-live]").wait_for()
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for a card changed the notebook"
    assert page.errors == []


# Every kind of panel: what makes it, what its pictures are called, and each place that Tab stops at, with what
# assistive technology is told there: role, name, value.
SLIDER, TYPED, BUTTON, CHOICE = "slider", "textbox", "button", "combobox"
NUMBER, FOLD = "spinbutton", "DisclosureTriangle"
BOARDS = "title: Bare Boards\ntempo: 240\n\n| Dm7 | G7 | Cmaj7 |"
VOLUME = (SLIDER, "Volume", "60 per cent")
SOUND = [(BUTTON, "Hear it", ""), ("checkbox", "Hold", "false"), VOLUME, (BUTTON, "Full screen", "")]
PANELS: dict[str, tuple[str, list[str], list[tuple[str, str, str]]]] = {
    "panel-1": (
        'panel("small_difference")',
        ["Picture: How small a difference?"],
        [
            (SLIDER, "Difference to hear (cents)", "10.0 cents"),
            (TYPED, "Difference to hear (cents), typed", "10.0"),
            (SLIDER, "Lower tone (Hz)", "440.0 Hz"),
            (TYPED, "Lower tone (Hz), typed", "440.0"),
            (SLIDER, "Threshold to compare (cents)", "20.0 cents"),
            (TYPED, "Threshold to compare (cents), typed", "20.0"),
            ("checkbox", "It is mine, from the test", "false"),
            *SOUND,
        ],
    ),
    "panel-2": (
        'panel("series_sheet")',
        ["Picture: Your own sheet"],
        [
            (CHOICE, "Instrument", "alto saxophone"),
            (SLIDER, "Fundamental", "B flat 1"),
            (SLIDER, "Harmonics up to", "16"),
            (TYPED, "Harmonics up to, typed", "16"),
            ("checkbox", "Show the cents", "true"),
            *SOUND,
            (BUTTON, "Make my sheet", ""),
        ],
    ),
    "panel-3": (
        'panel("the_trade")',
        ["Picture: What is a note worth?"],
        [
            (SLIDER, "A note must earn (cents)", "0.40 cents"),
            (TYPED, "A note must earn (cents), typed", "0.40"),
            (SLIDER, "Odd numbers up to", "7"),
            *SOUND,
        ],
    ),
    "card-1": (
        "exercise(3, numbers=True)",
        [],
        [(TYPED, "Your answer", ""), (BUTTON, "Check", ""), (BUTTON, "Hint", "")],
    ),
    "card-2": (
        "question(1)",
        [],
        [
            *SOUND[:2],
            (BUTTON, "First", ""),
            (BUTTON, "Second", ""),
            VOLUME,
            (BUTTON, "A. It would keep its shape and sit farther to the right.", ""),
            (BUTTON, "B. It would be taller.", ""),
            (BUTTON, "C. Its crests would crowd closer together.", ""),
        ],
    ),
    "reading-drill": (
        "reading_drill()",
        ["Picture: the staff, described below"],
        [
            (CHOICE, "Instrument", "alto saxophone"),
            (TYPED, "Your answer", ""),
            (BUTTON, "Check", ""),
            (BUTTON, "Show me", ""),
            (BUTTON, "Another round", ""),
            ("checkbox", "Show keys to answer on", "false"),
        ],
    ),
    "ear-test": (
        "ear_test()",
        [],
        [
            (CHOICE, "Register", "middle (440 Hz)"),
            (CHOICE, "Sound", "sine"),
            (CHOICE, "Rule", "a staircase, some 50 trials"),
            (BUTTON, "Begin", ""),
            VOLUME,
        ],
    ),
    "take-panel": (
        "take_panel()",
        [],
        [
            (BUTTON, "Record", ""),
            (BUTTON, "Choose a file", ""),
            ("checkbox", "Count-in", "false"),
            ("checkbox", "Drone on B♭2", "false"),
            (CHOICE, "Take", "a mixed day"),
            (CHOICE, "Played by", "alto saxophone"),
            (CHOICE, "Against", "harmonics of B♭1"),
            (BUTTON, "Measure", ""),
            (BUTTON, "Hear it", ""),
            VOLUME,
        ],
    ),
    "tune-panel": (
        f"tune_panel({BOARDS!r})",
        [],
        [
            (BUTTON, "Bar 1, beat 1: Dm7, as written", ""),
            (BUTTON, "Hear it", ""),
            ("checkbox", "Hold", "false"),
            (BUTTON, "in 31", ""),
            (BUTTON, "in 12", ""),
            VOLUME,
            *[(BUTTON, f"Hear it {way}", "") for way in ("as written in 12", "as written in 31", "as chosen")],
            *[(BUTTON, voice["said"], "") for voice in tune_panel(BOARDS).chord["voices"]],
            (BUTTON, "Lock this chord", ""),
            (BUTTON, "Lock Dm7 everywhere", ""),
            (BUTTON, "Hear Dm7: as it is now", ""),
            (NUMBER, "From bar", "1"),
            (NUMBER, "To bar", "1"),
            (BUTTON, "Lock or free", ""),
            (BUTTON, "Undo", ""),
            (BUTTON, "Redo", ""),
            (BUTTON, "Save my choices", ""),
            (BUTTON, "Open my choices", ""),
            (BUTTON, "Write the files", ""),
            (FOLD, "Taste, voicing, feel, players", ""),
            (FOLD, "The tune, as text", ""),
        ],
    ),
    "progress": ("progress()", [], [(BUTTON, "Forget my progress", "")]),
}
_IMPORTS = """\
from tunelib.show import panel
from tunelib.practice import exercise, progress, question
from tunelib.practice.ear_test import ear_test
from tunelib.practice.reading_drill import reading_drill
from tunelib.practice.take_panel import take_panel
from tunelib.practice.tune_panel import tune_panel
"""


@pytest.fixture(scope="module")
def panels(lab: Lab) -> Iterator[Page]:
    """One notebook with a panel of every kind, in which each has a class of its own."""
    cells = []
    for name, (call, *_) in PANELS.items():
        widget = "shown.card.widget" if name.startswith("card") else "shown"
        cells.append(f'shown = {call}\n{widget}.add_class("here-{name}")\nshown')
    page = lab.open_cells("panels.ipynb", [_IMPORTS, *cells])
    yield page
    page.close()


@pytest.mark.parametrize("name", PANELS)
def test_tab_reaches_every_control_which_says_what_it_is_and_is_seen_to_have_the_keyboard(
    panels: Page, name: str
) -> None:
    """Role, name and value from the browser's accessibility tree; WCAG 2.2, criteria 2.1.1, 2.4.7, 1.4.11 and 4.1.2.

    The frame is held to 2.4.13, the strictest: as much as an outline two pixels wide, at 3 to 1.
    """
    _, pictures, wanted = PANELS[name]
    panel = panels.page.locator(f".here-{name}")
    panel.scroll_into_view_if_needed()
    if name == "tune-panel":  # in which all is made ready to be heard while nobody does anything
        panel.locator(".tunelib-hear:enabled").wait_for()
        panel.locator("[aria-busy=false] .tunelib-chart-alternative").first.wait_for()
    stops = panels.walk(f".here-{name}")
    assert [(stop.role, stop.name, stop.value) for stop in stops] == wanted
    assert [stop for stop in stops if stop.frame < 1] == [], "hardly to be told from what has not the keyboard"
    assert panel.locator("img:visible").evaluate_all("images => images.map(i => i.ariaLabel)") == pictures
    assert panel.get_by_role("img").count() == len(pictures)
    assert panels.errors == []


def test_the_ear_test_and_the_take_panel_work_by_keyboard_alone(panels: Page) -> None:
    """The test of step 9 begins and takes an answer; step 10 measures a take, and another, when asked."""
    ear = panels.page.locator(".tunelib-ear-test")
    playing = "globalThis[Symbol.for('tunelib.player')].owner !== undefined"
    assert not panels.page.evaluate(playing), "a sound was there before anybody asked"
    ear.get_by_role("button", name="Begin").focus()
    panels.page.keyboard.press("Enter")
    said = ear.get_by_role("status")
    said.get_by_text("0 trials").wait_for()
    panels.page.wait_for_function(f"() => {playing}")
    panels.page.keyboard.press("Tab")
    panels.page.keyboard.press("Space")
    said.get_by_text("1 trial,").wait_for()
    take = panels.page.locator(".tunelib-take-panel")
    take.scroll_into_view_if_needed()
    take.get_by_role("button", name="Measure").focus()
    panels.page.keyboard.press("Enter")
    take.get_by_text("Furthest off: note 3 at 0:02.1, harmonic 7 (F5), −18.0 cents").wait_for()
    take.locator("select").first.focus()
    panels.page.keyboard.press("End")
    panels.page.keyboard.press("Tab")
    take.get_by_role("button", name="Measure").focus()
    panels.page.keyboard.press("Enter")
    take.get_by_text("record a take or choose a file first").wait_for()
    assert panels.errors == []


def test_the_reading_drill_is_worked_to_its_end_by_keyboard_alone(panels: Page) -> None:
    """A wrong answer is told why, numbers and buttons both answer, and no key falls through to the notebook.

    The names that are typed hold every letter that JupyterLab would take for a command of its own: `B` inserts a cell.
    """
    page = panels
    drill, keys = page.page.locator(".tunelib-reading-drill"), page.page.keyboard
    cells = page.page.locator(".jp-Cell").count()
    tasks = reading_tasks(instrument("alto saxophone"))
    drill.get_by_text(f"Note 1 of {len(tasks)}").wait_for()
    drill.locator("input[type=text]").focus()
    keys.type("B#")
    keys.press("Enter")
    drill.get_by_text("Neither letter nor sign yet").wait_for()
    keys.press("Control+a")
    for number, task in enumerate(tasks, start=1):
        drill.get_by_text(f"Note {number} of {len(tasks)}").wait_for()
        page.wait_for_keyboard(".tunelib-reading-drill input")  # the drill hands it over where the buttons go
        if task.choices and number % 2 == 0:
            for _ in ("Check", *CHOICES[: CHOICES.index(task.answer) + 1]):
                keys.press("Tab")
            keys.press("Space")
        else:
            keys.type(task.answer if task.choices else task.note.typed)
            keys.press("Enter")
    drill.get_by_text(f"{len(tasks) - 1} of {len(tasks)} right at the first try").wait_for()
    page.wait_for_keyboard("button[title^='Begin again']")
    keys.press("Enter")
    drill.get_by_text(f"Note 1 of {len(tasks)}").wait_for()
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for the drill changed the notebook"
    assert page.errors == []


def test_a_tune_of_ones_own_is_retuned_heard_and_written_by_keyboard_alone(lab: Lab, panels: Page) -> None:
    """A mistake gives its line and column; mended, the tune is retuned, changed by a knob, heard, and written to files.

    What is typed holds letters and keys that JupyterLab would take for commands of its own, were they to reach it.
    """
    page = panels
    panel, keys = page.page.locator(".tunelib-tune-panel"), page.page.keyboard
    cells = page.page.locator(".jp-Cell").count()
    for fold in ("Taste, voicing, feel, players", "The tune, as text"):
        panel.get_by_text(fold).focus()
        keys.press("Enter")
    panel.locator("textarea").focus()
    keys.press("Control+a")
    keys.type("title: Bare Boards\ntempo: 240\n\n| Dm7 | Bb7xx | Cmaj7 |\n")
    keys.press("Tab")
    panel.get_by_text("line 4, column 9: 'Bb7xx'").wait_for()

    panel.locator("textarea").focus()
    keys.press("Control+a")
    keys.type("title: Bare Boards\ntempo: 240\n\n| Dm7 | G7 | Cmaj7 |\n")
    keys.press("Tab")
    sign = panel.get_by_role("button", name="Bar 2, beat 1")
    panel.get_by_role("button", name="Bar 2, beat 1: G7, tuned as Gharm7").wait_for()

    panel.get_by_role("slider", name="Adventure").focus()
    keys.press("Home")
    panel.get_by_role("button", name="Bar 2, beat 1: G7, as written").wait_for()
    panel.get_by_role("checkbox", name="Roots may drift").focus()
    keys.press("Space")
    panel.locator(".tunelib-chart-sign[tabindex='0']").focus()
    keys.press("ArrowRight")
    keys.press("Enter")
    page.page.wait_for_function(
        "sign => sign === document.activeElement && sign.matches('.tunelib-now')", arg=sign.element_handle()
    )
    panel.locator(".tunelib-hear:enabled").wait_for()
    page.tab_to("Hear it")
    keys.press("Enter")
    panel.get_by_role("button", name="Stop").wait_for()
    for division in (31, 12):
        page.tab_to(f"in {division}")
        keys.press("Enter")
        panel.locator(f"button[aria-pressed=true]:text('in {division}')").wait_for()
    page.tab_to("Write the files")
    keys.press("Enter")
    panel.get_by_text("beside this notebook").wait_for()
    written = sorted(path.suffix for path in (lab.folder / FOLDER).glob("bare-boards*"))
    assert written == [".csv", ".mid", ".mid", ".musicxml", ".pdf", ".wav", ".wav"]
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for the tune changed the notebook"
    assert page.errors == []


def test_an_exercise_solved_by_keyboard_is_kept_shown_and_forgotten(lab: Lab, panels: Page) -> None:
    """The file is in the lab's own folder; a card made anew says so; the list forgets only at the second press."""
    page, keys = panels.page, panels.page.keyboard
    page.bring_to_front()  # a page behind another does not send what was typed
    page.locator(".here-card-1 input").focus()
    keys.type("3/2")
    keys.press("Enter")
    page.locator(".here-card-1").get_by_text("✓").wait_for()
    panels.run_all()
    page.locator(".here-card-1").get_by_text("✓ Solved before, on").wait_for()
    listed = page.locator(".here-progress")
    listed.get_by_text("✓ solved on").first.wait_for()
    file = lab.folder.parent / "progress" / "progress.json"
    wait_until(file.is_file)  # it is written on the side
    listed.get_by_role("button", name="Forget my progress").focus()
    keys.press("Enter")
    listed.get_by_role("button", name="Yes, forget it all").wait_for()
    panels.answered()
    assert file.is_file()
    assert [stop.name for stop in panels.walk(".here-progress")] == ["Yes, forget it all", "No, keep it"]
    listed.get_by_role("button", name="Yes, forget it all").focus()
    keys.press("Space")
    listed.get_by_text("Forgotten. The old file is now").wait_for()
    assert not file.exists() and file.with_name("progress-before-1.json").is_file()
    assert panels.errors == []


@pytest.mark.parametrize(("name", "label", "step"), [("glossary", "Step 31", 31), ("exhibits", "step 6", 6)])
def test_a_link_to_a_step_opens_its_lesson_at_that_step(lab: Lab, name: str, label: str, step: int) -> None:
    page = lab.open(f"{name}.ipynb")
    heeded = page.page.locator(".jp-Notebook a[href*='/files/']")  # JupyterLab has taken a link in hand when it says so
    heeded.get_by_text(label, exact=True).first.click()
    page.page.wait_for_function(
        "step => [...document.querySelectorAll('.jp-Notebook h2')].some(heading => {"
        " const top = heading.getBoundingClientRect().top;"
        " return heading.textContent.startsWith(`Step ${step} `) && top > 0 && top < innerHeight / 2; })",
        arg=step,
    )
    page.close()
