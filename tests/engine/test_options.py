"""Ways home side by side: margins, until when each stays open, what waiting costs, against sums by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from console.craft.channels import Measured
from console.craft.model import HeatSource, LoadState, Propulsion, StoreState, Use
from console.craft.plan import Option, Plan
from console.engine.ahead import look_ahead
from console.engine.assess import assess
from console.engine.delayed import Delayed
from console.engine.forecast import Draws
from console.engine.known import Situation, known_of
from console.engine.open_until import Closing, Open
from console.engine.options import WayHome, options_of, ways_home
from console.engine.switch import switched_at
from console.engine.whatif import TakeOption, suppose

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)
MINUTE = 60.0
SEEDS = 24


@pytest.fixture
def base(build: Any) -> Situation:
    """200 A·h; 5 A on the way we are on, 2 A on the slow one of 60 h. Low 2 A, full 5 A, burst 20 A."""
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat-1", capacity_si=200 * AH), bus_voltage_v=28.0),
        loads=(build.load("a", 2.0), build.load("b", 3.0), build.load("c", 15.0)),
        levels={
            "low": {"a": LoadState.ON},
            "full": {"a": LoadState.ON, "b": LoadState.ON},
            "burst": {"a": LoadState.ON, "b": LoadState.ON, "c": LoadState.ON},
        },
    )
    home = build.option(35 * H, name="homeward")
    slow = build.option(60 * H, name="slow", phases=(build.phase("drift", 0.0, "low"),))
    plan = build.plan(home, (build.phase("cruise", 0.0, "full"),))
    plan = replace(plan, options={"homeward": home, "slow": slow})
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def with_option(situation: Situation, name: str, **fields: Any) -> Situation:
    plan = situation.plan
    changed = replace(plan.options[name], **fields)
    return replace(situation, plan=replace(plan, options={**plan.options, name: changed}))


def way(situation: Situation, name: str = "slow", draws: Draws = CENTRAL) -> WayHome:
    return next(one for one in options_of(situation, None, draws).ways if one.option.name == name)


def zero(found: WayHome) -> Open:
    assert found.open_until is not None
    return found.open_until.zero_low


def test_each_way_home_has_its_own_margin_and_need(base: Situation) -> None:
    home, slow = options_of(base, None, CENTRAL).ways
    assert (home.is_committed, slow.is_committed) == (True, False)
    assert home.supplies["power"].margin_s is not None
    assert home.supplies["power"].margin_s.p50 == pytest.approx((200 / 5 - 35) * H)
    assert slow.supplies["power"].margin_s is not None
    assert slow.supplies["power"].margin_s.p50 == pytest.approx((200 / 2 - 60) * H)
    assert slow.supplies["power"].left_at_need_si is not None
    assert slow.supplies["power"].left_at_need_si.p50 == pytest.approx(80 * AH)
    assert slow.shortest == "power"


def test_it_stays_open_until_the_switch_leaves_nothing(base: Situation) -> None:
    # 5 t + 2 (60 - t) = 200
    found = zero(way(base))
    assert found.until_s == pytest.approx(80 / 3 * H, abs=MINUTE)
    assert found.until_s is not None
    assert found.until_s <= 80 / 3 * H
    assert (found.closed_by.by, found.closed_by.name) == (Closing.SUPPLY, "power")
    assert found.is_open(0.0)


def test_the_advisory_margin_closes_it_earlier(base: Situation) -> None:
    # What is left at need must last another 24 h at 2 A: 80 - 3 t = 48
    found = way(base).open_until
    assert found is not None
    assert found.advisory_low.until_s == pytest.approx(32 / 3 * H, abs=MINUTE)
    assert found.advisory_central == found.advisory_low


def test_an_hour_of_delay_costs_what_it_draws_more_over_what_is_drawn_then(base: Situation) -> None:
    delay = way(base).delay
    assert delay is not None
    assert delay.central == pytest.approx((5 - 2) / 2)
    assert delay.over_s == pytest.approx(H)
    assert way(base, "homeward").delay is None


def test_decide_by_closes_it_before_any_supply(base: Situation) -> None:
    found = zero(way(with_option(base, "slow", decide_by_s=20 * H)))
    assert found.until_s == pytest.approx(20 * H, abs=1e-3)
    assert found.closed_by.by is Closing.DECIDE_BY


def test_a_passed_decide_by_has_closed_it_since(base: Situation) -> None:
    late = replace(with_option(base, "slow", decide_by_s=2 * H), at_s=3 * H)
    found = way(late).open_until
    assert found is not None
    assert found.zero_central.until_s is None
    assert (found.limit.by, found.limit.at_s) == (Closing.DECIDE_BY, 2 * H)


def test_its_own_first_event_closes_it_and_is_still_flown(base: Situation, build: Any) -> None:
    burn = build.event("burn", 12 * H, {"power": 30 * AH})
    found = way(with_option(base, "slow", events=(burn,)))
    assert zero(found).until_s == pytest.approx(12 * H, abs=1e-3)
    assert (zero(found).closed_by.by, zero(found).closed_by.name) == (Closing.OWN_EVENT, "burn")
    # 200 - 30 - 5 t - 2 (60 - t) = 0: a dearer burn lets a supply close it first.
    dear = build.event("burn", 12 * H, {"power": 62 * AH})
    assert zero(way(with_option(base, "slow", events=(dear,)))).until_s == pytest.approx(6 * H, abs=MINUTE)


def test_what_is_dear_now_and_cheap_later_opens_only_then(base: Situation, build: Any) -> None:
    # Until 10 h it draws 20 A: 5 t + 20 (10 - t) + 2 * 50 = 200 at 6 h 40 min.
    phases = (build.phase("burst", 0.0, "burst"), build.phase("drift", 10 * H, "low"))
    found = zero(way(with_option(base, "slow", phases=phases)))
    assert len(found.spans_s) == 1
    (since_s, until_s), *_ = found.spans_s
    assert since_s == pytest.approx(20 / 3 * H, abs=MINUTE)
    assert since_s >= 20 / 3 * H
    assert until_s == pytest.approx(80 / 3 * H, abs=MINUTE)
    assert not found.is_open(0.0)
    assert found.is_open(10 * H)


def test_what_the_present_course_spends_by_itself_closes_it_at_that_moment(
    base: Situation, build: Any
) -> None:
    # 5 t + 60 + 2 (60 - t) is above 200 from 10 h on; without the 60 A·h it is 150 by then.
    spent = with_option(base, "homeward", events=(build.event("test", 10 * H, {"power": 60 * AH}),))
    found = zero(way(spent))
    assert found.until_s == pytest.approx(10 * H, abs=1e-3)
    assert (found.closed_by.by, found.closed_by.name) == (Closing.SUPPLY, "power")
    shared = spent.plan.options["homeward"].events
    # What both ways have in common is no reason: it costs both alike, whenever we switch.
    both = zero(way(with_option(spent, "slow", events=shared)))
    assert both.until_s == pytest.approx((200 - 60 - 120) / 3 * H, abs=MINUTE)


def test_a_store_that_the_present_course_opens_is_open_after_the_switch(base: Situation, build: Any) -> None:
    supply = base.craft.supplies["power"]
    spare = build.store("bat-2", capacity_si=30 * AH, state=StoreState.ISOLATED)
    craft = replace(base.craft, supplies={"power": replace(supply, stores=(*supply.stores, spare))})
    tie = build.event("tie", 10 * H, sets={"bat-2": StoreState.FEEDING})
    tied = with_option(replace(base, craft=craft), "homeward", events=(tie,))
    # From 10 h on there are 230 A·h: 5 t + 2 (60 - t) = 230.
    assert zero(way(tied)).until_s == pytest.approx(35 * H, abs=MINUTE)


def test_once_the_present_course_has_spent_propellant_no_other_is_open(base: Situation, build: Any) -> None:
    tank = build.supply("propellant", "kg", build.store("tank", capacity_si=500.0))
    craft = replace(
        base.craft,
        supplies={**base.craft.supplies, "propellant": tank},
        propulsion=Propulsion(supply="propellant", dry_mass_kg=1000.0, exhaust_velocity_m_per_s=3000.0),
    )
    burn = build.event("burn", 9 * H, {"propellant": 100.0})
    burning = with_option(replace(base, craft=craft), "homeward", events=(burn,))
    found = zero(way(burning))
    assert found.until_s == pytest.approx(9 * H, abs=1e-3)
    assert (found.closed_by.by, found.closed_by.name) == (Closing.UNDER_WAY, "burn")
    after = way(replace(burning, at_s=10 * H))
    assert zero(after).closed_by.at_s == 9 * H
    # 3000 ln(1500/1000) = 1216 m/s are left.
    short = zero(way(with_option(burning, "slow", delta_v_m_per_s=1217.0)))
    assert short.closed_by.by is Closing.DELTA_V
    assert zero(way(with_option(burning, "slow", delta_v_m_per_s=1216.0))).closed_by.by is Closing.UNDER_WAY


def test_the_committed_way_is_open_until_its_decide_by_and_begun_after_it(base: Situation) -> None:
    decided = with_option(base, "homeward", decide_by_s=4 * H)
    assert zero(way(decided, "homeward")).until_s == pytest.approx(4 * H, abs=1e-3)
    begun = way(replace(decided, at_s=5 * H), "homeward")
    assert begun.is_begun
    assert begun.open_until is None


def test_a_supply_that_is_not_known_is_named_and_not_counted(base: Situation, build: Any) -> None:
    blind = build.supply("water", "kg", build.store("tank", quantity=Measured(channel="tank.quantity")))
    craft = replace(
        base.craft,
        supplies={**base.craft.supplies, "water": blind},
        channels={"tank.quantity": build.channel("tank.quantity", "kg")},
    )
    found = way(replace(base, craft=craft))
    assert found.unknown == ("water",)
    assert found.shortest == "power"
    assert found.supplies["water"].margin_s is None
    assert "no quantity for tank" in found.supplies["water"].why


def test_a_logged_step_goes_on_until_the_plan_moves_its_load(base: Situation, build: Any) -> None:
    # b is off by a step: 2 A on either way, so nothing closes it before the present course arrives.
    stepped = replace(base, changes=(build.step(0.0, b=LoadState.OFF),))
    found = zero(way(stepped))
    assert found.until_s == pytest.approx(35 * H, abs=1e-3)
    assert found.closed_by.by is Closing.ARRIVAL


def test_the_switch_is_flown_as_it_is_said(base: Situation, build: Any) -> None:
    phases = (build.phase("burst", 0.0, "burst"), build.phase("drift", 10 * H, "low"))
    plan = with_option(base, "slow", phases=phases).plan
    flown = switched_at(plan, plan.options["slow"], 4 * H)
    assert [(phase.name, phase.start_s) for phase in plan.phases_under(flown)] == [
        ("cruise", 0.0),
        ("burst", 4 * H),
        ("drift", 10 * H),
    ]


# --- the search against a look ahead at every moment ---


def random_situation(build: Any, dice: random.Random) -> Situation:
    """Two ways home of random levels and events; loads that share one error and crew use of their own."""
    craft = build.craft(
        build.supply(
            "power",
            "A*h",
            build.store(
                "bat-1",
                capacity_si=dice.uniform(200, 380) * AH,
                peukert=dice.choice((1.0, 1.1)),
                rated_current_a=3.0,
            ),
            build.store("bat-2", capacity_si=dice.uniform(60, 120) * AH),
            build.store(
                "bat-3",
                capacity_si=40 * AH,
                state=StoreState.ISOLATED,
                peukert=1.2,
                rated_current_a=0.2,
            ),
            bus_voltage_v=28.0,
        ),
        build.supply("water", "kg", build.store("tank", capacity_si=dice.uniform(55, 110))),
        loads=(build.load("a", 2.0), build.load("b", 3.0), build.load("c", 6.0)),
        levels={
            "low": {"a": LoadState.ON},
            "full": {"a": LoadState.ON, "b": LoadState.ON},
            "burst": {"a": LoadState.ON, "b": LoadState.ON, "c": LoadState.ON},
        },
        uses=(
            Use(
                name="cooling",
                supply="water",
                evaporates_heat_of=(HeatSource.LOADS, HeatSource.CREW),
                spread_fraction=0.1,
            ),
        ),
        load_spread_fraction=dice.choice((0.0, 0.5)),
    )

    def phases(word: str, *levels: str) -> tuple[Any, ...]:
        starts = [0.0, *sorted(dice.uniform(2, 30) * H for _ in range(3))]
        return tuple(
            build.phase(
                f"{word} {index}",
                start,
                dice.choice(levels),
                **dice.choice(({"nominal": 4}, {"asleep": 4}, {"heavy": 2, "nominal": 2})),
            )
            for index, start in enumerate(starts)
        )

    event = build.event("use", dice.uniform(1, 25) * H, {"power": dice.uniform(2, 30) * AH}, spread=0.1)
    own = build.event("own", dice.uniform(22, 40) * H, {"power": dice.uniform(2, 30) * AH})
    # Which the present course alone does; the batteries then share the draw, and its rate effect, anew.
    tie = build.event("tie", dice.uniform(2, 20) * H, sets={"bat-3": StoreState.FEEDING})
    home = build.option(45 * H, name="homeward", events=(event, tie) if dice.random() < 0.5 else (event,))
    other = build.option(
        dice.uniform(40, 60) * H,
        name="slow",
        phases=phases("other", "low", "low", "full", "burst"),
        events=(own,),
        arrival_spread_s=H,
    )
    # A battery that is shut takes with it what it holds by then, which goes by what was drawn before.
    shut = build.event("shut", 42 * H, sets={"bat-2": StoreState.ISOLATED})
    events = (shut,) if dice.random() < 0.6 else ()
    plan = build.plan(home, phases("own", "full", "burst"), events)
    plan = replace(plan, options={"homeward": home, "slow": other})
    steps = (build.step(0.0, b=LoadState.OFF),) if dice.random() < 0.3 else ()
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=steps, at_s=0.0)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_no_later_moment_is_open_and_the_one_found_is(build: Any, seed: int) -> None:
    situation = random_situation(build, random.Random(seed))
    draws = Draws(seed=3, count=40)
    known, plan = known_of(situation), situation.plan
    option = plan.options["slow"]

    def low_s(at_s: float) -> float:
        look = look_ahead(known, plan, switched_at(plan, option, at_s), draws)
        lows = [one.outlook.band_margin_s for one in look.supplies.values()]
        return min(low for low in lows if low is not None)

    found = ways_home(known, plan, draws)[1].open_until
    assert found is not None
    limit_s = found.limit.at_s
    grid = [minute * MINUTE for minute in range(0, int(limit_s / MINUTE), 13)]
    is_open = {at_s: low_s(at_s) >= 0.0 for at_s in grid}
    spans = found.zero_low.spans_s
    for at_s, holds in is_open.items():
        near_an_end = any(abs(at_s - end) <= MINUTE for span in spans for end in span)
        assert near_an_end or found.zero_low.is_open(at_s) is holds, at_s / H
    for span in spans:
        assert all(low_s(end) >= 0.0 for end in span)


def test_the_random_cases_hold_some_that_open_close_and_cross(build: Any) -> None:
    draws = Draws(seed=3, count=40)
    found = []
    for seed in range(SEEDS):
        situation = random_situation(build, random.Random(seed))
        until = ways_home(known_of(situation), situation.plan, draws)[1].open_until
        assert until is not None
        found.append(until.zero_low)
    assert any(not one.spans_s for one in found)
    assert sum(bool(one.spans_s) and one.closed_by.by is Closing.SUPPLY for one in found) >= 3
    assert any(one.spans_s and one.closed_by.by is not Closing.SUPPLY for one in found)


# --- the demo ---


def test_the_margins_of_each_way_are_those_of_taking_it(demo: Situation) -> None:
    draws = Draws(seed=7, count=200)
    for one in options_of(demo, None, draws).ways:
        taken = assess(suppose(demo, [TakeOption(option=one.option.name)]), None, draws).snapshot
        for name, status in taken.supplies.items():
            assert one.supplies[name].margin_s == status.margin_s, (one.option.name, name)
            assert one.supplies[name].lasts_probability == status.lasts_probability
        assert one.shortest == taken.shortest
        assert one.delta_v_left_m_per_s == taken.need.delta_v_left_m_per_s


def test_a_switch_later_on_is_what_a_look_ahead_of_it_gives(demo: Situation) -> None:
    draws = Draws(seed=7, count=200)
    known, plan = known_of(demo), demo.plan
    option: Option = plan.options["tender"]
    spared: Plan = replace(
        plan, options={**plan.options, "tender": replace(option, arrival_s=option.arrival_s - 4 * H)}
    )
    option = spared.options["tender"]
    found = next(one for one in ways_home(known, spared, draws) if one.option is option)
    assert found.open_until is not None
    until_s = found.open_until.zero_low.until_s
    assert until_s is not None
    assert found.open_until.limit.name == "platform let go"
    for at_s in (demo.at_s + 1800.0, until_s):
        look = look_ahead(known, spared, switched_at(spared, option, at_s), draws)
        lows = [one.outlook.band_margin_s for one in look.supplies.values()]
        assert min(low for low in lows if low is not None) >= 0.0


def test_where_samples_disagree_about_the_direction_nothing_is_missed(build: Any) -> None:
    """Less heat of loads, of which little is sure, and more of people: water falls in some samples only."""
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat-1", capacity_si=900 * AH), bus_voltage_v=28.0),
        build.supply("water", "kg", build.store("tank", capacity_si=63.0)),
        loads=(build.load("a", 2.0), build.load("b", 3.0)),
        levels={"low": {"a": LoadState.ON}, "full": {"a": LoadState.ON, "b": LoadState.ON}},
        uses=(Use(name="cooling", supply="water", evaporates_heat_of=(HeatSource.LOADS, HeatSource.CREW)),),
        load_spread_fraction=0.5,
    )
    home = build.option(45 * H, name="homeward")
    slow = build.option(60 * H, name="slow", phases=(build.phase("drift", 0.0, "low"),))
    plan = build.plan(home, (build.phase("cruise", 0.0, "full", asleep=1, nominal=3),))
    plan = replace(plan, options={"homeward": home, "slow": slow})
    situation = Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)
    known, draws = known_of(situation), Draws(seed=3, count=400)
    looks = [look_ahead(known, plan, one, draws) for one in (home, switched_at(plan, slow, 0.0))]
    delayed = Delayed(known, plan, slow, *looks, draws)
    assert not delayed.is_one_way(0.0)
    found = ways_home(known, plan, draws)[1].open_until
    assert found is not None
    assert found.zero_low.closed_by.name == "water"
    until_s = found.zero_low.until_s
    assert until_s is not None
    assert 2 * H < until_s < 40 * H
    for at_s in (until_s - 3600.0, until_s, until_s + MINUTE, until_s + 3600.0):
        look = look_ahead(known, plan, switched_at(plan, slow, at_s), draws)
        assert (look.supplies["water"].outlook.band_margin_s or 0.0) >= 0.0 or at_s > until_s
        assert at_s <= until_s or (look.supplies["water"].outlook.band_margin_s or 0.0) < 0.0


def test_a_battery_that_the_present_course_ties_in_shares_the_draw_after_the_switch(
    base: Situation, build: Any
) -> None:
    def cell(name: str, state: StoreState) -> Any:
        return build.store(name, capacity_si=120 * AH, state=state, peukert=1.3, rated_current_a=0.5)

    supply = base.craft.supplies["power"]
    stores = (cell("bat-1", StoreState.FEEDING), cell("bat-2", StoreState.ISOLATED))
    craft = replace(base.craft, supplies={"power": replace(supply, stores=stores)})
    tie = build.event("tie", 5 * H, sets={"bat-2": StoreState.FEEDING})
    tied = with_option(replace(base, craft=craft), "homeward", events=(tie,))
    known, plan = known_of(tied), tied.plan
    present, slow = plan.options["homeward"], plan.options["slow"]
    looks = [look_ahead(known, plan, one, CENTRAL) for one in (present, switched_at(plan, slow, 0.0))]
    delayed = Delayed(known, plan, slow, *looks, CENTRAL)
    for at_s in (2 * H, 8 * H, 20 * H):
        look = look_ahead(known, plan, switched_at(plan, slow, at_s), CENTRAL)
        assert delayed.low_s("power", at_s) == pytest.approx(
            look.supplies["power"].outlook.band_margin_s, abs=1.0
        )
