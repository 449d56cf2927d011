"""A craft that lives by itself: the truth behind the demo board and behind tests of the engine's forecasts.

It steps through time in small steps and shares no forecasting code with the engine. What it knows, no engine
may know: readings leave it through instruments alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from console.craft.model import Craft, StoreState
from console.craft.plan import Event, Transfer
from console.engine.configuration import Configuration, ConfigurationChange, Segment
from console.feed.simulated_cabin import TrueCabin
from console.feed.simulated_course import TrueCourse
from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_faults_truth import Held, TruthFaults
from console.feed.simulated_life import TrueLife
from console.feed.simulated_loads import TrueLoads
from console.feed.simulated_stores import Feeding, TrueStore, feeding_of, take, temperature_sharers
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
    usable_si: Mapping[str, float] = field(default_factory=dict)
    """By supply, what is above residual in stores that count, less the reserve; below zero within it."""


class SimulatedCraft:
    """The craft as it truly is.

    Args:
        scenario: the craft and the plan it flies, under the committed option.
        simulation: how it begins.
        streams: every draw of the truth comes from them.
        faults: what goes wrong; those that are not of the truth are passed over.
        held: loads that stay as they are for a while, whatever was commanded.
        step_s: the longest step, as long as not too many are asked for at once.
        lends: whether what a supply cannot give is lent, so that the end of each is its own.
    """

    def __init__(
        self,
        scenario: Scenario,
        simulation: Simulation,
        streams: Streams,
        *,
        faults: Sequence[SimulatedFault] = (),
        held: Sequence[Held] = (),
        step_s: float = STEP_S,
        lends: bool = False,
    ) -> None:
        craft, plan = scenario.craft, scenario.plan
        self._craft = craft
        self._streams = streams
        self.step_s = step_s
        """The longest step."""
        self._lends = lends
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
        self.loads = TrueLoads(craft, simulation.wander_fraction, streams)
        self.uses = TrueUses(craft, simulation.wander_fraction, streams)
        self._all_stores = [store for stores in self.stores.values() for store in stores.values()]
        self._by_name = {store.store.name: store for store in self._all_stores}
        self._sharers = temperature_sharers(self._all_stores, craft.cabin)
        warmth = streams.normals([*(f"store/{name}/warmth" for name in self._by_name), "cabin/warmth"])
        self._warmth = Wander(len(self._all_stores) + 1, TEMPERATURE_SD_K, TEMPERATURE_TAU_S, warmth)
        events = plan.events_under(plan.options[plan.committed])
        self._ahead = [event for event in events if event.at_s >= self.at_s]
        self._life = TrueLife(craft, self.cabin, self.loads, self.uses, self._all_stores)
        self._module_kg = _module_masses_kg(craft)
        self._faults = TruthFaults(faults, held)
        self._supply_of_use = {use.name: use.supply for use in craft.uses}
        self._course: TrueCourse | None = None
        self._warm()

    def truth(self) -> Truth:
        """What is so now."""
        return Truth(
            at_s=self.at_s,
            held_si={store.store.name: store.held_si for store in self._all_stores},
            rates_si_per_s=dict(self.rates_si_per_s),
            ran_out_s=dict(self._ran_out_s),
            usable_si=self.usable_si(),
        )

    def usable_si(self) -> dict[str, float]:
        """By supply, what can be had before the reserve is touched."""
        states = None if self._course is None else self._course.stores_at(self.at_s)
        usable_si = {}
        for name, stores in self.stores.items():
            counted = (
                store
                for store in stores.values()
                if (store.store.state if states is None else states[store.store.name]).is_counted
            )
            usable_si[name] = (
                sum(store.can_give_si for store in counted) - self._craft.supplies[name].reserve_si
            )
        return usable_si

    def begin(self, configuration: Configuration) -> None:
        """Let meters show what flows at the start, without anything being gone."""
        segment = self._follow(configuration).segment
        demand = self._life.demand(self.at_s, segment.crew, STEP_S, dict.fromkeys(self.stores, 1.0))
        takings = Takings(self._follow(configuration).feeding, STEP_S, lends=self._lends)
        self._life.serve(demand, takings, STEP_S)
        self._life.show(segment, takings, STEP_S)
        self.rates_si_per_s.update(takings.rates_si_per_s())
        for store in self._all_stores:
            store.begin(STEP_S)

    def advance(self, until_s: float, configuration: Configuration) -> None:
        """Live on until a moment, as switched."""
        longest_s = max(self.step_s, (until_s - self.at_s) / MOST_STEPS)
        while self.at_s < until_s:
            self._happen(configuration)
            course = self._follow(configuration)
            next_event_s = self._ahead[0].at_s if self._ahead else math.inf
            next_s = min(self.at_s + longest_s, course.until_s, until_s, next_event_s)
            self._step(course.segment, next_s - self.at_s)
            self.at_s = next_s
        self._happen(configuration)
        self.left_behind = self._follow(configuration).left_behind(self.at_s)

    def hold(self, held: Held) -> None:
        """Let a load stay as it is for a while, whatever is commanded from now on."""
        self._faults.hold(held)
        self._course = None

    def _follow(self, configuration: Configuration) -> TrueCourse:
        """How everything truly stands now, found anew when something is switched or a fault comes or goes."""
        course = self._course
        if course is None or course.configuration is not configuration:
            course = self._course = TrueCourse(configuration, self.at_s)
        if course.has_passed(self.at_s):
            course.go_to(self.at_s, self._faults, self.stores)
            self.loads.switch(course.segment.loads, self._faults.load_factors(self.at_s))
            self.uses.change(self._faults.use_factors(self.at_s))
        return course

    def fly(self, events: tuple[Event, ...]) -> None:
        """Meet these events from now on, another way home being taken."""
        self._ahead = [event for event in events if event.at_s > self.at_s]

    def luck(self, event: Event) -> float:
        """By what an event's amounts will differ from the plan's: its own, whichever way home is flown."""
        spread = event.spread_fraction
        draw = self._streams.normal(f"event/{event.name}/{event.at_s:.3f}")
        return math.exp(spread * draw - 0.5 * spread**2)

    def take_logged(self, change: ConfigurationChange) -> None:
        """Take from stores what operators logged as taken and no gauge sees."""
        for store in self._all_stores:
            wanted_si = change.used_si.get(store.store.name, 0.0)
            if wanted_si > 0.0:
                store.give(wanted_si, STEP_S)

    def _happen(self, configuration: Configuration) -> None:
        """Let happen what is due; what an event sets or drops is in the configuration already."""
        while self._ahead and self._ahead[0].at_s <= self.at_s:
            event = self._ahead.pop(0)
            factor, lasts_s = self.luck(event), event.lasts_s or EVENT_S
            states = configuration.stores_at(self.at_s)
            for name, amount_si in event.uses_si.items():
                take(feeding_of(self.stores[name], states), amount_si * factor, lasts_s)
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
        burnt_kg = propellant_for_delta_v_kg(velocity_m_per_s, mass_kg, speed_m_per_s)
        take(feeding_of(tanks, states), burnt_kg, EVENT_S)

    def _transfer(
        self, transfer: Transfer, states: Mapping[str, StoreState], factor: float, lasts_s: float
    ) -> None:
        """Move an amount into a store, as far as there is room for it and the source can give it."""
        target = self._by_name[transfer.target_store]
        arriving_si = min(transfer.amount_si * factor, target.room_si)
        sources = {name: store for name, store in self.stores[transfer.source].items() if store is not target}
        wanted_si = arriving_si / transfer.efficiency_fraction
        given_si = take(feeding_of(sources, states), wanted_si, lasts_s)
        target.receive(given_si * transfer.efficiency_fraction)

    def _step(self, segment: Segment, dt_s: float) -> None:
        """Let some seconds go by in which nothing is switched."""
        for straying in (self.loads, self.uses, self._warmth):
            straying.step(dt_s)
        self._warm()
        feeding = {} if self._course is None else self._course.feeding
        leaks = self._faults.use_leaks(self._held_behind(feeding), self.at_s, dt_s)
        demand = self._life.demand(self.at_s, segment.crew, dt_s, self._served, leaks)
        given_before_si = [store.given_si for store in self._all_stores]
        takings = Takings(feeding, dt_s, lends=self._lends)
        self._life.serve(demand, takings, dt_s)
        self._life.breathe(segment, demand, takings, dt_s)
        self.rates_si_per_s.update(takings.rates_si_per_s())
        self._served.update(takings.served())
        for name, share in takings.short().items():
            self._ran_out_s.setdefault(name, self.at_s + share * dt_s)
        for store, before_si in zip(self._all_stores, given_before_si, strict=True):
            store.rate_si_per_s = (store.given_si - before_si) / dt_s
        self._life.leak(demand, dt_s)
        self._faults.leak_stores(self._by_name, self.at_s, dt_s)

    def _held_behind(self, feeding: Mapping[str, Feeding]) -> dict[str, float]:
        """By use, what the stores hold that give to it; only where a fault leaks through a use."""
        if not self._faults.has_use_leaks:
            return {}
        held_si = {
            name: sum(store.held_si for store in (*each.shared, *each.spares))
            for name, each in feeding.items()
        }
        return {use: held_si[supply] for use, supply in self._supply_of_use.items()}

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
