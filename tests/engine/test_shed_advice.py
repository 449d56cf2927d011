"""Advice on what to switch off: what stays and why, what the cabin says to it, what may be switched on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.band_limits import BandLimits
from console.craft.cabin import (
    Cabin,
    CabinLimit,
    CabinProperty,
    LimitSide,
    OxygenFeed,
    Removal,
    Thermal,
)
from console.craft.model import LoadState, Use
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.shed_advice import shed_advice, stay_reasons

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)
BANDS = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)


@pytest.fixture
def situation(build: Any) -> Situation:
    """100 A·h for 20 h at a fan of 2 A, a lamp of 2 A and a stove of 1.5 A; a kettle and its plug are off.

    Switching the lamp and the stove off lets the cabin cool down to its limit.
    """
    cabin = Cabin(
        volume_m3=20.0,
        bands=BANDS,
        temperature=build.constant(293.0),
        carbon_dioxide=build.constant(400.0),
        pressure=build.constant(101e3),
        removal=Removal(flow_m3_per_s=0.01, efficiency_fraction=0.9, needs=("fan",)),
        thermal=Thermal(heat_capacity_j_per_k=4e5, conductance_w_per_k=21.0, outside=build.constant(270.0)),
        limits=(
            CabinLimit(
                name="cold", of=CabinProperty.TEMPERATURE, side=LimitSide.BELOW, at_si=283.0, source="test"
            ),
        ),
    )
    loads = (
        build.load("fan", 2.0, priority=9, needs=("bus",)),
        build.load("bus", 0.1, priority=9),
        build.load("lamp", 2.0, priority=3),
        build.load("stove", 1.5, priority=7),
        build.load("valve", 0.2, priority=9, stays=True),
        build.load("plug", 0.1),
        build.load("kettle", 10.0, needs=("plug",)),
    )
    on = dict.fromkeys(("fan", "bus", "lamp", "stove", "valve"), LoadState.ON)
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat", capacity_si=100 * AH), bus_voltage_v=28.0),
        build.supply("oxygen", "kg", build.store("o2", capacity_si=10.0)),
        loads=loads,
        levels={"all": on},
        cabin=cabin,
        crew_count=1,
    )
    plan = build.plan(build.option(20 * H), (build.phase("first", 0.0, nominal=1),))
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def test_every_load_that_stays_has_its_reason(situation: Situation) -> None:
    craft = situation.craft
    assert stay_reasons(craft) == {
        "fan": "CO2 removal needs it",
        "bus": "fan needs it",
        "valve": "craft.yaml says so",
    }
    assert craft.cabin is not None
    fed = replace(craft.cabin, oxygen_feed=OxygenFeed(needs=("valve",)))
    assert stay_reasons(replace(craft, cabin=fed))["valve"] == "the oxygen feed needs it"


def test_the_margins_are_before_and_after_the_loads_are_off(situation: Situation) -> None:
    # 5.8 A for 100 A·h: 17.24 h, 2.76 h short. Without the stove 4.3 A: 23.26 h.
    advice = shed_advice(situation, 2 * H, CENTRAL)
    assert [each.load.name for each in advice.shed.loads] == ["stove"]
    (power,) = (change for change in advice.compared.supplies if change.after.name == "power")
    assert power.before.margin_s is not None
    assert power.after.margin_s is not None
    assert power.before.margin_s.p50 == pytest.approx((100 / 5.8 - 20) * H)
    assert power.after.margin_s.p50 == pytest.approx((100 / 4.3 - 20) * H)
    assert set(advice.stays) == {"fan", "bus", "valve"}


def test_a_limit_of_the_cabin_that_comes_earlier_is_named(situation: Situation) -> None:
    advice = shed_advice(situation, 2 * H, CENTRAL)
    assert [change.after.limit.name for change in advice.limits_earlier] == ["cold"]
    assert shed_advice(situation, -3 * H, CENTRAL).limits_earlier == ()


def test_nothing_goes_off_where_the_margin_is_there(situation: Situation) -> None:
    advice = shed_advice(situation, -3 * H, CENTRAL)
    assert advice.shed.loads == ()
    assert advice.shed.has_goal_already
    assert advice.compared.before.supplies == advice.compared.after.supplies
    assert advice.running == ()


def test_what_no_load_can_help_is_told_apart_from_what_is_not_enough(situation: Situation) -> None:
    leak = Use(name="leak", supply="oxygen", rate_si_per_s=1.0 / H)
    leaking = replace(situation, craft=replace(situation.craft, uses=(leak,)))
    advice = shed_advice(leaking, 2 * H, CENTRAL)
    assert (advice.shed.short, advice.shed.beyond_loads) == (("oxygen",), ("oxygen",))
    assert [each.load.name for each in advice.shed.loads] == ["stove"]
    far = shed_advice(leaking, 900 * H, CENTRAL)
    assert set(far.shed.short) == {"power", "oxygen"}
    assert far.shed.beyond_loads == ("oxygen",)


def test_what_may_be_switched_on_keeps_the_margin_and_has_what_it_needs(situation: Situation) -> None:
    # The kettle for half an hour takes 5 A·h: 95 / 5.8 = 16.38 h, 3.62 h short.
    found = shed_advice(situation, -3 * H, CENTRAL, run_for_s=0.5 * H)
    by_name = {one.answer.load.name: one for one in found.running}
    assert set(by_name) == {"plug", "kettle"}
    assert by_name["plug"].may_run
    kettle = by_name["kettle"]
    assert kettle.lacks == ("plug",)
    assert not kettle.answer.is_affordable
    margin = kettle.answer.margin_s["power"]
    assert margin is not None
    assert margin.p50 == pytest.approx((95 / 5.8 - 20) * H)
    enough = shed_advice(situation, -4 * H, CENTRAL, run_for_s=0.5 * H).running
    assert [(one.answer.is_affordable, one.may_run) for one in enough] == [(True, True), (True, False)]


def test_a_current_above_the_limit_of_the_bus_speaks_against_running_it(situation: Situation) -> None:
    power = replace(situation.craft.supplies["power"], current_limit_a=12.0)
    limited = replace(
        situation, craft=replace(situation.craft, supplies={**situation.craft.supplies, "power": power})
    )
    running = shed_advice(limited, -4 * H, CENTRAL, run_for_s=0.5 * H).running
    over = {one.answer.load.name: [peak.peak_a for peak in one.peaks_over] for one in running}
    assert over["plug"] == []
    assert over["kettle"]
    assert over["kettle"][0] == pytest.approx(15.8)
