"""Sound: timbres, the singing voice, rendering a score to samples, and audio files.

Samples are float64 arrays in which 1 is full scale (0 dBFS). Nothing here plays a sound by itself.
"""

from tunelib.sound.audio import (
    HIGHEST_RATE,
    open_recording,
    read_audio,
    render_to,
    save_recording,
    wav_bytes,
    write_wav,
    write_wav_blocks,
)
from tunelib.sound.decoder import find_ffmpeg
from tunelib.sound.demo_takes import (
    DEMO_FUNDAMENTAL,
    DEMO_GAP_SECONDS,
    DEMO_HARMONICS,
    DEMO_NOTE_SECONDS,
    DEMO_TAKES,
    FIVE_NOTES,
)
from tunelib.sound.follow import MOMENTS_A_SECOND, Moment, chord_of, follow
from tunelib.sound.levels import REFERENCE_LOUDNESS, expected_loudness, reference_gain
from tunelib.sound.limiter import SAMPLE_RATE, limit, limited
from tunelib.sound.loudness import at_loudness, loudness, true_peak
from tunelib.sound.players import has_even_sound, play_along_timbres, timbre_for, tune_timbres
from tunelib.sound.render import HEADROOM, USUAL_PEAK_DBFS, Rendering, check_bends, check_gain, render, timbre_of
from tunelib.sound.resampled import resampled
from tunelib.sound.timbre import MOVEMENTS_A_SECOND, TIMBRES, Timbre, mixture, timbre
from tunelib.sound.voice import SPEAKERS, VOWEL_WORDS, VOWELS, OvertoneSinger, overtone_singer, vowel, vowel_timbre

__all__ = [
    "DEMO_FUNDAMENTAL",
    "DEMO_GAP_SECONDS",
    "DEMO_HARMONICS",
    "DEMO_NOTE_SECONDS",
    "DEMO_TAKES",
    "FIVE_NOTES",
    "HEADROOM",
    "HIGHEST_RATE",
    "MOMENTS_A_SECOND",
    "MOVEMENTS_A_SECOND",
    "REFERENCE_LOUDNESS",
    "SAMPLE_RATE",
    "SPEAKERS",
    "TIMBRES",
    "USUAL_PEAK_DBFS",
    "VOWELS",
    "VOWEL_WORDS",
    "Moment",
    "OvertoneSinger",
    "Rendering",
    "Timbre",
    "at_loudness",
    "check_bends",
    "check_gain",
    "chord_of",
    "expected_loudness",
    "find_ffmpeg",
    "follow",
    "has_even_sound",
    "limit",
    "limited",
    "loudness",
    "mixture",
    "open_recording",
    "overtone_singer",
    "play_along_timbres",
    "read_audio",
    "reference_gain",
    "render",
    "render_to",
    "resampled",
    "save_recording",
    "timbre",
    "timbre_for",
    "timbre_of",
    "true_peak",
    "tune_timbres",
    "vowel",
    "vowel_timbre",
    "wav_bytes",
    "write_wav",
    "write_wav_blocks",
]
