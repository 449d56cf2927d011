"""Things that stray about their mean and come back to it: for the simulated craft alone."""

from __future__ import annotations

import math

import numpy as np

from console.feed.simulated_draws import Floats, Normals


class Wander:
    """Values that stray about zero, each by itself.

    x(t + dt) = a x(t) + s sqrt(1 - a²) n with a = exp(-dt / tau), s the standard deviation, tau the time in
    which a stray value has come back by two thirds, and n a standard normal draw: the exact step of an
    Ornstein-Uhlenbeck process, so that it may be of any length.

    Args:
        count: how many values.
        sd: their standard deviation.
        tau_s: how soon they come back.
        random: where the draws come from.
    """

    def __init__(self, count: int, sd: float, tau_s: float, random: Normals) -> None:
        self._sd = sd
        self._tau_s = tau_s
        self._random = random
        self._values: Floats = sd * random.standard_normal(count)

    @property
    def values(self) -> Floats:
        """Where they are now."""
        return self._values

    @property
    def factors(self) -> Floats:
        """What to multiply a mean by: never below zero, and 1 on average."""
        factors: Floats = np.exp(self._values - 0.5 * self._sd**2)
        return factors

    def step(self, dt_s: float) -> None:
        """Let some time go by."""
        keep = math.exp(-dt_s / self._tau_s)
        draws = self._random.standard_normal(len(self._values))
        self._values = keep * self._values + (self._sd * math.sqrt(1.0 - keep * keep)) * draws
