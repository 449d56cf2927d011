"""How the pressure of a vessel falls while it leaks through a hole by choked flow and nothing is fed.

Closed forms at constant temperature and without any heat taken up; the truth lies between the two. Valid
while the flow is choked: into a vacuum for ever, else until the pressures are at ``critical_ratio``.
"""

from __future__ import annotations

import math

from console.physics.leak import LeakingGas, choked_factor


def time_constant_s(
    gas: LeakingGas,
    volume_m3: float,
    area_m2: float,
    temperature_k: float,
    discharge_coefficient: float = 1.0,
) -> float:
    """Time in which a vessel that kept its first leak would be empty: what it holds over what it loses.

    tau = m / m' = V / (Cd A c R sqrt(T)), with V the volume m3, A the hole m2, Cd its discharge coefficient,
    R the gas constant J/(kg K), T the temperature K and c ``choked_factor``.

    Source: ideal gas and choked flow. Valid for an ideal gas.

    Raises:
        ValueError: a volume, an area, a temperature or a coefficient that is not above 0.

    >>> from console.physics.leak import AIR
    >>> round(time_constant_s(AIR, 10.0, 1e-4, 293.15))
    503
    """
    if not min(volume_m3, area_m2, temperature_k, discharge_coefficient) > 0.0:
        raise ValueError(
            f"{volume_m3} m^3 through {area_m2} m^2 at {temperature_k} K, coefficient "
            f"{discharge_coefficient}; give numbers above 0"
        )
    opening = discharge_coefficient * area_m2 * choked_factor(gas)
    return volume_m3 / (opening * gas.gas_constant_j_per_kg_k * math.sqrt(temperature_k))


def isothermal_pressure_pa(start_pa: float, elapsed_s: float, constant_s: float) -> float:
    """Pressure after a time, at constant temperature.

    p = p_0 exp(-t / tau), with p_0 the pressure Pa at first, t the time s and tau ``time_constant_s``.

    Source: mass balance with a leak in proportion to pressure. Valid for a slow leak, which the vessel keeps
    warm.

    >>> round(isothermal_pressure_pa(101325.0, 503.5, 503.5))
    37275
    """
    return start_pa * math.exp(-elapsed_s / constant_s)


def isothermal_time_s(start_pa: float, end_pa: float, constant_s: float) -> float:
    """Time in which the pressure falls from one to another, at constant temperature.

    t = tau ln(p_0 / p), symbols, source and range as in ``isothermal_pressure_pa``.

    Raises:
        ValueError: the pressures do not fall, or end at 0 or below, which takes for ever.

    >>> round(isothermal_time_s(2.0, 1.0, 503.5), 1)
    349.0
    """
    _check_falls(start_pa, end_pa)
    return constant_s * math.log(start_pa / end_pa)


def isentropic_pressure_pa(
    start_pa: float, elapsed_s: float, constant_s: float, heat_capacity_ratio: float
) -> float:
    """Pressure after a time, where the gas that stays takes up no heat.

    p = p_0 (1 + (g - 1) t / (2 tau))^(-2 g / (g - 1)), with g the ratio of heat capacities and tau
    ``time_constant_s`` at the first temperature.

    Source: mass balance with choked flow and T = T_0 (p / p_0)^((g - 1) / g). Valid for a leak so fast that
    the walls warm nothing; the gas cools as it goes.

    >>> round(isentropic_pressure_pa(101325.0, 262.0, 503.5, 1.4) / 101325.0, 3)
    0.5
    """
    g = heat_capacity_ratio
    widening = 1.0 + (g - 1.0) * elapsed_s / (2.0 * constant_s)
    return float(start_pa * widening ** (-2.0 * g / (g - 1.0)))


def isentropic_time_s(start_pa: float, end_pa: float, constant_s: float, heat_capacity_ratio: float) -> float:
    """Time in which the pressure falls from one to another, where the gas that stays takes up no heat.

    t = 2 tau / (g - 1) ((p_0 / p)^((g - 1) / (2 g)) - 1), symbols as in ``isentropic_pressure_pa``.

    Raises:
        ValueError: the pressures do not fall, or end at 0 or below.

    >>> round(isentropic_time_s(2.0, 1.0, 503.5, 1.4))
    262
    """
    _check_falls(start_pa, end_pa)
    g = heat_capacity_ratio
    rise = (start_pa / end_pa) ** ((g - 1.0) / (2.0 * g)) - 1.0
    return float(2.0 * constant_s / (g - 1.0) * rise)


def _check_falls(start_pa: float, end_pa: float) -> None:
    if not 0.0 < end_pa <= start_pa:
        raise ValueError(f"from {start_pa:g} to {end_pa:g} Pa; give a pressure above 0 that is not higher")
