"""What a supply's readings say, as the look ahead uses it: components of a posterior, the level, the rate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from console.craft.model import Supply
from console.engine.draws import Floats
from console.engine.evidence.fit import Fit
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.unlogged import Component, components_of, with_changes


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Way:
    """One way in which the readings may be explained, as draws are made from it.

    Quantities: the level at the anchor (amount), then each change's rate at the anchor (those that another
    supply's readings tell of first), then the craft's factors of this supply as fractions off 1.
    """

    weight: float
    changes: tuple[Candidate, ...]
    mean: Floats
    root: Floats
    """``root @ root.T`` is the covariance."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SupplyEvidence:
    """One supply."""

    supply: str
    anchor_s: float
    """The moment for which level and rates hold: that of the newest row."""
    stores: tuple[str, ...]
    """Whose amounts the level is; empty where no gauge tells one."""
    biases_sd: Mapping[str, float]
    """By store, the error that no reading of its gauge shows."""
    ways: tuple[Way, ...]
    """The likeliest first."""
    factors: tuple[int, ...]
    """Which of the craft's factors the last quantities are."""
    wander_fraction: float
    rate_si_per_s: float
    """Present draw as it costs the stores, in the likeliest way."""
    rate_sd_si_per_s: float
    window_s: float
    count: int
    set_aside: int
    held_si: Mapping[str, float] = field(default_factory=dict)
    """By store, as read at the anchor."""
    following: float = 1.0
    """What the absorbent takes up now, as a share of what the people breathe out; 1 of all else."""

    @property
    def has_level(self) -> bool:
        """Whether the first quantity of a way is a level that was read."""
        return bool(self.stores)


def supply_evidence(supply: Supply, fit: Fit, model_rate_si_per_s: float, following: float) -> SupplyEvidence:
    """What a fit says.

    Args:
        supply: which one.
        fit: the fit.
        model_rate_si_per_s: the model's present draw, every factor at 1.
        following: what the absorbent takes up now, as a share of what the people breathe out.
    """
    fit, components = components_of(fit, of_loads=supply.is_electrical)
    ground = fit.ground
    ways = tuple(_way(fit, each) for each in components)
    rate, rate_sd = _rate(fit, components[0], model_rate_si_per_s)
    level = ground.level
    return SupplyEvidence(
        supply=supply.name,
        anchor_s=ground.anchor_s,
        stores=() if level is None else level.stores,
        biases_sd={} if level is None else level.biases_sd,
        held_si={}
        if level is None
        else dict(zip(level.stores, level.by_store_si[:, -1].tolist(), strict=True)),
        ways=ways,
        factors=ground.factors,
        wander_fraction=fit.wander_fraction,
        rate_si_per_s=rate,
        rate_sd_si_per_s=rate_sd,
        following=following,
        window_s=ground.anchor_s - float(ground.times_s.min()),
        count=len(ground.times_s),
        set_aside=len(fit.set_aside),
    )


def _way(fit: Fit, one: Component) -> Way:
    """The component in amounts; the level is what lasts: less what the present wandering will yet take."""
    ground, after = fit.ground, one.posterior
    places = _change_places(fit, one)
    count = len(places)
    pick = np.zeros((1 + count + len(ground.factors), len(after.mean)))
    shift = np.zeros(len(pick))
    spare_var = 0.0
    hour = 3600.0 * ground.unit_si_per_s
    if ground.level is not None:
        gain, offset, spare_var = _stray(fit, one)
        pick[0] = -gain * ground.tau_s * ground.unit_si_per_s
        pick[0, 0] += hour
        shift[0] = -offset * ground.tau_s * ground.unit_si_per_s
        spare_var *= (ground.tau_s * ground.unit_si_per_s) ** 2
    for index, place in enumerate(places):
        pick[1 + index, place] = ground.unit_si_per_s
    shift[1 : 1 + len(ground.given)] = [each.rate_si_per_s for each in ground.given]
    for index in range(len(ground.factors)):
        pick[1 + count + index, ground.own + index] = 1.0
        shift[1 + count + index] = fit.factor_mean[index]
    covariance = pick @ after.covariance @ pick.T
    covariance[0, 0] += spare_var
    return Way(
        weight=one.weight,
        changes=(*(each.change for each in ground.given), *one.changes),
        mean=pick @ after.mean + shift,
        root=root_of(covariance),
    )


def _change_places(fit: Fit, one: Component) -> list[int]:
    """Which coefficients are rates of changes: those given, then those found."""
    own, first = fit.ground.own, len(fit.precision)
    return [*range(own - len(fit.ground.given), own), *range(first, first + len(one.changes))]


def root_of(covariance: Floats) -> Floats:
    """The symmetric square root of a covariance that may be singular.

    Of all roots it alone moves little where the covariance does: samples of one look are near those of
    the next.
    """
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    root: Floats = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
    return root


def _stray(fit: Fit, one: Component) -> tuple[Floats, float, float]:
    """The present deviation of the rate: its gain on the coefficients, its offset, its own variance."""
    ground, fraction, rows = fit.ground, fit.wander_fraction, fit.rows
    half = rows.of(fraction**2 * ground.to_rate)
    gain = -half @ with_changes(fit, one.changes).columns
    offset = float(half @ rows.values)
    variance = max(fraction**2 * ground.rate_var - float(half @ half), 0.0)
    return gain, offset, variance


def _rate(fit: Fit, one: Component, model_rate_si_per_s: float) -> tuple[float, float]:
    """The present draw and its standard deviation: model, factors, changes, and the present wandering."""
    ground, after = fit.ground, one.posterior
    gain, offset, variance = _stray(fit, one)
    pick = gain.copy()
    own = ground.own
    pick[own : own + len(ground.factors)] += ground.factor_rates_si_per_s / ground.unit_si_per_s
    pick[_change_places(fit, one)] += 1.0
    known = model_rate_si_per_s + float(ground.factor_rates_si_per_s @ fit.factor_mean)
    known += sum(each.rate_si_per_s for each in ground.given)
    rate = known + ground.unit_si_per_s * (float(pick @ after.mean) + offset)
    sd = ground.unit_si_per_s * float(np.sqrt(max(float(pick @ after.covariance @ pick), 0.0) + variance))
    return rate, sd
