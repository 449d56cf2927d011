"""Change-outs, burns and dropped modules as the whole engine shows them: by hand, with ledgers that close."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import Module, Propulsion, StoreKind, StoreState, Use

H = 3600.0


def test_a_change_out_in_the_plan_costs_only_what_was_left_in_the_cartridge(build: Any) -> None:
    """By hand: 3 + 3 kg at 0.1 kg/h for 40 h, 1 kg thrown away at 20 h: 1 kg left; fitted ones last 30 h."""
    stores = (
        build.store("c-1", kind=StoreKind.ABSORBENT, capacity_si=3.0),
        build.store("c-2", kind=StoreKind.ABSORBENT, capacity_si=3.0, state=StoreState.SPARE),
    )
    use = Use(name="crew", supply="absorbent", rate_si_per_s=0.1 / H)
    craft = build.craft(build.supply("absorbent", "kg", *stores), uses=(use,))
    change = build.event("change", 20 * H, sets={"c-1": StoreState.ISOLATED, "c-2": StoreState.FEEDING})
    plan = build.plan(build.option(40 * H), (build.phase("on", 0.0),), (change,))
    for hours, fitted in ((0.0, 30.0), (10.0, None)):
        now = build.assess(craft, plan, at_s=hours * H).snapshot.supplies["absorbent"]
        total = sum(line.amount_si for line in now.ledger[:-1])
        assert total == pytest.approx(now.left_at_need_si.p50, rel=1e-9)
        if fitted is not None:
            assert now.left_at_need_si.p50 == pytest.approx(6.0 - 4.0 - 1.0, rel=1e-9)
            assert now.fitted_lasts_s.p50 / H == pytest.approx(fitted, rel=1e-9)
    assert [one.name for one in now.rates] == ["crew"]


def test_a_burn_and_a_drop_show_in_margin_ledger_delta_v_and_notices(build: Any) -> None:
    section = Module(name="work-section", mass_kg=2000.0, stores=("side",), loads=())
    propulsion = Propulsion(
        supply="propellant", dry_mass_kg=10_000.0, exhaust_velocity_m_per_s=3000.0, modules=(section,)
    )
    tanks = (build.store("main", capacity_si=1400.0), build.store("side", capacity_si=300.0))
    craft = build.craft(build.supply("propellant", "kg", *tanks), propulsion=propulsion)
    drop = replace(build.event("leave it", 5 * H), drops=("work-section",))
    burn = replace(build.event("correct", 10 * H), burn_m_per_s=100.0)
    plan = build.plan(build.option(40 * H), (build.phase("on", 0.0),), (drop, burn))
    left = 1400.0 - 9400.0 * (1.0 - math.exp(-100.0 / 3000.0))
    for hours in (0.0, 6.0):
        snapshot = build.assess(craft, plan, at_s=hours * H).snapshot
        propellant = snapshot.supplies["propellant"]
        assert propellant.left_at_need_si.p50 == pytest.approx(left, rel=1e-9)
        assert sum(line.amount_si for line in propellant.ledger[:-1]) == pytest.approx(left, rel=1e-9)
        assert snapshot.drops[0].is_dropped is (hours == 6.0)
        assert snapshot.drops[0].delta_v_left_m_per_s == pytest.approx(3000.0 * math.log(9400.0 / 8000.0))
    assert snapshot.need.delta_v_left_m_per_s == pytest.approx(3000.0 * math.log(9400.0 / 8000.0))
    assert any("control with the new mass must be confirmed" in notice for notice in snapshot.notices)


def test_a_burn_that_is_too_much_is_a_shortfall_with_a_word(build: Any) -> None:
    propulsion = Propulsion(supply="propellant", dry_mass_kg=10_000.0, exhaust_velocity_m_per_s=3000.0)
    tank = build.store("main", capacity_si=500.0)
    craft = build.craft(build.supply("propellant", "kg", tank), propulsion=propulsion)
    burn = replace(build.event("correct", 10 * H), burn_m_per_s=500.0)
    plan = build.plan(build.option(40 * H), (build.phase("on", 0.0),), (burn,))
    propellant = build.assess(craft, plan).snapshot.supplies["propellant"]
    assert propellant.left_at_need_si.p50 == pytest.approx(500.0 - 10_500.0 * (1.0 - math.exp(-1.0 / 6.0)))
    assert propellant.left_at_need_si.p50 < 0.0
    assert "correct asks for" in propellant.why


def test_a_store_that_was_shut_since_its_reading_took_only_what_it_still_held_then(build: Any) -> None:
    channels = (build.channel("a", "kg"), build.channel("b", "kg"))
    craft = build.craft(
        build.supply(
            "oxygen",
            "kg",
            build.store("a", capacity_si=100.0, quantity=Measured(channel="a")),
            build.store("b", capacity_si=100.0, quantity=Measured(channel="b")),
        ),
        uses=(Use(name="crew", supply="oxygen", rate_si_per_s=2.0 / H),),
        channels=channels,
    )
    shut = build.event("b shut", 10 * H, sets={"b": StoreState.ISOLATED})
    plan = build.plan(build.option(60 * H), (build.phase("first", 0.0),), (shut,))
    feed = build.feed(0.0, a=100.0, b=100.0)
    oxygen = build.assess(craft, plan, feed, at_s=20 * H).snapshot.supplies["oxygen"]
    # Each gave 10 kg of the 20 kg until then, b took 90 kg with it, and a gave 20 kg more since.
    assert oxygen.usable_si == pytest.approx(70.0)
    assert oxygen.margin_s.p50 / H == pytest.approx(20 + 70 / 2 - 60)
