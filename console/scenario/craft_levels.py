"""The ``levels`` of craft.yaml: named configurations, each the state of every load."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from console.craft.model import Level, LoadState
from console.scenario.craft_loads import LEVEL_KEY
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.outline import ALL_OFF

_MOST_TOLD = 8
_EXPECTED = "write the states of loads, as {s-radio: standby}"


def read_levels(node: Node, loads: Collection[str] | None) -> tuple[dict[str, Level], Collection[str] | None]:
    """Every level and the names of all; the names are None where they could not be read."""
    implicit = (
        {ALL_OFF: Level(name=ALL_OFF, states=MappingProxyType({}))} if loads is not None and not loads else {}
    )
    if not node.is_given:
        if loads:
            node.refuse("nothing", "write the levels, each as NAME: {LOAD: on}")
        return implicit, tuple(implicit) if loads is not None else None
    nodes = node.named("write the levels, each as NAME: {LOAD: on}")
    if nodes is None:
        return {}, None
    if loads and not nodes:
        node.refuse("no level", "write at least one")
    members = {name: each.named(_EXPECTED) or {} for name, each in nodes.items()}
    like = {name: _read_like(each, nodes) for name, each in members.items()}
    own = {name: _read_own(each, loads) for name, each in members.items()}
    _refuse_circles(nodes, like)
    states = _all_states(like, own, loads or ())
    levels = {name: Level(name=name, states=MappingProxyType(states[name])) for name in nodes}
    return {**implicit, **levels}, (*implicit, *levels)


def _read_like(members: Mapping[str, Node], levels: Collection[str]) -> str | None:
    return members[LEVEL_KEY].reference(levels, "a level") if LEVEL_KEY in members else None


def _read_own(members: Mapping[str, Node], loads: Collection[str] | None) -> dict[str, LoadState]:
    """The states that a level sets itself."""
    own: dict[str, LoadState] = {}
    for name, each in members.items():
        if name == LEVEL_KEY:
            continue
        state = each.choice(LoadState)
        if each.check_reference(name, loads, "a load") and state is not None:
            own[name] = state
    return own


def _refuse_circles(nodes: Mapping[str, Node], like: dict[str, str | None]) -> None:
    """Tell each circle of levels once, and open it, so that the levels can be worked out."""
    order = list(nodes)
    clear: set[str] = set()
    for name in nodes:
        walk: dict[str, None] = {}  # in order, and quick to look into
        step: str | None = name
        while step is not None and step not in clear and step not in walk:
            walk[step] = None
            step = like[step]
        if step is not None and step in walk:
            circle = list(walk)[list(walk).index(step) :]
            first = min(circle, key=order.index)
            start = circle.index(first)
            _refuse_circle(nodes[first], [*circle[start:], *circle[:start], first])
            like[first] = None
        clear.update(walk)


def _refuse_circle(node: Node, circle: list[str]) -> None:
    told = circle if len(circle) <= _MOST_TOLD else [*circle[: _MOST_TOLD - 1], "…", circle[-1]]
    found = "a circle of levels, " + " -> ".join(shown(each) for each in told)
    node.below(LEVEL_KEY).refuse(found, "let one of them stand without 'like'")


def _all_states(
    like: Mapping[str, str | None], own: Mapping[str, Mapping[str, LoadState]], loads: Collection[str]
) -> dict[str, dict[str, LoadState]]:
    """By level, the state of every load in the craft's order; what is nowhere named is off."""
    states: dict[str, dict[str, LoadState]] = {}
    for name in like:
        due = []
        step: str | None = name
        while step is not None and step not in states:
            due.append(step)
            step = like[step]
        for level in reversed(due):
            base = dict.fromkeys(loads, LoadState.OFF) if step is None else states[step]
            states[level] = {**base, **own[level]}
            step = level
    return states
