"""The code as the linter, the formatter and the type checker see it; their settings are in pyproject.toml."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
COMMANDS = {
    "ruff check": ("ruff", "check", "tunelib", "tests"),
    "ruff format": ("ruff", "format", "--check", "tunelib", "tests"),
    "mypy": ("mypy",),
}


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS.keys())
def test_the_code_is_in_order(command: tuple[str, ...]) -> None:
    if importlib.util.find_spec(command[0]) is None and not os.environ.get("CI"):
        pytest.skip(f"{command[0]} is not installed: pip install -e '.[test]'")
    outcome = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    assert outcome.returncode == 0, outcome.stdout + outcome.stderr
