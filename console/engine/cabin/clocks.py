"""The cabin's clocks: the one door of this package. Readings, plan and run-outs in; clocks and memories out.

Within it the crew breathes, the hull leaks and loses heat, and services run as the plan and their supplies
let them. Events that vent or fill the cabin are not in it, nor people who come and go.
``p50`` is the central case, row 0 of the samples, and can be checked by hand. Of the samples the first
``CABIN_SAMPLES`` are taken, the same ones as for the supplies, so that both run on the same luck.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from console.craft.cabin import Cabin, CabinLimit
from console.engine.bands import BandMemory, next_bands
from console.engine.cabin.crossing import reached_at_s
from console.engine.cabin.forcing import cabin_course, horizon_s
from console.engine.cabin.gauges import CabinGauges, Gauge, cabin_gauges
from console.engine.cabin.matters import (
    carried_why,
    gauges_behind,
    remarks,
    suppositions_of,
    unknown_why,
)
from console.engine.cabin.now import is_beyond, property_now
from console.engine.cabin.services import Running, Service, services_of
from console.engine.cabin.surroundings import CabinOutlook, CabinSurroundings
from console.engine.cabin.trends import next_trends, trend_clock
from console.engine.draws import Floats
from console.engine.forecast import Draws, interval
from console.engine.quantity import worst
from console.engine.reading import Quality
from console.engine.snapshot import CabinClock, ClockState, Interval, Supposition

CABIN_SAMPLES: Final = 250
"""So many samples leave the ends of an interval open by some 4 % of its width."""

_BANDED = (Supposition.PLAN, Supposition.TREND)


def cabin_clocks(around: CabinSurroundings, draws: Draws) -> CabinOutlook:
    """The clock of every limit on every supposition that matters to it, and what the next look needs."""
    cabin = around.craft.cabin
    if cabin is None or not cabin.limits:
        return CabinOutlook(clocks=(), bands=around.bands, trends=around.trends)
    gauges = cabin_gauges(around.craft, cabin, around.feed, around.at_s)
    trends = next_trends(around.trends, cabin, gauges)
    running = services_of(around.craft, cabin, around.segments)
    asked = {limit: suppositions_of(limit, running, bool(around.craft.loads)) for limit in cabin.limits}
    reached = _reached(around, cabin, gauges, running, asked, draws)
    bands = dict(around.bands)
    clocks = []
    for limit in cabin.limits:
        plan, *stopped = asked[limit]
        for supposition in (plan, Supposition.TREND, *stopped):
            clock = (
                trend_clock(limit, gauges, trends, around.option, around.at_s)
                if supposition is Supposition.TREND
                else _clock(
                    around, cabin, gauges, running, limit, supposition, reached[limit, supposition], draws
                )
            )
            if clock is not None:
                clocks.append(_banded(clock, cabin, bands, around.at_s))
    # What a trend that has ended was warned of says nothing about the next one.
    kept = {clock.key: bands[clock.key] for clock in clocks if clock.key in bands}
    return CabinOutlook(clocks=tuple(clocks), bands=kept, trends=trends)


def _reached(
    around: CabinSurroundings,
    cabin: Cabin,
    gauges: CabinGauges,
    running: Mapping[Service, Running],
    asked: Mapping[CabinLimit, tuple[Supposition, ...]],
    draws: Draws,
) -> dict[tuple[CabinLimit, Supposition], Floats]:
    """By limit and supposition, when it is reached, seconds since the epoch, shape (rows,)."""
    rows = min(draws.count, CABIN_SAMPLES) + 1
    all_of_them = tuple(
        one for one in Supposition if any(one in suppositions for suppositions in asked.values())
    )
    # An old reading is carried by the plan, and is also taken as if it were one of now: the earlier counts,
    # so that no clock is longer because nobody looked.
    ways = [gauges]
    if gauges.from_s < around.at_s:
        ways.append(gauges.as_if_now())
    found: dict[tuple[CabinLimit, Supposition], Floats] = {}
    for way in ways:
        course = cabin_course(around, cabin, way, running, all_of_them, draws, rows)
        for limit, suppositions in asked.items():
            indices = tuple(all_of_them.index(one) for one in suppositions)
            at_s = reached_at_s(course, limit, indices, around.at_s)
            for supposition, times in zip(suppositions, at_s, strict=True):
                key = (limit, supposition)
                found[key] = np.minimum(found[key], times) if key in found else times
    return found


def _need_s(around: CabinSurroundings, draws: Draws, rows: int) -> Floats:
    option = around.option
    spread: Floats = draws.error(f"arrival of {option.name}", option.arrival_spread_s)[:rows]
    return option.need_s + spread


def _clock(
    around: CabinSurroundings,
    cabin: Cabin,
    gauges: CabinGauges,
    running: Mapping[Service, Running],
    limit: CabinLimit,
    supposition: Supposition,
    times_s: Floats,
    draws: Draws,
) -> CabinClock:
    named = gauges_behind(limit, cabin, gauges)
    behind = tuple(gauge for gauge in named if gauge is not None)
    quality = worst(*(gauge.quality for gauge in behind))
    now = property_now(limit, gauges)
    broken = now is not None and is_beyond(limit, now)
    missing = _missing(named)
    why = missing or ("" if broken else unknown_why(limit, supposition, around, cabin, running))
    if why:
        return CabinClock(
            limit=limit,
            supposition=supposition,
            state=ClockState.UNKNOWN,
            now_si=now,
            reached_in_s=None,
            margin_s=None,
            band=None,
            quality=worst(quality, Quality.MISSING) if missing else quality,
            why=why,
        )
    is_reached = broken or float(times_s[0]) <= around.at_s
    in_s = np.zeros_like(times_s) if is_reached else np.maximum(times_s - around.at_s, 0.0)
    reached = interval(in_s)
    margin = interval(in_s + around.at_s - _need_s(around, draws, len(in_s)))
    said = remarks(limit, supposition, around, cabin, gauges, running)
    bad = [gauge.why for gauge in behind if gauge.why]
    return CabinClock(
        limit=limit,
        supposition=supposition,
        state=ClockState.REACHED if is_reached else _state(reached),
        now_si=now,
        reached_in_s=reached,
        margin_s=margin if supposition in _BANDED else None,
        band=None,
        quality=quality,
        why="; ".join((*bad, *carried_why(behind, around.at_s), *said, *_horizon(around, reached))),
    )


def _missing(named: tuple[Gauge | None, ...]) -> str:
    """Why a clock has no readings to rest on; empty where it has."""
    if any(gauge is None for gauge in named):
        return "not known: the config does not name what the limit rests on"
    absent = [gauge.why for gauge in named if gauge is not None and gauge.value_si is None]
    return f"not known: {'; '.join(dict.fromkeys(absent))}" if absent else ""


def _state(reached: Interval) -> ClockState:
    # Where only the early samples reach it, it may come: that is no limit that does not come.
    return ClockState.HELD if reached.p05 is None else ClockState.RUNNING


def _horizon(around: CabinSurroundings, reached: Interval) -> tuple[str, ...]:
    if reached.p50 is not None:
        return ()
    days = (horizon_s(around) - around.at_s) / 86400.0
    return (f"not reached within {days:.0f} days",)


def _banded(clock: CabinClock, cabin: Cabin, bands: dict[str, BandMemory], at_s: float) -> CabinClock:
    """The clock with its band, by the margin's low end; the memory is written into ``bands``."""
    if cabin.bands is None or clock.margin_s is None:
        return clock
    low, middle = clock.margin_s.p05, clock.margin_s.p50
    bands[clock.key] = next_bands(
        cabin.bands,
        bands.get(clock.key),
        math.inf if low is None else low,
        at_s,
        is_short=clock.state is ClockState.REACHED or (middle is not None and middle < 0.0),
        may_ease=clock.quality is Quality.GOOD,
    )
    return replace(clock, band=bands[clock.key].band)
