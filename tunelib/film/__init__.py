"""Exhibits in time: clips, and episodes made from a shot list."""

from tunelib.film.acts import TRANSITIONS, Act
from tunelib.film.clip import ClipPlan, ClipReport, clip
from tunelib.film.episode import plan_episode, render_plan
from tunelib.film.mistakes import ShotListError
from tunelib.film.pointing import Point
from tunelib.film.shot import Episode
from tunelib.film.shots import parse_episode, read_episode
from tunelib.film.talk import EASY_PACE, FASTEST_PACE, Say, talk_track
from tunelib.film.timeline import EASES, Keyframe, Timeline
from tunelib.film.toml_lines import Place, lines_of

__all__ = [
    "EASES",
    "EASY_PACE",
    "FASTEST_PACE",
    "TRANSITIONS",
    "Act",
    "ClipPlan",
    "ClipReport",
    "Episode",
    "Keyframe",
    "Place",
    "Point",
    "Say",
    "ShotListError",
    "Timeline",
    "clip",
    "lines_of",
    "parse_episode",
    "plan_episode",
    "read_episode",
    "render_plan",
    "talk_track",
]
