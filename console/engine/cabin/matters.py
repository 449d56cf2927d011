"""Which suppositions, readings and services matter to a limit, and what a person must be told about them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from console.craft.cabin import Cabin, CabinLimit, CabinProperty, LimitSide, Regulated
from console.display import hours_text
from console.engine.cabin.gauges import CabinGauges, Gauge
from console.engine.cabin.services import STOPS, Running, Service
from console.engine.cabin.surroundings import CabinSurroundings
from console.engine.snapshot import Supposition

_GASES = frozenset(
    {
        CabinProperty.PRESSURE,
        CabinProperty.OXYGEN,
        CabinProperty.INSPIRED_OXYGEN,
        CabinProperty.CARBON_DIOXIDE,
    }
)
_OF_OXYGEN = frozenset({CabinProperty.PRESSURE, CabinProperty.OXYGEN, CabinProperty.INSPIRED_OXYGEN})
_OF_WARMTH = frozenset({CabinProperty.TEMPERATURE, CabinProperty.APPARENT_TEMPERATURE})
_OF_VAPOUR = frozenset({CabinProperty.HUMIDITY, CabinProperty.APPARENT_TEMPERATURE})

AVERAGE_REMARK = "means an average over hours, which is taken at the moment: that is early"
"""How the remark on a limit of an average ends."""
UNCOUNTED_HEAT_REMARK = (
    "the heat that an absorbent gives off (2 to 3 MJ per kg of CO2) is not counted unless the config adds it "
    "to the crew's: that is late"
)


def suppositions_of(
    limit: CabinLimit, running: Mapping[Service, Running], has_loads: bool
) -> tuple[Supposition, ...]:
    """The suppositions that the model reckons for a limit, the plan first.

    What is not there cannot stop, and what only moves a property away from its limit is not asked about.
    """
    found = [Supposition.PLAN]
    found.extend(
        supposition
        for supposition, service in STOPS.items()
        if service in running and _stop_threatens(service, limit)
    )
    if has_loads and not (limit.of in _OF_OXYGEN and limit.side is LimitSide.ABOVE):
        found.append(Supposition.NO_POWER)
    return tuple(found)


def _stop_threatens(service: Service, limit: CabinLimit) -> bool:
    """Whether a property goes towards its limit when a service stops."""
    is_upper = limit.side is LimitSide.ABOVE
    match service:
        case Service.REMOVAL:
            return is_upper if limit.of is CabinProperty.CARBON_DIOXIDE else limit.is_share and not is_upper
        case Service.FEED:
            return limit.of in _OF_OXYGEN and not is_upper
        case _:
            return limit.of in _OF_WARMTH and is_upper


def services_behind(limit: CabinLimit) -> tuple[Service, ...]:
    """The services whose stop moves a limited property."""
    found = []
    if limit.of is CabinProperty.CARBON_DIOXIDE or limit.is_share:
        found.append(Service.REMOVAL)
    if limit.of in _OF_OXYGEN:
        found.append(Service.FEED)
    if limit.of in _OF_VAPOUR:
        found.append(Service.DRYING)
    # Cooling only keeps what is warm from warming: it does not stand behind a limit of cold.
    is_cold = limit.of in _OF_WARMTH and limit.side is LimitSide.BELOW
    if (limit.of in _OF_WARMTH or limit.of in _OF_VAPOUR) and not is_cold:
        found.append(Service.COOLING)
    return tuple(found)


def gauges_behind(limit: CabinLimit, cabin: Cabin, gauges: CabinGauges) -> tuple[Gauge | None, ...]:
    """The readings that a limit rests on; None for one that the config does not name."""
    by_pressure = cabin.oxygen_feed is not None and cabin.oxygen_feed.holds is Regulated.PRESSURE
    match limit.of:
        case CabinProperty.PRESSURE:
            return (gauges.pressure,)
        case CabinProperty.CARBON_DIOXIDE:
            return (gauges.carbon_dioxide, *((gauges.pressure,) if limit.is_share else ()))
        case CabinProperty.OXYGEN if not (limit.is_share or (by_pressure and gauges.pressure)):
            return (gauges.oxygen,)
        case CabinProperty.OXYGEN | CabinProperty.INSPIRED_OXYGEN:
            return (gauges.oxygen, gauges.pressure)
        case CabinProperty.TEMPERATURE:
            return (gauges.temperature, *_outside(cabin, gauges))
        case _:
            return (gauges.temperature, gauges.humidity, *_outside(cabin, gauges))


def unknown_why(
    limit: CabinLimit,
    supposition: Supposition,
    around: CabinSurroundings,
    cabin: Cabin,
    running: Mapping[Service, Running],
) -> str:
    """Why a clock cannot be had although its readings are there; empty where it can."""
    if limit.of is CabinProperty.TEMPERATURE and cabin.thermal is None:
        return "not known: the config says nothing of the cabin's heat capacity and hull (cabin.thermal)"
    blind: list[str] = []
    for service in services_behind(limit):
        is_stopped = STOPS.get(supposition) is service
        if service in running and not is_stopped and not _fails(running[service], supposition):
            blind.extend(running[service].unknown(around.ends_s))
    if limit.of in _OF_WARMTH and supposition is not Supposition.NO_POWER:
        powered = {load.supply for load in around.craft.loads.values()}
        blind.extend(supply for supply in powered if supply not in around.ends_s)
    names = ", ".join(sorted(set(blind)))
    return f"not known: nobody knows how long {names} lasts" if names else ""


def remarks(
    limit: CabinLimit,
    supposition: Supposition,
    around: CabinSurroundings,
    cabin: Cabin,
    gauges: CabinGauges,
    running: Mapping[Service, Running],
) -> list[str]:
    """What a clock assumes, one sentence each."""
    said: list[str] = []
    if limit.is_average:
        said.append(f"{limit.source} {AVERAGE_REMARK}")
    said.extend(
        sentence
        for service in services_behind(limit)
        if STOPS.get(supposition) is not service
        for sentence in _of_service(service, supposition, around, cabin, running)
    )
    absorbs = Service.REMOVAL in running and supposition is not Supposition.NO_POWER
    if absorbs and cabin.thermal is not None and limit.of in _OF_WARMTH and limit.side is LimitSide.ABOVE:
        said.append(UNCOUNTED_HEAT_REMARK)
    if limit.of in _OF_VAPOUR and cabin.thermal is None:
        said.append("the config says nothing of the hull: the temperature is taken to stay as it is")
    if limit.of in _GASES and (gauges.temperature is None or gauges.temperature.value_si is None):
        said.append("the cabin's temperature is not read and taken as 20 degC")
    if limit.of in _GASES and (gauges.pressure is None or gauges.pressure.value_si is None):
        said.append("the cabin's pressure is not read and taken as 101.3 kPa for leaks")
    return said


def carried_why(behind: Iterable[Gauge], at_s: float) -> list[str]:
    """That a clock rests on old readings."""
    ages = [at_s - gauge.since_s for gauge in behind if gauge.is_carried(at_s)]
    if not ages:
        return []
    age = f"{max(ages) / 60.0:.0f} min" if max(ages) < 7200.0 else f"{max(ages) / 3600.0:.1f} h"
    return [
        f"rests on a reading {age} old: the earlier of the reading as it is and of what the plan makes of it"
    ]


def _outside(cabin: Cabin, gauges: CabinGauges) -> tuple[Gauge | None, ...]:
    return () if cabin.thermal is None else (gauges.outside,)


def _fails(running: Running, supposition: Supposition) -> bool:
    return supposition is Supposition.NO_POWER and running.needs_power


def _of_service(
    service: Service,
    supposition: Supposition,
    around: CabinSurroundings,
    cabin: Cabin,
    running: Mapping[Service, Running],
) -> Iterable[str]:
    """How one service stands behind a clock."""
    if service not in running:
        yield {
            Service.REMOVAL: "nothing takes up CO2",
            Service.FEED: "nothing feeds oxygen (the config names no cabin.oxygen_feed)",
            Service.DRYING: "nothing dries the air",
            Service.COOLING: "nothing cools",
        }[service]
        return
    one = running[service]
    if _fails(one, supposition):
        yield (
            f"{service.value} needs power and stops"
            if cabin.removal or service is not Service.REMOVAL
            else ("CO2 removal is taken to need power, as the config does not describe it (cabin.removal)")
        )
        return
    if service is Service.REMOVAL and cabin.removal is None:
        yield (
            "the config does not say how fast CO2 is taken up (cabin.removal): while the absorbent lasts it "
            "is taken to stay as it is"
        )
    if not one.segments.all():
        yield f"{service.value} stops where the plan switches its loads off"
    ends = {name: float(around.ends_s[name][0]) for name in one.supplies if name in around.ends_s}
    first = min(ends, key=lambda name: ends[name], default=None)
    if first is not None and math.isfinite(ends[first]):
        yield f"{service.value} ends with {first}, in {hours_text(max(ends[first] - around.at_s, 0.0))}"
