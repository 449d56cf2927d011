"""The good scenario, value by value: what was written in a person's units stands in the models in SI."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import pytest
from scenario_builders import edited, write_files

from console.craft.model import Activity, Fluid, HeatSource, LoadState, Metabolic, StoreKind, StoreState
from console.instants import format_utc
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.scenario.load import Scenario, load_scenario
from console.units import Dimension

POUND_KG = 0.45359237
"""Exact by the agreement of 1959: NIST SP 811, appendix B."""
H = 3600.0


def test_identity_epoch_and_people_are_read(good: Scenario) -> None:
    assert good.slug == "low-burrow"
    assert good.craft.name == "Low Burrow"
    assert format_utc(good.craft.epoch) == "2043-01-09T06:00:00Z"
    assert good.craft.crew_count == 3


def test_given_rates_replace_the_published_ones_and_the_others_stay(good: Scenario) -> None:
    rates = good.craft.person_rates
    assert rates[Activity.NOMINAL].oxygen_kg_per_s == pytest.approx(0.84 / 86400.0, rel=1e-12)
    assert rates[Activity.NOMINAL].heat_w == 137.0
    default = DEFAULT_PERSON_RATES[Activity.NOMINAL]
    assert rates[Activity.NOMINAL].carbon_dioxide_kg_per_s == default.carbon_dioxide_kg_per_s
    assert rates[Activity.ASLEEP] == DEFAULT_PERSON_RATES[Activity.ASLEEP]


def test_a_battery_is_in_ampere_seconds_and_its_share_that_stays_in_is_of_its_capacity(
    good: Scenario,
) -> None:
    supply, store = good.craft.store("bank-a")
    assert (supply.name, supply.dimension, supply.rate_unit.text) == ("power", Dimension.CHARGE, "A")
    assert store.kind is StoreKind.BATTERY
    assert store.capacity_si == pytest.approx(300.0 * H)
    assert store.residual_si == pytest.approx(30.0 * H)
    assert (store.peukert, store.rated_current_a) == (1.2, 15.0)
    assert store.current is not None
    assert store.current.channel == "bank-a.current"
    assert supply.bus_voltage_v == 24.0
    assert supply.rate is not None
    assert supply.rate.channel == "bus.current"


def test_states_of_stores_are_read_and_feeding_where_nothing_is_said(good: Scenario) -> None:
    states = {name: good.craft.store(name)[1].state for name in ("bank-a", "bank-b", "flask-2")}
    assert states == {
        "bank-a": StoreState.FEEDING,
        "bank-b": StoreState.PROTECTED,
        "flask-2": StoreState.ISOLATED,
    }


def test_a_gas_has_its_pressures_in_pascal(good: Scenario) -> None:
    _, gauged = good.craft.store("flask-1")
    assert (gauged.fluid, gauged.volume_m3, gauged.residual_pressure_pa) == (Fluid.OXYGEN, 0.05, 0.5e6)
    _, constant = good.craft.store("flask-2")
    assert constant.pressure is not None
    assert constant.temperature is not None
    assert constant.pressure.constant_si == pytest.approx(12e6)
    assert constant.temperature.constant_si == pytest.approx(290.0)


def test_pounds_become_kilograms_by_the_exact_factor(good: Scenario) -> None:
    supply, store = good.craft.store("trim")
    assert store.capacity_si == pytest.approx(100.0 * POUND_KG, rel=1e-15)
    assert store.quantity is not None
    assert store.quantity.constant_si == pytest.approx(50.0 * POUND_KG, rel=1e-15)
    assert supply.rate_unit.text == "lb/h"
    weeping = next(use for use in good.craft.uses if use.name == "weeping")
    assert weeping.rate_si_per_s == pytest.approx(0.2 * POUND_KG / H, rel=1e-12)


@pytest.mark.parametrize(
    ("written", "kg_per_s"),
    [
        ("2.4 kg/day", 2.4 / 86400.0),
        ("0.1 kg/h", 0.1 / 3600.0),
        ("100 g/h", 0.1 / 3600.0),
        ("1 lb/day", POUND_KG / 86400.0),
        ("1 lb/h", POUND_KG / 3600.0),
    ],
)
def test_any_unit_of_mass_per_time_will_do(
    files: Mapping[str, str], tmp_path: Path, written: str, kg_per_s: float
) -> None:
    craft = edited(files["craft.yaml"], "per_person: 2.4 kg/day", f"per_person: {written}")
    scenario = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft}))
    drinking = next(use for use in scenario.craft.uses if use.name == "drinking")
    assert drinking.per_person_si_per_s == pytest.approx(kg_per_s, rel=1e-12)


def test_watts_are_amps_on_the_bus_and_standby_is_nothing_where_not_said(good: Scenario) -> None:
    lamp, fan, beacon = good.craft.loads.values()
    assert lamp.on_si_per_s == pytest.approx(48.0 / 24.0)
    assert (lamp.standby_si_per_s, lamp.duty_fraction, lamp.heat_fraction) == (0.5, 0.5, 0.6)
    assert (lamp.priority, lamp.title, lamp.supply) == (7, "the lamp", "power")
    assert (fan.on_si_per_s, fan.standby_si_per_s, fan.duty_fraction, fan.heat_fraction) == (
        2.0,
        0.0,
        1.0,
        1.0,
    )
    assert (beacon.heat_fraction, beacon.priority) == (0.0, 5)
    assert good.craft.load_spread_fraction == pytest.approx(0.04)


def test_amps_are_watts_where_the_supply_counts_energy(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = files["craft.yaml"]
    for old, new in (
        ("    unit: A*h\n", "    unit: kW*h\n"),
        ("    rate: {channel: bus.current}\n", ""),
        ("capacity: 300 A*h, residual: 10 %", "capacity: 7 kW*h, residual: 0.2 kW*h"),
        ("used: {channel: bank-a.used}", "used: 1 kW*h"),
        ("capacity: 80 A*h", "capacity: 2 kW*h"),
    ):
        craft = edited(craft, old, new)
    plan = edited(files["plan.yaml"], "amount: 20 A*h", "amount: 0.4 kW*h")
    plan = edited(plan, "power: 5 A*h", "power: 300 W*h")
    scenario = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft, "plan.yaml": plan}))
    assert scenario.craft.loads["lamp"].on_si_per_s == pytest.approx(48.0)
    assert scenario.craft.loads["fan"].on_si_per_s == pytest.approx(2.0 * 24.0)
    assert scenario.craft.store("bank-a")[1].capacity_si == pytest.approx(7e3 * H)
    assert scenario.craft.supplies["power"].rate_unit.text == "kW"


def test_a_load_says_whether_it_stays_and_what_it_is_of_no_use_without(
    good: Scenario, files: Mapping[str, str], tmp_path: Path
) -> None:
    assert all(not load.stays and load.needs == () for load in good.craft.loads.values())
    craft = files["craft.yaml"].replace(
        "{on: 2.0 A, priority: 1}", "{on: 2.0 A, priority: 1, stays: true, needs: [beacon, lamp]}"
    )
    fan = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft})).craft.loads["fan"]
    assert (fan.stays, fan.needs) == (True, ("beacon", "lamp"))


def test_a_level_takes_over_what_it_is_like_and_every_load_has_a_state(good: Scenario) -> None:
    levels = {name: dict(level.states) for name, level in good.craft.levels.items()}
    on, standby, off = LoadState.ON, LoadState.STANDBY, LoadState.OFF
    assert levels["full"] == {"lamp": on, "fan": on, "beacon": on}
    assert levels["dim"] == {"lamp": standby, "fan": on, "beacon": on}
    assert levels["dark"] == {"lamp": off, "fan": on, "beacon": on}


def test_a_level_may_be_like_one_that_is_declared_below_it(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = edited(
        files["craft.yaml"], "full: {lamp: on, fan: on, beacon: on}", "full: {like: base, fan: off}"
    )
    craft = edited(craft, "lamp: off}\n", "lamp: off}\n  base: {lamp: on, fan: on}\n")
    scenario = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft}))
    states = scenario.craft.levels["full"].states
    assert states == {"lamp": LoadState.ON, "fan": LoadState.OFF, "beacon": LoadState.OFF}


def test_uses_say_how_they_are_reckoned(good: Scenario) -> None:
    breathing, seep, evaporator, _, scrubbing, _ = good.craft.uses
    assert (breathing.metabolic, breathing.spread_fraction) == (Metabolic.OXYGEN, 0.05)
    assert seep.leak_si_per_s == pytest.approx(0.01 / H)
    assert seep.at_pressure_pa == pytest.approx(101e3)
    assert evaporator.evaporates_heat_of == (HeatSource.LOADS, HeatSource.CREW)
    assert evaporator.feed_temperature_k == pytest.approx(283.15)
    assert scrubbing.metabolic is Metabolic.CARBON_DIOXIDE


def test_a_supply_may_have_a_band_of_its_own(good: Scenario) -> None:
    water, oxygen = good.craft.supplies["water"].bands, good.craft.supplies["oxygen"].bands
    assert (water.advisory_s, water.caution_s, water.warning_s) == (24 * H, 12 * H, 3 * H)
    assert (water.deadband_s, water.on_delay_s, water.off_delay_s) == (H, 60.0, 120.0)
    assert (oxygen.advisory_s, oxygen.caution_s, oxygen.warning_s) == (24 * H, 18 * H, 3 * H)
    assert good.craft.supplies["water"].reserve_si == 2.0


def test_the_errors_of_a_temperature_channel_are_differences(good: Scenario) -> None:
    channel = good.craft.channels["flask.temperature"]
    assert (channel.accuracy_si, channel.resolution_si) == (pytest.approx(0.5), pytest.approx(0.1))
    assert (channel.low_si, channel.high_si) == (pytest.approx(253.15), pytest.approx(333.15))


def test_channels_take_numbers_in_their_own_unit_and_quantities(good: Scenario) -> None:
    current, pressure = good.craft.channels["bus.current"], good.craft.channels["flask-1.pressure"]
    assert (current.low_si, current.high_si, current.stale_after_s) == (0.0, 60.0, 30.0)
    assert (pressure.high_si, pressure.accuracy_si) == (pytest.approx(20e6), pytest.approx(50e3))
    assert good.craft.channels["bank-a.used"].high_si == pytest.approx(300.0 * H)
    assert good.craft.channels["bank-a.current"].low_si == -10.0
    silent = good.craft.channels["butt.quantity"]
    assert (silent.low_si, silent.high_si, silent.accuracy_si, silent.stale_after_s) == (
        None,
        None,
        0.0,
        60.0,
    )


def test_the_plan_is_in_seconds_since_the_epoch_and_events_in_order_of_time(good: Scenario) -> None:
    settle, wait = good.plan.phases
    assert (settle.start_s, settle.level, dict(settle.crew)) == (0.0, "full", {Activity.NOMINAL: 3})
    assert (wait.start_s, dict(wait.crew)) == (6 * H, {Activity.ASLEEP: 1, Activity.NOMINAL: 2})
    assert [(event.name, event.at_s / H) for event in good.plan.events] == [
        ("flush the lock", 20.0),
        ("open flask two", 30.0),
        ("charge the lift bank", 40.0),
    ]
    flush, opening, charge = good.plan.events
    assert (dict(flush.uses_si), flush.spread_fraction) == ({"oxygen": 1.2}, 0.1)
    assert dict(opening.sets) == {"flask-2": StoreState.FEEDING}
    assert charge.transfer is not None
    assert (charge.transfer.source, charge.transfer.target_store) == ("power", "bank-b")
    assert (charge.transfer.amount_si, charge.transfer.efficiency_fraction) == (pytest.approx(20.0 * H), 0.8)


def test_need_is_arrival_and_recovery_and_hold(good: Scenario) -> None:
    bell = good.plan.options["bell"]
    assert bell.need_s == 76.0 * H
    assert (bell.arrival_spread_s, bell.decide_by_s, bell.note) == (1.5 * H, 24 * H, "by the bell")
    lift = good.plan.options["lift"]
    assert (lift.need_s, lift.delta_v_m_per_s, lift.decide_by_s) == (50.0 * H, 3.0, None)
    assert [phase.name for phase in good.plan.phases_under(lift)] == ["settle", "wait", "ascent"]
    assert (good.plan.committed, [watch.name for watch in good.plan.watches]) == ("bell", ["first", "second"])


def test_procedures_are_read_with_their_actions(good: Scenario) -> None:
    procedure = good.procedures["dim-down"]
    first, second, third, fourth, fifth = procedure.steps
    assert (first.id, first.verify_within_s, dict(first.action.loads)) == (
        "1",
        180.0,
        {"lamp": LoadState.STANDBY},
    )
    assert dict(second.action.stores) == {"flask-2": StoreState.ISOLATED}
    assert (second.requires, second.caution) == (("1",), "Check flask one first.")
    assert dict(third.action.used_si) == {"can": 2.0}
    assert (fourth.action.level, fourth.requires) == ("dim", ("1", "2"))
    assert (fifth.action.level, dict(fifth.action.loads)) == (None, {})


def test_the_models_cannot_be_written_to_and_keep_the_order_of_the_file(good: Scenario) -> None:
    craft, plan = good.craft, good.plan
    mappings: list[Mapping[object, object]] = [
        *(craft.supplies, craft.loads, craft.levels, craft.channels, craft.person_rates, good.procedures),
        *(craft.levels["dim"].states, plan.options, plan.phases[0].crew, plan.phases[1].crew),
        *(plan.events[0].uses_si, plan.events[1].sets, good.procedures["dim-down"].steps[0].action.loads),
    ]
    for mapping in mappings:
        assert isinstance(mapping, MappingProxyType)
    with pytest.raises(TypeError):
        craft.supplies["power"] = craft.supplies["water"]  # type: ignore[index]  # what is tested
    assert list(craft.supplies) == ["power", "oxygen", "water", "absorbent", "ballast"]
    assert list(craft.loads) == ["lamp", "fan", "beacon"]
    assert [store.name for store in craft.supplies["power"].stores] == ["bank-a", "bank-b"]


def test_a_craft_without_loads_has_the_one_level_all_off(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = files["craft.yaml"]
    start, end = craft.index("loads:\n"), craft.index("uses:\n")
    craft = craft[:start] + craft[end:]
    plan = files["plan.yaml"]
    for level in ("full", "dim", "dark"):
        plan = edited(plan, f", level: {level}", "")
    scenario = load_scenario(write_files(tmp_path, {"craft.yaml": craft, "plan.yaml": plan}))
    assert dict(scenario.craft.levels["all off"].states) == {}
    assert {phase.level for phase in scenario.plan.phases} == {"all off"}
    assert dict(scenario.procedures) == {}


def test_text_from_outside_is_cleaned(files: Mapping[str, str], tmp_path: Path) -> None:
    craft = edited(files["craft.yaml"], "note: for the lift", r'note: "red \e[31m and \u202ewrong way"')
    scenario = load_scenario(write_files(tmp_path, {**files, "craft.yaml": craft}))
    note = scenario.craft.store("bank-b")[1].note
    assert "\x1b" not in note
    assert "\u202e" not in note
    assert "wrong way" in note
