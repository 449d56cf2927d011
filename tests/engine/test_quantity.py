"""How a store's quantity is known, and what is said when two gauges differ or one cannot be right."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import Fluid, StoreKind
from console.engine.quantity import store_quantity
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
    return store_quantity(store, KG, feed.readings, channels(build), logged, now_s)


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
