"""A note that is asked for in the practice, sung into Chromium's fake microphone, and graded by Python."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import Lab, why_not
from needle_page import RATE, hearing_browser, put_in

from tunelib.pitch import THIRTY_ONE
from tunelib.practice.ear_history import EarHistory, Item
from tunelib.practice.ear_plan import Turn
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import SungQuestion

SHARP = 7.0  # cents
PREPARED = """
import numpy as np
from tunelib.practice import practice
from tunelib.practice.ear_history import EarHistory, Item
from tunelib.practice.ear_plan import Turn
from tunelib.practice.ear_session import EarSession
"""
PANEL = """
panel = practice(seed=1)
panel.microphone.value = True
panel.sitting._begin = lambda: EarSession(
    [Turn(Item("sing", "9"))], EarHistory(), panel.settings(), np.random.default_rng(2), keep=panel._keep)
panel
"""


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the microphone hears: the note, a little sharp, and silence."""
    dice, settings = np.random.default_rng(2), EarSettings(THIRTY_ONE, microphone=True)
    question = EarSession([Turn(Item("sing", "9"))], EarHistory(), settings, dice).question
    assert isinstance(question, SungQuestion)
    turns = np.arange(int(2.5 * RATE)) / RATE * question.targets[0] * 2 ** (SHARP / 1200)
    note = 0.05 * sum(np.sin(2 * np.pi * n * turns + n * n) / n for n in range(1, 9))
    path = tmp_path_factory.mktemp("sung") / "heard.wav"
    put_in(path, np.concatenate([np.zeros(RATE // 2), note]))
    return path


@pytest.fixture(scope="module")
def chromium(sound: Path) -> Iterator[Any]:
    """A browser with that microphone, in place of the one that other files share."""
    if why_not():
        pytest.skip(why_not())
    with hearing_browser(sound) as browser:
        yield browser


def test_a_note_is_sung_heard_and_graded(lab: Lab) -> None:
    """Listen is pressed, the voice holds and stops: it says how sharp that was, and the needle is gone."""
    page = lab.open_cells("sung.ipynb", [PREPARED, PANEL])
    page.page.context.grant_permissions(["microphone"])
    panel = page.page.locator(".tunelib-practice")
    panel.get_by_role("button", name="Begin").click()
    panel.get_by_role("button", name="Listen", exact=True).click()
    response = panel.locator(".tunelib-drill-response")
    response.get_by_text("cents sharp").wait_for()
    said = response.inner_text()
    assert said.startswith("✓")
    off = float(said.split(": ")[1].split(" cents")[0])
    assert abs(off - SHARP) < 1.5, said
    panel.locator(".tunelib-needle").wait_for(state="detached")
    assert page.errors == []
    page.close()
