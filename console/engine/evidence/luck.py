"""Draws from what was learnt: each sample has one level, one set of factors and one course of every change.

Row 0 of everything is the likeliest way at its mean, which is what the central figures are made from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from console.craft.model import Craft
from console.craft.plan import Event
from console.engine.configuration import Configuration
from console.engine.course_rates import SampledRates, joined, product, product_table
from console.engine.draws import Floats, standard_draws
from console.engine.evidence.fit import USUAL_WANDER
from console.engine.evidence.lines_over_time import Now, changing_lines, future_use
from console.engine.evidence.shapes import mean_rates, mean_rates_in_proportion, until_empty
from console.engine.evidence.supply_evidence import SupplyEvidence, Way, root_of
from console.engine.evidence.switched import load_sets, still_so
from console.engine.evidence.wander import tau_of
from console.engine.planned_rate import LOADS_FACTOR

if TYPE_CHECKING:
    from console.engine.evidence.evidence import Evidence
    from console.engine.forecast import Draws
    from console.engine.planned_use import SupplyUse

UNLOGGED = "change that nobody logged"
"""Name of the line for what is taken beyond all that is known."""

GRID_H = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 36.0, 48.0, 72.0, 96.0)
"""Between which a change that grows or falls off is taken at its mean, hours from now; then it stays."""

EVENT_S = 60.0
"""Over which an event's amount is reckoned as a rate."""

EMPTY_SHARE = 0.1
"""Of what a change that is hardly known may take."""
LEAST_FACTOR = 0.05


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Luck:
    """What was learnt, laid over the plan's segments."""

    evidence: Evidence
    craft: Craft
    at_s: float
    configuration: Configuration | None = None
    """What the plan will switch; None where nothing is told of it, so that what stands stays."""
    events: tuple[Event, ...] = ()
    """What will be taken at one moment each: after it a leak has less to go by."""

    def moments_s(self) -> tuple[float, ...]:
        """When changes of a shape of their own need a new segment."""
        ways = [way for one in self.evidence.supplies.values() for way in one.ways]
        changing = any(change.growth_per_s or change.in_proportion for way in ways for change in way.changes)
        changing |= any(changing_lines(self.craft, name)[1] for name in self.craft.supplies)
        if not changing:
            return ()
        taken_s = [event.at_s for event in self.events if event.at_s > self.at_s and event.uses_si]
        ends_s = [at_s + EVENT_S for at_s in taken_s]
        return (*(self.at_s + 3600.0 * hours for hours in GRID_H), *taken_s, *ends_s)

    def over_time(self, supply: str, use: SupplyUse, starts_s: Floats) -> SupplyUse:
        """The uses with those that change by themselves as they go on from now."""
        one = self.evidence.supplies.get(supply)
        if one is None:
            return use
        now = Now(at_s=self.at_s, held_si=one.held_si, following=one.following)
        return future_use(self.craft, supply, use, starts_s, now)

    def extra_si_per_s(self, supply: str, starts_s: Floats, base_si_per_s: Floats) -> Floats | None:
        """The central rate of what nobody logged, shape (segments,); None where there is nothing.

        At the most it stills all known use: a supply is never taken to fill itself.
        """
        one = self.evidence.supplies.get(supply)
        if one is None or not one.ways[0].changes:
            return None
        way = one.ways[0]
        shapes = _shapes(one, way, starts_s, base_si_per_s + self._events_si_per_s(supply, starts_s))
        for index, change in enumerate(way.changes):
            if change.of_loads:
                sets, stays = self._switched(supply, way, index, starts_s, None)
                shapes[index] *= sets[0] @ stays
        extra: Floats = np.maximum(way.mean[1 : 1 + len(shapes)] @ shapes, -base_si_per_s)
        return extra

    def sampled(
        self, supply: str, use: SupplyUse, starts_s: Floats, shares: Mapping[str, Floats], draws: Draws
    ) -> SampledRates:
        """The rate in each segment; the central one is that of all that was learnt together."""
        groups = [self._extras(supply, use, starts_s, draws)]
        for names in dict.fromkeys(key.factors for key in use.keys):
            group = [key.factors == names and key.name != UNLOGGED for key in use.keys]
            rates = use.rates_si_per_s[group].sum(axis=0)
            own = np.ones(draws.count + 1)
            for name in names:
                if name != LOADS_FACTOR:
                    place = self.evidence.names.index(name)
                    drawn = np.maximum(1.0 + self._factor(supply, place, draws), LEAST_FACTOR)
                    own = own * (drawn / (1.0 + self.evidence.mean[place]))
            own[0] = 1.0
            if LOADS_FACTOR in names:
                groups.append(self._loads(supply, own, rates, shares[supply], draws))
            elif rates.any():
                groups.append(SampledRates(factors=own[None], rates_si_per_s=rates[None]))
        return joined(groups).never_negative()

    def level_error_si(self, supply: str, draws: Draws) -> Floats:
        """How far each sample's level lies off the central one, (samples,); 0 where none was learnt."""
        one = self.evidence.supplies.get(supply)
        if one is None or not one.has_level:
            return np.zeros(draws.count + 1)
        drawn = _drawn(one, draws)
        error: Floats = drawn[:, 0] - one.ways[0].mean[0]
        error[0] = 0.0
        return error

    def wander_fraction(self, supply: str) -> float:
        """How far each use of a supply wanders."""
        one = self.evidence.supplies.get(supply)
        return USUAL_WANDER if one is None else one.wander_fraction

    def wander_tau_s(self, supply: str) -> float:
        """How soon its stray use comes back."""
        return tau_of(self.craft.supplies[supply])

    def _loads(self, supply: str, own: Floats, rates: Floats, shares: Floats, draws: Draws) -> SampledRates:
        """What goes by the loads, their shares in it as they are in each segment; ``own`` is a use's own."""
        place = self.evidence.names.index(LOADS_FACTOR)
        mean = self.evidence.mean[place : place + 1 + len(shares)]
        running = np.flatnonzero(rates)
        distinct, which = np.unique(shares[:, running], axis=1, return_inverse=True)
        each = 1.0 + self._factor(supply, place, draws)
        singly = np.array(
            [self._factor(supply, place + 1 + load, draws) for load in range(len(shares))]
        ).reshape(len(shares), len(own))
        middle = np.maximum(1.0 + mean[0] + product(distinct, mean[1:]), LEAST_FACTOR)
        parts = np.zeros((len(middle), len(rates)))
        parts[which.reshape(-1), running] = rates[running]
        mixed = np.maximum(each + product_table(singly, distinct).T, LEAST_FACTOR) / middle[:, None]
        mixed[:, 0] = 1.0
        return SampledRates(factors=own * mixed, rates_si_per_s=parts)

    def _factor(self, supply: str, place: int, draws: Draws) -> Floats:
        """One factor in every sample, off 1: by the supply's own readings where they tell it, (samples,)."""
        one = self.evidence.supplies.get(supply)
        if one is not None and place in one.factors:
            return _drawn(one, draws)[:, one.factors.index(place) - len(one.factors)]
        return _shared(self.evidence, draws)[:, place]

    def _extras(self, supply: str, use: SupplyUse, starts_s: Floats, draws: Draws) -> SampledRates:
        """The rate of what nobody logged: each sample has the changes of its own way."""
        one = self.evidence.supplies.get(supply)
        known = [key.name != UNLOGGED for key in use.keys]
        # Most changes go on the same way from now on, whenever they began: one group for each such way.
        groups: dict[bytes, tuple[Floats, Floats]] = {}
        for index, way in enumerate(one.ways if one is not None else ()):
            if one is None or not way.changes:
                continue
            base = use.rates_si_per_s[known].sum(axis=0) + self._events_si_per_s(supply, starts_s)
            rows = _which(one, draws) == index
            for place, shape in enumerate(_shapes(one, way, starts_s, base)):
                change, rate = way.changes[place], _drawn(one, draws)[:, 1 + place]
                rate = np.where(rows, np.maximum(rate, 0.0) if change.only_takes else rate, 0.0)
                for part, left in self._parts(supply, way, place, starts_s, draws):
                    row = shape * left
                    factors, _ = groups.get(row.tobytes(), (np.zeros(len(rate)), row))
                    groups[row.tobytes()] = factors + rate * part, row
        if not groups:
            return SampledRates(
                factors=np.zeros((0, draws.count + 1)), rates_si_per_s=np.zeros((0, len(starts_s)))
            )
        return SampledRates(
            factors=np.vstack([factors for factors, _ in groups.values()]),
            rates_si_per_s=np.vstack([row for _, row in groups.values()]),
        )

    def goes_on(
        self, supply: str, use: SupplyUse, starts_s: Floats, number: int, draws: Draws, row: int
    ) -> Floats:
        """Each change of one way as one sample has it: its rate in each segment over that at the anchor.

        Args:
            supply: the supply's name.
            use: its uses, what nobody logged among them.
            starts_s: of the segments.
            number: which way the sample is of.
            draws: the samples.
            row: which of them.
        """
        one = self.evidence.supplies[supply]
        way, known = one.ways[number], [key.name != UNLOGGED for key in use.keys]
        base = use.rates_si_per_s[known].sum(axis=0) + self._events_si_per_s(supply, starts_s)
        shapes = _shapes(one, way, starts_s, base)
        for place, change in enumerate(way.changes):
            if change.of_loads:
                sets, stays = self._switched(supply, way, place, starts_s, draws if row else None)
                shapes[place] *= sets[row] @ stays
            if row and change.only_takes and _drawn(one, draws)[row, 1 + place] < 0.0:
                shapes[place] = 0.0
        return shapes

    def _parts(
        self, supply: str, way: Way, place: int, starts_s: Floats, draws: Draws
    ) -> list[tuple[Floats | float, Floats]]:
        """A change as parts that end together: of each its share in every sample, and its course."""
        if not way.changes[place].of_loads:
            return [(1.0, np.ones(len(starts_s)))]
        sets, stays = self._switched(supply, way, place, starts_s, draws)
        distinct, which = np.unique(stays, axis=0, return_inverse=True)
        which = which.reshape(-1)
        return [(sets[:, which == number].sum(axis=1), row) for number, row in enumerate(distinct)]

    def _switched(
        self, supply: str, way: Way, place: int, starts_s: Floats, draws: Draws | None
    ) -> tuple[Floats, Floats]:
        """The loads that one change may be, row 0 their mean, and until when the plan leaves each of them."""
        source, rate = self._source_of(supply, way, place)
        if self.configuration is None:
            return np.ones((1 if draws is None else draws.count + 1, 1)), np.ones((1, len(starts_s)))
        states = [self.configuration.load_states_at(start) for start in starts_s.tolist()]
        now_index = max(int(np.searchsorted(starts_s, self.at_s, side="right")) - 1, 0)
        seed, count = (0, 0) if draws is None else (draws.seed, draws.count)
        sets = load_sets(self.craft, source, states[now_index], rate, seed, count)
        return sets, still_so(states, now_index)

    def _source_of(self, supply: str, way: Way, place: int) -> tuple[str, float]:
        """The electrical supply whose loads a change is, and its rate there."""
        change, rate = way.changes[place], float(way.mean[1 + place])
        for name, one in self.evidence.supplies.items():
            if self.craft.supplies[supply].is_electrical or not self.craft.supplies[name].is_electrical:
                continue
            for index, other in enumerate(one.ways[0].changes, start=1):
                if other.of_loads and other.at_s == change.at_s:
                    return name, float(one.ways[0].mean[index])
        return supply, rate

    def _events_si_per_s(self, supply: str, starts_s: Floats) -> Floats:
        """What events will take from a supply, as a rate over the segment that begins with each."""
        rates = np.zeros(len(starts_s))
        for event in self.events:
            index = int(np.searchsorted(starts_s, event.at_s, side="right")) - 1
            if event.at_s > self.at_s and 0 <= index < len(starts_s) - 1:
                span_s = float(starts_s[index + 1] - starts_s[index])
                rates[index] += event.uses_si.get(supply, 0.0) / span_s
        return rates


@lru_cache(maxsize=4)
def _shared(evidence: Evidence, draws: Draws) -> Floats:
    """Every factor of every sample by all that was read, off 1: (samples, factors)."""
    luck = np.column_stack(
        [standard_draws(f"learnt {name}", draws.seed, draws.count) for name in evidence.names]
    )
    factors: Floats = evidence.mean + luck @ root_of(evidence.covariance).T
    factors.setflags(write=False)
    return factors


@lru_cache(maxsize=64)
def _drawn(one: SupplyEvidence, draws: Draws) -> Floats:
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
    drawn.setflags(write=False)
    return drawn


def _shapes(one: SupplyEvidence, way: Way, starts_s: Floats, base_si_per_s: Floats) -> Floats:
    """Each change's mean rate in each segment, for a rate of 1 at the anchor: (changes, segments)."""
    shapes = []
    for place, change in enumerate(way.changes, start=1):
        rate = float(way.mean[place])
        if not change.in_proportion:
            means = mean_rates(change, one.anchor_s, starts_s)
            if change.store or (change.growth_per_s and one.held_si):
                held = one.held_si.get(change.store, sum(one.held_si.values()))
                means = until_empty(means, _at_least_taken(way, place), one.anchor_s, starts_s, held)
            shapes.append(means)
            continue
        whole = float(way.mean[0])
        held = whole
        if change.store:
            held *= one.held_si[change.store] / sum(one.held_si.values())
        shapes.append(
            mean_rates_in_proportion(change, one.anchor_s, starts_s, base_si_per_s, held, whole - held, rate)
        )
    return np.array(shapes)


def _at_least_taken(way: Way, place: int) -> float:
    """A change's rate by which a store is taken to be empty: no sample may take many times what it holds.

    It is the mean, but for one that is hardly known: there it is a tenth of what it may be.
    """
    rate, row = float(way.mean[place]), way.root[place]
    return max(rate, EMPTY_SHARE * (abs(rate) + 2.0 * math.sqrt(float(row @ row))))


def _which(one: SupplyEvidence, draws: Draws) -> Floats:
    """The way of each sample; that of row 0 is the likeliest."""
    ends = np.cumsum([way.weight for way in one.ways])
    below = _below(f"way of {one.supply}", draws.seed, draws.count)
    which = np.minimum(np.searchsorted(ends, below, side="right"), len(one.ways) - 1)
    which[0] = 0
    return which


@lru_cache(maxsize=128)
def _below(name: str, seed: int, count: int) -> Floats:
    """The shares of all draws that lie below one thing's draws, (count + 1,)."""
    luck = standard_draws(name, seed, count)
    below = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in luck.tolist()])
    below.setflags(write=False)
    return below


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
