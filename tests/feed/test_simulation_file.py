"""simulation.yaml: what it may say, and that all that is wrong with it is told at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from simulated_builders import SIMULATION, write_scenario

from console.craft.model import Fluid
from console.errors import ScenarioError
from console.feed.simulation_file import read_simulation
from console.physics.gas import mass_kg


def faults_of(folder: Path, simulation: str) -> list[str]:
    """What is wrong with a simulation."""
    scenario = write_scenario(folder, simulation=simulation)
    try:
        read_simulation(scenario)
    except ScenarioError as error:
        return [str(fault) for fault in error.faults]
    return []


def test_a_short_simulation_takes_its_defaults(tmp_path: Path) -> None:
    short = "format: 1\nseed: 0\nstart: T+0h\ninitial: {o2-1: 3 kg}\n"
    simulation = read_simulation(write_scenario(tmp_path, simulation=short))
    assert (simulation.speed, simulation.wander_fraction, dict(simulation.biases_si)) == (60.0, 0.05, {})
    assert (simulation.initial_si["bat-1"], simulation.initial_si["o2-1"]) == (100 * 3600, 3.0)
    assert simulation.cabin.pressure_pa == pytest.approx(100e3), "that of the craft's leak"


def test_a_gas_may_be_written_by_its_pressure(tmp_path: Path) -> None:
    simulation = read_simulation(write_scenario(tmp_path))
    assert simulation.initial_si["o2-1"] == mass_kg(Fluid.OXYGEN, 10e6, 290.0, 0.05)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    scenario = write_scenario(tmp_path)
    (tmp_path / "simulation.yaml").unlink()
    with pytest.raises(ScenarioError, match=r"simulation\.yaml: found no such file; write simulation"):
        read_simulation(scenario)


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    scenario = write_scenario(tmp_path)
    (tmp_path / "simulation.yaml").unlink()
    (tmp_path / "simulation.yaml").mkdir()
    with pytest.raises(ScenarioError, match="something that is not a file"):
        read_simulation(scenario)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("format: 1", "format: 2", "simulation.yaml: format (line 1): found 2; write format: 1"),
        ("seed: 11\n", "", "simulation.yaml: seed (line 1): found nothing; write a whole number"),
        ("seed: 11", "seed: -1", "found -1; write a whole number from 0 on"),
        ("seed: 11", "sed: 11", "simulation.yaml: sed (line 2): found a key that is not known here"),
        ("start: T+1h", "start: noon", "simulation.yaml: start (line 3): found 'noon'; write UTC as"),
        ("wander: 0 %", "speed: 0", "simulation.yaml: speed (line 4): found 0; write a number from 0.01"),
        ("wander: 0 %", "wander: 120 %", "write at most 100 %"),
        (
            "o2-1: 10 MPa",
            "o2-1: 10",
            "simulation.yaml: initial.o2-1 (line 5): found 10, a number without a unit",
        ),
        ("o2-1: 10 MPa", "o2-1: 10 A*h", "a charge; write a mass"),
        ("o2-1: 10 MPa", "o2-1: 40 MPa", "known from 0 to 30 MPa only"),
        ("o2-1: 10 MPa", "o2-1: 30 kg", "which is 30 MPa; write a pressure"),
        ("o2-1: 10 MPa", "o2-1: 10 MPa, bat-1: 12 MPa", "a pressure; write a charge"),
        (
            "o2-1: 10 MPa",
            "o2-1: 10 MPa, bat-1: 101 A*h",
            "write at most what the store holds when full, 100 A*h",
        ),
        ("o2-1: 10 MPa", "o2-1: 10 MPa, bat-3: 1 A*h", "'bat-3', which is not the name of a store"),
        ("o2-1: 10 MPa", "bat-1: 90 A*h", "initial.o2-1 (line 5): found nothing; write what it holds"),
        ("oxygen: 21 kPa", "oxygen: 210 kPa", "write partial pressures that are not more than the whole"),
        ("oxygen: 21 kPa", "oxigen: 21 kPa", "did you mean 'oxygen'?"),
        ("wander: 0 %", "biases: {bus: 1 A}", "'bus', which is not the name of a channel"),
        ("wander: 0 %", "biases: {bus.current: 1 kg}", "a mass; write a current"),
    ],
)
def test_what_is_wrong_is_told_with_its_place_and_what_to_write(
    tmp_path: Path, old: str, new: str, told: str
) -> None:
    assert SIMULATION.count(old) == 1
    faults = faults_of(tmp_path, SIMULATION.replace(old, new))
    assert len(faults) == 1, faults
    assert told in faults[0]


def test_all_faults_are_told_at_once_and_in_the_files_order(tmp_path: Path) -> None:
    spoiled = SIMULATION.replace("seed: 11", "seed: x").replace("T+1h", "1h").replace("10 MPa", "ten")
    assert [fault.split(" ")[1] for fault in faults_of(tmp_path, spoiled)] == [
        "seed",
        "start",
        "initial.o2-1",
    ]


def test_text_that_is_no_yaml_is_told(tmp_path: Path) -> None:
    assert "simulation.yaml: line 2: found a tab" in faults_of(tmp_path, "seed: 1\n\tstart: x\n")[0]
    assert len(faults_of(tmp_path, "- 1\n")) == 1


def test_what_lies_outside_and_how_humid_it_is_may_be_written(tmp_path: Path) -> None:
    written = SIMULATION.replace(
        "temperature: 295 K}", "temperature: 295 K, humidity: 61 %}\noutside: 4 degC"
    )
    cabin = read_simulation(write_scenario(tmp_path, simulation=written)).cabin
    assert cabin.humidity_fraction == pytest.approx(0.61)
    assert cabin.outside_k == pytest.approx(277.15)
    plain = read_simulation(write_scenario(tmp_path)).cabin
    assert (plain.humidity_fraction, plain.outside_k) == (0.5, 290.0), "usual, and as warm as the stores"


@pytest.mark.parametrize(
    ("new", "told"),
    [
        ("humidity: 130 %", "simulation.yaml: cabin.humidity (line 7): found '130 %'"),
        ("humidity: 300 Pa", "a pressure; write a fraction"),
        ("humid: 50 %", "did you mean 'humidity'?"),
    ],
)
def test_a_humidity_that_cannot_be_is_told(tmp_path: Path, new: str, told: str) -> None:
    faults = faults_of(tmp_path, SIMULATION.replace("temperature: 295 K}", f"temperature: 295 K, {new}}}"))
    assert len(faults) == 1, faults
    assert told in faults[0]
