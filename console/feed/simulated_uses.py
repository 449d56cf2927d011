"""What crew, leaks and cooling of the simulated craft truly take from the supplies, other than loads.

The truth, which no instrument reads exactly. It must not use anything of the engine's forecast.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from console.craft.model import Activity, Craft, HeatSource, Metabolic, PersonRates, Use
from console.feed.simulated_cabin import TrueCabin
from console.feed.simulated_draws import Streams
from console.feed.wander import Wander
from console.physics.cooling import water_for_heat_kg_per_s
from console.physics.leak import AIR, LEAKING_GASES, hole_kg_per_s, leak_kg_per_s
from console.physics.metabolism import crew_rates

WANDER_TAU_S = 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Circumstances:
    """What uses depend on, in one step."""

    crew: Mapping[Activity, int]
    load_heat_w: float
    cabin_pressure_pa: float
    cabin_temperature_k: float
    store_states: Mapping[str, tuple[float, float]]
    """By gas store that leaks, its pressure Pa and its temperature K."""


class TrueUses:
    """The uses as they truly are. Each is off the craft's figure by a factor that stays.

    Args:
        craft: the craft.
        wander_fraction: how far people and steady uses stray from their mean.
        streams: for the factors and the straying.
    """

    def __init__(self, craft: Craft, wander_fraction: float, streams: Streams) -> None:
        self._uses = craft.uses
        self._person_rates = craft.person_rates
        self._kg_per_si = {
            name: supply.gas_density_kg_per_m3 or 1.0 for name, supply in craft.supplies.items()
        }
        self._gases = {
            store.name: AIR if store.fluid is None else LEAKING_GASES[store.fluid]
            for supply in craft.supplies.values()
            for store in supply.stores
        }
        self.factors = {use.name: _off_figure(use, streams) for use in craft.uses}
        """By use, how many times the craft's figure it takes."""
        self._off_figures = list(self.factors.values())
        self._people = Wander(1, wander_fraction, WANDER_TAU_S, streams.normals(["people/wander"]))
        draws = streams.normals([f"use/{use.name}/wander" for use in craft.uses])
        self._steady = Wander(len(craft.uses), wander_fraction, WANDER_TAU_S, draws)
        self._crew: tuple[Mapping[Activity, int], PersonRates] | None = None

    def change(self, times: Mapping[str, float]) -> None:
        """Let some take so many times what they would."""
        self._off_figures = [factor * times.get(name, 1.0) for name, factor in self.factors.items()]

    def step(self, dt_s: float) -> None:
        """Let people and uses stray for some seconds."""
        self._people.step(dt_s)
        self._steady.step(dt_s)

    def people(self, crew: Mapping[Activity, int]) -> PersonRates:
        """What the people truly take and give off together."""
        stray = float(self._people.factors[0])
        table = self._rates_of(crew)
        off = {
            use.metabolic: off_figure
            for use, off_figure in zip(self._uses, self._off_figures, strict=True)
            if use.metabolic is not None
        }
        oxygen = stray * off.get(Metabolic.OXYGEN, 1.0)
        return PersonRates(
            oxygen_kg_per_s=table.oxygen_kg_per_s * oxygen,
            carbon_dioxide_kg_per_s=(
                table.carbon_dioxide_kg_per_s * stray * off.get(Metabolic.CARBON_DIOXIDE, 1.0)
            ),
            water_vapour_kg_per_s=table.water_vapour_kg_per_s * oxygen,
            heat_w=table.heat_w * oxygen,
        )

    def demand_si_per_s(self, now: Circumstances) -> list[tuple[Use, float]]:
        """Every use with what it asks of its supply."""
        people = float(self._people.factors[0])
        crew = self._rates_of(now.crew)
        steady = self._steady.factors.tolist()
        return [
            (use, off_figure * self._mean_si_per_s(use, now, crew, people, stray))
            for use, off_figure, stray in zip(self._uses, self._off_figures, steady, strict=True)
        ]

    def _rates_of(self, crew: Mapping[Activity, int]) -> PersonRates:
        """The crew's rates by the book, reckoned anew when the roster is another one."""
        if self._crew is None or self._crew[0] is not crew:
            self._crew = (crew, crew_rates(crew, self._person_rates))
        return self._crew[1]

    def _mean_si_per_s(
        self, use: Use, now: Circumstances, crew: PersonRates, people: float, stray: float
    ) -> float:
        if use.rate_si_per_s is not None:
            return use.rate_si_per_s * stray
        if use.per_person_si_per_s is not None:
            return use.per_person_si_per_s * sum(now.crew.values()) * people
        if use.metabolic is not None:
            return _metabolic_kg_per_s(use.metabolic, crew) * people / self._kg_per_si[use.supply]
        if use.leak_si_per_s is not None or use.hole_m2 is not None:
            return self._leak_si_per_s(use, now)
        from_loads_w = now.load_heat_w if HeatSource.LOADS in use.evaporates_heat_of else 0.0
        from_crew_w = crew.heat_w * people if HeatSource.CREW in use.evaporates_heat_of else 0.0
        return water_for_heat_kg_per_s(from_loads_w + from_crew_w, use.feed_temperature_k)

    def _leak_si_per_s(self, use: Use, now: Circumstances) -> float:
        """What a leak lets out at the pressure behind it, in its supply's unit."""
        pressure_pa, temperature_k = now.cabin_pressure_pa, now.cabin_temperature_k
        if use.of_store is not None:
            pressure_pa, temperature_k = now.store_states[use.of_store]
        if use.hole_m2 is not None:
            gas = AIR if use.of_store is None else self._gases[use.of_store]
            through_kg_per_s = hole_kg_per_s(
                gas, use.hole_m2, pressure_pa, temperature_k, use.outside_pa, use.discharge_coefficient
            )
            return through_kg_per_s / self._kg_per_si[use.supply]
        leak_si_per_s = use.leak_si_per_s or 0.0
        if use.at_pressure_pa is None:
            return leak_si_per_s
        return leak_kg_per_s(leak_si_per_s, pressure_pa, use.at_pressure_pa)


def _off_figure(use: Use, streams: Streams) -> float:
    """exp(s z - s²/2): 1 on average."""
    spread = use.spread_fraction
    return math.exp(spread * streams.normal(f"use/{use.name}/spread") - 0.5 * spread**2)


def _metabolic_kg_per_s(metabolic: Metabolic, crew: PersonRates) -> float:
    return {
        Metabolic.OXYGEN: crew.oxygen_kg_per_s,
        Metabolic.CARBON_DIOXIDE: crew.carbon_dioxide_kg_per_s,
        Metabolic.WATER_VAPOUR: crew.water_vapour_kg_per_s,
    }[metabolic]


def serves(use: Use, cabin: TrueCabin) -> Literal["supply", "air", "leak", "store"]:
    """What a use takes from: its supply, the cabin's air (to which the supply gives), or one store alone."""
    if use.of_store is not None:
        return "store"
    if use.metabolic is Metabolic.OXYGEN and cabin.is_fed:
        return "air"
    if use.metabolic is Metabolic.CARBON_DIOXIDE and cabin.has_stream:
        return "air"
    is_leak = use.leak_si_per_s is not None or use.hole_m2 is not None
    return "leak" if is_leak and cabin.breathes_air else "supply"
