"""What is asked of the simulated craft's supplies in one step, and what of it came."""

from __future__ import annotations

from collections.abc import Mapping

from console.feed.simulated_stores import Feeding, take


class Takings:
    """The account of one step: everything is taken through it, so that rates and shortfalls add up.

    Args:
        feeding: by supply, the stores that give.
        dt_s: how long the step is.
        lends: whether what a supply cannot give is lent, so that nobody goes without.
    """

    def __init__(self, feeding: Mapping[str, Feeding], dt_s: float, *, lends: bool = False) -> None:
        self._feeding = feeding
        self._dt_s = dt_s
        self._lends = lends
        self._wanted_si = dict.fromkeys(feeding, 0.0)
        self._taken_si = dict.fromkeys(feeding, 0.0)

    def take(self, supply: str, wanted_si: float) -> float:
        """Take an amount as far as it is there; returns what came, what was lent with it."""
        taken_si = take(self._feeding[supply], wanted_si, self._dt_s)
        self._wanted_si[supply] += wanted_si
        self._taken_si[supply] += taken_si
        return wanted_si if self._lends else taken_si

    def rates_si_per_s(self) -> dict[str, float]:
        """By supply, what came out of its stores on average over the step."""
        return {name: taken_si / self._dt_s for name, taken_si in self._taken_si.items()}

    def served(self) -> dict[str, float]:
        """By supply, how much of what was asked came; 1 where nothing was asked or the rest was lent."""
        if self._lends:
            return dict.fromkeys(self._wanted_si, 1.0)
        return {
            name: self._taken_si[name] / wanted_si if wanted_si > 0.0 else 1.0
            for name, wanted_si in self._wanted_si.items()
        }

    def short(self) -> dict[str, float]:
        """The supplies that could not give what was asked, each with the share of the step that it gave."""
        return {
            name: self._taken_si[name] / wanted_si
            for name, wanted_si in self._wanted_si.items()
            if self._taken_si[name] < wanted_si * (1.0 - 1e-9)
        }
