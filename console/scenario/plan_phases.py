"""The ``phases`` of a plan: stretches of time with one level and one roster, in order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from console.craft.model import Activity
from console.craft.plan import Phase
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.outline import ALL_OFF, CraftOutline
from console.scenario.quantities import read_instant_s

_KEYS = ("name", "start", "level", "crew")


def read_phases(node: Node, craft: CraftOutline) -> tuple[Phase, ...] | None:
    """The phases; None where not all of them could be read, or none are given."""
    nodes = node.listed("write a list of phases, each as {name: coast, start: T+7h, level: quiet}")
    if nodes is None:
        return None
    read = [(each, _read_phase(each, craft)) for each in nodes]
    phases = [(each, phase) for each, phase in read if phase is not None]
    refuse_disorder((each, phase.start_s) for each, phase in phases)
    refuse_equal_names((each, phase.name) for each, phase in phases)
    return tuple(phase for _, phase in phases) if len(phases) == len(nodes) else None


def _read_phase(node: Node, craft: CraftOutline) -> Phase | None:
    fields = node.fields(_KEYS, "write a phase, as {name: coast, start: T+7h, level: quiet}")
    if fields is None:
        return None
    name = fields.need("name").name()
    start_s = read_instant_s(fields.need("start"), craft.epoch)
    has_loads = craft.loads is None or len(craft.loads) > 0
    level_node = fields.need("level") if has_loads else fields.may("level")
    level = level_node.reference(craft.levels, "a level") if level_node.is_given or has_loads else ALL_OFF
    crew = _read_crew(fields.may("crew"), craft.crew_count)
    if name is None or start_s is None or level is None:
        return None
    return Phase(name=name, start_s=start_s, level=level, crew=MappingProxyType(crew))


def _read_crew(node: Node, aboard: int | None) -> Mapping[Activity, int]:
    """How many people do what; all nominal where nothing is said."""
    if not node.is_given:
        return {} if aboard is None else {Activity.NOMINAL: aboard}
    expected = "write who does what, as {asleep: 2, nominal: 2}"
    fields = node.fields([activity.value for activity in Activity], expected)
    if fields is None:
        return {}
    counts: dict[Activity, int] = {}
    for activity in Activity:
        each = fields.may(activity.value)
        count = each.whole("write how many people, a whole number", least=0)
        if count is not None:
            counts[activity] = count
        elif each.is_given:
            return counts  # a sum with a part that is not known would be judged wrongly
    if aboard is not None and sum(counts.values()) != aboard:
        found = f"{sum(counts.values())} people"
        node.refuse(found, f"write activities for {aboard}, as crew.count in craft.yaml says")
    return counts


def refuse_disorder(starts: Iterable[tuple[Node, float]]) -> None:
    """Tell a fault where a start is not later than the one before it."""
    before: tuple[Node, float] | None = None
    for node, start_s in starts:
        if before is not None and start_s <= before[1]:
            start = node.below("start")
            start.refuse(
                f"a start that is not later than that of {before[0].place}", "write them in order of time"
            )
        before = node, start_s


def refuse_equal_names(names: Iterable[tuple[Node, str]]) -> None:
    """Tell a fault where a name is used a second time."""
    seen: dict[str, str] = {}
    for node, name in names:
        if name in seen:
            found = f"{shown(name)}, as {seen[name]} is called already"
            node.below("name").refuse(found, "write another name")
        else:
            seen[name] = node.place
