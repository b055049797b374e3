"""How the tests are run, and what every test shares.

Several processes take one file after another (pytest-xdist). The tests of a file stay together and in their order, so
that they share what they have made. The files that drive a browser are two groups, so that no two servers, and no two
players or microphones, are at work at once: those that listen or have a notebook, and those that open pages made for no
server. The slow files come first: whoever is left with one at the end would keep the others waiting.

`-m quick` leaves the slow files out without even reading them, and of the lessons takes one.

A test that cannot run here says why, and where CI is set that counts as a failure. And no test, nor any kernel that one
starts, reads or writes the progress of whoever runs it: they have a folder of their own.
"""

from __future__ import annotations

import atexit
import os
import re
import tempfile
from collections import OrderedDict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from xdist.scheduler import LoadScopeScheduling

ROOT = Path(__file__).resolve().parents[1]
# Left out of `-m quick`, the longest first. A new file is quick until it is written here.
SLOW = (
    "tests/test_browser.py",
    "tests/test_site.py",
    "tests/test_lesson_page.py",
    "tests/test_missing_packages.py",
    "tests/test_index.py",
    "tests/test_binder.py",
    "tests/test_exhibits.py",
    "tests/test_tween.py",
    "tests/test_staging.py",
    "tests/test_look.py",
    "tests/test_clip.py",
    "tests/test_episode.py",
    "tests/test_workers.py",
    "tests/test_code_style.py",
    "tests/test_retune_divisions.py",
    "tests/test_ways_between.py",
    "tests/test_chart_rules.py",
    "tests/test_synthesizer.py",
    "tests/test_pitch_track.py",
    "tests/test_pitch_finder.py",
    "tests/test_alignment.py",
    "tests/test_exercise_file.py",
    "tests/test_keys_page.py",
    "tests/test_live_keys.py",
    "tests/test_guard.py",
    "tests/test_live_player.py",
    "tests/test_browser_chart.py",
    "tests/test_browser_take.py",
    "tests/test_browser_staff.py",
    "tests/test_browser_live.py",
    "tests/test_heard_notes.py",
    "tests/test_microphone_page.py",
    "tests/test_browser_microphone.py",
    "tests/test_browser_needle.py",
    "tests/test_browser_opening.py",
    "tests/test_browser_practice.py",
    "tests/test_browser_sung.py",
    "tests/test_levels.py",
    "tests/test_practice_panel.py",
    "tests/test_ear_session.py",
    "tests/test_ear_questions.py",
    "tests/test_feels.py",
    "tests/test_bass_line.py",
    "tests/test_ahead.py",
    "tests/test_page_answers.py",
    "tests/test_page_cards.py",
    "tests/test_browser_cards.py",
    "lessons/for_presenters.ipynb",
    "lessons/exhibits.ipynb",
    "tests/test_show.py",
    "tests/test_handout.py",
    "tests/test_tune_outputs.py",
    "tests/test_stand_pages.py",
    "tests/test_parts.py",
    "tests/test_shots.py",
    "tests/test_lessons.py",
    "tests/test_lesson_numbers.py",
    "tests/test_sheet.py",
    "tests/test_sheet_pages.py",
    "tests/test_band.py",
    "tests/test_page.py",
    "tests/test_written.py",
    "tests/test_listen.py",
    "tests/test_decoder.py",
    "tests/test_spoilt_takes.py",
    "tests/test_intonation.py",
    "tests/test_take_heard.py",
    "tests/test_take_player.py",
    "tests/test_report.py",
    "tests/test_retune_command.py",
    "tests/test_tune_panel.py",
    "tests/test_readme_pictures.py",
    "tests/test_outputs_agree.py",
    "tests/test_engrave.py",
    "tests/test_reading.py",
    "tests/test_key_grid.py",
    "tests/test_slide.py",
    "tests/test_files.py",
    "tests/test_commands.py",
    "tests/test_long_work.py",
    "tests/test_voice.py",
    "tests/test_sound.py",
    "tests/test_practice.py",
    "tests/test_progress.py",
    "tests/test_chords.py",
    "tests/test_lead_sheet.py",
    "tests/test_thresholds.py",
    "tests/test_bayes_threshold.py",
    "tests/test_ear_curves.py",
    "tests/test_ear_fortnight.py",
    "tests/test_ear_plan.py",
    "tests/test_ear_history.py",
    "tests/test_musicxml.py",
    "tests/test_naming.py",
    "tests/test_meanings.py",
    "tests/test_chord_scales.py",
    "tests/test_chord_scale_picture.py",
    "tests/test_sheet_divisions.py",
    "tests/test_flashes.py",
    "tests/test_hostile_tunes.py",
    "tests/test_captions.py",
    "tests/test_keys.py",
)
PAGES = tuple(f"tests/test_{name}.py" for name in ("site", "index", "page_answers", "page_cards", "progress_line"))
QUICK_LESSON = "lessons/01_waves.ipynb"
QUICK_EXAMPLES = 20  # values that a property test tries, unless it says how many itself
MOST_PROCESSES = 8

_PROGRESS = tempfile.TemporaryDirectory(prefix="progress-", ignore_cleanup_errors=True)
atexit.register(_PROGRESS.cleanup)
os.environ["TUNELIB_DATA"] = _PROGRESS.name


def is_quick(file: str) -> bool:
    """Whether a file, named from the top of the repository, belongs to `-m quick`."""
    if file.endswith(".ipynb"):
        return file == QUICK_LESSON
    return file not in SLOW and not file.startswith("tests/benchmark_")


@cache
def group(file: str) -> str:
    """What one process does in one go: the tests of a file, or those of all files that drive a browser so."""
    if file in PAGES:
        return "pages"
    if file.startswith("tests/test_") and re.search(r"\b(lab: Lab|chromium: Any)", (ROOT / file).read_text("utf-8")):
        return "browser"
    return file


def pytest_configure(config: pytest.Config) -> None:
    """Property tests do not look at the clock, since others share the cores; with `-m quick` they try fewer values.

    Where CI is set they try the same values every time, so that no change fails for what it has not touched; elsewhere
    they try others every time.
    """
    fewer = {"max_examples": QUICK_EXAMPLES} if config.option.markexpr == "quick" else {}
    unhurried = settings(
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
        derandomize=bool(os.environ.get("CI")),
        **fewer,
    )
    settings.register_profile("unhurried", unhurried)
    settings.load_profile("unhurried")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Do not read what `-m quick` would leave out."""
    if config.option.markexpr != "quick" or collection_path.is_dir():
        return None
    return None if is_quick(_from_the_top(collection_path)) else True


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark what is quick; where several processes share the work, put the slow files first."""
    for item in items:
        if is_quick(_from_the_top(item.path)):
            item.add_marker("quick")
    if hasattr(config, "workerinput"):
        order = {file: place for place, file in enumerate(SLOW)}
        items.sort(key=lambda item: order.get(_from_the_top(item.path), len(SLOW)))


def _from_the_top(path: Path) -> str:
    return path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else path.as_posix()


@pytest.hookimpl(tryfirst=True)  # xdist's own would answer before it
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One process more than there are cores, since the one with the browser often waits; for a single file no other."""
    named = {argument.split("::")[0] for argument in config.args}
    if len(named) == 1 and all(Path(name).is_file() for name in named):
        return 0
    return min((os.cpu_count() or 1) + 1, MOST_PROCESSES)


class _Groups(LoadScopeScheduling):
    """Hands out whole groups, in the order in which they were collected."""

    def __init__(self, config: pytest.Config, log: Any) -> None:
        super().__init__(config, log)
        config.option.loadscopereorder = False  # the order is ours

    def _split_scope(self, nodeid: str) -> str:
        return group(nodeid.split("::")[0])

    def schedule(self) -> None:
        """Give each process as much as lets it begin, one that takes the place of another too: it begins a test when it
        knows the next, or that there is none."""
        super().schedule()
        for node in self.nodes:
            self._reschedule(node)

    def remove_node(self, node: Any) -> str | None:
        """Name the test at which a process ended, and leave to others what that had not done.

        That test has failed, and is not begun again, nor is what was done before it.
        """
        left = {name: tests for name, tests in self.assigned_work[node].items() if not all(tests.values())}
        ended = next(((tests, test) for tests in left.values() for test, done in tests.items() if not done), None)
        if ended:
            ended[0][ended[1]] = True
        self.assigned_work[node] = OrderedDict(left)
        super().remove_node(node)
        return ended[1] if ended else None


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    """Processes are given groups of tests instead of single ones."""
    return _Groups(config, log)


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
