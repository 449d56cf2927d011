"""Which way of telling the rate a gauge's readings allow, and the rate by it, with the parts to say why.

Few steps of the display give intervals that lie, so that then only bounds are said; nothing is said of a
gauge that has not moved enough. What the plan expects is not looked at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.bounded import BoundedLines
from console.engine.rates.bounded_joined import bounded_since
from console.engine.rates.display_changes import FEWEST as FEWEST_CHANGES
from console.engine.rates.display_changes import display_changes
from console.engine.rates.fieller import Reach, Reaching, reach
from console.engine.rates.gauge import Gauge
from console.engine.rates.piecewise import PiecewiseFit, fit_piecewise, usual_wander
from console.engine.rates.segments import Jump
from console.engine.rates.student import NORMAL_95, student_quantile
from console.engine.rates.wander import Wander

QUIET_STEPS = 0.25
"""Noise below this share of a step does not dither the display."""
FEWEST_STEPS = 3.0
"""A quiet gauge must have moved so many steps since the last knot for joined lines to have a say."""
FEWEST_ROWS = 4
"""Since the last knot, for a line."""


class RateMethod(Enum):
    """How a rate was told."""

    JOINED = "joined lines through the readings"
    CHANGES = "moments at which the display changed"
    BOUNDED = "all lines that the display's steps allow"
    NOT_YET = "not enough movement yet"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rate:
    """How fast an amount changes now; below 0 for what falls."""

    method: RateMethod
    slope_si_per_s: float | None
    """None where there is not enough movement yet."""
    sd_si_per_s: float | None
    """None for bounds, which have no distribution."""
    low_si_per_s: float | None
    """The steepest fall, of 90 %; None where nothing bounds it."""
    high_si_per_s: float | None
    """The least fall; it may be a rise."""
    since_s: float
    """From when on it holds: the last knot, or the first reading."""
    window_s: float
    """Over how long the readings since then go."""
    count: int
    """Rows since then."""
    steps: float | None
    """How many steps of the display the amount has moved since then; None for a display without steps."""
    level_si: float
    """Now, as the gauge has it."""
    level_sd_si: float
    """Without the gauge's bias; for bounds a third of their half width."""
    covariance: Floats
    """Of level and slope, (2, 2); for bounds of a third of their half widths and no correlation."""
    freedom: float
    """For Student's t."""
    bias_sd_si: float
    at_s: float
    """The moment for which the level holds."""
    fit: PiecewiseFit | None
    lines: BoundedLines | None

    def reach(self, target_si: float) -> Reach:
        """How long from ``at_s`` until the amount is at a level, with the gauge's bias."""
        if self.lines is not None:
            return self.lines.reach(target_si, NORMAL_95 * self.bias_sd_si)
        if self.slope_si_per_s is None:
            return Reach(reaching=Reaching.NO_UPPER_END, low_s=0.0, central_s=None, high_s=None, g=math.inf)
        return reach(
            self.level_si,
            self.slope_si_per_s,
            self.covariance,
            target_si,
            self.freedom,
            self.bias_sd_si,
        )


def rate_of(
    gauge: Gauge,
    knots_s: tuple[float, ...],
    at_s: float,
    jumps: tuple[Jump, ...] = (),
    wander: Wander | None = None,
) -> Rate | None:
    """The rate since the last knot; None where there are fewer than two readings.

    Args:
        gauge: the readings.
        knots_s: when the configuration changed, in order of time.
        at_s: now; knots after it are left out.
        jumps: refills and events.
        wander: how use strays; None to presume what is usual. For use that is known not to, a spread of 0.
    """
    knots = tuple(knot for knot in knots_s if knot < at_s)
    fit = fit_piecewise(gauge, knots, at_s, jumps, wander)
    if fit is None:
        return None
    if wander is None:
        # What strays slowly hides in noise and still moves a slope: it is presumed, not looked for.
        wander = usual_wander(fit)
        fit = fit_piecewise(gauge, knots, at_s, jumps, wander) or fit
    parts = _Parts(gauge, fit)
    joined = None
    if parts.count_since >= FEWEST_ROWS and fit.is_determined[-1]:
        joined = parts.by_fit(fit, RateMethod.JOINED)
    if fit.noise.sd_si >= QUIET_STEPS * gauge.step_si:
        return joined or parts.by_bounds(wander)
    by_changes = parts.by_changes(wander)
    if by_changes is not None:
        return by_changes
    bounded = parts.by_bounds(wander)
    if joined is None or parts.steps_since() < FEWEST_STEPS:
        return bounded
    if bounded.lines is None or bounded.lines.widened_si > 0.0:
        return joined
    # Both hold the truth at least as often as they say, so that the narrower one may be taken.
    return min(bounded, joined, key=_width)


def _width(rate: Rate) -> float:
    if rate.low_si_per_s is None or rate.high_si_per_s is None:
        return math.inf
    return rate.high_si_per_s - rate.low_si_per_s


class _Parts:
    """What every way of telling the rate needs of the readings."""

    def __init__(self, gauge: Gauge, fit: PiecewiseFit) -> None:
        dropped = np.union1d(fit.spikes, fit.out_of_order).astype(np.intp)
        self._rows = rows = gauge.rows(np.setdiff1d(np.arange(len(gauge)), dropped))
        self._fit = fit
        segments = fit.segments
        past = [knot for knot in segments.knots_s if knot > rows.times_s[0]]
        self._since_s = past[-1] if past else float(rows.times_s[0])
        self.count_since = int(np.count_nonzero(rows.times_s >= self._since_s))

    def steps_since(self) -> float:
        """How many steps the display has moved since the last knot, jumps taken out."""
        rows, segments = self._rows, self._fit.segments
        if not rows.step_si:
            return math.inf
        since = rows.times_s >= self._since_s
        opened = segments.columns(rows.times_s)[:, 1 + len(self._fit.slopes_si_per_s) :] @ self._fit.jumps_si
        values = (rows.values_si - segments.known_jumps_si(rows.times_s) - opened)[since]
        if not len(values):
            return 0.0
        return abs(float(np.median(values[-3:]) - np.median(values[:3]))) / rows.step_si

    def by_fit(self, fit: PiecewiseFit, method: RateMethod) -> Rate:
        """By joined lines, through readings or through the display's changes."""
        level, slope, covariance = fit.level_and_last_slope()
        sd = float(np.sqrt(covariance[1, 1]))
        reach_sd = student_quantile(0.95, min(fit.freedom, 1e6)) * sd
        return self._rate(
            method=method,
            slope=(slope, sd, slope - reach_sd, slope + reach_sd),
            level=(level, float(np.sqrt(covariance[0, 0]))),
            covariance=covariance,
            fit=fit,
        )

    def by_changes(self, wander: Wander | None) -> Rate | None:
        """By the moments at which the display changed; None for too few of them since the last knot."""
        fit = self._fit
        changes = display_changes(self._rows, fit.noise.sd_si)
        if np.count_nonzero(changes.times_s >= self._since_s) < FEWEST_CHANGES:
            return None
        segments = fit.segments
        found = fit_piecewise(changes, segments.knots_s, segments.anchor_s, segments.jumps, wander)
        if found is None or not found.is_determined[-1]:
            return None
        return self.by_fit(found, RateMethod.CHANGES)

    def by_bounds(self, wander: Wander | None) -> Rate:
        """By all lines that the display's steps allow."""
        fit = self._fit
        lines = bounded_since(self._rows, fit.segments, fit.noise.sd_si, wander)
        if lines is None:
            return self._rate(
                method=RateMethod.NOT_YET,
                slope=(None, None, None, None),
                level=(fit.level_si, fit.level_sd_si),
                covariance=fit.covariance[:2, :2],
                fit=fit,
            )
        low, high = lines.slopes_si_per_s
        bottom, top = lines.levels_si(fit.segments.anchor_s)
        level, slope = lines.middle
        sds = np.array([top - bottom, high - low]) / 6.0
        is_told = high < 0.0 or low > 0.0
        return self._rate(
            method=RateMethod.BOUNDED if is_told else RateMethod.NOT_YET,
            slope=(slope if is_told else None, None, low, high),
            level=(level, float(sds[0])),
            covariance=np.diag(sds**2),
            fit=fit,
            lines=lines,
        )

    def _rate(
        self,
        *,
        method: RateMethod,
        slope: tuple[float | None, float | None, float | None, float | None],
        level: tuple[float, float],
        covariance: Floats,
        fit: PiecewiseFit,
        lines: BoundedLines | None = None,
    ) -> Rate:
        rows, at_s = self._rows, fit.segments.anchor_s
        begin_s = max(self._since_s, float(rows.times_s[0]))
        window_s = max(float(rows.times_s[-1]) - begin_s, 0.0)
        return Rate(
            method=method,
            slope_si_per_s=slope[0],
            sd_si_per_s=slope[1],
            low_si_per_s=slope[2],
            high_si_per_s=slope[3],
            since_s=self._since_s,
            window_s=window_s,
            count=self.count_since,
            steps=self.steps_since() if rows.step_si else None,
            level_si=level[0],
            level_sd_si=level[1],
            covariance=covariance,
            freedom=fit.freedom,
            bias_sd_si=rows.bias_sd_si,
            at_s=at_s,
            fit=fit if method in (RateMethod.JOINED, RateMethod.CHANGES) else None,
            lines=lines,
        )
