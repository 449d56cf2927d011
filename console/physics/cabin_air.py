"""The air of a well-mixed cabin, gas by gas, as ideal gases at one temperature.

Partial pressures in Pa. At cabin conditions an ideal gas is within 0.1 % for oxygen and nitrogen and 0.6 %
for carbon dioxide and vapour; a temperature that drifts by 1 K moves every partial pressure by 0.34 %.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    GAS_CONSTANT_J_PER_MOL_K,
    NITROGEN_GAS_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
    STANDARD_ATMOSPHERE_PA,
    WATER_KG_PER_MOL,
)
from console.physics.first_order import Floats

MMHG_PA: Final = STANDARD_ATMOSPHERE_PA / 760.0
"""A millimetre of mercury, as the torr: 133.322 Pa."""
VAPOUR_IN_THE_AIRWAYS_PA: Final = 47.0 * MMHG_PA
"""Water vapour in inspired air once it is warmed to the body's 37 °C (NASA-STD-3001 volume 2)."""


def pressure_per_kg_pa(kg_per_mol: float, temperature_k: Floats | float, volume_m3: float) -> Floats:
    """Partial pressure that a kilogram of a gas makes in a volume.

    p = m R T / (M V), with m in kg, R the gas constant J/(mol K), T in K, M in kg/mol, V in m3.

    Source: ideal gas law. Valid for the gases of a cabin as the module says.

    >>> round(float(pressure_per_kg_pa(0.044009, 293.15, 16.0)), 1)
    3461.5
    """
    result: Floats = np.asarray(
        GAS_CONSTANT_J_PER_MOL_K * np.asarray(temperature_k, dtype=float) / (kg_per_mol * volume_m3)
    )
    return result


def air_kg(
    oxygen_pa: Floats | float,
    carbon_dioxide_pa: Floats | float,
    rest_pa: Floats | float,
    vapour_pa: Floats | float,
    temperature_k: Floats | float,
    volume_m3: float,
) -> Floats:
    """Mass of the cabin's air; the rest counts as nitrogen.

    m = (V / (R T)) sum of M_i p_i, with the symbols of ``pressure_per_kg_pa``. Source and range: as there.

    >>> round(float(air_kg(21_225.0, 40.0, 79_100.0, 960.0, 293.15, 16.0)), 2)
    19.13
    """
    weighted = (
        np.asarray(oxygen_pa) * OXYGEN_GAS_KG_PER_MOL
        + np.asarray(carbon_dioxide_pa) * CARBON_DIOXIDE_KG_PER_MOL
        + np.asarray(rest_pa) * NITROGEN_GAS_KG_PER_MOL
        + np.asarray(vapour_pa) * WATER_KG_PER_MOL
    )
    result: Floats = volume_m3 * weighted / (GAS_CONSTANT_J_PER_MOL_K * np.asarray(temperature_k))
    return result


def leak_per_s(leak_kg_per_s: Floats | float, cabin_air_kg: Floats | float) -> Floats:
    """The share of the cabin's air that leaks in a second, of each gas alike.

    k = m' / m, with m' the leak kg/s and m the air kg at the same moment.

    Source: mass balance of a well-mixed volume. A leak in proportion to pressure keeps k while the mixture
    and its temperature stay; the mean molar mass of cabin air moves k by some 2 % between pure oxygen and
    air, which is left out. No air leaks nothing: 0.

    >>> round(float(leak_per_s(1e-5, 20.0)) * 86400, 4)
    0.0432
    """
    air = np.asarray(cabin_air_kg, dtype=float)
    result: Floats = np.where(air > 0.0, leak_kg_per_s / np.where(air > 0.0, air, 1.0), 0.0)
    return result


def removal_per_s(flow_m3_per_s: float, efficiency_fraction: float, volume_m3: float) -> float:
    """The share of the cabin's carbon dioxide that the absorbent takes in a second.

    r = F e / V, with F the stream m3/s, e the share of its CO2 that stays in the absorbent, V the volume m3.

    Source: mass balance of a well-mixed volume with a filter in a loop (common practice, no source). Valid
    while the absorbent is not spent.

    >>> round(1 / removal_per_s(0.5 / 60, 0.9, 16.0) / 60, 1)
    35.6
    """
    return flow_m3_per_s * efficiency_fraction / volume_m3


def inspired_oxygen_pa(oxygen_pa: Floats | float, pressure_pa: Floats | float) -> Floats:
    """Partial pressure of oxygen in the airways, where vapour has taken its place.

    pi = (P - 47 mmHg) pO2 / P, with P the whole pressure and pO2 that of oxygen, Pa.

    Source: NASA-STD-3001 volume 2 (read at second hand). A whole pressure of 47 mmHg or less leaves room for
    no oxygen: 0.

    >>> round(float(inspired_oxygen_pa(160 * MMHG_PA, 760 * MMHG_PA)) / MMHG_PA, 1)
    150.1
    """
    whole = np.asarray(pressure_pa, dtype=float)
    room = np.clip(whole - VAPOUR_IN_THE_AIRWAYS_PA, 0.0, None)
    result: Floats = room * oxygen_pa / np.where(whole > 0.0, whole, 1.0)
    return result
