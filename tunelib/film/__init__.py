"""An exhibit in time: clips, and episodes made from a shot list."""

from tunelib.film.clip import ClipReport, clip
from tunelib.film.episode import plan_episode, render_plan
from tunelib.film.shots import Episode, ShotListError, parse_episode, read_episode
from tunelib.film.timeline import EASES, Keyframe, Timeline
from tunelib.film.toml_lines import Place, lines_of

__all__ = [
    "EASES",
    "ClipReport",
    "Episode",
    "Keyframe",
    "Place",
    "ShotListError",
    "Timeline",
    "clip",
    "lines_of",
    "parse_episode",
    "plan_episode",
    "read_episode",
    "render_plan",
]
