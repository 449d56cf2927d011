"""The equation of state of Lee and Kesler (1975) in reduced quantities, for fluids well above critical.

Pressure, temperature and volume are over their critical values, so nothing here knows a fluid by name.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Column:
    """One column of Table 1 of Lee and Kesler (1975)."""

    b: tuple[float, float, float, float]
    c: tuple[float, float, float, float]
    d: tuple[float, float]
    beta: float
    gamma: float


_SIMPLE: Final = _Column(
    b=(0.1181193, 0.265728, 0.154790, 0.030323),
    c=(0.0236744, 0.0186984, 0.0, 0.042724),
    d=(0.155488e-4, 0.623689e-4),
    beta=0.65392,
    gamma=0.060167,
)
_REFERENCE: Final = _Column(
    b=(0.2026579, 0.331511, 0.027655, 0.203488),
    c=(0.0313385, 0.0503618, 0.016901, 0.041577),
    d=(0.48736e-4, 0.0740336e-4),
    beta=1.226,
    gamma=0.03754,
)
_REFERENCE_ACENTRIC_FACTOR: Final = 0.3978
"""Of n-octane, the reference fluid."""

_STEPS: Final = 60
"""Enough for bisection alone to reach the last digit of a float; Newton needs 4 or 5."""


def reduced_compressibility(
    reduced_pressure: float, reduced_temperature: float, acentric_factor: float
) -> float:
    """How far a fluid departs from the ideal gas, Z = p V / (n R T), by corresponding states.

    Z = Z0 + (w / w_r)(Zr - Z0), with w the acentric factor, w_r = 0.3978, and Z0 and Zr those of the simple
    and of the reference fluid, each from
    p_r v_r / T_r = 1 + B/v_r + C/v_r^2 + D/v_r^5 + c4/(T_r^3 v_r^2) (beta + gamma/v_r^2) exp(-gamma/v_r^2),
    B = b1 - b2/T_r - b3/T_r^2 - b4/T_r^3, C = c1 - c2/T_r + c3/T_r^3, D = d1 + d2/T_r,
    with p_r and T_r the pressure and temperature over their critical values, and v_r the reduced volume.

    Source: Lee and Kesler, AIChE J. 21(3), 1975, Table 1 (read at second hand, in several transcriptions that
    agree). Used here for T_r of 1.4 to 2.8 and p_r up to 9, where there is one root and Z stays above 0.78.
    Nothing is checked: outside, a wrong root may be found, and the caller, who knows the fluid, must refuse.
    At no pressure Z is exactly 1.

    >>> round(reduced_compressibility(1.0, 2.0, 0.0), 4)
    0.9754
    """
    simple = _compressibility(_SIMPLE, reduced_pressure, reduced_temperature)
    reference = _compressibility(_REFERENCE, reduced_pressure, reduced_temperature)
    return simple + acentric_factor / _REFERENCE_ACENTRIC_FACTOR * (reference - simple)


def reduced_compressibilities(
    reduced_pressures: Floats, reduced_temperatures: Floats, acentric_factor: float
) -> Floats:
    """``reduced_compressibility`` of many states at once, to 1e-12 in its range; arrays of one shape."""
    simple = _compressibilities(_SIMPLE, reduced_pressures, reduced_temperatures)
    reference = _compressibilities(_REFERENCE, reduced_pressures, reduced_temperatures)
    mixed: Floats = simple + acentric_factor / _REFERENCE_ACENTRIC_FACTOR * (reference - simple)
    return mixed


_NEWTON_STEPS: Final = 8
"""From the ideal density on, so far above critical; five reach the last digit."""


def _compressibilities(column: _Column, pressures: Floats, t: Floats) -> Floats:
    b1, b2, b3, b4 = column.b
    c1, c2, c3, c4 = column.c
    d1, d2 = column.d
    cube = t * t * t
    b, c, d = b1 - b2 / t - b3 / (t * t) - b4 / cube, c1 - c2 / t + c3 / cube, d1 + d2 / t
    scale, beta, gamma = c4 / cube, column.beta, column.gamma
    ideal = pressures / t
    density = ideal.copy()
    for _ in range(_NEWTON_STEPS):
        square = density * density
        fading = scale * np.exp(-gamma * square)
        shape = beta + gamma * square
        fifth = d * square * square * density
        value = density * (1.0 + b * density + square * (c + fading * shape) + fifth)
        bend = fading * (3.0 * shape + 2.0 * gamma * square * (1.0 - shape))
        slope = 1.0 + 2.0 * b * density + square * (3.0 * c + bend) + 6.0 * fifth
        density = density - (value - ideal) / slope
    return np.divide(ideal, density, out=np.ones_like(ideal), where=ideal > 0.0)


def _compressibility(column: _Column, reduced_pressure: float, reduced_temperature: float) -> float:
    """Z of one of the two fluids: Newton's steps in the reduced density 1/v_r, kept inside a bracket."""
    if reduced_pressure == 0.0:
        return 1.0
    terms = _terms_at(column, reduced_temperature)
    ideal_density = reduced_pressure / reduced_temperature
    low, high = 0.0, 2.0 * ideal_density  # Z stays above 0.5 so far above critical
    density = ideal_density
    for _ in range(_STEPS):
        excess, slope = _pressure_over_temperature(terms, density)
        miss = excess - ideal_density
        low, high = (low, density) if miss > 0.0 else (density, high)
        following = density - miss / slope if slope > 0.0 else high
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - density) <= 1e-13 * density:
            break
        density = following
    return ideal_density / following


_Terms = tuple[float, float, float, float, float, float]


def _terms_at(column: _Column, t: float) -> _Terms:
    """B, C, D, c4/T_r^3, beta and gamma at one reduced temperature."""
    b1, b2, b3, b4 = column.b
    c1, c2, c3, c4 = column.c
    d1, d2 = column.d
    cube = t * t * t
    return (
        b1 - b2 / t - b3 / (t * t) - b4 / cube,
        c1 - c2 / t + c3 / cube,
        d1 + d2 / t,
        c4 / cube,
        column.beta,
        column.gamma,
    )


def _pressure_over_temperature(terms: _Terms, density: float) -> tuple[float, float]:
    """p_r / T_r at one reduced density, and its slope there."""
    b, c, d, scale, beta, gamma = terms
    square = density * density
    fading = scale * math.exp(-gamma * square)
    shape = beta + gamma * square
    fifth = d * square * square * density
    value = density * (1.0 + b * density + square * (c + fading * shape) + fifth)
    slope = (
        1.0
        + 2.0 * b * density
        + square * (3.0 * c + fading * (3.0 * shape + 2.0 * gamma * square * (1.0 - shape)))
        + 6.0 * fifth
    )
    return value, slope
