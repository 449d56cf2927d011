"""Leave it on, or off and pay to bring it back: both costs and the break-even, against sums by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import HeatSource, LoadState, Use
from console.engine.forecast import Draws
from console.engine.keep_or_off import KeepOrOff, Trade, keep_or_off
from console.engine.known import Situation
from console.errors import UsageError
from console.physics.cooling import latent_heat_j_per_kg

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)


@pytest.fixture
def situation(build: Any) -> Situation:
    """400 A·h at 28 V, 100 kg of water that carries heat away, a lamp of 4 A, a radio of 1 A; need at 60 h.

    From 10 h on the plan has the lamp off.
    """
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat", capacity_si=400 * AH), bus_voltage_v=28.0),
        build.supply("water", "kg", build.store("tank", capacity_si=100.0)),
        build.supply("oxygen", "kg", build.store("o2", capacity_si=50.0)),
        loads=(build.load("lamp", 4.0), build.load("radio", 1.0, standby=0.25)),
        levels={
            "all": {"lamp": LoadState.ON, "radio": LoadState.ON},
            "quiet": {"radio": LoadState.ON},
        },
        uses=(
            Use(name="cooling", supply="water", evaporates_heat_of=(HeatSource.LOADS,)),
            Use(name="air", supply="oxygen", rate_si_per_s=0.5 / H),
        ),
    )
    plan = build.plan(
        build.option(60 * H), (build.phase("first", 0.0), build.phase("second", 10 * H, "quiet"))
    )
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def trades(choice: KeepOrOff) -> dict[str, Trade]:
    return {trade.supply.name: trade for trade in choice.trades}


def ask(situation: Situation, load: str, until_s: float, **restart_si: float) -> KeepOrOff:
    return keep_or_off(situation, load, until_s, restart_si, CENTRAL)


def test_both_costs_are_the_sums_by_hand(situation: Situation) -> None:
    found = trades(ask(situation, "radio", 8 * H, power=2.3 * AH))
    assert found["power"].keeping_si == pytest.approx(8 * 1.0 * AH)
    assert found["power"].restart_si == 2.3 * AH
    assert found["power"].saved_si == pytest.approx((8 - 2.3) * AH)
    # 1 A at 28 V for 8 h, evaporated from water fed at 20 °C.
    assert found["water"].keeping_si == pytest.approx(28.0 * 8 * H / latent_heat_j_per_kg(293.15))
    assert (found["oxygen"].keeping_si, found["oxygen"].saved_si) == (pytest.approx(0.0), pytest.approx(0.0))


def test_it_pays_after_what_the_restart_takes_over_the_draw(situation: Situation) -> None:
    choice = ask(situation, "radio", 8 * H, power=2.3 * AH)
    # 2.3 A·h at 1 A.
    assert trades(choice)["power"].pays_after_s == pytest.approx(2.3 * H)
    assert trades(choice)["water"].pays_after_s == 0.0
    assert choice.pays_after_s == pytest.approx(2.3 * H)


def test_the_break_even_does_not_go_by_the_moment_asked_for(situation: Situation) -> None:
    choice = ask(situation, "radio", 1 * H, power=2.3 * AH)
    assert trades(choice)["power"].pays_after_s == pytest.approx(2.3 * H)
    assert trades(choice)["power"].saved_si == pytest.approx((1 - 2.3) * AH)


def test_at_the_break_even_both_ways_leave_the_same(situation: Situation) -> None:
    pays_s = ask(situation, "lamp", 5 * H, power=9.0 * AH).pays_after_s
    assert pays_s == pytest.approx(9.0 / 4.0 * H)
    even = ask(situation, "lamp", pays_s or 0.0, power=9.0 * AH)
    ends = [side.supplies["power"].left_at_need_si for side in (even.keep, even.off)]
    assert ends[0] is not None
    assert ends[1] is not None
    assert ends[0].p50 == pytest.approx(ends[1].p50)


def test_a_restart_that_is_never_earned_back_is_said_not_to_pay(situation: Situation) -> None:
    choice = ask(situation, "radio", 8 * H, power=61 * AH)  # 1 A up to need gives 60 A·h
    assert trades(choice)["power"].pays_after_s is None
    assert choice.pays_after_s is None
    assert ask(situation, "radio", 8 * H, oxygen=0.2).pays_after_s is None


def test_the_margins_of_both_ways_are_those_of_the_engine(situation: Situation) -> None:
    choice = ask(situation, "radio", 8 * H, power=2.3 * AH)
    kept, off = (side.supplies["power"].left_at_need_si for side in (choice.keep, choice.off))
    assert kept is not None
    assert off is not None
    # 10 h at 5 A and 50 h at 1 A; without: 8 h less at 1 A, and 2.3 A·h to bring it back.
    assert kept.p50 == pytest.approx((400 - 50 - 50) * AH)
    assert off.p50 == pytest.approx((400 - 50 - 50 + 8 - 2.3) * AH)


def test_leaving_it_on_holds_it_against_the_plan_up_to_the_moment_and_no_longer(situation: Situation) -> None:
    choice = ask(situation, "lamp", 15 * H, power=1.0 * AH)
    assert (choice.state, choice.state_then) == (LoadState.ON, LoadState.OFF)
    assert trades(choice)["power"].keeping_si == pytest.approx(15 * 4.0 * AH)
    kept = choice.keep.supplies["power"].left_at_need_si
    assert kept is not None
    assert kept.p50 == pytest.approx((400 - 60 - 60) * AH)


def test_a_load_is_kept_as_it_is_and_given_back_as_logged_steps_have_it(
    situation: Situation, build: Any
) -> None:
    stepped = replace(situation, changes=(build.step(0.0, radio=LoadState.STANDBY),))
    choice = ask(stepped, "radio", 20 * H, power=1.0 * AH)
    assert (choice.state, choice.state_then) == (LoadState.STANDBY, LoadState.STANDBY)
    assert trades(choice)["power"].keeping_si == pytest.approx(20 * 0.25 * AH)
    assert trades(choice)["power"].pays_after_s == pytest.approx(4 * H)


@pytest.mark.parametrize(
    ("load", "until_h", "message"),
    [("radio", 0.0, "that is over"), ("radio", 60.1, "after need"), ("lamp", 20.0, "draws nothing now")],
)
def test_a_question_without_an_answer_is_refused(
    situation: Situation, load: str, until_h: float, message: str
) -> None:
    at_s = 12 * H if load == "lamp" else 0.0
    with pytest.raises(UsageError, match=message):
        ask(replace(situation, at_s=at_s), load, until_h * H, power=1.0)
