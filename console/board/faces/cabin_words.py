"""The limits of the cabin in words and in order: which clock speaks for a limit, its values, its doubts.

A limit is judged under the plan; where the measured trend puts it into a worse band, the trend speaks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from console.board.faces.moments import doubt_text
from console.board.view import View
from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.display import (
    UNKNOWN,
    Rounding,
    amount_text,
    cabin_unit,
    figure_text,
    hours_figure,
    hours_text,
)
from console.engine.snapshot import Band, CabinClock, ClockState, Interval, Snapshot, Supposition
from console.units import Unit, UnitSystem

_PROPERTY_WORDS = {
    CabinProperty.INSPIRED_OXYGEN.value: "inspired oxygen",
    CabinProperty.CARBON_DIOXIDE.value: "CO2",
    CabinProperty.APPARENT_TEMPERATURE.value: "apparent temperature",
}
GRACE_WORDS = {
    Supposition.NO_REMOVAL: "removal",
    Supposition.NO_FEED: "feed",
    Supposition.NO_COOLING: "cooling",
    Supposition.NO_POWER: "power",
}
"""What stops, where there is room for one word."""
CABIN_KEY = "a"
"""Shows the pane of the cabin."""
NOT_REACHED = "not reached"
_BAND_RANK = {Band.WARNING: 1, Band.CAUTION: 2, None: 3, Band.ADVISORY: 4, Band.NOMINAL: 5}
"""The most urgent first; what is not known stands before what is known to be well."""
_RESTS_ON = {
    CabinProperty.INSPIRED_OXYGEN: (CabinProperty.OXYGEN, CabinProperty.PRESSURE),
    CabinProperty.APPARENT_TEMPERATURE: (CabinProperty.TEMPERATURE, CabinProperty.HUMIDITY),
}
_MINUTES_BELOW_S = 3600.0
_AS_GOOD_S = 36.0
"""Two suppositions that differ by less are one and the same stop."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitClocks:
    """One limit: the clock that speaks for it, and the shortest of those that suppose something stops."""

    limit: CabinLimit
    speaks: CabinClock
    grace: CabinClock | None

    @property
    def is_reached(self) -> bool:
        """Whether the property is beyond the limit now."""
        return self.speaks.state is ClockState.REACHED

    @property
    def is_by_trend(self) -> bool:
        """Whether the measured trend speaks, as it is in a worse band than the plan."""
        return self.speaks.supposition is Supposition.TREND

    @property
    def band(self) -> Band | None:
        """The band shown; what is reached is never shown as less than a warning."""
        return Band.WARNING if self.is_reached else self.speaks.band


def limits_by_urgency(snapshot: Snapshot) -> tuple[LimitClocks, ...]:
    """Every limit, the most urgent first."""
    by_limit: dict[str, list[CabinClock]] = {}
    for clock in snapshot.clocks:
        by_limit.setdefault(clock.limit.name, []).append(clock)
    return tuple(sorted((_limit_clocks(clocks) for clocks in by_limit.values()), key=_urgency))


def _limit_clocks(clocks: list[CabinClock]) -> LimitClocks:
    by_kind = {clock.supposition: clock for clock in clocks}
    plan, trend = by_kind.get(Supposition.PLAN), by_kind.get(Supposition.TREND)
    speaks = plan or trend or clocks[0]
    if plan is not None and trend is not None and _rank(trend) < _rank(plan) and _is_known(trend):
        speaks = trend
    # A stop that brings the limit no earlier than it comes anyway is no news.
    comes_s = _low_s(speaks)
    latest_s = math.inf if comes_s is None else comes_s - _AS_GOOD_S
    stops = [by_kind[kind] for kind in GRACE_WORDS if kind in by_kind]
    running = [clock for clock in stops if (low_s := _low_s(clock)) is not None and low_s < latest_s]
    grace = min(running, key=lambda clock: (_low_s(clock) or 0.0) // _AS_GOOD_S, default=None)
    return LimitClocks(limit=clocks[0].limit, speaks=speaks, grace=grace)


def _is_known(clock: CabinClock) -> bool:
    return clock.state is not ClockState.UNKNOWN


def _rank(clock: CabinClock) -> int:
    return 0 if clock.state is ClockState.REACHED else _BAND_RANK[clock.band if _is_known(clock) else None]


def _low_s(clock: CabinClock) -> float | None:
    return clock.reached_in_s.p05 if clock.reached_in_s is not None else None


def _urgency(row: LimitClocks) -> tuple[float, float, float]:
    """Reached, then by band, then the sooner; among those that are not reached, the shorter grace."""
    low_s = _low_s(row.speaks)
    grace_s = None if row.grace is None else _low_s(row.grace)
    return (
        float(_rank(row.speaks)),
        math.inf if low_s is None else low_s,
        math.inf if grace_s is None else grace_s,
    )


def property_words(name: str) -> str:
    """A property as people call it."""
    return _PROPERTY_WORDS.get(name, name)


def unit_of(limit: CabinLimit, system: UnitSystem) -> Unit:
    """The unit in which a limit and its property are read."""
    return cabin_unit(limit.of.value, system, written=limit.unit, is_share=limit.is_share)


def limit_text(limit: CabinLimit, system: UnitSystem) -> str:
    """The limit itself: ``max 2.00 kPa``."""
    side = "max" if limit.side is LimitSide.ABOVE else "min"
    return f"{side} {amount_text(limit.at_si, unit_of(limit, system), Rounding.NEAREST)}"


def now_text(clock: CabinClock, system: UnitSystem) -> str:
    """The property now, rounded towards its limit."""
    rounding = Rounding.UP if clock.limit.side is LimitSide.ABOVE else Rounding.DOWN
    return amount_text(clock.now_si, unit_of(clock.limit, system), rounding)


def now_figure(clock: CabinClock, system: UnitSystem) -> str:
    """The same without its unit, which stands with the limit beside it."""
    return "?" if clock.now_si is None else now_text(clock, system).split(" ")[0]


def reach_text(clock: CabinClock) -> str:
    """When it is reached, at the low end."""
    if clock.state is ClockState.REACHED:
        return "REACHED"
    if clock.state is ClockState.UNKNOWN:
        return UNKNOWN
    low_s = _low_s(clock)
    return NOT_REACHED if low_s is None or clock.state is ClockState.HELD else time_text(low_s)


def ends_text(ends: Interval) -> str:
    """All three ends of a clock: ``31.2 / 35.0 / 40.1 h``; one that does not come is said."""
    all_s = (ends.p05, ends.p50, ends.p95)
    is_short = all(end_s is None or end_s < _MINUTES_BELOW_S for end_s in all_s)
    figures = [
        NOT_REACHED if end_s is None else minutes_figure(end_s) if is_short else hours_figure(end_s)
        for end_s in all_s
    ]
    return f"{' / '.join(figures)}{'' if ends.p95 is None else ' min' if is_short else ' h'}"


def time_text(seconds: float) -> str:
    """A time left in hours, the last one in minutes: tenths of an hour are too coarse for it."""
    return f"{minutes_figure(seconds)} min" if seconds < _MINUTES_BELOW_S else hours_text(seconds)


def minutes_figure(seconds: float) -> str:
    """Whole minutes, down."""
    return figure_text(seconds / 60.0, 0)


def grace_text(row: LimitClocks) -> str:
    """What is left if something stopped now: ``removal 4.1 h``."""
    if row.is_reached:
        return ""
    if row.is_by_trend:
        return "at the trend"
    low_s = None if row.grace is None else _low_s(row.grace)
    if row.grace is None or low_s is None:
        return ""
    return f"{GRACE_WORDS[row.grace.supposition]} {time_text(low_s)}"


def grace_sentence(row: LimitClocks) -> str:
    """The same with the words of its supposition; empty where nothing can stop."""
    low_s = None if row.grace is None else _low_s(row.grace)
    if row.grace is None or low_s is None or row.is_reached:
        return ""
    return f"{time_text(low_s)} {row.grace.supposition.value}"


def cabin_age_s(snapshot: Snapshot, limit: CabinLimit) -> float | None:
    """Age of the oldest reading behind a property; None where there is none."""
    wanted = _RESTS_ON.get(limit.of, (limit.of,))
    if limit.is_share:
        wanted = (*wanted, CabinProperty.PRESSURE)
    names = {of.value for of in (limit.of, *wanted)}
    ages = [
        reading.age_s for reading in snapshot.cabin if reading.name in names and reading.age_s is not None
    ]
    return max(ages, default=None)


def clock_distrust_text(view: View, clock: CabinClock) -> str:
    """The word and the age for a clock whose readings are not good; empty where they are."""
    if view.snapshot is None:
        return ""
    return doubt_text(view, clock.quality, cabin_age_s(view.snapshot, clock.limit))
