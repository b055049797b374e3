"""Processes that work side by side: what they do, and what is left where some are ended at the worst of moments."""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from functools import partial
from typing import Any

import pytest

from tunelib.film.workers import Workers

CONTEXT = multiprocessing.get_context("spawn")
JOBS = list(range(8))
PATIENCE = 300  # seconds, in which whoever is kept waiting has to be found out


def square(number: int) -> int:
    return number * number


def end(deadly: int, number: int) -> int:
    """End the process itself at one of the jobs, as from outside."""
    if number == deadly:
        os._exit(1)
    return square(number)


def count(counted: Any, number: int) -> int:
    """Note that a job has begun, and take long over it."""
    counted[number] = 1
    time.sleep(PATIENCE)
    return number


def done(work: Any, size: int) -> list[tuple[int, int | None]]:
    with Workers[int, int](work, size, CONTEXT) as processes:
        return [each for finished in processes.do(JOBS, 0.2) for each in finished]


@pytest.mark.parametrize("size", [1, 2, 3])
def test_each_job_is_done_once(size: int) -> None:
    assert sorted(done(square, size)) == [(job, job**2) for job in JOBS]
    assert multiprocessing.active_children() == []


def test_where_a_process_ends_only_the_job_that_it_was_at_is_lost() -> None:
    found = dict(done(partial(end, 3), 2))
    assert found == {job: None if job == 3 else job**2 for job in JOBS}


def test_where_the_last_process_ends_all_that_is_left_comes_back_in_order() -> None:
    assert done(partial(end, 3), 1) == [(0, 0), (1, 1), (2, 4), *((job, None) for job in JOBS[3:])]


def test_jobs_that_are_larger_than_a_line_takes_at_once_come_to_a_process_that_has_ended() -> None:
    large = [bytes(2_000_000)] * 3
    with Workers[bytes, int](len, 1, CONTEXT) as processes:
        for process in multiprocessing.active_children():
            process.kill()
        assert [result for finished in processes.do(large, 0.2) for _, result in finished] == [None] * 3


def test_an_end_at_any_moment_of_the_start_keeps_nobody_waiting() -> None:
    """A pool of the standard library hung here in 3 of 100 runs, and in 18 of 60 where the end came sooner still."""
    for moment in (0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2):
        before, found = set(multiprocessing.active_children()), list[tuple[int, int | None]]()
        run = threading.Thread(target=lambda found=found: found.extend(done(square, 2)), daemon=True)
        run.start()
        while run.is_alive() and not (begun := set(multiprocessing.active_children()) - before):
            pass
        time.sleep(moment)
        if begun:
            begun.pop().kill()
        run.join(PATIENCE)
        assert not run.is_alive() and [job for job, _ in sorted(found, key=lambda each: each[0])] == JOBS
        assert set(multiprocessing.active_children()) == before


def test_an_error_stops_processes_that_are_at_work() -> None:
    begun = CONTEXT.RawArray("b", len(JOBS))
    with pytest.raises(KeyboardInterrupt), Workers[int, int](partial(count, begun), 2, CONTEXT) as processes:
        for _ in processes.do(JOBS, 0.05):
            if sum(begun) == 2:
                raised = time.monotonic()
                raise KeyboardInterrupt
    assert time.monotonic() - raised < PATIENCE / 2 and multiprocessing.active_children() == []
