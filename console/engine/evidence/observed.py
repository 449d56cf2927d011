"""What the instruments of a supply said: the amount in its stores over time, and the draw by its meters.

The stores are those that have fed at any time in the stretch looked at; a supply one of whose stores has no
gauge has no level. Of every instrument's error a quarter of the variance is taken for noise that is fresh in
every reading and the rest for a bias that no reading shows (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from console.craft.channels import Channel, Measured
from console.craft.model import Craft, Store, StoreKind, StoreState, Supply
from console.engine.configuration import Configuration
from console.engine.draws import Floats
from console.engine.evidence.rows import BACK_S, Rows, common, converted, rows_of
from console.engine.gas_amount import of_mass_si
from console.engine.series import Series
from console.physics.gas import masses_kg
from console.units import Dimension

NOISE_SHARE = 0.25
"""The part of an instrument's error variance that is fresh in every reading."""

FEWEST_ROWS = 6
EVENT_S = 60.0
"""The moment of an event is known to about this."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LevelRows:
    """The amount in the stores, as read. Arrays of shape (n,)."""

    stores: tuple[str, ...]
    times_s: Floats
    widths_s: Floats
    """Of the stretch whose mean each row is."""
    amounts_si: Floats
    by_store_si: Floats
    """The same by store, (stores, n)."""
    store_noise_var: Floats
    """By store, of one reading, the display's steps not counted: (stores,)."""
    store_step_si: Floats
    """By store, one step of its display: (stores,)."""
    counts: Floats
    """How many readings each row is the mean of."""
    noise_var: Floats
    """Of each row's mean, the display's steps not counted."""
    step_var: float
    """Of the rounding to the display's steps."""
    step_si: float
    """The coarsest step."""
    biases_sd: Mapping[str, float]
    """By store."""
    by_counter: bool
    """Whether it was counted as taken: then what batteries lose by their rate does not show in it."""
    is_vessel: bool
    """Whether it holds a gas or a liquid."""

    def between_events(self, events_s: tuple[float, ...]) -> LevelRows | None:
        """Without the rows in whose stretch an event took or gave something; None where too few are left.

        Such a row is the mean of what was there before and after, in no proportion that can be known.
        """
        kept = np.ones(len(self.times_s), dtype=bool)
        for at_s in events_s:
            kept &= np.abs(self.times_s - at_s) > 0.5 * self.widths_s + EVENT_S
        if kept.all():
            return self
        if kept.sum() < FEWEST_ROWS:
            return None
        return replace(
            self,
            times_s=self.times_s[kept],
            widths_s=self.widths_s[kept],
            amounts_si=self.amounts_si[kept],
            by_store_si=self.by_store_si[:, kept],
            counts=self.counts[kept],
            noise_var=self.noise_var[kept],
        )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MeterRows:
    """The draw by meters. Arrays of shape (n,)."""

    times_s: Floats
    widths_s: Floats
    rates_si_per_s: Floats
    noise_var: Floats
    bias_sd: float


def fed_since(supply: Supply, configuration: Configuration, from_s: float, at_s: float) -> tuple[Store, ...]:
    """The stores that have fed at any time since a moment."""
    names = {
        name for name, state in configuration.stores_at(from_s).items() if state is StoreState.FEEDING
    } | {move.store for move in configuration.feeding_moves(from_s, at_s)}
    return tuple(store for store in supply.stores if store.name in names)


def level_rows(
    supply: Supply,
    stores: tuple[Store, ...],
    craft: Craft,
    history: Mapping[str, Series],
    at_s: float,
    believed_until_s: Mapping[str, float],
) -> LevelRows | None:
    """The level of a supply over time; None where it has none, or too few rows.

    Args:
        supply: the supply.
        stores: those that have fed lately.
        craft: whose instruments they are.
        history: by channel, what was read.
        at_s: the moment.
        believed_until_s: by channel, until when its readings are to be believed, where that is over.
    """
    gauges = [_gauge(store) for store in stores]
    if not stores or any(gauge is None for gauge in gauges):
        return None
    found: list[Rows] = []
    noise_var, step_var, step_si = 0.0, 0.0, 0.0
    gauge_sds, warmth_sds, store_noise_var, store_step_si = {}, {}, [], []
    for store, gauge in zip(stores, gauges, strict=True):
        if gauge is None or gauge.channel is None or gauge.channel not in history:
            return None
        channel = craft.channels[gauge.channel]
        rows = rows_of(history[gauge.channel], at_s, believed_until_s.get(gauge.channel, math.inf))
        if len(rows) < FEWEST_ROWS:
            return None
        amounts, per_unit = _amounts(supply, store, rows, history, at_s)
        found.append(amounts)
        noise_var += NOISE_SHARE * (per_unit * channel.accuracy_si / 2.0) ** 2
        warmth_sds[store.name] = _by_warmth(store, craft.channels, amounts)
        step_var += (per_unit * channel.resolution_si) ** 2 / 12.0
        store_noise_var.append(NOISE_SHARE * (per_unit * channel.accuracy_si / 2.0) ** 2)
        store_step_si.append(per_unit * channel.resolution_si)
        step_si = max(step_si, per_unit * channel.resolution_si)
        gauge_sds[store.name] = per_unit * channel.accuracy_si / 2.0
    warmth_sds = _together(stores, warmth_sds)
    noise_var += NOISE_SHARE * sum(sd**2 for sd in warmth_sds.values())
    biases = {
        name: math.sqrt(1.0 - NOISE_SHARE) * math.hypot(sd, warmth_sds[name])
        for name, sd in gauge_sds.items()
    }
    shared = common(found)
    counts = np.min([rows.counts for rows in shared], axis=0)
    if len(counts) < FEWEST_ROWS:
        return None
    return LevelRows(
        stores=tuple(store.name for store in stores),
        times_s=np.mean([rows.times_s for rows in shared], axis=0),
        widths_s=shared[0].widths_s,
        amounts_si=np.sum([rows.values_si for rows in shared], axis=0),
        by_store_si=np.array([rows.values_si for rows in shared]),
        store_noise_var=np.array(store_noise_var),
        store_step_si=np.array(store_step_si),
        counts=counts,
        noise_var=noise_var / counts,
        step_var=step_var,
        step_si=step_si,
        biases_sd=biases,
        is_vessel=all(store.kind in (StoreKind.GAS, StoreKind.LIQUID) for store in stores),
        by_counter=any(store.quantity is None and store.pressure is None for store in stores),
    )


def meter_rows(
    supply: Supply,
    stores: tuple[Store, ...],
    channels: Mapping[str, Channel],
    history: Mapping[str, Series],
    at_s: float,
    believed_until_s: Mapping[str, float],
) -> MeterRows | None:
    """The draw of a supply over time by its meters; None where one is missing, or with too few rows."""
    meters = [store.current for store in stores] if supply.rate is None else [supply.rate]
    scale = 1.0
    if supply.rate is None and supply.dimension is Dimension.ENERGY:
        scale = supply.bus_voltage_v or 0.0
    found: list[Rows] = []
    noise_var = bias_var = 0.0
    for meter in meters:
        if meter is None or meter.channel is None or meter.channel not in history:
            return None
        channel = channels[meter.channel]
        found.append(rows_of(history[meter.channel], at_s, believed_until_s.get(meter.channel, math.inf)))
        noise_var += NOISE_SHARE * (scale * channel.accuracy_si / 2.0) ** 2
        noise_var += (scale * channel.resolution_si) ** 2 / 12.0
        bias_var += (1.0 - NOISE_SHARE) * (scale * channel.accuracy_si / 2.0) ** 2
    if not found:
        return None
    shared = common(found)
    if len(shared[0]) < FEWEST_ROWS:
        return None
    counts = np.min([rows.counts for rows in shared], axis=0)
    return MeterRows(
        times_s=np.mean([rows.times_s for rows in shared], axis=0),
        widths_s=np.minimum(shared[0].widths_s, BACK_S),
        rates_si_per_s=scale * np.sum([rows.values_si for rows in shared], axis=0),
        noise_var=noise_var / counts,
        bias_sd=math.sqrt(bias_var),
    )


def _gauge(store: Store) -> Measured | None:
    """What tells the level of a store over time: its quantity, its pressure, or what was counted as taken."""
    for gauge in (store.quantity, store.pressure, store.used):
        if gauge is not None and gauge.channel is not None:
            return gauge
    return None


def _amounts(
    supply: Supply,
    store: Store,
    rows: Rows,
    history: Mapping[str, Series],
    at_s: float,
) -> tuple[Rows, float]:
    """The rows as amounts, and how much of the amount one unit of the gauge is."""
    if store.quantity is not None and store.quantity.channel is not None:
        scale = (store.capacity_si or 0.0) if store.quantity_is_share else 1.0
        return converted(rows, lambda values: scale * values), scale
    if store.pressure is not None and store.pressure.channel is not None:
        warm_k = _temperatures_k(store, rows, history, at_s)
        fluid, volume_m3 = store.fluid, store.volume_m3 or 0.0
        if fluid is None:
            raise ValueError(f"store {store.name} is gauged by pressure without a fluid")

        def amounts(pressures: Floats) -> Floats:
            kg = masses_kg(fluid, np.maximum(pressures, 0.0), warm_k, volume_m3)
            amounts_si: Floats = kg * of_mass_si(supply, 1.0)
            return amounts_si

        turned = converted(rows, amounts)
        mean_pa = float(np.mean(rows.values_si))
        per_pa = float(np.mean(turned.values_si)) / mean_pa if len(turned) and mean_pa > 0.0 else 0.0
        return turned, per_pa
    return converted(rows, lambda values: -values), 1.0


def _by_warmth(store: Store, channels: Mapping[str, Channel], amounts: Rows) -> float:
    """What its thermometer's error is worth in what a bottle holds now, by the ideal gas."""
    temperature = store.temperature
    if store.pressure is None or store.quantity is not None or temperature is None or not len(amounts):
        return 0.0
    if temperature.channel is None:
        return 0.0
    return float(amounts.values_si[-1]) * channels[temperature.channel].accuracy_si / 2.0 / 293.15


def _together(stores: tuple[Store, ...], sds: Mapping[str, float]) -> dict[str, float]:
    """The errors by one thermometer of several bottles are one error: as single ones that add to as much."""
    found = dict(sds)
    thermometers = {
        store.name: store.temperature.channel for store in stores if store.temperature is not None
    }
    for thermometer in set(thermometers.values()) - {None}:
        mine = [name for name, channel in thermometers.items() if channel == thermometer]
        single = math.sqrt(sum(sds[name] ** 2 for name in mine))
        if single > 0.0:
            scale = sum(sds[name] for name in mine) / single
            found |= {name: scale * sds[name] for name in mine}
    return found


def _temperatures_k(store: Store, rows: Rows, history: Mapping[str, Series], at_s: float) -> Floats:
    """The temperature of a bottle at every row, K: as read nearest in time, or the config's."""
    temperature = store.temperature
    if temperature is None or temperature.channel is None:
        constant = None if temperature is None else temperature.constant_si
        return np.full(len(rows), 293.15 if constant is None else constant)
    read = rows_of(history[temperature.channel], at_s) if temperature.channel in history else None
    if read is None or not len(read):
        return np.full(len(rows), np.nan)
    return np.interp(rows.times_s, read.times_s, read.values_si)
