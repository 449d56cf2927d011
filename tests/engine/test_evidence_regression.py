"""Least squares with correlated errors and a prior, against the same sums written out with plain inverses."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from console.engine.draws import Floats
from console.engine.evidence.regression import log_evidence, posterior, whitened


def problem(seed: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Readings, columns, the errors' covariance and the prior's precision."""
    luck = np.random.default_rng(seed)
    mix = luck.standard_normal((12, 12))
    root = luck.standard_normal((3, 3))
    return (
        luck.standard_normal(12),
        luck.standard_normal((12, 3)),
        mix @ mix.T + np.eye(12),
        root @ root.T + 0.5 * np.eye(3),
    )


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_mean_and_covariance_are_those_of_generalised_least_squares_with_a_prior(seed: int) -> None:
    values, columns, errors, precision = problem(seed)
    found = posterior(whitened(values, columns, errors), precision)
    weights = np.linalg.inv(errors)
    covariance = np.linalg.inv(columns.T @ weights @ columns + precision)
    np.testing.assert_allclose(found.covariance, covariance, rtol=1e-9)
    np.testing.assert_allclose(found.mean, covariance @ columns.T @ weights @ values, rtol=1e-8, atol=1e-12)


def test_with_hardly_any_prior_it_is_generalised_least_squares() -> None:
    values, columns, errors, _ = problem(4)
    found = posterior(whitened(values, columns, errors), 1e-10 * np.eye(3))
    root = np.linalg.cholesky(errors)
    plain, *_ = np.linalg.lstsq(np.linalg.solve(root, columns), np.linalg.solve(root, values), rcond=None)
    np.testing.assert_allclose(found.mean, plain, rtol=1e-6)


@pytest.mark.parametrize("seed", [5, 6])
def test_two_models_differ_by_the_log_of_how_probable_they_make_the_readings(seed: int) -> None:
    values, columns, errors, precision = problem(seed)
    other, apart = 2.0 * errors, np.diag([1.0, 4.0, 9.0])
    logs = [
        multivariate_normal(np.zeros(12), each + columns @ np.linalg.inv(prior) @ columns.T).logpdf(values)
        for each, prior in ((errors, precision), (other, apart))
    ]
    ours = [
        posterior(whitened(values, columns, each), prior).log_evidence
        for each, prior in ((errors, precision), (other, apart))
    ]
    assert ours[0] - ours[1] == pytest.approx(logs[0] - logs[1], rel=1e-9)


def test_a_further_column_is_whitened_as_if_it_had_been_there_from_the_start() -> None:
    values, columns, errors, precision = problem(7)
    whole = posterior(whitened(values, columns, errors), precision)
    joined = posterior(whitened(values, columns[:, :2], errors).beside(columns[:, 2:]), precision)
    np.testing.assert_allclose(joined.mean, whole.mean, rtol=1e-9)
    assert joined.log_evidence == pytest.approx(whole.log_evidence)


@pytest.mark.parametrize("seed", [8, 9])
def test_the_quick_way_to_the_log_of_the_evidence_gives_the_same(seed: int) -> None:
    values, columns, errors, precision = problem(seed)
    slow = posterior(whitened(values, columns, errors), precision).log_evidence
    assert log_evidence(values, columns, errors, precision) == pytest.approx(slow, rel=1e-10)
