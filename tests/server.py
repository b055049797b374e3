"""A Jupyter server of our own on this machine: with a copy of some notebooks, and settings that are nobody else's."""

from __future__ import annotations

import json
import os
import re
import secrets
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil

_FOLDERS = {
    "JUPYTER_CONFIG_DIR": "config",
    "JUPYTER_DATA_DIR": "data",
    "JUPYTER_RUNTIME_DIR": "runtime",
    "JUPYTERLAB_SETTINGS_DIR": "settings",
    "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
    "IPYTHONDIR": "ipython",
    "TUNELIB_DATA": "progress",
}
_LONGEST_START = 300  # seconds, on a machine that is busy with all else
_LONGEST_END = 60  # seconds, of a server, and of what is left of it
# Below the ports that systems give out by themselves: a server looks for a free one and takes it only seconds later.
_PORTS = range(20_000, 32_000)
_README = Path(__file__).resolve().parent.parent / "README.md"


def opening_options() -> tuple[str, ...]:
    """The options with which README's one line starts JupyterLab."""
    [line] = re.findall(
        r"^python3 .* && \S+/jupyter lab (.+)$", _README.read_text(encoding="utf-8"), flags=re.MULTILINE
    )
    return tuple(word for word in shlex.split(line) if word.startswith("--"))


@dataclass(frozen=True)
class Server:
    """A running server: its process, its address with a slash at the end, and its copy of the notebooks."""

    process: psutil.Process
    address: str
    token: str
    folder: Path


@contextmanager
def running_server(notebooks: Path, *options: str, as_in_readme: bool = True) -> Iterator[Server]:
    """Serve a copy of a folder of notebooks; at the end the server stops, and with it every kernel.

    It starts with the options of README's line too, unless `as_in_readme` is false.

    Raises RuntimeError if the server does not start, or if something of it still runs when it has stopped.
    """
    with tempfile.TemporaryDirectory(prefix="lessons-", ignore_cleanup_errors=True) as name:
        place = Path(name)
        root = place / "notebooks"
        shutil.copytree(notebooks, root, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
        command = [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ip=127.0.0.1",
            f"--port={secrets.choice(_PORTS)}",
            f"--ServerApp.root_dir={root}", *(opening_options() if as_in_readme else ()), *options,
        ]  # fmt: skip
        with (place / "server.log").open("w+") as log:
            started = subprocess.Popen(command, env=_environment(place), cwd=_README.parent, stdout=log, stderr=log)
            process = psutil.Process(started.pid)
            family: list[psutil.Process] = []
            try:
                said = _said_by(started, place / _FOLDERS["JUPYTER_RUNTIME_DIR"], log)
                yield Server(process, said["url"], said["token"], root)
            finally:
                if started.poll() is None:
                    family = process.children(recursive=True)
                _stop(started)
                _, left = psutil.wait_procs(family, timeout=_LONGEST_END)
                for one in left:
                    one.kill()
        if left:
            raise RuntimeError(f"still running after the server had stopped, and ended now: {left}")


def _environment(place: Path) -> dict[str, str]:
    own = {name: str(place / folder) for name, folder in _FOLDERS.items()}
    for folder in own.values():
        Path(folder).mkdir()
    return os.environ | own | {"JUPYTER_PREFER_ENV_PATH": "1"}


def _stop(started: subprocess.Popen[bytes]) -> None:
    """Stop a server, which ends its kernels first.

    At its very end it may wait for ever for a thread: AnyIO tells its workers to end when the task is done for which
    they were begun, and a signal may come before that.
    """
    started.terminate()
    try:
        started.wait(timeout=_LONGEST_END)
    except subprocess.TimeoutExpired:
        started.kill()
        started.wait()


def _said_by(started: subprocess.Popen[bytes], runtime: Path, log: Any) -> dict[str, str]:
    """What a server writes down about itself, once it answers."""
    until = time.monotonic() + _LONGEST_START
    while started.poll() is None and time.monotonic() < until:
        for note in runtime.glob("jpserver-*.json"):
            try:
                said: dict[str, str] = json.loads(note.read_text(encoding="utf-8"))
                with urllib.request.urlopen(f"{said['url']}api/status?token={said['token']}", timeout=5):
                    return said
            except (ValueError, OSError):  # half written, or not listening yet
                pass
        time.sleep(0.25)
    log.seek(0)
    raise RuntimeError(f"the server did not start:\n{log.read()[-3000:]}")
