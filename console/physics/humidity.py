"""Water vapour in air: how much there can be, and how hot it makes the air feel.

Works on floats and on arrays of samples alike. What a person can bear is not in here; limits come from the
documents that a scenario names.
"""

from __future__ import annotations

from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from console.physics.constants import ZERO_CELSIUS_K

Floats = NDArray[np.float64]

_CRITICAL_K: Final = 647.096
_CRITICAL_PA: Final = 22.064e6
_TERMS: Final = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
"""Coefficients and exponents of the saturation line of water."""

LARGEST_STEP_K: Final = 1.5
"""No switch inside the heat index makes it step by more: 2.6 °F (computed on a fine grid)."""


@overload
def saturation_pressure_pa(temperature_k: float) -> float: ...
@overload
def saturation_pressure_pa(temperature_k: Floats) -> Floats: ...
def saturation_pressure_pa(temperature_k: float | Floats) -> float | Floats:
    """Pressure of water vapour over liquid water: the most that air at this temperature can hold.

    ln(p / pc) = (Tc / T) (a1 x + a2 x^1.5 + a3 x^3 + a4 x^3.5 + a5 x^4 + a6 x^7.5), x = 1 - T / Tc, with p in
    Pa and T in K, Tc 647.096 K, pc 22.064 MPa.

    Source: Wagner and Pruss, J. Phys. Chem. Ref. Data 22, 783 (1993), the IAPWS saturation line (coefficients
    from memory; checked against IAPWS-95). Valid 273.16 to 647.096 K, within 0.03 % of IAPWS-95 up to 60 °C;
    below 0 °C it goes on smoothly as over water that has not frozen. Outside 230 to 647 K the value at the
    end is given.

    >>> round(saturation_pressure_pa(293.15), 1)
    2339.2
    """
    temperature = np.clip(np.asarray(temperature_k, dtype=float), 230.0, _CRITICAL_K)
    x = 1.0 - temperature / _CRITICAL_K
    root = np.sqrt(x)
    a1, a2, a3, a4, a5, a6 = (coefficient for coefficient, _ in _TERMS)
    # The powers of _TERMS by products, because a general power costs ten times as much over many samples.
    cube = x * x * x
    line = a1 * x + a2 * x * root + a3 * cube + a4 * cube * root + a5 * cube * x + a6 * cube * cube * x * root
    pressure: Floats = _CRITICAL_PA * np.exp(_CRITICAL_K / temperature * line)
    return pressure if isinstance(temperature_k, np.ndarray) else float(pressure)


@overload
def apparent_temperature_k(temperature_k: float, humidity_fraction: float) -> float: ...
@overload
def apparent_temperature_k(temperature_k: Floats, humidity_fraction: Floats) -> Floats: ...
def apparent_temperature_k(
    temperature_k: float | Floats, humidity_fraction: float | Floats
) -> float | Floats:
    """How hot air feels: the heat index of the US National Weather Service.

    With T in °F and R the relative humidity in %: first S = (T + 0.5 (T + 61 + 1.2 (T - 68) + 0.094 R)) / 2;
    where S is 80 or more, the regression of Rothfusz in T and R instead, less ((13 - R) / 4) sqrt((17 - |T -
    95|) / 17) where R < 13 and 80 <= T <= 112, plus ((R - 85) / 10) ((87 - T) / 5) where R > 85 and 80 <= T
    <= 87.

    Source: www.wpc.ncep.noaa.gov/html/heatindex_equation.shtml (read), after Rothfusz, NWS SR 90-23 (1990),
    and Steadman, J. Appl. Meteorol. 18 (1979). For people in the shade and a light wind; about 1.3 °F from
    Steadman's figures. Valid from about 80 °F up to what NWS's chart holds (110 °F at 40 %, 90 °F at 100 %);
    beyond it in humid air the regression runs ever further above the air's temperature, which is early, and
    above 112 °F in dry air the air's own temperature is taken where that is higher. At its switches it steps
    by up to 2.6 °F. A humidity outside 0 to 1 counts as the end.

    >>> round((apparent_temperature_k(305.372, 0.70) - 273.15) * 1.8 + 32, 1)
    105.9
    """
    temperature_f = (np.asarray(temperature_k, dtype=float) - ZERO_CELSIUS_K) * 1.8 + 32.0
    percent = 100.0 * np.clip(np.asarray(humidity_fraction, dtype=float), 0.0, 1.0)
    index_f = np.where(
        _is_warm(temperature_f, percent),
        _rothfusz_f(temperature_f, percent) - _dry_adjustment_f(temperature_f, percent),
        _simple_f(temperature_f, percent),
    )
    index_f = np.where(temperature_f > 112.0, np.maximum(index_f, temperature_f), index_f)
    index_k: Floats = (index_f - 32.0) / 1.8 + ZERO_CELSIUS_K
    return index_k if isinstance(temperature_k, np.ndarray) else float(index_k)


def apparent_ceiling_k(temperature_k: Floats, humidity_fraction: Floats) -> Floats:
    """A bound that the apparent temperature does not pass at any lower temperature and humidity.

    The larger of what the heat index gives there without its lowering adjustment, the air's temperature
    above 112 °F, and its simple form, which it uses only up to 80 °F.

    Source: the parts of ``apparent_temperature_k``, each of which rises with temperature and humidity (by
    inspection on a fine grid, 60 to 160 °F). Valid as that is.
    """
    temperature_f = (temperature_k - ZERO_CELSIUS_K) * 1.8 + 32.0
    percent = 100.0 * np.clip(humidity_fraction, 0.0, 1.0)
    simple = _simple_f(temperature_f, percent)
    regression = _rothfusz_f(temperature_f, percent)
    warm = np.where(temperature_f > 112.0, np.maximum(regression, temperature_f), regression)
    bound_f = np.where(simple >= 80.0, np.maximum(warm, 80.0), simple)
    result: Floats = (bound_f - 32.0) / 1.8 + ZERO_CELSIUS_K
    return result


def _is_warm(temperature_f: Floats, percent: Floats) -> NDArray[np.bool_]:
    """Whether the heat index goes by its regression there, and not by its simple form."""
    warm: NDArray[np.bool_] = _simple_f(temperature_f, percent) >= 80.0
    return warm


def _rothfusz_f(temperature_f: Floats, percent: Floats) -> Floats:
    """The regression of Rothfusz with the adjustment that raises it in humid air, °F."""
    t, r = temperature_f, percent
    constant = -42.379 + t * (2.04901523 - 0.00683783 * t)
    linear = 10.14333127 + t * (-0.22475541 + 0.00122874 * t)
    square = -0.05481717 + t * (0.00085282 - 0.00000199 * t)
    is_humid = (r > 85.0) & (t >= 80.0) & (t <= 87.0)
    humid = np.where(is_humid, (r - 85.0) / 10.0 * (87.0 - t) / 5.0, 0.0)
    result: Floats = constant + r * (linear + r * square) + humid
    return result


def _simple_f(temperature_f: Floats, percent: Floats) -> Floats:
    simple = 0.5 * (temperature_f + 61.0 + (temperature_f - 68.0) * 1.2 + percent * 0.094)
    averaged: Floats = 0.5 * (simple + temperature_f)
    return averaged


def _dry_adjustment_f(temperature_f: Floats, percent: Floats) -> Floats:
    is_dry = (percent < 13.0) & (temperature_f >= 80.0) & (temperature_f <= 112.0)
    width = np.sqrt(np.clip(17.0 - np.abs(temperature_f - 95.0), 0.0, None) / 17.0)
    result: Floats = np.where(is_dry, (13.0 - percent) / 4.0 * width, 0.0)
    return result
