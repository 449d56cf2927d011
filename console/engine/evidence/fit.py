"""One supply's readings against its model: factors of its uses, its level now, how far its use wanders.

A row far from all others is set aside. The size of the wandering is the root of the mean square of a few,
weighed by how probable they make the readings: coarse readings that cannot tell it must not make it small.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.evidence.ground import Ground
from console.engine.evidence.regression import Posterior, Whitened, log_evidence, posterior, whitened

WANDER_FRACTIONS = (0.02, 0.035, 0.06, 0.1)
"""Sizes of the wandering that are weighed, as fractions of each single use."""
USUAL_WANDER = 0.05
"""How far use wanders where no reading tells it (common practice, no source), and"""
WANDER_TIMES = 1.6
"""how many times more or less it may be, as one standard deviation (our own choice)."""

SPIKE_SD = 6.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Fit:
    """The rows explained. The prior of the factors is that of the craft before this supply was looked at."""

    ground: Ground
    rows: Whitened
    posterior: Posterior
    wander_fraction: float
    factor_mean: Floats
    """What the factors were before, as fractions off 1: coefficients are counted from there."""
    precision: Floats
    """Of the prior, over all columns."""
    set_aside: tuple[int, ...]
    """Rows too far from all others."""


def fitted(ground: Ground, factor_mean: Floats, factor_covariance: Floats) -> Fit:
    """The rows explained.

    Args:
        ground: the rows.
        factor_mean: what is known of all the craft's factors, as fractions off 1, shape (factors,).
        factor_covariance: and how well, (factors, factors).
    """
    active = np.array(ground.factors, dtype=np.intp)
    own = ground.own
    values = ground.values - ground.columns[:, own:] @ factor_mean[active]
    precision = np.zeros((ground.columns.shape[1],) * 2)
    precision[:own, :own] = np.diag(ground.prior_sd**-2.0)
    precision[own:, own:] = np.linalg.inv(factor_covariance[np.ix_(active, active)])
    fraction, aside, far = _explained(ground, values, ground.columns, precision)
    rows = whitened(values, ground.columns, ground.covariance(fraction, aside))
    return Fit(
        ground=ground,
        rows=rows,
        posterior=posterior(rows, precision),
        wander_fraction=fraction,
        factor_mean=factor_mean[active],
        precision=precision,
        set_aside=tuple(far.tolist()),
    )


def refitted(fit: Fit, extra: Floats, extra_sds: Floats) -> Fit:
    """The fit with its wandering and its spikes as they are beside further columns (n, q)."""
    ground, own = fit.ground, fit.ground.own
    values = ground.values - ground.columns[:, own:] @ fit.factor_mean
    size = len(fit.precision)
    precision = np.diag(np.concatenate((np.zeros(size), extra_sds**-2.0)))
    precision[:size, :size] = fit.precision
    columns = np.column_stack((ground.columns, extra))
    fraction, aside, far = _explained(ground, values, columns, precision)
    rows = whitened(values, ground.columns, ground.covariance(fraction, aside))
    return replace(
        fit,
        rows=rows,
        posterior=posterior(rows, fit.precision),
        wander_fraction=fraction,
        set_aside=tuple(far.tolist()),
    )


def _explained(
    ground: Ground, values: Floats, columns: Floats, precision: Floats
) -> tuple[float, Floats, NDArray[np.intp]]:
    """The size of the wandering, what is added to the variance of every row, and the rows set aside."""
    aside = np.zeros(len(values))
    fraction = _wander_fraction(ground, values, columns, precision, aside)
    rows = whitened(values, columns, ground.covariance(fraction, aside))
    far = _far(values, rows, posterior(rows, precision))
    if len(far):
        aside[far] = _aside_var(ground, far)
        fraction = _wander_fraction(ground, values, columns, precision, aside)
    return fraction, aside, far


def _aside_var(ground: Ground, far: NDArray[np.intp]) -> Floats:
    """By what rows are made so uncertain that they no longer count."""
    variance: Floats = 1e6 * (ground.noise_var[far] + ground.rounding[far, far]) + 1e-6
    return variance


def _wander_fraction(
    ground: Ground, values: Floats, columns: Floats, precision: Floats, aside: Floats
) -> float:
    """The root of the mean square of the sizes, by the readings and by what is usual."""
    sizes = np.array(WANDER_FRACTIONS)
    logs = [
        log_evidence(values, columns, ground.covariance(size, aside), precision) for size in WANDER_FRACTIONS
    ]
    weighed = np.array(logs) - 0.5 * (np.log(sizes / USUAL_WANDER) / np.log(WANDER_TIMES)) ** 2
    weights = np.exp(weighed - weighed.max())
    return float(np.sqrt(np.sum(weights * sizes**2) / np.sum(weights)))


def _far(values: Floats, rows: Whitened, after: Posterior) -> NDArray[np.intp]:
    """The rows that lie too far from what all others say of them (each left out once, in closed form)."""
    inverse = rows.inverse
    seen = inverse.T @ rows.columns
    kept = inverse.T @ inverse - seen @ after.covariance @ seen.T
    misfit = kept @ values
    spread = np.maximum(np.diag(kept), 1e-300)
    off = np.abs(misfit / spread) * np.sqrt(spread)
    found = np.flatnonzero(off > SPIKE_SD)
    # A change of use shows in the newest rows first and looks the same; spikes are few and stand alone.
    alone = [index for index in found if not {index - 1, index + 1} & set(found.tolist())]
    return np.array(alone if len(alone) <= max(len(values) // 20, 1) else [], dtype=np.intp)
