"""Captions: a WebVTT file with the exhibit's sentence at each keyframe."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from tunelib.exhibits import EXHIBITS
from tunelib.film.acts import Act, Programme
from tunelib.film.captions import LINE, LINES, captions, cued, reading_speeds
from tunelib.film.talk import Spoken
from tunelib.film.timeline import Keyframe

CUE = re.compile(r"(\d\d):(\d\d):(\d\d)\.(\d{3}) --> (\d\d):(\d\d):(\d\d)\.(\d{3})\n(.+(?:\n.+)*)")


def read(text: str) -> list[tuple[float, float, str]]:
    """The cues of a WebVTT file, as its standard has them (W3C, WebVTT: file structure)."""
    head, *blocks = text.rstrip("\n").split("\n\n")
    assert head == "WEBVTT" and text.endswith("\n")
    found = []
    for block in blocks:
        match = CUE.fullmatch(block)
        assert match, block
        h, m, s, ms, h2, m2, s2, ms2 = map(int, match.groups()[:8])
        assert max(m, s, m2, s2) < 60
        words = match[9]
        assert "-->" not in words and "<" not in words and not re.search(r"&(?!amp;|lt;|gt;)", words)
        words = words.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
        found.append((3600 * h + 60 * m + s + ms / 1000, 3600 * h2 + 60 * m2 + s2 + ms2 / 1000, words))
    return found


@pytest.mark.parametrize("name", EXHIBITS)
def test_the_captions_say_each_sentence_from_its_keyframe_to_the_next(name: str) -> None:
    """Cues follow one another without gap or overlap, and those of a keyframe add up to its sentence."""
    exhibit = EXHIBITS[name]
    ends = [{knob.name: knob.corners[end] for knob in exhibit.knobs} for end in (0, 1)]
    ends = [{} if exhibit.clash(**exhibit.checked(values)) else values for values in ends]
    line = Programme(Act(name, [Keyframe(2, ends[0], hold=5), Keyframe(11, ends[1])]), seconds=4000 / 7 / 24)
    cues = read(captions(line))
    assert cues[0][0] == 0 and cues[-1][1] == pytest.approx(line.seconds, abs=6e-4)
    assert all(one[1] == other[0] for one, other in pairwise(cues))
    for values, start, end in ((ends[0], 0, 11), (ends[1], 11, line.seconds)):
        words = " ".join(words for begin, stop, words in cues if start <= begin and stop <= end + 6e-4)
        assert words.replace("\n", " ") == exhibit.sentence(**exhibit.settle(values))


def test_a_caption_has_two_lines_at_most_and_stays_for_its_share_of_the_time() -> None:
    """A line has 42 characters at most, and a caption twice as long stays twice as long."""
    line = Programme(Act("closing_the_circle", [Keyframe(0)]), seconds=20)
    cues = cued(line)
    assert len(cues) > 1
    assert all(len(words.split("\n")) <= LINES for _, _, words in cues)
    assert all(len(row) <= LINE for _, _, words in cues for row in words.split("\n"))
    speeds = [len(words) / (end - start) for start, end, words in cues]
    assert max(speeds) == pytest.approx(min(speeds))
    assert reading_speeds(line) == [pytest.approx(max(speeds))]


def test_a_line_of_captions_has_42_characters_where_it_can() -> None:
    """Two lines of 42 at a time is how subtitles are set (common practice): the longest come near it and none passes"""
    rows = [
        [len(row) for row in words.split("\n")]
        for name in EXHIBITS
        for _, _, words in cued(Programme(Act(name, [Keyframe(0)]), seconds=60))
    ]
    assert max(map(max, rows)) in (41, 42) and max(map(len, rows)) == 2


def test_what_fits_on_one_line_of_captions_is_not_parted() -> None:
    """Up to 42 characters are one line, and one more is two."""
    for length, lines in ((13, 1), (42, 1), (43, 2)):
        words = ("8.7 a second " * 4)[: length - 1].replace(" ", "_", 1) + "."
        [(_, _, shown)] = cued(Programme(Act("beats", [Keyframe(0)]), seconds=9), [Spoken(0.0, 5.0, words, 140.0)])
        assert len(words) == length and len(shown.split("\n")) == lines, words


def test_the_clock_of_captions_passes_minutes_and_rounds_to_thousandths() -> None:
    """00:01:59.9996 is two minutes, not 60 seconds."""
    line = Programme(Act("wave", [Keyframe(0), Keyframe(119.9996, {"hertz": 300})]), seconds=1800)
    text = captions(line)
    assert "00:02:00.000 --> " in text and text.rstrip().split("\n\n")[-1].split("\n")[0].endswith("--> 00:30:00.000")
    read(text)
