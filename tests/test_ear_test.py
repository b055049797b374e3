"""The test of one's own ear, worked through by its buttons."""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest
from offline import notes_of

from tunelib.hearing.thresholds import Trial
from tunelib.practice.ear_test import PAUSE, REGISTERS, SOUNDS, TONE, ear_test, trial_score
from tunelib.show import panel
from tunelib.sound import TIMBRES, render


@pytest.fixture(autouse=True)
def nothing_carried_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """What one test finds is not there for the next."""
    monkeypatch.setattr("tunelib.show.carried._found", {})


def press_through(card: object, hears_from: float) -> None:
    """Begin, and answer by the buttons to the end."""
    card.begin.click()
    answer_through(card, hears_from)


def answer_through(card: object, hears_from: float) -> None:
    """Answer by the buttons as somebody who hears differences from so many cents on, and else says "first"."""
    while card.test.outcome == "unfinished":
        trial = card.test.next_trial()
        heard = trial.cents >= hears_from
        (card.second if heard and trial.second_is_higher else card.first).click()


def test_a_listener_who_hears_from_eight_cents_is_found_near_eight() -> None:
    """The threshold comes out between the listener's limit and half as much again, and is said in words."""
    card = ear_test(seed=3)
    press_through(card, 8.0)
    assert card.test.outcome == "measured"
    assert 6 <= card.test.threshold <= 13
    assert "cents, give or take" in card.result.value
    assert card.first.disabled and card.second.disabled and not card.begin.disabled


def test_by_bayes_rule_the_same_listener_is_found_in_forty_trials() -> None:
    card = ear_test(seed=3)
    card.rule.value = "Bayes' rule, 40 trials at most"
    press_through(card, 8.0)
    assert card.test.outcome == "measured" and len(card.test.answers) <= 40
    assert 4 <= card.test.threshold <= 10
    assert "cents, give or take" in card.result.value


def test_somebody_who_is_wrong_three_times_at_the_start_goes_on_and_is_measured() -> None:
    """The pairs come farther apart, up to a major third, the buttons stay, and the limit is found all the same."""
    card = ear_test(seed=3)
    card.begin.click()
    for _ in range(3):
        second = card.test.next_trial().second_is_higher
        (card.first if second else card.second).click()
    assert card.test.differences == [200, 400, 400] and not card.second.disabled
    answer_through(card, 8.0)
    assert card.test.outcome == "measured" and 6 <= card.test.threshold <= 13


def test_somebody_who_only_guesses_is_told_so() -> None:
    """Answers no better than guesses end in "could not be measured", not in a number."""
    card = ear_test(seed=1)
    press_through(card, 10_000.0)
    assert card.test.outcome == "too hard" and "could not be measured" in card.result.value


def test_somebody_who_takes_first_for_second_is_told_that_and_begins_again() -> None:
    """The words say what may have happened and what to press; the button says so too, until it is pressed."""
    card = ear_test(seed=1)
    card.begin.click()
    while card.test.outcome == "unfinished":
        second = card.test.next_trial().second_is_higher
        (card.first if second else card.second).click()
    assert "taken the first tone for the second" in card.result.value and "press Begin again" in card.result.value
    assert card.begin.description == "Begin again"
    card.begin.click()
    assert card.begin.description == "Begin" and not card.first.disabled and "taken the first" not in card.result.value


def test_what_is_found_is_carried_over_to_the_picture_of_published_thresholds() -> None:
    """To a panel that is there, and to one that is made later, to a tenth as the test says it; but not where the call
    says where to begin, and nothing before the test is over."""
    before = panel("small_difference")
    card = ear_test(seed=3)
    card.register.value = "low (110 Hz)"
    card.begin.click()
    assert not before.values["tested"]
    answer_through(card, 8.0)
    found = {"own": round(card.test.threshold, 1), "hertz": 110.0, "tested": True}
    for shown in (before, panel("small_difference")):
        assert {name: shown.values[name] for name in found} == pytest.approx(found)
        assert f"your own threshold of {found['own']} cents" in shown.sentence
    assert f"110 Hz: {found['own']} cents" in card.result.value
    elsewhere = panel("small_difference", hertz=440.0).values
    assert elsewhere["hertz"] == 440.0 and elsewhere["own"] == 20.0 and not elsewhere["tested"]


def test_what_is_off_the_scale_of_the_picture_is_not_carried_over() -> None:
    """A listener of 150 cents is measured, and the picture, which ends at 80, stays as it was."""
    card = ear_test(seed=3)
    press_through(card, 150.0)
    assert card.test.threshold > 80 and not panel("small_difference").values["tested"]


def test_nothing_sounds_before_the_first_press_and_each_answer_brings_a_new_pair() -> None:
    """There is nothing to play until Begin; then it is the trial's two tones, and the page is told to play them."""
    card, said = ear_test(), []
    card.row.send = lambda message: said.append(message["do"])
    assert not card.row.program and card.first.disabled
    with pytest.raises(ValueError, match="press Begin first"):
        card.answer(second=True)
    card.begin.click()
    first = bytes(card.row.program)
    assert [note["hertz"] for note in notes_of(first)] == list(card.test.next_trial().hertz)
    card.first.click()
    assert bytes(card.row.program) != first and said == ["play", "play"]


def test_a_test_can_begin_again_in_another_register() -> None:
    """The reference follows the register, and the order of the tones is drawn afresh."""
    card = ear_test()
    for name, hertz in REGISTERS.items():
        card.register.value = name
        card.begin.click()
        assert card.test.reference_hz == hertz and not card.test.answers


@pytest.mark.parametrize("sound", SOUNDS)
@pytest.mark.parametrize("second_is_higher", [False, True])
def test_the_pair_sounds_as_the_trial_says(sound: str, second_is_higher: bool) -> None:
    """Praat (through parselmouth) finds the two pitches of the trial, in their order, within 0.1 cent."""
    trial = Trial(440.0, 12.0, second_is_higher)
    samples = render(trial_score(trial), TIMBRES[sound])
    for i, wanted in enumerate(trial.hertz):
        start = round((i * (TONE + PAUSE) + 0.1) * 48000)
        piece = parselmouth.Sound(samples[start : start + round(0.3 * 48000)], 48000)
        pitch = piece.to_pitch_ac(time_step=0.01, pitch_floor=75, pitch_ceiling=600, very_accurate=True)
        heard = np.median(pitch.selected_array["frequency"])
        assert abs(1200 * np.log2(heard / wanted)) < 0.1


def test_a_reader_without_a_kernel_is_told_what_it_is() -> None:
    """The stored output says in words what the card does."""
    bundle = ear_test()._repr_mimebundle_()
    assert "which of them is the higher" in bundle["text/plain"] and "text/markdown" in bundle
