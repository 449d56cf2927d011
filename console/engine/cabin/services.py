"""What holds the cabin's air and warmth: removal, oxygen feed, drying, cooling. Which runs when, until when.

A service runs in a segment where every load that it needs is on, until the first of the supplies behind it,
its loads' own supplies included, runs out. What is opened after that does not bring it back: the early side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

import numpy as np

from console.craft.cabin import Cabin
from console.craft.model import Craft, LoadState, Metabolic
from console.engine.cabin.air import Flags
from console.engine.configuration import Segment
from console.engine.draws import Floats
from console.engine.planned_rate import heat_of_loads_w
from console.engine.snapshot import Supposition


class Service(Enum):
    """Something that works for the cabin and can stop."""

    REMOVAL = "CO2 removal"
    FEED = "the oxygen feed"
    DRYING = "drying"
    COOLING = "cooling"


STOPS = {
    Supposition.NO_REMOVAL: Service.REMOVAL,
    Supposition.NO_FEED: Service.FEED,
    Supposition.NO_COOLING: Service.COOLING,
}
"""What stops on a supposition; without power, whatever needs a load stops."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Running:
    """One service over the plan."""

    segments: Flags
    """Whether its loads are on, shape (segments,)."""
    supplies: tuple[str, ...]
    """What it lives on, the supplies of its loads included."""
    needs_power: bool

    def ends_s(self, ends_s: Mapping[str, Floats], rows: int) -> Floats:
        """When the first of its supplies runs out, shape (rows,)."""
        first = np.full(rows, np.inf)
        for supply in self.supplies:
            if supply in ends_s:
                first = np.minimum(first, ends_s[supply][:rows])
        return first

    def unknown(self, ends_s: Mapping[str, Floats]) -> tuple[str, ...]:
        """The supplies behind it of which nobody knows how long they last."""
        return tuple(supply for supply in self.supplies if supply not in ends_s)


def services_of(craft: Craft, cabin: Cabin, segments: tuple[Segment, ...]) -> dict[Service, Running]:
    """The services that the craft has."""
    found: dict[Service, Running] = {}
    absorbents = _supplies_of(craft, Metabolic.CARBON_DIOXIDE)
    if cabin.removal is not None or absorbents:
        needs = () if cabin.removal is None else cabin.removal.needs
        # A stream that nobody described may need power: without power it is taken to stop.
        needs_power = bool(needs) or cabin.removal is None
        found[Service.REMOVAL] = _running(craft, segments, needs, absorbents, needs_power)
    if cabin.oxygen_feed is not None:
        oxygen = _supplies_of(craft, Metabolic.OXYGEN)
        found[Service.FEED] = _running(craft, segments, cabin.oxygen_feed.needs, oxygen)
    if cabin.drying is not None:
        found[Service.DRYING] = _running(craft, segments, cabin.drying.needs, ())
    thermal = cabin.thermal
    if thermal is not None and thermal.cooled_to_k is not None:
        water = () if thermal.cooling_supply is None else (thermal.cooling_supply,)
        found[Service.COOLING] = _running(craft, segments, thermal.cooling_needs, water)
    return found


def heat_by_supply_w(craft: Craft, segments: tuple[Segment, ...]) -> dict[str, Floats]:
    """By electrical supply, the heat of its loads in each segment, shape (segments,)."""
    heats = {}
    for name in dict.fromkeys(load.supply for load in craft.loads.values()):
        own = [load.name for load in craft.loads.values() if load.supply == name]
        all_off = dict.fromkeys(craft.loads, LoadState.OFF)
        heats[name] = np.array(
            [
                heat_of_loads_w(craft, {**all_off, **{load: segment.loads[load] for load in own}})
                for segment in segments
            ]
        )
    return heats


def _supplies_of(craft: Craft, metabolic: Metabolic) -> tuple[str, ...]:
    return tuple(dict.fromkeys(use.supply for use in craft.uses if use.metabolic is metabolic))


def _running(
    craft: Craft,
    segments: tuple[Segment, ...],
    needs: Iterable[str],
    supplies: tuple[str, ...],
    needs_power: bool | None = None,
) -> Running:
    loads = tuple(needs)
    return Running(
        segments=np.array(
            [all(segment.loads[load] is LoadState.ON for load in loads) for segment in segments]
        ),
        supplies=tuple(dict.fromkeys((*supplies, *(craft.loads[load].supply for load in loads)))),
        needs_power=bool(loads) if needs_power is None else needs_power,
    )
