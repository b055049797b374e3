"""What the player in the page plays: a score as its partials, in bytes.

The page adds up the same partials as `tunelib.sound.render`, at the same level and with the same ramps; how, stands in
``worklet.js``. It gets the notes, and one tone for each that differs; of what is taped, only which part of which tape.
The bytes are a length (32 bits), so many bytes of JSON, zeros up to a multiple of eight, and 64-bit floats, all with
the little end first.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from tunelib.exhibits import Exhibit
from tunelib.live.tape import Taped
from tunelib.pitch import FloatArray
from tunelib.score import Score, ScoreNote
from tunelib.sound import MOVEMENTS_A_SECOND, SAMPLE_RATE, Timbre, check_bends, check_gain, timbre_of

TAPE_RAMP = 0.02  # seconds, of what is taped the first and the last


def program(
    score: Score,
    timbre: Timbre | Mapping[str, Timbre],
    gain: float = 1.0,
    bends: Sequence[FloatArray] = (),
    taped: Sequence[Taped] = (),
) -> bytes:
    """A score for the player.

    Parameters
    ----------
    score : Score
    timbre : Timbre, or mapping from a voice's name to its Timbre
    gain : float
        A factor on the level of all notes, above 0: what makes two versions equally loud.
    bends : sequence of arrays, optional
        How the pitch of each sounding note moves, in their order: ratios to its hertz, `MOVEMENTS_A_SECOND` of them a
        second, from its onset on; an empty array for a note that stays.
    taped : sequence of Taped, optional
        Parts of recordings that are heard as well, each as loud as all else is, whatever the gain.

    Raises ValueError for a voice without a timbre, a gain that is not above 0, or bends that do not match the notes.

    >>> from tunelib.score import sequence
    >>> from tunelib.sound import TIMBRES
    >>> len(program(sequence([(220, None), (220, None)]), TIMBRES["sine"])) < 400
    True
    """
    check_gain(gain)
    sounding = [note for note in score.notes if note.level > 0]
    check_bends(bends, len(sounding))
    held = _held(sounding, timbre)
    tones = _Tones()
    counted: dict[str, int] = {}
    notes = []
    for number, note in enumerate(sounding):
        of = timbre_of(note, timbre)
        place = counted[note.voice] = counted.get(note.voice, -1) + 1
        lasts = score.seconds(note.duration) + of.release if of.moves else 0.0
        notes.append({
            "key": f"{note.voice} {place}",
            "onset": score.seconds(note.onset),
            "duration": score.seconds(note.duration),
            "tone": tones.add(of, note.hertz, lasts, bends[number] if bends else None),
            "level": note.level,
            "held": number in held,
        })  # fmt: skip
    for number, part in enumerate(taped):
        notes.append({
            "key": f"tape {number}",
            "onset": part.onset,
            "duration": max(0.0, part.seconds - TAPE_RAMP),
            "tone": tones.add_taped(part),
            "level": part.tape.level(part.begin, part.seconds) / gain,
            "held": False,
        })  # fmt: skip
    ends = [score.seconds(note.end) + timbre_of(note, timbre).release for note in sounding]
    ends += [part.onset + part.seconds for part in taped]
    seconds = max([score.seconds(score.beats), *ends])
    return tones.packed({"seconds": seconds, "gain": gain, "notes": notes})


def exhibit_program(exhibit: Exhibit, values: Mapping[str, Any]) -> bytes:
    """What an exhibit sounds like at settled knob values, for the player."""
    score, timbre = exhibit.score(**values), exhibit.timbre(**values)
    return program(score, timbre, exhibit.gain(**values), exhibit.bends(**values))


def notes_at(
    score: Score, timbre: Timbre | Mapping[str, Timbre], seconds: float, hold: bool = False
) -> tuple[int, ...]:
    """The places, among a score's notes, of those that the player sounds at a moment; with `hold`, if it is to hold.

    A note sounds from the sample of its onset up to that of its end; what rings on after that is not counted.

    >>> from tunelib.score import sequence
    >>> from tunelib.sound import TIMBRES
    >>> two = sequence([(220, None), (330, None)])
    >>> notes_at(two, TIMBRES["sine"], 0.5), notes_at(two, TIMBRES["sine"], 1.5)
    ((0,), (1,))
    """
    places = [place for place, note in enumerate(score.notes) if note.level > 0]
    held = _held([score.notes[place] for place in places], timbre) if hold else set()
    at = _sample(seconds)

    def sounds(number: int, note: ScoreNote) -> bool:
        stops = _sample(score.seconds(note.onset) + score.seconds(note.duration))
        return _sample(score.seconds(note.onset)) <= at and (number in held or at < stops)

    return tuple(place for number, place in enumerate(places) if sounds(number, score.notes[place]))


def _sample(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE)


def tones(timbre: Timbre, hertz: Iterable[float]) -> bytes:
    """Tones of one timbre for the keys, in the order of their frequencies in hertz, as a program without notes."""
    table = _Tones()
    for one in hertz:
        table.make(timbre, float(one))
    return table.packed({"seconds": 0.0, "gain": 1.0, "notes": []})


def _held(notes: Sequence[ScoreNote], timbre: Timbre | Mapping[str, Timbre]) -> set[int]:
    """Which notes stay where what is heard is held: the chord that it ends with, or the one sound that it is.

    None of a melody, which begins anew instead, nor where the last notes die away by themselves.
    """
    end = max((note.end for note in notes), default=0)
    last = {number for number, note in enumerate(notes) if math.isclose(note.end, end)}
    steady = all(of.ring == math.inf and not of.moves for of in (timbre_of(notes[number], timbre) for number in last))
    return last if steady and (len(last) > 1 or len(last) == len(notes)) else set()


class _Tones:
    """The tones of a program, each kept once."""

    def __init__(self) -> None:
        self._places: dict[Any, int] = {}
        self._heads: list[dict[str, Any]] = []
        self._parts: list[FloatArray] = []
        self._length = 0

    def add(self, timbre: Timbre, hertz: float, lasts: float, bend: FloatArray | None) -> int:
        """Where a tone stands in the program, which keeps one of each kind; parameters as for `make`."""
        key = (id(timbre), hertz, lasts, None if bend is None else bend.tobytes())
        if key not in self._places:
            self._places[key] = len(self._heads)
            self.make(timbre, hertz, lasts, bend)
        return self._places[key]

    def make(self, timbre: Timbre, hertz: float, lasts: float = 0.0, bend: FloatArray | None = None) -> None:
        """Append a tone; one whose amplitudes move does so for `lasts` seconds."""
        frequencies, amplitudes, decay_seconds = timbre.partials(hertz)
        heard = frequencies < SAMPLE_RATE / 2
        damping = math.log(1000) / decay_seconds
        columns = (timbre.numbers(hertz), frequencies, amplitudes, timbre.phases(hertz), damping)
        rows = math.ceil(lasts * MOVEMENTS_A_SECOND) + 1 if lasts else 0
        factors = timbre.movement(hertz, np.arange(rows) / MOVEMENTS_A_SECOND)[:, heard] if rows else np.empty(0)
        bends = np.empty(0) if bend is None else np.asarray(bend, dtype=float)
        self._heads.append({
            "at": self._length, "partials": int(heard.sum()), "frames": rows, "bends": bends.size,
            "rate": MOVEMENTS_A_SECOND,
            "attack": timbre.attack, "release": timbre.release,
        })  # fmt: skip
        self._parts += [*(column[heard] for column in columns), factors.ravel(), bends]
        self._length += 5 * int(heard.sum()) + factors.size + bends.size

    def add_taped(self, part: Taped) -> int:
        """Append a part of a tape, as a tone of no partials; returns where it stands."""
        self._heads.append({
            "at": self._length, "partials": 0, "frames": 0, "bends": 0, "rate": MOVEMENTS_A_SECOND,
            "attack": TAPE_RAMP, "release": TAPE_RAMP,
            "tape": part.tape.name, "from": round((part.begin - part.tape.begins) * SAMPLE_RATE),
            "count": round(part.seconds * SAMPLE_RATE),
        })  # fmt: skip
        return len(self._heads) - 1

    def packed(self, head: dict[str, Any]) -> bytes:
        """All in bytes, with the head of the program."""
        words = json.dumps(head | {"tones": self._heads}, separators=(",", ":")).encode()
        opening = len(words).to_bytes(4, "little") + words
        values = np.concatenate([np.empty(0), *self._parts])
        return opening + bytes(-len(opening) % 8) + values.astype("<f8").tobytes()
