"""Sounds to be answered by playing them, on the keys of the page or a MIDI keyboard."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tunelib.harmony import Chord
from tunelib.pitch import Note, drawn, interval_names, listed, plain, spell_near
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_pairs import name_of_step
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sounds import EarSound, broken
from tunelib.practice.playing import Played

_ROOTS = ("C4", "D4", "E4", "F4", "G4")
_OCTAVES = 2  # of keys, from C4


@dataclass(frozen=True)
class PlayedQuestion:
    """One question that is answered on the keys.

    Parameters
    ----------
    item, register, words, sounds, why, compared
        As for `QuestionAsked`.
    answer : Played
        The notes to be played, and the keys to play them on.
    """

    item: Item
    register: str
    words: str
    sounds: tuple[EarSound, ...]
    answer: Played
    why: str
    compared: tuple[EarSound, ...]


def play_interval(item: Item, dice: np.random.Generator, settings: EarSettings) -> PlayedQuestion:
    """Two notes, to be played one after the other; the lower is marked on the keys."""
    tuning, root, step = settings.tuning, _root(dice), int(item.what)
    lowest, names = root.step(tuning), interval_names(step, tuning)
    upper = root.transpose(names[0]).sounding(lowest + step, tuning) if names else spell_near(lowest + step, tuning)
    words = "Two notes. The first is marked: play it, and then the second."
    return _to_play(item, dice, settings, (root, upper), words, f"a {name_of_step(step, tuning)}", in_order=True)


def play_chord(item: Item, dice: np.random.Generator, settings: EarSettings) -> PlayedQuestion:
    """A chord, to be held; its root is marked on the keys."""
    chord = Chord.parse(item.what).on(_root(dice))
    words = "A chord, its root the lowest note. The root is marked: hold the whole chord."
    return _to_play(item, dice, settings, chord.notes_in(settings.tuning), words, chord.symbol, in_order=False)


def _root(dice: np.random.Generator) -> Note:
    return Note.parse(_ROOTS[int(dice.integers(len(_ROOTS)))])


def _to_play(
    item: Item,
    dice: np.random.Generator,
    settings: EarSettings,
    notes: tuple[Note, ...],
    words: str,
    what: str,
    in_order: bool,
) -> PlayedQuestion:
    tuning = settings.tuning
    lowest = notes[0].step(tuning)
    sizes = listed(plain(float(tuning.cents_of(note.step(tuning) - lowest))) for note in notes[1:])
    keyboard = {"octaves": _OCTAVES, "lit": (lowest,), "title": "Play what you heard"}
    answer = Played(notes, tuning, in_order=in_order, exact=True, keyboard=keyboard)
    heard = EarSound("what you heard", broken([note.hz(tuning) for note in notes]), settings.timbre(dice))
    return PlayedQuestion(
        item,
        "middle",
        words,
        (heard,),
        answer,
        f"It is {what}: {listed(drawn(str(note)) for note in notes)}, {sizes} cents above the lowest note.",
        (heard,),
    )
