"""Scores against two libraries' numbers, closed forms, and forecasts whose faults are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from calibration_scoring import (
    Floats,
    clustered,
    crps,
    cut_off,
    fair_crps,
    histogram,
    is_inside,
    median,
    normal_crps,
    share_inside,
    transform,
    wilson,
)

TWENTY = [
    *(2.493, 4.098, 10.817, 3.15, 6.133, 2.131, 5.828, 4.683, 2.937, 2.715),
    *(4.76, 6.76, 0.954, 2.082, 1.484, 4.855, 1.941, 1.852, 5.922, 11.04),
]

LIBRARY_CRPS = [
    # Truth, members, plain form, fair form. properscoring 0.1 crps_ensemble gives the plain ones, and
    # scoringrules 0.10.0 crps_ensemble both (estimators "nrg" and "fair").
    (3.2, [1.0, 2.5, 3.0, 4.5, 7.0], 0.52, 0.24),
    (-1.0, [0.5, 1.5, 1.75, 9.0], 2.578125, 2.0416666666666665),
    (12.0, [0.5, 1.5, 1.75, 9.0], 7.203125, 6.666666666666666),
    (2.0, [2.0, 2.0, 1.0, 4.0, 4.0, 8.0], 0.6388888888888888, 0.4),
    (4.321, TWENTY, 0.7129775, 0.6357578947368425),
]


@pytest.mark.parametrize(("truth", "members", "plain", "fair"), LIBRARY_CRPS)
def test_the_crps_is_that_of_two_libraries(
    truth: float, members: list[float], plain: float, fair: float
) -> None:
    assert crps(np.array(members), truth) == pytest.approx(plain, rel=1e-9)
    assert fair_crps(np.array(members), truth) == pytest.approx(fair, rel=1e-9)


def test_the_crps_of_one_member_is_its_distance() -> None:
    assert crps(np.array([3.5]), 5.0) == 1.5


@pytest.mark.parametrize(
    ("mean", "sd", "truth", "due"),
    # scoringrules 0.10.0 crps_normal; the first is also (sqrt(2) - 1) / sqrt(pi), by hand.
    [(0.0, 1.0, 0.0, 0.2336949772551091), (0.0, 1.0, 1.5, 0.9944240039774529), (10.0, 2.5, 7.0, 1.87003829)],
)
def test_the_closed_form_of_a_normal_is_that_of_a_library(
    mean: float, sd: float, truth: float, due: float
) -> None:
    assert normal_crps(mean, sd, truth) == pytest.approx(due, rel=1e-8)


@pytest.mark.parametrize("truth", [-2.0, 0.1, 1.5])
def test_an_ensemble_of_normal_quantiles_has_nearly_the_crps_of_the_normal(truth: float) -> None:
    quantiles = np.quantile(np.random.default_rng(3).standard_normal(400_000), (np.arange(2000) + 0.5) / 2000)
    # 400,000 draws place the quantiles to some thousandths.
    assert crps(quantiles, truth) == pytest.approx(normal_crps(0.0, 1.0, truth), abs=4e-3)


def test_few_members_cost_nothing_in_the_fair_form() -> None:
    luck = np.random.default_rng(8)
    fair = np.mean([fair_crps(luck.standard_normal(5), 0.4) for _ in range(20_000)])
    plain = np.mean([crps(luck.standard_normal(5), 0.4) for _ in range(20_000)])
    due = normal_crps(0.0, 1.0, 0.4)
    # The mean of 20,000 scores has a standard deviation of some 0.003.
    assert fair == pytest.approx(due, abs=0.012)
    # By hand: the plain form adds E|X - X'| / (2 m), and E|X - X'| = 2 / sqrt(pi).
    assert plain - due == pytest.approx(1.0 / (5.0 * math.sqrt(math.pi)), abs=0.012)


@pytest.mark.parametrize(
    ("inside", "count", "low", "high"),
    # scipy 1.17.1 binomtest(...).proportion_ci(0.95, "wilson").
    [
        (9, 10, 0.5958499732047615, 0.9821237869049271),
        (270, 300, 0.8608335376153785, 0.9290520854049847),
        (0, 20, 0.0, 0.16112515805281935),
        (20, 20, 0.8388748419471808, 1.0),
    ],
)
def test_limits_of_a_share_are_wilsons(inside: int, count: int, low: float, high: float) -> None:
    assert wilson(inside, count) == pytest.approx((low, high), abs=1e-12)


def test_forecasts_that_stand_and_fall_together_count_as_one() -> None:
    shares = [1.0] * 10 + [0.0] * 10 + [1.0] * 20
    apart = [str(number) for number in range(40)]
    together = [str(number // 10) for number in range(40)]
    low, high = clustered(shares, together)
    narrow_low, narrow_high = clustered(shares, apart)
    assert high - low > 2.0 * (narrow_high - narrow_low)
    assert clustered(shares[:10], together[:10]) == (0.0, 1.0)


def _shares(spread: float, shift: float, end: float, count: int = 4000) -> tuple[list[float], list[float]]:
    """Forecasts about a middle that varies; the truth has spread 1. Inside or not, and the CRPS, cut off."""
    luck = np.random.default_rng(17)
    inside, scores = [], []
    for middle in luck.normal(10.0, 3.0, count).tolist():
        truth = middle + float(luck.standard_normal())
        samples: Floats = middle + shift + spread * luck.standard_normal(200)
        low, high = np.quantile(samples, [0.05, 0.95]).tolist()
        came = truth if truth <= end else None
        stretch = transform(samples, came, end)
        inside.append(is_inside(low, high, came, end, stretch))
        scores.append(crps(cut_off(samples, end), min(truth, end)))
    return inside, scores


@pytest.mark.parametrize("end", [math.inf, 12.0, 9.0])
def test_a_forecast_that_is_right_covers_90_percent_also_where_the_run_ends_first(end: float) -> None:
    inside, _ = _shares(1.0, 0.0, end)
    # 4,000 trials: two standard deviations are 1 %; order statistics of 200 samples cost another half.
    assert np.mean(inside) == pytest.approx(0.90, abs=0.015)


def test_a_forecast_that_is_too_sure_or_too_late_covers_less() -> None:
    for end in (math.inf, 12.0):
        assert np.mean(_shares(0.5, 0.0, end)[0]) < 0.70
        assert np.mean(_shares(1.0, 1.5, end)[0]) < 0.70


def test_the_cut_off_crps_is_least_for_the_forecast_that_is_right() -> None:
    for end in (math.inf, 10.0):
        right = np.mean(_shares(1.0, 0.0, end)[1])
        assert right < np.mean(_shares(0.4, 0.0, end)[1])
        assert right < np.mean(_shares(2.5, 0.0, end)[1])
        assert right < np.mean(_shares(1.0, 1.0, end)[1])


def test_an_interval_that_ended_before_the_run_misses_what_never_came() -> None:
    samples = np.linspace(1.0, 2.0, 101)
    assert is_inside(1.05, 1.95, None, 5.0, transform(samples, None, 5.0)) == 0.0


def test_a_censored_truth_counts_by_what_the_forecast_gives_to_later() -> None:
    samples = np.arange(1.0, 11.0)
    stretch = transform(samples, None, 5.0)
    assert stretch == (0.5, 1.0)
    # By hand: of the stretch from 0.5 to 1, what lies under 0.95.
    assert share_inside(*stretch) == pytest.approx(0.9)


def test_never_is_a_sample_that_lies_beyond_every_truth() -> None:
    samples = np.array([1.0, 2.0, math.inf, math.inf])
    assert transform(samples, 3.0, 9.0) == (0.5, 0.5)
    assert cut_off(samples, 9.0).tolist() == [1.0, 2.0, 9.0, 9.0]


def test_a_stretch_is_spread_over_the_tenths_it_meets() -> None:
    assert histogram([(0.05, 0.05), (0.8, 1.0)]) == pytest.approx(
        [0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.25, 0.25]
    )


def test_the_middle_of_nothing_is_not_known() -> None:
    assert median([]) is None
    assert median([3.0, 1.0, 8.0]) == 3.0
