"""A whole contingency: the same seed gives the same, the truth ends where it must, what was known when."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from contingency_builders import QUIET, H, lived
from simulated_builders import START_S, write_scenario

from console.engine.reading import Quality
from console.feed.simulated_contingency import Contingency
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulation_file import read_simulation
from console.scenario.load import load_scenario

CONFIGS = Path(__file__).parents[2] / "configs"
WANDERING = QUIET.replace("wander: 0 %", "wander: 8 %")


def test_the_same_seed_gives_the_same_and_another_seed_another(tmp_path: Path) -> None:
    first, second = (lived(tmp_path, 3.0, simulation=WANDERING) for _ in range(2))
    other = lived(tmp_path, 3.0, simulation=WANDERING, seed=12)
    for name, values_si in first.values_si.items():
        assert np.array_equal(values_si, second.values_si[name], equal_nan=True), name
    for name, held_si in first.held_si.items():
        assert np.array_equal(held_si, second.held_si[name]), name
    assert not np.array_equal(first.values_si["bus.current"], other.values_si["bus.current"])
    assert (first.seed, other.seed) == (11, 12)


def test_a_fault_more_leaves_all_other_luck_as_it_was(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.SPIKES, at_s=START_S, channel="tank.used", size_si=5.0, per_hour=9.0
    )
    plain, faulty = (lived(tmp_path, 3.0, *faults, simulation=WANDERING) for faults in ((), (fault,)))
    differing = [
        name
        for name, values_si in plain.values_si.items()
        if not np.array_equal(values_si, faulty.values_si[name], equal_nan=True)
    ]
    assert differing == ["tank.used"]


def test_steps_of_a_minute_come_out_where_steps_of_ten_seconds_do(tmp_path: Path) -> None:
    coarse, fine = (lived(tmp_path, 20.0, step_s=step_s) for step_s in (60.0, 10.0))
    for store, held_si in fine.store_held_si.items():
        assert coarse.store_held_si[store][-1] == pytest.approx(held_si[-1], rel=2e-4), store


def test_the_truth_goes_on_until_nothing_is_usable_or_the_horizon(tmp_path: Path) -> None:
    write_scenario(tmp_path, simulation=QUIET)
    scenario = load_scenario(tmp_path)
    simulation = read_simulation(scenario)
    recorded = Contingency(scenario, simulation, lends=True).run(START_S + 2 * H)
    assert recorded.times_s[-1] == START_S + 2 * H
    # 180 A*h usable at 7 A until T+20h, then 5.5 A, with the lamp on standby. The heater cycles in 25 min.
    power_s = 20 * H + (180 - 19 * 7.0) / 5.5 * H
    assert recorded.usable_gone_s["power"] == pytest.approx(power_s, abs=1500.0)
    assert recorded.ran_out_s["power"] == pytest.approx(power_s, abs=1500.0)
    # 3 kg of absorbent at 0.1 kg/h, from T+1h on.
    assert recorded.usable_gone_s["absorbent"] == pytest.approx(START_S + 30 * H, abs=1.0)
    assert recorded.horizon_s == recorded.truth_times_s[-1] == 148 * H, "need and a hundred hours"
    assert "water" not in recorded.usable_gone_s
    little = replace(simulation, initial_si={**simulation.initial_si, "tank": 10.0, "o2-1": 1.0})
    ended = Contingency(scenario, little, lends=True).run(START_S + 2 * H)
    assert max(ended.usable_gone_s.values()) == pytest.approx(ended.horizon_s, abs=300.0)
    assert ended.horizon_s < 48 * H, "nothing is left to follow"
    short = Contingency(scenario, simulation).run(START_S + 2 * H, horizon_s=START_S + 3 * H)
    assert short.horizon_s == START_S + 3 * H
    assert short.usable_gone_s == {}


def test_what_is_lent_keeps_the_ends_of_supplies_apart(tmp_path: Path) -> None:
    write_scenario(
        tmp_path,
        simulation=QUIET.replace("o2-1: 10 MPa", "o2-1: 10 MPa, bat-1: 12 A*h, bat-2: 12 A*h, tank: 20 kg"),
    )
    scenario = load_scenario(tmp_path)
    ends = [
        Contingency(scenario, read_simulation(scenario), lends=lends).run(START_S + H).usable_gone_s["water"]
        for lends in (True, False)
    ]
    # Of 25 kg 287.5 W of lamp, fan and people evaporate 0.418 kg/h; without power 200 W evaporate 0.291 kg/h.
    assert ends[0] == pytest.approx(START_S + 25.0 / (0.418 + 0.2) * H, rel=0.06), "dimmer from T+20h on"
    assert ends[1] == pytest.approx(START_S + 25.0 / (0.291 + 0.2) * H, rel=0.02)


@pytest.mark.parametrize("lends", [True, False])
def test_lent_absorbent_keeps_the_air_clean(lends: bool) -> None:
    scenario = load_scenario(CONFIGS / "tern")
    simulation = read_simulation(scenario)
    spent = {name: 0.0 if name.startswith("cart") else held for name, held in simulation.initial_si.items()}
    start_s = simulation.start_s
    recorded = Contingency(scenario, replace(simulation, initial_si=spent), lends=lends).run(
        start_s + 3 * H, horizon_s=start_s + 3 * H
    )
    risen_pa = float(recorded.truth.cabin["carbon_dioxide_pa"][-1]) - 560.0
    # Four people in 19 m^3 give off some 0.15 kg/h, which is 430 Pa an hour where nothing takes it up.
    assert (risen_pa < 250.0) is lends
    assert (risen_pa > 1000.0) is not lends
    assert recorded.ran_out_s["absorbent"] == pytest.approx(start_s), "told all the same"


def test_a_batterys_meter_shows_its_share_of_the_bus(tmp_path: Path) -> None:
    recorded = lived(tmp_path, 2.0)
    bus_a, half_a = (recorded.values_si[f"{name}.current"] for name in ("bus", "bat-2"))
    assert half_a == pytest.approx(0.5 * bus_a, rel=1e-9)


def test_what_was_left_behind_is_no_longer_held() -> None:
    scenario = load_scenario(CONFIGS / "tern")
    simulation = replace(read_simulation(scenario), start_s=99 * H)
    recorded = Contingency(scenario, simulation).run(100 * H, horizon_s=100 * H)
    suits_kg = simulation.initial_si["water-suit"]
    before, after = (
        float(np.interp(at_h * H, recorded.truth_times_s, recorded.held_si["water"]))
        for at_h in (99.4, 99.52)
    )
    # What four people use in seven minutes, at most half a kilogram, comes on top.
    assert before - after == pytest.approx(suits_kg, abs=0.5)


def test_usable_leaves_out_what_is_shut_and_what_is_residual(tmp_path: Path) -> None:
    recorded = lived(tmp_path, 1.0)
    assert recorded.usable_si["power"][0] == pytest.approx((2 * 90 + 0) * 3600.0), "the spare is protected"
    assert recorded.held_si["power"][0] == pytest.approx(240 * 3600.0)
    assert recorded.usable_si["oxygen"][0] < recorded.store_held_si["o2-1"][0]
    opened = lived(tmp_path, 2.0, events="  - {name: open, at: T+2h, set: {o2-2: feeding}}\n")
    rise = np.diff(opened.usable_si["oxygen"]).max()
    assert rise == pytest.approx(2.0, abs=0.02)


def test_the_reserve_is_not_usable() -> None:
    scenario = load_scenario(CONFIGS / "tern")
    recorded = Contingency(scenario, read_simulation(scenario)).run(26 * H, horizon_s=26 * H)
    reserve_kg = scenario.craft.supplies["water"].reserve_si
    assert reserve_kg > 0.0
    counted = ("water-1", "water-2", "water-drink")
    held_kg = sum(float(recorded.store_held_si[name][-1]) for name in counted)
    residual_kg = sum(
        store.residual_si for store in scenario.craft.supplies["water"].stores if store.name in counted
    )
    assert recorded.usable_si["water"][-1] == pytest.approx(held_kg - residual_kg - reserve_kg)


def test_the_arrival_is_drawn_within_its_spread() -> None:
    scenario = load_scenario(CONFIGS / "tern")
    simulation = replace(read_simulation(scenario), start_s=100 * H)
    option = scenario.plan.options["homeward"]
    arrivals = []
    for seed in range(60):
        recorded = Contingency(scenario, simulation, seed=seed).run(100 * H, horizon_s=100 * H)
        arrivals.append(recorded.arrival_s)
        assert recorded.need_s == pytest.approx(recorded.arrival_s + 2.5 * H)
    assert np.mean(arrivals) == pytest.approx(option.arrival_s, abs=4 * 480 / math.sqrt(60))
    assert np.std(arrivals) == pytest.approx(480.0, rel=4 / math.sqrt(120))


def test_events_differ_from_the_plan_by_the_factor_that_is_told(tmp_path: Path) -> None:
    flush = "  - {name: flush, at: T+2h, uses: {water: 10 kg}, spread: 20 %}\n"
    recorded, plain = lived(tmp_path, 2.0, events=flush), lived(tmp_path, 2.0)
    taken = plain.held_si["water"][-1] - recorded.held_si["water"][-1]
    assert taken == pytest.approx(10.0 * recorded.drawn.event_factors["flush"], rel=1e-9)
    assert recorded.drawn.event_factors["flush"] != 1.0


def test_the_newest_readings_at_a_moment_are_those_of_then(tmp_path: Path) -> None:
    fault = SimulatedFault(
        kind=FaultKind.DROP_OUT, channel="bus.current", at_s=START_S + H, until_s=START_S + 2 * H
    )
    recorded = lived(tmp_path, 3.0, fault)
    before = recorded.feed_at(START_S + 90.0)
    assert before.readings["bus.current"].at_s == START_S + 60.0
    assert before.readings["bus.current"].value_si == recorded.values_si["bus.current"][1]
    assert before.quality is Quality.GOOD
    during = recorded.feed_at(START_S + 1.5 * H).readings["bus.current"]
    assert (during.quality, during.at_s) == (Quality.MISSING, START_S + H - 60.0)
    assert recorded.feed_at(START_S - 1.0).quality is Quality.MISSING


def test_of_a_clock_that_steps_only_times_that_rise_arrive(tmp_path: Path) -> None:
    fault = SimulatedFault(kind=FaultKind.CLOCK_STEP, by_s=-300.0, at_s=START_S + H, until_s=START_S + 2 * H)
    recorded = lived(tmp_path, 3.0, fault)
    arrived = recorded.arrived("bus.current", START_S, START_S + 3 * H)
    assert (np.diff(arrived.times_s) > 0.0).all()
    # From T+2h on the clock is five minutes slow: what it says is taken again once it has caught up.
    assert len(arrived.times_s) == 180 - 5
    series = recorded.series("bus.current", START_S + H, START_S + 1.5 * H)
    assert len(series) == len(recorded.arrived("bus.current", START_S + H, START_S + 1.5 * H).times_s)
