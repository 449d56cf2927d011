"""How uses and changes go on from now: what follows the air, leaking stores, loads that the plan moves."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from console.craft.model import LoadState
from console.engine.evidence.lines_over_time import following
from console.engine.evidence.shapes import Candidate, mean_rates, mean_rates_in_proportion, until_empty
from console.engine.evidence.switched import load_sets, still_so

HOUR = 3600.0


def test_what_follows_loses_nothing_and_lags_by_the_step_times_the_lag() -> None:
    """After a step from 1 to 3 it has taken up 2 lags less than was given, once it caught up (by hand)."""
    starts = np.array([0.0, 5.0 * HOUR, 45.0 * HOUR])
    means, stands = following(np.array([1.0, 3.0, 3.0]), starts, HOUR, 1.0)
    assert means[0] == pytest.approx(1.0)
    assert (3.0 - means[1]) * 40.0 * HOUR == pytest.approx(2.0 * HOUR, rel=1e-9)
    assert stands == pytest.approx(3.0)


def test_half_way_it_stands_where_the_exponential_says() -> None:
    _, stands = following(np.array([2.0, 2.0]), np.array([0.0, 3.0 * HOUR]), 2.0 * HOUR, 0.5)
    assert stands == pytest.approx(2.0 - math.exp(-1.5))


def test_a_leak_alone_empties_a_vessel_as_an_exponential_does() -> None:
    starts = np.arange(0.0, 30.0 * HOUR, HOUR)
    leak = Candidate(at_s=-HOUR, in_proportion=True)
    rate = 1.0 / (10.0 * HOUR)
    means = mean_rates_in_proportion(leak, 0.0, starts, np.zeros(30), 1.0, 0.0, rate)
    lost = np.cumsum(rate * means[:-1] * np.diff(starts))
    np.testing.assert_allclose(lost, 1.0 - np.exp(-starts[1:] / (10.0 * HOUR)), rtol=1e-9)


def test_a_hole_in_one_store_cannot_lose_what_is_in_the_other() -> None:
    starts = np.arange(0.0, 100.0 * HOUR, HOUR)
    leak = Candidate(at_s=-HOUR, in_proportion=True, store="tank-1")
    rate = 5.0 / (4.0 * HOUR)
    means = mean_rates_in_proportion(leak, 0.0, starts, np.zeros(100), 5.0, 20.0, rate)
    assert np.sum(rate * means[:-1] * np.diff(starts)) == pytest.approx(5.0, rel=1e-6)


def test_a_growing_loss_from_one_store_ends_with_what_it_holds() -> None:
    growth, rate = math.log(2.0) / HOUR, 1.0 / HOUR
    starts = np.arange(0.0, 20.0 * HOUR, 0.5 * HOUR)
    means = mean_rates(Candidate(at_s=-HOUR, growth_per_s=growth, store="tank-1"), 0.0, starts)
    kept = until_empty(means, rate, 0.0, starts, 5.0)
    assert np.sum(rate * kept[:-1] * np.diff(starts)) == pytest.approx(5.0)
    np.testing.assert_array_equal(kept[:3], means[:3])


def test_a_growing_loss_doubles_in_its_time() -> None:
    growth = math.log(2.0) / (2.0 * HOUR)
    starts = np.array([0.0, HOUR, 2.0 * HOUR, 3.0 * HOUR])
    means = mean_rates(Candidate(at_s=-HOUR, growth_per_s=growth), 0.0, starts)
    assert means[2] / means[0] == pytest.approx(2.0)


def loads(build: Any) -> Any:
    names = {"radio": 2.0, "lamp": 3.0, "pump": 4.0, "fan": 1.0}
    made = tuple(build.load(name, on, stays=name == "fan") for name, on in names.items())
    return build.craft(build.supply("power", "A*h"), loads=made)


ALL_ON = dict.fromkeys(("radio", "lamp", "pump", "fan"), LoadState.ON)


def test_every_set_of_loads_makes_the_whole_change_and_none_that_must_stay(build: Any) -> None:
    sets = load_sets(loads(build), "power", ALL_ON, -5.0, 1, 200)
    np.testing.assert_allclose(sets.sum(axis=1), 1.0)
    assert not sets[:, 3].any()
    # Each of the others is in some sets and not in all.
    assert all(0.0 < (sets[1:, column] > 0.0).mean() < 1.0 for column in range(3))


def test_the_central_case_is_the_mean_over_the_sets_whatever_the_seed(build: Any) -> None:
    one, other = (load_sets(loads(build), "power", ALL_ON, -5.0, seed, 400) for seed in (1, 2))
    np.testing.assert_array_equal(one[0], other[0])
    np.testing.assert_allclose(one[0], one[1:].mean(axis=0), atol=0.06)


def test_what_draws_more_than_logged_is_among_what_is_off(build: Any) -> None:
    states = {**ALL_ON, "lamp": LoadState.OFF}
    sets = load_sets(loads(build), "power", states, 2.5, 1, 50)
    assert (sets[:, 1] == 1.0).all()


def test_a_change_ends_load_by_load_as_the_plan_moves_them() -> None:
    before, after = ALL_ON, {**ALL_ON, "lamp": LoadState.STANDBY}
    stays = still_so([before, before, after, before], 1)
    np.testing.assert_allclose(np.array([0.25, 0.75, 0.0, 0.0]) @ stays, [1.0, 1.0, 0.25, 0.25])
    np.testing.assert_allclose(np.array([1.0, 0.0, 0.0, 0.0]) @ stays, [1.0, 1.0, 1.0, 1.0])


def test_where_no_load_can_be_it_it_is_laid_to_all_of_them(build: Any) -> None:
    states = dict.fromkeys(ALL_ON, LoadState.OFF)
    np.testing.assert_allclose(load_sets(loads(build), "power", states, -5.0, 1, 10), 0.25)
