"""Which timbre plays which instrument."""

from __future__ import annotations

from tunelib.pitch.instruments import Instrument
from tunelib.sound.timbre import TIMBRES, Timbre
from tunelib.sound.voice import vowel_timbre

_OF_FAMILY = {
    "flute": "flute",
    "reed": "reed",
    "brass": "brass",
    "bowed": "bowed",
    "plucked": "plucked",
    "struck": "struck string",
}


def timbre_for(instrument: Instrument) -> Timbre:
    """The timbre nearest to an instrument or voice: by its family, and a clarinet's for clarinets.

    A voice sings the vowel of "hod", with the formants of men's or women's speech as its range asks.
    """
    if instrument.family == "voice":
        return vowel_timbre("hod", "women" if instrument.range_hz[1] > 450 else "men")
    if "clarinet" in instrument.name:
        return TIMBRES["clarinet"]
    return TIMBRES[_OF_FAMILY[instrument.family]]
