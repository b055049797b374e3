"""The keys in a real JupyterLab: played by mouse and letters, heard by Python, and no key reaches the notebook."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from browser import Lab, Page

from tunelib.sound import TIMBRES

CELLS = [
    "import ipywidgets\nfrom tunelib.live import keys\nboard = keys(title='The keys')",
    "board",
    "heard = ipywidgets.Label('nothing')\n"
    "def tell(change):\n"
    "    heard.value = f'{board.held} {board.chord} {len(board.played)}'\n"
    "board.observe(tell, 'held')\nheard",
    "keys(12, 'line', title='Other keys')",
]
PLAYER = "globalThis[Symbol.for('tunelib.player')]"
STRAY = (
    "a b c d x z m y r l o s v i 0 1 6 Enter Escape ArrowUp ArrowDown ArrowLeft ArrowRight Space Backspace Delete "
    "PageUp PageDown Shift+M Shift+Enter Alt+Enter Control+Enter Shift+ArrowDown Control+Shift+Minus Shift+V Shift+L"
).split()


@pytest.fixture(scope="module")
def page(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("keys.ipynb", CELLS)
    page.page.locator(".tunelib-keys .tunelib-key").first.wait_for()
    yield page
    page.close()


def key(page: Page, name: str) -> Any:
    """The key that says a name aloud."""
    return page.page.locator(f".tunelib-keys .tunelib-key[aria-label='{name}']").first


def wait_heard(page: Page, words: str) -> None:
    """Wait until Python has said what it heard."""
    page.page.locator(".widget-label", has_text=words).wait_for()


def voices(page: Page) -> int:
    """How many voices are under the hand, as the player has it."""
    return int(page.page.evaluate(f"{PLAYER}.pressed.size"))


def notebook(page: Page) -> Any:
    """All of a notebook that a stray key might change."""
    return page.tool(
        "(w => [w.content.widgets.map(c => [c.model.type, c.model.sharedModel.getSource()]), w.content.activeCellIndex,"
        " w.content.mode, document.querySelectorAll('.jp-Dialog').length])(window.jupyterapp.shell.currentWidget)"
    )


def test_two_keys_at_once_reach_python_and_are_named(page: Page) -> None:
    assert page.cell_errors() == []
    keyboard = page.page.keyboard
    key(page, "C 4").hover()
    page.page.mouse.down()
    keyboard.down("d")  # the third place of the home row: two tones above C
    wait_heard(page, "[0, 10]")
    assert voices(page) == 2
    said = page.page.locator(".tunelib-said").first
    assert "387.1 cents up: 0.8 cents wider than 5/4" in said.inner_text()
    keyboard.down("t")
    wait_heard(page, "[0, 10, 18] C, near 4:5:6")
    page.page.locator(".tunelib-said", has_text="Root position, complete").first.wait_for()
    keyboard.up("d")
    keyboard.up("t")
    page.page.mouse.up()
    wait_heard(page, "[]")
    assert voices(page) == 0


def test_the_mouse_slides_from_key_to_key(page: Page) -> None:
    key(page, "C 4").hover()
    page.page.mouse.down()
    wait_heard(page, "[0]")
    key(page, "D 4").hover()
    wait_heard(page, "[5]")
    assert voices(page) == 1
    page.page.mouse.up()
    wait_heard(page, "[]")


def test_space_held_plays_the_key_that_has_the_focus(page: Page) -> None:
    key(page, "C 4").focus()
    page.page.keyboard.press("ArrowRight")
    page.page.keyboard.down("Space")
    page.page.keyboard.down("Space")  # as a held key repeats
    wait_heard(page, "[5]")
    assert voices(page) == 1
    page.page.keyboard.up("Space")
    wait_heard(page, "[]")


def test_a_timbre_of_the_library_is_fetched_when_it_is_chosen(page: Page) -> None:
    sound = page.page.get_by_label("Sound").first
    assert sound.locator("option").count() == len(TIMBRES)
    page.page.evaluate(
        f"""(({{press, retune}}, player) => Object.assign(player, {{
          press(owner, id, tone, ...more) {{
            window.attack = tone.attack;
            press.call(player, owner, id, tone, ...more);
          }},
          retune(id, tone) {{
            window.attack = tone.attack;
            retune.call(player, id, tone);
          }},
        }}))({PLAYER}, {PLAYER})"""
    )
    key(page, "C 4").hover()
    page.page.mouse.down()
    assert page.page.evaluate("attack") == TIMBRES["organ"].attack != TIMBRES["brass"].attack
    sound.select_option("brass-like")
    page.page.wait_for_function("wanted => attack === wanted", arg=TIMBRES["brass"].attack)
    page.page.mouse.up()
    key(page, "C 4").click()
    assert page.page.evaluate("attack") == TIMBRES["brass"].attack


def test_no_key_reaches_the_notebook(page: Page) -> None:
    """Neither on the keys nor on what is set beside them"""
    other = page.page.locator(".tunelib-keys").nth(1)
    other.locator("summary").click()
    before = notebook(page)
    parts = ".tunelib-key >> nth=5", ".tunelib-tools button >> nth=4", ".tunelib-choice >> nth=1", ".tunelib-number"
    for part in parts:
        for stray in STRAY:
            other.locator(part).focus()
            page.page.keyboard.press(stray)
            assert notebook(page) == before, f"{stray} on {part} changed the notebook"


def test_no_key_reaches_the_notebook_in_notebook_7(lab: Lab) -> None:
    page = lab.open_classic("keys_in_notebook.ipynb", CELLS[:2], ".tunelib-key")
    cells = page.page.locator(".jp-Cell")
    before = cells.count()
    for stray in [*STRAY, "d", "d"]:
        page.page.locator(".tunelib-key").nth(5).focus()
        page.page.keyboard.press(stray)
        assert cells.count() == before, f"{stray} changed the notebook"
    page.page.close()


def test_tab_leaves_the_keys(page: Page) -> None:
    key(page, "C 4").focus()
    page.page.keyboard.press("Tab")
    assert page.page.evaluate("document.activeElement.textContent") == "Octave −"


def test_the_keys_play_on_without_a_kernel(page: Page) -> None:
    page.tool("window.jupyterapp.serviceManager.sessions.shutdownAll()")
    key(page, "C 4").focus()
    page.page.keyboard.down("a")
    page.page.keyboard.down("d")
    page.page.keyboard.down("t")
    assert voices(page) == 3
    assert "C, near 4:5:6" in page.page.locator(".tunelib-said").first.inner_text()
    for letter in "adt":
        page.page.keyboard.up(letter)
    assert voices(page) == 0
