"""Logged decisions: which way home is in force from when on, and what is left of the reserves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import LoadState, Use
from console.craft.plan import Plan
from console.engine.assess import assess
from console.engine.configuration import ConfigurationChange
from console.engine.decision import Decision
from console.engine.decisions import decided
from console.engine.forecast import Draws
from console.engine.known import Situation

H = 3600.0
CENTRAL = Draws(seed=1, count=0)


def commit(at_s: float, option: str, by: str = "mira") -> ConfigurationChange:
    return ConfigurationChange(
        at_s=at_s, label=f"committed to {option}", loads={}, stores={}, used_si={}, option=option, by=by
    )


def release(at_s: float, **amounts_si: float) -> ConfigurationChange:
    return ConfigurationChange(
        at_s=at_s, label="released", loads={}, stores={}, used_si={}, released_si=amounts_si
    )


@pytest.fixture
def plan(build: Any) -> Plan:
    """Home at 60 h, which vents at 30 h; the tender at 80 h, which vents at 10 h, dark from 40 h on."""
    homeward = build.option(60 * H, events=(build.event("vent", 30 * H, {"water": 6.0}),))
    tender = build.option(
        80 * H,
        name="tender",
        phases=(build.phase("dark", 40 * H, "dark"),),
        events=(build.event("early vent", 10 * H, {"water": 9.0}),),
    )
    plan: Plan = build.plan(homeward, (build.phase("first", 0.0),))
    return replace(plan, options={**plan.options, "tender": tender})


@pytest.fixture
def craft(build: Any) -> Any:
    """200 kg of water with 20 kg in reserve, 1 kg/h for the crew, and a lamp of 2 A."""
    return build.craft(
        build.supply("power", "A*h", build.store("bat", capacity_si=400 * H), bus_voltage_v=28.0),
        build.supply("water", "kg", build.store("tank", capacity_si=200.0), reserve_si=20.0),
        loads=(build.load("lamp", 2.0),),
        levels={"all": {"lamp": LoadState.ON}, "dark": {}},
        uses=(Use(name="crew", supply="water", rate_si_per_s=1.0 / H),),
    )


def left(craft: Any, plan: Plan, feed: Any, changes: tuple[Any, ...], at_s: float) -> dict[str, float]:
    made = decided(craft, plan, changes, at_s)
    situation = Situation(
        slug="t",
        craft=made.craft,
        plan=made.plan,
        feed=feed,
        changes=changes,
        decision=made.decision,
        at_s=at_s,
    )
    supplies = assess(situation, None, CENTRAL).snapshot.supplies
    return {
        name: one.unit.from_si(one.left_at_need_si.p50 or 0.0)
        for name, one in supplies.items()
        if one.left_at_need_si is not None
    }


def test_without_a_decision_the_plan_stands_and_nobody_has_decided(craft: Any, plan: Plan) -> None:
    made = decided(craft, plan, (), 5 * H)
    assert (made.plan, made.craft, made.decision) == (plan, craft, None)


def test_the_last_commitment_up_to_now_is_in_force(craft: Any, plan: Plan) -> None:
    changes = (commit(2 * H, "tender"), commit(4 * H, "homeward", "ilan"), commit(9 * H, "tender"))
    assert decided(craft, plan, changes, 3 * H).plan.committed == "tender"
    made = decided(craft, plan, changes, 5 * H)
    assert made.decision == Decision(option="homeward", at_s=4 * H, by="ilan")
    assert made.plan.committed == "homeward"


def test_what_was_decided_later_counts_though_it_was_logged_first(craft: Any, plan: Plan) -> None:
    changes = (commit(4 * H, "homeward"), commit(2 * H, "tender"))
    assert decided(craft, plan, changes, 5 * H).plan.committed == "homeward"


def test_a_decision_that_is_said_again_keeps_its_first_moment(craft: Any, plan: Plan) -> None:
    changes = (commit(2 * H, "tender"), commit(4 * H, "tender", "ilan"))
    assert decided(craft, plan, changes, 5 * H).decision == Decision(option="tender", at_s=2 * H, by="mira")


def test_an_option_that_the_plan_lacks_is_passed_over(craft: Any, plan: Plan) -> None:
    made = decided(craft, plan, (commit(2 * H, "gone"),), 5 * H)
    assert (made.plan, made.decision) == (plan, None)


def test_the_way_home_before_a_decision_stays_flown_and_the_other_counts_from_then_on(
    build: Any, craft: Any, plan: Plan
) -> None:
    # At 35 h the vent of 30 h has happened and the tender's of 10 h has not; it is lit up to 40 h.
    changes = (commit(35 * H, "tender"),)
    flown = decided(craft, plan, changes, 36 * H).plan
    assert [event.name for event in flown.events_under(flown.options["tender"])] == ["vent"]
    # No gauge: what is aboard counts as of the moment that is looked at, 36 h.
    assert left(craft, plan, build.feed(), changes, 36 * H) == pytest.approx(
        {"water": 200 - 20 - 44 * 1, "power": 400 - 2 * 4}
    )


def test_a_commitment_before_everything_is_the_other_way_home_alone(
    build: Any, craft: Any, plan: Plan
) -> None:
    assert left(craft, plan, build.feed(), (commit(0.0, "tender"),), 0.0) == pytest.approx(
        {"water": 200 - 20 - 80 - 9, "power": 400 - 2 * 40}
    )


def test_the_need_says_who_decided_and_when(build: Any, craft: Any, plan: Plan) -> None:
    made = decided(craft, plan, (commit(2 * H, "tender"),), 3 * H)
    situation = Situation(
        slug="t",
        craft=made.craft,
        plan=made.plan,
        feed=build.feed(),
        changes=(),
        decision=made.decision,
        at_s=3 * H,
    )
    need = assess(situation, None, CENTRAL).snapshot.need
    assert (need.option, need.decided_at_s, need.decided_by) == ("tender", 2 * H, "mira")
    supposed = replace(situation, plan=replace(made.plan, committed="homeward"))
    assert assess(supposed, None, CENTRAL).snapshot.need.decided_at_s is None


def test_what_is_released_of_a_reserve_becomes_usable(build: Any, craft: Any, plan: Plan) -> None:
    before = left(craft, plan, build.feed(), (), 0.0)["water"]
    after = left(craft, plan, build.feed(), (release(0.0, water=3.0),), 0.0)["water"]
    assert (before, after) == pytest.approx((200 - 20 - 60 - 6, 200 - 17 - 60 - 6))


def test_releases_add_up_and_stop_at_the_reserve(craft: Any, plan: Plan) -> None:
    changes = (release(1 * H, water=15.0), release(2 * H, water=15.0), release(9 * H, water=1.0))
    one = decided(craft, plan, changes[:1], 5 * H).craft.supplies["water"]
    assert (one.reserve_si, one.released_si) == (5.0, 15.0)
    both = decided(craft, plan, changes, 5 * H).craft.supplies["water"]
    assert (both.reserve_si, both.released_si) == (0.0, 20.0)
    assert decided(craft, plan, (release(0.0, gone=1.0),), 5 * H).craft == craft
