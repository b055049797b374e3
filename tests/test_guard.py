"""No key that is pressed on any part of ours reaches the notebook, where a B would insert a cell and two Ds delete one.

Every kind of part, and each kind of control in it, is given every key that a notebook has a use for, and the notebook
is looked at after each of them; also where a press takes the focus away, since its button is disabled or hidden by it.
"""

from __future__ import annotations

from collections.abc import Mapping

from browser import Lab, Page

from tunelib.live import LAYOUTS

STRAY = [
    *"abcdfhijklmorsvxyz01", "d", "d", "0", "0", "ArrowUp", "ArrowDown", "Delete", "Backspace", "Shift+M", "Shift+L",
    "Shift+Enter", "Alt+Enter", "Control+Enter", "Escape", "Enter", "Space",
]  # fmt: skip
FEW_STRAY = [*"abxmdd", "Shift+Enter", "Alt+Enter", "Escape", "Enter", "Space"]
PRESSING = ("Enter", "Space")
AFTERWARDS = ["b", "d", "d"]  # wherever the focus has gone then
IMPORTS = """\
from tunelib.live import keys, needle
from tunelib.practice import exercise, progress, question
from tunelib.practice.ear_test import ear_test
from tunelib.practice.reading_drill import reading_drill
from tunelib.practice.take_panel import take_panel
from tunelib.practice.tune_panel import tune_panel
from tunelib.show import panel
"""
KEYS = ".tunelib-key"
CONTROLS = ":is(button, input, select, textarea, .noUi-handle, .widget-readout):not(.tunelib-keys *)"
PARTS = {f"keys(31, {layout!r})": KEYS for layout in LAYOUTS} | dict.fromkeys(
    (
        'panel("series_sheet")',
        "exercise(1, numbers=True)",
        "question(1)",
        "exercise(25)",
        "reading_drill()",
        "needle(31)",
        'tune_panel("title: Bare Boards\\ntempo: 240\\n\\n| Dm7 | G7 | Cmaj7 |")',
        "ear_test()",
        "take_panel()",
        "progress()",
    ),
    CONTROLS,
)
FEW_PARTS = {
    "keys(31)": KEYS,
    'panel("beats")': CONTROLS,
    "exercise(1, numbers=True)": CONTROLS,
    "reading_drill()": CONTROLS,
}

# On the page: of the controls of a part, the first and the last of each kind; and all that a key might change.
_TOOLS = """
window.stray = {
  async find(cell, controls) {
    const open = window.jupyterapp.shell.currentWidget.content;
    await open.scrollToItem(cell, 'start');
    const {node} = open.widgets[cell];
    const seen = [...node.querySelectorAll(`.jp-OutputArea ${controls}`)].filter(control => control.checkVisibility());
    const kinds = Map.groupBy(seen, ({localName, type, classList}) => `${localName} ${type} ${classList.item(0)}`);
    this.controls = [...kinds.values()].flatMap(all => [...new Set([all[0], all.at(-1)])]);
    return this.controls.map(({localName, className}) => `${localName} ${className}`);
  },
  notebook() {
    const open = window.jupyterapp.shell.currentWidget.content;
    const cells = open.widgets.map(({model}) => [model.type, model.sharedModel.getSource(), model.executionCount]);
    return JSON.stringify([cells, open.mode, document.querySelectorAll('.jp-Dialog').length]);
  },
};
"""


def changed_by_keys(page: Page, parts: Mapping[str, str], stray: list[str]) -> list[str]:
    """Which keys changed the notebook, of all that are pressed on the controls of the parts, one in each cell."""
    page.page.evaluate(_TOOLS)
    found: list[str] = []
    before = page.page.evaluate("stray.notebook()")

    def press(key: str, where: str) -> None:
        nonlocal before
        page.page.keyboard.press(key)
        now = page.page.evaluate("stray.notebook()")
        if now != before:
            found.append(f"{key} on {where}")
        before = now

    for cell, (part, kinds) in enumerate(parts.items(), start=1):
        for number, control in enumerate(page.page.evaluate("given => stray.find(...given)", [cell, kinds])):
            for key in stray:
                page.page.evaluate("number => stray.controls[number].focus()", number)
                press(key, f"{control} of {part}")
                for later in AFTERWARDS if key in PRESSING else ():
                    press(later, f"{control} of {part}, after {key}")
            if found:
                return found  # a notebook that has changed has its controls elsewhere
    return found


def test_in_jupyterlab(lab: Lab) -> None:
    page = lab.open_cells("stray.ipynb", [IMPORTS, *PARTS])
    assert page.cell_errors() == []
    assert changed_by_keys(page, PARTS, STRAY) == []
    page.close()


def test_in_notebook_7(lab: Lab) -> None:
    page = lab.open_classic("stray_classic.ipynb", [IMPORTS, *FEW_PARTS], ".tunelib-reading-drill img")
    assert page.cell_errors() == []
    assert changed_by_keys(page, FEW_PARTS, FEW_STRAY) == []
    page.close()
