"""From what is known to how every supply goes under one way home: the look ahead that all figures share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Store, Supply
from console.craft.plan import Event, Option, Phase, Plan
from console.engine.absorbent_use import fitted_lasts_s
from console.engine.bus import shares_of
from console.engine.charge import meter_biases_a
from console.engine.configuration import Configuration
from console.engine.forecast import Draws
from console.engine.holding import Holding, holding
from console.engine.jumps import happenings_s, jumps_between
from console.engine.known import Known
from console.engine.planned_rate import RATE_EFFECT, feeding
from console.engine.planned_use import PlannedUse, planned_use
from console.engine.rate_now import RateNow, rate_now
from console.engine.snapshot import Interval
from console.engine.supply import Outlook, outlook


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyAhead:
    """One supply: what it holds, what it gives now, how it goes on."""

    supply: Supply
    giving: tuple[Store, ...]
    """The stores that feed now."""
    held: Holding
    now: RateNow
    planned_draw_si_per_s: float
    """What the model says is drawn now, without what batteries lose by it."""
    outlook: Outlook
    fitted_lasts_s: Interval | None
    """How long its fitted cartridges last; None where none is spare, or where that is not known."""
    why: tuple[str, ...]
    """What must be said of its events."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Ahead:
    """Every supply under one option."""

    option: Option
    phases: tuple[Phase, ...]
    events: tuple[Event, ...]
    """Up to need, or up to now where that is later."""
    until_s: float
    configuration: Configuration
    use: PlannedUse
    shares: Mapping[str, Mapping[str, float]]
    """By supply, how its batteries share the bus now, where their own meters say it."""
    supplies: Mapping[str, SupplyAhead]


def look_ahead(known: Known, plan: Plan, option: Option, draws: Draws) -> Ahead:
    """How every supply goes from now on if this option is taken."""
    craft, at_s = known.craft, known.at_s
    phases = plan.phases_under(option)
    until_s = max(option.need_s, at_s)
    events = tuple(event for event in plan.events_under(option) if event.at_s <= until_s)
    configuration = Configuration(craft, phases, events, known.changes)
    holdings = {
        supply.name: holding(
            supply,
            known.quantities,
            configuration,
            happenings_s(events, supply.name, craft.propulsion),
            at_s,
            option.need_s,
        )
        for supply in craft.supplies.values()
    }
    from_s = min((held.from_s for held in holdings.values()), default=at_s)
    shares = _measured_shares(known, configuration)
    luck = None
    if known.evidence is not None:
        from console.engine.evidence.luck import Luck  # only who keeps a history pays for it

        luck = Luck(
            evidence=known.evidence, craft=craft, configuration=configuration, at_s=at_s, events=events
        )
    use = planned_use(craft, configuration, from_s, at_s, known.pressure, shares, luck)
    jumps = jumps_between(craft, configuration, events, known.quantities, from_s, until_s, use, at_s)
    supplies = {}
    for supply in craft.supplies.values():
        held = holdings[supply.name]
        giving = feeding(supply, configuration.stores_at(at_s))
        now = _rate_now(known, supply, use, giving)
        own = tuple(jump for jump in jumps if jump.supply == supply.name and jump.at_s > held.from_s)
        supplies[supply.name] = SupplyAhead(
            supply=supply,
            giving=giving,
            held=held,
            now=now,
            planned_draw_si_per_s=_planned_draw_si_per_s(use, supply),
            outlook=outlook(
                supply, held, giving, now, use, own, option, draws, at_s, shares.get(supply.name)
            ),
            fitted_lasts_s=fitted_lasts_s(supply, known.quantities, configuration, use, own, draws, at_s),
            why=tuple(jump.why for jump in own if jump.why),
        )
    return Ahead(
        option=option,
        phases=phases,
        events=events,
        until_s=until_s,
        configuration=configuration,
        use=use,
        shares=shares,
        supplies=supplies,
    )


def _measured_shares(known: Known, configuration: Configuration) -> dict[str, Mapping[str, float]]:
    """By supply, how its batteries share the bus, where their own meters say it."""
    states = configuration.stores_at(known.at_s)
    found = {
        name: shares_of(supply, feeding(supply, states), known.feed.readings, known.craft.channels).measured
        for name, supply in known.craft.supplies.items()
    }
    return {name: shares for name, shares in found.items() if shares is not None}


def _rate_now(known: Known, supply: Supply, use: PlannedUse, giving: tuple[Store, ...]) -> RateNow:
    return rate_now(
        supply,
        giving,
        known.feed.readings,
        known.craft.channels,
        _planned_draw_si_per_s(use, supply),
        use.supplies[supply.name].total_si_per_s(use.now_index),
        meter_biases_a(known.charges, known.craft),
        known.gauge_rates.get(supply.name),
    )


def _planned_draw_si_per_s(use: PlannedUse, supply: Supply) -> float:
    lines = use.supplies[supply.name]
    return lines.total_si_per_s(use.now_index) - lines.line_si_per_s(RATE_EFFECT, use.now_index)
