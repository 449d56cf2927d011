"""Old readings carried forward: what the plan has taken from a store since its gauge last spoke.

A fresh reading is taken as it is. Once it is older than its channel allows, the store is reckoned down from
the moment of the reading by the plan, because a tank that nobody has read for six hours is six hours emptier.
"""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import Craft, Store
from console.craft.plan import Event
from console.engine.configuration import Configuration
from console.engine.planned_rate import feeding
from console.engine.planned_use import planned_use
from console.engine.quantity import StoreQuantity


def carried_forward(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    quantities: Mapping[str, StoreQuantity],
    cabin_pressure_pa: float | None,
    now_s: float,
) -> dict[str, float]:
    """By store, what the plan has taken since its reading; stores whose reading is not old are absent."""
    old = {
        name: quantity.as_of_s
        for name, quantity in quantities.items()
        if quantity.is_old and quantity.as_of_s is not None
    }
    if not old:
        return {}
    use = planned_use(craft, configuration, min(old.values()), cabin_pressure_pa)
    states = configuration.stores_at(now_s)
    carried = {}
    for supply in craft.supplies.values():
        giving = feeding(supply, states)
        for store in giving:
            if store.name in old:
                since_s = old[store.name]
                taken = float(use.used_si(supply.name, since_s, now_s).sum())
                taken += _events_si(events, supply.name, since_s, now_s)
                carried[store.name] = taken * _share(store, giving)
    return carried


def _events_si(events: tuple[Event, ...], supply: str, since_s: float, now_s: float) -> float:
    total = 0.0
    for event in events:
        if since_s < event.at_s <= now_s:
            total += event.uses_si.get(supply, 0.0)
            if event.transfer is not None and event.transfer.source == supply:
                total += event.transfer.amount_si / event.transfer.efficiency_fraction
    return total


def _share(store: Store, giving: tuple[Store, ...]) -> float:
    """A store's share of what its supply gives: by capacity, or equal where one has none."""
    capacities = [other.capacity_si for other in giving]
    known = [capacity for capacity in capacities if capacity is not None]
    if store.capacity_si is None or len(known) < len(capacities):
        return 1.0 / len(giving)
    return store.capacity_si / sum(known)
