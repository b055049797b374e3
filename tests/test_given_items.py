"""What a teacher gives out to be practised."""

from __future__ import annotations

import pytest

from tunelib.pitch import THIRTY_ONE
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_questions import ear_items
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.given_items import given_items

THERE = ear_items(EarSettings(THIRTY_ONE, microphone=True))


def test_everything_there_is_can_be_written() -> None:
    assert given_items([str(item) for item in THERE], THERE) == THERE


def test_a_kind_alone_is_all_of_it_and_nothing_comes_twice() -> None:
    found = given_items(["third:neutral", "third", "Play Chord:C"], THERE)
    assert found[0] == Item("third", "neutral") and len(found) == 6 == len(set(found))
    assert found[-1] == Item("play chord", "C")


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("thrid:neutral", "no kind of question is called 'thrid'; did you mean third"),
        ("third:neutrel", "no third to practise is called 'neutrel'; did you mean neutral"),
        ("sing:99", "no sing to practise is called '99'"),
        ("", "no kind of question is called ''"),
    ],
)
def test_what_there_is_not_is_refused_with_the_nearest(word: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        given_items(["pure:5/4", word], THERE)
