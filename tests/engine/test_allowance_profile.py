"""What may be drawn in the free phases, against sums by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import LoadState, StoreState, Use
from console.engine.ahead import look_ahead
from console.engine.allowance_profile import AllowanceProfile, allowance_profiles, free_time
from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation, known_of
from console.engine.whatif import AddEvent, suppose
from console.physics.battery import bank_draw_a

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)


@pytest.fixture
def situation(build: Any) -> Situation:
    """300 A·h and 40 kg; need at 60 h. Quiet 2 A, but 10 A in a burn of 5 h from 20 h on; 0.4 kg/h always."""
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat-1", capacity_si=300 * AH), bus_voltage_v=28.0),
        build.supply("water", "kg", build.store("tank", capacity_si=40.0)),
        loads=(build.load("lamp", 2.0), build.load("engine", 8.0)),
        levels={"quiet": {"lamp": LoadState.ON}, "burn": {"lamp": LoadState.ON, "engine": LoadState.ON}},
        uses=(Use(name="drinking", supply="water", per_person_si_per_s=0.1 / H),),
    )
    phases = (
        build.phase("coast", 0.0, "quiet"),
        build.phase("burn", 20 * H, "burn"),
        build.phase("glide", 25 * H, "quiet"),
    )
    events = (build.event("align", 30 * H, {"power": 30 * AH}),)
    plan = build.plan(build.option(60 * H), phases, events)
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def profile(situation: Situation, supply: str = "power", draws: Draws = CENTRAL) -> AllowanceProfile:
    return allowance_profiles(situation, draws)[supply]


def test_the_power_up_is_paid_first_and_the_rest_is_spread_over_the_free_time(situation: Situation) -> None:
    found = profile(situation)
    assert found.power_ups == ("burn",)
    assert found.free_s == pytest.approx(55 * H)
    assert found.power_up_s == pytest.approx(5 * H)
    assert found.power_ups_take_si == pytest.approx(50 * AH)
    assert found.allowance_si_per_s == pytest.approx((300 - 30 - 50) / 55)
    assert found.planned_si_per_s == pytest.approx(2.0)
    assert found.shortfall_low_si_per_s == pytest.approx(2.0 - 220 / 55)


def test_the_same_hours_are_free_for_every_supply(situation: Situation) -> None:
    found = profile(situation, "water")
    assert found.power_ups_take_si == pytest.approx(5 * 0.4)
    assert found.allowance_si_per_s == pytest.approx((40 - 2) / 55 / H)


def test_the_allowance_falls_by_what_an_hour_draws_above_it_over_the_free_time(situation: Situation) -> None:
    # A = 4 A and 2 A are drawn: it rises by 2/55 A an hour.
    assert profile(situation).falls_si_per_s == pytest.approx((2 - 4) / 55)
    later = profile(replace(situation, at_s=H, feed=replace(situation.feed, at_s=H)))
    assert later.allowance_si_per_s is not None  # nothing was read, so the bank is full still: 220/54 A
    assert later.allowance_si_per_s == pytest.approx(220 / 54)


def test_its_fall_is_the_derivative_of_the_allowance(situation: Situation, build: Any) -> None:
    small_h = 1e-3

    def after(hours: float) -> float:
        used = suppose(
            replace(situation, at_s=hours * H),
            [AddEvent(event=build.event("used", hours * H + 1e-9, {"power": 2 * hours * AH}))],
        )
        allowance = profile(used).allowance_si_per_s
        assert allowance is not None
        return allowance

    falls = profile(situation).falls_si_per_s
    assert falls == pytest.approx((after(0.0) - after(small_h)) / small_h, rel=1e-3)


def test_drawing_the_allowance_in_the_free_phases_leaves_nothing_at_need(situation: Situation) -> None:
    allowance = profile(situation).allowance_si_per_s
    assert allowance is not None
    load = replace(situation.craft.loads["lamp"], on_si_per_s=allowance)
    engine = replace(situation.craft.loads["engine"], on_si_per_s=10.0 - allowance)
    craft = replace(situation.craft, loads={"lamp": load, "engine": engine})
    status = assess(replace(situation, craft=craft), None, CENTRAL).snapshot.supplies["power"]
    assert status.left_at_need_si is not None
    assert status.left_at_need_si.p50 == pytest.approx(0.0, abs=1e-6 * AH)


def test_without_power_ups_it_is_the_allowance_itself(situation: Situation) -> None:
    phases = (situation.plan.phases[0],)
    quiet = replace(situation, plan=replace(situation.plan, phases=phases))
    found = profile(quiet)
    assert found.power_ups == ()
    assert found.power_ups_take_si == pytest.approx(0.0)
    expected = assess(quiet, None, CENTRAL).snapshot.supplies["power"].allowance_si_per_s
    assert found.allowance_si_per_s == pytest.approx(expected)


def test_a_level_that_runs_most_of_the_time_is_no_power_up(situation: Situation, build: Any) -> None:
    phases = (build.phase("work", 0.0, "burn"), build.phase("rest", 40 * H, "quiet"))
    found = profile(replace(situation, plan=replace(situation.plan, phases=phases)))
    assert found.power_ups == ()
    assert found.free_s == pytest.approx(60 * H)


@pytest.mark.parametrize(("engine_a", "is_power_up"), [(0.39, False), (0.41, True)])
def test_a_fifth_above_what_runs_most_of_the_time_makes_a_power_up(
    situation: Situation, engine_a: float, is_power_up: bool
) -> None:
    engine = replace(situation.craft.loads["engine"], on_si_per_s=engine_a)
    loads = {**situation.craft.loads, "engine": engine}
    found = profile(replace(situation, craft=replace(situation.craft, loads=loads)))
    assert (found.power_ups == ("burn",)) is is_power_up


def test_what_is_opened_later_cannot_be_drawn_earlier(situation: Situation, build: Any) -> None:
    supply = situation.craft.supplies["power"]
    stores = (
        build.store("bat-1", capacity_si=100 * AH),
        build.store("bat-2", capacity_si=400 * AH, state=StoreState.ISOLATED),
    )
    craft = replace(
        situation.craft, supplies={**situation.craft.supplies, "power": replace(supply, stores=stores)}
    )
    tie = build.event("tie", 40 * H, sets={"bat-2": StoreState.FEEDING})
    found = profile(suppose(replace(situation, craft=craft), [AddEvent(event=tie)]))
    # Until 40 h: 100 - 30 - 50 A·h over 35 free hours; the rest would allow (500 - 80) / 55.
    assert found.allowance_si_per_s == pytest.approx(20 / 35)
    assert found.held_down_at_s == 40 * H


def test_power_ups_that_take_more_than_there_is_leave_less_than_nothing(situation: Situation) -> None:
    supply = situation.craft.supplies["power"]
    stores = (replace(supply.stores[0], capacity_si=70 * AH),)
    craft = replace(
        situation.craft, supplies={**situation.craft.supplies, "power": replace(supply, stores=stores)}
    )
    assert profile(replace(situation, craft=craft)).allowance_si_per_s == pytest.approx((70 - 80) / 55)


def test_the_draw_shown_costs_the_batteries_the_allowance(situation: Situation) -> None:
    supply = situation.craft.supplies["power"]
    battery = replace(supply.stores[0], peukert=1.2, rated_current_a=1.0)
    craft = replace(
        situation.craft, supplies={**situation.craft.supplies, "power": replace(supply, stores=(battery,))}
    )
    found = profile(replace(situation, craft=craft))
    assert found.allowance_si_per_s is not None
    # Peukert: 10 A cost 10 (10/1)^0.2 in the burn.
    burn_ah = 5 * 10 * 10**0.2
    assert found.power_ups_take_si == pytest.approx(burn_ah * AH)
    cost = bank_draw_a(found.allowance_si_per_s, [300 * AH], [1.0], [1.2])
    assert cost == pytest.approx((300 - 30 - burn_ah) / 55)


def test_the_low_end_brings_the_low_margin_to_zero(situation: Situation) -> None:
    draws = Draws(seed=3, count=2000)
    drinking = replace(situation.craft.uses[0], spread_fraction=0.2)
    unsure = replace(situation, craft=replace(situation.craft, uses=(drinking,)))
    found = profile(unsure, "water", draws)
    assert found.allowance_low_si_per_s is not None
    assert found.allowance_low_si_per_s < (found.allowance_si_per_s or 0.0)
    # What is sure is taken off: a use of its own that the shortfall pays for.
    extra = Use(name="extra", supply="water", rate_si_per_s=-(found.shortfall_low_si_per_s or 0.0))
    craft = replace(unsure.craft, uses=(drinking, extra))
    leaking = replace(unsure, craft=craft)
    ahead = look_ahead(known_of(leaking), leaking.plan, leaking.plan.options["homeward"], draws)
    left = ahead.supplies["water"].outlook.left_at_need_si
    assert left is not None
    # The extra use runs in the burn as well, 5 h of 60.
    paid = -(found.shortfall_low_si_per_s or 0.0) * 5 * H
    assert left.p05 is not None
    assert left.p05 + paid == pytest.approx(0.0, abs=1e-6)


def test_what_cannot_be_known_says_why(situation: Situation) -> None:
    late = replace(situation, at_s=61 * H)
    assert profile(late).allowance_si_per_s is None
    assert profile(late).why == "there is no free time before need"


def test_free_time_counts_what_is_ahead_alone(situation: Situation) -> None:
    ahead = look_ahead(known_of(situation), situation.plan, situation.plan.options["homeward"], CENTRAL)
    found = free_time(situation.craft, ahead.use, ahead.phases, 22 * H, 60 * H)
    assert found.spans_s == ((25 * H, 60 * H),)
    assert found.power_up_s == pytest.approx(3 * H)
    assert found.until(30 * H) == pytest.approx(5 * H)


def test_a_craft_without_loads_has_free_time_alone(build: Any) -> None:
    craft = build.craft(
        build.supply("water", "kg", build.store("tank", capacity_si=40.0)),
        uses=(Use(name="drinking", supply="water", per_person_si_per_s=0.1 / H),),
    )
    plan = build.plan(build.option(50 * H), (build.phase("wait", 0.0),))
    found = profile(
        Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0), "water"
    )
    assert found.free_s == pytest.approx(50 * H)
    assert found.allowance_si_per_s == pytest.approx(40 / 50 / H)
