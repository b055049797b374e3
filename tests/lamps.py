"""Exhibits of the tests' own, whose parts, builds and lights are where one knows them to be."""

from __future__ import annotations

from typing import Any, ClassVar

from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from tunelib.exhibits import Choice, Exhibit, Knob, Look, Playing, Scene, Slider
from tunelib.exhibits.exhibit import Canvas, Voicing
from tunelib.score import Score, ScoreNote
from tunelib.sound.timbre import TIMBRES

NOTES = ((0.0, 0.5, 660.0), (0.5, 1.0, 880.0), (2.0, 0.5, 990.0))
"""Onset, duration and hertz of what the lamps sound, in seconds: for half a second nothing sounds."""
SIDES = {"left": 0.1, "right": 0.7}


class Lamps(Exhibit):
    """A box on the left or on the right, as high as wanted, and three lamps that light up with their notes."""

    name: ClassVar[str] = "lamps"
    title: ClassVar[str] = "Lamps"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("side", "Side", ("left", "right"), "left"),
        Slider("height", "Height", 0.0, 1.0, 0.01, 0.5),
        Slider("count", "Count", 1, 5, 1, 3),
    )
    parts: ClassVar[dict[str, str]] = {
        "shelf": "the shelf", "box": "the box", "lamps": "the three lamps", "word": "how high the box is"
    }  # fmt: skip
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("shelf",), ("box", "lamps"), ("word",))
    box_width: ClassVar[float] = 0.2

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        across = figure.transFigure
        shelf = figure.add_artist(Line2D([0.05, 0.95], [0.2, 0.2], color=look.theme.line, transform=across))
        box = figure.add_artist(Rectangle((0, 0.22), 0.2, 0.1, color=look.theme.twelve.full, transform=across))
        lamps = [
            figure.add_artist(Rectangle((0.4 + 0.07 * n, 0.05), 0.05, 0.1, color=look.theme.ground, transform=across))
            for n in range(3)
        ]
        word = look.text(figure, 0.5, 0.6, "")

        def update(side: str, height: float, count: int) -> None:
            box.set_bounds(SIDES[side], 0.22, self.box_width, 0.05 + 0.3 * height)
            word.set_text(f"{count} at {100 * height:.0f}")
            for lamp in lamps:
                lamp.set_color(look.theme.ground)

        def light(playing: Playing) -> None:
            for place in playing.notes:
                lamps[place].set_color(look.theme.ink)

        parts = {"shelf": (shelf,), "box": (box,), "lamps": lamps, "word": (word,)}
        return Scene((box, *lamps, word), update, light, parts)

    def sentence(self, side: str, height: float, count: int) -> str:
        return f"Of {count} the {side} one is {100 * height:.0f} high."

    def numbers(self, side: str, height: float, count: int) -> dict[str, str]:
        return {"percent": f"{100 * height:.0f}"}

    def score(self, **values: Any) -> Score:
        return Score(tuple(ScoreNote(onset, lasts, hertz) for onset, lasts, hertz in NOTES))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]


class Boxes(Lamps):
    """The same with a box twice as wide, and without lamps to point at."""

    name: ClassVar[str] = "boxes"
    title: ClassVar[str] = "Boxes"
    parts: ClassVar[dict[str, str]] = {name: Lamps.parts[name] for name in ("shelf", "box", "word")}
    builds: ClassVar[tuple[tuple[str, ...], ...]] = ()
    box_width: ClassVar[float] = 0.25

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        scene = super().lay_out(figure, look)
        return Scene(scene.moving, scene.update, scene.light, {name: scene.parts[name] for name in self.parts})


class Drift(Lamps):
    """The same with a box that drifts to the right, a hundredth of the width in a second."""

    name: ClassVar[str] = "drift"
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        scene = super().lay_out(figure, look)
        [box] = scene.parts["box"]
        assert isinstance(box, Rectangle)

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                box.set_x(box.get_x() + 0.01 * playing.seconds)

        return Scene(scene.moving, scene.update, light, scene.parts)


ALL: tuple[Exhibit, ...] = (Lamps(), Boxes(), Drift())
