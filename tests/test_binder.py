"""The recipe in binder/: what repo2docker makes of it, and every pinned version installed from nothing.

Building the image takes a container engine, which a test cannot count on. What stands between the recipe and the image
is tried without one: repo2docker's own Dockerfile, and in a clean environment the commands that this Dockerfile runs.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parent.parent
BINDER = TOP / "binder"
PYTHON = (BINDER / "runtime.txt").read_text(encoding="utf-8").strip().removeprefix("python-")
PINS = {
    name: version
    for line in (BINDER / "requirements.txt").read_text(encoding="utf-8").splitlines()
    for name, equal, version in [line.partition("==")]
    if equal
}
START_PAGE = "lessons/00_start_here.ipynb"
_LEFT_OUT = (
    *(".git", ".venv", "build", "*.egg-info", ".*_cache", ".hypothesis", "__pycache__", ".ipynb_checkpoints"),
    *("my_sheets", "my_clips"),  # what lessons write, perhaps at this moment
)
# What an image asks for by a conda name that is not its name on PyPI, and what is no Python package.
_ON_PYPI = {"jupyterhub-singleuser": "jupyterhub"}
_NOT_PYTHON = {"python", "nodejs", "pip"}


def _run(command: list[str | Path], folder: Path, **environment: str) -> str:
    """What a command prints; AssertionError with its complaint if it fails."""
    done = subprocess.run(command, cwd=folder, env=os.environ | environment, capture_output=True, text=True)
    assert done.returncode == 0, f"{command} failed:\n{done.stdout[-2000:]}\n{done.stderr[-4000:]}"
    return done.stdout


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The repository as a hub's builder gets it."""
    place = tmp_path_factory.mktemp("binder") / "repository"
    shutil.copytree(TOP, place, ignore=shutil.ignore_patterns(*_LEFT_OUT))
    return place


@pytest.fixture(scope="module")
def dockerfile(copy: Path) -> list[str]:
    """The lines of the Dockerfile that repo2docker makes for a machine of the common kind, without building it."""
    command = [sys.executable, "-m", "repo2docker", "--no-build", "--Repo2Docker.platform=linux/amd64", str(copy)]
    return _run([*command], copy.parent).splitlines()


def test_the_image_is_built_with_pip_on_the_python_that_runtime_txt_asks_for(dockerfile: list[str]) -> None:
    base = [line for line in dockerfile if line.endswith(" /tmp/env/environment.lock")]
    assert len(base) == 1
    escaped = re.sub(r"-([0-9a-f]{2})", lambda code: chr(int(code[1], 16)), base[0])
    assert f"environment.py-{PYTHON}-linux-64.lock" in escaped
    assert "ENV KERNEL_PYTHON_PREFIX=${NB_PYTHON_PREFIX}" in dockerfile  # one environment, for server and kernels


def test_the_image_installs_from_the_whole_repository_then_runs_a_lesson_then_starts(dockerfile: list[str]) -> None:
    """`-e .` needs pyproject.toml and the library to be there, and a lesson needs all that is installed."""
    wanted = [
        r"WORKDIR \$\{REPO_DIR\}",
        r"COPY .* src/ \$\{REPO_DIR\}/",
        r"USER \$\{NB_USER\}",
        r'RUN \$\{KERNEL_PYTHON_PREFIX\}/bin/pip install .*-r "binder/requirements.txt"',
        r"RUN \./binder/postBuild",
        r'ENV R2D_ENTRYPOINT="\$\{REPO_DIR\}/binder/start"',
        r"CMD \[.*\]",
    ]
    at = -1
    for pattern in wanted:
        rest = [number for number, line in enumerate(dockerfile) if number > at and re.fullmatch(pattern, line)]
        assert rest, f"{pattern} is not there, or comes too early"
        at = rest[0]
    assert sum("pip install" in line for line in dockerfile) == 1


def test_readme_links_a_session_to_the_first_lesson_where_the_image_has_it(copy: Path) -> None:
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    assert re.findall(r"urlpath=lab/tree/(\S+?)[`\s]", readme) == [START_PAGE]
    assert (copy / START_PAGE).is_file()


@dataclass(frozen=True)
class Clean:
    """An environment made from nothing with the pinned versions: where it is, and pip's report of what came into it."""

    folder: Path
    repository: Path
    report: dict[str, Any]

    @property
    def installed(self) -> list[dict[str, Any]]:
        return list(self.report["install"])

    def pip(self, *arguments: str) -> str:
        return _pip(self.folder, self.repository, *arguments)


def _pip(environment: Path, folder: Path, *arguments: str) -> str:
    return _run([environment / "bin" / "python", "-m", "pip", *arguments], folder, PIP_DISABLE_PIP_VERSION_CHECK="1")


def _versions(packages: list[dict[str, Any]]) -> dict[str, str]:
    about = [package["metadata"] for package in packages]
    return {canonicalize_name(one["name"]): one["version"] for one in about}


def _pinned_python() -> str | None:
    """A Python of the version in runtime.txt that works, if there is one here."""
    if f"{sys.version_info.major}.{sys.version_info.minor}" == PYTHON:
        return sys.executable
    found = shutil.which(f"python{PYTHON}")
    works = found and subprocess.run([found, "-c", "import venv, ensurepip"], capture_output=True).returncode == 0
    return found if works else None


@pytest.fixture(scope="module")
def clean(copy: Path, tmp_path_factory: pytest.TempPathFactory) -> Clean:
    if not sys.platform.startswith("linux"):
        pytest.skip(f"an image has Linux, and its pins are not for {sys.platform}")
    python = _pinned_python()
    if python is None:
        pytest.skip(f"the pins are for Python {PYTHON}, which is not here")
    folder = tmp_path_factory.mktemp("clean")
    _run([python, "-m", "venv", folder], copy)
    report = folder / "installed.json"
    try:
        _pip(folder, copy, "install", "--no-compile", "--report", str(report), "-r", "binder/requirements.txt")
    except AssertionError as failed:
        if "connection broken by" not in str(failed):
            raise
        pytest.skip("no package index can be reached from here")
    return Clean(folder, copy, json.loads(report.read_text(encoding="utf-8")))


def test_every_pin_is_installed_from_nothing_as_a_wheel_and_all_fit_together(clean: Clean) -> None:
    assert {name: version for name, version in _versions(clean.installed).items() if name != "tunelib"} == PINS
    built = [one["download_info"]["url"] for one in clean.installed if not _is_wheel(one)]
    assert built == [clean.repository.as_uri()]  # a wheel needs no compiler, and tunelib is installed where it lies
    clean.pip("check")


def _is_wheel(package: dict[str, Any]) -> bool:
    return str(package["download_info"]["url"]).endswith(".whl")


def test_no_package_is_pinned_that_neither_the_lessons_nor_the_image_need(clean: Clean) -> None:
    """Followed from what tunelib asks for, by each package's own list; that none is left unpinned, pip has shown."""
    asks = {
        canonicalize_name(one["metadata"]["name"]): one["metadata"].get("requires_dist", []) for one in clean.installed
    }
    reached: set[tuple[str, str]] = set()
    waiting = [Requirement("tunelib[lessons,studio]"), Requirement("notebook")]
    while waiting:
        wanted = waiting.pop()
        name = canonicalize_name(wanted.name)
        for extra in {"", *wanted.extras} - {extra for seen, extra in reached if seen == name}:
            reached.add((name, extra))
            further = [Requirement(line) for line in asks[name]]
            here = clean.report["environment"] | {"extra": extra}
            waiting += [one for one in further if one.marker is None or one.marker.evaluate(here)]
    assert {name for name, _ in reached} == {*PINS, "tunelib"}


def test_what_an_image_has_from_the_start_stays_whole_beside_the_pins(clean: Clean) -> None:
    """repo2docker puts a server for hubs in first; our pins go over it, and pip would not refuse to break it."""
    base = {name: version for name, version in _base_versions().items() if name not in PINS}
    assert "jupyterhub" in base
    under, report = clean.folder / "pins.txt", clean.folder / "base.json"
    under.write_text("".join(f"{name}=={version}\n" for name, version in PINS.items()), encoding="utf-8")
    wanted = [f"{name}=={version}" for name, version in base.items()]
    clean.pip("install", "--dry-run", "--report", str(report), "-c", str(under), *wanted)
    resolved = _versions(json.loads(report.read_text(encoding="utf-8"))["install"])
    assert base.items() <= resolved.items()
    assert not resolved.keys() & PINS.keys()


def _base_versions() -> dict[str, str]:
    """What an image has from the start: names as on PyPI, and the versions in repo2docker's lock file."""
    found = find_spec("repo2docker")  # looked for and not imported: it warns of its own parts
    assert found and found.origin
    conda = Path(found.origin).parent / "buildpacks" / "conda"
    wanted = re.findall(r"^- ([\w-]+)", (conda / f"environment.py-{PYTHON}.yml").read_text(), flags=re.MULTILINE)
    lock = (conda / f"environment.py-{PYTHON}-linux-64.lock").read_text(encoding="utf-8")
    base = {}
    for name in set(wanted) - _NOT_PYTHON - {"conda-forge"}:
        line = re.search(rf"/{re.escape(name)}-([\d.]+)-[^/]+$", lock, flags=re.MULTILINE)
        assert line, f"{name} is not in the lock file"
        base[canonicalize_name(_ON_PYPI.get(name, name))] = line[1]
    return base


def test_a_lesson_runs_in_the_clean_environment_and_is_left_as_it_was(clean: Clean, tmp_path: Path) -> None:
    """By the script that the image runs, as a user with an empty home folder."""
    lesson = clean.repository / "lessons" / "02_overtones.ipynb"
    before = lesson.read_bytes()
    path = f"{clean.folder / 'bin'}{os.pathsep}{os.environ['PATH']}"
    unset = {name: "" for name in ("PYTHONPATH", "JUPYTER_PATH") if name in os.environ}
    script = clean.repository / "binder" / "postBuild"
    _run([script], clean.repository, PATH=path, HOME=str(tmp_path), MPLCONFIGDIR=str(tmp_path / "fonts"), **unset)
    assert lesson.read_bytes() == before
    assert list((tmp_path / "fonts").glob("fontlist*.json"))
    settings = clean.folder / "share" / "jupyter" / "lab" / "settings" / "overrides.json"
    assert settings.read_bytes() == (TOP / "lessons" / "material" / "jupyterlab" / "overrides.json").read_bytes()
    where = _run([clean.folder / "bin" / "python", "-c", "import tunelib; print(tunelib.__file__)"], tmp_path)
    assert Path(where.strip()).is_relative_to(clean.repository)


def test_a_lesson_that_fails_stops_the_build(clean: Clean, tmp_path: Path) -> None:
    folder = tmp_path / "lessons"
    folder.mkdir()
    cell = {"cell_type": "code", "id": "one", "source": "1 / 0", "metadata": {}, "outputs": [], "execution_count": None}
    notebook = {"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [cell]}
    (folder / "02_overtones.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    path = f"{clean.folder / 'bin'}{os.pathsep}{os.environ['PATH']}"
    script = clean.repository / "binder" / "postBuild"
    done = subprocess.run([script], cwd=tmp_path, env=os.environ | {"PATH": path}, capture_output=True, text=True)
    assert done.returncode != 0
    assert "ZeroDivisionError" in done.stderr


def _start(repository: Path, home: Path) -> subprocess.CompletedProcess[str]:
    """Start a session whose server says only where it is."""
    own = {"REPO_DIR": str(repository), "HOME": str(home)}
    command = [repository / "binder" / "start", "pwd"]
    return subprocess.run(command, cwd=repository, env=os.environ | own, capture_output=True, text=True)


def test_a_session_finds_the_lessons_in_a_home_folder_of_the_learner_s_own(copy: Path, tmp_path: Path) -> None:
    started = _start(copy, tmp_path)
    assert started.returncode == 0 and started.stdout.strip() == str(tmp_path)
    there = {path.relative_to(copy) for path in (copy / "lessons").rglob("*") if path.is_file()}
    assert {path.relative_to(tmp_path) for path in tmp_path.rglob("*") if path.is_file()} == there
    assert (tmp_path / START_PAGE).read_bytes() == (copy / START_PAGE).read_bytes()


def test_a_second_session_brings_back_what_is_missing_and_keeps_the_learner_s_work(copy: Path, tmp_path: Path) -> None:
    _start(copy, tmp_path)
    (tmp_path / START_PAGE).write_text("my own notes", encoding="utf-8")
    lost = tmp_path / "lessons" / "material" / "blues.txt"
    lost.unlink()
    assert _start(copy, tmp_path).returncode == 0
    assert (tmp_path / START_PAGE).read_text(encoding="utf-8") == "my own notes"
    assert lost.read_bytes() == (copy / "lessons" / "material" / "blues.txt").read_bytes()


def test_a_session_starts_although_the_lessons_cannot_be_copied(copy: Path, tmp_path: Path) -> None:
    (tmp_path / "lessons").write_text("in the way", encoding="utf-8")
    started = _start(copy, tmp_path)
    assert started.returncode == 0 and started.stdout.strip() == str(tmp_path)


def test_a_session_whose_home_is_the_image_s_own_copy_changes_nothing(copy: Path) -> None:
    before = sorted(copy.rglob("*"))
    started = _start(copy, copy)
    assert started.returncode == 0 and started.stdout.strip() == str(copy)
    assert sorted(copy.rglob("*")) == before
