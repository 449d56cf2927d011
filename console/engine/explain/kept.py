"""One store with what its figures are made from, and where the figures of a supply stand."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.channels import Measured
from console.craft.model import Store, Supply
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book
from console.engine.explain.explanation import Input
from console.engine.explain.grounds import CRAFT
from console.engine.explain.paths import Keys
from console.engine.quantity import StoreQuantity, read_value

RESERVED = frozenset(
    (
        *("cabin", "cabin_clocks", "elapsed", "feed", "first", "format", "loads"),
        *("loads_differing_from_level", "luck", "modules", "need", "next_event", "next_phase", "options"),
        *("peaks", "supplies"),
        # Of the other documents, and what stands behind the name of a way home or of a loss.
        *("whatif", "shed", "loss", "brief", "before", "after", "change", "remedies", "open_until"),
        *("delay_cost", "arrival_in", "arrival_spread", "recovery", "hold", "decide_in", "delta_v"),
        *("delta_v_left", "goal", "run_for", "switch_off", "may_go", "may_run", "new_peaks_over"),
        *("off", "pays_after", "trades", "without", "with", "switched_off", "for_good"),
    )
)
"""First keys that are not the name of a supply; one of such a name stands below ``supplies``."""


def supply_keys(name: str) -> Keys:
    """The first keys of a supply's figures."""
    return ("supplies", name) if name in RESERVED else (name,)


def kept_of(book: Book, supply: Supply, name: str) -> Kept | None:
    """A store of a supply; None where it has none of that name."""
    if all(store.name != name for store in supply.stores):
        return None
    return Kept(
        book=book,
        keys=(*supply_keys(supply.name), "stores", name),
        amounts=Amounts(supply=supply),
        quantity=book.grounds.known.quantities[name],
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept:
    """One store with what its figures are made from."""

    book: Book
    keys: Keys
    """Down to the store."""
    amounts: Amounts
    quantity: StoreQuantity

    @property
    def store(self) -> Store:
        """The store."""
        return self.quantity.store

    @property
    def key(self) -> str:
        """Where it stands in craft.yaml."""
        return f"supplies.{self.amounts.supply.name}.stores.{self.store.name}"

    def capacity(self) -> Input:
        """What it holds when full, by whichever key the config says it."""
        lines = self.book.grounds.lines.get(CRAFT, {})
        ways = ("capacity", "person_hours", "capacity_by_outlet")
        key = next((way for way in ways if f"{self.key}.{way}" in lines), "capacity")
        word = "capacity" if key == "capacity" else f"capacity, by its {key},"
        return self.config("C", word, self.store.capacity_si or 0.0, key)

    def config(self, symbol: str, name: str, value_si: float, key: str) -> Input:
        """An amount of the config."""
        return self.book.config(
            symbol,
            f"{name} of {self.store.name}",
            self.amounts.amount(value_si),
            self.amounts.unit,
            CRAFT,
            f"{self.key}.{key}",
            "none is set aside" if key == "residual" else "",
        )

    def read(self, symbol: str, name: str, measured: Measured, value: float, unit: str, key: str) -> Input:
        """A measured property."""
        said = f"{name} of {self.store.name}"
        return self.book.measured(symbol, said, measured, value, unit, CRAFT, f"{self.key}.{key}")

    def value(self, measured: Measured) -> float | None:
        """What a measured property is, in SI."""
        known = self.book.grounds.known
        return read_value(measured, known.feed.readings, known.craft.channels).value_si
