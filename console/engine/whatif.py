"""What would be if: changes of the plan and the configuration that nobody has made, laid over a situation.

Each kind of change says one thing; ``suppose`` lays several over a Situation and gives another Situation,
which the engine assesses as it does any. Nothing is remembered and nothing is logged, and what readings said
of the craft as it is stays said. Names are those of the craft and the plan: whoever makes a change from words
has checked them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TypeAlias

from console.craft.model import Activity, Craft, LoadState, Store, StoreState
from console.craft.plan import Event, Option, Phase, Plan, phase_at
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import taken_over
from console.engine.known import Situation, judged
from console.engine.needs import need_cautions

LABEL = "supposed"
"""What stands where a logged step would have its name."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SwitchLoad:
    """A load put into a state and kept there, whatever the plan's levels say, from one moment to another."""

    load: str
    to: LoadState
    from_s: float
    until_s: float | None = None
    """When the plan has it again; None for good."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SwitchOff:
    """Loads off from one moment on, but in phases whose level asks more of them than the level then does.

    So a planned power-up keeps what it needs, and everything it leaves as it is stays off.
    """

    loads: tuple[str, ...]
    from_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeLevel:
    """Every load put into the state of a level at one moment; the plan's later phases move them on."""

    level: str
    from_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class MovePeople:
    """Another roster from one moment on, through all phases after it."""

    crew: Mapping[Activity, int]
    from_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SetRate:
    """A use of the craft (a leak above all) at another rate from now on: as its rating, in SI."""

    use: str
    rate_si_per_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeOption:
    """Another way home from now on: what the present course has done by now stays done."""

    option: str


@dataclass(frozen=True, kw_only=True, slots=True)
class AddEvent:
    """A one-off that the plan does not have."""

    event: Event


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveEvent:
    """An event of the plan at another moment."""

    name: str
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DropEvent:
    """An event of the plan that does not happen."""

    name: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveStore:
    """A store opened or shut at one moment."""

    store: str
    to: StoreState
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LoseStore:
    """A store that holds nothing any more, from now on."""

    store: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LeaveModule:
    """A module left behind at one moment."""

    module: str
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveArrival:
    """The arrival of the way home earlier (below zero) or later."""

    by_s: float


Change: TypeAlias = (
    SwitchLoad
    | SwitchOff
    | TakeLevel
    | MovePeople
    | SetRate
    | TakeOption
    | AddEvent
    | MoveEvent
    | DropEvent
    | MoveStore
    | LoseStore
    | LeaveModule
    | MoveArrival
)


def suppose(situation: Situation, changes: Iterable[Change]) -> Situation:
    """The situation with changes laid over it, in their order.

    An option is taken first, whatever its place: the other changes are meant for the plan it makes.

    Raises:
        KeyError: a change names what craft or plan do not have.
    """
    before = situation = judged(situation)
    ordered = sorted(changes, key=lambda change: not isinstance(change, TakeOption))
    for change in ordered:
        situation = _with(situation, change)
    return replace(situation, notices=(*situation.notices, *need_cautions(before, situation)))


def _with(situation: Situation, change: Change) -> Situation:
    craft, plan = situation.craft, situation.plan
    match change:
        case SwitchLoad():
            return _moved(situation, *_switched(craft, plan, change))
        case SwitchOff():
            return _moved(situation, *_switched_off(craft, plan, change))
        case TakeLevel():
            states = craft.levels[change.level].states
            return _moved(situation, _step(change.from_s, loads=states))
        case MovePeople():
            return replace(situation, plan=_with_people(plan, change))
        case SetRate():
            return replace(situation, craft=_with_rate(craft, change))
        case TakeOption():
            return replace(situation, plan=taken_over(plan, change.option, situation.at_s))
        case AddEvent() | MoveEvent() | DropEvent():
            return replace(situation, plan=_with_events(plan, change))
        case MoveStore():
            craft.store(change.store)
            return _moved(situation, _step(change.at_s, stores={change.store: change.to}))
        case LoseStore():
            return replace(
                situation,
                craft=_without_store(craft, change.store),
                plan=_plan_without_store(plan, change.store),
            )
        case LeaveModule():
            return _moved(situation, _left(craft, change))
        case MoveArrival():
            return replace(situation, plan=_with_arrival(plan, change.by_s))


def _moved(situation: Situation, *steps: ConfigurationChange) -> Situation:
    return replace(situation, supposed=(*situation.supposed, *steps))


def _step(
    at_s: float,
    loads: Mapping[str, LoadState] | None = None,
    stores: Mapping[str, StoreState] | None = None,
) -> ConfigurationChange:
    return ConfigurationChange(at_s=at_s, label=LABEL, loads=loads or {}, stores=stores or {}, used_si={})


def _switched(craft: Craft, plan: Plan, change: SwitchLoad) -> list[ConfigurationChange]:
    """The load is put there, put there again whenever the plan moves it, and given back at the end."""
    load = craft.loads[change.load].name
    until_s = float("inf") if change.until_s is None else change.until_s
    phases = plan.phases_under(plan.options[plan.committed])
    moments = [change.from_s]
    moments += [phase.start_s for phase in phases if change.from_s < phase.start_s < until_s]
    steps = [_step(at_s, loads={load: change.to}) for at_s in moments]
    if change.until_s is not None:
        level = craft.levels[phase_at(phases, change.until_s).level]
        steps.append(_step(change.until_s, loads={load: level.states[load]}))
    return steps


def _switched_off(craft: Craft, plan: Plan, change: SwitchOff) -> list[ConfigurationChange]:
    """Off now; in each later phase off, or in the state of its level where that draws more than now's."""
    phases = plan.phases_under(plan.options[plan.committed])
    loads = [craft.loads[name] for name in change.loads]
    now = craft.levels[phase_at(phases, change.from_s).level].states
    steps = [_step(change.from_s, loads={load.name: LoadState.OFF for load in loads})]
    for phase in phases:
        if phase.start_s > change.from_s:
            then = craft.levels[phase.level].states
            states = {
                load.name: then[load.name]
                if load.draw_si_per_s(then[load.name]) > load.draw_si_per_s(now[load.name])
                else LoadState.OFF
                for load in loads
            }
            steps.append(_step(phase.start_s, loads=states))
    return steps


def _left(craft: Craft, change: LeaveModule) -> ConfigurationChange:
    modules = () if craft.propulsion is None else craft.propulsion.modules
    if not any(module.name == change.module for module in modules):
        raise KeyError(change.module)
    return replace(_step(change.at_s), drops=(change.module,))


def _with_people(plan: Plan, change: MovePeople) -> Plan:
    crew = MappingProxyType(dict(change.crew))
    options = {
        name: replace(option, phases=_roster_from(option.phases, crew, change.from_s))
        for name, option in plan.options.items()
    }
    return replace(
        plan,
        phases=_roster_from(plan.phases, crew, change.from_s),
        options=MappingProxyType(options),
    )


def _roster_from(phases: tuple[Phase, ...], crew: Mapping[Activity, int], from_s: float) -> tuple[Phase, ...]:
    """The phases with another roster from a moment on; the one in progress then is parted there."""
    before = [phase for phase in phases if phase.start_s < from_s]
    after = [replace(phase, crew=crew) for phase in phases if phase.start_s >= from_s]
    parted = [replace(before[-1], start_s=from_s, crew=crew)] if before else []
    if after and after[0].start_s == from_s:
        parted = []
    return (*before, *parted, *after)


def _with_rate(craft: Craft, change: SetRate) -> Craft:
    if not any(use.name == change.use for use in craft.uses):
        raise KeyError(change.use)
    uses = []
    for use in craft.uses:
        if use.name == change.use and use.leak_si_per_s is not None:
            use = replace(use, leak_si_per_s=change.rate_si_per_s)
        elif use.name == change.use:
            use = replace(
                use,
                rate_si_per_s=change.rate_si_per_s,
                per_person_si_per_s=None,
                metabolic=None,
                hole_m2=None,
                evaporates_heat_of=(),
            )
        uses.append(use)
    return replace(craft, uses=tuple(uses))


def _without_store(craft: Craft, name: str) -> Craft:
    """Nor is there a leak of it, a module that holds it or a line through which it gives."""
    supply, _ = craft.store(name)
    left = replace(supply, stores=_without(supply.stores, name))
    propulsion = craft.propulsion
    if propulsion is not None:
        modules = tuple(
            replace(module, stores=tuple(store for store in module.stores if store != name))
            for module in propulsion.modules
        )
        propulsion = replace(propulsion, modules=modules)
    return replace(
        craft,
        supplies=MappingProxyType({**craft.supplies, supply.name: left}),
        uses=tuple(use for use in craft.uses if use.of_store != name),
        propulsion=propulsion,
        lines=tuple(
            replace(line, stores=tuple(store for store in line.stores if store != name))
            for line in craft.lines
        ),
    )


def _without(stores: tuple[Store, ...], name: str) -> tuple[Store, ...]:
    return tuple(store for store in stores if store.name != name)


def _plan_without_store(plan: Plan, name: str) -> Plan:
    """Nothing is moved into a store that is gone, and nothing opens it."""
    options = {
        key: replace(option, events=tuple(_event_without_store(event, name) for event in option.events))
        for key, option in plan.options.items()
    }
    events = tuple(_event_without_store(event, name) for event in plan.events)
    return replace(plan, events=events, options=MappingProxyType(options))


def _event_without_store(event: Event, name: str) -> Event:
    transfer = event.transfer
    if transfer is not None and transfer.target_store == name:
        transfer = None
    sets = MappingProxyType({store: state for store, state in event.sets.items() if store != name})
    return replace(event, transfer=transfer, sets=sets)


def _with_events(plan: Plan, change: AddEvent | MoveEvent | DropEvent) -> Plan:
    if isinstance(change, AddEvent):
        return replace(plan, events=_in_order((*plan.events, change.event)))
    option = plan.options[plan.committed]
    if not any(event.name == change.name for event in plan.events_under(option)):
        raise KeyError(change.name)
    changed = replace(option, events=_events(option.events, change))
    return _with_option(replace(plan, events=_events(plan.events, change)), changed)


def _events(events: tuple[Event, ...], change: MoveEvent | DropEvent) -> tuple[Event, ...]:
    if isinstance(change, DropEvent):
        return tuple(event for event in events if event.name != change.name)
    return _in_order(
        replace(event, at_s=change.at_s) if event.name == change.name else event for event in events
    )


def _in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    return tuple(sorted(events, key=lambda event: event.at_s))


def _with_arrival(plan: Plan, by_s: float) -> Plan:
    option = plan.options[plan.committed]
    return _with_option(plan, replace(option, arrival_s=option.arrival_s + by_s))


def _with_option(plan: Plan, option: Option) -> Plan:
    return replace(plan, options=MappingProxyType({**plan.options, option.name: option}))
