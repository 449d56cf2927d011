"""What the plan's events do to the usable amount of a supply, at one moment each.

An event can use a supply, move an amount between stores with its losses, or open and shut stores. What is
over at the moment asked for is in the gauges already; what comes after need is not waited for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Craft, StoreState
from console.craft.plan import Event
from console.engine.configuration import Configuration
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


def event_factor(name: str) -> str:
    """The key of an event's own uncertainty."""
    return f"event {name}"


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
    holds now, which is early, because part of that will have been used by then.
    """
    jumps: list[Jump] = []
    moved_in: dict[str, float] = {}
    for event in events:
        if not after_s < event.at_s <= until_s:
            continue
        jumps.extend(_uses(event))
        jumps.extend(_transfer(craft, configuration, event, moved_in))
        jumps.extend(_openings(craft, configuration, event, quantities, moved_in))
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
    craft: Craft, configuration: Configuration, event: Event, moved_in: dict[str, float]
) -> list[Jump]:
    transfer = event.transfer
    if transfer is None:
        return []
    taken_si = transfer.amount_si / transfer.efficiency_fraction
    jumps = [_moved(event, transfer.source, -taken_si)]
    target, _ = craft.store(transfer.target_store)
    if configuration.stores_at(event.at_s)[transfer.target_store] is StoreState.FEEDING:
        jumps.append(_moved(event, target.name, transfer.amount_si))
    else:
        moved_in[transfer.target_store] = moved_in.get(transfer.target_store, 0.0) + transfer.amount_si
    return jumps


def _moved(event: Event, supply: str, amount_si: float) -> Jump:
    return Jump(
        supply=supply,
        at_s=event.at_s,
        kind=LineKind.TRANSFER,
        name=event.name,
        amount_si=amount_si,
        spread_fraction=event.spread_fraction,
    )


def _openings(
    craft: Craft,
    configuration: Configuration,
    event: Event,
    quantities: Mapping[str, StoreQuantity],
    moved_in: Mapping[str, float],
) -> list[Jump]:
    jumps = []
    for name, state in event.sets.items():
        supply, _ = craft.store(name)
        before = configuration.stores_before(event.at_s)[name]
        if (before is StoreState.FEEDING) == (state is StoreState.FEEDING):
            continue
        quantity = quantities[name]
        # A store whose quantity is not known brings nothing that could be counted on.
        held_si = (quantity.held_si or 0.0) + moved_in.get(name, 0.0)
        gives_si = max(held_si - (quantity.residual_si or 0.0), 0.0)
        jumps.append(
            Jump(
                supply=supply.name,
                at_s=event.at_s,
                kind=LineKind.OPENED,
                name=f"{event.name} ({name})",
                amount_si=gives_si if state is StoreState.FEEDING else -gives_si,
            )
        )
    return jumps
