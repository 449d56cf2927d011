"""The present rate of what no meter measures, from its gauge: what falls clearly, and what does not."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from console.craft.channels import Measured
from console.craft.model import StoreState
from console.engine.configuration import Configuration
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.modelled import factor_names
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.supply_evidence import SupplyEvidence, Way
from console.engine.gauge_rate import GaugeRate, gauge_rates
from console.engine.leaks import CabinPressure
from console.engine.planned_use import planned_use
from console.engine.rate_now import rate_now
from console.engine.series import Series, series_of
from console.engine.snapshot import RateSource

H = 3600.0
AT_S = 20 * H


def craft_of(build: Any, **store: Any) -> Any:
    tank = build.store("tank", quantity=Measured(channel="tank.mass"), **store)
    channels = (
        build.channel("tank.mass", "kg", accuracy_si=0.4, resolution_si=0.1),
        build.channel("tank.flow", "A", accuracy_si=0.1),
    )
    return build.craft(build.supply("water", "kg", tank), channels=channels)


def told(
    build: Any,
    craft: Any,
    series: Series,
    *,
    events: tuple[Any, ...] = (),
    believed: float = AT_S,
    evidence: Evidence | None = None,
) -> Any:
    configuration = Configuration(craft, (build.phase("coast", 0.0, "all"),), events, ())
    past = planned_use(craft, configuration, 0.0, AT_S, CabinPressure(), {})
    read = (craft, configuration, events, past, {"tank.mass": series}, AT_S, {"tank.mass": believed})
    return gauge_rates(*read, evidence)


def falling(rate_si_per_s: float, seed: int = 5, gain_si: float = 0.0, gain_at_s: float = 0.0) -> Series:
    times = np.arange(0.0, AT_S + 1.0, 120.0)
    noise = np.random.default_rng(seed).normal(0.0, 0.1, len(times))
    true = 200.0 - rate_si_per_s * times + gain_si * (times >= gain_at_s)
    return series_of(times, np.round((true + noise) * 10.0) / 10.0)


def test_a_fall_is_found_with_its_error(build: Any) -> None:
    true = 1.5 / H
    offs = []
    for seed in range(12):
        rate = told(build, craft_of(build), falling(true, seed))["water"]
        assert rate.cost_si_per_s == pytest.approx(true, rel=0.15)
        offs.append((rate.cost_si_per_s - true) / rate.sd_si_per_s)
    assert rate.why == "rate by gauge: joined lines through the readings, over 19.9 h"
    assert np.std(offs) < 1.6, "its error is about what it says"


def test_what_does_not_clearly_fall_is_bounded_and_the_model_stands(build: Any) -> None:
    rate = told(build, craft_of(build), falling(0.0))["water"]
    assert rate.cost_si_per_s is None
    assert rate.why.startswith(
        "rate by the model: by its gauge it does not clearly fall over 19.9 h, at most "
    )


def test_a_refill_that_the_plan_knows_is_no_use(build: Any) -> None:
    event = build.event("topped up", 12 * H, uses={"water": -30.0})
    series = falling(1.5 / H, gain_si=30.0, gain_at_s=12 * H)
    rate = told(build, craft_of(build), series, events=(event,))["water"]
    assert rate.cost_si_per_s == pytest.approx(1.5 / H, rel=0.15)


def test_readings_that_are_not_believed_say_nothing_of_now(build: Any) -> None:
    assert told(build, craft_of(build), falling(1.5 / H), believed=AT_S - 2 * H) == {}


def test_a_supply_with_a_meter_is_left_to_it(build: Any) -> None:
    craft = craft_of(build, current=Measured(channel="tank.flow"))
    assert told(build, craft, falling(1.5 / H)) == {}


@pytest.mark.parametrize("gauged", [None, GaugeRate(cost_si_per_s=None, sd_si_per_s=0.0, why="it stands")])
def test_without_a_rate_by_gauge_the_model_stands_and_says_why(build: Any, gauged: GaugeRate | None) -> None:
    craft = craft_of(build, state=StoreState.FEEDING)
    supply = craft.supplies["water"]
    now = rate_now(supply, supply.stores, {}, craft.channels, 2.0, 2.1, {}, gauged)
    assert (now.source, now.rate_si_per_s, now.effective_si_per_s) == (RateSource.MODEL, 2.0, 2.1)
    assert now.why == ("" if gauged is None else "it stands")


def test_a_rate_by_gauge_counts_as_measured(build: Any) -> None:
    craft = craft_of(build)
    supply = craft.supplies["water"]
    gauged = GaugeRate(cost_si_per_s=1.4, sd_si_per_s=0.2, why="rate by gauge: so")
    now = rate_now(supply, supply.stores, {}, craft.channels, 2.0, 2.0, {}, gauged)
    assert (now.source, now.rate_si_per_s, now.sd_si_per_s) == (RateSource.MEASURED, 1.4, 0.2)
    assert now.by_gauge


def test_a_change_that_nobody_logged_is_in_the_rate_as_it_is_now(build: Any) -> None:
    """A line through the hours before would lag behind a loss that grows, and flatter."""
    craft = craft_of(build)
    names = factor_names(craft)
    grows = Candidate(at_s=15 * H, growth_per_s=1e-4)
    way = Way(weight=1.0, changes=(grows,), mean=np.array([170.0, 1e-3]), root=np.diag([0.1, 1e-5]))
    fields: dict[str, Any] = {
        "supply": "water",
        "anchor_s": AT_S,
        "stores": ("tank",),
        "biases_sd": {},
        "factors": (),
        "wander_fraction": 0.05,
        "window_s": AT_S,
        "count": 100,
        "set_aside": 0,
        "rate_sd_si_per_s": 2e-5,
    }
    for rate, found in ((1.4e-3, 1.4e-3), (-1e-4, None)):
        one = SupplyEvidence(ways=(way,), rate_si_per_s=rate, **fields)
        evidence = Evidence(
            names=names, mean=np.zeros(0), covariance=np.zeros((0, 0)), supplies={"water": one}
        )
        said = told(build, craft, falling(1.5 / H), evidence=evidence)["water"]
        if found is None:
            assert said.why.startswith("rate by gauge: joined lines"), "a supply does not fill itself"
        else:
            assert (said.cost_si_per_s, said.sd_si_per_s) == (found, 2e-5)
