"""What to switch off for a margin, on a craft whose sums can be done by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from console.craft.cabin import Cabin, Removal
from console.craft.model import HeatSource, LoadState, StoreState, Use
from console.engine.forecast import Draws
from console.engine.known import Situation
from console.engine.shed import may_run, must_stay, shed_for
from console.physics.cooling import latent_heat_j_per_kg

H = 3600.0
AH = 3600.0
CENTRAL = Draws(seed=1, count=0)
FEED_K = 293.15


@pytest.fixture
def situation(build: Any) -> Situation:
    """10 A of loads on 900 A·h for 100 h: 100 A·h short. A burn from 80 to 90 h wants lamp and engine."""
    loads = (
        build.load("radio", 2.0, priority=1),
        build.load("lamp", 1.0, priority=6),
        build.load("fan", 3.0, priority=6),
        build.load("mapper", 4.0, priority=9, heat_fraction=0.0),
        build.load("engine", 0.0, standby=0.0, priority=2),
    )
    on = {"radio": LoadState.ON, "lamp": LoadState.ON, "fan": LoadState.ON, "mapper": LoadState.ON}
    craft = build.craft(
        build.supply("power", "A*h", build.store("bat", capacity_si=900 * AH), bus_voltage_v=28.0),
        build.supply("air", "kg", build.store("tank", capacity_si=50.0)),
        loads=loads,
        levels={"all": on, "burn": {**on, "engine": LoadState.ON}},
        uses=(Use(name="crew", supply="air", rate_si_per_s=1.0 / H),),
    )
    plan = build.plan(build.option(100 * H), (build.phase("first", 0.0),))
    return Situation(slug="t", craft=craft, plan=plan, feed=build.feed(), changes=(), at_s=0.0)


def hours(interval: Any) -> float:
    return float(interval.p50) / H


def test_the_least_important_load_that_suffices_goes(situation: Situation) -> None:
    # 900 A·h last 90 h at 10 A; without the mapper 150 h at 6 A: 50 h more than needed.
    answer = shed_for(replace(situation, craft=without_air(situation)), 50 * H, CENTRAL)
    assert [each.load.name for each in answer.loads] == ["mapper"]
    assert answer.is_enough
    assert hours(answer.before_s["power"]) == pytest.approx(-10.0)
    assert hours(answer.after_s["power"]) == pytest.approx(50.0)


def test_one_hour_more_takes_the_next_in_importance(situation: Situation) -> None:
    answer = shed_for(replace(situation, craft=without_air(situation)), 51 * H, CENTRAL)
    # One more of priority 6 is enough, whichever; both of them without the mapper would not be.
    first, second = [each.load.name for each in answer.loads]
    assert first == "mapper"
    assert second in ("lamp", "fan")
    assert hours(answer.after_s["power"]) >= 51.0


def test_nothing_goes_where_nothing_is_lacking(situation: Situation) -> None:
    answer = shed_for(replace(situation, craft=without_air(situation)), -10 * H, CENTRAL)
    assert answer.loads == ()
    assert answer.is_enough


def test_a_supply_that_no_load_can_help_is_said_and_takes_nothing_with_it(situation: Situation) -> None:
    answer = shed_for(situation, 0.0, CENTRAL)
    assert [each.load.name for each in answer.loads] == ["mapper"]
    assert not answer.is_enough
    assert answer.short == ("air",)


def test_what_stays_is_never_proposed(situation: Situation) -> None:
    craft = without_air(situation)
    loads = {**craft.loads, "mapper": replace(craft.loads["mapper"], stays=True)}
    answer = shed_for(replace(situation, craft=replace(craft, loads=loads)), 0.0, CENTRAL)
    assert "mapper" in answer.kept
    assert [each.load.name for each in answer.loads] == ["fan"]  # 7 A last 128 h; the lamp alone only 100 h


def test_what_the_air_needs_stays_and_what_that_needs(situation: Situation) -> None:
    craft = without_air(situation)
    loads = {**craft.loads, "fan": replace(craft.loads["fan"], needs=("lamp",))}
    cabin = Cabin(volume_m3=10.0, removal=Removal(flow_m3_per_s=0.1, efficiency_fraction=0.9, needs=("fan",)))
    assert must_stay(replace(craft, loads=loads, cabin=cabin)) == {"fan", "lamp"}


def test_what_each_load_buys_is_told_alone_and_for_each_supply(situation: Situation) -> None:
    answer = shed_for(situation, 0.0, CENTRAL)
    gained = {each.load.name: each.margin_gained_s for each in answer.may_go}
    power = {name: (each["power"] or 0.0) / H for name, each in gained.items()}
    assert power == pytest.approx(
        {"mapper": 900 / 6 - 90, "fan": 900 / 7 - 90, "lamp": 10.0, "radio": 900 / 8 - 90}
    )
    assert all(each["air"] == 0.0 for each in gained.values())


def test_cooling_water_is_saved_with_the_load_whose_heat_it_carries(situation: Situation, build: Any) -> None:
    craft = without_air(situation)
    water_kg = 20.0
    water = build.supply("water", "kg", build.store("w", capacity_si=water_kg))
    cooling = Use(
        name="cooling", supply="water", evaporates_heat_of=(HeatSource.LOADS,), feed_temperature_k=FEED_K
    )
    craft = replace(craft, supplies={**craft.supplies, "water": water}, uses=(cooling,))
    answer = shed_for(replace(situation, craft=craft), 0.0, CENTRAL)
    gained = {each.load.name: (each.margin_gained_s["water"] or 0.0) / H for each in answer.may_go}
    per_a = 28.0 / latent_heat_j_per_kg(FEED_K) * H  # kg/h for an ampere whose heat is carried away
    assert gained["mapper"] == 0.0
    assert gained["fan"] == pytest.approx(water_kg / (3 * per_a) - water_kg / (6 * per_a))


def test_a_planned_power_up_keeps_what_it_needs(situation: Situation, build: Any) -> None:
    craft = without_air(situation)
    engine = replace(craft.loads["engine"], on_si_per_s=5.0)
    lit = {**craft.levels["all"].states, "lamp": LoadState.STANDBY}
    levels = {
        "all": replace(craft.levels["all"], states=lit),
        "burn": craft.levels["burn"],
    }
    craft = replace(craft, loads={**craft.loads, "engine": engine}, levels=levels)
    plan = replace(
        situation.plan,
        phases=(
            build.phase("first", 0.0),
            build.phase("burn", 80 * H, "burn"),
            build.phase("last", 90 * H),
        ),
    )
    standing = replace(situation, craft=craft, plan=plan)
    answer = shed_for(standing, 0.0, CENTRAL)
    # 9 A (lamp on standby draws nothing) for 90 h, 15 A for 10 h: 960 A·h of 900. The mapper off saves 4 A,
    # in the burn too, which asks no more of it than now: 560 A·h, so 340 A·h are left for 68 h at 5 A.
    assert [each.load.name for each in answer.loads] == ["mapper"]
    assert hours(answer.after_s["power"]) == pytest.approx(340 / 5)


def test_a_store_that_opens_late_is_reached(situation: Situation, build: Any) -> None:
    craft = without_air(situation)
    power = craft.supplies["power"]
    stores = (
        build.store("bat", capacity_si=500 * AH),
        build.store("spare-bat", capacity_si=900 * AH, state=StoreState.ISOLATED),
    )
    craft = replace(craft, supplies={"power": replace(power, stores=stores)})
    opens = build.event("tie in", 60 * H, sets={"spare-bat": StoreState.FEEDING})
    standing = replace(situation, craft=craft, plan=replace(situation.plan, events=(opens,)))
    # 500 A·h last 50 h at 10 A, ten hours too short for the opening: 100 A·h are lacking there.
    answer = shed_for(standing, 0.0, CENTRAL)
    assert hours(answer.before_s["power"]) == pytest.approx(-50.0)
    assert [each.load.name for each in answer.loads] == ["mapper"]
    assert answer.is_enough


def test_by_the_low_end_more_may_have_to_go(situation: Situation) -> None:
    craft = replace(without_air(situation), load_spread_fraction=0.1)
    draws = Draws(seed=3, count=500)
    standing = replace(situation, craft=craft)
    central = shed_for(standing, 50 * H, draws, by_low_end=False)
    low = shed_for(standing, 50 * H, draws)
    assert [each.load.name for each in central.loads] == ["mapper"]
    assert len(low.loads) > 1
    after = low.after_s["power"]
    assert after is not None
    assert after.p05 is not None
    assert after.p05 >= 50 * H


def test_what_may_run_is_asked_of_the_margin_it_leaves(situation: Situation) -> None:
    craft = without_air(situation)
    engine = replace(craft.loads["engine"], on_si_per_s=5.0)
    craft = replace(craft, loads={**craft.loads, "engine": engine})
    standing = replace(situation, craft=craft)
    # Now 10 h short. Five amps for 10 h cost 50 A·h, which is 5 h of the 10 A that follow.
    (answer,) = may_run(standing, -15 * H, 10 * H, CENTRAL)
    assert answer.load.name == "engine"
    assert answer.is_affordable
    assert hours(answer.margin_s["power"]) == pytest.approx(-15.0)
    (answer,) = may_run(standing, -14.9 * H, 10 * H, CENTRAL)
    assert not answer.is_affordable


def without_air(situation: Situation) -> Any:
    craft = situation.craft
    return replace(craft, supplies={"power": craft.supplies["power"]}, uses=())
