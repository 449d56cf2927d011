"""Suppositions laid over a situation, each against a sum by hand; the situation itself never changes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import Activity, LoadState, StoreState, Use
from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.whatif import (
    AddEvent,
    Change,
    DropEvent,
    LeaveModule,
    LoseStore,
    MoveArrival,
    MoveEvent,
    MovePeople,
    MoveStore,
    SetRate,
    SwitchLoad,
    TakeLevel,
    TakeOption,
    suppose,
)

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)


@pytest.fixture
def situation(build: Any) -> Situation:
    """400 A·h, a lamp of 4 A and a radio of 1 A; both off in the quiet level from 50 h on; need at 60 h."""
    craft = build.craft(
        build.supply(
            "power",
            "A*h",
            build.store("bat-1", capacity_si=300 * AH),
            build.store("bat-2", capacity_si=100 * AH),
            build.store("bat-3", capacity_si=50 * AH, state=StoreState.ISOLATED),
            bus_voltage_v=28.0,
        ),
        build.supply("oxygen", "kg", build.store("tank", capacity_si=100.0)),
        loads=(build.load("lamp", 4.0), build.load("radio", 1.0)),
        levels={
            "all": {"lamp": LoadState.ON, "radio": LoadState.ON},
            "quiet": {"radio": LoadState.ON},
            "lit": {"lamp": LoadState.ON},
        },
        uses=(
            Use(name="leak", supply="oxygen", leak_si_per_s=0.5 / H),
            Use(name="air", supply="oxygen", per_person_si_per_s=0.1 / H),
        ),
    )
    plan = build.plan(
        build.option(60 * H, events=(build.event("vent", 30 * H, {"oxygen": 6.0}),)),
        (build.phase("first", 0.0), build.phase("second", 50 * H, "quiet")),
        (build.event("flush", 20 * H, {"oxygen": 4.0}),),
    )
    tender = build.option(80 * H, name="tender")
    plan = replace(plan, options={**plan.options, "tender": tender})
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def left(situation: Situation, supply: str, *changes: Change) -> float:
    """What is left at need with the changes, in A·h or kg."""
    status = assess(suppose(situation, changes), None, CENTRAL).snapshot.supplies[supply]
    assert status.left_at_need_si is not None
    assert status.left_at_need_si.p50 is not None
    return status.unit.from_si(status.left_at_need_si.p50)


def test_the_plan_alone_is_the_sum_by_hand(situation: Situation) -> None:
    assert left(situation, "power") == pytest.approx(400 - 50 * 5 - 10 * 1)
    assert left(situation, "oxygen") == pytest.approx(100 - 60 * 0.5 - 60 * 0.4 - 4 - 6)


def test_a_load_is_kept_in_its_state_though_the_plan_moves_it(situation: Situation) -> None:
    on = SwitchLoad(load="lamp", to=LoadState.ON, from_s=0.0)
    assert left(situation, "power", on) == pytest.approx(400 - 60 * 5)
    off = SwitchLoad(load="radio", to=LoadState.OFF, from_s=10 * H)
    assert left(situation, "power", off) == pytest.approx(400 - 10 * 5 - 40 * 4)


def test_a_load_is_given_back_to_the_plan_at_the_end(situation: Situation) -> None:
    off = SwitchLoad(load="lamp", to=LoadState.OFF, from_s=10 * H, until_s=20 * H)
    assert left(situation, "power", off) == pytest.approx(400 - 40 * 5 - 10 * 1 - 10 * 1)


def test_a_level_holds_until_the_plan_moves_a_load_from_it(situation: Situation) -> None:
    lit = TakeLevel(level="lit", from_s=10 * H)
    # The radio is off from 10 h on; the plan's next level moves the lamp alone.
    assert left(situation, "power", lit) == pytest.approx(400 - 10 * 5 - 40 * 4)


def test_people_move_from_a_moment_on_through_all_phases(situation: Situation) -> None:
    two = MovePeople(crew={Activity.NOMINAL: 2}, from_s=40 * H)
    assert left(situation, "oxygen", two) == pytest.approx(100 - 30 - 40 * 0.4 - 20 * 0.2 - 10)


def test_a_leak_at_another_rate(situation: Situation) -> None:
    assert left(situation, "oxygen", SetRate(use="leak", rate_si_per_s=1.0 / H)) == pytest.approx(6.0)


def test_another_way_home_moves_the_need(situation: Situation) -> None:
    assert left(situation, "power", TakeOption(option="tender")) == pytest.approx(400 - 50 * 5 - 30)
    assert left(situation, "oxygen", TakeOption(option="tender")) == pytest.approx(100 - 80 * 0.9 - 4)


def test_events_are_added_moved_and_dropped(situation: Situation, build: Any) -> None:
    added = AddEvent(event=build.event("burst", 5 * H, {"oxygen": 3.0}))
    assert left(situation, "oxygen", added) == pytest.approx(36 - 3)
    assert left(situation, "oxygen", DropEvent(name="flush")) == pytest.approx(36 + 4)
    assert left(situation, "oxygen", DropEvent(name="vent")) == pytest.approx(36 + 6)
    # After need it is not waited for.
    assert left(situation, "oxygen", MoveEvent(name="vent", at_s=70 * H)) == pytest.approx(36 + 6)


def test_a_store_is_opened_ahead_and_one_is_lost(situation: Situation) -> None:
    opened = MoveStore(store="bat-3", to=StoreState.FEEDING, at_s=30 * H)
    assert left(situation, "power", opened) == pytest.approx(140 + 50)
    assert left(situation, "power", LoseStore(store="bat-2")) == pytest.approx(140 - 100)


def test_a_later_arrival_costs_what_is_drawn_then(situation: Situation) -> None:
    assert left(situation, "power", MoveArrival(by_s=5 * H)) == pytest.approx(140 - 5)


def test_several_changes_hold_together_whatever_their_order(situation: Situation) -> None:
    changes = (
        SwitchLoad(load="lamp", to=LoadState.OFF, from_s=0.0),
        TakeOption(option="tender"),
        MoveArrival(by_s=-10 * H),
    )
    expected = pytest.approx(400 - 70 * 1)
    assert left(situation, "power", *changes) == expected
    assert left(situation, "power", *reversed(changes[:2]), changes[2]) == expected


def test_the_situation_itself_is_left_as_it_was(situation: Situation) -> None:
    before = left(situation, "power")
    left(situation, "power", LoseStore(store="bat-1"), TakeOption(option="tender"))
    assert left(situation, "power") == before


@pytest.mark.parametrize(
    "change",
    [
        LoseStore(store="none"),
        MoveStore(store="none", to=StoreState.FEEDING, at_s=0.0),
        TakeOption(option="none"),
        TakeLevel(level="none", from_s=0.0),
        SetRate(use="none", rate_si_per_s=1.0),
        DropEvent(name="none"),
        MoveEvent(name="none", at_s=1.0),
        SwitchLoad(load="none", to=LoadState.OFF, from_s=0.0),
        LeaveModule(module="none", at_s=0.0),
    ],
)
def test_a_name_that_craft_and_plan_lack_is_told(situation: Situation, change: Change) -> None:
    with pytest.raises(KeyError, match="none"):
        suppose(situation, (change,))
