"""From a craft's history to what it says of its model, and on to forecasts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from console.craft.channels import Measured
from console.craft.model import HeatSource, Use
from console.engine.assess import assess
from console.engine.forecast import Draws
from console.engine.known import Situation, known_of
from console.engine.planned_rate import use_factor
from console.engine.series import series_of

HOUR = 3600.0
NOW = 24.0 * HOUR
MINUTES = np.arange(0.0, NOW + 1.0, 120.0)


def situation(
    build: Any, taken_a: float = 10.0, changed_at_s: float | None = None, seed: int = 1
) -> Situation:
    """A battery that one load of 10 A draws from, and water that carries its heat away; 120 s readings."""
    battery = build.store(
        "bat-1",
        kind="battery",
        capacity_si=1000.0 * HOUR,
        used=Measured(channel="bat-1.used"),
        current=Measured(channel="bat-1.current"),
    )
    tank = build.store("tank-1", capacity_si=200.0, quantity=Measured(channel="tank-1.mass"))
    loads = (build.load("heater", 6.0), build.load("computer", 4.0))
    cooling = Use(
        name="cooling",
        supply="water",
        evaporates_heat_of=(HeatSource.LOADS,),
        feed_temperature_k=283.15,
        spread_fraction=0.03,
    )
    craft = build.craft(
        build.supply("power", "A*h", battery, bus_voltage_v=28.0),
        build.supply("water", "kg", tank),
        loads=loads,
        uses=(cooling,),
        channels=(
            build.channel("bat-1.used", "A*h", accuracy_si=2.0 * HOUR, resolution_si=0.1 * HOUR),
            build.channel("bat-1.current", "A", accuracy_si=0.2, resolution_si=0.1),
            build.channel("tank-1.mass", "kg", accuracy_si=0.4, resolution_si=0.1),
        ),
        load_spread_fraction=0.1,
    )
    plan = build.plan(build.option(60.0 * HOUR), (build.phase("drift", -HOUR),))
    luck = np.random.default_rng(seed)
    amps = np.full(len(MINUTES), taken_a)
    if changed_at_s is not None:
        amps[changed_at_s <= MINUTES] -= 6.0
    used = np.concatenate(([0.0], np.cumsum(amps[:-1] * np.diff(MINUTES))))
    water = 100.0 - used * 28.0 / 2.4777e6
    columns = {
        "bat-1.used": used + 0.5 * HOUR * luck.standard_normal(len(used)),
        "bat-1.current": amps + 0.05 * luck.standard_normal(len(used)),
        "tank-1.mass": water + 0.1 * luck.standard_normal(len(used)),
    }
    readings = {name.replace(".", "__").replace("-", "_"): float(each[-1]) for name, each in columns.items()}
    return Situation(
        slug="tern",
        craft=craft,
        plan=plan,
        feed=build.feed(NOW, **readings),
        changes=(),
        at_s=NOW,
        history={name: series_of(MINUTES, each) for name, each in columns.items()},
    )


def test_an_empty_history_says_nothing(build: Any) -> None:
    assert known_of(replace(situation(build), history={})).evidence is None


def test_a_history_of_a_few_minutes_says_nothing(build: Any) -> None:
    whole = situation(build)
    short = {name: series.between(NOW - 300.0, NOW) for name, series in whole.history.items()}
    assert known_of(replace(whole, history=short)).evidence is None


def test_loads_that_take_more_than_listed_are_corrected_and_so_is_the_water_for_their_heat(
    build: Any,
) -> None:
    known = known_of(situation(build, taken_a=11.0))
    assert known.evidence is not None
    corrections = known.evidence.corrections(known.craft)
    drawn = 6.0 * corrections.loads["heater"] + 4.0 * corrections.loads["computer"]
    assert drawn == pytest.approx(11.0, rel=0.01)
    assert corrections.uses["cooling"] == pytest.approx(1.0, abs=0.02)


def test_what_is_certain_of_the_sum_is_not_certain_of_each_load(build: Any) -> None:
    evidence = known_of(situation(build, taken_a=11.0)).evidence
    assert evidence is not None
    names = list(evidence.names)
    shared, heater, computer = (names.index(name) for name in ("loads", "load heater", "load computer"))
    weights = np.zeros(len(names))
    weights[[shared, heater, computer]] = 1.0, 0.6, 0.4
    sum_sd = float(np.sqrt(weights @ evidence.covariance @ weights))
    assert sum_sd < 0.3 * float(np.sqrt(evidence.covariance[heater, heater]))


def test_loads_switched_off_without_a_word_lower_the_water_for_their_heat_too(build: Any) -> None:
    known = known_of(situation(build, changed_at_s=18.0 * HOUR))
    assert known.evidence is not None
    power, water = known.evidence.supplies["power"], known.evidence.supplies["water"]
    (change,) = power.ways[0].changes
    assert change.at_s == pytest.approx(18.0 * HOUR, abs=1200.0)
    assert power.rate_si_per_s == pytest.approx(4.0, rel=0.05)
    told = water.ways[0].changes[0]
    assert told.of_loads
    assert told.at_s == change.at_s
    assert water.rate_si_per_s == pytest.approx(4.0 * 28.0 / 2.4777e6, rel=0.05)


def test_a_forecast_counts_what_nobody_logged(build: Any) -> None:
    steady = assess(situation(build), None, Draws(seed=1, count=100))
    less = assess(situation(build, changed_at_s=12.0 * HOUR), None, Draws(seed=1, count=100))
    for name in ("power", "water"):
        before = steady.ahead.supplies[name].outlook.endurance_plan_s
        after = less.ahead.supplies[name].outlook.endurance_plan_s
        assert before is not None
        assert after is not None
        assert before.p95 is not None
        assert after.p05 is None or after.p05 > before.p95


def test_factors_are_named_once_and_in_one_order(build: Any) -> None:
    evidence = known_of(situation(build)).evidence
    assert evidence is not None
    assert evidence.names == ("loads", "load heater", "load computer", use_factor("cooling"))
    assert evidence.covariance.shape == (4, 4)
