"""The plan's uses of every supply over time: for each line of use, its rate in each segment.

Arrays have shape (lines, segments) for rates; a line is one load or one other use.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from console.craft.model import Craft
from console.engine.configuration import Configuration
from console.engine.draws import Floats
from console.engine.evidence.luck import UNLOGGED, Luck
from console.engine.evidence.modelled import load_shares, squares_of
from console.engine.forecast import Draws
from console.engine.leaks import CabinPressure, leak_ends_s
from console.engine.planned_rate import (
    AS_LISTED,
    RateLine,
    factor_spreads,
    rate_lines,
    store_leaks_si_per_s,
)
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
    luck: Luck | None = None
    """What readings said of the model; None where nothing did."""
    load_shares: Mapping[str, Floats] = field(default_factory=dict)
    """By supply, each load's part of what the loads take from it, (loads, segments); with ``luck`` only."""

    def sampled_si_per_s(self, supply: str, draws: Draws) -> Floats:
        """A supply's rate in each segment with all that is uncertain of it, shape (samples, segments)."""
        use = self.supplies[supply]
        if self.luck is None:
            return use.sampled_si_per_s(self.spreads, draws)
        return self.luck.sampled_si_per_s(supply, use, self.starts_s, self.load_shares, draws)

    def squares(self, supply: str) -> Floats:
        """The sum of the squares of the single uses, by which their wandering goes, (segments,)."""
        use = self.supplies[supply]
        return squares_of(use.keys, use.rates_si_per_s, self.load_shares[supply])

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
    luck: Luck | None = None,
) -> PlannedUse:
    """The uses of every supply from one moment, now or before, as long as the plan changes anything.

    ``shares`` is, by supply, how its batteries share the bus where that is measured; ``luck`` is what
    readings said of the model.
    """
    ends_s = tuple(leak_ends_s(use, craft.supplies[use.supply], cabin_pressure) for use in craft.uses)
    also_s = () if luck is None else luck.moments_s()
    segments = configuration.segments(from_s, float("inf"), (*ends_s, *also_s))
    corrections = AS_LISTED if luck is None else luck.evidence.corrections(craft)
    by_segment = [rate_lines(craft, segment, cabin_pressure, shares, corrections) for segment in segments]
    starts_s = np.array([segment.start_s for segment in segments])
    supplies = {name: _supply_use(name, by_segment) for name in craft.supplies}
    if luck is not None:
        supplies = {name: _with_extra(luck, name, use, starts_s) for name, use in supplies.items()}
    states = tuple(segment.loads for segment in segments)
    return PlannedUse(
        luck=luck,
        load_shares={} if luck is None else load_shares(craft, states),
        starts_s=starts_s,
        now_index=int(np.searchsorted(starts_s, now_s, side="right")) - 1,
        supplies=supplies,
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


def _with_extra(luck: Luck, supply: str, use: SupplyUse, starts_s: Floats) -> SupplyUse:
    """The uses with what nobody logged beside them."""
    extra = luck.extra_si_per_s(supply, starts_s, use.rates_si_per_s.sum(axis=0))
    if extra is None:
        return use
    rates = np.vstack((use.rates_si_per_s, extra))
    rates.setflags(write=False)
    return replace(
        use,
        keys=(*use.keys, LineKey(kind=LineKind.USE, name=UNLOGGED, factors=())),
        rates_si_per_s=rates,
    )
