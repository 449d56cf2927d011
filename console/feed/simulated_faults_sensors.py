"""Faults of instruments and of the program that writes their readings: what is shown is not what is so.

Works on columns, one a channel, so that a whole contingency is one pass; many short passes give the same. It
must not look at the truth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from console.craft.channels import Channel
from console.feed.simulated_draws import Floats, Streams
from console.feed.simulated_faults import FaultKind, SimulatedFault

Flags: TypeAlias = NDArray[np.bool_]

_ADDED = (
    FaultKind.BIAS,
    FaultKind.DRIFT,
    FaultKind.OSCILLATION,
    FaultKind.STRATIFIED,
    FaultKind.SPIKES,
)
"""What comes on top of the truth, before it is displayed."""


class SensorFaults:
    """The faults of the readings, each at work from its moment on.

    Args:
        faults: those of kinds that are of sensors; others are passed over.
        channels: the instruments.
        streams: for phases of swings, and for spikes.
    """

    def __init__(
        self, faults: Sequence[SimulatedFault], channels: Mapping[str, Channel], streams: Streams
    ) -> None:
        self._faults = tuple(fault for fault in faults if fault.kind.is_of_sensor)
        self._channels = channels
        self._phases = [streams.named(f"{_name(fault)}/phase").uniform() for fault in self._faults]
        self._spikes = [streams.named(f"{_name(fault)}/spikes") for fault in self._faults]
        self._stuck_si: dict[int, float] = {}
        self._last_s: float | None = None
        self._last_stamp_s: float | None = None
        self._repeats: dict[int, int] = {}
        """By fault, how many readings it has seen."""

    @property
    def are_none(self) -> bool:
        """Whether every reading is what the instrument meant to show."""
        return not self._faults

    def noise_factor(self, name: str, times_s: Floats) -> Floats:
        """How many times its own noise a channel has."""
        factor = np.ones(len(times_s))
        for fault in self._of(FaultKind.NOISE, name):
            factor[_on(fault, times_s)] *= fault.factor
        return factor

    def added_si(self, name: str, times_s: Floats) -> Floats:
        """What comes on top of the truth."""
        added = np.zeros(len(times_s))
        for number, fault in enumerate(self._faults):
            if fault.channel == name and fault.kind in _ADDED:
                on = _on(fault, times_s)
                if on.any():
                    added[on] += self._added_by(number, fault, times_s, on)
        return added

    def shown_si(self, name: str, times_s: Floats, values_si: Floats) -> Floats:
        """What is handed on of what the display shows: stuck, in another unit, or not at all (NaN)."""
        shown = values_si
        for number, fault in enumerate(self._faults):
            on = _on(fault, times_s)
            if fault.channel not in (name, None) or not on.any():
                continue
            if fault.kind is FaultKind.STUCK:
                shown = np.where(on, self._stuck_at(number, fault, shown, on), shown)
            elif fault.kind is FaultKind.UNIT_SLIP and fault.unit is not None:
                unit = self._channels[name].unit
                slipped = (shown - fault.unit.offset) / fault.unit.factor * unit.factor + unit.offset
                shown = np.where(on, slipped, shown)
            elif fault.kind is FaultKind.DROP_OUT:
                shown = np.where(on, np.nan, shown)
        return shown

    def says_null(self, name: str, at_s: float) -> bool:
        """Whether a channel that dropped out is written as null, instead of not at all."""
        return any(
            fault.is_null and fault.channel in (name, None) and fault.is_on(at_s)
            for fault in self._faults
            if fault.kind is FaultKind.DROP_OUT
        )

    def stamps_s(self, times_s: Floats) -> Floats:
        """The times that are written beside the readings; remembers where it stopped."""
        stamps = times_s.copy()
        for fault in self._faults:
            if fault.kind is FaultKind.CLOCK_STEP:
                stamps[_on(fault, times_s)] += fault.by_s
        for number, fault in enumerate(self._faults):
            if fault.kind is FaultKind.REPEATED_TIMES:
                self._repeat(number, _on(fault, times_s), stamps)
        if len(times_s):
            self._last_s, self._last_stamp_s = float(times_s[-1]), float(stamps[-1])
        return stamps

    def _repeat(self, number: int, on: Flags, stamps: Floats) -> None:
        """Give every second reading the time of the one before."""
        for row in np.flatnonzero(on).tolist():
            seen = self._repeats[number] = self._repeats.get(number, 0) + 1
            before_s = self._last_stamp_s if row == 0 else float(stamps[row - 1])
            if seen % 2 == 0 and before_s is not None:
                stamps[row] = before_s

    def _added_by(
        self,
        number: int,
        fault: SimulatedFault,
        times_s: Floats,
        on: Flags,
    ) -> Floats:
        since_s: Floats = np.subtract(times_s[on], fault.at_s, dtype=np.float64)
        if fault.kind is FaultKind.BIAS:
            return np.full(len(since_s), fault.size_si)
        if fault.kind is FaultKind.DRIFT:
            return np.multiply(since_s, fault.per_hour_si / 3600.0, dtype=np.float64)
        if fault.kind is FaultKind.SPIKES:
            return self._spikes_of(number, fault, times_s, on)
        turns = since_s / fault.period_s + self._phases[number]
        return np.multiply(fault.size_si, np.sin(2.0 * math.pi * turns), dtype=np.float64)

    def _spikes_of(
        self,
        number: int,
        fault: SimulatedFault,
        times_s: Floats,
        on: Flags,
    ) -> Floats:
        """A reading is a spike with the chance that one came since the reading before."""
        before_s = times_s[0] if self._last_s is None else self._last_s
        gaps_s = np.diff(times_s, prepend=before_s)[on]
        chance = -np.expm1(-fault.per_hour * gaps_s / 3600.0)
        comes = self._spikes[number].random(len(gaps_s)) < chance
        return np.multiply(fault.size_si, comes, dtype=np.float64)

    def _stuck_at(
        self,
        number: int,
        fault: SimulatedFault,
        shown: Floats,
        on: Flags,
    ) -> float:
        if fault.value_si is not None:
            return fault.value_si
        return self._stuck_si.setdefault(number, float(shown[np.flatnonzero(on)[0]]))

    def _of(self, kind: FaultKind, name: str) -> list[SimulatedFault]:
        return [fault for fault in self._faults if fault.kind is kind and fault.channel == name]


def _on(fault: SimulatedFault, times_s: Floats) -> Flags:
    on: Flags = (times_s >= fault.at_s) & (times_s < fault.until_s)
    return on


def _name(fault: SimulatedFault) -> str:
    """Of a fault's streams: two faults of one kind in one place begin at different times."""
    return f"fault/{fault.kind.value}/{fault.channel}/{fault.at_s:.3f}"
