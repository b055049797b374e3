"""A take measured against its targets, as the player reads it: how far off each note was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import Look
from tunelib.exhibits.own_take import in_words
from tunelib.exhibits.take_line import TakeLine
from tunelib.hearing import Report, Take, Targets, hear
from tunelib.pitch import A4_HZ, FloatArray, equal, instrument, plain, signed
from tunelib.score import Score
from tunelib.sound import DEMO_FUNDAMENTAL, DEMO_HARMONICS, DEMO_TAKES, FIVE_NOTES, SAMPLE_RATE

_PLAYER = instrument("alto saxophone")
_TAKES = DEMO_TAKES | {FIVE_NOTES.name: FIVE_NOTES}


class Intonation(Exhibit):
    """Demo takes, rendered with known errors, against the overtones, twelve or thirty-one."""

    name: ClassVar[str] = "intonation"
    title: ClassVar[str] = "A take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("take", "Demo take", tuple(_TAKES), "a mixed day"),
        Choice("against", "Against", ("harmonics", "twelve", "thirty-one"), "harmonics"),
        Slider("note", "Note", 1, len(DEMO_HARMONICS), 1, 3),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "overtones": {"take": "true to the overtones"},
        "12": {"take": "keyboard habit"},
        "31": {"take": "in thirty-one"},
    }

    flows = True
    parts: ClassVar[Mapping[str, str]] = {
        "target": "where every note is in tune",
        "take": "the pitch of the take, note by note",
        "note": "the chosen note",
        "gap": "the gap between the note and its target",
        "off": "how far off the note is",
        "names": "what each note aims at",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("target", "names"), ("take",), ("note", "gap"), ("off",))

    def clash(self, take: str, against: str, note: int) -> str:
        count = len(_TAKES[take].played)
        if note > count:
            return f"the take “{take}” has {count} notes: 1 to {count} can be chosen"
        if take == FIVE_NOTES.name and against == "harmonics":
            return f"the take “{take}” aims at no harmonics: twelve or thirty-one can be set against it"
        return ""

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        return TakeLine(figure, look).scene(demo_report)

    def sentence(self, take: str, against: str, note: int) -> str:
        heard = in_words(demo_report(take, against), note - 1)
        return f"Demo take “{take}”, whose player {_TAKES[take].habit}: {heard}"

    def numbers(self, take: str, against: str, note: int) -> Mapping[str, str]:
        report = demo_report(take, against)
        one, whole = report.notes[note - 1], report.summary
        return {
            "cents": plain(abs(float(report.away[note - 1]))),
            "hertz": plain(one.hertz),
            "mean": signed(whole.mean, 1),
            "rms": plain(whole.rms),
            "target": report.name(one.target),
        }

    def score(self, take: str, against: str, note: int) -> Score:
        return _TAKES[take].score

    def timbre(self, take: str, against: str, note: int) -> Voicing:
        return _TAKES[take].timbre

    def bends(self, take: str, against: str, note: int) -> Sequence[FloatArray]:
        return _TAKES[take].bends

    def sound(self, **values: Any) -> FloatArray:
        return _TAKES[self.settle(values)["take"]].samples()


@lru_cache(maxsize=8)
def demo_targets(against: str) -> Targets:
    """The overtones of the demo takes' fundamental, or a division of the octave laid on that note."""
    if against == "harmonics":
        return Targets.harmonics(
            DEMO_FUNDAMENTAL.hz(), f"the harmonics of {DEMO_FUNDAMENTAL}", home=DEMO_FUNDAMENTAL.fifths
        )
    division = equal(12 if against == "twelve" else 31)
    return Targets.tuning(division, A4_HZ * DEMO_FUNDAMENTAL.hz() / DEMO_FUNDAMENTAL.hz(division))


@lru_cache(maxsize=len(_TAKES))
def _heard(take: str) -> Take:
    named_as_they_sound = take == FIVE_NOTES.name
    return hear(_TAKES[take].samples(), SAMPLE_RATE, None if named_as_they_sound else _PLAYER)


@lru_cache(maxsize=4 * len(_TAKES))
def demo_report(take: str, against: str) -> Report:
    """A demo take as it is heard, against ``"harmonics"``, ``"twelve"`` or ``"thirty-one"``."""
    return _heard(take).against(demo_targets(against))
