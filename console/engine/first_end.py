"""What comes first under the plan: the end of a supply or a limit of the cabin. Pure, of a Snapshot alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot, Supposition


class EndKind(Enum):
    """What it is that comes first."""

    SUPPLY = "supply"
    CABIN_LIMIT = "cabin limit"


@dataclass(frozen=True, kw_only=True, slots=True)
class FirstEnd:
    """The end with the least margin, by its low end."""

    kind: EndKind
    name: str
    """Of the supply or of the limit."""
    margin_s: Interval
    """Against need; an end of None is one that does not come."""
    comes_in_s: Interval | None
    """From now: when the supply runs out or the limit is reached, under the plan."""
    band: Band | None
    clock: CabinClock | None = None
    """Of a limit."""

    @property
    def low_margin_s(self) -> float:
        """By which ends are compared; without end where even the low end does not come."""
        return math.inf if self.margin_s.p05 is None else self.margin_s.p05


def first_end(snapshot: Snapshot) -> FirstEnd | None:
    """Whichever comes first under the plan, compared by the margins' low ends; None where none is known.

    A limit goes first only where it is earlier than every supply whose margin is known. What it cannot take
    into account is in ``unknown_ends``.
    """
    ends = [supply_end(snapshot), *(_cabin_end(snapshot, clock) for clock in _under_plan(snapshot))]
    return min((end for end in ends if end is not None), key=lambda end: end.low_margin_s, default=None)


def unknown_ends(snapshot: Snapshot) -> tuple[str, ...]:
    """The supplies and limits whose margin is not known, any of which could come before the first."""
    limits = (
        clock.limit.name
        for clock in _under_plan(snapshot)
        if clock.state is not ClockState.HELD and _cabin_end(snapshot, clock) is None
    )
    return (*snapshot.unknown, *limits)


def _under_plan(snapshot: Snapshot) -> tuple[CabinClock, ...]:
    return tuple(clock for clock in snapshot.clocks if clock.supposition is Supposition.PLAN)


def supply_end(snapshot: Snapshot) -> FirstEnd | None:
    """The end of the shortest supply; None where no margin is known."""
    if snapshot.shortest is None:
        return None
    supply = snapshot.supplies[snapshot.shortest]
    if supply.margin_s is None:
        return None
    return FirstEnd(
        kind=EndKind.SUPPLY,
        name=supply.name,
        margin_s=supply.margin_s,
        comes_in_s=supply.endurance_plan_s,
        band=supply.band,
    )


def _cabin_end(snapshot: Snapshot, clock: CabinClock) -> FirstEnd | None:
    """The end that a clock under the plan tells; None where it tells none."""
    margin, comes = clock.margin_s, clock.reached_in_s
    if clock.state is ClockState.REACHED:
        # What is beyond its limit now has come, whatever the rest of the clock can say.
        now, missed = 0.0, -snapshot.need.in_s
        comes = comes or Interval(p05=now, p50=now, p95=now)
        margin = margin or Interval(p05=missed, p50=missed, p95=missed)
    if margin is None or clock.state is ClockState.UNKNOWN:
        return None
    return FirstEnd(
        kind=EndKind.CABIN_LIMIT,
        name=clock.limit.name,
        margin_s=margin,
        comes_in_s=comes,
        band=clock.band,
        clock=clock,
    )
