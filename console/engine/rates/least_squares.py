"""Weighted linear least squares by orthogonal triangulation, with known spreads of some coefficients.

One core for every fit of the rates: a line, joined lines, wandering use, a display's rounding. It knows
nothing of time, gauges or stores.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LinearFit:
    """Coefficients; errors that several readings share are accounted for in their covariance."""

    coefficients: Floats
    """Shape (p,)."""
    covariance: Floats
    """Shape (p, p), for the ``sds`` given; times ``residual_sum / freedom`` where none are."""
    shared: Floats
    """The likeliest coefficients of the shared errors."""
    residual_sum: float
    """Weighted squares of what is left, with those of the shared errors' coefficients."""
    freedom: int
    """Rows less coefficients."""
    log_likelihood: float
    """Of the readings with all coefficients integrated out, up to a constant of the rows and the columns."""


def least_squares(
    columns: Floats,
    values: Floats,
    sds: Floats | None = None,
    prior_sds: Floats | None = None,
    shared: Floats | None = None,
) -> LinearFit:
    """Coefficients b that make sum(((values - columns b - shared u) / sds)²) + u² + (b / prior_sds)² least.

    Householder's triangulation (LAPACK, through numpy) of the columns scaled to length 1, values beside them;
    what shared errors explain is taken out of all of them before.

    Args:
        columns: shape (n, p).
        values: shape (n,).
        sds: standard deviation of each value, (n,); None for 1.
        prior_sds: of each coefficient about 0, (p,); infinite where nothing is known; None for all.
        shared: random errors that several values share: columns whose coefficients u have a spread of 1.

    Raises:
        ValueError: the columns do not tell the coefficients apart, and no spread is known that would.

    >>> fit = least_squares(np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]]), np.array([1.0, 3.0, 5.0]))
    >>> [round(each, 9) for each in fit.coefficients.tolist()]
    [1.0, 2.0]
    """
    rows, width = columns.shape
    scale = np.ones(rows) if sds is None else sds
    stacked = np.column_stack((columns, values)) / scale[:, None]
    errors = _Shared(np.zeros((rows, 0)) if shared is None else shared / scale[:, None])
    parts = [errors.taken_out(stacked)]
    log_priors = 0.0
    if prior_sds is not None:
        known = np.flatnonzero(np.isfinite(prior_sds))
        prior = np.zeros((len(known), width + 1))
        prior[np.arange(len(known)), known] = 1.0 / prior_sds[known]
        parts.append(prior)
        log_priors = float(np.log(prior_sds[known]).sum())
    whole = np.vstack(parts)
    if len(whole) < width:
        raise ValueError(f"{rows} readings do not tell {width} coefficients apart")
    lengths = np.sqrt(np.einsum("ij,ij->j", whole[:, :width], whole[:, :width]))
    whole[:, :width] /= np.where(lengths > 0.0, lengths, 1.0)
    triangle = np.asarray(np.linalg.qr(whole, mode="r"), dtype=np.float64)
    diagonal = np.abs(np.diag(triangle)[:width])
    if not np.all(diagonal > 1e-13):
        raise ValueError("the readings do not tell the coefficients apart")
    main = triangle[:width, :width]
    coefficients = np.linalg.solve(main, triangle[:width, width]) / lengths
    inverse = np.linalg.solve(main, np.eye(width)) / lengths[:, None]
    # One row more than columns is needed for a misfit: with as many rows as columns there is none.
    left = float(triangle[width, width]) ** 2 if len(triangle) > width else 0.0
    log_determinant = float(np.log(scale).sum() + np.log(diagonal * lengths).sum()) + errors.log_determinant
    return LinearFit(
        coefficients=coefficients,
        covariance=inverse @ inverse.T,
        shared=errors.likeliest(stacked[:, width] - stacked[:, :width] @ coefficients),
        residual_sum=left,
        freedom=rows - width,
        log_likelihood=-0.5 * left - log_determinant - log_priors,
    )


class _Shared:
    """Errors that several values share, with rows of their own for the spread of 1 of their coefficients."""

    def __init__(self, columns: Floats) -> None:
        rows, count = columns.shape
        self._rows = rows
        stacked = np.vstack((columns, np.eye(count)))
        root = np.asarray(np.linalg.cholesky(stacked.T @ stacked), dtype=np.float64)
        self.log_determinant = float(np.log(np.diag(root)).sum())
        self._inverse = np.linalg.solve(root, np.eye(count))
        self._basis: Floats = stacked @ self._inverse.T

    def taken_out(self, columns: Floats) -> Floats:
        """Columns without what the shared errors explain, with the further rows, (n + errors, columns).

        Twice, since a basis that comes from squares is at right angles to about eight digits only.
        """
        left = np.vstack((columns, np.zeros((self._basis.shape[1], columns.shape[1]))))
        for _ in range(2 if self._basis.shape[1] else 0):
            left = left - self._basis @ (self._basis.T @ left)
        return left

    def likeliest(self, values: Floats) -> Floats:
        """The likeliest coefficients for what the other columns leave."""
        found: Floats = self._inverse.T @ (self._basis[: self._rows].T @ values)
        return found
