"""Roughness as a landscape: a ridge that is the true curve, on ground that takes its colour from its height.

The ground is laid in level strata, smooth ones low and dark, rough ones high and bright, and fades out downwards: it
has no floor, since no sound of several notes is quite smooth. Grains in it are as many as the land is rough.
"""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb

from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray

_STRATA = 22
_STOPS = (0, 0, 1, 2)  # of the ramp of roughness, from where the ground has faded out to the top
_GRAINS = 1500  # at the most
_SHAKEN, _SHAKES, _FAR = 18.0, 2.5, 0.05  # cents to either side, times a second, and inches: how the ground shakes
_UNSEEN = -1.0  # where grains wait, below everything


class RoughLand:
    """A landscape on axes whose y is in inches: `places` along it, from `foot`, where it has faded out, to `top`."""

    def __init__(self, axes: Axes, look: Look, places: FloatArray, foot: float, top: float) -> None:
        self._places, self._around = places, np.concatenate([places, places[::-1]])
        self._levels = np.linspace(foot, top, _STRATA + 1)
        stops = np.array([to_rgb(look.theme.rough[stop]) for stop in _STOPS])
        along = np.linspace(0, len(_STOPS) - 1, _STRATA)
        colours = np.stack([np.interp(along, np.arange(len(_STOPS)), channel) for channel in stops.T], axis=1)
        opacity = np.minimum(1, along)
        self.strata = [
            axes.fill([0, 0, 0], [0, 0, 0], color=(*colour, solid), lw=0, antialiased=False)[0]
            for colour, solid in zip(colours.tolist(), opacity.tolist(), strict=True)
        ]
        dice = np.random.default_rng(9)
        self._across = places[0] + (places[-1] - places[0]) * dice.random(_GRAINS)
        self._deep = 0.04 + 0.8 * dice.random(_GRAINS) ** 1.5  # of the way down from the ridge
        self._rank = dice.permutation(_GRAINS) / _GRAINS
        self._foot = foot
        self._turn = 2 * np.pi * dice.random(_GRAINS)  # where in its shaking each is
        self._at_rest = np.full(_GRAINS, _UNSEEN)
        size = look.fit(1.5, 1.7)
        (self.grains,) = axes.plot([], [], "o", ms=size, mec="none", color=look.theme.rough[3], alpha=0.8)
        (self.ridge,) = axes.plot([], [], color=look.theme.ink, lw=2.5, solid_joinstyle="round")

    @property
    def artists(self) -> tuple[Artist, ...]:
        """All that moves, from the back to the front."""
        return (*self.strata, self.grains, self.ridge)

    def shape(self, heights: FloatArray, roughness: FloatArray) -> None:
        """Set its height at each place, in inches, and its grain there: 0 for none, 1 for the most."""
        self.ridge.set_data(self._places, heights)
        for stratum, low, high in zip(self.strata, self._levels, self._levels[1:], strict=False):
            upper = np.clip(heights, low, high)
            stratum.set_xy(np.column_stack([self._around, np.concatenate([upper, np.full_like(upper, low)])]))
        top = np.interp(self._across, self._places, heights)
        shown = self._rank < np.interp(self._across, self._places, roughness)
        self._at_rest = np.where(shown, top - self._deep * (top - self._foot), _UNSEEN)
        self.grains.set_data(self._across, self._at_rest)

    def shake(self, place: float, seconds: float) -> None:
        """Shake the grains under a place, as they are so many seconds after it began to sound."""
        near = np.clip(1 - np.abs(self._across - place) / _SHAKEN, 0, 1)
        swing = near * (np.sin(2 * np.pi * _SHAKES * seconds + self._turn) - np.sin(self._turn))
        self.grains.set_ydata(self._at_rest + _FAR * swing)
