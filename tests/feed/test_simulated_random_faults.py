"""Faults that nobody wrote: so many a day, of the kinds asked for, each of something that there is."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.feed.simulated_faults_random import RandomFaults, drawn_faults
from console.feed.simulation_file import Simulation, read_simulation
from console.scenario.load import Scenario, load_scenario

CONFIGS = Path(__file__).parents[2] / "configs"
DAY = 86400.0
ALL = RandomFaults(per_day=4.0, kinds=tuple(FaultKind))


@pytest.fixture(scope="module")
def tern() -> tuple[Scenario, Simulation]:
    scenario = load_scenario(CONFIGS / "tern")
    return scenario, read_simulation(scenario)


def drawn(
    tern: tuple[Scenario, Simulation], seed: int, days: float, random_faults: RandomFaults = ALL
) -> tuple[SimulatedFault, ...]:
    scenario, simulation = tern
    return drawn_faults(random_faults, scenario.craft, simulation.initial_si, Streams(seed), 0.0, days * DAY)


def test_as_many_come_as_were_asked_for(tern: tuple[Scenario, Simulation]) -> None:
    faults = drawn(tern, 1, 200.0)
    # A Poisson count of 800: its standard deviation is 28.
    assert len(faults) == pytest.approx(800, abs=4 * math.sqrt(800))
    assert [fault.at_s for fault in faults] == sorted(fault.at_s for fault in faults)
    assert {fault.kind for fault in faults} == set(FaultKind)
    assert drawn(tern, 1, 200.0, RandomFaults(per_day=0.0, kinds=tuple(FaultKind))) == ()


def test_each_befalls_something_that_there_is(tern: tuple[Scenario, Simulation]) -> None:
    craft = tern[0].craft
    stores = {store.name: store for supply in craft.supplies.values() for store in supply.stores}
    for fault in drawn(tern, 2, 100.0):
        assert fault.until_s > fault.at_s
        assert fault.channel is None or fault.channel in craft.channels
        assert fault.load is None or fault.load in craft.loads
        assert fault.store is None or fault.store in stores
        match fault.kind:
            case FaultKind.LEAK:
                assert fault.store is not None
                hours_to_empty = tern[1].initial_si[fault.store] / fault.rate_si_per_s / 3600
                assert 9.99 < hours_to_empty < 240.01
            case FaultKind.UNIT_SLIP:
                assert fault.unit is not None
                assert fault.channel is not None
                channel = craft.channels[fault.channel]
                assert fault.unit.dimension is channel.unit.dimension
                assert fault.unit.factor != pytest.approx(channel.unit.factor)
            case FaultKind.PEOPLE:
                assert 1 <= fault.count <= craft.crew_count
                assert fault.moves_from is not fault.moves_to
            case FaultKind.BIAS | FaultKind.SPIKES | FaultKind.OSCILLATION | FaultKind.STRATIFIED:
                assert fault.channel is not None
                assert abs(fault.size_si) > craft.channels[fault.channel].accuracy_si


def test_a_longer_contingency_begins_with_the_same_faults(tern: tuple[Scenario, Simulation]) -> None:
    short, long = drawn(tern, 3, 5.0), drawn(tern, 3, 9.0)
    assert 0 < len(short) < len(long)
    assert long[: len(short)] == short
    assert drawn(tern, 4, 5.0) != short


def test_only_kinds_that_were_asked_for_come(tern: tuple[Scenario, Simulation]) -> None:
    only = RandomFaults(per_day=10.0, kinds=(FaultKind.LEAK, FaultKind.STUCK))
    assert {fault.kind for fault in drawn(tern, 5, 20.0, only)} == {FaultKind.LEAK, FaultKind.STUCK}
