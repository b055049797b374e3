"""An episode: the pictures and clips of a shot list, made where they are missing or out of date, several at once.

What is made is first written in a folder of its own inside the wanted one, which also keeps a second run out, and each
finished file is then moved into place. A run may be stopped at any moment without losing anything finished.
"""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any, Protocol, TypeAlias

from PIL import Image

from tunelib.files import alone_in, check_targets
from tunelib.film.clip import clip
from tunelib.film.contact import AS_IT_WAS, NEW, SHEET, Row, contact_sheet, pictures, sheet_origin
from tunelib.film.encoder import cores
from tunelib.film.origins import origin
from tunelib.film.record import Figures, Made, Record
from tunelib.film.shot import Episode, Output, clip_arguments
from tunelib.film.workers import Workers
from tunelib.pitch import look_up
from tunelib.show import find_size, still

MOST_JOBS = 60  # Windows waits for 61 processes at the most
_LOOK_SECONDS = 0.2  # between two looks at how far the work is
_STILL_FRAMES = 12  # a still takes about as long as this many frames of a clip, with a process's share of loading
_SURE = 0.02  # share of the work after which the time left is told


class Watch(Protocol):
    """Is told how the work is going."""

    def going(self, share: float, left: float | None) -> None:
        """The share of the work that is done, and about how many seconds are left, once that is known."""

    def finished(self, file: str, reason: str | None) -> None:
        """A file is there, or could not be made for a reason."""


@dataclass(frozen=True)
class Plan:
    """What a run has to do, and what it finds.

    `wanted` are the outputs that are missing or out of date, `current` those that are neither. `refused` says why, for
    each file that is not ours to replace. `left` are files of an earlier state of the shot list.
    """

    episode: Episode
    record: Record
    origins: Mapping[str, str]
    wanted: tuple[Output, ...]
    current: tuple[Output, ...]
    refused: tuple[str, ...]
    left: tuple[str, ...]

    @property
    def renews_sheet(self) -> bool:
        """Whether the contact sheet would change, even if nothing else is made."""
        return not self.record.is_current(SHEET, sheet_origin(self.episode, self.origins, self.rows({}, ())), [SHEET])

    def rows(self, failed: Mapping[str, str], made: Sequence[str]) -> list[Row]:
        """What the contact sheet says of each output."""
        return [self._row(output, failed, made) for output in self.episode.outputs]

    def _row(self, output: Output, failed: Mapping[str, str], made: Sequence[str]) -> Row:
        if output.file in failed:
            return Row(output, f"not made: {failed[output.file]}", None)
        on_record = self.record.outputs.get(output.file)
        if not self.record.is_current(output.file, self.origins[output.file], output.files) or on_record is None:
            return Row(output, "not made yet" if on_record is None else "out of date", None)
        return Row(output, NEW if output.file in made else AS_IT_WAS, on_record.figures)


@dataclass
class Outcome:
    """What came of a run: names of files, and of those that failed also why."""

    made: list[str] = field(default_factory=list)
    current: list[str] = field(default_factory=list)
    failed: dict[str, str] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)
    sheet: Path | None = None


def plan_episode(episode: Episode, folder: str | Path, only: Sequence[str] = ()) -> Plan:
    """Find out what has to be made, without making anything.

    `only` are names of shots; all, if there are none. Raises ValueError for a name that is not in the list, and for a
    record of earlier runs that cannot be read.
    """
    names = {shot.name: shot.name for shot in episode.shots}
    chosen = {look_up(name, names, "shot") for name in only} or set(names)
    record = Record.read(Path(folder))
    origins = {output.file: origin(output) for output in episode.outputs}
    asked = [output for output in episode.outputs if output.shot.name in chosen]
    current = [output for output in asked if record.is_current(output.file, origins[output.file], output.files)]
    wanted = [output for output in asked if output not in current]
    targets = [*(file for output in wanted for file in output.files), SHEET]
    return Plan(
        episode,
        record,
        origins,
        tuple(wanted),
        tuple(current),
        tuple(record.in_the_way(targets, episode.file)),
        tuple(record.left([SHEET, *(file for output in episode.outputs for file in output.files)], episode.file)),
    )


def render_plan(
    plan: Plan, jobs: int | None = None, force: bool = False, watch: Watch | None = None, reads: Sequence[Path] = ()
) -> Outcome:
    """Make what a plan wants, and the contact sheet; what fails does not stop the rest.

    Parameters
    ----------
    plan : Plan
    jobs : int, optional
        How many outputs to make at once, 1 to 60; as many as there are cores, unless given.
    force : bool
        Whether files that are not ours are replaced.
    watch : Watch, optional
    reads : paths, optional
        What must not be replaced in any case: the shot list.

    Where several are made at once, in processes of their own, a script that calls this must be one that can be
    imported: its work goes under ``if __name__ == "__main__":``.

    Raises FileExistsError, before anything is made, for files that are not ours to replace, one to a line of its
    message, and where another run is at work in the folder; ValueError for a folder, a device or the shot list itself
    in the place of a file.
    """
    if plan.refused and not force:
        raise FileExistsError("\n".join(plan.refused))
    if jobs is not None and not 1 <= jobs <= MOST_JOBS:
        raise ValueError(f"the number of jobs must be from 1 to {MOST_JOBS}, not {jobs}")
    targets = [*(file for output in plan.wanted for file in output.files), SHEET]
    check_targets((plan.record.folder / file for file in targets), overwrite=True, reads=reads)
    outcome = Outcome(current=[output.file for output in plan.current], left=list(plan.left))
    if not plan.wanted and not plan.renews_sheet:
        outcome.sheet = plan.record.folder / SHEET
        return outcome
    with alone_in(plan.record.folder) as making:
        _Run(plan, outcome, making, force, watch).go(jobs or min(cores(), MOST_JOBS))
    return outcome


@dataclass(frozen=True)
class Job:
    """One piece of work for one process: a clip, a still, or the pictures of a shot on the contact sheet."""

    number: int
    kind: str
    name: str
    arguments: dict[str, Any]
    weight: float


Result: TypeAlias = "Figures | list[bytes] | str"  # what was made, the pictures themselves, or why nothing was


class _Run:
    """One run: hands out the jobs and takes in what they made."""

    def __init__(self, plan: Plan, outcome: Outcome, making: Path, force: bool, watch: Watch | None) -> None:
        self._plan = plan
        self._outcome = outcome
        self._making = making
        self._force = force
        self._watch = watch
        self._wanted = {output.file: output for output in plan.wanted}
        self._pictures: dict[str, list[bytes]] = {}
        self._began = time.monotonic()

    def go(self, workers: int) -> None:
        jobs = self._jobs(min(workers, len(self._wanted)) > 1)
        if min(workers, len(jobs)) > 1:
            lost = self._in_parallel(jobs, min(workers, len(jobs)))
            while lost and (lost := self._in_parallel(lost, 1)):  # one by one, in case that memory ran out
                self._take(lost.pop(0), "its process was ended from outside; perhaps memory ran out")
        else:
            shares = [0.0] * len(jobs)
            for number, job in enumerate(jobs):

                def tell(share: float, number: int = number) -> None:
                    shares[number] = share
                    self._going(jobs, shares)

                self._take(job, _done(job, tell))
                tell(1.0)
        self._save_sheet()

    def _jobs(self, several: bool) -> list[Job]:
        """All that is to be done, the longest first, so that no core is left waiting at the end."""
        found: list[tuple[str, str, dict[str, Any], float]] = []
        for output in self._plan.wanted:
            width, height = find_size(output.size).pixels
            path = self._making / output.file
            if output.shot.moves:
                arguments = clip_arguments(output) | {"path": path, "threads": 1 if several else None}
                frames = output.shot.programme.seconds * output.shot.settings.fps
            else:
                arguments, frames = _still_arguments(output, path), _STILL_FRAMES
            found.append(("clip" if output.shot.moves else "still", output.file, arguments, frames * width * height))
        width, height = find_size("panel").pixels
        for shot in self._plan.episode.shots:
            weight = (len(shot.glances) + 2) * width * height
            found.append(("pictures", shot.name, {"shot": replace(shot)}, weight))
        found.sort(key=lambda one: -one[-1])
        return [Job(number, *one) for number, one in enumerate(found)]

    def _in_parallel(self, jobs: Sequence[Job], workers: int) -> list[Job]:
        """Do jobs in processes of their own; returns, in order, those that a process did not live to finish."""
        context = multiprocessing.get_context("spawn")
        shares = context.RawArray("d", max(job.number for job in jobs) + 1)
        lost: list[Job] = []
        with Workers[Job, Result](partial(_work, shares), workers, context) as processes:
            for finished in processes.do(jobs, _LOOK_SECONDS):
                for job, result in finished:
                    if result is None:
                        lost.append(job)
                    else:
                        shares[job.number] = 1.0
                        self._take(job, result)
                self._going(jobs, shares)
        return sorted(lost, key=lambda job: job.number)

    def _going(self, jobs: Sequence[Job], shares: Sequence[float]) -> None:
        if self._watch is None:
            return
        whole = sum(job.weight for job in jobs)
        share = sum(job.weight * shares[job.number] for job in jobs) / whole
        spent = time.monotonic() - self._began
        self._watch.going(share, spent * (1 - share) / share if share > _SURE else None)

    def _take(self, job: Job, result: Result) -> None:
        """Keep what a job made, or note why it made nothing."""
        if isinstance(result, list):
            self._pictures[job.name] = result
            return
        if job.kind == "pictures":
            return  # the sheet goes without, and the outputs of the shot say why
        if isinstance(result, Figures):
            output = self._wanted[job.name]
            made = Made(self._plan.origins[job.name], result)
            try:
                self._plan.record.take(self._making, job.name, output.files, made, self._plan.episode.file, self._force)
            except OSError as error:
                result = str(error)
        if isinstance(result, str):
            self._outcome.failed[job.name] = result
        else:
            self._outcome.made.append(job.name)
        if self._watch is not None:
            self._watch.finished(job.name, result if isinstance(result, str) else None)

    def _save_sheet(self) -> None:
        plan, outcome = self._plan, self._outcome
        outcome.made = [output.file for output in plan.wanted if output.file in outcome.made]
        rows = plan.rows(outcome.failed, outcome.made)
        data = contact_sheet(plan.episode, rows, self._pictures)
        (self._making / SHEET).write_bytes(data)
        made = Made(sheet_origin(plan.episode, plan.origins, rows), Figures(len(data), 0, 0))
        plan.record.take(self._making, SHEET, [SHEET], made, plan.episode.file, self._force)
        outcome.sheet = plan.record.folder / SHEET


def _still_arguments(output: Output, path: Path) -> dict[str, Any]:
    shot = output.shot
    return {
        "exhibit": shot.exhibit.name,
        "path": path,
        "size": output.size,
        "theme": shot.settings.theme,
        "caption": shot.settings.sentence,
        "title": shot.title,
        **shot.stops[0].values,
    }


def _done(job: Job, tell: Callable[[float], None]) -> Result:
    """Do a job; what came of it, or why nothing did."""
    try:
        if job.kind == "pictures":
            return pictures(**job.arguments)
        if job.kind == "still":
            return _still_figures(still(**job.arguments), job.arguments["size"])
        report = clip(**job.arguments, progress=lambda share, left: tell(share))
        size = report.paths[0].stat().st_size
        return Figures(size, *report.pixels, report.seconds, report.rate, report.loudness, report.true_peak)
    except Exception as error:
        said = " ".join(str(error).split())
        return said if isinstance(error, (ValueError, OSError)) and said else f"{type(error).__name__}: {said}"


def _still_figures(path: Path, size: str) -> Figures:
    width, height = find_size(size).pixels
    if path.suffix == ".png":
        with Image.open(path) as opened:
            width, height = opened.size
    return Figures(path.stat().st_size, width, height)


def _work(shares: Any, job: Job) -> Result:
    """Do a job in a process of its own, which tells how far it is where the others see it."""

    def tell(share: float) -> None:
        shares[job.number] = share

    return _done(job, tell)
