"""Sums that a person does with a pencil. Common practice, no source, except where a source is named."""

from __future__ import annotations

from typing import Any

import pytest

from console.craft.model import StoreKind, Use
from console.engine.snapshot import LineKind

H = 3600.0
AH = 3600.0
LB = 0.45359237
"""kg per pound, exact by the agreement of 1959 (NIST SP 811, appendix B)."""


def six_batteries(build: Any) -> Any:
    """Four batteries of 400 A·h and two of 296 A·h, no residual, all feeding, 25 A steady."""
    sizes = (400.0, 400.0, 400.0, 400.0, 296.0, 296.0)
    stores = [
        build.store(f"bat-{number}", kind=StoreKind.BATTERY, capacity_si=size * AH)
        for number, size in enumerate(sizes, start=1)
    ]
    return build.craft(
        build.supply("power", "A*h", *stores, bus_voltage_v=28.0), loads=(build.load("all", 25.0),)
    )


def test_six_batteries_hold_2192_ampere_hours_and_last_87_7_hours_at_25_amperes(build: Any) -> None:
    plan = build.plan(build.option(80 * H), (build.phase("coast", 0.0),))
    power = build.assess(six_batteries(build), plan).snapshot.supplies["power"]
    assert power.usable_si == pytest.approx(2192 * AH, rel=1e-12)
    assert power.endurance_plan_s.p50 / H == pytest.approx(2192 / 25, rel=1e-12)
    assert power.endurance_now_s.p50 / H == pytest.approx(87.68, rel=1e-12)
    assert power.margin_s.p50 / H == pytest.approx(7.68, rel=1e-9)
    assert power.left_at_need_si.p50 == pytest.approx(192 * AH, rel=1e-9)


def test_the_allowance_for_80_hours_is_27_4_amperes(build: Any) -> None:
    plan = build.plan(build.option(80 * H), (build.phase("coast", 0.0),))
    power = build.assess(six_batteries(build), plan).snapshot.supplies["power"]
    assert power.allowance_si_per_s == pytest.approx(27.4, rel=1e-12)


def test_300_ampere_hours_of_planned_events_bring_the_allowance_to_23_65_amperes(build: Any) -> None:
    events = (
        build.event("realign", 20 * H, {"power": 120 * AH}),
        build.event("burn", 60 * H, {"power": 180 * AH}),
    )
    plan = build.plan(build.option(80 * H), (build.phase("coast", 0.0),), events)
    power = build.assess(six_batteries(build), plan).snapshot.supplies["power"]
    assert power.allowance_si_per_s == pytest.approx(23.65, rel=1e-12)
    assert power.endurance_plan_s.p50 / H == pytest.approx((2192 - 300) / 25, rel=1e-12)


def test_drawing_the_allowance_leaves_nothing_at_need(build: Any) -> None:
    craft = six_batteries(build)
    events = (build.event("burn", 60 * H, {"power": 300 * AH}),)
    plan = build.plan(build.option(80 * H), (build.phase("coast", 0.0),), events)
    allowance = build.assess(craft, plan).snapshot.supplies["power"].allowance_si_per_s
    drawn = build.craft(*craft.supplies.values(), loads=(build.load("all", allowance),))
    power = build.assess(drawn, plan).snapshot.supplies["power"]
    assert power.left_at_need_si.p50 == pytest.approx(0.0, abs=1e-6 * AH)
    assert power.margin_s.p50 == pytest.approx(0.0, abs=1e-3)


def three_people_on_48_pounds_of_oxygen(build: Any) -> Any:
    """48 lb aboard, three people at 7 lb a day together, a leak of 0.08 lb/h, 6.6 lb to repressurise."""
    tank = build.store("o2-1", capacity_si=48 * LB)
    uses = (
        Use(name="crew", supply="oxygen", per_person_si_per_s=7 * LB / 3 / (24 * H)),
        Use(name="leak", supply="oxygen", leak_si_per_s=0.08 * LB / H),
    )
    craft = build.craft(build.supply("oxygen", "lb", tank), uses=uses, crew_count=3)
    events = (build.event("repressurisation", 30 * H, {"oxygen": 6.6 * LB}),)
    plan = build.plan(build.option(96 * H), (build.phase("coast", 0.0, nominal=3),), events)
    return build.assess(craft, plan).snapshot.supplies["oxygen"]


def test_oxygen_for_three_people_follows_by_hand(build: Any) -> None:
    oxygen = three_people_on_48_pounds_of_oxygen(build)
    rate_lb_per_h = 7 / 24 + 0.08
    assert oxygen.rate_plan_si_per_s * H / LB == pytest.approx(rate_lb_per_h, rel=1e-12)
    assert oxygen.endurance_now_s.p50 / H == pytest.approx(48 / rate_lb_per_h, rel=1e-12)
    assert oxygen.endurance_plan_s.p50 / H == pytest.approx((48 - 6.6) / rate_lb_per_h, rel=1e-12)
    assert oxygen.left_at_need_si.p50 / LB == pytest.approx(48 - 6.6 - 96 * rate_lb_per_h, rel=1e-9)


def test_the_oxygen_ledger_closes(build: Any) -> None:
    ledger = three_people_on_48_pounds_of_oxygen(build).ledger
    by_name = {line.name: line.amount_si / LB for line in ledger}
    assert by_name["on board"] == pytest.approx(48.0, rel=1e-12)
    assert by_name["crew"] == pytest.approx(-28.0, rel=1e-12)
    assert by_name["leak"] == pytest.approx(-7.68, rel=1e-12)
    assert by_name["repressurisation"] == pytest.approx(-6.6, rel=1e-12)
    assert ledger[-1].kind is LineKind.LEFT
    assert sum(line.amount_si for line in ledger[:-1]) == pytest.approx(ledger[-1].amount_si, rel=1e-9)
    assert ledger[-1].amount_si / LB == pytest.approx(48 - 28 - 7.68 - 6.6, rel=1e-9)


def test_a_published_oxygen_budget_closes(build: Any) -> None:
    """NASA MSC-02680, section 6.7: 0.21 lb/h metabolic, leaks of 0.014 and 0.027 lb/h, reported as 0.25."""
    uses = (
        Use(name="crew", supply="oxygen", per_person_si_per_s=0.21 * LB / H / 3),
        Use(name="leak 1", supply="oxygen", leak_si_per_s=0.014 * LB / H),
        Use(name="leak 2", supply="oxygen", leak_si_per_s=0.027 * LB / H),
    )
    craft = build.craft(
        build.supply("oxygen", "lb", build.store("o2", capacity_si=10.0)), uses=uses, crew_count=3
    )
    plan = build.plan(build.option(24 * H), (build.phase("coast", 0.0, nominal=3),))
    oxygen = build.assess(craft, plan).snapshot.supplies["oxygen"]
    assert round(oxygen.rate_plan_si_per_s * H / LB, 2) == 0.25
    assert oxygen.rate_plan_si_per_s * H / LB == pytest.approx(0.251, abs=5e-4)
