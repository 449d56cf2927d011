"""Burns by the mass the craft has then, and modules that are left behind."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import LoadState, Module, Propulsion, StoreState, Use
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.jumps import happenings_s, jumps_between
from console.engine.leaks import CabinPressure
from console.engine.mass import control_notices, drops_of
from console.engine.planned_use import planned_use
from console.engine.quantity import store_quantity
from console.engine.snapshot import LineKind
from console.engine.surroundings import need_of
from console.engine.use_rates import use_rates

H = 3600.0
VE = 3000.0


def craft_of(build: Any, trim_kg_per_h: float = 0.0) -> Any:
    """Dry 10,000 kg; the work section is 2,000 of it, with a tank of propellant, a bottle and the lamp."""
    supplies = (
        build.supply("power", "A*h", build.store("bat", capacity_si=1e6), bus_voltage_v=28.0),
        build.supply(
            "oxygen", "kg", build.store("o2-main", capacity_si=50.0), build.store("o2-work", capacity_si=8.0)
        ),
        build.supply(
            "propellant",
            "kg",
            build.store("main", capacity_si=1500.0, residual_si=100.0),
            build.store("side", capacity_si=300.0),
        ),
    )
    section = Module(name="work-section", mass_kg=2000.0, stores=("o2-work", "side"), loads=("lamp",))
    propulsion = Propulsion(
        supply="propellant", dry_mass_kg=10_000.0, exhaust_velocity_m_per_s=VE, modules=(section,)
    )
    uses = (Use(name="trim", supply="propellant", rate_si_per_s=trim_kg_per_h / H),) if trim_kg_per_h else ()
    return build.craft(
        *supplies, loads=(build.load("lamp", 2.0), build.load("fan", 1.0)), uses=uses, propulsion=propulsion
    )


def burn(build: Any, name: str, at_h: float, m_per_s: float, spread: float = 0.0) -> Any:
    return replace(build.event(name, at_h * H, spread=spread), burn_m_per_s=m_per_s)


def drop(build: Any, at_h: float) -> Any:
    return replace(build.event("leave it", at_h * H), drops=("work-section",))


def step(at_h: float, **fields: Any) -> ConfigurationChange:
    given: dict[str, Any] = {"loads": {}, "stores": {}, "used_si": {}, **fields}
    return ConfigurationChange(at_s=at_h * H, label="test", **given)


def configured(build: Any, craft: Any, events: tuple[Any, ...] = (), changes: tuple[Any, ...] = ()) -> Any:
    return Configuration(craft, (build.phase("on", 0.0),), events, changes)


def jumps_of(build: Any, craft: Any, events: tuple[Any, ...], changes: tuple[Any, ...] = ()) -> Any:
    configuration = configured(build, craft, events, changes)
    quantities = {
        store.name: store_quantity(store, supply, {}, {}, (), 0.0)
        for supply in craft.supplies.values()
        for store in supply.stores
    }
    plan = planned_use(craft, configuration, 0.0, 0.0, CabinPressure(), {})
    return jumps_between(craft, configuration, events, quantities, 0.0, 100 * H, plan, 0.0)


def test_a_burn_costs_what_the_rocket_equation_says_of_the_mass_then(build: Any) -> None:
    """By hand: 10,000 + 1,400 + 300 - 10 x 5 kg, trapped propellant not being usable."""
    (jump,) = jumps_of(build, craft_of(build, trim_kg_per_h=5.0), (burn(build, "correct", 10, 100.0, 0.1),))
    assert jump.amount_si == pytest.approx(-11_650.0 * (1.0 - math.exp(-100.0 / VE)), rel=1e-12)
    assert (jump.kind, jump.supply, jump.name) == (LineKind.EVENT, "propellant", "correct")
    assert (jump.spread_fraction, jump.why) == (0.1, "")


def test_two_burns_cost_together_what_one_of_both_does(build: Any) -> None:
    craft = craft_of(build)
    parts = jumps_of(build, craft, (burn(build, "one", 10, 80.0), burn(build, "two", 20, 120.0)))
    (whole,) = jumps_of(build, craft, (burn(build, "both", 10, 200.0),))
    assert sum(part.amount_si for part in parts) == pytest.approx(whole.amount_si, rel=1e-12)


def test_a_burn_after_a_drop_moves_less_mass(build: Any) -> None:
    """By hand: 8,000 kg dry, and the side tank's 300 kg are gone with the section."""
    jumps = jumps_of(build, craft_of(build), (drop(build, 5), burn(build, "correct", 10, 100.0)))
    assert jumps[-1].amount_si == pytest.approx(-9_400.0 * (1.0 - math.exp(-100.0 / VE)), rel=1e-12)


def test_a_burn_that_asks_for_more_than_there_is_leaves_a_shortfall_and_a_word(build: Any) -> None:
    craft = craft_of(build)
    (jump,) = jumps_of(build, craft, (burn(build, "too much", 10, 1000.0),))
    due = 11_700.0 * (1.0 - math.exp(-1000.0 / VE))
    assert jump.amount_si == pytest.approx(-due, rel=1e-12)
    assert due > 1700.0
    assert jump.why == "too much asks for 3317 kg, and 1700 kg is usable by then"


def test_a_burn_is_something_that_happens_to_the_propellant_alone(build: Any) -> None:
    craft = craft_of(build)
    events = (burn(build, "correct", 10, 100.0),)
    assert happenings_s(events, "propellant", craft.propulsion) == (10 * H,)
    assert happenings_s(events, "oxygen", craft.propulsion) == ()


def test_what_a_dropped_module_holds_leaves_its_supplies_under_its_name(build: Any) -> None:
    jumps = jumps_of(build, craft_of(build), (drop(build, 5),))
    assert {(jump.supply, jump.kind, jump.name, jump.amount_si) for jump in jumps} == {
        ("oxygen", LineKind.SHUT, "work-section dropped (o2-work)", -8.0),
        ("propellant", LineKind.SHUT, "work-section dropped (side)", -300.0),
    }


@pytest.mark.parametrize("by_step", [False, True])
def test_no_word_brings_back_what_was_dropped(build: Any, by_step: bool) -> None:
    craft = craft_of(build)
    events = () if by_step else (drop(build, 5),)
    later = (step(9, loads={"lamp": LoadState.ON}, stores={"side": StoreState.FEEDING}),)
    changes = (step(5, drops=("work-section",)), *later) if by_step else later
    configuration = configured(build, craft, events, changes)
    assert configuration.loads_at(4.9 * H)["lamp"].state is LoadState.ON
    assert configuration.loads_at(50 * H)["lamp"].state is LoadState.OFF
    assert configuration.loads_at(50 * H)["fan"].state is LoadState.ON
    assert configuration.stores_at(50 * H)["side"] is StoreState.ISOLATED
    assert configuration.dropped_at(4.9 * H) == frozenset()
    assert configuration.dropped_at(5 * H) == {"work-section"}


def test_what_was_dropped_by_now_is_not_aboard(build: Any) -> None:
    plan = build.plan(build.option(50 * H), (build.phase("on", 0.0),))
    changes = (step(5, drops=("work-section",)),)
    snapshot = build.assess(craft_of(build), plan, at_s=6 * H, changes=changes).snapshot
    oxygen = snapshot.supplies["oxygen"]
    assert (oxygen.on_board_si, oxygen.usable_si, oxygen.isolated_si) == (50.0, 50.0, 0.0)
    assert [store.name for store in oxygen.stores] == ["o2-main"]
    assert sum(line.amount_si for line in oxygen.ledger[:-1]) == pytest.approx(50.0, rel=1e-9)


def statuses(build: Any, craft: Any, at_h: float = 0.0, changes: tuple[Any, ...] = ()) -> Any:
    plan = build.plan(build.option(50 * H), (build.phase("on", 0.0),))
    return build.assess(craft, plan, at_s=at_h * H, changes=changes).snapshot.supplies


def test_leaving_a_module_behind_gains_delta_v_by_hand(build: Any) -> None:
    """1,400 kg move 8,000 instead of 1,700 moving 10,000: 3000 ln(9400/8000) against 3000 ln(11700/10000)."""
    craft = craft_of(build)
    (one,) = drops_of(craft, configured(build, craft), statuses(build, craft), 0.0)
    assert (one.module, one.mass_kg, one.is_dropped) == ("work-section", 2000.0, False)
    assert one.delta_v_left_m_per_s == pytest.approx(VE * math.log(9400.0 / 8000.0), rel=1e-12)
    option = build.option(50 * H)
    before = need_of(craft, option, statuses(build, craft), 0.0, configured(build, craft))
    assert before.delta_v_left_m_per_s == pytest.approx(VE * math.log(1.17), rel=1e-12)


def test_once_dropped_the_delta_v_left_is_that_of_the_lighter_craft(build: Any) -> None:
    craft, changes = craft_of(build), (step(5, drops=("work-section",)),)
    configuration = configured(build, craft, (), changes)
    supplies = statuses(build, craft, 6.0, changes)
    (one,) = drops_of(craft, configuration, supplies, 6 * H)
    need = need_of(craft, build.option(50 * H), supplies, 6 * H, configuration)
    assert one.is_dropped
    assert one.delta_v_left_m_per_s == need.delta_v_left_m_per_s
    assert need.delta_v_left_m_per_s == pytest.approx(VE * math.log(9400.0 / 8000.0), rel=1e-12)


def test_control_must_be_confirmed_after_a_drop_and_not_before_it(build: Any) -> None:
    craft = craft_of(build)
    dropped = step(5, drops=("work-section",), confirms_control=True)
    early, late = step(4, confirms_control=True), step(7, confirms_control=True)

    def notices(at_h: float, *changes: Any) -> tuple[str, ...]:
        configuration = configured(build, craft, (), changes)
        supplies = statuses(build, craft, at_h, tuple(one for one in changes if one.at_s <= at_h * H))
        return control_notices(craft, configuration, changes, supplies, at_h * H)

    assert notices(4.5, early, dropped) == ()
    (said,) = notices(6.0, early, dropped)
    assert said.startswith("mass is now ")
    assert "9400" in said.replace(",", "").replace("\u202f", "").replace(" ", "")
    assert said.endswith(
        "after dropping work-section at T+5h00m: control with the new mass must be confirmed"
    )
    assert notices(6.5, early, dropped, late) == notices(6.0, early, dropped)
    assert notices(7.0, early, dropped, late) == ()


def test_a_drop_that_the_plan_made_must_be_confirmed_too(build: Any) -> None:
    craft = craft_of(build)
    configuration = configured(build, craft, (drop(build, 5),))
    assert control_notices(craft, configuration, (), statuses(build, craft), 4 * H) == ()
    assert len(control_notices(craft, configuration, (), statuses(build, craft), 6 * H)) == 1


def test_every_use_is_listed_at_its_present_rate_with_the_people_behind_it(build: Any) -> None:
    craft = craft_of(build)
    uses = (
        Use(name="crew", supply="oxygen", per_person_si_per_s=1e-5),
        Use(name="leak", supply="oxygen", leak_si_per_s=9e-5),
        Use(name="nothing", supply="oxygen", rate_si_per_s=0.0),
    )
    craft = replace(craft, uses=uses)
    plan = planned_use(craft, configured(build, craft), 0.0, 0.0, CabinPressure(), {})
    oxygen = [(one.name, one.people) for one in use_rates(craft, "oxygen", plan, 4)]
    assert oxygen == [("leak", None), ("crew", 4)]
    power = [(one.name, one.kind, one.rate_si_per_s) for one in use_rates(craft, "power", plan, 4)]
    assert power == [("lamp", LineKind.LOAD, 2.0), ("fan", LineKind.LOAD, 1.0)]
