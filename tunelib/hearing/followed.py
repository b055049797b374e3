"""A recording followed through what was to be played, note by note, as a report that a player reads."""

from __future__ import annotations

from tunelib.hearing.alignment import Alignment, Playing, align
from tunelib.hearing.common_offset import common_offset
from tunelib.hearing.intended import Intended, IntendedNote
from tunelib.hearing.recording import Progress, Recording, share_of
from tunelib.hearing.report import LeftOut, Report, TakenNote
from tunelib.hearing.take import Take, hear_recording
from tunelib.hearing.targets import Targets
from tunelib.pitch import CENTS_PER_OCTAVE, Instrument, Note, ratio_from_cents

BEYOND = 1.3  # how far past the notes to be played pitch is sought at first, as a ratio: less than half an octave
_ENOUGH = 0.5  # of the notes to be played


def follow_recording(
    recording: Recording, intended: Intended, player: Instrument | None = None, progress: Progress | None = None
) -> Report:
    """Tell of each note that was to be played how it was: in what place, how far off, wrong, left out, or again.

    Pitch is sought near the notes that were to be played; and where less than half of those are found, wherever the
    player may have been, such as an octave below. Raises ValueError where nothing of them is found, and as
    `tunelib.hearing.hear_recording` does, of which the rest is true as well.

    Parameters
    ----------
    recording : Recording
    intended : Intended
        At sounding pitch.
    player : Instrument, optional
        Who plays: gives written names.
    progress : callable, optional
        Told the share that is done.
    """
    tell = progress or (lambda share: None)
    hertz = [note.hertz for note in intended.notes]
    take, found = _followed(
        recording, intended, player, share_of(tell, 0.0, 0.5), (min(hertz) / BEYOND, max(hertz) * BEYOND)
    )
    if take is None or found is None or _share(found) < _ENOUGH:
        wider, other = _followed(recording, intended, player, share_of(tell, 0.5, 1.0), None)
        if wider is not None and other is not None and (found is None or _share(other) > _share(found)):
            take, found = wider, other
    tell(1.0)
    if take is None or found is None or not found.playings:
        raise ValueError(f"nothing of {intended.name} is found in the take; check that it is the right one")
    return _report(take, found)


def _followed(
    recording: Recording,
    intended: Intended,
    player: Instrument | None,
    progress: Progress,
    bounds: tuple[float, float] | None,
) -> tuple[Take | None, Alignment | None]:
    try:
        take = hear_recording(recording, player, progress, bounds)
    except ValueError:
        if bounds is None:
            raise
        return None, None  # there may be notes elsewhere
    return take, align(take.track, take.attacks, intended)


def _share(found: Alignment) -> float:
    return found.outcomes.count("played") / len(found.outcomes)


def _report(take: Take, found: Alignment) -> Report:
    octaves = round(found.offset / CENTS_PER_OCTAVE)
    intended = found.intended
    named = [_moved(note, octaves) for note in intended.notes]
    rungs = sorted(set(named), key=lambda note: (note.hertz, note.label))
    place = {note: i for i, note in enumerate(rungs)}
    # Two names of one pitch are two targets; they ascend by less than can be heard.
    hertz = tuple(note.hertz * (1 + 1e-9 * i) for i, note in enumerate(rungs))
    targets = Targets(
        intended.name,
        hertz,
        tuple(note.label for note in rungs),
        tuple(note.note for note in rungs),
        intended.reference,
        kind="notes",
    )
    which = [place[note] for note in named]
    middle = found.offset - CENTS_PER_OCTAVE * octaves
    notes, done = [], set()
    for one in found.playings:
        if one.intended is None:
            target, away = targets.nearest(one.heard.hertz / ratio_from_cents(middle))
            notes.append(_taken(one, target, away + middle, "added"))
            continue
        outcome = "wrong" if one.wrong else "again" if one.intended in done else "played"
        if not one.wrong:
            done.add(one.intended)
        notes.append(_taken(one, which[one.intended], one.off - CENTS_PER_OCTAVE * octaves, outcome))
    meant = [note for note in notes if note.outcome in ("played", "again")]
    return Report(
        targets,
        take.player,
        take.seconds,
        tuple(notes),
        take.faults + _an_octave_off(octaves),
        take.track,
        common_offset([note.off for note in meant], [note.target for note in meant]),
        tuple(LeftOut(which[i], _after(i, found.playings)) for i, playings in enumerate(found.of) if not playings),
    )


def _moved(note: IntendedNote, octaves: int) -> IntendedNote:
    """A note as it is in another octave; its label too, where that is its name."""
    if not octaves:
        return IntendedNote(note.hertz, note.note, note.label)
    name = Note(note.note.letter, note.note.half_sharps, note.note.octave + octaves, note.note.steps)
    label = str(name) if note.label == str(note.note) else note.label
    return IntendedNote(note.hertz * 2.0**octaves, name, label)


def _taken(one: Playing, target: int, off: float, outcome: str) -> TakenNote:
    heard = one.heard
    return TakenNote(
        heard.onset, heard.offset, heard.hertz, target, off, heard.cents_spread, heard.drift, heard.vibrato_width,
        heard.vibrato_rate, heard.confidence, outcome,
    )  # fmt: skip


def _after(left_out: int, playings: tuple[Playing, ...]) -> int:
    """Which of the notes that were played comes after one that was left out."""
    known = [(i, one.intended) for i, one in enumerate(playings) if one.intended is not None]
    later = [i for i, intended in known if intended > left_out]
    return later[0] if later else len(playings)


def _an_octave_off(octaves: int) -> tuple[str, ...]:
    if not octaves:
        return ()
    how = "an octave" if abs(octaves) == 1 else f"{abs(octaves)} octaves"
    side = "above" if octaves > 0 else "below"
    return (f"the take is {how} {side} what was to be played, and is measured there",)
