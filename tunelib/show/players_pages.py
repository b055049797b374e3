"""The pages that are printed for one player: the thirty-one notes as they read them, and where fingers find them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tunelib.exhibits import PLAYERS
from tunelib.pitch import Instrument

_BASS_SCALE = 864  # millimetres: 34 inches, the usual scale of a bass guitar (common practice)


@dataclass(frozen=True)
class PlayersPage:
    """One page of a player: the exhibit that it prints, its knobs, and the name of the file."""

    exhibit: str
    file: str
    knobs: Mapping[str, Any] = field(default_factory=dict)


def players_pages(player: Instrument) -> dict[str, PlayersPage]:
    """The pages that there are for a player, by what they show.

    ``"notes"``, the thirty-one notes as this player reads them, exists for everybody. ``"fingers"`` exists where the
    library knows how they are found: frets, a trombone's slide, a keyboard, a bowed string, a voice.
    """
    found = {"notes": PlayersPage("written_notes", f"{player.slug}-notes-of-31.pdf", {"instrument": player.name})}
    if fingers := _fingers(player):
        exhibit, ending, knobs = fingers
        found["fingers"] = PlayersPage(exhibit, f"{player.slug}-{ending}-of-31.pdf", knobs)
    return found


def _fingers(player: Instrument) -> tuple[str, str, dict[str, Any]] | None:
    if player.name in PLAYERS:
        return "familiar_notes", "familiar-notes", {"player": player.name}
    if player.name == "piano":
        return "key_grid", "keys", {}
    others: dict[str, tuple[str, str, dict[str, Any]]] = {
        "guitar": ("fretboard", "fretboard", {"strings": "guitar"}),
        "bass guitar": ("fretboard", "fretboard", {"strings": "bass guitar", "scale": _BASS_SCALE, "string": 4}),
        "trombone": ("slide", "slide", {}),
    }
    return others.get(player.name)
