"""From craft, plan and readings to what acts on the cabin in each piece, on each supposition."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from console.craft.cabin import Cabin, Regulated
from console.craft.model import Metabolic, PersonRates
from console.engine.cabin.air import Flags
from console.engine.cabin.course import (
    CARBON_DIOXIDE,
    OXYGEN,
    QUANTITIES,
    REST,
    TEMPERATURE,
    WATER,
    Course,
    Forcing,
    Readings,
    course_of,
)
from console.engine.cabin.gauges import CabinGauges, Gauge
from console.engine.cabin.people import (
    crew_factor,
    leak_share_per_s,
    loads_factor,
    water_of_absorbent_kg_per_kg,
)
from console.engine.cabin.pieces import Pieces, pieces_of
from console.engine.cabin.sampled import ASSUMED_TEMPERATURE_K, readings_of, sampled
from console.engine.cabin.services import (
    STOPS,
    Running,
    Service,
    heat_by_supply_w,
)
from console.engine.cabin.surroundings import CabinSurroundings
from console.engine.draws import Floats
from console.engine.forecast import Draws
from console.engine.snapshot import Supposition
from console.physics.cabin_air import air_kg, pressure_per_kg_pa, removal_per_s
from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
    WATER_KG_PER_MOL,
)
from console.physics.humidity import saturation_pressure_pa
from console.physics.metabolism import crew_rates
from console.physics.thermal import loss_per_s, warming_k_per_s

LEAST_HORIZON_S: Final = 30 * 86400.0
"""A limit that does not come within this, nor before need, is not waited for."""

_NOWHERE: Final = np.zeros((1, 1, 1), dtype=bool)
_NOTHING: Final = np.zeros((1, 1, 1))
_RATE: Final[Mapping[Metabolic, Callable[[PersonRates], float]]] = {
    Metabolic.OXYGEN: lambda crew: crew.oxygen_kg_per_s,
    Metabolic.CARBON_DIOXIDE: lambda crew: crew.carbon_dioxide_kg_per_s,
    Metabolic.WATER_VAPOUR: lambda crew: crew.water_vapour_kg_per_s,
}


def horizon_s(around: CabinSurroundings) -> float:
    """Until when the cabin is looked at."""
    return around.at_s + max(around.option.need_s - around.at_s, LEAST_HORIZON_S)


def cabin_course(
    around: CabinSurroundings,
    cabin: Cabin,
    gauges: CabinGauges,
    running: Mapping[Service, Running],
    suppositions: tuple[Supposition, ...],
    draws: Draws,
    rows: int,
) -> Course:
    """The cabin's course on some suppositions, from the moments of its readings on.

    Args:
        around: craft, plan and run-outs.
        cabin: the craft's.
        gauges: its readings.
        running: its services.
        suppositions: the second axis of the course.
        draws: samples and seed.
        rows: how many rows of them are taken, the central one included.
    """
    readings = readings_of(gauges, draws, rows)
    moments = {around.at_s, *(gauge.since_s for gauge in gauges.all if gauge.value_si is not None)}
    pieces = pieces_of(around.segments, moments, around.ends_s, rows, horizon_s(around))
    scene = _Scene(
        around=around,
        cabin=cabin,
        gauges=gauges,
        readings=readings,
        pieces=pieces,
        on={service: _on(service, one, around, pieces, suppositions) for service, one in running.items()},
        suppositions=suppositions,
        draws=draws,
    )
    return course_of(_forcing(scene), readings, len(suppositions))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Scene:
    """What every part of the forcing goes by."""

    around: CabinSurroundings
    cabin: Cabin
    gauges: CabinGauges
    readings: Readings
    pieces: Pieces
    on: Mapping[Service, Flags]
    suppositions: tuple[Supposition, ...]
    draws: Draws

    @property
    def rows(self) -> int:
        """How many samples, the central case included."""
        return self.pieces.rows

    def runs(self, service: Service) -> Flags:
        """Whether a service runs, (pieces, suppositions, rows); nowhere where the craft lacks it."""
        return self.on.get(service, _NOWHERE)

    def crew_per_s(self, rate: Metabolic, kg_per_mol: float) -> Floats:
        """What the crew takes or gives of a gas in each piece as a change of its partial pressure, Pa/s.

        ``kg_per_mol`` is of the gas that a kilogram of the rate becomes.
        """
        craft = self.around.craft
        by_segment = np.array(
            [_RATE[rate](crew_rates(one.crew, craft.person_rates)) for one in self.around.segments]
        )
        per_kg = pressure_per_kg_pa(kg_per_mol, self.readings.temperature_k, self.cabin.volume_m3)
        factor = crew_factor(craft, rate, self.draws, self.rows)
        result: Floats = (by_segment[self.pieces.segments] * factor * per_kg)[:, None, :]
        return result


def _on(
    service: Service,
    running: Running,
    around: CabinSurroundings,
    pieces: Pieces,
    suppositions: tuple[Supposition, ...],
) -> Flags:
    """Whether a service runs, shape (pieces, suppositions, rows)."""
    ends = running.ends_s(around.ends_s, pieces.rows)
    planned = running.segments[pieces.segments] & (pieces.starts_s < ends)
    is_past = (pieces.starts_s < around.at_s)[:, None, :]
    stays = np.array(
        [
            STOPS.get(supposition) is not service
            and not (supposition is Supposition.NO_POWER and running.needs_power)
            for supposition in suppositions
        ]
    )
    result: Flags = planned[:, None, :] & (is_past | stays[None, :, None])
    return result


def _forcing(scene: _Scene) -> Forcing:
    cabin = scene.cabin
    fills, holds = _regulated(scene)
    leak = _leak(scene)[None, None, :]
    dioxide_gain, dioxide_decay = _dioxide(scene, leak)
    warming, loss = _warming(scene)
    has_water = _is_read(scene.gauges.humidity)
    cooled_to = math.inf if cabin.thermal is None else cabin.thermal.cooled_to_k or math.inf
    dried_to = 1.0 if cabin.drying is None else cabin.drying.humidity_fraction
    breathed = scene.crew_per_s(Metabolic.OXYGEN, OXYGEN_GAS_KG_PER_MOL)
    gains: dict[int, Floats] = {
        OXYGEN: np.where(holds, 0.0, -breathed),
        CARBON_DIOXIDE: dioxide_gain,
        REST: _NOTHING,
        WATER: _water(scene) if has_water else _NOTHING,
        TEMPERATURE: warming,
    }
    decays: dict[int, Floats] = {
        OXYGEN: np.where(holds, 0.0, leak),
        CARBON_DIOXIDE: dioxide_decay,
        REST: leak,
        WATER: leak,
        TEMPERATURE: np.full((1, 1, 1), loss),
    }
    return Forcing(
        pieces=scene.pieces,
        gains=tuple(gains[quantity] for quantity in range(QUANTITIES)),
        decays=tuple(decays[quantity] for quantity in range(QUANTITIES)),
        fills=fills,
        holds_oxygen=holds,
        dioxide_leaks=~scene.runs(Service.REMOVAL),
        cools_to_k=np.where(scene.runs(Service.COOLING), cooled_to, np.inf),
        dries_to=np.where(scene.runs(Service.DRYING), dried_to, 1.0),
        has_water=has_water,
    )


def _is_read(gauge: Gauge | None) -> bool:
    return gauge is not None and gauge.value_si is not None


def _regulated(scene: _Scene) -> tuple[Flags, Flags]:
    """Where the regulator holds the whole pressure, and where the oxygen; what is not read it cannot hold."""
    feed, asked = scene.runs(Service.FEED), scene.cabin.oxygen_feed
    by_pressure = asked is not None and asked.holds is Regulated.PRESSURE
    if _is_read(scene.gauges.pressure) and (by_pressure or not _is_read(scene.gauges.oxygen)):
        return feed, _NOWHERE
    return _NOWHERE, feed


def _dioxide(scene: _Scene, leak: Floats) -> tuple[Floats, Floats]:
    """Gain and decay of CO2: with a known stream it is washed out, with another it stays as it is."""
    exhaled = scene.crew_per_s(Metabolic.CARBON_DIOXIDE, CARBON_DIOXIDE_KG_PER_MOL)
    removed, removal = scene.runs(Service.REMOVAL), scene.cabin.removal
    if removal is None:
        return np.where(removed, 0.0, exhaled), np.where(removed, 0.0, leak)
    stream = removal_per_s(removal.flow_m3_per_s, removal.efficiency_fraction, scene.cabin.volume_m3)
    return exhaled, leak + np.where(removed, stream, 0.0)


def _water(scene: _Scene) -> Floats:
    """Gain of water: what people give off, and what the absorbent makes of their CO2."""
    given = scene.crew_per_s(Metabolic.WATER_VAPOUR, WATER_KG_PER_MOL)
    made = water_of_absorbent_kg_per_kg(scene.around.craft)
    by_absorbent = made * scene.crew_per_s(Metabolic.CARBON_DIOXIDE, WATER_KG_PER_MOL)
    return given + np.where(scene.runs(Service.REMOVAL), by_absorbent, 0.0)


def _leak(scene: _Scene) -> Floats:
    """The share of the air that leaks in a second, (rows,), from the central state of the readings."""
    readings = scene.readings
    warmth, whole = float(readings.temperature_k[0]), float(readings.pressure_pa[0])
    vapour = min(float(readings.humidity[0]) * saturation_pressure_pa(warmth), whole)
    oxygen, dioxide = float(readings.oxygen_pa[0]), float(readings.carbon_dioxide_pa[0])
    rest = max(whole - oxygen - dioxide - vapour, 0.0)
    mass = float(air_kg(oxygen, dioxide, rest, vapour, warmth, scene.cabin.volume_m3))
    return leak_share_per_s(scene.around.craft, whole, warmth, mass, scene.draws, scene.rows)


def _warming(scene: _Scene) -> tuple[Floats, float]:
    """The temperature's gain in each piece and its decay; both 0 where the config has no thermal data."""
    thermal, craft, pieces = scene.cabin.thermal, scene.around.craft, scene.pieces
    if thermal is None:
        return _NOTHING, 0.0
    people = np.array([crew_rates(one.crew, craft.person_rates).heat_w for one in scene.around.segments])
    heat = people[pieces.segments] * crew_factor(craft, Metabolic.OXYGEN, scene.draws, scene.rows)
    has_power = np.array([one is not Supposition.NO_POWER for one in scene.suppositions])
    is_past = (pieces.starts_s < scene.around.at_s)[:, None, :]
    heats = heat[:, None, :] + np.where(
        has_power[None, :, None] | is_past, _loads_heat(scene)[:, None, :], 0.0
    )
    outside = sampled(scene.gauges.outside, ASSUMED_TEMPERATURE_K, scene.draws, scene.rows)
    capacity, conductance = thermal.heat_capacity_j_per_k, thermal.conductance_w_per_k
    return warming_k_per_s(heats, capacity, conductance, outside), loss_per_s(capacity, conductance)


def _loads_heat(scene: _Scene) -> Floats:
    """Heat of the loads in each piece, as long as the supply they draw from lasts, W, (pieces, rows)."""
    starts = scene.pieces.starts_s
    heat = np.zeros(starts.shape)
    factor = loads_factor(scene.around.craft, scene.draws, scene.rows)
    for supply, by_segment in heat_by_supply_w(scene.around.craft, scene.around.segments).items():
        ends = scene.around.ends_s.get(supply)
        lasts = True if ends is None else starts < ends[: scene.rows]
        heat += np.where(lasts, by_segment[scene.pieces.segments] * factor, 0.0)
    return heat
