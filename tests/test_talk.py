"""What is said over a clip: its numbers, its pace, its captions, and what is wrong with it in a shot list."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import nbformat
import pytest

from tunelib.film import (
    EASY_PACE,
    FASTEST_PACE,
    Act,
    Keyframe,
    Say,
    ShotListError,
    parse_episode,
    read_episode,
    talk_track,
)
from tunelib.film.acts import Programme
from tunelib.film.captions import FASTEST_READING, LINE, cued
from tunelib.film.clip import ClipPlan
from tunelib.film.contact import Row, contact_sheet
from tunelib.film.origins import origin
from tunelib.film.talk import LONGEST_TALK, spoken

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
EPISODE = LESSONS / "material" / "episode.toml"
GUIDE = LESSONS / "for_presenters.ipynb"
SHOT = '[[shot]]\nname = "x"\nexhibit = "beats"\n[[shot.keyframe]]\nat = 0\nhold = 9\n'


def programme() -> Programme:
    """Beats that come to rest, and a third after them."""
    first = Act("beats", [Keyframe(0, {"difference": 4}, hold=5), Keyframe(7, {"difference": 0}, hold=3)])
    return Programme(first, then=[Act("beating_third", at=12)], seconds=20)


def test_numbers_are_those_of_the_exhibit_in_front_at_that_moment() -> None:
    said = spoken([Say(1, "{beats} a second"), Say(8, "{beats} now"), Say(14, "{off} cents")], programme())
    assert [one.words for one in said] == ["4 a second", "0 now", "13.7 cents"]


def test_words_last_as_long_as_they_take_to_say_or_until_the_next() -> None:
    slow, hurried = "one two three four five six seven", "one two three four five six seven eight"
    said = spoken([Say(0, slow), Say(3, "one two"), Say(15, hurried), Say(18, "one")], programme())
    assert said[0].until == pytest.approx(60 * 7 / EASY_PACE) and said[0].pace == pytest.approx(EASY_PACE)
    assert said[2].until == 18 and said[2].pace == pytest.approx(60 * 8 / 3)
    assert all(one.pace <= FASTEST_PACE for one in said)


@pytest.mark.parametrize(
    ("say", "said"),
    [
        ([Say(0, "one two three four"), Say(1, "five")], r"say 1: 4 words in 1 s are 240 a minute"),
        ([Say(19, "one two three four")], r"4 words in 1 s are 240"),
        ([Say(3, "one"), Say(3, "two")], r"say 2: it begins at 3 s, and the one before it at 3 s"),
        ([Say(20, "late")], r"from 0 to 20, where the clip ends"),
        ([Say(-1, "early")], r"from 0 to 20"),
        ([Say(float("nan"), "when")], r"from 0 to 20"),
        ([Say(0, "{cents} off")], r"'cents'"),
        ([Say(0, "{beats")], r"has no partner"),
        ([Say(0, " – ")], r"words are text to be said"),
        ([Say(0, 5)], r"words are text to be said"),  # type: ignore[arg-type]
        ([Say(0, "word " * (LONGEST_TALK // 5 + 1))], rf"{LONGEST_TALK} are said in one go at most"),
        ([Say(0, "a \x07 bell")], r"cannot be printed"),
    ],
)
def test_what_cannot_be_said_is_refused_with_its_number(say: list[Say], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        spoken(say, programme())


def test_captions_are_what_is_said_and_no_longer_than_it_is() -> None:
    say = [
        Say(1, "You hear one note that swells and fades, {beats} times a second, and it is nobody's fault."),
        Say(9, "Gone."),
    ]
    cues = cued(programme(), spoken(say, programme()))
    assert " ".join(" ".join(words.split()) for _, _, words in cues) == " ".join(
        one.words for one in spoken(say, programme())
    )
    assert cues[0][0] == 1 and cues[-1][0] == 9 and all(one[1] <= other[0] for one, other in pairwise(cues))
    assert all(len(line) <= LINE for _, _, words in cues for line in words.splitlines())
    assert cued(programme(), ()) != cues  # where nothing is said, they are the exhibits' sentences


def test_a_clip_has_what_is_said_and_refuses_it_before_anything_is_made() -> None:
    keyframes = [Keyframe(0, {"difference": 3}, hold=4)]
    plan = ClipPlan("beats", "x.mp4", keyframes, say=[Say(1, "{beats} a second")])
    assert [one.words for one in plan.spoken] == ["3 a second"]
    with pytest.raises(ValueError, match="say 1"):
        ClipPlan("beats", "x.mp4", keyframes, say=[Say(1, "{bets} a second")])


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("[[shot.say]]\nwords = 'x'\n", 7, "what is said has no at"),
        ("[[shot.say]]\nat = 1\n", 7, "what is said has no words"),
        ("[[shot.say]]\nat = 1\nwords = '{bets}'\n", 8, "bets"),
        ("[[shot.say]]\nat = 1\nword = 'x'\n", 9, "no setting of what is said is called 'word'; did you mean words"),
        ("[[shot.say]]\nat = 11\nwords = 'one two three four five six'\n", 8, "6 words in 1 s"),
        ("[shot.say]\nat = 1\n", 7, "write [[shot.say]], in double brackets"),
    ],
)
def test_mistakes_in_a_shot_list_are_named_with_their_lines(text: str, line: int, said: str) -> None:
    with pytest.raises(ShotListError) as caught:
        parse_episode((SHOT + text).encode())
    assert any(mistake.line == line and said in mistake.what for mistake in caught.value.mistakes), caught.value


def test_a_still_says_nothing() -> None:
    with pytest.raises(ShotListError, match="say is for clips"):
        parse_episode(b'[[shot]]\nname = "x"\nexhibit = "beats"\n[[shot.say]]\nat = 0\nwords = "x"\n')


def test_other_words_make_another_file_and_the_contact_sheet_has_them() -> None:
    one, other = (
        parse_episode(f"{SHOT}[[shot.say]]\nat = 1\nwords = '{words}'\n".encode()) for words in ("Listen.", "Look.")
    )
    assert origin(one.outputs[0]) != origin(other.outputs[0])
    sheet = contact_sheet(one, [Row(output, "missing", None) for output in one.outputs], {}).decode()
    assert "0:01.0, 140 words a minute</dt><dd>Listen.</dd>" in sheet and "too fast" not in sheet


def test_the_episode_of_the_lessons_is_ninety_seconds_that_can_be_followed() -> None:
    [clip, *_] = read_episode(EPISODE).shots
    said = clip.spoken
    assert clip.programme.seconds == 90 and 10 <= len(said) <= 16
    assert all(one.pace <= 160 for one in said)
    cues = cued(clip.programme, said)
    assert max(len(words.replace("\n", " ")) / (end - begin) for begin, end, words in cues) <= FASTEST_READING
    track = talk_track(said)
    assert len(track.splitlines()) == len(said) and re.match(r"0:01.0  140 a minute  Two flutes", track)


def test_every_number_said_in_the_episode_is_the_exhibits_own_or_worked_out_here() -> None:
    """Figures come from braces; the numbers that are written out are counted here."""
    text = EPISODE.read_text(encoding="utf-8")
    words = re.findall(r'^words = "(.+)"$', text, flags=re.MULTILINE)
    assert not any(re.search(r"\d", re.sub(r"\{\w+\}", "", line)) for line in words)
    (clip, *_) = read_episode(EPISODE).shots
    said = " ".join(one.words for one in clip.spoken)
    assert "nineteen more keys" in said and 31 - 12 == 19
    assert "harmonic five" in said and "harmonic = 5" in text
    for number in ("2 times a second", "13.7 cents", "8.7 times", "only 0.8 cents:", "6 cents off", "−5.2 cents"):
        assert number in said


def test_the_talk_track_that_presenters_read_is_that_of_the_shot_list() -> None:
    """Word for word, with each time, pace and number: what is printed in the guide cannot be older than the clip."""
    printed = [
        cell.source.removeprefix("```text\n").removesuffix("\n```")
        for cell in nbformat.read(GUIDE, as_version=4).cells
        if cell.cell_type == "markdown" and cell.source.startswith("```text\n0:")
    ]
    [clip, *_] = read_episode(EPISODE).shots
    assert printed == [talk_track(clip.spoken)]
