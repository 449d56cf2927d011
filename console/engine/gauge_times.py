"""When which gauge is worth reading again: when it must have moved by more than it can show or be wrong by.

The rule: three gauge steps, a step being the larger of the gauge's resolution and its accuracy, at the
present rate, rounded down to a time that a clock shows; never longer than one watch of eight hours (common
practice, no source). A store that does not feed moves no gauge: once a watch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from console.craft.channels import Channel
from console.craft.model import Store, StoreState, Supply
from console.engine.ahead import Ahead, SupplyAhead
from console.engine.gas_amount import of_mass_si
from console.engine.known import Known
from console.engine.reading import Quality, Reading
from console.engine.snapshot import SupplyStatus
from console.physics.gas import GasRangeError, mass_kg

STEPS = 3.0
"""How many gauge steps a reading must be able to move by."""
WATCH_S = 8 * 3600.0

CLOCK_TIMES_S = tuple(60.0 * minutes for minutes in (5, 10, 15, 30, 60, 120, 180, 240, 360, 480))
"""What a reading's interval is rounded down to; what is due more often is read every five minutes."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeTime:
    """One gauge of one store: what it said last, and how often it is worth reading."""

    supply: str
    store: str
    channel: Channel
    reading: Reading
    is_pressure: bool
    moves_in_s: float | None
    """After which it has moved by three steps at the present rate; None where it does not move."""
    every_s: float

    @property
    def is_good(self) -> bool:
        """Whether its last word can be used; else it is to be read now."""
        return self.reading.quality is Quality.GOOD


def gauge_times(known: Known, ahead: Ahead, statuses: Mapping[str, SupplyStatus]) -> tuple[GaugeTime, ...]:
    """Every gauge of what stores hold, in the craft's order; protected stores too.

    Args:
        known: what is known now.
        ahead: the look ahead from it.
        statuses: the supplies as the Snapshot has them, for how batteries share their bus.
    """
    states = ahead.configuration.stores_at(known.at_s)
    found = []
    for name, one in ahead.supplies.items():
        shares = _shares(one, statuses[name], known)
        for store in one.supply.stores:
            if ahead.configuration.is_gone(store.name, known.at_s):
                continue
            draw = 0.0
            if states[store.name] is StoreState.FEEDING:
                draw = one.now.effective_si_per_s * shares.get(store.name, 0.0)
            found += _gauges(known, one.supply, store, draw)
    return tuple(found)


def clock_time_s(moves_in_s: float | None) -> float:
    """A time that a clock shows, at most a watch.

    >>> clock_time_s(7000.0), clock_time_s(90.0), clock_time_s(None)
    (3600.0, 300.0, 28800.0)
    """
    if moves_in_s is None:
        return WATCH_S
    return max((each for each in CLOCK_TIMES_S if each <= moves_in_s), default=CLOCK_TIMES_S[0])


def _shares(one: SupplyAhead, status: SupplyStatus, known: Known) -> dict[str, float]:
    """The part of the draw that falls to each store that feeds: of its bus, else by what it can give."""
    buses = {store.name: store.bus.fraction for store in status.stores if store.bus is not None}
    if buses:
        return buses
    gives = {}
    for store in one.giving:
        quantity = known.quantities[store.name]
        gives[store.name] = max((quantity.held_si or 0.0) - (quantity.residual_si or 0.0), 0.0)
    total = sum(gives.values())
    # Where nothing can be told apart, each is read as often as if it gave all.
    return {name: amount / total if total > 0.0 else 1.0 for name, amount in gives.items()}


def _gauges(known: Known, supply: Supply, store: Store, draw_si_per_s: float) -> list[GaugeTime]:
    found: list[GaugeTime] = []
    for measured, is_pressure, is_share in (
        (store.quantity, False, store.quantity_is_share),
        (store.pressure, True, False),
        (store.used, False, False),
    ):
        if measured is None or measured.channel is None:
            continue
        channel = known.craft.channels[measured.channel]
        reading = known.feed.readings[channel.name]
        step = STEPS * max(channel.resolution_si, channel.accuracy_si)
        amount = _amount_si(known, supply, store, step, is_pressure=is_pressure, is_share=is_share)
        moves_in_s = None if draw_si_per_s <= 0.0 or amount is None else amount / draw_si_per_s
        found.append(
            GaugeTime(
                supply=supply.name,
                store=store.name,
                channel=channel,
                reading=reading,
                is_pressure=is_pressure,
                moves_in_s=moves_in_s,
                every_s=clock_time_s(moves_in_s),
            )
        )
    return found


def _amount_si(
    known: Known,
    supply: Supply,
    store: Store,
    step_si: float,
    *,
    is_pressure: bool,
    is_share: bool,
) -> float | None:
    """What must be taken for the gauge to move by so much; None where that is not known."""
    if is_share:
        return None if store.capacity_si is None else step_si * store.capacity_si
    if not is_pressure:
        return step_si
    temperature = store.temperature
    if store.pressure is None or temperature is None or store.fluid is None or store.volume_m3 is None:
        return None
    pressure_pa = _read(known, store.pressure.channel, store.pressure.constant_si)
    kelvin = _read(known, temperature.channel, temperature.constant_si)
    if pressure_pa is None or kelvin is None:
        return None
    try:
        high, low = (
            mass_kg(store.fluid, each_pa, kelvin, store.volume_m3)
            for each_pa in (max(pressure_pa, 0.0), max(pressure_pa - step_si, 0.0))
        )
    except GasRangeError:
        return None
    return of_mass_si(supply, high - low)


def _read(known: Known, channel: str | None, constant_si: float | None) -> float | None:
    return constant_si if channel is None else known.feed.readings[channel].value_si
