"""The steady draw that can be afforded in the free phases, once the planned power-ups are paid for.

For one supply, from now to need:

    A = (U + E - P) / F,  least over need and every moment before it at which something comes or goes
    dA/dt = (A - r) / F

U: usable now. E: what events bring (above zero) or take until then. P: what the plan takes in the power-ups
until then. F: the free time until then. r: the present draw. A falls by (r - A) / F for each second of free
time spent at the present draw. All of these cost the stores, the rate effect of batteries included; what is
shown is the draw that costs so much. The low end is the same of the 5 % worst samples of what is left, the
plan's own use in the free phases being taken at its middle.

A power-up is a stretch in which the loads are planned to take more than ``POWER_UP_FACTOR`` times the power
that they take for most of the time until need (the median over time). It is one for every supply, for what
is paid for is the doing, not one consumable. Without loads there is none, and all time is free.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.craft.model import Craft, Supply
from console.craft.plan import Phase, phase_at
from console.engine.ahead import Ahead, SupplyAhead, look_ahead
from console.engine.assess import DEFAULT_DRAWS
from console.engine.draws import Floats
from console.engine.forecast import Course, Draws, interval
from console.engine.known import Situation, known_of
from console.engine.planned_rate import draw_of_cost_si_per_s
from console.engine.planned_use import PlannedUse
from console.engine.snapshot import Interval, LineKind
from console.units import Dimension

POWER_UP_FACTOR = 1.2
"""Common practice, no source: a fifth above what runs most of the time is an operation of its own."""

HOUR_S = 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class FreeTime:
    """How the time from now to need parts into power-ups and free time."""

    spans_s: tuple[tuple[float, float], ...]
    """From and until of every free stretch."""
    power_ups: tuple[str, ...]
    """The phases in which there is a power-up, in order of time."""
    power_up_s: float

    def until(self, at_s: float) -> float:
        """How much of it lies before a moment."""
        return sum(max(min(end_s, at_s) - begin_s, 0.0) for begin_s, end_s in self.spans_s)


@dataclass(frozen=True, kw_only=True, slots=True)
class AllowanceProfile:
    """The allowance of one supply in the free phases; figures None where they cannot be had, see ``why``."""

    supply: Supply
    free_s: float
    power_up_s: float
    power_ups: tuple[str, ...]
    power_ups_take_si: float | None
    """P: what the planned power-ups until need take of it."""
    allowance_si_per_s: float | None
    """Central case; below zero where the power-ups alone take more than there is."""
    allowance_low_si_per_s: float | None
    """By the low end of what is left."""
    planned_si_per_s: float | None
    """What the plan takes in the free phases on average."""
    present_si_per_s: float
    """What is drawn now."""
    falls_si_per_s: float | None
    """By how much the allowance falls with each hour of the present draw; below zero it rises."""
    held_down_at_s: float | None
    """Until when what is there now must last, where that is before need and holds the allowance down."""
    why: str

    @property
    def shortfall_low_si_per_s(self) -> float | None:
        """How much less must be drawn in the free phases than planned, by the low end."""
        if self.planned_si_per_s is None or self.allowance_low_si_per_s is None:
            return None
        return self.planned_si_per_s - self.allowance_low_si_per_s


def allowance_profiles(situation: Situation, draws: Draws = DEFAULT_DRAWS) -> dict[str, AllowanceProfile]:
    """The profile of every supply under the committed way home."""
    plan = situation.plan
    ahead = look_ahead(known_of(situation), plan, plan.options[plan.committed], draws)
    return profiles_of(situation.craft, ahead, situation.at_s)


def profiles_of(craft: Craft, ahead: Ahead, now_s: float) -> dict[str, AllowanceProfile]:
    """The profile of every supply from a look ahead."""
    free = free_time(craft, ahead.use, ahead.phases, now_s, ahead.option.need_s)
    return {name: _profile(one, ahead, free, now_s) for name, one in ahead.supplies.items()}


def free_time(
    craft: Craft, use: PlannedUse, phases: tuple[Phase, ...], now_s: float, need_s: float
) -> FreeTime:
    """Which of the time until need is free, and which phases power up."""
    power_w = power_of_loads_w(craft, use)
    ends_s = np.append(use.starts_s[1:], np.inf)
    begins_s, ends_s = np.maximum(use.starts_s, now_s), np.minimum(ends_s, need_s)
    spans_s = np.clip(ends_s - begins_s, 0.0, None)
    is_up = power_w > POWER_UP_FACTOR * _median_over_time(power_w, spans_s)
    names = [phase_at(phases, begin).name for begin in begins_s[is_up & (spans_s > 0.0)].tolist()]
    free = (spans_s > 0.0) & ~is_up
    return FreeTime(
        spans_s=tuple(zip(begins_s[free].tolist(), ends_s[free].tolist(), strict=True)),
        power_ups=tuple(dict.fromkeys(names)),
        power_up_s=float(spans_s[is_up].sum()),
    )


def power_of_loads_w(craft: Craft, use: PlannedUse) -> Floats:
    """What the loads take in each segment, on all buses together."""
    power_w = np.zeros(len(use.starts_s))
    for name, lines in use.supplies.items():
        supply = craft.supplies[name]
        watts = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.CHARGE else 1.0
        loads = [index for index, key in enumerate(lines.keys) if key.kind is LineKind.LOAD]
        power_w += watts * lines.rates_si_per_s[loads].sum(axis=0)
    return power_w


def _median_over_time(values: Floats, spans_s: Floats) -> float:
    """The value below which half of the time lies; infinite for no time."""
    if spans_s.sum() <= 0.0:
        return math.inf
    order = np.argsort(values, kind="stable")
    run_s = np.cumsum(spans_s[order])
    return float(values[order][np.searchsorted(run_s, 0.5 * run_s[-1])])


def _profile(one: SupplyAhead, ahead: Ahead, free: FreeTime, now_s: float) -> AllowanceProfile:
    supply, need_s, name = one.supply, ahead.option.need_s, one.supply.name
    free_s = free.until(need_s)
    course = one.outlook.course
    fields: dict[str, float | None] = dict.fromkeys(
        ("power_ups_take_si", "allowance_si_per_s", "allowance_low_si_per_s", "planned_si_per_s")
    )
    falls, held_down_at_s, why = None, None, ""
    if course is None:
        why = "; ".join(one.outlook.why)
    elif free_s <= 0.0:
        why = "there is no free time before need"
    else:
        used_free = _free_use(ahead.use, name, free, need_s)
        cost, held_down_at_s = _least(one, course, ahead, free, now_s, is_low=False)
        low, _ = _least(one, course, ahead, free, now_s, is_low=True)
        fall = (one.now.effective_si_per_s - cost) / free_s * HOUR_S
        shares = ahead.shares.get(name)

        def draw(cost_si_per_s: float) -> float:
            """The draw that costs so much; what is below zero costs no more than it is."""
            if cost_si_per_s <= 0.0:
                return cost_si_per_s
            return draw_of_cost_si_per_s(supply, one.giving, cost_si_per_s, shares)

        fields = {
            "power_ups_take_si": float(ahead.use.used_si(name, now_s, need_s).sum()) - used_free,
            "allowance_si_per_s": draw(cost),
            "allowance_low_si_per_s": draw(low),
            "planned_si_per_s": draw(used_free / free_s),
        }
        falls = draw(cost) - draw(cost - fall)
    return AllowanceProfile(
        supply=supply,
        free_s=free_s,
        power_up_s=free.power_up_s,
        power_ups=free.power_ups,
        present_si_per_s=one.now.rate_si_per_s,
        falls_si_per_s=falls,
        held_down_at_s=held_down_at_s,
        why=why,
        **fields,
    )


def _least(
    one: SupplyAhead, course: Course, ahead: Ahead, free: FreeTime, now_s: float, *, is_low: bool
) -> tuple[float, float | None]:
    """A, and the moment that holds it down if it is not need.

    What is left by a moment under the plan, and what the plan's free phases take until then, is U + E - P.
    """
    need_s, supply = ahead.option.need_s, one.supply.name

    def afforded(left: Interval | None, until_s: float) -> float:
        end = None if left is None else left.p05 if is_low else left.p50
        return ((end or 0.0) + _free_use(ahead.use, supply, free, until_s)) / free.until(until_s)

    least, held_down_at_s = afforded(one.outlook.left_at_need_si, need_s), None
    for at_s in _gains_s(course, now_s, need_s):
        if free.until(at_s) > 0.0:
            reach = afforded(_left_before(course, at_s), at_s)
            if reach < least:
                least, held_down_at_s = reach, at_s
    return least, held_down_at_s


def _gains_s(course: Course, now_s: float, need_s: float) -> list[float]:
    """When something comes that cannot be drawn earlier; nothing else can hold an allowance down."""
    central = course.central()
    starts, rates = central.starts_si[0], central.rates_si_per_s[0]
    ends = starts[:-1] - rates[:-1] * np.diff(course.times_s)
    gained = starts[1:] - ends > 1e-9 * np.abs(ends)
    moments: list[float] = course.times_s[1:][gained].tolist()
    return [at_s for at_s in moments if now_s < at_s < need_s]


def _left_before(course: Course, at_s: float) -> Interval:
    return interval(course.left_at_si(math.nextafter(at_s, -math.inf)))


def _free_use(use: PlannedUse, supply: str, free: FreeTime, until_s: float) -> float:
    """What the plan takes in the free time until a moment, central case."""
    return sum(
        float(use.used_si(supply, begin_s, min(end_s, until_s)).sum())
        for begin_s, end_s in free.spans_s
        if begin_s < until_s
    )
