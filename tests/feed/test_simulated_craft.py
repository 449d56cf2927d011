"""The simulated craft's truth against sums reckoned by hand, and against its own books."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_builders import SIMULATION, START_S, make_source, step, write_scenario

from console.craft.model import Fluid, LoadState, StoreState
from console.feed.simulated import SimulatedSource
from console.feed.simulated_craft import MOST_STEPS, SimulatedCraft
from console.feed.simulated_loads import LONGEST_CYCLE_S, SHORTEST_CYCLE_S
from console.feed.simulation_file import read_simulation
from console.feed.wander import Wander
from console.physics.gas import mass_kg
from console.scenario.load import load_scenario

H = 3600.0
AH = 3600.0
ALL_ON_A = 2.0 + 3.0 + 8.0 * 0.25
CHARGE = (
    "  - {name: charge, at: T+2h, transfer: {from: power, to: bat-spare, amount: 6 A*h, efficiency: 50 %}}\n"
)
WANDERING = SIMULATION.replace("wander: 0 %", "wander: 8 %")


def drop_si(source: SimulatedSource, before: dict[str, float], *stores: str) -> float:
    """What is gone from some stores together."""
    held = source.truth().held_si
    return sum(before[store] - held[store] for store in stores)


def started(source: SimulatedSource) -> dict[str, float]:
    """What every store holds at the start."""
    source.poll(START_S)
    return dict(source.truth().held_si)


def test_at_the_start_nothing_is_gone_and_meters_show_what_flows(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    feed = source.poll(START_S)
    held = source.truth().held_si
    assert (held["bat-1"], held["tank"], held["bed"], held["o2-2"]) == (100 * AH, 100, 3, 2)
    assert held["o2-1"] == mass_kg(Fluid.OXYGEN, 10e6, 290.0, 0.05)
    assert feed.readings["bat-1.used"].value_si == 0.0
    current_a = feed.readings["bus.current"].value_si
    assert current_a is not None
    assert current_a in (pytest.approx(5.0), pytest.approx(13.0)), "lamp and fan, with the heater on or off"


def test_charge_follows_loads_and_duty(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    before = started(source)
    source.poll(START_S + 10 * H)
    # The heater may be caught in one cycle at either end.
    one_cycle = 8.0 * 0.25 * LONGEST_CYCLE_S
    assert drop_si(source, before, "bat-1", "bat-2") == pytest.approx(ALL_ON_A * 10 * H, abs=one_cycle)
    assert drop_si(source, before, "bat-spare") == 0.0, "protected"


def test_two_batteries_alike_share_alike(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    before = started(source)
    source.poll(START_S + 10 * H)
    assert drop_si(source, before, "bat-1") == pytest.approx(drop_si(source, before, "bat-2"), rel=1e-9)


def test_breathing_scrubbing_drinking_and_leak_follow_people_and_pressure(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    before = started(source)
    source.poll(START_S + 10 * H)
    assert drop_si(source, before, "o2-1") == pytest.approx(2 * 0.4 + 0.2, rel=1e-9)
    assert drop_si(source, before, "bed") == pytest.approx(2 * 0.5, rel=1e-9)
    lamp_and_fan_w = 25.0 * (2.0 + 0.5 * 3.0)
    # Latent heat at 10 degC: 2477.19 kJ/kg, IAPWS-95, as in reference-values (computed).
    evaporated_kg = (lamp_and_fan_w + 2 * 100.0) * 10 * H / 2477.19e3
    assert drop_si(source, before, "tank") == pytest.approx(evaporated_kg + 2 * 1.0, rel=1e-6)
    assert drop_si(source, before, "jug") == 0.0, "a spare that no instrument watches is drawn on last"


def test_the_books_close_at_every_poll(tmp_path: Path) -> None:
    source = make_source(tmp_path, simulation=WANDERING, peukert="1.3")
    before = started(source)
    taken_si = dict.fromkeys(source.truth().rates_si_per_s, 0.0)
    for number in range(1, 721):
        source.poll(START_S + 10.0 * number)
        for supply, rate_si_per_s in source.truth().rates_si_per_s.items():
            taken_si[supply] += 10.0 * rate_si_per_s
    stores = source._craft.stores
    for supply, truths in stores.items():
        assert sum(store.given_si for store in truths.values()) == pytest.approx(taken_si[supply], rel=1e-9)
        for name, store in truths.items():
            gone_si = store.given_si + store.lost_si - store.received_si
            assert before[name] - store.held_si == pytest.approx(gone_si, abs=1e-6)
    assert all(store.lost_si == 0.0 for name in ("oxygen", "water") for store in stores[name].values())


def test_a_battery_that_gives_above_its_rated_current_loses_by_peukerts_law(tmp_path: Path) -> None:
    steady = SIMULATION + "biases: {}\n"
    off = step(0.0, loads={"heater": LoadState.OFF, "lamp": LoadState.OFF})
    fan_and_more = step(0.0, loads={"heater": LoadState.OFF})
    for change, each_a in ((off, 1.5), (fan_and_more, 2.5)):
        source = make_source(tmp_path, simulation=steady, peukert="1.3", changes=(change,))
        before = started(source)
        source.poll(START_S + 5 * H)
        expected = each_a * 5 * H * max(1.0, (each_a / 2.0) ** 0.3)
        assert drop_si(source, before, "bat-1") == pytest.approx(expected, rel=1e-6)
        used_si = source.poll(START_S + 5 * H).readings["bat-1.used"].value_si
        assert used_si == pytest.approx(each_a * 5 * H, rel=1e-9), "a counter counts what was given"


def test_the_plans_level_is_switched_when_its_phase_starts(tmp_path: Path) -> None:
    off = step(0.0, loads={"heater": LoadState.OFF})
    source = make_source(tmp_path, changes=(off,))
    currents = [source.poll(at_s).readings["bus.current"].value_si for at_s in (19.99 * H, 20.01 * H)]
    assert currents == [pytest.approx(5.0), pytest.approx(3.5)]


def test_logging_a_step_lowers_the_current_by_what_the_load_drew(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    logged = [step(0.0, loads={"heater": LoadState.OFF})]
    source.changes = lambda: tuple(logged)
    assert source.poll(START_S + 60).readings["bus.current"].value_si == pytest.approx(5.0)
    logged.append(step(START_S + 70, loads={"fan": LoadState.OFF}))
    assert source.poll(START_S + 120).readings["bus.current"].value_si == pytest.approx(2.0)
    logged.append(step(START_S + 100, loads={"lamp": LoadState.STANDBY}))  # written late
    assert source.poll(START_S + 180).readings["bus.current"].value_si == pytest.approx(0.5)


@pytest.mark.parametrize(("after_s", "left_kg"), [(30, 3.5), (0, 3.5), (-30, 5.0)])
def test_what_is_logged_as_used_since_the_start_is_taken_once(
    tmp_path: Path, after_s: float, left_kg: float
) -> None:
    source = make_source(tmp_path, changes=(step(START_S + after_s, used_si={"jug": 1.5}),))
    for number in range(4):
        source.poll(START_S + 60.0 * number)
    assert source.truth().held_si["jug"] == left_kg


def test_events_come_due_once_and_at_their_time(tmp_path: Path) -> None:
    flush = "  - {name: flush, at: T+3h, uses: {oxygen: 1 kg}}\n"
    events = flush + "  - {name: past, at: T+30m, uses: {oxygen: 9 kg}}\n"
    source = make_source(tmp_path, events=events)
    before = started(source)
    steady_kg_per_h = 0.1
    source.poll(2.999 * H)
    assert drop_si(source, before, "o2-1") == pytest.approx(1.999 * steady_kg_per_h, rel=1e-6)
    source.poll(3.0 * H)
    assert drop_si(source, before, "o2-1") == pytest.approx(2.0 * steady_kg_per_h + 1.0, rel=1e-6)
    source.poll(4.0 * H)
    assert drop_si(source, before, "o2-1") == pytest.approx(3.0 * steady_kg_per_h + 1.0, rel=1e-6)


def test_a_transfer_moves_charge_with_its_loss(tmp_path: Path) -> None:
    events = CHARGE.replace("50 %", "75 %")
    simulation = SIMULATION.replace("o2-1: 10 MPa", "o2-1: 10 MPa, bat-spare: 30 A*h")
    off = step(0.0, loads=dict.fromkeys(("lamp", "fan", "heater"), LoadState.OFF))
    source = make_source(tmp_path, events=events, simulation=simulation, changes=(off,))
    before = started(source)
    source.poll(2.5 * H)
    assert drop_si(source, before, "bat-spare") == pytest.approx(-6 * AH)
    assert drop_si(source, before, "bat-1", "bat-2") == pytest.approx(8 * AH)


def test_a_transfer_stops_when_its_target_is_full(tmp_path: Path) -> None:
    simulation = SIMULATION.replace("o2-1: 10 MPa", "o2-1: 10 MPa, bat-spare: 39 A*h")
    off = step(0.0, loads=dict.fromkeys(("lamp", "fan", "heater"), LoadState.OFF))
    source = make_source(tmp_path, events=CHARGE, simulation=simulation, changes=(off,))
    before = started(source)
    source.poll(2.5 * H)
    assert drop_si(source, before, "bat-spare") == pytest.approx(-1 * AH)
    assert drop_si(source, before, "bat-1", "bat-2") == pytest.approx(2 * AH)


def test_a_store_gives_only_while_it_is_open(tmp_path: Path) -> None:
    source = make_source(tmp_path, events="  - {name: open, at: T+3h, set: {o2-2: feeding}}\n")
    before = started(source)
    source.poll(3.0 * H)
    assert drop_si(source, before, "o2-2") == 0.0
    source.poll(4.0 * H)
    assert drop_si(source, before, "o2-2") > 0.0
    shut = step(0.0, stores={"o2-2": StoreState.FEEDING, "o2-1": StoreState.ISOLATED})
    source = make_source(tmp_path, changes=(shut,))
    before = started(source)
    source.poll(2.0 * H)
    assert (drop_si(source, before, "o2-1"), drop_si(source, before, "o2-2")) == (0.0, pytest.approx(0.1))


def test_batteries_stop_at_their_residual_also_when_they_lose_by_giving_fast(tmp_path: Path) -> None:
    source = make_source(tmp_path, peukert="1.3")
    source.poll(START_S + 40 * H)
    assert source.truth().held_si["bat-1"] == pytest.approx(10 * AH, rel=1e-9)


def test_batteries_stop_at_their_residual_and_the_heat_stops_with_them(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    source.poll(START_S + 40 * H)
    truth = source.truth()
    assert truth.held_si["bat-1"] == pytest.approx(10 * AH, rel=1e-9)
    assert truth.held_si["bat-2"] == pytest.approx(10 * AH, rel=1e-9)
    # 180 A*h usable at 7 A, then 5.5 A from T+20h on: the lamp goes to standby.
    expected_s = 20 * H + (180 - 19 * ALL_ON_A) / (ALL_ON_A - 1.5) * H
    assert truth.ran_out_s["power"] == pytest.approx(expected_s, abs=LONGEST_CYCLE_S)
    assert truth.rates_si_per_s["power"] == 0.0
    crew_only_kg_per_s = 200.0 / 2477.19e3
    assert truth.rates_si_per_s["water"] == pytest.approx(crew_only_kg_per_s + 2 * 2.4 / 86400, rel=1e-9)


def test_without_oxygen_the_air_loses_what_is_breathed_and_what_leaks(tmp_path: Path) -> None:
    simulation = SIMULATION.replace("o2-1: 10 MPa", "o2-1: 0.5 MPa, bed: 0 kg")
    source = make_source(tmp_path, simulation=simulation)
    source.poll(START_S)
    source.poll(START_S + 2 * H)
    cabin = source._craft.cabin
    assert source.truth().ran_out_s.keys() == {"oxygen", "absorbent"}
    # p = m R T / (M V) by hand: 0.2 kg of CO2, 44.009 g/mol, in 20 m^3 at about 295 K.
    risen_pa = 0.2 / 0.044009 * 8.314462618 * 295.0 / 20.0
    assert cabin.carbon_dioxide_pa - 300.0 == pytest.approx(risen_pa, rel=0.02), (
        "the temperature drifts by some K"
    )
    fallen_pa = 0.2 / 0.031998 * 8.314462618 * 295.0 / 20.0
    assert 21e3 - cabin.oxygen_pa == pytest.approx(fallen_pa, rel=0.02)
    assert cabin.pressure_pa == pytest.approx(100e3 + risen_pa - fallen_pa, abs=100.0)


def test_a_gas_bottle_shows_the_pressure_of_its_mass_at_its_temperature(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    for hours in (0, 6, 12):
        readings = source.poll(START_S + hours * H).readings
        pressure_pa = readings["o2-1.pressure"].value_si
        assert pressure_pa is not None
        store = source._craft.stores["oxygen"]["o2-1"]
        assert mass_kg(Fluid.OXYGEN, pressure_pa, store.temperature_k, 0.05) == pytest.approx(
            store.held_si, rel=1e-8
        )
        assert store.temperature_k != 290.0
        assert store.temperature_k == pytest.approx(290.0, abs=6.0), "six standard deviations"


def test_the_same_seed_and_polls_give_the_same_readings_to_the_bit(tmp_path: Path) -> None:
    polls = [START_S + at_s for at_s in (0.0, 7.3, 60.0, 3600.0, 1e5)]
    first, second = (make_source(tmp_path, simulation=WANDERING) for _ in range(2))
    assert [first.poll(at_s) for at_s in polls] == [second.poll(at_s) for at_s in polls]
    other = make_source(tmp_path, simulation=WANDERING.replace("seed: 11", "seed: 12"))
    assert (
        other.poll(polls[0]).readings != make_source(tmp_path, simulation=WANDERING).poll(polls[0]).readings
    )


def test_noise_of_instruments_does_not_change_the_truth(tmp_path: Path) -> None:
    plain = make_source(tmp_path, simulation=WANDERING)
    biased = make_source(tmp_path, simulation=WANDERING + "biases: {bat-1.current: 1 A}\n")
    for source in (plain, biased):
        source.poll(START_S)
        source.poll(START_S + H)
    assert plain.truth() == biased.truth()


def test_a_jump_comes_out_where_small_steps_do(tmp_path: Path) -> None:
    jumped, walked = (make_source(tmp_path) for _ in range(2))
    started(jumped)
    started(walked)
    until_s = START_S + 20 * H
    jumped.poll(until_s)
    for at_s in np.arange(START_S, until_s + 1, 60.0).tolist():
        walked.poll(at_s)
    for store, held_si in walked.truth().held_si.items():
        assert jumped.truth().held_si[store] == pytest.approx(held_si, rel=1e-6)


def test_a_huge_jump_takes_no_more_steps_than_it_may(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[float] = []
    real_step = SimulatedCraft._step

    def count(craft: SimulatedCraft, segment: object, dt_s: float) -> None:
        taken.append(dt_s)
        real_step(craft, segment, dt_s)  # type: ignore[arg-type]  # a stand-in segment

    monkeypatch.setattr(SimulatedCraft, "_step", count)
    source = make_source(tmp_path, simulation=WANDERING)
    source.poll(START_S)
    source.poll(START_S + 60)
    assert taken == [10.0] * 6
    taken.clear()
    source.poll(START_S + 1000 * H)
    assert len(taken) <= MOST_STEPS + 2
    assert sum(taken) == pytest.approx(1000 * H - 60)


def test_polls_that_are_a_last_digit_apart_say_numbers(tmp_path: Path) -> None:
    source = make_source(tmp_path)
    at_s = START_S + 7e4
    for _ in range(50):
        current_a = source.poll(at_s).readings["bus.current"].value_si
        assert current_a is not None
        assert 0.0 < current_a < 20.0
        at_s = math.nextafter(at_s, math.inf)


@given(polls=st.lists(st.floats(0, 1e5), min_size=1, max_size=4), seed=st.integers(0, 2**40))
@settings(max_examples=12)
def test_no_store_holds_less_than_nothing_or_more_than_it_can(
    polls: list[float], seed: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("reef")
    events = (
        "  - {name: charge, at: T+9h, transfer: {from: power, to: bat-spare, amount: 40 A*h}, spread: 30 %}\n"
    )
    simulation = WANDERING.replace("seed: 11", f"seed: {seed}").replace("10 MPa", "1 MPa")
    source = make_source(folder, events=events, simulation=simulation, peukert="1.2")
    before = started(source)
    for at_s in sorted(polls):
        source.poll(START_S + at_s)
        held = source.truth().held_si
        assert all(math.isfinite(amount) and amount >= 0.0 for amount in held.values())
        assert held["bat-spare"] <= 40 * AH * (1 + 1e-12)
        assert all(held[name] <= before[name] for name in before if name != "bat-spare")
        assert held["bat-1"] >= 10 * AH * (1 - 1e-9)


def test_wandering_has_its_spread_and_its_mean_whatever_the_steps() -> None:
    random = np.random.default_rng(3)
    for dt_s in (10.0, 5000.0):
        wander = Wander(4000, 0.1, 1800.0, random)
        for _ in range(20):
            wander.step(dt_s)
        # Of 4,000 independent values: the standard errors of their sd and of their mean.
        assert wander.values.std() == pytest.approx(0.1, abs=4 * 0.1 / math.sqrt(8000))
        assert wander.factors.mean() == pytest.approx(1.0, abs=4 * 0.1 / math.sqrt(4000))


def test_wandering_forgets_by_two_thirds_in_its_time() -> None:
    wander = Wander(20_000, 0.1, 1800.0, np.random.default_rng(4))
    before = wander.values
    wander.step(1800.0)
    correlation = float(np.corrcoef(before, wander.values)[0, 1])
    # The standard error of a correlation of 20,000 pairs is below 1/sqrt(20,000).
    assert correlation == pytest.approx(math.exp(-1), abs=4 / math.sqrt(20_000))


def test_a_duty_cycle_is_on_for_its_share_and_switches(tmp_path: Path) -> None:
    others_off = step(0.0, loads={"lamp": LoadState.OFF, "fan": LoadState.OFF})
    source = make_source(tmp_path, changes=(others_off,))
    source.poll(START_S)
    currents = []
    for number in range(1, 1001):
        current_a = source.poll(START_S + 10.0 * number).readings["bus.current"].value_si
        assert current_a is not None
        currents.append(current_a)
    shortest = SHORTEST_CYCLE_S / 10_000
    longest = LONGEST_CYCLE_S / 10_000
    assert {round(current_a, 6) for current_a in currents} >= {0.0, 8.0}
    assert sum(currents) / len(currents) == pytest.approx(2.0, abs=8.0 * 0.25 * longest)
    switched_on = sum(later > earlier == 0.0 for earlier, later in pairwise(currents))
    assert 1 / longest - 1 <= switched_on <= 1 / shortest + 1


def test_the_craft_may_be_off_its_own_figures_by_its_spreads(tmp_path: Path) -> None:
    scenario = write_scenario(tmp_path)
    text = (tmp_path / "craft.yaml").read_text().replace("loads:\n", "load_spread: 20 %\nloads:\n", 1)
    (tmp_path / "craft.yaml").write_text(text)
    spread = load_scenario(tmp_path)
    currents = []
    for each in (scenario, spread):
        source = SimulatedSource(each, read_simulation(each))
        source.changes = lambda: (step(0.0, loads={"heater": LoadState.OFF}),)
        currents.append(source.poll(START_S).readings["bus.current"].value_si)
    assert currents[0] == pytest.approx(5.0)
    assert currents[1] != pytest.approx(5.0, rel=1e-3)
