"""What every test shares.

A test that cannot run here says why, and where CI is set that counts as a failure. And no test, nor any kernel that one
starts, reads or writes the progress of whoever runs it: they have a folder of their own.
"""

from __future__ import annotations

import atexit
import os
import tempfile
from collections.abc import Iterator
from typing import Any

import pytest

_PROGRESS = tempfile.TemporaryDirectory(prefix="progress-", ignore_cleanup_errors=True)
atexit.register(_PROGRESS.cleanup)
os.environ["TUNELIB_DATA"] = _PROGRESS.name


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
