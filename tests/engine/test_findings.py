"""What is shown of the evidence: which uses are off, what nobody logged, which switching explains it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from console.craft.model import LoadState
from console.engine.configuration import Configuration
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.luck import Luck
from console.engine.evidence.modelled import factor_names, prior_sds
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.supply_evidence import SupplyEvidence, Way
from console.engine.findings import unlogged_changes, use_factors
from console.engine.leaks import CabinPressure
from console.engine.learnt import ChangeCourse
from console.engine.planned_use import planned_use

H = 3600.0
ON, OFF = LoadState.ON, LoadState.OFF


@pytest.fixture
def craft(build: Any) -> Any:
    return build.craft(
        build.supply("power", "A*h", build.store("bat"), bus_voltage_v=28.0),
        build.supply("oxygen", "kg", build.store("o2")),
        loads=(
            build.load("radio", 3.0, 0.5),
            build.load("lamp", 1.0),
            build.load("heater", 8.0),
            build.load("fan", 2.1),
        ),
        levels={"all": {"radio": ON, "lamp": ON, "heater": ON, "fan": ON}},
        load_spread_fraction=0.05,
    )


@pytest.fixture
def configuration(build: Any, craft: Any) -> Configuration:
    return Configuration(craft, (build.phase("coast", 0.0, "all"),), (), ())


def evidence_with(craft: Any, *ways: Way, supply: str = "power") -> Evidence:
    names = factor_names(craft)
    one = SupplyEvidence(
        supply=supply,
        anchor_s=20 * H,
        stores=("bat",),
        biases_sd={},
        ways=ways,
        factors=(),
        wander_fraction=0.05,
        rate_si_per_s=1.0,
        rate_sd_si_per_s=0.1,
        window_s=10 * H,
        count=100,
        set_aside=0,
    )
    return Evidence(
        names=names,
        mean=np.zeros(len(names)),
        covariance=np.diag(prior_sds(craft) ** 2),
        supplies={supply: one},
    )


def way(weight: float, *changes: tuple[Candidate, float], sd: float = 0.05) -> Way:
    mean = np.array([0.0, *(size for _, size in changes)])
    return Way(
        weight=weight,
        changes=tuple(change for change, _ in changes),
        mean=mean,
        root=np.diag([1.0, *([sd] * len(changes))]),
    )


def test_the_load_whose_amps_fit_comes_first_with_what_it_would_be(craft: Any, configuration: Any) -> None:
    found = evidence_with(craft, way(1.0, (Candidate(at_s=15 * H), -2.98)))
    (change,) = unlogged_changes(found, craft, craft.supplies["power"], configuration)
    assert (change.since_s, change.change_si_per_s, change.sd_si_per_s) == (
        15 * H,
        -2.98,
        pytest.approx(0.05),
    )
    best = change.causes[0]
    assert best.loads == (("radio", ON, OFF),)
    assert best.change_si_per_s == -3.0
    # By hand: density of -2.98 under N(-3, 0.05 and 5 % of 3 A), against one in 14.1 A for something else.
    width = math.hypot(0.05, 0.15)
    density = math.exp(-0.5 * (0.02 / width) ** 2) / (width * math.sqrt(2 * math.pi))
    assert best.share == pytest.approx(density / (density + 1 / 14.1), rel=0.01)


def test_two_loads_together_are_looked_at_where_no_single_one_fits(craft: Any, configuration: Any) -> None:
    found = evidence_with(craft, way(1.0, (Candidate(at_s=15 * H), -9.0)))
    (change,) = unlogged_changes(found, craft, craft.supplies["power"], configuration)
    assert set(change.causes[0].loads) == {("heater", ON, OFF), ("lamp", ON, OFF)}


def test_what_no_load_explains_has_no_cause(craft: Any, configuration: Any) -> None:
    found = evidence_with(craft, way(1.0, (Candidate(at_s=15 * H), +6.0)))
    (change,) = unlogged_changes(found, craft, craft.supplies["power"], configuration)
    assert change.causes == (), "all is on already: nothing could draw more"


def test_the_probability_is_that_of_all_ways_with_a_change(craft: Any, configuration: Any) -> None:
    one, other = (way(share, (Candidate(at_s=at * H), -1.0)) for share, at in ((0.5, 15.0), (0.2, 16.0)))
    found = evidence_with(craft, one, way(0.3), other)
    (change,) = unlogged_changes(found, craft, craft.supplies["power"], configuration)
    assert change.probability == pytest.approx(0.7)


def test_a_change_that_is_less_likely_than_none_is_not_shown(craft: Any, configuration: Any) -> None:
    found = evidence_with(craft, way(0.7), way(0.3, (Candidate(at_s=15 * H), -1.0)))
    assert unlogged_changes(found, craft, craft.supplies["power"], configuration) == ()


def test_a_growing_change_says_when_it_doubles_and_names_no_load(craft: Any, configuration: Any) -> None:
    change = Candidate(at_s=15 * H, growth_per_s=math.log(2.0) / (3 * H))
    found = evidence_with(craft, way(1.0, (change, 1.0)), supply="oxygen")
    (shown,) = unlogged_changes(found, craft, craft.supplies["oxygen"], configuration)
    assert shown.course is ChangeCourse.GROWING
    assert shown.doubles_in_s == pytest.approx(3 * H)
    assert shown.causes == ()


def test_a_leak_goes_by_what_is_left(craft: Any, configuration: Any) -> None:
    change = Candidate(at_s=15 * H, in_proportion=True)
    found = evidence_with(craft, way(1.0, (change, 1.0)), supply="oxygen")
    (shown,) = unlogged_changes(found, craft, craft.supplies["oxygen"], configuration)
    assert shown.course is ChangeCourse.IN_PROPORTION


def test_factors_are_shown_where_readings_narrowed_them(build: Any, craft: Any) -> None:
    names = factor_names(craft)
    covariance = np.diag(prior_sds(craft) ** 2)
    blind = evidence_with(craft, way(1.0))
    configuration = Configuration(craft, (build.phase("coast", 0.0, "all"),), (), ())
    pressure = CabinPressure(value_pa=None, why="")
    use = planned_use(
        craft, configuration, 0.0, 0.0, pressure, {}, Luck(evidence=blind, craft=craft, at_s=0.0)
    )
    power = craft.supplies["power"]
    assert use_factors(blind, craft, power, use) == (), "nothing was learnt"
    # The common factor is 8 % up and known to 1 %; each load's own is as uncertain as before.
    taught = Evidence(
        names=names,
        mean=np.array([0.08, 0.0, 0.0, 0.0, 0.0]),
        covariance=np.diag([0.01**2, *np.diag(covariance)[1:]]),
        supplies={},
    )
    (shown,) = use_factors(taught, craft, power, use)
    assert (shown.name, shown.factor) == ("loads", pytest.approx(1.08))
    shares = np.array([3.0, 1.0, 8.0, 2.1]) / 14.1
    own = 0.05 / math.sqrt(2.0)
    assert shown.sd == pytest.approx(math.hypot(0.01, own * float(np.sqrt((shares**2).sum()))), rel=1e-6)
