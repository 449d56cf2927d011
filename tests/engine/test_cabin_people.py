"""What leaks from the cabin, by whose rates, and on whose luck."""

from __future__ import annotations

from typing import Any

import pytest
from cabin_builders import CENTRAL, SAMPLED, cabin, channels

from console.craft.model import Craft, Fluid, StoreKind, Use
from console.engine.cabin.people import leak_share_per_s
from console.physics.leak import AIR, hole_kg_per_s

PRESSURE, WARMTH, AIR_KG = 50_000.0, 293.15, 10.0


def craft_with(build: Any, *uses: Use, **supply: Any) -> Craft:
    bottle = build.store("o2-1", kind=StoreKind.GAS, fluid=Fluid.OXYGEN, capacity_si=10.0)
    return build.craft(
        build.supply("oxygen", "kg", bottle, **supply), uses=uses, channels=channels(), cabin=cabin()
    )


def share(craft: Craft) -> float:
    return float(leak_share_per_s(craft, PRESSURE, WARMTH, AIR_KG, CENTRAL, 1)[0])


def test_a_leak_goes_by_pressure_where_it_says_so(build: Any) -> None:
    assert share(craft_with(build, Use(name="leak", supply="oxygen", leak_si_per_s=2e-5))) == pytest.approx(
        2e-6
    )
    by_pressure = Use(name="leak", supply="oxygen", leak_si_per_s=2e-5, at_pressure_pa=100_000.0)
    assert share(craft_with(build, by_pressure)) == pytest.approx(1e-6)


def test_several_leaks_add_up(build: Any) -> None:
    uses = tuple(Use(name=name, supply="oxygen", leak_si_per_s=2e-5) for name in ("one", "two"))
    assert share(craft_with(build, *uses)) == pytest.approx(4e-6)


def test_what_leaks_from_a_store_does_not_leak_from_the_cabin(build: Any) -> None:
    uses = (Use(name="seal", supply="oxygen", leak_si_per_s=2e-5, at_pressure_pa=1e7, of_store="o2-1"),)
    assert share(craft_with(build, *uses)) == 0.0


def test_a_leak_in_volumes_of_gas_is_weighed(build: Any) -> None:
    craft = craft_with(
        build, Use(name="leak", supply="oxygen", leak_si_per_s=1e-5), gas_density_kg_per_m3=1.35
    )
    assert share(craft) == pytest.approx(1.35e-6)


def test_a_hole_leaks_by_its_flow(build: Any) -> None:
    hole = Use(name="hole", supply="oxygen", hole_m2=1e-6, discharge_coefficient=0.6, outside_pa=10_000.0)
    expected = hole_kg_per_s(AIR, 1e-6, PRESSURE, WARMTH, 10_000.0, 0.6) / AIR_KG
    assert share(craft_with(build, hole)) == pytest.approx(expected)
    into_more = Use(name="hole", supply="oxygen", hole_m2=1e-6, outside_pa=60_000.0)
    assert share(craft_with(build, into_more)) == 0.0


def test_a_leak_has_the_luck_of_its_use(build: Any) -> None:
    craft = craft_with(build, Use(name="leak", supply="oxygen", leak_si_per_s=2e-5, spread_fraction=0.2))
    sampled = leak_share_per_s(craft, PRESSURE, WARMTH, AIR_KG, SAMPLED, 101)
    assert sampled == pytest.approx(2e-6 * SAMPLED.factor("use leak", 0.2)[:101])
    assert sampled.shape == (101,)
