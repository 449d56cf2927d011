"""Literal Snapshots with everything that a report can show. No engine has a part in them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.craft.model import BusSharing, StoreState
from console.engine.reading import CabinReading, FeedState, Quality
from console.engine.snapshot import (
    Band,
    BusShare,
    CabinClock,
    ClockState,
    Drop,
    Interval,
    LedgerLine,
    LineKind,
    Need,
    Peak,
    RateSource,
    Snapshot,
    StoreStatus,
    SupplyStatus,
    Supposition,
    UseRate,
)
from console.units import UnitSystem, parse_unit, rate_unit_of, shown_unit

HOUR = 3600.0
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
NOW_S = 26 * HOUR
NEED_IN_S = 78 * HOUR


def hours(low: float | None, central: float | None, high: float | None) -> Interval:
    """An interval given in hours."""
    ends = (None if end is None else end * HOUR for end in (low, central, high))
    return Interval(**dict(zip(("p05", "p50", "p95"), ends, strict=True)))


def make_supply(
    name: str, unit: str, low_h: float, system: UnitSystem = UnitSystem.AS_WRITTEN, **changes: Any
) -> SupplyStatus:
    """A supply that lasts so many hours at the low end, five more centrally, ten at the high end."""
    written = parse_unit(unit)
    rate = 0.31 * rate_unit_of(written).factor
    margin = [end - NEED_IN_S / HOUR for end in (low_h, low_h + 5, low_h + 10)]
    used = rate * NEED_IN_S
    status = SupplyStatus(
        name=name,
        unit=shown_unit(written, system),
        rate_unit=shown_unit(rate_unit_of(written), system),
        on_board_si=40 * written.factor,
        protected_si=3 * written.factor,
        isolated_si=2 * written.factor,
        residual_si=1 * written.factor,
        reserve_si=4 * written.factor,
        usable_si=30 * written.factor,
        quality=Quality.GOOD,
        age_s=3.0,
        rate_now_si_per_s=rate,
        rate_now_source=RateSource.MEASURED,
        rate_plan_si_per_s=rate * 1.05,
        endurance_now_s=hours(low_h, low_h + 5, low_h + 10),
        endurance_plan_s=hours(low_h, low_h + 5, low_h + 10),
        runs_out_at_s=NOW_S + (low_h + 5) * HOUR,
        margin_s=hours(*margin),
        left_at_need_si=Interval(p05=1.0, p50=2.0, p95=3.0),
        allowance_si_per_s=rate * 1.2,
        lasts_probability=0.9,
        band=Band.NOMINAL if margin[0] > 0 else Band.WARNING,
        why="",
        stores=(make_store(f"{name}-1"),),
        ledger=(
            LedgerLine(kind=LineKind.ON_BOARD, name="on board", amount_si=used * 2),
            LedgerLine(kind=LineKind.USE, name="crew", amount_si=-used),
            LedgerLine(kind=LineKind.LEFT, name="left at need", amount_si=used),
        ),
        rates=(
            UseRate(kind=LineKind.USE, name="crew", rate_si_per_s=rate * 0.8, people=4),
            UseRate(kind=LineKind.USE, name="leak", rate_si_per_s=rate * 0.2, people=None),
        ),
    )
    return replace(status, **changes)


def make_store(name: str, **changes: Any) -> StoreStatus:
    """A store in good order."""
    store = StoreStatus(
        name=name,
        state=StoreState.FEEDING,
        on_board_si=12.0,
        residual_si=0.5,
        basis="quantity",
        quality=Quality.GOOD,
        age_s=3.0,
        why="",
    )
    return replace(store, **changes)


SHARE = BusShare(
    fraction=0.25, by=BusSharing.MEASURED, planned_a=5.65, limit_a=30.0, reaches_residual_in_s=41.3 * HOUR
)

RAISED_CO2 = CabinLimit(
    name="raised CO2",
    of=CabinProperty.CARBON_DIOXIDE,
    side=LimitSide.ABOVE,
    at_si=15 * 133.322387415,
    source="an invented rule 1.2",
    is_average=True,
    unit=parse_unit("mmHg"),
)
LOW_OXYGEN = CabinLimit(
    name="thin air, share of oxygen",
    of=CabinProperty.OXYGEN,
    side=LimitSide.BELOW,
    at_si=0.17,
    source="an invented rule 1.3",
    is_share=True,
    unit=parse_unit("%"),
)
COLD = CabinLimit(
    name="cold", of=CabinProperty.TEMPERATURE, side=LimitSide.BELOW, at_si=283.15, source="an invented rule 2"
)
LOW_PRESSURE = CabinLimit(
    name="low pressure", of=CabinProperty.PRESSURE, side=LimitSide.BELOW, at_si=30_000.0, source="rule 3"
)


def make_clock(
    limit: CabinLimit, supposition: Supposition = Supposition.PLAN, low_h: float = 12.3, **changes: Any
) -> CabinClock:
    """A clock that reaches its limit in so many hours at the low end, centrally a fifth later."""
    ends = (low_h, low_h * 1.2, low_h * 1.5)
    is_ranked = supposition in (Supposition.PLAN, Supposition.TREND)
    clock = CabinClock(
        limit=limit,
        supposition=supposition,
        state=ClockState.RUNNING,
        now_si=limit.at_si * (0.31 if limit.side is LimitSide.ABOVE else 1.02),
        reached_in_s=hours(*ends),
        margin_s=hours(*(end - NEED_IN_S / HOUR for end in ends)) if is_ranked else None,
        band=Band.WARNING if is_ranked else None,
        quality=Quality.GOOD,
        why="",
    )
    return replace(clock, **changes)


def make_peak(name: str, peak_a: float, **changes: Any) -> Peak:
    """A phase's current on a bus that may carry 80 A, with a battery that may give 25 A."""
    peak = Peak(
        supply="power",
        name=name,
        at_s=NOW_S + 9 * HOUR,
        mean_a=peak_a * 0.8,
        peak_a=peak_a,
        bus_limit_a=80.0,
        store="bat-1",
        store_peak_a=peak_a / 4,
        store_limit_a=25.0,
        is_over=peak_a > 80.0,
    )
    return replace(peak, **changes)


def make_snapshot(system: UnitSystem = UnitSystem.AS_WRITTEN, **changes: Any) -> Snapshot:
    """Everything that can be shown at once, read in a system of units."""
    supplies = (
        make_supply(
            "power", "A*h", 95.0, system, stores=(make_store("bat-1", bus=SHARE), make_store("bat-2"))
        ),
        make_supply("oxygen", "kg", 99.0, system),
        make_supply("water", "L", 82.0, system),
        make_supply("absorbent", "kg", 90.0, system, fitted_lasts_s=hours(5.3, 6.0, 7.1)),
    )
    snapshot = Snapshot(
        scenario="tern",
        craft_name="Tern",
        epoch=EPOCH,
        at_s=NOW_S,
        feed=FeedState(
            source="state file", at_s=NOW_S - 3.0, quality=Quality.GOOD, faults=(), readings={}
        ),
        need=Need(
            option="homeward",
            at_s=NOW_S + NEED_IN_S,
            in_s=NEED_IN_S,
            arrival_s=NOW_S + NEED_IN_S - HOUR,
            recovery_s=HOUR,
            hold_s=0.0,
            decide_by_s=None,
            delta_v_m_per_s=230.0,
            delta_v_left_m_per_s=360.2,
            note="",
        ),
        shortest="water",
        supplies={supply.name: supply for supply in supplies},
        unknown=(),
        phase="coast",
        level="quiet",
        level_differs=0,
        loads=(),
        next_phase=None,
        next_event=None,
        watch=None,
        cabin=(
            CabinReading(name="pressure", value_si=37_600.0, quality=Quality.GOOD, age_s=3.0),
            CabinReading(
                name="oxygen", value_si=0.209, quality=Quality.GOOD, age_s=3.0, is_share=True,
                unit=parse_unit("%"),
            ),
            CabinReading(name="carbon_dioxide", value_si=560.0, quality=Quality.STALE, age_s=300.0, why=""),
            CabinReading(name="temperature", value_si=291.0, quality=Quality.GOOD, age_s=3.0),
            CabinReading(name="humidity", value_si=0.55, quality=Quality.GOOD, age_s=3.0),
        ),
        clocks=(
            make_clock(RAISED_CO2),
            make_clock(RAISED_CO2, Supposition.TREND, 10.0),
            make_clock(RAISED_CO2, Supposition.NO_REMOVAL, 4.1),
            make_clock(LOW_OXYGEN, why="the leak goes on at its rate of now"),
            make_clock(LOW_OXYGEN, Supposition.NO_FEED, 9.0, why="the leak goes on at its rate of now"),
            make_clock(COLD, state=ClockState.HELD, reached_in_s=hours(None, None, None),
                       margin_s=hours(None, None, None), band=Band.NOMINAL),
            make_clock(LOW_PRESSURE, state=ClockState.UNKNOWN, reached_in_s=None, margin_s=None, band=None,
                       now_si=None, quality=Quality.MISSING, why="cabin.pressure has never been read"),
        ),
        peaks=(make_peak("coast", 40.0), make_peak("burn", 104.4, store_peak_a=26.1)),
        drops=(
            Drop(module="work-section", mass_kg=2100.0, is_dropped=False, delta_v_left_m_per_s=471.5),
            Drop(module="boom", mass_kg=300.0, is_dropped=True, delta_v_left_m_per_s=360.2),
        ),
        shown_in=system,
    )  # fmt: skip
    return replace(snapshot, **changes)


@pytest.fixture
def kit() -> SimpleNamespace:
    """The builders of this file."""
    return SimpleNamespace(
        snapshot=make_snapshot,
        supply=make_supply,
        store=make_store,
        clock=make_clock,
        peak=make_peak,
        hours=hours,
        raised_co2=RAISED_CO2,
        low_oxygen=LOW_OXYGEN,
        cold=COLD,
    )
