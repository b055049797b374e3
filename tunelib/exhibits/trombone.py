"""A trombone's slide: seven ordinary positions and sixteen of thirty-one, and what sounds at each."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Printed, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches
from tunelib.exhibits.look import Look
from tunelib.exhibits.slide_plan import SlidePlan
from tunelib.export import BREAKS, POSTURE
from tunelib.pitch import (
    FUNDAMENTAL,
    THIRTY_ONE,
    TUBE_LENGTH,
    Note,
    SlidePlace,
    division_positions,
    ordinary_positions,
    plain,
    position_note,
    slide_distance,
    slide_place,
    slide_places,
    slide_travel,
    spell,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_STEPS = len(THIRTY_ONE)
_HARMONICS = range(2, 11)
_FARTHEST_STEP = len(division_positions(_STEPS)) - 1
_LIPS = 5.0  # cents that any player's lips can pull a note without effort (common practice)


class TromboneSlide(Exhibit):
    """The travel of a trombone's slide: seven ordinary positions, sixteen of 31, and what sounds at each."""

    name: ClassVar[str] = "slide"
    title: ClassVar[str] = "A slide in thirty-one"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("harmonic", "Harmonic", _HARMONICS[0], _HARMONICS[-1], 1, 6),
        Slider("position", "Steps below first position", 0, _FARTHEST_STEP, 1, 4),
        Slider("tube", "Length of the closed tube", 2.5, 3.0, 0.05, TUBE_LENGTH, "m"),
    )
    together: ClassVar[tuple[str, ...]] = ("harmonic", "position")

    parts: ClassVar[Mapping[str, str]] = {
        "tube": "the slide",
        "positions": "the seven ordinary positions",
        "harmonics": "what the other harmonics sound there",
        "notes": "the sixteen notes of this harmonic",
        "note": "the note that is played",
        "out": "how far out the slide is",
        "same": "the same note on another harmonic",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("tube", "positions"), ("harmonics",), ("notes",), ("note", "out"), ("same",)
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, tint = look.theme, look.theme.thirty_one
        look.heading(figure, self.title)
        axes = in_inches(figure, look)
        plan = SlidePlan(look, len(_HARMONICS))
        stops = ordinary_positions() / slide_travel()
        ticks = axes.plot(*plan.strokes(stops, *plan.ticks), color=theme.twelve.full, lw=5, solid_capstyle="round")
        numbers = [
            look.text(axes, *plan.point(place, plan.numbers), str(number), ha="center", va="center")
            for number, place in enumerate(stops.tolist(), 1)
        ]
        if not look.tall:
            numbers.append(
                look.text(axes, field_of(look).left, plan.numbers, "position", va="center", color=theme.grey)
            )
        (here,) = axes.plot([], [], color=theme.ink, lw=1.5)
        (dots,) = axes.plot([], [], "o", ms=look.fit(5.5, 6, 5), color=tint.dim)
        (row,) = axes.plot([], [], "o", ms=10, color=tint.full)
        (ties,) = axes.plot([], [], color=theme.ink, lw=2, ls=(0, (1, 1.6)), dash_capstyle="round")
        (others,) = axes.plot([], [], "o", ms=14, mfc=tint.full, mec=theme.ink, mew=2)
        (chosen,) = axes.plot([], [], "o", ms=21, mfc=tint.full, mec=theme.ink, mew=3)
        (sounding,) = axes.plot([], [], "o", ms=15, color=theme.ink, **look.ring())
        (brace,) = axes.plot([], [], color=theme.ink, lw=plan.bore, solid_capstyle="butt")
        (metal,) = axes.plot([], [], color=theme.ink, lw=plan.bore + 5, solid_joinstyle="round", solid_capstyle="butt")
        (air,) = axes.plot([], [], color=theme.ground, lw=plan.bore, solid_joinstyle="round", solid_capstyle="butt")
        names = [look.text(axes, 0, 0, **plan.name_style) for _ in range(_FARTHEST_STEP + 1)]
        counts = [look.text(axes, 0, 0, str(harmonic), **plan.count_style) for harmonic in _HARMONICS]
        head = look.headline(axes, 0, 0, below=plan.upright)
        where = look.text(axes, 0, 0)
        every = np.array([[_along(harmonic, step) for step in range(_FARTHEST_STEP + 1)] for harmonic in _HARMONICS])
        said: dict[str, Any] = {}

        def update(harmonic: int, position: int, tube: float) -> None:
            place, elsewhere = _slide_place(harmonic, position, tube), _other_places(harmonic, position, tube)
            at = place.millimetres / slide_travel(tube)
            mine = harmonic - _HARMONICS[0]
            same = [other.harmonic - _HARMONICS[0] for other in elsewhere]
            levels = plan.levels(mine, same)
            dots.set_data(*plan.point(every.ravel(), np.repeat(levels, every.shape[1])))
            row.set_data(*plan.point(every[mine], np.full(every.shape[1], levels[mine])))
            chosen.set_data(*plan.point([at], [levels[mine]]))
            places = [
                (other.millimetres / slide_travel(tube), levels[which])
                for other, which in zip(elsewhere, same, strict=True)
            ]
            others.set_data(*plan.point(*np.array(places or [(np.nan, np.nan)]).T))
            lines = [point for end in places for point in plan.tie(at, levels[mine], *end)]
            ties.set_data(*plan.point(*np.array(lines or [(np.nan, np.nan)]).T))
            sounding.set_data([np.nan], [np.nan])
            for step, (text, along) in enumerate(zip(names, every[mine].tolist(), strict=True)):
                text.set_text(_note(harmonic, step).name)
                text.set_position(plan.point(along, levels[mine] + plan.name_off))
                text.set_visible(not look.square or (step - position) % 2 == 0)
                text.set_color(theme.ink if step == position else theme.grey)
                text.set_fontweight("bold" if step == position else "normal")
            for number, text in enumerate(counts):
                named = number in (mine, *same)
                text.set_visible(named or _at_an_end(number, (mine, *same)))
                words = ("harmonic " if number == mine else "also on ") if plan.whole_words and named else ""
                text.set_text(f"{words}{_HARMONICS[number]}")
                text.set_position(plan.point(plan.counts, levels[number]))
                text.set_fontweight("bold" if number == mine else "normal")
                text.set_color(theme.ink if named else theme.grey)
            for line in (metal, air):
                line.set_data(*plan.bow(at))
            brace.set_data(*plan.point([at - plan.brace] * 2, plan.legs))
            here.set_data(*plan.point(*plan.pointer(at, levels[mine])))
            head.say(plain(place.millimetres, 0), plan.unit(str(_note(harmonic, position))))
            head.move(*plan.headline(at))
            where.set_text(place.in_words)
            where.set_position(plan.where(at))
            said.update(first=(every[mine, 0], levels[mine]), played=(at, levels[mine]))

        def light(playing: Playing) -> None:
            lit = [said[what] for number, what in enumerate(("first", "played")) if number in playing.notes]
            if lit:
                sounding.set_data(*plan.point(*np.array(lit).T))

        moving = (
            here, dots, row, ties, others, chosen, sounding, metal, brace, air, *names, *counts, *head.artists, where,
        )  # fmt: skip
        parts = {
            "tube": (metal, air, brace),
            "positions": (*ticks, *numbers),
            "harmonics": (dots,),
            "notes": (row, *names, *counts),
            "note": (chosen, here),
            "out": (*head.artists, where),
            "same": (others, ties),
        }
        return Scene(moving, update, light, parts)

    def numbers(self, harmonic: int, position: int, tube: float) -> Mapping[str, str]:
        place = _slide_place(harmonic, position, tube)
        return {
            "note": str(_note(harmonic, position)),
            "millimetres": f"{place.millimetres:.1f}",
            "ordinary": str(place.position),
            "travel": f"{slide_travel(tube):.1f}",
        }

    def sentence(self, harmonic: int, position: int, tube: float) -> str:
        place = _slide_place(harmonic, position, tube)
        others = [f"harmonic {other.harmonic} ({other.in_words})" for other in _other_places(harmonic, position, tube)]
        elsewhere = f"also on {' and '.join(others)}" if others else f"no other harmonic up to {_HARMONICS[-1]} has it"
        return (
            f"On a tube of {plain(tube, 2)} m, harmonic {harmonic} and {times(position, 'step')} of {_STEPS} below "
            f"first position give {_note(harmonic, position)}, the slide {place.millimetres:.1f} mm out: "
            f"{place.in_words}; {elsewhere}."
        )

    def score(self, harmonic: int, position: int, tube: float) -> Score:
        pair = (_note(harmonic, 0), _note(harmonic, position))
        return Score(
            tuple(
                ScoreNote(onset=1.3 * i, duration=1.2, hertz=note.hz(THIRTY_ONE), name=note, level=0.5)
                for i, note in enumerate(pair)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["brass"]

    def printed(self, harmonic: int, position: int, tube: float) -> Printed:
        steps = range(_FARTHEST_STEP + 1)
        rows = []
        for step in steps:
            octave = _slide_place(_HARMONICS[0], step, tube)
            notes = (str(_note(number, step)) for number in _HARMONICS)
            rows.append((str(step), f"{octave.millimetres:.1f}", octave.in_words, *notes))
        return Printed(
            introduction=(
                f"A tenor trombone in B♭ whose closed tube counts as {plain(tube, 2)} m, in {_STEPS} equal steps with "
                "A4 at 440 Hz. The tube runs out along the slide and back, so the slide moves half of what it grows: "
                f"{slide_travel(tube):.1f} mm from first position to seventh. {_off_the_octaves(tube)} "
                f"{_out_of_reach(tube)}"
            ),
            table_title=f"{len(rows)} positions of {_STEPS} steps, and what harmonics 2 to 10 sound there",
            head=("step", "mm", "ordinary position", *map(str, _HARMONICS)),
            rows=tuple(rows),
            cautions=(
                "These distances are for an ideal tube. The bell, the mouthpiece and the end correction shift each "
                "harmonic a little, your lips pull every note by a few cents, and a warm instrument is sharp: take "
                "them as a starting point, and let the ear decide.",
                "Lips tire before you notice: rest as long as you play, and do not press the mouthpiece harder for a "
                f"high note. {BREAKS}",
                "Seventh position is a long reach: turn the shoulder rather than lock the elbow, and mind the end "
                f"of the slide and anyone in front of it. {POSTURE}",
            ),
        )


def _at_an_end(row: int, named: tuple[int, ...]) -> bool:
    """Whether a row is the first or the last, with no row that is named beside it."""
    return row in (0, len(_HARMONICS) - 1) and all(abs(row - other) > 1 for other in named)


def _off_the_octaves(tube: float) -> str:
    """How far the harmonics between the octaves are from the places of the octaves, in words."""
    places = [_slide_place(harmonic, 0, tube) for harmonic in _HARMONICS]
    further = [f"{place.millimetres:.1f} mm for harmonic {place.harmonic}" for place in places if place.millimetres > 0]
    [lips] = {f"{place.lips:.1f} cents" for place in places if place.lips > 0}
    flat = " and ".join(str(place.harmonic) for place in places if place.lips > 0)
    return (
        "The distances below are for harmonics 2, 4 and 8, the octaves. Harmonics are pure and steps are not, so at "
        f"step 0 the slide is further out by {', '.join(further)}; and the farther out, the larger this becomes, up to "
        "two fifths more. "
        f"Harmonics {flat} are {lips} below their notes: further in, or raised by the lips where the slide is closed."
    )


def _out_of_reach(tube: float) -> str:
    """Which notes no position has, in words."""
    reached = {_note(harmonic, step).step(THIRTY_ONE) for harmonic in _HARMONICS for step in range(_FARTHEST_STEP + 1)}
    lowest, highest = min(reached), max(reached)
    between = sorted(set(range(lowest, highest)) - reached)
    ends, missing = (
        [str(spell(step, THIRTY_ONE, FUNDAMENTAL.fifths)) for step in steps] for steps in ((lowest, highest), between)
    )
    below = spell(lowest - 1, THIRTY_ONE, FUNDAMENTAL.fifths)
    beyond = slide_distance(1200 * (_FARTHEST_STEP + 1) / _STEPS, tube) - slide_travel(tube)
    return (
        f"From {ends[0]} to {ends[1]} every note of {_STEPS} has its place, but for {' and '.join(missing)}. {below} "
        f"would be {beyond:.1f} mm beyond seventh position; most slides go a little further before they come off, so "
        "find out, with care, how far yours does."
    )


@cache
def _note(harmonic: int, step: int) -> Note:
    return position_note(harmonic, step, THIRTY_ONE)


def _along(harmonic: int, step: int) -> float:
    """Where the slide is for a note, as a share of its travel, which is the same for tubes of any length."""
    return _slide_place(harmonic, step, TUBE_LENGTH).millimetres / slide_travel()


@lru_cache(maxsize=4096)
def _slide_place(harmonic: int, step: int, tube: float) -> SlidePlace:
    return slide_place(harmonic, _note(harmonic, step).hz(THIRTY_ONE), tube, THIRTY_ONE)


def _other_places(harmonic: int, step: int, tube: float) -> tuple[SlidePlace, ...]:
    """Where else a note can be played."""
    hertz = _note(harmonic, step).hz(THIRTY_ONE)
    found = slide_places(hertz, tube, THIRTY_ONE, harmonics=_HARMONICS, lips=_LIPS)
    return tuple(place for place in found if place.harmonic != harmonic)
