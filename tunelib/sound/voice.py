"""The singing voice: vowels as a source and a filter, and a singer of overtones.

The vibrating vocal folds give every harmonic, each weaker than the one before; the vocal tract lets some through
better than others. Its resonances, the formants, make the vowel, and they stay where they are when the pitch moves
(G. Fant, *Acoustic Theory of Speech Production*, 1960). What is taken from where:

* the first three formants: G. E. Peterson and H. L. Barney, "Control methods used in a study of the vowels",
  J. Acoust. Soc. Am. 24, 1952, Table II, the means of 33 men, 28 women and 15 children;
* their bandwidths: J. W. Hawks and J. D. Miller, "A formant bandwidth estimation procedure for vowel synthesis",
  J. Acoust. Soc. Am. 97, 1995, at the speakers' mean pitch;
* formants 4 to 8: those of a plain tube of 17.5 cm, closed at the folds, moved for women and children as their third
  formants are (the usual textbook model);
* the source: the airflow falls by 12 dB an octave and the mouth radiates 6 dB an octave better towards the treble, so
  the harmonics fall by 6 dB an octave (common practice in speech synthesis).

An overtone singer moves the second and the third formant together until they meet on one harmonic, which then stands
out as a whistle over the drone (C. Bergevin and others, "Overtone focusing in biphonic Tuvan throat singing", eLife
9:e50476, 2020; J. Sundberg, B. Lindblom and A.-M. Hefele, Acoustics Today 17(1), 2021; G. Bloothooft and others, J.
Acoust. Soc. Am. 92, 1992). The filter is linear: nothing is added that the folds do not give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tunelib.pitch import FloatArray, positive_hertz
from tunelib.sound.timbre import HIGHEST_PARTIAL_HZ, INAUDIBLE, Timbre

SPEAKERS = ("men", "women", "children")

# Word, sign, then F1, F2, F3 of men/women/children and F0 of each in hertz, and the levels of the three formants in
# dB, one set for all speakers.
_TABLE_II = """
heed  | i | 270/310/370  | 2290/2790/3200 | 3010/3310/3730 | 136/235/272 | -4 -24 -28
hid   | ɪ | 390/430/530  | 1990/2480/2730 | 2550/3070/3600 | 135/232/269 | -3 -23 -27
head  | ɛ | 530/610/690  | 1840/2330/2610 | 2480/2990/3570 | 130/223/260 | -2 -17 -24
had   | æ | 660/860/1010 | 1720/2050/2320 | 2410/2850/3320 | 127/210/251 | -1 -12 -22
hod   | ɑ | 730/850/1030 | 1090/1220/1370 | 2440/2810/3170 | 124/212/256 | -1 -5 -28
hawed | ɔ | 570/590/680  | 840/920/1060   | 2410/2710/3180 | 129/216/263 | 0 -7 -34
hood  | ʊ | 440/470/560  | 1020/1160/1410 | 2240/2680/3310 | 137/232/276 | -1 -12 -34
who'd | u | 300/370/430  | 870/950/1170   | 2240/2670/3260 | 141/231/274 | -3 -19 -43
hud   | ʌ | 640/760/850  | 1190/1400/1590 | 2390/2780/3360 | 130/221/261 | -1 -10 -27
heard | ɝ | 490/500/560  | 1350/1640/1820 | 1690/1960/2160 | 133/218/261 | -5 -15 -20
"""


@dataclass(frozen=True)
class Vowel:
    """A row of Peterson and Barney's Table II for one group of speakers: the mean of its measurements.

    Parameters
    ----------
    word : str
        The word that was read, such as ``"heed"``.
    ipa : str
        The vowel's sign in the International Phonetic Alphabet.
    speaker : str
        One of `SPEAKERS`.
    formants_hz : tuple of three float
    pitch_hz : float
        The pitch at which the word was read.
    levels_db : tuple of three float
        Level of each formant; the table has one set for all speakers.
    """

    word: str
    ipa: str
    speaker: str
    formants_hz: tuple[float, float, float]
    pitch_hz: float
    levels_db: tuple[float, float, float]


def _read_table() -> dict[tuple[str, str], Vowel]:
    found = {}
    for line in _TABLE_II.strip().splitlines():
        word, ipa, *columns, levels = (cell.strip() for cell in line.split("|"))
        first, second, third, pitch = ([float(x) for x in column.split("/")] for column in columns)
        level_1, level_2, level_3 = map(float, levels.split())
        for i, speaker in enumerate(SPEAKERS):
            formants = (first[i], second[i], third[i])
            found[word, speaker] = Vowel(word, ipa, speaker, formants, pitch[i], (level_1, level_2, level_3))
    return found


VOWELS: dict[tuple[str, str], Vowel] = _read_table()
"""Every vowel by its word and speaker, such as ``VOWELS["heed", "men"]``."""

VOWEL_WORDS: tuple[str, ...] = tuple(dict.fromkeys(word for word, _ in VOWELS))


def vowel(word: str, speaker: str = "men") -> Vowel:
    """The vowel of a word for men, women or children.

    Raises ValueError with the words or speakers there are.

    >>> vowel("heed").formants_hz
    (270.0, 2290.0, 3010.0)
    """
    if speaker not in SPEAKERS:
        raise ValueError(f"a vowel is sung by one of {', '.join(SPEAKERS)}, not by {speaker!r}")
    plain = word.strip().lower().replace("’", "'") if isinstance(word, str) else word
    if (plain, speaker) not in VOWELS:
        raise ValueError(f"no vowel has the key word {word!r}; there are {', '.join(VOWEL_WORDS)}")
    return VOWELS[plain, speaker]


def formant_bandwidth(formant_hz: Any, pitch_hz: float = 132.0) -> FloatArray:
    """Bandwidth of a formant in hertz after Hawks and Miller 1995: two polynomials that join at 500 Hz within 1 Hz.

    `formant_hz` is an array of any shape. The fit is taken up to 5000 Hz and held above. Raises ValueError for
    frequencies of zero or less.
    """
    formant = np.minimum(positive_hertz(formant_hz, "a formant"), 5000.0)
    low = np.polynomial.Polynomial(
        [165.327516, -6.73636734e-1, 1.80874446e-3, -4.52201682e-6, 7.49514000e-9, -4.70219241e-12]
    )
    high = np.polynomial.Polynomial(
        [15.8146139, 8.10159009e-2, -9.79728215e-5, 5.28725064e-8, -1.07099364e-11, 7.91528509e-16]
    )
    scale = 1 + 0.25 * (float(positive_hertz(pitch_hz, "a pitch")) - 132) / 88
    return np.asarray(scale * np.where(formant < 500, low(formant), high(formant)))


def _higher_formants(speaker: str) -> FloatArray:
    """Formants 4 to 8 of a plain tube as long as these speakers' third formants say; 17.5 cm for men."""

    def third(group: str) -> float:
        return float(np.mean([VOWELS[word, group].formants_hz[2] for word in VOWEL_WORDS]))

    speed_of_sound, length = 350.0, 0.175
    scale = third(speaker) / third("men")
    return np.asarray((2 * np.arange(4, 9) - 1) * speed_of_sound / (4 * length) * scale)


@dataclass(frozen=True)
class Tract:
    """A vocal tract as its resonances: centre frequencies and bandwidths in hertz, in cascade."""

    formants_hz: tuple[float, ...]
    bandwidths_hz: tuple[float, ...]

    def transfer(self, hertz: Any) -> Any:
        """The complex transfer at frequencies of any shape: 1 at 0 Hz, each formant a pair of poles (Fant 1960)."""
        frequency = np.asarray(hertz, dtype=float)
        result = np.ones(frequency.shape, dtype=complex)
        for centre, bandwidth in zip(self.formants_hz, self.bandwidths_hz, strict=True):
            result *= _resonance(frequency, centre, bandwidth)
        return result


def _resonance(hertz: FloatArray, centre: float, bandwidth: float) -> Any:
    """Transfer of one formant."""
    squared = centre**2 + (bandwidth / 2) ** 2
    return squared / (squared - hertz**2 + 1j * hertz * bandwidth)


@dataclass(frozen=True, kw_only=True)
class VowelTimbre(Timbre):
    """A timbre that sings a vowel, made by `vowel_timbre`.

    Parameters
    ----------
    vowel : Vowel
    tract : Tract
    """

    vowel: Vowel
    tract: Tract

    def envelope_db(self, hertz: Any) -> FloatArray:
        """What the vocal tract does to a harmonic at any frequencies (hertz, any shape), in dB; 0 dB towards 0 Hz."""
        return np.asarray(20 * np.log10(np.abs(self.tract.transfer(hertz))))


def vowel_timbre(word: str, speaker: str = "men") -> VowelTimbre:
    """A voice on one vowel, at any pitch.

    Parameters
    ----------
    word : str
        One of `VOWEL_WORDS`: the word that has the vowel, such as ``"heed"``.
    speaker : str
        One of `SPEAKERS`, whose formants are taken.

    Raises ValueError for an unknown word or speaker.
    """
    found = vowel(word, speaker)
    formants = np.concatenate((found.formants_hz, _higher_formants(speaker)))
    return _voiced(found, Tract(tuple(formants), tuple(formant_bandwidth(formants, found.pitch_hz))))


def _voiced(found: Vowel, tract: Tract) -> VowelTimbre:
    def recipe(number: FloatArray, hertz: FloatArray) -> FloatArray:
        return np.asarray(np.abs(tract.transfer(hertz)) / number)

    def phase(number: FloatArray, hertz: FloatArray) -> FloatArray:
        return np.asarray(np.angle(tract.transfer(hertz)))

    name = f"voice on /{found.ipa}/ as in {found.word}"
    return VowelTimbre(name, recipe, phase, attack=0.020, release=0.020, vowel=found, tract=tract)


GAP_HZ = 40.0
"""How far apart the second and the third formant stay when they meet: "a few tens of hertz" (Sundberg and others)."""


@dataclass(frozen=True, kw_only=True)
class OvertoneSinger(VowelTimbre):
    """A steady drone over which a narrow resonance walks from harmonic to harmonic, made by `overtone_singer`.

    Parameters
    ----------
    base : Tract
        The vocal tract at the vowel from which the singer sets out; `tract` is the one at the onset.
    fundamental : float
        The drone in hertz.
    melody : tuple of (seconds, harmonic)
        When, since the onset, the resonance sets out for which multiple of the fundamental.
    focus : float
        From 0, the vowel as it is spoken, to 1, second and third formant met on the harmonic.
    glide : float
        How long in seconds the resonance takes to its next harmonic.
    """

    base: Tract
    fundamental: float
    melody: tuple[tuple[float, float], ...]
    focus: float
    glide: float

    def harmonic(self, seconds: Any) -> FloatArray:
        """The multiple of the fundamental that the resonance is at, at times of any shape since the onset."""
        return np.asarray(np.exp2(self._walked(np.log2([harmonic for _, harmonic in self.melody]), seconds)))

    def _walked(self, values: FloatArray, seconds: Any) -> FloatArray:
        """One value for each note of the melody, and a smooth way from each to the next, at times since the onset."""
        times = np.asarray(seconds, dtype=float)
        found = np.full(times.shape, values[0])
        for (start, _), leap in zip(self.melody[1:], np.diff(values), strict=True):
            found += leap * (0.5 - 0.5 * np.cos(np.pi * np.clip((times - start) / self.glide, 0, 1)))
        return found

    def envelope_db(self, hertz: Any, seconds: float = 0.0) -> FloatArray:
        """What the vocal tract does to a harmonic at any frequencies (hertz, any shape), at one time, in dB."""
        frequency = np.asarray(hertz, dtype=float)
        return np.asarray(
            20 * np.log10(self._gain(frequency.ravel(), self.harmonic([seconds])).reshape(frequency.shape))
        )

    @property
    def moves(self) -> bool:
        """Whether the resonance walks at all."""
        return len(self.melody) > 1

    def movement(self, hertz: float, seconds: FloatArray) -> FloatArray:
        """Factors on the amplitudes of `partials(hertz)` as the resonance walks; see `Timbre.movement`.

        Every note of the melody has the same power, and no moment between has more: a singer who walks up would
        otherwise fade by as much as 18 dB.
        """
        numbers, frequencies, _ = self._sounding(hertz)
        resting = self._gain(frequencies, np.array([harmonic for _, harmonic in self.melody])) / numbers
        power = np.sum(resting**2, axis=1)
        walking = self._gain(frequencies, self.harmonic(seconds)) / numbers
        even = np.exp(0.5 * self._walked(np.log(power[0] / power), seconds))
        highest = np.sqrt(power[0] / np.sum(walking**2, axis=1))
        return np.asarray(np.minimum(even, highest)[:, np.newaxis] * walking / resting[0])

    def _gain(self, frequencies: FloatArray, harmonics: FloatArray) -> FloatArray:
        """Amplitude of the transfer, shape (harmonics, frequencies), with the resonance at these harmonics."""
        gain = np.abs(_without_second_and_third(self.base).transfer(frequencies))
        for centre in _met(self.base, harmonics[:, np.newaxis] * self.fundamental, self.focus):
            bandwidth = formant_bandwidth(centre, self.vowel.pitch_hz)
            squared = centre**2 + (bandwidth / 2) ** 2
            # The magnitude of `_resonance` without complex numbers: this runs 1500 times a second of sound.
            gain = gain * squared / np.sqrt((squared - frequencies**2) ** 2 + (frequencies * bandwidth) ** 2)
        return np.asarray(gain)

    def _sounding(self, hertz: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """As every timbre's, of unit power, but with all that sounds at any moment of the walk."""
        numbers, frequencies, amplitudes = super()._sounding(hertz)
        heights = [harmonic for _, harmonic in self.melody]
        passed = np.geomspace(min(heights), max(heights), 64) if len(heights) > 1 else np.array(heights)
        strengths = self._gain(frequencies, np.asarray(passed)) / numbers
        sounding = strengths.max(axis=0, initial=0.0) > INAUDIBLE * strengths.max(initial=0.0)
        amplitudes = amplitudes[sounding]
        return numbers[sounding], frequencies[sounding], amplitudes / np.sqrt(np.sum(amplitudes**2))


def _met(base: Tract, target: FloatArray, focus: float) -> tuple[FloatArray, FloatArray]:
    """Second and third formant on their way (in octaves) from a vowel's to a target in hertz."""
    meeting = (target - GAP_HZ / 2, target + GAP_HZ / 2)
    second, third = (
        np.asarray(spoken ** (1 - focus) * met**focus)
        for spoken, met in zip(base.formants_hz[1:3], meeting, strict=True)
    )
    return second, third


def _without_second_and_third(tract: Tract) -> Tract:
    return Tract(tract.formants_hz[:1] + tract.formants_hz[3:], tract.bandwidths_hz[:1] + tract.bandwidths_hz[3:])


def overtone_singer(
    base_vowel: str,
    melody: Sequence[tuple[float, float]],
    fundamental: float,
    focus: float = 1.0,
    speaker: str = "men",
    glide: float = 0.12,
) -> OvertoneSinger:
    """A singer of overtones whose resonance walks through a melody of harmonics while a drone is held.

    Parameters
    ----------
    base_vowel : str
        One of `VOWEL_WORDS`, whose first formant is kept; "who'd" and "hood" let the harmonics stand out well.
    melody : list of (seconds, harmonic)
        Times since the onset, the first 0 and each later than the one before, and the multiple of the fundamental to
        which the resonance moves then. Not necessarily whole: between two harmonics neither stands out.
    fundamental : float
        The drone in hertz, for which the resonance is aimed. Render a note of this pitch with it.
    focus : float
        From 0 (the vowel) to 1 (second and third formant met).
    speaker : str
        One of `SPEAKERS`.
    glide : float
        Time in seconds from one harmonic to the next, 0.02 to 5.

    Raises ValueError for a value out of these bounds, or a resonance above 20 000 Hz or at `GAP_HZ` or below.
    """
    aim = float(positive_hertz(fundamental, "a fundamental"))
    try:
        steps = tuple((float(seconds), float(harmonic)) for seconds, harmonic in melody)
    except (TypeError, ValueError):
        raise ValueError(
            f"a melody is a list of (seconds, harmonic), such as [(0, 8), (0.5, 9)], not {melody!r}"
        ) from None
    times = np.array([seconds for seconds, _ in steps])
    if not steps or times[0] != 0 or not np.all(np.isfinite(times)) or np.any(np.diff(times) <= 0):
        raise ValueError(f"a melody of harmonics begins at 0 seconds and goes forward in time, not at {times.tolist()}")
    for _, harmonic in steps:
        if not GAP_HZ < harmonic * aim <= HIGHEST_PARTIAL_HZ:
            raise ValueError(
                f"a resonance at {harmonic:g} times {aim:g} Hz is out of bounds: "
                f"it must be above {GAP_HZ:g} Hz and at most {HIGHEST_PARTIAL_HZ:g} Hz"
            )
    if not 0 <= focus <= 1:
        raise ValueError(f"the focus must be from 0 (spoken vowel) to 1 (formants met), not {focus}")
    if not 0.02 <= glide <= 5:
        raise ValueError(f"a glide from one harmonic to the next takes 0.02 to 5 seconds, not {glide}")
    spoken = vowel_timbre(base_vowel, speaker)
    second, third = _met(spoken.tract, np.array(steps[0][1] * aim), focus)
    formants = (spoken.tract.formants_hz[0], float(second), float(third), *spoken.tract.formants_hz[3:])
    at_onset = _voiced(spoken.vowel, Tract(formants, tuple(formant_bandwidth(formants, spoken.vowel.pitch_hz))))
    return OvertoneSinger(
        f"overtone {at_onset.name}",
        at_onset.recipe,
        at_onset.phase,
        attack=at_onset.attack,
        release=at_onset.release,
        unit_power=False,
        vowel=spoken.vowel,
        tract=at_onset.tract,
        base=spoken.tract,
        fundamental=aim,
        melody=steps,
        focus=float(focus),
        glide=float(glide),
    )
