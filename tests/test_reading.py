"""The reading drill: what it asks, what it says to an answer, and a round worked through by its widgets."""

from __future__ import annotations

import io
import itertools
import re
from typing import Any

import numpy as np
import pytest
from PIL import Image
from test_exhibits import boxes

from tunelib.exhibits import staff as staff_room
from tunelib.exhibits.reading_staff import NotesToRead, place_in_words, sign_in_words
from tunelib.export.engrave import engrave_svg
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.practice.answers import Response
from tunelib.practice.reading_drill import CHOICES, LEVELS, Task, reading_drill, reading_tasks
from tunelib.show.stage import Stage

EVERY_PLAYER = pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=INSTRUMENTS)
VIOLIN = instrument("violin")
# Notes on the lines from the lowest up, and in the spaces (common practice, as taught: every good boy, F A C E, ...)
STAVES = {
    "treble": ("E4 G4 B4 D5 F5", "F4 A4 C5 E5"),
    "treble 8vb": ("E3 G3 B3 D4 F4", "F3 A3 C4 E4"),
    "alto": ("F3 A3 C4 E4 G4", "G3 B3 D4 F4"),
    "bass": ("G2 B2 D3 F3 A3", "A2 C3 E3 G3"),
}
# Names and code points of the Standard Music Font Layout: glyphnames.json of the W3C Music Notation Community Group.
GLYPHS = {
    -4: ("a double flat", "E264"),  # accidentalDoubleFlat
    -3: ("a one-and-a-half-flat", "E281"),  # accidentalThreeQuarterTonesFlatZimmermann
    -2: ("a flat", "E260"),  # accidentalFlat
    -1: ("a half-flat", "E280"),  # accidentalQuarterToneFlatStein
    1: ("a half-sharp", "E282"),  # accidentalQuarterToneSharpStein
    2: ("a sharp", "E262"),  # accidentalSharp
    3: ("a one-and-a-half-sharp", "E283"),  # accidentalThreeQuarterTonesSharpStein
    4: ("a double sharp", "E263"),  # accidentalDoubleSharp
}


def asked(name: str, *choices: str) -> Task:
    """A task for a violinist."""
    return Task(Note.parse(name), "naturals", VIOLIN, tuple(map(Note.parse, choices)))


def work_through(card: Any, wrong_first: frozenset[int] = frozenset()) -> None:
    """Answer a whole round as a learner would, some tasks wrongly at first."""
    for i in itertools.count():
        task = card.task
        if task is None:
            return
        if task.choices:
            right = CHOICES.index(task.answer)
            if i in wrong_first:
                card.choices[(right + 1) % 4].click()
            card.choices[right].click()
        else:
            if i in wrong_first:
                card.entry.value = "Cx" if task.note.letter != "C" else "Dx"
            card.entry.value = task.note.typed


@pytest.mark.parametrize(("clef", "staff"), STAVES.items())
def test_places_are_counted_as_they_are_taught(clef: str, staff: tuple[str, str]) -> None:
    ordinals = ("first", "second", "third", "fourth", "fifth")
    for kind, names in zip(("on the {} line", "in the {} space"), staff, strict=True):
        for ordinal, name in zip(ordinals, names.split(), strict=False):
            assert place_in_words(Note.parse(name), clef) == kind.format(ordinal)


@pytest.mark.parametrize(
    ("name", "place"),
    {
        "D4": "just below the staff", "C4": "on the first ledger line below the staff", "G5": "just above the staff",
        "B3": "just below the first ledger line below the staff", "C6": "on the second ledger line above the staff",
    }.items(),
)  # fmt: skip
def test_places_beside_the_staff(name: str, place: str) -> None:
    """In the treble clef; C4 is on the ledger line below (common practice)."""
    assert place_in_words(Note.parse(name), "treble") == place


@pytest.mark.parametrize(("half_sharps", "sign"), GLYPHS.items())
def test_the_picture_has_the_sign_that_the_words_say(
    half_sharps: int, sign: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The glyph of the standard music font, engraved for the drill's picture, and its description."""
    drawn: list[str] = []

    def spied(*args: Any, **kwargs: Any) -> list[str]:
        drawn.extend(engrave_svg(*args, **kwargs))
        return drawn[-1:]

    monkeypatch.setattr(staff_room, "engrave_svg", spied)
    staff_room.engraved_lines.cache_clear()
    task = Task(Note("A", half_sharps, 4), "naturals", VIOLIN)
    Stage(task.picture).move({})
    words, glyph = sign
    found = [code for code in re.findall(r'xlink:href="#([0-9A-F]{4})-', drawn[0]) if "E260" <= code < "E300"]
    assert found == [glyph]
    assert sign_in_words(half_sharps) == words
    assert task.picture.sentence() == f"A note in the treble clef: in the second space with {words}."


@EVERY_PLAYER
def test_a_round_goes_from_easy_to_hard_and_can_be_answered(player: Any) -> None:
    """Levels in order and equally long; half named, half found among four; all near the staff and in range."""
    tasks = reading_tasks(player, 16)
    assert [task.level for task in tasks] == [level for level in LEVELS for _ in range(4)]
    assert [bool(task.choices) for task in tasks] == [False, False, True, True] * 4
    assert len({task.note for task in tasks}) == 16
    for task in tasks:
        assert task.note.half_sharps in LEVELS[task.level]
        assert player.lowest.diatonic <= task.note.diatonic <= player.highest.diatonic
        assert task.check(task.answer).right
        if task.choices:
            assert len(set(task.choices)) == 4 and task.choices.count(task.note) == 1
            assert [task.check(number).right for number in CHOICES].count(True) == 1
            assert not task.check("5").right and not task.check("").right


def test_the_hard_notes_are_offered_beside_what_they_are_taken_for() -> None:
    """For a half-sharp, the sharp in the same place and the double flat or other name of the same step are there."""
    for seed in range(20):
        for task in reading_tasks(VIOLIN, 64, seed):
            if task.choices and task.note.half_sharps in (1, -1):
                same_place = [note for note in task.choices if note.diatonic == task.note.diatonic]
                assert len(same_place) >= 2
                assert any(note.half_sharps == 2 * task.note.half_sharps for note in same_place)


def test_a_seed_fixes_the_round() -> None:
    assert reading_tasks(VIOLIN, 16, 3) == reading_tasks(VIOLIN, 16, 3)
    assert reading_tasks(VIOLIN, 16, 3) != reading_tasks(VIOLIN, 16, 4)


@pytest.mark.parametrize("text", ["Ehb4", "ehb", "E½♭4", " E hb ", "E½♭", "EHB4"[0] + "hb"])
def test_a_name_may_be_typed_in_many_ways(text: str) -> None:
    """With or without the octave, typed or printed signs, small letters and spaces."""
    assert asked("Ehb4").check(text).right


@pytest.mark.parametrize(
    ("shown", "said", "message"),
    [
        ("Ch#5", "C#", "The letter is right. The note has a half-sharp, 1 step up; you read a sharp, 2 steps up."),
        ("Ehb4", "Eb4", "The note has a half-flat, 1 step down; you read a flat, 2 steps down."),
        ("E4", "Ehb", "The note has no sign; you read a half-flat"),
        ("Dx5", "Ehb5", "E½♭5 is the same step of thirty-one, but written differently: this note is on the fourth"),
        ("E#4", "Fhb4", "same step of thirty-one, but written differently: this note is on the first line."),
        ("F#4", "G#4", "The sign is right, but not the letter: 1 place lower than that G♯4."),
        ("A4", "F", "The sign is right, but not the letter: 2 places higher than that F4."),
        ("A4", "A5", "Right name, but the note is lower: look at the octave number."),
        ("B#4", "C", "Neither letter nor sign yet: the note is on the third line, with a sharp, 2 steps up."),
        ("A4", "H", "I cannot read 'H' as a note."),
        ("A4", "C#b", "I cannot read 'C#b' as a note."),
        ("A4", "Axxx", "you read a 6-fold sharp, 12 steps up"),
    ],
)
def test_a_wrong_name_is_told_why(shown: str, said: str, message: str) -> None:
    """Steps of thirty-one: a half-sharp is 1, a sharp 2; D𝄪 and E½♭, E♯ and F½♭ are one step (common practice)."""
    response = asked(shown).check(said)
    assert not response.right and message in response.message


@pytest.mark.parametrize(
    ("said", "message"),
    [
        (
            "2",
            "Staff 2 is E♭4. The place is right. It must have a half-flat, 1 step down; this one has a flat, "
            "2 steps down.",
        ),
        ("3", "Staff 3 is D♯♯4. It is the same step of thirty-one, but written differently: E½♭4 has the place of E."),
        (" 4 ", "Staff 4 is G½♭4. The sign is right, but not the place: 2 places lower."),
        ("5", "Choose one of 1, 2, 3, 4."),
        ("12", "Choose one of 1, 2, 3, 4."),
        ("D", "Choose one of 1, 2, 3, 4."),
    ],
)
def test_a_wrong_choice_is_told_why(said: str, message: str) -> None:
    assert asked("Ehb4", "Ehb4", "Eb4", "Dx4", "Ghb4").check(said).message == message


def test_a_right_answer_says_how_the_note_sounds() -> None:
    assert asked("Dx4").check("Dx").message == "Yes: D♯♯4. In thirty-one it sounds as E½♭4 does."
    assert asked("D4").check("D").message == "Yes: D4."


def test_a_learner_who_reads_all_is_told_so() -> None:
    """Every right answer brings the next note; the end says that nothing was missed."""
    card = reading_drill("violin")
    work_through(card)
    assert card.missed == [] and card.show_me.disabled
    assert "16 of 16 right at the first try." in card.report() and "Nothing was missed" in card.words.value
    assert card.image.layout.visibility == "hidden"


def test_misses_are_counted_once_and_practice_is_proposed() -> None:
    """Only the first try counts; the report names the level with most misses and what was answered."""
    card = reading_drill("violin")
    work_through(card, frozenset({8, 10}))
    named, found = (task for task, _ in card.missed)
    report = card.report()
    assert "14 of 16 right at the first try." in report
    assert "Half-sharps and half-flats: 2 of 4." in report and "To practise: half-sharps and half-flats." in report
    assert f"{named.note} (you said " in report and f"{found.note} (you said " in report
    assert "(you said A)" not in report and card.image.layout.visibility == "visible"


def test_what_is_not_understood_is_told_so_and_is_no_miss() -> None:
    """A slip of the hand, in typing a name or choosing a staff; the right answer after it is the first try."""
    card = reading_drill("violin")
    while (task := card.task) is not None:
        for slip in ("5", "w") if task.choices else ("H", "C#b", "w"):
            card.entry.value = slip
            assert card.task is task and re.search("I cannot read|Choose one of", card.response.value)
        card.entry.value = task.answer if task.choices else task.note.typed
    assert card.missed == [] and "16 of 16 right at the first try." in card.report()


def test_a_wrong_answer_keeps_the_note_and_says_why() -> None:
    card = reading_drill("violin")
    task, picture = card.task, bytes(card.image.value)
    card.entry.value = "H"
    assert card.task is task and bytes(card.image.value) == picture and "I cannot read" in card.response.value
    card.entry.value = "Cx" if task.note.letter != "C" else "Dx"
    card.check.click()
    assert card.missed == [(task, card.entry.value)]
    card.entry.value = task.note.typed
    assert card.task is not task and bytes(card.image.value) != picture
    assert card.entry.value == "" and "✓" in card.response.value


def test_showing_the_answer_counts_as_a_miss_and_waits_for_it() -> None:
    card = reading_drill("violin")
    task = card.task
    card.show_me.click()
    assert str(task.note) in card.response.value and card.task is task and card.missed == [(task, "")]
    card.entry.value = task.note.name
    assert card.task is not task


def test_the_keyboard_is_never_left_with_something_that_goes() -> None:
    """The field stays for the whole round; whenever the buttons go it gets the keyboard, at the end the last button."""
    card = reading_drill("violin")
    given: list[str] = []
    card.entry.focus = lambda: given.append("field")
    card.again.focus = lambda: given.append("another round")
    while card.task:
        had_buttons = bool(card.task.choices)
        assert card.typed.layout.display == "flex"
        assert card.pressed.layout.display == ("flex" if had_buttons else "none")
        given.clear()
        card.answer(card.task.answer)
        has_buttons = bool(card.task and card.task.choices)
        assert given == ([] if has_buttons or not had_buttons else ["field"] if card.task else ["another round"])
    assert card.typed.layout.display == card.pressed.layout.display == "none"
    card.answer("C4")
    card.show()


def test_another_round_has_other_notes_and_another_instrument_its_clef() -> None:
    card = reading_drill("violin")
    first = card.task
    card.answer(first.answer)
    card.again.click()
    assert card.task != first and "Note 1 of 16" in card.words.value
    card.player.value = "cello"
    assert card.task.player.clef == "bass" and "bass clef" in card.seen.value


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"player": "violni"}, "did you mean viol"),
        ({"notes": 3}, "the number of notes in a round is a whole number from 4 to 64, not 3"),
        ({"notes": 8.5}, "a whole number from 4 to 64, not 8.5"),
        ({"seed": -1}, "a seed is a whole number, 0 or more, not -1"),
        ({"theme": "transparent"}, "the theme of a drill is 'light' or 'dark'"),
    ],
)
def test_the_drill_refuses_what_does_not_exist(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        reading_drill(**arguments)


def test_a_reader_without_a_kernel_has_a_note_to_read() -> None:
    """Picture with alt text, the question in words, and the answer; the same each time."""
    (data, metadata), (again, _) = (reading_drill()._repr_mimebundle_() for _ in range(2))
    assert data["text/plain"] == again["text/plain"] and data["image/png"] == again["image/png"]
    answer = reading_drill().task.answer
    assert "Which note is this?" in data["text/plain"] and data["text/plain"].endswith(f"Answer: {answer}.")
    assert metadata["image/png"]["alt"] in data["text/plain"] and answer not in metadata["image/png"]["alt"]
    with Image.open(io.BytesIO(data["image/png"])) as picture:
        assert np.ptp(np.asarray(picture.convert("L"))) > 200


@pytest.mark.parametrize("size", ["panel", "vertical"])
@pytest.mark.parametrize("count", range(1, 9))
def test_nothing_overlaps_or_is_cut_off_in_the_picture(size: str, count: int) -> None:
    """However many notes, each label is within the picture and clear of the others, and all ink within its place."""
    notes = [Note.parse(name) for name in ("Cbb4", "A#h#5", "A5", "Ehb4", "Abhb5", "C4", "Bx4", "Fh#5")][:count]
    stage = Stage(NotesToRead("To read once more", notes, VIOLIN, [note.name for note in notes]), size)
    stage.move({})
    width, height = stage.canvas.get_width_height()
    found = boxes(stage)
    assert len(found) == count + 1
    for _, box in found:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= width and box.y1 <= height
    for (_, one), (_, other) in itertools.combinations(found, 2):
        assert one.x1 <= other.x0 or other.x1 <= one.x0 or one.y1 <= other.y0 or other.y1 <= one.y0
    for axes in stage.figure.axes:
        label = axes.texts[0].get_window_extent().transformed(axes.transData.inverted())
        for patch in axes.patches:
            if patch.get_visible():
                ink = np.asarray(patch.get_path().vertices)
                assert ink[:, 1].max() <= axes.get_ylim()[1] and ink[:, 0].max() <= axes.get_xlim()[1]
                over_label = ink[np.abs(ink[:, 0] - label.x0 / 2 - label.x1 / 2) < 20, 1]
                assert over_label.min(initial=np.inf) >= label.y1


@pytest.mark.parametrize("count", [0, 9])
def test_a_picture_of_too_few_or_too_many_notes_is_refused(count: int) -> None:
    with pytest.raises(ValueError, match=f"one to 8 notes can be read at once, each with a label, not {count}"):
        NotesToRead("", [Note("C", 0, 4)] * count, VIOLIN, [""] * count)


def test_a_name_is_answered_by_playing_its_key_in_any_octave() -> None:
    task = Task(Note.parse("Ehb4"), "half-sharps and half-flats", instrument("flute"))
    for octave in (-1, 0, 2):
        assert task.check_step(9 + 31 * octave) == task.check("Ehb4")
    assert task.check_step(10) == Response(False, "That key is E, 1 step too high.")
    assert task.check_step(-23) == Response(False, "That key is E♭, 1 step too low.")
    assert task.check_step(0).message == "That key is C, 9 steps too low."
    found = Task(Note.parse("D4"), "naturals", instrument("flute"), tuple(map(Note.parse, ("C4", "D4", "E4", "F4"))))
    assert found.check_step(5) == Response(False, "Choose one of 1, 2, 3, 4.", understood=False)


def test_a_round_is_played_on_the_keys() -> None:
    card = reading_drill("flute", 4)
    card.wish.value = True
    [board] = card.place_of_keys.children

    def play(step: int) -> None:
        for told in ({"step": step, "velocity": 1, "cents": 0}, {}):
            board._handle_custom_msg({"id": 1, "seconds": 0, **told}, [])

    while card.task is not None:
        task = card.task
        step = task.note.step(THIRTY_ONE)
        play(step + 1)
        assert task.choices or card.missed[-1][0] is task
        play(step)
        if task.choices:
            assert card.task is task and "Choose one of" in card.response.value
            card.answer(task.answer)
        assert card.task is not task and "✓" in card.response.value
    card.wish.value = False
    assert card.place_of_keys.children == ()


def test_staves_to_choose_from_have_numbers_which_are_no_names_of_notes() -> None:
    """The field's example is of the kind that is asked for: a name, and where there are staves, a number."""
    card = reading_drill("violin", 8)
    for _ in range(8):
        assert card.task is not None
        example = card.entry.placeholder.removeprefix("for example ")
        if card.task.choices:
            assert example in CHOICES and card.task.picture.labels == ("1", "2", "3", "4")
            card.entry.value = card.task.note.name
            assert "Choose one of 1, 2, 3, 4." in card.response.value
        else:
            assert example == "E½♭4, or Ehb4"
        card.entry.value = card.task.answer if card.task.choices else card.task.note.typed
    assert card.task is None
