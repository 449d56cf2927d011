"""How a store's quantity is known, and what is said when two gauges differ or one cannot be right."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import Fluid, StoreKind
from console.engine.quantity import ChargeEstimate, store_quantity
from console.engine.reading import Quality, Reading
from console.units import parse_unit

KG = parse_unit("kg")
AH = 3600.0


def gas_store(build: Any, **fields: Any) -> Any:
    return build.store(
        "o2",
        kind=StoreKind.GAS,
        fluid=Fluid.OXYGEN,
        volume_m3=0.08,
        pressure=Measured(channel="o2.pressure"),
        temperature=Measured(channel="o2.temperature"),
        residual_pressure_pa=0.35e6,
        **fields,
    )


def channels(build: Any) -> Any:
    made = (
        build.channel("o2.pressure", "MPa", accuracy_si=0.05e6),
        build.channel("o2.temperature", "K", accuracy_si=2.0),
        build.channel("o2.mass", "kg", accuracy_si=0.2),
        build.channel("bat.used", "A*h", accuracy_si=1 * AH),
    )
    return {channel.name: channel for channel in made}


def held(build: Any, store: Any, logged: Any = (), now_s: float = 0.0, **values: Any) -> Any:
    feed = build.feed(**values)
    return store_quantity(
        store, build.supply("oxygen", "kg", store), feed.readings, channels(build), logged, now_s
    )


def test_a_gas_bottle_is_weighed_by_its_real_gas_density(build: Any) -> None:
    """Oxygen at 300 K and 10 MPa: 134.574 kg/m3 (Schmidt-Wagner equation, computed with CoolProp 8.0.0)."""
    found = held(build, gas_store(build), o2__pressure=10e6, o2__temperature=300.0)
    assert found.held_si == pytest.approx(134.574 * 0.08, rel=0.01)
    assert found.basis == "pressure"


def test_what_the_regulator_cannot_give_is_the_mass_at_its_pressure(build: Any) -> None:
    """At 0.35 MPa and 300 K oxygen is nearly ideal: p M / (R T) = 4.490 kg/m3 (hand sum), Z about 0.998."""
    found = held(build, gas_store(build), o2__pressure=10e6, o2__temperature=300.0)
    assert found.residual_si == pytest.approx(4.490 * 0.08, rel=0.005)


def test_the_error_of_a_gas_mass_follows_from_both_gauges(build: Any) -> None:
    found = held(build, gas_store(build), o2__pressure=10e6, o2__temperature=300.0)
    relative = ((0.025 / 10) ** 2 + (1.0 / 300.0) ** 2) ** 0.5
    assert found.sd_si == pytest.approx(found.held_si * relative)


def test_two_gauges_that_agree_within_their_errors_say_nothing(build: Any) -> None:
    store = gas_store(build, quantity=Measured(channel="o2.mass"))
    found = held(build, store, o2__mass=10.8, o2__pressure=10e6, o2__temperature=300.0)
    assert (found.held_si, found.basis, found.quality, found.why) == (10.8, "quantity", Quality.GOOD, "")


def test_two_gauges_that_differ_are_named_and_the_lower_is_used(build: Any) -> None:
    store = gas_store(build, quantity=Measured(channel="o2.mass"))
    found = held(build, store, o2__mass=13.0, o2__pressure=10e6, o2__temperature=300.0)
    assert found.held_si == pytest.approx(10.77, rel=0.01)
    assert found.quality is Quality.SUSPECT
    assert "quantity says 13.0 kg" in found.why
    assert "the lower is used" in found.why


def test_an_old_gauge_is_not_compared_with_a_fresh_one(build: Any) -> None:
    store = build.store(
        "tank", capacity_si=20.0, quantity=Measured(channel="o2.mass"), used=Measured(channel="bat.used")
    )
    stale = Reading(channel="o2.mass", quality=Quality.STALE, why="6 h old", value_si=15.0, at_s=-6 * 3600.0)
    found = held(build, store, o2__mass=stale, bat__used=8.0)
    assert (found.held_si, found.basis, found.quality) == (12.0, "used", Quality.GOOD)


def test_one_gauge_that_fails_leaves_the_other_and_is_named(build: Any) -> None:
    store = gas_store(build, quantity=Measured(channel="o2.mass"))
    dead = Reading(channel="o2.mass", quality=Quality.MISSING, why="the source says null")
    found = held(build, store, o2__mass=dead, o2__pressure=10e6, o2__temperature=300.0)
    assert found.basis == "pressure"
    assert found.why == "o2.mass: the source says null"


def test_an_empty_bottles_gauge_may_show_a_little_less_than_nothing(build: Any) -> None:
    found = held(build, gas_store(build), o2__pressure=-0.02e6, o2__temperature=300.0)
    assert (found.held_si, found.basis) == (0.0, "pressure")
    assert held(build, gas_store(build), o2__pressure=-0.2e6, o2__temperature=300.0).held_si is None


def test_a_temperature_outside_the_gas_equation_leaves_the_quantity_unknown(build: Any) -> None:
    found = held(build, gas_store(build), o2__pressure=10e6, o2__temperature=20.0)
    assert found.held_si is None
    assert found.quality is Quality.MISSING
    assert "20" in found.why


def test_more_than_a_store_can_hold_is_taken_at_its_capacity_and_said(build: Any) -> None:
    store = build.store("tank", capacity_si=10.0, quantity=Measured(channel="o2.mass"))
    found = held(build, store, o2__mass=14.0)
    assert (found.held_si, found.quality) == (10.0, Quality.SUSPECT)
    assert "above its capacity of 10.0 kg" in found.why


def test_more_used_than_it_held_is_nothing_left_and_said(build: Any) -> None:
    store = build.store("bat", capacity_si=100 * AH, used=Measured(channel="bat.used"))
    found = held(build, store, bat__used=120 * AH)
    assert (found.held_si, found.quality) == (0.0, Quality.SUSPECT)
    assert "more counted as used" in found.why


def test_an_empty_or_full_store_within_its_gauges_error_is_not_suspect(build: Any) -> None:
    store = build.store("bat", capacity_si=100 * AH, used=Measured(channel="bat.used"))
    empty, full = held(build, store, bat__used=101.0 * AH), held(build, store, bat__used=-1.0 * AH)
    assert (empty.held_si, empty.quality, empty.why) == (0.0, Quality.GOOD, "")
    assert (full.held_si, full.quality, full.why) == (100 * AH, Quality.GOOD, "")


def test_a_store_without_a_gauge_is_its_capacity_less_what_was_logged_as_used(build: Any) -> None:
    store = build.store("cartridge", kind=StoreKind.ABSORBENT, capacity_si=2.0)
    found = held(build, store, logged=((-3600.0, 0.4),))
    assert (found.held_si, found.basis) == (1.6, "capacity")


def test_a_suspect_gauge_keeps_its_last_good_value_with_its_reason(build: Any) -> None:
    store = build.store("tank", capacity_si=10.0, quantity=Measured(channel="o2.mass"))
    bad = Reading(channel="o2.mass", quality=Quality.SUSPECT, why="found NaN", value_si=6.0, at_s=-30.0)
    found = held(build, store, o2__mass=bad)
    assert (found.held_si, found.quality, found.as_of_s, found.is_old) == (6.0, Quality.SUSPECT, -30.0, False)
    assert "found NaN" in found.why


def test_what_was_logged_as_used_since_a_reading_is_taken_off_it_and_what_it_has_seen_is_not(
    build: Any,
) -> None:
    store = build.store("tank", capacity_si=10.0, quantity=Measured(channel="o2.mass"))
    reading = Reading(channel="o2.mass", quality=Quality.GOOD, value_si=6.0, at_s=-600.0)
    found = held(build, store, logged=((-900.0, 1.0), (-300.0, 0.5)), o2__mass=reading)
    assert found.held_si == pytest.approx(5.5)
    constant = build.store("tank", capacity_si=10.0, quantity=Measured(constant_si=8.0))
    assert held(build, constant, logged=((-900.0, 1.0), (-300.0, 0.5))).held_si == pytest.approx(6.5)


def cold_battery(build: Any, **fields: Any) -> Any:
    given = {
        "kind": StoreKind.BATTERY,
        "capacity_si": 100 * AH,
        "used": Measured(channel="bat.used"),
        "temperature": Measured(channel="bat.temperature"),
        "capacity_at_temperature": ((273.15, 0.8), (298.15, 1.0)),
        **fields,
    }
    return build.store("bat", **given)


def cold_channels(build: Any) -> Any:
    made = channels(build)
    made["bat.temperature"] = build.channel("bat.temperature", "K", accuracy_si=2.0, stale_after_s=600.0)
    made["bat.share"] = build.channel("bat.share", "%", accuracy_si=0.04)
    return made


def cold(build: Any, store: Any, now_s: float = 0.0, **values: Any) -> Any:
    return store_quantity(
        store,
        build.supply("power", "A*h", store),
        build.feed(**values).readings,
        cold_channels(build),
        (),
        now_s,
    )


def test_a_cold_battery_holds_less_by_its_curve_and_the_thermometers_error_counts(build: Any) -> None:
    found = cold(build, cold_battery(build), bat__used=30 * AH, bat__temperature=283.15)
    # 0.8 + 0.2 * 10 / 25 = 0.88 of 100 A·h, less 30; the curve rises by 0.8 A·h per kelvin.
    assert found.held_si == pytest.approx(58 * AH)
    assert found.sd_si == pytest.approx((0.5**2 + 0.8**2) ** 0.5 * AH)
    assert (found.basis, found.quality, found.why) == ("used", Quality.GOOD, "")


def test_a_warm_battery_holds_no_more_than_its_capacity(build: Any) -> None:
    assert cold(build, cold_battery(build), bat__used=0.0, bat__temperature=320.0).held_si == 100 * AH


def test_the_temperature_of_a_battery_ages_like_any_other_reading(build: Any) -> None:
    old = Reading(
        channel="bat.temperature", quality=Quality.STALE, why="2 h old", value_si=298.15, at_s=-7200.0
    )
    found = cold(build, cold_battery(build), bat__used=30 * AH, bat__temperature=old)
    assert (found.quality, found.as_of_s, found.is_old) == (Quality.STALE, -7200.0, True)
    assert "2 h old" in found.why


def test_without_a_temperature_the_least_of_the_curve_is_counted_and_said(build: Any) -> None:
    found = cold(build, cold_battery(build), bat__used=30 * AH)
    assert found.held_si == pytest.approx(50 * AH)
    assert found.quality is Quality.MISSING
    assert "temperature not known: 80 % of the capacity counted, the least of its curve" in found.why


def test_a_battery_colder_than_its_curve_goes_is_suspect(build: Any) -> None:
    found = cold(build, cold_battery(build), bat__used=30 * AH, bat__temperature=253.15)
    assert (found.held_si, found.quality) == (pytest.approx(50 * AH), Quality.SUSPECT)
    assert "colder than its curve of capacity goes (0 °C)" in found.why


def test_a_cold_battery_without_any_gauge_is_full_by_its_curve(build: Any) -> None:
    found = cold(build, cold_battery(build, used=None), bat__temperature=273.15)
    assert (found.held_si, found.basis, found.as_of_s) == (pytest.approx(80 * AH), "capacity", None)


def test_a_direct_reading_is_not_corrected_by_temperature(build: Any) -> None:
    store = cold_battery(build, used=None, quantity=Measured(channel="bat.used"))
    assert cold(build, store, bat__used=90 * AH, bat__temperature=273.15).held_si == 90 * AH


def test_a_share_is_one_of_the_capacity_and_so_is_its_error(build: Any) -> None:
    store = build.store(
        "tank", capacity_si=50.0, quantity=Measured(channel="bat.share"), quantity_is_share=True
    )
    found = cold(build, store, bat__share=0.3)
    assert (found.held_si, found.sd_si, found.basis) == (pytest.approx(15.0), pytest.approx(1.0), "quantity")
    constant = build.store(
        "tank", capacity_si=50.0, quantity=Measured(constant_si=0.5), quantity_is_share=True
    )
    assert cold(build, constant).held_si == 25.0


def test_a_share_of_a_capacity_that_is_not_known_is_no_amount(build: Any) -> None:
    store = build.store("tank", quantity=Measured(channel="bat.share"), quantity_is_share=True)
    found = cold(build, store, bat__share=0.3)
    assert (found.held_si, found.quality) == (None, Quality.MISSING)
    assert "no known capacity" in found.why


def estimate(**fields: Any) -> ChargeEstimate:
    given = {
        "level_si": 60 * AH,
        "sd_si": 1 * AH,
        "at_s": 0.0,
        "is_old": False,
        "quality": Quality.GOOD,
        "why": "",
        **fields,
    }
    return ChargeEstimate(**given)


def test_count_and_gauge_together_stand_for_both_and_another_counter_is_still_compared(build: Any) -> None:
    store = cold_battery(
        build,
        capacity_at_temperature=(),
        current=Measured(channel="bat.current"),
        quantity=Measured(channel="bat.used"),
    )

    def fused(used_a_s: float) -> Any:
        feed = build.feed(bat__used=used_a_s)
        return store_quantity(
            store,
            build.supply("oxygen", "kg", store),
            feed.readings,
            cold_channels(build),
            (),
            0.0,
            estimate(),
        )

    agreed, apart = fused(40.5 * AH), fused(80 * AH)
    assert (agreed.held_si, agreed.basis, agreed.why) == (60 * AH, "counted and gauge", "")
    assert (apart.held_si, apart.basis, apart.quality) == (20 * AH, "used", Quality.SUSPECT)
    assert "the lower is used" in apart.why


def test_the_counter_that_was_counted_is_not_compared_with_itself(build: Any) -> None:
    store = cold_battery(build, capacity_at_temperature=(), quantity=Measured(channel="bat.gauge"))
    feed = build.feed(bat__used=80 * AH)
    found = store_quantity(
        store, build.supply("oxygen", "kg", store), feed.readings, cold_channels(build), (), 0.0, estimate()
    )
    assert (found.held_si, found.basis) == (60 * AH, "counted and gauge")
