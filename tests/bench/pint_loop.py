"""The sums of one tick done as plainly as can be: Python loops over quantities of pint.

For each sample and each supply: walk through the plan's segments, take each use's rate times its span from
what is usable, apply the events, and find when it runs out and what is left at need. Rates of use and the
samples' luck are the engine's; the walk, and every operation on an amount, is not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pint

from console.engine.configuration import Configuration, Segment
from console.engine.forecast import Draws
from console.engine.jumps import Jump, event_factor, jumps_between
from console.engine.known import Situation
from console.engine.planned_rate import RateLine, factor_spreads, rate_lines
from console.engine.planned_use import planned_use
from console.engine.quantity import store_quantity
from console.engine.snapshot import Snapshot
from console.engine.surroundings import cabin_pressure

SI = {"charge": "A*s", "mass": "kg", "volume": "m**3", "energy": "J"}


class PintLoop:
    """Prepared once; ``run`` is what is timed."""

    def __init__(self, situation: Situation, snapshot: Snapshot, draws: Draws) -> None:
        registry: Any = pint.UnitRegistry()
        self._second = registry.second
        self._craft, self._draws, self._now_s = situation.craft, draws, situation.at_s
        self._option = situation.plan.options[situation.plan.committed]
        self._pressure = cabin_pressure(situation.craft, situation.feed)
        self._spreads = factor_spreads(situation.craft)
        events = tuple(
            event for event in situation.plan.events_under(self._option) if event.at_s <= self._option.need_s
        )
        self._configuration = Configuration(
            self._craft, situation.plan.phases_under(self._option), events, situation.changes
        )
        quantities = {
            store.name: store_quantity(
                store, supply, situation.feed.readings, self._craft.channels, (), situation.at_s
            )
            for supply in self._craft.supplies.values()
            for store in supply.stores
        }
        plan = planned_use(
            self._craft, self._configuration, situation.at_s, situation.at_s, self._pressure, {}
        )
        self._jumps = jumps_between(
            self._craft, self._configuration, events, quantities, situation.at_s, self._option.need_s, plan
        )
        self._units = {name: registry(SI[one.dimension.word]) for name, one in self._craft.supplies.items()}
        states = self._configuration.stores_at(situation.at_s)
        self._usable = {
            name: (status.usable_si or 0.0)
            + sum(
                draws.error(f"store {store.name}", quantities[store.name].sd_si)
                for store in self._craft.supplies[name].stores
                if states[store.name].is_counted
            )
            for name, status in snapshot.supplies.items()
        }

    def run(self) -> dict[str, list[tuple[float, float]]]:
        """By supply and sample: when it runs out (seconds from now) and what is left at need, in SI."""
        segments = self._configuration.segments(self._now_s, float("inf"))
        lines = [rate_lines(self._craft, segment, self._pressure, {}) for segment in segments]
        return {
            name: [self._walk(name, segments, lines, row) for row in range(self._draws.count + 1)]
            for name in self._craft.supplies
        }

    def _walk(
        self, name: str, segments: Sequence[Segment], lines: list[tuple[RateLine, ...]], row: int
    ) -> tuple[float, float]:
        second, unit = self._second, self._units[name]
        need_s = self._need_s(row)
        level = left = float(self._usable[name][row]) * unit
        out = None
        jumps = [jump for jump in self._jumps if jump.supply == name]
        for segment, uses in zip(segments, lines, strict=True):
            inside = (jump.at_s for jump in jumps if segment.start_s < jump.at_s < segment.end_s)
            cuts = [segment.start_s, *inside]
            rate = sum(
                (
                    use.rate_si_per_s * self._luck(use, row) * unit / second
                    for use in uses
                    if use.supply == name
                ),
                start=0.0 * unit / second,
            )
            for begin, end in zip(cuts, [*cuts[1:], segment.end_s], strict=True):
                for jump in jumps:
                    if jump.at_s == begin:
                        level = level + self._jump(jump, row) * unit
                if out is None and level <= 0 * unit:
                    out = begin * second
                if begin <= need_s < end:
                    left = level - rate * ((need_s - begin) * second)
                if out is None and rate > 0 * unit / second:
                    until = begin * second + level / rate
                    out = until if until <= end * second else None
                if end < float("inf"):
                    level = level - rate * ((end - begin) * second)
        return float("inf") if out is None else float(out.magnitude) - self._now_s, float(left.magnitude)

    def _need_s(self, row: int) -> float:
        spread_s = self._option.arrival_spread_s
        return self._option.need_s + float(
            self._draws.error(f"arrival of {self._option.name}", spread_s)[row]
        )

    def _luck(self, use: RateLine, row: int) -> float:
        product = 1.0
        for factor in use.factors:
            product *= float(self._draws.factor(factor, self._spreads[factor])[row])
        return product

    def _jump(self, jump: Jump, row: int) -> float:
        factor = self._draws.factor(event_factor(jump.name), jump.spread_fraction)
        error = self._draws.error(f"store {jump.store}", jump.error_sd_si)
        return jump.amount_si * float(factor[row]) + float(error[row])
