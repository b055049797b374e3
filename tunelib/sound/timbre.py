"""Timbres: which partials a tone has, how strong each is, and how it begins and fades.

A timbre here is a recipe for partials, so a tone of it has an exact spectrum that a figure can draw and an ear can
hear. The four textbook waveforms are exact (up to the highest partial that is kept). The rest are caricatures,
called flute-like, brass-like and so on: one or two traits of a family of instruments and no more. What each takes
from its family is said beside it; its figures were set by hand, and sources named there are for
the trait, from memory.

Strings that resist bending have stretched partials, ``f_n = n f_0 sqrt(1 + B n^2)`` (H. Fletcher, "Normal vibration
frequencies of a stiff piano string", J. Acoust. Soc. Am. 36, 1964). The frequency f_0 is taken so that partial 1
sounds at the pitch that was asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tunelib.pitch import FloatArray, look_up, positive_hertz

HIGHEST_PARTIAL_HZ = 20_000.0
MOST_PARTIALS = 4096
SHORTEST_RAMP, LONGEST_RAMP = 0.005, 0.020
INAUDIBLE = 1e-4
MOVEMENTS_A_SECOND = 200  # how often what moves is looked at, where it is written down as a table

Recipe: TypeAlias = Callable[[FloatArray, FloatArray], FloatArray]
"""From the partials' numbers (1, 2, ...) and their frequencies in hertz to one value each."""


def _sine_phase(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return np.zeros_like(hertz)


def _spread_phase(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Phases that grow with the square of the number, so that peaks do not pile up (M. R. Schroeder, IEEE Trans.
    Inf. Theory 16, 1970); by the golden section, so that they do not repeat. They
    are seldom noticed in a steady tone, least of all in a high or a soft one."""
    return np.asarray(math.pi * (math.sqrt(5) - 1) / 2 * number**2)


@dataclass(frozen=True)
class Timbre:
    """A recipe for tones.

    Parameters
    ----------
    name : str
        As it is put in a sentence, such as ``"flute-like"``.
    recipe : callable
        From partial numbers and frequencies (arrays, hertz) to amplitudes, 0 or more.
    phase : callable
        From the same to the phase of each partial's sine at the onset, in radians.
    attack, release : float
        Length in seconds of the raised-cosine ramps, 0.005 to 0.020: long enough not to click, short enough for a
        clear onset. The release follows the note's end.
    ring : float
        Time in seconds in which a partial at 440 Hz falls by 60 dB; infinite for a sustained tone. Other partials
        ring in inverse proportion to the square root of their frequency.
    inharmonicity : float
        Fletcher's B; 0 for exact harmonics.
    unit_power : bool
        Whether amplitudes are scaled until the tone has the power of a sine of amplitude 1, so that timbres can
        be compared, and partials 80 dB below the strongest left out. Off for the textbook waveforms.

    Raises ValueError for a ramp, ring time or inharmonicity out of bounds.
    """

    name: str
    recipe: Recipe
    phase: Recipe = _sine_phase
    attack: float = 0.010
    release: float = 0.015
    ring: float = math.inf
    inharmonicity: float = 0.0
    unit_power: bool = True

    def __post_init__(self) -> None:
        for what, seconds in (("attack", self.attack), ("release", self.release)):
            if not SHORTEST_RAMP <= seconds <= LONGEST_RAMP:
                raise ValueError(f"the {what} of {self.name} lasts 0.005 to 0.020 seconds, not {seconds}")
        if not self.ring > 0:
            raise ValueError(f"{self.name} rings for longer than 0 seconds, not {self.ring}")
        if not 0 <= self.inharmonicity < 0.1:
            raise ValueError(f"the inharmonicity of {self.name} is at least 0 and below 0.1, not {self.inharmonicity}")

    def partials(self, hertz: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The partials of a tone whose partial 1 sounds at `hertz`.

        Returns
        -------
        frequencies : array, in hertz, rising, none above 20 000
        amplitudes : array of the same shape, above 0, at the onset
        decay_seconds : array of the same shape
            Time in which each partial falls by 60 dB; infinite where it does not.

        Only partials that sound are listed, so all three are empty for a fundamental above 20 000 Hz. Raises
        ValueError for a fundamental of zero or less.
        """
        _, frequencies, amplitudes = self._sounding(hertz)
        return frequencies, amplitudes, self.ring * np.sqrt(440.0 / frequencies)

    def numbers(self, hertz: float) -> FloatArray:
        """The number of each of `partials(hertz)`, 1 for the fundamental."""
        return self._sounding(hertz)[0]

    def phases(self, hertz: float) -> FloatArray:
        """Phase in radians at which the sine of each of `partials(hertz)` begins."""
        numbers, frequencies, _ = self._sounding(hertz)
        return self.phase(numbers, frequencies)

    @property
    def moves(self) -> bool:
        """Whether `movement` is more than ones: whether amplitudes change while a note lasts, beside their decay."""
        return False

    def movement(self, hertz: float, seconds: FloatArray) -> FloatArray:
        """Factors on the amplitudes of `partials(hertz)` at times in seconds since the onset.

        The shape is ``(len(seconds), partials)``.
        """
        return np.ones((len(seconds), self.partials(hertz)[0].size))

    def wave(self, seconds: FloatArray, hertz: float, count: int | None = None) -> FloatArray:
        """The waveform at any times, without ramps or decay: what a figure of one or two periods shows.

        Parameters
        ----------
        seconds : array of any shape, 0 at the onset
        hertz : float
            The fundamental.
        count : int, optional
            How many partials to add up, from the lowest; all by default.

        Returns an array of the shape of `seconds`, in the units of the amplitudes.
        """
        frequencies, amplitudes, _ = self.partials(hertz)
        times = np.asarray(seconds, dtype=float)
        angles = 2 * np.pi * times[..., np.newaxis] * frequencies[:count] + self.phases(hertz)[:count]
        return np.asarray(np.sin(angles) @ amplitudes[:count])

    def _sounding(self, hertz: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Numbers, frequencies and amplitudes of the partials that sound."""
        fundamental = float(positive_hertz(hertz, "a fundamental"))
        numbers = np.arange(1.0, min(HIGHEST_PARTIAL_HZ / fundamental, MOST_PARTIALS) + 1)
        stretch = np.sqrt((1 + self.inharmonicity * numbers**2) / (1 + self.inharmonicity))
        frequencies = fundamental * numbers * stretch
        numbers, frequencies = (x[frequencies <= HIGHEST_PARTIAL_HZ] for x in (numbers, frequencies))
        amplitudes = self.recipe(numbers, frequencies)
        floor = INAUDIBLE * amplitudes.max(initial=0.0) if self.unit_power else 0.0
        sounding = amplitudes > floor
        amplitudes = amplitudes[sounding]
        if self.unit_power and amplitudes.size:
            amplitudes = amplitudes / np.sqrt(np.sum(amplitudes**2))
        return numbers[sounding], frequencies[sounding], amplitudes


def mixture(amplitudes: Sequence[float], name: str = "your mixture") -> Timbre:
    """A sustained timbre with these amplitudes of harmonic 1, 2, 3, ..., taken as they are.

    Raises ValueError unless they are finite, 0 or more, and one at least is above 0.

    >>> mixture([1, 0, 0.5]).partials(100)[0]
    array([100., 300.])
    """
    try:
        given = np.asarray(amplitudes, dtype=float)
    except (TypeError, ValueError):
        given = np.empty(0)
    if given.ndim != 1 or not np.all(np.isfinite(given) & (given >= 0)) or not np.any(given > 0):
        raise ValueError(f"a mixture is a list of amplitudes, 0 or more and not all 0, not {amplitudes!r}")

    def recipe(number: FloatArray, hertz: FloatArray) -> FloatArray:
        return np.asarray(np.pad(given, (0, number.size))[: number.size], dtype=np.float64)

    return Timbre(name, recipe, unit_power=False)


# The textbook waveforms, of peak 1: their Fourier series as every textbook has them. Phases are such that each begins
# at zero and rises.


def _sine(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return np.asarray(number == 1, dtype=float)


def _square(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return (number % 2) * 4 / (np.pi * number)


def _sawtooth(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return 2 / (np.pi * number)


def _sawtooth_phase(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return np.pi * ((number + 1) % 2)


def _triangle(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return np.asarray((number % 2) * 8 / (np.pi * number) ** 2)


def _triangle_phase(number: FloatArray, hertz: FloatArray) -> FloatArray:
    return np.pi * ((number // 2) % 2)


# The caricatures.


def _flute(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Few partials, each some 9 dB below the one before."""
    return np.asarray(10.0 ** (-9 * (number - 1) / 20))


def _clarinet(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """A closed pipe favours odd partials, up to the cut-off of its open tone holes, about 1500 Hz (Benade 1976)."""
    above = 1 / (1 + (1500 / hertz) ** 4)
    return np.where(number % 2 == 1, 1.0, 0.03 + 0.97 * above) / (number * (1 + (hertz / 1500) ** 2))


def _reed(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """A conical reed: all partials, and a broad crest about 1100 Hz."""
    return (0.25 + np.exp(-0.5 * (np.log2(hertz / 1100) / 0.7) ** 2)) / (np.sqrt(number) * (1 + (hertz / 2500) ** 2))


def _brass(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Level up to a cut-off, steep above it; the lower the note, the lower, as for the bigger instruments
    (after Luce and Clark 1967)."""
    cutoff = 1200 * np.sqrt(hertz / number / 350)
    return np.asarray(1 / (1 + (hertz / cutoff) ** 3))


def _bowed(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Helmholtz's sawtooth motion, amplitudes as 1/n, and the rise about 2500 Hz that the bridge gives a violin."""
    hill = 1 + 1.5 * np.exp(-0.5 * (np.log2(hertz / 2500) / 0.4) ** 2)
    return np.asarray(hill / (number * (1 + (hertz / 5000) ** 4)))


def _plucked(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Force at the bridge of a string plucked at a fifth of its length (no partial 5, 10, ...) by a soft finger."""
    return np.asarray(np.abs(np.sin(np.pi * number / 5)) / number * np.exp(-hertz / 3500) * (number % 5 != 0))


def _struck(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """A string struck at an eighth of its length by a felt hammer."""
    return np.asarray(np.abs(np.sin(np.pi * number / 8)) / number * np.exp(-hertz / 2500) * (number % 8 != 0))


def _organ(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Four ranks of open pipes drawn together, 8 foot, 4 foot, 2 2/3 foot and 2 foot, dull above 5 kHz."""
    ranks = ((1, 1.0), (2, 0.6), (3, 0.35), (4, 0.4))
    together = sum((number % foot == 0) * weight * (number / foot) ** -1.6 for foot, weight in ranks)
    return np.asarray(together * np.exp(-hertz / 5000))


def _tick(number: FloatArray, hertz: FloatArray) -> FloatArray:
    """Three partials that are gone at once: for counting in."""
    return (number <= 3) / number


TIMBRES: dict[str, Timbre] = {
    "sine": Timbre("sine", _sine, unit_power=False),
    "square": Timbre("square", _square, unit_power=False),
    "sawtooth": Timbre("sawtooth", _sawtooth, _sawtooth_phase, unit_power=False),
    "triangle": Timbre("triangle", _triangle, _triangle_phase, unit_power=False),
    "flute": Timbre("flute-like", _flute, _spread_phase, attack=0.020, release=0.020),
    "clarinet": Timbre("clarinet-like", _clarinet, _spread_phase, attack=0.015),
    "reed": Timbre("reed-like", _reed, _spread_phase, attack=0.012),
    "brass": Timbre("brass-like", _brass, _spread_phase, attack=0.018),
    "bowed": Timbre("bowed-like", _bowed, _spread_phase, attack=0.020, release=0.020),
    "plucked": Timbre("plucked-like", _plucked, _spread_phase, attack=0.005, release=0.020, ring=4.0),
    # B of a middle C after R. W. Young, "Inharmonicity of plain wire piano strings", J. Acoust. Soc. Am. 24, 1952.
    "struck string": Timbre(
        "struck-string-like", _struck, _spread_phase, attack=0.005, release=0.020, ring=8.0, inharmonicity=3.5e-4
    ),
    "organ": Timbre("organ-like", _organ, _spread_phase, attack=0.015, release=0.020),
    "tick": Timbre("tick", _tick, attack=0.005, release=0.005, ring=0.12),
}


def timbre(name: str) -> Timbre:
    """The timbre of a name in `TIMBRES`, with or without "-like"; capitals and hyphens do not matter.

    Raises ValueError with the nearest names known.

    >>> timbre("flute-like") is TIMBRES["flute"]
    True
    """
    return look_up(name.removesuffix("like").rstrip("- ") if isinstance(name, str) else name, TIMBRES, "timbre")
