"""The contingencies are what their regime says, and the truth and the engine are told the same of them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from calibration_choices import HOUR_S, flown, quiet_moments_s
from calibration_regimes import LIVES_LEFT, Case, Regime, case_of
from calibration_scoring import Floats
from calibration_truth import falls_to_s, moments_of, recorded, usable_at

from console.craft.model import LoadState, StoreState
from console.feed.simulated_faults import FaultKind
from console.feed.simulation_file import Simulation, read_simulation
from console.scenario.load import Scenario, load_scenario

CONFIGS = Path(__file__).parents[2] / "configs"
NAMES = ("tern", "whelk", "vole")


@cache
def scene(name: str) -> tuple[Scenario, Simulation]:
    scenario = load_scenario(CONFIGS / name)
    return scenario, read_simulation(scenario)


def case(regime: Regime, name: str, seed: int = 3) -> Case:
    return case_of(regime, *scene(name), seed, f"{regime.value}-{name}-{seed}")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("regime", list(Regime))
def test_every_regime_has_contingencies_of_every_scenario(regime: Regime, name: str) -> None:
    for seed in range(4):
        one = case(regime, name, seed)
        start_s = one.simulation.start_s
        assert one.supplies
        assert set(one.supplies) <= set(one.scenario.craft.supplies)
        assert one.lives_left or one.moments_s
        assert all(start_s < moment_s <= one.until_s for moment_s in one.moments_s)


def test_a_seed_gives_one_contingency_and_another_seed_another() -> None:
    first, again, other = (case(Regime.POWER_DOWN, "tern", seed) for seed in (3, 3, 4))
    assert (first.seed, first.faults, first.moments_s) == (again.seed, again.faults, again.moments_s)
    assert first.seed != other.seed
    assert first.faults != other.faults


@pytest.mark.parametrize("name", NAMES)
def test_nothing_changes_in_the_six_hours_before_a_steady_forecast(name: str) -> None:
    scenario = case(Regime.STEADY, name).scenario
    option = scenario.plan.options[scenario.plan.committed]
    events = scenario.plan.events_under(option)
    for seed in range(5):
        for moment_s in case(Regime.STEADY, name, seed).moments_s:
            before_s = moment_s - 6.0 * HOUR_S
            segments = flown(scenario).segments(before_s, math.inf)
            assert segments[0].end_s > moment_s
            assert not [event for event in events if before_s < event.at_s <= moment_s]


def test_quiet_moments_keep_clear_of_phases_and_events() -> None:
    scenario, simulation = scene("whelk")
    moments_s = quiet_moments_s(scenario, simulation.start_s, 2.0 * HOUR_S, 4.0 * HOUR_S)
    # By hand from plan.yaml: a phase at T+38h, the pod at T+40h.
    assert not [moment_s for moment_s in moments_s if 34.0 * HOUR_S <= moment_s < 42.0 * HOUR_S]
    assert [moment_s for moment_s in moments_s if 54.0 * HOUR_S <= moment_s < 58.0 * HOUR_S]


@pytest.mark.parametrize("name", NAMES)
def test_the_truth_keeps_switched_loads_as_the_log_would_have_them(name: str) -> None:
    for regime in (Regime.POWER_DOWN, Regime.POWER_UP):
        one = case(regime, name)
        (change,) = one.logged
        told = flown(one.scenario, one.logged)
        assert {fault.load for fault in one.faults} == set(change.loads)
        for fault in one.faults:
            assert fault.kind is FaultKind.LOAD_STATE
            assert fault.load is not None
            for at_s in (fault.at_s, fault.at_s + HOUR_S, 90.0 * HOUR_S, 200.0 * HOUR_S):
                planned = flown(one.scenario).loads_at(at_s)[fault.load].state
                truly = fault.state if fault.is_on(at_s) else planned
                assert told.loads_at(at_s)[fault.load].state is truly


@pytest.mark.parametrize(
    ("regime", "target"), [(Regime.POWER_DOWN, LoadState.OFF), (Regime.POWER_UP, LoadState.ON)]
)
def test_a_switching_moves_a_good_part_of_the_draw(regime: Regime, target: LoadState) -> None:
    for name in NAMES:
        one = case(regime, name)
        loads = one.scenario.craft.loads
        before = flown(one.scenario).loads_at(one.logged[0].at_s)
        total = sum(load.draw_si_per_s(before[key].state) for key, load in loads.items())
        moved = sum(
            abs(loads[key].draw_si_per_s(state) - loads[key].draw_si_per_s(before[key].state))
            for key, state in one.logged[0].loads.items()
        )
        assert set(one.logged[0].loads.values()) == {target}
        assert 0.15 * total < moved < 0.7 * total


def test_an_unlogged_switching_is_in_the_truth_alone() -> None:
    one = case(Regime.UNLOGGED, "tern")
    assert one.faults
    assert one.logged == ()


def test_coarse_gauges_are_coarse_for_craft_and_truth_alike() -> None:
    scenario, _ = scene("whelk")
    one = case(Regime.COARSE, "whelk")
    channels = one.scenario.craft.channels
    assert 0.02 <= channels["house-1.charge"].resolution_si <= 0.05
    # By hand: 2 to 5 % of 220 L, in m3.
    assert 0.0044 <= channels["tank-1.level"].resolution_si <= 0.011
    assert channels["air.oxygen"] == scenario.craft.channels["air.oxygen"]


def test_spares_that_the_plan_leaves_are_fitted_in_the_end() -> None:
    scenario, _ = scene("vole")
    assert flown(scenario).stores_at(math.inf)["cart-7"] is StoreState.SPARE
    stores = flown(case(Regime.STEADY, "vole").scenario).stores_at(math.inf)
    assert StoreState.SPARE not in stores.values()
    assert stores["cart-7"] is StoreState.FEEDING


def test_instruments_errors_are_drawn_anew() -> None:
    assert scene("tern")[1].biases_si
    assert not case(Regime.STEADY, "tern").simulation.biases_si


@dataclass(frozen=True)
class Course:
    """As much of a recorded contingency as its crossings need."""

    truth_times_s: Floats
    usable_si: dict[str, Floats]
    usable_gone_s: dict[str, float] = field(default_factory=dict)


def course(usable: list[float], **fields: Any) -> Any:
    return Course(np.arange(len(usable)) * 100.0, {"water": np.array(usable)}, **fields)


def test_a_level_is_crossed_on_the_line_between_two_moments() -> None:
    assert falls_to_s(course([10.0, 8.0, 6.0]), "water", 7.0, 0.0) == pytest.approx(150.0)
    assert usable_at(course([10.0, 8.0]), "water", 50.0) == pytest.approx(9.0)


def test_the_first_crossing_counts_though_a_store_is_opened_later() -> None:
    assert falls_to_s(course([10.0, 4.0, 12.0, 3.0]), "water", 5.0, 0.0) == pytest.approx(1000.0 / 12.0)


def test_a_crossing_before_the_forecast_does_not_count() -> None:
    assert falls_to_s(course([10.0, 4.0, 12.0, 8.0, 4.0]), "water", 5.0, 200.0) == pytest.approx(375.0)


def test_a_level_that_never_comes_is_none() -> None:
    assert falls_to_s(course([10.0, 9.0]), "water", 5.0, 0.0) is None


def test_a_growing_leak_is_looked_at_by_the_share_of_life_that_is_left() -> None:
    one = replace(case(Regime.GROWING_LEAK, "tern"), supplies=("water",), change_s=3600.0, until_s=40_000.0)
    moments = moments_of(one, course([1.0], usable_gone_s={"water": 3600.0 + 36_000.0}))
    assert [life_left for _, life_left in moments] == list(LIVES_LEFT)
    # By hand, in whole minutes: 3600 s and a third, a half, two thirds of 36,000 s.
    assert [at_s for at_s, _ in moments] == [15_600.0, 21_600.0, 27_600.0]
    assert moments_of(one, course([1.0])) == []


def test_a_contingency_from_the_cache_is_the_one_that_was_lived(tmp_path: Path) -> None:
    whole = case(Regime.POWER_DOWN, "vole")
    one = replace(whole, until_s=whole.simulation.start_s + 2.0 * HOUR_S)
    lived, kept = recorded(one, tmp_path), recorded(one, tmp_path)
    assert len(list(tmp_path.iterdir())) == 1
    assert np.array_equal(lived.usable_si["power"], kept.usable_si["power"])
    assert lived.feed_at(one.until_s) == kept.feed_at(one.until_s)
    assert kept.horizon_s == lived.horizon_s
    recorded(replace(one, seed=one.seed + 1), tmp_path)
    assert len(list(tmp_path.iterdir())) == 2
