"""Draws from what was learnt: each sample has one level, one set of factors and one course of every change.

Row 0 of everything is the likeliest way at its mean, which is what the central figures are made from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from console.craft.model import Craft
from console.engine.draws import Floats, standard_draws
from console.engine.evidence.shapes import mean_rates, mean_rates_in_proportion
from console.engine.evidence.supply_evidence import SupplyEvidence, Way, root_of
from console.engine.planned_rate import LOADS_FACTOR

if TYPE_CHECKING:
    from console.engine.evidence.evidence import Evidence
    from console.engine.forecast import Draws
    from console.engine.planned_use import SupplyUse

UNLOGGED = "change that nobody logged"
"""Name of the line for what is taken beyond all that is known."""

GRID_H = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 36.0, 48.0, 72.0, 96.0)
"""Between which a change that grows or falls off is taken at its mean, hours from now; then it stays."""

LEAST_FACTOR = 0.05


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Luck:
    """What was learnt, laid over the plan's segments."""

    evidence: Evidence
    craft: Craft
    at_s: float

    def moments_s(self) -> tuple[float, ...]:
        """When changes of a shape of their own need a new segment."""
        ways = [way for one in self.evidence.supplies.values() for way in one.ways]
        changing = any(change.growth_per_s or change.in_proportion for way in ways for change in way.changes)
        return tuple(self.at_s + 3600.0 * hours for hours in GRID_H) if changing else ()

    def extra_si_per_s(self, supply: str, starts_s: Floats, base_si_per_s: Floats) -> Floats | None:
        """The central rate of what nobody logged, shape (segments,); None where there is nothing."""
        one = self.evidence.supplies.get(supply)
        if one is None or not one.ways[0].changes:
            return None
        way = one.ways[0]
        shapes = _shapes(one, way, starts_s, base_si_per_s)
        extra: Floats = way.mean[1 : 1 + len(shapes)] @ shapes
        return extra

    def sampled_si_per_s(
        self, supply: str, use: SupplyUse, starts_s: Floats, shares: Mapping[str, Floats], draws: Draws
    ) -> Floats:
        """The rate in each segment, shape (samples, segments); row 0 is the central one."""
        factors, own = self._factors(supply, draws)
        central = np.append(self.evidence.mean, 0.0)
        total = np.zeros((draws.count + 1, len(starts_s)))
        for names in dict.fromkeys(key.factors for key in use.keys):
            group = [
                index for index, key in enumerate(use.keys) if key.factors == names and key.name != UNLOGGED
            ]
            rates = use.rates_si_per_s[group].sum(axis=0)
            multiplier = np.ones((draws.count + 1, 1))
            for name in names:
                if name == LOADS_FACTOR:
                    multiplier = multiplier * self._loads(factors, own, shares[supply])
                else:
                    place = self.evidence.names.index(name)
                    middle = 1.0 + central[place]
                    multiplier = multiplier * (np.maximum(1.0 + factors[:, [place]], LEAST_FACTOR) / middle)
            total += multiplier * rates
        total += self._extras(supply, use, starts_s, draws)
        total[0] = use.rates_si_per_s.sum(axis=0)
        return np.maximum(total, 0.0) if len(total) > 1 else total

    def level_error_si(self, supply: str, draws: Draws) -> Floats:
        """How far each sample's level lies off the central one, (samples,); 0 where none was learnt."""
        one = self.evidence.supplies.get(supply)
        if one is None or not one.has_level:
            return np.zeros(draws.count + 1)
        drawn = self._drawn(one, draws)
        error: Floats = drawn[:, 0] - one.ways[0].mean[0]
        error[0] = 0.0
        return error

    def wander_fraction(self, supply: str) -> float:
        """How far each use of a supply wanders."""
        one = self.evidence.supplies.get(supply)
        return DEFAULT_WANDER if one is None else one.wander_fraction

    def _loads(self, factors: Floats, own: Floats, shares: Floats) -> Floats:
        """By what the loads' draw is multiplied, shape (samples, segments)."""
        place = self.evidence.names.index(LOADS_FACTOR)
        mean = self.evidence.mean
        middle = 1.0 + mean[place] + mean[place + 1 : place + 1 + len(shares)] @ shares
        distinct, which = np.unique(shares, axis=1, return_inverse=True)
        sampled = np.maximum(1.0 + factors[:, [place]] + own @ distinct, LEAST_FACTOR)
        multiplier: Floats = sampled[:, which.reshape(-1)] / np.maximum(middle, LEAST_FACTOR)
        return multiplier

    def _factors(self, supply: str, draws: Draws) -> tuple[Floats, Floats]:
        """Every factor of every sample (samples, factors), and of these the loads' own (samples, loads)."""
        count = len(self.evidence.names)
        shared = np.column_stack(
            [standard_draws(f"learnt {name}", draws.seed, draws.count) for name in self.evidence.names]
        )
        factors = self.evidence.mean + shared @ root_of(self.evidence.covariance).T
        one = self.evidence.supplies.get(supply)
        if one is not None and one.factors:
            drawn = self._drawn(one, draws)
            factors[:, list(one.factors)] = drawn[:, -len(one.factors) :]
        first = self.evidence.names.index(LOADS_FACTOR) + 1 if self.craft.loads else count
        return factors, factors[:, first : first + len(self.craft.loads)]

    def _extras(self, supply: str, use: SupplyUse, starts_s: Floats, draws: Draws) -> Floats:
        """The rate of what nobody logged, (samples, segments)."""
        extras = np.zeros((draws.count + 1, len(starts_s)))
        one = self.evidence.supplies.get(supply)
        if one is None:
            return extras
        drawn, which = self._drawn(one, draws), _which(one, draws)
        known = [index for index, key in enumerate(use.keys) if key.name != UNLOGGED]
        base = use.rates_si_per_s[known].sum(axis=0)
        for index, way in enumerate(one.ways):
            rows = which == index
            if way.changes and rows.any():
                shapes = _shapes(one, way, starts_s, base)
                extras[rows] = drawn[rows, 1 : 1 + len(shapes)] @ shapes
        return extras

    def _drawn(self, one: SupplyEvidence, draws: Draws) -> Floats:
        """The quantities of the way of each sample: level first, factors last, (samples, most)."""
        most = max(len(way.mean) for way in one.ways)
        luck = np.column_stack(
            [
                standard_draws(f"readings of {one.supply} {place}", draws.seed, draws.count)
                for place in range(most)
            ]
        )
        which = _which(one, draws)
        drawn = np.zeros((draws.count + 1, most))
        factors = len(one.factors)
        for index, way in enumerate(one.ways):
            rows = np.flatnonzero(which == index)
            values = way.mean + luck[rows, : len(way.mean)] @ way.root.T
            head = len(way.mean) - factors
            drawn[rows, :head] = values[:, :head]
            if factors:
                drawn[rows, -factors:] = values[:, head:]
        return drawn


DEFAULT_WANDER = 0.05
"""How far use wanders where no reading tells it (common practice, no source)."""


def _shapes(one: SupplyEvidence, way: Way, starts_s: Floats, base_si_per_s: Floats) -> Floats:
    """Each change's mean rate in each segment, for a rate of 1 at the anchor: (changes, segments)."""
    return np.array(
        [
            mean_rates_in_proportion(change, one.anchor_s, starts_s, base_si_per_s, float(way.mean[0]), rate)
            if change.in_proportion
            else mean_rates(change, one.anchor_s, starts_s)
            for change, rate in zip(way.changes, way.mean[1 : 1 + len(way.changes)].tolist(), strict=True)
        ]
    )


def _which(one: SupplyEvidence, draws: Draws) -> Floats:
    """The way of each sample; that of row 0 is the likeliest."""
    luck = standard_draws(f"way of {one.supply}", draws.seed, draws.count)
    below = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in luck.tolist()])
    ends = np.cumsum([way.weight for way in one.ways])
    which = np.minimum(np.searchsorted(ends, below, side="right"), len(one.ways) - 1)
    which[0] = 0
    return which


def wander_variance(square_integral: Floats, after_s: Floats, tau_s: float) -> Floats:
    """Variance of what wandering use takes more or less by some times, for a wandering of fraction 1.

    Args:
        square_integral: the integral of the squares of the single uses up to each time, (K,).
        after_s: those times, counted from now, (K,).
        tau_s: how soon it comes back.
    """
    x = np.maximum(after_s, 1e-3) / tau_s
    variance: Floats = 2.0 * tau_s * square_integral * (1.0 - (1.0 - np.exp(-x)) / x)
    return variance
