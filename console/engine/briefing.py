"""Everything that a brief and a card are made from: one situation looked at from every side, once. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import Load
from console.engine.ahead import Ahead
from console.engine.assess import DEFAULT_DRAWS, assess
from console.engine.dioxide_rise import DioxideRise, dioxide_rise
from console.engine.first_end import EndKind, first_end
from console.engine.forecast import Draws
from console.engine.gauge_times import GaugeTime, gauge_times
from console.engine.known import Situation, judged
from console.engine.loss import Losses, losses_of
from console.engine.memory import Memory
from console.engine.options import WayHome, ways_home
from console.engine.phase_rates import PhaseRates, PlanSum, phase_rates, plan_sums
from console.engine.shed_advice import ShedAdvice, shed_advice
from console.engine.snapshot import CabinClock, Snapshot, Supposition
from console.engine.whatif import MoveArrival, SwitchOff, suppose

_CENTRAL = Draws(seed=0, count=0)

LATE_S = 6 * 3600.0
"""By how much the arrival is supposed to slip, to say what that costs."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HandSums:
    """What two people with a pencil go on from."""

    situation: Situation
    snapshot: Snapshot
    ways: tuple[WayHome, ...]
    phases: tuple[PhaseRates, ...]
    sums: Mapping[str, PlanSum]
    """By supply; without those whose quantity is not known."""
    gauges: tuple[GaugeTime, ...]
    dioxide: DioxideRise | None


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitGain:
    """By how much one load off alone puts off the cabin limit that comes first."""

    load: Load
    gained_s: float | None
    """Central; None where the limit then does not come or is not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Briefing:
    """One situation looked at from every side."""

    situation: Situation
    snapshot: Snapshot
    ways: tuple[WayHome, ...]
    losses: Losses
    shed: ShedAdvice
    """For the caution margin of the shortest supply, by the low end."""
    limit_gains: tuple[LimitGain, ...]
    """Best first; empty where a supply comes first."""
    later: Snapshot
    """The same with the arrival ``LATE_S`` later."""
    all_last_probability: float | None
    """Share of the samples in which every supply lasts until need; None where one is not known."""


def briefing_of(situation: Situation, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS) -> Briefing:
    """Look at a situation from every side."""
    situation = judged(situation)
    base = assess(situation, memory, draws)
    snapshot = base.snapshot
    shed = shed_advice(situation, caution_s(situation, snapshot), draws)
    late = suppose(situation, (MoveArrival(by_s=LATE_S),))
    return Briefing(
        situation=situation,
        snapshot=snapshot,
        ways=ways_home(base.known, situation.plan, draws),
        losses=losses_of(situation, memory, draws),
        shed=shed,
        limit_gains=_limit_gains(situation, snapshot, [buys.load for buys in shed.shed.may_go]),
        later=assess(late, None, draws).snapshot,
        all_last_probability=_all_last(base.ahead),
    )


def hand_sums_of(
    situation: Situation, most_phases: int, memory: Memory | None = None, draws: Draws = DEFAULT_DRAWS
) -> HandSums:
    """The sums by hand; phases beyond so many are taken together."""
    base = assess(situation, memory, draws)
    return HandSums(
        situation=situation,
        snapshot=base.snapshot,
        ways=ways_home(base.known, situation.plan, draws),
        phases=phase_rates(base.ahead, situation.at_s, most_phases),
        sums=plan_sums(base.ahead, situation.at_s),
        gauges=gauge_times(base.known, base.ahead, base.snapshot.supplies),
        dioxide=dioxide_rise(base.known, base.ahead, base.snapshot),
    )


def caution_s(situation: Situation, snapshot: Snapshot) -> float:
    """The margin below which caution begins: the shortest supply's, else the largest there is."""
    supplies = situation.craft.supplies
    if snapshot.shortest is not None:
        return supplies[snapshot.shortest].bands.caution_s
    return max((supply.bands.caution_s for supply in supplies.values()), default=0.0)


def _limit_gains(situation: Situation, snapshot: Snapshot, loads: list[Load]) -> tuple[LimitGain, ...]:
    first = first_end(snapshot)
    if first is None or first.kind is not EndKind.CABIN_LIMIT:
        return ()
    gains = []
    before = _reached_s(snapshot, first.name)
    for load in loads:
        off = SwitchOff(loads=(load.name,), from_s=situation.at_s)
        after = _reached_s(assess(suppose(situation, (off,)), None, _CENTRAL).snapshot, first.name)
        gained = None if before is None or after is None else after - before
        gains.append(LimitGain(load=load, gained_s=gained))
    return tuple(sorted(gains, key=lambda gain: -(gain.gained_s or 0.0)))


def _reached_s(snapshot: Snapshot, limit: str) -> float | None:
    clock: CabinClock | None = next(
        (
            clock
            for clock in snapshot.clocks
            if clock.limit.name == limit and clock.supposition is Supposition.PLAN
        ),
        None,
    )
    return None if clock is None or clock.reached_in_s is None else clock.reached_in_s.p50


def _all_last(ahead: Ahead) -> float | None:
    """In how large a share of the samples every supply lasts, on the same luck."""
    lasting = None
    for one in ahead.supplies.values():
        course, need_s = one.outlook.course, one.outlook.need_s
        if course is None or need_s is None:
            return None
        holds = course.runs_out_s() >= need_s
        lasting = holds if lasting is None else lasting & holds
    if lasting is None:
        return None
    samples = lasting[1:] if len(lasting) > 1 else lasting
    return float(np.count_nonzero(samples)) / len(samples)
