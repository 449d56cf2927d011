"""The simulated craft flies the way home that was committed to, from the moment it was."""

from __future__ import annotations

import pytest

from console.engine.configuration import ConfigurationChange
from console.feed.simulated import SimulatedSource
from console.feed.simulation_file import read_simulation
from console.scenario.load import load_scenario, packaged_scenario

H = 3600.0


def propellant_kg(*changes: ConfigurationChange, until_h: float) -> float:
    scenario = load_scenario(packaged_scenario())
    source = SimulatedSource(scenario, read_simulation(scenario))
    source.changes = lambda: changes
    feed = source.poll(26.0 * H)
    feed = source.poll(until_h * H)
    levels = [feed.readings[f"prop-{number}.quantity"].value_si for number in (1, 2)]
    assert None not in levels
    return sum(level for level in levels if level is not None)


def commit(option: str, at_h: float) -> ConfigurationChange:
    return ConfigurationChange(
        at_s=at_h * H, label=f"commit {option}", loads={}, stores={}, used_si={}, option=option
    )


def test_the_burn_of_the_way_home_that_was_given_up_is_not_flown() -> None:
    # The plan's homeward burn takes some 730 kg at T+30h; the tender's meeting burn comes at T+99h.
    burnt, waiting = propellant_kg(until_h=31.0), propellant_kg(commit("tender", 25.9), until_h=31.0)
    assert burnt < 500.0
    assert waiting == pytest.approx(burnt + 729.0 + 5.0, abs=30.0)


def test_a_commitment_after_the_burn_brings_nothing_back() -> None:
    late = propellant_kg(commit("tender", 30.5), until_h=31.0)
    assert late == pytest.approx(propellant_kg(until_h=31.0), abs=3.0)
