"""The margin engine's one door: everything known at one moment in, one Snapshot out.

Pure: no file, no clock, no randomness but the seed it is given; the same arguments give the same Snapshot
to the bit. What must be remembered between two looks goes in and comes out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.model import Supply
from console.craft.plan import Plan, phase_at
from console.engine.ahead import Ahead, SupplyAhead, look_ahead
from console.engine.bands import BandMemory, next_bands
from console.engine.bus import bus_remarks, bus_shares
from console.engine.cabin.clocks import cabin_clocks
from console.engine.cabin.now import derived_readings
from console.engine.cabin.surroundings import CabinSurroundings, cabin_from_s
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, known_of
from console.engine.leaks import leak_remarks
from console.engine.learnt import UnloggedChange, UseFactor
from console.engine.mass import control_notices, drops_of
from console.engine.memory import Memory
from console.engine.peaks import currents_not_known, peaks_of
from console.engine.reading import Quality
from console.engine.snapshot import Band, CabinClock, Peak, Snapshot, SupplyStatus
from console.engine.surroundings import (
    cabin_readings,
    load_statuses,
    loads_differing,
    need_of,
    next_event,
    next_phase,
    watch_name,
)
from console.engine.use_rates import use_rates
from console.engine.validity.verdict import Verdict

DEFAULT_DRAWS = Draws(seed=20410602, count=2000)
"""Enough samples that the ends of the interval stand still to about 1 % of its width."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Assessment:
    """A Snapshot, and what the next assessment must be given to go on from this one."""

    snapshot: Snapshot
    memory: Memory
    known: Known
    """What the Snapshot starts from,"""
    ahead: Ahead
    """and how it goes on: for whoever must say why its figures are what they are."""


def assess(situation: Situation, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS) -> Assessment:
    """Assess every supply under the committed option.

    Args:
        situation: what is known.
        memory: what the assessment before this one returned; None for the first.
        draws: samples and seed; ``Draws(seed=0, count=0)`` is the central case alone.
    """
    memory = memory or Memory()
    plan = situation.plan
    known = known_of(situation)
    ahead = look_ahead(known, plan, plan.options[plan.committed], draws)
    bands = _bands(ahead, memory.bands, known.at_s)
    supplies = {
        name: _status(known, ahead, one, bands[name].band if _has_margin(one) else None)
        for name, one in ahead.supplies.items()
    }
    cabin = cabin_clocks(_around(known, ahead, memory), draws)
    return Assessment(
        snapshot=_snapshot(situation, plan, known, ahead, supplies, cabin.clocks),
        memory=Memory(bands=bands, clocks=cabin.bands, trends=cabin.trends, charges=known.charges),
        known=known,
        ahead=ahead,
    )


def _bands(ahead: Ahead, before: Mapping[str, BandMemory], at_s: float) -> dict[str, BandMemory]:
    """The memory of every supply's band; one whose margin is not known keeps what it had."""
    bands = dict(before)
    for name, one in ahead.supplies.items():
        outlook = one.outlook
        if outlook.band_margin_s is not None:
            central = None if outlook.margin_s is None else outlook.margin_s.p50
            bands[name] = next_bands(
                one.supply.bands,
                bands.get(name),
                outlook.band_margin_s,
                at_s,
                is_short=central is not None and central < 0.0,
                may_ease=one.held.quality is Quality.GOOD,
            )
    return bands


def _around(known: Known, ahead: Ahead, memory: Memory) -> CabinSurroundings:
    """What the cabin's clocks go by: the same plan, and the moments at which its supplies run out."""
    from_s = cabin_from_s(known.craft, known.feed, known.at_s)
    return CabinSurroundings(
        craft=known.craft,
        feed=known.feed,
        segments=ahead.configuration.segments(from_s, math.inf),
        option=ahead.option,
        at_s=known.at_s,
        ends_s={
            name: one.outlook.course.runs_out_s()
            for name, one in ahead.supplies.items()
            if one.outlook.course is not None
        },
        bands=memory.clocks,
        trends=memory.trends,
    )


def _has_margin(one: SupplyAhead) -> bool:
    return one.outlook.band_margin_s is not None


def _snapshot(
    situation: Situation,
    plan: Plan,
    known: Known,
    ahead: Ahead,
    supplies: Mapping[str, SupplyStatus],
    clocks: tuple[CabinClock, ...],
) -> Snapshot:
    craft, at_s = known.craft, known.at_s
    lows = {name: one.outlook.band_margin_s for name, one in ahead.supplies.items()}
    known_lows = {name: low for name, low in lows.items() if low is not None}
    phase = phase_at(ahead.phases, at_s)
    return Snapshot(
        scenario=situation.slug,
        craft_name=craft.name,
        epoch=craft.epoch,
        at_s=at_s,
        feed=known.feed,
        need=need_of(craft, ahead.option, supplies, at_s, ahead.configuration, situation.decision),
        shortest=min(known_lows, key=lambda name: known_lows[name], default=None),
        supplies=supplies,
        unknown=tuple(name for name, low in lows.items() if low is None),
        phase=phase.name,
        level=phase.level,
        level_differs=loads_differing(craft, ahead.configuration, phase, at_s),
        loads=load_statuses(craft, ahead.configuration, at_s),
        next_phase=next_phase(ahead.phases, at_s),
        next_event=next_event(ahead.events, at_s),
        watch=watch_name(plan.watches, at_s),
        cabin=(*cabin_readings(craft, known.feed, at_s), *derived_readings(craft, known.feed, at_s)),
        clocks=clocks,
        shown_in=craft.shown_in,
        peaks=_peaks(known, ahead),
        drops=drops_of(craft, ahead.configuration, supplies, at_s),
        notices=(
            *situation.notices,
            *currents_not_known(craft),
            *control_notices(craft, ahead.configuration, known.changes, supplies, at_s),
        ),
        doubts=_doubts(known),
    )


def _status(known: Known, ahead: Ahead, one: SupplyAhead, band: Band | None) -> SupplyStatus:
    supply, held, outlook = one.supply, one.held, one.outlook
    people = sum(phase_at(ahead.phases, known.at_s).crew.values())
    leaks = leak_remarks(known.craft, supply, known.pressure)
    bus = (
        supply,
        one.giving,
        known.feed.readings,
        known.craft.channels,
        one.planned_draw_si_per_s,
        known.quantities,
    )
    shares = bus_shares(*bus)
    factors, unlogged = _learnt(known, ahead, supply)
    return SupplyStatus(
        name=supply.name,
        unit=supply.unit,
        rate_unit=supply.rate_unit,
        on_board_si=outlook.on_board_si,
        protected_si=held.protected_si,
        isolated_si=held.isolated_si,
        residual_si=held.residual_si,
        reserve_si=supply.reserve_si,
        usable_si=outlook.usable_si,
        quality=held.quality,
        age_s=held.age_s,
        rate_now_si_per_s=one.now.rate_si_per_s,
        rate_now_source=one.now.source,
        rate_plan_si_per_s=one.planned_draw_si_per_s,
        endurance_now_s=outlook.endurance_now_s,
        endurance_plan_s=outlook.endurance_plan_s,
        runs_out_at_s=outlook.runs_out_at_s,
        margin_s=outlook.margin_s,
        left_at_need_si=outlook.left_at_need_si,
        allowance_si_per_s=outlook.allowance_si_per_s,
        lasts_probability=outlook.lasts_probability,
        band=band,
        why="; ".join(filter(None, (*outlook.why, *one.why, *leaks, *bus_remarks(*bus), *held.why))),
        stores=tuple(replace(store, bus=shares.get(store.name)) for store in held.stores),
        ledger=outlook.ledger,
        rates=use_rates(known.craft, supply.name, ahead.use, people),
        fitted_lasts_s=one.fitted_lasts_s,
        reserve_note=supply.reserve_note,
        released_si=supply.released_si,
        factors=factors,
        unlogged=unlogged,
    )


def _learnt(
    known: Known, ahead: Ahead, supply: Supply
) -> tuple[tuple[UseFactor, ...], tuple[UnloggedChange, ...]]:
    """How far a supply's uses are off, and what of it nobody logged."""
    if known.evidence is None:
        return (), ()
    from console.engine.findings import unlogged_changes, use_factors  # only who keeps a history pays for it

    return (
        use_factors(known.evidence, known.craft, supply, ahead.use),
        unlogged_changes(known.evidence, known.craft, supply, ahead.configuration),
    )


def _doubts(known: Known) -> tuple[Verdict, ...]:
    if not known.verdicts:
        return ()
    from console.engine.doubts import doubts_told

    return doubts_told(known.verdicts)


def _peaks(known: Known, ahead: Ahead) -> tuple[Peak, ...]:
    """The currents ahead, the batteries sharing as they are measured where they are."""
    return peaks_of(
        known.craft,
        ahead.configuration,
        ahead.events,
        ahead.phases,
        known.at_s,
        ahead.until_s,
        ahead.shares,
    )
