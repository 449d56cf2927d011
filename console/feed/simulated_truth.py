"""The truth of a simulated contingency over time, as columns, and when nothing was left. Only collects."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.feed.simulated_craft import SimulatedCraft
from console.feed.simulated_draws import Floats

CABIN = ("pressure_pa", "oxygen_pa", "carbon_dioxide_pa", "temperature_k", "humidity_fraction")
"""What is kept of the cabin's air."""
ROWS_AT_ONCE = 4096
"""How many rows are kept as lists before they become an array."""


@dataclass(frozen=True, kw_only=True, eq=False)
class TruthOverTime:
    """What was so, all of shape (m,)."""

    times_s: Floats
    held_si: Mapping[str, Floats]
    """By supply, what its stores hold that were not left behind."""
    usable_si: Mapping[str, Floats]
    """By supply, what is above residual in stores that count, less the reserve; below zero within it."""
    rates_si_per_s: Mapping[str, Floats]
    store_held_si: Mapping[str, Floats]
    cabin: Mapping[str, Floats]
    """By name of ``CABIN``."""

    @property
    def gone_s(self) -> dict[str, float]:
        """By supply, when usable first was nothing; without those of which something was left to the end."""
        found = {name: _first_gone_s(self.times_s, each_si) for name, each_si in self.usable_si.items()}
        return {name: at_s for name, at_s in found.items() if at_s is not None}


class TruthTable:
    """The rows of the truth, one a moment.

    Args:
        craft: whose truth it is.
    """

    def __init__(self, craft: SimulatedCraft) -> None:
        self._craft = craft
        self._stores = [
            (name, store.store.name, store)
            for name, stores in craft.stores.items()
            for store in stores.values()
        ]
        self._rows: list[list[float]] = []
        self._blocks: list[Floats] = []

    def note(self) -> None:
        """One more row: what is so now."""
        craft, air = self._craft, self._craft.cabin
        held_si = dict.fromkeys(craft.stores, 0.0)
        for supply, name, store in self._stores:
            if name not in craft.left_behind:
                held_si[supply] += store.held_si
        row = [craft.at_s, *held_si.values(), *craft.usable_si().values(), *craft.rates_si_per_s.values()]
        row += [store.held_si for _, _, store in self._stores]
        row += [air.pressure_pa, air.oxygen_pa, air.carbon_dioxide_pa]
        row += [air.temperature_k, air.humidity_fraction]
        self._rows.append(row)
        if len(self._rows) >= ROWS_AT_ONCE:
            self._pack()

    def over_time(self) -> TruthOverTime:
        """All of it as columns."""
        self._pack()
        columns = iter(np.concatenate(self._blocks).T)
        times_s = next(columns)
        supplies = list(self._craft.stores)
        held_si, usable_si, rates_si_per_s = ({name: next(columns) for name in supplies} for _ in range(3))
        return TruthOverTime(
            times_s=times_s,
            held_si=held_si,
            usable_si=usable_si,
            rates_si_per_s=rates_si_per_s,
            store_held_si={name: next(columns) for _, name, _ in self._stores},
            cabin={name: next(columns) for name in CABIN},
        )

    def _pack(self) -> None:
        if self._rows or not self._blocks:
            width = 1 + 3 * len(self._craft.stores) + len(self._stores) + len(CABIN)
            self._blocks.append(np.array(self._rows, dtype=np.float64).reshape(len(self._rows), width))
            self._rows = []


def _first_gone_s(times_s: Floats, usable_si: Floats) -> float | None:
    """When a course first came to nothing, on the straight line between its moments; None for never.

    What stops at nothing, and does not go on below, came there sooner than that line says: by the course of
    the moments before.
    """
    gone = np.flatnonzero(usable_si <= 0.0)
    if not len(gone):
        return None
    place = int(gone[0])
    if place == 0:
        return float(times_s[0])
    before_s, at_s = float(times_s[place - 1]), float(times_s[place])
    left_si = float(usable_si[place - 1])
    fall_si_per_s = (left_si - float(usable_si[place])) / (at_s - before_s)
    if usable_si[place] == 0.0 and place > 1:
        fallen_si = float(usable_si[place - 2]) - left_si
        fall_si_per_s = max(fall_si_per_s, fallen_si / (before_s - float(times_s[place - 2])))
    return before_s + left_si / fall_si_per_s
