"""What the tests of a file share: one browser, and one JupyterLab for all that is tried in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import Lab, running_browser, running_lab, why_not

collect_ignore_glob = ["said/*"]  # tables, each read by the test that needs it


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A browser for the tests of one file; while it is open an event loop runs, in which panels would draw later."""
    if why_not():
        pytest.skip(why_not())
    with running_browser() as browser:
        yield browser


@pytest.fixture(scope="module")
def lab(chromium: Any) -> Iterator[Lab]:
    """A JupyterLab on a copy of the lessons."""
    with running_lab(Path(__file__).resolve().parent.parent / "lessons", chromium) as running:
        yield running
