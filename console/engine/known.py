"""What is known at one moment, whatever way home is taken: quantities, the cabin's pressure, logged steps.

Every look ahead (the committed option, another one, a supposition) starts from the same Known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.configuration import ConfigurationChange
from console.engine.planned_rate import CabinPressure
from console.engine.quantity import StoreQuantity, store_quantity
from console.engine.reading import FeedState
from console.engine.surroundings import cabin_pressure


@dataclass(frozen=True, kw_only=True, slots=True)
class Situation:
    """All that an assessment depends on."""

    slug: str
    craft: Craft
    plan: Plan
    feed: FeedState
    changes: tuple[ConfigurationChange, ...]
    """Logged steps, in the journal's order."""
    notices: tuple[str, ...] = ()
    """What whoever gathered this has to say to whoever reads the Snapshot."""
    supposed: tuple[ConfigurationChange, ...] = ()
    """Steps that nobody has taken, now or ahead: laid over what was logged to see what they would do."""
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """One moment, as far as readings and the journal tell it."""

    craft: Craft
    feed: FeedState
    at_s: float
    changes: tuple[ConfigurationChange, ...]
    """The logged steps up to now, and the supposed ones."""
    quantities: Mapping[str, StoreQuantity]
    """By store."""
    pressure: CabinPressure


def known_of(situation: Situation) -> Known:
    """What a situation tells."""
    logged = tuple(change for change in situation.changes if change.at_s <= situation.at_s)
    changes = (*logged, *situation.supposed)
    return Known(
        craft=situation.craft,
        feed=situation.feed,
        at_s=situation.at_s,
        changes=changes,
        quantities=_quantities(situation, changes),
        pressure=cabin_pressure(situation.craft, situation.feed),
    )


def _quantities(situation: Situation, changes: tuple[ConfigurationChange, ...]) -> dict[str, StoreQuantity]:
    return {
        store.name: store_quantity(
            store,
            supply.unit,
            situation.feed.readings,
            situation.craft.channels,
            tuple((change.at_s, change.used_si.get(store.name, 0.0)) for change in changes),
            situation.at_s,
        )
        for supply in situation.craft.supplies.values()
        for store in supply.stores
    }
