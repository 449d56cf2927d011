"""What the model says was taken over a stretch of the past, split by the factors that may be wrong.

Factors are the common one of all loads, one of each load's own, and one of each other use.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from console.craft.model import Craft, LoadState
from console.engine.draws import Floats
from console.engine.planned_rate import LOADS_FACTOR, RATE_EFFECT, heat_of_load_w, use_factor
from console.engine.snapshot import LineKind

if TYPE_CHECKING:
    from console.engine.planned_use import LineKey, SupplyUse

LEAST_SPREAD = 0.05
"""How far a use for which the config gives no spread may be off, once there is anything to judge it by."""


def load_factor(load: str) -> str:
    """The key of one load's own factor, beside the one that all share."""
    return f"load {load}"


def factor_names(craft: Craft) -> tuple[str, ...]:
    """Every factor of a craft, in one order for good."""
    loads = [LOADS_FACTOR, *(load_factor(name) for name in craft.loads)] if craft.loads else []
    return (*loads, *(use_factor(use.name) for use in craft.uses))


def prior_sds(craft: Craft) -> Floats:
    """One standard deviation of every factor, as a fraction, before anything was read: shape (factors,).

    Half of the variance of the loads is common to all, half is each load's own.
    """
    load_sd = (craft.load_spread_fraction or LEAST_SPREAD) / math.sqrt(2.0)
    loads = [load_sd] * (1 + len(craft.loads)) if craft.loads else []
    return np.array([*loads, *(use.spread_fraction or LEAST_SPREAD for use in craft.uses)])


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Modelled:
    """One supply's use in every segment by factor. ``rates_si_per_s`` has shape (factors, segments)."""

    starts_s: Floats
    totals_si_per_s: Floats
    """Shape (segments,); with what batteries lose by their rate, where that shows in the gauge."""
    rates_si_per_s: Floats
    squares: Floats
    """Sum of the squares of the single uses, (si/s)², by which their wandering goes: shape (segments,)."""
    cycling: Floats
    """Variance at any moment of the draw of loads that switch themselves, (si/s)²: shape (segments,)."""

    def cumulated(self, times_s: Floats) -> tuple[Floats, Floats]:
        """What was taken from the first start up to some moments: in all (n,), and by factor (factors, n)."""
        spans = np.append(np.diff(self.starts_s), 0.0)
        index = np.maximum(np.searchsorted(self.starts_s, times_s, side="right") - 1, 0)
        into_s = times_s - self.starts_s[index]
        sums = np.concatenate(([0.0], np.cumsum(self.totals_si_per_s * spans)[:-1]))
        total = sums[index] + self.totals_si_per_s[index] * into_s
        by_factor = np.zeros((self.rates_si_per_s.shape[0], len(spans)))
        by_factor[:, 1:] = np.cumsum(self.rates_si_per_s * spans, axis=1)[:, :-1]
        return total, by_factor[:, index] + self.rates_si_per_s[:, index] * into_s

    def rates_at(self, at_s: float) -> Floats:
        """The rate by factor at a moment, shape (factors,)."""
        index = max(int(np.searchsorted(self.starts_s, at_s, side="right")) - 1, 0)
        found: Floats = self.rates_si_per_s[:, index]
        return found

    def square_at(self, times_s: Floats) -> Floats:
        """The wandering's square at some moments, shape (n,)."""
        found: Floats = self.squares[self._index(times_s)]
        return found

    def cycling_at(self, times_s: Floats) -> Floats:
        """The variance by loads that switch themselves, at some moments, shape (n,)."""
        found: Floats = self.cycling[self._index(times_s)]
        return found

    def _index(self, times_s: Floats) -> NDArray[np.intp]:
        return np.maximum(np.searchsorted(self.starts_s, times_s, side="right") - 1, 0)


def modelled(
    craft: Craft,
    supply: str,
    lines: SupplyUse,
    starts_s: Floats,
    shares: Floats,
    states: Sequence[Mapping[str, LoadState]],
    *,
    with_rate_effect: bool,
) -> Modelled:
    """One supply's use by factor.

    Args:
        craft: the craft.
        supply: the supply's name.
        lines: its uses in each segment.
        starts_s: of the segments.
        shares: each load's part of what the loads take, in each segment.
        states: of the loads in each segment.
        with_rate_effect: whether what batteries lose by giving fast shows in what is compared.
    """
    names = factor_names(craft)
    place = {name: index for index, name in enumerate(names)}
    segments = len(starts_s)
    rates, totals = np.zeros((len(names), segments)), np.zeros(segments)
    driven = np.zeros(segments)
    for key, row in zip(lines.keys, lines.rates_si_per_s, strict=True):
        if key.name == RATE_EFFECT and not with_rate_effect:
            continue
        totals += row
        for factor in key.factors:
            rates[place[factor]] += row
        if LOADS_FACTOR in key.factors:
            driven += row
    if craft.loads:
        first = place[LOADS_FACTOR] + 1
        rates[first : first + len(craft.loads)] += driven * shares
    return Modelled(
        starts_s=starts_s,
        totals_si_per_s=totals,
        rates_si_per_s=rates,
        squares=squares_of(lines.keys, lines.rates_si_per_s, shares),
        cycling=cycling_of(craft, supply, states),
    )


def squares_of(keys: Sequence[LineKey], rates_si_per_s: Floats, shares: Floats) -> Floats:
    """The sum of the squares of single uses in each segment: each wanders by itself, so variances add.

    Args:
        keys: what each line is.
        rates_si_per_s: of each line, (lines, segments).
        shares: each load's part of what the loads take, (loads, segments).
    """
    total = np.zeros(rates_si_per_s.shape[1])
    for key, row in zip(keys, rates_si_per_s, strict=True):
        if key.name == RATE_EFFECT:
            continue
        is_mixed = key.kind is LineKind.USE and LOADS_FACTOR in key.factors
        total += row**2 * (shares**2).sum(axis=0) if is_mixed else row**2
    return total


def cycling_of(craft: Craft, supply: str, states: Sequence[Mapping[str, LoadState]]) -> Floats:
    """The variance of what loads draw that are on for a part of the time, in each segment."""
    cyclers = [each for each in craft.loads.values() if each.supply == supply and each.duty_fraction < 1.0]
    return np.array(
        [
            sum(
                each.on_si_per_s**2 * each.duty_fraction * (1.0 - each.duty_fraction)
                for each in cyclers
                if commanded[each.name] is LoadState.ON
            )
            for commanded in states
        ],
        dtype=np.float64,
    )


def load_shares(craft: Craft, states: tuple[Mapping[str, LoadState], ...]) -> dict[str, Floats]:
    """By supply, each load's part of what the loads take from it, shape (loads, segments).

    Of an electrical supply by what they draw; of any other by the heat that they leave in it.
    """
    loads = tuple(craft.loads.values())
    draws = np.array([[load.draw_si_per_s(each[load.name]) for each in states] for load in loads])
    heats = np.array([[heat_of_load_w(craft, load, each[load.name]) for each in states] for load in loads])
    found = {}
    for name, supply in craft.supplies.items():
        mask = np.array([[load.supply == name] for load in loads])
        parts = np.where(mask, draws, 0.0) if supply.is_electrical else heats
        if not loads:
            found[name] = np.zeros((0, len(states)))
            continue
        total = parts.sum(axis=0)
        found[name] = np.divide(parts, total, out=np.zeros_like(parts), where=total > 0.0)
    return found
