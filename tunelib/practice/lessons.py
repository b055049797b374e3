"""The course in words: its lessons in order, and what each of their steps is about, as the map of the course has it."""

from __future__ import annotations

LESSONS: dict[str, dict[int, str]] = {
    "01 Waves": {
        1: "a wave you can see",
        2: "two waves drift apart: beats",
        3: "shared peaks: octave, twelfth, simple ratios",
    },
    "02 Overtones": {
        4: "multiples of one frequency",
        5: "the same pitch, another recipe: timbre",
        6: "vowels and overtone singing",
        7: "play along with the series: your own sheet",
    },
    "03 Measuring pitch": {
        8: "cents: a ruler for the ear",
        9: "how small a difference can you hear",
        10: "measure yourself: a recording against its target",
    },
    "04 Twelve": {
        11: "twelve equal steps",
        12: "where twelve hits and misses the overtones",
        13: "what a miss sounds like: beating and roughness",
    },
    "05 Other divisions": {
        14: "finer and finer: when the ear gives up, and what it would cost to play",
        15: "scoring every division",
        16: "the trade: accuracy against playability",
    },
    "06 Meantone": {
        17: "four fifths and a third: the syntonic comma",
        18: "tempering by a fraction of the comma",
        19: "the gap: modulate until it howls",
        20: "how many fifths close the circle",
    },
    "07 Thirty-one notes": {
        21: "the map of 31",
        22: "writing and reading them",
        23: "families of intervals: sub-, minor, neutral, major, super-",
        24: "under the fingers: frets, keys, slides",
    },
    "08 Chords": {
        25: "five thirds, five triads",
        26: "sevenths, and the seventh harmonic",
        27: "higher: ninths, elevenths, thirteenths",
        28: "voicing: the same chord, spread and turned",
    },
    "09 Harmony in motion": {
        29: "moving by the smallest step: voice leading",
        30: "going round and coming home: commas, drift and modulation",
        31: "retune a whole tune",
    },
}
