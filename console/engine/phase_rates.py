"""What the plan takes of every supply phase by phase until need, and the sums that a pencil can follow.

Central case. Every rate is what the stores lose, rate effect of batteries included, so that usable less the
sum of hours times rate, with what events bring and take, is what is left at need.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.plan import Phase
from console.engine.ahead import Ahead, SupplyAhead
from console.engine.forecast import Course
from console.engine.jumps import Jump


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseRates:
    """One phase from now on, or several at their mean."""

    name: str
    level: str
    """Empty where several phases are taken together."""
    from_s: float
    until_s: float
    rates_si_per_s: Mapping[str, float]
    """By supply, the mean over the phase."""
    count: int = 1
    """How many phases it stands for."""

    @property
    def span_s(self) -> float:
        """How long it is."""
        return self.until_s - self.from_s


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanSum:
    """From usable now to the margin under the plan, for one supply whose quantity is known."""

    usable_si: float
    rate_now_si_per_s: float
    """What the present draw costs the stores."""
    jumps: tuple[Jump, ...]
    """What happens at one moment each between now and need."""
    left_si: float
    """At need; below zero where it is short."""
    rate_after_need_si_per_s: float | None
    """The one rate from need until it runs out; None where it changes, or where it runs out before need."""
    allowed_si: float | None
    """What the allowance may take altogether"""
    allowed_until_s: float | None
    """until this moment: need, or what holds the allowance down. Both None where there is no allowance."""
    bound_by: str
    """What holds it down; empty for need."""

    @property
    def jumps_si(self) -> float:
        """All jumps together."""
        return sum(jump.amount_si for jump in self.jumps)


def phase_rates(ahead: Ahead, now_s: float, most: int | None = None) -> tuple[PhaseRates, ...]:
    """The phases from now until need, in order.

    Args:
        ahead: the look ahead.
        now_s: the moment.
        most: at most so many rows; those beyond are taken together at their mean, so that sums still hold.
    """
    need_s = ahead.option.need_s
    spans = [
        (phase, max(phase.start_s, now_s), min(end_s, need_s))
        for phase, end_s in _with_ends(ahead.phases)
        if end_s > now_s and phase.start_s < need_s
    ]
    spans = [span for span in spans if span[2] > span[1]]
    if spans and spans[0][0] is ahead.phases[0]:
        # Before the first phase starts, the first is in progress.
        spans[0] = (spans[0][0], now_s, spans[0][2])
    rows = [_row(ahead, (span,)) for span in spans]
    if most is not None and len(rows) > most:
        rows = [*rows[: most - 1], _row(ahead, tuple(spans[most - 1 :]))]
    return tuple(rows)


def plan_sums(ahead: Ahead, now_s: float) -> dict[str, PlanSum]:
    """The sums of every supply whose quantity is known."""
    return {
        name: _sum(one, one.outlook.course, one.outlook.usable_si, ahead.option.need_s, now_s)
        for name, one in ahead.supplies.items()
        if one.outlook.course is not None and one.outlook.usable_si is not None
    }


def _with_ends(phases: tuple[Phase, ...]) -> list[tuple[Phase, float]]:
    ends_s = [*(phase.start_s for phase in phases[1:]), float("inf")]
    return list(zip(phases, ends_s, strict=True))


def _row(ahead: Ahead, spans: tuple[tuple[Phase, float, float], ...]) -> PhaseRates:
    first, from_s, _ = spans[0]
    until_s = spans[-1][2]
    alone = len(spans) == 1
    return PhaseRates(
        name=first.name if alone else f"{len(spans)} phases from {first.name}",
        level=first.level if alone else "",
        from_s=from_s,
        until_s=until_s,
        rates_si_per_s={
            name: float(ahead.use.used_si(name, from_s, until_s).sum()) / (until_s - from_s)
            for name in ahead.supplies
        },
        count=len(spans),
    )


def _sum(one: SupplyAhead, course: Course, usable_si: float, need_s: float, now_s: float) -> PlanSum:
    outlook = one.outlook
    left = outlook.left_at_need_si
    ahead = tuple(jump for jump in outlook.jumps if now_s < jump.at_s <= need_s)
    allowed_until_s = need_s
    if outlook.bound_by:
        allowed_until_s = next((jump.at_s for jump in ahead if jump.name == outlook.bound_by), need_s)
    cost = outlook.allowed_cost_si_per_s
    return PlanSum(
        usable_si=usable_si,
        rate_now_si_per_s=one.now.effective_si_per_s,
        jumps=ahead,
        left_si=0.0 if left is None or left.p50 is None else left.p50,
        rate_after_need_si_per_s=_rate_after(course, need_s, outlook.runs_out_at_s),
        allowed_si=None if cost is None else cost * (allowed_until_s - now_s),
        allowed_until_s=None if cost is None else allowed_until_s,
        bound_by=outlook.bound_by,
    )


def _rate_after(course: Course, need_s: float, out_s: float | None) -> float | None:
    """The central rate from need until the supply runs out, if it is one and the same."""
    if out_s is None or out_s < need_s:
        return None
    times = course.times_s.tolist()
    rates = {
        rate
        for rate, begin, end in zip(
            course.central().rates_si_per_s[0].tolist(), times, [*times[1:], float("inf")], strict=True
        )
        if begin < out_s and end > need_s
    }
    return rates.pop() if len(rates) == 1 else None
