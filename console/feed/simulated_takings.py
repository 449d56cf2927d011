"""What is asked of the simulated craft's supplies in one step, and what of it came."""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import StoreState
from console.feed.simulated_stores import TrueStore, take


class Takings:
    """The account of one step: everything is taken through it, so that rates and shortfalls add up.

    Args:
        stores: by supply and store, what there is.
        states: of every store.
        dt_s: how long the step is.
    """

    def __init__(
        self,
        stores: Mapping[str, Mapping[str, TrueStore]],
        states: Mapping[str, StoreState],
        dt_s: float,
    ) -> None:
        self._stores = stores
        self._states = states
        self._dt_s = dt_s
        self._wanted_si = dict.fromkeys(stores, 0.0)
        self._taken_si = dict.fromkeys(stores, 0.0)

    def take(self, supply: str, wanted_si: float) -> float:
        """Take an amount as far as it is there; returns what came."""
        taken_si = take(self._stores[supply], self._states, wanted_si, self._dt_s)
        self._wanted_si[supply] += wanted_si
        self._taken_si[supply] += taken_si
        return taken_si

    def rates_si_per_s(self) -> dict[str, float]:
        """By supply, what came on average over the step."""
        return {name: taken_si / self._dt_s for name, taken_si in self._taken_si.items()}

    def served(self) -> dict[str, float]:
        """By supply, how much of what was asked came; 1 where nothing was asked."""
        return {
            name: self._taken_si[name] / wanted_si if wanted_si > 0.0 else 1.0
            for name, wanted_si in self._wanted_si.items()
        }

    def short(self) -> tuple[str, ...]:
        """The supplies that could not give what was asked."""
        return tuple(
            name
            for name, wanted_si in self._wanted_si.items()
            if self._taken_si[name] < wanted_si * (1.0 - 1e-9)
        )
