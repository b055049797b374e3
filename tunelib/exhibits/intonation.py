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
from tunelib.sound import DEMO_FUNDAMENTAL, DEMO_HARMONICS, DEMO_TAKES, SAMPLE_RATE

_PLAYER = instrument("alto saxophone")


class Intonation(Exhibit):
    """Demo takes, rendered with known errors, against the overtones, twelve or thirty-one."""

    name: ClassVar[str] = "intonation"
    title: ClassVar[str] = "A take against its targets"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("take", "Demo take", tuple(DEMO_TAKES), "a mixed day"),
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

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        return TakeLine(figure, look).scene(demo_report)

    def sentence(self, take: str, against: str, note: int) -> str:
        heard = in_words(demo_report(take, against), note - 1)
        return f"Demo take “{take}”, whose player {DEMO_TAKES[take].habit}: {heard}"

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
        return DEMO_TAKES[take].score

    def timbre(self, take: str, against: str, note: int) -> Voicing:
        return DEMO_TAKES[take].timbre

    def bends(self, take: str, against: str, note: int) -> Sequence[FloatArray]:
        return DEMO_TAKES[take].bends

    def sound(self, **values: Any) -> FloatArray:
        return DEMO_TAKES[self.settle(values)["take"]].samples()


@lru_cache(maxsize=8)
def demo_targets(against: str) -> Targets:
    """The overtones of the demo takes' fundamental, or a division of the octave laid on that note."""
    if against == "harmonics":
        return Targets.harmonics(
            DEMO_FUNDAMENTAL.hz(), f"the harmonics of {DEMO_FUNDAMENTAL}", home=DEMO_FUNDAMENTAL.fifths
        )
    division = equal(12 if against == "twelve" else 31)
    return Targets.tuning(division, A4_HZ * DEMO_FUNDAMENTAL.hz() / DEMO_FUNDAMENTAL.hz(division))


@lru_cache(maxsize=len(DEMO_TAKES))
def _heard(take: str) -> Take:
    return hear(DEMO_TAKES[take].samples(), SAMPLE_RATE, _PLAYER)


@lru_cache(maxsize=4 * len(DEMO_TAKES))
def demo_report(take: str, against: str) -> Report:
    """A demo take as it is heard, against ``"harmonics"``, ``"twelve"`` or ``"thirty-one"``."""
    return _heard(take).against(demo_targets(against))
