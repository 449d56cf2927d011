"""What the instruments of the simulated craft show of its truth: bias, noise, range and display steps.

Readings are good by construction; what is wrong in a feed is not made here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from console.craft.cabin import Cabin
from console.craft.channels import Channel, Measured
from console.craft.model import Craft, StoreKind, Supply
from console.engine.reading import Quality, Reading
from console.feed.simulated_craft import SimulatedCraft
from console.feed.simulated_stores import TrueStore

Sense = Callable[[], float | None]
"""The true value of what an instrument looks at; None where it has none."""


class Instruments:
    """The craft's channels, each looking at one property of the truth.

    Noise is drawn anew for every reading, with half the channel's accuracy as its standard deviation; a
    steady error is what ``biases_si`` is for.

    Args:
        craft: whose channels they are.
        truth: what they look at.
        biases_si: by channel, what it shows too much.
        random: for the noise alone, so that looking does not change the truth.
    """

    def __init__(
        self,
        craft: Craft,
        truth: SimulatedCraft,
        biases_si: Mapping[str, float],
        random: np.random.Generator,
    ) -> None:
        self._channels = craft.channels
        self._biases_si = biases_si
        self._random = random
        self._truth = truth
        self._senses: dict[str, Sense] = {}
        self._stores: dict[str, str] = {}
        """By channel, the store that it looks at."""
        for supply in craft.supplies.values():
            self._connect_rate(supply, truth)
            for store in truth.stores[supply.name].values():
                known = set(self._senses)
                self._connect_store(store)
                self._stores.update(dict.fromkeys(set(self._senses) - known, store.store.name))
        if craft.cabin is not None:
            self._connect_cabin(craft.cabin, truth)

    def read(self, at_s: float) -> dict[str, Reading]:
        """What every channel shows now."""
        noise = self._random.standard_normal(len(self._channels)).tolist()
        return {
            name: self._reading(channel, at_s, draw)
            for (name, channel), draw in zip(self._channels.items(), noise, strict=True)
        }

    def _reading(self, channel: Channel, at_s: float, draw: float) -> Reading:
        sense = self._senses.get(channel.name)
        is_gone = self._stores.get(channel.name) in self._truth.left_behind
        true_si = None if sense is None or is_gone else sense()
        if true_si is None:
            why = "the simulated craft has no such instrument"
            if is_gone:
                why = "left behind with its module"
            elif sense is not None:
                why = "what it looks at lies beyond what the simulated craft can reckon"
            return Reading(channel=channel.name, quality=Quality.MISSING, why=why)
        biased_si = true_si + self._biases_si.get(channel.name, 0.0)
        value_si = displayed(biased_si + 0.5 * channel.accuracy_si * draw, channel)
        return Reading(channel=channel.name, quality=Quality.GOOD, value_si=value_si, at_s=at_s)

    def _connect(self, measured: Measured | None, sense: Sense) -> None:
        if measured is not None and measured.channel is not None:
            self._senses[measured.channel] = sense

    def _connect_rate(self, supply: Supply, truth: SimulatedCraft) -> None:
        self._connect(supply.rate, lambda: truth.rates_si_per_s[supply.name])

    def _connect_store(self, true: TrueStore) -> None:
        store, capacity_si = true.store, true.store.capacity_si
        if store.quantity_is_share and capacity_si:
            self._connect(store.quantity, lambda: true.held_si / capacity_si)
        else:
            self._connect(store.quantity, lambda: true.held_si)
        self._connect(store.used, lambda: true.used_si)
        if store.kind is StoreKind.BATTERY:
            self._connect(store.current, lambda: true.current_a)
        self._connect(store.pressure, lambda: true.pressure_pa)
        self._connect(store.temperature, lambda: true.temperature_k)

    def _connect_cabin(self, cabin: Cabin, truth: SimulatedCraft) -> None:
        self._connect(cabin.pressure, lambda: truth.cabin.pressure_pa)
        air = truth.cabin

        def of_gas(gas: Callable[[], float], is_share: bool) -> Sense:
            return (lambda: gas() / air.pressure_pa) if is_share else gas

        self._connect(cabin.oxygen, of_gas(lambda: air.oxygen_pa, cabin.oxygen_is_share))
        self._connect(
            cabin.carbon_dioxide, of_gas(lambda: air.carbon_dioxide_pa, cabin.carbon_dioxide_is_share)
        )
        self._connect(cabin.temperature, lambda: air.temperature_k)
        self._connect(cabin.humidity, lambda: air.humidity_fraction)
        if cabin.thermal is not None:
            self._connect(cabin.thermal.outside, lambda: air.outside_k)


def displayed(value_si: float, channel: Channel) -> float:
    """What an instrument shows of a value: the nearest step of its display, and nothing beyond its range."""
    shown_si = value_si
    if channel.resolution_si > 0.0:
        # Steps are counted from the zero of the channel's own unit: whole degrees are whole degrees Celsius.
        step = channel.resolution_si / channel.unit.factor
        shown_si = channel.unit.to_si(round(channel.unit.from_si(value_si) / step) * step)
    if channel.low_si is not None:
        shown_si = max(shown_si, channel.low_si)
    return shown_si if channel.high_si is None else min(shown_si, channel.high_si)
