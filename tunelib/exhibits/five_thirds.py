"""The five thirds of thirty-one, planted in the landscape of their roughness."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import SILENT, Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.held_chords import C3, as_played, held, on_root, root_of, set_apart
from tunelib.exhibits.look import MARGIN, Look
from tunelib.exhibits.rough_land import RoughLand
from tunelib.harmony import PLAIN_AMPLITUDES, PLAIN_PARTIALS, Chord, whole_numbers
from tunelib.hearing import roughness
from tunelib.pitch import THIRTY_ONE, FloatArray, cents, plain, ratio_from_cents, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_FAMILIES = {7: "Csub", 8: "Cm", 9: "Cneu", 10: "C", 11: "Csup"}
_FAMILY_NAMES = {7: "subminor", 8: "minor", 9: "neutral", 10: "major", 11: "supermajor"}
_THIRDS = tuple(_FAMILIES)
_FIFTH = 18
_SIZES = np.linspace(215, 475, 261)  # cents of a third
_PLACES = np.asarray(THIRTY_ONE.cents_of(np.array(_THIRDS)))
_RATIOS = tuple(Chord.parse(symbol).ratios(THIRTY_ONE)[1] for symbol in _FAMILIES.values())
_PURE = np.array([cents(ratio) for ratio in _RATIOS])
_NAMED_AT = _PLACES + np.array([0.0, 3.5, 0.0, -3.5, 0.0])  # in the middle of its valley, where there is one
_A_CREST = 284.0  # cents: past the crest between subminor and minor, clear of both
_MAJOR = _THIRDS.index(10)  # in the deepest valley, from most roots
_OF_THIRD = {1, 3, 5}  # places in the score's notes


class FiveThirds(Exhibit):
    """A triad whose third goes through all five families, on the curve of its roughness."""

    name: ClassVar[str] = "five_thirds"
    title: ClassVar[str] = "Five thirds, five triads"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("third", "Steps of the third", _THIRDS[0], _THIRDS[-1], 1, 9),
        Slider("root", "Root", C3 / 2, 4 * C3, 12, 2 * C3, "Hz", logarithmic=True),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        kind: {"third": steps} for steps, kind in _FAMILY_NAMES.items()
    }
    parts: ClassVar[Mapping[str, str]] = {
        "land": "the landscape of roughness",
        "ratios": "the five pure ratios",
        "thirds": "the five thirds of thirty-one",
        "chosen": "the third that sounds",
        "name": "its name",
        "miss": "how far it is from the pure ratio",
        "chord": "the chord and its root",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("land",), ("ratios",), ("thirds",), ("chosen", "name"), ("miss",))
    flows: ClassVar[bool] = True

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, blue = look.theme, look.theme.thirty_one
        look.heading(figure, self.title)
        width, height = look.inches
        axes = look.bare(figure, (0, 0, 1, 1))
        low, high = look.fit((221.0, 473.0), (248.0, 449.0))
        axes.set(xlim=(low, high), ylim=(0, height))
        a_cent = width / (high - low)
        foot, top = look.fit((1.1, 3.38), (1.4, 6.9), (1.25, 3.12))
        higher_by = look.fit(10.6, 25.0, 8.2)  # inches for the whole of the roughness at the top
        land = RoughLand(axes, look, _SIZES, foot, top)
        edge = look.fit(MARGIN, 0.25)
        rough = look.text(axes, _A_CREST, 0, "rough", ha="center")
        smooth = look.text(axes, float(_PLACES[_MAJOR]) + 0.2 / a_cent, 0, "smooth")

        def kept(x: float, half: float) -> float:
            """The nearest place at which a text of so many inches to each side is within the margins."""
            away = (half + edge) / a_cent
            return min(max(x, low + away), high - away)

        rows = look.fit((0.91, 0.66, 0.4), (1.06, 0.76, 0.45), (0.96, 0.66, 0.36))  # names, ratios, how far off
        families = [
            look.text(axes, kept(x, look.fit(0.05, 0.057) * len(name)), rows[0], name, ha="center", color=theme.grey)
            for x, name in zip(_PLACES.tolist(), _FAMILY_NAMES.values(), strict=True)
        ]
        ratios = [
            look.text(axes, kept(x, 0.2), rows[1], _as_ratio(i), ha="center", color=theme.pure.text)
            for i, x in enumerate(_PURE.tolist())
        ]
        stub, tall = foot - 0.04, foot + look.fit(0.36, 0.5, 0.36)
        (gap,) = axes.fill([0] * 4, [stub, stub, tall, tall], fc=blue.fill, ec=blue.dim, lw=1)
        posts = [axes.plot([x, x], [stub, tall], lw=4, solid_capstyle="butt")[0] for x in _PURE.tolist()]
        (casing,) = axes.plot([], [], color=theme.behind_text, lw=7, solid_capstyle="round")
        (pole,) = axes.plot([], [], color=blue.full, lw=3, solid_capstyle="round")
        (dots,) = axes.plot([], [], "o", ms=look.fit(11, 12), color=blue.full, **look.ring())
        (halo,) = axes.plot([], [], "o", ms=36, mfc="none", mec=theme.ink, mew=2)
        (here,) = axes.plot([], [], "o", ms=22, color=blue.full, mec=theme.ink, mew=2.5)
        names = [look.text(axes, x, 0, size="name", ha="center", color=theme.grey) for x in _NAMED_AT.tolist()]
        said = look.text(axes, 0, top + look.fit(0.78, 0.95, 0.85), size="number", ha="center")
        words = look.text(axes, 0, top + look.fit(0.46, 0.55, 0.48), size="name", ha="center")
        miss = look.text(axes, 0, rows[2], ha="center")
        right = high - look.fit(MARGIN, 0.25) / a_cent
        line = height - MARGIN - look.size("title") / 72 + 0.06
        around = look.text(axes, right, line, size=look.fit("name", "label"), ha="right")
        shown = [0.0]
        half_a_name = look.fit(0.2, 0.24)  # inches from one side of a small name to its middle

        def update(third: int, root: float) -> None:
            heights, most = _triad_roughness(round(root, 6))
            inches = top - higher_by * (1 - heights)
            land.shape(inches, heights * most / _most())
            y = np.interp(_PLACES, _SIZES, inches)
            chosen, note = _THIRDS.index(third), root_of(root)
            at = float(_PLACES[chosen])
            for k, (symbol, name) in enumerate(zip(_FAMILIES.values(), names, strict=True)):
                under = np.abs(_SIZES - _NAMED_AT[k]) * a_cent < half_a_name
                clear = max(float(inches[under].max()) + 0.07, float(y[k]) + 0.17)
                name.set(text=on_root(symbol, note).notes[1].name, y=clear, visible=k != chosen)
                families[k].set_color(theme.ink if k == chosen else theme.grey)
                posts[k].set_color(theme.pure.full if k == chosen else theme.pure.dim)
            pure = float(_PURE[chosen])
            dots.set_data(_PLACES, y)
            rough.set_y(float(np.interp(_A_CREST, _SIZES, inches)) - look.fit(0.38, 0.95, 0.6))
            smooth.set_y(max(float(y[_MAJOR]) - 0.45, foot + 0.08))
            gap.set_xy([(at, stub), (pure, stub), (pure, tall), (at, tall)])
            for line in (casing, pole):
                line.set_data([at, at], [stub, top + look.fit(0.34, 0.42, 0.36)])
            for mark in (halo, here):
                mark.set_data([at], [y[chosen]])
            chord = on_root(_FAMILIES[third], note)
            said.set(text=chord.notes[1].name, x=at)
            words.set(text=f"{_FAMILY_NAMES[third]}, {plain(at, 0)} cents", x=kept(at, look.fit(1.25, 1.45)))
            miss.set(text=_missed(chosen), x=kept(at, look.fit(0.8, 0.9)))
            symbol = set_apart(chord)
            around.set_text(look.fit(f"{symbol}: {note} with a {_FAMILY_NAMES[third]} third", f"{symbol} on {note}"))
            shown[0] = at
            light(SILENT)

        def light(playing: Playing) -> None:
            halo.set_visible(bool(_OF_THIRD & set(playing.notes)))
            land.shake(shown[0], playing.seconds or 0.0 if playing.notes else 0.0)
            around.set_color(theme.ink if playing.notes else theme.grey)

        moving = (
            *land.artists, rough, smooth, gap, *posts, casing, pole, dots, halo, here,
            *families, *names, said, words, around, miss,
        )  # fmt: skip
        parts = {
            "land": (*land.artists, rough, smooth),
            "ratios": (*posts, *ratios),
            "thirds": (dots, *families, *names),
            "chosen": (casing, pole, here),
            "name": (said, words),
            "miss": (gap, miss),
            "chord": (around,),
        }
        return Scene(moving, update, light, parts)

    def numbers(self, third: int, root: float) -> Mapping[str, str]:
        i = _THIRDS.index(third)
        heights, _ = _triad_roughness(round(root, 6))
        return {
            "cents": plain(float(_PLACES[i])),
            "off": plain(abs(float(_PLACES[i] - _PURE[i]))),
            "ratio": _as_ratio(i),
            "note": on_root(_FAMILIES[third], root_of(root)).notes[1].name,
            "chord": as_played(on_root(_FAMILIES[third], root_of(root))),
            "roughness": plain(100 * float(np.interp(_PLACES[i], _SIZES, heights)), 0),
        }

    def sentence(self, third: int, root: float) -> str:
        i, note = _THIRDS.index(third), root_of(root)
        chord = on_root(_FAMILIES[third], note)
        off = float(_PLACES[i] - _PURE[i])
        numbers = ":".join(map(str, whole_numbers(chord.ratios(THIRTY_ONE))))
        return (
            f"On {note} ({plain(root)} Hz) the triad {as_played(chord)} has the {_FAMILY_NAMES[third]} third "
            f"{chord.notes[1].name}, {third} steps or {plain(float(_PLACES[i]))} cents above the root, "
            f"{plain(abs(off))} {'wider' if off > 0 else 'narrower'} than the {_as_ratio(i)} of the chord {numbers}; "
            f"it is {self.numbers(third=third, root=root)['roughness']} % as rough as the roughest one shown."
        )

    def score(self, third: int, root: float) -> Score:
        hertz = [root * ratio_from_cents(float(THIRTY_ONE.cents_of(step))) for step in (0, third, _FIFTH)]
        broken = tuple(
            ScoreNote(onset=0.5 * i, duration=0.5, hertz=f, level=0.4) for i, f in enumerate((*hertz, hertz[1]))
        )
        return Score((*broken, *held(hertz, 2.2, 3.0)), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _as_ratio(i: int) -> str:
    return f"{_RATIOS[i].numerator}:{_RATIOS[i].denominator}"


def _missed(i: int) -> str:
    """How far one of the thirds is from its pure ratio, in words."""
    off = float(_PLACES[i] - _PURE[i])
    return f"{times(abs(off), 'cent', 0)} {'above' if off > 0 else 'below'} {_as_ratio(i)}"


@lru_cache(maxsize=128)
def _triad_roughness(root: float) -> tuple[FloatArray, float]:
    """Roughness of triads with the fifth of thirty-one and thirds of `_SIZES`, the roughest 1; and its own."""
    above = np.stack([np.zeros_like(_SIZES), _SIZES, np.full_like(_SIZES, float(THIRTY_ONE.cents_of(_FIFTH)))], axis=1)
    partials = (root * ratio_from_cents(above))[:, :, np.newaxis] * PLAIN_PARTIALS
    heights = np.asarray(roughness(partials.reshape(len(_SIZES), -1), np.tile(PLAIN_AMPLITUDES, 3)))
    return heights / heights.max(), float(heights.max())


def _most() -> float:
    """The most roughness on the lowest root that can be set."""
    return _triad_roughness(round(C3 / 2, 6))[1]
