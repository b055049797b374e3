"""Which timbre plays what: an instrument or voice by its family, and the voices of a sheet or a tune."""

from __future__ import annotations

from tunelib.arrange import BASS, CHORDS, COMP, COUNT, MELODY
from tunelib.pitch import Instrument
from tunelib.sound.timbre import TIMBRES, Timbre, timbre
from tunelib.sound.voice import vowel_timbre

_OF_FAMILY = {
    "flute": "flute",
    "reed": "reed",
    "brass": "brass",
    "organ": "organ",
    "bowed": "bowed",
    "plucked": "plucked",
    "struck": "struck string",
}
_UNEVEN_FAMILIES = ("plucked", "struck")  # die away within the bar, or have stretched partials
_OF_TUNE = {MELODY: "reed", CHORDS: "organ", COMP: "plucked", BASS: "plucked", COUNT: "tick"}


def timbre_for(instrument: Instrument) -> Timbre:
    """The timbre nearest to an instrument or voice: by its family, and a clarinet's for clarinets.

    A voice sings the vowel of "hod", with the formants of men's or women's speech, as suits its range.
    """
    if instrument.family == "voice":
        return vowel_timbre("hod", "women" if instrument.range_hz[1] > 450 else "men")
    if "clarinet" in instrument.name:
        return TIMBRES["clarinet"]
    return TIMBRES[_OF_FAMILY[instrument.family]]


def has_even_sound(instrument: Instrument) -> bool:
    """Whether an instrument holds a note as long as it likes, with harmonics that are exact multiples."""
    return instrument.family not in _UNEVEN_FAMILIES


def play_along_timbres(player: Instrument | None) -> dict[str, Timbre]:
    """The timbres of the voices of a sheet's score; for a band if there is no one player."""
    guide = timbre_for(player) if player and has_even_sound(player) else timbre("organ")
    return {"count": timbre("tick"), "guide": guide, "player": guide, "drone": timbre("bowed")}


def tune_timbres() -> dict[str, Timbre]:
    """The timbres of the voices of a tune's scores; those of its notes have exact harmonics."""
    return {voice: timbre(name) for voice, name in _OF_TUNE.items()}
