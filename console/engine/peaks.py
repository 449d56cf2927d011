"""The currents of every phase and event ahead on each electrical supply, against what may be asked of it.

Mean currents count loads that cycle at their duty, peaks all of them on at once. What an event takes over a
time adds to whatever runs meanwhile, so a phase that begins during a charge carries that charge too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from console.craft.model import Craft, LoadState, Store, Supply
from console.craft.plan import Event, Phase, phase_at
from console.display import Rounding, amount_text, hours_text
from console.engine.bus import amps_per_rate, capacity_shares
from console.engine.configuration import Configuration, Segment
from console.engine.planned_rate import effective_draw_si_per_s, feeding
from console.engine.snapshot import Peak

ROUNDING_FRACTION = 1e-9
"""A current of just its limit is not above it, whatever the sum of its parts rounds to."""

Measured = Mapping[str, Mapping[str, float]]
"""By supply, the shares of its batteries as their meters say (``Shares.measured``)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Moment:
    """A moment at which something begins that has a current."""

    at_s: float
    name: str
    event: Event | None = None
    """None for a phase."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Draw:
    """A draw at its mean and with all that cycles on, in the supply's own rate."""

    mean_si_per_s: float
    peak_si_per_s: float


def peaks_of(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    phases: tuple[Phase, ...],
    at_s: float,
    until_s: float,
    measured: Measured | None = None,
) -> tuple[Peak, ...]:
    """The current of the phase in progress and of every phase and event ahead, in order of time.

    A supply whose current is not known has none: ``currents_not_known`` names it.

    Args:
        craft: the craft.
        configuration: what is switched how, logged steps included.
        events: those that happen, the past ones too: one may still be going on.
        phases: those that are flown, in order.
        at_s: the moment.
        until_s: up to when.
        measured: how batteries share their bus, where measured; by capacity without, or where others feed.
    """
    moments = _moments(configuration, events, phases, at_s, until_s)
    segments = configuration.segments(at_s, math.inf, [moment.at_s for moment in moments])
    starts = {segment.start_s: segment for segment in segments}
    supplies = [supply for supply in craft.supplies.values() if supply.is_electrical]
    return tuple(
        _peak(craft, supply, moment, starts[moment.at_s], events, (measured or {}).get(supply.name))
        for moment in moments
        for supply in supplies
        if amps_per_rate(supply) is not None
    )


def currents_not_known(craft: Craft) -> tuple[str, ...]:
    """For every electrical supply whose current cannot be reckoned, a sentence that says so."""
    return tuple(
        f"{supply.name}: no bus_voltage, so its currents are not known and not held against any limit"
        for supply in craft.supplies.values()
        if supply.is_electrical and amps_per_rate(supply) is None
    )


def _moments(
    configuration: Configuration,
    events: tuple[Event, ...],
    phases: tuple[Phase, ...],
    at_s: float,
    until_s: float,
) -> list[_Moment]:
    """When a current begins: now, with each phase and event ahead, and where a step is supposed ahead."""
    coming = [phase for phase in phases if at_s < phase.start_s <= until_s]
    moments = [_Moment(at_s=at_s, name=phase_at(phases, at_s).name)]
    moments += [_Moment(at_s=phase.start_s, name=phase.name) for phase in coming]
    ahead = [event for event in events if at_s < event.at_s <= until_s]
    told = {moment.at_s for moment in moments} | {event.at_s for event in ahead}
    moments += [
        _Moment(at_s=segment.start_s, name=f"{phase_at(phases, segment.start_s).name}, after a step")
        for segment in configuration.segments(at_s, math.inf)
        if segment.start_s <= until_s and segment.start_s not in told
    ]
    moments += [_Moment(at_s=event.at_s, name=event.name, event=event) for event in ahead]
    # Stable: at one moment the phase comes before the event that it finds.
    return sorted(moments, key=lambda moment: moment.at_s)


def _peak(
    craft: Craft,
    supply: Supply,
    moment: _Moment,
    segment: Segment,
    events: tuple[Event, ...],
    measured: Mapping[str, float] | None,
) -> Peak:
    amps = amps_per_rate(supply) or 1.0
    stores = feeding(supply, segment.stores)
    steady = _steady(craft, supply, segment)
    going_on = [event for event in events if event.at_s <= moment.at_s < event.at_s + event.lasts_s]
    extra_si_per_s = sum(_amount_si(event, supply) / event.lasts_s for event in going_on)
    mean_a = (steady.mean_si_per_s + extra_si_per_s) * amps
    peak_a = (steady.peak_si_per_s + extra_si_per_s) * amps
    shares = measured if measured and measured.keys() == {store.name for store in stores} else None
    store, store_a = _nearest(stores, shares or capacity_shares(stores), peak_a)
    limit_a = None if store is None else store.current_limit_a
    over = [
        limit is not None and current is not None and current > limit * (1.0 + ROUNDING_FRACTION)
        for current, limit in ((peak_a, supply.current_limit_a), (store_a, limit_a))
    ]
    cost_si_per_s = effective_draw_si_per_s(supply, stores, steady.mean_si_per_s, shares)
    return Peak(
        supply=supply.name,
        name=moment.name,
        at_s=moment.at_s,
        mean_a=mean_a,
        peak_a=peak_a,
        bus_limit_a=supply.current_limit_a,
        store=None if store is None else store.name,
        store_peak_a=store_a,
        store_limit_a=limit_a,
        is_over=any(over),
        why="; ".join(_whys(craft, supply, moment, going_on, stores, peak_a, cost_si_per_s)),
    )


def _steady(craft: Craft, supply: Supply, segment: Segment) -> _Draw:
    """What loads and uses take."""
    mean = peak = 0.0
    for load in craft.loads.values():
        if load.supply == supply.name:
            state = segment.loads[load.name]
            mean += load.draw_si_per_s(state)
            peak += load.on_si_per_s if state is LoadState.ON else load.draw_si_per_s(state)
    people = sum(segment.crew.values())
    for use in craft.uses:
        if use.supply == supply.name:
            rate = (use.rate_si_per_s or 0.0) + (use.per_person_si_per_s or 0.0) * people
            mean, peak = mean + rate, peak + rate
    return _Draw(mean_si_per_s=mean, peak_si_per_s=peak)


def _amount_si(event: Event, supply: Supply) -> float:
    """What an event takes from a supply, the losses of a transfer included."""
    amount_si = event.uses_si.get(supply.name, 0.0)
    if event.transfer is not None and event.transfer.source == supply.name:
        amount_si += event.transfer.amount_si / event.transfer.efficiency_fraction
    return amount_si


def _nearest(
    stores: Iterable[Store], shares: Mapping[str, float], total_a: float
) -> tuple[Store | None, float | None]:
    """The battery nearest to its limit, or furthest beyond it, and its current."""
    limited = [store for store in stores if store.current_limit_a and store.name in shares]
    if not limited:
        return None, None
    nearest = max(limited, key=lambda store: shares[store.name] / (store.current_limit_a or math.inf))
    return nearest, shares[nearest.name] * total_a


def _whys(
    craft: Craft,
    supply: Supply,
    moment: _Moment,
    going_on: list[Event],
    stores: tuple[Store, ...],
    peak_a: float,
    cost_si_per_s: float,
) -> Iterable[str]:
    """What a person must be told beside the currents of one moment."""
    event = moment.event
    if event is not None:
        amount_si = _amount_si(event, supply)
        if not amount_si and not _moves_any(craft, event, supply):
            yield f"takes nothing from {supply.name}: the current of what runs then"
        if amount_si and not event.lasts_s:
            yield "its own current is not known and not in these figures, because it has no lasts"
        if event.transfer is not None and event.transfer.source == supply.name:
            yield _cost_why(event, supply, cost_si_per_s)
    others = [other.name for other in going_on if other is not event and _amount_si(other, supply)]
    if others:
        yield f"with {', '.join(others)} still going on"
    if peak_a > 0.0 and not stores:
        yield "no store feeds then"
    unlimited = [store.name for store in stores if not store.capacity_si]
    if unlimited and any(store.current_limit_a for store in stores):
        yield f"the share of {', '.join(unlimited)} is not known without a capacity"


def _moves_any(craft: Craft, event: Event, supply: Supply) -> bool:
    """Whether an event opens or shuts a store of the supply, or drops one or a load of it."""
    modules = () if craft.propulsion is None else craft.propulsion.modules
    gone = {name for one in modules if one.name in event.drops for name in (*one.stores, *one.loads)}
    mine = {store.name for store in supply.stores}
    mine |= {load.name for load in craft.loads.values() if load.supply == supply.name}
    return bool(mine & ({*event.sets} | gone))


def _cost_why(event: Event, supply: Supply, cost_si_per_s: float) -> str:
    """What a transfer costs the supply it is taken from, and for how long that would have lasted."""
    amount_si = _amount_si(event, supply)
    costs = f"costs {amount_text(amount_si, supply.unit, Rounding.UP)}"
    if cost_si_per_s <= 0.0:
        return costs
    return f"{costs}, about {hours_text(amount_si / cost_si_per_s, Rounding.UP)} of the draw then"
