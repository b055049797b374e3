"""One sitting of practice: its turns one after another, each as hard as suits the learner by then.

It makes no sound and shows nothing: whoever does that takes `question`, hands over what was answered, and goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Literal, TypeAlias, TypeVar

import numpy as np

from tunelib.pitch import listed, plain, times
from tunelib.practice.answers import Response
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Answered, EarHistory, Item
from tunelib.practice.ear_plan import Difficulty, Turn, difficulty, from_easy_to_hard
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_questions import EAR_KINDS, MOST_NAMES, Asked, ask, names_beside
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import Sung, SungQuestion

SittingStage: TypeAlias = Literal["asking", "listening", "told", "done"]
_T = TypeVar("_T")


class EarSession:
    """One sitting.

    Parameters
    ----------
    turns : sequence of Turn
        What is asked or listened to, in this order.
    history : EarHistory
        All answers before; those of this sitting are added to it.
    settings : EarSettings
    dice : numpy Generator
    keep : callable, optional
        Called with every `Answered`, to keep it.
    now : callable, optional
        The moment, with its time zone.
    given : mapping from Item to question, optional
        What is asked as it is, such as a teacher's exercise.

    ``question`` is whose turn it is, or None when the sitting is over; ``stage`` says what is due with it, and ``hard``
    how hard it is; ``answered`` has the answers so far, and ``response`` what was said to the last one.

    Raises ValueError for a sitting without any turn.
    """

    def __init__(
        self,
        turns: Sequence[Turn],
        history: EarHistory,
        settings: EarSettings,
        dice: np.random.Generator,
        *,
        keep: Callable[[Answered], None] = lambda answer: None,
        now: Callable[[], datetime] = lambda: datetime.now().astimezone(),
        given: Mapping[Item, Asked] = MappingProxyType({}),
    ) -> None:
        if not turns:
            raise ValueError("a sitting has one turn at least")
        self.turns = tuple(turns)
        self.history = history
        self.answered: list[Answered] = []
        self.response = Response(False, "")
        self.place = 0
        self.stage: SittingStage = "done"
        self.question: Asked | None = None
        self.hard: Difficulty | None = None
        self._settings, self._dice, self._keep, self._now, self._given = settings, dice, keep, now, given
        self._take_turn()

    @property
    def share(self) -> float:
        """How much of the sitting is done, from 0 to 1."""
        return (self.place + (self.stage == "told")) / len(self.turns)

    def answer(self, place: int) -> Response:
        """Take the answer at a place. Raises ValueError unless such a question waits for one."""
        question = self._waiting(QuestionAsked)
        response = question.check(place)
        self._take(response, question.answers[place], question.cents)
        return response

    def play(self, steps: Sequence[int]) -> Response:
        """Take what was played on the keys, as steps; none are no answer yet. Raises ValueError unless a question to be
        played waits for it."""
        question = self._waiting(PlayedQuestion)
        response = question.answer.check_steps(steps)
        if not response.understood:
            return response
        said = f"{response.message} {question.why}"
        self._take(Response(response.right, said), " ".join(map(str, steps))[:40], None)
        return self.response

    def sing(self, attempts: Sequence[Sung]) -> Response:
        """Take what was sung, an attempt at each target. Raises ValueError unless such a question waits for one."""
        grade = self._waiting(SungQuestion).grade(attempts)
        self._take(Response(grade.right, grade.message), "", grade.cents, sung=True)
        return self.response

    def skip(self) -> None:
        """Go on without an answer; nothing is kept of the question."""
        self._waiting(object)
        self.stage = "told"
        self.go_on()

    def go_on(self) -> None:
        """Go on to the next turn; nothing happens while a question waits for an answer."""
        if self.stage in ("told", "listening"):
            self.place += 1
            self._take_turn()

    def stop(self) -> None:
        """End the sitting here."""
        self.stage, self.question = "done", None

    @property
    def report(self) -> str:
        """What came of the sitting, in sentences."""
        if not self.answered:
            return "Nothing was answered this time."
        right = [answer.right for answer in self.answered]
        said = f"{sum(right)} of {times(len(right), 'answer')} right."
        missed = dict.fromkeys(_called(answer.item) for answer in self.answered if not answer.right)
        if missed:
            said += f" To come again soon: {listed(missed)}."
        offs = [abs(answer.cents) for answer in self.answered if answer.sung and answer.cents is not None]
        if offs:
            said += f" What was sung was {plain(float(np.mean(offs)))} cents off on average."
        return said

    def _waiting(self, kind: type[_T]) -> _T:
        if self.stage != "asking" or not isinstance(self.question, kind):
            raise ValueError("no such question waits for an answer")
        return self.question

    def _take(self, response: Response, said: str, cents: float | None, sung: bool = False) -> None:
        assert self.question is not None
        answer = Answered(self.question.item, self._now(), response.right, said, cents, self.question.register, sung)
        self.response, self.stage = response, "told"
        self.answered.append(answer)
        self.history = self.history.adding(answer)
        self._keep(answer)

    def _take_turn(self) -> None:
        """Make the question whose turn it is."""
        if self.place == len(self.turns):
            self.stop()
            return
        turn = self.turns[self.place]
        kind, hard = EAR_KINDS.get(turn.item.kind), difficulty(self.history, turn.item, self._settings.registers)
        item, names = self._among(turn, hard) if kind and kind.mixed else (turn.item, None)
        self.question = self._given.get(item) or ask(
            item,
            self._dice,
            replace(self._settings, registers=hard.registers),
            cents=hard.cents if kind and kind.differences else None,
            names=names if kind and kind.names else None,
        )
        if isinstance(self.question, SungQuestion):
            self.question = replace(self.question, within=hard.within)
        self.hard, self.stage = hard, "listening" if turn.listen else "asking"

    def _among(self, turn: Turn, hard: Difficulty) -> tuple[Item, tuple[str, ...]]:
        """Which of some things of a kind is asked, that of a turn among them, and their names.

        Any of them is as likely, or a learner would soon know what is practised today. The others are those that were
        practised before, and then the easiest.
        """
        practised = {answer.item for answer in self.history.answers}
        others = [Item(turn.item.kind, name) for name in names_beside(turn.item, self._settings)]
        others = [item for item in from_easy_to_hard(others) if item != turn.item]
        known = [item for item in others if item in practised]
        drawn = [known[place] for place in self._dice.permutation(len(known)).tolist()]
        new = [item for item in others if item not in practised]
        offered = [turn.item, *[*drawn, *new][: min(hard.names, MOST_NAMES) - 1]]
        asked = turn.item if turn.listen else offered[int(self._dice.integers(len(offered)))]
        return asked, tuple(item.what for item in offered)


def _called(item: Item) -> str:
    """What an item is called in the report: by its kind, or if it was given, by itself."""
    return EAR_KINDS[item.kind].title if item.kind in EAR_KINDS else item.what
