"""What people, loads and leaks do to the cabin's air and warmth, with their luck shared with the supplies.

Each uncertain factor has the name that the supplies' forecasts use, so that a crew that breathes more empties
the oxygen and fills the cabin with CO2 in the same samples.
"""

from __future__ import annotations

from typing import Final

from console.craft.model import Craft, Metabolic
from console.engine.draws import Floats
from console.engine.forecast import Draws
from console.engine.planned_rate import LOADS_FACTOR, use_factor
from console.physics.absorbent import CEILING_KG_PER_KG, WATER_KG_PER_KG_CO2
from console.physics.cabin_air import leak_per_s
from console.physics.leak import AIR, hole_kg_per_s

CREW_SPREAD_FRACTION: Final = 0.05
"""How sure a crew's rates are where the craft does not say: one standard deviation (from memory)."""


def crew_factor(craft: Craft, metabolic: Metabolic, draws: Draws, rows: int) -> Floats:
    """How much more or less than by the table the crew takes or gives, shape (rows,)."""
    use = next((use for use in craft.uses if use.metabolic is metabolic), None)
    if use is None:
        return draws.factor(f"crew {metabolic.value}", CREW_SPREAD_FRACTION)[:rows]
    return draws.factor(use_factor(use.name), use.spread_fraction or CREW_SPREAD_FRACTION)[:rows]


def loads_factor(craft: Craft, draws: Draws, rows: int) -> Floats:
    """The one factor that all loads' heat shares, shape (rows,)."""
    return draws.factor(LOADS_FACTOR, craft.load_spread_fraction)[:rows]


def leak_share_per_s(
    craft: Craft,
    pressure_pa: float,
    temperature_k: float,
    air_kg: float,
    draws: Draws,
    rows: int,
) -> Floats:
    """The share of the cabin's air that leaks in a second, shape (rows,); see ``cabin_air.leak_per_s``.

    A leak that is not said to go by pressure, and one into another atmosphere, is taken to fall in proportion
    to the cabin's pressure all the same.
    """
    share = draws.error("no leak", 0.0)[:rows]
    for use in craft.uses:
        if use.of_store is not None:
            continue
        leak = 0.0
        if use.leak_si_per_s is not None:
            density = craft.supplies[use.supply].gas_density_kg_per_m3 or 1.0
            scale = 1.0 if use.at_pressure_pa is None else pressure_pa / use.at_pressure_pa
            leak = use.leak_si_per_s * density * scale
        elif use.hole_m2 is not None:
            leak = hole_kg_per_s(
                AIR, use.hole_m2, pressure_pa, temperature_k, use.outside_pa, use.discharge_coefficient
            )
        if leak:
            factor = draws.factor(use_factor(use.name), use.spread_fraction)[:rows]
            share = share + factor * leak_per_s(leak, air_kg)
    return share


def water_of_absorbent_kg_per_kg(craft: Craft) -> float:
    """Water that the absorbent makes per kilogram of CO2 where it is said to be a hydroxide; else 0.

    It is counted by what the crew gives off, not by what the stream takes up: the same in the long run.
    """
    sorbents = {store.sorbent for supply in craft.supplies.values() for store in supply.stores}
    return WATER_KG_PER_KG_CO2 if sorbents & set(CEILING_KG_PER_KG) else 0.0
