"""The clocks at the measured trend: what the cabin's own readings of the last hour lead to."""

from __future__ import annotations

import math
from typing import Final

from console.craft.cabin import Cabin, CabinLimit, CabinProperty
from console.craft.plan import Option
from console.display import hours_text
from console.engine.cabin.gauges import CabinGauges
from console.engine.cabin.now import is_beyond, property_gauge
from console.engine.reading import Quality
from console.engine.snapshot import CabinClock, ClockState, Interval, Supposition
from console.engine.trend import Trend, TrendMemory, trend_of

_NORMAL_95: Final = 1.6448536269514722


def next_trends(trends: TrendMemory, cabin: Cabin, gauges: CabinGauges) -> TrendMemory:
    """The memory with what is newly and well read of each limited property."""
    for of, is_share in dict.fromkeys((limit.of, limit.is_share) for limit in cabin.limits):
        gauge = property_gauge(of, is_share, gauges)
        if gauge is None or gauge.quality is not Quality.GOOD:
            continue
        if gauge.value_si is not None and gauge.read_at_s is not None:
            trends = trends.with_reading(_key(of, is_share), gauge.read_at_s, gauge.value_si)
    return trends


def trend_clock(
    limit: CabinLimit, gauges: CabinGauges, trends: TrendMemory, option: Option, at_s: float
) -> CabinClock | None:
    """When the measured trend brings a property to its limit; None where it does not clearly lead there."""
    gauge = property_gauge(limit.of, limit.is_share, gauges)
    if gauge is None or gauge.value_si is None or is_beyond(limit, gauge.value_si):
        return None
    trend = trend_of(trends.points.get(_key(limit.of, limit.is_share), ()), at_s, gauge.resolution_si)
    reached = None if trend is None else trend.reaches_in_s(limit.at_si, at_s, gauge.sd_si)
    if trend is None or reached is None:
        return None
    return CabinClock(
        limit=limit,
        supposition=Supposition.TREND,
        state=ClockState.RUNNING,
        now_si=gauge.value_si,
        reached_in_s=reached,
        margin_s=_margin(reached, option, at_s),
        band=None,
        quality=gauge.quality,
        why="; ".join(filter(None, (gauge.why, _why(trend, limit)))),
    )


def _key(of: CabinProperty, is_share: bool) -> str:
    return f"{of.value} share" if is_share else of.value


def _margin(reached: Interval, option: Option, at_s: float) -> Interval:
    """Against need, whose own spread is independent of the trend's."""
    if reached.p50 is None:
        return Interval(p05=None, p50=None, p95=None)
    middle, spread = reached.p50 + at_s - option.need_s, _NORMAL_95 * option.arrival_spread_s
    return Interval(
        p05=None if reached.p05 is None else middle - math.hypot(reached.p50 - reached.p05, spread),
        p50=middle,
        p95=None if reached.p95 is None else middle + math.hypot(reached.p95 - reached.p50, spread),
    )


def _why(trend: Trend, limit: CabinLimit) -> str:
    """Window and slope, in the unit in which the limit was written."""
    factor, unit = _shown_in(limit)
    per_h, error = (rate * 3600.0 / factor for rate in (trend.slope_si_per_s, trend.slope_sd_si_per_s))
    return (
        f"a straight line through {trend.count} readings over {hours_text(trend.window_s)}: "
        f"{per_h:+.3g} {unit}/h, standard error {error:.2g}"
    )


def _shown_in(limit: CabinLimit) -> tuple[float, str]:
    """What a difference is divided by, and the unit it is in then."""
    if limit.of in (CabinProperty.TEMPERATURE, CabinProperty.APPARENT_TEMPERATURE):
        return 1.0, "K"
    if limit.unit is not None:
        return limit.unit.factor, limit.unit.text
    if limit.is_share or limit.of is CabinProperty.HUMIDITY:
        return 0.01, "%"
    return 1.0, "Pa"
