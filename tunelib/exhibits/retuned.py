"""A whole tune retuned: every chord as written and as chosen, how far its notes are off, and why it was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.arrange import tune_score
from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.export import printed_symbol
from tunelib.harmony import Chord, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, drawn, equal, plain
from tunelib.score import Score
from tunelib.sound import reference_gain, tune_timbres

_TWELVE = equal(12)
_SHEET = parse_lead_sheet("title: Six chords\ntempo: 96\n| Dm7 G7 | Cmaj7 Ab7 | G7 C69 |")
_COUNT = len(_SHEET.chords)
_TUNED = ("31", "12")


@lru_cache(maxsize=128)
def _tune(adventure: float, colour: float) -> RetunedTune:
    return retune(_SHEET, THIRTY_ONE, Taste(adventure, colour))


@lru_cache(maxsize=128)
def _heard(adventure: float, colour: float, division: int) -> tuple[Score, float]:
    """The score of the six chords, and its gain."""
    score = tune_score(_tune(adventure, colour), division, "long chords", count_in=False)
    return score, reference_gain(score, tune_timbres())


class RetunedChords(Exhibit):
    """Six chords retuned to a player's taste: the chords chosen, and how far each is off, beside twelve."""

    name: ClassVar[str] = "retuned_chords"
    title: ClassVar[str] = "Six chords, retuned"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("adventure", "Adventure", 0.0, 1.0, 0.1, 0.6),
        Slider("colour", "Dark to bright", -1.0, 1.0, 0.5, 0.0),
        Slider("chord", "Chord", 1, _COUNT, 1, 2),
        Choice("heard", "Hear it in", _TUNED, "31", ordered=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "as written": {"heard": "12"},
        "as chosen": {"heard": "31"},
    }
    together: ClassVar[tuple[str, ...]] = ("adventure", "chord", "heard")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.13, 0.05, 0.85, 0.42), (0.2, 0.05, 0.77, 0.46))
        axes.set(xlim=(-0.6, _COUNT - 0.4), ylim=(0, 18), xticks=[])
        axes.set_yticks([0, 5, 10, 15])
        axes.set_yticklabels(["0", "5", "10", "15 cents"])
        axes.plot([-0.6, _COUNT - 0.4], [0, 0], color=PURE_COLOUR, lw=4)
        across = np.arange(_COUNT)
        written = [timed.chord for timed in _SHEET.chords]
        twelve = [chord.purity(_TWELVE) for chord in written]
        plainly = [chord.purity(THIRTY_ONE) for chord in written]
        axes.plot(across, twelve, "D", ms=10, color=TWELVE_COLOUR)
        axes.plot(across, plainly, "o", ms=11, mfc="none", mec=grey, mew=2.5)
        (chosen,) = axes.plot([], [], "s", ms=11, color=THIRTY_ONE_COLOUR)
        (column,) = axes.plot([], [], color=ink, lw=2.5)
        names = look.bare(figure, (0.13, 0.5, 0.85, 0.33), (0.2, 0.55, 0.77, 0.28))
        names.set(xlim=(-0.6, _COUNT - 0.4), ylim=(0, 7))
        tiers, lines = (6.4, 2.9), (0.0, 1.0, 2.0)
        for height, words in zip(tiers, ("written", "in 31"), strict=True):
            look.beside(names, height - lines[1], words)
        for x, chord in zip(across.tolist(), written, strict=True):
            for part, lower in zip(_parts(chord), lines, strict=True):
                look.text(names, x, tiers[0] - lower, part, ha="center", va="center")
        symbols = [
            [look.text(names, x, tiers[1] - lower, ha="center", va="center", weight="bold") for lower in lines]
            for x in across.tolist()
        ]
        key = look.fit("◆ in 12   ○ as written in 31   ■ as chosen", "◆ in 12   ○ as written   ■ as chosen")
        look.text(figure, 0.97, look.fit(0.875, 0.86), key, ha="right", va="center")
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")

        def update(adventure: float, colour: float, chord: int, heard: str) -> None:
            tune = _tune(round(adventure, 3), round(colour, 3))
            chosen.set_data(across, [retuned.purity for retuned in tune.chords])
            for texts, retuned in zip(symbols, tune.chords, strict=True):
                for text, part in zip(texts, _parts(retuned.chord), strict=True):
                    text.set_text(part)
            left, right = chord - 1.45, chord - 0.55
            column.set_data([left, right, right, left, left], [0.6, 0.6, 17.6, 17.6, 0.6])
            picked = tune.chords[chord - 1]
            said.set_text(
                f"adventure {plain(adventure)}, in {heard}: chord {chord} is {plain(picked.purity)} cents off"
            )

        return Scene((column, chosen, *(text for texts in symbols for text in texts), said), update)

    def sentence(self, adventure: float, colour: float, chord: int, heard: str) -> str:
        tune = _tune(round(adventure, 3), round(colour, 3))
        return (
            f"At adventure {plain(adventure)} and colour {plain(colour)}, heard in {heard}, chord {chord} of "
            f"{_COUNT} is {drawn(tune.chords[chord - 1].why)}"
        )

    def score(self, adventure: float, colour: float, chord: int, heard: str) -> Score:
        return _heard(round(adventure, 3), round(colour, 3), int(heard))[0]

    def timbre(self, **values: Any) -> Voicing:
        return tune_timbres()

    def gain(self, adventure: float, colour: float, chord: int, heard: str) -> float:
        return _heard(round(adventure, 3), round(colour, 3), int(heard))[1]


def _parts(chord: Chord) -> tuple[str, str, str]:
    """A chord symbol on three lines: its root, the word for its third, and the rest."""
    root = drawn(chord.root.name)
    body = drawn(printed_symbol(chord)).removeprefix(root)
    third = next(
        (word for word in ("sub", "neu", "sup", "m") if body.startswith(word) and not body.startswith("maj")), ""
    )
    third = "" if body.startswith("mid") else third
    return root, third, body.removeprefix(third)
