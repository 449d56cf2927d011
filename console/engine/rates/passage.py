"""When use that will vary by chance is through with what is left: first passage of a drifting random walk.

Level and rate are drawn from a fit beforehand; this adds the chance of the time to come.
"""

from __future__ import annotations

import math

import numpy as np

from console.engine.draws import Floats


def passage_times_s(
    left_si: Floats, rates_si_per_s: Floats, walk_si_per_root_s: float, normals: Floats, choosing: Floats
) -> Floats:
    """When what is left is gone, one for each draw; infinite where the rate is not above 0.

    Inverse Gaussian with mean L / r and shape L² / s²: with y = z², m the mean and l the shape,
    x = m + m² y / (2 l) - m / (2 l) sqrt(4 m l y + m² y²), or m² / x with the probability x / (m + x).

    Source: Michael, Schucany and Haas, Am. Stat. 30 (1976) (from memory).

    Args:
        left_si: L, what is left, (draws,).
        rates_si_per_s: r, how fast it is used, (draws,).
        walk_si_per_root_s: s, the standard deviation of use in a second, growing with the root of time.
        normals: z, standard normal draws, (draws,).
        choosing: standard normal draws for the choice of the two, (draws,).

    >>> passage_times_s(np.array([6.0]), np.array([2.0]), 0.0, np.array([1.0]), np.array([0.0])).tolist()
    [3.0]
    """
    falls = (rates_si_per_s > 0.0) & (left_si > 0.0)
    mean = np.where(falls, left_si / np.where(falls, rates_si_per_s, 1.0), 1.0)
    if walk_si_per_root_s == 0.0:
        found = mean
    else:
        shape = np.where(falls, left_si / walk_si_per_root_s, 1.0) ** 2
        # phi = m y / (2 l): the smaller root as a quotient, which does not cancel.
        phi = 0.5 * mean * normals**2 / shape
        smaller = mean / (1.0 + phi + np.sqrt(phi * (2.0 + phi)))
        below = np.array([0.5 * math.erfc(-each / math.sqrt(2.0)) for each in choosing.tolist()])
        found = np.where(below <= mean / (mean + smaller), smaller, mean**2 / smaller)
    return np.where(left_si > 0.0, np.where(falls, found, np.inf), 0.0)


def walk_of_wander(sd_si_per_s: float, tau_s: float) -> float:
    """The random walk, amount per root of a second, that straying use comes to over much longer than tau.

    The integral of an Ornstein-Uhlenbeck process of variance v has the variance 2 v tau t for t >> tau.
    """
    return sd_si_per_s * math.sqrt(2.0 * tau_s)
