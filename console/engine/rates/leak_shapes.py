"""Which shape a loss has, by the readings of a window: each shape fitted, and weighed against the others.

Given how a loss bends, a reading is linear in the level and the rate now, so that every shape is a few linear
fits over a grid of bends: their likelihoods with level and rate integrated out are the weights. Readings from
before the loss began do not belong into the window.
"""

from __future__ import annotations

import math

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge, rows_in_order
from console.engine.rates.leak_curves import LeakShape, lost_si, rates_si_per_s
from console.engine.rates.leak_fit import LeakFit, ShapedLoss
from console.engine.rates.least_squares import LinearFit, least_squares
from console.engine.rates.noise import noise_of, spikes
from console.engine.rates.rounding import RowErrors, row_errors

BEFOREHAND = {
    LeakShape.STEADY: 0.55,
    LeakShape.IN_PROPORTION: 0.37,
    LeakShape.GROWING: 0.04,
    LeakShape.RAMPING: 0.04,
}
"""How probable each is before any reading (our own choice): so that readings which tell nothing of the shape
lean on no growth."""
GROWTHS = np.geomspace(0.25, 16.0, 17)
"""By e to how much a growing loss grows over the window."""
RAMPS = np.geomspace(8.0, 0.25, 17)
"""Over how many windows a ramping rate has risen from nothing."""
ZOOMS = 3
NARROW = 0.3
"""Where one bend of the grid has more than this weight, the grid is too coarse."""
FEWEST = 8
_STEPS = 6


def leak_shapes(gauge: Gauge, since_s: float, at_s: float, use_si_per_s: float = 0.0) -> LeakFit | None:
    """The shapes of a loss since a moment; None for too few readings, or where nothing is lost.

    Args:
        gauge: the readings.
        since_s: when the loss began, or the window.
        at_s: now; level and rate are those at the last reading until then.
        use_si_per_s: the known steady use beside the loss.
    """
    ordered = gauge.rows(rows_in_order(gauge))
    rows = ordered.rows(np.flatnonzero((ordered.times_s >= since_s) & (ordered.times_s <= at_s)))
    rows = rows.rows(np.setdiff1d(np.arange(len(rows)), spikes(rows, ())))
    if len(rows) < FEWEST:
        return None
    window = _Window(rows, use_si_per_s)
    losses = [found for shape in LeakShape if (found := window.fitted(shape)) is not None]
    if not losses:
        return None
    logs = np.array([math.log(BEFOREHAND[one.shape]) + one.log_likelihood for one in losses])
    weights = np.exp(logs - np.logaddexp.reduce(logs))
    order = np.argsort(-weights, kind="stable")
    return LeakFit(
        losses=tuple(losses[index] for index in order),
        weights=tuple(weights[order].tolist()),
        from_s=float(rows.times_s[0]),
        anchor_s=float(rows.times_s[-1]),
        count=len(rows),
        use_si_per_s=use_si_per_s,
    )


class _Window:
    """The rows of one window, about their mean, and how they err."""

    def __init__(self, rows: Gauge, use_si_per_s: float) -> None:
        self._after_s = rows.times_s - rows.times_s[-1]
        self._span_s = float(-self._after_s[0])
        # Without the known use, which ran beside the loss.
        self._values = rows.values_si + use_si_per_s * self._after_s
        self._base_si = float(self._values.mean())
        scaled = self._after_s / self._span_s
        bent = np.column_stack((np.ones(len(rows)), scaled, scaled**2))
        noise = noise_of(rows, ())
        rough = least_squares(bent, rows.values_si - rows.values_si.mean())
        mean_slope = float(np.polyfit(scaled, rows.values_si - rows.values_si.mean(), 1)[0]) / self._span_s
        errors = row_errors(rows, noise.sd_si, bent @ rough.coefficients, np.full(len(rows), mean_slope))
        least = 1e-3 * rows.noise_sd_si + 1e-6 * (float(np.ptp(rows.values_si)) or 1.0)
        self._errors = RowErrors(sds_si=np.hypot(errors.sds_si, least), columns_si=errors.columns_si)

    def fitted(self, shape: LeakShape) -> ShapedLoss | None:
        """One shape; None where it would have to be a gain."""
        if shape is LeakShape.IN_PROPORTION:
            return self._in_proportion()
        if shape is LeakShape.STEADY:
            return self._over(shape, np.ones(1), [self._linear(shape, 1.0)], 1.0)
        bends = GROWTHS / self._span_s if shape is LeakShape.GROWING else 1.0 / (RAMPS * self._span_s)
        share = 1.0
        for _ in range(ZOOMS):
            found = self._over(shape, bends, [self._linear(shape, bend) for bend in bends.tolist()], share)
            if found is None or float(np.max(found.weights)) < NARROW:
                break
            # The likely bends lie between two of the grid: a finer one about the best, for its part of them.
            best = int(np.argmax(found.weights))
            step = math.log(bends[1] / bends[0])
            fine = np.linspace(-1.5, 1.5, len(bends)) * step + math.log(bends[best])
            share *= (fine[1] - fine[0]) / step
            bends = np.exp(fine)
        return found

    def _over(
        self, shape: LeakShape, bends: Floats, fits: list[LinearFit], share: float
    ) -> ShapedLoss | None:
        """The fits of a grid of bends as one.

        Beforehand each is as probable as any other; ``share`` is how much finer than the first the grid is.
        """
        found = np.array([fit.coefficients for fit in fits])
        found[:, 0] += self._base_si
        covariances = np.array([fit.covariance for fit in fits])
        logs = np.array([fit.log_likelihood for fit in fits])
        # A loss is no gain: of each, what of its distribution is one does not count.
        z = found[:, 1] / np.sqrt(covariances[:, 1, 1])
        loses = np.array([0.5 * math.erfc(-each / math.sqrt(2.0)) for each in z.tolist()])
        logs = logs + np.log(np.maximum(loses, 1e-300)) + math.log(share / len(fits))
        # Beforehand every amount lost in the window is as probable as any other, not every rate at its end.
        logs = logs + np.log([self._lost_in_window(shape, *each) for each in zip(found, bends, strict=True)])
        if not np.any(found[:, 1] > 0.0):
            return None
        whole = float(np.logaddexp.reduce(logs))
        return ShapedLoss(
            shape=shape,
            log_likelihood=whole,
            bends=bends,
            weights=np.exp(logs - whole),
            levels_si=found[:, 0],
            rates_si_per_s=np.maximum(found[:, 1], 0.0),
            covariances=covariances,
        )

    def _lost_in_window(self, shape: LeakShape, found: Floats, bend: float) -> float:
        """What is lost in the window over what its last rate would lose."""
        level, rate = max(float(found[0]), 1e-300), max(float(found[1]), 1e-300)
        args = (np.full(1, level), np.full(1, rate), np.full(1, bend), np.full(1, -self._span_s))
        lost = float(-lost_si(shape, *args)[0])
        return max(lost / (rate * self._span_s), 1e-12)

    def _linear(self, shape: LeakShape, bend: float) -> LinearFit:
        """Level and rate for one bend."""
        one, bends = np.ones(1), np.full(1, bend)
        lost = lost_si(shape, one, one, bends, self._after_s)
        return self._solved(np.column_stack((np.ones(len(lost)), -lost)), self._values - self._base_si)

    def _in_proportion(self) -> ShapedLoss | None:
        """Level and rate of a loss in proportion: Gauss and Newton's steps from the steady line."""
        start = self._linear(LeakShape.STEADY, 1.0)
        level, rate = float(start.coefficients[0]) + self._base_si, float(start.coefficients[1])
        if level <= 0.0 or rate <= 0.0:
            return None
        fit = start
        for _ in range(_STEPS):
            at = (np.full(1, level), np.full(1, rate), np.ones(1), self._after_s)
            lost, fading = lost_si(LeakShape.IN_PROPORTION, *at), rates_si_per_s(LeakShape.IN_PROPORTION, *at)
            by_rate = self._after_s * fading / rate
            columns = np.column_stack((1.0 - lost / level + rate / level * by_rate, -by_rate))
            fit = self._solved(columns, self._values - (level - lost))
            level, rate = level + float(fit.coefficients[0]), rate + float(fit.coefficients[1])
            if level <= 0.0 or rate <= 0.0:
                return None
        moved = LinearFit(
            coefficients=np.array([level - self._base_si, rate]),
            covariance=fit.covariance,
            shared=fit.shared,
            residual_sum=fit.residual_sum,
            freedom=fit.freedom,
            log_likelihood=fit.log_likelihood,
        )
        return self._over(LeakShape.IN_PROPORTION, np.ones(1), [moved], 1.0)

    def _solved(self, columns: Floats, values: Floats) -> LinearFit:
        return least_squares(columns, values, self._errors.sds_si, shared=self._errors.columns_si)
