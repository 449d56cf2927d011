"""The ``events`` of a plan: one-off uses, transfers, stores opened or shut, burns, parts left behind."""

from __future__ import annotations

from collections.abc import Collection
from types import MappingProxyType

from console.craft.model import StoreState
from console.craft.plan import Event, Transfer
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.outline import CraftOutline
from console.scenario.plan_changes import (
    merge_states,
    read_change_out,
    read_drops,
    read_repressurisation,
    refuse_spare,
)
from console.scenario.quantities import (
    STORED,
    read_duration_s,
    read_fraction,
    read_instant_s,
    read_quantity,
)
from console.units import Dimension

_WHAT = ("uses", "transfer", "set", "repressurise", "change_out", "burn", "drop")
_KEYS = ("name", "at", "lasts", "spread", *_WHAT)
_TRANSFER = "write {from: power, to: bat-entry, amount: 18 A*h}"


def read_events(node: Node, craft: CraftOutline, before: Collection[Event] = ()) -> tuple[Event, ...]:
    """Every event that could be read, in order of time.

    Args:
        node: the list of them.
        craft: what is known of the craft.
        before: the events of the plan, in the course of which these happen too.
    """
    nodes = node.listed("write a list of events, each as {name: ..., at: T+70h, uses: {oxygen: 3 kg}}") or []
    dropped = {module: event.name for event in before for module in event.drops}
    events = [_read_event(each, craft, dropped) for each in nodes]
    return tuple(sorted((event for event in events if event is not None), key=lambda event: event.at_s))


def _read_event(node: Node, craft: CraftOutline, dropped: dict[str, str]) -> Event | None:
    """One event; ``dropped`` holds what was left behind so far by which event, and is given this one's."""
    fields = node.fields(_KEYS, "write an event, as {name: ..., at: T+70h, uses: {oxygen: 3 kg}}")
    if fields is None:
        return None
    name = fields.need("name").name()
    at_s = read_instant_s(fields.need("at"), craft.epoch)
    lasts_s = read_duration_s(fields.may("lasts"), is_positive=True)
    uses_si = _read_uses(fields.may("uses"), craft)
    filling = read_repressurisation(fields.may("repressurise"), craft)
    if filling is not None:
        supply, amount_si = filling
        uses_si[supply] = uses_si.get(supply, 0.0) + amount_si
    spread = read_fraction(fields.may("spread"))
    transfer = _read_transfer(fields.may("transfer"), craft)
    sets = _read_sets(fields.may("set"), craft)
    change_out = fields.may("change_out")
    sets = merge_states(change_out, sets, read_change_out(change_out, craft))
    burn_m_per_s = _read_burn(fields.may("burn"), craft)
    drops = _read_drops(fields.may("drop"), name or "", craft, dropped)
    if not any(fields.may(key).is_given for key in _WHAT):
        node.refuse("an event that does nothing", f"write at least one of {', '.join(_WHAT)}")
    if name is None or at_s is None:
        return None
    return Event(
        name=name,
        at_s=at_s,
        uses_si=MappingProxyType(uses_si),
        spread_fraction=spread or 0.0,
        transfer=transfer,
        sets=MappingProxyType(sets),
        lasts_s=lasts_s or 0.0,
        burn_m_per_s=burn_m_per_s,
        drops=drops,
    )


def _read_burn(node: Node, craft: CraftOutline) -> float | None:
    """A change of velocity, which only a craft with propulsion can make."""
    burn_m_per_s = read_quantity(node, Dimension.VELOCITY, is_positive=True)
    if node.is_given and craft.has_propulsion is False:
        node.refuse("a burn of a craft without propulsion", "write propulsion in craft.yaml, or leave it out")
    return burn_m_per_s


def _read_drops(node: Node, event: str, craft: CraftOutline, dropped: dict[str, str]) -> tuple[str, ...]:
    """The modules that are left behind, each once in the whole course of events."""
    drops = []
    for each, module in read_drops(node, craft):
        if module in dropped:
            found = f"{shown(module)}, which {shown(dropped[module])} leaves behind already"
            each.refuse(found, "drop each module once")
        else:
            drops.append(module)
    dropped.update((module, event) for module in drops)
    return tuple(drops)


def _dimensions(dimension: Dimension | None) -> tuple[Dimension, ...]:
    return STORED if dimension is None else (dimension,)


def _read_uses(node: Node, craft: CraftOutline) -> dict[str, float]:
    amounts_si: dict[str, float] = {}
    for supply, each in (node.named("write what it takes, as {oxygen: 3 kg}") or {}).items():
        if each.check_reference(supply, craft.supplies, "a supply"):
            amount_si = read_quantity(each, *_dimensions(craft.dimension_of_supply(supply)))
            if amount_si is not None:
                amounts_si[supply] = amount_si
    return amounts_si


def _read_sets(node: Node, craft: CraftOutline) -> dict[str, StoreState]:
    states: dict[str, StoreState] = {}
    for store, each in (node.named("write states of stores, as {o2-walk: feeding}") or {}).items():
        state = each.choice(StoreState)
        if each.check_reference(store, craft.stores, "a store") and state is not None:
            refuse_spare(each, store, state, craft)
            states[store] = state
    return states


def _read_transfer(node: Node, craft: CraftOutline) -> Transfer | None:
    fields = node.fields(("from", "to", "amount", "efficiency"), _TRANSFER)
    if fields is None:
        return None
    source = fields.need("from").reference(craft.supplies, "a supply")
    target = fields.need("to").reference(craft.stores, "a store")
    dimension = None if target is None else craft.dimension_of_store(target)
    amount_si = read_quantity(fields.need("amount"), *_dimensions(dimension), is_positive=True)
    efficiency = read_fraction(fields.may("efficiency"), is_positive=True)
    if source is None or target is None:
        return None
    _check_same_kind(fields, source, target, craft)
    if amount_si is None:
        return None
    check_fits(fields.need("amount"), amount_si, target, craft)
    return Transfer(
        source=source,
        target_store=target,
        amount_si=amount_si,
        efficiency_fraction=1.0 if efficiency is None else efficiency,
    )


def _check_same_kind(fields: Fields, source: str, target: str, craft: CraftOutline) -> None:
    given, taken = craft.dimension_of_supply(source), craft.dimension_of_store(target)
    if given is not None and taken is not None and given is not taken:
        found = (
            f"a transfer of {given.word} from {shown(source)} into {shown(target)}, which holds {taken.word}"
        )
        fields.node.refuse(found, "move between stores of one kind of amount")


def check_fits(node: Node, amount_si: float, store: str, craft: CraftOutline) -> None:
    """Refuse an amount that the store cannot hold even when it is empty."""
    capacity_si = craft.capacity_of_store(store)
    if capacity_si is not None and amount_si > capacity_si * (1.0 + 1e-9):
        node.refuse_value(f"write at most the capacity of {shown(store)}")
