"""What the model says is taken from each supply while nothing changes: loads, crew, leak, cooling, the rest.

Switching a load off lowers the current, and, where its heat is carried away by evaporating water, the water
too: both come from the same segment here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from console.craft.model import (
    Activity,
    Craft,
    HeatSource,
    Load,
    LoadState,
    Metabolic,
    PersonRates,
    Store,
    StoreState,
    Supply,
    Use,
)
from console.engine.configuration import Segment
from console.engine.gas_amount import of_mass_si
from console.engine.leaks import CabinPressure as CabinPressure
from console.engine.leaks import is_leak, leak_ends_s, leak_si_per_s
from console.engine.snapshot import LineKind
from console.physics.battery import bank_draw_a
from console.physics.cooling import water_for_heat_kg_per_s
from console.physics.metabolism import crew_rates
from console.units import Dimension

LOADS_FACTOR = "loads"
"""Key of the one uncertainty that all loads share."""


RATE_EFFECT = "rate effect of the batteries"
"""Name of the line for what batteries lose by giving faster than rated."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RateLine:
    """One use of one supply at one rate."""

    supply: str
    kind: LineKind
    name: str
    rate_si_per_s: float
    factors: tuple[str, ...]
    """Keys of the uncertain factors that multiply it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Corrections:
    """By what the model's draws are multiplied, as measured; 1 for what is not named."""

    loads: Mapping[str, float] = field(default_factory=dict)
    uses: Mapping[str, float] = field(default_factory=dict)


AS_LISTED = Corrections()
"""Nothing was measured: every draw as the config lists it."""


def use_factor(use_name: str) -> str:
    """The key of a use's own uncertainty."""
    return f"use {use_name}"


def factor_spreads(craft: Craft) -> dict[str, float]:
    """One standard deviation of every uncertain factor, as a fraction."""
    spreads = {LOADS_FACTOR: craft.load_spread_fraction}
    spreads.update({use_factor(use.name): use.spread_fraction for use in craft.uses})
    return spreads


def rate_lines(
    craft: Craft,
    segment: Segment,
    cabin_pressure: CabinPressure,
    shares: Mapping[str, Mapping[str, float]],
    corrections: Corrections = AS_LISTED,
) -> tuple[RateLine, ...]:
    """Every use of every supply in one segment.

    Args:
        craft: the craft.
        segment: what is switched how, and who does what.
        cabin_pressure: for leaks in proportion to it.
        shares: by supply, how its batteries share the bus where that is measured.
        corrections: by what was measured of the model's draws.
    """
    crew = crew_rates(segment.crew, craft.person_rates)
    lines = list(_load_lines(craft, segment.loads, corrections))
    loads_heat_w = heat_of_loads_w(craft, segment.loads, corrections)
    for use in craft.uses:
        supply = craft.supplies[use.supply]
        # What a store that does not feed loses is not taken from what is usable: ``store_leaks_si_per_s``.
        feeds = use.of_store is None or segment.stores[use.of_store] is StoreState.FEEDING
        if feeds and segment.start_s < leak_ends_s(use, supply, cabin_pressure):
            factor = corrections.uses.get(use.name, 1.0)
            plain = _use_lines(use, supply, segment.crew, crew, loads_heat_w, cabin_pressure)
            lines.extend(
                line if factor == 1.0 else replace(line, rate_si_per_s=factor * line.rate_si_per_s)
                for line in plain
            )
    totals = dict.fromkeys(craft.supplies, 0.0)
    for line in lines:
        totals[line.supply] += line.rate_si_per_s
    lines.extend(
        _rate_effect(supply, segment, totals[supply.name], shares.get(supply.name))
        for supply in craft.supplies.values()
    )
    return tuple(line for line in lines if line.rate_si_per_s != 0.0)


def store_leaks_si_per_s(craft: Craft, cabin_pressure: CabinPressure) -> dict[str, float]:
    """By store, what it loses through leaks of its own, whether it feeds or not."""
    lost: dict[str, float] = {}
    for use in craft.uses:
        if use.of_store is not None and is_leak(use):
            rate = leak_si_per_s(use, craft.supplies[use.supply], cabin_pressure)
            lost[use.of_store] = lost.get(use.of_store, 0.0) + rate
    return lost


def heat_of_loads_w(
    craft: Craft, states: Mapping[str, LoadState], corrections: Corrections = AS_LISTED
) -> float:
    """Heat that the loads leave for the cooling to carry away, W."""
    return sum(
        heat_of_load_w(craft, load, states[load.name]) * corrections.loads.get(load.name, 1.0)
        for load in craft.loads.values()
    )


def heat_of_load_w(craft: Craft, load: Load, state: LoadState) -> float:
    """Heat that one load leaves for the cooling to carry away, W."""
    return load.draw_si_per_s(state) * _volts(craft.supplies[load.supply]) * load.heat_fraction


def effective_draw_si_per_s(
    supply: Supply, stores: Iterable[Store], total_si_per_s: float, shares: Mapping[str, float] | None = None
) -> float:
    """What a draw costs the stores that share it, with the rate effect of its batteries (Peukert).

    Batteries without an exponent or rated current cost what they give; so does a supply that is no battery.

    Args:
        supply: the supply.
        stores: those that feed.
        total_si_per_s: the draw.
        shares: by store, as measured; used where they are the shares of just these stores, else they share by
            capacity, as they do without.
    """
    batteries = tuple(stores)
    measured = shares if shares and shares.keys() == {store.name for store in batteries} else None
    if measured is None:
        batteries = tuple(store for store in batteries if store.capacity_si)
    if total_si_per_s <= 0.0 or not any(store.peukert > 1.0 and store.rated_current_a for store in batteries):
        return total_si_per_s
    weights = [measured[store.name] if measured else store.capacity_si or 0.0 for store in batteries]
    rated_a = [store.rated_current_a or float("inf") for store in batteries]
    exponents = [store.peukert for store in batteries]
    watts_per_amp = 1.0
    if supply.dimension is Dimension.ENERGY:
        if not supply.bus_voltage_v:
            return total_si_per_s  # its current is not known, so neither is what the rate costs
        watts_per_amp = supply.bus_voltage_v
    return bank_draw_a(total_si_per_s / watts_per_amp, weights, rated_a, exponents) * watts_per_amp


def draw_of_cost_si_per_s(
    supply: Supply, stores: Iterable[Store], cost_si_per_s: float, shares: Mapping[str, float] | None = None
) -> float:
    """The draw that costs the stores so much, the inverse of ``effective_draw_si_per_s``."""
    sharing = tuple(stores)
    low, high = 0.0, max(cost_si_per_s, 0.0)
    if effective_draw_si_per_s(supply, sharing, high, shares) <= high:
        return cost_si_per_s
    # The cost rises with the draw and is never less than it, so halving closes in on it from both sides.
    for _ in range(60):
        middle = 0.5 * (low + high)
        if effective_draw_si_per_s(supply, sharing, middle, shares) > cost_si_per_s:
            high = middle
        else:
            low = middle
    return low


def feeding(supply: Supply, states: Mapping[str, StoreState]) -> tuple[Store, ...]:
    """The stores of a supply that give."""
    return tuple(store for store in supply.stores if states[store.name] is StoreState.FEEDING)


def _volts(supply: Supply) -> float:
    """Turns a draw into watts: the bus voltage for amps, 1 for a supply that is reckoned in watts already."""
    if supply.dimension is Dimension.ENERGY:
        return 1.0
    if supply.bus_voltage_v is None:
        raise ValueError(f"supply {supply.name} feeds loads and has no bus voltage")
    return supply.bus_voltage_v


def _load_lines(
    craft: Craft, states: Mapping[str, LoadState], corrections: Corrections
) -> Iterable[RateLine]:
    for load in craft.loads.values():
        yield RateLine(
            supply=load.supply,
            kind=LineKind.LOAD,
            name=load.name,
            rate_si_per_s=load.draw_si_per_s(states[load.name]) * corrections.loads.get(load.name, 1.0),
            factors=(LOADS_FACTOR,),
        )


def _rate_effect(
    supply: Supply, segment: Segment, total: float, shares: Mapping[str, float] | None
) -> RateLine:
    effective = effective_draw_si_per_s(supply, feeding(supply, segment.stores), total, shares)
    return RateLine(
        supply=supply.name,
        kind=LineKind.USE,
        name=RATE_EFFECT,
        rate_si_per_s=effective - total,
        factors=(LOADS_FACTOR,),
    )


_PRODUCT = {
    Metabolic.OXYGEN: "oxygen_kg_per_s",
    Metabolic.CARBON_DIOXIDE: "carbon_dioxide_kg_per_s",
    Metabolic.WATER_VAPOUR: "water_vapour_kg_per_s",
}


def _use_lines(
    use: Use,
    supply: Supply,
    roster: Mapping[Activity, int],
    crew: PersonRates,
    loads_heat_w: float,
    cabin_pressure: CabinPressure,
) -> Iterable[RateLine]:
    own = use_factor(use.name)
    if use.evaporates_heat_of:
        heats = {
            HeatSource.LOADS: (loads_heat_w, (own, LOADS_FACTOR)),
            HeatSource.CREW: (crew.heat_w, (own,)),
        }
        for source in use.evaporates_heat_of:
            heat_w, factors = heats[source]
            yield RateLine(
                supply=use.supply,
                kind=LineKind.USE,
                name=f"{use.name}, heat of {source.value}",
                rate_si_per_s=water_for_heat_kg_per_s(heat_w, use.feed_temperature_k),
                factors=factors,
            )
        return
    yield RateLine(
        supply=use.supply,
        kind=LineKind.USE,
        name=use.name,
        rate_si_per_s=_plain_rate(use, supply, roster, crew, cabin_pressure),
        factors=(own,),
    )


def _plain_rate(
    use: Use,
    supply: Supply,
    roster: Mapping[Activity, int],
    crew: PersonRates,
    cabin_pressure: CabinPressure,
) -> float:
    if use.rate_si_per_s is not None:
        return use.rate_si_per_s
    if use.per_person_si_per_s is not None:
        return use.per_person_si_per_s * sum(roster.values())
    if use.metabolic is not None:
        rate_kg_per_s: float = getattr(crew, _PRODUCT[use.metabolic])
        return of_mass_si(supply, rate_kg_per_s)
    return leak_si_per_s(use, supply, cabin_pressure)
