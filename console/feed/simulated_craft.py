"""A craft that lives by itself: the truth behind the demo board and behind tests of the engine's forecasts.

It steps through time in small steps and shares no forecasting code with the engine. What it knows, no engine
may know: readings leave it through instruments alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import Craft, StoreState
from console.craft.plan import Event, Transfer
from console.engine.configuration import Configuration, ConfigurationChange, Segment
from console.feed.simulated_cabin import TrueCabin
from console.feed.simulated_life import TrueLife
from console.feed.simulated_loads import TrueLoads
from console.feed.simulated_stores import TrueStore, take, temperature_sharers
from console.feed.simulated_takings import Takings
from console.feed.simulated_uses import TrueUses
from console.feed.simulation_file import Simulation, bottle_temperature_k
from console.feed.wander import Wander
from console.physics.gas import HIGHEST_TEMPERATURE_K, LOWEST_TEMPERATURE_K
from console.physics.propulsion import propellant_for_delta_v_kg
from console.scenario.load import Scenario

STEP_S = 10.0
"""Length of a step, as long as not too many of them are asked for at once."""
MOST_STEPS = 2000
"""Steps in one advance: a jump of 100 h takes steps of 3 min, and the shape of the day stays."""

EVENT_S = 600.0
"""How long a one-off use takes for which the plan says nothing; it is done at once."""

TEMPERATURE_SD_K = 1.0
TEMPERATURE_TAU_S = 3.0 * 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Truth:
    """What is so, whatever the instruments say."""

    at_s: float
    held_si: Mapping[str, float]
    """By store, in its supply's SI unit."""
    rates_si_per_s: Mapping[str, float]
    """By supply, what was taken from it on average over the last step."""
    ran_out_s: Mapping[str, float]
    """By supply that could not give what was asked, when it first could not."""


class SimulatedCraft:
    """The craft as it truly is.

    Args:
        scenario: the craft and the plan it flies, under the committed option.
        simulation: how it begins.
        random: every draw of the truth comes from it.
    """

    def __init__(self, scenario: Scenario, simulation: Simulation, random: np.random.Generator) -> None:
        craft, plan = scenario.craft, scenario.plan
        self._craft = craft
        self.left_behind: frozenset[str] = frozenset()
        """Stores that went with a module that was dropped."""
        self.at_s = simulation.start_s
        self.stores = {
            supply.name: {
                store.name: TrueStore(
                    store,
                    supply,
                    simulation.initial_si[store.name],
                    bottle_temperature_k(store, simulation.temperature_k),
                )
                for store in supply.stores
            }
            for supply in craft.supplies.values()
        }
        self.cabin = TrueCabin(craft, simulation.cabin)
        self.rates_si_per_s = dict.fromkeys(craft.supplies, 0.0)
        self._served = dict.fromkeys(craft.supplies, 1.0)
        """By supply, how much of what was asked it gave in the last step."""
        self._ran_out_s: dict[str, float] = {}
        self._loads = TrueLoads(craft, simulation.wander_fraction, random)
        self._uses = TrueUses(craft, simulation.wander_fraction, random)
        self._all_stores = [store for stores in self.stores.values() for store in stores.values()]
        self._sharers = temperature_sharers(self._all_stores, craft.cabin)
        self._warmth = Wander(len(self._all_stores) + 1, TEMPERATURE_SD_K, TEMPERATURE_TAU_S, random)
        events = plan.events_under(plan.options[plan.committed])
        self._random = random
        self._ahead = [(event, self._luck(event)) for event in events if event.at_s >= self.at_s]
        self._life = TrueLife(craft, self.cabin, self._loads, self._uses, self._all_stores)
        self._module_kg = _module_masses_kg(craft)
        self._warm()

    def truth(self) -> Truth:
        """What is so now."""
        return Truth(
            at_s=self.at_s,
            held_si={store.store.name: store.held_si for store in self._all_stores},
            rates_si_per_s=dict(self.rates_si_per_s),
            ran_out_s=dict(self._ran_out_s),
        )

    def begin(self, configuration: Configuration) -> None:
        """Let meters show what flows at the start, without anything being gone."""
        segment = configuration.segments(self.at_s, self.at_s)[0]
        self._loads.switch(segment.loads)
        demand = self._life.demand(self.at_s, segment.crew, STEP_S, dict.fromkeys(self.stores, 1.0))
        takings = Takings(self.stores, segment.stores, STEP_S)
        self._life.serve(demand, takings, STEP_S)
        self._life.show(segment, takings, STEP_S)
        self.rates_si_per_s.update(takings.rates_si_per_s())
        for store in self._all_stores:
            store.begin(STEP_S)

    def advance(self, until_s: float, configuration: Configuration) -> None:
        """Live on until a moment, as switched."""
        longest_s = max(STEP_S, (until_s - self.at_s) / MOST_STEPS)
        for segment in configuration.segments(self.at_s, until_s):
            self._loads.switch(segment.loads)
            while self.at_s < min(segment.end_s, until_s):
                self._happen(configuration)
                next_event_s = self._ahead[0][0].at_s if self._ahead else math.inf
                next_s = min(self.at_s + longest_s, segment.end_s, until_s, next_event_s)
                self._step(segment, next_s - self.at_s)
                self.at_s = next_s
        self._happen(configuration)
        self.left_behind = frozenset(
            true.store.name for true in self._all_stores if configuration.is_gone(true.store.name, self.at_s)
        )

    def fly(self, events: tuple[Event, ...]) -> None:
        """Meet these events from now on, another way home being taken; what was ahead keeps its luck."""
        known = {(event.name, event.at_s): factor for event, factor in self._ahead}
        ahead = [event for event in events if event.at_s > self.at_s]
        self._ahead = [(event, known.get((event.name, event.at_s)) or self._luck(event)) for event in ahead]

    def _luck(self, event: Event) -> float:
        """By what the amounts of an event will differ from the plan's."""
        spread = event.spread_fraction
        return math.exp(spread * float(self._random.standard_normal()) - 0.5 * spread**2)

    def take_logged(self, change: ConfigurationChange) -> None:
        """Take from stores what operators logged as taken and no gauge sees."""
        for store in self._all_stores:
            wanted_si = change.used_si.get(store.store.name, 0.0)
            if wanted_si > 0.0:
                store.give(wanted_si, STEP_S)

    def _happen(self, configuration: Configuration) -> None:
        """Let happen what is due; what an event sets or drops is in the configuration already."""
        states = configuration.stores_at(self.at_s)
        while self._ahead and self._ahead[0][0].at_s <= self.at_s:
            event, factor = self._ahead.pop(0)
            lasts_s = event.lasts_s or EVENT_S
            for name, amount_si in event.uses_si.items():
                take(self.stores[name], states, amount_si * factor, lasts_s)
            if event.burn_m_per_s is not None:
                # What the same event leaves behind is still there while it burns.
                gone = configuration.dropped_at(math.nextafter(event.at_s, -math.inf))
                self._burn(event.burn_m_per_s * factor, states, sum(self._module_kg[name] for name in gone))
            if event.transfer is not None:
                self._transfer(event.transfer, states, factor, lasts_s)

    def _burn(self, velocity_m_per_s: float, states: Mapping[str, StoreState], gone_kg: float) -> None:
        """Spend the propellant of a change of velocity, by the mass that the craft has then."""
        propulsion = self._craft.propulsion
        if propulsion is None:
            return
        tanks = self.stores[propulsion.supply]
        open_kg = sum(one.can_give_si for name, one in tanks.items() if states[name] is StoreState.FEEDING)
        held_back_kg = min(self._craft.supplies[propulsion.supply].reserve_si, open_kg)
        mass_kg = propulsion.dry_mass_kg - gone_kg + open_kg - held_back_kg
        speed_m_per_s = propulsion.exhaust_velocity_m_per_s
        take(tanks, states, propellant_for_delta_v_kg(velocity_m_per_s, mass_kg, speed_m_per_s), EVENT_S)

    def _transfer(
        self, transfer: Transfer, states: Mapping[str, StoreState], factor: float, lasts_s: float
    ) -> None:
        """Move an amount into a store, as far as there is room for it and the source can give it."""
        target = next(store for store in self._all_stores if store.store.name == transfer.target_store)
        arriving_si = min(transfer.amount_si * factor, target.room_si)
        sources = {name: store for name, store in self.stores[transfer.source].items() if store is not target}
        given_si = take(sources, states, arriving_si / transfer.efficiency_fraction, lasts_s)
        target.receive(given_si * transfer.efficiency_fraction)

    def _step(self, segment: Segment, dt_s: float) -> None:
        """Let some seconds go by in which nothing is switched."""
        for straying in (self._loads, self._uses, self._warmth):
            straying.step(dt_s)
        self._warm()
        demand = self._life.demand(self.at_s, segment.crew, dt_s, self._served)
        given_before_si = {id(store): store.given_si for store in self._all_stores}
        takings = Takings(self.stores, segment.stores, dt_s)
        self._life.serve(demand, takings, dt_s)
        self._life.breathe(segment, demand, takings, dt_s)
        self.rates_si_per_s.update(takings.rates_si_per_s())
        self._served.update(takings.served())
        for name in takings.short():
            self._ran_out_s.setdefault(name, self.at_s)
        for store in self._all_stores:
            store.rate_si_per_s = (store.given_si - given_before_si[id(store)]) / dt_s
        self._life.leak(demand, dt_s)

    def _warm(self) -> None:
        """Let the temperatures of stores drift, and that of a cabin of whose hull nothing is known."""
        *drifts, cabin = self._warmth.values.tolist()
        for store, sharer in zip(self._all_stores, self._sharers, strict=True):
            # What hangs outside is as warm as what is outside; what one thermometer reads is equally warm.
            warm_k = self.cabin.outside_k if sharer is None else store.start_temperature_k + drifts[sharer]
            store.temperature_k = min(max(warm_k, LOWEST_TEMPERATURE_K), HIGHEST_TEMPERATURE_K)
        if self.cabin.thermal is None:
            self.cabin.temperature_k = self.cabin.start_temperature_k + cabin


def _module_masses_kg(craft: Craft) -> dict[str, float]:
    modules = () if craft.propulsion is None else craft.propulsion.modules
    return {module.name: module.mass_kg for module in modules}
