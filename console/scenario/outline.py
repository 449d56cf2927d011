"""What could be read of a craft even where it has faults: names, dimensions, epoch, people.

A plan and its procedures are checked against this, so that their faults can be told together with the
craft's own. None means that it is not known; what is not known is not checked, for a fault that follows from
another fault helps nobody.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from console.craft.model import Fluid, StoreKind
from console.units import Dimension

ALL_OFF = "all off"
"""The level of a craft without loads."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StoreOutline:
    """What a plan has to know of a store."""

    supply: str
    capacity_si: float | None
    kind: StoreKind | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class GasOutline:
    """What a plan has to know of a supply to fill a space from it."""

    is_gas: bool
    """Whether it can: it has a store of gas, or its unit is a volume of a stated gas."""
    fluid: Fluid = Fluid.OXYGEN
    """Of its first store that says one."""
    density_kg_per_m3: float | None = None
    """Of the gas in the state at which its volume is stated; None where amounts are masses."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinOutline:
    """What a plan has to know of the cabin; each None where it is not known."""

    is_there: bool | None = None
    volume_m3: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class CraftOutline:
    """The names of a craft and what they measure; each None where it could not be read."""

    epoch: datetime | None = None
    crew_count: int | None = None
    supplies: Mapping[str, Dimension | None] | None = None
    """By supply, what its amounts measure."""
    stores: Mapping[str, StoreOutline] | None = None
    loads: Collection[str] | None = None
    levels: Collection[str] | None = None
    gases: Mapping[str, GasOutline | None] | None = None
    """By supply, what gas it gives; None for a supply of which that could not be read."""
    cabin: CabinOutline = field(default_factory=CabinOutline)
    has_propulsion: bool | None = None
    modules: Collection[str] | None = None
    """The parts of the craft that can be dropped."""

    def dimension_of_supply(self, name: str) -> Dimension | None:
        """What a supply's amounts measure."""
        return None if self.supplies is None else self.supplies.get(name)

    def dimension_of_store(self, name: str) -> Dimension | None:
        """What a store's amounts measure."""
        store = None if self.stores is None else self.stores.get(name)
        return None if store is None else self.dimension_of_supply(store.supply)

    def capacity_of_store(self, name: str) -> float | None:
        """What a store holds when full."""
        store = None if self.stores is None else self.stores.get(name)
        return None if store is None else store.capacity_si

    def kind_of_store(self, name: str) -> StoreKind | None:
        """What kind of store it is."""
        store = None if self.stores is None else self.stores.get(name)
        return None if store is None else store.kind

    def gas_of_supply(self, name: str) -> GasOutline | None:
        """What gas a supply gives."""
        return None if self.gases is None else self.gases.get(name)
