"""How the tests share the work: as many processes as DEVELOPERS.md says, and what stays together."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import running


@pytest.mark.parametrize(
    ("named", "processes"),
    [
        (["tests", "tunelib", "lessons"], min((os.cpu_count() or 1) + 1, running.MOST_PROCESSES)),
        (["tests/test_running.py", "tests/test_notes.py"], min((os.cpu_count() or 1) + 1, running.MOST_PROCESSES)),
        ([__file__], 0),
        ([f"{__file__}::test_one", f"{__file__}::test_another"], 0),
    ],
)
def test_there_is_a_process_more_than_cores_and_none_for_a_single_file(
    pytestconfig: Any, named: list[str], processes: int
) -> None:
    """As pytest asks for it, with whatever else has an answer to that."""
    assert pytestconfig.hook.pytest_xdist_auto_num_workers(config=SimpleNamespace(args=named)) == processes


def test_what_drives_a_browser_stays_together() -> None:
    assert {running.group(f"tests/test_{name}.py") for name in ("browser", "guard", "live_player")} == {"browser"}
    assert {running.group(file) for file in running.PAGES} == {"pages"}
    assert not any(re.search(r"\blab: ", (running.ROOT / file).read_text("utf-8")) for file in running.PAGES)
    assert running.group("tests/test_notes.py") == "tests/test_notes.py"


@pytest.mark.parametrize("file", [*running.PAGES, *running.SLOW])
def test_a_file_that_is_set_apart_is_there(file: str) -> None:
    assert (running.ROOT / file).is_file()


def test_a_test_that_hangs_fails_once_and_the_others_are_run(tmp_path: Path) -> None:
    hangs = "import time\ndef test_1(): pass\ndef test_2(): time.sleep(600)\ndef test_3(): pass\n"
    (tmp_path / "test_hangs.py").write_text(hangs)
    (tmp_path / "test_more.py").write_text("def test_4(): pass\n")
    options = ["-p", "running", "-n", "1", "-o", "faulthandler_timeout=5", "-o", "faulthandler_exit_on_timeout=true"]
    environment = os.environ | {"PYTHONPATH": str(Path(running.__file__).parent), "PYTEST_ADDOPTS": ""}
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-rA",
        f"--rootdir={tmp_path}",
        "-c",
        os.devnull,
        *options,
        str(tmp_path),
    ]
    ran = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True)
    assert "1 failed, 3 passed" in ran.stdout and "crashed while running 'test_hangs.py::test_2'" in ran.stdout
    assert "time.sleep" in ran.stdout + ran.stderr or 'test_hangs.py", line 3 in test_2' in ran.stderr
