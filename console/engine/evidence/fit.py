"""One supply's readings against its model: factors of its uses, its level now, how far its use wanders.

The model's use since the first row is known from the log, so that every configuration change is a knot and
the level is one continuous line through all of them. What may be off is a factor of each use, the bias of the
meters, and an amount that an event took; use wanders besides. Levels and meters are one regression.

A row far from all others is set aside. The size of the wandering is the one of a few that makes the readings
most probable.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.evidence.modelled import Modelled
from console.engine.evidence.observed import LevelRows, MeterRows
from console.engine.evidence.regression import Posterior, Whitened, posterior, whitened
from console.engine.evidence.wander import TAU_S, correlation, integration

WANDER_FRACTIONS = (0.015, 0.03, 0.06, 0.12)
"""Sizes of the wandering that are tried, as fractions of each single use; the prior is flat over them."""

CYCLE_S = 150.0
"""For so long a thermostat's draw stays on one side of its mean (common practice, no source)."""

SPIKE_SD = 6.0
FREE_SD = 1.0e4
"""Of what nothing is known beforehand, in hours of the usual use: far beyond any level."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ground:
    """The rows of one supply and the columns that explain them, all divided by ``unit_si_per_s``.

    Levels are in hours of that rate, rates in multiples of it. Columns: the level at the anchor, one for each
    event's amount, the meters' bias, then the factors.
    """

    level: LevelRows | None
    meter: MeterRows | None
    anchor_s: float
    unit_si_per_s: float
    values: Floats
    columns: Floats
    prior_sd: Floats
    """Of the columns that are no factors."""
    factors: tuple[int, ...]
    """Which factors of the craft the last columns are."""
    factor_rates_si_per_s: Floats
    """The model's draw by these factors at the anchor."""
    noise_var: Floats
    rounding: Floats
    """Covariance of the display's rounding, (n, n); zero for meters."""
    wander: Floats
    """Covariance of the wandering for a fraction of 1, (n, n)."""
    to_rate: Floats
    """Covariance of every row with the rate's deviation at the anchor, for a fraction of 1, (n,)."""
    rate_var: float
    """Variance of that deviation, for a fraction of 1."""

    @property
    def may_leak(self) -> bool:
        """Whether it is a vessel whose contents are read, and not a charge."""
        return self.level is not None and not self.level.by_counter and self.level.is_vessel

    @property
    def level_count(self) -> int:
        """How many rows are levels; they come first."""
        return 0 if self.level is None else len(self.level.times_s)

    @property
    def times_s(self) -> Floats:
        """Of every row."""
        parts = [each.times_s for each in (self.level, self.meter) if each is not None]
        return np.concatenate(parts)

    def covariance(self, fraction: float, set_aside: Floats) -> Floats:
        """Of all errors of the rows, for one size of the wandering."""
        found = fraction**2 * self.wander + self.rounding
        found[np.diag_indices_from(found)] += self.noise_var + set_aside + 1e-12
        return found


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


def ground_of(
    level: LevelRows | None,
    meter: MeterRows | None,
    level_model: Modelled,
    meter_model: Modelled,
    events_s: tuple[float, ...],
) -> Ground | None:
    """The rows of one supply with all that explains them; None where there is neither level nor meter."""
    kinds = [each for each in (level, meter) if each is not None]
    if not kinds:
        return None
    anchor_s = float(max(each.times_s[-1] for each in kinds))
    first_s = float(min(each.times_s[0] for each in kinds))
    totals, _ = level_model.cumulated(np.array([first_s, anchor_s]))
    span_s = max(anchor_s - first_s, 1.0)
    floor = 0.0 if level is None else float(np.sqrt(level.noise_var.mean() + level.step_var)) / 21600.0
    unit = max(float(totals[1] - totals[0]) / span_s, floor)
    if unit <= 0.0:
        return None
    parts = [
        _level_part(level, level_model, anchor_s, unit, events_s) if level is not None else None,
        _meter_part(meter, meter_model, unit) if meter is not None else None,
    ]
    return _joined(level, meter, level_model, anchor_s, unit, parts, events_s)


def fitted(ground: Ground, factor_mean: Floats, factor_covariance: Floats) -> Fit:
    """The rows explained, with the most probable size of the wandering.

    Args:
        ground: the rows.
        factor_mean: what is known of all the craft's factors, as fractions off 1, shape (factors,).
        factor_covariance: and how well, (factors, factors).
    """
    active = np.array(ground.factors, dtype=np.intp)
    own = ground.columns.shape[1] - len(active)
    values = ground.values - ground.columns[:, own:] @ factor_mean[active]
    precision = np.zeros((ground.columns.shape[1],) * 2)
    precision[:own, :own] = np.diag(ground.prior_sd**-2.0)
    precision[own:, own:] = np.linalg.inv(factor_covariance[np.ix_(active, active)])
    aside = np.zeros(len(values))
    best = _best(ground, values, precision, aside)
    far = _far(values, best)
    if len(far):
        aside[far] = _aside_var(ground, far)
        best = _best(ground, values, precision, aside)
    fraction, rows, after = best
    return Fit(
        ground=ground,
        rows=rows,
        posterior=after,
        wander_fraction=fraction,
        factor_mean=factor_mean[active],
        precision=precision,
        set_aside=tuple(far.tolist()),
    )


def refitted(fit: Fit, extra: Floats, extra_sd: float) -> Fit:
    """The fit with the size of the wandering that is most probable beside further columns (n, q)."""
    ground, own = fit.ground, fit.ground.columns.shape[1] - len(fit.ground.factors)
    values = ground.values - ground.columns[:, own:] @ fit.factor_mean
    size = len(fit.precision)
    precision = np.eye(size + extra.shape[1]) * extra_sd**-2.0
    precision[:size, :size] = fit.precision
    aside = np.zeros(len(values))
    far = np.array(fit.set_aside, dtype=np.intp)
    aside[far] = _aside_var(ground, far)
    columns = np.column_stack((ground.columns, extra))
    tried = []
    for fraction in WANDER_FRACTIONS:
        rows = whitened(values, columns, ground.covariance(fraction, aside))
        tried.append((posterior(rows, precision).log_evidence, fraction))
    _, fraction = max(tried)
    rows = whitened(values, ground.columns, ground.covariance(fraction, aside))
    return replace(fit, rows=rows, posterior=posterior(rows, fit.precision), wander_fraction=fraction)


def _aside_var(ground: Ground, far: NDArray[np.intp]) -> Floats:
    """By what rows are made so uncertain that they no longer count."""
    variance: Floats = 1e6 * (ground.noise_var[far] + ground.rounding[far, far]) + 1e-6
    return variance


def _best(
    ground: Ground, values: Floats, precision: Floats, aside: Floats
) -> tuple[float, Whitened, Posterior]:
    tried = []
    for fraction in WANDER_FRACTIONS:
        rows = whitened(values, ground.columns, ground.covariance(fraction, aside))
        tried.append((fraction, rows, posterior(rows, precision)))
    return max(tried, key=lambda one: one[2].log_evidence)


def _far(values: Floats, best: tuple[float, Whitened, Posterior]) -> NDArray[np.intp]:
    """The rows that lie too far from what all others say of them (each left out once, in closed form)."""
    _, rows, after = best
    inverse = np.linalg.inv(rows.root)
    seen = inverse.T @ rows.columns
    kept = inverse.T @ inverse - seen @ after.covariance @ seen.T
    misfit = kept @ values
    spread = np.maximum(np.diag(kept), 1e-300)
    off = np.abs(misfit / spread) * np.sqrt(spread)
    found = np.flatnonzero(off > SPIKE_SD)
    # A change of use shows in the newest rows first and looks the same; spikes are few and stand alone.
    alone = [index for index in found if not {index - 1, index + 1} & set(found.tolist())]
    return np.array(alone if len(alone) <= max(len(values) // 20, 1) else [], dtype=np.intp)


def _level_part(
    level: LevelRows, model: Modelled, anchor_s: float, unit: float, events_s: tuple[float, ...]
) -> tuple[Floats, Floats]:
    """Values (n,), and columns (n, 1 + events + factors), the meters' bias left out."""
    total, by_factor = model.cumulated(level.times_s)
    total_now, by_factor_now = model.cumulated(np.array([anchor_s]))
    hour = 3600.0 * unit
    values = (level.amounts_si - (total_now - total)) / hour
    # What an event took lies in all rows before it.
    steps = [(level.times_s < at_s).astype(np.float64) for at_s in events_s]
    ones = np.ones(len(values))
    return values, np.column_stack((ones, *steps, (by_factor_now - by_factor).T / hour))


def _meter_part(meter: MeterRows, model: Modelled, unit: float) -> tuple[Floats, Floats]:
    """Values (n,), and columns (n, 1 + factors): the bias, and the factors."""
    half = 0.5 * meter.widths_s
    total_begin, begin = model.cumulated(meter.times_s - half)
    total_end, end = model.cumulated(meter.times_s + half)
    values = meter.rates_si_per_s / unit - (total_end - total_begin) / meter.widths_s / unit
    return values, np.column_stack((np.ones(len(values)), ((end - begin) / meter.widths_s / unit).T))


def _joined(
    level: LevelRows | None,
    meter: MeterRows | None,
    model: Modelled,
    anchor_s: float,
    unit: float,
    parts: list[tuple[Floats, Floats] | None],
    events_s: tuple[float, ...],
) -> Ground:
    before = 1 + len(events_s) if level is not None else 0
    own = before + (meter is not None)
    blocks, values = [], []
    for index, part in enumerate(parts):
        if part is None:
            continue
        values.append(part[0])
        split = before if index == 0 else 1
        block = np.zeros((len(part[0]), own + part[1].shape[1] - split))
        block[:, (0 if index == 0 else own - 1) : (before if index == 0 else own)] = part[1][:, :split]
        block[:, own:] = part[1][:, split:]
        blocks.append(block)
    columns = np.vstack(blocks)
    active = np.flatnonzero(np.abs(columns[:, own:]).max(axis=0) > 1e-9)
    prior = [FREE_SD] * before + ([] if meter is None else [max(meter.bias_sd / unit, 1e-6)])
    noise, rounding, wander, to_rate, rate_var = _errors(level, meter, model, anchor_s, unit)
    return Ground(
        level=level,
        meter=meter,
        anchor_s=anchor_s,
        unit_si_per_s=unit,
        values=np.concatenate(values),
        columns=np.column_stack((columns[:, :own], columns[:, own:][:, active])),
        prior_sd=np.array(prior),
        factors=tuple(active.tolist()),
        factor_rates_si_per_s=model.rates_at(anchor_s)[active],
        noise_var=noise,
        rounding=rounding,
        wander=wander,
        to_rate=to_rate,
        rate_var=rate_var,
    )


def _errors(
    level: LevelRows | None, meter: MeterRows | None, model: Modelled, anchor_s: float, unit: float
) -> tuple[Floats, Floats, Floats, Floats, float]:
    """What makes rows stray: see ``Ground``, from its noise on."""
    counts = [0 if level is None else len(level.times_s), 0 if meter is None else len(meter.times_s)]
    count = sum(counts)
    noise, rounding = np.zeros(count), np.zeros((count, count))
    loading = []
    # Every row's deviation is a sum of the rate's deviation at some moments, each with a weight.
    moments: list[Floats] = []
    if level is not None:
        middles, widths, after = integration(level.times_s, anchor_s)
        roots = np.sqrt(model.square_at(middles)) / unit
        loading.append(after * widths * roots / 3600.0)
        moments.append(middles)
        swing = CYCLE_S**2 * model.cycling_at(level.times_s) / (3600.0 * unit) ** 2
        noise[: counts[0]], rounding[: counts[0], : counts[0]] = _reading_errors(level, unit)
        noise[: counts[0]] += swing
    if meter is not None:
        roots = np.sqrt(model.square_at(meter.times_s)) / unit
        loading.append(np.diag(roots))
        moments.append(meter.times_s)
        swing = model.cycling_at(meter.times_s) * np.minimum(2.0 * CYCLE_S / meter.widths_s, 1.0)
        noise[counts[0] :] = (meter.noise_var + swing) / unit**2
    times = np.concatenate(moments)
    weights = np.zeros((count, len(times)))
    row = column = 0
    for block in loading:
        weights[row : row + block.shape[0], column : column + block.shape[1]] = block
        row, column = row + block.shape[0], column + block.shape[1]
    between = correlation(times, times)
    root_now = float(np.sqrt(model.square_at(np.array([anchor_s]))[0])) / unit
    to_rate = weights @ np.exp(-np.abs(anchor_s - times) / TAU_S) * root_now
    return noise, rounding, weights @ between @ weights.T, to_rate, root_now**2


def _reading_errors(level: LevelRows, unit: float) -> tuple[Floats, Floats]:
    """Variance of each level's noise, and the covariance of its rounding.

    While a quiet gauge shows one and the same step its rounding stays the same; where the noise is as large
    as the step it is fresh in every reading.
    """
    hour = 3600.0 * unit
    noise = level.noise_var / hour**2
    step_var = level.step_var / hour**2
    if level.step_var <= 0.0:
        return noise, np.zeros((len(noise), len(noise)))
    # Hours in which the level moves by a step, and over which its rounding therefore is much the same.
    same_s = max(0.35 * level.step_si / unit, 1.0)
    apart = np.abs(level.times_s[:, None] - level.times_s[None, :])
    return noise, step_var * np.exp(-apart / same_s)
