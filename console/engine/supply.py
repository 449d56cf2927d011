"""One supply's status: what is there, how long it lasts, by how much that makes it, and where it goes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import StoreState, Supply
from console.craft.plan import Option
from console.display import amount_text
from console.engine.draws import Floats
from console.engine.forecast import Course, Draws, course_of, interval
from console.engine.jumps import Jump, event_factor
from console.engine.ledger import supply_ledger
from console.engine.planned_use import PlannedUse
from console.engine.quantity import StoreQuantity, worst
from console.engine.rate_now import RateNow
from console.engine.reading import Quality
from console.engine.snapshot import Interval, LedgerLine, LineKind, RateSource, StoreStatus

ABOVE_PLAN_FRACTION = 0.1
"""A measured rate this much above the model's, and beyond the meters' error, is worth a sentence."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Holding:
    """What a supply holds now, its old readings carried forward; amounts None where not known."""

    on_board_si: float | None
    protected_si: float | None
    isolated_si: float | None
    residual_si: float | None
    usable_si: float | None
    stores: tuple[StoreStatus, ...]
    errors_sd: Mapping[str, float]
    """By feeding store, one standard deviation of its quantity."""
    quality: Quality
    age_s: float | None
    why: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Outlook:
    """How long a supply lasts and what is left; every figure None where the usable amount is not known."""

    endurance_now_s: Interval | None
    endurance_plan_s: Interval | None
    runs_out_at_s: float | None
    margin_s: Interval | None
    band_margin_s: float | None
    """The margin's low end, infinite where the supply does not run out: what bands and order go by."""
    left_at_need_si: Interval | None
    allowance_si_per_s: float | None
    lasts_probability: float | None
    ledger: tuple[LedgerLine, ...]
    why: tuple[str, ...]


def holding(
    supply: Supply,
    quantities: Mapping[str, StoreQuantity],
    states: Mapping[str, StoreState],
    carried_si: Mapping[str, float],
    now_s: float,
) -> Holding:
    """What a supply holds now.

    Args:
        supply: the supply.
        quantities: by store, what its readings say, as at their own time.
        states: by store, whether it gives.
        carried_si: by store, what the plan has taken from it since a reading that is old.
        now_s: the moment.
    """
    stores = tuple(
        _store_status(quantities[store.name], states[store.name], carried_si.get(store.name, 0.0), now_s)
        for store in supply.stores
    )
    by_state = {state: [store for store in stores if store.state is state] for state in StoreState}
    feeding = by_state[StoreState.FEEDING]
    on_feeding = _sum_known([store.on_board_si for store in feeding])
    residual = _sum_known([store.residual_si for store in feeding])
    usable = None if on_feeding is None or residual is None else on_feeding - residual - supply.reserve_si
    why = [f"{store.name}: {store.why}" for store in stores if store.why]
    ages = [store.age_s for store in feeding if store.age_s is not None]
    return Holding(
        on_board_si=_sum_known([store.on_board_si for store in stores]),
        protected_si=_sum_known([store.on_board_si for store in by_state[StoreState.PROTECTED]]),
        isolated_si=_sum_known([store.on_board_si for store in by_state[StoreState.ISOLATED]]),
        residual_si=residual,
        usable_si=usable,
        stores=stores,
        errors_sd={store.name: quantities[store.name].sd_si for store in feeding},
        quality=worst(*(store.quality for store in feeding)),
        age_s=max(ages, default=None),
        why=tuple(why),
    )


def _store_status(quantity: StoreQuantity, state: StoreState, carried_si: float, now_s: float) -> StoreStatus:
    held = quantity.held_si
    residual = quantity.residual_si
    if held is not None:
        held = max(held - carried_si, 0.0)
        # What is below the residual cannot be given, but nothing less than all of it is trapped either.
        residual = min(residual or 0.0, held)
    return StoreStatus(
        name=quantity.store.name,
        state=state,
        on_board_si=held,
        residual_si=residual,
        basis=quantity.basis,
        quality=quantity.quality,
        age_s=None if quantity.as_of_s is None else now_s - quantity.as_of_s,
        why=quantity.why,
    )


def _sum_known(amounts: list[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if len(known) == len(amounts) else None


def outlook(
    supply: Supply,
    held: Holding,
    now: RateNow,
    plan: PlannedUse,
    jumps: tuple[Jump, ...],
    option: Option,
    draws: Draws,
    now_s: float,
) -> Outlook:
    """How long a supply lasts at the present rate and under the plan, and what is left at need."""
    if held.usable_si is None:
        return _unknown_outlook(held)
    usable = held.usable_si + sum(
        (draws.error(f"store {name}", sd) for name, sd in held.errors_sd.items()),
        start=np.zeros(draws.count + 1),
    )
    rates = plan.supplies[supply.name].sampled_si_per_s(plan.spreads, draws)
    course = supply_course(usable, rates, plan.starts_s, jumps, draws, now_s)
    need_s = option.need_s + draws.error(f"arrival of {option.name}", option.arrival_spread_s)
    out_s = course.runs_out_s()
    left = course.left_si(np.maximum(need_s, now_s))
    margin = out_s - need_s
    runs_out_at_s = float(out_s[0])
    margin_interval = interval(margin)
    low = margin_interval.p05
    lines = supply_ledger(held_lines(supply, held), supply.name, plan, jumps, now_s, option.need_s)
    return Outlook(
        endurance_now_s=interval(_endurance_now_s(supply, usable, now, rates[:, 0], draws)),
        endurance_plan_s=interval(out_s - now_s),
        runs_out_at_s=runs_out_at_s if math.isfinite(runs_out_at_s) else None,
        margin_s=margin_interval,
        band_margin_s=math.inf if low is None else low,
        left_at_need_si=interval(left),
        allowance_si_per_s=_allowance(held.usable_si, jumps, option.need_s, now_s),
        lasts_probability=_share(out_s >= need_s),
        ledger=lines,
        why=tuple(_remarks(supply, now, plan, out_s, option.need_s, now_s)),
    )


def _unknown_outlook(held: Holding) -> Outlook:
    unread = [store.name for store in held.stores if store.on_board_si is None]
    return Outlook(
        endurance_now_s=None,
        endurance_plan_s=None,
        runs_out_at_s=None,
        margin_s=None,
        band_margin_s=None,
        left_at_need_si=None,
        allowance_si_per_s=None,
        lasts_probability=None,
        ledger=(),
        why=(f"not known: no quantity for {', '.join(unread)}",),
    )


def supply_course(
    usable: Floats,
    rates_si_per_s: Floats,
    starts_s: Floats,
    jumps: tuple[Jump, ...],
    draws: Draws,
    now_s: float,
) -> Course:
    """The course of one supply from now on: the plan's rates and the jumps on one list of times.

    Args:
        usable: what is usable now, shape (samples,).
        rates_si_per_s: the rate in each segment of the plan, shape (samples, segments).
        starts_s: when each segment starts, shape (segments,).
        jumps: what happens to the supply at one moment each.
        draws: the luck.
        now_s: the moment from which on it is wanted.
    """
    moments = {*np.maximum(starts_s, now_s).tolist(), *(jump.at_s for jump in jumps)}
    times = np.array(sorted(moments))
    segment = np.searchsorted(starts_s, times, side="right") - 1
    added = np.zeros((draws.count + 1, len(times)))
    for jump in jumps:
        factor = draws.factor(event_factor(jump.name), jump.spread_fraction)
        added[:, np.searchsorted(times, jump.at_s)] += jump.amount_si * factor
    return course_of(usable, times, rates_si_per_s[:, segment], added)


def _endurance_now_s(supply: Supply, usable: Floats, now: RateNow, modelled: Floats, draws: Draws) -> Floats:
    """How long what is usable lasts at the present rate; ``modelled`` is the model's, shape (samples,)."""
    rate = modelled
    if now.source is RateSource.MEASURED:
        rate = now.effective_si_per_s + draws.error(f"rate of {supply.name}", now.sd_si_per_s)
    amount = np.maximum(usable, 0.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        lasts_s: Floats = np.where(rate > 0.0, amount / rate, np.inf)
    return np.where(amount <= 0.0, 0.0, lasts_s)


def _allowance(usable_si: float, jumps: tuple[Jump, ...], need_s: float, now_s: float) -> float | None:
    """The steady draw that brings usable to zero exactly at need, after the planned events."""
    if need_s <= now_s:
        return None
    return (usable_si + sum(jump.amount_si for jump in jumps)) / (need_s - now_s)


def _share(holds: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> float:
    samples = holds[1:] if len(holds) > 1 else holds
    return float(np.count_nonzero(samples)) / len(samples)


def held_lines(supply: Supply, held: Holding) -> tuple[LedgerLine, ...]:
    """The ledger from on board to usable, over the stores whose quantity is known."""

    def total(state: StoreState) -> float:
        return sum(store.on_board_si or 0.0 for store in held.stores if store.state is state)

    lines = [LedgerLine(kind=LineKind.ON_BOARD, name="on board", amount_si=sum(map(total, StoreState)))]
    for kind, name, amount in (
        (LineKind.PROTECTED, "protected stores", total(StoreState.PROTECTED)),
        (LineKind.ISOLATED, "isolated stores", total(StoreState.ISOLATED)),
        (LineKind.RESIDUAL, "residual", held.residual_si or 0.0),
        (LineKind.RESERVE, "reserve", supply.reserve_si),
    ):
        if amount:
            lines.append(LedgerLine(kind=kind, name=name, amount_si=-amount))
    return tuple(lines)


def _remarks(
    supply: Supply, now: RateNow, plan: PlannedUse, out_s: Floats, need_s: float, now_s: float
) -> list[str]:
    remarks = [now.why] if now.why else []
    model = float(plan.supplies[supply.name].total_si_per_s()[0])
    if now.source is RateSource.MEASURED:
        above = now.effective_si_per_s - model
        if above > max(ABOVE_PLAN_FRACTION * model, 2.0 * now.sd_si_per_s):
            remarks.append(
                f"measured use is {amount_text(above, supply.rate_unit)} above what the configuration should "
                "draw: the plan's endurance does not count that"
            )
    if now.effective_si_per_s <= 0.0:
        remarks.append("not being used now, so no end at the present rate")
    if not math.isfinite(float(out_s[0])):
        remarks.append("does not run out under the plan")
    if need_s <= now_s:
        remarks.append("the need has passed: left is what is usable now, and no allowance is reckoned")
    return remarks
