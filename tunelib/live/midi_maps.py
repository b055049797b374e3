"""What the keys of a twelve-note keyboard play in a tuning that has more notes than they do, or fewer."""

from __future__ import annotations

from typing import Any

from tunelib.live.key_notes import KeyNotes
from tunelib.pitch import LETTERS, Note, cents, hz_from_midi

MIDI_KEYS = 128
_MIDDLE_C = 60  # as MIDI 1.0 counts keys
_WHITE = {0: "C", 2: "D", 4: "E", 5: "F", 7: "G", 9: "A", 11: "B"}
_SPELLED = {
    "C♯ E♭ F♯ G♯ B♭": {1: "C#", 3: "Eb", 6: "F#", 8: "G#", 10: "Bb"},
    "sharps": {1: "C#", 3: "D#", 6: "F#", 8: "G#", 10: "A#"},
    "flats": {1: "Db", 3: "Eb", 6: "Gb", 8: "Ab", 10: "Bb"},
}
_HALVES = {
    "half-flats": {1: "Dhb", 3: "Ehb", 6: "Ghb", 8: "Ahb", 10: "Bhb"},
    "half-sharps": {1: "Ch#", 3: "Dh#", 6: "Fh#", 8: "Gh#", 10: "Ah#"},
}


def midi_maps(notes: KeyNotes) -> list[dict[str, Any]]:
    """The ways in which a MIDI keyboard can play these notes.

    Returns
    -------
    list of dict
        Each with ``said``, a few words for a choice, and ``steps``, the step that each of the 128 keys sounds. The last
        one has no steps: there a key is the pitch that it names, with its bend, to the cent.

    >>> from tunelib.live.key_notes import key_notes
    >>> [way["said"] for way in midi_maps(key_notes(12))]
    ['each key its own step', 'MPE: each key at its own pitch and bend']
    """
    found = []
    count = len(notes.tuning)
    if notes.spelled and count != len(_WHITE) + len(_SPELLED["sharps"]):
        blacks = _SPELLED | (_HALVES if notes.tuning.half_sharp else {})
        for said, black in blacks.items():
            found.append({"said": f"black keys are {said}", "steps": _by_letters(notes, _WHITE | black)})
    if count == len(_WHITE) + len(_SPELLED["sharps"]):
        found.append({"said": "each key its own step", "steps": _one_by_one()})
    else:
        found.append({"said": "each key the nearest note", "steps": _nearest(notes)})
        found.append({"said": "step by step from middle C", "steps": _one_by_one()})
    return [*found, {"said": "MPE: each key at its own pitch and bend", "steps": []}]


def _by_letters(notes: KeyNotes, names: dict[int, str]) -> list[int]:
    """Steps of keys that are named by letters."""
    middle = {place: notes.step(Note.named(name, 4)) for place, name in names.items()}
    found = []
    for key in range(MIDI_KEYS):
        octaves, place = divmod(key - _MIDDLE_C, len(LETTERS) + 5)
        found.append(middle[place] + octaves * len(notes.tuning))
    return found


def _one_by_one() -> list[int]:
    return [key - _MIDDLE_C for key in range(MIDI_KEYS)]


def _nearest(notes: KeyNotes) -> list[int]:
    above = cents([hz_from_midi(key) / notes.hertz for key in range(MIDI_KEYS)])
    return [int(step) for step in notes.tuning.nearest(above)[0]]
