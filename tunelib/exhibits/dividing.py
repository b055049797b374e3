"""Dividing the octave ever finer: what it costs to play, in keys under a hand and frets under a finger."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Ellipse, PathPatch, Rectangle
from matplotlib.transforms import Affine2D

from tunelib.exhibits.drawn_hand import HAND_SPAN, hand, nails
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, strokes
from tunelib.exhibits.look import Look
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    Note,
    fret_gaps,
    fret_places,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

PIANO_OCTAVE = HAND_SPAN  # millimetres for the twelve keys of an octave (common practice)
RULE_OF_THUMB = 5.0  # cents, often quoted as the smallest difference that is heard; a convention
FINGERTIP = 16.0  # millimetres across, about what an adult's measures
_MOST_KEYS = 302
_LARGEST = 0.02, 0.0225, 0.0125  # inches of a picture to a millimetre of keys, in each shape, however few they are
_HIGHEST = 52.0  # millimetres from the middle of the thumb's tip to the end of the longest finger
_REACH = 32.0  # millimetres that the thumb is above the near end of the keys, where they are long enough
_C4 = Note.parse("C4").hz()


class FinerSteps(Exhibit):
    """An octave in ever more steps: one beside 5 cents, all as frets under a finger and keys under a hand."""

    name: ClassVar[str] = "finer_steps"
    title: ClassVar[str] = "Finer and finer"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("division", "Steps to the octave", 5, 300, 1, 31),)
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"division": 12}, "31": {"division": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "division": (*range(5, 54), 55, 60, 65, 72, 84, 96, 100, 120, 144, 171, 200, 300),
    }

    parts: ClassVar[Mapping[str, str]] = {
        "step": "one step",
        "block": "5 cents",
        "neck": "a guitar string, from the nut to the octave",
        "fingertip": "a fingertip, drawn to scale",
        "keys": "a keyboard with keys as wide as a piano's",
        "hand": "a hand that spans an octave of a piano",
        "width": "how wide an octave is",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("step", "block"),
        ("neck", "fingertip"),
        ("keys", "hand"),
        ("width",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        left, right, low, _ = field_of(look).sides
        wide = right - left
        largest = look.fit(*_LARGEST)
        keys_top, said, neck, step = look.fit(
            (1.98, 2.36, (3.04, 3.52), (4.02, 4.2)),
            (3.7, 4.3, (5.75, 6.7), (7.75, 8.1)),
            (1.5, 1.92, (2.62, 3.1), (3.72, 3.92)),
        )
        # One step, and 5 cents on the same scale.
        per_cent = wide / (CENTS_PER_OCTAVE / 5)
        bar = axes.add_patch(Rectangle((left, step[0]), 0, step[1] - step[0], lw=1.5))
        five = axes.add_patch(
            Rectangle((left, step[0]), RULE_OF_THUMB * per_cent, step[1] - step[0], color=theme.ink, lw=0)
        )
        step_words = look.text(axes, left, step[1] + 0.12)
        (ends,) = axes.plot([], [], "o", ms=15, color=theme.ink, **look.ring(2))
        # The string, with its frets and a fingertip.
        per_mm = wide / (SCALE_LENGTH / 2 + 4)
        wood = axes.add_patch(Rectangle((left, neck[0]), wide, neck[1] - neck[0], fc=theme.ground, ec="none", lw=0))
        (frets,) = axes.plot([], [], snap=False)
        nut = axes.plot([left, left], neck, color=theme.ink, lw=5, solid_capstyle="butt")
        middle = (neck[0] + neck[1]) / 2
        string = axes.plot([left, right], [middle] * 2, color=theme.grey, lw=1.2)
        octave = left + SCALE_LENGTH / 2 * per_mm
        tip = axes.add_patch(
            Ellipse(
                (octave - FINGERTIP / 2 * per_mm, middle), FINGERTIP * per_mm, 1.25 * FINGERTIP * per_mm,
                fc=theme.ink, ec=theme.behind_text, lw=2,
            )
        )  # fmt: skip
        fret_words = look.text(axes, right, neck[1] + 0.12, ha="right")
        # The keys, and a hand.
        octave_of_keys = axes.add_patch(Rectangle((left, low), 0, keys_top - low, lw=0))
        (beyond,) = axes.plot([], [], color=theme.line, snap=False)
        (keys,) = axes.plot([], [], snap=False)
        pressed = axes.add_patch(Rectangle((left, low), 0, keys_top - low, lw=0, color=theme.ink))
        over = axes.add_patch(Rectangle((left, low), 0, keys_top - low, lw=0))
        outline = hand()
        hands = [
            PathPatch(outline, fc=colour, ec=colour, lw=thick, joinstyle="round")
            for colour, thick in ((theme.behind_text, 7), (theme.ink, 1))
        ]
        on_top = nails()
        hands.append(PathPatch(on_top, fc="none", ec=theme.behind_text))
        for patch in hands:
            axes.add_patch(patch)
        (span,) = axes.plot([], [], color=theme.ink, lw=2.5, marker="|", ms=14, mew=2.5)
        headline = look.headline(axes, left, said)
        now: dict[str, float] = {}

        def update(division: int) -> None:
            tint = theme.of(division)
            cents = CENTS_PER_OCTAVE / division
            bar.set(width=cents * per_cent, fc=tint.fill, ec=tint.full)
            step_words.set_text(
                f"one of {division} steps: {plain(cents, 1)} cents; the block: {plain(RULE_OF_THUMB)} cents"
            )
            places = left + np.full(_MOST_KEYS, SCALE_LENGTH / 2) * per_mm
            places[:division] = left + fret_places(division) * per_mm
            _, last = self._gaps(division)
            frets.set_data(*strokes(places, *neck))
            frets.set(color=tint.full, lw=min(2.5, 0.4 * 72 * last * per_mm))
            fret_words.set_text(f"last frets {plain(last)} mm apart, a fingertip {plain(FINGERTIP)} mm")
            scale = min(largest, wide / self._hand(division + 1))
            key = PIANO_OCTAVE / 12 * scale
            edges = np.minimum(left + np.arange(_MOST_KEYS + 1) * key, right)
            for line, some in ((keys, edges[: division + 2]), (beyond, edges)):
                line.set_data(*strokes(some, low, keys_top))
                line.set_linewidth(min(1.5, 0.3 * 72 * key))
            keys.set_color(tint.full)
            octave_of_keys.set(width=division * key, fc=tint.fill)
            over.set(x=left + division * key, width=key, fc=tint.full)
            pressed.set(width=key, x=left, fc=tint.full)
            up = min(_REACH * scale, keys_top - 0.1 - _HIGHEST * scale - low)
            thumb = Affine2D().scale(scale).translate(left + key / 2, low + up)
            for patch, drawn in zip(hands, (outline, outline, on_top), strict=True):
                patch.set_path(thumb.transform_path(drawn))
            hands[-1].set_linewidth(min(1.2, 72 * scale))
            span.set_data([left, left + division * key], [keys_top + 0.18] * 2)
            headline.say(f"{plain(self._hand(division) / 10)} cm", "for an octave")
            begin(headline, left, said)
            ends.set(xdata=[left], ydata=[(step[0] + step[1]) / 2], visible=False)
            now.update(key=key, step=cents * per_cent)

        def light(playing: Playing) -> None:
            if playing.seconds is not None and playing.notes:
                up = playing.notes[0] == 1
                ends.set(xdata=[left + up * now["step"]], visible=True)
                pressed.set(x=left + up * now["key"], fc=theme.ink)

        moving = (
            bar, five, step_words, ends, frets, tip, fret_words, beyond, octave_of_keys, keys, over, pressed, *hands,
            span, *headline.artists,
        )  # fmt: skip
        parts: dict[str, Sequence[Any]] = {
            "step": [bar, step_words, ends],
            "block": [five],
            "neck": [frets, wood, *nut, *string, fret_words],
            "fingertip": [tip],
            "keys": [octave_of_keys, beyond, keys, over, pressed],
            "hand": hands,
            "width": [span, *headline.artists],
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _gaps(division: int) -> tuple[float, float]:
        """Distance from the nut to the first fret, and between the last two frets of the octave, in millimetres."""
        first, *_, last = fret_gaps(division).tolist()
        return first, last

    @staticmethod
    def _hand(division: int) -> float:
        """Width of an octave in millimetres if every step had a key as wide as a piano's twelve have on average."""
        return PIANO_OCTAVE / 12 * division

    def sentence(self, division: int) -> str:
        first, last = self._gaps(division)
        return (
            f"An octave in {division} steps: {plain(1200 / division, 1)} cents each; on a string of "
            f"{plain(SCALE_LENGTH)} mm the frets are {plain(first)} mm apart at the nut and {plain(last)} mm at the "
            f"octave, and an octave of keys as wide as a piano's would measure {plain(self._hand(division) / 10)} cm."
        )

    def numbers(self, division: int) -> Mapping[str, str]:
        first, last = self._gaps(division)
        return {
            "cents": plain(1200 / division, 1),
            "first_fret": plain(first),
            "last_fret": plain(last),
            "octave": plain(self._hand(division) / 10),
            "reach": plain(1200 * 12 / division, 0),
        }

    def score(self, division: int) -> Score:
        pair = (_C4, _C4 * ratio_from_cents(1200 / division), _C4)
        return Score(
            tuple(ScoreNote(onset=0.8 * i, duration=0.7, hertz=hertz, level=0.6) for i, hertz in enumerate(pair)),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
