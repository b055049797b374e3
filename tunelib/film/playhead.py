"""The playhead of a clip: which notes sound at a moment, in step with its soundtrack."""

from __future__ import annotations

from typing import Any

from tunelib.exhibits import SILENT, Playing
from tunelib.film.acts import Programme
from tunelib.score import Score
from tunelib.sound import chord_of


class Playhead:
    """What sounds of one act of a clip.

    Parameters
    ----------
    programme : Programme
    act : int
        Its number, from 0.
    sound : str
        ``"at keyframes"``, ``"following"`` or ``"off"``, as for the soundtrack.
    """

    def __init__(self, programme: Programme, act: int, sound: str) -> None:
        self._programme, self._act, self._sound = programme, act, sound
        self._exhibit = programme.entries[act].exhibit
        self._scores: dict[str, tuple[dict[str, Any], Score]] = {}  # the last, for pictures in which nothing moves

    def at(self, seconds: float, values: dict[str, Any]) -> Playing:
        """What sounds at a moment at which the picture is at these knobs.

        A sound that began at a keyframe rings on while the knobs move away from it: its notes are then looked for in
        the picture for as long as that has as many. Of an exhibit that flows, the seconds go on when its sound is over.
        """
        if self._sound == "following":
            return self._following(seconds, values)
        cue = self._programme.cue(seconds)
        if self._sound == "off" or cue is None or cue.act != self._act or seconds >= cue.until:
            return SILENT
        score, shown = self._score("heard", cue.values), self._score("seen", values)
        passed = seconds - cue.at
        notes = sounding(score, passed) if len(score.notes) == len(shown.notes) else ()
        ends = max((score.seconds(note.end) for note in score.notes), default=0.0)
        return Playing(passed, notes) if passed < ends or self._exhibit.flows else SILENT

    def _following(self, seconds: float, values: dict[str, Any]) -> Playing:
        if self._programme.on(seconds) != self._act:
            return SILENT
        score = self._score("seen", values)
        chord = {id(note) for note in chord_of(score)}
        since = seconds - self._programme.entries[self._act].begins
        return Playing(since, tuple(place for place, note in enumerate(score.notes) if id(note) in chord))

    def _score(self, which: str, values: dict[str, Any]) -> Score:
        kept = self._scores.get(which)
        if kept is None or kept[0] != values:
            kept = self._scores[which] = values, self._exhibit.score(**values)
        return kept[1]


def sounding(score: Score, seconds: float) -> tuple[int, ...]:
    """The places in a score's notes of those that sound at a moment after its beginning."""
    return tuple(
        place
        for place, note in enumerate(score.notes)
        if note.level > 0 and score.seconds(note.onset) <= seconds < score.seconds(note.end)
    )
