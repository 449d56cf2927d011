"""How much each store holds, from what its instruments say, and how sure that is.

One way of knowing is used, the first there is of: a direct reading, pressure with temperature and volume,
charge or mass counted as used, the capacity. A second way is compared: where the two differ beyond their
errors the lower one is used and the difference is said, because an average of a right and a wrong gauge is
wrong.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.channels import Channel, Measured
from console.craft.model import Store
from console.display import amount_text
from console.engine.reading import Quality, Reading
from console.physics.gas import GasRangeError, mass_kg
from console.units import Unit

NO_READING = Reading(channel="", quality=Quality.MISSING, why="no such channel in the feed")

_WORST = (Quality.GOOD, Quality.STALE, Quality.SUSPECT, Quality.MISSING)

AGREE_SD = 3.0
"""Two gauges disagree when they differ by more than this many standard deviations of the difference."""


def worst(*qualities: Quality) -> Quality:
    """The least trustworthy of some qualities; good for none."""
    return max(qualities, key=_WORST.index, default=Quality.GOOD)


CAPACITY_TOLERANCE_FRACTION = 0.02
"""How far a store may seem to be over full, or under empty, before its gauge is suspect."""


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


@dataclass(frozen=True, kw_only=True, slots=True)
class StoreQuantity:
    """What one store holds, as at the moment of its readings."""

    store: Store
    held_si: float | None
    """None where it cannot be known, with the reason in ``why``."""
    sd_si: float
    residual_si: float | None
    as_of_s: float | None
    """When the oldest reading behind it was made; None where it rests on no reading."""
    is_old: bool
    """Whether that is longer ago than the channel allows, so that it must be carried forward."""
    quality: Quality
    basis: str
    why: str


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


def store_quantity(
    store: Store,
    unit: Unit,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    logged: tuple[tuple[float, float], ...],
    now_s: float,
) -> StoreQuantity:
    """What a store holds.

    Args:
        store: the store.
        unit: in which amounts are written in ``why``.
        readings: the feed's newest.
        channels: the craft's.
        logged: when operators logged how much as taken from it, which no gauge has seen since.
        now_s: to tell whether readings are old.
    """
    ways = _ways(store, readings, channels, now_s)
    ways = [_less_logged(way, logged) for way in ways]
    known = [way for way in ways if way.held_si is not None]
    if not known:
        return ways[0]
    # Two gauges can be compared only as at one moment: where one is old, the fresh one is what is known.
    comparable = [way for way in known if not way.is_old] or known[:1]
    first = comparable[0]
    if len(comparable) > 1:
        first = _compare(first, comparable[1], unit)
    missing = [way.why for way in ways if way.held_si is None]
    if missing:
        first = replace(first, why=_joined(first.why, *missing))
    return _within_capacity(first, unit)


def _ways(
    store: Store,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    now_s: float,
) -> list[StoreQuantity]:
    """Every way of knowing the store's quantity, the one to be preferred first; never empty."""
    ways = []
    if store.quantity is not None:
        ways.append(_from_value(store, read_value(store.quantity, readings, channels), "quantity", now_s))
    if store.pressure is not None:
        ways.append(_from_pressure(store, readings, channels, now_s))
    if store.used is not None and store.capacity_si is not None:
        used = read_value(store.used, readings, channels)
        ways.append(_from_value(store, used, "used", now_s))
    if not ways:
        held = store.capacity_si
        why = "" if held is not None else "neither a gauge nor a capacity"
        ways.append(
            StoreQuantity(
                store=store,
                held_si=held,
                sd_si=0.0,
                residual_si=store.residual_si,
                as_of_s=None,
                is_old=False,
                quality=Quality.GOOD if held is not None else Quality.MISSING,
                basis="capacity" if held is not None else "none",
                why=why,
            )
        )
    return ways


def _less_logged(way: StoreQuantity, logged: tuple[tuple[float, float], ...]) -> StoreQuantity:
    """Less what was logged as used since the reading, or ever where there is no reading."""
    since_s = -math.inf if way.as_of_s is None else way.as_of_s
    used_si = sum(amount_si for at_s, amount_si in logged if at_s > since_s)
    if not used_si or way.held_si is None:
        return way
    return replace(way, held_si=way.held_si - used_si, why=_joined(way.why, "less what was logged as used"))


def _from_value(store: Store, value: Value, basis: str, now_s: float) -> StoreQuantity:
    held = value.value_si
    if basis == "used" and held is not None:
        held = (store.capacity_si or 0.0) - held
    return StoreQuantity(
        store=store,
        held_si=held,
        sd_si=value.sd_si,
        residual_si=store.residual_si,
        as_of_s=value.at_s,
        is_old=value.is_old(now_s),
        quality=value.quality,
        basis=basis if held is not None else "none",
        why=value.why,
    )


def _from_pressure(
    store: Store, readings: Mapping[str, Reading], channels: Mapping[str, Channel], now_s: float
) -> StoreQuantity:
    if store.pressure is None or store.temperature is None or store.fluid is None or store.volume_m3 is None:
        raise ValueError(f"store {store.name} is gauged by pressure without fluid, volume or temperature")
    pressure = read_value(store.pressure, readings, channels)
    temperature = read_value(store.temperature, readings, channels)
    times = [value.at_s for value in (pressure, temperature) if value.at_s is not None]
    whys = [value.why for value in (pressure, temperature) if value.why]
    held = residual = None
    sd = 0.0
    if pressure.value_si is not None and temperature.value_si is not None:
        # An empty bottle's gauge may show a little less than nothing: within its error that is nothing.
        is_empty = -AGREE_SD * pressure.sd_si <= pressure.value_si < 0.0
        try:
            held = mass_kg(
                store.fluid, 0.0 if is_empty else pressure.value_si, temperature.value_si, store.volume_m3
            )
            residual = mass_kg(store.fluid, store.residual_pressure_pa, temperature.value_si, store.volume_m3)
            relative = math.hypot(
                pressure.sd_si / max(pressure.value_si, 1.0), temperature.sd_si / temperature.value_si
            )
            sd = held * relative
        except GasRangeError as error:
            whys.append(str(error))
    return StoreQuantity(
        store=store,
        held_si=held,
        sd_si=sd,
        residual_si=None if residual is None else max(residual, store.residual_si),
        as_of_s=min(times, default=None),
        is_old=pressure.is_old(now_s) or temperature.is_old(now_s),
        quality=worst(pressure.quality, temperature.quality) if held is not None else Quality.MISSING,
        basis="pressure" if held is not None else "none",
        why="; ".join(whys),
    )


def _compare(first: StoreQuantity, second: StoreQuantity, unit: Unit) -> StoreQuantity:
    """The first way of knowing, or the lower of the two where they differ beyond their errors."""
    if first.held_si is None or second.held_si is None:
        return first
    difference = abs(first.held_si - second.held_si)
    if difference <= AGREE_SD * math.hypot(first.sd_si, second.sd_si) + 1e-9 * abs(first.held_si):
        return first
    lower = min(first, second, key=lambda way: way.held_si or 0.0)
    said = (
        f"{first.basis} says {amount_text(first.held_si, unit)}, {second.basis} says "
        f"{amount_text(second.held_si, unit)}: the lower is used"
    )
    return replace(lower, quality=worst(lower.quality, Quality.SUSPECT), why=_joined(lower.why, said))


def _within_capacity(way: StoreQuantity, unit: Unit) -> StoreQuantity:
    """Nothing holds more than when full, nor less than nothing: take the bound.

    Beyond what the gauge's error and a fiftieth of the capacity explain, that is also said, and suspect.
    """
    held, capacity = way.held_si, way.store.capacity_si
    if held is None:
        return way
    doubt = AGREE_SD * way.sd_si + CAPACITY_TOLERANCE_FRACTION * (capacity or 0.0)
    said = ""
    if held < -doubt:
        said = f"more counted as used than the {amount_text(capacity or 0.0, unit)} it holds when full"
    elif capacity is not None and held > capacity + doubt:
        said = (
            f"{way.basis} says {amount_text(held, unit)}, above its capacity of {amount_text(capacity, unit)}"
        )
    return replace(
        way,
        held_si=max(held if capacity is None else min(held, capacity), 0.0),
        quality=worst(way.quality, Quality.SUSPECT) if said else way.quality,
        why=_joined(way.why, said),
    )


def _joined(*sentences: str) -> str:
    return "; ".join(filter(None, sentences))
