"""The margin engine's one door: everything known at one moment in, one Snapshot out.

Pure: no file, no clock, no randomness but the seed it is given; the same arguments give the same Snapshot
to the bit. What must be remembered between two looks goes in and comes out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.plan import Plan, phase_at
from console.engine.ahead import Ahead, SupplyAhead, look_ahead
from console.engine.bands import BandMemory, next_bands
from console.engine.forecast import Draws
from console.engine.known import Known, Situation, known_of
from console.engine.memory import Memory
from console.engine.reading import Quality
from console.engine.snapshot import Band, Snapshot, SupplyStatus
from console.engine.surroundings import (
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
    memory = memory or Memory()
    plan = situation.plan
    known = known_of(situation)
    ahead = look_ahead(known, plan, plan.options[plan.committed], draws)
    bands = _bands(ahead, memory.bands, known.at_s)
    supplies = {
        name: _status(known, one, bands[name].band if _has_margin(one) else None)
        for name, one in ahead.supplies.items()
    }
    return Assessment(snapshot=_snapshot(situation, plan, known, ahead, supplies), memory=Memory(bands=bands))


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


def _has_margin(one: SupplyAhead) -> bool:
    return one.outlook.band_margin_s is not None


def _snapshot(
    situation: Situation, plan: Plan, known: Known, ahead: Ahead, supplies: Mapping[str, SupplyStatus]
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
        feed=situation.feed,
        need=need_of(craft, ahead.option, supplies, at_s),
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
        cabin=cabin_readings(craft, situation.feed, at_s),
        shown_in=craft.shown_in,
        notices=situation.notices,
    )


def _leak_remark(known: Known, one: SupplyAhead) -> str:
    by_pressure = any(
        use.supply == one.supply.name and use.at_pressure_pa is not None for use in known.craft.uses
    )
    if not by_pressure or known.pressure.is_good:
        return ""
    why = known.pressure.why or "none is read"
    return f"the leak is reckoned at its reference pressure at least, because {why}"


def _status(known: Known, one: SupplyAhead, band: Band | None) -> SupplyStatus:
    supply, held, outlook = one.supply, one.held, one.outlook
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
        why="; ".join(filter(None, (*outlook.why, _leak_remark(known, one), *held.why))),
        stores=held.stores,
        ledger=outlook.ledger,
    )
