"""The panel of practice and the card of a lesson, worked through by a program as a learner does it in the page."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tunelib import course
from tunelib.live import Attempt
from tunelib.pitch import THIRTY_ONE
from tunelib.practice import practice, practice_card
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_file import EAR_FILE, ear_history, keep_answer
from tunelib.practice.ear_history import Answered, Item
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_questions import ear_items
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sitting import EarSitting
from tunelib.practice.ear_sung import SungQuestion
from tunelib.practice.practice_card import EAR_OF_LESSONS, QUESTIONS_ON_A_CARD
from tunelib.practice.practice_panel import EAR_TABLE, PracticePanel

NOW = datetime.now().astimezone()


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A learner with nothing kept, who works in a folder of their own."""
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    EAR_FILE.forget()
    yield tmp_path
    EAR_FILE.forget()


def steady(hertz: float, seconds: float = 2.0) -> Attempt:
    moments = np.arange(0, seconds, 0.011)
    return Attempt(moments, np.full(moments.size, hertz), hertz)


def answer(sitting: EarSitting, right: bool = True) -> None:
    """Answer whatever is asked, by the way that it asks for."""
    session = sitting.session
    assert session is not None and session.stage == "asking"
    question = session.question
    if isinstance(question, QuestionAsked):
        sitting.act("answer", question.right if right else (question.right + 1) % len(question.answers))
    elif isinstance(question, PlayedQuestion):
        press(sitting, [step + (not right) * (place > 0) for place, step in enumerate(question.answer.steps)])
    elif isinstance(question, SungQuestion):
        assert sitting.needle is not None
        for target in question.targets:
            attempt = steady(target * (1.0 if right else 2 ** (60 / 1200)))
            sitting.needle._told(None, {"attempt": target}, [attempt.seconds.tobytes(), attempt.hertz.tobytes()])


def press(sitting: EarSitting, steps: list[int]) -> None:
    """Play notes on the keys: one after another, or held together and checked."""
    assert sitting.board is not None
    for place, step in enumerate(steps):
        sitting.board._handle_custom_msg(
            {
                "id": place,
                "seconds": float(place),
                "step": step,
                "velocity": 0.7,
                "cents": 0.0,
                "held": sorted(steps[: place + 1]),
            },
            [],
        )
    if sitting.drill.shown["go"] == "Check what I play":
        sitting.act("go")


def to_the_end(sitting: EarSitting, every_wrong: int = 0) -> list[dict[str, Any]]:
    """A whole sitting; what was shown, stage by stage."""
    seen, asked = [], 0
    sitting.act("go")
    while sitting.drill.shown["stage"] != "done":
        seen.append(dict(sitting.drill.shown))
        if sitting.drill.shown["stage"] == "asking":
            asked += 1
            answer(sitting, right=not every_wrong or asked % every_wrong != 0)
        else:
            sitting.act("go")
    return seen


def test_nothing_is_chosen_and_begin_is_pressed() -> None:
    """A first sitting runs from Begin to its report; the questions, listening and progress come as announced."""
    panel = practice(seed=1)
    shown = panel.sitting.drill.shown
    assert shown["stage"] == "idle" and shown["go"] == "Begin" and shown["words"].startswith("Today: ")
    assert any("volume" in line for line in shown["more"]) and any("voice" in line for line in shown["more"])
    seen = to_the_end(panel.sitting, every_wrong=5)
    asked = [one for one in seen if one["stage"] == "asking"]
    told = [one for one in seen if one["stage"] == "told"]
    assert f"{len(asked)} questions" in shown["words"] and len(told) == len(asked) > 10
    assert [one["share"] for one in seen] == sorted(one["share"] for one in seen)
    assert seen[0]["place"] == f"Turn 1 of {len(asked) + sum(one['stage'] == 'listening' for one in seen)}"
    marks = [one["response"][0] for one in told]
    assert marks.count("✗") == len(asked) // 5
    assert panel.sitting.drill.shown["words"].startswith(f"{marks.count('✓')} of {len(asked)} answers right.")


def test_what_is_answered_is_in_the_learners_own_file(own_folder: Path) -> None:
    panel = practice(seed=1)
    seen = to_the_end(panel.sitting)
    stored = json.loads((own_folder / "data" / "ear.json").read_text("utf-8"))
    assert len(stored["answers"]) == sum(one["stage"] == "asking" for one in seen)
    assert len(ear_history().answers) == len(stored["answers"])


def test_before_the_answer_the_page_is_told_nothing_that_tells() -> None:
    """Sounds have numbers for names, nothing is marked as right, and there is nothing yet to compare."""
    panel = practice(seed=2)
    for shown in to_the_end(panel.sitting):
        if shown["stage"] == "asking":
            assert [sound["name"] for sound in shown["sounds"]] == ["Sound 1", "Sound 2"][: len(shown["sounds"])]
            assert shown["right"] == shown["answered"] == -1 and not shown["compared"] and not shown["response"]
        if shown["stage"] == "told":
            assert shown["compared"] and all(len(sound["program"]) > 100 for sound in shown["compared"])
            assert not shown["answers"] or shown["right"] >= 0


def test_the_same_sounds_are_there_to_be_heard_again() -> None:
    """What sounded before the answer can be heard after it, as it was."""
    panel = practice(seed=3)
    seen = to_the_end(panel.sitting)
    for before, after in pairwise(seen):
        if before["stage"] == "asking":
            assert after["stage"] == "told" and before["sounds"] == after["sounds"]


def test_what_does_not_suit_the_moment_is_passed_over() -> None:
    """A button pressed twice, a key that is no answer, a message that is none."""
    sitting = practice(seed=1).sitting
    for what, value in (("answer", 0), ("skip", None), ("stop", None), ("nonsense", 3)):
        sitting.act(what, value)
    assert sitting.drill.shown["stage"] == "idle"
    sitting.act("go")
    while sitting.drill.shown["stage"] != "asking":
        sitting.act("go")
    place = sitting.drill.shown["place"]
    for value in (9, -1, True, "0", None, 1.0):
        sitting.act("answer", value)
    sitting.act("go")
    assert sitting.drill.shown["stage"] == "asking" and sitting.drill.shown["place"] == place
    sitting.drill._told(None, {"do": 7}, [])
    sitting.drill._told(None, "go", [])
    answer(sitting)
    sitting.act("answer", 0)
    assert sitting.drill.shown["stage"] == "told" and len(ear_history().answers) == 1


def test_it_can_be_stopped_at_any_time() -> None:
    sitting = practice(seed=1).sitting
    sitting.act("go")
    sitting.act("stop")
    assert sitting.drill.shown["stage"] == "done" and "Nothing was answered" in sitting.drill.shown["words"]
    sitting.act("go")
    assert sitting.drill.shown["stage"] in ("asking", "listening"), "and begun again"


def test_what_is_skipped_is_not_kept() -> None:
    sitting = practice(seed=1).sitting
    sitting.act("go")
    while sitting.drill.shown["stage"] != "done":
        sitting.act("skip" if sitting.drill.shown["stage"] == "asking" else "go")
    assert ear_history().answers == ()


def test_settings_are_those_of_the_questions() -> None:
    """What is chosen is heard; a sitting that runs goes on as it is, and where no sound is chosen it is said."""
    panel = practice(seed=1)
    for name, box in panel.timbres.items():
        box.value = name == "flute"
    for name, box in panel.registers.items():
        box.value = name == "high"
    panel.minutes.value = 5
    assert "about 5 minutes" in panel.sitting.drill.shown["words"]
    panel.sitting.act("go")
    question = panel.sitting.session.question if panel.sitting.session else None
    assert question is not None and question.register == "high" and question.sounds[0].timbre.name == "flute-like"  # type: ignore[union-attr]
    panel.timbres["flute"].value = False
    assert panel.sitting.drill.shown["stage"] != "idle", "not in the middle of a sitting"
    panel.sitting.act("stop")
    panel.registers["high"].value = False
    assert "one or more of" in panel.sitting.drill.shown["words"]
    panel.sitting.act("go")
    assert panel.sitting.session is None and "one or more of" in panel.sitting.drill.shown["words"]


def test_only_with_a_microphone_is_anything_sung() -> None:
    settings = EarSettings(THIRTY_ONE)
    silent = {item.kind for item in ear_items(settings)}
    assert not silent & {"sing", "slide", "overtone", "line"} and "side" in silent, "a variant that is listened to"
    panel = practice(seed=1)
    assert panel.settings().microphone is False
    panel.microphone.value = True
    panel.player.value = "tenor voice"
    assert panel.settings().microphone and panel.settings().player.name == "tenor voice"  # type: ignore[union-attr]


def one_question(panel: PracticePanel, item: Item) -> None:
    """A sitting with one question, whatever the plan has."""
    from tunelib.practice.ear_plan import Turn
    from tunelib.practice.ear_session import EarSession

    panel.sitting._begin = lambda: EarSession(
        [Turn(item)], ear_history(), panel.settings(), np.random.default_rng(2), keep=panel._keep
    )
    panel.sitting.act("go")


@pytest.mark.parametrize(("kind", "what"), [("play", "9"), ("play chord", "C")])
@pytest.mark.parametrize("right", [True, False])
def test_notes_are_answered_on_the_keys(kind: str, what: str, right: bool) -> None:
    panel = practice(seed=1)
    one_question(panel, Item(kind, what))
    sitting = panel.sitting
    question = sitting.session.question if sitting.session else None
    assert isinstance(question, PlayedQuestion) and sitting.board in sitting.place.children
    assert sitting.board is not None and sitting.board.lit == [question.answer.steps[0]]
    assert sitting.drill.shown["go"] == ("Check what I play" if kind == "play chord" else "")
    answer(sitting, right)
    assert sitting.drill.shown["stage"] == "told" and sitting.drill.shown["response"].startswith("✓" if right else "✗")
    assert ear_history().answers[-1].right == right
    press(sitting, [0, 1, 2])
    assert len(ear_history().answers) == 1, "keys may be tried after the answer"


def test_a_first_note_that_is_not_the_marked_one_does_not_count() -> None:
    panel = practice(seed=1)
    one_question(panel, Item("play", "9"))
    question = panel.sitting.session.question  # type: ignore[union-attr]
    assert isinstance(question, PlayedQuestion)
    press(panel.sitting, [question.answer.steps[0] + 3])
    press(panel.sitting, list(question.answer.steps))
    assert ear_history().answers[-1].right


@pytest.mark.parametrize(("kind", "what"), [("sing", "9"), ("slide", "10"), ("overtone", "7"), ("line", "bar 5")])
def test_notes_are_sung_to_the_needle(kind: str, what: str) -> None:
    """The needle is aimed at one target after another, over the drone, and closed when it is told how it was."""
    panel = practice(seed=1)
    panel.microphone.value = True
    one_question(panel, Item(kind, what))
    sitting = panel.sitting
    question = sitting.session.question if sitting.session else None
    assert isinstance(question, SungQuestion) and sitting.needle in sitting.place.children
    assert sitting.needle is not None and sitting.needle.any_octave
    assert (sitting.needle.target, sitting.needle.drone) == (question.targets[0], question.drone)
    sitting.needle.listening = True
    answer(sitting, right=kind != "slide")
    assert sitting.drill.shown["stage"] == "told" and not sitting.needle.listening
    kept = ear_history().answers[-1]
    assert kept.sung and kept.right == (kind != "slide") and kept.cents is not None
    assert math.isclose(kept.cents, 0 if kind != "slide" else 60, abs_tol=1)
    sitting.act("go")
    assert sitting.place.children == ()


def test_the_needle_is_seen_at_first_and_then_less() -> None:
    """Whoever has sung a note well on several days sings it without looking, and sees afterwards."""
    panel = practice(seed=1)
    panel.microphone.value = True
    one_question(panel, Item("sing", "9"))
    assert panel.sitting.needle is not None and "tunelib-unseen" not in panel.sitting.needle._dom_classes
    panel.sitting.act("stop")
    for day in range(8, 0, -1):
        moment = datetime.now().astimezone() - timedelta(days=day)
        keep_answer(Answered(Item("sing", "9"), moment, True, "", 3.0, "low", True), lambda words: None)
    one_question(panel, Item("sing", "9"))
    assert "tunelib-unseen" in panel.sitting.needle._dom_classes


def test_the_views_show_one_at_a_time() -> None:
    panel = practice(seed=1)
    for view in ("Progress", "Settings", "Practice"):
        panel.view.value = view
        assert [name for name, part in panel._views.items() if part.layout.display == ""] == [view]


def test_curves_are_drawn_once_there_is_something_to_draw() -> None:
    panel = practice(seed=1)
    panel.view.value = "Progress"
    assert panel.curves.layout.display == "none" and "Nothing was answered yet" in panel.seen.value
    panel.view.value = "Practice"
    to_the_end(panel.sitting, every_wrong=4)
    panel.view.value = "Progress"
    assert panel.curves.layout.display == "" and bytes(panel.curves.value).startswith(b"\x89PNG")
    with Image.open(io.BytesIO(panel.narrow_curves.value)) as narrow:
        assert narrow.width == narrow.height, "on a narrow page they are a square, with larger type"
    assert f"{len(ear_history().answers)} answers" in panel.seen.value
    before = bytes(panel.curves.value)
    panel.kind.value = "wider"
    assert bytes(panel.curves.value) != before


def test_a_table_is_written_and_none_is_written_over(own_folder: Path) -> None:
    panel = practice(seed=1)
    to_the_end(panel.sitting)
    panel.table.click()
    table = own_folder / EAR_TABLE
    lines = table.read_text("utf-8-sig").splitlines()
    assert lines[0].startswith("when,kind,what") and len(lines) == 1 + len(ear_history().answers)
    assert EAR_TABLE in panel.note.value
    table.write_text("mine", "utf-8")
    panel.table.click()
    assert table.read_text("utf-8") == "mine" and "Nothing was written" in panel.note.value


def test_everything_is_forgotten_at_two_clicks() -> None:
    panel = practice(seed=1)
    to_the_end(panel.sitting)
    panel.view.value = "Progress"
    panel.forget.forget.click()
    assert ear_history().answers, "once is not enough"
    panel.forget.forget.click()
    assert ear_history().answers == ()


def test_a_reader_without_a_kernel_is_told_what_it_is_for() -> None:
    for made in (practice(), practice_card(2)):
        shown = made._repr_mimebundle_()
        assert "text/markdown" in shown and len(shown["text/plain"]) > 40


def test_other_tunings_have_a_practice_and_those_without_letters_none() -> None:
    assert "naming the third" in str(practice(19).sitting.drill.shown["more"])
    with pytest.raises(ValueError, match="no letters"):
        practice(13)
    with pytest.raises(ValueError, match="theme"):
        practice(theme="transparent")


EXERCISE = """
title = "Up to the neutral third"
tuning = "31"
notes = "C4 D4 Ehb4:2 | D4 C4"
cautions = "Softly, and in one breath."
"""


def test_a_teachers_exercise_is_opened_from_a_file(own_folder: Path) -> None:
    """Its title and cautions are shown, its notes asked a few at a time, and what was sung is kept; then back again."""
    file = own_folder / "third.toml"
    file.write_text(EXERCISE, "utf-8")
    panel = practice(exercise=file, seed=1)
    shown = panel.sitting.drill.shown
    assert shown["words"] == "An exercise: Up to the neutral third, 5 notes."
    assert "Softly, and in one breath." in shown["more"]
    panel.microphone.value = True
    seen = to_the_end(panel.sitting)
    asked = [one["words"] for one in seen if one["stage"] == "asking"]
    assert len(asked) == 2 and asked[0].startswith("Up to the neutral third: C4, D4, E½♭4 and D4.")
    kept = ear_history().answers
    assert [str(one.item) for one in kept] == [
        "exercise:Up to the neutral third 1",
        "exercise:Up to the neutral third 5",
    ]
    assert all(one.right and one.sung for one in kept)
    panel.leave.click()
    assert panel.sitting.drill.shown["words"].startswith("Today: ")


def test_an_exercise_is_listened_to_where_there_is_no_microphone(own_folder: Path) -> None:
    file = own_folder / "third.toml"
    file.write_text(EXERCISE, "utf-8")
    panel = practice(exercise=file, seed=1)
    assert {one["stage"] for one in to_the_end(panel.sitting)} == {"listening"}
    assert ear_history().answers == ()


def test_an_exercise_for_the_ear_asks_what_the_teacher_gave_out_in_its_division(own_folder: Path) -> None:
    file = own_folder / "thirds.toml"
    file.write_text('title = "Thirds of nineteen"\ntuning = "19"\npractise = ["third", "sing:5"]\n', "utf-8")
    panel = practice(exercise=file, seed=1)
    assert panel.settings().tuning.name == "19 equal steps"
    assert "An exercise: Thirds of nineteen, " in panel.sitting.drill.shown["words"]
    to_the_end(panel.sitting)
    assert {one.item.kind for one in ear_history().answers} == {"third"}
    panel.leave.click()
    assert panel.settings().tuning == THIRTY_ONE
    file.write_text('title = "A step"\ntuning = "31"\npractise = "sing:10"\n', "utf-8")
    assert "tick the microphone" in practice(exercise=file, seed=1).sitting.drill.shown["words"]


def test_an_exercise_that_cannot_be_read_is_told_by_its_lines() -> None:
    panel = practice(seed=1)
    for content, words in (
        (b"notes = 3", "title is missing"),
        (b'title = "x"\ntuning = "31"\nnotes = "C4 H4"', "line 3"),
    ):
        panel.file.value = (
            {"name": "bad.toml", "type": "", "size": len(content), "content": content, "last_modified": NOW},
        )
        assert words in panel.note.value and panel.exercise is None
    panel.file.value = (
        {"name": "good.toml", "type": "", "size": 9, "content": EXERCISE.encode(), "last_modified": NOW},
    )
    assert panel.exercise is not None and "Open: good.toml" in panel.note.value


# --- The card at the end of a lesson ----------------------------------------------------------------------------------


def test_every_lesson_has_a_card_about_its_subject() -> None:
    """Each asks three questions that can be asked, without a microphone."""
    assert list(EAR_OF_LESSONS) == [lesson.name for lesson in course.LESSONS]
    there = set(ear_items(EarSettings(THIRTY_ONE)))
    for name, items in EAR_OF_LESSONS.items():
        assert len(set(items)) >= QUESTIONS_ON_A_CARD and set(items) <= there, name
        card = practice_card(name, seed=1)
        assert card.sitting.drill.shown["words"].startswith("Three questions for your ear")
        seen = to_the_end(card.sitting)
        assert sum(one["stage"] == "asking" for one in seen) == QUESTIONS_ON_A_CARD
    assert len(ear_history().answers) == QUESTIONS_ON_A_CARD * len(EAR_OF_LESSONS)


def test_a_card_asks_what_is_remembered_least() -> None:
    """What was never asked comes before what was answered just now."""
    moment = datetime.now().astimezone()
    keep_answer(Answered(Item("side", "7"), moment, True, "", 9.0), lambda words: None)
    card = practice_card("09_harmony_in_motion", seed=1)
    card.sitting.act("go")
    assert card.sitting.session is not None
    assert Item("side", "7") not in {turn.item for turn in card.sitting.session.turns}


@pytest.mark.parametrize("lesson", ["11_more", 0, 10, True, None])
def test_a_lesson_that_there_is_not_has_no_card(lesson: Any) -> None:
    with pytest.raises(ValueError, match="there is no lesson"):
        practice_card(lesson)
    assert practice_card(2)._lesson.name == "02_overtones"
