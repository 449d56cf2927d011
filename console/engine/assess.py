"""The margin engine's one door: everything known at one moment in, one Snapshot out.

Pure: no file, no clock, no randomness but the seed it is given; the same arguments give the same Snapshot
to the bit. Bands remember between looks, so their memory goes in and comes out.
"""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.model import Craft, Store, Supply
from console.craft.plan import Plan, phase_at
from console.engine.bands import BandMemory, next_bands
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.forecast import Draws
from console.engine.holding import Holding, holding
from console.engine.jumps import happenings_s, jumps_between
from console.engine.memory import Memory
from console.engine.planned_rate import RATE_EFFECT, CabinPressure, feeding
from console.engine.planned_use import PlannedUse, planned_use
from console.engine.quantity import StoreQuantity, store_quantity
from console.engine.rate_now import RateNow, rate_now
from console.engine.reading import FeedState, Quality
from console.engine.snapshot import Band, Snapshot, SupplyStatus
from console.engine.supply import Outlook, outlook
from console.engine.surroundings import (
    cabin_pressure,
    cabin_readings,
    load_statuses,
    loads_differing,
    need_of,
    next_event,
    next_phase,
    watch_name,
)

DEFAULT_DRAWS = Draws(seed=20410602, count=2000)
"""Enough samples that the ends of the interval stand still to about 1 % of its width."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Situation:
    """All that an assessment depends on."""

    slug: str
    craft: Craft
    plan: Plan
    feed: FeedState
    changes: tuple[ConfigurationChange, ...]
    """Logged steps, in the journal's order."""
    notices: tuple[str, ...] = ()
    """What whoever gathered this has to say to whoever reads the Snapshot."""
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Assessment:
    """A Snapshot, and what the next assessment must be given to go on from this one."""

    snapshot: Snapshot
    memory: Memory


def assess(situation: Situation, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS) -> Assessment:
    """Assess every supply under the committed option.

    Args:
        situation: what is known.
        memory: what the assessment before this one returned; None for the first.
        draws: samples and seed; ``Draws(seed=0, count=0)`` is the central case alone.
    """
    craft, plan, at_s = situation.craft, situation.plan, situation.at_s
    option = plan.options[plan.committed]
    phases = plan.phases_under(option)
    until_s = max(option.need_s, at_s)
    events = tuple(event for event in plan.events_under(option) if event.at_s <= until_s)
    changes = tuple(change for change in situation.changes if change.at_s <= at_s)
    configuration = Configuration(craft, phases, events, changes)
    pressure = cabin_pressure(craft, situation.feed)
    quantities = _quantities(situation, changes)
    holdings = {
        supply.name: holding(
            supply, quantities, configuration, happenings_s(events, supply.name), at_s, option.need_s
        )
        for supply in craft.supplies.values()
    }
    from_s = min((held.from_s for held in holdings.values()), default=at_s)
    use = planned_use(craft, configuration, from_s, at_s, pressure)
    jumps = jumps_between(craft, configuration, events, quantities, from_s, until_s)

    memory = memory or Memory()
    bands: dict[str, BandMemory] = dict(memory.bands)
    supplies: dict[str, SupplyStatus] = {}
    lows: dict[str, float] = {}
    for supply in craft.supplies.values():
        held = holdings[supply.name]
        giving = feeding(supply, configuration.stores_at(at_s))
        now = _rate_now(situation, supply, use, giving)
        own = tuple(jump for jump in jumps if jump.supply == supply.name and jump.at_s > held.from_s)
        ahead = outlook(supply, held, giving, now, use, own, option, draws, at_s)
        band = None
        if ahead.band_margin_s is not None:
            lows[supply.name] = ahead.band_margin_s
            central = None if ahead.margin_s is None else ahead.margin_s.p50
            bands[supply.name] = next_bands(
                supply.bands,
                bands.get(supply.name),
                ahead.band_margin_s,
                at_s,
                is_short=central is not None and central < 0.0,
                may_ease=held.quality is Quality.GOOD,
            )
            band = bands[supply.name].band
        leak = _leak_remark(craft, supply, pressure)
        supplies[supply.name] = _status(supply, held, now, use, ahead, band, leak)

    phase = phase_at(phases, at_s)
    snapshot = Snapshot(
        scenario=situation.slug,
        craft_name=craft.name,
        epoch=craft.epoch,
        at_s=at_s,
        feed=situation.feed,
        need=need_of(craft, option, supplies, at_s),
        shortest=min(lows, key=lambda name: lows[name], default=None),
        supplies=supplies,
        unknown=tuple(name for name in craft.supplies if name not in lows),
        phase=phase.name,
        level=phase.level,
        level_differs=loads_differing(craft, configuration, phase, at_s),
        loads=load_statuses(craft, configuration, at_s),
        next_phase=next_phase(phases, at_s),
        next_event=next_event(events, at_s),
        watch=watch_name(plan.watches, at_s),
        cabin=cabin_readings(craft, situation.feed, at_s),
        notices=situation.notices,
    )
    return Assessment(snapshot=snapshot, memory=Memory(bands=bands))


def _quantities(situation: Situation, changes: tuple[ConfigurationChange, ...]) -> dict[str, StoreQuantity]:
    return {
        store.name: store_quantity(
            store,
            supply.unit,
            situation.feed.readings,
            situation.craft.channels,
            tuple((change.at_s, change.used_si.get(store.name, 0.0)) for change in changes),
            situation.at_s,
        )
        for supply in situation.craft.supplies.values()
        for store in supply.stores
    }


def _rate_now(
    situation: Situation, supply: Supply, use: PlannedUse, feeding_stores: tuple[Store, ...]
) -> RateNow:
    return rate_now(
        supply,
        feeding_stores,
        situation.feed.readings,
        situation.craft.channels,
        _planned_draw(use, supply),
        use.supplies[supply.name].total_si_per_s(use.now_index),
    )


def _planned_draw(use: PlannedUse, supply: Supply) -> float:
    """What the model says is drawn now, without what the batteries lose by it."""
    lines = use.supplies[supply.name]
    return lines.total_si_per_s(use.now_index) - lines.line_si_per_s(RATE_EFFECT, use.now_index)


def _leak_remark(craft: Craft, supply: Supply, pressure: CabinPressure) -> str:
    by_pressure = any(use.supply == supply.name and use.at_pressure_pa is not None for use in craft.uses)
    if not by_pressure or pressure.is_good:
        return ""
    return (
        f"the leak is reckoned at its reference pressure at least, because {pressure.why or 'none is read'}"
    )


def _status(
    supply: Supply, held: Holding, now: RateNow, use: PlannedUse, ahead: Outlook, band: Band | None, leak: str
) -> SupplyStatus:
    return SupplyStatus(
        name=supply.name,
        unit=supply.unit,
        rate_unit=supply.rate_unit,
        on_board_si=ahead.on_board_si,
        protected_si=held.protected_si,
        isolated_si=held.isolated_si,
        residual_si=held.residual_si,
        reserve_si=supply.reserve_si,
        usable_si=ahead.usable_si,
        quality=held.quality,
        age_s=held.age_s,
        rate_now_si_per_s=now.rate_si_per_s,
        rate_now_source=now.source,
        rate_plan_si_per_s=_planned_draw(use, supply),
        endurance_now_s=ahead.endurance_now_s,
        endurance_plan_s=ahead.endurance_plan_s,
        runs_out_at_s=ahead.runs_out_at_s,
        margin_s=ahead.margin_s,
        left_at_need_si=ahead.left_at_need_si,
        allowance_si_per_s=ahead.allowance_si_per_s,
        lasts_probability=ahead.lasts_probability,
        band=band,
        why="; ".join(filter(None, (*ahead.why, leak, *held.why))),
        stores=held.stores,
        ledger=ahead.ledger,
    )
