"""What a chart says of its chords, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tunelib.export import chart_symbol, marked_symbol, printed_symbol
from tunelib.harmony import Alternative, RetunedChord, RetunedTune
from tunelib.pitch import nearest_note, plain, signed, times
from tunelib.practice.arranging import Arranging
from tunelib.show import aloud


def chart_sentence(tune: RetunedTune) -> str:
    """A chart in a sentence: whose it is, and which chords are tuned otherwise than they are written, and how."""
    sheet = tune.sheet
    changed = dict.fromkeys(chord_title(tune, chord) for chord in tune.chords if chord.changed)
    rest = f"{'; '.join(changed)}. All other chords are as written" if changed else "All chords are as written"
    return f"The chart of {sheet.title or 'a tune'}, in {len(tune.tuning)} steps: {times(sheet.bars, 'bar')}. {rest}."


def chord_title(tune: RetunedTune, chord: RetunedChord) -> str:
    """Where a chord is, what it is as written, and how it is tuned."""
    written, tuned = printed_symbol(chord.written.chord), " ".join(chart_symbol(chord, tune.tuning)).strip()
    beat = plain(float(chord.written.onset % tune.sheet.beats_per_bar) + 1)
    where = f"Bar {chord.written.bar}, beat {beat}"
    return f"{where}: {written}, tuned as {tuned}" if written != tuned else f"{where}: {written}, as written"


def sign_table(arranging: Arranging, symbols: Sequence[int | None]) -> list[dict[str, Any]]:
    """Of each symbol on the staff, in order: the number of its sign, how it looks, and what is said of it."""
    return [_no_chord() if sign is None else _sign(arranging, sign) for sign in symbols]


def _no_chord() -> dict[str, Any]:
    return {"sign": -1, "symbol": "N.C.", "said": "no chord", "sounds": False, "changed": False, "locked": False}


def _sign(arranging: Arranging, sign: int) -> dict[str, Any]:
    chord, locked = arranging.chord(sign), arranging.is_locked(sign)
    title = aloud(chord_title(arranging.tune, chord))
    return {
        "sign": sign,
        "symbol": " ".join(chart_symbol(chord, arranging.tune.tuning)).strip(),
        "said": f"{title}, locked" if locked else title,
        "sounds": True,
        "changed": chord.changed,
        "locked": locked,
    }


def voice_table(arranging: Arranging, sign: int) -> list[dict[str, Any]]:
    """Of each voice of a chord, from the bass up: its note with its cents from the nearest key, and whether it stays.

    The bass follows from the chord, so that it is not kept by itself.
    """
    tune, chord, kept = arranging.tune, arranging.chord(sign), arranging.kept(sign)
    home, rows = tune.sheet.key.lowest_fifth + 1, []
    for place, note in enumerate(chord.notes):
        key, cents = nearest_note(note.hz(tune.tuning), home=home)
        heard = f"{note}, {signed(cents)} cents from the key {key}"
        said = f"Keep voice {place} from below: {heard}" if place else f"Bass: {heard}"
        row = {
            "name": f"{note} {signed(cents)}",
            "said": aloud(said),
            "kept": place > 0 and note in kept,
            "stays": place > 0,
        }
        rows.append(row)
    return rows


def alternative_table(arranging: Arranging, sign: int, offered: Sequence[Alternative]) -> list[dict[str, Any]]:
    """Of each alternative to a chord, best first: its symbol, its price, and whether it is what the chord is now."""
    chord = arranging.chord(sign)
    return [
        {
            "symbol": " ".join(marked_symbol(chord.written.chord, other.chord, arranging.tune.tuning)).strip(),
            "price": other.price,
            "taken": (other.chord, other.notes) == (chord.chord, chord.notes),
        }
        for other in offered
    ]


def what_followed(before: RetunedTune, after: RetunedTune) -> str:
    """How many chords are otherwise than before, in words."""
    pairs = list(zip(before.chords, after.chords, strict=True))
    tuned = sum(old.chord != new.chord for old, new in pairs)
    laid_out = sum(old.chord == new.chord and old.notes != new.notes for old, new in pairs)
    said = [
        f"{times(count, 'chord')} {'is' if count == 1 else 'are'} {how}"
        for count, how in ((tuned, "tuned otherwise"), (laid_out, "laid out otherwise"))
        if count
    ]
    return f"{' and '.join(said)}." if said else "No chord has changed."
