"""A simulated contingency as it went: what instruments said, what was logged, what was true. Arrays in SI.

For whoever judges forecasts: what was known at a moment, and what came of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from console.craft.channels import Channel
from console.craft.model import Craft
from console.engine.configuration import ConfigurationChange
from console.engine.reading import FeedState, Quality, Reading
from console.engine.series import Arrived, Series, series_of
from console.feed.simulated_draws import Floats
from console.feed.simulated_faults import SimulatedFault
from console.feed.simulated_operators import Act
from console.feed.simulated_truth import TruthOverTime
from console.feed.validity import AHEAD_REFUSED_S, Said, judge, not_said

SOURCE_NAME = "simulated craft"


@dataclass(frozen=True, kw_only=True, slots=True)
class Logged:
    """One entry of the simulated crew that changes the configuration."""

    change: ConfigurationChange
    """At the moment at which it is said to have happened."""
    written_s: float
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawn:
    """What was drawn once for the whole contingency."""

    load_factors: Mapping[str, float]
    """By load, how many times the craft's figure it takes."""
    use_factors: Mapping[str, float]
    event_factors: Mapping[str, float]
    """By event, how many times the plan's amounts it takes."""
    biases_si: Mapping[str, float]
    """By channel, what it shows too much."""
    arrival_s: float
    """When the committed way home truly arrives."""
    need_s: float
    """Until when supplies are needed, by that arrival."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Recorded:
    """A contingency from its start to where its truth was followed."""

    craft: Craft
    seed: int
    times_s: Floats
    """When instruments were read, shape (n,)."""
    stamps_s: Floats
    """The times that the producer wrote beside the readings."""
    values_si: Mapping[str, Floats]
    """By channel, what was shown; NaN where nothing was."""
    truth: TruthOverTime
    """At ``times_s``, and on to the horizon."""
    ran_out_s: Mapping[str, float]
    """By supply, when it first could not give what was asked."""
    horizon_s: float
    """Until when the truth was followed."""
    acts: tuple[Act, ...]
    """All that the crew did, with what it forgot to log."""
    logged: tuple[Logged, ...]
    """In the order in which they were written."""
    nothing_to_log: tuple[str, ...]
    faults: tuple[SimulatedFault, ...]
    drawn: Drawn

    @property
    def truth_times_s(self) -> Floats:
        """The moments of the truth, shape (m,)."""
        return self.truth.times_s

    @property
    def held_si(self) -> Mapping[str, Floats]:
        """By supply, what its stores hold that were not left behind."""
        return self.truth.held_si

    @property
    def usable_si(self) -> Mapping[str, Floats]:
        """By supply, what is above residual in stores that count, less the reserve."""
        return self.truth.usable_si

    @property
    def rates_si_per_s(self) -> Mapping[str, Floats]:
        """By supply, what was taken on average over the step before."""
        return self.truth.rates_si_per_s

    @property
    def store_held_si(self) -> Mapping[str, Floats]:
        """By store, what it holds."""
        return self.truth.store_held_si

    @cached_property
    def usable_gone_s(self) -> Mapping[str, float]:
        """By supply, when usable first was nothing; absent where that never was."""
        return self.truth.gone_s

    @property
    def arrival_s(self) -> float:
        """When the committed way home truly arrives."""
        return self.drawn.arrival_s

    @property
    def need_s(self) -> float:
        """Until when supplies are needed, by the true arrival."""
        return self.drawn.need_s

    def known_changes(self, at_s: float) -> tuple[ConfigurationChange, ...]:
        """What the journal holds at a moment."""
        return tuple(each.change for each in self.logged if each.written_s <= at_s)

    def arrived(self, channel: str, from_s: float, until_s: float) -> Arrived:
        """The good readings of a channel whose own times lie after one moment and not after another."""
        good = self._good(channel) & (self.stamps_s > from_s) & (self.stamps_s <= until_s)
        good &= self.times_s <= until_s
        return Arrived(times_s=self.stamps_s[good], values_si=self.values_si[channel][good])

    def series(self, channel: str, from_s: float, until_s: float) -> Series:
        """The same as a series of single readings."""
        arrived = self.arrived(channel, from_s, until_s)
        return series_of(arrived.times_s, arrived.values_si)

    def feed_at(self, at_s: float) -> FeedState:
        """The newest readings at a moment, judged by range and age."""
        count = int(np.searchsorted(self.times_s, at_s, side="right"))
        readings = {
            name: self._reading(channel, count, at_s) for name, channel in self.craft.channels.items()
        }
        newest = [reading.at_s for reading in readings.values() if reading.at_s is not None]
        return FeedState(
            source=SOURCE_NAME,
            at_s=max(newest, default=None),
            quality=Quality.GOOD if newest else Quality.MISSING,
            faults=(),
            readings=readings,
            is_simulated=True,
        )

    def _reading(self, channel: Channel, count: int, at_s: float) -> Reading:
        good = np.flatnonzero(self._good(channel.name)[:count])
        last = None
        if len(good):
            row = int(good[-1])
            said = Said(
                quality=Quality.GOOD,
                value_si=float(self.values_si[channel.name][row]),
                at_s=float(self.stamps_s[row]),
            )
            last = judge(said, channel, None, at_s)
            if row == count - 1:
                return last
        if count == 0 or math.isnan(self.values_si[channel.name][count - 1]):
            return judge(not_said("the simulated craft says nothing of it"), channel, last, at_s)
        why = "its value or its time cannot be believed"
        return judge(Said(quality=Quality.SUSPECT, why=why), channel, last, at_s)

    def _good(self, channel: str) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Which readings of a channel can be believed: of a value in range, and of a time that rises."""
        about, values_si = self.craft.channels[channel], self.values_si[channel]
        low_si = -math.inf if about.low_si is None else about.low_si
        high_si = math.inf if about.high_si is None else about.high_si
        good: np.ndarray[tuple[int], np.dtype[np.bool_]] = (values_si >= low_si) & (values_si <= high_si)
        return good & self._rising

    @cached_property
    def _rising(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Which times are later than all before that were believed, and not far ahead."""
        rising = np.zeros(len(self.times_s), dtype=np.bool_)
        last_s = -math.inf
        pairs = zip(self.times_s.tolist(), self.stamps_s.tolist(), strict=True)
        for row, (time_s, stamp_s) in enumerate(pairs):
            if last_s < stamp_s <= time_s + AHEAD_REFUSED_S:
                rising[row], last_s = True, stamp_s
        return rising
