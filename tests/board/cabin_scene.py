"""Literal cabins, buses and modules for the board's tests: no engine has reckoned them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.craft.model import BusSharing
from console.engine.reading import CabinReading, Quality
from console.engine.snapshot import (
    Band,
    BusShare,
    CabinClock,
    ClockState,
    Drop,
    Interval,
    LineKind,
    Peak,
    Snapshot,
    Supposition,
    UseRate,
)

HOUR = 3600.0

RAISED_CO2 = CabinLimit(
    name="raised CO2",
    of=CabinProperty.CARBON_DIOXIDE,
    side=LimitSide.ABOVE,
    at_si=1999.8,
    source="NASA MSC-02680 section 9.2.2",
    is_average=True,
)
LOW_OXYGEN = CabinLimit(
    name="low inspired oxygen",
    of=CabinProperty.INSPIRED_OXYGEN,
    side=LimitSide.BELOW,
    at_si=16_265.0,
    source="NASA-STD-3001 vol 2",
)
COLD = CabinLimit(
    name="cold", of=CabinProperty.TEMPERATURE, side=LimitSide.BELOW, at_si=278.15, source="a rule of our own"
)
DAMP = CabinLimit(
    name="damp", of=CabinProperty.HUMIDITY, side=LimitSide.ABOVE, at_si=0.75, source="a rule of our own"
)


def _interval(
    ends_h: tuple[float | None, float | None, float | None] | None, less_h: float = 0.0
) -> Interval | None:
    if ends_h is None:
        return None
    low, central, high = (None if end is None else (end - less_h) * HOUR for end in ends_h)
    return Interval(p05=low, p50=central, p95=high)


def make_clock(
    limit: CabinLimit,
    ends_h: tuple[float | None, float | None, float | None] | None,
    *,
    now_si: float | None,
    band: Band | None,
    need_in_h: float = 79.63,
    **changes: Any,
) -> CabinClock:
    """A clock under the plan that runs so many hours; None: it is not reached."""
    clock = CabinClock(
        limit=limit,
        supposition=Supposition.PLAN,
        state=ClockState.HELD if ends_h is None else ClockState.RUNNING,
        now_si=now_si,
        reached_in_s=_interval(ends_h),
        margin_s=_interval(ends_h, need_in_h),
        band=band,
        quality=Quality.GOOD,
        why="",
    )
    return replace(clock, **changes)


def make_clocks(plan: CabinClock, **others_h: tuple[float, float, float] | None) -> tuple[CabinClock, ...]:
    """The clock under the plan, and those of other suppositions by the names of their members."""
    return (
        plan,
        *(
            replace(
                plan,
                supposition=Supposition[name.upper()],
                state=ClockState.HELD if ends_h is None else ClockState.RUNNING,
                reached_in_s=_interval(ends_h),
                margin_s=None,
                band=None,
                why="closed form, the absorbent's stream stopped",
            )
            for name, ends_h in others_h.items()
        ),
    )


def cabin_clocks() -> tuple[CabinClock, ...]:
    """Four limits: carbon dioxide comes long before need, cold somewhat, oxygen and damp do not."""
    return (
        *make_clocks(
            make_clock(
                RAISED_CO2,
                (48.3, 52.0, 57.1),
                now_si=620.0,
                band=Band.WARNING,
                why=(
                    "NASA MSC-02680 section 9.2.2 means an average over hours; it is taken at the moment, "
                    "which is early; CO2 removal ends with absorbent, in 47.9 h"
                ),
            ),
            no_removal=(4.12, 4.5, 5.0),
            no_power=(4.12, 4.5, 5.0),
        ),
        *make_clocks(
            make_clock(
                LOW_OXYGEN, None, now_si=19_300.0, band=Band.NOMINAL, why="the feed holds the pressure"
            ),
            no_feed=(11.6, 12.5, 14.0),
        ),
        *make_clocks(
            make_clock(COLD, (84.4, 95.0, None), now_si=286.4, band=Band.CAUTION, why="from 312 W of heat"),
            no_power=(9.9, 12.0, 15.5),
        ),
        make_clock(DAMP, None, now_si=0.58, band=Band.NOMINAL),
    )


CABIN_READINGS = (
    CabinReading(name="pressure", value_si=37_900.0, quality=Quality.GOOD, age_s=3.4),
    CabinReading(name="oxygen", value_si=24_300.0, quality=Quality.GOOD, age_s=3.4),
    CabinReading(name="carbon_dioxide", value_si=620.0, quality=Quality.GOOD, age_s=3.4),
    CabinReading(name="humidity", value_si=0.58, quality=Quality.GOOD, age_s=3.4),
    CabinReading(name="temperature", value_si=286.4, quality=Quality.GOOD, age_s=3.4),
)


def with_cabin(snapshot: Snapshot, *clocks: CabinClock, **changes: Any) -> Snapshot:
    """The same with the limits of a cabin."""
    return replace(snapshot, clocks=clocks or cabin_clocks(), cabin=CABIN_READINGS, **changes)


def with_buses(snapshot: Snapshot) -> Snapshot:
    """The same with currents of phases ahead, one above a battery's limit, and batteries that share."""
    power = snapshot.supplies["power"]
    shares = (0.62, 0.38)
    stores = tuple(
        replace(
            store,
            bus=BusShare(
                fraction=share,
                by=BusSharing.MEASURED,
                planned_a=12.0 * share,
                limit_a=30.0,
                reaches_residual_in_s=60.5 * HOUR * share,
            ),
        )
        for store, share in zip(power.stores, shares, strict=False)
    )
    power = replace(power, stores=(*stores, *power.stores[len(stores) :]))
    return replace(
        snapshot,
        supplies={**snapshot.supplies, "power": power},
        peaks=(
            make_peak("coast", snapshot.at_s - 18.0 * HOUR, 12.0, 17.4),
            make_peak("descent", snapshot.at_s + 12.05 * HOUR, 36.2, 52.3, is_over=True),
            make_peak("top up entry battery", 58.0 * HOUR, 24.0, 29.4),
        ),
    )


def make_peak(name: str, at_s: float, mean_a: float, peak_a: float, **changes: Any) -> Peak:
    """The current of one phase on the bus, 0.62 of it from one battery."""
    peak = Peak(
        supply="power",
        name=name,
        at_s=at_s,
        mean_a=mean_a,
        peak_a=peak_a,
        bus_limit_a=60.0,
        store="power-1",
        store_peak_a=0.62 * peak_a,
        store_limit_a=30.0,
        is_over=False,
    )
    return replace(peak, **changes)


def with_rates(snapshot: Snapshot) -> Snapshot:
    """The same with what takes water, use by use, for four people."""
    water = snapshot.supplies["water"]
    rates = (
        UseRate(kind=LineKind.USE, name="cooling", rate_si_per_s=0.2 / HOUR, people=None),
        UseRate(kind=LineKind.USE, name="drinking", rate_si_per_s=0.11 / HOUR, people=4),
    )
    return replace(snapshot, supplies={**snapshot.supplies, "water": replace(water, rates=rates)})


DROPS = (
    Drop(module="work-section", mass_kg=2100.0, is_dropped=False, delta_v_left_m_per_s=612.4),
    Drop(module="dish", mass_kg=80.0, is_dropped=True, delta_v_left_m_per_s=None),
)
