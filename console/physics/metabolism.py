"""What people take from the stores and give off, by what they are doing: published defaults, and their sum.

Defaults only, for a person of no stated size or of a stated one: ``craft.yaml`` may override any of them, and
the engine corrects them by what is measured. Nothing here knows of a cabin, a store or a plan.
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
from console.physics.cooling import latent_heat_j_per_kg

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


MET_W_PER_M2: Final = 58.2
"""Heat of a person who sits quietly, by body surface: 1 met (ASHRAE 55, from memory)."""

MET_BY_ACTIVITY: Final[Mapping[Activity, float]] = MappingProxyType(
    {Activity.ASLEEP: 0.7, Activity.REST: 1.0, Activity.NOMINAL: 1.6, Activity.HEAVY: 4.0}
)
"""Heat of a person by activity, met.

Sleeping 0.7, seated quiet 1.0 and heavy machine work 4.0 are of ASHRAE 55's table of typical tasks, read at
second hand (a public list of it). Standing, light work, 1.6, is of ISO 7730 table B.1 (from memory);
ASHRAE 55 has 1.4 for filing while standing and 1.7 for walking about, on either side of it.
"""

BODY_RESPIRATORY_QUOTIENT: Final = 0.85
"""Of a mixed diet: what ISO 8996 uses where it is not measured (from memory)."""

LATENT_HEAT_FRACTION: Final = 6.118 / 12.426
"""Share of a person's heat that leaves as water vapour, 0.492: a day's mean, NASA/TP-2015-218570 Rev 2 (2022)
Table 3-31 (read at second hand). Asleep in a cool cabin it is less, at hard work more."""

SKIN_TEMPERATURE_K: Final = 303.15
"""At which that water evaporates, 30 °C; five degrees of it are half a percent of the latent heat."""

DEFAULT_BODY_MASS_INDEX_KG_PER_M2: Final = 25.0
"""By which a height is reckoned from a body mass where none is given: our own choice."""


def respiratory_quotient(rates: PersonRates) -> float:
    """Moles of carbon dioxide given off for each mole of oxygen used.

    RQ = (m_CO2 / M_CO2) / (m_O2 / M_O2), with the mass rates m kg/s and the molar masses M kg/mol.

    Source: definition. From 0.7 (fat) to 1.0 (carbohydrate) for a person over hours; above 1 for minutes of
    hard work.

    Raises:
        ValueError: no oxygen is used.

    >>> round(respiratory_quotient(DEFAULT_PERSON_RATES[Activity.NOMINAL]), 3)
    0.922
    """
    if not rates.oxygen_kg_per_s > 0.0:
        raise ValueError(f"oxygen of {rates.oxygen_kg_per_s} kg/s; give a rate above 0")
    carbon_dioxide_mol_per_s = rates.carbon_dioxide_kg_per_s / CARBON_DIOXIDE_KG_PER_MOL
    return carbon_dioxide_mol_per_s / (rates.oxygen_kg_per_s / OXYGEN_GAS_KG_PER_MOL)


def energetic_equivalent_j_per_mol(quotient: float) -> float:
    """Heat that goes with each mole of oxygen used.

    EE = (0.23 RQ + 0.77) 5.88 W h per litre of oxygen, dry at 0 °C and 101.325 kPa; times 3600 s/h and the
    litres of a mole.

    Source: ISO 8996 (from memory); it agrees within 0.3 % with Weir's equation. Valid for a respiratory
    quotient of 0.7 to 1.0.

    >>> round(energetic_equivalent_j_per_mol(0.85) / 1e3, 1)
    458.1
    """
    j_per_litre = (0.23 * quotient + 0.77) * 5.88 * SECONDS_PER_HOUR
    return j_per_litre * 1e3 * MOLAR_VOLUME_AT_0_C_M3_PER_MOL


def body_surface_m2(body_mass_kg: float, height_m: float) -> float:
    """Surface of a person's skin.

    A = 0.202 m^0.425 h^0.725, with m the body mass kg and h the height m.

    Source: DuBois and DuBois, Arch. Intern. Med. 17, 1916, as ISO 8996 writes it (from memory). Valid for
    adults.

    >>> round(body_surface_m2(70.0, 1.75), 2)
    1.84
    """
    return float(0.202 * body_mass_kg**0.425 * height_m**0.725)


def person_rates_for(body_mass_kg: float, height_m: float | None = None) -> Mapping[Activity, PersonRates]:
    """One person's rates by activity, by the size of their body.

    Q = met 58.2 A, with A from ``body_surface_m2``; oxygen Q / EE, carbon dioxide by the respiratory
    quotient 0.85, water vapour the latent share of Q over the latent heat of water.

    Source: those of each part, above. Against other published figures: see ``tests/references``; a day of
    light work and sleep comes out 3 to 7 % above what NASA has for 82 kg, which is early. Without a height,
    that of a body mass index of 25. Valid for adults, 35 to 160 kg and 1.2 to 2.2 m.

    Raises:
        ValueError: a body mass or a height outside that range.

    >>> round(person_rates_for(80.0)[Activity.REST].oxygen_kg_per_s * 86400, 3)
    0.696
    """
    if not 35.0 <= body_mass_kg <= 160.0:
        raise ValueError(f"a body mass of {body_mass_kg:g} kg; rates are known from 35 to 160 kg")
    if height_m is not None and not 1.2 <= height_m <= 2.2:
        raise ValueError(f"a height of {height_m:g} m; rates are known from 1.2 to 2.2 m")
    height = math.sqrt(body_mass_kg / DEFAULT_BODY_MASS_INDEX_KG_PER_M2) if height_m is None else height_m
    surface_m2 = body_surface_m2(body_mass_kg, height)
    rates = {activity: _of_heat(met * MET_W_PER_M2 * surface_m2) for activity, met in MET_BY_ACTIVITY.items()}
    return MappingProxyType(rates)


def _of_heat(heat_w: float) -> PersonRates:
    """Rates that go with a person's heat."""
    oxygen_mol_per_s = heat_w / energetic_equivalent_j_per_mol(BODY_RESPIRATORY_QUOTIENT)
    carbon_dioxide_mol_per_s = BODY_RESPIRATORY_QUOTIENT * oxygen_mol_per_s
    return PersonRates(
        oxygen_kg_per_s=oxygen_mol_per_s * OXYGEN_GAS_KG_PER_MOL,
        carbon_dioxide_kg_per_s=carbon_dioxide_mol_per_s * CARBON_DIOXIDE_KG_PER_MOL,
        water_vapour_kg_per_s=LATENT_HEAT_FRACTION * heat_w / latent_heat_j_per_kg(SKIN_TEMPERATURE_K),
        heat_w=heat_w,
    )
