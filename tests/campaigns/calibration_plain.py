"""Plain methods that a careful person would use without an engine, from the same readings.

What is left over the last rate; a line through the last four hours. They know which stores give and what the
stores' gauges say, and nothing of the plan ahead. Nothing of the engine's forecasting is used here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from calibration_scoring import Floats

from console.craft.channels import Measured
from console.craft.model import Store, StoreState, Supply
from console.physics.battery import capacity_fraction
from console.physics.gas import GasRangeError, mass_kg
from console.units import Dimension

LINE_S = 4.0 * 3600.0
APART_S = 600.0
"""Two readings that give a last rate are at least this far apart."""
LINE_DRAWS = 400
FEWEST_POINTS = 5


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Seen:
    """Readings up to a moment: by channel, times and values that were good, in order of time."""

    now_s: float
    times_s: Mapping[str, Floats]
    values_si: Mapping[str, Floats]

    def at(self, channel: str, moments_s: Floats) -> Floats:
        """The newest value at each moment, however old; NaN before the first."""
        times = self.times_s.get(channel, np.empty(0))
        if not len(times):
            return np.full(len(moments_s), np.nan)
        place = np.searchsorted(times, moments_s, side="right") - 1
        return np.where(place >= 0, self.values_si[channel][np.maximum(place, 0)], np.nan)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Plain:
    """One supply as a plain method sees it."""

    left_si: float
    """Usable by the newest readings."""
    last_rate_si_per_s: float
    line: Floats
    """Draws of (usable now, rate), shape (draws + 1, 2), row 0 the fit itself; empty without a fit."""

    def last_rate_ahead_s(self, level_si: float) -> float:
        """How far ahead a level lies, by what is left over the last rate; infinite where nothing is used."""
        return float(_ahead_s(np.array([self.left_si]), np.array([self.last_rate_si_per_s]), level_si)[0])

    def line_ahead_s(self, level_si: float) -> Floats | None:
        """The same by the line, row 0 the fit itself; None without a line."""
        return _ahead_s(self.line[:, 0], self.line[:, 1], level_si) if len(self.line) else None


def plain_view(supply: Supply, states: Mapping[str, StoreState], seen: Seen, seed: int) -> Plain | None:
    """One supply by its newest readings; None where a store that counts was never read.

    Args:
        supply: the supply.
        states: of its stores, now.
        seen: the readings.
        seed: of the draws about the line.
    """
    counted = [store for store in supply.stores if states[store.name].is_counted]
    # A reading each minute at most: what changes faster is noise to these methods.
    moments_s = np.arange(seen.now_s - LINE_S, seen.now_s + 1.0, 60.0)
    left = usable_si(supply, counted, seen, moments_s)
    if not np.isfinite(left[-1]):
        return None
    metered = metered_rate_si_per_s(supply, states, seen)
    known = np.isfinite(left)
    times_s, left = moments_s[known], left[known]
    return Plain(
        left_si=float(left[-1]),
        last_rate_si_per_s=_last_rate(times_s, left) if metered is None else metered,
        line=_line_draws(times_s - seen.now_s, left, seed),
    )


def usable_si(supply: Supply, counted: Sequence[Store], seen: Seen, moments_s: Floats) -> Floats:
    """Usable by the newest readings at each moment; NaN where a store was not read yet."""
    total = np.full(len(moments_s), -supply.reserve_si)
    for store in counted:
        total = total + _gives_si(supply, store, seen, moments_s)
    return total


def metered_rate_si_per_s(supply: Supply, states: Mapping[str, StoreState], seen: Seen) -> float | None:
    """The newest reading of the meters of all stores that feed, or of the supply's own; None without them."""
    moment = np.array([seen.now_s])
    if supply.rate is not None:
        value = float(_property(supply.rate, seen, moment)[0])
        return value if np.isfinite(value) else None
    feeding = [store for store in supply.stores if states[store.name] is StoreState.FEEDING]
    currents = [store.current for store in feeding if store.current is not None]
    if not feeding or len(currents) < len(feeding):
        return None
    volts = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.ENERGY else 1.0
    total = sum(float(_property(current, seen, moment)[0]) for current in currents) * volts
    return total if np.isfinite(total) else None


def _gives_si(supply: Supply, store: Store, seen: Seen, moments_s: Floats) -> Floats:
    """What one store holds above its residual, by its own gauge; full where it has none."""
    held, residual = _held_si(supply, store, seen, moments_s)
    return np.maximum(held - np.minimum(residual, held), 0.0)


def _held_si(supply: Supply, store: Store, seen: Seen, moments_s: Floats) -> tuple[Floats, Floats]:
    residual = np.full(len(moments_s), store.residual_si)
    if store.quantity is not None:
        scale = (store.capacity_si or 0.0) if store.quantity_is_share else 1.0
        return scale * _property(store.quantity, seen, moments_s), residual
    if store.pressure is not None:
        held = _gas_si(supply, store, _property(store.pressure, seen, moments_s), seen, moments_s)
        empty = np.full(len(moments_s), store.residual_pressure_pa)
        return held, np.maximum(_gas_si(supply, store, empty, seen, moments_s), residual)
    full = np.full(len(moments_s), store.capacity_si or 0.0)
    if store.capacity_at_temperature and store.temperature is not None:
        warm_k = _property(store.temperature, seen, moments_s)
        curve = store.capacity_at_temperature
        full = full * np.array(
            [capacity_fraction(curve, kelvin) if kelvin > 0.0 else np.nan for kelvin in warm_k]
        )
    if store.used is not None:
        return full - _property(store.used, seen, moments_s), residual
    return full, residual


def _gas_si(supply: Supply, store: Store, pressures_pa: Floats, seen: Seen, moments_s: Floats) -> Floats:
    if store.temperature is None or store.fluid is None or store.volume_m3 is None:
        raise ValueError(f"store {store.name} is gauged by pressure without fluid, volume or temperature")
    per_kg = 1.0
    if supply.dimension is Dimension.VOLUME and supply.gas_density_kg_per_m3 is not None:
        per_kg = 1.0 / supply.gas_density_kg_per_m3
    warm_k = _property(store.temperature, seen, moments_s)
    held = np.full(len(moments_s), np.nan)
    for place, (pressure, kelvin) in enumerate(zip(pressures_pa.tolist(), warm_k.tolist(), strict=True)):
        try:
            held[place] = per_kg * mass_kg(store.fluid, max(pressure, 0.0), kelvin, store.volume_m3)
        except GasRangeError:
            continue
    return held


def _property(measured: Measured, seen: Seen, moments_s: Floats) -> Floats:
    if measured.channel is None:
        constant = np.nan if measured.constant_si is None else measured.constant_si
        return np.full(len(moments_s), constant)
    return seen.at(measured.channel, moments_s)


def _last_rate(times_s: Floats, left: Floats) -> float:
    """By the newest reading and the newest one that is far enough from it; 0 with one reading alone."""
    before = np.flatnonzero(times_s <= times_s[-1] - APART_S)
    if not len(before):
        return 0.0
    place = int(before[-1])
    return float((left[place] - left[-1]) / (times_s[-1] - times_s[place]))


def _line_draws(ago_s: Floats, left: Floats, seed: int) -> Floats:
    """Least squares and its textbook covariance, as draws of (usable now, rate)."""
    if len(ago_s) < FEWEST_POINTS or ago_s[-1] - ago_s[0] < APART_S:
        return np.empty((0, 2))
    middle = ago_s.mean()
    away = ago_s - middle
    spread = float(away @ away)
    slope = float(away @ left) / spread
    level = float(left.mean())
    residuals = left - level - slope * away
    variance = float(residuals @ residuals) / (len(left) - 2)
    normal = np.vstack((np.zeros(2), np.random.default_rng(seed).standard_normal((LINE_DRAWS, 2))))
    levels = level + normal[:, 0] * np.sqrt(variance / len(left))
    slopes = slope + normal[:, 1] * np.sqrt(variance / spread)
    return np.column_stack((levels - slopes * middle, -slopes))


def _ahead_s(left: Floats, rates: Floats, level_si: float) -> Floats:
    above = np.maximum(left - level_si, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead = np.where(rates > 0.0, above / rates, np.inf)
    return np.where(above <= 0.0, 0.0, ahead)
