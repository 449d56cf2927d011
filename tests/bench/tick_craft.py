"""A craft of a stated size, made in memory: supplies, loads, phases, ways home, an hour of readings.

Its gauges read what the model takes, with their noise and their steps, so that the history has something to
say. Nothing here is timed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from console.craft.band_limits import BandLimits
from console.craft.channels import Channel, Measured
from console.craft.model import (
    Activity,
    Craft,
    HeatSource,
    Level,
    Load,
    LoadState,
    Metabolic,
    Store,
    StoreKind,
    StoreState,
    Supply,
    Use,
)
from console.craft.plan import Event, Option, Phase, Plan
from console.engine.configuration import Configuration
from console.engine.known import Situation
from console.engine.leaks import CabinPressure
from console.engine.planned_use import PlannedUse, planned_use
from console.engine.reading import FeedState, Quality, Reading
from console.engine.series import HISTORY_BACK_S, HISTORY_ROWS, Arrived
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.record.history import History
from console.units import parse_unit, rate_unit_of

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
HOUR_S = 3600.0
NOW_S = HOUR_S
BANDS = BandLimits(advisory_s=24 * HOUR_S, caution_s=12 * HOUR_S, warning_s=3 * HOUR_S)
NEED_S = 240.0 * HOUR_S
STATES = (LoadState.ON, LoadState.ON, LoadState.STANDBY, LoadState.OFF)
LEVELS = 12
ROSTERS = ({"asleep": 2, "nominal": 2}, {"nominal": 4}, {"rest": 3, "nominal": 1}, {"rest": 3, "heavy": 1})


@dataclass(frozen=True, kw_only=True)
class Size:
    """How large the craft, its plan and its history are."""

    supplies: int = 12
    loads: int = 40
    phases: int = 200
    options: int = 4
    channels: int = 60
    samples: int = 2000
    has_history: bool = True


def situation_of(size: Size) -> Situation:
    """The whole of it, at the end of the hour that was read."""
    bare = _craft(size)
    plan = _plan(size, bare)
    use = _use(bare, plan)
    ends_s = _ends_s(size)
    held = {
        name: float(use.used_si(name, NOW_S, end_s).sum())
        for name, end_s in zip(bare.supplies, ends_s, strict=True)
    }
    craft = _with_capacities(bare, held)
    history = history_of(craft, use, held)
    feed = FeedState(
        source="made here",
        at_s=NOW_S,
        quality=Quality.GOOD,
        faults=(),
        readings={
            name: Reading(channel=name, quality=Quality.GOOD, at_s=NOW_S, value_si=float(one.means_si[-1]))
            for name, one in ((name, views_of(history, name)) for name in craft.channels)
        },
    )
    seen = {name: views_of(history, name) for name in craft.channels} if size.has_history else {}
    return Situation(slug="tern", craft=craft, plan=plan, feed=feed, changes=(), at_s=NOW_S, history=seen)


def views_of(history: History, channel: str) -> object:
    """What a session asks of a channel's history for every tick."""
    return history.series(channel, NOW_S - HISTORY_BACK_S, NOW_S, HISTORY_ROWS)


def history_of(craft: Craft, use: PlannedUse, held: dict[str, float]) -> History:
    """An hour of readings of every channel, one a second."""
    history = History(craft.channels)
    history.take(
        FeedState(
            source="made here",
            at_s=NOW_S,
            quality=Quality.GOOD,
            faults=(),
            readings={},
            arrived=arrived_of(craft, use, held),
        )
    )
    return history


def arrived_of(craft: Craft, use: PlannedUse, held: dict[str, float]) -> dict[str, Arrived]:
    """By channel, what its instrument has shown: the model's course, its noise, rounded to its steps."""
    times = NOW_S - np.arange(HOUR_S - 1.0, -1.0, -1.0)
    true = dict(_courses(craft, use, held, times))
    found = {}
    for number, (name, channel) in enumerate(craft.channels.items()):
        noise = np.random.default_rng(number).normal(0.0, channel.accuracy_si / 4.0, len(times))
        values = true.get(name, np.full(len(times), 1.0)) + noise
        step = channel.resolution_si
        found[name] = Arrived(times_s=times, values_si=np.round(values / step) * step)
    return found


def _courses(
    craft: Craft, use: PlannedUse, held: dict[str, float], times: np.ndarray
) -> Iterator[tuple[str, np.ndarray]]:
    for name, supply in craft.supplies.items():
        rate = use.supplies[name].total_si_per_s(use.now_index)
        share = 1.0 / len(supply.stores)
        for store in supply.stores:
            yield f"{store.name}.held", share * (held[name] + rate * (NOW_S - times))
        yield f"{name}.rate", np.full(len(times), rate)


def _use(craft: Craft, plan: Plan) -> PlannedUse:
    configuration = Configuration(craft, plan.phases, plan.events, ())
    return planned_use(craft, configuration, 0.0, NOW_S, CabinPressure(), {})


def _ends_s(size: Size) -> list[float]:
    """When each supply would run out without events: some before need, some after."""
    shares = np.linspace(0.5, 1.3, size.supplies) if size.supplies > 1 else np.array([0.9])
    return (shares * NEED_S).tolist()


def _craft(size: Size) -> Craft:
    supplies = {one.name: one for one in (_supply(number) for number in range(size.supplies))}
    loads = {one.name: one for one in (_load(number, size) for number in range(size.loads))}
    rng = np.random.default_rng(11)
    levels = {
        f"level-{number}": Level(
            name=f"level-{number}", states={name: STATES[rng.integers(len(STATES))] for name in loads}
        )
        for number in range(LEVELS)
    }
    uses = tuple(use for number, name in enumerate(supplies) for use in _uses(number, name))
    return Craft(
        name="Tern",
        epoch=EPOCH,
        crew_count=4,
        person_rates=DEFAULT_PERSON_RATES,
        supplies=supplies,
        loads=loads,
        load_spread_fraction=0.1,
        levels=levels,
        uses=uses,
        channels=_channels(size, supplies),
    )


def _supply(number: int) -> Supply:
    """The first two are buses, all others are kept by mass."""
    is_bus = number < 2
    name = f"bus-{number}" if is_bus else f"supply-{number}"
    unit = parse_unit("A*h" if is_bus else "kg")
    stores = tuple(
        Store(
            name=f"{name}-{letter}",
            kind=StoreKind.BATTERY if is_bus else StoreKind.LIQUID,
            state=StoreState.FEEDING,
            quantity=Measured(channel=f"{name}-{letter}.held"),
        )
        for letter in "ab"
    )
    return Supply(
        name=name,
        unit=unit,
        rate_unit=rate_unit_of(unit),
        stores=stores,
        bands=BANDS,
        bus_voltage_v=28.0 if is_bus else None,
        rate=Measured(channel=f"{name}.rate"),
    )


def _load(number: int, size: Size) -> Load:
    return Load(
        name=f"load-{number}",
        supply=f"bus-{number % min(size.supplies, 2)}",
        on_si_per_s=0.4 + 0.1 * (number % 9),
        standby_si_per_s=0.05,
        duty_fraction=1.0 if number % 5 else 0.6,
        heat_fraction=1.0,
        priority=1 + number,
    )


def _uses(number: int, supply: str) -> Iterator[Use]:
    """Of every third of those kept by mass another mixture; every use is about as sure as the next."""
    if number < 2:
        return
    given = {"supply": supply, "spread_fraction": 0.05 + 0.02 * (number % 4)}
    if number % 3 == 2:
        yield Use(name=f"cooling {number}", evaporates_heat_of=(HeatSource.LOADS, HeatSource.CREW), **given)
        yield Use(name=f"drinking {number}", per_person_si_per_s=1e-5, **given)
    elif number % 3 == 0:
        yield Use(name=f"breathing {number}", metabolic=Metabolic.OXYGEN, **given)
        yield Use(name=f"loss {number}", rate_si_per_s=2e-6, **given)
    else:
        yield Use(name=f"eating {number}", per_person_si_per_s=7e-6, **given)


def _channels(size: Size, supplies: dict[str, Supply]) -> dict[str, Channel]:
    """The gauges and meters of the supplies, and as many thermometers as there are more."""
    found = {}
    for name, supply in supplies.items():
        for store in supply.stores:
            found[f"{store.name}.held"] = Channel(
                name=f"{store.name}.held", unit=supply.unit, accuracy_si=1.0, resolution_si=0.01
            )
        found[f"{name}.rate"] = Channel(
            name=f"{name}.rate", unit=supply.rate_unit, accuracy_si=1e-7, resolution_si=1e-9
        )
    for number in range(size.channels - len(found)):
        name = f"thermometer-{number}"
        found[name] = Channel(name=name, unit=parse_unit("K"), accuracy_si=0.5, resolution_si=0.1)
    return found


def _with_capacities(craft: Craft, held: dict[str, float]) -> Craft:
    """Gauges that are good to a hundredth of what is there, meters to a fiftieth of the rate."""
    supplies, channels = {}, dict(craft.channels)
    for name, supply in craft.supplies.items():
        amount = held[name] / len(supply.stores)
        stores = tuple(replace(store, capacity_si=2.0 * amount) for store in supply.stores)
        supplies[name] = replace(supply, stores=stores)
        for store in stores:
            channel = channels[f"{store.name}.held"]
            channels[channel.name] = replace(
                channel, accuracy_si=0.01 * amount, resolution_si=0.0005 * amount
            )
        rate = held[name] / NEED_S
        meter = channels[f"{name}.rate"]
        channels[meter.name] = replace(meter, accuracy_si=0.02 * rate, resolution_si=0.001 * rate)
    return replace(craft, supplies=supplies, channels=channels)


def _plan(size: Size, craft: Craft) -> Plan:
    phases = _phases("phase", 0.0, size.phases, craft, seed=1)
    options = {}
    for number in range(size.options):
        own = ()
        if number:
            turn = 12.0 * HOUR_S * number
            late = sum(phase.start_s >= turn for phase in phases)
            own = _phases(f"way-{number}", turn, late, craft, seed=1 + number)
        options[f"way-{number}"] = Option(
            name=f"way-{number}",
            arrival_s=NEED_S - HOUR_S * (1.0 + 8.0 * number),
            arrival_spread_s=HOUR_S,
            recovery_s=HOUR_S,
            hold_s=0.0,
            decide_by_s=None,
            delta_v_m_per_s=None,
            phases=own,
            events=(),
            note="",
        )
    return Plan(phases=phases, events=_events(craft), options=options, committed="way-0", watches=())


def _phases(name: str, from_s: float, count: int, craft: Craft, seed: int) -> tuple[Phase, ...]:
    rng = np.random.default_rng(seed)
    starts = np.concatenate(([from_s], np.sort(rng.uniform(max(from_s, NOW_S), 1.2 * NEED_S, count - 1))))
    names = tuple(craft.levels)
    return tuple(
        Phase(
            name=f"{name}-{number}",
            start_s=float(start),
            level=names[rng.integers(len(names))],
            crew={Activity(key): value for key, value in ROSTERS[rng.integers(len(ROSTERS))].items()},
        )
        for number, start in enumerate(starts.tolist())
    )


def _events(craft: Craft) -> tuple[Event, ...]:
    """One use of every supply on the way, of uncertain size."""
    count = len(craft.supplies)
    return tuple(
        Event(
            name=f"event-{number}",
            at_s=(20.0 + 150.0 * number / count) * HOUR_S,
            uses_si={name: 0.02 * _hourly_si(craft, name)},
            spread_fraction=0.2,
            transfer=None,
            sets={},
        )
        for number, name in enumerate(craft.supplies)
    )


def _hourly_si(craft: Craft, supply: str) -> float:
    """A round amount, about what an hour takes."""
    return 3600.0 * (10.0 if craft.supplies[supply].is_electrical else 1e-4)
