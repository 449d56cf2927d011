"""How the batteries of one bus share its current: by capacity, or as their own meters say, and what follows.

The shares say how soon each battery is down to its residual, and whether the bank ends before what all of it
holds, taken together, would say.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.channels import Channel
from console.craft.model import BusSharing, Store, StoreKind, Supply
from console.display import Rounding, hours_text
from console.engine.planned_rate import effective_draw_si_per_s
from console.engine.quantity import AGREE_SD, StoreQuantity
from console.engine.reading import Quality, Reading
from console.engine.snapshot import BusShare
from console.engine.value import Value, read_value
from console.physics.battery import bank_empties_s, effective_draw_a
from console.units import Dimension

LATE_FRACTION = 0.01
"""A bank that ends by more than this before what it holds together would say is worth a sentence."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shares:
    """The part of each feeding battery in what its bus gives."""

    fractions: Mapping[str, float]
    """By store; they sum to 1. Empty where no battery feeds, or none whose part could be told."""
    by: BusSharing
    why: str = ""
    """Why they go by capacity though they should be measured."""

    @property
    def measured(self) -> Mapping[str, float] | None:
        """The shares where they were measured, for ``effective_draw_si_per_s``."""
        return self.fractions if self.by is BusSharing.MEASURED else None


def shares_of(
    supply: Supply,
    giving: tuple[Store, ...],
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
) -> Shares:
    """How the feeding batteries of a supply share its current.

    As measured where the supply says so, the current of every one is a good reading, none is being charged
    and their sum is clearly above its error; else by capacity.
    """
    batteries = tuple(store for store in giving if store.kind is StoreKind.BATTERY)
    if supply.sharing is BusSharing.MEASURED and batteries:
        measured, refused = _measured(batteries, readings, channels)
        if measured:
            return Shares(fractions=measured, by=BusSharing.MEASURED)
        return Shares(
            fractions=capacity_shares(batteries),
            by=BusSharing.CAPACITY,
            why=f"batteries taken to share the bus by capacity, because {refused}",
        )
    return Shares(fractions=capacity_shares(batteries), by=BusSharing.CAPACITY)


def capacity_shares(batteries: tuple[Store, ...]) -> dict[str, float]:
    """The shares by capacity, of the batteries that have one; empty where none has."""
    capacities = {
        store.name: store.capacity_si
        for store in batteries
        if store.kind is StoreKind.BATTERY and store.capacity_si
    }
    whole = math.fsum(capacities.values())
    return {name: capacity / whole for name, capacity in capacities.items()}


def bus_shares(
    supply: Supply,
    giving: tuple[Store, ...],
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    planned_draw_si_per_s: float,
    quantities: Mapping[str, StoreQuantity],
) -> Mapping[str, BusShare]:
    """Each feeding battery's part of its bus, by store; empty where the current is not known.

    Args:
        supply: an electrical supply.
        giving: the stores that feed now.
        readings: the feed's newest.
        channels: the craft's.
        planned_draw_si_per_s: what the model says is drawn now, without what batteries lose by the rate.
        quantities: by store, what it holds.
    """
    amps_per_unit = amps_per_rate(supply)
    if amps_per_unit is None:
        return {}
    shares = shares_of(supply, giving, readings, channels)
    total_a = planned_draw_si_per_s * amps_per_unit
    return {
        store.name: BusShare(
            fraction=shares.fractions[store.name],
            by=shares.by,
            planned_a=shares.fractions[store.name] * total_a,
            limit_a=store.current_limit_a,
            reaches_residual_in_s=_alone_s(
                store,
                shares.fractions[store.name] * total_a,
                _gives_a_s(quantities[store.name], amps_per_unit),
            ),
        )
        for store in giving
        if store.name in shares.fractions
    }


def bus_remarks(
    supply: Supply,
    giving: tuple[Store, ...],
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    planned_draw_si_per_s: float,
    quantities: Mapping[str, StoreQuantity],
) -> tuple[str, ...]:
    """What a person must be told of the bus beside its supply's figures; the arguments of ``bus_shares``."""
    amps_per_unit = amps_per_rate(supply)
    if amps_per_unit is None:
        return ()
    shares = shares_of(supply, giving, readings, channels)
    late = _late_remark(supply, giving, shares, planned_draw_si_per_s, quantities, amps_per_unit)
    return tuple(filter(None, (shares.why, late)))


def amps_per_rate(supply: Supply) -> float | None:
    """Turns a draw on a supply into amperes; None where it is not electrical or its voltage is not known."""
    if supply.dimension is Dimension.CHARGE:
        return 1.0
    if supply.dimension is Dimension.ENERGY and supply.bus_voltage_v:
        return 1.0 / supply.bus_voltage_v
    return None


def _measured(
    batteries: tuple[Store, ...], readings: Mapping[str, Reading], channels: Mapping[str, Channel]
) -> tuple[dict[str, float], str]:
    """The shares by the batteries' own meters, or none of them and why."""
    values: dict[str, Value] = {}
    for store in batteries:
        if store.current is None:
            return {}, f"{store.name} has no meter of its current"
        value = read_value(store.current, readings, channels)
        if value.quality is not Quality.GOOD or value.value_si is None:
            return {}, value.why or f"the current of {store.name} is not known"
        if value.value_si < -AGREE_SD * value.sd_si:
            return {}, f"{store.name} is being charged"
        values[store.name] = value
    currents = {name: max(value.value_si or 0.0, 0.0) for name, value in values.items()}
    whole = math.fsum(currents.values())
    if not whole > AGREE_SD * math.hypot(*(value.sd_si for value in values.values())):
        return {}, "their currents together are within the error of their meters"
    return {name: current / whole for name, current in currents.items()}, ""


def _gives_a_s(quantity: StoreQuantity, amps_per_unit: float) -> float | None:
    """What a battery holds above its residual, A·s."""
    if quantity.held_si is None:
        return None
    return max(quantity.held_si - (quantity.residual_si or 0.0), 0.0) * amps_per_unit


def _alone_s(store: Store, current_a: float, gives_a_s: float | None) -> float | None:
    """In how long a battery is down to its residual at a current; None where that does not come."""
    if gives_a_s is None or current_a <= 0.0:
        return None
    return gives_a_s / effective_draw_a(current_a, store.rated_current_a or math.inf, store.peukert)


def _late_remark(
    supply: Supply,
    giving: tuple[Store, ...],
    shares: Shares,
    draw_si_per_s: float,
    quantities: Mapping[str, StoreQuantity],
    amps_per_unit: float,
) -> str:
    """Says by how much the batteries, emptied one after the other, end before all of them taken together."""
    batteries = [store for store in giving if store.name in shares.fractions]
    known = [_gives_a_s(quantities[store.name], amps_per_unit) for store in batteries]
    gives_a_s = [gives for gives in known if gives is not None]
    if draw_si_per_s <= 0.0 or not batteries or len(gives_a_s) < len(known):
        return ""
    ends_s = bank_empties_s(
        draw_si_per_s * amps_per_unit,
        gives_a_s,
        [shares.fractions[store.name] for store in batteries],
        [store.rated_current_a or math.inf for store in batteries],
        [store.peukert for store in batteries],
    )
    cost_a = effective_draw_si_per_s(supply, giving, draw_si_per_s, shares.measured) * amps_per_unit
    together_s, end_s = math.fsum(gives_a_s) / cost_a, max(ends_s)
    if not together_s > end_s * (1.0 + LATE_FRACTION):
        return ""
    first = batteries[ends_s.index(min(ends_s))].name
    return (
        f"at this draw {first} is down to its residual in {hours_text(min(ends_s))}, and the others then "
        f"carry its part: the last ends in {hours_text(end_s)}, "
        f"{hours_text(together_s - end_s, Rounding.UP)} before what all hold together says"
    )
