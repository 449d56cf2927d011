"""How batteries share a bus, when each alone is empty, and when the bank ends before its sum says."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import BusSharing, StoreKind
from console.engine.bus import bus_remarks, bus_shares, shares_of
from console.engine.planned_rate import draw_of_cost_si_per_s, effective_draw_si_per_s
from console.engine.quantity import store_quantity
from console.engine.reading import Quality, Reading
from console.physics.battery import bank_empties_s, effective_draw_a

AH = H = 3600.0


def battery(build: Any, name: str, capacity_ah: float, held_ah: float | None = None, **fields: Any) -> Any:
    given = {
        "kind": StoreKind.BATTERY,
        "capacity_si": capacity_ah * AH,
        "quantity": Measured(constant_si=(capacity_ah if held_ah is None else held_ah) * AH),
        "current": Measured(channel=f"{name}.current"),
        **fields,
    }
    return build.store(name, **given)


def look(build: Any, supply: Any, draw_si_per_s: float, **values: Any) -> tuple[Any, tuple[str, ...], Any]:
    """Shares as the bus has them, remarks, and the shares to reckon with."""
    made = {
        f"{store.name}.current": build.channel(f"{store.name}.current", "A", accuracy_si=0.4)
        for store in supply.stores
    }
    readings = build.feed(**values).readings
    quantities = {
        store.name: store_quantity(store, supply, readings, made, (), 0.0) for store in supply.stores
    }
    arguments = (supply, supply.stores, readings, made, draw_si_per_s, quantities)
    return bus_shares(*arguments), bus_remarks(*arguments), shares_of(supply, supply.stores, readings, made)


def test_batteries_share_by_capacity_and_each_is_down_to_its_residual_by_its_own_draw(build: Any) -> None:
    first = battery(build, "a", 100.0, 60.0, residual_si=10.0 * AH, peukert=1.2, rated_current_a=5.0)
    second = battery(build, "b", 300.0, current_limit_a=25.0)
    shares, why, _ = look(build, build.supply("power", "A*h", first, second), 40.0)
    assert (shares["a"].fraction, shares["a"].by, shares["a"].planned_a) == (0.25, BusSharing.CAPACITY, 10.0)
    # 50 A·h above the residual at 10 A, twice the rated current: 10 * 2^0.2 = 11.487 A.
    assert shares["a"].reaches_residual_in_s == pytest.approx(50.0 / 11.487 * H, rel=1e-4)
    assert (shares["b"].planned_a, shares["b"].limit_a) == (30.0, 25.0)
    assert shares["b"].reaches_residual_in_s == pytest.approx(10.0 * H)
    assert why == ()


def measured_bank(build: Any, **fields: Any) -> Any:
    stores = [battery(build, name, 100.0, peukert=1.2, rated_current_a=5.0, **fields) for name in ("a", "b")]
    return build.supply("power", "A*h", *stores, sharing=BusSharing.MEASURED)


def test_batteries_share_as_their_meters_say_where_the_supply_is_to(build: Any) -> None:
    supply = measured_bank(build)
    shares, why, reckoned = look(build, supply, 20.0, a__current=15.0, b__current=5.0)
    assert (shares["a"].fraction, shares["a"].by, shares["a"].planned_a) == (0.75, BusSharing.MEASURED, 15.0)
    # Full alike and drawn from unlike: one is empty early, which is said, and nothing else is.
    assert len(why) == 1
    assert why[0].startswith("at this draw a is down to its residual in 5.3 h")
    cost = effective_draw_si_per_s(supply, supply.stores, 20.0, reckoned.measured)
    assert cost == pytest.approx(effective_draw_a(15.0, 5.0, 1.2) + 5.0)
    assert cost > effective_draw_si_per_s(supply, supply.stores, 20.0)
    assert draw_of_cost_si_per_s(supply, supply.stores, cost, reckoned.measured) == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"a__current": 15.0}, "b.current: no such channel in the feed"),
        (
            {
                "a__current": 15.0,
                "b__current": Reading(
                    channel="b.current", quality=Quality.STALE, why="2 h old", value_si=5.0, at_s=-7200.0
                ),
            },
            "b.current: 2 h old",
        ),
        ({"a__current": 0.4, "b__current": 0.4}, "within the error of their meters"),
        ({"a__current": 15.0, "b__current": -2.0}, "b is being charged"),
    ],
)
def test_shares_that_cannot_be_measured_go_by_capacity_and_it_is_said(
    build: Any, values: dict[str, Any], said: str
) -> None:
    shares, why, reckoned = look(build, measured_bank(build), 20.0, **values)
    assert (shares["a"].fraction, shares["a"].by) == (0.5, BusSharing.CAPACITY)
    assert reckoned.measured is None
    assert len(why) == 1
    assert said in why[0]


def test_a_battery_without_a_meter_has_the_bus_shared_by_capacity(build: Any) -> None:
    _, why, _ = look(build, measured_bank(build, current=None), 20.0)
    assert why == ("batteries taken to share the bus by capacity, because a has no meter of its current",)


def test_meters_are_not_asked_where_the_supply_goes_by_capacity(build: Any) -> None:
    supply = build.supply("power", "A*h", battery(build, "a", 100.0), battery(build, "b", 100.0))
    shares, _, _ = look(build, supply, 20.0, a__current=15.0, b__current=5.0)
    assert shares["a"].fraction == 0.5


def test_a_supply_in_energy_has_the_same_shares_and_ends_as_one_in_charge(build: Any) -> None:
    def bank(unit: str, volts: float) -> Any:
        stores = [
            build.store(
                name,
                kind=StoreKind.BATTERY,
                capacity_si=capacity * AH * volts,
                quantity=Measured(constant_si=0.5 * capacity * AH * volts),
                peukert=1.2,
                rated_current_a=5.0,
            )
            for name, capacity in (("a", 100.0), ("b", 300.0))
        ]
        return build.supply("power", unit, *stores, bus_voltage_v=28.0)

    charge, energy = bank("A*h", 1.0), bank("kW*h", 28.0)
    in_amps, _, _ = look(build, charge, 40.0)
    in_watts, _, _ = look(build, energy, 40.0 * 28.0)
    for name in ("a", "b"):
        assert in_watts[name].planned_a == pytest.approx(in_amps[name].planned_a, rel=1e-12)
        assert in_watts[name].reaches_residual_in_s == pytest.approx(
            in_amps[name].reaches_residual_in_s, rel=1e-12
        )
    cost_a = effective_draw_si_per_s(charge, charge.stores, 40.0)
    assert cost_a > 41.0
    assert effective_draw_si_per_s(energy, energy.stores, 40.0 * 28.0) == pytest.approx(
        28.0 * cost_a, rel=1e-12
    )
    assert draw_of_cost_si_per_s(energy, energy.stores, 28.0 * cost_a) == pytest.approx(40.0 * 28.0)


def test_a_craft_reckoned_in_watts_lasts_as_long_as_one_in_amperes(build: Any) -> None:
    """A load of 40 A and one of 1,120 W at 28 V are one, and so is what the batteries lose by the rate."""

    def status(unit: str, volts: float) -> Any:
        bank = build.store(
            "a", kind=StoreKind.BATTERY, capacity_si=400.0 * AH * volts, peukert=1.2, rated_current_a=20.0
        )
        made = build.craft(
            build.supply("power", unit, bank, bus_voltage_v=28.0), loads=(build.load("heater", 40.0 * volts),)
        )
        plan = build.plan(build.option(6 * H), (build.phase("coast", 0.0),))
        return build.assess(made, plan).snapshot.supplies["power"]

    charge, energy = status("A*h", 1.0), status("kW*h", 28.0)
    assert charge.endurance_plan_s.p50 == pytest.approx(400.0 / (40.0 * 2.0**0.2) * H)
    assert energy.endurance_plan_s.p50 == pytest.approx(charge.endurance_plan_s.p50, rel=1e-12)
    assert energy.allowance_si_per_s == pytest.approx(28.0 * charge.allowance_si_per_s, rel=1e-9)
    assert energy.left_at_need_si.p50 == pytest.approx(28.0 * charge.left_at_need_si.p50, rel=1e-9)


def test_energy_without_a_bus_voltage_has_no_shares_and_no_rate_effect(build: Any) -> None:
    supply = build.supply("power", "kW*h", battery(build, "a", 100.0, peukert=1.2, rated_current_a=5.0))
    assert look(build, supply, 900.0)[:2] == ({}, ())
    assert effective_draw_si_per_s(supply, supply.stores, 900.0) == 900.0


def test_a_bank_that_ends_well_before_its_sum_says_is_told_with_both_figures(build: Any) -> None:
    """30 A over two alike, one holding half as much: the sum is 4.5 % late, as the bank's own test has it."""
    stores = [
        battery(build, "a", 200.0, 100.0, peukert=1.2, rated_current_a=10.0),
        battery(build, "b", 200.0, 200.0, peukert=1.2, rated_current_a=10.0),
    ]
    supply = build.supply("power", "A*h", *stores)
    _, why, _ = look(build, supply, 30.0)
    ends_s = bank_empties_s(30.0, [100.0 * AH, 200.0 * AH], [1.0, 1.0], [10.0, 10.0], [1.2, 1.2])
    pooled_s = 300.0 * AH / effective_draw_si_per_s(supply, supply.stores, 30.0)
    assert pooled_s / ends_s[1] == pytest.approx(1.045, abs=0.001)
    assert len(why) == 1
    assert why[0].startswith("at this draw a is down to its residual in 6.1 h")
    assert "the last ends in 8.8 h, 0.4 h before what all hold together says" in why[0]


def test_a_bank_whose_batteries_hold_about_alike_says_nothing(build: Any) -> None:
    stores = [
        battery(build, "a", 200.0, 195.0, peukert=1.05, rated_current_a=10.0),
        battery(build, "b", 200.0, 200.0, peukert=1.05, rated_current_a=10.0),
    ]
    assert look(build, build.supply("power", "A*h", *stores), 30.0)[1] == ()


def test_measured_shares_of_other_batteries_than_those_that_feed_are_not_used(build: Any) -> None:
    supply = measured_bank(build)
    alone = supply.stores[:1]
    shares = {"a": 0.75, "b": 0.25}
    assert effective_draw_si_per_s(supply, alone, 20.0, shares) == effective_draw_si_per_s(
        supply, alone, 20.0
    )
