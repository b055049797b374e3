"""What stands out of a spectrum."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.pitch import FloatArray

_PEAK, _TONAL = 0.02, 8.0  # of the strongest peak's amplitude; times the median about it
_AROUND = 20  # bins to either side


def spectral_peaks(spectrum: FloatArray, bin_hertz: float) -> tuple[FloatArray, FloatArray]:
    """Frequencies and magnitudes of what stands out of a spectrum of magnitudes, whose first bin is at 0 Hz."""
    middle = spectrum[1:-1]
    padded = np.pad(spectrum, _AROUND, mode="reflect")
    around = np.median(sliding_window_view(padded, 2 * _AROUND + 1), axis=1)[1:-1]
    tops = (middle > spectrum[:-2]) & (middle >= spectrum[2:])
    tops &= (middle > _PEAK * spectrum.max(initial=0.0)) & (middle > _TONAL * around)
    at = np.flatnonzero(tops) + 1
    left, here, right = (np.log(spectrum[at + side] + 1e-300) for side in (-1, 0, 1))
    shift = 0.5 * (left - right) / np.minimum(left - 2 * here + right, -1e-12)
    return (at + np.clip(shift, -0.5, 0.5)) * bin_hertz, spectrum[at]
