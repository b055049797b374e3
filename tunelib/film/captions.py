"""Captions of a clip: what the picture says at each keyframe, as a WebVTT file (W3C, *WebVTT: The Web Video Text
Tracks Format*)."""

from __future__ import annotations

import html
import textwrap
from bisect import bisect_right
from collections.abc import Sequence

from tunelib.film.acts import Programme
from tunelib.film.talk import Spoken

LINE, LINES = 42, 2  # characters to a line, and lines shown at once, as subtitles are set (common practice)
FASTEST_READING = 20.0  # characters a second, a usual ceiling for subtitles (common practice)


def captions(programme: Programme, said: Sequence[Spoken] = ()) -> str:
    """The captions of a clip: what is `said` over it or, where nothing is, the sentence of the exhibit spoken of, from
    each keyframe to the next; two lines at once.

    The first is there from the beginning. A long sentence is split into several captions, and each stays for a share
    of the time in proportion to its length.
    """
    cues = [
        f"{_timestamp(start)} --> {_timestamp(end)}\n{html.escape(words, quote=False)}"
        for start, end, words in cued(programme, said)
    ]
    return "\n\n".join(["WEBVTT", *cues]) + "\n"


def cued(programme: Programme, said: Sequence[Spoken] = ()) -> list[tuple[float, float, str]]:
    """Beginning, end (in seconds) and words of each caption."""
    starts = [0.0, *(cue.at for cue in programme.cues[1:])]
    ends = [*starts[1:], programme.seconds]
    shown = [(one.at, one.until, one.words) for one in said] or [
        (start, end, cue.exhibit.sentence(**cue.values))
        for cue, start, end in zip(programme.cues, starts, ends, strict=True)
    ]
    found = []
    for start, end, words in shown:
        parts = _parted(words)
        whole, before = sum(map(len, parts)), 0
        for part in parts:
            begins = start + (end - start) * before / whole
            before += len(part)
            found.append((begins, start + (end - start) * before / whole, part))
    return [cue for cue in found if round(1000 * cue[1]) > round(1000 * cue[0])]


def reading_speeds(programme: Programme) -> list[float]:
    """For each of its cues, the characters a second that a reader of its captions must manage where they go fastest."""
    starts = [0.0, *(cue.at for cue in programme.cues[1:])]
    found = [0.0] * len(starts)
    for begin, end, words in cued(programme):
        keyframe = bisect_right(starts, begin + 1e-9) - 1
        found[keyframe] = max(found[keyframe], len(words.replace("\n", " ")) / (end - begin))
    return found


def _parted(sentence: str) -> list[str]:
    """A sentence in as few captions of `LINES` lines as hold it, all of about one length; a short one on one line."""
    if len(sentence) <= LINE:
        return [sentence]
    fewest = len(_captions_of_width(sentence, LINE))
    widths = (width for width in range(1, LINE + 1) if len(_captions_of_width(sentence, width)) == fewest)
    return _captions_of_width(sentence, next(widths))


def _captions_of_width(sentence: str, width: int) -> list[str]:
    lines = textwrap.wrap(sentence, width, break_long_words=False, break_on_hyphens=False)
    return ["\n".join(lines[first : first + LINES]) for first in range(0, len(lines), LINES)]


def _timestamp(seconds: float) -> str:
    thousandths = round(1000 * seconds)
    minutes, rest = divmod(thousandths, 60_000)
    return f"{minutes // 60:02}:{minutes % 60:02}:{rest // 1000:02}.{rest % 1000:03}"
