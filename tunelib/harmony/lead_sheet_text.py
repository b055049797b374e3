"""Lead sheets back to text, with their form; `tunelib.harmony.lead_sheet` says what the text means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tunelib.harmony.chords import Chord
from tunelib.harmony.form_words import MARK_WORDS
from tunelib.harmony.lead_sheet import MOST_SIGNS_A_BEAT, shares
from tunelib.harmony.lead_sheet_lines import CHORD_SIGN
from tunelib.harmony.rolled_up import rolled_up
from tunelib.harmony.tune import LeadSheet
from tunelib.harmony.written_bars import WrittenBar, WrittenNote

_BARS_A_LINE = 4
_CHORDS, _MELODY = "        ", "melody: "
_AT_THE_BEGINNING = ("segno", "coda")
_SHORTEST_UNIT = 32  # of the metre that a short bar has


def lead_sheet_text(sheet: LeadSheet) -> str:
    """A tune as text, which `parse_lead_sheet` reads back as an equal one with an equal form.

    Raises ValueError for a chord whose symbol, as it is written, is not that chord's, or that begins at less than a
    24th of a beat from where a sign could be; for a bar whose length is no metre; and for a tune that is not what its
    form plays.

    >>> from tunelib.harmony.lead_sheet import parse_lead_sheet
    >>> print(lead_sheet_text(parse_lead_sheet("metre: 3/4\\n[A] | Am7 / D7 | G Fine :|")), end="")
    metre: 3/4
    tempo: 120
    key: C major
    <BLANKLINE>
    [A]
    | Am7 . D7 | G Fine :|
    """
    for timed in sheet.chords:
        if not CHORD_SIGN.fullmatch(timed.symbol) or Chord.parse(timed.symbol) != timed.chord:
            raise ValueError(f"{timed.symbol!r} in bar {timed.bar} is not the symbol of its chord, {timed.chord}")
    tempo = repr(sheet.tempo).removesuffix(".0")
    tonic = sheet.key.tonic.typed_name
    lines = [f"title: {sheet.title}"] if sheet.title else []
    lines += [f"metre: {sheet.beats_per_bar}/4", f"tempo: {tempo}", f"key: {tonic} {sheet.key.mode}", ""]
    bars = rolled_up(sheet)
    pickup = bars.pop(0) if len(bars) > 1 and _is_plain_pickup(bars[0], sheet.beats_per_bar) else None
    for number, line in enumerate(_lines(bars)):
        if line[0].section:
            lines += [""] * (number > 0) + [f"[{line[0].section}]"]
        lines += _staff(line, sheet.beats_per_bar, None if number else pickup)
    return "\n".join(lines) + "\n"


def _is_plain_pickup(bar: WrittenBar, beats: int) -> bool:
    """Whether a bar is a pickup that can stand before the first bar line."""
    formal = bar.opens or bar.times > 1 or bar.endings or bar.section or bar.double or bar.marks
    return bar.beats < beats and not formal


def _lines(bars: Sequence[WrittenBar]) -> list[list[WrittenBar]]:
    """The bars of each line: four at most, and a section begins with a new one."""
    lines: list[list[WrittenBar]] = []
    for bar in bars:
        if not lines or len(lines[-1]) == _BARS_A_LINE or bar.section:
            lines.append([])
        lines[-1].append(bar)
    return lines


@dataclass(frozen=True)
class _Column:
    """What stands above and below in a line, as wide as the wider of the two."""

    above: str
    below: str

    @property
    def padded(self) -> tuple[str, str]:
        width = max(len(self.above), len(self.below))
        return self.above.ljust(width), self.below.ljust(width)


def _staff(bars: Sequence[WrittenBar], beats: int, pickup: WrittenBar | None) -> list[str]:
    """A line of bars, and that of its melody if it has one."""
    columns: list[_Column] = []
    if pickup is not None:
        columns.append(_Column(_pickup_chords(pickup), _notes(pickup.melody, pickup.beats)))
    sung = pickup is not None or any(bar.melody for bar in bars)
    for place, bar in enumerate(bars):
        bar_line = _bar_line(bars[place - 1] if place else None, bar)
        columns.append(_Column(bar_line, bar_line))
        columns.append(_Column(_chords(bar, beats), _notes(bar.melody, bar.beats) if sung else ""))
    bar_line = _bar_line(bars[-1], None)
    columns.append(_Column(bar_line, bar_line))
    above, below = (" ".join(cells) for cells in zip(*(column.padded for column in columns), strict=True))
    return [f"{_CHORDS}{above}", f"{_MELODY}{below}"] if sung else [above]


def _bar_line(before: WrittenBar | None, after: WrittenBar | None) -> str:
    """What stands between two bars, or at an end of a line."""
    closes, opens = before is not None and before.times > 1, after is not None and after.opens
    if before is not None and before.double:
        return ":| " * closes + "||" + " |:" * opens
    return ":" * closes + "|" + ":" * opens


def _chords(bar: WrittenBar, beats: int) -> str:
    """What is between two bar lines of a line of chords."""
    begin = [f"{ending}." for ending in bar.endings]
    begin += [MARK_WORDS[mark] for mark in bar.marks if mark in _AT_THE_BEGINNING]
    if bar.beats < beats:
        begin.append(_metre(bar))
    end = [MARK_WORDS[mark] for mark in bar.marks if mark not in _AT_THE_BEGINNING]
    end += [f"{bar.times}x"] if bar.times > 2 else []
    signs = {sign.offset: sign.symbol for sign in bar.chords}
    for count in range(1, int(MOST_SIGNS_A_BEAT * bar.beats) + 1):
        if shares(bar.beats, count) and (found := _shared(signs, bar.beats, count)):
            return " ".join([*begin, *found, *end])
    raise ValueError(f"the chords of {bar.where} begin at {', '.join(map(str, signs))} beats, too fine to be written")


def _metre(bar: WrittenBar) -> str:
    unit = max(4, 4 * bar.beats.denominator)
    if unit & (unit - 1) or unit > _SHORTEST_UNIT:
        raise ValueError(f"{bar.where} lasts {bar.beats} beats, which no metre does")
    return f"{bar.beats * unit / 4}/{unit}"


def _shared(signs: dict[Fraction, str], beats: Fraction, count: int) -> list[str]:
    """So many signs that share a time, with dots where a chord goes on; none if they cannot share it so."""
    share = beats / count
    if any(offset % share for offset in signs):
        return []
    return [signs.get(place * share, ".") for place in range(count)]


def _pickup_chords(bar: WrittenBar) -> str:
    signs = {sign.offset: sign.symbol for sign in bar.chords}
    if not signs:
        return ""
    counts = range(1, int(MOST_SIGNS_A_BEAT * max(Fraction(1), bar.beats)) + 1)
    found = next((found for count in counts if (found := _shared(signs, bar.beats, count))), None)
    if found is None:
        raise ValueError(
            f"the chords of the pickup begin at {', '.join(map(str, signs))} beats, too fine to be written"
        )
    return " ".join(found)


def _notes(melody: Sequence[WrittenNote], beats: Fraction) -> str:
    """What is between two bar lines of a line of melody."""
    signs: list[tuple[Fraction, str]] = []
    now = Fraction(0)
    for note in melody:
        if note.offset > now:
            signs.append((note.offset - now, "-"))
        name = "." if note.note is None else "~" * note.held + note.note.typed
        signs.append((note.duration, name))
        now = note.offset + note.duration
    if now < beats:
        signs.append((beats - now, "-"))
    return " ".join(name if duration == 1 else f"{name}:{duration}" for duration, name in signs)
