"""A place to give a take: a button that records, and one that chooses a file.

The page hands it over in parts of less than a megabyte, and each is acknowledged: so a file may be of any size up to
the limit, a part that is lost is sent again, and the page can say why nothing goes on. It goes to the reader's own
kernel and nowhere else, and is held in memory until another takes its place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tunelib.live.given_take import Arrival, GivenTake
from tunelib.live.program import program
from tunelib.live.script import LIVE_STYLE, script
from tunelib.score import Score, ScoreNote
from tunelib.sound import HIGHEST_RATE, TIMBRES

MOST_BYTES = 500_000_000  # of a file: an hour and a half of one channel of CD quality
LONGEST_TAKE = 1200  # seconds of recording, which are 230 MB at 48 kHz
_LOWEST_RATE = 3000  # the lowest that a browser's audio has
_SOUNDS = ".wav,.flac,.ogg,.opus,.mp3,.aif,.aiff,.caf,.m4a,.mp4,.3gp,.amr,.aac,.webm,.wma,audio/*"
_COUNT_HZ = (1320.0, 880.0, 880.0, 880.0)
_DRONE_LEVEL = 0.5

_HERE = Path(__file__).parent


class Recorder(anywidget.AnyWidget):
    """The widget.

    Parameters
    ----------
    title : str
        What is recorded, for assistive technology.
    tempo : float
        Beats a minute of the count-in.

    ``take`` is the take that counts; None until there is one. One that was recorded and not saved is replaced only if
    the reader says so. ``coming`` is the name of a newer one that does not count yet: it is on its way, or turned away,
    or waits for that word; empty if there is none. `on_take` and `on_coming` call a function.
    """

    _esm = f"{script(_HERE / 'recorder.js')}\nexport default {{render: renderRecorder}};"
    _css = "\n".join(path.read_text("utf-8") for path in (LIVE_STYLE, _HERE / "recorder.css"))
    title = traitlets.Unicode().tag(sync=True)
    accept = traitlets.Unicode(_SOUNDS).tag(sync=True)
    limit = traitlets.Int(MOST_BYTES).tag(sync=True)  # bytes of a file
    longest = traitlets.Int(LONGEST_TAKE).tag(sync=True)  # seconds of a recording
    count_in = traitlets.Bytes().tag(sync=True)  # for the player; empty if there is none
    drone = traitlets.Bytes().tag(sync=True)
    drone_name = traitlets.Unicode().tag(sync=True)
    current = traitlets.Unicode().tag(sync=True)  # the name of the take that counts
    unsaved = traitlets.Bool(False).tag(sync=True)  # whether it would be lost
    offered = traitlets.Unicode().tag(sync=True)  # the name of the one that may replace it
    suggested = traitlets.Unicode().tag(sync=True)  # the name of a file for it
    told = traitlets.Unicode().tag(sync=True)  # what Python says last
    narrow = traitlets.Bool(False).tag(sync=True)  # whether the page is; it tells
    coming = traitlets.Unicode()

    def __init__(self, title: str = "Your take", tempo: float = 80.0) -> None:
        super().__init__(title=title)
        self.take: GivenTake | None = None
        self._arrival: Arrival | None = None
        self._finished = ""  # the number of the last that came whole
        self._waiting: GivenTake | None = None
        self._acts: list[Callable[[GivenTake], None]] = []
        self.count_at(tempo)
        self.on_msg(self._told)

    def count_at(self, tempo: float) -> None:
        """Have the count-in tick four beats, so many a minute. Raises ValueError for a tempo that no score can have."""
        beats = [ScoreNote(beat, 1, hertz, voice="count") for beat, hertz in enumerate(_COUNT_HZ)]
        self.count_in = program(Score(tuple(beats), tempo), TIMBRES["tick"])

    def drone_on(self, hertz: float, name: str) -> None:
        """Offer a drone of a pitch, under the name of its note, such as ``"C3"``."""
        score = Score((ScoreNote(0, 4, hertz, level=_DRONE_LEVEL, voice="drone"),), 60)
        with self.hold_sync():
            self.drone, self.drone_name = program(score, TIMBRES["bowed"]), name

    def on_take(self, act: Callable[[GivenTake], None]) -> None:
        """Call a function with every take that comes to count."""
        self._acts.append(act)

    def on_coming(self, act: Callable[[str], None]) -> None:
        """Call a function whenever a newer take than the one that counts shows up, with its name; "" if it is gone."""
        self.observe(lambda change: act(change.new), names="coming")

    def give(self, take: GivenTake) -> None:
        """Have a take count, in place of the one before."""
        self._waiting = self._arrival = None
        self.take = take
        with self.hold_sync():
            self.current, self.unsaved, self.offered = take.name, take.recorded, ""
            self.suggested = f"take-{take.name.split(',')[0].split()[-1].replace(':', '-')}.wav"
            self.told = f"Your take: {take.name}."
        self.coming = ""
        for act in self._acts:
            act(take)

    def save(self, name: str) -> Path | None:
        """Save the take that was recorded as a new WAV or FLAC file, and say where it is, or why there is none."""
        if self.take is None or not self.take.recorded:
            self.told = "Nothing was recorded yet."
            return None
        try:
            path = self.take.save(Path(name.strip()).expanduser()).resolve()
        except (ValueError, OSError, ImportError) as problem:
            self.told = f"Not saved: {problem}"
            return None
        with self.hold_sync():
            self.unsaved, self.told = False, f"Saved as {path}."
        return path

    def _told(self, _widget: Any, message: Any, buffers: Sequence[Any]) -> None:
        """What the page says."""
        if not isinstance(message, Mapping):
            return
        if "part" in message and buffers:
            self._add(message, buffers[0])
        elif "end" in message:
            self._end(message)
        elif "drop" in message and self._arrival is not None and message["drop"] == self._arrival.number:
            self._arrival = None
            self.coming = ""
        elif "away" in message:
            self._arrival = None
            self.coming = str(message["away"])
        elif "use" in message and self._waiting is not None:
            self._decide(bool(message["use"]))
        elif "save" in message:
            self.save(str(message["save"]))

    def _add(self, message: Mapping[str, Any], part: Any) -> None:
        number, at, rate = str(message["part"]), int(message["at"]), int(message.get("rate", 0))
        if not (rate == 0 or _LOWEST_RATE <= rate <= HIGHEST_RATE) or not 0 <= at <= max(
            self.limit, 4 * rate * self.longest
        ):
            return
        if self._arrival is None or self._arrival.number != number:
            if number == self._finished:
                return
            self._arrival = Arrival(number, str(message.get("name", "")), rate)
            self.coming = self._arrival.name
        self._arrival.add(at, part)
        self.send({"got": number, "at": at})

    def _end(self, message: Mapping[str, Any]) -> None:
        number = str(message["end"])
        if number == self._finished:  # our word of it was lost
            self.send({"whole": number})
        elif self._arrival is not None and self._arrival.number == number and self._arrival.there == message["bytes"]:
            take, self._arrival, self._finished = self._arrival.take(), None, number
            self.send({"whole": number})
            if self.unsaved:
                self._waiting = take
                self.coming = take.name
                with self.hold_sync():
                    self.offered = take.name
                    self.told = (
                        f"There is a new take, {take.name}. The earlier one, {self.current}, is not saved. Which one?"
                    )
            else:
                self.give(take)

    def _decide(self, new: bool) -> None:
        waiting, self._waiting = self._waiting, None
        if new and waiting is not None:
            self.give(waiting)
            return
        with self.hold_sync():
            self.offered, self.told = "", f"Your take, as before: {self.current}."
        self.coming = ""
