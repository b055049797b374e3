"""What the tests in this folder share: one JupyterLab with one browser, for all that is tried in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import Lab, running_lab, why_not


@pytest.fixture(scope="session")
def lab() -> Iterator[Lab]:
    """A JupyterLab on a copy of the lessons."""
    if why_not():
        pytest.skip(why_not())
    with running_lab(Path(__file__).resolve().parent.parent / "lessons") as running:
        yield running
