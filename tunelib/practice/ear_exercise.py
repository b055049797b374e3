"""A teacher's exercise as questions to be sung or played: its notes a few at a time, over the first of them.

How such a file is written, says `tunelib.practice.exercise_file`.
"""

from __future__ import annotations

from dataclasses import replace

from tunelib.pitch import drawn, listed
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import SungQuestion, sung_over
from tunelib.practice.exercise_file import Exercise

NOTES_AT_ONCE = 4
_LONGEST_TITLE = 24  # letters, of what is kept with an answer


def exercise_questions(exercise: Exercise, settings: EarSettings) -> tuple[SungQuestion, ...]:
    """The questions of an exercise, in its order; names are those that its player reads, or else the learner."""
    notes, player = exercise.notes, exercise.player or settings.player
    read = replace(settings, player=player)
    title = " ".join(exercise.title.replace(":", " ").split())[:_LONGEST_TITLE]
    questions = []
    for first in range(0, len(notes), NOTES_AT_ONCE):
        some = notes[first : first + NOTES_AT_ONCE]
        names = tuple(drawn(str(player.written(note.note))) if player else drawn(note.label) for note in some)
        words = f"{exercise.title}: {listed(names)}. Hold each note, and leave a short silence before the next."
        hertz = tuple(note.hertz for note in some)
        item = Item("exercise", f"{title} {first + 1}")
        questions.append(sung_over(item, read, notes[0].hertz, hertz, names, words))
    return tuple(questions)
