"""What is better and what is worse between two Snapshots of one moment, before a change and after. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum

from console.engine.snapshot import (
    CabinClock,
    ClockState,
    Interval,
    Peak,
    Snapshot,
    SupplyStatus,
    Supposition,
)

_SAME_S = 1.0
"""Times that differ by less are one."""
_SAME_FRACTION = 1e-6
"""Of an amount: what differs by less is one."""


class Verdict(Enum):
    """How something is after a change against before it."""

    BETTER = "better"
    WORSE = "worse"
    SAME = "the same"
    UNKNOWN = "not known"


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyChange:
    """One supply before and after."""

    before: SupplyStatus
    after: SupplyStatus
    verdict: Verdict
    """By the margin's low end, then its centre, then what is left at need."""

    @property
    def is_band_changed(self) -> bool:
        """Whether it comes to another band."""
        return self.before.band is not self.after.band


@dataclass(frozen=True, kw_only=True, slots=True)
class ClockChange:
    """One limit of the cabin under the plan before and after."""

    before: CabinClock
    after: CabinClock
    verdict: Verdict
    """By its margin, or by when it is reached where there is none; the low end first, later is better."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Difference:
    """Two Snapshots of one moment, thing by thing."""

    before: Snapshot
    after: Snapshot
    supplies: tuple[SupplyChange, ...]
    """In the order of the craft."""
    clocks: tuple[ClockChange, ...]
    """Of the clocks under the plan alone, in the order of the limits."""
    peaks_over: tuple[Peak, ...]
    """What is above a limit of bus or battery after and was not before."""

    def of(self, verdict: Verdict) -> tuple[str, ...]:
        """The supplies and limits that came to a verdict."""
        supplies = [change.after.name for change in self.supplies if change.verdict is verdict]
        return (*supplies, *(one.after.limit.name for one in self.clocks if one.verdict is verdict))


def difference(before: Snapshot, after: Snapshot) -> Difference:
    """Compare two Snapshots of the same craft at the same moment."""
    clocks_before = {clock.limit.name: clock for clock in _under_plan(before)}
    over = {(peak.supply, peak.name) for peak in before.peaks if peak.is_over}
    return Difference(
        before=before,
        after=after,
        supplies=tuple(
            SupplyChange(
                before=before.supplies[name],
                after=supply,
                verdict=_supply_verdict(before.supplies[name], supply),
            )
            for name, supply in after.supplies.items()
        ),
        clocks=tuple(
            ClockChange(
                before=clocks_before[clock.limit.name],
                after=clock,
                verdict=_clock_verdict(clocks_before[clock.limit.name], clock),
            )
            for clock in _under_plan(after)
            if clock.limit.name in clocks_before
        ),
        peaks_over=tuple(
            peak for peak in after.peaks if peak.is_over and (peak.supply, peak.name) not in over
        ),
    )


def _under_plan(snapshot: Snapshot) -> Iterator[CabinClock]:
    return (clock for clock in snapshot.clocks if clock.supposition is Supposition.PLAN)


def _supply_verdict(before: SupplyStatus, after: SupplyStatus) -> Verdict:
    if before.margin_s is None or after.margin_s is None:
        known = before.margin_s is None and after.margin_s is None
        return Verdict.UNKNOWN if not known else Verdict.SAME
    for end in (_low, _central):
        verdict = _ends_verdict(_end(before.margin_s, end), _end(after.margin_s, end))
        if verdict is not Verdict.SAME:
            return verdict
    return _amounts_verdict(before.left_at_need_si, after.left_at_need_si)


def _clock_verdict(before: CabinClock, after: CabinClock) -> Verdict:
    states = {before.state, after.state}
    if ClockState.UNKNOWN in states:
        return Verdict.SAME if len(states) == 1 else Verdict.UNKNOWN
    for end in (_low, _central):
        ends = _reached_s(before, end), _reached_s(after, end)
        if before.margin_s is not None and after.margin_s is not None:
            ends = _end(before.margin_s, end), _end(after.margin_s, end)
        verdict = _ends_verdict(*ends)
        if verdict is not Verdict.SAME:
            return verdict
    return Verdict.SAME


def _reached_s(clock: CabinClock, end: Callable[[Interval], float | None]) -> float:
    """When the limit is reached, from now; without end where it is not."""
    if clock.state is ClockState.REACHED:
        return 0.0
    if clock.state is ClockState.HELD or clock.reached_in_s is None:
        return math.inf
    return _end(clock.reached_in_s, end)


def _low(interval: Interval) -> float | None:
    return interval.p05


def _central(interval: Interval) -> float | None:
    return interval.p50


def _end(interval: Interval, end: Callable[[Interval], float | None]) -> float:
    value = end(interval)
    return math.inf if value is None else value


def _ends_verdict(before: float, after: float) -> Verdict:
    if before == after or abs(after - before) < _SAME_S:
        return Verdict.SAME
    return Verdict.BETTER if after > before else Verdict.WORSE


def _amounts_verdict(before: Interval | None, after: Interval | None) -> Verdict:
    """More that is left is better, though it moves no end."""
    if before is None or after is None or before.p50 is None or after.p50 is None:
        return Verdict.SAME
    if abs(after.p50 - before.p50) <= _SAME_FRACTION * max(abs(after.p50), abs(before.p50)):
        return Verdict.SAME
    return Verdict.BETTER if after.p50 > before.p50 else Verdict.WORSE
