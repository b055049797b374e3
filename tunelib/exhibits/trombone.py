"""A trombone's slide: seven ordinary positions and sixteen of thirty-one, and what sounds at each."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.along import Along
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Printed, Scene, Slider, Voicing
from tunelib.exhibits.look import THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.export import BREAKS, POSTURE
from tunelib.pitch import (
    FUNDAMENTAL,
    THIRTY_ONE,
    TUBE_LENGTH,
    FloatArray,
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

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, faint = look.theme.ink, look.theme.faint
        look.heading(figure, self.title)
        slide = Along(
            look.bare(figure, (0.07, 0.02, 0.9, 0.83), (0.02, 0.03, 0.96, 0.81), (0.02, 0.02, 0.96, 0.82)),
            look,
            look.fit((-0.06, 1.03), (-0.1, 1.03), (-0.11, 1.03)),
            look.fit((-0.6, 14.1), (-4.65, 8.6)),
        )
        # Across the slide: beside the table of notes first its steps, then the tube, the positions and a ruler.
        outward, first = look.fit((1, 9.75), (-1, -0.8))
        wide = look.fit(outward, 0.78 * outward)
        numbers, tick, edge, low, high, brow, top, labels, ruler, marks = (
            first + wide * k for k in (0, 0.5, 1, 1.1, 2.1, 2.2, 2.7, 3.2, 3.65, look.fit(4.0, 4.35))
        )
        travel = slide_travel()
        for way in (low, high):
            slide.axes.plot(*slide.point([-0.06, 1], [way, way]), color=faint, lw=2, ls=(0, (1, 1)))
        slide.lines(ordinary_positions() / travel, brow, top, color=TWELVE_COLOUR, lw=5, solid_capstyle="butt")
        slide.lines(
            division_positions(_STEPS) / travel, tick, edge, color=THIRTY_ONE_COLOUR, lw=3.2, solid_capstyle="butt"
        )
        for number, place in enumerate((ordinary_positions() / travel).tolist(), 1):
            slide.text(place, labels, str(number), weight="bold")
        for step, place in enumerate((division_positions(_STEPS) / travel).tolist()):
            slide.text(place, numbers, str(step), weight="bold")
        for row, harmonic in enumerate(_HARMONICS):
            slide.text(-0.045, row, str(harmonic), weight="bold")
            for step in range(_FARTHEST_STEP + 1):
                place = _slide_place(harmonic, step, TUBE_LENGTH)
                slide.text(place.millimetres / travel, row, _note(harmonic, step).name)
        if look.tall:
            for words, across in (("harmonic", 4), ("step", numbers), ("position", labels - 0.2)):
                slide.text(look.fit(0, -0.08, -0.093), across, words)
        else:
            for words, across in (("harmonic", 8.95), ("step", numbers), ("position", labels)):
                slide.text(-0.025, across, words, ha="right")
        pipe = slide.axes.plot([], [], color=ink, lw=5, solid_capstyle="butt")[0]
        ring, others = (
            slide.axes.plot([], [], color=ink, lw=width, ls=dash)[0] for width, dash in ((2.5, "-"), (1.5, (0, (3, 2))))
        )
        millimetres = [slide.text(0, marks) for _ in range(7)]
        scale = slide.axes.plot([], [], color=look.theme.grey, lw=1.2)[0]
        right = {"ha": look.fit("right", "left"), "va": "top"}
        side = look.fit(0.97, 0.03)
        said = look.text(figure, side, look.fit(0.955, 0.92, 0.917), weight="bold", **right)
        where = look.text(figure, side, look.fit(0.9, 0.893, 0.883), **right)
        half_box = look.fit((0.026, 0.44), (0.0165, 0.48), (0.0195, 0.48))
        radius = look.fit(0.019, 0.022)

        def update(harmonic: int, position: int, tube: float) -> None:
            place = _slide_place(harmonic, position, tube)
            reach = slide_travel(tube)
            at = place.millimetres / reach
            turn = np.linspace(np.pi / 2, -np.pi / 2, 25)
            along = np.concatenate([[-0.06], at - radius + radius * np.cos(turn), [-0.06]])
            middle, half = (low + high) / 2, (high - low) / 2
            pipe.set_data(*slide.point(along, middle + half * np.concatenate([[1], np.sin(turn), [-1]])))
            ring.set_data(*slide.point(*_outline(at, harmonic - _HARMONICS[0], *half_box)))
            same = [
                _outline(other.millimetres / reach, other.harmonic - _HARMONICS[0], *half_box)
                for other in _other_places(harmonic, position, tube)
            ]
            others.set_data(*slide.point(*(np.concatenate([[np.nan], *(box[i] for box in same)]) for i in (0, 1))))
            ticks = np.arange(0, reach, 100)
            scale.set_data(*slide.strokes(ticks / reach, ruler - 0.09, ruler + 0.09))
            for text, tick_at in zip(millimetres, ticks.tolist(), strict=False):
                text.set(text=f"{tick_at:g}" if tick_at else "mm", position=slide.point(tick_at / reach, marks))
            for text in millimetres[ticks.size :]:
                text.set_text("")
            said.set_text(f"harmonic {harmonic}, {times(position, 'step')} down: {_note(harmonic, position)}")
            where.set_text(f"{place.millimetres:.1f} mm out: {place.in_words}")

        return Scene((scale, pipe, others, ring, *millimetres, said, where), update)

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


def _outline(along: float, across: float, half_along: float, half_across: float) -> tuple[FloatArray, FloatArray]:
    """A box about a place, with a gap after it, so that several make one line."""
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1], [np.nan, np.nan]])
    return along + half_along * corners[:, 0], across + half_across * corners[:, 1]


@cache
def _note(harmonic: int, step: int) -> Note:
    return position_note(harmonic, step, THIRTY_ONE)


@lru_cache(maxsize=4096)
def _slide_place(harmonic: int, step: int, tube: float) -> SlidePlace:
    return slide_place(harmonic, _note(harmonic, step).hz(THIRTY_ONE), tube, THIRTY_ONE)


def _other_places(harmonic: int, step: int, tube: float) -> tuple[SlidePlace, ...]:
    """Where else a note can be played."""
    hertz = _note(harmonic, step).hz(THIRTY_ONE)
    found = slide_places(hertz, tube, THIRTY_ONE, harmonics=_HARMONICS, lips=_LIPS)
    return tuple(place for place in found if place.harmonic != harmonic)
