"""A test of your own ear: which of two tones is the higher, until it has found the smallest difference you hear.

The rules are those of `tunelib.hearing`, a staircase and Bayes' rule; here they are given sound and buttons. Nothing
sounds until a button is pressed.
"""

from __future__ import annotations

import html
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import Slider, SmallDifference
from tunelib.hearing import BayesThreshold, HearingTest, Staircase, Trial
from tunelib.live import Sounding, program
from tunelib.pitch import chance
from tunelib.score import Score, ScoreNote
from tunelib.show import assistance, carry_over
from tunelib.sound import TIMBRES, reference_gain

REGISTERS = {"low (110 Hz)": 110.0, "middle (440 Hz)": 440.0, "high (1760 Hz)": 1760.0}
RULES: dict[str, type[Staircase] | type[BayesThreshold]] = {
    "a staircase, some 50 trials": Staircase,
    "Bayes' rule, 40 trials at most": BayesThreshold,
}
SOUNDS = ("sine", "flute", "reed", "bowed")
TONE, PAUSE = 0.5, 0.25  # seconds
_SWAPPED = (
    "If you did hear a difference, you may have taken the first tone for the second throughout: press Begin again, and "
    "try once more"
)
_INTRODUCTION = (
    "You hear two tones. Say which of them is the higher; if you cannot tell, guess. Each answer plays the next pair. "
    "The differences shrink until you begin to miss them: that is the point. It takes about three minutes. Keep the "
    "volume comfortable, and rest when you like."
)


def trial_score(trial: Trial) -> Score:
    """The two tones of a trial, one after the other, both at one level."""
    notes = (
        ScoreNote(onset=i * (TONE + PAUSE), duration=TONE, hertz=hertz, level=0.5)
        for i, hertz in enumerate(trial.hertz)
    )
    return Score(tuple(notes), tempo=60)


def ear_test(seed: int = 0) -> EarTest:
    """The test as a card with buttons, for a notebook. `seed` fixes the order of the tones.

    Raises ValueError for a seed that is no whole number.
    """
    chance(seed)  # refused here, and not when the test begins
    return EarTest(seed)


class EarTest(widgets.VBox):  # type: ignore[misc]
    """The card of one test. Made by `ear_test`; `test` is the test so far, or None before it begins.

    A program may choose `register`, `sound` and `rule`, and click `begin`, `first` and `second`; the pair plays in
    `row`.
    """

    def __init__(self, seed: int) -> None:
        self.test: HearingTest | None = None
        self._seed = seed
        self.register = widgets.Dropdown(options=list(REGISTERS), value="middle (440 Hz)", description="Register")
        self.sound = widgets.Dropdown(options=SOUNDS, description="Sound")
        self.rule = widgets.Dropdown(options=list(RULES), description="Rule")
        self.begin = widgets.Button(description="Begin", icon="play")
        self.first = widgets.Button(description="The first is higher", disabled=True, layout={"width": "190px"})
        self.second = widgets.Button(description="The second is higher", disabled=True, layout={"width": "190px"})
        self.row = Sounding("the two tones", holds=False)
        self.result = widgets.HTML(layout={"min_height": "3em"})
        self.begin.on_click(lambda _: self.start())
        self.first.on_click(lambda _: self.answer(second=False))
        self.second.on_click(lambda _: self.answer(second=True))
        answers = widgets.HBox([self.begin, self.first, self.second])
        introduction = widgets.HTML(f"<p>{_INTRODUCTION}</p>")
        named = assistance("tunelib-ear-test")
        chosen = [self.register, self.sound, self.rule]
        super().__init__([introduction, *chosen, answers, self.row, self.result, named])
        self.add_class("tunelib-ear-test")

    def start(self) -> None:
        """Begin, or begin again, in the register, with the sound and by the rule that are chosen."""
        self.test = RULES[self.rule.value](REGISTERS[self.register.value], seed=self._seed)
        self._seed += 1
        self._play()

    def answer(self, second: bool) -> None:
        """Take an answer: whether the second tone was the higher. Raises ValueError before the test has begun."""
        if self.test is None:
            raise ValueError("the test has not begun: press Begin first")
        self.test.answer(self.test.next_trial().second_is_higher == second)
        self._play()

    def _play(self) -> None:
        assert self.test is not None
        running = self.test.outcome == "unfinished"
        self.first.disabled = self.second.disabled = not running
        self.begin.description = "Begin" if running else "Begin again"
        if running:
            score, timbre = trial_score(self.test.next_trial()), TIMBRES[self.sound.value]
            self.row.give(program(score, timbre, reference_gain(score, timbre)))
            self.row.play()
        self._say(self.test.report() + (f". {_SWAPPED}" if self.test.outcome == "too hard" else ""))
        self._carry_over(self.test)

    @staticmethod
    def _carry_over(test: HearingTest) -> None:
        """Have the picture of published thresholds show what was found, where that is on its scale."""
        scale = next(knob for knob in SmallDifference.knobs if knob.name == "own")
        found = test.threshold
        if found is not None and isinstance(scale, Slider) and scale.low <= found <= scale.high:
            carry_over(SmallDifference.name, own=round(found, 1), hertz=test.reference_hz, tested=True)

    def _say(self, words: str) -> None:
        self.result.value = f'<p role="status" aria-live="polite">{html.escape(words[0].upper() + words[1:])}.</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live card; and, for a reader without a kernel, what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/markdown": f"**A test of your ear.** {_INTRODUCTION}", "text/plain": _INTRODUCTION}
