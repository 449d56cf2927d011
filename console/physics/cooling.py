"""Cooling by evaporating water: how much water a heat costs.

Water fed as liquid and vented as vapour; what the craft does with the heat before that is not in here.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import Final

from console.errors import EnduranceError
from console.physics.constants import ZERO_CELSIUS_K

_LATENT_HEAT: Final = tuple(
    (celsius + ZERO_CELSIUS_K, kilojoules_per_kg * 1e3)
    for celsius, kilojoules_per_kg in (
        (0.01, 2500.91),
        (5.0, 2489.04),
        (10.0, 2477.19),
        (20.0, 2453.52),
        (25.0, 2441.68),
        (30.0, 2429.81),
        (50.0, 2381.95),
        (100.0, 2256.40),
    )
)
"""Kelvin and J/kg; computed from IAPWS-95 (Wagner and Pruss, J. Phys. Chem. Ref. Data 31, 2002)."""
_TEMPERATURES_K: Final = tuple(temperature_k for temperature_k, _ in _LATENT_HEAT)

LOWEST_FEED_TEMPERATURE_K: Final = _TEMPERATURES_K[0]
"""The triple point of water, 0.01 °C."""
HIGHEST_FEED_TEMPERATURE_K: Final = _TEMPERATURES_K[-1]
"""100 °C."""


class FeedTemperatureError(EnduranceError, ValueError):
    """Water cannot be fed as a liquid at this temperature, or its latent heat is not known there."""


def latent_heat_j_per_kg(temperature_k: float) -> float:
    """Heat that a kilogram of liquid water takes up as it becomes vapour at one temperature.

    L(T) = L_i + (L_j - L_i)(T - T_i)/(T_j - T_i) between the neighbours i and j of a table, J/kg and K.

    Source: IAPWS-95, computed at eight temperatures. Valid 0.01 to 100 °C. Between the points the line lies
    at most 0.061 % under the equation (near 77 °C) and nowhere 0.001 % over it: it errs toward more water.
    Outside the range the answer is refused.

    Raises:
        FeedTemperatureError: outside that range, or not a number.

    >>> round(latent_heat_j_per_kg(278.15))
    2489040
    """
    if not LOWEST_FEED_TEMPERATURE_K <= temperature_k <= HIGHEST_FEED_TEMPERATURE_K:
        raise FeedTemperatureError(
            f"water fed at {temperature_k:.2f} K: its latent heat is known from "
            f"{LOWEST_FEED_TEMPERATURE_K:.2f} to {HIGHEST_FEED_TEMPERATURE_K:.2f} K only"
        )
    upper = min(bisect_right(_TEMPERATURES_K, temperature_k), len(_LATENT_HEAT) - 1)
    (cold_k, cold), (warm_k, warm) = _LATENT_HEAT[upper - 1], _LATENT_HEAT[upper]
    return cold + (warm - cold) * (temperature_k - cold_k) / (warm_k - cold_k)


def water_for_heat_kg_per_s(heat_w: float, feed_temperature_k: float) -> float:
    """Water that carries a heat away when it is fed as liquid and vented as vapour.

    m' = Q / L(T), with m' the water kg/s, Q the heat W and L the latent heat J/kg at the feed temperature T
    in K. A sublimator freezes its water on the way; the heat this gives off is what the ice takes up again,
    so the same holds for it (common practice, no source).

    Source: energy balance with ``latent_heat_j_per_kg``, whose range is the valid one. The vapour is taken to
    leave at the feed temperature; water that escapes as liquid or ice cools nothing and is not in here. No
    heat, or heat lost elsewhere (below 0), needs no water: 0.

    Raises:
        FeedTemperatureError: the feed temperature lies outside 0.01 to 100 °C.

    >>> round(water_for_heat_kg_per_s(1000.0, 278.15) * 3600, 3)
    1.446
    """
    return max(heat_w, 0.0) / latent_heat_j_per_kg(feed_temperature_k)
