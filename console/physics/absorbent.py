"""How much CO2 a sorbent can take: at the very most, as person-hours say, as what is let through says.

Stoichiometry is a ceiling against which an input is checked; what a cartridge takes comes from whoever made
or measured it, and is only carried over here, never estimated beyond what was stated.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from console.errors import EnduranceError
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


class OutletRangeError(EnduranceError, ValueError):
    """A capacity was asked for at an outlet pressure for which none was stated; the text says the range."""


def capacity_at_outlet_kg(pairs: Sequence[tuple[float, float]], outlet_pa: float) -> float:
    """CO2 that a cartridge takes before more than a stated partial pressure of it comes through.

    C(p) = C_i + (C_j - C_i)(p - p_i)/(p_j - p_i) between the neighbours i and j of the stated pairs
    (p in Pa, C in kg).

    Source: interpolation between stated figures. Valid between the first and the last pair: how much more a
    cartridge would take at a higher outlet is not known to anybody who did not measure it.

    Raises:
        OutletRangeError: outside that range, or no number.
        ValueError: fewer than two pairs, outlets that do not rise, or capacities that fall while they do.

    >>> round(capacity_at_outlet_kg([(500.0, 2.4), (1000.0, 3.1)], 750.0), 3)
    2.75
    """
    if len(pairs) < 2:
        raise ValueError(f"{len(pairs)} pairs of outlet and capacity; give two or more")
    for (low_pa, low_kg), (high_pa, high_kg) in pairwise(pairs):
        if not (low_pa < high_pa and 0.0 < low_kg <= high_kg):
            raise ValueError(
                f"{low_kg:g} kg at {low_pa:g} Pa and {high_kg:g} kg at {high_pa:g} Pa: "
                "outlets must rise, and a cartridge takes no less at a higher one"
            )
    for (low_pa, low_kg), (high_pa, high_kg) in pairwise(pairs):
        if low_pa <= outlet_pa <= high_pa:
            return low_kg + (high_kg - low_kg) * (outlet_pa - low_pa) / (high_pa - low_pa)
    raise OutletRangeError(
        f"capacity at an outlet of {outlet_pa:g} Pa: stated from {pairs[0][0]:g} to {pairs[-1][0]:g} Pa only"
    )


def person_hours_capacity_kg(person_hours_s: float, person_rate_kg_per_s: float) -> float:
    """Mass of CO2 behind a capacity that is stated as time for one person.

    C = t m', with t the time s for which the cartridge serves one person and m' the CO2 kg/s of the person
    meant by whoever stated it.

    Source: arithmetic. Valid for the rate that was meant and no other: a cartridge of 60 person-hours lasts
    people who work harder than that for less time, which the mass says and the hours do not.

    Raises:
        ValueError: a time or a rate that is not above 0 and finite.

    >>> round(person_hours_capacity_kg(60 * 3600.0, 1.08 / 86400.0), 3)
    2.7
    """
    for said, value in (("person-hours", person_hours_s), ("rate of a person", person_rate_kg_per_s)):
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{said} of {value:g} in SI; give one above 0")
    return person_hours_s * person_rate_kg_per_s
