"""Builders of cabins with instruments, for the tests of their clocks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from console.craft.band_limits import BandLimits
from console.craft.cabin import Cabin, CabinLimit, CabinProperty, LimitSide
from console.craft.channels import Channel, Measured
from console.craft.model import Craft
from console.craft.plan import Option, Phase
from console.engine.cabin.clocks import cabin_clocks
from console.engine.cabin.surroundings import CabinOutlook, CabinSurroundings, cabin_from_s
from console.engine.configuration import Configuration
from console.engine.forecast import Draws
from console.engine.reading import FeedState, Quality, Reading
from console.engine.snapshot import CabinClock, Supposition
from console.units import parse_unit

H = 3600.0
CENTRAL = Draws(seed=1, count=0)
SAMPLED = Draws(seed=1, count=400)
BANDS = BandLimits(advisory_s=24 * H, caution_s=12 * H, warning_s=3 * H)
PLAN, TREND = Supposition.PLAN, Supposition.TREND

UNITS = {"pressure": "Pa", "oxygen": "Pa", "dioxide": "Pa", "warmth": "K", "humidity": "%"}


def channels(**accuracy: float) -> tuple[Channel, ...]:
    """One for each of the cabin's properties, with the accuracy that a test gives it."""
    return tuple(
        Channel(name=name, unit=parse_unit(unit), accuracy_si=accuracy.get(name, 0.0))
        for name, unit in UNITS.items()
    )


def limit(name: str, of: CabinProperty, side: LimitSide, at_si: float, **fields: Any) -> CabinLimit:
    return CabinLimit(name=name, of=of, side=side, at_si=at_si, source="our own", **fields)


def above(of: CabinProperty, at_si: float, **fields: Any) -> CabinLimit:
    return limit(fields.pop("name", f"{of.value} high"), of, LimitSide.ABOVE, at_si, **fields)


def below(of: CabinProperty, at_si: float, **fields: Any) -> CabinLimit:
    return limit(fields.pop("name", f"{of.value} low"), of, LimitSide.BELOW, at_si, **fields)


def cabin(*limits: CabinLimit, **fields: Any) -> Cabin:
    """Sixteen cubic metres, read by all the instruments."""
    given: dict[str, Any] = {
        "volume_m3": 16.0,
        "bands": BANDS,
        "pressure": Measured(channel="pressure"),
        "oxygen": Measured(channel="oxygen"),
        "carbon_dioxide": Measured(channel="dioxide"),
        "temperature": Measured(channel="warmth"),
        "limits": limits,
        **fields,
    }
    return Cabin(**given)


USUAL = {"pressure": 101_325.0, "oxygen": 21_200.0, "dioxide": 400.0, "warmth": 293.15, "humidity": 0.4}


def feed(at_s: float = 0.0, ages_s: Mapping[str, float] | None = None, **values: float | None) -> FeedState:
    """Good readings; of an age each, and missing where None is given."""
    readings = {}
    for name, value in {**USUAL, **values}.items():
        age = (ages_s or {}).get(name, 0.0)
        if value is None:
            readings[name] = Reading(channel=name, quality=Quality.MISSING, why=f"{name}: broken")
        else:
            quality = Quality.GOOD if age <= 60.0 else Quality.STALE
            why = "" if quality is Quality.GOOD else f"{age:.0f} s old"
            readings[name] = Reading(channel=name, quality=quality, why=why, value_si=value, at_s=at_s - age)
    return FeedState(source="test", at_s=at_s, quality=Quality.GOOD, faults=(), readings=readings)


def option(need_s: float, spread_s: float = 0.0) -> Option:
    return Option(
        name="homeward",
        arrival_s=need_s,
        arrival_spread_s=spread_s,
        recovery_s=0.0,
        hold_s=0.0,
        decide_by_s=None,
        delta_v_m_per_s=None,
        phases=(),
        events=(),
        note="",
    )


def surroundings(
    craft: Craft,
    phases: tuple[Phase, ...],
    read: FeedState | None = None,
    at_s: float = 0.0,
    ends_s: Mapping[str, float] | None = None,
    need_s: float = 100 * H,
    draws: Draws = CENTRAL,
) -> CabinSurroundings:
    read = feed(at_s) if read is None else read
    from_s = cabin_from_s(craft, read, at_s)
    ends = {name: np.full(draws.count + 1, end) for name, end in (ends_s or {}).items()}
    return CabinSurroundings(
        craft=craft,
        feed=read,
        segments=Configuration(craft, phases, (), ()).segments(from_s, math.inf),
        option=option(need_s),
        at_s=at_s,
        ends_s=ends,
    )


def look(around: CabinSurroundings, draws: Draws = CENTRAL) -> dict[tuple[str, Supposition], CabinClock]:
    """The clocks by limit and supposition."""
    return by_name(cabin_clocks(around, draws))


def by_name(outlook: CabinOutlook) -> dict[tuple[str, Supposition], CabinClock]:
    return {(clock.limit.name, clock.supposition): clock for clock in outlook.clocks}


def central_s(clock: CabinClock) -> float:
    """The central time to the limit."""
    assert clock.reached_in_s is not None, clock.why
    assert clock.reached_in_s.p50 is not None, clock.why
    return clock.reached_in_s.p50


def with_cabin(craft: Craft, other: Cabin) -> Craft:
    return replace(craft, cabin=other)
