"""``render``: the stills and clips of an episode from its shot list."""

from __future__ import annotations

import argparse
import sys

from tunelib.commands.arguments import add_out, check_folder, is_count, path
from tunelib.commands.telling import Telling
from tunelib.pitch import clock, shortened, times

NAME = "render"
SUMMARY = "make the stills and clips of an episode from its shot list"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The shot list, and how to work through it."""
    parser.add_argument("shots", type=path, metavar="episode.toml", help="the shot list")
    add_out(parser)
    parser.add_argument("--only", nargs="+", default=(), metavar="NAME", help="make only these shots")
    parser.add_argument("--jobs", type=_jobs, metavar="N", help="files to make at once (default: one for each core)")
    parser.add_argument("--check", action="store_true", help="only look for mistakes and say what there is to make")
    parser.add_argument("--force", action="store_true", help="replace files that are not this command's own")


def _jobs(text: str) -> int:
    if not is_count(text) or int(text) < 1:
        raise argparse.ArgumentTypeError(f"the number of jobs is 1 or more, not {shortened(text)}")
    return int(text)


class _Rendering(Telling):
    """Says how rendering is going: the share done where a line can change, otherwise each file."""

    def going(self, share: float, left: float | None) -> None:
        """Show the share of the work that is done, and the time left."""
        if self._changing:
            after = "" if left is None else f", about {clock(left)} left"
            self._tell(f"rendering: {share:.0%}{after}")

    def finished(self, file: str, reason: str | None) -> None:
        """Say that a file is there."""
        if not self._changing and reason is None:
            self._tell(f"{file} is made")


def run(options: argparse.Namespace) -> None:
    """Make what is missing or changed, and say what was made."""
    from tunelib.film import ShotListError, plan_episode, read_episode, render_plan  # these load the drawing

    try:
        episode = read_episode(options.shots)
    except ShotListError as error:
        print(error, file=sys.stderr)
        count = times(len(error.mistakes), "mistake")
        raise ValueError(f"{count} in {options.shots}; nothing was made") from None
    plan = plan_episode(episode, options.out, options.only)
    if plan.refused and not options.force:
        print(*plan.refused, sep="\n", file=sys.stderr)
        raise FileExistsError("nothing was made; give --out another folder, or --force to replace what is named above")
    if options.check:
        print(f"{options.shots} is in order: {times(len(plan.wanted), 'file')} to make, {len(plan.current)} current")
        return
    check_folder(options.out)
    with _Rendering(sys.stderr) as telling:
        outcome = render_plan(plan, options.jobs, options.force, telling, reads=[options.shots])
    for file in outcome.made:
        print(options.out / file)
    print(f"{len(outcome.made)} made, {len(outcome.current)} current; look through them in {outcome.sheet}")
    for file in outcome.left:
        print(f"{options.out / file} is no longer in {options.shots}; delete it if it is not needed")
    for file, reason in outcome.failed.items():
        print(f"{file}: {reason}", file=sys.stderr)
    if outcome.failed:
        raise ValueError(f"{len(outcome.failed)} of {len(plan.wanted)} files could not be made")
