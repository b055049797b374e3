"""The course: its lessons in their order and the steps of each, said once for all that speaks of them.

A new step is one entry here, a question and an exercise in the practice file of its lesson, and its cells in the
lesson. The map, a learner's progress, the index of exhibits, handouts and tests go by this table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from numbers import Integral


@dataclass(frozen=True)
class Step:
    """One step, which teaches one thing.

    Parameters
    ----------
    number : int
        Counted from 1 through the whole course. Its question and its exercise are ``question_3`` and ``exercise_3`` in
        the practice file of its lesson.
    title : str
        As the heading in its lesson has it.
    exhibits : tuple of str
        The exhibits that it shows, by their names, in the order of the lesson.
    taught : str, optional
        What is taught, where the title does not say it.
    """

    number: int
    title: str
    exhibits: tuple[str, ...]
    taught: str = ""

    @property
    def heading(self) -> str:
        """The heading in the lesson.

        >>> LESSONS[0].steps[2].heading
        'Step 3 · Peaks that meet'
        """
        return f"Step {self.number} · {self.title}"

    @property
    def about(self) -> str:
        """What is taught, as the map has it.

        >>> LESSONS[0].steps[1].about, LESSONS[2].steps[1].about
        ('two waves drift apart: beats', 'how small a difference can you hear')
        """
        return self.taught or f"{self.title[0].lower()}{self.title[1:].rstrip('?')}"

    @property
    def cell(self) -> str:
        """The name of its first cell, to which links lead: JupyterLab finds no heading in a notebook that it opens."""
        return f"step-{self.number}-1"


@dataclass(frozen=True)
class Lesson:
    """One lesson: its number, its title, the minutes that it takes, and its steps in order."""

    number: int
    title: str
    minutes: int
    steps: tuple[Step, ...]

    @property
    def heading(self) -> str:
        """The heading at its top.

        >>> lesson_of(8).heading
        '03 Measuring pitch'
        """
        return f"{self.number:02} {self.title}"

    @property
    def name(self) -> str:
        """What its notebook is called, without the ending.

        >>> lesson_of(8).name, lesson_of(8).notebook, lesson_of(8).practice
        ('03_measuring_pitch', '03_measuring_pitch.ipynb', 'on_measuring_pitch')
        """
        return f"{self.number:02}_{self._slug}"

    @property
    def notebook(self) -> str:
        """The file name of its notebook."""
        return f"{self.name}.ipynb"

    @property
    def practice(self) -> str:
        """The module of `tunelib.practice` that has its questions and exercises."""
        return f"on_{self._slug}"

    @property
    def _slug(self) -> str:
        return re.sub(r"[^a-z0-9]+", "_", self.title.lower())


LESSONS: tuple[Lesson, ...] = (
    Lesson(1, "Waves", 15, (
        Step(1, "A wave you can see", ("wave",)),
        Step(2, "Two waves drift apart", ("beats",), "two waves drift apart: beats"),
        Step(3, "Peaks that meet", ("shared_peaks",), "shared peaks: octave, twelfth, simple ratios"),
    )),
    Lesson(2, "Overtones", 20, (
        Step(4, "Multiples of one frequency", ("harmonic_ladder",)),
        Step(5, "The same pitch, another recipe", ("recipe",), "the same pitch, another recipe: timbre"),
        Step(6, "Vowels, and two notes from one throat", ("sung_overtones",), "vowels and overtone singing"),
        Step(7, "Your own sheet", ("series_sheet",), "play along with the series: your own sheet"),
    )),
    Lesson(3, "Measuring pitch", 20, (
        Step(8, "Cents: a ruler for the ear", ("cents_ruler",)),
        Step(9, "How small a difference can you hear?", ("small_difference",)),
        Step(10, "Measure yourself", ("intonation",), "measure yourself: a recording against its target"),
    )),
    Lesson(4, "Twelve", 15, (
        Step(11, "Twelve equal steps", ("equal_steps",)),
        Step(12, "Where twelve hits, and where it misses", ("overtones_and_steps",),
             "where twelve hits and misses the overtones"),
        Step(13, "What a miss sounds like", ("beating_third",), "what a miss sounds like: beating and roughness"),
    )),
    Lesson(5, "Other divisions", 15, (
        Step(14, "Finer and finer", ("finer_steps",),
             "finer and finer: when the ear gives up, and what it would cost to play"),
        Step(15, "Scoring every division", ("all_divisions",)),
        Step(16, "The trade", ("the_trade",), "the trade: accuracy against playability"),
    )),
    Lesson(6, "Meantone", 20, (
        Step(17, "Four fifths and a third: the syntonic comma", ("four_fifths",)),
        Step(18, "Tempering by a fraction of the comma", ("tempering",)),
        Step(19, "The gap: modulate until it howls", ("the_gap",)),
        Step(20, "How many fifths close the circle?", ("closing_the_circle",)),
    )),
    Lesson(7, "Thirty-one notes", 35, (
        Step(21, "The map of thirty-one", ("ring_of_31",), "the map of 31"),
        Step(22, "Writing and reading them", ("written_notes",)),
        Step(23, "Families of intervals", ("interval_families", "blue_notes"),
             "families of intervals: sub-, minor, neutral, major, super-"),
        Step(24, "Under the fingers", ("fretboard", "slide", "key_grid", "familiar_notes"),
             "under the fingers: frets, keys, slides"),
    )),
    Lesson(8, "Chords", 35, (
        Step(25, "Five thirds, five triads", ("five_thirds",)),
        Step(26, "Sevenths, and the seventh harmonic", ("two_sevenths", "other_sevenths")),
        Step(27, "Higher: ninths, elevenths, thirteenths", ("growing_chord", "chord_scale")),
        Step(28, "Voicing: the same chord, spread and turned", ("spread_chord", "stacked_fourths")),
    )),
    Lesson(9, "Harmony in motion", 45, (
        Step(29, "Moving by the smallest step: voice leading", ("smallest_moves", "guide_tones", "ways_between")),
        Step(30, "Going round and coming home: commas, drift and modulation", ("going_round", "unclosed_chords")),
        Step(31, "Retune a whole tune", ("retuned_chords", "tuned_blues")),
    )),
)  # fmt: skip


def all_steps() -> tuple[Step, ...]:
    """The steps of the whole course, in their order."""
    return tuple(step for lesson in LESSONS for step in lesson.steps)


def lesson_of(step: int) -> Lesson:
    """The lesson that has the step of a number. Raises ValueError unless there is one."""
    if isinstance(step, Integral) and not isinstance(step, bool):
        for lesson in LESSONS:
            if any(found.number == step for found in lesson.steps):
                return lesson
    numbers = [found.number for found in all_steps()]
    shown = f"{step!r:.60} …" if len(repr(step)) > 60 else repr(step)
    raise ValueError(f"there is no step {shown} here: steps run from {numbers[0]} to {numbers[-1]}")


def places_of(exhibit: str) -> tuple[tuple[Lesson, Step], ...]:
    """The steps that show an exhibit, each with its lesson; none for one that is in no lesson.

    >>> [(lesson.name, step.number) for lesson, step in places_of("key_grid")]
    [('07_thirty_one_notes', 24)]
    """
    return tuple((lesson, step) for lesson in LESSONS for step in lesson.steps if exhibit in step.exhibits)
