"""How long one supply lasts, by how much that makes it, what may be drawn, and where it goes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from console.craft.model import Store, Supply
from console.craft.plan import Option
from console.display import rate_text
from console.engine.course import Course, course_of
from console.engine.course_rates import SampledRates
from console.engine.draws import Floats
from console.engine.forecast import Draws, interval
from console.engine.holding import Holding, unread
from console.engine.jumps import Jump, event_factor
from console.engine.ledger import held_lines, supply_ledger
from console.engine.planned_rate import draw_of_cost_si_per_s
from console.engine.planned_use import PlannedUse
from console.engine.rate_now import RateNow
from console.engine.snapshot import Interval, LedgerLine, LineKind, RateSource

if TYPE_CHECKING:
    from console.engine.evidence.luck import Luck

ABOVE_PLAN_FRACTION = 0.1
"""A measured rate this much above the model's, and beyond the meters' error, is worth a sentence."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Outlook:
    """How long a supply lasts and what is left; every figure None where the usable amount is not known."""

    on_board_si: float | None
    """Now, what is carried since old readings taken off."""
    usable_si: float | None
    """The same."""
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
    course: Course | None = None
    """How the usable amount goes, in every sample; None where it is not known."""
    need_s: Floats | None = None
    """Until when it must last, in every sample."""
    lasts_now_s: Floats | None = None
    """How long it lasts at the present rate, in every sample; infinite where it does."""
    jumps: tuple[Jump, ...] = ()
    """What happens to it at one moment each, as reckoned in ``course``."""
    allowed_cost_si_per_s: float | None = None
    """What the allowance costs the stores, rate effect included."""
    bound_by: str = ""
    """What holds the allowance down, where that is not the need."""


def outlook(
    supply: Supply,
    held: Holding,
    giving: tuple[Store, ...],
    now: RateNow,
    plan: PlannedUse,
    jumps: tuple[Jump, ...],
    option: Option,
    draws: Draws,
    now_s: float,
    shares: Mapping[str, float] | None = None,
) -> Outlook:
    """How long a supply lasts at the present rate and under the plan, and what is left at need.

    Args:
        supply: the supply.
        held: what it holds, and from when on it is reckoned.
        giving: the stores that feed now.
        now: its present rate.
        plan: the planned uses, from that moment or an earlier one on.
        jumps: what happens to it at one moment each, from that moment on until need.
        option: the way home that sets the need.
        draws: samples and seed.
        now_s: the moment.
        shares: how its batteries share the bus, where that is measured.
    """
    if held.start_si is None:
        return _unknown_outlook(held)
    rates = plan.sampled(supply.name, draws)
    course = supply_course(held, rates, plan, supply.name, jumps, draws, now_s)
    need_s = option.need_s + draws.error(f"arrival of {option.name}", option.arrival_spread_s)
    out_s = course.runs_out_s()
    usable = course.left_at_si(now_s)
    margin = interval(out_s - need_s)
    runs_out_at_s = float(out_s[0])
    ahead = tuple(jump for jump in jumps if jump.at_s > now_s)
    usable_si, carried_si = float(usable[0]), _carried_si(held, jumps, float(usable[0]), now_s)
    cost, bound_by = _allowed_cost(usable_si, ahead, option.need_s, now_s)
    allowance = None if cost is None else draw_of_cost_si_per_s(supply, giving, cost, shares)
    lines = held_lines(supply, held, carried_si)
    lasts_now_s = _endurance_now_s(supply, usable, now, rates.at(plan.now_index), draws)
    return Outlook(
        on_board_si=None if held.read_si is None else held.read_si - carried_si,
        usable_si=usable_si,
        endurance_now_s=interval(lasts_now_s),
        endurance_plan_s=interval(np.maximum(out_s - now_s, 0.0)),
        runs_out_at_s=runs_out_at_s if math.isfinite(runs_out_at_s) else None,
        margin_s=margin,
        band_margin_s=math.inf if margin.p05 is None else margin.p05,
        left_at_need_si=interval(course.left_si(np.maximum(need_s, now_s))),
        allowance_si_per_s=allowance,
        lasts_probability=_share(out_s >= need_s),
        ledger=supply_ledger(lines, supply.name, plan, ahead, now_s, option.need_s),
        why=tuple(_remarks(supply, held, now, plan, runs_out_at_s, carried_si, bound_by, option, now_s)),
        course=course,
        need_s=need_s,
        lasts_now_s=lasts_now_s,
        jumps=jumps,
        allowed_cost_si_per_s=cost,
        bound_by=bound_by,
    )


def _unknown_outlook(held: Holding) -> Outlook:
    return Outlook(
        on_board_si=held.read_si,
        usable_si=None,
        endurance_now_s=None,
        endurance_plan_s=None,
        runs_out_at_s=None,
        margin_s=None,
        band_margin_s=None,
        left_at_need_si=None,
        allowance_si_per_s=None,
        lasts_probability=None,
        ledger=(),
        why=(f"not known: no quantity for {', '.join(unread(held))}",),
    )


def supply_course(
    held: Holding,
    sampled: SampledRates,
    plan: PlannedUse,
    supply: str,
    jumps: tuple[Jump, ...],
    draws: Draws,
    now_s: float,
) -> Course:
    """The course of one supply from ``held.from_s`` on: the plan's rates and the jumps together.

    Args:
        held: what it holds, and from when on it is reckoned.
        sampled: the plan's rate in each segment.
        plan: the planned uses.
        supply: the supply's name.
        jumps: what happens to it at one moment each.
        draws: samples and seed.
        now_s: the moment.
    """
    start = np.full(draws.count + 1, held.start_si)
    for store, sd in held.errors_sd.items():
        start += draws.error(f"store {store}", sd)
    starts_s, luck = plan.starts_s, plan.luck
    if luck is not None:
        start += luck.level_error_si(supply, draws)
    begun_s = np.maximum(starts_s, held.from_s).tolist()
    turns = [at_s for at_s, _ in held.unseen]
    strays = () if luck is None else [held.from_s + 3600.0 * hours for hours in WANDER_GRID_H]
    times = np.array(sorted({held.from_s, now_s, *turns, *begun_s, *strays, *(jump.at_s for jump in jumps)}))
    # Until now, later readings have seen their part of the draw already.
    shares = np.array([_unseen_at(held, at_s) if at_s < now_s else 1.0 for at_s in times.tolist()])
    rates = sampled.over(np.searchsorted(starts_s, times, side="right") - 1, shares)
    if luck is not None:
        stray = draws.error(f"wandering of {supply}", 1.0)
        rates = rates.with_group(stray, _wandering_si_per_s(plan, luck, supply, times))
    added = [(jump.at_s, _added_si(jump, held, draws, now_s)) for jump in jumps]
    return course_of(start, times, rates, added)


def _added_si(jump: Jump, held: Holding, draws: Draws, now_s: float) -> Floats:
    """What one jump adds in every sample, shape (samples,)."""
    amount = jump.amount_si * draws.factor(event_factor(jump.name), jump.spread_fraction)
    if jump.at_s <= now_s and jump.kind in (LineKind.EVENT, LineKind.TRANSFER):
        amount = amount * _unseen_at(held, math.nextafter(jump.at_s, -math.inf))
    if jump.error_sd_si:
        amount = amount + draws.error(f"store {jump.store}", jump.error_sd_si)
    return amount


WANDER_GRID_H = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0)
"""At which the spread by wandering use is reckoned anew, hours from where the supply is reckoned."""


def _wandering_si_per_s(plan: PlannedUse, luck: Luck, supply: str, times_s: Floats) -> Floats:
    """What one deviation of wandering use takes more between one time and the next, shape (times,).

    Each sample has one draw for good, so that the spread at every time is as it must be.
    """
    index = np.maximum(np.searchsorted(plan.starts_s, times_s, side="right") - 1, 0)
    squares = plan.squares(supply)[index]
    spans = np.diff(times_s)
    integral = np.concatenate(([0.0], np.cumsum(squares[:-1] * spans)))
    from console.engine.evidence.luck import wander_variance  # only who keeps a history pays for it

    variance = wander_variance(integral, times_s - times_s[0], luck.wander_tau_s(supply))
    sd = luck.wander_fraction(supply) * np.sqrt(variance)
    return np.append(np.diff(sd) / spans, 0.0)


def _unseen_at(held: Holding, at_s: float) -> float:
    """The share of the draw at a past moment that no later reading has seen."""
    return next((share for since_s, share in reversed(held.unseen) if since_s <= at_s), 0.0)


def _carried_si(held: Holding, jumps: tuple[Jump, ...], usable_si: float, now_s: float) -> float:
    """What the plan has taken since the old readings, central case."""
    opened_si = sum(
        jump.amount_si
        for jump in jumps
        if jump.at_s <= now_s and jump.kind in (LineKind.OPENED, LineKind.SHUT)
    )
    return (held.start_si or 0.0) + opened_si - usable_si


def _endurance_now_s(supply: Supply, usable: Floats, now: RateNow, modelled: Floats, draws: Draws) -> Floats:
    """How long what is usable now lasts at the present rate; ``modelled`` is the model's, both (samples,)."""
    rate = modelled
    if now.source is RateSource.MEASURED:
        rate = now.effective_si_per_s + draws.error(f"rate of {supply.name}", now.sd_si_per_s)
    amount = np.maximum(usable, 0.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        lasts_s: Floats = np.where(rate > 0.0, amount / rate, np.inf)
    return np.where(amount <= 0.0, 0.0, lasts_s)


def _allowed_cost(
    usable_si: float, ahead: tuple[Jump, ...], need_s: float, now_s: float
) -> tuple[float | None, str]:
    """What the stores may lose per second so that usable is zero exactly at need, after the planned events.

    Where that would empty the supply before something that comes on the way (a store opened later cannot be
    drawn from earlier), it is what just reaches that; then its name is returned too.
    """
    if need_s <= now_s:
        return None, ""
    level_si, least, bound_by = usable_si, math.inf, ""
    for jump in ahead:
        reach = (level_si + min(jump.amount_si, 0.0)) / (jump.at_s - now_s)
        if reach < least:
            least, bound_by = reach, jump.name
        level_si += jump.amount_si
    until_need = level_si / (need_s - now_s)
    return (until_need, "") if until_need <= least else (least, bound_by)


def _share(holds: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> float:
    samples = holds[1:] if len(holds) > 1 else holds
    return float(np.count_nonzero(samples)) / len(samples)


def _remarks(
    supply: Supply,
    held: Holding,
    now: RateNow,
    plan: PlannedUse,
    runs_out_at_s: float,
    carried_si: float,
    bound_by: str,
    option: Option,
    now_s: float,
) -> list[str]:
    """What a person must be told beside the figures."""
    remarks = [now.why] if now.why else []
    model = plan.supplies[supply.name].total_si_per_s(plan.now_index)
    above = now.effective_si_per_s - model
    if now.source is RateSource.MEASURED and above > max(ABOVE_PLAN_FRACTION * model, 2.0 * now.sd_si_per_s):
        remarks.append(
            f"measured use is {rate_text(above, supply.rate_unit)} above what the configuration should draw: "
            "the plan's endurance does not count that"
        )
    if now.effective_si_per_s <= 0.0:
        remarks.append("not being used now, so no end at the present rate")
    if carried_si:
        hours = (now_s - held.from_s) / 3600.0
        remarks.append(f"readings are carried forward by the plan, the oldest by {hours:.1f} h")
    if runs_out_at_s <= now_s and held.from_s < now_s:
        remarks.append("by the plan it has run out since the last reading")
    if not math.isfinite(runs_out_at_s):
        remarks.append("does not run out under the plan")
    if bound_by:
        remarks.append(f"the allowance is held down by what must last until {bound_by}")
    if option.need_s <= now_s:
        remarks.append("the need has passed: left is what is usable now, and no allowance is reckoned")
    return remarks
