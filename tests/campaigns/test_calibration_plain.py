"""The plain methods on tanks and bottles whose answer is known by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from calibration_plain import Seen, plain_view, usable_si

from console.craft.band_limits import BandLimits
from console.craft.channels import Measured
from console.craft.model import Fluid, Store, StoreKind, StoreState, Supply
from console.physics.gas import mass_kg
from console.units import parse_unit, rate_unit_of

H = 3600.0
NOW_S = 10.0 * H
BANDS = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)
TIMES_S = np.arange(0.0, NOW_S + 1.0, 60.0)


def supply_of(*stores: Store, unit: str = "kg", **fields: Any) -> Supply:
    parsed = parse_unit(unit)
    return Supply(
        name="tank", unit=parsed, rate_unit=rate_unit_of(parsed), stores=stores, bands=BANDS, **fields
    )


def tank(name: str = "t-1", **fields: Any) -> Store:
    given: dict[str, Any] = {
        "kind": StoreKind.LIQUID,
        "state": StoreState.FEEDING,
        "quantity": Measured(channel=f"{name}.quantity"),
        **fields,
    }
    return Store(name=name, **given)


def seen_of(**values: Any) -> Seen:
    named = {name.replace("__", "-").replace("_", "."): value for name, value in values.items()}
    return Seen(now_s=NOW_S, times_s=dict.fromkeys(named, TIMES_S), values_si=named)


FEEDING = {"t-1": StoreState.FEEDING}
DRAINING = 100.0 - 2.0 * TIMES_S / H
"""80 kg at the end, 2 kg/h."""


def test_a_tank_that_drains_evenly_is_told_right_by_both() -> None:
    view = plain_view(supply_of(tank()), FEEDING, seen_of(t__1_quantity=DRAINING), 1)
    assert view is not None
    assert view.left_si == pytest.approx(80.0)
    assert view.last_rate_ahead_s(40.0) == pytest.approx(20.0 * H)
    line = view.line_ahead_s(40.0)
    assert line is not None
    assert line == pytest.approx(20.0 * H)


def test_residual_and_reserve_are_not_counted() -> None:
    supply = supply_of(tank(residual_si=5.0), reserve_si=10.0)
    view = plain_view(supply, FEEDING, seen_of(t__1_quantity=DRAINING), 1)
    assert view is not None
    assert view.left_si == pytest.approx(65.0)
    assert view.last_rate_ahead_s(0.0) == pytest.approx(32.5 * H)


def test_the_last_rate_is_of_the_newest_two_readings_that_are_ten_minutes_apart() -> None:
    since_s = np.maximum(TIMES_S - (NOW_S - 600.0), 0.0)
    view = plain_view(supply_of(tank()), FEEDING, seen_of(t__1_quantity=DRAINING - 4.0 * since_s / H), 1)
    assert view is not None
    # By hand: 2 kg/h and for the last ten minutes 4 more.
    assert view.last_rate_si_per_s * H == pytest.approx(6.0)


def test_a_rolling_line_lags_behind_a_change() -> None:
    since_s = np.maximum(TIMES_S - (NOW_S - H), 0.0)
    view = plain_view(supply_of(tank()), FEEDING, seen_of(t__1_quantity=DRAINING - 4.0 * since_s / H), 1)
    assert view is not None
    line = view.line_ahead_s(0.0)
    assert line is not None
    assert line[0] > 1.5 * view.last_rate_ahead_s(0.0)


def test_what_is_not_used_never_ends() -> None:
    flat = np.full(len(TIMES_S), 50.0)
    view = plain_view(supply_of(tank()), FEEDING, seen_of(t__1_quantity=flat), 1)
    assert view is not None
    assert view.last_rate_ahead_s(10.0) == np.inf
    line = view.line_ahead_s(10.0)
    assert line is not None
    assert np.all(np.isinf(line))


def test_the_interval_of_the_line_is_that_of_the_regression() -> None:
    luck = np.random.default_rng(5)
    inside = 0
    for seed in range(300):
        noisy = DRAINING + luck.normal(0.0, 0.5, len(TIMES_S))
        view = plain_view(supply_of(tank()), FEEDING, seen_of(t__1_quantity=noisy), seed)
        assert view is not None
        line = view.line_ahead_s(40.0)
        assert line is not None
        low, high = np.quantile(line[1:], [0.05, 0.95])
        inside += bool(low <= 20.0 * H <= high)
    # 300 trials at 90 %: three standard deviations are 5.2 %.
    assert inside / 300 == pytest.approx(0.90, abs=0.055)


def test_a_meter_goes_before_differences() -> None:
    battery = tank(kind=StoreKind.BATTERY, current=Measured(channel="t-1.current"))
    supply = supply_of(battery, unit="A*h", bus_voltage_v=28.0)
    seen = seen_of(t__1_quantity=DRAINING, t__1_current=np.full(len(TIMES_S), 7.0))
    view = plain_view(supply, FEEDING, seen, 1)
    assert view is not None
    assert view.last_rate_si_per_s == 7.0


def test_meters_on_some_of_the_batteries_alone_are_no_meter() -> None:
    with_meter = tank("t-1", kind=StoreKind.BATTERY, current=Measured(channel="t-1.current"))
    supply = supply_of(with_meter, tank("t-2", kind=StoreKind.BATTERY), unit="A*h", bus_voltage_v=28.0)
    seen = seen_of(t__1_quantity=DRAINING, t__2_quantity=DRAINING, t__1_current=np.full(len(TIMES_S), 7.0))
    view = plain_view(supply, {**FEEDING, "t-2": StoreState.FEEDING}, seen, 1)
    assert view is not None
    assert view.last_rate_si_per_s * H == pytest.approx(4.0)


def test_a_bottle_is_read_by_pressure_temperature_and_volume() -> None:
    bottle = tank(
        kind=StoreKind.GAS,
        quantity=None,
        fluid=Fluid.OXYGEN,
        volume_m3=0.06,
        pressure=Measured(channel="t-1.pressure"),
        temperature=Measured(constant_si=285.0),
        residual_pressure_pa=1e6,
    )
    seen = seen_of(t__1_pressure=np.full(len(TIMES_S), 8e6))
    left = usable_si(supply_of(bottle), [bottle], seen, np.array([NOW_S]))
    due = mass_kg(Fluid.OXYGEN, 8e6, 285.0, 0.06) - mass_kg(Fluid.OXYGEN, 1e6, 285.0, 0.06)
    assert left[0] == pytest.approx(due)


def test_a_store_behind_a_shut_valve_does_not_count() -> None:
    supply = supply_of(tank("t-1"), tank("t-2"))
    seen = seen_of(t__1_quantity=DRAINING, t__2_quantity=DRAINING)
    view = plain_view(supply, {**FEEDING, "t-2": StoreState.ISOLATED}, seen, 1)
    assert view is not None
    assert view.left_si == pytest.approx(80.0)


def test_a_gauge_that_never_said_anything_gives_no_view() -> None:
    assert plain_view(supply_of(tank()), FEEDING, seen_of(), 1) is None


def test_an_old_reading_is_the_newest_there_is() -> None:
    old = Seen(
        now_s=NOW_S, times_s={"t-1.quantity": TIMES_S[:301]}, values_si={"t-1.quantity": DRAINING[:301]}
    )
    view = plain_view(supply_of(tank()), FEEDING, old, 1)
    assert view is not None
    # By hand: five hours at 2 kg/h.
    assert view.left_si == pytest.approx(90.0)
