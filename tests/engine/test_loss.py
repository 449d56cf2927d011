"""Single losses against sums by hand, and against a scenario without what is lost."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import Line, LoadState, Propulsion, StoreState, Use
from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.loss import Loss, LossKind, losses_of
from console.engine.remedy import RemedyKind
from console.engine.whatif import LoseStore, suppose

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)


@pytest.fixture
def situation(build: Any) -> Situation:
    """4 A for 60 h from 200 + 100 A·h (and 150 A·h shut, 80 protected); 0.5 kg/h of water from two tanks."""
    craft = build.craft(
        build.supply(
            "power",
            "A*h",
            build.store("bat-1", capacity_si=200 * AH),
            build.store("bat-2", capacity_si=100 * AH),
            build.store("bat-3", capacity_si=150 * AH, state=StoreState.ISOLATED),
            build.store("bat-entry", capacity_si=80 * AH, state=StoreState.PROTECTED),
            bus_voltage_v=28.0,
        ),
        build.supply(
            "water", "kg", build.store("tank-1", capacity_si=28.0), build.store("tank-2", capacity_si=12.0)
        ),
        loads=(build.load("lamp", 3.0), build.load("radio", 1.0)),
        levels={
            "all": {"lamp": LoadState.ON, "radio": LoadState.ON},
            "dim": {"lamp": LoadState.ON},
            "dark": {"radio": LoadState.ON},
        },
        uses=(Use(name="drinking", supply="water", rate_si_per_s=0.5 / H),),
    )
    home = build.option(60 * H)
    plan = replace(
        build.plan(home, (build.phase("wait", 0.0),)),
        options={
            "homeward": home,
            "near": build.option(24 * H, name="near"),
            "missed": build.option(20 * H, name="missed", decide_by_s=-1.0),
        },
    )
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def loss_of(situation: Situation, name: str, kind: LossKind = LossKind.STORE) -> Loss:
    losses = losses_of(situation, None, CENTRAL).losses
    return next(one for one in losses if one.lost.name == name and one.lost.kind is kind)


def central_h(loss: Loss, supply: str) -> float:
    margin = loss.margins.margins_s[supply]
    assert margin is not None
    assert margin.p50 is not None
    return margin.p50 / H


def test_every_margin_with_each_store_lost(situation: Situation) -> None:
    assert central_h(loss_of(situation, "bat-1"), "power") == pytest.approx(100 / 4 - 60)
    assert central_h(loss_of(situation, "bat-2"), "power") == pytest.approx(200 / 4 - 60)
    assert central_h(loss_of(situation, "bat-1"), "water") == pytest.approx(40 / 0.5 - 60)
    assert central_h(loss_of(situation, "tank-1"), "water") == pytest.approx(12 / 0.5 - 60)
    assert central_h(loss_of(situation, "tank-2"), "water") == pytest.approx(28 / 0.5 - 60)


def test_what_is_survived_and_what_is_not(situation: Situation) -> None:
    found = losses_of(situation, None, CENTRAL)
    assert (found.without_loss.is_survived_low, found.without_loss.is_survived_central) == (True, True)
    assert all(one.ends_plan and one.margins.is_survived_central is False for one in found.losses)
    assert found.worst is not None
    assert (found.worst.lost.kind, found.worst.lost.name) == (LossKind.BUS, "power")
    bigger = replace(situation.craft.supplies["water"].stores[0], capacity_si=31.0)
    water = situation.craft.supplies["water"]
    supplies = {**situation.craft.supplies, "water": replace(water, stores=(bigger, water.stores[1]))}
    spared = replace(situation, craft=replace(situation.craft, supplies=supplies))
    survived = loss_of(spared, "tank-2")
    assert (survived.ends_plan, survived.remedies, survived.short) == (False, (), ())
    assert survived.margins.is_survived_low is True


def test_what_is_not_counted_is_said_and_not_tried(situation: Situation) -> None:
    found = losses_of(situation, None, CENTRAL)
    assert [one.lost.name for one in found.losses if one.lost.kind is LossKind.STORE] == [
        "bat-1",
        "bat-2",
        "tank-1",
        "tank-2",
    ]
    assert [(one.store, one.why) for one in found.not_counted] == [
        ("bat-3", "shut, and nothing opens it before need"),
        ("bat-entry", "protected, never counted"),
    ]


def test_a_shut_store_that_the_plan_opens_can_be_lost(situation: Situation, build: Any) -> None:
    tie = build.event("tie", 10 * H, sets={"bat-3": StoreState.FEEDING})
    opened = replace(situation, plan=replace(situation.plan, events=(tie,)))
    assert central_h(loss_of(opened, "bat-3"), "power") == pytest.approx(300 / 4 - 60)
    assert central_h(loss_of(opened, "bat-1"), "power") == pytest.approx(250 / 4 - 60)
    after = build.event("tie", 61 * H, sets={"bat-3": StoreState.FEEDING})
    late = losses_of(replace(situation, plan=replace(situation.plan, events=(after,))), None, CENTRAL)
    assert "bat-3" in [one.store for one in late.not_counted]


def test_a_bus_takes_its_whole_bank(situation: Situation) -> None:
    bus = loss_of(situation, "power", LossKind.BUS)
    assert bus.lost.stores == ("bat-1", "bat-2")
    assert central_h(bus, "power") == pytest.approx(-60.0)
    assert not any(
        one.lost.kind is LossKind.BUS and one.lost.name == "water"
        for one in losses_of(situation, None, CENTRAL).losses
    )


def test_a_line_takes_what_feeds_through_it_alone(situation: Situation) -> None:
    lines = (
        Line(name="pipe", stores=("tank-1", "tank-2")),
        Line(name="left", stores=("bat-1", "bat-2")),
        Line(name="right", stores=("bat-2", "bat-entry")),
    )
    lined = replace(situation, craft=replace(situation.craft, lines=lines))
    pipe = loss_of(lined, "pipe", LossKind.LINE)
    assert central_h(pipe, "water") == pytest.approx(-60.0)
    left = loss_of(lined, "left", LossKind.LINE)
    assert left.lost.stores == ("bat-1",)
    assert central_h(left, "power") == pytest.approx(100 / 4 - 60)
    right = loss_of(lined, "right", LossKind.LINE)
    assert right.lost.stores == ()
    assert not right.ends_plan


def by_kind(loss: Loss, kind: RemedyKind) -> list[Any]:
    return [remedy for remedy in loss.remedies if remedy.kind is kind]


def test_opening_a_shut_store_saves_the_plan_where_it_holds_enough(situation: Situation) -> None:
    (opened,) = by_kind(loss_of(situation, "bat-1"), RemedyKind.OPEN_STORE)
    assert opened.name == "bat-3"
    assert opened.margin_s.p50 == pytest.approx((250 / 4 - 60) * H)
    power = situation.craft.supplies["power"]
    smaller = tuple(
        replace(store, capacity_si=130 * AH) if store.name == "bat-3" else store for store in power.stores
    )
    craft = replace(
        situation.craft, supplies={**situation.craft.supplies, "power": replace(power, stores=smaller)}
    )
    assert not by_kind(loss_of(replace(situation, craft=craft), "bat-1"), RemedyKind.OPEN_STORE)


def test_another_way_home_saves_it_unless_it_is_closed(situation: Situation) -> None:
    (taken,) = by_kind(loss_of(situation, "tank-1"), RemedyKind.OPTION)
    assert taken.name == "near"
    assert taken.margin_s.p50 == pytest.approx(0.0, abs=1e-6)


def test_the_least_reduction_of_levels_that_reaches_is_named(situation: Situation) -> None:
    # 200 A·h over 60 h: 3 A last 66 h, so dim is enough; 100 A·h: only dark (1 A) is.
    (dim,) = by_kind(loss_of(situation, "bat-2"), RemedyKind.LEVEL)
    assert dim.name == "dim"
    assert dim.margin_s.p50 == pytest.approx((200 / 3 - 60) * H)
    (dark,) = by_kind(loss_of(situation, "bat-1"), RemedyKind.LEVEL)
    assert dark.name == "dark"
    assert not by_kind(loss_of(situation, "tank-1"), RemedyKind.LEVEL)


def test_a_power_up_is_not_lowered(situation: Situation, build: Any) -> None:
    loads = {**situation.craft.loads, "engine": build.load("engine", 10.0)}
    levels = {
        name: replace(level, states={**level.states, "engine": LoadState.OFF})
        for name, level in situation.craft.levels.items()
    }
    burn = replace(levels["all"], name="burn", states=dict.fromkeys(loads, LoadState.ON))
    craft = replace(situation.craft, loads=loads, levels={**levels, "burn": burn})
    phases = (build.phase("wait", 0.0), build.phase("burn", 50 * H, "burn"), build.phase("end", 52 * H))
    burning = replace(situation, craft=craft, plan=replace(situation.plan, phases=phases))
    (dim,) = by_kind(loss_of(burning, "bat-2"), RemedyKind.LEVEL)
    # 58 h at 1 A and 2 h at 14 A are 86 A·h of 200: dark reaches; dim, 58 h at 3 A, would take 202.
    assert dim.name == "dark"
    assert dim.margin_s.p50 == pytest.approx((200 - 86) / 1 * H)


def test_how_much_less_must_be_drawn_is_the_allowance_with_the_loss(situation: Situation) -> None:
    (less,) = by_kind(loss_of(situation, "bat-2"), RemedyKind.LESS_DRAW)
    assert less.name == "power"
    assert less.less_si_per_s == pytest.approx(4 - 200 / 60)
    assert less.allowed_si_per_s == pytest.approx(200 / 60)
    (water,) = by_kind(loss_of(situation, "tank-1"), RemedyKind.LESS_DRAW)
    assert water.less_si_per_s == pytest.approx((0.5 - 12 / 60) / H)


def test_a_plan_that_is_short_already_is_not_blamed_on_a_loss(situation: Situation) -> None:
    thirsty = replace(situation.craft.uses[0], rate_si_per_s=1.0 / H)
    short = replace(situation, craft=replace(situation.craft, uses=(thirsty,)))
    found = losses_of(short, None, CENTRAL)
    assert found.without_loss.is_survived_low is False
    battery = next(one for one in found.losses if one.lost.name == "bat-2")
    assert battery.short == ("power",)
    # Power is what the battery's remedies must mend; the water stays as short as it was.
    assert [remedy.name for remedy in by_kind(battery, RemedyKind.OPEN_STORE)] == ["bat-3"]
    tank = next(one for one in found.losses if one.lost.name == "tank-2")
    assert tank.short == ("water",)
    assert (battery.ends_plan_central, tank.ends_plan_central) == (True, True)
    radio = next(one for one in losses_of(lasting(short), None, CENTRAL).losses if one.lost.name == "bat-2")
    assert (radio.margins.is_survived_central, radio.ends_plan_central) == (False, False)


def lasting(situation: Situation) -> Situation:
    """The same with a first battery that carries the plan alone."""
    power = situation.craft.supplies["power"]
    stores = (replace(power.stores[0], capacity_si=300 * AH), *power.stores[1:])
    supplies = {**situation.craft.supplies, "power": replace(power, stores=stores)}
    return replace(situation, craft=replace(situation.craft, supplies=supplies))


def test_a_tank_of_propellant_can_take_the_delta_v_of_the_way_home(situation: Situation, build: Any) -> None:
    tanks = build.supply(
        "propellant",
        "kg",
        build.store("prop-1", capacity_si=500.0),
        build.store("prop-2", capacity_si=100.0),
    )
    craft = replace(
        situation.craft,
        supplies={**situation.craft.supplies, "propellant": tanks},
        propulsion=Propulsion(supply="propellant", dry_mass_kg=1000.0, exhaust_velocity_m_per_s=3000.0),
    )
    options = dict(situation.plan.options)
    options["homeward"] = replace(options["homeward"], delta_v_m_per_s=1000.0)
    flying = replace(situation, craft=craft, plan=replace(situation.plan, options=options))
    # 3000 ln 1.5 = 1216 m/s without the small one, 3000 ln 1.1 = 286 m/s without the large.
    assert not loss_of(flying, "prop-2").ends_plan
    large = loss_of(flying, "prop-1")
    assert large.takes_delta_v
    assert large.ends_plan
    assert large.short == ()
    assert large.margins.is_survived_central is False


def test_a_leak_of_a_lost_store_goes_with_it(situation: Situation) -> None:
    seep = Use(name="seep", supply="water", leak_si_per_s=0.1 / H, at_pressure_pa=1e5, of_store="tank-1")
    leaking = suppose(
        replace(situation, craft=replace(situation.craft, uses=(*situation.craft.uses, seep))),
        [LoseStore(store="tank-1")],
    )
    assert [use.name for use in leaking.craft.uses] == ["drinking"]


def test_a_loss_is_the_demo_without_that_store(demo: Situation) -> None:
    draws = Draws(seed=7, count=200)
    found = losses_of(demo, None, draws)
    assert {"bat-entry", "o2-entry"} <= {one.store for one in found.not_counted}
    assert len(found.losses) >= 20
    for one in found.losses:
        if one.lost.kind is not LossKind.STORE:
            continue
        supply = demo.craft.supplies[one.lost.supply]
        stores = tuple(store for store in supply.stores if store.name != one.lost.name)
        supplies = {**demo.craft.supplies, supply.name: replace(supply, stores=stores)}
        events = tuple(
            replace(event, sets={name: to for name, to in event.sets.items() if name != one.lost.name})
            for event in demo.plan.events
        )
        without = replace(
            demo,
            craft=replace(demo.craft, supplies=supplies),
            plan=replace(demo.plan, events=events),
        )
        snapshot = assess(without, None, draws).snapshot
        for name, status in snapshot.supplies.items():
            assert one.margins.margins_s[name] == status.margin_s, (one.lost.name, name)
        assert one.margins.shortest == snapshot.shortest
