"""What stands around the supplies in a Snapshot: need, loads, what is coming, the cabin, the watch."""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.cabin import CabinProperty
from console.craft.model import Craft
from console.craft.plan import Event, Option, Phase, Watch, watch_at
from console.engine.configuration import Configuration
from console.engine.decision import Decision
from console.engine.leaks import CabinPressure, leak_pressures
from console.engine.mass import delta_v_left_m_per_s
from console.engine.quantity import read_value
from console.engine.reading import CabinReading, FeedState
from console.engine.snapshot import Coming, LoadStatus, Need, SupplyStatus


def need_of(
    craft: Craft,
    option: Option,
    supplies: Mapping[str, SupplyStatus],
    at_s: float,
    configuration: Configuration | None = None,
    decision: Decision | None = None,
) -> Need:
    """Until when every supply must last under an option, and the delta-v it asks and there is.

    ``configuration`` says which modules are gone; without it, none is. ``decision`` is the logged one that
    is in force, which may be for another option than is asked for.
    """
    left = None
    propulsion = craft.propulsion
    if propulsion is not None:
        dropped = frozenset[str]() if configuration is None else configuration.dropped_at(at_s)
        left = delta_v_left_m_per_s(propulsion, supplies[propulsion.supply].usable_si, dropped)
    return Need(
        option=option.name,
        at_s=option.need_s,
        in_s=option.need_s - at_s,
        arrival_s=option.arrival_s,
        recovery_s=option.recovery_s,
        hold_s=option.hold_s,
        decide_by_s=option.decide_by_s,
        delta_v_m_per_s=option.delta_v_m_per_s,
        delta_v_left_m_per_s=left,
        note=option.note,
        decided_at_s=decision.at_s if decision is not None and decision.option == option.name else None,
        decided_by=decision.by if decision is not None and decision.option == option.name else "",
    )


def load_statuses(craft: Craft, configuration: Configuration, at_s: float) -> tuple[LoadStatus, ...]:
    """Every load as it is commanded, in the craft's order."""
    commanded = configuration.loads_at(at_s)
    return tuple(
        LoadStatus(
            name=load.name,
            title=load.title,
            supply=load.supply,
            state=commanded[load.name].state,
            draw_si_per_s=load.draw_si_per_s(commanded[load.name].state),
            priority=load.priority,
            by_step=commanded[load.name].by_step,
        )
        for load in craft.loads.values()
    )


def loads_differing(craft: Craft, configuration: Configuration, phase: Phase, at_s: float) -> int:
    """How many loads are commanded to another state than the phase's level gives them."""
    level = craft.levels[phase.level]
    return sum(
        commanded.state is not level.states[name] for name, commanded in configuration.loads_at(at_s).items()
    )


def next_phase(phases: tuple[Phase, ...], at_s: float) -> Coming | None:
    """The first phase that has not started."""
    for phase in phases:
        if phase.start_s > at_s:
            return Coming(name=phase.name, at_s=phase.start_s, in_s=phase.start_s - at_s)
    return None


def next_event(events: tuple[Event, ...], at_s: float) -> Coming | None:
    """The first event that has not come."""
    for event in events:
        if event.at_s > at_s:
            return Coming(name=event.name, at_s=event.at_s, in_s=event.at_s - at_s)
    return None


def watch_name(watches: tuple[Watch, ...], at_s: float) -> str | None:
    """Who has the board by the plan."""
    watch = watch_at(watches, at_s)
    return None if watch is None else watch.name


def cabin_pressure(craft: Craft, feed: FeedState) -> CabinPressure:
    """The pressures that leaks go by as last read, and whether they can be trusted."""
    return leak_pressures(craft, feed.readings, craft.channels)


def cabin_readings(craft: Craft, feed: FeedState, at_s: float) -> tuple[CabinReading, ...]:
    """The cabin's measured properties, for showing."""
    if craft.cabin is None:
        return ()
    cabin = craft.cabin
    properties = (
        (CabinProperty.PRESSURE, cabin.pressure, False),
        (CabinProperty.OXYGEN, cabin.oxygen, cabin.oxygen_is_share),
        (CabinProperty.CARBON_DIOXIDE, cabin.carbon_dioxide, cabin.carbon_dioxide_is_share),
        (CabinProperty.TEMPERATURE, cabin.temperature, False),
        (CabinProperty.HUMIDITY, cabin.humidity, False),
    )
    readings = []
    for of, measured, is_share in properties:
        if measured is not None:
            value = read_value(measured, feed.readings, craft.channels)
            readings.append(
                CabinReading(
                    name=of.value,
                    value_si=value.value_si,
                    quality=value.quality,
                    age_s=None if value.at_s is None else at_s - value.at_s,
                    why=value.why,
                    is_share=is_share,
                    unit=None if measured.channel is None else craft.channels[measured.channel].unit,
                )
            )
    return tuple(readings)
