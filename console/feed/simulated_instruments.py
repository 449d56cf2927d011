"""What the instruments of the simulated craft show of its truth: bias, noise, faults, range, display steps.

One look is a row of true values; rows are turned into what was shown, one by one or all at once. It must not
change the truth.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from console.craft.cabin import Cabin
from console.craft.channels import Channel, Measured
from console.craft.model import Craft, StoreKind, Supply
from console.feed.simulated_craft import SimulatedCraft
from console.feed.simulated_draws import Floats, Streams
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_faults_sensors import SensorFaults
from console.feed.simulated_stores import TrueStore

Sense = Callable[[], float | None]
"""The true value of what an instrument looks at; None where it has none."""

NOISE_PER_ACCURACY = 0.25
"""Standard deviation of fresh noise over the accuracy, which is two deviations of noise and bias together: a
quarter of the variance is noise."""
BIAS_PER_ACCURACY = math.sqrt(3.0) / 4.0
"""The other three quarters are one steady error of the instrument."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Shown:
    """What was shown at some moments."""

    times_s: Floats
    """When the instruments were read."""
    stamps_s: Floats
    """The times that the producer wrote beside the readings."""
    values_si: Floats
    """Shape (moments, channels); NaN where nothing was shown."""


class Instruments:
    """The craft's channels, each looking at one property of the truth.

    Args:
        craft: whose channels they are.
        truth: what they look at.
        biases_si: by channel, what it shows too much; of the others it is drawn.
        draws_biases: whether that is so; else the others have none.
        faults: what goes wrong with them; those that are not of sensors are passed over.
        streams: for biases and noise alone, so that looking does not change the truth.
    """

    def __init__(
        self,
        craft: Craft,
        truth: SimulatedCraft,
        biases_si: Mapping[str, float],
        faults: Sequence[SimulatedFault],
        streams: Streams,
        *,
        draws_biases: bool = True,
    ) -> None:
        self._channels = craft.channels
        drawn_si = drawn_biases_si(craft.channels, streams) if draws_biases else {}
        self.biases_si = dict.fromkeys(craft.channels, 0.0) | drawn_si | dict(biases_si)
        """By channel, what it shows too much."""
        self.faults = SensorFaults(faults, craft.channels, streams)
        self._noise = streams.normals([f"channel/{name}/noise" for name in craft.channels])
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
        self._looks = [(self._senses.get(name), self._stores.get(name)) for name in craft.channels]

    def look(self) -> list[float]:
        """What every channel looks at now, in the craft's order; NaN for what there is not."""
        gone = self._truth.left_behind
        seen = [None if sense is None or store in gone else sense() for sense, store in self._looks]
        return [math.nan if value is None else value for value in seen]

    def show(self, times_s: Floats, rows: Sequence[Sequence[float]]) -> Shown:
        """What is shown of some looks, one a moment; every look is shown once, in order of time."""
        true_si = np.array(rows, dtype=np.float64).reshape(len(times_s), len(self._channels))
        noise = self._noise.rows(len(times_s))
        columns = [
            self._column(channel, times_s, true_si[:, place], noise[:, place])
            for place, channel in enumerate(self._channels.values())
        ]
        values_si = np.array(columns).reshape(len(self._channels), len(times_s)).T
        return Shown(times_s=times_s, stamps_s=self.faults.stamps_s(times_s), values_si=values_si)

    def why_not(self, name: str) -> str:
        """Why a channel has nothing to look at."""
        if self._stores.get(name) in self._truth.left_behind:
            return "left behind with its module"
        if name in self._senses:
            return "what it looks at lies beyond what the simulated craft can reckon"
        return "the simulated craft has no such instrument"

    def _column(self, channel: Channel, times_s: Floats, true_si: Floats, noise: Floats) -> Floats:
        name, sd_si = channel.name, NOISE_PER_ACCURACY * channel.accuracy_si
        biased_si = true_si + self.biases_si[name]
        if self.faults.are_none:
            return displayed(biased_si + sd_si * noise, channel)
        biased_si = biased_si + self.faults.added_si(name, times_s)
        noisy_si = biased_si + sd_si * self.faults.noise_factor(name, times_s) * noise
        return self.faults.shown_si(name, times_s, displayed(noisy_si, channel))

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


def drawn_biases_si(channels: Mapping[str, Channel], streams: Streams) -> dict[str, float]:
    """By channel, the steady error of one contingency's instruments."""
    return {
        name: BIAS_PER_ACCURACY * channel.accuracy_si * streams.normal(f"channel/{name}/bias")
        for name, channel in channels.items()
    }


def displayed(values_si: Floats, channel: Channel) -> Floats:
    """What an instrument shows of values: the nearest step of its display, and nothing beyond its range."""
    shown_si = values_si
    if channel.resolution_si > 0.0:
        # Steps are counted from the zero of the channel's own unit: whole degrees are whole degrees Celsius.
        step = channel.resolution_si / channel.unit.factor
        steps = np.round((values_si - channel.unit.offset) / channel.unit.factor / step)
        shown_si = steps * step * channel.unit.factor + channel.unit.offset
    if channel.low_si is not None:
        shown_si = np.maximum(shown_si, channel.low_si)
    return shown_si if channel.high_si is None else np.minimum(shown_si, channel.high_si)
