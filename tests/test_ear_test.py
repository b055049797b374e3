"""The test of one's own ear, worked through by its buttons."""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest
from offline import notes_of

from tunelib.hearing.thresholds import Trial
from tunelib.practice.ear_test import PAUSE, REGISTERS, SOUNDS, TONE, ear_test, trial_score
from tunelib.sound import TIMBRES, render


def press_through(card: object, hears_from: float) -> None:
    """Answer by the buttons as somebody who hears differences from so many cents on, and else says "first"."""
    card.begin.click()
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


def test_somebody_who_only_guesses_is_told_so() -> None:
    """Answers no better than guesses end in "could not be measured", not in a number."""
    card = ear_test(seed=1)
    press_through(card, 10_000.0)
    assert card.test.outcome == "too hard" and "could not be measured" in card.result.value


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
