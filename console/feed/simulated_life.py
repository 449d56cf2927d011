"""What goes on inside the simulated craft in one step: what is asked of its supplies, and what the air does.

The truth, which no instrument reads exactly. It must not use anything of the engine's forecast.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from console.craft.model import Activity, Craft, LoadState, Metabolic, Use
from console.engine.configuration import Segment
from console.feed.simulated_cabin import TrueCabin, services_of
from console.feed.simulated_loads import TrueLoads
from console.feed.simulated_stores import TrueStore
from console.feed.simulated_takings import Takings
from console.feed.simulated_uses import Circumstances, TrueUses, serves
from console.physics.absorbent import WATER_KG_PER_KG_CO2


@dataclass(frozen=True, kw_only=True, slots=True)
class Demand:
    """What is asked for in one step."""

    wanted_si_per_s: Mapping[str, float]
    """By supply, apart from what goes through the cabin's air."""
    uses: Sequence[tuple[Use, float]]
    cabin_leak_kg_per_s: float
    """What leaves with the cabin's air, where that air is what people breathe."""
    load_heat_w: float


class TrueLife:
    """People, loads and uses in the cabin's air, and the services that hold it.

    Args:
        craft: the craft.
        cabin: its air.
        loads: its loads.
        uses: its uses, people among them.
        stores: all of its stores, for the leaks of their own.
    """

    def __init__(
        self,
        craft: Craft,
        cabin: TrueCabin,
        loads: TrueLoads,
        uses: TrueUses,
        stores: Sequence[TrueStore],
    ) -> None:
        self._craft = craft
        self._cabin = cabin
        self._loads = loads
        self._uses = uses
        leaky = {use.of_store for use in craft.uses}
        self._leaking = {true.store.name: true for true in stores if true.store.name in leaky}
        self._services = services_of(craft.cabin)
        self._use_of = {use.name: use for use in craft.uses}
        self._serves = {use.name: serves(use, cabin) for use in craft.uses}
        self._water_per_kg = _water_per_kg(craft)

    def demand(
        self,
        at_s: float,
        crew: Mapping[Activity, int],
        dt_s: float,
        served: Mapping[str, float],
        leaks: Sequence[tuple[str, float]] = (),
    ) -> Demand:
        """What is asked of every supply; loads heat as far as they were served in the step before.

        ``leaks`` are what faults add to uses, by name.
        """
        draws = self._loads.draws_si_per_s(at_s, dt_s)
        load_heat_w = self._loads.heat_w(draws, served)
        uses = self._uses.demand_si_per_s(self._circumstances(crew, load_heat_w))
        uses += [(self._use_of[name], rate_si_per_s) for name, rate_si_per_s in leaks]
        wanted = dict.fromkeys(self._craft.supplies, 0.0) | self._loads.demand_si_per_s(draws)
        cabin_leak_kg_per_s = 0.0
        for use, rate_si_per_s in uses:
            match self._serves[use.name]:
                case "supply":
                    wanted[use.supply] += rate_si_per_s
                case "leak":
                    cabin_leak_kg_per_s += rate_si_per_s * self._kg_per_si(use.supply)
        for name, rate_si_per_s in leaks:
            if self._serves[name] == "air":  # what leaks on the way to the air never gets there
                wanted[self._use_of[name].supply] += rate_si_per_s
        return Demand(
            wanted_si_per_s=wanted,
            uses=uses,
            cabin_leak_kg_per_s=cabin_leak_kg_per_s,
            load_heat_w=load_heat_w,
        )

    def serve(self, demand: Demand, takings: Takings, dt_s: float) -> None:
        """Take what is asked of the supplies themselves."""
        for name, wanted_si_per_s in demand.wanted_si_per_s.items():
            takings.take(name, wanted_si_per_s * dt_s)

    def breathe(self, segment: Segment, demand: Demand, takings: Takings, dt_s: float) -> None:
        """Let the cabin's air and warmth change by people, loads and whatever of its services works."""
        cabin, people = self._cabin, self._uses.people(segment.crew)
        works = self._working(segment.loads, takings)
        cabin.live(people, dt_s)
        cabin.leak(demand.cabin_leak_kg_per_s * dt_s)
        if works["removal"]:
            bound_kg = self._take_kg(takings, Metabolic.CARBON_DIOXIDE, cabin.stream_kg(dt_s))
            cabin.bind(bound_kg, bound_kg * self._water_per_kg)
        if works["feed"]:
            cabin.feed(self._take_kg(takings, Metabolic.OXYGEN, cabin.wants_oxygen_kg(dt_s)))
        served = takings.served()
        for use, rate_si_per_s in demand.uses:
            missing_si = rate_si_per_s * dt_s * (1.0 - served[use.supply])
            cabin.miss(use, missing_si * self._kg_per_si(use.supply))
        cabin.warm(people.heat_w + demand.load_heat_w, dt_s, works["cooling"])
        cabin.dry(works["drying"])

    def show(self, segment: Segment, takings: Takings, dt_s: float) -> None:
        """Take what the air would ask for, without changing it: for what meters show at the start."""
        works = self._working(segment.loads, takings)
        if works["removal"]:
            self._take_kg(takings, Metabolic.CARBON_DIOXIDE, self._cabin.stream_kg(dt_s))
        if works["feed"] and self._cabin.is_fed:
            breathed_kg = self._uses.people(segment.crew).oxygen_kg_per_s * dt_s
            self._take_kg(takings, Metabolic.OXYGEN, breathed_kg)

    def leak(self, demand: Demand, dt_s: float) -> None:
        """Let stores lose what leaks from them, whether they are open or shut."""
        for use, rate_si_per_s in demand.uses:
            if use.of_store is not None:
                self._leaking[use.of_store].leak(rate_si_per_s * dt_s)

    def _working(self, loads: Mapping[str, LoadState], takings: Takings) -> dict[str, bool]:
        """Which of the cabin's services work: their loads are on and fed, and cooling has its water."""
        served = takings.served()
        works = dict.fromkeys(("removal", "feed", "drying", "cooling"), False)
        for service, needs in self._services.items():
            works[service] = all(
                loads[load] is LoadState.ON and served[self._craft.loads[load].supply] > 0.0 for load in needs
            )
        thermal = self._cabin.thermal
        if thermal is not None and thermal.cooling_supply is not None:
            works["cooling"] &= served[thermal.cooling_supply] > 0.0
        return works

    def _take_kg(self, takings: Takings, product: Metabolic, wanted_kg: float) -> float:
        """Take a mass from the supplies that serve it, one after the other; returns what came."""
        given_kg = 0.0
        for supply in dict.fromkeys(use.supply for use in self._craft.uses if use.metabolic is product):
            kg_per_si = self._kg_per_si(supply)
            given_kg += takings.take(supply, (wanted_kg - given_kg) / kg_per_si) * kg_per_si
        return given_kg

    def _kg_per_si(self, supply: str) -> float:
        return self._craft.supplies[supply].gas_density_kg_per_m3 or 1.0

    def _circumstances(self, crew: Mapping[Activity, int], load_heat_w: float) -> Circumstances:
        return Circumstances(
            crew=crew,
            load_heat_w=load_heat_w,
            cabin_pressure_pa=self._cabin.pressure_pa,
            cabin_temperature_k=self._cabin.temperature_k,
            store_states={
                name: (true.pressure_pa or 0.0, true.temperature_k) for name, true in self._leaking.items()
            },
        )


def _water_per_kg(craft: Craft) -> float:
    """Water that the absorbent gives off per kilogram of CO2 where anything says that it is a hydroxide."""
    stores = (store for supply in craft.supplies.values() for store in supply.stores)
    return WATER_KG_PER_KG_CO2 if any(store.sorbent for store in stores) else 0.0
