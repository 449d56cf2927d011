"""One supply's readings against its model: factors, the level, spikes, the size of the wandering."""

from __future__ import annotations

import numpy as np
import pytest
from evidence_world import HOUR, fit_of, level_rows, modelled, times

from console.engine.evidence.evidence import Evidence
from console.engine.evidence.fit import USUAL_WANDER
from console.engine.evidence.ground import ground_of
from console.engine.evidence.modelled import factor_names
from console.engine.planned_rate import use_factor

RATE = 1.0 / HOUR


def level_of(hours: float, factor: float, sd: float, seed: int = 1) -> object:
    at_s = times(hours)
    luck = np.random.default_rng(seed).standard_normal(len(at_s))
    return level_rows(at_s, (80.0 - factor * RATE * at_s + sd * luck)[None, :], sd)


def test_a_factor_is_what_the_level_says_where_it_says_much() -> None:
    fit = fit_of(level_of(24.0, 1.2, 0.02), RATE, 0.3)  # type: ignore[arg-type]  # literals of a test
    assert fit.posterior.mean[-1] == pytest.approx(0.2, abs=0.01)


def test_a_factor_stays_where_it_was_where_the_level_says_little() -> None:
    fit = fit_of(level_of(2.0, 1.2, 1.0), RATE, 0.05)  # type: ignore[arg-type]  # literals of a test
    assert abs(fit.posterior.mean[-1]) < 0.02
    assert np.sqrt(fit.posterior.covariance[-1, -1]) == pytest.approx(0.05, rel=0.05)


def test_corrections_are_one_where_nothing_was_learnt_and_never_below_the_least(build: object) -> None:
    uses = (build_use("drinking"), build_use("leak"))
    craft = build.craft(build.supply("water", "kg"), uses=uses)  # type: ignore[attr-defined]  # made by tests
    names = factor_names(craft)
    mean = np.zeros(len(names))
    mean[names.index(use_factor("leak"))] = -3.0
    evidence = Evidence(names=names, mean=mean, covariance=np.eye(len(names)), supplies={})
    assert evidence.corrections(craft).uses == {"drinking": 1.0, "leak": 0.05}


def build_use(name: str) -> object:
    from console.craft.model import Use

    return Use(name=name, supply="water", spread_fraction=0.1, rate_si_per_s=RATE)


def test_one_spike_is_set_aside_and_changes_nothing() -> None:
    at_s = times(24.0)
    luck = np.random.default_rng(2).standard_normal(len(at_s))
    amounts = 80.0 - 1.1 * RATE * at_s + 0.05 * luck
    clean = fit_of(level_rows(at_s, amounts[None, :], 0.05), RATE, 0.2)
    amounts = amounts.copy()
    amounts[70] += 5.0
    spiked = fit_of(level_rows(at_s, amounts[None, :], 0.05), RATE, 0.2)
    assert spiked.set_aside == (70,)
    assert spiked.posterior.mean[-1] == pytest.approx(clean.posterior.mean[-1], abs=2e-3)


def test_readings_too_coarse_to_tell_it_leave_the_wandering_as_it_usually_is() -> None:
    at_s = times(24.0)
    level = level_rows(at_s, (80.0 - RATE * at_s)[None, :] + 0.0, 5.0)
    fit = fit_of(level, RATE, 0.05, RATE)
    assert fit.wander_fraction == pytest.approx(USUAL_WANDER, rel=0.3)


def test_fine_readings_of_steady_use_make_the_wandering_small() -> None:
    at_s = times(24.0)
    luck = np.random.default_rng(3).standard_normal(len(at_s))
    level = level_rows(at_s, (80.0 - RATE * at_s + 0.001 * luck)[None, :], 0.001)
    assert fit_of(level, RATE, 0.05, RATE).wander_fraction < 0.03


def test_what_an_event_took_is_read_and_not_presumed() -> None:
    at_s = times(24.0)
    amounts = 80.0 - RATE * at_s - 7.0 * (at_s > 10.0 * HOUR)
    level = level_rows(at_s, amounts[None, :], 0.05).between_events((10.0 * HOUR,))
    assert level is not None
    model = modelled(RATE)
    ground = ground_of(level, None, model, model, (10.0 * HOUR,), HOUR)
    assert ground is not None
    from console.engine.evidence.fit import fitted

    fit = fitted(ground, np.zeros(1), np.array([[0.05**2]]))
    hours_of_use = fit.posterior.mean[1]
    assert hours_of_use * ground.unit_si_per_s * HOUR == pytest.approx(7.0, abs=0.1)


def test_a_row_in_whose_stretch_an_event_lies_is_left_out() -> None:
    at_s = times(4.0)
    level = level_rows(at_s, np.full((2, len(at_s)), 10.0), 0.05)
    kept = level.between_events((at_s[7] + 100.0,))
    assert kept is not None
    assert set(at_s) - set(kept.times_s) == {at_s[7]}
    assert kept.by_store_si.shape == (2, len(at_s) - 1)
    assert level.between_events(()) is level


def test_a_supply_with_neither_level_nor_meter_is_no_ground() -> None:
    assert ground_of(None, None, modelled(RATE), modelled(RATE), (), HOUR) is None
