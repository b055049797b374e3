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
        self._entry = programme.entries[act]
        self._exhibit = self._entry.exhibit
        self._scores: dict[str, tuple[dict[str, Any], Score]] = {}  # the last, for pictures in which nothing moves

    @property
    def restarts(self) -> list[float]:
        """When the seconds of what flows go back to none, the first time apart: its sound begins anew, or it moves."""
        if self._sound == "off" or not self._exhibit.flows:
            return []
        begins = [cue.at for cue in self._programme.cues if cue.act == self._act and self._sound != "following"]
        return sorted({*begins[1:], *self._entry.timeline.departures})

    def at(self, seconds: float, values: dict[str, Any]) -> Playing:
        """What sounds at a moment at which the picture is at these knobs.

        A sound that began at a keyframe rings on while the knobs move away from it: its notes are then looked for in
        the picture for as long as that has as many. Of an exhibit that flows, the seconds go on when its sound is over,
        stay as they are when another is spoken of, and are none while it moves: what it shows is how each setting
        begins.
        """
        if self._sound == "off":
            return SILENT
        if self._sound == "following":
            return self._following(seconds, values)
        own = [cue for cue in self._programme.cues if cue.act == self._act and cue.at <= seconds]
        if not own:
            return SILENT
        cue, passed = own[-1], min(seconds, own[-1].until) - own[-1].at
        score, shown = self._score("heard", cue.values), self._score("seen", values)
        flowed = 0.0 if self._exhibit.flows and self._entry.timeline.moving(seconds) else passed
        ends = max((score.seconds(note.end) for note in score.notes), default=0.0)
        if seconds >= cue.until or passed >= ends:
            return Playing(flowed) if self._exhibit.flows else SILENT
        return Playing(flowed, sounding(score, passed) if len(score.notes) == len(shown.notes) else ())

    def _following(self, seconds: float, values: dict[str, Any]) -> Playing:
        timeline = self._entry.timeline
        rests = [stop.at for stop in timeline.stops[1:] if stop.at <= seconds]
        since = max([self._entry.begins, *(rests[-1:] if timeline.departures else ())])
        flowed = 0.0 if timeline.moving(seconds) else max(seconds - since, 0.0)
        if self._programme.on(seconds) != self._act:
            return Playing(flowed) if self._exhibit.flows else SILENT
        score = self._score("seen", values)
        chord = {id(note) for note in chord_of(score)}
        return Playing(flowed, tuple(place for place, note in enumerate(score.notes) if id(note) in chord))

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
