"""A sitting of practice as a learner sees it: its questions on the page, and the keys or the needle where needed.

By mouse, by number keys, on the keys of the page or a MIDI keyboard, or into the microphone. Nothing sounds until
somebody presses Begin.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from tunelib.live import Attempt, Keys, Needle, keys, needle
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_drill import EarDrill
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import SungQuestion

_OCTAVES = 2  # of keys
_UNSEEN = "tunelib-unseen"  # for a needle that moves behind a veil


class EarSitting(widgets.VBox):  # type: ignore[misc]
    """The widgets of sittings, one after another.

    Parameters
    ----------
    title : str
    settings : callable
        What is asked with, as it is set when a sitting begins.
    begin : callable
        Makes the next sitting; raises ValueError, in words for the learner, where there is nothing to ask.
    today : callable
        What stands there before it begins: a sentence, and further lines.

    A program may do by `act` what the reader does in the page: ``act("go")``, ``act("answer", 1)``. ``session`` is the
    sitting, or None before the first; ``drill`` shows it; ``board`` and ``needle`` are there once they were needed.
    """

    def __init__(
        self,
        title: str,
        settings: Callable[[], EarSettings],
        begin: Callable[[], EarSession],
        today: Callable[[], tuple[str, list[str]]],
    ) -> None:
        self.session: EarSession | None = None
        self.drill = EarDrill(title)
        self.board: Keys | None = None
        self.needle: Needle | None = None
        self._settings, self._begin, self._today = settings, begin, today
        self._player = ""  # whose names the needle has
        self._played: list[int] = []
        self._attempts: list[Attempt] = []
        self.place = widgets.VBox()
        self.drill.on_act(self.act)
        super().__init__([self.drill, self.place])
        self.wait()

    def wait(self) -> None:
        """Show what is to come, and wait for Begin."""
        self.session = None
        self._put()
        words, more = self._today()
        self.drill.show("idle", words, more=more, go="Begin")

    def act(self, what: str, value: Any = None) -> None:
        """Do what the reader did: ``"go"``, ``"answer"`` with the place of an answer, ``"skip"`` or ``"stop"``.

        What does not suit the moment, as when a button is pressed twice, is passed over.
        """
        session = self.session
        if session is None or session.stage == "done":
            if what == "go":
                self._start()
            return
        if what == "stop":
            session.stop()
        elif what == "go" and self._to_play(in_order=False):
            self._check_held()
        elif what == "go":
            session.go_on()
        elif session.stage == "asking" and what == "skip":
            session.skip()
        elif session.stage == "asking" and what == "answer" and _answers(session.question, value):
            session.answer(value)
        self._show()

    def _start(self) -> None:
        try:
            self.session = self._begin()
        except ValueError as problem:
            self.drill.show("idle", f"{problem}.", go="Begin")
            return
        self._show()

    def _show(self) -> None:
        session = self.session
        assert session is not None
        match session.stage:
            case "done":
                self._put()
                self.drill.show("done", session.report, go="Practise once more")
            case "listening":
                self._put()
                assert session.question is not None
                self.drill.show(
                    "listening",
                    "Just listen, as often as you like.",
                    more=[session.question.why],
                    sounds=session.question.sounds,
                    compared=session.question.compared,
                    go="Go on",
                    hint="Number keys flip, Enter goes on.",
                    **self._where,
                )
            case "told":
                self._tell()
            case "asking":
                self._ask()

    @property
    def _where(self) -> dict[str, Any]:
        session = self.session
        assert session is not None
        return {"place": f"Turn {session.place + 1} of {len(session.turns)}", "share": session.share}

    def _ask(self) -> None:
        assert self.session is not None
        question = self.session.question
        self._played, self._attempts = [], []
        parts: dict[str, Any] = {"skips": True, **self._where}
        if isinstance(question, QuestionAsked):
            self._put()
            parts |= {"helps": question.helps, "answers": list(question.answers)}
            last = len(question.answers)
            parts["hint"] = f"Keys: 1 {'and' if last == 2 else 'to'} {last} answer, Space hears it again."
        elif isinstance(question, PlayedQuestion):
            parts |= {"short": True, "go": "" if question.answer.in_order else "Check what I play"}
            self._put(self._keys(question))
        elif isinstance(question, SungQuestion):
            parts["short"] = True
            self._put(self._aimed(question))
        assert question is not None
        self.drill.show("asking", question.words, sounds=question.sounds, **parts)

    def _tell(self) -> None:
        session = self.session
        assert session is not None and session.question is not None
        question, response = session.question, session.response
        parts: dict[str, Any] = {"sounds": question.sounds, "compared": question.compared, **self._where}
        if isinstance(question, QuestionAsked):
            given = session.answered[-1].answer
            parts |= {"helps": question.helps, "answers": list(question.answers), "right": question.right}
            parts["answered"] = question.answers.index(given)
        self._put()
        self.drill.show(
            "told",
            question.words,
            response=f"{'✓' if response.right else '✗'} {response.message}",
            go="Next",
            hint="Number keys flip, Enter goes on.",
            **parts,
        )

    def _put(self, *parts: widgets.Widget) -> None:
        """Put the keys or the needle below the question, or take them away.

        Away from the page, the microphone is closed: some telephones play softly while it is open.
        """
        if self.needle is not None and self.needle not in parts:
            self.needle.listening = False
        if tuple(self.place.children) != parts:
            self.place.children = parts

    def _keys(self, question: PlayedQuestion) -> Keys:
        """The keys, with the lowest note of a question marked."""
        if self.board is None:
            about = question.answer.tuning
            self.board = keys(about, octaves=_OCTAVES, title="Play what you heard", read_chords=False)
            self.board.on_msg(lambda _widget, message, _buffers: self._hear_next(message))
            self.board.on_gathered(self._hear_held)
        self.board.light(question.answer.steps[:1])
        return self.board

    def _hear_next(self, message: Any) -> None:
        """Take notes that are played one after another, once there are as many as were heard."""
        question = self._to_play(in_order=True)
        if "step" not in message or question is None or self.session is None:
            return
        self._played.append(message["step"])
        if self._played[0] != question.answer.steps[0]:
            self._played = []  # to be begun with the note that is marked
        elif len(self._played) == len(question.answer.steps):
            self.session.play(self._played)
            self._show()

    def _hear_held(self, steps: list[int]) -> None:
        """Keep what is held, also when it has been let go: whoever reaches for the button lets go of the keys."""
        if self._to_play(in_order=False):
            self._played = steps

    def _check_held(self) -> None:
        """Take the notes that are held, or were held last."""
        if self._played and self.session:
            self.session.play(self._played)

    def _to_play(self, in_order: bool) -> PlayedQuestion | None:
        """The question that waits to be played, note by note or held; None where there is none, and keys are tried."""
        question = self.session.question if self.session and self.session.stage == "asking" else None
        return question if isinstance(question, PlayedQuestion) and question.answer.in_order == in_order else None

    def _aimed(self, question: SungQuestion) -> Needle:
        """The needle, at the next note to be sung."""
        settings = self._settings()
        player = settings.player.name if settings.player else ""
        if self.needle is None or player != self._player:
            self.needle = needle(settings.tuning, any_octave=True, player=player, title="Sing or play")
            self.needle.on_attempt(self._hear_attempt)
            self._player = player
        hard = self.session.hard if self.session else None
        (self.needle.add_class if hard and not hard.seen else self.needle.remove_class)(_UNSEEN)
        self.needle.aim(question.targets[len(self._attempts)], question.drone)
        return self.needle

    def _hear_attempt(self, attempt: Attempt) -> None:
        """Take an attempt at a note, and go on to the next note or to what came of it."""
        question = self.session.question if self.session else None
        if self.session is None or self.session.stage != "asking" or not isinstance(question, SungQuestion):
            return
        self._attempts.append(attempt)
        if len(self._attempts) == len(question.targets):
            self.session.sing(self._attempts)
            self._show()
        else:
            self._aimed(question)


def _answers(question: object, value: object) -> bool:
    """Whether a value is the place of an answer to a question."""
    return isinstance(question, QuestionAsked) and type(value) is int and 0 <= value < len(question.answers)
