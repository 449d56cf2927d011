"""The rows of one supply and the columns that may explain them, before anything is fitted.

The model's use since the first row is known from the log, so that every configuration change is a knot and
the level is one continuous line through all of them. What may be off is a factor of each use, the bias of the
meters, an amount that an event took, and what another supply tells of a change; use wanders besides. Levels
and meters are one regression.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.evidence.change_columns import steady_columns
from console.engine.evidence.modelled import Modelled
from console.engine.evidence.observed import LevelRows, MeterRows
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.wander import correlation, integration

CYCLE_S = 400.0
"""For about so long a thermostat's draw stays on one side of its mean (common practice, no source)."""

WITHIN_ROW = np.linspace(-0.4, 0.4, 5)
"""Where in its stretch a row is reckoned, as fractions of the stretch about its middle."""

FREE_SD = 1.0e4
"""Of what nothing is known beforehand, in hours of the usual use: far beyond any level."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Given:
    """A change that another supply's readings tell of."""

    change: Candidate
    rate_si_per_s: float
    sd_si_per_s: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ground:
    """The rows of one supply and the columns that explain them, all divided by ``unit_si_per_s``.

    Levels are in hours of that rate, rates in multiples of it. Columns: the level at the anchor, one for each
    event's amount, the meters' bias, one for each given change, then the factors.
    """

    level: LevelRows | None
    meter: MeterRows | None
    anchor_s: float
    tau_s: float
    """How soon stray use comes back."""
    unit_si_per_s: float
    values: Floats
    columns: Floats
    prior_sd: Floats
    """Of the columns that are no factors."""
    given: tuple[Given, ...]
    """Their coefficients are counted from the rates given."""
    factors: tuple[int, ...]
    """Which factors of the craft the last columns are."""
    factor_rates_si_per_s: Floats
    """The model's draw by these factors at the anchor."""
    noise_var: Floats
    rounding: Floats
    """Covariance of the display's rounding, and of thermostats in meters: (n, n)."""
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
    def own(self) -> int:
        """How many columns are no factors; they come first, and of them the given changes last."""
        return len(self.prior_sd)

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


def ground_of(
    level: LevelRows | None,
    meter: MeterRows | None,
    level_model: Modelled,
    meter_model: Modelled,
    events_s: tuple[float, ...],
    tau_s: float,
    given: tuple[Given, ...] = (),
) -> Ground | None:
    """The rows of one supply with all that explains them; None where there is neither level nor meter.

    Args:
        level: the amounts as read.
        meter: the draw as read.
        level_model: the model's use as it shows in the amounts.
        meter_model: and as it shows in the meters.
        events_s: when events took from it or added to it.
        tau_s: how soon stray use comes back.
        given: changes that other supplies tell of.
    """
    kinds = [each for each in (level, meter) if each is not None]
    if not kinds:
        return None
    anchor_s = float(max(each.times_s[-1] for each in kinds))
    unit = _unit_si_per_s(level, level_model, float(min(each.times_s[0] for each in kinds)), anchor_s)
    if unit <= 0.0:
        return None
    parts: list[tuple[Floats, Floats, Floats]] = []
    before = 0
    if level is not None:
        parts.append(_level_part(level, level_model, anchor_s, unit, events_s))
        before = 1 + len(events_s)
    if meter is not None:
        parts.append(_meter_part(meter, meter_model, unit))
    own, factors = _blocks([part[1] for part in parts]), np.vstack([part[2] for part in parts])
    told = np.hstack(
        [np.zeros((len(own), 0))]
        + [steady_columns(level, meter, anchor_s, np.array([one.change.at_s])) for one in given]
    )
    rates = np.array([one.rate_si_per_s for one in given]) / unit
    sds = [max(one.sd_si_per_s / unit, 1e-6) for one in given]
    bias = [] if meter is None else [max(meter.bias_sd / unit, 1e-6)]
    active = np.flatnonzero(np.abs(factors).max(axis=0) > 1e-9)
    noise, rounding, wander, to_rate, rate_var = _errors(level, meter, level_model, anchor_s, unit, tau_s)
    return Ground(
        level=level,
        meter=meter,
        anchor_s=anchor_s,
        tau_s=tau_s,
        unit_si_per_s=unit,
        values=np.concatenate([part[0] for part in parts]) - told @ rates,
        columns=np.column_stack((own, told, factors[:, active])),
        prior_sd=np.array([*([FREE_SD] * before), *bias, *sds]),
        given=given,
        factors=tuple(active.tolist()),
        factor_rates_si_per_s=level_model.rates_at(anchor_s)[active],
        noise_var=noise,
        rounding=rounding,
        wander=wander,
        to_rate=to_rate,
        rate_var=rate_var,
    )


def _unit_si_per_s(level: LevelRows | None, model: Modelled, first_s: float, anchor_s: float) -> float:
    """The usual rate: the model's mean, or what the gauge can just see in six hours where that is more."""
    totals, _ = model.cumulated(np.array([first_s, anchor_s]))
    floor = 0.0 if level is None else float(np.sqrt(level.noise_var.mean() + level.step_var)) / 21600.0
    return max(float(totals[1] - totals[0]) / max(anchor_s - first_s, 1.0), floor)


def _level_part(
    level: LevelRows, model: Modelled, anchor_s: float, unit: float, events_s: tuple[float, ...]
) -> tuple[Floats, Floats, Floats]:
    """Values (n,), own columns (n, 1 + events) and those of the factors."""
    # A row is the mean over its stretch, in which a step, or a change of what is switched, may lie anywhere.
    within = level.times_s[:, None] + level.widths_s[:, None] * WITHIN_ROW
    total, by_factor = model.cumulated(within.ravel())
    total = total.reshape(within.shape).mean(axis=1)
    by_factor = by_factor.reshape((-1, *within.shape)).mean(axis=2)
    total_now, by_factor_now = model.cumulated(np.array([anchor_s]))
    hour = 3600.0 * unit
    values = (level.amounts_si - (total_now - total)) / hour
    # What an event took lies in all rows before it.
    steps = [(level.times_s < at_s).astype(np.float64) for at_s in events_s]
    return values, np.column_stack((np.ones(len(values)), *steps)), (by_factor_now - by_factor).T / hour


def _meter_part(meter: MeterRows, model: Modelled, unit: float) -> tuple[Floats, Floats, Floats]:
    """Values (n,), the column of the bias and those of the factors."""
    half = 0.5 * meter.widths_s
    total_begin, begin = model.cumulated(meter.times_s - half)
    total_end, end = model.cumulated(meter.times_s + half)
    values = meter.rates_si_per_s / unit - (total_end - total_begin) / meter.widths_s / unit
    return values, np.ones((len(values), 1)), ((end - begin) / meter.widths_s / unit).T


def _blocks(blocks: list[Floats]) -> Floats:
    """Blocks on the diagonal, zero elsewhere."""
    found = np.zeros((sum(each.shape[0] for each in blocks), sum(each.shape[1] for each in blocks)))
    row = column = 0
    for each in blocks:
        found[row : row + each.shape[0], column : column + each.shape[1]] = each
        row, column = row + each.shape[0], column + each.shape[1]
    return found


def _errors(
    level: LevelRows | None,
    meter: MeterRows | None,
    model: Modelled,
    anchor_s: float,
    unit: float,
    tau_s: float,
) -> tuple[Floats, Floats, Floats, Floats, float]:
    """What makes rows stray: see ``Ground``, from its noise on."""
    counts = [0 if level is None else len(level.times_s), 0 if meter is None else len(meter.times_s)]
    noise, rounding = np.zeros(sum(counts)), np.zeros((sum(counts), sum(counts)))
    # Every row's deviation is a sum of the rate's deviation at some moments, each with a weight.
    loading: list[Floats] = []
    moments: list[Floats] = []
    if level is not None:
        middles, widths, after = integration(level.times_s, anchor_s)
        roots = np.sqrt(model.square_at(middles)) / unit
        loading.append(after * widths * roots / 3600.0)
        moments.append(middles)
        # A round of on and off leaves no trace: the level strays by half of one side of it.
        swing = (0.5 * CYCLE_S) ** 2 * model.cycling_at(level.times_s) / (3600.0 * unit) ** 2
        noise[: counts[0]], rounding[: counts[0], : counts[0]] = _reading_errors(level, unit)
        noise[: counts[0]] += swing
    if meter is not None:
        loading.append(np.diag(np.sqrt(model.square_at(meter.times_s)) / unit))
        moments.append(meter.times_s)
        swing = np.sqrt(model.cycling_at(meter.times_s) * np.minimum(CYCLE_S / meter.widths_s, 1.0)) / unit
        apart = correlation(meter.times_s, meter.times_s, CYCLE_S)
        rounding[counts[0] :, counts[0] :] = swing[:, None] * swing * apart
        noise[counts[0] :] = meter.noise_var / unit**2
    times, weights = np.concatenate(moments), _blocks(loading)
    between = correlation(times, times, tau_s)
    root_now = float(np.sqrt(model.square_at(np.array([anchor_s]))[0])) / unit
    to_rate = weights @ np.exp(-np.abs(anchor_s - times) / tau_s) * root_now
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
