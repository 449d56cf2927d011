"""The plan's uses of every supply over time: for each line of use, its rate in each segment.

Arrays have shape (lines, segments) for rates; a line is one load or one other use.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from console.craft.model import Craft
from console.engine.configuration import Configuration
from console.engine.draws import Floats
from console.engine.forecast import Draws
from console.engine.leaks import CabinPressure, leak_ends_s
from console.engine.planned_rate import RateLine, factor_spreads, rate_lines, store_leaks_si_per_s
from console.engine.snapshot import LineKind


@dataclass(frozen=True, kw_only=True, slots=True)
class LineKey:
    """What one line of use is."""

    kind: LineKind
    name: str
    factors: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SupplyUse:
    """One supply's lines and their rates, shape (lines, segments)."""

    keys: tuple[LineKey, ...]
    rates_si_per_s: Floats

    def total_si_per_s(self, segment: int) -> float:
        """The central rate in one segment."""
        return float(self.rates_si_per_s[:, segment].sum())

    def line_si_per_s(self, name: str, segment: int) -> float:
        """The central rate of the lines of one name in one segment."""
        rates = zip(self.keys, self.rates_si_per_s[:, segment], strict=True)
        return float(sum(rate for key, rate in rates if key.name == name))

    def sampled_si_per_s(self, spreads: dict[str, float], draws: Draws) -> Floats:
        """The rate in each segment with its uncertain factors, shape (samples, segments)."""
        sampled = np.zeros((draws.count + 1, self.rates_si_per_s.shape[1]))
        for factors in dict.fromkeys(key.factors for key in self.keys):
            group = [index for index, key in enumerate(self.keys) if key.factors == factors]
            multiplier = np.ones(draws.count + 1)
            for factor in factors:
                multiplier = multiplier * draws.factor(factor, spreads[factor])
            sampled += multiplier[:, None] * self.rates_si_per_s[group].sum(axis=0)
        return sampled


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlannedUse:
    """The plan's uses from one moment on."""

    starts_s: Floats
    """Start of each segment; the last segment does not end."""
    now_index: int
    """The segment in progress."""
    supplies: dict[str, SupplyUse]
    spreads: dict[str, float]
    store_leaks_si_per_s: Mapping[str, float] = field(default_factory=dict)
    """By store, what it loses through leaks of its own, whether it feeds or not."""
    single_store_uses: frozenset[str] = frozenset()
    """The names of those leaks: no other store bears a part of them."""

    def used_si(self, supply: str, from_s: float, until_s: float) -> Floats:
        """What each line of a supply takes between two moments, shape (lines,)."""
        ends_s = np.append(self.starts_s[1:], np.inf)
        spans_s = np.clip(np.minimum(ends_s, until_s) - np.maximum(self.starts_s, from_s), 0.0, None)
        amounts: Floats = self.supplies[supply].rates_si_per_s @ spans_s
        return amounts


def planned_use(
    craft: Craft,
    configuration: Configuration,
    from_s: float,
    now_s: float,
    cabin_pressure: CabinPressure,
    shares: Mapping[str, Mapping[str, float]],
) -> PlannedUse:
    """The uses of every supply from one moment, now or before, as long as the plan changes anything.

    ``shares`` is, by supply, how its batteries share the bus where that is measured.
    """
    ends_s = tuple(leak_ends_s(use, craft.supplies[use.supply], cabin_pressure) for use in craft.uses)
    segments = configuration.segments(from_s, float("inf"), ends_s)
    by_segment = [rate_lines(craft, segment, cabin_pressure, shares) for segment in segments]
    starts_s = np.array([segment.start_s for segment in segments])
    return PlannedUse(
        starts_s=starts_s,
        now_index=int(np.searchsorted(starts_s, now_s, side="right")) - 1,
        supplies={name: _supply_use(name, by_segment) for name in craft.supplies},
        spreads=factor_spreads(craft),
        store_leaks_si_per_s=store_leaks_si_per_s(craft, cabin_pressure),
        single_store_uses=frozenset(use.name for use in craft.uses if use.of_store is not None),
    )


def _supply_use(supply: str, by_segment: list[tuple[RateLine, ...]]) -> SupplyUse:
    rows: dict[LineKey, list[float]] = {}
    for index, lines in enumerate(by_segment):
        for line in lines:
            if line.supply == supply:
                key = LineKey(kind=line.kind, name=line.name, factors=line.factors)
                rows.setdefault(key, [0.0] * len(by_segment))[index] += line.rate_si_per_s
    rates = np.array(list(rows.values())) if rows else np.zeros((0, len(by_segment)))
    rates.setflags(write=False)
    return SupplyUse(keys=tuple(rows), rates_si_per_s=rates)
