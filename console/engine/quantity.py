"""How much each store holds, from what its instruments say, and how sure that is.

One way of knowing is used, the first there is of: counted charge and gauge together (``charge.py``), a direct
reading, pressure with temperature and volume, charge or mass counted as used, the capacity. A second way is
compared: where the two differ beyond their errors the lower one is used and the difference is said, because
an average of a right and a wrong gauge is wrong.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.channels import Channel
from console.craft.model import Store, Supply
from console.display import amount_text
from console.engine.gas_amount import of_mass_si
from console.engine.reading import Quality, Reading
from console.engine.value import NO_READING as NO_READING
from console.engine.value import Value, gauge_value
from console.engine.value import read_value as read_value
from console.engine.value import worst as worst
from console.physics.battery import capacity_fraction, is_below_curve
from console.physics.constants import ZERO_CELSIUS_K
from console.physics.gas import GasRangeError, mass_kg
from console.units import Unit

AGREE_SD = 3.0
"""Two gauges disagree when they differ by more than this many standard deviations of the difference."""


CAPACITY_TOLERANCE_FRACTION = 0.02
"""How far a store may seem to be over full, or under empty, before its gauge is suspect."""


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


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeEstimate:
    """What a battery holds by its counted charge and its gauge together."""

    level_si: float
    sd_si: float
    at_s: float
    """The moment for which it holds."""
    is_old: bool
    quality: Quality
    why: str


def store_quantity(
    store: Store,
    supply: Supply,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    logged: tuple[tuple[float, float], ...],
    now_s: float,
    fused: ChargeEstimate | None = None,
) -> StoreQuantity:
    """What a store holds.

    Args:
        store: the store.
        supply: the supply it is a store of: in whose unit it is kept.
        readings: the feed's newest.
        channels: the craft's.
        logged: when operators logged how much as taken from it, which no gauge has seen since.
        now_s: to tell whether readings are old.
        fused: what its counted charge and its gauge say together, where that is followed; it stands for both.
    """
    ways = _ways(store, supply, readings, channels, now_s, fused)
    ways = [_less_logged(way, logged) for way in ways]
    known = [way for way in ways if way.held_si is not None]
    if not known:
        return ways[0]
    # Two gauges can be compared only as at one moment: where one is old, the fresh one is what is known.
    comparable = [way for way in known if not way.is_old] or known[:1]
    first = comparable[0]
    if len(comparable) > 1:
        first = _compare(first, comparable[1], supply.unit)
    missing = [way.why for way in ways if way.held_si is None]
    if missing:
        first = replace(first, why=_joined(first.why, *missing))
    return _within_capacity(first, supply.unit)


def _ways(
    store: Store,
    supply: Supply,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    now_s: float,
    fused: ChargeEstimate | None,
) -> list[StoreQuantity]:
    """Every way of knowing the store's quantity, the one to be preferred first; never empty."""
    ways = []
    if fused is not None:
        ways.append(_from_estimate(store, fused))
    elif store.quantity is not None:
        ways.append(_from_value(store, gauge_value(store, readings, channels), "quantity", now_s))
    if store.pressure is not None:
        ways.append(_from_pressure(store, supply, readings, channels, now_s))
    # Where the counter is what was counted, it is in the estimate already.
    is_in_estimate = fused is not None and store.current is None
    if store.used is not None and store.capacity_si is not None and not is_in_estimate:
        full = _full(store, store.capacity_si, readings, channels)
        ways.append(_from_used(store, read_value(store.used, readings, channels), full, now_s))
    return ways or [_from_capacity(store, readings, channels, now_s)]


def _from_estimate(store: Store, fused: ChargeEstimate) -> StoreQuantity:
    return StoreQuantity(
        store=store,
        held_si=fused.level_si,
        sd_si=fused.sd_si,
        residual_si=store.residual_si,
        as_of_s=fused.at_s,
        is_old=fused.is_old,
        quality=fused.quality,
        basis="counted and gauge",
        why=fused.why,
    )


def _full(
    store: Store, capacity_si: float, readings: Mapping[str, Reading], channels: Mapping[str, Channel]
) -> Value:
    """What a store holds when full, as warm as it is now: its capacity, except for a battery with a curve."""
    curve = store.capacity_at_temperature
    constant = Value(value_si=capacity_si, sd_si=0.0, at_s=None, quality=Quality.GOOD, why="")
    if not curve or store.temperature is None:
        return constant
    temperature = read_value(store.temperature, readings, channels)
    kelvin = temperature.value_si
    if kelvin is None or not kelvin > 0.0:
        least = min(fraction for _, fraction in curve)
        said = f"temperature not known: {least * 100.0:.0f} % of the capacity counted, the least of its curve"
        why = _joined(temperature.why, said)
        return replace(temperature, value_si=capacity_si * least, sd_si=0.0, why=why)
    fraction = capacity_fraction(curve, kelvin)
    slope = abs(
        capacity_fraction(curve, kelvin + temperature.sd_si)
        - capacity_fraction(curve, max(kelvin - temperature.sd_si, 1.0))
    )
    full = replace(temperature, value_si=capacity_si * fraction, sd_si=capacity_si * slope / 2.0)
    if is_below_curve(curve, kelvin):
        said = f"colder than its curve of capacity goes ({curve[0][0] - ZERO_CELSIUS_K:.0f} °C)"
        return replace(
            full,
            quality=worst(full.quality, Quality.SUSPECT),
            why=_joined(full.why, f"{said}: it may hold less than is counted"),
        )
    return full


def _from_used(store: Store, used: Value, full: Value, now_s: float) -> StoreQuantity:
    """What is left of what it holds when full, by what was counted as taken."""
    times = [value.at_s for value in (used, full) if value.at_s is not None]
    is_known = used.value_si is not None and full.value_si is not None
    return StoreQuantity(
        store=store,
        held_si=(full.value_si or 0.0) - (used.value_si or 0.0) if is_known else None,
        sd_si=math.hypot(used.sd_si, full.sd_si),
        residual_si=store.residual_si,
        as_of_s=min(times, default=None),
        is_old=used.is_old(now_s) or full.is_old(now_s),
        quality=worst(used.quality, full.quality) if is_known else Quality.MISSING,
        basis="used" if is_known else "none",
        why=_joined(used.why, full.why),
    )


def _from_capacity(
    store: Store, readings: Mapping[str, Reading], channels: Mapping[str, Channel], now_s: float
) -> StoreQuantity:
    """A store without any gauge is taken as full."""
    if store.capacity_si is None:
        full = Value(
            value_si=None, sd_si=0.0, at_s=None, quality=Quality.MISSING, why="neither a gauge nor a capacity"
        )
    else:
        full = _full(store, store.capacity_si, readings, channels)
    # Its temperature's moment is not that of an amount: what is taken since is not known from any moment on.
    return replace(_from_value(store, full, "capacity", now_s), as_of_s=None, is_old=full.is_old(now_s))


def _less_logged(way: StoreQuantity, logged: tuple[tuple[float, float], ...]) -> StoreQuantity:
    """Less what was logged as used since the reading, or ever where there is no reading."""
    since_s = -math.inf if way.as_of_s is None else way.as_of_s
    used_si = sum(amount_si for at_s, amount_si in logged if at_s > since_s)
    if not used_si or way.held_si is None:
        return way
    return replace(way, held_si=way.held_si - used_si, why=_joined(way.why, "less what was logged as used"))


def _from_value(store: Store, value: Value, basis: str, now_s: float) -> StoreQuantity:
    held = value.value_si
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
    store: Store,
    supply: Supply,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    now_s: float,
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
            held, residual = (
                of_mass_si(supply, mass_kg(store.fluid, pressure_pa, temperature.value_si, store.volume_m3))
                for pressure_pa in (0.0 if is_empty else pressure.value_si, store.residual_pressure_pa)
            )
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
