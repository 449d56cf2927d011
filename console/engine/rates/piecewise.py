"""One continuous piecewise line through the readings of a gauge, with a knot at each change of configuration.

Rounding to the display's steps and use that wanders are random errors with a known shape beside the line, so
that the covariance of level and slopes is an honest one; what the plan says is not looked at.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge, Indices, rows_in_order
from console.engine.rates.least_squares import LinearFit, least_squares
from console.engine.rates.noise import Noise, noise_of, spikes
from console.engine.rates.piecewise_fit import PiecewiseFit as PiecewiseFit
from console.engine.rates.piecewise_fit import SlopePrior as SlopePrior
from console.engine.rates.repeats import repeats
from console.engine.rates.rounding import mean_variance, row_errors
from console.engine.rates.segments import Jump, Segments
from console.engine.rates.wander import Wander, wander_columns

FRACTIONS = (0.02, 0.05, 0.1, 0.2, 0.4)
"""Of the slopes: what is tried where residuals repeat one another."""
USUAL_FRACTION = 0.05
USUAL_TAU_S = 2700.0
"""How use is taken to stray where that is not told (common practice, no source)."""
REPEATED = 0.8
"""Below this ratio of what rows are worth to their count it is looked for."""
LIKELIER = 1.0
"""By how much the log likelihood must rise for it to be taken."""
FAR_SD = 6.0
UNKNOWN = 1e4
"""A slope or jump of which nothing is known may lie so many times the readings' range off."""


def fit_piecewise(
    gauge: Gauge,
    knots_s: tuple[float, ...],
    at_s: float | None = None,
    jumps: tuple[Jump, ...] = (),
    wander: Wander | None = None,
    prior: SlopePrior | None = None,
) -> PiecewiseFit | None:
    """The line through the readings; None where there are fewer than two.

    Args:
        gauge: the readings.
        knots_s: when the configuration changed, in order of time.
        at_s: the moment for which level and last slope are asked; by default the last reading's.
        jumps: refills and events; None as an amount lets the readings tell it.
        wander: how use strays; None to go by what the readings show of it.
        prior: of the slopes; None for none, then a slope that readings do not tell is said so.
    """
    ordered = rows_in_order(gauge)
    out_of_order = np.setdiff1d(np.arange(len(gauge)), ordered)
    breaks_s = tuple(jump.at_s for jump in jumps)
    alone = ordered[spikes(gauge.rows(ordered), breaks_s)]
    used = np.setdiff1d(ordered, alone)
    if len(used) < 2:
        return None
    anchor_s = float(gauge.times_s[used[-1]]) if at_s is None else max(at_s, float(gauge.times_s[used[-1]]))
    segments = Segments(anchor_s=anchor_s, knots_s=knots_s, jumps=jumps)
    rows = gauge.rows(used)
    ground = _Ground(rows, segments, noise_of(rows, breaks_s), prior)
    rough = ground.rough()
    far = ground.far(rough)
    if len(far):
        alone = np.sort(np.append(alone, used[far]))
        used = np.delete(used, far)
        rows = gauge.rows(used)
        ground = _Ground(rows, segments, noise_of(rows, breaks_s), prior)
        rough = ground.rough()
    fit = ground.fitted(rough, wander, alone, out_of_order)
    if wander is not None or fit.effective_count > REPEATED * fit.count:
        return fit
    tried = [ground.fitted(rough, one, alone, out_of_order) for one in _wanderings(fit, FRACTIONS)]
    best = max(tried, key=lambda one: one.log_likelihood, default=fit)
    return best if best.log_likelihood > fit.log_likelihood + LIKELIER else fit


def usual_wander(fit: PiecewiseFit) -> Wander | None:
    """How use is presumed to stray where nothing tells it: 5 % of each slope, or what the readings show."""
    sizes = _wanderings(fit, (USUAL_FRACTION,))
    return fit.wander or (sizes[0] if sizes else None)


def _wanderings(fit: PiecewiseFit, fractions: tuple[float, ...]) -> list[Wander]:
    """Use that strays by fractions of each slope."""
    slopes = np.where(fit.is_determined, np.abs(fit.slopes_si_per_s), 0.0)
    usual = float(slopes.max())
    if usual == 0.0:
        return []
    # A stretch of which nothing is known strays as the others do.
    rates = np.where(fit.is_determined, np.maximum(slopes, 0.05 * usual), usual)
    return [
        Wander(sds_si_per_s=tuple((fraction * rates).tolist()), tau_s=USUAL_TAU_S) for fraction in fractions
    ]


class _Ground:
    """The rows of one gauge and the columns of the line, at hand for several passes."""

    def __init__(self, rows: Gauge, segments: Segments, noise: Noise, prior: SlopePrior | None) -> None:
        self._rows, self._segments, self._noise = rows, segments, noise
        self._columns = segments.columns(rows.times_s)
        base = float(rows.values_si.mean())
        self._base_si = base
        self._values = rows.values_si - segments.known_jumps_si(rows.times_s) - base
        slopes = len(segments.knots_s) + 1
        self._slopes = slopes
        size_si = float(np.ptp(self._values)) + rows.step_si + noise.sd_si or 1.0
        gap_s = float(np.median(np.diff(rows.times_s))) if len(rows) > 1 else 1.0
        unknown = np.full(self._columns.shape[1], UNKNOWN * size_si)
        unknown[0] = np.inf
        unknown[1 : 1 + slopes] = UNKNOWN * size_si / gap_s
        self._unknown, self._means = unknown, np.zeros(len(unknown))
        if prior is not None:
            self._unknown[1 : 1 + slopes] = prior.sds_si_per_s
            self._means[1 : 1 + slopes] = prior.means_si_per_s
            self._values = self._values - self._columns @ self._means
        self._told_below = 0.1 if prior is None else 0.7

    def rough(self) -> LinearFit:
        """The line as if every row erred for itself."""
        return least_squares(self._columns, self._values, self._plain_sds(), self._unknown)

    def _plain_sds(self) -> Floats:
        variance = mean_variance(self._noise.sd_si, self._rows.step_si, self._rows.counts)
        return np.sqrt(variance + self._least())

    def _least(self) -> float:
        """So little that it counts for nothing, but keeps exact readings from being endlessly sure."""
        return (1e-3 * self._rows.noise_sd_si + 1e-6 * (float(np.ptp(self._values)) or 1.0)) ** 2

    def far(self, rough: LinearFit) -> Indices:
        """Rows far off the rough line; only those that stand alone, for a change of use looks the same."""
        left = self._values - self._columns @ rough.coefficients
        usual = max(1.4826 * float(np.median(np.abs(left))), self._rows.step_si / 3.0)
        if usual == 0.0:
            return np.zeros(0, dtype=np.intp)
        off = np.abs(left) > FAR_SD * np.maximum(usual, self._plain_sds())
        neighbours = np.concatenate(([False], off[:-1])) | np.concatenate((off[1:], [False]))
        found = np.flatnonzero(off & ~neighbours)
        return found if len(found) <= max(len(off) // 20, 1) and len(off) > 4 else found[:0]

    def fitted(
        self, rough: LinearFit, wander: Wander | None, alone: Indices, out_of_order: Indices
    ) -> PiecewiseFit:
        """The line with its honest covariance."""
        rows, noise = self._rows, self._noise
        slopes = (rough.coefficients + self._means)[1 : 1 + self._slopes]
        which = np.searchsorted(np.array(self._segments.knots_s), rows.times_s, side="right")
        errors = row_errors(rows, noise.sd_si, self._columns @ rough.coefficients, slopes[which])
        shared = errors.columns_si
        if wander is not None:
            strays = wander_columns(wander, rows.times_s, self._segments)
            shared = np.column_stack((shared, strays))
        sds = np.sqrt(errors.sds_si**2 + self._least())
        fit = least_squares(self._columns, self._values, sds, self._unknown, shared)
        left = (self._values - self._columns @ fit.coefficients - shared @ fit.shared) / sds
        repeated = 1.0 if wander is not None else repeats(left)
        # Residuals smaller than their rows' errors may repeat one another without harm.
        misfit = 1.0 if wander is not None else fit.residual_sum / max(fit.freedom, 1)
        alike = max(repeated * misfit, 1.0)
        covariance = fit.covariance * alike
        found = fit.coefficients + self._means
        last = 1 + self._slopes
        deviations = np.sqrt(np.diag(covariance))
        told = deviations[1:last] < self._told_below * self._unknown[1:last]
        return PiecewiseFit(
            segments=self._segments,
            level_si=float(found[0]) + self._base_si,
            slopes_si_per_s=found[1:last],
            is_determined=tuple(told.tolist()),
            jumps_si=found[last:],
            covariance=covariance,
            noise=noise,
            residual_sd_si=float(np.sqrt(np.mean((left * sds) ** 2))),
            freedom=max(min(noise.freedom, len(rows) - len(found)) / alike, 1.0),
            count=len(rows),
            effective_count=len(rows) / alike,
            first_s=float(rows.times_s[0]),
            last_s=float(rows.times_s[-1]),
            spikes=alone,
            out_of_order=out_of_order,
            wander=wander,
            log_likelihood=fit.log_likelihood,
        )
