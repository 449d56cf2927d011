"""A measured property with its error and its age: its channel's last good reading, or its constant."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.channels import Channel, Measured
from console.craft.model import Store
from console.engine.reading import Quality, Reading

NO_READING = Reading(channel="", quality=Quality.MISSING, why="no such channel in the feed")

_WORST = (Quality.GOOD, Quality.STALE, Quality.SUSPECT, Quality.MISSING)


def worst(*qualities: Quality) -> Quality:
    """The least trustworthy of some qualities; good for none."""
    return max(qualities, key=_WORST.index, default=Quality.GOOD)


@dataclass(frozen=True, kw_only=True, slots=True)
class Value:
    """A property's value with its error and its age."""

    value_si: float | None
    sd_si: float
    at_s: float | None
    """When it was read; None for a constant of the config."""
    quality: Quality
    why: str
    stale_after_s: float = math.inf

    def is_old(self, now_s: float) -> bool:
        """Whether it was read longer ago than its channel allows."""
        return self.at_s is not None and now_s - self.at_s > self.stale_after_s


def read_value(measured: Measured, readings: Mapping[str, Reading], channels: Mapping[str, Channel]) -> Value:
    """The value of a measured property: its channel's last good reading, or its constant."""
    if measured.channel is None:
        return Value(value_si=measured.constant_si, sd_si=0.0, at_s=None, quality=Quality.GOOD, why="")
    channel = channels[measured.channel]
    reading = readings.get(measured.channel, NO_READING)
    why = (
        f"{measured.channel}: {reading.why or reading.quality.value}"
        if reading.quality is not Quality.GOOD
        else ""
    )
    return Value(
        value_si=reading.value_si,
        sd_si=math.hypot(channel.accuracy_si / 2.0, channel.resolution_si / math.sqrt(12.0)),
        at_s=reading.at_s,
        quality=reading.quality,
        why=why,
        stale_after_s=channel.stale_after_s,
    )


def gauge_value(store: Store, readings: Mapping[str, Reading], channels: Mapping[str, Channel]) -> Value:
    """What a store's direct reading says, in amounts also where it is read as a share of the capacity.

    Raises:
        ValueError: the store has no direct reading.
    """
    if store.quantity is None:
        raise ValueError(f"store {store.name} has no reading of its quantity")
    value = read_value(store.quantity, readings, channels)
    if not store.quantity_is_share:
        return value
    if store.capacity_si is None:
        return replace(value, value_si=None, quality=Quality.MISSING, why="a share of no known capacity")
    share = value.value_si
    return replace(
        value,
        value_si=None if share is None else share * store.capacity_si,
        sd_si=value.sd_si * store.capacity_si,
    )
