"""How well a player is in tune: the notes of a recording, each measured against the nearest target.

`Targets` is a ladder of pitches to aim at: the harmonics of a note, an equal division, a list of ratios, or any tuning.
`listen` finds the notes of a take, says for each how far off it was, and what in the take itself may have spoiled the
measurement. Nothing here judges a player: the figures say what was played, not whether it was meant.

Conventions: deviations are in cents, heard minus target, so a positive one is sharp. Times are in seconds from the
beginning of the take.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tunelib.hearing.heard_notes import HeardNote, track_notes
from tunelib.hearing.pitch_track import PitchTrack, track_recording
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.hearing.take_faults import Faults, faults, survey
from tunelib.pitch import (
    A4_HZ,
    Instrument,
    Note,
    Tuning,
    aligned,
    cents,
    equal,
    nearest_note,
    octave_reduce,
    parse_ratio,
    positive_hertz,
    signed,
    spell,
    spell_near,
)

WITHIN = (5.0, 10.0, 20.0)  # cents: the shares that a summary gives
HIGHEST_HARMONIC = 64
FINEST_DIVISION = 400
SHORTEST_TAKE, SHORTEST_NOTE = 0.2, 0.1  # seconds
QUIETEST_TAKE = -60.0  # dB below full scale, of its loudest moment

_LOWEST_TARGET, _HIGHEST_TARGET = 16.0, 16_000.0  # hertz
_USUAL_RANGE = (50.0, 2000.0)  # hertz: where pitch is sought if no instrument is named
_BEYOND = 2.1  # how far past a player's range pitch is sought, as a ratio: an octave, so that one can be told
_LOWEST_SOUGHT, _HIGHEST_SOUGHT = 25.0, 4500.0
_LONGEST_TEXT = 400
_CLOSE_TARGETS = 60.0  # cents apart: from there on down, a report says what nearness is worth
_SEVERAL = "more than one note seems to sound at once. Record one player alone, with any drone on headphones"
_TWELVE, _QUARTERTONES = equal(12), equal(24)
_FORMS = (
    'give "harmonics of B♭1", a number of equal steps such as 12 or 31, or ratios on a note such as "1/1 5/4 3/2 on C4"'
)
_PLACE = re.compile(r"(?P<hertz>\d+(?:\.\d+)?)\s*hz", re.IGNORECASE)


@dataclass(frozen=True)
class Targets:
    """Pitches to aim at, ascending.

    Parameters
    ----------
    name : str
        As it is put in a sentence, such as ``"the harmonics of B♭1"``.
    hertz : tuple of float
    labels : tuple of str
        A short name for each, such as ``"7"`` for a harmonic, ``"A♭4"`` or ``"5/4"``.
    notes : tuple of Note
        The spelled note of each: its own in a division that has letters, else the nearest of twelve.
    reference : float
        The frequency of A4 in hertz, which the notes are named by.

    Raises ValueError unless there is at least one, they ascend, and each has a label and a note.
    """

    name: str
    hertz: tuple[float, ...]
    labels: tuple[str, ...]
    notes: tuple[Note, ...]
    reference: float = A4_HZ

    def __post_init__(self) -> None:
        if not self.hertz:
            raise ValueError(f"{self.name}: there is no target between {_LOWEST_TARGET:g} and {_HIGHEST_TARGET:g} Hz")
        if not len(self.hertz) == len(self.labels) == len(self.notes):
            raise ValueError(
                f"{len(self.hertz)} targets need as many labels and notes, not {len(self.labels)} and {len(self.notes)}"
            )
        if np.any(np.diff(positive_hertz(self.hertz)) <= 0):
            raise ValueError(f"{self.name}: targets ascend, and none is given twice")

    @classmethod
    def harmonics(cls, fundamental: float, name: str, reference: float = A4_HZ, home: float = 0.0) -> Targets:
        """Harmonics 1 to 64 of a fundamental in hertz, as far as 16 000 Hz; `home` as for `spell`."""
        count = int(min(HIGHEST_HARMONIC, _HIGHEST_TARGET // fundamental))
        hertz = tuple(fundamental * number for number in range(1, count + 1))
        notes = tuple(nearest_note(pitch, reference=reference, home=home)[0] for pitch in hertz)
        return cls(name, hertz, tuple(str(number) for number in range(1, count + 1)), notes, reference)

    @classmethod
    def tuning(cls, tuning: Tuning, reference: float = A4_HZ) -> Targets:
        """Every note of a tuning from 16 to 16 000 Hz, with A4 at `reference` hertz."""
        place = cents(np.array([_LOWEST_TARGET, _HIGHEST_TARGET]) / float(tuning.hz(0, reference)))
        first, last = tuning.nearest(place)[0].tolist()
        steps = [step for step in range(first, last + 1)]
        hertz = tuple(tuning.hz(np.array(steps), reference).tolist())
        spelled = tuple(_spelled(step, tuning) for step in steps)
        lettered = tuning.fifth is not None
        labels = tuple(str(spell_near(step, tuning)) if lettered else f"step {step}" for step in steps)
        notes = tuple(
            note or nearest_note(pitch, reference=reference)[0] for note, pitch in zip(spelled, hertz, strict=True)
        )
        return cls(tuning.name, hertz, labels, notes, reference)

    @classmethod
    def ratios(cls, ratios: Iterable[Fraction], root: float, name: str, reference: float = A4_HZ) -> Targets:
        """Ratios on a root in hertz, and the same in every octave from 16 to 16 000 Hz."""
        within = sorted({octave_reduce(ratio) for ratio in ratios})
        rungs = [
            (pitch, str(ratio))
            for octave in range(-12, 13)
            for ratio in within
            if _LOWEST_TARGET <= (pitch := root * 2.0**octave * float(ratio)) <= _HIGHEST_TARGET
        ]
        hertz, labels = tuple(pitch for pitch, _ in rungs), tuple(label for _, label in rungs)
        return cls(name, hertz, labels, tuple(nearest_note(h, reference=reference)[0] for h in hertz), reference)

    def nearest(self, hertz: float) -> tuple[int, float]:
        """Which target is nearest to a pitch, and how many cents the pitch is above it."""
        away = cents(hertz / np.array(self.hertz))
        index = int(np.argmin(np.abs(away)))
        return index, float(away[index])

    def from_twelve(self, index: int) -> float:
        """How far a target is from its spelled note in twelve equal steps, in cents; a half-sharp is 50 there."""
        return cents(self.hertz[index] / self.notes[index].hz(_QUARTERTONES, self.reference))


def _spelled(step: int, tuning: Tuning) -> Note | None:
    try:
        return spell(step, tuning)
    except ValueError:
        return None


def parse_targets(text: str, reference: float = A4_HZ) -> Targets:
    """Read what a player aims at.

    Parameters
    ----------
    text : str
        ``"harmonics of B♭1"`` (a note, or a frequency such as ``"58.27 Hz"``); a number of equal steps to the octave,
        such as ``"31"``; or ratios on a note or frequency, such as ``"1/1 9/8 5/4 3/2 on C4"``.
    reference : float
        The frequency of A4 in hertz, 300 to 600.

    Raises ValueError that says what cannot be read, and what can.

    >>> parse_targets("harmonics of A2").labels[6], parse_targets("31").labels[100]
    ('7', 'D½♯3')
    """
    if not isinstance(text, str) or not 0 < len(text.strip()) <= _LONGEST_TEXT:
        raise ValueError(f"targets are named in 1 to {_LONGEST_TEXT} characters: {_FORMS}")
    if not 300 <= reference <= 600:
        raise ValueError(f"the reference for A4 must be between 300 and 600 Hz, not {reference:g} (ISO 16 says 440)")
    words = text.strip()
    folded = words.casefold()
    if re.fullmatch(r"\d{1,9}", folded, re.ASCII):
        steps = int(folded)
        if not 1 <= steps <= FINEST_DIVISION:
            raise ValueError(f"a division to play in has 1 to {FINEST_DIVISION} equal steps, not {steps}")
        return Targets.tuning(equal(steps), reference)
    if match := re.fullmatch(r"(?:the )?harmonics of (.+)", words, re.IGNORECASE):
        hertz, name, home = _place(match[1], reference)
        return Targets.harmonics(hertz, f"the harmonics of {name}", reference, home)
    if match := re.fullmatch(r"(.+?)\s+on\s+(.+)", words, re.IGNORECASE):
        hertz, name, _ = _place(match[2], reference)
        ratios = [parse_ratio(ratio) for ratio in re.split(r"[\s,;]+", match[1].strip(" ,;"))]
        return Targets.ratios(ratios, hertz, f"{', '.join(map(str, ratios))} on {name}", reference)
    raise ValueError(f"{text!r} names no targets: {_FORMS}")


def _place(text: str, reference: float) -> tuple[float, str, float]:
    """A note or a frequency as hertz, its name, and its place on the chain of fifths."""
    if match := _PLACE.fullmatch(text.strip()):
        hertz, name, home = float(match["hertz"]), f"{match['hertz']} Hz", 0.0
    else:
        note = Note.parse(text)
        hertz, name, home = note.hz(_TWELVE, reference), str(note), note.fifths
    if not _LOWEST_TARGET <= hertz <= _HIGHEST_TARGET:
        raise ValueError(f"{name} is at {hertz:.5g} Hz; take one from {_LOWEST_TARGET:g} to {_HIGHEST_TARGET:g} Hz")
    return hertz, name, home


@dataclass(frozen=True)
class TakenNote:
    """One note of a take against its target.

    `target` is the index among the targets; `off` how far the note was above it; `spread`, `drift` (from start to end)
    and `vibrato` (width from crest to trough, 0 if there is none) are in cents, `vibrato_rate` in hertz.
    """

    onset: float
    offset: float
    hertz: float
    target: int
    off: float
    spread: float
    drift: float
    vibrato: float
    vibrato_rate: float
    confidence: float


@dataclass(frozen=True)
class Summary:
    """A take as a whole, in cents: mean, root of the mean square, the note furthest off, and how many were near.

    `worst` is the index of a note; `steady` is the root mean square about the mean, which is what is left if the
    whole take is tuned up or down; `within` gives the share of notes within each of `WITHIN`.
    """

    mean: float
    rms: float
    steady: float
    worst: int
    within: tuple[float, ...]


@dataclass(frozen=True)
class Report:
    """What `listen` heard: the notes against their targets, warnings about the take, and its pitch over time."""

    targets: Targets
    player: Instrument | None
    seconds: float
    notes: tuple[TakenNote, ...]
    warnings: tuple[str, ...]
    track: PitchTrack

    @cached_property
    def summary(self) -> Summary:
        """The take as a whole."""
        off = np.array([note.off for note in self.notes])
        return Summary(
            mean=float(off.mean()),
            rms=float(np.sqrt(np.mean(off**2))),
            steady=float(off.std()),
            worst=int(np.argmax(np.abs(off))),
            within=tuple(float(np.mean(np.abs(off) <= near)) for near in WITHIN),
        )

    def written(self, note: TakenNote) -> str:
        """The note as this player reads it, with the target's distance from it in twelve equal steps."""
        away = self.targets.from_twelve(note.target)
        read = self._read(note.target)
        return f"{read} {signed(away)}" if round(away) else str(read)

    def _read(self, target: int) -> Note:
        sounding = self.targets.notes[target]
        return self.player.written(sounding) if self.player else sounding

    def table(self) -> str:
        """The notes as a table for reading, with the take as a whole and the warnings below."""
        reads = f"{self.player.name} reads" if self.player else "nearest note"
        head = ("note", "from s", "to s", "target", reads, "target Hz", "heard Hz", "off", "spread", "drift", "vibrato")
        rows = [head] + [
            (
                str(number),
                f"{note.onset:.2f}",
                f"{note.offset:.2f}",
                self.targets.labels[note.target],
                self.written(note),
                f"{self.targets.hertz[note.target]:.2f}",
                f"{note.hertz:.2f}",
                aligned(note.off),
                f"{note.spread:.1f}",
                aligned(note.drift),
                f"{note.vibrato:.0f} at {note.vibrato_rate:.1f} Hz" if note.vibrato else "none",
            )
            for number, note in enumerate(self.notes, 1)
        ]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ["  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows]
        return "\n".join([self._heading(), "", *lines, "", *self._as_a_whole(), *self._remarks()]) + "\n"

    def _heading(self) -> str:
        who = f", {self.player.name}" if self.player else ""
        return (
            f"Against {self.targets.name}{who} (A4 = {self.targets.reference:g} Hz). "
            "Cents: off is heard minus target, + sharp, − flat; after a note, how far its target is from twelve."
        )

    def _as_a_whole(self) -> list[str]:
        whole = self.summary
        worst = self.notes[whole.worst]
        near = ", ".join(f"{share:.0%} within {size:g}" for share, size in zip(whole.within, WITHIN, strict=True))
        notes = "1 note" if len(self.notes) == 1 else f"{len(self.notes)} notes"
        return [
            f"{notes} in {self.seconds:.1f} s: mean {aligned(whole.mean)} cents, "
            f"root mean square {whole.rms:.1f} ({whole.steady:.1f} about the mean).",
            f"Furthest off: note {whole.worst + 1} ({self.targets.labels[worst.target]}), {aligned(worst.off)} cents.",
            f"Of the notes: {near} cents.",
        ]

    def _remarks(self) -> list[str]:
        indices = sorted({note.target for note in self.notes})
        gaps = cents(np.array(self.targets.hertz[1:]) / np.array(self.targets.hertz[:-1]))
        around = [gaps[i] for target in indices for i in (target - 1, target) if 0 <= i < len(gaps)]
        lines = []
        if around and min(around) < _CLOSE_TARGETS:
            lines.append(
                f"Targets are as close as {min(around):.0f} cents to each other here, "
                f"so a note may be no more than {min(around) / 2:.0f} off one of them whatever is played."
            )
        return lines + [f"Take care: {warning}." for warning in self.warnings]

    def csv(self) -> str:
        """The notes as comma-separated values, one to a line under a line of headings, in plain numbers."""
        out = io.StringIO()
        sheet = csv.writer(out, lineterminator="\n")
        sheet.writerow(
            "note onset_s offset_s target sounding written target_hz heard_hz off_cents spread_cents drift_cents "
            "vibrato_cents vibrato_hz confidence".split()
        )
        for number, note in enumerate(self.notes, 1):
            target = note.target
            names = (self.targets.labels[target], str(self.targets.notes[target]), str(self._read(target)))
            figures = (self.targets.hertz[target], note.hertz, note.off, note.spread, note.drift, note.vibrato)
            cells = (note.onset, note.offset), (*figures, note.vibrato_rate, note.confidence)
            sheet.writerow([number, *map(_plain, cells[0]), *names, *map(_plain, cells[1])])
        return out.getvalue()


def _plain(value: float) -> str:
    return f"{value:.3f}"


@dataclass(frozen=True)
class Take:
    """A take as it was heard, before it is measured against anything: its notes, its pitch over time, and its
    faults.
    """

    player: Instrument | None
    seconds: float
    notes: tuple[HeardNote, ...]
    track: PitchTrack
    faults: tuple[str, ...]

    def against(self, targets: Targets) -> Report:
        """Each note measured against the nearest target."""
        notes = tuple(_against(note, targets) for note in self.notes)
        warnings = self.faults + (() if _SEVERAL in self.faults else _octaves(notes, targets, self.player))
        return Report(targets, self.player, self.seconds, notes, warnings, self.track)


def listen(samples: npt.ArrayLike, sample_rate: float, targets: Targets, player: Instrument | None = None) -> Report:
    """Hear a take of one player, one note at a time, and measure each note against the nearest target.

    Parameters
    ----------
    samples : array, shape (samples,) or (samples, channels)
        Full scale is 1. Channels are averaged.
    sample_rate : float
        In hertz, 8000 or more.
    targets : Targets
    player : Instrument, optional
        Says where to look for pitch (the instrument's range and an octave about it), and gives written names.

    Returns a Report with at least one note.

    Raises ValueError for a take that is silent, shorter than 0.2 s, or in which no steady note is found, with what
    may be the cause.
    """
    return hear(samples, sample_rate, player).against(targets)


def hear(samples: npt.ArrayLike, sample_rate: float, player: Instrument | None = None) -> Take:
    """Find the notes of a take, to measure `against` several targets; otherwise, errors included, as `listen`."""
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or not np.isfinite(sound.sum()):
        raise ValueError("a take is an array of finite samples, (samples,) or (samples, channels)")
    return hear_recording(Recording.of(sound, sample_rate), player)


def hear_recording(recording: Recording, player: Instrument | None = None, progress: Progress | None = None) -> Take:
    """Find the notes of a take that is read in blocks; the rest is as for `hear`.

    An hour takes some 200 MB, whatever its sample rate. `progress` is told the share that is done.
    """
    tell = progress or (lambda share: None)
    rate = recording.sample_rate
    if not rate >= 8000:
        raise ValueError(f"a take has 8000 samples a second or more, not {rate}")
    known = survey(recording.told(share_of(tell, 0.0, 0.1)))
    seconds = known.samples / rate
    if seconds < SHORTEST_TAKE:
        raise ValueError(f"the take is too short: it lasts {seconds:.2f} s, and a note needs {SHORTEST_TAKE:g} s")
    level = known.loudest_dbfs
    if level < QUIETEST_TAKE:
        how = "silent" if level == -math.inf else f"all but silent, {-level:.0f} dB below full scale at its loudest"
        raise ValueError(f"the take is {how}; check the microphone and its level")
    lowest, highest = _sought(player)
    track = track_recording(recording, lowest=lowest, highest=min(highest, rate / 5), progress=share_of(tell, 0.1, 0.9))
    notes = tuple(track_notes(track, shortest=SHORTEST_NOTE))
    said = _said(known.clipped, faults(recording, track))
    tell(1.0)
    if not notes:
        raise ValueError(f"no steady note is found from {lowest:.0f} to {highest:.0f} Hz{_because(said)}")
    return Take(player, seconds, notes, track, said)


def _sought(player: Instrument | None) -> tuple[float, float]:
    if player is None:
        return _USUAL_RANGE
    low, high = player.range_hz
    return max(_LOWEST_SOUGHT, low / _BEYOND), min(high * _BEYOND, max(_HIGHEST_SOUGHT, high * 1.06))


def _because(said: tuple[str, ...]) -> str:
    return f": {'; '.join(said)}" if said else "; hold each note for half a second at least"


def _said(clipped: bool, found: Faults) -> tuple[str, ...]:
    said = []
    if clipped:
        said.append("the recording is clipped: its peaks are cut off. Record it again with the level turned down")
    if found.several:
        said.append(_SEVERAL)
    elif found.noisy:
        said.append("the recording is noisy, so that small figures mean little. Go nearer to the microphone")
    return tuple(said)


def _against(note: HeardNote, targets: Targets) -> TakenNote:
    target, off = targets.nearest(note.hertz)
    return TakenNote(
        note.onset, note.offset, note.hertz, target, off, note.cents_spread, note.drift,
        note.vibrato_width, note.vibrato_rate, note.confidence,
    )  # fmt: skip


def _octaves(notes: tuple[TakenNote, ...], targets: Targets, player: Instrument | None) -> tuple[str, ...]:
    """A line for a take that fits an octave higher or lower, by its targets or by the player's range."""
    pitches = np.array([note.hertz for note in notes])
    here = math.sqrt(np.mean([note.off**2 for note in notes]))
    found = []
    for factor, side in ((2.0, "below"), (0.5, "above")):
        there = math.sqrt(np.mean([targets.nearest(pitch * factor)[1] ** 2 for pitch in pitches]))
        if here > 60 and there < here / 2:
            found.append(
                f"the take seems to be an octave {side} its targets: an octave {'higher' if factor > 1 else 'lower'} "
                f"it would be {there:.0f} cents off and not {here:.0f}. Check the octave of the fundamental"
            )
        if player and np.mean(player.reaches(pitches)) < 0.5 and np.mean(player.reaches(pitches * factor)) > 0.8:
            found.append(
                f"the take seems to be an octave {side} the usual range of the {player.name}. Check the instrument"
            )
    return tuple(found)
