"""The plan's uses of every supply over time: for each line of use, its rate in each segment.

Arrays have shape (lines, segments) for rates; a line is one load or one other use.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from console.craft.model import Activity, Craft
from console.engine.configuration import Configuration, Segment
from console.engine.course_rates import SampledRates
from console.engine.draws import Floats
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

if TYPE_CHECKING:
    from console.engine.evidence.evidence import Evidence
    from console.engine.evidence.luck import Luck


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

    def sampled(self, spreads: Mapping[str, float], draws: Draws) -> SampledRates:
        """The rate in each segment with its uncertain factors."""
        groups = list(dict.fromkeys(key.factors for key in self.keys))
        factors = np.ones((len(groups), draws.count + 1))
        rates = np.zeros((len(groups), self.rates_si_per_s.shape[1]))
        for number, names in enumerate(groups):
            for name in names:
                factors[number] *= draws.factor(name, spreads[name])
            rates[number] = self.rates_si_per_s[[key.factors == names for key in self.keys]].sum(axis=0)
        return SampledRates(factors=factors, rates_si_per_s=rates)


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

    def sampled(self, supply: str, draws: Draws) -> SampledRates:
        """A supply's rate in each segment with all that is uncertain of it."""
        use = self.supplies[supply]
        if self.luck is None:
            return use.sampled(self.spreads, draws)
        return self.luck.sampled(supply, use, self.starts_s, self.load_shares, draws)

    def sampled_si_per_s(self, supply: str, draws: Draws) -> Floats:
        """The same as a table, shape (samples, segments)."""
        return self.sampled(supply, draws).table()

    def squares(self, supply: str) -> Floats:
        """The sum of the squares of the single uses, by which their wandering goes, (segments,)."""
        use = self.supplies[supply]
        from console.engine.evidence.modelled import squares_of  # only who keeps a history pays for it

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
    until_s: float = float("inf"),
) -> PlannedUse:
    """The uses of every supply from one moment, now or before, as long as the plan changes anything.

    ``shares`` is, by supply, how its batteries share the bus where that is measured; ``luck`` is what
    readings said of the model; what changes from ``until_s`` on does not count.
    """
    ends_s = tuple(leak_ends_s(use, craft.supplies[use.supply], cabin_pressure) for use in craft.uses)
    also_s = () if luck is None else luck.moments_s()
    segments = configuration.segments(from_s, until_s, (*ends_s, *also_s))
    unlike, which = _unlike(segments, ends_s)
    basis = _Basis(craft, cabin_pressure, shares, None if luck is None else luck.evidence)
    known = _lines_known(basis)
    for kind, segment in unlike.items():
        if kind not in known:
            known[kind] = rate_lines(craft, segment, cabin_pressure, shares, basis.corrections)
    lines = [known[kind] for kind in unlike]
    starts_s = np.array([segment.start_s for segment in segments])
    supplies = _supply_uses(craft.supplies, lines, which)
    parts: Mapping[str, Floats] = {}
    if luck is not None:
        supplies = {name: luck.over_time(name, use, starts_s) for name, use in supplies.items()}
        supplies = {name: _with_extra(luck, name, use, starts_s) for name, use in supplies.items()}
        from console.engine.evidence.modelled import load_shares

        parts = load_shares(craft, tuple(segment.loads for segment in unlike.values()))
    return PlannedUse(
        luck=luck,
        load_shares={name: each.take(which, axis=1) for name, each in parts.items()},
        starts_s=starts_s,
        now_index=int(np.searchsorted(starts_s, now_s, side="right")) - 1,
        supplies=supplies,
        spreads=factor_spreads(craft),
        store_leaks_si_per_s=store_leaks_si_per_s(craft, cabin_pressure),
        single_store_uses=frozenset(use.name for use in craft.uses if use.of_store is not None),
    )


_Kind = tuple[tuple[int, ...], tuple[int, ...], tuple[tuple[Activity, int], ...], tuple[bool, ...]]
"""All that rates go by in a segment: states of loads and stores, who does what, which leaks go on.

States are single objects each, and their identities are much quicker to compare than they are.
"""


class _Basis:
    """All that rates go by beside the segment; two are one if nothing in them could make a difference."""

    def __init__(
        self,
        craft: Craft,
        cabin_pressure: CabinPressure,
        shares: Mapping[str, Mapping[str, float]],
        evidence: Evidence | None,
    ) -> None:
        self._craft, self._cabin_pressure, self._shares = craft, cabin_pressure, shares
        self._evidence = evidence
        self.corrections = AS_LISTED if evidence is None else evidence.corrections(craft)

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Basis)
            and self._craft is other._craft
            and self._evidence is other._evidence
            and self._cabin_pressure == other._cabin_pressure
            and self._shares == other._shares
        )

    def __hash__(self) -> int:
        return hash((id(self._craft), id(self._evidence)))


@lru_cache(maxsize=8)
def _lines_known(_basis: _Basis) -> dict[_Kind, tuple[RateLine, ...]]:
    """What was reckoned already on the same basis: the ways home differ little in what is on when."""
    return {}


def _unlike(
    segments: tuple[Segment, ...], ends_s: tuple[float, ...]
) -> tuple[dict[_Kind, Segment], NDArray[np.intp]]:
    """One segment of each kind in which the same takes the same, in order, and of each segment its kind."""
    unlike: dict[_Kind, Segment] = {}
    kinds = [
        (
            tuple(map(id, segment.loads.values())),
            tuple(map(id, segment.stores.values())),
            tuple(segment.crew.items()),
            tuple(segment.start_s < end_s for end_s in ends_s),
        )
        for segment in segments
    ]
    for kind, segment in zip(kinds, segments, strict=True):
        unlike.setdefault(kind, segment)
    places = {kind: place for place, kind in enumerate(unlike)}
    return unlike, np.array([places[kind] for kind in kinds], dtype=np.intp)


def _supply_uses(
    supplies: Iterable[str], lines: list[tuple[RateLine, ...]], which: NDArray[np.intp]
) -> dict[str, SupplyUse]:
    """The lines of every supply: those of each kind of segment, ``which`` being the segments' kinds."""
    rows: dict[str, dict[tuple[LineKind, str, tuple[str, ...]], list[float]]] = {
        name: {} for name in supplies
    }
    for kind, each in enumerate(lines):
        for line in each:
            mine, key = rows[line.supply], (line.kind, line.name, line.factors)
            if key not in mine:
                mine[key] = [0.0] * len(lines)
            mine[key][kind] += line.rate_si_per_s
    return {name: _supply_use(mine, len(lines), which) for name, mine in rows.items()}


def _supply_use(
    rows: Mapping[tuple[LineKind, str, tuple[str, ...]], list[float]], kinds: int, which: NDArray[np.intp]
) -> SupplyUse:
    rates = np.array(list(rows.values())).reshape(len(rows), kinds).take(which, axis=1)
    rates.setflags(write=False)
    keys = tuple(LineKey(kind=kind, name=name, factors=factors) for kind, name, factors in rows)
    return SupplyUse(keys=keys, rates_si_per_s=rates)


def _with_extra(luck: Luck, supply: str, use: SupplyUse, starts_s: Floats) -> SupplyUse:
    """The uses with what nobody logged beside them."""
    extra = luck.extra_si_per_s(supply, starts_s, use.rates_si_per_s.sum(axis=0))
    if extra is None:
        return use
    from console.engine.evidence.luck import UNLOGGED

    rates = np.vstack((use.rates_si_per_s, extra))
    rates.setflags(write=False)
    return replace(
        use,
        keys=(*use.keys, LineKey(kind=LineKind.USE, name=UNLOGGED, factors=())),
        rates_si_per_s=rates,
    )
