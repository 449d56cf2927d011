"""The current of every phase and event ahead against the limits of bus and batteries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from console.craft.model import LoadState, StoreKind, StoreState, Use
from console.craft.plan import Event, Phase, Transfer
from console.engine.configuration import Configuration
from console.engine.peaks import currents_not_known, peaks_of
from console.engine.snapshot import LineKind, Peak

AH = H = 3600.0
ON, STANDBY, OFF = LoadState.ON, LoadState.STANDBY, LoadState.OFF
LEVELS = {"full": {"radio": ON, "heater": ON, "pump": ON}, "quiet": {"radio": STANDBY, "pump": ON}}


def battery(build: Any, name: str, capacity_ah: float, **fields: Any) -> Any:
    return build.store(name, kind=StoreKind.BATTERY, capacity_si=capacity_ah * AH, **fields)


def craft(build: Any, *stores: Any, scale: float = 1.0, **fields: Any) -> Any:
    """Radio 4 A (1 A standby), heater 10 A a fifth of the time, pump 6 A half of the time."""
    supply = {"unit": "A*h", "bus_voltage_v": 28.0, **fields}
    unit = supply.pop("unit")
    return build.craft(
        build.supply(
            "power", unit, *(stores or (battery(build, "a", 100.0), battery(build, "b", 300.0))), **supply
        ),
        loads=(
            build.load("radio", 4.0 * scale, 1.0 * scale),
            build.load("heater", 10.0 * scale, duty_fraction=0.2),
            build.load("pump", 6.0 * scale, duty_fraction=0.5),
        ),
        levels=LEVELS,
    )


def phases(build: Any) -> tuple[Phase, ...]:
    return (build.phase("stabilise", 0.0, "full"), build.phase("coast", 8 * H, "quiet"))


def look(
    build: Any, made: Any, *events: Event, at_s: float = 0.0, changes: Any = (), measured: Any = None
) -> dict[str, Peak]:
    flown = phases(build)
    configuration = Configuration(made, flown, events, changes)
    found = peaks_of(made, configuration, events, flown, at_s, 100 * H, measured)
    assert [peak.at_s for peak in found] == sorted(peak.at_s for peak in found)
    assert len({peak.name for peak in found}) == len(found)
    return {peak.name: peak for peak in found}


def use(build: Any, name: str, at_s: float, amount_ah: float, lasts_s: float = 0.0, **fields: Any) -> Event:
    made: Event = build.event(name, at_s, {"power": amount_ah * AH}, **fields)
    return replace(made, lasts_s=lasts_s)


def test_each_phase_has_its_mean_by_duty_and_its_peak_with_all_that_cycles_on(build: Any) -> None:
    found = look(build, craft(build))
    assert list(found) == ["stabilise", "coast"]
    assert (found["stabilise"].mean_a, found["stabilise"].peak_a) == (4.0 + 2.0 + 3.0, 20.0)
    assert (found["coast"].mean_a, found["coast"].peak_a) == (1.0 + 3.0, 7.0)
    assert (found["coast"].at_s, found["coast"].supply, found["coast"].is_over) == (8 * H, "power", False)


def test_a_phase_that_is_over_is_not_shown_and_the_one_in_progress_is_of_now(build: Any) -> None:
    found = look(build, craft(build), at_s=9 * H)
    assert list(found) == ["coast"]
    assert found["coast"].at_s == 9 * H


def test_a_load_that_a_logged_step_holds_counts_as_it_is(build: Any) -> None:
    found = look(build, craft(build), changes=(build.step(-60.0, heater=OFF, pump=OFF),))
    # The heater stays off by the step until the plan next moves it, and so does the pump, in both phases.
    assert (found["stabilise"].peak_a, found["coast"].peak_a) == (4.0, 1.0)


def test_a_step_supposed_ahead_has_a_peak_of_its_own(build: Any) -> None:
    found = look(build, craft(build), changes=(build.step(2 * H, radio=OFF),))
    assert list(found) == ["stabilise", "stabilise, after a step", "coast"]
    assert found["stabilise, after a step"].peak_a == 16.0


def test_uses_of_the_supply_are_part_of_its_current(build: Any) -> None:
    made = replace(
        craft(build),
        uses=(
            Use(name="lamps", supply="power", per_person_si_per_s=0.25),
            Use(name="bus itself", supply="power", rate_si_per_s=0.5),
        ),
    )
    found = look(build, made)
    assert (found["coast"].mean_a, found["coast"].peak_a) == (4.0 + 1.5, 7.0 + 1.5)


def test_an_event_that_lasts_adds_what_it_takes_to_the_phase_then_and_to_one_that_begins_meanwhile(
    build: Any,
) -> None:
    found = look(build, craft(build), use(build, "survey", 6 * H, 20.0, lasts_s=4 * H))
    assert list(found) == ["stabilise", "survey", "coast"]
    assert (found["survey"].mean_a, found["survey"].peak_a) == (9.0 + 5.0, 20.0 + 5.0)
    assert (found["coast"].mean_a, found["coast"].peak_a) == (4.0 + 5.0, 7.0 + 5.0)
    assert found["coast"].why == "with survey still going on"
    assert found["survey"].why == ""


def test_an_event_in_progress_now_is_part_of_the_current_of_now_and_one_that_is_over_is_not(
    build: Any,
) -> None:
    survey = use(build, "survey", 1 * H, 20.0, lasts_s=4 * H)
    assert look(build, craft(build), survey, at_s=3 * H)["stabilise"].peak_a == 25.0
    assert look(build, craft(build), survey, at_s=5 * H)["stabilise"].peak_a == 20.0


def test_the_current_of_an_event_that_does_not_say_how_long_it_lasts_is_not_known(build: Any) -> None:
    found = look(build, craft(build), use(build, "survey", 6 * H, 20.0))["survey"]
    assert found.peak_a == 20.0
    assert found.why == "its own current is not known and not in these figures, because it has no lasts"


def test_an_event_that_takes_nothing_from_the_supply_says_so(build: Any) -> None:
    found = look(build, craft(build), build.event("drill", 9 * H, {"oxygen": 1.0}))["drill"]
    assert (found.mean_a, found.why) == (4.0, "takes nothing from power: the current of what runs then")


def test_a_bus_above_its_limit_is_over_and_one_at_its_limit_is_not(build: Any) -> None:
    found = look(build, craft(build, current_limit_a=19.9))
    assert (found["stabilise"].bus_limit_a, found["stabilise"].is_over) == (19.9, True)
    assert found["coast"].is_over is False
    assert look(build, craft(build, current_limit_a=20.0))["stabilise"].is_over is False


def test_the_battery_nearest_to_its_limit_is_named_by_its_share_of_the_capacity(build: Any) -> None:
    stores = (
        battery(build, "a", 100.0, current_limit_a=4.0),
        battery(build, "b", 300.0, current_limit_a=20.0),
    )
    found = look(build, craft(build, *stores))["stabilise"]
    assert (found.store, found.store_peak_a, found.store_limit_a) == ("a", 5.0, 4.0)
    assert found.is_over
    assert found.bus_limit_a is None


def test_measured_shares_are_used_for_just_the_batteries_they_were_measured_on(build: Any) -> None:
    stores = (
        battery(build, "a", 100.0, current_limit_a=14.0),
        battery(build, "b", 300.0, current_limit_a=50.0),
    )
    measured: Mapping[str, Mapping[str, float]] = {"power": {"a": 0.75, "b": 0.25}}
    found = look(build, craft(build, *stores), measured=measured)["stabilise"]
    assert (found.store, found.store_peak_a, found.is_over) == ("a", 15.0, True)
    shut = build.event("shut b", 9 * H, sets={"b": StoreState.ISOLATED})
    after = look(build, craft(build, *stores), shut, measured=measured)["shut b"]
    assert (after.store, after.store_peak_a, after.is_over) == ("a", 7.0, False)


def test_a_battery_that_carries_the_bus_alone_after_the_others_are_shut_carries_all_of_it(build: Any) -> None:
    stores = (battery(build, "a", 100.0, current_limit_a=6.0), battery(build, "b", 300.0))
    shut = build.event("shut b", 9 * H, sets={"b": StoreState.ISOLATED})
    found = look(build, craft(build, *stores), shut)
    assert (found["coast"].store_peak_a, found["coast"].is_over) == (1.75, False)
    assert (found["shut b"].store_peak_a, found["shut b"].is_over, found["shut b"].why) == (7.0, True, "")


def test_a_supply_in_energy_has_the_same_currents_as_one_in_charge(build: Any) -> None:
    charge = look(build, craft(build), use(build, "survey", 6 * H, 20.0, lasts_s=4 * H))
    volts = 28.0
    stores = [
        battery(build, "a", 100.0 * volts),
        battery(build, "b", 300.0 * volts),
    ]
    made = craft(build, *stores, scale=volts, unit="kW*h")
    survey = use(build, "survey", 6 * H, 20.0 * volts, lasts_s=4 * H)
    energy = look(build, made, survey)
    for name, peak in charge.items():
        assert energy[name].mean_a == pytest.approx(peak.mean_a, rel=1e-12)
        assert energy[name].peak_a == pytest.approx(peak.peak_a, rel=1e-12)


def test_energy_without_a_bus_voltage_has_no_peaks_and_says_so(build: Any) -> None:
    made = craft(build, unit="kW*h", bus_voltage_v=None)
    assert look(build, made) == {}
    assert currents_not_known(made) == (
        "power: no bus_voltage, so its currents are not known and not held against any limit",
    )
    assert currents_not_known(craft(build)) == ()


def test_a_bus_that_no_store_feeds_is_told(build: Any) -> None:
    shut = build.event("shut both", 9 * H, sets={"a": StoreState.ISOLATED, "b": StoreState.ISOLATED})
    assert look(build, craft(build), shut)["shut both"].why == "no store feeds then"


def charging(build: Any, amount_ah: float, efficiency: float, lasts_s: float) -> Event:
    transfer = Transfer(
        source="power", target_store="entry", amount_si=amount_ah * AH, efficiency_fraction=efficiency
    )
    made: Event = build.event("top up", 20 * H, transfer=transfer)
    return replace(made, lasts_s=lasts_s)


def with_entry(build: Any, **fields: Any) -> Any:
    entry = battery(build, "entry", 40.0, state=StoreState.PROTECTED, quantity=build.constant(10.0 * AH))
    bank = (battery(build, "a", 100.0, **fields), battery(build, "b", 300.0, **fields))
    return craft(build, *bank, entry)


def test_a_charge_costs_what_leaves_the_others_in_amps_and_in_hours(build: Any) -> None:
    found = look(build, with_entry(build), charging(build, 18.0, 0.75, 6 * H))["top up"]
    # 18 / 0.75 = 24 A·h over 6 h: 4 A on top of the 4 A of the quiet level, which it would feed for 6 h.
    assert (found.mean_a, found.peak_a) == (4.0 + 4.0, 7.0 + 4.0)
    assert found.why == "costs 24.0 A·h, about 6.0 h of the draw then"


def test_what_a_charge_costs_in_hours_is_what_the_ledger_and_the_endurance_say(build: Any) -> None:
    made = with_entry(build)
    flown = phases(build)
    event = charging(build, 18.0, 0.75, 6 * H)
    option = build.option(60 * H)
    without = build.assess(made, build.plan(option, flown)).snapshot.supplies["power"]
    charged = build.assess(made, build.plan(option, flown, (event,))).snapshot.supplies["power"]
    lines = {line.name: line for line in charged.ledger if line.kind is LineKind.TRANSFER}
    assert lines["top up"].amount_si == pytest.approx(-24.0 * AH)
    assert without.endurance_plan_s is not None
    assert charged.endurance_plan_s is not None
    lost_s = (without.endurance_plan_s.p50 or 0.0) - (charged.endurance_plan_s.p50 or 0.0)
    assert lost_s == pytest.approx(6.0 * H)
    said = look(build, made, event)["top up"].why
    assert f"costs {-lines['top up'].amount_si / AH:.1f} A·h, about {lost_s / H:.1f} h" in said


def test_the_hours_that_a_charge_costs_count_what_batteries_lose_by_the_rate(build: Any) -> None:
    made = with_entry(build, peukert=1.2, rated_current_a=0.5)
    event = charging(build, 18.0, 0.75, 6 * H)
    option = build.option(30 * H)
    plain = build.assess(made, build.plan(option, phases(build))).snapshot.supplies["power"]
    charged = build.assess(made, build.plan(option, phases(build), (event,))).snapshot.supplies["power"]
    assert plain.endurance_plan_s is not None
    assert charged.endurance_plan_s is not None
    lost_h = ((plain.endurance_plan_s.p50 or 0.0) - (charged.endurance_plan_s.p50 or 0.0)) / H
    assert lost_h < 5.0
    said = look(build, made, event)["top up"].why
    hours = float(said.split("about ")[1].split(" h")[0])
    assert hours == pytest.approx(lost_h, abs=0.1)
