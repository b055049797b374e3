"""The house itself: README's commands, its table of packages, and the versions that a hosted session gets."""

from __future__ import annotations

import re
import sys
from fnmatch import fnmatch
from importlib.metadata import files, metadata
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tunelib.commands.line import COMMANDS

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT: dict[str, Any] = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS: dict[str, list[str]] = PROJECT["optional-dependencies"]

# What a licence is called in README, and how packages write the same in their own metadata.
LICENCES = {
    "Apache-2.0": r"Apache-2.0",
    "BSD-2-Clause": r"BSD-2-Clause",
    "BSD-3-Clause": r"BSD",
    "GPL-3.0-or-later": r"GNU General Public License v3 or later",
    "ISC": r"ISC",
    "LGPL-3.0": r"LGPL-3.0",
    "MIT": r"\bMIT\b|Permission is hereby granted, free of charge, to any person",  # or the licence's own words
    "MIT-CMU": r"MIT-CMU",
    "MPL-2.0": r"MPL-2.0",
    "OFL-1.1": r"SIL OFL 1\.1",
    "Matplotlib licence (PSF style)": r"Python Software Foundation License",
}


def _required(*extras: str) -> dict[str, Requirement]:
    lines = [*PROJECT["dependencies"], *(line for extra in extras for line in EXTRAS[extra])]
    required = [Requirement(line) for line in lines]
    return {canonicalize_name(one.name): one for one in required if one.name != PROJECT["name"]}


def _table() -> dict[str, tuple[str, str]]:
    """README's table of packages: name to licence and what it comes with."""
    rows = re.findall(r"^\| ([\w-]+) \| .+ \| (.+) \| (always|`\w+`) \|$", README, flags=re.MULTILINE)
    return {name: (licence, comes.strip("`")) for name, licence, comes in rows}


def test_the_table_of_packages_has_every_dependency_under_the_right_extra_and_no_other() -> None:
    wanted = dict.fromkeys(_required(), "always")
    for extra in EXTRAS:
        wanted |= {name: extra for name in _required(extra) if name not in wanted}
    assert {name: comes for name, (_, comes) in _table().items()} == wanted


def _installed_here(name: str) -> bool:
    """Whether a package of the table is asked for on this version of Python."""
    required = _required(*EXTRAS).get(name)
    return required is None or required.marker is None or required.marker.evaluate()


@pytest.mark.parametrize("name", [name for name in _table() if _installed_here(name)])
def test_a_package_is_under_the_licence_that_the_table_gives(name: str) -> None:
    about = metadata(name)
    classifiers = [line for line in about.get_all("Classifier") or [] if line.startswith("License")]
    said = [about.get("License-Expression") or "", about.get("License") or "", *classifiers]
    if not any(said):
        said = [file.read_text() for file in files(name) or [] if "licenses" in file.parts]
    assert re.search(LICENCES[_table()[name][0]], "\n".join(said))


def test_readme_gives_one_line_to_open_the_lessons_and_one_to_run_the_tests() -> None:
    lines = [line for line in README.splitlines() if line.startswith("python3 ")]
    opening, testing = lines
    assert opening.startswith('python3 -m venv .venv && .venv/bin/pip install -e ".[lessons,studio]" && ')
    *options, notebook = opening.split("jupyter lab ")[1].split()
    assert (TOP / notebook).is_file()
    assert [(TOP / option.split("=")[1] / "overrides.json").is_file() for option in options] == [True]
    assert testing == 'python3 -m venv .venv && .venv/bin/pip install -e ".[test]" && .venv/bin/python -m pytest'


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.NAME)
def test_readme_has_every_command(command: Any) -> None:
    assert f"python -m tunelib {command.NAME}" in README, "give an example of the command in README"


def test_every_place_that_readme_and_developers_link_to_is_there() -> None:
    for page in ("README.md", "DEVELOPERS.md"):
        text = (TOP / page).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert target.startswith("http") or (TOP / target).exists(), f"{page} links to {target}"


def test_the_versions_of_a_hosted_session_keep_the_bounds_and_name_every_package() -> None:
    lines = (TOP / "binder" / "requirements.txt").read_text(encoding="utf-8").splitlines()
    assert "-e .[lessons,studio]" in lines
    pins = dict(line.split("==") for line in lines if "==" in line)
    python = (TOP / "binder" / "runtime.txt").read_text(encoding="utf-8").strip().removeprefix("python-")
    for name, requirement in _required("lessons", "studio").items():
        if requirement.marker and not requirement.marker.evaluate({"python_version": python}):
            continue
        assert name in pins, f"{name} is not pinned"
        assert requirement.specifier.contains(pins[name]), f"{name} {pins[name]} breaks {requirement}"
    assert Requirement(f"python{PROJECT['requires-python']}").specifier.contains(python)


def test_the_top_holds_what_it_should_and_nothing_else() -> None:
    """What git ignores, and files that begin with a dot, aside"""
    kept = {"README.md", "DEVELOPERS.md", "pyproject.toml", "lessons", "tunelib", "tests", "binder"}
    ignored = [line.rstrip("/") for line in (TOP / ".gitignore").read_text(encoding="utf-8").split()]
    found = [path.name for path in TOP.iterdir() if not path.name.startswith(".")]
    assert {name for name in found if not any(fnmatch(name, pattern) for pattern in ignored)} == kept


def test_each_benchmark_is_once_in_the_table_for_developers() -> None:
    named = re.findall(r"^\| `python tests/(benchmark_\w+\.py)", DEVELOPERS, flags=re.MULTILINE)
    assert sorted(named) == sorted(path.name for path in (TOP / "tests").glob("benchmark_*.py"))
