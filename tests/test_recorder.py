"""What Python makes of a take that comes in parts: whole or not at all, named, asked about, and saved when asked."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.live import GivenTake, Recorder
from tunelib.sound import read_audio, wav_bytes

RATE = 48_000
TONE = (0.3 * np.sin(2 * np.pi * 441 * np.arange(2 * RATE) / RATE)).astype("<f4")
NUMBERS = itertools.count()


class Page:
    """The page's side of a recorder: what it says, and what it is told."""

    def __init__(self) -> None:
        self.recorder = Recorder()
        self.heard: list[dict[str, Any]] = []
        self.given: list[str] = []
        self.coming: list[str] = []
        self.recorder.send = lambda content, buffers=None: self.heard.append(content)
        self.recorder.on_take(lambda take: self.given.append(take.name))
        self.recorder.on_coming(self.coming.append)

    def say(self, words: Any, *buffers: Any) -> None:
        self.recorder._told(self.recorder, words, list(buffers))

    def parts(self, data: bytes, size: int, name: str, rate: int = 0) -> tuple[str, list[tuple[dict[str, Any], bytes]]]:
        number = f"number {next(NUMBERS)}"
        heads = [{"part": number, "at": at, "name": name, "rate": rate} for at in range(0, len(data), size)]
        return number, [(head, data[head["at"] : head["at"] + size]) for head in heads]

    def hand(self, data: bytes, name: str, rate: int = 0) -> None:
        number, parts = self.parts(data, 1 << 16, name, rate)
        for head, part in parts:
            self.say(head, memoryview(part))
        self.say({"end": number, "bytes": len(data), "name": name, "rate": rate})
        assert self.heard[-1] == {"whole": number}


def test_a_take_comes_to_count_when_it_is_whole() -> None:
    """Until then what was there counts, and it is told that a newer one is coming."""
    page = Page()
    page.hand(wav_bytes(TONE), "first.wav")
    assert page.given == ["first.wav"] and page.recorder.current == "first.wav" and not page.recorder.unsaved
    number, parts = page.parts(wav_bytes(TONE), 50_000, "second.wav")
    for head, part in parts[:-1]:
        page.say(head, part)
        assert page.heard[-1] == {"got": number, "at": head["at"]}
        assert page.recorder.coming == "second.wav" and page.recorder.current == "first.wav"
    page.say({"end": number, "bytes": len(wav_bytes(TONE))})
    assert page.given == ["first.wav"], "a file came to count with its last part missing"
    page.say(*parts[-1])
    page.say({"end": number, "bytes": len(wav_bytes(TONE))})
    assert page.given == ["first.wav", "second.wav"] and page.coming[-1] == ""
    assert page.recorder.take is not None and page.recorder.take.data == wav_bytes(TONE)


@given(st.data())
def test_parts_may_come_in_any_order_and_more_than_once(data: Any) -> None:
    page, given = Page(), np.arange(5000, dtype="<i2").tobytes()
    number, parts = page.parts(given, data.draw(st.integers(300, 9000)), "take.wav")
    sent = data.draw(st.permutations(parts + data.draw(st.lists(st.sampled_from(parts), max_size=5))))
    for head, part in sent:
        page.say(head, part)
    for _ in range(2):  # as often as our answer is lost
        page.say({"end": number, "bytes": len(given)})
    assert page.given == ["take.wav"] and page.recorder.take is not None and page.recorder.take.data == given
    page.say(*sent[0])
    assert page.recorder.coming == "", "a part that comes once more begins another take"


def test_a_recorded_take_is_called_by_its_time_and_length_and_keeps_its_samples() -> None:
    page = Page()
    page.hand(TONE.tobytes(), "recorded at 18:20", RATE)
    take = page.recorder.take
    assert take is not None and take.recorded and take.name == "recorded at 18:20, 2 s"
    assert np.array_equal(np.concatenate(list(take.recording().blocks())), TONE.astype(float))
    assert take.recording().sample_rate == RATE


def test_a_take_that_is_not_saved_is_replaced_only_if_the_reader_says_so() -> None:
    page = Page()
    page.hand(TONE.tobytes(), "recorded at 18:20", RATE)
    for answer, counts in ((False, "recorded at 18:20, 2 s"), (True, "recorded at 18:21, 1 s")):
        page.hand(TONE[:RATE].tobytes(), "recorded at 18:21", RATE)
        assert page.recorder.offered == page.recorder.coming == "recorded at 18:21, 1 s"
        assert page.recorder.current == "recorded at 18:20, 2 s" and "Which one?" in page.recorder.told
        page.say({"use": answer})
        assert page.recorder.current == page.recorder.take.name == counts  # type: ignore[union-attr]
        assert page.recorder.offered == page.recorder.coming == ""
    assert page.given == ["recorded at 18:20, 2 s", "recorded at 18:21, 1 s"]


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_a_take_is_saved_only_when_asked_and_never_over_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, suffix: str
) -> None:
    monkeypatch.chdir(tmp_path)
    page = Page()
    page.say({"save": "early.wav"})
    assert "Nothing was recorded" in page.recorder.told
    page.hand(TONE.tobytes(), "recorded at 18:20", RATE)
    assert list(tmp_path.iterdir()) == [] and page.recorder.suggested == "take-18-20.wav"
    page.say({"save": f"my take{suffix}"})
    path = tmp_path / f"my take{suffix}"
    assert page.recorder.told == f"Saved as {path}." and not page.recorder.unsaved
    samples, rate = read_audio(path)
    assert rate == RATE and np.abs(samples - TONE).max() < 2**-23
    page.hand(TONE.tobytes(), "recorded at 18:25", RATE)
    assert page.recorder.current.startswith("recorded at 18:25"), "what is saved may be replaced without a question"
    before = path.read_bytes()
    page.say({"save": path.name})
    assert page.recorder.told.startswith("Not saved: ") and "already there" in page.recorder.told
    page.say({"save": "take.mp3"})
    assert page.recorder.told == "Not saved: a take is saved as .wav or .flac, not take.mp3"
    page.say({"save": "nowhere/take.wav"})
    assert "does not exist" in page.recorder.told and page.recorder.unsaved
    assert path.read_bytes() == before and list(tmp_path.iterdir()) == [path]


def test_what_was_turned_away_or_given_up_is_told() -> None:
    page = Page()
    page.hand(wav_bytes(TONE), "first.wav")
    page.say({"away": "concert.wav"})
    assert page.recorder.coming == "concert.wav" and page.recorder.current == "first.wav"
    number, parts = page.parts(wav_bytes(TONE), 50_000, "second.wav")
    page.say(*parts[0])
    assert page.recorder.coming == "second.wav"
    page.say({"drop": number})
    assert page.recorder.coming == "" and page.given == ["first.wav"]


@pytest.mark.parametrize(
    "words",
    [
        "part",
        {},
        {"part": "1", "at": -5},
        {"part": "1", "at": 10**12},
        {"part": "1", "at": 0, "rate": 5},
        {"use": True},
    ],
)
def test_what_no_page_of_ours_says_changes_nothing(words: Any) -> None:
    page = Page()
    page.say(words, b"1234")
    assert page.recorder.take is None and page.recorder.coming == "" and page.heard == []


def test_a_name_is_one_line_of_moderate_length() -> None:
    page = Page()
    page.hand(b"RIFF", "a\nb\x00" + 500 * "c")
    assert page.recorder.current == "ab" + 118 * "c"


def test_no_sound_is_lost_beyond_full_scale_but_what_passes_it(tmp_path: Path) -> None:
    """A browser may hand over samples above 1; a file has none."""
    take = GivenTake("loud", np.array([0.5, 1.5, -3.0, -0.5], "<f4").tobytes(), RATE)
    assert np.allclose(read_audio(take.save(tmp_path / "loud.wav"))[0], [0.5, 1, -1, -0.5], atol=2**-22)
