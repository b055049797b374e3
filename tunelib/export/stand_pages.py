"""What is printed for the stand: a part for each player of a tune, and the score of its leader.

A staff has 7.5 mm in parts, of which orchestra librarians ask for 7.0 at least (Major Orchestra Librarians'
Association, *Music Preparation Guidelines*, 2017), and 5 in a score, where copyists ask for 4.5 (common practice).
Chord symbols are larger beside a score's smaller staff: their capitals have 2.5 mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from tunelib.arrange import SLASHES, TunePart, hint_words, leader_parts, tuning_card
from tunelib.export.cautions import LOW_VOLUME, RINGING
from tunelib.export.chord_symbols import chart_symbol, printed_sentence, printed_symbol
from tunelib.export.stand_layout import StandPages, height_mm
from tunelib.export.stand_music import part_systems, score_systems, style_words
from tunelib.export.typeset import Drawing, paper_width
from tunelib.harmony import Chord, Grip, RetunedChord, RetunedTune, grip
from tunelib.pitch import number_in_words, plain, root_mean_square, times

PART_STAFF_MM, SCORE_STAFF_MM = 7.5, 5.0
PLAYERS_CAUTION = "Rest hands, lips and voice often. Strain or pain means stop; ask a teacher before you go on."
TUNE_CAUTIONS = (LOW_VOLUME, RINGING, PLAYERS_CAUTION)
_HIGHEST_SYSTEM_MM = 235.0  # that a page of either paper holds under a title


def part_pages(tune: RetunedTune, part: TunePart, paper: str = "a4", feel: str | None = None) -> StandPages:
    """A player's part, for `stand_pdf`: staves, the tuning card as they read it, and grips for a guitar.

    The name of the feel is over the first bar: that which suits the tune, or another. Raises ValueError for a paper
    that is not known or a note value that cannot be written.
    """
    remarks = list(part.remarks)
    if part.notes and part.bends:
        remarks.append("Over a note: how many cents above or below its key it is, where that is 5 or more.")
        remarks.append(hint_words(part.player))
    remarks.append(_steps_words([part], tune))
    return StandPages(
        title=_title(tune),
        name=part.name,
        tempo=_tempo(tune, feel),
        remarks=[remark for remark in remarks if remark],
        told=part.told,
        systems=part_systems(tune, part, PART_STAFF_MM, paper, feel),
        card=tuning_card(tune).read_by(part.player),
        cautions=[PLAYERS_CAUTION],
        tuning=tune.tuning,
        grips=_grips(tune) if part.has == SLASHES else (),
    )


def score_pages(
    tune: RetunedTune, parts: Sequence[TunePart] = (), paper: str = "a4", feel: str | None = None
) -> StandPages:
    """The leader's score, for `stand_pdf`: staves at concert pitch, the tuning card, and what was changed and why.

    Without parts it has melody, chords and bass. Errors are those of `part_pages`.
    """
    printed = parts or leader_parts(tune)
    return StandPages(
        title=_title(tune),
        name="score, at concert pitch",
        tempo=_tempo(tune, feel),
        remarks=[remark for remark in (summary(tune), _steps_words(printed, tune)) if remark],
        told=[f"{part.name}: {sentence}" for part in parts for sentence in part.told],
        systems=_score_systems(tune, printed, paper, feel),
        card=tuning_card(tune),
        cautions=TUNE_CAUTIONS,
        tuning=tune.tuning,
        reasons=_changes(tune) or [("–", "–", "–", "No chord was changed.")],
    )


def _score_systems(tune: RetunedTune, parts: Sequence[TunePart], paper: str, feel: str | None) -> list[list[Drawing]]:
    """The lines of a score; smaller than they should be if a page does not hold the staves of so many players."""
    systems = score_systems(tune, parts, SCORE_STAFF_MM, paper, feel)
    width = paper_width(paper)
    highest = max(height_mm(system, width) for section in systems for system in section)
    if highest <= _HIGHEST_SYSTEM_MM:
        return systems
    return score_systems(tune, parts, SCORE_STAFF_MM * _HIGHEST_SYSTEM_MM / highest, paper, feel)


def _steps_words(parts: Sequence[TunePart], tune: RetunedTune) -> str:
    """What the slanted figures under notes are; nothing where there are none."""
    notes = [note for part in parts if part.has != SLASHES for note in part.notes]
    if not any(note.name and note.name.steps for note in notes):
        return ""
    return (
        f"In italics under a note: how many of the {len(tune.tuning)} steps it is above or below its letter and sign."
    )


def summary(tune: RetunedTune) -> str:
    """The whole tune in a sentence."""
    chords = tune.chords
    changed = sum(chord.changed for chord in chords)
    off = root_mean_square(chord.purity for chord in chords)
    moved = sum(chord.motion for chord in chords) / max(1, len(chords) - 1)
    return (
        f"{times(len(chords), 'chord')}, {changed} of them retuned; their pairs are {off:.1f} cents off on the whole, "
        f"and from one to the next the upper voices move {plain(moved)} steps of {len(tune.tuning)} together."
    )


def _tempo(tune: RetunedTune, feel: str | None) -> str:
    return f"{style_words(tune.sheet, feel)}  ♩ = {tune.sheet.tempo:g}"


def _title(tune: RetunedTune) -> str:
    return f"{tune.sheet.title or 'A tune'}, in {number_in_words(len(tune.tuning))}"


def _grips(tune: RetunedTune) -> list[tuple[str, Grip]]:
    """A grip of each chord, once, in the order in which they come."""
    grips: dict[Chord, str] = {}
    for chord in tune.chords:
        symbol, mark = chart_symbol(chord, tune.tuning)
        grips.setdefault(chord.chord.over(None), f"{symbol.partition('/')[0]} {mark}".strip())
    return [(symbol, grip(chord, tune.tuning)) for chord, symbol in grips.items()]


def _changes(tune: RetunedTune) -> list[tuple[str, str, str, str]]:
    """The chords that were changed or clash, one row for all alike: as written, as tuned, bars, why."""
    alike: dict[tuple[str, str], list[RetunedChord]] = {}
    for chord in tune.chords:
        if chord.changed or chord.clashes:
            tuned = " ".join(chart_symbol(chord, tune.tuning)).strip()
            alike.setdefault((printed_symbol(chord.written.chord), tuned), []).append(chord)
    rows = []
    for (written, tuned), chords in alike.items():
        bars = ", ".join(dict.fromkeys(str(chord.written.bar) for chord in chords))
        rows.append((written, tuned, bars, printed_sentence(_of_the_symbol(chords[0].why))))
    return rows


def _of_the_symbol(why: str) -> str:
    """What a reason says of a chord wherever it is, without how the voices come to it in one place."""
    return "; ".join(said for said in why.split("; ") if not said.startswith("the upper voices move"))
