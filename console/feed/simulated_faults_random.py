"""Faults that nobody wrote: drawn at random, so many a day, for campaigns over many contingencies.

The sizes are invented: large enough that somebody should notice, small enough that it takes a look.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from console.craft.channels import Channel
from console.craft.model import Activity, Craft, LoadState, Store, StoreKind
from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import FaultKind, LeakCourse, SimulatedFault, in_order
from console.feed.simulated_faults_file import gauge_of
from console.scenario.fields import Node
from console.scenario.load import Scenario
from console.scenario.quantities import read_number
from console.units import Dimension, Unit, parse_unit

MOST_PER_DAY = 1000.0
HOUR_S, DAY_S = 3600.0, 86400.0
BEYOND_NEED_S = 100 * HOUR_S
"""How far past the last need a contingency is followed."""
MOST_LOOKS = 50
"""How often a fault is drawn anew where the craft has nothing for it."""

_OTHER_UNITS: Mapping[Dimension, tuple[str, ...]] = MappingProxyType(
    {
        Dimension.PRESSURE: ("psi", "kPa", "bar", "mmHg"),
        Dimension.TEMPERATURE: ("degF", "degC", "K"),
        Dimension.MASS: ("lb", "kg"),
        Dimension.VOLUME: ("gal", "L", "ft^3"),
        Dimension.MASS_RATE: ("lb/h", "kg/h"),
    }
)
"""Units in which somebody's figures may come by mistake."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RandomFaults:
    """How many faults come by themselves, and of which kinds."""

    per_day: float
    kinds: tuple[FaultKind, ...]


def read_random_faults(node: Node) -> RandomFaults | None:
    """The key ``random_faults``: ``{per_day: 2, kinds: [leak, bias]}``; all kinds where they are left out."""
    if not node.is_given:
        return None
    fields = node.fields(("per_day", "kinds"), "write {per_day: 2, kinds: [leak, bias]}")
    if fields is None:
        return None
    per_day = read_number(fields.need("per_day"), least=0.0, most=MOST_PER_DAY)
    listed = fields.may("kinds")
    items = (listed.listed("write a list of kinds") or []) if listed.is_given else None
    kinds = tuple(FaultKind) if items is None else tuple(item.choice(FaultKind) for item in items)
    named = tuple(kind for kind in kinds if kind is not None)
    if items == [] and listed.value == []:
        listed.refuse("an empty list", "name at least one kind, or leave the key out for all")
    return None if per_day is None or not named else RandomFaults(per_day=per_day, kinds=named)


def drawn_faults(
    random_faults: RandomFaults,
    craft: Craft,
    initial_si: Mapping[str, float],
    streams: Streams,
    from_s: float,
    until_s: float,
) -> tuple[SimulatedFault, ...]:
    """The faults of one contingency: their gaps are exponential, and each has its own stream.

    Args:
        random_faults: how many, of which kinds.
        craft: what they befall.
        initial_si: by store what it holds at the start, for the size of leaks.
        streams: the contingency's luck.
        from_s: from when on.
        until_s: until when; a longer contingency begins with the same faults.
    """
    faults: list[SimulatedFault] = []
    if random_faults.per_day <= 0.0:
        return ()
    gaps = streams.named("random faults")
    at_s = from_s
    for number in range(10_000):
        at_s += float(gaps.exponential(DAY_S / random_faults.per_day))
        if at_s > until_s:
            break
        fault = _drawn(at_s, random_faults.kinds, _Dice(craft, initial_si, streams.named(f"fault {number}")))
        faults.extend([] if fault is None else [fault])
    return tuple(faults)


def faults_of(
    scenario: Scenario,
    random_faults: RandomFaults | None,
    written: Sequence[SimulatedFault],
    initial_si: Mapping[str, float],
    streams: Streams,
    from_s: float,
) -> tuple[SimulatedFault, ...]:
    """Every fault of a contingency, written or drawn, in order of time; each knows its channel.

    Args:
        scenario: the craft, and the plan by whose longest way home it is known how long faults are drawn for.
        random_faults: how many come by themselves; None for none.
        written: those that somebody asked for.
        initial_si: by store what it holds at the start.
        streams: the contingency's luck.
        from_s: its start.
    """
    drawn: tuple[SimulatedFault, ...] = ()
    if random_faults is not None:
        until_s = max(option.need_s for option in scenario.plan.options.values()) + BEYOND_NEED_S
        drawn = drawn_faults(random_faults, scenario.craft, initial_si, streams, from_s, until_s)
    return in_order(tuple(_placed(fault, scenario.craft) for fault in (*written, *drawn)))


def _placed(fault: SimulatedFault, craft: Craft) -> SimulatedFault:
    """A fault of a tank's gauge, with the channel that is that gauge."""
    if fault.kind is not FaultKind.STRATIFIED or fault.store is None or fault.channel is not None:
        return fault
    return replace(fault, channel=gauge_of(craft.store(fault.store)[1]))


class _Dice:
    """What one fault is drawn from."""

    def __init__(self, craft: Craft, initial_si: Mapping[str, float], random: np.random.Generator) -> None:
        self.craft = craft
        self.initial_si = initial_si
        self.random = random

    def between(self, low: float, high: float) -> float:
        """A number, each as likely."""
        return float(self.random.uniform(low, high))

    def scale(self, low: float, high: float) -> float:
        """A number of any size within bounds, by its logarithm."""
        return math.exp(self.between(math.log(low), math.log(high)))

    def either(self, low: float, high: float) -> float:
        """A number of such a size, above or below zero."""
        return self.between(low, high) * (1.0 if self.random.random() < 0.5 else -1.0)

    def one(self, things: Sequence[Any]) -> Any:
        """One of some things; None where there are none."""
        return things[int(self.random.integers(len(things)))] if things else None

    def channel(self) -> Channel | None:
        """Any instrument."""
        found: Channel | None = self.one(list(self.craft.channels.values()))
        return found

    def tank(self) -> Store | None:
        """A store of gas or liquid with a gauge."""
        stores = [store for supply in self.craft.supplies.values() for store in supply.stores]
        wet = [store for store in stores if store.kind in (StoreKind.GAS, StoreKind.LIQUID)]
        found: Store | None = self.one([store for store in wet if gauge_of(store) is not None])
        return found


def _drawn(at_s: float, kinds: Sequence[FaultKind], dice: _Dice) -> SimulatedFault | None:
    for _ in range(MOST_LOOKS):
        kind: FaultKind = dice.one(kinds)
        values = _DRAWN[kind](dice)
        if values is None:
            continue
        lasts_s = values.pop("lasts_s", math.inf)
        return SimulatedFault(kind=kind, at_s=at_s, until_s=at_s + lasts_s, **values)
    return None


_Values = dict[str, Any] | None


def _leak(dice: _Dice) -> _Values:
    store = dice.tank()
    if store is None:
        return None
    course = dice.one(list(LeakCourse))
    # Empty in ten hours to ten days, if it went on as it begins.
    rate = dice.initial_si[store.name] / (dice.scale(10.0, 240.0) * HOUR_S)
    doubles_in_s = dice.between(3.0, 12.0) * HOUR_S if course is LeakCourse.GROWING else math.inf
    return {"store": store.name, "rate_si_per_s": rate, "course": course, "doubles_in_s": doubles_in_s}


def _load_state(dice: _Dice) -> _Values:
    load = dice.one(list(dice.craft.loads))
    state = dice.one((LoadState.ON, LoadState.OFF))
    lasts_s = dice.between(0.5, 8.0) * HOUR_S
    return None if load is None else {"load": load, "state": state, "lasts_s": lasts_s}


def _load_draw(dice: _Dice) -> _Values:
    load = dice.one(list(dice.craft.loads))
    return None if load is None else {"load": load, "factor": dice.scale(0.5, 2.5)}


def _use_factor(dice: _Dice) -> _Values:
    use = dice.one(dice.craft.uses)
    return None if use is None else {"use": use.name, "factor": dice.scale(0.6, 1.8)}


def _people(dice: _Dice) -> _Values:
    moves_from, moves_to = (dice.one(list(Activity)) for _ in range(2))
    if moves_from is moves_to:
        return None
    count = int(dice.random.integers(1, dice.craft.crew_count + 1))
    lasts_s = dice.between(0.5, 4.0) * HOUR_S
    return {"moves_from": moves_from, "moves_to": moves_to, "count": count, "lasts_s": lasts_s}


def _late(dice: _Dice) -> _Values:
    return {"by_s": dice.between(600.0, 5400.0)}


def _mistimed(dice: _Dice) -> _Values:
    return {"by_s": dice.either(300.0, 2400.0)}


def _of_channel(size: Callable[[_Dice, float], dict[str, Any]]) -> Callable[[_Dice], _Values]:
    """A fault of one instrument, whose size goes by how finely it reads."""

    def draw(dice: _Dice) -> _Values:
        channel = dice.channel()
        if channel is None:
            return None
        fine_si = channel.accuracy_si or channel.resolution_si
        if fine_si <= 0.0:
            return None
        return {"channel": channel.name, **size(dice, fine_si)}

    return draw


def _stratified(dice: _Dice) -> _Values:
    store = dice.tank()
    gauge = None if store is None else gauge_of(store)
    if store is None or gauge is None or dice.craft.channels[gauge].accuracy_si <= 0.0:
        return None
    size_si = dice.between(2.0, 8.0) * dice.craft.channels[gauge].accuracy_si
    period_s = dice.between(1200.0, 5400.0)
    return {"store": store.name, "channel": gauge, "size_si": size_si, "period_s": period_s}


def _drop_out(dice: _Dice) -> _Values:
    channel = dice.channel()
    name = None if channel is None or dice.random.random() < 0.1 else channel.name
    is_null = bool(dice.random.random() < 0.5)
    return {"channel": name, "is_null": is_null, "lasts_s": dice.scale(600.0, 14400.0)}


def _unit_slip(dice: _Dice) -> _Values:
    channel = dice.channel()
    if channel is None:
        return None
    others: list[Unit] = [parse_unit(text) for text in _OTHER_UNITS.get(channel.unit.dimension, ())]
    unit = dice.one([unit for unit in others if abs(unit.factor / channel.unit.factor - 1.0) > 0.01])
    lasts_s = dice.scale(600.0, 14400.0)
    return None if unit is None else {"channel": channel.name, "unit": unit, "lasts_s": lasts_s}


def _clock_step(dice: _Dice) -> _Values:
    return {"by_s": dice.either(5.0, 600.0), "lasts_s": dice.between(0.5, 6.0) * HOUR_S}


def _swings(dice: _Dice, fine_si: float) -> dict[str, Any]:
    period_s = dice.scale(120.0, 1800.0)
    lasts_s = dice.between(0.5, 6.0) * HOUR_S
    return {"size_si": dice.between(2.0, 8.0) * fine_si, "period_s": period_s, "lasts_s": lasts_s}


def _spiky(dice: _Dice, fine_si: float) -> dict[str, Any]:
    per_hour, lasts_s = dice.scale(1.0, 20.0), dice.between(1.0, 12.0) * HOUR_S
    return {"size_si": dice.either(5.0, 50.0) * fine_si, "per_hour": per_hour, "lasts_s": lasts_s}


def _drifts(dice: _Dice, fine_si: float) -> dict[str, Any]:
    return {"per_hour_si": dice.either(0.3, 2.0) * fine_si, "lasts_s": dice.between(4.0, 24.0) * HOUR_S}


_DRAWN: Mapping[FaultKind, Callable[[_Dice], _Values]] = MappingProxyType(
    {
        FaultKind.LEAK: _leak,
        FaultKind.LOAD_STATE: _load_state,
        FaultKind.LOAD_DRAW: _load_draw,
        FaultKind.PEOPLE: _people,
        FaultKind.USE_FACTOR: _use_factor,
        FaultKind.LATE_ENTRY: _late,
        FaultKind.MISTIMED_ENTRY: _mistimed,
        FaultKind.FORGOTTEN_ENTRY: lambda _: {},
        FaultKind.STRATIFIED: _stratified,
        FaultKind.BIAS: _of_channel(lambda dice, fine_si: {"size_si": dice.either(2.0, 8.0) * fine_si}),
        FaultKind.DRIFT: _of_channel(_drifts),
        FaultKind.STUCK: _of_channel(lambda dice, _: {"lasts_s": dice.between(0.5, 6.0) * HOUR_S}),
        FaultKind.DROP_OUT: _drop_out,
        FaultKind.SPIKES: _of_channel(_spiky),
        FaultKind.NOISE: _of_channel(lambda dice, _: {"factor": dice.between(3.0, 10.0)}),
        FaultKind.OSCILLATION: _of_channel(_swings),
        FaultKind.UNIT_SLIP: _unit_slip,
        FaultKind.CLOCK_STEP: _clock_step,
        FaultKind.REPEATED_TIMES: lambda dice: {"lasts_s": dice.scale(300.0, 3600.0)},
    }
)
