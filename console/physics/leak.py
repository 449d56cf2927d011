"""What leaks: in proportion to pressure, or through a hole of known area by the flow of an ideal gas.

A rate at one state of what lies upstream. How that state falls while it leaks is in ``blowdown``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from console.craft.model import Fluid
from console.physics.constants import (
    DRY_AIR_KG_PER_MOL,
    GAS_CONSTANT_J_PER_MOL_K,
    NITROGEN_GAS_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class LeakingGas:
    """What the flow of a gas through a hole goes by."""

    kg_per_mol: float
    heat_capacity_ratio: float
    """Heat capacity at constant pressure over that at constant volume."""

    @property
    def gas_constant_j_per_kg_k(self) -> float:
        """Of a kilogram of it."""
        return GAS_CONSTANT_J_PER_MOL_K / self.kg_per_mol


DIATOMIC_HEAT_CAPACITY_RATIO: Final = 1.4
"""7/5, of a gas of two atoms that turns and does not vibrate (kinetic theory); oxygen at 300 K has 1.395."""

AIR: Final = LeakingGas(kg_per_mol=DRY_AIR_KG_PER_MOL, heat_capacity_ratio=DIATOMIC_HEAT_CAPACITY_RATIO)
"""Dry air; stands for any mixture of oxygen and nitrogen: its flow lies between theirs."""

LEAKING_GASES: Final = {
    Fluid.OXYGEN: LeakingGas(
        kg_per_mol=OXYGEN_GAS_KG_PER_MOL, heat_capacity_ratio=DIATOMIC_HEAT_CAPACITY_RATIO
    ),
    Fluid.NITROGEN: LeakingGas(
        kg_per_mol=NITROGEN_GAS_KG_PER_MOL, heat_capacity_ratio=DIATOMIC_HEAT_CAPACITY_RATIO
    ),
}


def leak_kg_per_s(
    leak_at_reference_kg_per_s: float, cabin_pressure_pa: float, reference_pressure_pa: float
) -> float:
    """The leak at the present pressure, from the leak at the pressure at which it was rated.

    m' = m'_ref p / p_ref, with m' the mass rate kg/s and p the absolute pressure Pa of the cabin or vessel.

    Source: flow through small openings into vacuum is choked, and choked flow is in proportion to the
    pressure upstream at one temperature (common practice, no source). Valid into vacuum, or into an outside
    pressure below about half that upstream; nearer to the outside pressure the true leak is less. The part of
    temperature, 1/sqrt(T), is left out: some 2 % over 10 K. A pressure of 0 or below leaks nothing: 0.

    Raises:
        ValueError: the reference pressure is not above 0.

    >>> leak_kg_per_s(1e-5, 17250.0, 34500.0)
    5e-06
    """
    if not reference_pressure_pa > 0.0:
        raise ValueError(
            f"a leak rated at {reference_pressure_pa} Pa; give the pressure above 0 at which it was rated"
        )
    return leak_at_reference_kg_per_s * max(cabin_pressure_pa, 0.0) / reference_pressure_pa


def critical_ratio(heat_capacity_ratio: float) -> float:
    """Pressure outside over pressure upstream at and below which the flow through a hole is choked.

    r* = (2 / (g + 1))^(g / (g - 1)), with g the ratio of heat capacities.

    Source: isentropic flow of an ideal gas, any textbook of gas dynamics (from memory). Valid for g above 1.

    >>> round(critical_ratio(1.4), 4)
    0.5283
    """
    g = heat_capacity_ratio
    return float((2.0 / (g + 1.0)) ** (g / (g - 1.0)))


def choked_factor(gas: LeakingGas) -> float:
    """What choked flow is multiplied by, sqrt(K) s/m: m' = c A p / sqrt(T).

    c = sqrt(g / R) (2 / (g + 1))^((g + 1) / (2 (g - 1))), with g the ratio of heat capacities and R the gas
    constant J/(kg K) of the gas.

    Source: as ``critical_ratio``; 0.04042 for air, Higgins. Valid for an ideal gas.

    >>> round(choked_factor(AIR), 4)
    0.0404
    """
    g = gas.heat_capacity_ratio
    narrowing = (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))
    return math.sqrt(g / gas.gas_constant_j_per_kg_k) * float(narrowing)


def hole_kg_per_s(
    gas: LeakingGas,
    area_m2: float,
    pressure_pa: float,
    temperature_k: float,
    outside_pa: float = 0.0,
    discharge_coefficient: float = 1.0,
) -> float:
    """What a hole of known area lets out at one state of the gas before it.

    Choked, p_out / p <= r*: m' = Cd c A p / sqrt(T). Above: m' = Cd A p sqrt(2 g / ((g - 1) R T)
    (r^(2/g) - r^((g + 1)/g))) with r = p_out / p; the two meet at r*. A is the area m2, p and T the pressure
    Pa and the temperature K upstream at rest, Cd the discharge coefficient, c ``choked_factor``.

    Source: isentropic flow of an ideal gas; Cd is 1 for the most that can pass, near 0.6 for a hole with
    sharp edges (common practice, no source). Valid for an ideal gas. Of compressed gas
    more flows: of oxygen at 300 K 7.5 % more from 15 MPa and 13 % from 30 MPa, at 250 K 27 % from 30 MPa, of
    nitrogen less than half of that excess (CoolProp 8.0.0); a coefficient of 1 covers it for all but smooth
    nozzles. Outside at or above the pressure upstream nothing leaves: 0.

    Raises:
        ValueError: an area below 0, a temperature not above 0, a coefficient outside (0, 1].

    >>> round(hole_kg_per_s(AIR, 1e-4, 101325.0, 293.15), 5)
    0.02392
    """
    if not area_m2 >= 0.0:
        raise ValueError(f"a hole of {area_m2} m^2; give an area of 0 or more")
    if not temperature_k > 0.0:
        raise ValueError(f"gas at {temperature_k} K; give a temperature above 0")
    if not 0.0 < discharge_coefficient <= 1.0:
        raise ValueError(f"a discharge coefficient of {discharge_coefficient}; give one in (0, 1]")
    if pressure_pa <= max(outside_pa, 0.0):
        return 0.0
    g, ratio = gas.heat_capacity_ratio, max(outside_pa, 0.0) / pressure_pa
    flux = choked_factor(gas) * pressure_pa / math.sqrt(temperature_k)
    if ratio > critical_ratio(g):
        expansion = ratio ** (2.0 / g) - ratio ** ((g + 1.0) / g)
        flux = pressure_pa * math.sqrt(
            2.0 * g / ((g - 1.0) * gas.gas_constant_j_per_kg_k * temperature_k) * expansion
        )
    return discharge_coefficient * area_m2 * flux
