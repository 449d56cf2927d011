"""A supply's uncertain rate as a few products: each sample's factors times what goes by them in each stretch.

Uses that share their uncertain factors rise and fall together, so a sample's rate over a whole plan is known
by a handful of factors. The table of samples by stretches is made for whoever asks for it, and for none else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SampledRates:
    """The rate of a sample in a stretch is the sum over groups of its factor times the group's rate there."""

    factors: Floats
    """Shape (groups, samples)."""
    rates_si_per_s: Floats
    """Of each group at a factor of 1, shape (groups, stretches)."""

    def at(self, stretch: int) -> Floats:
        """The rate in one stretch, shape (samples,)."""
        return product(self.factors, self.rates_si_per_s[:, stretch])

    def table(self) -> Floats:
        """The rate in every stretch, shape (samples, stretches)."""
        return product_table(self.factors, self.rates_si_per_s)

    def lowest(self) -> Floats:
        """In each stretch, what no sample's rate lies below, shape (stretches,)."""
        least, most = self.factors.min(axis=1)[:, None], self.factors.max(axis=1)[:, None]
        low: Floats = np.minimum(self.rates_si_per_s * least, self.rates_si_per_s * most).sum(axis=0)
        return low

    def over(self, stretches: NDArray[np.intp], shares: Floats | float = 1.0) -> SampledRates:
        """The same over other stretches: those of these numbers, of each this share."""
        return SampledRates(factors=self.factors, rates_si_per_s=self.rates_si_per_s[:, stretches] * shares)

    def with_group(self, factor: Floats, rates_si_per_s: Floats) -> SampledRates:
        """The same with one more group: its factors (samples,), its rates (stretches,)."""
        return SampledRates(
            factors=np.vstack((self.factors, factor)),
            rates_si_per_s=np.vstack((self.rates_si_per_s, rates_si_per_s)),
        )

    def never_negative(self) -> SampledRates:
        """The same, but that no rate is less than nothing.

        Where the bound cannot rule it out, those stretches are looked at in every sample; each in which it
        does happen is made up for by a group of its own.
        """
        doubtful = np.flatnonzero(self.lowest() < 0.0)
        if not len(doubtful):
            return self
        short = np.maximum(-product_table(self.factors, self.rates_si_per_s[:, doubtful]), 0.0)
        is_short = (short > 0.0).any(axis=0)
        amends = np.zeros((int(is_short.sum()), self.rates_si_per_s.shape[1]))
        amends[np.arange(len(amends)), doubtful[is_short]] = 1.0
        return SampledRates(
            factors=np.vstack((self.factors, short[:, is_short].T)),
            rates_si_per_s=np.vstack((self.rates_si_per_s, amends)),
        )


def joined(parts: Sequence[SampledRates]) -> SampledRates:
    """All of them together: each sample's rate is the sum of its rates."""
    return SampledRates(
        factors=np.vstack([each.factors for each in parts]),
        rates_si_per_s=np.vstack([each.rates_si_per_s for each in parts]),
    )


def product(factors: Floats, each: Floats) -> Floats:
    """Factors (groups, samples) times one column of groups, or one for each sample: shape (samples,).

    Not by matrix multiplication: its library spreads even so small a product over threads, which costs more
    than it brings on a busy machine, and adds up in an order of its own. Here groups are added in their
    order, so that one which takes nothing changes no digit.
    """
    total: Floats = np.einsum("gs,g->s" if each.ndim == 1 else "gs,gs->s", factors, each)
    return total


def product_table(factors: Floats, rows: Floats) -> Floats:
    """Factors (groups, samples) times rows (groups, n): shape (samples, n)."""
    table: Floats = np.einsum("gs,gn->ns", factors, rows).T
    return table
