"""A craft that lives by itself: the truth behind the demo board and behind tests of the engine's forecasts.

It steps through time in small steps and shares no forecasting code with the engine. What it knows, no engine
may know: readings leave it through instruments alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from console.craft.model import StoreState, Use
from console.craft.plan import Transfer
from console.engine.configuration import Configuration, ConfigurationChange, Segment
from console.feed.simulated_cabin import TrueCabin
from console.feed.simulated_loads import TrueLoads
from console.feed.simulated_stores import TrueStore, take
from console.feed.simulated_uses import Circumstances, TrueUses
from console.feed.simulation_file import Simulation, bottle_temperature_k
from console.feed.wander import Wander
from console.physics.gas import HIGHEST_TEMPERATURE_K, LOWEST_TEMPERATURE_K
from console.scenario.load import Scenario

STEP_S = 10.0
"""Length of a step, as long as not too many of them are asked for at once."""
MOST_STEPS = 2000
"""Steps in one advance: a jump of 100 h takes steps of 3 min, and the shape of the day stays."""

EVENT_S = 600.0
"""How long a one-off use takes, for the current at which a battery gives it; it is done at once."""

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


@dataclass(frozen=True, kw_only=True, slots=True)
class _Demand:
    wanted_si_per_s: Mapping[str, float]
    """By supply."""
    uses: Sequence[tuple[Use, float]]


class SimulatedCraft:
    """The craft as it truly is.

    Args:
        scenario: the craft and the plan it flies, under the committed option.
        simulation: how it begins.
        random: every draw of the truth comes from it.
    """

    def __init__(self, scenario: Scenario, simulation: Simulation, random: np.random.Generator) -> None:
        craft, plan = scenario.craft, scenario.plan
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
        self._warmth = Wander(len(self._all_stores) + 1, TEMPERATURE_SD_K, TEMPERATURE_TAU_S, random)
        events = plan.events_under(plan.options[plan.committed])
        self._ahead = [event for event in events if event.at_s >= self.at_s]
        spreads = [event.spread_fraction for event in self._ahead]
        self._event_factors = [
            math.exp(spread * float(random.standard_normal()) - 0.5 * spread**2) for spread in spreads
        ]
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
        demand = self._demand(segment, STEP_S, dict.fromkeys(self.stores, 1.0))
        for name, stores in self.stores.items():
            wanted_si = demand.wanted_si_per_s[name] * STEP_S
            self.rates_si_per_s[name] = take(stores, segment.stores, wanted_si, STEP_S) / STEP_S
        for store in self._all_stores:
            store.begin(STEP_S)

    def advance(self, until_s: float, configuration: Configuration) -> None:
        """Live on until a moment, as switched."""
        longest_s = max(STEP_S, (until_s - self.at_s) / MOST_STEPS)
        for segment in configuration.segments(self.at_s, until_s):
            self._loads.switch(segment.loads)
            while self.at_s < min(segment.end_s, until_s):
                self._happen(segment.stores)
                next_event_s = self._ahead[0].at_s if self._ahead else math.inf
                next_s = min(self.at_s + longest_s, segment.end_s, until_s, next_event_s)
                self._step(segment, next_s - self.at_s)
                self.at_s = next_s
        self._happen(configuration.stores_at(self.at_s))

    def take_logged(self, change: ConfigurationChange) -> None:
        """Take from stores what operators logged as taken and no gauge sees."""
        for store in self._all_stores:
            wanted_si = change.used_si.get(store.store.name, 0.0)
            if wanted_si > 0.0:
                store.give(wanted_si, STEP_S)

    def _happen(self, states: Mapping[str, StoreState]) -> None:
        """Let happen what is due; what an event sets is in the configuration already."""
        while self._ahead and self._ahead[0].at_s <= self.at_s:
            event, factor = self._ahead.pop(0), self._event_factors.pop(0)
            for name, amount_si in event.uses_si.items():
                take(self.stores[name], states, amount_si * factor, EVENT_S)
            if event.transfer is not None:
                self._transfer(event.transfer, states, factor)

    def _transfer(self, transfer: Transfer, states: Mapping[str, StoreState], factor: float) -> None:
        """Move an amount into a store, as far as there is room for it and the source can give it."""
        target = next(store for store in self._all_stores if store.store.name == transfer.target_store)
        arriving_si = min(transfer.amount_si * factor, target.room_si)
        sources = {name: store for name, store in self.stores[transfer.source].items() if store is not target}
        given_si = take(sources, states, arriving_si / transfer.efficiency_fraction, EVENT_S)
        target.receive(given_si * transfer.efficiency_fraction)

    def _step(self, segment: Segment, dt_s: float) -> None:
        """Let some seconds go by in which nothing is switched."""
        for straying in (self._loads, self._uses, self._warmth):
            straying.step(dt_s)
        self._warm()
        demand = self._demand(segment, dt_s, self._served)
        given_before_si = {id(store): store.given_si for store in self._all_stores}
        for name, stores in self.stores.items():
            wanted_si = demand.wanted_si_per_s[name] * dt_s
            taken_si = take(stores, segment.stores, wanted_si, dt_s)
            self.rates_si_per_s[name] = taken_si / dt_s
            self._served[name] = taken_si / wanted_si if wanted_si > 0.0 else 1.0
            if taken_si < wanted_si * (1.0 - 1e-9):
                self._ran_out_s.setdefault(name, self.at_s)
        for store in self._all_stores:
            store.rate_si_per_s = (store.given_si - given_before_si[id(store)]) / dt_s
        for use, rate_si_per_s in demand.uses:
            self.cabin.miss(use, rate_si_per_s * dt_s * (1.0 - self._served[use.supply]))

    def _demand(self, segment: Segment, dt_s: float, served: Mapping[str, float]) -> _Demand:
        """What is asked of every supply; loads heat as far as they were served in the step before."""
        draws = self._loads.draws_si_per_s(self.at_s, dt_s)
        uses = self._uses.demand_si_per_s(
            Circumstances(
                crew=segment.crew,
                load_heat_w=self._loads.heat_w(draws, served),
                cabin_pressure_pa=self.cabin.pressure_pa,
            )
        )
        wanted = dict.fromkeys(self.stores, 0.0) | self._loads.demand_si_per_s(draws)
        for use, rate_si_per_s in uses:
            wanted[use.supply] += rate_si_per_s
        return _Demand(wanted_si_per_s=wanted, uses=uses)

    def _warm(self) -> None:
        """Let the temperatures of bottles and cabin drift."""
        *bottles, cabin = self._warmth.values.tolist()
        for store, drift_k in zip(self._all_stores, bottles, strict=True):
            warm_k = store.start_temperature_k + drift_k
            store.temperature_k = min(max(warm_k, LOWEST_TEMPERATURE_K), HIGHEST_TEMPERATURE_K)
        self.cabin.temperature_k = self.cabin.start_temperature_k + cabin
