"""What one unit more on a gauge is worth in its store: for turning a new reading into an amount by hand."""

from __future__ import annotations

from console.craft.channels import Measured
from console.craft.model import Store, Supply
from console.engine.briefing import HandSums
from console.engine.gas_amount import of_mass_si
from console.engine.gauge_times import GaugeTime
from console.physics.gas import GasRangeError, mass_kg

_FALL = 0.9
"""A pressure's worth is that of its next tenth downwards: there the next readings lie."""


def worth_si(sums: HandSums, gauge: GaugeTime) -> float | None:
    """By how much a store holds more where its gauge shows one unit more; None where that is not known.

    A counter of what is used is worth less than nothing. A pressure's worth is that at the present
    temperature: m = rho(p, T) V between the reading and nine tenths of it.
    """
    supply = sums.situation.craft.supplies[gauge.supply]
    store = next(each for each in supply.stores if each.name == gauge.store)
    unit_si = gauge.channel.unit.to_si(1.0) - gauge.channel.unit.to_si(0.0)
    if gauge.is_pressure:
        return _pressure_worth_si(sums, supply, store, gauge, unit_si)
    if store.used is not None and store.used.channel == gauge.channel.name:
        return -unit_si
    if store.quantity_is_share:
        return None if store.capacity_si is None else unit_si * store.capacity_si
    return unit_si


def held_si(sums: HandSums, gauge: GaugeTime) -> float | None:
    """What a store holds by its gauge: the engine's figure where the reading is good, else as it was read.

    From an old reading the engine's figure is carried on, and no new reading could be set against it.
    """
    supply = sums.situation.craft.supplies[gauge.supply]
    store = next(each for each in supply.stores if each.name == gauge.store)
    if gauge.is_good:
        statuses = sums.snapshot.supplies[gauge.supply].stores
        return next(each.on_board_si for each in statuses if each.name == store.name)
    value = gauge.reading.value_si
    if value is None:
        return None
    if gauge.is_pressure:
        return _by_pressure_si(sums, supply, store, value)
    if store.used is not None and store.used.channel == gauge.channel.name:
        return (
            None if store.capacity_si is None or store.capacity_at_temperature else store.capacity_si - value
        )
    if store.quantity_is_share:
        return None if store.capacity_si is None else value * store.capacity_si
    return value


def _by_pressure_si(sums: HandSums, supply: Supply, store: Store, pressure_pa: float) -> float | None:
    """The amount at a pressure and the temperature that was read last; None where that is not known."""
    kelvin = _read_si(sums, store.temperature)
    if kelvin is None or store.fluid is None or store.volume_m3 is None or pressure_pa <= 0.0:
        return None
    try:
        return of_mass_si(supply, mass_kg(store.fluid, pressure_pa, kelvin, store.volume_m3))
    except GasRangeError:
        return None


def _pressure_worth_si(
    sums: HandSums, supply: Supply, store: Store, gauge: GaugeTime, unit_si: float
) -> float | None:
    high_pa = gauge.reading.value_si
    if high_pa is None:
        return None
    high, low = (_by_pressure_si(sums, supply, store, each_pa) for each_pa in (high_pa, _FALL * high_pa))
    return None if high is None or low is None else (high - low) / ((1.0 - _FALL) * high_pa) * unit_si


def _read_si(sums: HandSums, measured: Measured | None) -> float | None:
    if measured is None:
        return None
    if measured.channel is None:
        return measured.constant_si
    return sums.snapshot.feed.readings[measured.channel].value_si
