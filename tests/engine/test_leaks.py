"""Leaks of the cabin and of stores: by which pressure, in which unit, until when."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.model import Fluid, Metabolic, StoreKind, StoreState, Use
from console.engine.leaks import leak_pressures, leak_remarks
from console.engine.reading import Quality, Reading
from console.physics.gas import density_kg_per_m3, mass_kg
from console.physics.leak import AIR, LEAKING_GASES, hole_kg_per_s

H = 3600.0
HOLE_M2 = 1e-8


def plan_to(build: Any, hours: float, *events: Any) -> Any:
    return build.plan(build.option(hours * H), (build.phase("on", 0.0),), events)


def cabin() -> Cabin:
    return Cabin(
        volume_m3=16.0,
        pressure=Measured(channel="cabin.pressure"),
        temperature=Measured(channel="cabin.temperature"),
    )


def leaking(build: Any, use: Use, *stores: Any, unit: str = "kg", **supply: Any) -> Any:
    given = stores or (build.store("tank", capacity_si=100.0),)
    channels = (
        build.channel("cabin.pressure", "kPa", high_si=150e3),
        build.channel("cabin.temperature", "K"),
        build.channel("b.pressure", "MPa", high_si=25e6),
        build.channel("b.temperature", "K"),
    )
    return build.craft(
        build.supply("oxygen", unit, *given, **supply), uses=(use,), channels=channels, cabin=cabin()
    )


def bottle(build: Any, name: str = "b", **fields: Any) -> Any:
    return build.store(
        name,
        kind=StoreKind.GAS,
        fluid=Fluid.OXYGEN,
        volume_m3=0.1,
        pressure=Measured(channel=f"{name}.pressure"),
        temperature=Measured(channel=f"{name}.temperature"),
        **fields,
    )


def feed(build: Any, pressure: Any = 35e3, bottle_pressure: Any = 10e6, at_s: float = 0.0) -> Any:
    return build.feed(
        at_s,
        cabin__pressure=pressure,
        cabin__temperature=294.0,
        b__pressure=bottle_pressure,
        b__temperature=290.0,
    )


def rate_of(build: Any, craft: Any, given: Any) -> float:
    return float(
        build.assess(craft, plan_to(build, 50), given).snapshot.supplies["oxygen"].rate_plan_si_per_s
    )


def stale(name: str, value: float | None) -> Reading:
    at_s = None if value is None else -4 * H
    return Reading(channel=name, quality=Quality.STALE, why="old", value_si=value, at_s=at_s)


def test_a_hole_in_the_cabin_lets_its_air_out_at_its_pressure_and_temperature(build: Any) -> None:
    use = Use(name="hole", supply="oxygen", hole_m2=HOLE_M2, discharge_coefficient=0.6, outside_pa=5e3)
    due = hole_kg_per_s(AIR, HOLE_M2, 35e3, 294.0, 5e3, 0.6)
    assert due > 0.0
    assert rate_of(build, leaking(build, use), feed(build)) == pytest.approx(due, rel=1e-12)


def test_an_old_low_pressure_never_makes_a_hole_s_leak_smaller_than_the_last_good_one_did(build: Any) -> None:
    craft = leaking(build, Use(name="hole", supply="oxygen", hole_m2=HOLE_M2))
    last = rate_of(build, craft, feed(build, stale("cabin.pressure", 60e3)))
    assert last == pytest.approx(hole_kg_per_s(AIR, HOLE_M2, 60e3, 294.0), rel=1e-12)


def test_a_pressure_that_was_never_read_is_taken_for_the_most_its_instrument_shows(build: Any) -> None:
    craft = leaking(build, Use(name="hole", supply="oxygen", hole_m2=HOLE_M2))
    given = feed(build, stale("cabin.pressure", None))
    assert rate_of(build, craft, given) == pytest.approx(hole_kg_per_s(AIR, HOLE_M2, 150e3, 294.0), rel=1e-12)
    (said,) = leak_remarks(
        craft, craft.supplies["oxygen"], leak_pressures(craft, given.readings, craft.channels)
    )
    assert said.startswith("the leak is reckoned at its reference pressure at least, because cabin.pressure")


def test_a_trusted_pressure_leaves_nothing_to_say(build: Any) -> None:
    craft = leaking(build, Use(name="hole", supply="oxygen", hole_m2=HOLE_M2))
    pressures = leak_pressures(craft, feed(build).readings, craft.channels)
    assert leak_remarks(craft, craft.supplies["oxygen"], pressures) == ()


def test_a_store_s_leak_goes_by_its_own_pressure(build: Any) -> None:
    use = Use(name="valve", supply="oxygen", leak_si_per_s=1e-5, at_pressure_pa=5e6, of_store="b")
    craft = leaking(build, use, bottle(build))
    assert rate_of(build, craft, feed(build)) == pytest.approx(2e-5, rel=1e-12)
    # What cannot be trusted counts at least as the reference.
    assert rate_of(build, craft, feed(build, 35e3, stale("b.pressure", 1e6))) == pytest.approx(
        1e-5, rel=1e-12
    )


def test_a_store_s_hole_lets_its_own_gas_out(build: Any) -> None:
    craft = leaking(build, Use(name="crack", supply="oxygen", hole_m2=HOLE_M2, of_store="b"), bottle(build))
    due = hole_kg_per_s(LEAKING_GASES[Fluid.OXYGEN], HOLE_M2, 10e6, 290.0)
    assert rate_of(build, craft, feed(build)) == pytest.approx(due, rel=1e-12)


def test_a_store_leaks_no_more_than_it_holds(build: Any) -> None:
    """By hand: what the bottle holds goes in the end, and the tank's 100 kg stay."""
    use = Use(name="valve", supply="oxygen", leak_si_per_s=1e-3, at_pressure_pa=10e6, of_store="b")
    craft = leaking(build, use, bottle(build), build.store("tank", capacity_si=100.0))
    oxygen = build.assess(craft, plan_to(build, 50), feed(build)).snapshot.supplies["oxygen"]
    held_kg = mass_kg(Fluid.OXYGEN, 10e6, 290.0, 0.1)
    assert held_kg < 1e-3 * 50 * H
    assert oxygen.usable_si == pytest.approx(100.0 + held_kg, rel=1e-12)
    assert oxygen.left_at_need_si.p50 == pytest.approx(100.0, rel=1e-9)


def test_the_leak_of_an_isolated_store_is_not_taken_from_what_is_usable(build: Any) -> None:
    use = Use(name="valve", supply="oxygen", leak_si_per_s=1e-4, at_pressure_pa=10e6, of_store="b")
    shut = bottle(build, state=StoreState.ISOLATED)
    craft = leaking(build, use, shut, build.store("tank", capacity_si=100.0))
    oxygen = build.assess(craft, plan_to(build, 50), feed(build)).snapshot.supplies["oxygen"]
    assert oxygen.rate_plan_si_per_s == 0.0
    assert oxygen.left_at_need_si.p50 == pytest.approx(100.0)


def test_uses_in_kilograms_take_volumes_from_a_supply_of_gas_in_volumes(build: Any) -> None:
    density = density_kg_per_m3(Fluid.OXYGEN, 101_325.0, 288.15)
    tank = build.store("tank", capacity_si=20.0)
    hole = Use(name="hole", supply="oxygen", hole_m2=HOLE_M2)
    crew = Use(name="crew", supply="oxygen", metabolic=Metabolic.OXYGEN)
    in_mass = leaking(build, hole, tank)
    in_volume = leaking(build, hole, tank, unit="L", gas_density_kg_per_m3=density)
    for one, other in (
        (in_mass, in_volume),
        (replace(in_mass, uses=(crew,)), replace(in_volume, uses=(crew,))),
    ):
        kg_per_s, m3_per_s = rate_of(build, one, feed(build)), rate_of(build, other, feed(build))
        assert m3_per_s * density == pytest.approx(kg_per_s, rel=1e-12)
        assert kg_per_s > 0.0


def test_a_craft_may_cool_without_water(build: Any) -> None:
    """No use evaporates: heat costs no water, and only what people drink is taken."""
    drinking = Use(name="drinking", supply="water", per_person_si_per_s=2.5 / 86400.0)
    supplies = (
        build.supply("power", "A*h", build.store("bat", capacity_si=1e6), bus_voltage_v=28.0),
        build.supply("water", "kg", build.store("tank", capacity_si=50.0)),
    )
    cold = build.craft(*supplies, loads=(build.load("all", 10.0),), uses=(drinking,))
    water = build.assess(cold, plan_to(build, 50)).snapshot.supplies["water"]
    assert water.rate_plan_si_per_s == pytest.approx(4 * 2.5 / 86400.0, rel=1e-12)
