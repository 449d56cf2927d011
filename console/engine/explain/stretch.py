"""One stretch of the plan for one supply, in which no load, store or person changes."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.model import Store, Supply
from console.craft.plan import Phase, phase_at
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book
from console.engine.explain.explanation import Input
from console.engine.explain.grounds import Grounds
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import Keys, distinct
from console.engine.planned_rate import feeding
from console.engine.planned_use import LineKey

Equation = tuple[str, tuple[Input, ...], tuple[str, ...]]
"""The text, its inputs, and what a person must be told beside it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Stretch:
    """One segment of one supply."""

    book: Book
    supply: Supply
    number: int
    """From 1."""

    @property
    def grounds(self) -> Grounds:
        """The grounds."""
        return self.book.grounds

    @property
    def amounts(self) -> Amounts:
        """The supply's units."""
        return Amounts(supply=self.supply)

    @property
    def keys(self) -> Keys:
        """Down to the segment."""
        return (*supply_keys(self.supply.name), "segments", str(self.number))

    @property
    def start_s(self) -> float:
        """When it begins."""
        return float(self.grounds.ahead.use.starts_s[self.number - 1])

    @property
    def phase(self) -> Phase:
        """The phase that it lies in."""
        return phase_at(self.grounds.ahead.phases, self.start_s)

    @property
    def lines(self) -> dict[str, tuple[int, LineKey]]:
        """Every line of use by its key: its row in the engine's table, and what it is."""
        kept = self.book.kept.setdefault("lines of use", {})
        if self.supply.name not in kept:
            keys = self.grounds.ahead.use.supplies[self.supply.name].keys
            names = distinct(key.name for key in keys)
            both = enumerate(zip(names, keys, strict=True))
            kept[self.supply.name] = {name: (index, key) for index, (name, key) in both}
        lines: dict[str, tuple[int, LineKey]] = kept[self.supply.name]
        return lines

    def rate_si_per_s(self, index: int) -> float:
        """The engine's central rate of one line."""
        table = self.grounds.ahead.use.supplies[self.supply.name].rates_si_per_s
        return float(table[index, self.number - 1])

    @property
    def running(self) -> list[str]:
        """The lines that take anything."""
        return [name for name, (index, _) in self.lines.items() if self.rate_si_per_s(index)]

    @property
    def fed_by(self) -> tuple[Store, ...]:
        """The stores that feed."""
        return feeding(self.supply, self.grounds.ahead.configuration.stores_at(self.start_s))
