"""What a chart says of its chords, in words."""

from __future__ import annotations

from typing import Any

from tunelib.export import printed_symbol, symbol_places
from tunelib.harmony import RetunedChord, RetunedTune
from tunelib.pitch import nearest_note, plain, signed, times
from tunelib.show import aloud


def chart_sentence(tune: RetunedTune) -> str:
    """A chart in a sentence: whose it is, and which chords are tuned otherwise than they are written, and how."""
    sheet = tune.sheet
    changed = dict.fromkeys(chord_title(tune, chord) for chord in tune.chords if is_changed(chord))
    rest = f"{'; '.join(changed)}. All other chords are as written" if changed else "All chords are as written"
    return f"The chart of {sheet.title or 'a tune'}, in {len(tune.tuning)} steps: {times(sheet.bars, 'bar')}. {rest}."


def sign_table(tune: RetunedTune) -> list[dict[str, Any]]:
    """Of each symbol on the staff, in order: what it is, what is said of it, and how it looks."""
    return [_sign(tune, place) for _, place in symbol_places(tune)]


def _sign(tune: RetunedTune, place: int | None) -> dict[str, Any]:
    if place is None:
        return {"sign": -1, "symbol": "N.C.", "said": "no chord", "sounds": False, "changed": False, "locked": False}
    chord = tune.chords[place]
    return {
        "sign": place,
        "symbol": printed_symbol(chord.chord),
        "said": aloud(chord_title(tune, chord)),
        "sounds": True,
        "changed": is_changed(chord),
        "locked": False,
    }


def is_changed(chord: RetunedChord) -> bool:
    """Whether a chord is tuned otherwise than it is written."""
    return chord.chord != chord.written.chord


def chord_title(tune: RetunedTune, chord: RetunedChord) -> str:
    """Where a chord is, what it is as written, and how it is tuned."""
    written, tuned = printed_symbol(chord.written.chord), printed_symbol(chord.chord)
    beat = plain(float(chord.written.onset % tune.sheet.beats_per_bar) + 1)
    where = f"Bar {chord.written.bar}, beat {beat}"
    return f"{where}: {written}, tuned as {tuned}" if is_changed(chord) else f"{where}: {written}, as written"


def voice_table(tune: RetunedTune, chord: RetunedChord) -> list[dict[str, Any]]:
    """Of each voice of a chord, from the bass up: its note with its cents from the nearest key, and what is said."""
    home, rows = tune.sheet.key.lowest_fifth + 1, []
    for place, note in enumerate(chord.notes):
        key, cents = nearest_note(note.hz(tune.tuning), home=home)
        voice = "bass" if place == 0 else f"voice {place} from below"
        said = f"{voice}: {note}, {signed(cents)} cents from the key {key}"
        rows.append({"name": f"{note} {signed(cents)}", "said": aloud(said), "kept": False})
    return rows
