"""The phases' rates and the sums of the plan: a pencil comes to the engine's own figures."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from console.craft.model import LoadState
from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.phase_rates import phase_rates, plan_sums

H = 3600.0
CENTRAL = Draws(seed=1, count=0)


@pytest.mark.parametrize("most", [None, 9, 4, 1])
def test_usable_less_hours_times_rate_and_events_is_what_is_left(demo: Situation, most: int | None) -> None:
    found = assess(demo, None, CENTRAL)
    phases = phase_rates(found.ahead, demo.at_s, most)
    sums = plan_sums(found.ahead, demo.at_s)
    assert set(sums) == set(demo.craft.supplies)
    for name, one in sums.items():
        taken = sum(phase.span_s * phase.rates_si_per_s[name] for phase in phases)
        assert one.usable_si - taken + one.jumps_si == pytest.approx(one.left_si, rel=1e-9)
        left = found.snapshot.supplies[name].left_at_need_si
        assert left is not None
        assert one.left_si == left.p50


def test_the_phases_join_from_now_to_need(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    phases = phase_rates(found.ahead, demo.at_s)
    assert phases[0].from_s == demo.at_s
    assert phases[-1].until_s == found.snapshot.need.at_s
    assert all(one.until_s == after.from_s for one, after in pairwise(phases))
    assert [phase.name for phase in phases][:2] == ["waking", "burn set-up"]


def test_phases_beyond_the_most_are_one_row_that_says_how_many(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    every = phase_rates(found.ahead, demo.at_s)
    few = phase_rates(found.ahead, demo.at_s, 3)
    assert len(few) == 3
    assert few[:2] == every[:2]
    assert few[2].count == len(every) - 2
    assert (few[2].name, few[2].level) == (f"{len(every) - 2} phases from {every[2].name}", "")


def test_what_is_left_over_the_rate_after_need_is_the_margin(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    for name, one in plan_sums(found.ahead, demo.at_s).items():
        margin = found.snapshot.supplies[name].margin_s
        assert margin is not None
        assert margin.p50 is not None
        assert one.rate_after_need_si_per_s is not None
        assert one.left_si / one.rate_after_need_si_per_s == pytest.approx(margin.p50, rel=1e-9)


def small(build: Any, amount_ah: float, need_h: float) -> Any:
    store = build.store("bat", quantity=build.constant(amount_ah * H))
    power = build.supply("power", "A*h", store, bus_voltage_v=28.0)
    lamp = build.load("lamp", 2.0)
    levels = {"on": {"lamp": LoadState.ON}, "off": {}}
    phases = (build.phase("lit", 0.0, "on"), build.phase("dark", 10 * H, "off"))
    plan = build.plan(build.option(need_h * H), phases)
    return build.assess(build.craft(power, loads=(lamp,), levels=levels), plan)


def test_a_supply_that_ends_before_need_has_no_rate_after_it(build: Any) -> None:
    found = small(build, 10.0, 8.0)
    one = plan_sums(found.ahead, 0.0)["power"]
    assert one.rate_after_need_si_per_s is None
    assert one.left_si == pytest.approx(-6.0 * H)


def test_a_rate_that_changes_after_need_is_not_given_as_one(build: Any) -> None:
    assert plan_sums(small(build, 17.0, 8.0).ahead, 0.0)["power"].rate_after_need_si_per_s == 2.0
    # 30 A·h last beyond the tenth hour, where the lamp goes out: it does not run out at all then.
    assert plan_sums(small(build, 30.0, 8.0).ahead, 0.0)["power"].rate_after_need_si_per_s is None


def test_after_need_there_are_no_phases_left(build: Any) -> None:
    found = small(build, 30.0, 0.0)
    assert phase_rates(found.ahead, 0.0) == ()
    assert plan_sums(found.ahead, 0.0)["power"].allowed_until_s is None


def test_the_allowance_is_what_may_be_taken_over_its_time(demo: Situation) -> None:
    found = assess(demo, None, CENTRAL)
    for name, one in plan_sums(found.ahead, demo.at_s).items():
        assert one.allowed_si is not None
        assert one.allowed_until_s is not None
        cost = one.allowed_si / (one.allowed_until_s - demo.at_s)
        assert cost == pytest.approx(found.ahead.supplies[name].outlook.allowed_cost_si_per_s)
