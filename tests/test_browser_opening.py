"""What a learner meets who opens the lessons for the first time, in a browser with settings that nobody has touched."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from typing import Any

from browser import Lab, Page, running_lab
from server import opening_options

TOP = Path(__file__).resolve().parent.parent
LESSONS, START = TOP / "lessons", "00_start_here.ipynb"
_POPS_UP = "[role=alert], .Toastify__toast, .jp-Dialog"
_SECONDS = 4  # in which a message would have come
_NOTHING_FROM_THE_WEB = "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate"


def opened(lab: Lab) -> Page:
    """The map, when all parts of JupyterLab have begun."""
    page = lab.open(START)
    page.tool("window.jupyterapp.restored.then(() => 0)")
    return page


def test_nothing_covers_the_sound_check_when_the_lessons_are_opened_as_readme_says(lab: Lab) -> None:
    page = opened(lab)
    page.page.wait_for_timeout(1000 * _SECONDS)
    assert [words for words in page.page.locator(_POPS_UP).all_inner_texts() if words.strip()] == []
    page.close()


def test_without_the_options_of_readme_something_would_cover_it(chromium: Any) -> None:
    with running_lab(LESSONS, chromium, _NOTHING_FROM_THE_WEB, as_in_readme=False) as plain:
        page = opened(plain)
        page.page.locator(_POPS_UP).filter(has_text="news").first.wait_for()
        page.close()


def test_jupyterlab_is_started_alike_on_every_system() -> None:
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    lines = re.findall(r"jupyter lab (--.+)$", readme, flags=re.MULTILINE)
    assert len(lines) == 2, "one for Debian and macOS, one for Windows"
    for line in lines:
        *options, notebook = shlex.split(line)
        assert tuple(options) == opening_options() != ()
        assert (TOP / notebook).is_file()
