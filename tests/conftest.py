"""What every test shares: a test that cannot run here says why, and where CI is set that counts as a failure."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Iterator[None]:
    """Turn a skipped test into a failed one where CI is set, keeping its reason."""
    report = yield
    return _no_skip_in_ci(report)


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Iterator[None]:
    """The same for a whole module that is skipped while it is collected."""
    report = yield
    return _no_skip_in_ci(report)


def _no_skip_in_ci(report: Any) -> Any:
    if os.environ.get("CI") and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"skipped where CI is set: {reason}"
    return report
