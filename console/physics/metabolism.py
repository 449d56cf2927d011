"""What people take from the stores and give off, by what they are doing: published defaults, and their sum.

Defaults only: ``craft.yaml`` may override any of them, and the engine corrects them by what is measured.
Nothing here knows of a cabin, a store or a plan.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from console.craft.model import Activity, PersonRates
from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    MOLAR_VOLUME_AT_0_C_M3_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
    SECONDS_PER_HOUR,
    SECONDS_PER_MINUTE,
)

HEAT_J_PER_KG_OXYGEN: Final = 12.426e6 / 0.895
"""Metabolic heat per kilogram of oxygen used, 13.88 MJ/kg.

12.426 MJ over 0.895 kg per person-day, NASA/TP-2015-218570 Rev 2 (2022) Table 3-31 (read at second hand).
That table's two masses imply a respiratory quotient of 0.881 where it prints 0.860, so heat is reckoned from
oxygen alone, and no check of ours asks that heat, oxygen and carbon dioxide agree with one quotient.
"""


def _from_table(oxygen: float, carbon_dioxide: float, water_vapour: float) -> PersonRates:
    """Rates from a row in 1e-4 kg/min, with heat from oxygen."""
    to_si = 1e-4 / SECONDS_PER_MINUTE
    return PersonRates(
        oxygen_kg_per_s=oxygen * to_si,
        carbon_dioxide_kg_per_s=carbon_dioxide * to_si,
        water_vapour_kg_per_s=water_vapour * to_si,
        heat_w=oxygen * to_si * HEAT_J_PER_KG_OXYGEN,
    )


# NASA/SP-2010-3407, table of crew-induced metabolic loads (from memory, not seen), 1e-4 kg/min.
_ASLEEP: Final = _from_table(3.60, 4.55, 6.30)
_NOMINAL: Final = _from_table(5.68, 7.20, 11.77)
_HEAVY: Final = _from_table(39.4, 49.85, 46.2)
"""Hard exercise: a pace that people hold for minutes, so a phase of it is an upper bound on labour."""


def _water_vapour_between(oxygen_kg_per_s: float) -> float:
    """Water vapour on the line that joins the rows asleep and nominal, by oxygen."""
    span = _NOMINAL.oxygen_kg_per_s - _ASLEEP.oxygen_kg_per_s
    share = (oxygen_kg_per_s - _ASLEEP.oxygen_kg_per_s) / span
    return _ASLEEP.water_vapour_kg_per_s + share * (
        _NOMINAL.water_vapour_kg_per_s - _ASLEEP.water_vapour_kg_per_s
    )


def _resting() -> PersonRates:
    """Awake and still: the highest likely use of resting miners.

    O2 23 L/h and CO2 20 L/h, Bernard et al., Min. Eng. 70(8), 2018 (abstract, read). The litres are taken as
    dry gas at 0 °C and 101.325 kPa (1.428 and 1.963 g/L), the convention of physiology and the heaviest
    reading of them; at 25 °C both would be 8 % less. No figure for water vapour was found: it is interpolated
    by oxygen between asleep and nominal. The heat, 127 W, lies within the 113 to 134 W of that paper.
    """
    mol_per_s_per_l_per_h = 1e-3 / MOLAR_VOLUME_AT_0_C_M3_PER_MOL / SECONDS_PER_HOUR
    oxygen_kg_per_s = 23.0 * mol_per_s_per_l_per_h * OXYGEN_GAS_KG_PER_MOL
    return PersonRates(
        oxygen_kg_per_s=oxygen_kg_per_s,
        carbon_dioxide_kg_per_s=20.0 * mol_per_s_per_l_per_h * CARBON_DIOXIDE_KG_PER_MOL,
        water_vapour_kg_per_s=_water_vapour_between(oxygen_kg_per_s),
        heat_w=oxygen_kg_per_s * HEAT_J_PER_KG_OXYGEN,
    )


DEFAULT_PERSON_RATES: Final[Mapping[Activity, PersonRates]] = MappingProxyType(
    {
        Activity.ASLEEP: _ASLEEP,
        Activity.REST: _resting(),
        Activity.NOMINAL: _NOMINAL,
        Activity.HEAVY: _HEAVY,
    }
)
"""One person's rates by activity, for use where the scenario gives none.

Marks: asleep, nominal and heavy are from memory; rest was read at second hand; all heat is reckoned from
oxygen. A powered-down cabin can be lower: three people in a cold one used 0.21 lb/h of oxygen together
(NASA MSC-02680 section 6.7), 93 % of three times nominal.
"""


def crew_rates(roster: Mapping[Activity, int], rates: Mapping[Activity, PersonRates]) -> PersonRates:
    """What the whole crew takes and gives: the sum over its people.

    total = sum of n_a * r_a over activities a, with n_a people in activity a at the rates r_a each.

    Source: arithmetic; the rates carry their own source. Valid for any roster; an empty one gives zero, and
    an activity that ``rates`` lacks is a KeyError, because no rate may stand in for it.

    >>> watch = crew_rates({Activity.ASLEEP: 2, Activity.NOMINAL: 2}, DEFAULT_PERSON_RATES)
    >>> round(watch.oxygen_kg_per_s * 3600, 4)
    0.1114
    """
    people = [(count, rates[activity]) for activity, count in roster.items()]
    return PersonRates(
        oxygen_kg_per_s=math.fsum(count * person.oxygen_kg_per_s for count, person in people),
        carbon_dioxide_kg_per_s=math.fsum(count * person.carbon_dioxide_kg_per_s for count, person in people),
        water_vapour_kg_per_s=math.fsum(count * person.water_vapour_kg_per_s for count, person in people),
        heat_w=math.fsum(count * person.heat_w for count, person in people),
    )
