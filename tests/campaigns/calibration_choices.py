"""What of a craft can be switched, can leak or is read, and when its plan lets it be: choices for regimes.

What is chosen comes from the generator that is given, and nothing else is random here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from console.craft.channels import Channel, Measured
from console.craft.model import Craft, HeatSource, LoadState, Store, StoreKind, StoreState, Supply
from console.craft.plan import Event
from console.engine.configuration import Configuration, ConfigurationChange
from console.feed.simulation_file import Simulation
from console.scenario.load import Scenario

HOUR_S = 3600.0
OFTEN_READ_S = HOUR_S
"""A channel that is old after less than this is read by the minute; others are read by hand, once a watch."""
FULL_SHARE = 0.6
"""Of a pressure gauge's range, what its bottle is taken to show when full (invented)."""


def quiet_moments_s(scenario: Scenario, start_s: float, before_s: float, after_s: float) -> list[float]:
    """Moments about which the plan moves no load, store or person and has no event, ten minutes apart."""
    plan = scenario.plan
    option = plan.options[plan.committed]
    configuration, last_s = flown(scenario), option.need_s - 3.0 * HOUR_S
    moves_s = {segment.start_s for segment in configuration.segments(-math.inf, math.inf)}
    moves_s |= {event.at_s for event in plan.events_under(option)}
    moments_s = np.arange(start_s + before_s, last_s - after_s, 600.0)
    return [
        float(moment_s)
        for moment_s in moments_s
        if not any(moment_s - before_s < move_s <= moment_s + after_s for move_s in moves_s)
    ]


def flown(scenario: Scenario, changes: Iterable[ConfigurationChange] = ()) -> Configuration:
    """How the craft is switched under the committed option."""
    plan = scenario.plan
    option = plan.options[plan.committed]
    return Configuration(scenario.craft, plan.phases_under(option), plan.events_under(option), changes)


def with_spares_fitted(scenario: Scenario) -> Scenario:
    """The plan with one event more, for which nobody would need a plan: the spares that it leaves are fitted.

    The simulated crew fits none by itself, so without it the last spares would never be used, which is not
    what a forecast of them is about. The engine is told of the event as of every other.
    """
    last = flown(scenario).segments(-math.inf, math.inf)[-1]
    left = {name: StoreState.FEEDING for name, state in last.stores.items() if state is StoreState.SPARE}
    if not left:
        return scenario
    fitting = Event(
        name="spares fitted", at_s=last.start_s, uses_si={}, spread_fraction=0.0, transfer=None, sets=left
    )
    events = tuple(sorted((*scenario.plan.events, fitting), key=lambda event: event.at_s))
    return replace(scenario, plan=replace(scenario.plan, events=events))


def planned_move_s(scenario: Scenario, load: str, after_s: float) -> float:
    """When the plan next moves a load, which ends what a step did to it."""
    segments = flown(scenario).segments(after_s, math.inf)
    state = segments[0].loads[load]
    return next((one.start_s for one in segments if one.loads[load] is not state), math.inf)


def moved_loads(
    scenario: Scenario, at_s: float, luck: np.random.Generator, *, goes_up: bool
) -> dict[str, LoadState]:
    """Loads at random until they make a quarter to a half of the draw."""
    craft, states = scenario.craft, flown(scenario).loads_at(at_s)
    total = sum(load.draw_si_per_s(states[name].state) for name, load in craft.loads.items())
    goal = total * float(luck.uniform(0.25, 0.5))
    target = LoadState.ON if goes_up else LoadState.OFF
    kept = _serving(craft)
    names = [name for name in craft.loads if name not in kept and states[name].state is not target]
    moved: dict[str, LoadState] = {}
    for name in luck.permutation(names).tolist():
        load = craft.loads[name]
        step = abs(load.draw_si_per_s(target) - load.draw_si_per_s(states[name].state))
        if 0.0 < step <= 1.3 * goal:
            moved[name] = target
            goal -= step
    return moved


def _serving(craft: Craft) -> set[str]:
    """Loads without which air, warmth or modules go another way: moving them is another regime."""
    kept: set[str] = set()
    cabin = craft.cabin
    if cabin is not None:
        for part in (cabin.removal, cabin.oxygen_feed, cabin.drying):
            kept |= set(part.needs) if part is not None else set()
        kept |= set(cabin.thermal.cooling_needs) if cabin.thermal is not None else set()
    if craft.propulsion is not None:
        kept |= {name for module in craft.propulsion.modules for name in module.loads}
    # What is needed by one that is kept is kept too.
    kept |= {needed for name in kept for needed in craft.loads[name].needs}
    return kept


def moved_by_loads(craft: Craft) -> tuple[str, ...]:
    """The supplies whose rate follows what loads draw."""
    drawn = {load.supply for load in craft.loads.values()}
    drawn |= {use.supply for use in craft.uses if HeatSource.LOADS in use.evaporates_heat_of}
    return tuple(name for name in craft.supplies if name in drawn)


def leaking(craft: Craft, simulation: Simulation, luck: np.random.Generator) -> tuple[Supply, list[Store]]:
    """A supply with gauged tanks or bottles that feed, and these."""
    found = []
    for supply in craft.supplies.values():
        stores = [
            store
            for store in supply.stores
            if store.kind in (StoreKind.GAS, StoreKind.LIQUID)
            and store.state is StoreState.FEEDING
            and simulation.initial_si[store.name] > 0.0
            and _is_often_read(craft, store)
        ]
        if stores:
            found.append((supply, stores))
    return found[int(luck.integers(len(found)))]


def _is_often_read(craft: Craft, store: Store) -> bool:
    gauge = store.pressure if store.pressure is not None else store.quantity
    return (
        gauge is not None
        and gauge.channel is not None
        and craft.channels[gauge.channel].stale_after_s < OFTEN_READ_S
    )


def gauges(craft: Craft) -> dict[str, tuple[Channel, float]]:
    """By channel that gauges what a store holds, what it shows at full; of a pressure, most of its range."""
    found: dict[str, tuple[Channel, float]] = {}
    for supply in craft.supplies.values():
        for store in supply.stores:
            for measured, full_si in (
                (store.quantity, 1.0 if store.quantity_is_share else store.capacity_si),
                (store.used, store.capacity_si),
                (store.pressure, None),
            ):
                channel = _channel(craft, measured)
                if channel is not None:
                    found[channel.name] = (
                        channel,
                        FULL_SHARE * (channel.high_si or 0.0) if full_si is None else full_si,
                    )
    return found


def gauged(craft: Craft) -> list[str]:
    """The supplies with a gauge on a store that feeds."""
    found = gauges(craft)
    return [
        name
        for name, supply in craft.supplies.items()
        if any(
            measured is not None and measured.channel in found
            for store in supply.stores
            if store.state is StoreState.FEEDING
            for measured in (store.quantity, store.used, store.pressure)
        )
    ]


def one_gauge(craft: Craft, luck: np.random.Generator) -> tuple[str, str]:
    """A supply, and a gauge or meter of one of its stores that feeds, read by the minute."""
    supplies: dict[str, list[str]] = {}
    for name, supply in craft.supplies.items():
        for store in supply.stores:
            if store.state is not StoreState.FEEDING:
                continue
            for measured in (store.quantity, store.used, store.pressure, store.current):
                channel = _channel(craft, measured)
                if channel is not None and channel.stale_after_s < OFTEN_READ_S:
                    supplies.setdefault(name, []).append(channel.name)
    supply_name = list(supplies)[int(luck.integers(len(supplies)))]
    channels = supplies[supply_name]
    return supply_name, channels[int(luck.integers(len(channels)))]


def _channel(craft: Craft, measured: Measured | None) -> Channel | None:
    return None if measured is None or measured.channel is None else craft.channels[measured.channel]
