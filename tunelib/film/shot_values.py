"""What each setting of a shot list may be: its value as it is kept, or a ValueError for one that cannot be."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

from tunelib.exhibits import THEMES
from tunelib.film.clip import CLIP_SIZES, check_rate
from tunelib.film.encoder import CLEAR_SUFFIXES, FILM_SUFFIXES
from tunelib.film.soundtrack import SOUNDS, check_loudness
from tunelib.pitch import in_figures, is_number, look_up, shortened, unprintable
from tunelib.show import SIZES, STILL_FORMATS

AS_RENDERED = "as rendered"
CLIP_FORMATS = tuple(suffix.lstrip(".") for suffix in FILM_SUFFIXES)
CLEAR_FORMATS = tuple(suffix.lstrip(".") for suffix in CLEAR_SUFFIXES)
_LONGEST_NAME = 60
_LONGEST_TEXT = 5000
_LARGEST_NUMBER = 1e6
_NAME = re.compile(rf"[A-Za-z0-9][A-Za-z0-9_-]{{0,{_LONGEST_NAME - 1}}}")
_DEVICES = frozenset("con prn aux nul".split()) | {f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)}


def some_text(value: Any) -> str:
    """Text that can be printed."""
    if not isinstance(value, str):
        raise ValueError(f"this is text in quotes, not {shown(value)}")
    if found := unprintable(value):
        raise ValueError(f"{found[1]} cannot be printed: take it away")
    if len(value) > _LONGEST_TEXT:
        raise ValueError(f"this has {len(value):,} characters; {_LONGEST_TEXT:,} are the most")
    return value


def a_number(value: Any) -> float:
    """A number of seconds, or of LKFS."""
    if not is_number(value):
        raise ValueError(f"this is a number, not {shown(value)}")
    if abs(value) > _LARGEST_NUMBER:
        raise ValueError(f"this is a number of seconds or of LKFS, not {in_figures(value)}")
    return float(value)


def yes_or_no(value: Any) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise ValueError(f"this is true or false, not {shown(value)}")
    return value


def _loudness(value: Any) -> float | None:
    if isinstance(value, str):
        look_up(value, {AS_RENDERED: AS_RENDERED}, "loudness")
        return None
    return check_loudness(a_number(value))


def one_of(known: Sequence[str], what: str) -> Callable[[Any], str]:
    """A check for one of some names."""

    def check(value: Any) -> str:
        return look_up(some_text(value), {name: name for name in known}, what)

    return check


def is_of_tables(value: Any) -> bool:
    """Whether a value is an array of tables: under a name that is not known, what was meant to be keyframes."""
    return isinstance(value, list) and any(isinstance(part, dict) for part in value)


def file_name(value: Any) -> str:
    """A name for files that every system takes."""
    if _NAME.fullmatch(some_text(value)) and value.casefold() not in _DEVICES:
        return str(value)
    if value.casefold() in _DEVICES:
        raise ValueError(f"no file may be called {value!r} everywhere; add a word, such as {value}-1")
    better = re.sub(r"[^A-Za-z0-9_]+", "-", value).strip("-_")[:_LONGEST_NAME]
    hint = f"did you mean {better}?" if better and better.casefold() not in _DEVICES else "write, say, slow-beats"
    raise ValueError(
        f"{shown(value)} cannot name files: a name has up to {_LONGEST_NAME} letters without accents, digits, "
        f"hyphens and underscores; {hint}"
    )


def shown(value: Any) -> str:
    """A value as TOML might have it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    return shortened(value) if isinstance(value, (str, int, float)) else str(value)


SETTINGS: dict[str, Callable[[Any], Any]] = {
    "sizes": one_of(tuple(SIZES), "size"),
    "formats": one_of((*STILL_FORMATS, *CLIP_FORMATS), "format"),
    "theme": one_of(tuple(THEMES), "theme"),
    "fps": check_rate,
    "sound": one_of(SOUNDS, "sound"),
    "loudness": _loudness,
    "captions": yes_or_no,
    "sentence": yes_or_no,
}
POSSIBLE: dict[str, dict[str, tuple[str, ...]]] = {
    "still": {"sizes": tuple(SIZES), "formats": STILL_FORMATS},
    "clip": {"sizes": CLIP_SIZES, "formats": CLIP_FORMATS},
}
FOR_CLIPS = ("fps", "sound", "loudness", "captions", "seconds", "build", "point", "beside", "then", "say")
FOR_STILLS = ("sentence",)
EPISODE_KEYS = ("title", "defaults", "shot")
_ACT_KEYS = ("exhibit", "title", "knobs", "keyframe", "build", "point")
SHOT_KEYS = ("name", "note", "seconds", "beside", "then", "say", *_ACT_KEYS, *SETTINGS)
BESIDE_KEYS = _ACT_KEYS
THEN_KEYS = ("at", "transition", *_ACT_KEYS)
KEYFRAME_KEYS = ("at", "hold", "ease", "knobs", "build")
SAY_KEYS = ("at", "words")
POINT_KEYS = ("at", "until", "part", "how", "words")
