"""How many notes of known takes are heard rightly, beside Praat's pitch with a plain rule.

``python tests/benchmark_listening.py``

Sampled instruments of the sound fonts that are there (24 programs of each), played by FluidSynth. A note is right if it
is told as one note, less than 15 cents from where it is; the rest are merged with a neighbour, split, missed or off.
``--kinds slurred quick`` takes only kinds of those names, ``--fresh`` only the programs by which nothing was fitted or
tried, ``--programs 12`` the first of so many equal parts of them, and ``--from 1`` another part. What is rendered is
kept in a temporary folder.

Takes that are spoilt, by a drone, clicks, a channel turned over or speech, and those below or above what is usually
looked for, are heard as a learner's are, from the recording on; of these it is told as well in how many a note is wrong
and nothing was said.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from sampled import RATE
from spoilt import DRONES, announced, clicked, droned, far, spoken, turned_over
from takes import (
    FRESH,
    HELD,
    KnownTake,
    Score,
    added,
    by_parselmouth,
    detached,
    every_take,
    in_a_room,
    quick,
    repeated,
    score,
    slurred,
    tracked,
)

from tunelib.hearing import Intended, IntendedNote, Recording, align, attacks_of, hear, track_notes
from tunelib.hearing.followed import BEYOND
from tunelib.pitch import nearest_note

Heard = Sequence[tuple[float, float, float]]

KINDS: dict[str, Callable[[Path, int], KnownTake]] = {
    **{f"slurred {each:g} s, straight": partial(slurred, each=each) for each in (0.3, 0.5, 1.0)},
    **{
        f"slurred {each:g} s, vibrato {width:g}": partial(slurred, each=each, width=width)
        for width in (60.0, 100.0, 160.0)
        for each in (0.3, 0.5, 1.0)
    },
    **{f"repeated, gap {1000 * gap:g} ms": partial(repeated, gap=gap) for gap in (0.06, 0.15)},
    **{f"detached, vibrato {width:g}": partial(detached, width=width) for width in (0.0, 60.0, 100.0, 160.0)},
    **{f"quick, {many:g} a second": partial(quick, a_second=many) for many in (4.0, 6.0, 8.0)},
    **{
        f"room of {seconds:g} s": lambda font, program, seconds=seconds: in_a_room(detached(font, program, 0), seconds)
        for seconds in (0.8, 2.0, 4.0)
    },
}

SPOILT: dict[str, Callable[[Path, int], KnownTake]] = {
    **{
        f"drone of program {kind} at {decibels:g} dB" if kind else f"even drone at {decibels:g} dB": partial(
            droned, decibels=decibels, kind=kind
        )
        for kind in (0, *DRONES)
        for decibels in (-6.0, -20.0)
    },
    **{f"clicks, {kind}": partial(clicked, kind=kind) for kind in ("tone", "noise", "block")},
    "one side turned over": lambda font, program: turned_over(detached(font, program, 0)),
    **{
        f"spoken {'after' if after else 'before'}": lambda font, program, after=after: announced(
            detached(font, program, 0), spoken("Take two. A slow scale, a bit faster this time."), after=after
        )
        for after in (False, True)
    },
    "low and high": far,
}


def free(take: KnownTake) -> Heard:
    """Ours, told nothing of what is played."""
    track = tracked(take)
    notes = track_notes(track, attacks_of(Recording.of(take.samples, RATE), track))
    return [(note.onset, note.offset, note.hertz) for note in notes]


def aligned(take: KnownTake) -> Heard:
    """Ours, told the notes in their order; one that is taken for another of them is left out, and so is missed."""
    low, high = min(note.hertz for note in take.notes), max(note.hertz for note in take.notes)
    track = tracked(take, low / BEYOND, high * BEYOND)
    wanted = tuple(IntendedNote(n.hertz, nearest_note(n.hertz)[0], str(i)) for i, n in enumerate(take.notes))
    found = align(track, attacks_of(Recording.of(take.samples, RATE), track), Intended("a take", wanted))
    heard = []
    for one in found.playings:
        meant = None if one.intended is None else take.notes[one.intended]
        if meant is None or (one.heard.onset < meant.offset and meant.onset < one.heard.offset):
            heard.append((one.heard.onset, one.heard.offset, one.heard.hertz))
    return heard


def whole(take: KnownTake) -> tuple[Heard, bool]:
    """Ours, from the recording on, and whether anything was said."""
    try:
        heard = hear(take.samples, RATE)
    except ValueError:
        return [], True
    return [(note.onset, note.offset, note.hertz) for note in heard.notes], bool(heard.faults)


def peer(take: KnownTake) -> Heard:
    return by_parselmouth(take.samples if take.samples.ndim == 1 else take.samples.mean(axis=1))


LISTENERS: dict[str, Callable[[KnownTake], Heard]] = {"ours": free, "ours, aligned": aligned, "Praat, 25 cents": peer}


def line(total: Score) -> str:
    return f"{total.share:7.1%}  {total.merged:>4} {total.split:>4} {total.missed:>4} {total.off:>4} {total.extra:>5}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kinds", nargs="*", default=[""])
    parser.add_argument("--fresh", action="store_true")
    parser.add_argument("--programs", type=int, default=1)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--listeners", nargs="*", default=list(LISTENERS))
    options = parser.parse_args()
    programs = list(FRESH if options.fresh else HELD)[options.first :: options.programs]
    print(f"{len(programs)} programs; right, then merged, split, missed, off, notes too many")
    for kind, make in KINDS.items():
        if not any(name in kind for name in options.kinds):
            continue
        takes = list(every_take(make, programs))
        print(f"{kind} ({sum(len(take.notes) for take in takes)} notes)")
        for name in options.listeners:
            total = added(score(LISTENERS[name](take), take.notes) for take in takes)
            print(f"    {name:<18}{line(total)}", flush=True)
    for kind, make in SPOILT.items():
        if not any(name in kind for name in options.kinds):
            continue
        takes = [take for take in every_take(make, programs) if take.notes]
        print(f"{kind} ({sum(len(take.notes) for take in takes)} notes)")
        heard = [whole(take) for take in takes]
        scores = [score(notes, take.notes) for (notes, _), take in zip(heard, takes, strict=True)]
        unsaid = sum(found.right < found.notes and not said for found, (_, said) in zip(scores, heard, strict=True))
        print(f"    {'ours':<18}{line(added(scores))}   wrong and nothing said: {unsaid} of {len(takes)} takes")
        print(f"    {'Praat, 25 cents':<18}{line(added(score(peer(take), take.notes) for take in takes))}", flush=True)


if __name__ == "__main__":
    main()
