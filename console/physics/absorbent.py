"""How much CO2 a sorbent can take at the very most, and the water it makes while it does.

Stoichiometry only: a ceiling against which an input is checked, never an estimate of what a cartridge gives.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from console.physics.constants import (
    CALCIUM_KG_PER_MOL,
    CARBON_DIOXIDE_KG_PER_MOL,
    HYDROXIDE_KG_PER_MOL,
    LITHIUM_KG_PER_MOL,
    WATER_KG_PER_MOL,
)

_LITHIUM_HYDROXIDE_KG_PER_MOL: Final = LITHIUM_KG_PER_MOL + HYDROXIDE_KG_PER_MOL
_CALCIUM_HYDROXIDE_KG_PER_MOL: Final = CALCIUM_KG_PER_MOL + 2.0 * HYDROXIDE_KG_PER_MOL

CEILING_KG_PER_KG: Final[Mapping[str, float]] = MappingProxyType(
    {
        "lithium_hydroxide": CARBON_DIOXIDE_KG_PER_MOL / (2.0 * _LITHIUM_HYDROXIDE_KG_PER_MOL),
        "calcium_hydroxide": CARBON_DIOXIDE_KG_PER_MOL / _CALCIUM_HYDROXIDE_KG_PER_MOL,
        "soda_lime": CARBON_DIOXIDE_KG_PER_MOL / _CALCIUM_HYDROXIDE_KG_PER_MOL,
    }
)
"""Most CO2 that a kilogram of dry sorbent can bind, kg/kg; no cartridge reaches it.

2 LiOH + CO2 -> Li2CO3 + H2O gives 0.9189, Ca(OH)2 + CO2 -> CaCO3 + H2O gives 0.594. Soda lime is calcium
hydroxide with a little sodium hydroxide and some 15 % water, so pure calcium hydroxide bounds it from above;
in use one grade took 404 L, about 0.28 kg/kg (Harvey, Diving Hyperb Med 46(2), 2016, read at second hand).
Practical capacity is 0.7 to 0.85 of the ceiling for a good bed (from memory).
"""

WATER_KG_PER_KG_CO2: Final = WATER_KG_PER_MOL / CARBON_DIOXIDE_KG_PER_MOL
"""Water made per kilogram of CO2 bound, 0.409 kg/kg: one mole for one mole, in every hydroxide here."""


def ceiling_kg(sorbent: str, sorbent_mass_kg: float) -> float:
    """Most CO2 that a mass of sorbent can bind.

    m_CO2 = c m_s, with c from ``CEILING_KG_PER_KG`` kg/kg and m_s the mass kg of dry sorbent.

    Source: stoichiometry with conventional atomic weights. Valid for sorbents that work as hydroxides; a name
    that ``CEILING_KG_PER_KG`` lacks is a KeyError, because no ceiling may stand in for it.

    >>> round(ceiling_kg("lithium_hydroxide", 3.0), 3)
    2.757
    """
    return CEILING_KG_PER_KG[sorbent] * sorbent_mass_kg


def capacity_is_possible(capacity_kg: float, sorbent: str, sorbent_mass_kg: float) -> bool:
    """Whether a mass of sorbent could bind the CO2 that is claimed for it, at the very most.

    0 <= capacity <= c m_s, symbols as in ``ceiling_kg``.

    Source: ``ceiling_kg``. True says only that chemistry does not forbid it: a real cartridge stops well
    below. What is not a finite number is not possible.

    >>> [capacity_is_possible(claim_kg, "lithium_hydroxide", 3.0) for claim_kg in (2.2, 3.0)]
    [True, False]
    """
    return math.isfinite(sorbent_mass_kg) and 0.0 <= capacity_kg <= ceiling_kg(sorbent, sorbent_mass_kg)


def water_made_kg(carbon_dioxide_kg: float) -> float:
    """Water that a hydroxide makes while it binds a mass of CO2.

    m_w = m_CO2 M_w / M_CO2, in kg, with the molar masses M: one mole of water for one of CO2.

    Source: 2 LiOH + CO2 -> Li2CO3 + H2O; Ca(OH)2 + CO2 -> CaCO3 + H2O. Valid for every sorbent here; part of
    the water stays in the bed, and how much is not in here.

    >>> round(water_made_kg(1.0), 3)
    0.409
    """
    return WATER_KG_PER_KG_CO2 * carbon_dioxide_kg
