"""plan.yaml to a frozen Plan: phases, events, options and watches, checked against what the craft has."""

from __future__ import annotations

from types import MappingProxyType

from console.craft.plan import Event, Option, Phase, Plan, Watch
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.outline import CraftOutline
from console.scenario.plan_events import read_events
from console.scenario.plan_phases import read_phases, refuse_disorder
from console.scenario.quantities import read_duration_s, read_instant_s, read_quantity
from console.units import Dimension

_KEYS = ("format", "phases", "events", "options", "committed", "watches")
_OPTION_KEYS = (
    *("arrival", "recovery", "hold", "arrival_spread", "decide_by", "delta_v", "note", "phases", "events"),
)
_OPTION = "write the way home, as {arrival: T+104h, recovery: 1.5 h}"


def read_plan(node: Node, craft: CraftOutline) -> Plan | None:
    """The plan as far as it could be read; it may be used only if no fault was told."""
    fields = node.fields(_KEYS, "write the keys of a plan, as format: 1")
    if fields is None:
        return None
    fields.check_format()
    phases = read_phases(fields.need("phases"), craft)
    if phases == ():
        fields.need("phases").refuse("no phase", "write at least one")
    events = read_events(fields.may("events"), craft)
    option_nodes = _option_nodes(fields.need("options"))
    options = {
        name: _read_option(name, each, craft, phases, events) for name, each in (option_nodes or {}).items()
    }
    committed = fields.need("committed").reference(option_nodes, "an option")
    watches = _read_watches(fields.may("watches"), craft)
    if phases is None or committed is None:
        return None
    return Plan(
        phases=phases,
        events=events,
        options=MappingProxyType({name: option for name, option in options.items() if option is not None}),
        committed=committed,
        watches=watches,
    )


def _option_nodes(node: Node) -> dict[str, Node] | None:
    nodes = node.named("write the ways home, each as NAME: {arrival: T+104h}")
    if nodes is not None and not nodes:
        node.refuse("no option", "write at least one")
        return None
    return nodes


def _read_option(
    name: str,
    node: Node,
    craft: CraftOutline,
    plan_phases: tuple[Phase, ...] | None,
    plan_events: tuple[Event, ...],
) -> Option | None:
    fields = node.fields(_OPTION_KEYS, _OPTION)
    if fields is None:
        return None
    arrival_s = read_instant_s(fields.need("arrival"), craft.epoch)
    decide_by_s = read_instant_s(fields.may("decide_by"), craft.epoch)
    recovery_s, hold_s, spread_s = (
        read_duration_s(fields.may(key)) or 0.0 for key in ("recovery", "hold", "arrival_spread")
    )
    delta_v = read_quantity(fields.may("delta_v"), Dimension.VELOCITY)
    note = fields.may("note").text() or ""
    phases = read_phases(fields.may("phases"), craft) or ()
    events = read_events(fields.may("events"), craft, plan_events)
    _refuse_names_flown_twice(fields.may("phases"), phases, plan_phases)
    if arrival_s is None:
        return None
    _check_moments(fields, arrival_s, decide_by_s, plan_phases)
    return Option(
        name=name,
        arrival_s=arrival_s,
        arrival_spread_s=spread_s,
        recovery_s=recovery_s,
        hold_s=hold_s,
        decide_by_s=decide_by_s,
        delta_v_m_per_s=delta_v,
        phases=phases,
        events=events,
        note=note,
    )


def _check_moments(
    fields: Fields, arrival_s: float, decide_by_s: float | None, plan_phases: tuple[Phase, ...] | None
) -> None:
    if plan_phases and arrival_s < plan_phases[0].start_s:
        fields.need("arrival").refuse_value("write a moment after the start of the first phase")
    elif decide_by_s is not None and decide_by_s > arrival_s:
        fields.may("decide_by").refuse_value("write a moment before the arrival")


def _refuse_names_flown_twice(
    node: Node, phases: tuple[Phase, ...], plan_phases: tuple[Phase, ...] | None
) -> None:
    """An option's phases replace the plan's from the first of them on; those before it keep their names."""
    kept = [phase.name for phase in plan_phases or () if phases and phase.start_s < phases[0].start_s]
    for phase in phases:
        if phase.name in kept:
            found = f"a phase {shown(phase.name)}, and the plan's own of that name is flown before it"
            node.refuse(found, "write another name")


def _read_watches(node: Node, craft: CraftOutline) -> tuple[Watch, ...]:
    nodes = node.listed("write a list of watches, each as {name: first, start: T+0h}") or []
    read = [(each, _read_watch(each, craft)) for each in nodes]
    watches = [(each, watch) for each, watch in read if watch is not None]
    refuse_disorder((each, watch.start_s) for each, watch in watches)
    return tuple(watch for _, watch in watches)


def _read_watch(node: Node, craft: CraftOutline) -> Watch | None:
    fields = node.fields(("name", "start"), "write a watch, as {name: first, start: T+0h}")
    if fields is None:
        return None
    name = fields.need("name").name()
    start_s = read_instant_s(fields.need("start"), craft.epoch)
    return None if name is None or start_s is None else Watch(name=name, start_s=start_s)
