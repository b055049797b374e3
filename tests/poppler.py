"""Printed pages as somebody else reads them: by the tools of poppler."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest


def poppler(tool: str, *arguments: str | Path) -> str:
    """What one of poppler's tools says."""
    if shutil.which(tool) is None:
        pytest.skip(f"{tool} (poppler-utils) is not installed")
    return subprocess.run([tool, *arguments], check=True, capture_output=True).stdout.decode()


def words(text: str) -> str:
    """Text with all white space alike, and with no break in it that the page has put there."""
    return " ".join(text.split())


def unhyphened(text: str) -> str:
    """Words without their hyphens, which poppler leaves out where a line ends with one."""
    return words(text).replace("- ", "-").replace("-", "")
