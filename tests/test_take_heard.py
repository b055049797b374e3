"""A learner's take as it is heard in its panel: as it was played, in tune, and one note before its target."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from offline import head_of, notes_of

from tunelib.exhibits import OwnTake, Playing
from tunelib.hearing import LeftOut, Recording, Report, hear, parse_targets
from tunelib.live import GivenTake, Tape
from tunelib.pitch import cents, equal
from tunelib.practice.take_panel import TakePanel, take_panel
from tunelib.practice.take_programs import AS_PLAYED, IN_TUNE, ONE_NOTE, in_tune, one_note, target_score
from tunelib.score import Score, ScoreNote
from tunelib.show import Stage
from tunelib.sound import (
    HEADROOM,
    REFERENCE_LOUDNESS,
    SAMPLE_RATE,
    TIMBRES,
    USUAL_PEAK_DBFS,
    loudness,
    render,
    resampled,
    wav_bytes,
)

STEPS, OFF = (0, 5, 10, 13), (3.0, -15.0, 0.0, 12.0)  # of thirty-one from C4, and cents by which each is wrong
BEGINS, APART, LASTS = 0.3, 0.9, 0.7  # seconds
WANTED = [440 * 2 ** ((step - 23) / 31) for step in STEPS]  # A4 is 23 steps above C4
THIRTY_ONE = parse_targets("31")


def samples(loud: float = 1.0, silence: float = 0.0) -> np.ndarray[Any, Any]:
    """The take, at any loudness, with silence before it."""
    hertz = [float(equal(31).hz(step)) * 2 ** (off / 1200) for step, off in zip(STEPS, OFF, strict=True)]
    notes = [ScoreNote(silence + BEGINS + APART * i, LASTS, pitch) for i, pitch in enumerate(hertz)]
    return loud * render(Score(tuple(notes), tempo=60), TIMBRES["reed"])


@pytest.fixture(scope="module")
def report() -> Report:
    return hear(samples(), SAMPLE_RATE).against(THIRTY_ONE)


def given(panel: TakePanel, data: bytes, name: str = "take.wav", rate: int = 0) -> None:
    panel.recorder.give(GivenTake(name, data, rate))


@pytest.fixture
def panel() -> TakePanel:
    panel = take_panel()
    panel.player.value, panel.against.value = "any instrument or voice", "31"
    return panel


@pytest.mark.parametrize("rate", [8000, 22_050, 44_100, 96_000, 192_000])
def test_a_sound_at_another_rate_is_the_same_sound(rate: int) -> None:
    """Sines that end where they began, which any rate above twice their pitch has exactly."""
    there, here = (np.arange(r // 2) / r for r in (rate, SAMPLE_RATE))
    for hertz in (60, 440, 3000):
        wanted = np.sin(2 * np.pi * hertz * here)
        assert resampled(np.sin(2 * np.pi * hertz * there), rate) == pytest.approx(wanted, abs=1e-9)


def test_the_same_rate_needs_no_work() -> None:
    sound = samples()
    assert resampled(sound, SAMPLE_RATE) is not None and np.array_equal(resampled(sound, SAMPLE_RATE), sound)
    assert resampled(np.zeros(0), 44_100).size == 0


@pytest.mark.parametrize("loud", [0.02, 0.1, 1.0, 3.9])
def test_a_tape_is_as_loud_as_all_else_however_it_was_recorded(loud: float) -> None:
    """What the page makes of its bytes, at their level: the reference loudness, whole and note by note."""
    tape = Tape.of(Recording.of(samples(loud), SAMPLE_RATE), 0.0, 60.0)
    heard = np.frombuffer(tape.data, "<i2") / 32767 * 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM
    assert loudness(heard * tape.level(0.0, tape.seconds)) == pytest.approx(REFERENCE_LOUDNESS, abs=0.1)
    note = heard[round(BEGINS * SAMPLE_RATE) : round((BEGINS + LASTS) * SAMPLE_RATE)]
    assert loudness(note * tape.level(BEGINS, LASTS)) == pytest.approx(REFERENCE_LOUDNESS, abs=0.1)


def test_a_tape_is_the_part_of_the_recording_that_it_says() -> None:
    sound = samples()
    tape = Tape.of(Recording.of(sound, SAMPLE_RATE), 1.2, 0.5)
    assert np.array_equal(tape.samples, sound[round(1.2 * SAMPLE_RATE) : round(1.7 * SAMPLE_RATE)])
    assert tape.goes_on and tape.begins == 1.2
    whole = Tape.of(Recording.of(sound, SAMPLE_RATE), 0.0, 60.0)
    assert not whole.goes_on and np.array_equal(whole.samples, sound) and whole.name != tape.name


@pytest.mark.parametrize("sound", [np.zeros(SAMPLE_RATE), np.zeros(0), 1e-5 * np.sin(np.arange(SAMPLE_RATE) / 9)])
def test_what_cannot_be_heard_is_refused(sound: np.ndarray[Any, Any]) -> None:
    with pytest.raises(ValueError, match="it is too soft, or too short, to be heard"):
        Tape.of(Recording.of(sound, SAMPLE_RATE), 0.0, 60.0)


def test_in_tune_has_every_note_on_its_target_when_it_was_played(report: Report) -> None:
    """By plain arithmetic of thirty-one equal steps; the reed that plays it holds each as long as the player did."""
    tape = Tape.of(Recording.of(samples(), SAMPLE_RATE), 0.0, 60.0)
    notes = notes_of(in_tune(report, tape))
    assert [note["hertz"] for note in notes] == pytest.approx(WANTED, rel=1e-9)
    assert [note["onset"] for note in notes] == pytest.approx([BEGINS + APART * i for i in range(4)], abs=0.03)
    assert [note["duration"] for note in notes] == pytest.approx([LASTS] * 4, abs=0.06)


def test_a_take_that_is_off_as_a_whole_is_heard_beside_targets_that_are_so_too() -> None:
    """As the report has it: 30 cents sharp as a whole; the fifth note is 20 flat of that."""
    off = (30.0,) * 4 + (10.0,) + (30.0,) * 3
    hertz = [440 * 2 ** (step / 12 + cent / 1200) for step, cent in zip((0, 2, 4, 5, 7, 9, 11, 12), off, strict=True)]
    sound = render(Score(tuple(ScoreNote(i, 0.9, pitch) for i, pitch in enumerate(hertz)), tempo=60), TIMBRES["reed"])
    found = hear(sound, SAMPLE_RATE).against(parse_targets("12"))
    assert found.offset is not None
    tape = Tape.of(Recording.of(sound, SAMPLE_RATE), 0.0, 60.0)
    away = [
        float(cents(here["hertz"] / there)) for here, there in zip(notes_of(in_tune(found, tape)), hertz, strict=True)
    ]
    assert away == pytest.approx([30 - cent for cent in off], abs=2)


def test_one_note_is_followed_by_its_target_and_equally_long(report: Report) -> None:
    tape = Tape.of(Recording.of(samples(), SAMPLE_RATE), 0.0, 60.0)
    pair = one_note(report, 1, tape)
    head = head_of(pair.program)
    [target, taped] = sorted(head["notes"], key=lambda note: "tape" in note["key"])
    tone = head["tones"][taped["tone"]]
    assert (taped["onset"], tone["tape"]) == (0, tape.name)
    assert tone["from"] / SAMPLE_RATE == pytest.approx(BEGINS + APART - 0.03, abs=0.02)
    assert taped["duration"] == pytest.approx(LASTS + 0.04, abs=0.04)
    assert target["onset"] == pytest.approx(taped["duration"] + 0.02 + 0.3)
    assert target["duration"] == pytest.approx(LASTS, abs=0.05)
    values = np.frombuffer(pair.program[-(-(4 + int.from_bytes(pair.program[:4], "little")) // 8) * 8 :], "<f8")
    first = head["tones"][target["tone"]]
    assert values[first["at"] + first["partials"]] == pytest.approx(WANTED[1])
    assert pair.moment(0.0) == pytest.approx(BEGINS + APART - 0.03, abs=0.02)
    assert pair.moment(pair.again) == pytest.approx(report.notes[1].onset)
    assert head["seconds"] == pytest.approx(pair.again + LASTS, abs=0.1)


@pytest.mark.parametrize(
    ("before", "count", "between"),
    [(0, 1, (0.0, 0.3)), (2, 1, (1.2, 2.1)), (2, 3, (1.2, 2.1)), (4, 2, (3.7, 5.2))],
)
def test_notes_that_were_left_out_are_heard_in_tune(
    report: Report, before: int, count: int, between: tuple[float, float]
) -> None:
    """In the gap if there is one, or in their share of the time; no note overlaps another, and none is lost."""
    target = report.targets.labels.index("A4")
    lacking = replace(report, left_out=(LeftOut(target, before),) * count)
    notes = target_score(lacking, 0.0, 60.0).notes
    added = [note for note in notes if note.hertz == pytest.approx(report.targets.hertz[target])]
    assert len(notes) == 4 + count and len(added) == count
    for note in added:
        assert between[0] - 0.05 <= note.onset and note.end <= between[1] + 0.1
    ends = [(float(one.end), float(other.onset)) for one, other in pairwise(notes)]
    assert all(end <= onset + 1e-6 for end, onset in ends)


def test_a_note_that_was_added_is_not_there_in_tune(report: Report) -> None:
    notes = tuple(replace(note, outcome="added" if i == 1 else "played") for i, note in enumerate(report.notes))
    wanted = [WANTED[i] for i in (0, 2, 3)]
    assert [n.hertz for n in target_score(replace(report, notes=notes), 0.0, 60.0).notes] == pytest.approx(wanted)


def test_a_take_is_ready_to_be_heard_in_three_ways_once_it_is_measured(panel: TakePanel) -> None:
    """And nothing of it is in the state of a widget, which a notebook may be saved with."""
    given(panel, wav_bytes(samples()), "mine.wav")
    assert list(panel.sound.others) == [AS_PLAYED, IN_TUNE, ONE_NOTE] and panel.sound.chosen == AS_PLAYED
    assert panel.sound.program == panel.sound.others[AS_PLAYED] and not panel.sound.playing
    assert panel.report is not None and panel.note.value == panel.report.furthest[0] == 1
    assert [label for label, _ in panel.note.options][1] == "2: D4, −15"
    assert (panel.sound.layout.display, panel.note.layout.display, panel.heard.value) == ("", "", "")
    assert len(json.dumps(panel.sound.get_state(), default=lambda data: "x" * len(data))) < 100_000


def test_the_page_is_sent_the_tape_that_it_asks_for_and_no_other(panel: TakePanel, monkeypatch: Any) -> None:
    sent: list[tuple[Any, Any]] = []
    monkeypatch.setattr(panel.sound, "send", lambda content, buffers=None: sent.append((content, buffers)))
    given(panel, wav_bytes(samples()))
    [name] = panel.sound.tapes
    for wanted in ("another", None, 3, [], name):
        panel.sound._told(panel.sound, {"want": wanted}, [])
    [(content, [data])] = [one for one in sent if "tape" in one[0]]
    assert content == {"tape": name} and len(data) == 2 * samples().size


def test_another_note_is_chosen_and_brought_out(panel: TakePanel) -> None:
    given(panel, wav_bytes(samples()))
    tapes, before, picture = panel.sound.tapes, panel.sound.others, bytes(panel.image.value)
    panel.note.value = 3
    assert panel.sound.tapes == tapes, "the same tape is sent once"
    assert panel.sound.others[AS_PLAYED] == before[AS_PLAYED] and panel.sound.others[ONE_NOTE] != before[ONE_NOTE]
    assert bytes(panel.image.value) != picture


def test_a_line_goes_along_the_picture_where_the_take_sounds(panel: TakePanel) -> None:
    """At the note itself, and at the same note again while its target sounds; and goes away at the end."""
    given(panel, wav_bytes(samples()))
    assert panel.report is not None
    still = bytes(panel.image.value)
    [line] = panel._stage._scene.moving

    def at(way: str, seconds: float) -> float:
        panel.sound._told(panel.sound, {"at": seconds, "hold": False, "way": way}, [])
        assert line.get_visible() and panel.image.format == "jpeg" and bytes(panel.image.value) != still
        return float(line.get_xdata()[0])

    left = 1.0 - at(AS_PLAYED, 1.0)  # the second of the take that the row begins with
    assert 0 < left < panel.report.notes[0].onset
    assert at(AS_PLAYED, 2.0) == pytest.approx(2.0 - left) == at(IN_TUNE, 2.0)
    note, again = panel.report.notes[1], panel._pair.again
    assert at(ONE_NOTE, 0.2) == pytest.approx(note.onset - 0.03 + 0.2 - left)
    assert at(ONE_NOTE, again + 0.2) == pytest.approx(note.onset + 0.2 - left)
    panel.sound.playing = True
    panel.sound.playing = False
    assert not line.get_visible() and panel.image.format == "png" and bytes(panel.image.value) == still


def test_of_a_long_take_a_part_is_heard_and_said_and_a_note_elsewhere_moves_it(panel: TakePanel) -> None:
    """Some of it is at once in memory of the page, never all."""
    late = 70.0
    sound = np.concatenate([samples(), np.zeros(round((late - 4) * SAMPLE_RATE)), samples()])
    given(panel, wav_bytes(sound), "long.wav")
    assert panel.report is not None and len(panel.report.notes) == 8
    panel.note.value = 0
    assert "You hear the take from 0:00 to 1:00: 60 seconds at most." in panel.heard.value
    [name] = panel.sound.tapes
    panel.note.value = 7
    [other] = panel.sound.tapes
    assert other != name and panel._tape.begins == pytest.approx(panel.report.notes[7].onset - 5, abs=1e-6)
    assert "You hear the take from 1:07 to 1:13:" in panel.heard.value and panel._tape.seconds < 15
    assert [note["hertz"] for note in notes_of(panel.sound.others[IN_TUNE])] == pytest.approx(WANTED, rel=1e-9)


def test_a_recording_of_the_page_is_heard_as_well(panel: TakePanel) -> None:
    """At a rate that the player does not have."""
    there = resampled(samples(), SAMPLE_RATE, 44_100).astype("<f4")
    given(panel, there.tobytes(), "recorded at 18:20", 44_100)
    size = samples().size
    assert np.allclose(panel._tape.samples[:size], samples(), atol=1e-3)


def test_a_take_that_is_no_recording_is_said_once_and_nothing_is_heard(panel: TakePanel) -> None:
    given(panel, wav_bytes(samples()))
    given(panel, b"Dear diary", "diary.wav")
    assert "is not a recording that can be read" in panel.words.value and panel.heard.value == ""
    assert panel.sound.layout.display == "none" and panel.sound.program == b"" and panel.sound.tapes == []
    assert panel.note.layout.display == "none" and panel.sound.others == {}


def test_a_take_without_a_note_can_be_heard_all_the_same(panel: TakePanel) -> None:
    """Noise: there is nothing to measure, and its player may want to hear why."""
    noise = 0.1 * np.random.default_rng(1).normal(size=2 * SAMPLE_RATE)
    given(panel, wav_bytes(noise), "wind.wav")
    assert panel.report is None and "no steady note" in panel.words.value
    assert panel.sound.layout.display == "" and panel.sound.program and panel.sound.others == {}


def test_a_take_that_is_chosen_anew_is_not_heard_as_the_one_that_was_measured(panel: TakePanel) -> None:
    """A demo take beside the report on another: it has no line in that picture, and no targets yet."""
    given(panel, wav_bytes(samples()))
    still = bytes(panel.image.value)
    panel.take.value = "tired lip"
    assert panel.sound.others == {} and panel.note.layout.display == "none"
    panel.sound._told(panel.sound, {"at": 1.0, "hold": False, "way": ""}, [])
    assert bytes(panel.image.value) == still


def test_an_exercise_is_heard_with_the_note_that_was_left_out(panel: TakePanel, tmp_path: Path) -> None:
    file = tmp_path / "steps.toml"
    file.write_text('title = "Steps"\ntuning = "31"\nnotes = "C4 D4 E4 F4 G4"')
    panel.against.value = str(file)
    given(panel, wav_bytes(samples()))
    assert panel.report is not None and len(panel.report.left_out) == 1
    heard = [note["hertz"] for note in notes_of(panel.sound.others[IN_TUNE])]
    assert heard == pytest.approx([*WANTED, 440 * 2 ** (-5 / 31)], rel=1e-7)


def test_a_chosen_note_of_a_long_take_is_in_the_picture(report: Report) -> None:
    """Whichever it is, its passage is shown, and the line goes along the whole take above as well."""
    many = tuple(
        replace(
            report.notes[i % 4], onset=1.0 * i + 0.3 * (i // 12), offset=1.0 * i + 0.3 * (i // 12) + 0.6, off=0.1 * i
        )
        for i in range(120)
    )
    long = replace(report, notes=many, seconds=130.0)
    for chosen in (0, 17, 63, 119):
        stage = Stage(OwnTake(long, chosen=chosen))
        moment = many[chosen].onset + 0.1
        stage.move({}, Playing(moment))
        lines = [artist for artist in stage._scene.moving if artist.get_visible()]
        assert len(lines) == 2, "one in its row, one in the overview"
        assert float(lines[-1].get_xdata()[0]) == pytest.approx(moment)
