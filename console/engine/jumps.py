"""What events and moved stores do to the usable amount of a supply, at one moment each.

An event can use a supply, move an amount between stores with its losses, or open and shut stores; a logged
step can open and shut them too. What is over at the moment asked for is in the gauges already; what comes
after need is not waited for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Craft, StoreState
from console.craft.plan import Event
from console.engine.configuration import Configuration, StoreMove
from console.engine.quantity import StoreQuantity
from console.engine.snapshot import LineKind


@dataclass(frozen=True, kw_only=True, slots=True)
class Jump:
    """One sudden change of a supply's usable amount."""

    supply: str
    at_s: float
    kind: LineKind
    name: str
    amount_si: float
    """Added to the usable amount: negative for what is taken."""
    spread_fraction: float = 0.0
    store: str = ""
    """The store that is opened or shut, whose gauge's error it brings; empty for all else."""
    error_sd_si: float = 0.0


def event_factor(name: str) -> str:
    """The key of an event's own uncertainty."""
    return f"event {name}"


def happenings_s(events: tuple[Event, ...], supply: str) -> tuple[float, ...]:
    """When events use a supply or move some of it."""
    return tuple(
        event.at_s
        for event in events
        if supply in event.uses_si or (event.transfer is not None and event.transfer.source == supply)
    )


def jumps_between(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    quantities: Mapping[str, StoreQuantity],
    after_s: float,
    until_s: float,
) -> tuple[Jump, ...]:
    """Every jump after one moment and up to another, in order of time.

    ``quantities`` says what a store holds that is opened or shut. A store that is shut takes away all it
    holds now, which is early, because part of that will have been used by then. A store that is filled takes
    no more than the room it has: what does not fit is lost.
    """
    received: dict[str, float] = {}
    jumps: list[Jump] = []
    happenings: list[Event | StoreMove] = [
        *(event for event in events if after_s < event.at_s <= until_s),
        *configuration.store_moves(after_s, until_s),
    ]
    # Stable: at one moment uses and transfers come before the stores they find open are moved.
    for happening in sorted(happenings, key=lambda one: one.at_s):
        if isinstance(happening, StoreMove):
            jumps.append(_moved_store(craft, happening, quantities, received))
        else:
            jumps.extend(_uses(happening))
            jumps.extend(_transfer(craft, configuration, happening, quantities, received))
    return tuple(jumps)


def _uses(event: Event) -> list[Jump]:
    return [
        Jump(
            supply=supply,
            at_s=event.at_s,
            kind=LineKind.EVENT,
            name=event.name,
            amount_si=-amount_si,
            spread_fraction=event.spread_fraction,
        )
        for supply, amount_si in event.uses_si.items()
    ]


def _transfer(
    craft: Craft,
    configuration: Configuration,
    event: Event,
    quantities: Mapping[str, StoreQuantity],
    received: dict[str, float],
) -> list[Jump]:
    transfer = event.transfer
    if transfer is None:
        return []
    target, store = craft.store(transfer.target_store)
    quantity = quantities[store.name]
    before_si = (quantity.held_si or 0.0) + received.get(store.name, 0.0)
    # What a feeding target will have given by then is not known: only the room it has now is counted.
    room_si = math.inf if store.capacity_si is None else max(store.capacity_si - before_si, 0.0)
    arrives_si = min(transfer.amount_si, room_si)
    received[store.name] = received.get(store.name, 0.0) + arrives_si
    jumps = [_by_transfer(event, transfer.source, -transfer.amount_si / transfer.efficiency_fraction)]
    if configuration.stores_before(event.at_s)[store.name] is StoreState.FEEDING:
        residual_si = quantity.residual_si or 0.0
        gained_si = max(before_si + arrives_si - residual_si, 0.0) - max(before_si - residual_si, 0.0)
        jumps.append(_by_transfer(event, target.name, gained_si))
    return jumps


def _by_transfer(event: Event, supply: str, amount_si: float) -> Jump:
    return Jump(
        supply=supply,
        at_s=event.at_s,
        kind=LineKind.TRANSFER,
        name=event.name,
        amount_si=amount_si,
        spread_fraction=event.spread_fraction,
    )


def _moved_store(
    craft: Craft, move: StoreMove, quantities: Mapping[str, StoreQuantity], received: Mapping[str, float]
) -> Jump:
    supply, _ = craft.store(move.store)
    quantity = quantities[move.store]
    # A store whose quantity is not known brings nothing that could be counted on.
    held_si = (quantity.held_si or 0.0) + received.get(move.store, 0.0)
    gives_si = max(held_si - (quantity.residual_si or 0.0), 0.0)
    unknown = "" if quantity.held_si is not None else ", not known: nothing counted"
    return Jump(
        supply=supply.name,
        at_s=move.at_s,
        kind=LineKind.OPENED if move.opens else LineKind.SHUT,
        name=f"{move.label} ({move.store}{unknown})",
        amount_si=gives_si if move.opens else -gives_si,
        store=move.store,
        error_sd_si=quantity.sd_si if quantity.held_si is not None else 0.0,
    )
