"""The cabin's clocks at the measured trend."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from cabin_builders import (
    CENTRAL,
    PLAN,
    TREND,
    H,
    above,
    below,
    by_name,
    cabin,
    central_s,
    channels,
    feed,
    surroundings,
)

from console.craft.cabin import CabinProperty, OxygenFeed
from console.engine.cabin.clocks import cabin_clocks
from console.engine.snapshot import Band, ClockState
from console.engine.trend import TrendMemory
from console.units import parse_unit


def watched(build: Any, minutes: int, **changes: float) -> dict[Any, Any]:
    """The clocks after so many looks, a minute apart, at readings that change by so much a minute."""
    craft = build.craft(
        channels=channels(),
        cabin=cabin(
            above(CabinProperty.CARBON_DIOXIDE, 2000.0, unit=parse_unit("kPa")),
            above(CabinProperty.CARBON_DIOXIDE, 0.02, name="share", is_share=True),
            below(CabinProperty.PRESSURE, 95_000.0),
            oxygen_feed=OxygenFeed(),
        ),
    )
    phases = (build.phase("wait", -1000 * H),)
    trends, outlook = TrendMemory(), None
    for minute in range(minutes):
        at_s = minute * 60.0
        values = {"dioxide": 400.0, "pressure": 101_325.0}
        read = feed(at_s, **{name: value + changes.get(name, 0.0) * minute for name, value in values.items()})
        around = replace(surroundings(craft, phases, read, at_s), trends=trends)
        outlook = cabin_clocks(around, CENTRAL)
        trends = outlook.trends
    assert outlook is not None
    return by_name(outlook)


def test_there_is_no_trend_before_ten_minutes(build: Any) -> None:
    assert not any(supposition is TREND for _, supposition in watched(build, 10, dioxide=4.0))
    assert ("carbon_dioxide high", TREND) in watched(build, 11, dioxide=4.0)


def test_a_steady_rise_is_carried_to_the_limit(build: Any) -> None:
    clock = watched(build, 31, dioxide=4.0)["carbon_dioxide high", TREND]
    assert central_s(clock) == pytest.approx((2000.0 - 520.0) / 4.0 * 60.0, rel=1e-6)
    assert clock.state is ClockState.RUNNING
    assert clock.now_si == 520.0
    assert clock.margin_s.p50 == pytest.approx(central_s(clock) + 1800.0 - 100 * H)
    assert clock.band is Band.WARNING
    assert "31 readings over 0.5 h" in clock.why
    assert "+0.24 kPa/h" in clock.why


def test_a_combined_property_has_a_trend_too(build: Any) -> None:
    clock = watched(build, 31, dioxide=4.0)["share", TREND]
    assert central_s(clock) == pytest.approx((0.02 * 101_325.0 - 520.0) / 4.0 * 60.0, rel=1e-6)
    assert "%/h" in clock.why


def test_a_trend_that_leads_away_has_no_clock(build: Any) -> None:
    clocks = watched(build, 31, dioxide=-4.0, pressure=-10.0)
    assert ("carbon_dioxide high", TREND) not in clocks
    assert ("pressure low", TREND) in clocks


def test_the_trend_stands_second_after_the_plan(build: Any) -> None:
    kinds = [
        supposition for name, supposition in watched(build, 31, pressure=-10.0) if name == "pressure low"
    ]
    assert kinds[:2] == [PLAN, TREND]


def test_the_band_of_a_trend_that_has_ended_is_forgotten(build: Any) -> None:
    craft = build.craft(
        channels=channels(),
        cabin=cabin(above(CabinProperty.CARBON_DIOXIDE, 2000.0), oxygen_feed=OxygenFeed()),
    )
    phases = (build.phase("wait", -1000 * H),)
    rising = tuple((minute * 60.0, 400.0 + 4.0 * minute) for minute in range(-30, 0))
    trends = TrendMemory(points={"carbon_dioxide": rising})
    first = cabin_clocks(replace(surroundings(craft, phases), trends=trends), CENTRAL)
    assert "carbon_dioxide high, at the measured trend" in first.bands
    second = cabin_clocks(replace(surroundings(craft, phases), bands=first.bands), CENTRAL)
    assert set(second.bands) == {"carbon_dioxide high, under the plan"}


def test_a_bad_reading_is_not_remembered(build: Any) -> None:
    craft = build.craft(channels=channels(), cabin=cabin(above(CabinProperty.CARBON_DIOXIDE, 2000.0)))
    phases = (build.phase("wait", -1000 * H),)
    for read in (feed(0.0, {"dioxide": 300.0}), feed(0.0, dioxide=None)):
        assert cabin_clocks(surroundings(craft, phases, read), CENTRAL).trends.points == {}
    kept = cabin_clocks(surroundings(craft, phases, feed(0.0)), CENTRAL).trends.points
    assert kept == {"carbon_dioxide": ((0.0, 400.0),)}
