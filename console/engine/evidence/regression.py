"""Least squares with what is known before: readings, their correlated errors, and a prior, to a posterior.

All linear and Gaussian, with a dense Cholesky factor: rows are a few hundred at most.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Whitened:
    """Readings and columns divided by the root of the errors' covariance."""

    root: Floats
    """Lower Cholesky factor, shape (n, n)."""
    inverse: Floats
    """Its inverse."""
    values: Floats
    columns: Floats
    """Shape (n, p)."""
    log_determinant: float

    def of(self, columns: Floats) -> Floats:
        """Further columns (n, q), whitened the same way."""
        return self.inverse @ columns

    def beside(self, columns: Floats) -> Whitened:
        """The same readings with further columns (n, q), not whitened yet, behind the others."""
        return replace(self, columns=np.column_stack((self.columns, self.of(columns))))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Posterior:
    """What is known of the coefficients after the readings."""

    mean: Floats
    """Shape (p,)."""
    covariance: Floats
    """Shape (p, p)."""
    log_evidence: float
    """Log of the probability of the readings, up to a constant that all models of the same rows share."""


def whitened(values: Floats, columns: Floats, covariance: Floats) -> Whitened:
    """Readings (n,) and columns (n, p) with the covariance (n, n) of the readings' errors."""
    root = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
    inverse = solved(root, np.eye(len(root)))
    both = inverse @ np.column_stack((values, columns))
    return Whitened(
        root=root,
        inverse=inverse,
        values=both[:, 0],
        columns=both[:, 1:],
        log_determinant=2.0 * float(np.log(np.diag(root)).sum()),
    )


def log_evidence(values: Floats, columns: Floats, covariance: Floats, prior_precision: Floats) -> float:
    """Log of the probability of the readings, as in ``Posterior``, and nothing more, which is quicker."""
    root = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
    both = solved(root, np.column_stack((values, columns)))
    inner = prior_precision + both[:, 1:].T @ both[:, 1:]
    pull = both[:, 1:].T @ both[:, 0]
    misfit = float(both[:, 0] @ both[:, 0] - pull @ np.linalg.solve(inner, pull))
    _, prior_log = np.linalg.slogdet(prior_precision)
    _, inner_log = np.linalg.slogdet(inner)
    return 0.5 * float(prior_log - inner_log - 2.0 * float(np.log(np.diag(root)).sum()) - misfit)


def solved(root: Floats, right: Floats) -> Floats:
    """``root⁻¹ right`` for a lower triangular root."""
    return np.asarray(np.linalg.solve(root, right), dtype=np.float64)


def posterior(rows: Whitened, prior_precision: Floats) -> Posterior:
    """The coefficients after the readings.

    Args:
        rows: whitened.
        prior_precision: (p, p), about zero; a coefficient of which nothing is known has a very small one.
    """
    precision = prior_precision + rows.columns.T @ rows.columns
    root = np.asarray(np.linalg.cholesky(precision), dtype=np.float64)
    right = rows.columns.T @ rows.values
    half = solved(root, right)
    inverse = solved(root, np.eye(len(right)))
    covariance = inverse.T @ inverse
    _, prior_log = np.linalg.slogdet(prior_precision)
    misfit = float(rows.values @ rows.values - half @ half)
    log_evidence = 0.5 * (
        prior_log - 2.0 * float(np.log(np.diag(root)).sum()) - rows.log_determinant - misfit
    )
    if not math.isfinite(log_evidence):
        raise FloatingPointError("the readings and the model do not go together numerically")
    return Posterior(mean=inverse.T @ half, covariance=covariance, log_evidence=log_evidence)
