"""What the tests in this folder share: one JupyterLab with one browser, for all that is tried in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import Lab, running_browser, running_lab, why_not


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The one browser; Playwright starts no second beside it in the same process."""
    if why_not():
        pytest.skip(why_not())
    with running_browser() as browser:
        yield browser


@pytest.fixture(scope="session")
def lab(chromium: Any) -> Iterator[Lab]:
    """A JupyterLab on a copy of the lessons."""
    with running_lab(Path(__file__).resolve().parent.parent / "lessons", chromium) as running:
        yield running
