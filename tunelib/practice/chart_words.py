"""What a chart says of its chords, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tunelib.export import chart_symbol, marked_symbol, printed_symbol
from tunelib.harmony import Alternative, Onward, RetunedChord, RetunedTune
from tunelib.pitch import drawn, listed, nearest_note, plain, signed, times
from tunelib.practice.arranging import Arranging
from tunelib.show import aloud

_BASS_FOLLOWS = "it goes with the chord, and is not kept by itself"


def chart_sentence(tune: RetunedTune) -> str:
    """A chart in a sentence: whose it is, and which symbols are tuned otherwise than they are written, and where."""
    sheet = tune.sheet
    bars: dict[tuple[str, str], dict[int, None]] = {}
    for chord in tune.chords:
        if chord.changed:
            bars.setdefault(_symbols(tune, chord), {})[chord.written.bar] = None
    changed = [
        f"{written} is tuned as {tuned} in bar{'s' if len(where) > 1 else ''} {listed(map(str, where))}"
        for (written, tuned), where in bars.items()
    ]
    rest = "; ".join([*changed, f"all {'other ' if changed else ''}chords are as written"])
    return f"The chart of {sheet.title or 'a tune'}, {times(sheet.bars, 'bar')} in {len(tune.tuning)} steps: {rest}."


def _symbols(tune: RetunedTune, chord: RetunedChord) -> tuple[str, str]:
    """A chord as it is written, and as it is tuned, with its mark."""
    return printed_symbol(chord.written.chord), " ".join(chart_symbol(chord, tune.tuning)).strip()


def chord_title(tune: RetunedTune, chord: RetunedChord) -> str:
    """Where a chord is, what it is as written, and how it is tuned."""
    written, tuned = _symbols(tune, chord)
    beat = plain(float(chord.written.onset % tune.sheet.beats_per_bar) + 1)
    where = f"Bar {chord.written.bar}, beat {beat}"
    return f"{where}: {written}, tuned as {tuned}" if written != tuned else f"{where}: {written}, as written"


def sign_table(arranging: Arranging, symbols: Sequence[int | None]) -> list[dict[str, Any]]:
    """Of each symbol on the staff, in order: the number of its sign, how it looks, and what is said of it."""
    return [_no_chord() if sign is None else _sign(arranging, sign) for sign in symbols]


def _no_chord() -> dict[str, Any]:
    return {"sign": -1, "symbol": "N.C.", "mark": "", "said": "", "sounds": False, "changed": False, "locked": False}


def _sign(arranging: Arranging, sign: int) -> dict[str, Any]:
    chord, locked = arranging.chord(sign), arranging.is_locked(sign)
    title = aloud(chord_title(arranging.tune, chord))
    symbol, mark = chart_symbol(chord, arranging.tuning)
    return {
        "sign": sign,
        "symbol": symbol,
        "mark": mark,
        "said": f"{title}, locked" if locked else title,
        "sounds": True,
        "changed": chord.changed,
        "locked": locked,
    }


def voice_table(arranging: Arranging, sign: int) -> list[dict[str, Any]]:
    """Of each voice of a chord, from the bass up: its note with its cents from the nearest key, and whether it stays.

    The bass follows from the chord, so that it is not kept by itself.
    """
    tune, chord = arranging.tune, arranging.chord(sign)
    staying = {note.step(tune.tuning) for note in arranging.kept(sign)}
    home, rows = tune.sheet.key.lowest_fifth + 1, []
    for place, note in enumerate(chord.notes):
        key, cents = nearest_note(note.hz(tune.tuning), home=home)
        heard = f"{note}, {signed(cents)} cents from the key {key}"
        said = f"Keep voice {place} from below: {heard}" if place else f"Bass: {heard}; {_BASS_FOLLOWS}"
        row = {
            "name": drawn(f"{note} {signed(cents)}"),
            "said": aloud(said),
            "kept": place > 0 and note.step(tune.tuning) in staying,
            "stays": place > 0,
        }
        rows.append(row)
    return rows


def alternative_table(arranging: Arranging, sign: int, offered: Sequence[Alternative]) -> list[dict[str, Any]]:
    """Of each alternative to a chord, best first: symbol and mark, price, and whether it is what the chord is now.

    Where the symbol has a mark for players, the price begins with the chord's name in the words of the course.
    """
    chord, rows = arranging.chord(sign), []
    for other in offered:
        symbol, mark = marked_symbol(chord.written.chord, other.chord, arranging.tuning)
        price = f"{printed_symbol(other.chord)}: {other.price}" if mark else other.price
        taken = other.notes == chord.notes
        rows.append({"symbol": symbol, "mark": mark, "price": drawn(price), "taken": taken})
    return rows


def onward_table(offered: Sequence[Onward]) -> list[dict[str, Any]]:
    """Of each way to the next chord, best first, the same as of an alternative."""
    rows = []
    for onward in offered:
        *_, last = onward.way.chords
        through = " – ".join(printed_symbol(chord) for chord in onward.way.passing)
        price = f"a way to the next chord, {printed_symbol(last)}: {onward.price}"
        rows.append({"symbol": f"→ {through}", "mark": "", "price": drawn(price), "taken": False})
    return rows


def what_followed(before: RetunedTune, arranging: Arranging) -> str:
    """How many chords are otherwise than before, in words, and which notes that were to stay could not."""
    if len(before.chords) != len(arranging.tune.chords):
        more = len(arranging.tune.chords) > len(before.chords)
        return (
            "The way is in the tune now, in its text too, and locked." if more else "The tune is without the way again."
        )
    pairs = list(zip(before.chords, arranging.tune.chords, strict=True))
    tuned = sum(old.chord != new.chord for old, new in pairs)
    laid_out = sum(old.chord == new.chord and old.notes != new.notes for old, new in pairs)
    said = [
        f"{times(count, 'chord')} {'is' if count == 1 else 'are'} {how}"
        for count, how in ((tuned, "tuned otherwise"), (laid_out, "laid out otherwise"))
        if count
    ]
    followed = f"{' and '.join(said)}." if said else "No chord has changed."
    return " ".join([followed, *lost_words(arranging)])


def lost_words(arranging: Arranging) -> list[str]:
    """A sentence for each chord that could not keep a note that was to stay."""
    return [
        f"Bar {chord.written.bar}: in this voicing {printed_symbol(chord.chord)} has not all the notes to keep."
        for chord in arranging.lost()
    ]
