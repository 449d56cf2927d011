"""Changes that nobody logged: found when and as large as they are, not in noise, and never forgotten."""

from __future__ import annotations

import numpy as np
import pytest
from evidence_world import HOUR, ROW_S, fit_of, level_rows, times

from console.engine.draws import Floats
from console.engine.evidence.supply_evidence import supply_evidence
from console.engine.evidence.unlogged import MOST_KEPT, chosen, components_of

RATE = 1.0 / HOUR
AT = times(24.0)


def noisy(amounts: Floats, seed: int, sd: float = 0.05) -> Floats:
    return (amounts + sd * np.random.default_rng(seed).standard_normal(len(amounts)))[None, :]


def test_a_step_of_use_is_found_when_it_began_and_as_large_as_it_is() -> None:
    amounts = 60.0 - RATE * AT - 0.5 * RATE * np.maximum(AT - 15.0 * HOUR, 0.0)
    fit = fit_of(level_rows(AT, noisy(amounts, 1), 0.05, is_vessel=False), RATE, 0.02)
    after, ways = components_of(fit, of_loads=True)
    likely = ways[0]
    (change,) = likely.changes
    size = likely.posterior.mean[len(after.precision)] * after.ground.unit_si_per_s / RATE
    assert change.at_s == pytest.approx(15.0 * HOUR, abs=ROW_S)
    assert size == pytest.approx(0.5, abs=0.05)
    assert change.of_loads


def test_a_leak_that_falls_with_what_is_held_is_told_from_a_steady_one() -> None:
    leak_s = 12.0 * HOUR
    held = np.where(AT < 8.0 * HOUR, 60.0, 60.0 * np.exp(-(AT - 8.0 * HOUR) / leak_s))
    fit = fit_of(level_rows(AT, noisy(held - 0.2 * RATE * AT, 2), 0.05), 0.2 * RATE, 0.05)
    _, ways = components_of(fit, of_loads=False)
    assert sum(way.weight for way in ways if any(one.in_proportion for one in way.changes)) > 0.95


@pytest.mark.parametrize("of_loads", [True, False])
def test_in_pure_noise_a_change_is_called_in_few_of_a_hundred_series(of_loads: bool) -> None:
    calls = 0
    for seed in range(100):
        level = level_rows(AT, noisy(60.0 - RATE * AT, seed), 0.05, is_vessel=not of_loads)
        _, ways = components_of(fit_of(level, RATE, 0.05), of_loads=of_loads)
        calls += bool(ways[0].changes)
    # By the prior one a day is due of loads and a fifth of one of a vessel; most are too small to see.
    assert calls <= 5


def test_the_ways_of_a_supply_weigh_one_together_and_the_likeliest_kind_is_first() -> None:
    leak_s = 12.0 * HOUR
    held = np.where(AT < 20.0 * HOUR, 60.0, 60.0 * np.exp(-(AT - 20.0 * HOUR) / leak_s))
    level = level_rows(AT, noisy(held - RATE * AT, 3), 0.05)
    _, ways = components_of(fit_of(level, RATE, 0.05), of_loads=False)
    assert sum(way.weight for way in ways) == pytest.approx(1.0)
    weights: dict[bool, float] = {}
    for way in ways:
        kind = way.changes[-1].only_takes
        weights[kind] = weights.get(kind, 0.0) + way.weight
    assert len(ways) > 3
    assert ways[0].changes[-1].only_takes == max(weights, key=lambda kind: weights[kind])


def test_many_improbable_changes_keep_the_weight_that_they_have_together() -> None:
    weights = np.append(np.full(200, 0.001), 0.8)
    found = chosen(weights)
    assert dict(found)[200] == pytest.approx(0.8)
    assert sum(weight for index, weight in found if index < 200) == pytest.approx(0.2)
    assert len(found) <= MOST_KEPT + 1
    # Spread over all of them, not the first few.
    assert max(index for index, _ in found if index < 200) > 180


def test_of_improbable_and_probable_ones_each_is_drawn_as_often_as_it_is_probable() -> None:
    found = dict(chosen(np.array([0.05, 0.6, 0.05, 0.3])))
    assert found[3] == pytest.approx(0.3)
    assert found[1] == pytest.approx(0.6, abs=1.0 / MOST_KEPT)


def test_a_change_too_small_to_be_found_leaves_the_rate_less_sure() -> None:
    short = AT[AT > 22.0 * HOUR]
    level = level_rows(short, noisy(60.0 - RATE * short, 4, 0.3), 0.3, is_vessel=False)
    _, ways = components_of(fit_of(level, RATE, 0.02), of_loads=True)
    assert not ways[0].changes
    assert 0.01 < sum(way.weight for way in ways if way.changes) < 0.5


def test_the_present_rate_counts_what_nobody_logged(build: object) -> None:
    # Between two rows, as nearly all changes are.
    amounts = 60.0 - RATE * AT - 0.5 * RATE * np.maximum(AT - 15.05 * HOUR, 0.0)
    fit = fit_of(level_rows(AT, noisy(amounts, 5), 0.05, is_vessel=False), RATE, 0.02, RATE)
    supply = build.supply("power", "A*h")  # type: ignore[attr-defined]  # made by tests
    found = supply_evidence(supply, fit, RATE, 1.0)
    assert found.rate_si_per_s == pytest.approx(1.5 * RATE, rel=0.05)
    assert abs(found.rate_si_per_s - 1.5 * RATE) < 3.0 * found.rate_sd_si_per_s
